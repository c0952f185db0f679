// What the command prints: one screen that a person reads after a build or a check.
#pragma once

#include <string>

#include "io/results.h"

namespace moundwright {

/// Colours are ANSI sequences; give false where the text does not go to a terminal.
std::string report_text(const SiteResults& results, bool colour);

/// "warning: ..." lines, coloured by severity.
std::string problems_text(const Problems& problems, bool colour);

}  // namespace moundwright

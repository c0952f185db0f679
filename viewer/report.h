// What the command prints: a page that a person reads after a build or a check.
#pragma once

#include <string>

#include "io/results.h"

namespace moundwright {

/// How much is printed: `brief` tells of the checks only what is not good, and of the estimate the order and the price.
enum class ReportLength { brief, full };

/// Colours are ANSI sequences; give false where the text does not go to a terminal.
std::string report_text(const SiteResults& results, ReportLength length, bool colour);

/// "warning: ..." lines, coloured by severity.
std::string problems_text(const Problems& problems, bool colour);

}  // namespace moundwright

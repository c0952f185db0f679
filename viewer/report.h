// What the command prints: a page that a person reads after a build or a check.
#pragma once

#include <string>

#include "io/results.h"

namespace moundwright::viewer {

/// How much is printed: `brief` tells of the checks only what is not good, and of the estimate the order and the price.
enum class ReportLength { brief, full };

std::string report_text(const io::SiteResults& results, ReportLength length);

/// "warning: ..." lines.
std::string problems_text(const Problems& problems);

/// What the line of a check begins with.
std::string verdict_lead(Verdict verdict);

}  // namespace moundwright::viewer

// The estimator's part of the printed report: the order, lifts, site soil, items, how sure, and the bid.
#pragma once

#include <string>

#include "io/results.h"

namespace moundwright::viewer {

/// All of it, line by line; empty where the job gives nothing to order by.
std::string estimate_text(const io::SiteResults& results);

/// What to order, how sure the fill is and the price, in a few lines; empty where the job gives nothing to order by.
std::string estimate_summary_text(const io::SiteResults& results);

}  // namespace moundwright::viewer

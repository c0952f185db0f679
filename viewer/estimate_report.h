// The estimator's part of the printed report: the order, lifts, site soil, items, how sure, and the bid.
#pragma once

#include <string>

#include "io/results.h"

namespace moundwright {

/// Empty where the job gives nothing to order by.
std::string estimate_text(const SiteResults& results);

}  // namespace moundwright

// quantities.xlsx: takeoff, order and bid with their formulas, so that a factor or a price can be changed and the total
// follows.
//
// Sheets, each where there is something for it: Takeoff · Order (a column a material, from neat yards down to loads and
// money; trucks and blends under it) · Bid · By lift (with deliveries) · Site soil · Accuracy. What a person may change
// is on yellow ground, and is empty where the job does not say it. The formulas are those of geom/estimate.h.
#pragma once

#include <string>

#include "io/results.h"

namespace moundwright::io {

std::string quantities_xlsx(const SiteResults& results);

}  // namespace moundwright::io

// quantities.csv: in-place cubic yards by layer and cut item, with the end-area check beside them.
//
//   kind,item,material,in_place_cy,end_area_cy,plan_area,thickness_least,thickness_most,unit,
//   plus_or_minus_cy,loose_cy,tons,loads,part_load_cy,quantity,quantity_unit,rate,amount,note
//
// Rows: fill layers in the order they go down, cut items, totals, the scarified area, the mass balance; then, as far as
// the job gives what they want, what is ordered, lifts, interface losses, deliveries, site soil, items and the bid.
// Plus or minus is one standard deviation; yards without "loose" are in place for fill and bank for what is dug.
// Volumes to 0.01 cubic yard; plan areas in square job units to 0.1, thicknesses in job units to 0.01; `unit` names the
// job unit.
#pragma once

#include <string>

#include "geom/estimate.h"

namespace moundwright {

std::string quantities_csv(const Takeoff& takeoff, const Estimate& estimate, LengthUnit unit);

}  // namespace moundwright

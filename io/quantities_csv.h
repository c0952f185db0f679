// quantities.csv: in-place cubic yards by layer and cut item, with the end-area check beside them.
//
//   kind,item,material,in_place_cy,end_area_cy,plan_area,thickness_least,thickness_most,unit
//
// Rows: fill layers in the order they go down, cut items, totals, the scarified area, the mass balance. Volumes to 0.01
// cubic yard; plan areas in square job units to 0.1, thicknesses in job units to 0.01; `unit` names the job unit.
#pragma once

#include <string>

#include "geom/takeoff.h"

namespace moundwright {

std::string quantities_csv(const Takeoff& takeoff, LengthUnit unit);

}  // namespace moundwright

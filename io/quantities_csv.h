// quantities.csv: in-place volumes by layer and cut item, with the end-area check beside them, then the order and bid.
//
//   kind,item,material,in_place_cy,end_area_cy,plan_area,thickness_least,thickness_most,unit,plus_or_minus_cy,rise_cy,
//   bank_cy,loose_cy,tons,loads,part_load_cy,quantity,quantity_unit,rate,amount,note
//
// A job in metres has _m3 for _cy and tonnes for tons, and the yards in place in a last column in_place_cy.
// Rows: fill layers in the order they go down, cut items, totals, the scarified area, the mass balance; then, as far as
// the job gives what they want, what is ordered, lifts, interface losses, deliveries, site soil, items, the balance,
// settling grades and the bid. Plus or minus is one standard deviation; the rise, in a job whose bed is set from the
// ground, is what errors of that size add on average (geom/accuracy.h). A cut in place is bank volume, and stands in
// both columns. Volumes to 0.01; plan areas in square job units to 0.1, thicknesses in job units to 0.01; `unit` names
// the job unit.
#pragma once

#include <string>

#include "geom/estimate.h"

namespace moundwright::io {

std::string quantities_csv(const Takeoff& takeoff, const Estimate& estimate, LengthUnit unit);

}  // namespace moundwright::io

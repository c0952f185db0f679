// Whether a price holds everything. All that print a price, or judge by it, ask here.
//
//   print(e.bid->total, incomplete_text(e));       // "INCOMPLETE: 2 things"
//   print(missing_text(e));                        // "topsoil: no price; silt fence: no price"
//
// The list itself is Estimate::missing, an entry for each thing with all that it lacks.
#pragma once

#include <string>

#include "geom/estimate.h"

namespace moundwright {

/// True where a price is told that does not hold everything; never where there is no bid.
bool price_is_incomplete(const Estimate& estimate);

/// What stands wherever the price does: "INCOMPLETE: 2 things"; empty where the price is whole, or there is none.
std::string incomplete_text(const Estimate& estimate);

std::string missing_text(const Estimate& estimate);

/// False for a delivery whose loads cannot be counted, for want of a swell, weight or truck: its loads are 0, and so
/// they are where what has come before suffices.
bool loads_are_known(const Estimate& estimate, const Delivery& delivery);

}  // namespace moundwright

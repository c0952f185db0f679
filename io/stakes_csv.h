// stakes.csv: one line a stake, in walking order, for a data collector or a spreadsheet.
//
//   point,northing,easting,elevation,description,kind,station,offset,ground_approx,cut_fill,to_shoulder,slope,
//   tie BM1,tie T1,walk_order,hub_shot
//
// `elevation` is the design grade that the description names, blank for hubs; `hub_shot` is blank, to be filled in.
// Coordinates to 0.001, lengths to 0.01 ft or 0.001 m. RFC 4180 quoting, UTF-8, lines ended by LF. There is a tie
// column for each mark of the stake-out, named after it.
#pragma once

#include <string>

#include "geom/stakes.h"

namespace moundwright::io {

std::string stakes_csv(const StakeOut& stake_out, LengthUnit unit);

}  // namespace moundwright::io

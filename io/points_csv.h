// points.csv: stakes, bench marks and tie marks for a data collector.
//
//   1001,5152.301,4911.947,,HUB 1+00.0 U 25.0 bed corner upslope-left hub 20.0 past the corner on the left end line
//   1034,5000.000,5000.000,100.00,BM BM1
//
// Point, northing, easting, elevation, description, one point a line, and no header row: collectors that are asked for
// points in this order read every line as a point (common practice). Elevation is the design grade, blank where a point
// has none. The description begins with a code: HUB, SLOPE, FEED, BM or TIE. It is plain ASCII without commas or
// quotes; any other character is a "?". Marks have numbers of their own behind the stakes', clear of the survey's, for
// the survey's own point of that name may be in the collector already.
#pragma once

#include <string>
#include <string_view>

#include "io/results.h"

namespace moundwright::io {

std::string points_csv(const SiteResults& results);

/// ASCII for a collector: commas and quotes are left out, blanks made one, any other character that is not ASCII a "?".
std::string collector_text(std::string_view text);

}  // namespace moundwright::io

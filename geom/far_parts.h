// A survey that lies in two places: rows with northing and easting exchanged, a part in metres, a second crew in
// coordinates or elevations of its own. Each part alone looks like a survey, whichever is the larger, so that no
// middle of all shots tells which is the lot; a bench mark and the bed do.
//
//   const FarParts found = find_far_parts(shots, {.bed = middle_of_bed, .marks = {benchmark}});
//   if (!found.lot && !found.parts.empty()) refuse(found.in_doubt, ...);
//   for (const FarPart& part : found.parts) leave_out(part.shots), warn(part.what, part.what_to_do);
//
// A few shots far off are no part: stray_shots.h.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "geom/ground.h"
#include "geom/lot.h"

namespace moundwright {

/// What of the job is known to be on the lot or near it.
struct LotPlaces {
  std::optional<Point2> bed;  // middle of it
  std::vector<Mark> marks;    // bench marks; their elevations tell parts apart that lie over one another
};

struct FarPart {
  std::vector<std::size_t> shots;  // ascending
  std::string what;                // how many, where, how far from the lot's, and what the cause seems to be
  std::string what_to_do;
};

struct FarParts {
  std::vector<FarPart> parts;  // all but the lot's; where that cannot be told, all, the largest first
  bool is_lot_known = false;
  Problem in_doubt;  // where it is not, and there are parts: both, and what to do; `where` is empty
};

/// Finds the parts of a survey that lie far apart: each has a twentieth of the shots, and five, at least, and the gap
/// between two is
///  - in plan, 5 times as wide as the larger reaches (its diagonal); 1.5 times, where the shots of one would be among
///    the other's with northing and easting exchanged or in the other of feet and metres;
///  - in elevation, 5 times the larger one's relief, and half the survey's diagonal in plan: no ground does that.
/// The lot's is the part that the bed is near (by three quarters of the largest's diagonal) and the bench marks are;
/// either alone tells, and where the two disagree nothing does. With no places given, three quarters of the shots tell.
/// Common practice has no figures for these: they are set wide of what surveys of a lot and a road a way off show.
FarParts find_far_parts(const std::vector<Shot>& shots, const LotPlaces& lot);

}  // namespace moundwright

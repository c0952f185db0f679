// Walls and curbs: two breaklines through the same places at two elevations, top and toe.
//
// A TIN cannot stand upright, so at each such place the lower vertex is moved `wall_out_of_plumb` out to the low side.
// The ground then has wall_out_of_plumb x h / 2 more in it for each unit of length of a wall h high, and what is filled
// against the wall that much less: 0.002 cubic feet a foot of a wall 4 ft high. Where it turns, the corner is mitred,
// so that the face keeps its lean. Which line lies on which side is told by the ground there: the shots that stand
// beside the wall to its left and right, the nearer counting more. It is told, and where the ground hardly says it,
// warned of.
//
// A wall is a stretch: two or more places in a row on both lines, each shared at two elevations, or (where the wall
// runs out into the ground) at one. A place that only one of the lines has, between two shared ones, is given to the
// other at the elevation that it has there. Which of the lines is the top may change along the wall. Two elevations at
// one place that are in no such stretch are errors.
//
// Limits: a shot on the wall's line that is on neither breakline is a shot of its own, with its own elevation.
#pragma once

#include <vector>

#include "geom/one_place.h"

namespace moundwright {

inline constexpr double wall_out_of_plumb = 0.001;  // job units, whatever the height

/// A breakline as it runs through sites.
struct LineVertex {
  std::uint32_t site = 0;
  std::size_t shot = 0;  // names the place in messages; of a place given from the other line, the shot before it
};
using SiteLine = std::vector<LineVertex>;

/// Moves the lower of each stacked pair of sites out to the low side, adds sites that one line has and the other
/// not, and tells of each wall. `tin` is the triangulation of the sites as they were, `merged` what became of them.
void stand_walls(std::vector<Site>& sites, std::vector<SiteLine>& lines, const MergedSites& merged,
                 const PlanTriangulation& tin, const OnePlace& limits, const std::vector<Shot>& shots,
                 const ShotFiles& files, GroundReport& report);

}  // namespace moundwright

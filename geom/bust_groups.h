// Busts side by side, which hide one another: the shots of one set-up whose height of instrument or rod was wrong.
#pragma once

#include <cstdint>
#include <vector>

#include "geom/ground.h"
#include "geom/standings.h"

namespace moundwright {

/// Shots side by side that stand off the ground all round them by about one amount.
struct BustGroup {
  std::vector<std::uint32_t> points;  // indices into Ground::points, ascending
  double stands_out = 0;              // above (+) or below (-) the ground round them: the median
  double least = 0, most = 0;         // of them, nearest to zero and farthest
};

/// Finds groups of busts, two shots to half of all (2000 at most). A group is one where the ground round it, two shots
/// deep, lies near a surface of second degree (a plane at the outside), and all of the group's shots off it on one
/// side:
///  - by about one amount (none more than 0.4 of it otherwise), 4 times what that ground itself is off the surface,
///  with
///    none of the shots next to the group off by 0.4 of it;
///  - by more than `factor` times the survey's spread, and 5 % of the distance to the shots round it;
///  - so too off the triangles that lie behind those, carried on to the group: a knoll or a ridge is no group;
///  - with the shots round it about as far from it as from one another (0.7): at the top and toe of a bank, a pad or a
///    wall they stand closer, since the crew saw it;
///  - where it lies at the outside of the survey, or in a line, by more than that distance: a bank may begin there, and
///    ditches and berms run so.
/// A group mostly on breaklines is none: those are drawn where the ground changes. `on_line` is by point. Worst first.
std::vector<BustGroup> find_bust_groups(const Ground& ground, const Standings& standings,
                                        const std::vector<bool>& on_line, double factor);

}  // namespace moundwright

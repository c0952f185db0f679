// Two shots of what seems to be one place, shot again a little beside it, at an elevation that does not fit: too far
// apart to be one place (one_place.h), and so near that the ground between them stands steep.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "geom/ground.h"

namespace moundwright {

struct ClosePair {
  std::array<std::size_t, 2> shots{};  // the first in the survey first
  double apart = 0, rise = 0;          // in plan, and in elevation
};

/// Pairs within a tenth of the usual distance between neighbours, with one code (curbs and walls have two), not both on
/// breaklines, whose elevations differ by more than shots of one place may, and by half of how far they stand apart:
/// steeper than banks are left. Where the survey has twenty pairs so close, by 6 times what these differ as a rule, too
/// (1.4826 times the median): dense shots of rough ground. Steepest first. `on_line` is by point.
std::vector<ClosePair> find_close_pairs(const Ground& ground, const std::vector<Shot>& shots,
                                        const std::vector<bool>& on_line, double one_place_elevation);

}  // namespace moundwright

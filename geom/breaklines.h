// Breaklines made ready for the triangulation: cut where they cross, with a vertex in both at the crossing.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <vector>

#include "geom/ground.h"

namespace moundwright {

/// A place that becomes a vertex of the ground; plan reduced.
struct Site {
  double x = 0, y = 0, z = 0;
  std::int64_t shot = -1;  // -1 where two breaklines cross
  Point2 plan() const { return {x, y}; }
};

/// A piece of a breakline between two sites.
struct BreakSegment {
  std::uint32_t from = 0, to = 0;              // indices of sites
  std::array<std::size_t, 2> between_shots{};  // the shots it was drawn between, before any cut
};

/// Leads segments through the sites within same_place of them, so that no needle of rounding is left between a line and
/// a shot on it; then cuts them where they cross between their ends and adds a site there, with the mean of the two
/// elevations. Where these differ by more than `tolerance`, warns with the place in the survey's coordinates (reduced +
/// origin) and both elevations.
void cut_crossings(std::vector<Site>& sites, std::vector<BreakSegment>& segments, double tolerance,
                   const std::vector<Shot>& shots, const Point2& origin, Problems& problems);

}  // namespace moundwright

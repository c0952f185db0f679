// Triangles of ground cut into convex pieces, on each of which every surface of the mound is one plane: the first half
// of making a plan mesh. Exact: pieces meet in corners and along sides, and never overlap.
#pragma once

#include <array>
#include <vector>

#include "geom/plan_corners.h"

namespace moundwright {

/// A corner, and the side that runs from it to the next.
struct OutlineCorner {
  PlanCorner* corner;
  PlanSide* side;
};
using PlanOutline = std::vector<OutlineCorner>;  // counter-clockwise

/// A whole triangle of ground and its corners' numbers there.
struct GroundTriangle {
  std::uint32_t number;
  PlanOutline outline;
  std::array<std::uint32_t, 3> points;
};

/// A part of the footprint.
struct PlanPiece {
  PlanOutline outline;
  const PlanCell<double>* cell;
  std::uint32_t lowest;  // levels from this one up stand above prepared ground
  bool in_pit;
};

/// The triangles of ground with these numbers, about `origin`. Neighbours share corners and sides.
std::vector<GroundTriangle> ground_triangles(const Ground& ground, const std::vector<std::uint32_t>& numbers,
                                             const Point2& origin, PlanCorners& corners);

/// The footprint, specks and all. `cells` are about the mound's origin and elevations residuals; pieces point into
/// them.
std::vector<PlanPiece> cut_footprint(const std::vector<GroundTriangle>& triangles, const PlanCells<double>& cells,
                                     double strip, PlanCorners& corners);

}  // namespace moundwright

// Assumed ground: a strip of triangles round the survey, so that a berm may leave it by a foot or two.
//
// Only where a job asks for it (`[ground] extend`). From each outside shot the ground is carried straight on, out to
// `distance`, at the mean slope of the ground there: of the triangles that meet in the shot, by area, and of those next
// to them until they cover `distance` squared, since the needles along an outside have slopes that mean nothing. What
// is steeper than 10 to 1, a wall or such a needle, is left out of it. So on a plane the strip is the plane. Square out
// from each outside edge stands a quadrangle; at corners that stick out a fan of pieces joins two of them, nowhere
// farther than `distance` from the survey; at corners that go in they meet on the line that halves the corner. Gaps
// inside the survey are not filled, and where the outside folds in so closely that pieces would lie over each other or
// over surveyed ground, they are left out.
#pragma once

#include <vector>

#include "geom/breaklines.h"
#include "geom/triangulate.h"
#include "geom/units.h"

namespace moundwright {

/// The farthest that a job may ask for: 10 ft or 3 m.
double most_extension(LengthUnit unit);

struct GroundMargin {
  std::vector<bool> assumed;  // by triangle of the triangulation, the new ones behind the others
  std::size_t pieces_left_out = 0;
};

/// Adds sites and triangles to a triangulation whose triangles `gone` are no ground; `gone` grows with it.
GroundMargin add_margin(PlanTriangulation& tin, std::vector<Site>& sites, std::vector<bool>& gone, double distance);

}  // namespace moundwright

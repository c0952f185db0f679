// The plane that fits a piece of ground best, from its moments.
#pragma once

#include <optional>

#include "geom/ground.h"

namespace moundwright {

/// Least-squares plane of the elevations whose moments about `center` are given: the minimum over a, b, c of the
/// integral of (a x + b y + c - r)^2 over the area (normal equations about the centroid). Nullopt for no area, or an
/// area so thin that a slope across it means nothing.
std::optional<Plane> plane_of(const Moments<double>& m, const Point2& center);

}  // namespace moundwright

// How close contours may stand, so that there are never too many of them.
#pragma once

#include "geom/ground.h"

namespace moundwright {

/// `wanted`, or the least of 2, 4, 10, 20, 40, 100, ... times it at which the ground has fewer than 2,000 contours, and
/// these cross fewer than 20 million triangles: what can be drawn and kept whatever the elevations are.
double drawable_interval(const Ground& ground, double wanted);

}  // namespace moundwright

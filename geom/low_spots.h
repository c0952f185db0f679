// Where water would stand against the finished mound.
//
//   for (const LowSpot& spot : low_spots_at_toe(ground, buildup.toe, 0.01)) ...
//
// A low spot is a part of the finished surface from which no path leads down off the survey. The level it fills to
// is that of the lowest way out. On the ground outside the toe this is exact: the triangles are cut along the toe, and
// on a surface of triangles the lowest way out runs along their edges, so a walk over the vertices, lowest first, finds
// it (as in Barnes, Lehman and Mulla 2014, "Priority-flood", but outward from the toe, so that a survey of a million
// shots is only looked at near the mound and on one way down from it). What is taken for granted:
//   - water leaves freely wherever the survey ends;
//   - the mound itself is never overtopped, and ground that stands out of it is taken as part of it;
//   - the wet strip on the berm's own side, above the toe, is in no area.
#pragma once

#include <vector>

#include "geom/buildup.h"

namespace moundwright {

/// Plan reduced.
struct LowSpot {
  double level = 0;         // elevation it fills to
  double depth = 0;         // of its deepest place
  double depth_at_toe = 0;  // of the deepest place on the toe
  double area = 0;          // of ground under water outside the toe, plan
  Point2 deepest = Point2::Zero(), deepest_at_toe = Point2::Zero();
  Point2 spill = Point2::Zero();  // where it runs over
};

/// Low spots that stand against the toe more than `least_depth` deep, deepest at the toe first. Throws Refusal where
/// the toe and the triangles are too tangled to be cut.
std::vector<LowSpot> low_spots_at_toe(const Ground& ground, const ToeLine& toe, double least_depth);

}  // namespace moundwright

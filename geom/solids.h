// Closed solids, one for every layer and every cut item: what is drawn, exported and held against other libraries.
//
//   std::vector<Solid> solids = layer_solids(place_mound(place));
//
// What it promises. Each solid is a closed surface of triangles, counter-clockwise seen from outside: every undirected
// edge is run equally often both ways, and there are no T-junctions. Its signed volume is the Buildup's own, since both
// are exact on the same triangles. Plan subdivision is exact; elevations closer than 1e-9 at one place are one point.
//
// Limits: a surface may touch itself along an edge or at a corner (four triangles at one edge, say, where two pits of a
// layer meet), as the layers themselves do. Triangles may be as thin as the ground's own, and where a trace crosses a
// crease two points may lie a rounding apart. About 6 ms for 2,000 shots on a 300 ft lot and 60 ms for 100,000, so not
// for every nudge of the mound.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "geom/placed_mound.h"

namespace moundwright {

struct Solid {
  std::string name;
  std::string material;        // empty for a cut
  std::vector<Point3> points;  // reduced
  std::vector<std::array<std::uint32_t, 3>> triangles;
};

/// The Buildup's layers in their order, then its cuts in theirs. A layer that adds nothing has no
/// triangles.
std::vector<Solid> layer_solids(const PlacedMound& mound);

/// Signed volume, cubic job units: positive where the triangles face outward.
double volume_of(const Solid& solid);

}  // namespace moundwright

// Walking from triangle to triangle.
#pragma once

#include <array>
#include <cstdint>

#include "geom/tin_tree.h"

namespace moundwright {

/// Place of triangle `other` among the neighbours of triangle t, or of vertex v among its corners: 0, 1 or 2.
inline int side_of(const std::array<std::int32_t, 3>& neighbours, std::uint32_t other) {
  const auto wanted = static_cast<std::int32_t>(other);
  return neighbours[0] == wanted ? 0 : neighbours[1] == wanted ? 1 : 2;
}
inline int corner_of(const std::array<std::uint32_t, 3>& corners, std::uint32_t vertex) {
  return corners[0] == vertex ? 0 : corners[1] == vertex ? 1 : 2;
}

/// Calls f(triangle, corner) for every triangle round a vertex, where `corner` is the vertex's place in it, starting
/// from one of them. Where the survey touches itself in a single point, only the fan that holds `start` is walked.
template <class FT, class F>
void for_each_triangle_round(const TinTree<FT>& tree, std::uint32_t vertex, std::uint32_t start, F f) {
  std::uint32_t t = start;
  while (true) {  // counter-clockwise: out over the edge that comes into the vertex
    const int i = corner_of(tree.triangles[t], vertex);
    f(t, i);
    const std::int32_t next = tree.neighbours[t][(i + 2) % 3];
    if (next < 0) break;
    t = static_cast<std::uint32_t>(next);
    if (t == start) return;
  }
  t = start;
  while (true) {  // the rest of an open fan, clockwise
    const std::int32_t next = tree.neighbours[t][corner_of(tree.triangles[t], vertex)];
    if (next < 0) return;
    t = static_cast<std::uint32_t>(next);
    f(t, corner_of(tree.triangles[t], vertex));
  }
}

}  // namespace moundwright

// How every point of a ground stands among its neighbours: what the search for busts begins with.
#pragma once

#include <cstdint>
#include <vector>

#include "geom/ground.h"
#include "geom/tin_walk.h"

namespace moundwright {

/// How a vertex stands among its neighbours; elevations with the trend taken off.
struct Standing {
  float stands_out = 0;  // above (+) or below (-) the nearest of them; 0 where neighbours lie on both sides
  float from_mean = 0;   // above the mean of its neighbours, the nearer counting more
  float distance = 0;    // mean plan distance to them
  float steepest = 0;    // greatest difference from one of them
};

struct Standings {
  std::vector<Standing> all;               // by point
  std::vector<std::uint32_t> triangle_at;  // one of the triangles round each point
  double spread = 0;  // 1.4826 times the median of from_mean: the standard deviation for normal errors
};

Standings find_standings(const Ground& ground);

/// Calls f(point) for every neighbour of a point; `triangle` is one of those round it.
template <class F>
void for_each_neighbour(const Ground& ground, std::uint32_t point, std::uint32_t triangle, F f) {
  const auto& tree = ground.tree;
  for_each_triangle_round(tree, point, triangle, [&](std::uint32_t t, int i) {
    f(tree.triangles[t][(i + 1) % 3]);
    if (tree.neighbours[t][(i + 2) % 3] < 0) f(tree.triangles[t][(i + 2) % 3]);
  });
}

}  // namespace moundwright

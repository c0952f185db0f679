#include "geom/standings.h"

#include <tbb/blocked_range.h>
#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>

namespace moundwright {
namespace {

using Tree = TinTree<double>;

Standing standing_of(const Tree& tree, std::uint32_t vertex, std::uint32_t start) {
  const TinVertex<double>& v = tree.vertices[vertex];
  double least = INFINITY, most = -INFINITY, weights = 0, sum = 0, distances = 0;
  int count = 0;
  const auto meet = [&](std::uint32_t other) {
    const TinVertex<double>& n = tree.vertices[other];
    const double rise = v.r - n.r, distance = std::sqrt((v.x - n.x) * (v.x - n.x) + (v.y - n.y) * (v.y - n.y));
    least = std::min(least, rise), most = std::max(most, rise);
    sum += rise / distance, weights += 1.0 / distance, distances += distance;
    ++count;
  };
  for_each_triangle_round(tree, vertex, start, [&](std::uint32_t t, int i) {
    meet(tree.triangles[t][(i + 1) % 3]);
    if (tree.neighbours[t][(i + 2) % 3] < 0) meet(tree.triangles[t][(i + 2) % 3]);
  });
  const double out = least > 0 ? least : most < 0 ? most : 0.0;
  return {static_cast<float>(out), static_cast<float>(sum / weights), static_cast<float>(distances / count),
          static_cast<float>(std::max(std::abs(least), std::abs(most)))};
}

std::vector<std::uint32_t> a_triangle_of_each(const Tree& tree) {
  std::vector<std::uint32_t> triangle(tree.vertices.size());
  for (std::uint32_t t = 0; t < tree.triangles.size(); ++t) {
    for (const std::uint32_t v : tree.triangles[t]) triangle[v] = t;
  }
  return triangle;
}

double spread_of(const std::vector<Standing>& standings) {
  std::vector<float> sizes(standings.size());
  std::transform(standings.begin(), standings.end(), sizes.begin(),
                 [](const Standing& s) { return std::abs(s.from_mean); });
  const auto middle = sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 2);
  std::nth_element(sizes.begin(), middle, sizes.end());
  return 1.4826 * *middle;
}

}  // namespace

Standings find_standings(const Ground& ground) {
  const Tree& tree = ground.tree;
  Standings found;
  found.triangle_at = a_triangle_of_each(tree);
  found.all.resize(tree.vertices.size());
  tbb::parallel_for(tbb::blocked_range<std::size_t>(0, found.all.size(), 4096), [&](const auto& range) {
    for (std::size_t v = range.begin(); v < range.end(); ++v) {
      found.all[v] = standing_of(tree, static_cast<std::uint32_t>(v), found.triangle_at[v]);
    }
  });
  found.spread = spread_of(found.all);
  return found;
}

}  // namespace moundwright

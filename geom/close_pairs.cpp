#include "geom/close_pairs.h"

#include <algorithm>
#include <cmath>

#include "geom/shot_names.h"

namespace moundwright {
namespace {

constexpr double share_of_usual = 0.1, steep = 0.5, times_usual = 6;
constexpr std::size_t many = 20;

double edge_length(const Ground& ground, std::uint32_t a, std::uint32_t b) {
  return (ground.points[a] - ground.points[b]).head<2>().norm();
}

/// The median of a few thousand edges.
double usual_length(const Ground& ground) {
  const auto& triangles = ground.tree.triangles;
  const std::size_t stride = std::max<std::size_t>(1, triangles.size() / 4096);
  std::vector<double> lengths;
  for (std::size_t t = 0; t < triangles.size(); t += stride)
    lengths.push_back(edge_length(ground, triangles[t][0], triangles[t][1]));
  const auto middle = lengths.begin() + static_cast<std::ptrdiff_t>(lengths.size() / 2);
  std::nth_element(lengths.begin(), middle, lengths.end());
  return *middle;
}

}  // namespace

std::vector<ClosePair> find_close_pairs(const Ground& ground, const std::vector<Shot>& shots,
                                        const std::vector<bool>& on_line, double one_place_elevation) {
  const auto& tree = ground.tree;
  const double nearest = share_of_usual * usual_length(ground);
  std::vector<double> rises;  // of all pairs so close
  std::vector<ClosePair> pairs;
  const auto look = [&](std::uint32_t a, std::uint32_t b) {
    const double apart = edge_length(ground, a, b);
    if (apart > nearest) return;
    const double rise = std::abs(tree.vertices[a].r - tree.vertices[b].r);
    rises.push_back(rise);
    if (rise <= one_place_elevation || rise <= steep * apart || (on_line[a] && on_line[b])) return;
    if (ground.shot_of_point[a] < 0 || ground.shot_of_point[b] < 0) return;
    auto first = static_cast<std::size_t>(ground.shot_of_point[a]);
    auto second = static_cast<std::size_t>(ground.shot_of_point[b]);
    if (code_of(shots[first]) != code_of(shots[second])) return;
    if (second < first) std::swap(first, second);
    pairs.push_back({{first, second}, apart, std::abs(shots[first].elevation - shots[second].elevation)});
  };
  for (std::uint32_t t = 0; t < tree.triangles.size(); ++t) {
    for (int i = 0; i < 3; ++i) {
      if (tree.neighbours[t][i] < static_cast<std::int32_t>(t))
        look(tree.triangles[t][i], tree.triangles[t][(i + 1) % 3]);
    }
  }
  if (rises.size() >= many) {
    const auto middle = rises.begin() + static_cast<std::ptrdiff_t>(rises.size() / 2);
    std::nth_element(rises.begin(), middle, rises.end());
    std::erase_if(pairs, [&](const ClosePair& pair) { return pair.rise <= times_usual * 1.4826 * *middle; });
  }
  std::sort(pairs.begin(), pairs.end(), [](const ClosePair& a, const ClosePair& b) {
    return a.rise * b.apart != b.rise * a.apart ? a.rise * b.apart > b.rise * a.apart : a.shots < b.shots;
  });
  return pairs;
}

}  // namespace moundwright

// Order along a Hilbert curve, so that neighbours on the lot are neighbours in memory.
//
// Keys have 16 bits an axis: on a 300 ft lot the curve tells places 0.005 ft apart from each other. Order within
// one cell of the curve is the order given. Source of the curve: D. Hilbert, Math. Ann. 38 (1891), 459-460.
#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <vector>

namespace moundwright {

/// Place on the curve of a cell, each coordinate 0..65535.
std::uint32_t hilbert_key(std::uint32_t x, std::uint32_t y);

/// Maps a rectangle in plan onto the curve's cells; what lies outside goes to the nearest cell.
struct HilbertFrame {
  Eigen::Vector2d low = Eigen::Vector2d::Zero();
  double cells_per_unit = 0;

  HilbertFrame(const Eigen::Vector2d& low_corner, const Eigen::Vector2d& high_corner);
  std::uint32_t key(double x, double y) const;
};

/// Indices 0..keys-1 by ascending key; equal keys keep their order.
std::vector<std::uint32_t> order_by_key(const std::vector<std::uint32_t>& keys);

}  // namespace moundwright

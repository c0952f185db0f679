#include "geom/hilbert.h"

#include <algorithm>
#include <array>

namespace moundwright {

std::uint32_t hilbert_key(std::uint32_t x, std::uint32_t y) {
  // Without branches: which way the curve turns is as good as random, and a wrong guess costs more than the sums.
  std::uint32_t key = 0;
  for (unsigned bit = 16; bit-- > 0;) {
    const std::uint32_t right = (x >> bit) & 1u, upper = (y >> bit) & 1u;
    key = (key << 2) | ((3u * right) ^ upper);
    const std::uint32_t lower = upper ^ 1u;
    const std::uint32_t mirror = 0u - (right & lower), turn = (0u - lower) & (x ^ y);
    x ^= turn ^ mirror;
    y ^= turn ^ mirror;
  }
  return key;
}

HilbertFrame::HilbertFrame(const Eigen::Vector2d& low_corner, const Eigen::Vector2d& high_corner) : low(low_corner) {
  const double side = (high_corner - low_corner).maxCoeff();
  cells_per_unit = side > 0 ? 65535.0 / side : 0.0;
}

std::uint32_t HilbertFrame::key(double x, double y) const {
  const auto cell = [this](double offset) {
    return static_cast<std::uint32_t>(std::clamp(offset * cells_per_unit, 0.0, 65535.0));
  };
  return hilbert_key(cell(x - low.x()), cell(y - low.y()));
}

std::vector<std::uint32_t> order_by_key(const std::vector<std::uint32_t>& keys) {
  // Least digit first, 11 bits at a time: three passes over key and index side by side.
  constexpr unsigned bits = 11, digits = 1u << bits;
  std::vector<std::uint64_t> now(keys.size()), next(keys.size());
  for (std::size_t i = 0; i < keys.size(); ++i) now[i] = (static_cast<std::uint64_t>(keys[i]) << 32) | i;
  for (unsigned shift = 32; shift < 64; shift += bits) {
    std::array<std::size_t, digits + 1> start{};
    for (const std::uint64_t pair : now) ++start[((pair >> shift) & (digits - 1)) + 1];
    for (unsigned d = 0; d < digits; ++d) start[d + 1] += start[d];
    for (const std::uint64_t pair : now) next[start[(pair >> shift) & (digits - 1)]++] = pair;
    now.swap(next);
  }
  std::vector<std::uint32_t> order(keys.size());
  for (std::size_t i = 0; i < keys.size(); ++i) order[i] = static_cast<std::uint32_t>(now[i]);
  return order;
}

}  // namespace moundwright

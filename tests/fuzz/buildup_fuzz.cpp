// Any lot and mound are either refused or built up: layer by layer as the rule taken literally has it, the toe round
// the footprint's own area, and berms in order.
#include <cstdint>

#include "geom/kernel_input.h"
#include "geom/literal_rule.h"
#include "geom/placed_mound.h"
#include "geom/plan.h"
#include "geom/toe.h"
#include "tests/fuzz/fuzzed_lot.h"

namespace moundwright::fuzz {
namespace {

LiteralSums<double> literally(const PlacedMound& mound) {
  const Point2 origin = mound.to_reduced({0, 0});
  const KernelPrepare<double> prepare = kernel_prepare(mound.design());
  const PlacedShape<double> shape =
      place_shape(mound.shape(), kernel_spot(mound, mound.buildup.bottom_elevation), prepare);
  LiteralSums<double> sums;
  sums.layers.resize(mound.design().layers.size(), 0.0);
  for (const auto& triangle : mound.ground.tree.triangles) {
    TinVertex<double> corner[3];
    for (std::size_t i = 0; i < 3; ++i) {
      const TinVertex<double>& v = mound.ground.tree.vertices[triangle[i]];
      corner[i] = {v.x - origin.x(), v.y - origin.y(), v.r};
    }
    for (const LiteralBit<double>& bit : literal_bits(corner, shape, prepare.strip)) {
      const PlanPoint<double> at = bit.middle();
      if (mound.buildup.specks == 0 || encloses(mound.buildup.toe, origin + Point2(at.x, at.y)))
        add(sums, literal_sums(bit, shape));
    }
  }
  return sums;
}

void check_sums(const Buildup& built, const LiteralSums<double>& literal) {
  constexpr double rounding = 1e-7;
  const double fill = built.total_fill(), size = 1 + fill;
  for (std::size_t k = 0; k < built.layers.size(); ++k) {
    require_near(built.layers[k].volume, literal.layers[k], rounding * size, "a layer's volume");
    require(built.layers[k].thickness_least >= 0, "a thickness is not negative");
  }
  require_near(fill, literal.finish_minus_prepared, rounding * size, "the sum of layers");
  require_near(built.footprint_area, literal.footprint_area, rounding * (1 + built.footprint_area), "the footprint");
  double inside = 0;
  for (const Polygon2& loop : built.toe.outer) inside += plan_area(loop);
  for (const Polygon2& hole : built.toe.holes) inside += plan_area(hole);
  require_near(inside, built.footprint_area, rounding * (1 + built.footprint_area), "the area inside the toe");
  for (const BermLength& berm : {built.berm.upslope, built.berm.downslope, built.berm.left, built.berm.right}) {
    require(0 <= berm.least && berm.least <= berm.middle && berm.middle <= berm.most, "a berm's lengths are in order");
  }
}

void check(const FuzzedLot& lot) {
  const Ground ground = make_ground(lot.shots);
  const PlacedMound mound = place_mound(place_as_drawn(ground, lot.design));
  check_sums(mound.buildup, literally(mound));
}

}  // namespace
}  // namespace moundwright::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  return moundwright::fuzz::try_lot(bytes, size, moundwright::fuzz::check);
}

#include "geom/takeoff.h"

#include <tbb/parallel_invoke.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "geom/kernel_input.h"
#include "geom/literal_rule.h"
#include "geom/toe.h"

namespace moundwright {
namespace {

Polygon2 box_around(const std::vector<Polygon2>& loops) {
  Point2 low = Point2::Constant(std::numeric_limits<double>::infinity()), high = -low;
  for (const Polygon2& loop : loops) {
    for (const Point2& p : loop) low = low.cwiseMin(p), high = high.cwiseMax(p);
  }
  return {low, {high.x(), low.y()}, high, {low.x(), high.y()}};
}

/// Integral of finished minus prepared ground over the footprint, triangle by triangle, without the kernel.
double finish_minus_prepared(const PlacedMound& mound) {
  if (mound.buildup.toe.outer.empty()) return 0;
  const Point2 origin = mound.ground.to_local(mound.frame().origin);
  const KernelPrepare<double> prepare = kernel_prepare(mound.design());
  const PlacedShape<double> shape =
      place_shape(mound.shape(), kernel_spot(mound, mound.buildup.bottom_elevation), prepare);
  const auto counts = [&](const PlanPoint<double>& p) {
    return mound.buildup.specks == 0 || encloses(mound.buildup.toe, origin + Point2(p.x, p.y));
  };
  double sum = 0;
  for (const std::uint32_t t : triangles_meeting(mound.ground, box_around(mound.buildup.toe.outer))) {
    TinVertex<double> corner[3];
    for (std::size_t i = 0; i < 3; ++i) {
      const TinVertex<double>& v = mound.ground.tree.vertices[mound.ground.tree.triangles[t][i]];
      corner[i] = {v.x - origin.x(), v.y - origin.y(), v.r};
    }
    for (const LiteralBit<double>& bit : literal_bits(corner, shape, prepare.strip)) {
      if (counts(bit.middle())) sum += finish_minus_prepared(bit, shape);
    }
  }
  return sum;
}

}  // namespace

Takeoff take_off(const PlacedMound& mound, LengthUnit unit, double end_area_interval) {
  const double yards = cubic_yards_per(unit);
  EndAreas sections;
  double independent = 0;  // cubic job units
  tbb::parallel_invoke([&] { sections = end_areas(mound, end_area_interval); },
                       [&] { independent = finish_minus_prepared(mound); });
  Takeoff result;
  for (std::size_t k = 0; k < mound.buildup.layers.size(); ++k) {
    const LayerResult& layer = mound.buildup.layers[k];
    result.fill.push_back({layer.name, layer.material, layer.volume * yards, sections.layers[k] * yards,
                           layer.plan_area, layer.thickness_least, layer.thickness_most});
    result.fill_cy += layer.volume * yards;
    result.end_area_fill_cy += sections.layers[k] * yards;
  }
  for (const CutItem& item : mound.buildup.cuts) {
    result.cut.push_back({item.name, "", item.volume * yards, 0, item.plan_area, 0, 0});
    result.cut_cy += item.volume * yards;
  }
  result.end_area_cut_cy = sections.cut * yards;
  result.end_area_interval = sections.interval;
  result.end_area_sections = sections.sections;
  result.on_assumed = on_assumed_ground(mound, unit);
  if (mound.design().prepare.scarify) result.scarify_area = mound.buildup.footprint_area;
  result.balance.layers_cy = result.fill_cy;
  result.balance.independent_cy = independent * yards;
  const double size = std::max(std::abs(result.fill_cy), std::abs(result.balance.independent_cy));
  if (size > 0) result.balance.relative_difference = std::abs(result.fill_cy - result.balance.independent_cy) / size;
  return result;
}

}  // namespace moundwright

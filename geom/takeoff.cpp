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
double finish_minus_prepared(const Ground& ground, const MoundPlan& plan, const Buildup& buildup) {
  if (buildup.toe.outer.empty()) return 0;
  const Point2 origin = ground.to_local(plan.placement.origin);
  const KernelPrepare<double> prepare = kernel_prepare(plan.design);
  const PlacedShape<double> shape =
      place_shape(plan.shape, kernel_spot(ground, plan, buildup.bottom_elevation), prepare);
  const auto counts = [&](const PlanPoint<double>& p) {
    return buildup.specks == 0 || encloses(buildup.toe, origin + Point2(p.x, p.y));
  };
  double sum = 0;
  for (const std::uint32_t t : triangles_meeting(ground, box_around(buildup.toe.outer))) {
    TinVertex<double> corner[3];
    for (std::size_t i = 0; i < 3; ++i) {
      const TinVertex<double>& v = ground.tree.vertices[ground.tree.triangles[t][i]];
      corner[i] = {v.x - origin.x(), v.y - origin.y(), v.r};
    }
    for (const LiteralBit<double>& bit : literal_bits(corner, shape, prepare.strip)) {
      if (counts(bit.middle())) sum += finish_minus_prepared(bit, shape);
    }
  }
  return sum;
}

}  // namespace

Takeoff take_off(const Ground& ground, const MoundPlan& plan, const Buildup& buildup, LengthUnit unit,
                 double end_area_interval) {
  const double yards = cubic_yards_per(unit);
  EndAreas sections;
  double independent = 0;  // cubic job units
  tbb::parallel_invoke([&] { sections = end_areas(ground, plan, buildup, end_area_interval); },
                       [&] { independent = finish_minus_prepared(ground, plan, buildup); });
  Takeoff result;
  for (std::size_t k = 0; k < buildup.layers.size(); ++k) {
    const LayerResult& layer = buildup.layers[k];
    result.fill.push_back({layer.name, layer.material, layer.volume * yards, sections.layers[k] * yards,
                           layer.plan_area, layer.thickness_least, layer.thickness_most});
    result.fill_cy += layer.volume * yards;
    result.end_area_fill_cy += sections.layers[k] * yards;
  }
  for (const CutItem& item : buildup.cuts) {
    result.cut.push_back({item.name, "", item.volume * yards, 0, item.plan_area, 0, 0});
    result.cut_cy += item.volume * yards;
  }
  result.end_area_cut_cy = sections.cut * yards;
  result.end_area_interval = sections.interval;
  result.end_area_sections = sections.sections;
  result.on_assumed = on_assumed_ground(ground, plan, buildup, unit);
  if (plan.design.prepare.scarify) result.scarify_area = buildup.footprint_area;
  result.balance.layers_cy = result.fill_cy;
  result.balance.independent_cy = independent * yards;
  const double size = std::max(std::abs(result.fill_cy), std::abs(result.balance.independent_cy));
  if (size > 0) result.balance.relative_difference = std::abs(result.fill_cy - result.balance.independent_cy) / size;
  return result;
}

}  // namespace moundwright

#include "geom/buildup.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "geom/kernel_input.h"
#include "geom/limits.h"
#include "geom/toe.h"

namespace moundwright {

struct BuildupWork::Buffers {
  KernelWork<double> kernel;
  Polygon2 outline;  // of a piece of the bed
};

BuildupWork::BuildupWork() : buffers_(std::make_unique<Buffers>()) {}
BuildupWork::~BuildupWork() = default;
BuildupWork::BuildupWork(BuildupWork&&) noexcept = default;
BuildupWork& BuildupWork::operator=(BuildupWork&&) noexcept = default;

namespace {

/// Centroid from integrals about the mound's origin; zero for an empty body.
Point3 centroid_of(const Bulk<double>& bulk, const Point2& origin, const Plane& trend) {
  if (!(bulk.volume > 0)) return Point3::Zero();
  const Point2 at = origin + Point2(bulk.x, bulk.y) / bulk.volume;
  return {at.x(), at.y(), bulk.z / bulk.volume + trend.at(at)};
}

LayerResult layer_result(const Layer& layer, const LayerSums<double>& sums, const Point2& origin, const Plane& trend) {
  LayerResult result;
  result.name = layer.name;
  result.material = layer.material;
  result.volume = sums.bulk.volume;
  result.plan_area = sums.area;
  const Range<double>& thickness = sums.in_bed.seen ? sums.in_bed : sums.under_own_top;
  result.thickness_least = std::max(0.0, thickness.least);  // planes that meet are a rounding apart there
  result.thickness_most = std::max(0.0, thickness.most);
  result.centroid = centroid_of(sums.bulk, origin, trend);
  return result;
}

void add_cuts(const MoundDesign& design, const KernelSums<double>& sums, const Point2& origin, const Plane& trend,
              Buildup& result) {
  if (design.prepare.strip > 0) {
    result.cuts.push_back({"strip", sums.strip.volume, sums.footprint_area, centroid_of(sums.strip, origin, trend)});
  }
  if (design.prepare.undercut) {
    result.cuts.push_back({"undercut", sums.pit.volume, sums.pit_area, centroid_of(sums.pit, origin, trend)});
  }
}

void add_loops(const std::vector<ToeLoop<double>>& loops, const Point2& origin, Buildup& result) {
  for (const ToeLoop<double>& loop : loops) {
    Polygon2 polygon;
    polygon.reserve(loop.points.size());
    for (const PlanPoint<double>& p : loop.points) polygon.emplace_back(p.x + origin.x(), p.y + origin.y());
    for (std::size_t i = 0; i < polygon.size(); ++i) {
      const double length = (polygon[(i + 1) % polygon.size()] - polygon[i]).norm();
      (loop.off_survey[i] ? result.toe.off_survey : result.footprint_perimeter) += length;
    }
    (loop.twice_area > 0 ? result.toe.outer : result.toe.holes).push_back(std::move(polygon));
  }
}

}  // namespace

double Buildup::total_fill() const {
  double sum = 0;
  for (const LayerResult& layer : layers) sum += layer.volume;
  return sum;
}

double Buildup::total_cut() const {
  double sum = 0;
  for (const CutItem& item : cuts) sum += item.volume;
  return sum;
}

namespace {

/// Throws Refusal where the bottom hangs on ground that is not there, or comes out too high.
double bottom_over(const MoundPlace& place, const std::optional<double>& highest) {
  const Placement& placed = place.placement;
  if (!placed.bottom_elevation && !highest) {
    throw Refusal({Severity::error,
                   "there is no surveyed ground under the bed, so its bottom cannot be set from the ground",
                   "mound.bottom.least_sand", "move the bed onto the survey, or check northing and easting"});
  }
  const double bottom = placed.bottom_elevation
                            ? *placed.bottom_elevation
                            : *highest - place.design().prepare.strip + placed.least_sand.value_or(0.0);
  if (!(std::abs(bottom) <= greatest_elevation)) {
    throw Refusal({Severity::error,
                   fmt::format("the bed bottom, set from the ground, is {:.2f}; the limit is {:.0f} either way", bottom,
                               greatest_elevation),
                   "mound.bottom.least_sand",
                   "look for a slip of the decimal point in the shots' elevations, or lower the datum"});
  }
  return bottom;
}

/// Bed bottom, and no more looked up than that takes.
double bottom_of(const MoundPlace& place, Polygon2& outline) {
  std::optional<double> highest;
  if (!place.placement.bottom_elevation) {
    for (const Polygon2& piece : place.compiled->bed_outlines) {
      outline.clear();
      for (const Point2& p : piece) outline.push_back(place.to_reduced(p));
      const std::optional<double> here = highest_elevation(place.ground, outline);
      if (here && !(highest > here)) highest = here;
    }
  }
  return bottom_over(place, highest);
}

}  // namespace

double bed_bottom(const MoundPlace& place, std::optional<GroundExtreme>* governing) {
  std::optional<GroundExtreme> highest;
  for (const Polygon2& outline : bed_on_ground(place)) {
    std::optional<GroundExtreme> here = highest_ground(place.ground, outline);
    if (here && (!highest || here->elevation > highest->elevation)) highest = std::move(here);
  }
  const double bottom = bottom_over(place, highest ? std::optional(highest->elevation) : std::nullopt);
  if (governing != nullptr) *governing = std::move(highest);
  return bottom;
}

void sum_up(const MoundPlace& place, BuildupWork& work, PlacementSums& result) {
  BuildupWork::Buffers& buffers = work.buffers();
  result.bottom_elevation = bottom_of(place, buffers.outline);
  const KernelPrepare<double> prepare = kernel_prepare(place.design());
  moundwright::place(place.cells(), kernel_spot(place, result.bottom_elevation), prepare, buffers.kernel);
  const KernelSums<double>& sums = run_kernel_for_sums(place.ground.tree, prepare, buffers.kernel);
  result.fill.clear();
  for (const LayerSums<double>& layer : sums.layers) result.fill.push_back(layer.bulk.volume);
  result.strip = sums.strip.volume;
  result.undercut = sums.pit.volume;
  result.footprint_area = sums.footprint_area;
}

Buildup build_up(const MoundPlace& place, BuildupWork& work) {
  const Ground& ground = place.ground;
  Buildup result;
  result.bottom_elevation = bed_bottom(place, &result.governing);

  const KernelPrepare<double> prepare = kernel_prepare(place.design());
  KernelWork<double>& kernel = work.buffers().kernel;
  moundwright::place(place.cells(), kernel_spot(place, result.bottom_elevation), prepare, kernel);
  const KernelResult<double>& r = run_kernel(ground.tree, prepare, kernel);

  const Point2 origin = ground.to_local(place.frame().origin);
  for (std::size_t k = 0; k < r.sums.layers.size(); ++k) {
    result.layers.push_back(layer_result(place.design().layers[k], r.sums.layers[k], origin, ground.trend));
  }
  add_cuts(place.design(), r.sums, origin, ground.trend, result);
  result.footprint_area = r.sums.footprint_area;
  result.sand_least = r.sums.sand.least;
  result.sand_most = r.sums.sand.most;
  result.specks = r.specks.size();
  result.specks_area = r.specks_area;
  add_loops(r.loops, origin, result);
  result.berm = berm_lengths(place, result.toe);
  return result;
}

Buildup build_up(const MoundPlace& place) {
  BuildupWork work;
  return build_up(place, work);
}

}  // namespace moundwright

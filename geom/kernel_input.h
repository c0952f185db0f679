// A placed design as the kernel takes it.
#pragma once

#include <utility>

#include "geom/buildup.h"
#include "geom/buildup_kernel.h"

namespace moundwright {

/// Where the mound lies, with the bed bottom at a given elevation.
inline KernelSpot<double> kernel_spot(const Ground& ground, const MoundPlan& plan, double bottom) {
  const Point2 origin = ground.to_local(plan.placement.origin);
  const Point2& along = plan.placement.along;
  const Plane& trend = ground.trend;
  return {origin.x(), origin.y(), along.x(), along.y(), bottom, trend.a, trend.b, trend.c};
}

/// What is taken off before anything is placed.
inline KernelPrepare<double> kernel_prepare(const MoundDesign& design) {
  KernelPrepare<double> prepare;
  prepare.strip = design.prepare.strip;
  if (design.prepare.undercut) prepare.pit_bottom = design.prepare.undercut->elevation;
  return prepare;
}

/// Lines and levels about the mound's origin, elevations as residuals.
inline PlanCells<double> placed_cells(const Ground& ground, const MoundPlan& plan, double bottom) {
  KernelWork<double> work;
  place(*plan.cells, kernel_spot(ground, plan, bottom), kernel_prepare(plan.design), work);
  return std::move(work.placed);
}

}  // namespace moundwright

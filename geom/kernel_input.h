// A placed design as the kernel takes it.
#pragma once

#include <utility>

#include "geom/buildup_kernel.h"
#include "geom/compiled_mound.h"

namespace moundwright {

/// Where the mound lies, with the bed bottom at a given elevation.
inline KernelSpot<double> kernel_spot(const MoundPlace& mound, double bottom) {
  const Point2 origin = mound.ground.to_local(mound.frame().origin);
  const Point2& along = mound.frame().along;
  const Plane& trend = mound.ground.trend;
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
inline PlanCells<double> placed_cells(const MoundPlace& mound, double bottom) {
  KernelWork<double> work;
  place(mound.cells(), kernel_spot(mound, bottom), kernel_prepare(mound.design()), work);
  return std::move(work.placed);
}

}  // namespace moundwright

// A vertical cut through the finished mound along a straight line in plan.
//
//   Section s = cut_section(ground, plan, buildup, from, to);     // reduced plan coordinates
//
// Between two neighbouring columns every surface is straight, so areas by trapezoids are exact. Taken from the design's
// planes and the triangles directly, without the plan cells, so that sections also check them.
#pragma once

#include <vector>

#include "geom/buildup.h"

namespace moundwright {

struct SectionColumn {
  double distance = 0;           // along the line from its start
  double existing = 0;           // ground
  std::vector<double> surfaces;  // prepared ground, then after each layer; all `existing` outside the footprint
};

/// From `begin` to the column at `end`, one past the last, is one stretch of ground without a gap. Two columns at one
/// distance are a vertical step.
struct Section {
  std::vector<SectionColumn> columns;

  /// Area between surfaces[k] and surfaces[k + 1]: layer k.
  double layer_area(std::size_t k) const;
  /// Area between existing and prepared ground.
  double cut_area() const;
};

Section cut_section(const Ground& ground, const MoundPlan& plan, const Buildup& buildup, const Point2& from,
                    const Point2& to);

/// Volume between sections square to the bed at even spacing over the whole footprint by average end area, for each
/// layer, and (last) for the cut. A cross-check that a person can follow with a planimeter, never the quantity.
struct EndAreas {
  double interval = 0;
  std::size_t sections = 0;
  std::vector<double> layers;
  double cut = 0;
};
EndAreas end_areas(const Ground& ground, const MoundPlan& plan, const Buildup& buildup, double interval);

}  // namespace moundwright

// A vertical cut through the finished mound along a straight line in plan.
//
//   Section s = cut_section(mound, from, to);     // reduced plan coordinates
//
// Between two neighbouring columns every surface is straight, so areas by trapezoids are exact. Taken from the design's
// planes and the triangles directly, without the plan cells, so that sections also check them.
#pragma once

#include <vector>

#include "geom/placed_mound.h"

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

Section cut_section(const PlacedMound& mound, const Point2& from, const Point2& to);

/// Average end area: each stretch between two stations times the mean of the areas at its ends. Two values at one
/// station are the two sides of a vertical step.
double average_end_area(const std::vector<double>& stations, const std::vector<double>& areas);

/// Volume by average end area, for each layer, and (last) for the cut, over the whole footprint. Sections are square to
/// the bed's chord: at whole multiples of `interval` from its middle and, as a person with a planimeter would take
/// them, at every corner of a layer's flat top (or of the pit's bottom) as well, just before it and just after it, so
/// that a vertical face is a step and not a ramp. Between the last corner and the footprint's end it narrows ever
/// faster, as round a rounded corner: seven more are cut there, at each eighth of the quarter turn. A cross-check that
/// a person can follow, never the quantity: exact where areas grow evenly from section to section, a little off where a
/// side runs out (the prismoidal correction); where a rounded end stands on the step of a strip, within half a percent.
struct EndAreas {
  double interval = 0;
  std::size_t sections = 0;  // two at a corner
  std::vector<double> layers;
  double cut = 0;
};
EndAreas end_areas(const PlacedMound& mound, double interval);

}  // namespace moundwright

// A design made ready once, and the few numbers that say where it is put.
//
//   const std::shared_ptr<const CompiledMound> compiled = compile_mound(design);   // once a design
//   Placement placement = placement_of(design);                                    // where the design has it
//   placement.frame.origin += Point2(0, -2);                                       // two feet south; nothing is
//   placement.bottom_elevation = 101.5, placement.least_sand.reset();              // compiled anew
//   const PlacedMound mound = place_mound({ground, compiled, placement});          // placed_mound.h
//
// What is compiled knows no place: its frame is the mound's own (mound_shape.h), heights are above the bed bottom.
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "geom/design.h"
#include "geom/ground.h"
#include "geom/mound_shape.h"

namespace moundwright {

template <class FT>
struct PlanCells;  // plan_cells.h

struct CompiledMound {
  MoundDesign design;  // as it was drawn; where the mound stands and how high is for a Placement to say
  MoundShape shape;
  std::shared_ptr<const PlanCells<double>> cells;
  std::vector<Polygon2> bed_outlines;  // mound frame, one convex piece for each straight piece of the bed
};

/// Compiles a design whose downslope is set. Throws Refusal with what check_design finds.
std::shared_ptr<const CompiledMound> compile_mound(const MoundDesign& design);

/// The same of a shape that is not quite the design's: cut off at a height, or leaning.
std::shared_ptr<const CompiledMound> compile_shape(MoundDesign design, MoundShape shape);

/// Where a mound stands, how it is turned, how high.
struct Placement {
  MoundFrame frame;
  std::optional<double> bottom_elevation;  // exactly one of these two is given
  std::optional<double> least_sand;        // under the bed; sets the bed bottom from the ground
};

/// Where the design has it. Throws Refusal if `design.downslope` is not set.
Placement placement_of(const MoundDesign& design);

/// A compiled mound somewhere on a ground, before anything is computed of it. The ground is to outlive it.
struct MoundPlace {
  const Ground& ground;
  std::shared_ptr<const CompiledMound> compiled;
  Placement placement;

  const MoundDesign& design() const { return compiled->design; }
  const MoundShape& shape() const { return compiled->shape; }
  const PlanCells<double>& cells() const { return *compiled->cells; }
  const MoundFrame& frame() const { return placement.frame; }

  // Changes of frame. World: easting, northing. Reduced: the ground's own, about its origin. Mound: u, v.
  Point2 to_world(const Point2& uv) const { return placement.frame.to_world(uv); }
  Point2 to_reduced(const Point2& uv) const { return ground.to_local(placement.frame.to_world(uv)); }
  Point2 to_mound(const Point2& world) const { return placement.frame.to_mound(world); }
  Point2 from_reduced(const Point2& p) const { return placement.frame.to_mound(ground.to_world(p)); }
};

/// A design where it was drawn.
MoundPlace place_as_drawn(const Ground& ground, const MoundDesign& design);

/// The bed's line where it lies: easting, northing, left to right.
std::vector<Point2> bed_line(const MoundPlace& mound);

/// The bed's outlines in the ground's reduced coordinates.
std::vector<Polygon2> bed_on_ground(const MoundPlace& mound);

}  // namespace moundwright

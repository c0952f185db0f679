#include "geom/compiled_mound.h"

#include <utility>

#include "geom/plan_cells.h"

namespace moundwright {
namespace {

/// The part of a convex region inside its lines, starting from a square that holds the mound.
Polygon2 outline_of(const ConcavePiece& region, double reach) {
  using namespace plan_cells_detail;
  Outline<double> outline = {
      {-reach, -reach, untagged}, {reach, -reach, untagged}, {reach, reach, untagged}, {-reach, reach, untagged}};
  for (const PlanLine& line : region.inside) {
    outline = clipped(outline, PlaneOf<double>{line.a, line.b, line.c}, untagged, tolerance_in<double>(reach));
  }
  Polygon2 polygon;
  for (const Corner<double>& corner : outline) polygon.emplace_back(corner.u, corner.v);
  return polygon;
}

}  // namespace

std::shared_ptr<const CompiledMound> compile_mound(const MoundDesign& design) {
  check_design(design).throw_if_errors();
  return compile_shape(design, shape_of(design));
}

std::shared_ptr<const CompiledMound> compile_shape(MoundDesign design, MoundShape shape) {
  auto compiled = std::make_shared<CompiledMound>();
  compiled->cells = std::make_shared<const PlanCells<double>>(compile_cells<double>(shape));
  for (const ConcavePiece& region : shape.bed) compiled->bed_outlines.push_back(outline_of(region, shape.reach));
  compiled->design = std::move(design);
  compiled->shape = std::move(shape);
  return compiled;
}

Placement placement_of(const MoundDesign& design) {
  return {frame_of(design), design.bottom_elevation, design.least_sand};
}

MoundPlace place_as_drawn(const Ground& ground, const MoundDesign& design) {
  return {ground, compile_mound(design), placement_of(design)};
}

std::vector<Point2> bed_line(const MoundPlace& mound) {
  std::vector<Point2> line;
  for (const Point2& p : mound.shape().line) line.push_back(mound.to_world(p));
  return line;
}

std::vector<Polygon2> bed_on_ground(const MoundPlace& mound) {
  std::vector<Polygon2> outlines = mound.compiled->bed_outlines;
  for (Polygon2& outline : outlines) {
    for (Point2& p : outline) p = mound.to_reduced(p);
  }
  return outlines;
}

}  // namespace moundwright

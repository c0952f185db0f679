#include "geom/cell_pieces.h"

#include <algorithm>

#include "geom/plan.h"

namespace moundwright {
namespace {

/// The plane through three corners whose heights are given.
PlaneOf<double> plane_through(const Polygon2& p, const std::array<double, 3>& z) {
  const Point2 d = p[1] - p[0], e = p[2] - p[0];
  const double over = d.x() * e.y() - d.y() * e.x(), dz = z[1] - z[0], ez = z[2] - z[0];
  const double a = (dz * e.y() - ez * d.y()) / over, b = (ez * d.x() - dz * e.x()) / over;
  return {a, b, z[0] - a * p[0].x() - b * p[0].y()};
}

struct Descent {
  const PlanCells<double>& cells;
  const std::function<void(const CellPiece&)>& f;
  PlaneOf<double> ground;
  std::uint32_t triangle;

  void go(std::int32_t at, Polygon2 outline) const {
    if (outline.empty()) return;
    if (at < 0) {
      f({std::move(outline), ground, &cells.cells[static_cast<std::size_t>(-1 - at)], triangle});
      return;
    }
    const PlanNode<double>& node = cells.nodes[static_cast<std::size_t>(at)];
    const PlanLine line{node.line.a, node.line.b, node.line.c};
    go(node.positive, clip_convex(outline, line));
    go(node.negative, clip_convex(outline, {-line.a, -line.b, -line.c}));
  }
};

}  // namespace

void for_each_cell_piece(const PlacedMound& mound, const Polygon2& region,
                         const std::function<void(const CellPiece&)>& f) {
  Polygon2 on_ground = region;
  for (Point2& p : on_ground) p = mound.to_reduced(p);
  for (const std::uint32_t t : triangles_meeting(mound.ground, on_ground)) {
    Polygon2 corners;
    std::array<double, 3> height{};
    for (int i = 0; i < 3; ++i) {
      const Point3& p = mound.ground.points[mound.ground.tree.triangles[t][i]];
      corners.push_back(mound.from_reduced(p.head<2>()));
      height[i] = p.z() - mound.buildup.bottom_elevation;
    }
    if (!(plan_area(corners) > 0)) continue;
    Descent{mound.cells(), f, plane_through(corners, height), t}.go(mound.cells().root, clip_convex(corners, region));
  }
}

std::optional<double> finish_height(const MoundPlace& mound, const Point2& uv) {
  std::int32_t at = mound.cells().root;
  while (at >= 0) {
    const PlanNode<double>& node = mound.cells().nodes[static_cast<std::size_t>(at)];
    at = node.line.at(uv.x(), uv.y()) > 0 ? node.positive : node.negative;
  }
  const CellLevel<double>* top = top_level(mound, mound.cells().cells[static_cast<std::size_t>(-1 - at)]);
  if (top == nullptr) return std::nullopt;
  return top->plane.at(uv.x(), uv.y());
}

std::optional<double> shape_height(const LayerShape& shape, const Point2& uv) {
  std::optional<double> highest;
  for (const ConcavePiece& piece : shape.pieces) {
    const bool inside =
        std::all_of(piece.inside.begin(), piece.inside.end(), [&](const PlanLine& line) { return line.at(uv) >= 0; });
    if (!inside) continue;
    double least = std::numeric_limits<double>::infinity();
    for (const ShapePlane& plane : piece.planes) least = std::min(least, plane.at(uv));
    highest = std::max(highest.value_or(least), least);
  }
  return highest;
}

}  // namespace moundwright

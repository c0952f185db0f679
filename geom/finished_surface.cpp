#include "geom/finished_surface.h"

#include <algorithm>
#include <cmath>

namespace moundwright {
namespace {

bool is_inside(const ConcavePiece& piece, const Point2& p) {
  return std::all_of(piece.inside.begin(), piece.inside.end(),
                     [&](const PlanLine& line) { return line.at(p) >= -same_height; });
}

}  // namespace

const ShapePlane& lowest_plane(const ConcavePiece& piece, const Point2& p) {
  return *std::min_element(piece.planes.begin(), piece.planes.end(),
                           [&](const ShapePlane& l, const ShapePlane& r) { return l.at(p) < r.at(p); });
}

std::optional<OnSurface> finished_at(const MoundShape& shape, const Point2& p) {
  std::optional<OnSurface> top;
  for (std::size_t k = 0; k < shape.layers.size(); ++k) {
    for (const ConcavePiece& piece : shape.layers[k].pieces) {
      if (!is_inside(piece, p)) continue;
      const ShapePlane& plane = lowest_plane(piece, p);
      const double height = plane.at(p);
      if (!top || height >= top->height - same_height) top = OnSurface{k, &piece, &plane, height};
    }
  }
  return top;
}

std::optional<double> shoulder_on_ray(const ConcavePiece& piece, const Point2& from, const Point2& outward, double end,
                                      double before) {
  if (lowest_plane(piece, from + outward * end).is_top) return end;
  for (const ShapePlane& top : piece.planes) {
    if (!top.is_top) continue;
    for (const ShapePlane& side : piece.planes) {
      if (side.is_top) continue;
      const double closing = (top.a - side.a) * outward.x() + (top.b - side.b) * outward.y();
      if (std::abs(closing) < 1e-12) continue;
      const double t = (side.at(from) - top.at(from)) / closing;
      if (t < -before || t > end) continue;
      const Point2 p = from + outward * t;
      if (top.at(p) <= lowest_plane(piece, p).at(p) + same_height) return t;
    }
  }
  return std::nullopt;
}

}  // namespace moundwright

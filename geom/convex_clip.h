// Convex polygons in plan, cut by lines: what the checks need to measure parts of cells and triangles.
#pragma once

#include <algorithm>
#include <vector>

#include "geom/ground.h"
#include "geom/mound_shape.h"

namespace moundwright {

/// The part of a convex polygon where a x + b y + c >= 0; empty where nothing is left.
inline Polygon2 clip_convex(const Polygon2& polygon, const PlanLine& line) {
  const auto value = [&](const Point2& p) { return line.a * p.x() + line.b * p.y() + line.c; };
  Polygon2 kept;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Point2 &p = polygon[i], &q = polygon[i + 1 < polygon.size() ? i + 1 : 0];
    const double at_p = value(p), at_q = value(q);
    if (at_p >= 0) kept.push_back(p);
    if ((at_p >= 0) != (at_q >= 0)) kept.push_back(p + (q - p) * (at_p / (at_p - at_q)));
  }
  if (kept.size() < 3) kept.clear();
  return kept;
}

/// The line through two points with its positive side on the left.
inline PlanLine line_left_of(const Point2& from, const Point2& to) {
  const Point2 d = to - from;
  return {-d.y(), d.x(), d.y() * from.x() - d.x() * from.y()};
}

/// The part of a convex polygon inside another, counter-clockwise one.
inline Polygon2 clip_convex(Polygon2 polygon, const Polygon2& convex) {
  for (std::size_t i = 0; i < convex.size() && !polygon.empty(); ++i) {
    polygon = clip_convex(polygon, line_left_of(convex[i], convex[(i + 1) % convex.size()]));
  }
  return polygon;
}

/// Plan area, positive counter-clockwise.
inline double plan_area(const Polygon2& polygon) {
  double twice = 0;
  for (std::size_t i = 1; i + 1 < polygon.size(); ++i) {
    const Point2 p = polygon[i] - polygon[0], q = polygon[i + 1] - polygon[0];
    twice += p.x() * q.y() - p.y() * q.x();
  }
  return 0.5 * twice;
}

/// True if p lies inside a polygon of any shape, whichever way it turns (crossing number).
inline bool is_inside(const Polygon2& polygon, const Point2& p) {
  bool inside = false;
  for (std::size_t i = 0, j = polygon.size() - 1; i < polygon.size(); j = i++) {
    const Point2 &a = polygon[i], &b = polygon[j];
    if ((a.y() > p.y()) == (b.y() > p.y())) continue;
    if (p.x() < a.x() + (b.x() - a.x()) * (p.y() - a.y()) / (b.y() - a.y())) inside = !inside;
  }
  return inside;
}

/// The square-cornered box round some points, counter-clockwise.
inline Polygon2 box_round(const std::vector<Polygon2>& polygons) {
  Point2 low = Point2::Constant(std::numeric_limits<double>::infinity()), high = -low;
  for (const Polygon2& polygon : polygons) {
    for (const Point2& p : polygon) low = low.cwiseMin(p), high = high.cwiseMax(p);
  }
  return {low, {high.x(), low.y()}, high, {low.x(), high.y()}};
}

}  // namespace moundwright

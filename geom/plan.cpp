#include "geom/plan.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace moundwright {

Polygon2 clip_convex(const Polygon2& polygon, const PlanLine& line) {
  return clip_at_zero(
      polygon, [&](const Point2& p) { return line.at(p); },
      [](const Point2& p, const Point2& q, double share) { return Point2(p + (q - p) * share); });
}

Polygon2 clip_convex(Polygon2 polygon, const Polygon2& convex) {
  for (std::size_t i = 0; i < convex.size() && !polygon.empty(); ++i) {
    polygon = clip_convex(polygon, line_left_of(convex[i], convex[(i + 1) % convex.size()]));
  }
  return polygon;
}

double plan_area(const Polygon2& polygon) {
  double twice = 0;
  for (std::size_t i = 1; i + 1 < polygon.size(); ++i)
    twice += cross(polygon[i] - polygon[0], polygon[i + 1] - polygon[0]);
  return 0.5 * twice;
}

bool is_inside(const Polygon2& polygon, const Point2& p) {
  bool inside = false;
  for (std::size_t i = 0, j = polygon.size() - 1; i < polygon.size(); j = i++) {
    const Point2 &a = polygon[i], &b = polygon[j];
    inside ^= crosses_ray(a.x(), a.y(), b.x(), b.y(), p.x(), p.y());
  }
  return inside;
}

Point2 nearest_on(const Point2& from, const Point2& to, const Point2& p) {
  const Point2 d = to - from;
  const double along = d.squaredNorm() > 0 ? std::clamp(d.dot(p - from) / d.squaredNorm(), 0.0, 1.0) : 0.0;
  return from + along * d;
}

bool do_cross(const Point2& p, const Point2& q, const Point2& r, const Point2& s) {
  const auto parts = [](const Point2& from, const Point2& to, const Point2& a, const Point2& b) {
    return (cross(to - from, a - from) > 0) != (cross(to - from, b - from) > 0);
  };
  return parts(p, q, r, s) && parts(r, s, p, q);
}

Polygon2 box_round(const std::vector<Polygon2>& polygons) {
  Point2 low = Point2::Constant(std::numeric_limits<double>::infinity()), high = -low;
  for (const Polygon2& polygon : polygons) {
    for (const Point2& p : polygon) low = low.cwiseMin(p), high = high.cwiseMax(p);
  }
  return {low, {high.x(), low.y()}, high, {low.x(), high.y()}};
}

Point2 direction_of(double azimuth) {
  const double radians = azimuth * std::numbers::pi / 180.0;
  return {std::sin(radians), std::cos(radians)};
}

double azimuth_of(const Point2& direction) {
  const double degrees = std::atan2(direction.x(), direction.y()) * 180.0 / std::numbers::pi;
  return degrees < 0 ? degrees + 360.0 : degrees;
}

}  // namespace moundwright

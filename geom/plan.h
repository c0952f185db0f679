// Plan arithmetic: points, lines, planes and polygons seen from above.
//
//   Polygon2 left = clip_convex(outline, line_left_of(a, b));   // what lies on the left hand of a to b
//   double area = plan_area(left);
//   Point2 at = p + (q - p) * zero_share(line.at(p), line.at(q));
//
// x is east and y north, or u and v in the mound frame; polygons close by themselves. Everything on doubles rounds as
// it comes: what has to be decided exactly is in the kernel, in plan_corners.h and in CGAL.
#pragma once

#include <Eigen/Core>
#include <concepts>
#include <vector>

namespace moundwright {

using Point2 = Eigen::Vector2d;  // plan: x east, y north
using Point3 = Eigen::Vector3d;  // x east, y north, z up
using Polyline2 = std::vector<Point2>;
using Polygon2 = std::vector<Point2>;  // counter-clockwise, closed by itself

/// a x + b y + c: a height over the plan, or the distance from a line, positive on its inner side.
template <class FT>
struct PlaneOf {
  FT a, b, c;
  FT at(const FT& x, const FT& y) const { return a * x + b * y + c; }
  FT at(const Point2& p) const requires std::same_as<FT, double> { return at(p.x(), p.y()); }
};

using Plane = PlaneOf<double>;     // z = a x + b y + c
using PlanLine = PlaneOf<double>;  // a x + b y + c >= 0 on the inner side

/// Twice the area that two directions span, positive where v lies to the left of u.
inline double cross(const Point2& u, const Point2& v) { return u.x() * v.y() - u.y() * v.x(); }

/// A quarter turn to the left.
inline Point2 left_of(const Point2& direction) { return {-direction.y(), direction.x()}; }

/// Part of the way from p to q at which what is linear between them is zero; the values there have different signs.
template <class FT>
FT zero_share(const FT& at_p, const FT& at_q) {
  return at_p / (at_p - at_q);
}

/// The line through two points with its positive side on the left.
inline PlanLine line_left_of(const Point2& from, const Point2& to) {
  const Point2 d = to - from;
  return {-d.y(), d.x(), d.y() * from.x() - d.x() * from.y()};
}

/// The line on whose positive side `high` stands above `low`.
inline PlanLine above(const Plane& high, const Plane& low) { return {high.a - low.a, high.b - low.b, high.c - low.c}; }

/// Corners of a convex polygon of any kind where `value`, which is linear, is at least zero, and where its edges cross
/// zero: `between(p, q, share)` makes those. Sutherland and Hodgman (1974), for one line.
template <class Corners, class Value, class Between>
Corners clip_at_zero(const Corners& polygon, const Value& value, const Between& between) {
  Corners kept;
  if (polygon.empty()) return kept;
  auto at_p = value(polygon.front());
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const auto &p = polygon[i], &q = polygon[i + 1 < polygon.size() ? i + 1 : 0];
    const auto at_q = value(q);
    if (at_p >= 0) kept.push_back(p);
    if ((at_p >= 0) != (at_q >= 0)) kept.push_back(between(p, q, zero_share(at_p, at_q)));
    at_p = at_q;
  }
  if (kept.size() < 3) kept.clear();
  return kept;
}

/// The part of a convex polygon on a line's inner side; empty where nothing is left.
Polygon2 clip_convex(const Polygon2& polygon, const PlanLine& line);

/// The part of a convex polygon inside another, counter-clockwise one.
Polygon2 clip_convex(Polygon2 polygon, const Polygon2& convex);

/// Plan area, positive counter-clockwise.
double plan_area(const Polygon2& polygon);

/// Whether a ray from p toward greater x crosses the edge from a to b, on any number type. From a place on the edge it
/// does not.
template <class FT>
bool crosses_ray(const FT& a_x, const FT& a_y, const FT& b_x, const FT& b_y, const FT& p_x, const FT& p_y) {
  if ((a_y > p_y) == (b_y > p_y)) return false;
  const FT side = (b_x - a_x) * (p_y - a_y) - (p_x - a_x) * (b_y - a_y);
  return b_y > a_y ? side > FT(0) : side < FT(0);
}

/// True if p lies inside a polygon of any shape, whichever way it turns (crossing number).
bool is_inside(const Polygon2& polygon, const Point2& p);

/// The place nearest to p on the stretch between two points.
Point2 nearest_on(const Point2& from, const Point2& to, const Point2& p);

/// True where two stretches cross each other; at a common end or along a common line they do not.
bool do_cross(const Point2& p, const Point2& q, const Point2& r, const Point2& s);

/// The square-cornered box round some polygons, counter-clockwise.
Polygon2 box_round(const std::vector<Polygon2>& polygons);

/// Unit vector (east, north) of an azimuth in degrees clockwise from north, and back (0 to 360).
Point2 direction_of(double azimuth);
double azimuth_of(const Point2& direction);

}  // namespace moundwright

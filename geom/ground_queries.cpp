#include <algorithm>
#include <boost/container/small_vector.hpp>
#include <cmath>
#include <limits>
#include <tuple>

#include "geom/ground.h"
#include "geom/plane_fit.h"
#include "geom/tin_walk.h"

namespace moundwright {
namespace {

using Tree = TinTree<double>;

constexpr double on_the_edge = 1e-7;  // job units: what state-plane coordinates lose in reducing, and no more

Point2 plan(const TinVertex<double>& v) { return {v.x, v.y}; }

// ---- one place ----

bool near_box(const TreeBox& box, const Point2& p) {
  return p.x() >= box.x0 - on_the_edge && p.x() <= box.x1 + on_the_edge && p.y() >= box.y0 - on_the_edge &&
         p.y() <= box.y1 + on_the_edge;
}

struct Found {
  std::uint32_t triangle = 0;
  double inside = -std::numeric_limits<double>::infinity();  // distance from the nearest edge, negative outside
};

/// Distance of p inside the triangle from the line of its nearest edge; negative outside.
double distance_inside(const Tree& tree, std::uint32_t t, const Point2& p) {
  double least = std::numeric_limits<double>::infinity();
  for (int i = 0; i < 3; ++i) {
    const Point2 a = plan(tree.vertices[tree.triangles[t][i]]), b = plan(tree.vertices[tree.triangles[t][(i + 1) % 3]]);
    least = std::min(least, cross(b - a, p - a) / (b - a).norm());
  }
  return least;
}

void find_triangle(const Tree& tree, const TreeNode& node, const Point2& p, Found& found) {
  if (found.inside >= 0 || !near_box(tree.boxes[node.index], p)) return;
  if (!node.is_leaf()) {
    find_triangle(tree, node.first_child(), p, found);
    find_triangle(tree, node.second_child(), p, found);
    return;
  }
  const auto [first, last] = triangle_range(tree, node);
  for (std::uint32_t t = first; t < last && found.inside < 0; ++t) {
    const double inside = distance_inside(tree, t, p);
    if (inside > found.inside) found = {t, inside};
  }
}

/// Elevation in the triangle at p, which lies in it or a hair outside: weights are kept to 0..1, so that a needle
/// cannot throw the hair into a spike.
double elevation_in(const Ground& ground, std::uint32_t t, const Point2& p) {
  const auto& corners = ground.tree.triangles[t];
  double weighted = 0, weights = 0;
  for (int i = 0; i < 3; ++i) {
    const Point2 a = ground.points[corners[(i + 1) % 3]].head<2>(), b = ground.points[corners[(i + 2) % 3]].head<2>();
    const double weight = std::max(0.0, cross(b - a, p - a));
    weighted += weight * (ground.points[corners[i]].z() - ground.points[corners[0]].z());
    weights += weight;
  }
  return ground.points[corners[0]].z() + weighted / weights;
}

// ---- a convex polygon against boxes and triangles ----

/// A convex polygon with what every test against it needs. Refers to the caller's corners, so nothing is allocated.
struct Region {
  const Polygon2& corners;
  Point2 low, high;

  explicit Region(const Polygon2& polygon) : corners(polygon), low(polygon.front()), high(polygon.front()) {
    for (const Point2& p : polygon) low = low.cwiseMin(p), high = high.cwiseMax(p);
  }

  std::size_t size() const { return corners.size(); }
  const Point2& from(std::size_t i) const { return corners[i]; }
  const Point2& to(std::size_t i) const { return corners[i + 1 < corners.size() ? i + 1 : 0]; }
  /// Positive to the left of edge i, which is inside.
  double side(std::size_t i, const Point2& p) const { return cross(to(i) - from(i), p - from(i)); }

  bool contains(const Point2& p) const {
    for (std::size_t i = 0; i < size(); ++i) {
      if (side(i, p) < 0) return false;
    }
    return true;
  }
};

enum class Meets { apart, partly, inside };

Meets meets(const Region& region, const TreeBox& box) {
  if (box.x0 > region.high.x() || box.x1 < region.low.x() || box.y0 > region.high.y() || box.y1 < region.low.y()) {
    return Meets::apart;
  }
  const double x = box.center_x(), y = box.center_y(), half_x = box.half_x(), half_y = box.half_y();
  bool inside = true;
  for (std::size_t i = 0; i < region.size(); ++i) {
    const Point2 edge = region.to(i) - region.from(i);
    const double middle = cross(edge, Point2(x, y) - region.from(i));
    const double reach = std::abs(edge.x()) * half_y + std::abs(edge.y()) * half_x;
    if (middle + reach < 0) return Meets::apart;
    inside = inside && middle - reach >= 0;
  }
  return inside ? Meets::inside : Meets::partly;
}

Meets meets(const Region& region, const std::array<Point2, 3>& corner) {
  bool inside = true;
  for (std::size_t i = 0; i < region.size(); ++i) {
    const double s[3] = {region.side(i, corner[0]), region.side(i, corner[1]), region.side(i, corner[2])};
    if (s[0] < 0 && s[1] < 0 && s[2] < 0) return Meets::apart;
    inside = inside && s[0] >= 0 && s[1] >= 0 && s[2] >= 0;
  }
  if (inside) return Meets::inside;
  for (int k = 0; k < 3; ++k) {
    const Point2 edge = corner[(k + 1) % 3] - corner[k];
    bool outside = true;
    for (std::size_t i = 0; i < region.size() && outside; ++i) outside = cross(edge, region.from(i) - corner[k]) < 0;
    if (outside) return Meets::apart;
  }
  return Meets::partly;
}

std::array<Point2, 3> corners_of(const Tree& tree, std::uint32_t t) {
  const auto& [a, b, c] = tree.triangles[t];
  return {plan(tree.vertices[a]), plan(tree.vertices[b]), plan(tree.vertices[c])};
}

/// Calls f(node index) for nodes wholly inside where `whole` says so, and g(triangle, Meets) for the other triangles
/// met.
template <class Whole, class Triangle>
void visit(const Tree& tree, const TreeNode& node, const Region& region, const Whole& whole, const Triangle& triangle) {
  const Meets met = meets(region, tree.boxes[node.index]);
  if (met == Meets::apart) return;
  if (met == Meets::inside) return whole(node);
  if (!node.is_leaf()) {
    visit(tree, node.first_child(), region, whole, triangle);
    visit(tree, node.second_child(), region, whole, triangle);
    return;
  }
  const auto [first, last] = triangle_range(tree, node);
  for (std::uint32_t t = first; t < last; ++t) {
    const Meets inner = meets(region, corners_of(tree, t));
    if (inner != Meets::apart) triangle(t, inner);
  }
}

// ---- clipping a triangle to the polygon ----

/// A corner of a clipped triangle. `origin` tells what made it: TIN vertex 0-2, or TIN edge 0-2 with an edge of the
/// polygon, or a corner of the polygon. `edge` is the TIN edge that leads on from it, or -1 along the polygon.
struct ClipCorner {
  Point2 p;
  double z;
  enum class Made : std::uint8_t { vertex, edge, corner } made;
  std::int8_t which;  // vertex or edge of the triangle
  std::int8_t edge;
};

using Clipped = boost::container::small_vector<ClipCorner, 24>;  // on the stack for polygons up to 21 corners

ClipCorner crossing_of(const ClipCorner& a, const ClipCorner& b, double side_a, double side_b, std::int8_t leads_on) {
  const double t = zero_share(side_a, side_b);
  const bool on_edge = a.edge >= 0;
  return {a.p + t * (b.p - a.p), a.z + t * (b.z - a.z), on_edge ? ClipCorner::Made::edge : ClipCorner::Made::corner,
          a.edge, leads_on};
}

/// Cuts off what lies to the right of edge i (Sutherland and Hodgman 1974).
void cut_by_edge(const Region& region, std::size_t i, const Clipped& from, Clipped& into) {
  into.clear();
  double side_here = from.empty() ? 0 : region.side(i, from[0].p);
  for (std::size_t k = 0; k < from.size(); ++k) {
    const ClipCorner &here = from[k], &next = from[k + 1 < from.size() ? k + 1 : 0];
    const double side_next = region.side(i, next.p);
    if (side_here >= 0) {
      into.push_back(here);
      if (side_next < 0) {
        if (side_here > 0)
          into.push_back(crossing_of(here, next, side_here, side_next, -1));
        else
          into.back().edge = -1;
      }
    } else if (side_next > 0) {
      into.push_back(crossing_of(here, next, side_here, side_next, here.edge));
    }
    side_here = side_next;
  }
}

/// The part of a triangle inside the region; `z` are values at its corners.
void clip(const Region& region, const std::array<Point2, 3>& corner, const std::array<double, 3>& z, Clipped& result,
          Clipped& spare) {
  result.clear();
  for (std::int8_t i = 0; i < 3; ++i) result.push_back({corner[i], z[i], ClipCorner::Made::vertex, i, i});
  for (std::size_t i = 0; i < region.size() && !result.empty(); ++i) {
    bool all_in = true;
    for (const ClipCorner& c : result) all_in = all_in && region.side(i, c.p) >= 0;
    if (all_in) continue;
    cut_by_edge(region, i, result, spare);
    result.swap(spare);
  }
}

// ---- the plane that fits best ----

/// Adds the moments of a clipped triangle about `center`, as a fan (the same exact rule as the tree's own moments).
/// `fan` is room to work in.
void add_clipped(Moments<double>& sum, const Clipped& piece, const Point2& center, Tree& fan) {
  fan.vertices.clear();
  fan.triangles.clear();
  for (const ClipCorner& c : piece) fan.vertices.push_back({c.p.x(), c.p.y(), c.z});
  for (std::uint32_t i = 2; i < piece.size(); ++i) fan.triangles.push_back({0, i - 1, i});
  for (std::uint32_t i = 0; i < fan.triangles.size(); ++i) {
    tin_tree_detail::add_triangle(sum, fan, i, center.x(), center.y());
  }
}

Moments<double> moments_inside(const Tree& tree, const Region& region, const Point2& center) {
  Moments<double> sum;
  Clipped piece, spare;
  Tree fan;
  visit(
      tree, root_of(tree), region,
      [&](const TreeNode& node) {
        const TreeBox& box = tree.boxes[node.index];
        tin_tree_detail::add_moved(sum, tree.moments[node.index], box.center_x() - center.x(),
                                   box.center_y() - center.y());
      },
      [&](std::uint32_t t, Meets met) {
        if (met == Meets::inside) return tin_tree_detail::add_triangle(sum, tree, t, center.x(), center.y());
        const auto& [a, b, c] = tree.triangles[t];
        clip(region, corners_of(tree, t), {tree.vertices[a].r, tree.vertices[b].r, tree.vertices[c].r}, piece, spare);
        add_clipped(sum, piece, center, fan);
      });
  return sum;
}

// ---- the highest and the lowest place ----

/// Branch and bound for the greatest of sign * elevation.
struct ExtremeSearch {
  const Ground& ground;
  const Region& region;
  double sign;
  double trend_limit;  // greatest of sign * trend anywhere in the region
  double best = -std::numeric_limits<double>::infinity();
  std::uint32_t triangle = 0;
  ClipCorner at{};
  Clipped piece, spare;

  ExtremeSearch(const Ground& g, const Region& r, double s) : ground(g), region(r), sign(s) {
    trend_limit = -std::numeric_limits<double>::infinity();
    for (const Point2& p : r.corners) trend_limit = std::max(trend_limit, s * g.trend.at(p));
  }

  /// No place in the node's part of the region is higher than this (times sign). The last term covers rounding.
  double limit(const TreeNode& node) const {
    const TreeBox& box = ground.tree.boxes[node.index];
    const Plane& trend = ground.trend;
    const double residual = sign > 0 ? box.r1 : -box.r0;
    const double in_box = sign * trend.at({box.center_x(), box.center_y()}) + std::abs(trend.a) * box.half_x() +
                          std::abs(trend.b) * box.half_y();
    const double trend_most = std::min(in_box, trend_limit);
    return trend_most + residual + 1e-12 * std::abs(trend_most);
  }

  void try_corner(std::uint32_t t, const ClipCorner& c) {
    if (sign * c.z <= best) return;
    best = sign * c.z, triangle = t, at = c;
  }

  void try_triangle(std::uint32_t t, bool inside) {
    const auto& [a, b, c] = ground.tree.triangles[t];
    const std::array<double, 3> z = {ground.points[a].z(), ground.points[b].z(), ground.points[c].z()};
    if (std::max({sign * z[0], sign * z[1], sign * z[2]}) <= best) return;
    const std::array<Point2, 3> corner = corners_of(ground.tree, t);
    const Meets met = inside ? Meets::inside : meets(region, corner);
    if (met == Meets::apart) return;
    if (met == Meets::inside) {
      for (std::int8_t i = 0; i < 3; ++i) try_corner(t, {corner[i], z[i], ClipCorner::Made::vertex, i, i});
      return;
    }
    clip(region, corner, z, piece, spare);
    for (const ClipCorner& cut : piece) try_corner(t, cut);
  }

  void search(const TreeNode& node, bool inside) {
    if (!inside) {
      const Meets met = meets(region, ground.tree.boxes[node.index]);
      if (met == Meets::apart) return;
      inside = met == Meets::inside;
    }
    if (node.is_leaf()) {
      const auto [first, last] = triangle_range(ground.tree, node);
      for (std::uint32_t t = first; t < last; ++t) try_triangle(t, inside);
      return;
    }
    TreeNode better = node.first_child(), other = node.second_child();
    double better_limit = limit(better), other_limit = limit(other);
    if (other_limit > better_limit) std::swap(better, other), std::swap(better_limit, other_limit);
    if (better_limit > best) search(better, inside);
    if (other_limit > best) search(other, inside);
  }

  std::optional<double> elevation() {
    search(root_of(ground.tree), false);
    if (!std::isfinite(best)) return std::nullopt;
    return sign * best;
  }

  std::optional<GroundExtreme> run() {
    if (!elevation()) return std::nullopt;
    GroundExtreme extreme{at.p, at.z, {}};
    const auto& corners = ground.tree.triangles[triangle];
    const auto shot = [&](int i) { return ground.shot_of_point[corners[i % 3]]; };
    switch (at.made) {
      case ClipCorner::Made::vertex:
        extreme.shots = {shot(at.which)};
        break;
      case ClipCorner::Made::edge:
        extreme.shots = {shot(at.which), shot(at.which + 1)};
        break;
      case ClipCorner::Made::corner:
        extreme.shots = {shot(0), shot(1), shot(2)};
        break;
    }
    return extreme;
  }
};

std::optional<GroundExtreme> extreme_ground(const Ground& ground, const Polygon2& convex, double sign) {
  if (ground.tree.triangles.empty() || convex.size() < 3) return std::nullopt;
  const Region region(convex);
  return ExtremeSearch(ground, region, sign).run();
}

// ---- the outside ----

/// Which sides of the triangles have none behind them: the ground's end, or where `surveyed` the survey's.
struct Outside {
  const Ground& ground;
  bool surveyed;

  bool counts(std::uint32_t t) const { return !surveyed || !ground.is_assumed(t); }
  bool is_open(std::uint32_t t, int i) const {
    const std::int32_t across = ground.tree.neighbours[t][i];
    return across < 0 || !counts(static_cast<std::uint32_t>(across));
  }

  /// The edge along the outside that follows edge i of triangle t, going round its far end inside the ground.
  std::pair<std::uint32_t, int> next(std::uint32_t t, int i) const {
    i = (i + 1) % 3;
    while (!is_open(t, i)) {
      const auto across = static_cast<std::uint32_t>(ground.tree.neighbours[t][i]);
      i = (side_of(ground.tree.neighbours[across], t) + 1) % 3;
      t = across;
    }
    return {t, i};
  }

  std::vector<Polygon2> rings() const {
    const Tree& tree = ground.tree;
    std::vector<std::array<bool, 3>> seen(tree.triangles.size());
    std::vector<Polygon2> rings;
    for (std::uint32_t start = 0; start < tree.triangles.size(); ++start) {
      if (!counts(start)) continue;
      for (int first = 0; first < 3; ++first) {
        if (!is_open(start, first) || seen[start][first]) continue;
        Polygon2& ring = rings.emplace_back();
        std::uint32_t t = start;
        int i = first;
        do {
          seen[t][i] = true;
          ring.push_back(plan(tree.vertices[tree.triangles[t][i]]));
          std::tie(t, i) = next(t, i);
        } while (t != start || i != first);
      }
    }
    return rings;
  }
};

}  // namespace

std::optional<std::uint32_t> triangle_at(const Ground& ground, const Point2& p) {
  if (ground.tree.triangles.empty()) return std::nullopt;
  Found found;
  find_triangle(ground.tree, root_of(ground.tree), p, found);
  if (found.inside < -on_the_edge) return std::nullopt;
  return found.triangle;
}

std::optional<double> elevation_at(const Ground& ground, const Point2& p) {
  const std::optional<std::uint32_t> triangle = triangle_at(ground, p);
  if (!triangle) return std::nullopt;
  return elevation_in(ground, *triangle, p);
}

std::vector<std::uint32_t> triangles_meeting(const Ground& ground, const Polygon2& convex) {
  std::vector<std::uint32_t> met;
  if (ground.tree.triangles.empty() || convex.empty()) return met;
  visit(
      ground.tree, root_of(ground.tree), Region(convex),
      [&](const TreeNode& node) {
        const auto [first, last] = triangle_range(ground.tree, node);
        for (std::uint32_t t = first; t < last; ++t) met.push_back(t);
      },
      [&](std::uint32_t t, Meets) { met.push_back(t); });
  return met;
}

std::optional<GroundFit> fit_plane(const Ground& ground, const Polygon2& convex) {
  if (ground.tree.triangles.empty() || convex.size() < 3) return std::nullopt;
  const Region region(convex);
  const Point2 center = 0.5 * (region.low + region.high);
  const Moments<double> sum = moments_inside(ground.tree, region, center);
  const std::optional<Plane> fit = plane_of(sum, center);
  if (!fit) return std::nullopt;
  GroundFit result;
  result.plane = {fit->a + ground.trend.a, fit->b + ground.trend.b, fit->c + ground.trend.c};
  result.covered_area = sum.area;
  result.slope = std::hypot(result.plane.a, result.plane.b);
  result.downslope_azimuth = azimuth_of({-result.plane.a, -result.plane.b});
  return result;
}

std::optional<GroundExtreme> highest_ground(const Ground& ground, const Polygon2& convex) {
  return extreme_ground(ground, convex, 1.0);
}

std::optional<double> highest_elevation(const Ground& ground, const Polygon2& convex) {
  if (ground.tree.triangles.empty() || convex.size() < 3) return std::nullopt;
  const Region region(convex);
  return ExtremeSearch(ground, region, 1.0).elevation();
}

std::optional<GroundExtreme> lowest_ground(const Ground& ground, const Polygon2& convex) {
  return extreme_ground(ground, convex, -1.0);
}

std::vector<Polygon2> outline(const Ground& ground) { return Outside{ground, false}.rings(); }

std::vector<Polygon2> surveyed_outline(const Ground& ground) { return Outside{ground, true}.rings(); }

bool is_assumed_at(const Ground& ground, const Point2& p) {
  if (ground.assumed.empty()) return false;
  const std::optional<std::uint32_t> triangle = triangle_at(ground, p);
  return triangle && ground.is_assumed(*triangle);
}

SurveyedCounts surveyed_counts(const Ground& ground) {
  if (ground.assumed.empty()) return {ground.points.size(), ground.triangle_count()};
  SurveyedCounts counts;
  std::vector<bool> met(ground.points.size());
  for (std::uint32_t t = 0; t < ground.triangle_count(); ++t) {
    if (ground.is_assumed(t)) continue;
    ++counts.triangles;
    for (const std::uint32_t v : ground.tree.triangles[t]) met[v] = true;
  }
  counts.points = static_cast<std::size_t>(std::count(met.begin(), met.end(), true));
  return counts;
}

}  // namespace moundwright

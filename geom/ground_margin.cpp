#include "geom/ground_margin.h"

#include <CGAL/box_intersection_d.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <set>

#include "geom/tin_walk.h"

namespace moundwright {
namespace {

constexpr double widest_step = std::numbers::pi / 6;  // of a fan
constexpr double steepest = 10;                       // rise to run; the face of a wall is steeper

/// One step along the outside: edge `side` of a triangle, the survey on its left.
struct OutsideEdge {
  std::uint32_t triangle;
  int side;
};
using Ring = std::vector<OutsideEdge>;

/// A convex piece of the strip: corners are sites, counter-clockwise.
using Piece = std::vector<std::uint32_t>;

class Margin {
 public:
  Margin(PlanTriangulation& tin, std::vector<Site>& sites, std::vector<bool>& gone, double distance)
      : tin_(tin), sites_(sites), gone_(gone), distance_(distance) {}

  GroundMargin add() {
    for (const Ring& ring : rings()) {
      for (const OutsideEdge& edge : ring) ends_.push_back({corner(edge, 0), corner(edge, 1)});
      if (is_outer(ring)) add_pieces(ring);
    }
    GroundMargin margin;
    const std::vector<bool> fits = pieces_that_fit();
    const std::size_t surveyed = tin_.triangles.size();
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
      if (fits[i]) add_triangles(pieces_[i]);
    }
    margin.pieces_left_out += static_cast<std::size_t>(std::count(fits.begin(), fits.end(), false));
    join_neighbours(surveyed);
    margin.assumed.assign(tin_.triangles.size(), false);
    std::fill(margin.assumed.begin() + static_cast<std::ptrdiff_t>(surveyed), margin.assumed.end(), true);
    gone_.resize(tin_.triangles.size(), false);
    return margin;
  }

 private:
  PlanTriangulation& tin_;
  std::vector<Site>& sites_;
  std::vector<bool>& gone_;
  const double distance_;
  std::vector<Piece> pieces_;
  std::vector<std::array<std::uint32_t, 2>> ends_;  // of the survey's outside

  std::uint32_t corner(const OutsideEdge& edge, int which) const {
    return tin_.triangles[edge.triangle][static_cast<std::size_t>((edge.side + which) % 3)];
  }
  Point2 at(std::uint32_t site) const { return sites_[site].plan(); }
  Point2 way(const OutsideEdge& edge) const { return (at(corner(edge, 1)) - at(corner(edge, 0))).normalized(); }
  static Point2 out(const Point2& way) { return {way.y(), -way.x()}; }

  // ---- the survey's outside ----

  OutsideEdge next(OutsideEdge edge) const {
    edge.side = (edge.side + 1) % 3;
    while (tin_.neighbours[edge.triangle][edge.side] >= 0) {
      const auto across = static_cast<std::uint32_t>(tin_.neighbours[edge.triangle][edge.side]);
      edge = {across, (side_of(tin_.neighbours[across], edge.triangle) + 1) % 3};
    }
    return edge;
  }

  std::vector<Ring> rings() const {
    std::set<std::pair<std::uint32_t, int>> seen;
    std::vector<Ring> rings;
    for (std::uint32_t t = 0; t < tin_.triangles.size(); ++t) {
      for (int i = 0; i < 3 && !gone_[t]; ++i) {
        if (tin_.neighbours[t][i] >= 0 || seen.contains({t, i})) continue;
        Ring& ring = rings.emplace_back();
        OutsideEdge edge{t, i};
        do {
          seen.insert({edge.triangle, edge.side});
          ring.push_back(edge);
          edge = next(edge);
        } while (edge.triangle != t || edge.side != i);
      }
    }
    return rings;
  }

  bool is_outer(const Ring& ring) const {
    const Point2 start = at(corner(ring.front(), 0));
    double twice = 0;
    for (const OutsideEdge& edge : ring) twice += cross(at(corner(edge, 0)) - start, at(corner(edge, 1)) - start);
    return twice > 0;
  }

  // ---- how the ground falls there ----

  double twice_area(std::uint32_t t) const {
    const auto& [a, b, c] = tin_.triangles[t];
    return cross(at(b) - at(a), at(c) - at(a));
  }

  Point2 slope_of(std::uint32_t t) const {
    const Site &a = sites_[tin_.triangles[t][0]], &b = sites_[tin_.triangles[t][1]], &c = sites_[tin_.triangles[t][2]];
    const Point2 u = b.plan() - a.plan(), v = c.plan() - a.plan();
    return Point2((b.z - a.z) * v.y() - (c.z - a.z) * u.y(), (c.z - a.z) * u.x() - (b.z - a.z) * v.x()) / cross(u, v);
  }

  /// Triangles round the end of an edge along the outside.
  std::vector<std::uint32_t> round_end_of(OutsideEdge edge) const {
    std::vector<std::uint32_t> round{edge.triangle};
    edge.side = (edge.side + 1) % 3;
    while (tin_.neighbours[edge.triangle][edge.side] >= 0) {
      const auto across = static_cast<std::uint32_t>(tin_.neighbours[edge.triangle][edge.side]);
      edge = {across, (side_of(tin_.neighbours[across], edge.triangle) + 1) % 3};
      round.push_back(across);
    }
    return round;
  }

  Point2 slope_at_end_of(const OutsideEdge& edge) const {
    constexpr int most_rounds = 4;
    std::vector<std::uint32_t> near = round_end_of(edge);
    std::set<std::uint32_t> seen(near.begin(), near.end());
    std::size_t looked_at = 0;
    double twice = 0;
    Point2 sum = Point2::Zero();
    for (int round = 0; round < most_rounds && twice < 2 * distance_ * distance_; ++round) {
      for (const std::size_t last = near.size(); looked_at < last; ++looked_at) {
        const std::uint32_t t = near[looked_at];
        const Point2 slope = slope_of(t);
        if (slope.norm() < steepest) twice += twice_area(t), sum += twice_area(t) * slope;
        for (const std::int32_t n : tin_.neighbours[t]) {
          if (n >= 0 && seen.insert(static_cast<std::uint32_t>(n)).second)
            near.push_back(static_cast<std::uint32_t>(n));
        }
      }
    }
    return twice > 0 ? Point2(sum / twice) : Point2::Zero();
  }

  // ---- the pieces ----

  std::uint32_t carried_on(std::uint32_t from, const Point2& slope, const Point2& step) {
    const Site& site = sites_[from];
    const Point2 p = site.plan() + step;
    sites_.push_back({p.x(), p.y(), site.z + slope.dot(step), -1});
    return static_cast<std::uint32_t>(sites_.size() - 1);
  }

  /// The new sites round the end of an edge, from square out of it to square out of the one that follows.
  std::vector<std::uint32_t> fan(const OutsideEdge& edge, const OutsideEdge& following) {
    const std::uint32_t here = corner(edge, 1);
    const Point2 slope = slope_at_end_of(edge), before = way(edge), after = way(following);
    const double turn = std::atan2(cross(before, after), before.dot(after));
    const auto turned = [&](double angle) {
      const Point2 o = out(before);
      return Point2(std::cos(angle) * o.x() - std::sin(angle) * o.y(),
                    std::sin(angle) * o.x() + std::cos(angle) * o.y());
    };
    if (turn < 0) return {carried_on(here, slope, turned(turn / 2) * (distance_ / std::cos(turn / 2)))};
    if (turn < widest_step) return {carried_on(here, slope, turned(turn / 2) * distance_)};
    const int steps = static_cast<int>(std::ceil(turn / widest_step - 1e-9));
    std::vector<std::uint32_t> places;
    for (int i = 0; i <= steps; ++i) places.push_back(carried_on(here, slope, turned(turn * i / steps) * distance_));
    return places;
  }

  void add_pieces(const Ring& ring) {
    std::vector<std::vector<std::uint32_t>> fans;  // at the end of each edge
    for (std::size_t i = 0; i < ring.size(); ++i) fans.push_back(fan(ring[i], ring[(i + 1) % ring.size()]));
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const std::vector<std::uint32_t>&behind = fans[(i + ring.size() - 1) % ring.size()], &ahead = fans[i];
      const std::uint32_t from = corner(ring[i], 0), to = corner(ring[i], 1);
      pieces_.push_back({behind.back(), ahead.front(), to, from});
      if (ahead.size() < 2) continue;
      Piece whole{to};
      whole.insert(whole.end(), ahead.begin(), ahead.end());
      pieces_.push_back(std::move(whole));
    }
  }

  // ---- which of them fit ----

  std::vector<Point2> places_of(const Piece& piece) const {
    std::vector<Point2> places;
    for (const std::uint32_t site : piece) places.push_back(at(site));
    return places;
  }

  static bool is_convex(const std::vector<Point2>& p) {
    for (std::size_t i = 0; i < p.size(); ++i) {
      if (!(cross(p[(i + 1) % p.size()] - p[i], p[(i + 2) % p.size()] - p[i]) > 0)) return false;
    }
    return true;
  }

  /// No line along an edge of `p` has all of `q` on its right.
  static bool reaches_into(const std::vector<Point2>& p, const std::vector<Point2>& q) {
    for (std::size_t i = 0; i < p.size(); ++i) {
      const Point2 edge = (p[(i + 1) % p.size()] - p[i]).normalized();
      if (std::all_of(q.begin(), q.end(), [&](const Point2& x) { return cross(edge, x - p[i]) < same_place; })) {
        return false;
      }
    }
    return true;
  }

  /// A stretch is two places: both its sides have to be tried.
  static bool overlap(const std::vector<Point2>& p, const std::vector<Point2>& q) {
    return reaches_into(p, q) && reaches_into(q, p);
  }

  /// Pieces that are turned inside out, and those that lie over another piece or over the survey, do not fit.
  std::vector<bool> pieces_that_fit() const {
    using Box = CGAL::Box_intersection_d::Box_with_info_d<double, 2, std::size_t>;
    std::vector<std::vector<Point2>> shapes;
    for (const Piece& piece : pieces_) shapes.push_back(places_of(piece));
    for (const auto& [from, to] : ends_) shapes.push_back({at(from), at(to)});
    std::vector<Box> boxes;
    for (std::size_t i = 0; i < shapes.size(); ++i) {
      Point2 low = shapes[i].front(), high = low;
      for (const Point2& p : shapes[i]) low = low.cwiseMin(p), high = high.cwiseMax(p);
      boxes.emplace_back(CGAL::Bbox_2(low.x(), low.y(), high.x(), high.y()), i);
    }
    std::vector<bool> fits(pieces_.size());
    for (std::size_t i = 0; i < pieces_.size(); ++i) fits[i] = is_convex(shapes[i]);
    const std::vector<bool> convex = fits;
    CGAL::box_self_intersection_d(boxes.begin(), boxes.end(), [&](const Box& a, const Box& b) {
      const std::size_t i = std::min(a.info(), b.info()), j = std::max(a.info(), b.info());
      if (i >= pieces_.size() || !convex[i] || (j < pieces_.size() && !convex[j])) return;
      if (!overlap(shapes[i], shapes[j])) return;
      fits[i] = false;
      if (j < pieces_.size()) fits[j] = false;
    });
    return fits;
  }

  // ---- into the triangulation ----

  void add_triangles(const Piece& piece) {
    for (std::size_t i = 1; i + 1 < piece.size(); ++i) {
      tin_.triangles.push_back({piece[0], piece[i], piece[i + 1]});
      tin_.neighbours.push_back({-1, -1, -1});
      if (!tin_.kept.empty()) tin_.kept.push_back({false, false, false});
    }
  }

  void join_neighbours(std::size_t surveyed) {
    std::map<std::array<std::uint32_t, 2>, OutsideEdge> open;
    for (std::uint32_t t = 0; t < tin_.triangles.size(); ++t) {
      if (t < surveyed && gone_[t]) continue;
      for (int i = 0; i < 3; ++i) {
        if (tin_.neighbours[t][i] >= 0) continue;
        const std::uint32_t from = tin_.triangles[t][i], to = tin_.triangles[t][(i + 1) % 3];
        const auto other = open.find({to, from});
        if (other == open.end()) {
          open[{from, to}] = {t, i};
          continue;
        }
        const OutsideEdge& across = other->second;
        tin_.neighbours[t][i] = static_cast<std::int32_t>(across.triangle);
        tin_.neighbours[across.triangle][across.side] = static_cast<std::int32_t>(t);
        open.erase(other);
      }
    }
  }
};

}  // namespace

double most_extension(LengthUnit unit) { return unit == LengthUnit::metre ? 3.0 : 10.0; }

GroundMargin add_margin(PlanTriangulation& tin, std::vector<Site>& sites, std::vector<bool>& gone, double distance) {
  return Margin(tin, sites, gone, distance).add();
}

}  // namespace moundwright

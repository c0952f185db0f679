#include "geom/assumed_ground.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "geom/bulk_units.h"
#include "geom/footprint_pieces.h"
#include "geom/plan.h"

namespace moundwright {
namespace {

double distance_to_segment(const Point2& p, const Point2& from, const Point2& to) {
  const Point2 d = to - from;
  const double along = d.squaredNorm() > 0 ? std::clamp(d.dot(p - from) / d.squaredNorm(), 0.0, 1.0) : 0.0;
  return (p - from - along * d).norm();
}

double distance_to(const std::vector<Polygon2>& rings, const Point2& p) {
  double least = std::numeric_limits<double>::infinity();
  for (const Polygon2& ring : rings) {
    for (std::size_t i = 0; i < ring.size(); ++i) {
      least = std::min(least, distance_to_segment(p, ring[i], ring[(i + 1) % ring.size()]));
    }
  }
  return least;
}

/// Integral of finished minus prepared ground over a piece of the footprint; both are planes there.
double fill_over(const FootprintPiece& piece) {
  const auto height = [&](const Point2& p) { return piece.finish.at(p.x(), p.y()) - piece.prepared.at(p.x(), p.y()); };
  double sum = 0;
  for (std::size_t i = 1; i + 1 < piece.outline.size(); ++i) {
    const Point2 &o = piece.outline[0], &p = piece.outline[i], &q = piece.outline[i + 1];
    sum += plan_area({o, p, q}) * (height(o) + height(p) + height(q)) / 3;
  }
  return sum;
}

}  // namespace

std::optional<OnAssumedGround> on_assumed_ground(const PlacedMound& mound, LengthUnit unit) {
  if (mound.ground.assumed.empty()) return std::nullopt;
  OnAssumedGround assumed;
  for_each_footprint_piece(mound, [&](const FootprintPiece& piece) {
    if (!mound.ground.is_assumed(piece.triangle)) return;
    assumed.area += plan_area(piece.outline);
    assumed.fill_cy += fill_over(piece) * cubic_yards_per(unit);
  });
  if (!(assumed.area > 0)) return std::nullopt;
  const std::vector<Polygon2> survey = surveyed_outline(mound.ground);
  for (const Polygon2& loop : mound.buildup.toe.outer) {
    for (const Point2& p : loop) {
      if (!is_assumed_at(mound.ground, p)) continue;
      const double past = distance_to(survey, p);
      if (past > assumed.farthest) assumed.farthest = past, assumed.at = mound.ground.to_world(p);
    }
  }
  return assumed;
}

double assumed_area_in(const Ground& ground, const Polygon2& convex) {
  if (ground.assumed.empty()) return 0;
  double area = 0;
  for (const std::uint32_t t : triangles_meeting(ground, convex)) {
    if (!ground.is_assumed(t)) continue;
    Polygon2 triangle;
    for (const std::uint32_t v : ground.tree.triangles[t]) triangle.push_back(ground.points[v].head<2>());
    const Polygon2 part = clip_convex(triangle, convex);
    if (!part.empty()) area += plan_area(part);
  }
  return area;
}

std::vector<std::array<Point3, 3>> assumed_triangles(const Ground& ground) {
  std::vector<std::array<Point3, 3>> triangles;
  for (std::uint32_t t = 0; t < ground.triangle_count(); ++t) {
    if (!ground.is_assumed(t)) continue;
    const auto& [a, b, c] = ground.tree.triangles[t];
    triangles.push_back({ground.points[a], ground.points[b], ground.points[c]});
  }
  return triangles;
}

std::string to_text(const OnAssumedGround& assumed, LengthUnit unit) {
  const BulkUnits& bulk = bulk_units(unit);
  return fmt::format(
      "up to {:.2f} {} past the survey the berm rests on assumed ground: {:.1f} {} of it, with {:.1f} {} over it",
      assumed.farthest, symbol(unit), assumed.area, bulk.metric ? "sq m" : "sq ft", bulk.of_yard * assumed.fill_cy,
      bulk.volume);
}

}  // namespace moundwright

#include "geom/toe.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "geom/convex_clip.h"

namespace moundwright {
namespace {

double cross(const Point2& a, const Point2& b) { return a.x() * b.y() - a.y() * b.x(); }

Point2 left_of(const Point2& v) { return {-v.y(), v.x()}; }

/// The bed's long edge at offset v, mitred at the bends: one point at each point of the centre line.
std::vector<Point2> offset_line(const std::vector<Point2>& line, double v) {
  std::vector<Point2> offset;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const Point2 before = (i == 0 ? line[1] - line[0] : line[i] - line[i - 1]).normalized();
    const Point2 after = (i + 1 == line.size() ? line[i] - line[i - 1] : line[i + 1] - line[i]).normalized();
    const Point2 mitre = (left_of(before) + left_of(after)).normalized();
    offset.emplace_back(line[i] + mitre * (v / mitre.dot(left_of(before))));
  }
  return offset;
}

std::vector<BedEdge> long_edges(const MoundShape& shape, double side) {
  const std::vector<Point2> line = offset_line(shape.line, side * shape.half_width);
  std::vector<BedEdge> edges;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const Point2 along = (shape.line[i + 1] - shape.line[i]).normalized();
    edges.push_back({line[i], line[i + 1], left_of(along) * side, i});
  }
  return edges;
}

BedEdge end_edge(const MoundShape& shape, bool is_left) {
  const std::size_t n = shape.line.size();
  const std::size_t piece = is_left ? 0 : n - 2;
  const Point2 along = (shape.line[piece + 1] - shape.line[piece]).normalized();
  const Point2& at = is_left ? shape.line.front() : shape.line.back();
  const Point2 half = left_of(along) * shape.half_width;
  return {at - half, at + half, is_left ? Point2(-along) : along, piece};
}

/// Distance along a ray to the first crossing of any loop.
std::optional<double> first_crossing(const std::vector<Polygon2>& loops, const Point2& from, const Point2& outward) {
  double least = std::numeric_limits<double>::infinity();
  for (const Polygon2& loop : loops) {
    for (std::size_t i = 0; i < loop.size(); ++i) {
      const Point2 p = loop[i] - from, q = loop[(i + 1) % loop.size()] - from;
      const double side_p = cross(outward, p), side_q = cross(outward, q);
      if ((side_p > 0) == (side_q > 0)) continue;
      const Point2 at = p + (q - p) * (side_p / (side_p - side_q));
      const double distance = outward.dot(at);
      if (distance >= -1e-9 && distance < least) least = distance;
    }
  }
  if (!std::isfinite(least)) return std::nullopt;
  return std::max(0.0, least);
}

/// Cuts a segment to where f >= 0, f being linear with the given values at the ends; false if nothing is left.
bool cut_segment(Point2& p, Point2& q, double fp, double fq) {
  if (fp < 0 && fq < 0) return false;
  if (fp < 0)
    p = p + (q - p) * (fp / (fp - fq));
  else if (fq < 0)
    q = q + (p - q) * (fq / (fq - fp));
  return true;
}

/// What is known of one face's berm so far. Stations run along the bed's edges on the face, one after another.
struct FaceReach {
  double middle_station;
  double least = std::numeric_limits<double>::infinity(), most = 0;
  double off_middle = std::numeric_limits<double>::infinity();  // how far from mid-length `middle` was taken
  double middle = 0;

  void add(double station, double out) {
    constexpr double same = 1e-9;
    out = std::max(0.0, out);
    least = std::min(least, out), most = std::max(most, out);
    const double off = std::abs(station - middle_station);
    if (off > off_middle + same || (off > off_middle - same && out >= middle)) return;
    off_middle = off, middle = out;
  }
};

/// Adds the part of a toe segment that lies square out from the edge, inside the edge's own piece. `start` is the
/// edge's first station.
void add_segment(const BedEdge& edge, double start, const std::vector<PlanLine>& piece, Point2 p, Point2 q,
                 FaceReach& reach) {
  constexpr double on_the_edge = 1e-9;  // a vertical side at the bed's own edge is square out from it
  const Point2 along = (edge.to - edge.from).normalized();
  const double length = (edge.to - edge.from).norm();
  const auto cut_by = [&](auto&& f) { return cut_segment(p, q, f(p), f(q)); };
  if (!cut_by([&](const Point2& x) { return along.dot(x - edge.from); })) return;
  if (!cut_by([&](const Point2& x) { return length - along.dot(x - edge.from); })) return;
  if (!cut_by([&](const Point2& x) { return edge.outward.dot(x - edge.from) + on_the_edge; })) return;
  for (const PlanLine& line : piece) {
    if (!cut_by([&](const Point2& x) { return line.a * x.x() + line.b * x.y() + line.c; })) return;
  }
  const auto station = [&](const Point2& x) { return start + along.dot(x - edge.from); };
  const auto out = [&](const Point2& x) { return edge.outward.dot(x - edge.from); };
  const double at_p = station(p), at_q = station(q), middle = reach.middle_station;
  for (const Point2& x : {p, q}) reach.add(station(x), out(x));
  if ((at_p < middle) != (at_q < middle)) {
    const double part = (middle - at_p) / (at_q - at_p);
    reach.add(middle, out(p) + part * (out(q) - out(p)));
  }
}

/// The lines at which a piece of a bent bed gives way to its neighbours: those of its region beyond the bed's own
/// edges.
std::vector<PlanLine> bends_of(const MoundShape& shape, std::size_t piece) {
  const std::vector<PlanLine>& inside = shape.bed[piece].inside;
  const std::size_t n = shape.line.size();
  const std::size_t bends = (piece > 0 ? 1 : 0) + (piece + 2 < n ? 1 : 0);
  return {inside.end() - static_cast<std::ptrdiff_t>(bends), inside.end()};
}

BermLength length_on(const MoundShape& shape, const std::vector<BedEdge>& edges, const std::vector<Polygon2>& outer) {
  double total = 0;
  for (const BedEdge& edge : edges) total += (edge.to - edge.from).norm();
  FaceReach reach{.middle_station = 0.5 * total};
  double start = 0;
  for (const BedEdge& edge : edges) {
    const std::vector<PlanLine> bends = bends_of(shape, edge.piece);
    for (const Polygon2& loop : outer) {
      for (std::size_t i = 0; i < loop.size(); ++i) {
        add_segment(edge, start, bends, loop[i], loop[(i + 1) % loop.size()], reach);
      }
    }
    start += (edge.to - edge.from).norm();
  }
  if (!std::isfinite(reach.least)) return {};
  return {reach.middle, reach.least, reach.most};
}

}  // namespace

std::vector<BedEdge> bed_edges(const MoundShape& shape, Face face) {
  switch (face) {
    case Face::upslope:
      return long_edges(shape, -1);
    case Face::downslope:
      return long_edges(shape, 1);
    case Face::left:
      return {end_edge(shape, true)};
    case Face::right:
      return {end_edge(shape, false)};
  }
  return {};
}

std::vector<Polygon2> toe_in_mound_frame(const Ground& ground, const MoundPlan& plan, const ToeLine& toe) {
  std::vector<Polygon2> loops = toe.outer;
  for (Polygon2& loop : loops) {
    for (Point2& p : loop) p = plan.placement.to_mound(ground.to_world(p));
  }
  return loops;
}

bool encloses(const ToeLine& toe, const Point2& p) {
  bool inside = false;
  for (const Polygon2& loop : toe.outer) inside ^= is_inside(loop, p);
  for (const Polygon2& hole : toe.holes) inside ^= is_inside(hole, p);
  return inside;
}

std::optional<double> distance_to_toe(const Ground& ground, const MoundPlan& plan, const ToeLine& toe,
                                      const Point2& from, const Point2& outward) {
  return first_crossing(toe_in_mound_frame(ground, plan, toe), from, outward);
}

BermLengths berm_lengths(const Ground& ground, const MoundPlan& plan, const ToeLine& toe) {
  const std::vector<Polygon2> outer = toe_in_mound_frame(ground, plan, toe);
  const auto on = [&](Face face) { return length_on(plan.shape, bed_edges(plan.shape, face), outer); };
  return {on(Face::upslope), on(Face::downslope), on(Face::left), on(Face::right)};
}

}  // namespace moundwright

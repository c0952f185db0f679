#include "geom/toe.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "geom/plan.h"

namespace moundwright {
namespace {

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

/// Distances along a ray to where it crosses any loop, ascending.
std::vector<double> crossings(const std::vector<Polygon2>& loops, const Point2& from, const Point2& outward) {
  std::vector<double> distances;
  for (const Polygon2& loop : loops) {
    for (std::size_t i = 0; i < loop.size(); ++i) {
      const Point2 p = loop[i] - from, q = loop[(i + 1) % loop.size()] - from;
      const double side_p = cross(outward, p), side_q = cross(outward, q);
      if ((side_p > 0) == (side_q > 0)) continue;
      const Point2 at = p + (q - p) * zero_share(side_p, side_q);
      const double distance = outward.dot(at);
      if (distance >= -1e-9) distances.push_back(std::max(0.0, distance));
    }
  }
  std::sort(distances.begin(), distances.end());
  return distances;
}

/// Cuts a segment to where f >= 0, f being linear with the given values at the ends; false if nothing is left.
bool cut_segment(Point2& p, Point2& q, double fp, double fq) {
  if (fp < 0 && fq < 0) return false;
  if (fp < 0)
    p = p + (q - p) * zero_share(fp, fq);
  else if (fq < 0)
    q = q + (p - q) * zero_share(fq, fp);
  return true;
}

/// A stretch of the toe seen square from a face: it runs from one station to a later one, and so far out at each.
/// Stations run along the bed's edges on the face, one after another.
struct Sighting {
  double from, to;
  double out_from, out_to;
  double out_at(double station) const { return std::lerp(out_from, out_to, (station - from) / (to - from)); }
};

/// Stretches of stations shorter than this (job units) are nothing: a wall that runs along the square line is met by
/// the lines beside it only.
constexpr double no_stretch = 1e-6;

/// Adds the part of a toe segment that lies square out from the edge, inside the edge's own piece. `start` is the
/// edge's first station.
void add_segment(const BedEdge& edge, double start, const std::vector<PlanLine>& piece, Point2 p, Point2 q,
                 std::vector<Sighting>& seen) {
  // A vertical side at the bed's own edge is square out from it, and one at a bend's bisector is on both pieces.
  constexpr double on_the_line = 1e-6;
  const Point2 along = (edge.to - edge.from).normalized();
  const double length = (edge.to - edge.from).norm();
  const auto cut_by = [&](auto&& f) { return cut_segment(p, q, f(p), f(q)); };
  if (!cut_by([&](const Point2& x) { return along.dot(x - edge.from); })) return;
  if (!cut_by([&](const Point2& x) { return length - along.dot(x - edge.from); })) return;
  if (!cut_by([&](const Point2& x) { return edge.outward.dot(x - edge.from) + on_the_line; })) return;
  for (const PlanLine& line : piece) {
    if (!cut_by([&](const Point2& x) { return line.at(x) + on_the_line; })) return;
  }
  const auto station = [&](const Point2& x) { return start + along.dot(x - edge.from); };
  const auto out = [&](const Point2& x) { return std::max(0.0, edge.outward.dot(x - edge.from)); };
  if (station(p) > station(q)) std::swap(p, q);
  if (station(q) - station(p) > 0) seen.push_back({station(p), station(q), out(p), out(q)});
}

/// The berm's length as it is found along a face, stretch by stretch of stations.
struct FaceReach {
  double middle_station;
  double least = std::numeric_limits<double>::infinity(), most = 0;
  double off_middle = std::numeric_limits<double>::infinity();  // how far from mid-length `middle` was taken
  double middle = 0;

  void add(double station, double out) {
    constexpr double same = 1e-9;
    least = std::min(least, out), most = std::max(most, out);
    const double off = std::abs(station - middle_station);
    if (off > off_middle + same || (off > off_middle - same && out >= middle)) return;
    off_middle = off, middle = out;
  }

  void add(double from, double to, const Sighting& toe) {
    add(from, toe.out_at(from));
    add(to, toe.out_at(to));
    if (from < middle_station && middle_station < to) add(middle_station, toe.out_at(middle_station));
  }
};

/// Goes along the face. Between two stations at which a sighting begins or ends none gets in front of another, since
/// toes do not cross, and the nearest is the toe.
void add_nearest(std::vector<Sighting> seen, FaceReach& reach) {
  std::sort(seen.begin(), seen.end(), [](const Sighting& p, const Sighting& q) { return p.from < q.from; });
  std::vector<double> stations;
  for (const Sighting& s : seen) stations.push_back(s.from), stations.push_back(s.to);
  std::sort(stations.begin(), stations.end());
  std::vector<Sighting> open;
  auto next = seen.begin();
  for (std::size_t i = 0; i + 1 < stations.size(); ++i) {
    const double from = stations[i], to = stations[i + 1], middle = 0.5 * (from + to);
    for (; next != seen.end() && next->from <= from; ++next) open.push_back(*next);
    std::erase_if(open, [&](const Sighting& s) { return s.to <= from; });
    if (open.empty() || to - from < no_stretch) continue;
    reach.add(from, to, *std::min_element(open.begin(), open.end(), [&](const Sighting& p, const Sighting& q) {
                return p.out_at(middle) < q.out_at(middle);
              }));
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

/// What the lines of a face meet: within their own pieces, or carried on past the bends to wherever the toe is.
enum class Lines { within_their_pieces, carried_on };

std::vector<Sighting> sightings(const MoundShape& shape, const std::vector<BedEdge>& edges,
                                const std::vector<Polygon2>& outer, Lines lines) {
  std::vector<Sighting> seen;
  double start = 0;
  for (const BedEdge& edge : edges) {
    const std::vector<PlanLine> bends =
        lines == Lines::within_their_pieces ? bends_of(shape, edge.piece) : std::vector<PlanLine>{};
    for (const Polygon2& loop : outer) {
      for (std::size_t i = 0; i < loop.size(); ++i) {
        add_segment(edge, start, bends, loop[i], loop[(i + 1) % loop.size()], seen);
      }
    }
    start += (edge.to - edge.from).norm();
  }
  return seen;
}

BermLength length_on(const MoundShape& shape, const std::vector<BedEdge>& edges, const std::vector<Polygon2>& outer) {
  double total = 0;
  for (const BedEdge& edge : edges) total += (edge.to - edge.from).norm();
  for (const Lines lines : {Lines::within_their_pieces, Lines::carried_on}) {
    FaceReach reach{.middle_station = 0.5 * total};
    add_nearest(sightings(shape, edges, outer, lines), reach);
    if (std::isfinite(reach.least)) return {reach.middle, reach.least, reach.most};
  }
  return {};
}

}  // namespace

double on_face(const ByFace& values, Face face) {
  switch (face) {
    case Face::upslope:
      return values.upslope;
    case Face::downslope:
      return values.downslope;
    case Face::left:
      return values.left;
    case Face::right:
      return values.right;
  }
  return 0;
}

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

std::vector<Polygon2> toe_in_mound_frame(const MoundPlace& mound, const ToeLine& toe) {
  std::vector<Polygon2> loops = toe.outer;
  for (Polygon2& loop : loops) {
    for (Point2& p : loop) p = mound.from_reduced(p);
  }
  return loops;
}

bool encloses(const ToeLine& toe, const Point2& p) {
  bool inside = false;
  for (const Polygon2& loop : toe.outer) inside ^= is_inside(loop, p);
  for (const Polygon2& hole : toe.holes) inside ^= is_inside(hole, p);
  return inside;
}

std::vector<double> distances_to_toe(const MoundPlace& mound, const ToeLine& toe, const Point2& from,
                                     const Point2& outward) {
  return crossings(toe_in_mound_frame(mound, toe), from, outward);
}

std::optional<double> distance_to_toe(const MoundPlace& mound, const ToeLine& toe, const Point2& from,
                                      const Point2& outward) {
  const std::vector<double> all = distances_to_toe(mound, toe, from, outward);
  return all.empty() ? std::nullopt : std::optional(all.front());
}

BermLengths berm_lengths(const MoundPlace& mound, const ToeLine& toe) {
  const std::vector<Polygon2> outer = toe_in_mound_frame(mound, toe);
  const auto on = [&](Face face) { return length_on(mound.shape(), bed_edges(mound.shape(), face), outer); };
  return {on(Face::upslope), on(Face::downslope), on(Face::left), on(Face::right)};
}

}  // namespace moundwright

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <unordered_map>

#include "geom/contour_interval.h"
#include "geom/ground.h"
#include "geom/tin_walk.h"

namespace moundwright {
namespace {

constexpr double most_levels = 10000;

// A point at exactly the level counts as above it. So every triangle that a level cuts is cut in just two edges,
// whatever lies on the level, and the line goes in over the edge from above to below (counter-clockwise) and out over
// the one from below to above, with the higher ground on its left.

struct Tracer {
  const Ground& ground;
  double level;
  std::vector<std::uint32_t>& mark;  // a triangle's mark is `stamp` once this level has been through it
  std::uint32_t stamp;

  bool above(std::uint32_t t, int i) const { return ground.points[ground.tree.triangles[t][i % 3]].z() >= level; }
  bool cut(std::uint32_t t) const { return above(t, 0) != above(t, 1) || above(t, 1) != above(t, 2); }
  int way_in(std::uint32_t t) const { return above(t, 0) && !above(t, 1) ? 0 : above(t, 1) && !above(t, 2) ? 1 : 2; }
  int way_out(std::uint32_t t) const { return !above(t, 0) && above(t, 1) ? 0 : !above(t, 1) && above(t, 2) ? 1 : 2; }

  /// Where the level crosses edge i. Always reckoned from the lower end, so that both sides get the same point.
  Point2 crossing(std::uint32_t t, int i) const {
    const Point3 *low = &ground.points[ground.tree.triangles[t][i]],
                 *high = &ground.points[ground.tree.triangles[t][(i + 1) % 3]];
    if (low->z() > high->z()) std::swap(low, high);
    if (high->z() == level) return high->head<2>();
    return low->head<2>() + (level - low->z()) / (high->z() - low->z()) * (high->head<2>() - low->head<2>());
  }

  static void add(Polyline2& line, const Point2& p) {
    if (line.empty() || line.back() != p)
      line.push_back(p);  // a shot at the level is met once in every triangle round it
  }

  /// Back along the line to where it enters the survey, or round to t again.
  std::uint32_t beginning(std::uint32_t t) const {
    for (std::uint32_t at = t;;) {
      const std::int32_t before = ground.tree.neighbours[at][way_in(at)];
      if (before < 0) return at;
      at = static_cast<std::uint32_t>(before);
      if (at == t) return t;
    }
  }

  Polyline2 trace(std::uint32_t start) {
    Polyline2 line;
    add(line, crossing(start, way_in(start)));
    for (std::uint32_t t = start;;) {
      mark[t] = stamp;
      add(line, crossing(t, way_out(t)));
      const std::int32_t next = ground.tree.neighbours[t][way_out(t)];
      if (next < 0 || static_cast<std::uint32_t>(next) == start) return line;
      t = static_cast<std::uint32_t>(next);
    }
  }
};

/// Directed edge along a flat, from vertex to vertex.
using FlatEdge = std::array<std::uint32_t, 2>;

/// Joins edges end to beginning into lines.
std::vector<Polyline2> joined(const Ground& ground, const std::vector<FlatEdge>& edges) {
  std::unordered_multimap<std::uint32_t, std::uint32_t> next;
  std::unordered_map<std::uint32_t, int> balance;  // edges out less edges in
  for (const auto& [from, to] : edges) next.emplace(from, to), ++balance[from], --balance[to];
  const auto take = [&](std::uint32_t from) {
    Polyline2 line{ground.points[from].head<2>()};
    for (auto edge = next.find(from); edge != next.end(); edge = next.find(from)) {
      from = edge->second;
      line.push_back(ground.points[from].head<2>());
      next.erase(edge);
    }
    return line;
  };
  std::vector<Polyline2> lines;
  for (const auto& [from, to] : edges) {  // open lines first, each from its beginning
    for (int& left = balance[from]; left > 0; --left) lines.push_back(take(from));
  }
  for (const auto& [from, to] : edges) {
    if (next.count(from)) lines.push_back(take(from));
  }
  return lines;
}

/// The sides of flats at the level that the tracer does not see: where higher ground, or none, lies beyond.
struct FlatSides {
  std::vector<FlatEdge> toward_higher, outside;
};

FlatSides flat_sides(const Ground& ground, double level, const std::vector<std::uint32_t>& flats) {
  FlatSides sides;
  for (const std::uint32_t t : flats) {
    for (int i = 0; i < 3; ++i) {
      const std::uint32_t a = ground.tree.triangles[t][i], b = ground.tree.triangles[t][(i + 1) % 3];
      const std::int32_t across = ground.tree.neighbours[t][i];
      if (across < 0) {
        sides.outside.push_back({a, b});
        continue;
      }
      const int k = side_of(ground.tree.neighbours[across], t);
      if (ground.points[ground.tree.triangles[across][(k + 2) % 3]].z() > level) sides.toward_higher.push_back({b, a});
    }
  }
  return sides;
}

struct Levels {
  double interval;
  double first, last;  // multiples of the interval
  std::size_t count() const { return last < first ? 0 : static_cast<std::size_t>(last - first) + 1; }
  double elevation(std::size_t k) const { return (first + static_cast<double>(k)) * interval; }
};

Levels levels_of(const Ground& ground, double interval) {
  double low = INFINITY, high = -INFINITY;
  for (const Point3& p : ground.points) low = std::min(low, p.z()), high = std::max(high, p.z());
  if (!(interval > 0) || !std::isfinite(interval)) {
    throw Refusal({Severity::error,
                   fmt::format("the contour interval is {:g}", interval),
                   {},
                   "give an interval above zero, such as 1"});
  }
  const Levels levels{interval, std::ceil(low / interval), std::floor(high / interval)};
  if (levels.last - levels.first >= most_levels) {
    throw Refusal({Severity::error,
                   fmt::format("contours every {:g} would cut the ground {:.0f} times, from {:.2f} to {:.2f}", interval,
                               levels.last - levels.first + 1, low, high),
                   {},
                   "check the elevations of the shots"});
  }
  return levels;
}

/// Triangles by the levels they reach, end to end: those of level k stand from start[k] to start[k + 1].
struct ByLevel {
  std::vector<std::size_t> start;
  std::vector<std::uint32_t> triangles;
};

ByLevel sorted_by_level(const Ground& ground, const Levels& levels) {
  const auto reach = [&](std::uint32_t t) {
    const auto& [a, b, c] = ground.tree.triangles[t];
    const double za = ground.points[a].z(), zb = ground.points[b].z(), zc = ground.points[c].z();
    // One level more on each side: the division may round; the tracer looks closely.
    const double low = std::ceil(std::min({za, zb, zc}) / levels.interval) - levels.first - 1;
    const double high = std::floor(std::max({za, zb, zc}) / levels.interval) - levels.first + 1;
    const double last = static_cast<double>(levels.count()) - 1;
    return std::pair(static_cast<std::size_t>(std::max(low, 0.0)), static_cast<std::size_t>(std::min(high, last)) + 1);
  };
  ByLevel result;
  result.start.assign(levels.count() + 2, 0);
  for (std::uint32_t t = 0; t < ground.triangle_count(); ++t) {
    for (auto [k, end] = reach(t); k < end; ++k) ++result.start[k + 2];
  }
  for (std::size_t k = 2; k < result.start.size(); ++k) result.start[k] += result.start[k - 1];
  result.triangles.resize(result.start.back());
  for (std::uint32_t t = 0; t < ground.triangle_count(); ++t) {
    for (auto [k, end] = reach(t); k < end; ++k) result.triangles[result.start[k + 1]++] = t;
  }
  result.start.pop_back();
  return result;
}

bool is_flat(const Ground& ground, std::uint32_t t, double level) {
  return std::all_of(ground.tree.triangles[t].begin(), ground.tree.triangles[t].end(),
                     [&](std::uint32_t v) { return ground.points[v].z() == level; });
}

}  // namespace

double drawable_interval(const Ground& ground, double wanted) {
  constexpr double most_drawn = 2000, most_crossings = 2e7;
  double low = INFINITY, high = -INFINITY, rises = 0;
  for (const Point3& p : ground.points) low = std::min(low, p.z()), high = std::max(high, p.z());
  for (const auto& [a, b, c] : ground.tree.triangles) {
    const double za = ground.points[a].z(), zb = ground.points[b].z(), zc = ground.points[c].z();
    rises += std::max({za, zb, zc}) - std::min({za, zb, zc});
  }
  constexpr double steps[] = {1, 2, 4};
  for (double tens = 1;; tens *= 10) {
    for (const double step : steps) {
      const double interval = wanted * tens * step;
      const bool is_few = (high - low) / interval < most_drawn && rises / interval < most_crossings;
      if (is_few || !std::isfinite(interval)) return interval;
    }
  }
}

std::vector<Contour> contours(const Ground& ground, double interval) {
  const Levels levels = levels_of(ground, interval);
  std::vector<Contour> result;
  if (levels.count() == 0) return result;
  const ByLevel reached = sorted_by_level(ground, levels);
  std::vector<std::uint32_t> mark(ground.triangle_count(), 0);
  for (std::size_t k = 0; k < levels.count(); ++k) {
    Contour contour{levels.elevation(k), {}};
    Tracer tracer{ground, contour.elevation, mark, static_cast<std::uint32_t>(k) + 1};
    std::vector<std::uint32_t> flats;
    for (std::size_t i = reached.start[k]; i < reached.start[k + 1]; ++i) {
      const std::uint32_t t = reached.triangles[i];
      if (is_flat(ground, t, contour.elevation)) flats.push_back(t);
      if (mark[t] == tracer.stamp || !tracer.cut(t)) continue;
      Polyline2 line = tracer.trace(tracer.beginning(t));
      if (line.size() > 1) contour.lines.push_back(std::move(line));  // a single high point at the level is no line
    }
    const FlatSides sides = flat_sides(ground, contour.elevation, flats);
    for (const auto& edges : {sides.toward_higher, sides.outside}) {
      for (Polyline2& line : joined(ground, edges)) contour.lines.push_back(std::move(line));
    }
    if (!contour.lines.empty()) result.push_back(std::move(contour));
  }
  return result;
}

}  // namespace moundwright

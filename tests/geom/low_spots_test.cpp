// Low spots along the toe against a flood of the whole survey: every way out at once, as Barnes, Lehman and Mulla
// (2014) do it, over a ground triangulated anew with the toe and all its edges as breaklines.
#include "geom/low_spots.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <queue>
#include <random>
#include <set>

#include "geom/plan.h"
#include "geom/toe.h"

namespace moundwright {
namespace {

constexpr double least_depth = 0.01;

Ground rough_ground(unsigned seed, double noise, int half) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> jitter(-2, 2), error(-noise, noise), shape(-1, 1);
  const double fall = 0.03 + 0.03 * shape(random), swale = 0.05 * shape(random), at = 20 * shape(random);
  std::vector<Shot> shots;
  for (int i = -half; i <= half; ++i) {
    for (int j = -half; j <= half; ++j) {
      const double x = 6 * i + jitter(random), y = 6 * j + jitter(random);
      shots.push_back({"", y, x, 100 + fall * y + swale * std::abs(x - at) + error(random), "", 0});
    }
  }
  return make_ground(shots);
}

MoundDesign design_of(unsigned seed, bool bent) {
  MoundDesign design;
  design.bed = straight_bed({0, 0}, 90 + 3.0 * (seed % 7), 40, 8);
  if (bent) design.bed.line = {{-30, 18}, {0, 0}, {24, 22}};
  design.least_sand = 1;
  design.downslope = 180;
  Layer cover;
  cover.name = "cover";
  cover.top = 1.5;
  cover.beyond = ByFace::all(2);
  cover.side = ByFace::all(seed % 3 == 0 ? 0 : 2);
  design.layers = {cover};
  return design;
}

/// From p to q, q left out, with a point wherever an edge of the ground crosses.
std::vector<Point2> broken_at_edges(const Ground& ground, const Point2& p, const Point2& q) {
  const Point2 d = q - p;
  const auto side = [&](const Point2& x) { return d.x() * (x - p).y() - d.y() * (x - p).x(); };
  std::vector<double> parts{0};
  for (const std::uint32_t t : triangles_meeting(ground, {p, q})) {
    for (std::size_t i = 0; i < 3; ++i) {
      const Point2 a = ground.points[ground.tree.triangles[t][i]].head<2>(),
                   b = ground.points[ground.tree.triangles[t][(i + 1) % 3]].head<2>();
      if ((side(a) > 0) == (side(b) > 0)) continue;
      const double part = d.dot(a + (b - a) * (side(a) / (side(a) - side(b))) - p) / d.squaredNorm();
      if (part * d.norm() > 1e-6 && (1 - part) * d.norm() > 1e-6) parts.push_back(part);
    }
  }
  std::sort(parts.begin(), parts.end());
  std::vector<Point2> points;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (i == 0 || (parts[i] - parts[i - 1]) * d.norm() > 1e-6) points.emplace_back(p + parts[i] * d);
  }
  return points;
}

/// The ground again, its own edges and the toe as breaklines: nothing but triangles wholly in or out of the mound.
Ground cut_along(const Ground& ground, const ToeLine& toe) {
  std::vector<Shot> shots;
  std::vector<Breakline> lines;
  const auto add = [&](const Point2& p, double z) { shots.push_back({"", p.y(), p.x(), z, "", 0}); };
  for (const Point3& p : ground.points) add(p.head<2>(), p.z());
  for (const auto& t : ground.tree.triangles) {
    for (std::size_t i = 0; i < 3; ++i) lines.push_back({t[i], t[(i + 1) % 3]});
  }
  for (const Polygon2& loop : toe.outer) {
    Breakline line;
    for (std::size_t i = 0; i < loop.size(); ++i) {
      for (const Point2& p : broken_at_edges(ground, loop[i], loop[(i + 1) % loop.size()])) {
        line.push_back(shots.size());
        add(p, elevation_at(ground, p).value());
      }
    }
    line.push_back(line.front());
    lines.push_back(line);
  }
  return make_ground(shots, lines);
}

struct Spot {
  double level, depth_at_toe = 0, area = 0;
};

/// Floods everything outside the toe from every place where the survey ends.
std::vector<Spot> flooded(const Ground& ground, const ToeLine& toe) {
  const Ground cut = cut_along(ground, toe);
  const auto local = [&](const Point3& p) { return Point2(cut.to_world(p.head<2>())); };
  const auto is_on_toe = [&](const Point2& p) {
    for (const Polygon2& loop : toe.outer) {
      for (std::size_t i = 0; i < loop.size(); ++i) {
        const Point2 d = loop[(i + 1) % loop.size()] - loop[i];
        const double along = std::clamp(d.dot(p - loop[i]) / d.squaredNorm(), 0.0, 1.0);
        if ((p - loop[i] - along * d).norm() < 1e-6) return true;
      }
    }
    return false;
  };
  std::vector<std::array<std::uint32_t, 3>> triangles;
  std::map<std::array<std::uint32_t, 2>, int> edges;
  for (const auto& t : cut.tree.triangles) {
    const Point2 middle = (local(cut.points[t[0]]) + local(cut.points[t[1]]) + local(cut.points[t[2]])) / 3.0;
    if (is_inside(toe.outer.front(), middle)) continue;
    triangles.push_back(t);
    for (std::size_t i = 0; i < 3; ++i) ++edges[{std::min(t[i], t[(i + 1) % 3]), std::max(t[i], t[(i + 1) % 3])}];
  }
  std::vector<bool> on_toe;
  for (const Point3& p : cut.points) on_toe.push_back(is_on_toe(local(p)));
  std::vector<double> level(cut.points.size(), std::numeric_limits<double>::infinity());
  using Entry = std::pair<double, std::uint32_t>;
  std::priority_queue<Entry, std::vector<Entry>, std::greater<>> next;
  std::map<std::uint32_t, std::set<std::uint32_t>> beside;
  for (const auto& [edge, count] : edges) {
    beside[edge[0]].insert(edge[1]), beside[edge[1]].insert(edge[0]);
    if (count > 1 || (on_toe[edge[0]] && on_toe[edge[1]])) continue;
    for (const std::uint32_t v : edge) next.emplace(level[v] = cut.points[v].z(), v);
  }
  while (!next.empty()) {
    const auto [at, v] = next.top();
    next.pop();
    for (const std::uint32_t w : beside[v]) {
      if (std::isfinite(level[w])) continue;
      next.emplace(level[w] = std::max(at, cut.points[w].z()), w);
    }
  }
  std::vector<Spot> spots;
  std::vector<std::size_t> spot_of(level.size(), std::numeric_limits<std::size_t>::max());
  for (std::uint32_t start = 0; start < level.size(); ++start) {
    const double depth = level[start] - cut.points[start].z();
    if (!on_toe[start] || !std::isfinite(level[start]) || depth <= least_depth || spot_of[start] < spots.size())
      continue;
    Spot spot{level[start]};
    std::vector<std::uint32_t> pool{start};
    spot_of[start] = spots.size();
    for (std::size_t at = 0; at < pool.size(); ++at) {
      if (on_toe[pool[at]]) spot.depth_at_toe = std::max(spot.depth_at_toe, spot.level - cut.points[pool[at]].z());
      for (const std::uint32_t w : beside[pool[at]]) {
        if (spot_of[w] == spots.size() || cut.points[w].z() >= spot.level) continue;
        spot_of[w] = spots.size();
        pool.push_back(w);
      }
    }
    spots.push_back(spot);
  }
  for (const auto& t : triangles) {
    const auto wet_corner =
        std::find_if(t.begin(), t.end(), [&](std::uint32_t v) { return spot_of[v] < spots.size(); });
    if (wet_corner == t.end()) continue;
    Spot& spot = spots[spot_of[*wet_corner]];
    Polygon2 wet;
    for (std::size_t i = 0; i < 3; ++i) {
      const Point3 &p = cut.points[t[i]], &q = cut.points[t[(i + 1) % 3]];
      if (p.z() < spot.level) wet.push_back(p.head<2>());
      if ((p.z() < spot.level) == (q.z() < spot.level)) continue;
      wet.push_back(p.head<2>() + (q - p).head<2>() * ((spot.level - p.z()) / (q.z() - p.z())));
    }
    spot.area += plan_area(wet);
  }
  return spots;
}

TEST(LowSpots, AreThoseOfAFloodOfTheWholeSurvey) {
  std::size_t seen = 0;
  for (unsigned seed = 1; seed <= 60; ++seed) {
    SCOPED_TRACE(seed);
    const Ground ground = rough_ground(seed, seed % 2 == 0 ? 0.6 : 0.15, 12);
    const Buildup built = build_up(place_as_drawn(ground, design_of(seed, seed % 4 == 1)));
    if (built.toe.off_survey > 0 || built.toe.outer.size() != 1) continue;
    const std::vector<LowSpot> found = low_spots_at_toe(ground, built.toe, least_depth);
    std::vector<Spot> expected = flooded(ground, built.toe);
    std::sort(expected.begin(), expected.end(),
              [](const Spot& a, const Spot& b) { return a.depth_at_toe > b.depth_at_toe; });
    ASSERT_EQ(found.size(), expected.size());
    for (std::size_t i = 0; i < found.size(); ++i) {
      EXPECT_NEAR(found[i].level, expected[i].level, 1e-7);
      EXPECT_NEAR(found[i].depth_at_toe, expected[i].depth_at_toe, 1e-7);
      EXPECT_NEAR(found[i].area, expected[i].area, 1e-5);
      EXPECT_NEAR(elevation_at(ground, found[i].spill).value(), found[i].level, 1e-7);
      EXPECT_GE(found[i].depth, found[i].depth_at_toe);
    }
    seen += found.size();
  }
  EXPECT_GT(seen, 60u) << "too few low spots to say anything";
}

}  // namespace
}  // namespace moundwright

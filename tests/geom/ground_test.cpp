// The ground: what make_ground takes and refuses, and what the ground answers.
#include "geom/ground.h"

#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/intersections.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <set>

#include "geom/hilbert.h"

namespace moundwright {
namespace {

using ::testing::AllOf;
using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

Shot shot(double northing, double easting, double elevation, std::string point = "", int line = 0) {
  return {std::move(point), northing, easting, elevation, "", line};
}

/// Rows x columns shots `spacing` apart, named 1, 2, ... from lines 2, 3, ... of a file; elevation from f(x, y).
template <class F>
std::vector<Shot> grid(int rows, int columns, double spacing, F f) {
  std::vector<Shot> shots;
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns; ++c) {
      const double x = c * spacing, y = r * spacing;
      const int number = static_cast<int>(shots.size()) + 1;
      shots.push_back(shot(y, x, f(x, y), std::to_string(number), number + 1));
    }
  }
  return shots;
}

/// Shots at random places in a square of 100, so in general position; elevation from f(x, y).
template <class F>
std::vector<Shot> random_shots(std::mt19937& random, int count, F f) {
  std::uniform_real_distribution<double> place(0.0, 100.0);
  std::vector<Shot> shots;
  for (int i = 0; i < count; ++i) {
    const double x = place(random), y = place(random);
    shots.push_back(shot(y, x, f(x, y), std::to_string(i + 1), i + 2));
  }
  return shots;
}

std::vector<Shot> random_shots(std::mt19937& random, int count) {
  std::uniform_real_distribution<double> height(90.0, 110.0);
  return random_shots(random, count, [&](double, double) { return height(random); });
}

Polygon2 random_rectangle(std::mt19937& random, const Ground& ground) {
  std::uniform_real_distribution<double> place(-10.0, 110.0), half(0.5, 40.0), turn(0.0, 2 * std::numbers::pi);
  const Point2 center = ground.to_local({place(random), place(random)});
  const double angle = turn(random), a = half(random), b = half(random);
  const Point2 u(a * std::cos(angle), a * std::sin(angle)), v(-b * std::sin(angle), b * std::cos(angle));
  return {center - u - v, center + u - v, center + u + v, center - u + v};
}

double cross(const Point2& u, const Point2& v) { return u.x() * v.y() - u.y() * v.x(); }

Point3 corner(const Ground& ground, std::size_t t, int i) { return ground.points[ground.tree.triangles[t][i % 3]]; }

double triangle_area(const Ground& ground, std::size_t t) {
  const Point3 a = corner(ground, t, 0), b = corner(ground, t, 1), c = corner(ground, t, 2);
  return 0.5 * cross((b - a).head<2>(), (c - a).head<2>());
}

double area(const Ground& ground) {
  double sum = 0;
  for (std::size_t t = 0; t < ground.triangle_count(); ++t) sum += triangle_area(ground, t);
  return sum;
}

/// Between ground and elevation 0.
double volume(const Ground& ground) {
  double sum = 0;
  for (std::size_t t = 0; t < ground.triangle_count(); ++t) {
    sum +=
        triangle_area(ground, t) * (corner(ground, t, 0).z() + corner(ground, t, 1).z() + corner(ground, t, 2).z()) / 3;
  }
  return sum;
}

bool has_edge(const Ground& ground, const Shot& from, const Shot& to) {
  const Point2 a = ground.to_local({from.easting, from.northing}), b = ground.to_local({to.easting, to.northing});
  for (std::size_t t = 0; t < ground.triangle_count(); ++t) {
    for (int i = 0; i < 3; ++i) {
      const Point2 p = corner(ground, t, i).head<2>(), q = corner(ground, t, i + 1).head<2>();
      if (((p - a).norm() < 1e-9 && (q - b).norm() < 1e-9) || ((p - b).norm() < 1e-9 && (q - a).norm() < 1e-9))
        return true;
    }
  }
  return false;
}

double signed_area(const Polygon2& ring) {
  double twice = 0;
  for (std::size_t i = 0; i < ring.size(); ++i) twice += cross(ring[i], ring[(i + 1) % ring.size()]);
  return twice / 2;
}

auto warning_with(const std::string& text) {
  return AllOf(Field(&Problem::severity, Severity::warning), Field(&Problem::what, HasSubstr(text)));
}

std::vector<Problem> refusal_of(const std::vector<Shot>& shots, const std::vector<Breakline>& breaklines = {},
                                const GroundOptions& options = {}) {
  try {
    make_ground(shots, breaklines, options);
  } catch (const Refusal& refusal) {
    return refusal.problems();
  }
  ADD_FAILURE() << "it was not refused";
  return {};
}

std::size_t count_errors(const std::vector<Problem>& problems) {
  return static_cast<std::size_t>(
      std::count_if(problems.begin(), problems.end(), [](const Problem& p) { return p.severity == Severity::error; }));
}

const auto level = [](double, double) { return 100.0; };
const auto slope = [](double x, double y) { return 100.0 + 0.10 * x - 0.04 * y; };

// ---- making it ----

TEST(Ground, OneTriangleInClosedForm) {
  const Ground ground = make_ground({shot(0, 0, 10), shot(0, 30, 13), shot(20, 0, 16)});
  ASSERT_EQ(ground.triangle_count(), 1u);
  EXPECT_DOUBLE_EQ(ground.total_area, 300.0);
  EXPECT_NEAR(ground.trend.a, 0.1, 1e-14);
  EXPECT_NEAR(ground.trend.b, 0.3, 1e-14);
  EXPECT_NEAR(*elevation_at(ground, ground.to_local({10, 20.0 / 3})), 13.0, 1e-12);
  EXPECT_THAT(ground.tree.neighbours, ElementsAre(std::array<std::int32_t, 3>{-1, -1, -1}));
}

TEST(Ground, TrendOfPlaneGroundIsThatPlane) {
  std::mt19937 random(5);
  const Ground ground = make_ground(random_shots(random, 300, slope));
  EXPECT_NEAR(ground.trend.a, 0.10, 1e-12);
  EXPECT_NEAR(ground.trend.b, -0.04, 1e-12);
  EXPECT_NEAR(ground.trend.at(ground.to_local({0, 0})), 100.0, 1e-10);
  for (const auto& v : ground.tree.vertices) EXPECT_NEAR(v.r, 0.0, 1e-10);
}

TEST(Ground, TrendMinimisesTheSquaresOverTheArea) {
  // Normal equations by the midpoint rule on each triangle, exact for squares of linear functions.
  std::mt19937 random(6);
  const Ground ground = make_ground(random_shots(random, 80));
  Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
  Eigen::Vector3d right = Eigen::Vector3d::Zero();
  for (std::size_t t = 0; t < ground.triangle_count(); ++t) {
    for (int i = 0; i < 3; ++i) {
      const Point3 middle = 0.5 * (corner(ground, t, i) + corner(ground, t, i + 1));
      const Eigen::Vector3d row(middle.x(), middle.y(), 1.0);
      normal += triangle_area(ground, t) / 3 * row * row.transpose();
      right += triangle_area(ground, t) / 3 * row * middle.z();
    }
  }
  const Eigen::Vector3d best = normal.ldlt().solve(right);
  EXPECT_NEAR(ground.trend.a, best[0], 1e-11);
  EXPECT_NEAR(ground.trend.b, best[1], 1e-11);
  EXPECT_NEAR(ground.trend.c, best[2], 1e-9);
}

TEST(Ground, TreeFitsTogether) {
  std::mt19937 random(7);
  const Ground ground = make_ground(random_shots(random, 500));
  const auto& tree = ground.tree;
  std::size_t outside = 0;
  for (std::uint32_t t = 0; t < tree.triangles.size(); ++t) {
    EXPECT_GT(triangle_area(ground, t), 0);
    for (int i = 0; i < 3; ++i) {
      const std::int32_t across = tree.neighbours[t][i];
      if (across < 0) {
        ++outside;
        continue;
      }
      const std::uint32_t from = tree.triangles[t][i], to = tree.triangles[t][(i + 1) % 3];
      int shared = 0;
      for (int k = 0; k < 3; ++k) {
        shared += tree.neighbours[across][k] == static_cast<std::int32_t>(t) && tree.triangles[across][k] == to &&
                  tree.triangles[across][(k + 1) % 3] == from;
      }
      EXPECT_EQ(shared, 1);
    }
  }
  EXPECT_EQ(tree.triangles.size(), 2 * ground.points.size() - 2 - outside);  // Euler
  EXPECT_NEAR(tree.moments[0].area, ground.total_area, 1e-9 * ground.total_area);
  EXPECT_NEAR(area(ground), ground.total_area, 1e-9 * ground.total_area);
  for (std::size_t v = 0; v < ground.points.size(); ++v) {
    const Point3& p = ground.points[v];
    EXPECT_EQ(tree.vertices[v].x, p.x());
    EXPECT_EQ(tree.vertices[v].y, p.y());
    EXPECT_NEAR(tree.vertices[v].r + ground.trend.at(p.head<2>()), p.z(), 1e-12 * 100);
  }
}

TEST(Ground, PointsAreTheShotsTheyCameFrom) {
  std::mt19937 random(8);
  const std::vector<Shot> shots = random_shots(random, 200);
  const Ground ground = make_ground(shots);
  std::set<std::int64_t> met;
  for (std::size_t v = 0; v < ground.points.size(); ++v) {
    const Shot& from = shots.at(static_cast<std::size_t>(ground.shot_of_point[v]));
    EXPECT_EQ(ground.points[v].z(), from.elevation);
    EXPECT_NEAR((ground.to_world(ground.points[v].head<2>()) - Point2(from.easting, from.northing)).norm(), 0, 1e-12);
    met.insert(ground.shot_of_point[v]);
  }
  EXPECT_EQ(met.size(), shots.size());
}

TEST(Ground, NeighboursOnTheLotAreNeighboursInMemory) {
  std::mt19937 random(9);
  const Ground ground = make_ground(random_shots(random, 4000));
  const auto mean_step = [&](auto place, std::size_t count) {
    double sum = 0;
    for (std::size_t i = 1; i < count; ++i) sum += (place(i) - place(i - 1)).norm();
    return sum / static_cast<double>(count - 1);
  };
  const double spacing = 100.0 / std::sqrt(4000.0);  // at random order the mean step is 52 (mean distance in a square)
  EXPECT_LT(mean_step([&](std::size_t i) { return Point2(ground.points[i].head<2>()); }, ground.points.size()),
            2 * spacing);
  const auto centroid = [&](std::size_t t) -> Point2 {
    return ((corner(ground, t, 0) + corner(ground, t, 1) + corner(ground, t, 2)) / 3).head<2>();
  };
  EXPECT_LT(mean_step(centroid, ground.triangle_count()), 2 * spacing);
}

TEST(Hilbert, CurveGoesThroughEveryCellOnceFromNeighbourToNeighbour) {
  std::vector<std::pair<std::uint32_t, std::uint32_t>> along(64, {99, 99});
  for (std::uint32_t x = 0; x < 8; ++x) {
    for (std::uint32_t y = 0; y < 8; ++y) along.at(hilbert_key(x << 13, y << 13) >> 26) = {x, y};
  }
  for (std::size_t i = 0; i < along.size(); ++i) {
    ASSERT_LT(along[i].first, 8u) << "no cell has key " << i;
    if (i == 0) continue;
    const int dx = std::abs(static_cast<int>(along[i].first) - static_cast<int>(along[i - 1].first));
    const int dy = std::abs(static_cast<int>(along[i].second) - static_cast<int>(along[i - 1].second));
    EXPECT_EQ(dx + dy, 1) << "between keys " << i - 1 << " and " << i;
  }
}

TEST(Hilbert, OrderIsByKeyAndKeepsEqualOnesInPlace) {
  EXPECT_THAT(order_by_key({0xffffffffu, 3, 0x80000000u, 3, 0}), ElementsAre(4, 1, 3, 2, 0));
}

TEST(Ground, StatePlaneCoordinatesLoseNothing) {
  std::mt19937 random(10);
  std::vector<Shot> shots =
      random_shots(random, 400, [](double x, double y) { return 830 + std::sin(x / 9) + 0.2 * y; });
  const Ground near = make_ground(shots);
  const double north = 2123456.789, east = 13456789.123;
  for (Shot& s : shots) s.northing += north, s.easting += east;
  const Ground far = make_ground(shots);
  EXPECT_NEAR(far.total_area, near.total_area, 1e-7 * near.total_area);
  EXPECT_NEAR(volume(far), volume(near), 1e-7 * near.total_area);
  std::uniform_real_distribution<double> place(15.0, 85.0);
  for (int i = 0; i < 200; ++i) {
    const Point2 p(place(random), place(random));
    EXPECT_NEAR(*elevation_at(far, far.to_local(p + Point2(east, north))), *elevation_at(near, near.to_local(p)), 1e-7);
  }
  for (std::size_t s = 0; s < shots.size(); ++s) {  // shots at the outside are still on the ground
    const auto z = elevation_at(far, far.to_local({shots[s].easting, shots[s].northing}));
    ASSERT_TRUE(z) << "shot " << s;
    EXPECT_NEAR(*z, shots[s].elevation, 1e-7);
  }
}

// ---- what is refused, merged and told ----

TEST(Ground, FewerThanThreeShotsAreRefused) {
  const auto problems = refusal_of({shot(0, 0, 1), shot(0, 1, 1)});
  ASSERT_EQ(count_errors(problems), 1u);
  EXPECT_THAT(problems[0].what, HasSubstr("at least three shots; there are 2"));
}

TEST(Ground, ShotsInLineAreRefused) {
  EXPECT_THAT(refusal_of({shot(0, 0, 1), shot(1, 1, 2), shot(2, 2, 3), shot(5, 5, 3)})[0].what,
              HasSubstr("in one line"));
  // In line but for the rounding of a slanting line in state-plane coordinates.
  std::vector<Shot> slanting;
  for (int i = 0; i < 20; ++i) slanting.push_back(shot(500000.1 + i / 3.0, 1700000.7 + i / 7.0, 100));
  EXPECT_THAT(refusal_of(slanting)[0].what, HasSubstr("in one line"));
}

TEST(Ground, EveryNumberThatIsNoneIsNamed) {
  auto shots = grid(3, 3, 10, level);
  shots[1].northing = NAN;
  shots[4].elevation = INFINITY;
  const auto problems = refusal_of(shots);
  ASSERT_EQ(count_errors(problems), 2u);
  EXPECT_THAT(problems[0].what, AllOf(HasSubstr("northing"), HasSubstr("point 2")));
  EXPECT_EQ(problems[0].where, "line 3");
  EXPECT_THAT(problems[1].what, AllOf(HasSubstr("elevation"), HasSubstr("point 5")));
  EXPECT_EQ(problems[1].where, "line 6");
}

TEST(Ground, NumbersBeyondTheLimitAreToldWithTheirRowAndTheLimit) {
  auto shots = grid(3, 3, 10, level);
  shots[1].northing = 5e13;
  shots[4].easting = -1.5e9;
  const auto problems = refusal_of(shots);
  ASSERT_EQ(count_errors(problems), 2u);
  EXPECT_THAT(problems[0].what,
              AllOf(HasSubstr("northing"), HasSubstr("point 2"), HasSubstr("the limit is 1000000000")));
  EXPECT_EQ(problems[0].where, "line 3");
  EXPECT_THAT(problems[1].what, AllOf(HasSubstr("easting"), HasSubstr("point 5")));
}

TEST(Ground, BreaklinesOfShotsThatAreNotThereAreRefused) {
  EXPECT_THAT(refusal_of(grid(2, 2, 10, level), {{0, 4}})[0].what, HasSubstr("breakline 1 asks for shot 5 of 4"));
}

TEST(Ground, CoordinatesThatNoSurveyHasAreRefused) {
  auto shots = grid(3, 3, 10, level);
  shots[4].easting = -2e9, shots[5].elevation = 1e13;
  const auto problems = refusal_of(shots);
  ASSERT_THAT(problems, SizeIs(2));
  EXPECT_THAT(problems[0].what, HasSubstr("the easting of point 5 is farther from zero than any survey reaches"));
  EXPECT_THAT(problems[1].what, HasSubstr("the elevation of point 6 is farther"));
}

TEST(Ground, ShotsTwiceAreMergedAndTold) {
  for (const double apart : {0.0, 5e-7}) {
    auto shots = grid(3, 3, 10, slope);
    shots.push_back(shot(10, 10 + apart, slope(10, 10), "77", 40));
    GroundReport report;
    const Ground ground = make_ground(shots, {}, {}, &report);
    EXPECT_EQ(ground.points.size(), 9u);
    EXPECT_EQ(report.merged_duplicates, 1u);
    ASSERT_THAT(report.problems.all, SizeIs(1));
    EXPECT_EQ(report.problems.all[0].severity, Severity::note);
    EXPECT_THAT(report.problems.all[0].what, AllOf(HasSubstr("point 5"), HasSubstr("point 77")));
    EXPECT_EQ(report.problems.all[0].where, "line 6 and line 40");
  }
}

TEST(Ground, ShotsFartherApartThanRoundingAreTwoShots) {
  auto shots = grid(3, 3, 10, slope);
  shots.push_back(shot(10, 10 + 2e-6, slope(10, 10)));
  EXPECT_EQ(make_ground(shots).points.size(), 10u);
}

TEST(Ground, OnePlaceWithTwoElevationsIsRefusedEveryTime) {
  auto shots = grid(3, 3, 10, level);
  shots.push_back(shot(10, 10, 101.5, "77", 40));
  shots.push_back(shot(0, 5e-7, 99.0, "78", 41));
  const auto problems = refusal_of(shots);
  ASSERT_EQ(count_errors(problems), 2u);
  EXPECT_THAT(problems[0].what,
              AllOf(HasSubstr("point 5 and point 77"), HasSubstr("100.00 and 101.50"), HasSubstr("N 10.00, E 10.00")));
  EXPECT_EQ(problems[0].where, "line 6 and line 40");
  EXPECT_THAT(problems[1].what, HasSubstr("point 1 and point 78"));
}

TEST(Ground, BreaklinesGoThroughMergedShots) {
  auto shots = grid(2, 2, 10, level);
  shots.push_back(shot(0, 0, 100));
  shots.push_back(shot(10, 10, 100));
  shots[1].easting = 12;  // the other diagonal is the shorter one in circle terms, so the line decides
  EXPECT_TRUE(has_edge(make_ground(shots, {{4, 5}}), shots[0], shots[3]));
}

// ---- breaklines ----

TEST(Breaklines, AreKept) {
  // A kite whose short diagonal is the Delaunay edge.
  const std::vector<Shot> kite = {shot(0, 0, 100), shot(-10, 50, 99), shot(0, 100, 100), shot(10, 50, 99)};
  EXPECT_FALSE(has_edge(make_ground(kite), kite[0], kite[2]));
  const Ground kept = make_ground(kite, {{0, 2}});
  EXPECT_TRUE(has_edge(kept, kite[0], kite[2]));
  EXPECT_DOUBLE_EQ(*elevation_at(kept, kept.to_local({50, 0})), 100.0);
}

TEST(Breaklines, ThatCrossGetAVertexWithTheMeanAndAreToldApart) {
  const std::vector<Shot> shots = {shot(5000, 7000, 100, "A"), shot(5040, 7040, 104, "B"), shot(5000, 7040, 103, "C"),
                                   shot(5040, 7000, 103, "D")};
  GroundReport report;
  const Ground ground = make_ground(shots, {{0, 1}, {2, 3}}, {}, &report);
  ASSERT_EQ(ground.points.size(), 5u);
  const auto made = std::find(ground.shot_of_point.begin(), ground.shot_of_point.end(), -1);
  ASSERT_NE(made, ground.shot_of_point.end());
  const Point3 p = ground.points[static_cast<std::size_t>(made - ground.shot_of_point.begin())];
  EXPECT_NEAR((ground.to_world(p.head<2>()) - Point2(7020, 5020)).norm(), 0, 1e-9);
  EXPECT_NEAR(p.z(), 102.5, 1e-9);
  ASSERT_THAT(report.problems.all, Contains(warning_with("102.00 on the one between point A and point B")));
  EXPECT_THAT(report.problems.all, Contains(warning_with("103.00 on the one between point C and point D")));
  EXPECT_EQ(report.problems.all[0].where, "N 5020.00, E 7020.00");
}

TEST(Breaklines, ThatCrossAtOneElevationAreNotTold) {
  const std::vector<Shot> shots = {shot(0, 0, 100), shot(40, 40, 104), shot(0, 40, 102.05), shot(40, 0, 102)};
  GroundReport report;
  make_ground(shots, {{0, 1}, {2, 3}}, {.crossing_tolerance = 0.05}, &report);
  EXPECT_THAT(report.problems.all, IsEmpty());
  make_ground(shots, {{0, 1}, {2, 3}}, {.crossing_tolerance = 0.02}, &report);
  EXPECT_THAT(report.problems.all, SizeIs(1));
}

TEST(Breaklines, ThatShareAShotDoNotCross) {
  const auto shots = grid(3, 3, 10, slope);
  GroundReport report;
  const Ground ground = make_ground(shots, {{0, 4, 8}, {2, 4, 6}}, {}, &report);
  EXPECT_EQ(ground.points.size(), 9u);
  EXPECT_THAT(report.problems.all, IsEmpty());
}

TEST(Breaklines, GoThroughAThirdShot) {
  const auto shots = grid(3, 3, 10, slope);
  const Ground ground = make_ground(shots, {{0, 8}});
  EXPECT_EQ(ground.points.size(), 9u);
  EXPECT_TRUE(has_edge(ground, shots[0], shots[4]));
  EXPECT_TRUE(has_edge(ground, shots[4], shots[8]));
}

TEST(Breaklines, ThatAllButTouchAShotLeaveNoNeedle) {
  // At state-plane coordinates a shot on the line is off it by rounding.
  auto shots = grid(4, 4, 10, slope);
  for (Shot& s : shots) {
    const double x = s.easting, y = s.northing;
    s.easting = 2345678.9 + std::cos(0.3) * x - std::sin(0.3) * y;
    s.northing = 765432.1 + std::sin(0.3) * x + std::cos(0.3) * y;
  }
  const Ground ground = make_ground(shots, {{0, 15}, {12, 3}, {4, 7}, {1, 13}});
  EXPECT_EQ(ground.triangle_count(), 18u + 2u);  // one crossing, in the middle, adds a vertex
  for (std::size_t t = 0; t < ground.triangle_count(); ++t) EXPECT_GT(triangle_area(ground, t), 1.0);
}

TEST(Breaklines, ManyThroughOnePlaceShareAVertex) {
  std::vector<Shot> shots;
  std::vector<Breakline> lines;
  for (std::size_t i = 0; i < 12; ++i) {
    const double turn = 2 * std::numbers::pi * static_cast<double>(i) / 12;
    shots.push_back(shot(1e6 + 50 * std::sin(turn), 2e6 + 50 * std::cos(turn), 100));
    if (i < 6) lines.push_back({i, i + 6});
  }
  const Ground ground = make_ground(shots, lines);
  EXPECT_EQ(ground.points.size(), 13u);
  EXPECT_EQ(ground.triangle_count(), 12u);
}

RC_GTEST_PROP(Breaklines, AreKeptWhateverTheyCross, ()) {
  std::mt19937 random(*rc::gen::arbitrary<std::uint32_t>());
  const auto shots = random_shots(random, 40);
  std::uniform_int_distribution<std::size_t> any(0, shots.size() - 1);
  std::vector<Breakline> lines(6);
  for (Breakline& line : lines) line = {any(random), any(random), any(random)};
  const Ground ground = make_ground(shots, lines);
  RC_ASSERT(std::abs(ground.total_area - make_ground(shots).total_area) < 1e-6);
  // The edges of the ground that lie along a kept line cover its whole length.
  for (const Breakline& line : lines) {
    for (std::size_t i = 0; i + 1 < line.size(); ++i) {
      const Point2 a = ground.to_local({shots[line[i]].easting, shots[line[i]].northing});
      const Point2 b = ground.to_local({shots[line[i + 1]].easting, shots[line[i + 1]].northing});
      double covered = 0;
      for (std::size_t t = 0; t < ground.triangle_count(); ++t) {
        for (int k = 0; k < 3; ++k) {
          const std::int32_t across = ground.tree.neighbours[t][k];
          if (across >= 0 && across < static_cast<std::int32_t>(t)) continue;  // each edge once
          const Point2 p = corner(ground, t, k).head<2>(), q = corner(ground, t, k + 1).head<2>();
          const double length = (b - a).norm();
          if (length == 0 || std::abs(cross(b - a, p - a)) > 1e-6 * length ||
              std::abs(cross(b - a, q - a)) > 1e-6 * length) {
            continue;
          }
          const double s = (p - a).dot(b - a) / length, e = (q - a).dot(b - a) / length;
          if (std::min(s, e) > -1e-6 && std::max(s, e) < length + 1e-6) covered += std::abs(e - s);
        }
      }
      RC_ASSERT(std::abs(covered - (b - a).norm()) < 1e-5);
    }
  }
}

// ---- the outside ----

TEST(Trimming, TakesOffWhatBridgesUnsurveyedLand) {
  auto shots = grid(4, 4, 10, level);
  shots.push_back(shot(15, 200, 100, "far"));
  GroundReport report;
  const Ground ground = make_ground(shots, {}, {.longest_edge = 50}, &report);
  EXPECT_DOUBLE_EQ(ground.total_area, 900.0);
  EXPECT_EQ(ground.points.size(), 16u);
  EXPECT_EQ(report.trimmed_triangles, make_ground(shots).triangle_count() - 18u);
  EXPECT_FALSE(elevation_at(ground, ground.to_local({100, 15})));
  ASSERT_THAT(report.problems.all, ElementsAre(warning_with("point far at N 15.00, E 200.00 is no part of the ground: "
                                                            "only edges longer than 50 lead to it")));
}

TEST(Trimming, AfterTwentyDroppedShotsTheRestAreCounted) {
  auto shots = grid(4, 4, 10, level);
  for (int i = 0; i < 23; ++i) shots.push_back(shot(100.0 * (i % 5), 200.0 + 100.0 * i, 100, "far"));
  GroundReport report;
  EXPECT_EQ(make_ground(shots, {}, {.longest_edge = 50}, &report).points.size(), 16u);
  ASSERT_THAT(report.problems.all, SizeIs(21));
  EXPECT_THAT(report.problems.all[20].what, HasSubstr("3 more shots"));
}

TEST(Trimming, StopsAtShortEdges) {
  // The diagonal of a cell is longer than the limit but lies inside.
  GroundReport report;
  const Ground ground = make_ground(grid(3, 3, 10, level), {}, {.longest_edge = 12}, &report);
  EXPECT_DOUBLE_EQ(ground.total_area, 400.0);
  EXPECT_EQ(report.trimmed_triangles, 0u);
}

TEST(Trimming, KeepsPartsAndTellsOfThem) {
  auto shots = grid(3, 3, 10, level);
  for (Shot s : grid(3, 3, 10, level)) {
    s.easting += 300;
    shots.push_back(s);
  }
  GroundReport report;
  const Ground ground = make_ground(shots, {}, {.longest_edge = 50}, &report);
  EXPECT_DOUBLE_EQ(ground.total_area, 800.0);
  EXPECT_THAT(report.problems.all, ElementsAre(warning_with("in 2 parts")));
  EXPECT_THAT(outline(ground), SizeIs(2));
}

TEST(Trimming, LeavesBreaklinesAtTheOutside) {
  const std::vector<Shot> shots = {shot(0, 0, 100), shot(0, 100, 100), shot(10, 50, 100)};
  GroundReport report;
  EXPECT_EQ(make_ground(shots, {{0, 1}}, {.longest_edge = 60}, &report).triangle_count(), 1u);
  EXPECT_THAT(refusal_of(shots, {}, {.longest_edge = 60})[0].what, HasSubstr("no ground is left"));
}

TEST(Trimming, SliversAlongAnOutsideInLineAreNoGround) {
  auto shots = grid(6, 6, 10, slope);
  for (Shot& s : shots) {
    const double x = s.easting, y = s.northing;
    s.easting = 2345678.9 + std::cos(0.3) * x - std::sin(0.3) * y;
    s.northing = 765432.1 + std::sin(0.3) * x + std::cos(0.3) * y;
  }
  const Ground ground = make_ground(shots);
  EXPECT_EQ(ground.triangle_count(), 50u);
  EXPECT_NEAR(ground.total_area, 2500.0, 1e-5);
}

RC_GTEST_PROP(Outline, SurroundsTheGround, ()) {
  std::mt19937 random(*rc::gen::arbitrary<std::uint32_t>());
  const auto shots = random_shots(random, 60);
  const double longest = std::uniform_real_distribution<double>(12.0, 40.0)(random);
  Ground ground;
  try {
    ground = make_ground(shots, {}, {.longest_edge = longest});
  } catch (const Refusal&) {
    RC_DISCARD("all trimmed");
  }
  double sum = 0;
  std::size_t corners = 0, edges = 0;
  for (const Polygon2& ring : outline(ground)) sum += signed_area(ring), corners += ring.size();
  for (const auto& n : ground.tree.neighbours) edges += static_cast<std::size_t>(std::count(n.begin(), n.end(), -1));
  RC_ASSERT(std::abs(sum - ground.total_area) < 1e-8);
  RC_ASSERT(corners == edges);
  for (std::size_t t = 0; t < ground.triangle_count(); ++t) {
    for (int i = 0; i < 3; ++i) {
      if (ground.tree.neighbours[t][i] < 0)
        RC_ASSERT((corner(ground, t, i) - corner(ground, t, i + 1)).head<2>().norm() <= longest);
    }
  }
}

RC_GTEST_PROP(Ground, DoesNotDependOnTheOrderOfTheShots, ()) {
  std::mt19937 random(*rc::gen::arbitrary<std::uint32_t>());
  auto shots = random_shots(random, *rc::gen::inRange(3, 80));
  const Ground first = make_ground(shots);
  std::shuffle(shots.begin(), shots.end(), random);
  const Ground second = make_ground(shots);
  RC_ASSERT(std::abs(first.total_area - second.total_area) < 1e-9 * first.total_area);
  RC_ASSERT(std::abs(volume(first) - volume(second)) < 1e-9 * volume(first));
}

// ---- elevations ----

RC_GTEST_PROP(ElevationAt, IsThePlaneOnPlaneGround, ()) {
  std::mt19937 random(*rc::gen::arbitrary<std::uint32_t>());
  const Ground ground = make_ground(random_shots(random, 100, slope));
  std::uniform_real_distribution<double> place(0.0, 100.0);
  for (int i = 0; i < 50; ++i) {
    const Point2 p(place(random), place(random));
    const auto z = elevation_at(ground, ground.to_local(p));
    if (z) RC_ASSERT(std::abs(*z - slope(p.x(), p.y())) < 1e-10);
  }
}

RC_GTEST_PROP(ElevationAt, IsThatOfTheTriangleOrNothing, ()) {
  std::mt19937 random(*rc::gen::arbitrary<std::uint32_t>());
  const Ground ground = make_ground(random_shots(random, 60));
  std::uniform_real_distribution<double> place(-10.0, 110.0);
  for (int i = 0; i < 50; ++i) {
    const Point2 p = ground.to_local({place(random), place(random)});
    std::optional<double> expected;
    for (std::size_t t = 0; t < ground.triangle_count(); ++t) {
      const Point3 a = corner(ground, t, 0), b = corner(ground, t, 1), c = corner(ground, t, 2);
      Eigen::Matrix3d corners;
      corners << a.x(), b.x(), c.x(), a.y(), b.y(), c.y(), 1, 1, 1;
      const Eigen::Vector3d weights = corners.inverse() * Eigen::Vector3d(p.x(), p.y(), 1);
      if (weights.minCoeff() >= 0) expected = weights.dot(Eigen::Vector3d(a.z(), b.z(), c.z()));
    }
    const auto z = elevation_at(ground, p);
    RC_ASSERT(z.has_value() == expected.has_value());
    if (z) RC_ASSERT(std::abs(*z - *expected) < 1e-9);
  }
}

TEST(ElevationAt, IsExactAtShotsAndOnEdges) {
  std::mt19937 random(12);
  const Ground ground = make_ground(random_shots(random, 200));
  for (const Point3& p : ground.points) EXPECT_DOUBLE_EQ(elevation_at(ground, p.head<2>()).value_or(NAN), p.z());
  for (std::size_t t = 0; t < ground.triangle_count(); ++t) {
    for (int i = 0; i < 3; ++i) {  // outside edges too: a point rounded off them is still on the ground
      const Point3 p = corner(ground, t, i) + 0.3 * (corner(ground, t, i + 1) - corner(ground, t, i));
      EXPECT_NEAR(elevation_at(ground, p.head<2>()).value_or(NAN), p.z(), 1e-9);
    }
  }
}

// ---- polygons ----

TEST(TrianglesMeeting, CountsTouchesAndNothingElse) {
  const Ground ground = make_ground(grid(5, 5, 10, level));
  const auto square = [&](double x0, double y0, double x1, double y1) {
    return Polygon2{ground.to_local({x0, y0}), ground.to_local({x1, y0}), ground.to_local({x1, y1}),
                    ground.to_local({x0, y1})};
  };
  EXPECT_THAT(triangles_meeting(ground, square(-5, -5, 45, 45)), SizeIs(32));
  EXPECT_THAT(triangles_meeting(ground, square(40, 0, 50, 10)), testing::Not(IsEmpty()));  // along an edge
  EXPECT_THAT(triangles_meeting(ground, square(40.1, 0, 50, 10)), IsEmpty());
}

using Exact = CGAL::Exact_predicates_exact_constructions_kernel;

Exact::Triangle_2 exact_triangle(const Point2& a, const Point2& b, const Point2& c) {
  return {Exact::Point_2(a.x(), a.y()), Exact::Point_2(b.x(), b.y()), Exact::Point_2(c.x(), c.y())};
}

/// The corners shared by a triangle of the ground and another triangle, by CGAL in exact numbers; empty for no area.
std::vector<Point2> shared_part(const Ground& ground, std::size_t t, const Exact::Triangle_2& other) {
  const auto own =
      exact_triangle(corner(ground, t, 0).head<2>(), corner(ground, t, 1).head<2>(), corner(ground, t, 2).head<2>());
  const auto met = CGAL::intersection(own, other);
  std::vector<Exact::Point_2> corners;
  if (met) {
    if (const auto* triangle = boost::get<Exact::Triangle_2>(&*met)) {
      for (int i = 0; i < 3; ++i) corners.push_back(triangle->vertex(i));
    } else if (const auto* polygon = boost::get<std::vector<Exact::Point_2>>(&*met)) {
      corners = *polygon;
    }
  }
  std::vector<Point2> rounded;
  for (const auto& p : corners) rounded.emplace_back(CGAL::to_double(p.x()), CGAL::to_double(p.y()));
  if (rounded.size() > 2 && signed_area(rounded) < 0) std::reverse(rounded.begin(), rounded.end());
  return rounded;
}

RC_GTEST_PROP(TrianglesMeeting, AreThoseThatMeet, ()) {
  std::mt19937 random(*rc::gen::arbitrary<std::uint32_t>());
  const Ground ground = make_ground(random_shots(random, 60));
  const Polygon2 box = random_rectangle(random, ground);
  std::vector<std::uint32_t> expected;
  for (std::uint32_t t = 0; t < ground.triangle_count(); ++t) {
    const auto own =
        exact_triangle(corner(ground, t, 0).head<2>(), corner(ground, t, 1).head<2>(), corner(ground, t, 2).head<2>());
    if (CGAL::do_intersect(own, exact_triangle(box[0], box[1], box[2])) ||
        CGAL::do_intersect(own, exact_triangle(box[0], box[2], box[3]))) {
      expected.push_back(t);
    }
  }
  RC_ASSERT(triangles_meeting(ground, box) == expected);
}

RC_GTEST_PROP(FitPlane, AgreesWithExactClippingAndAnotherRule, ()) {
  std::mt19937 random(*rc::gen::arbitrary<std::uint32_t>());
  const Ground ground = make_ground(random_shots(random, *rc::gen::inRange(3, 60)));
  const Polygon2 box = random_rectangle(random, ground);
  const Point2 center = (box[0] + box[2]) / 2;
  Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
  Eigen::Vector3d right = Eigen::Vector3d::Zero();
  for (std::size_t t = 0; t < ground.triangle_count(); ++t) {
    const Point3 o = corner(ground, t, 0), n = (corner(ground, t, 1) - o).cross(corner(ground, t, 2) - o);
    const auto z = [&](const Point2& p) { return o.z() - (n.head<2>().dot(p - o.head<2>())) / n.z(); };
    for (const auto& half : {exact_triangle(box[0], box[1], box[2]), exact_triangle(box[0], box[2], box[3])}) {
      const std::vector<Point2> part = shared_part(ground, t, half);
      for (std::size_t i = 2; i < part.size(); ++i) {  // a fan, each by the midpoint rule
        const double third = cross(part[i - 1] - part[0], part[i] - part[0]) / 6;
        for (const Point2& m : {Point2((part[0] + part[i - 1]) / 2), Point2((part[i - 1] + part[i]) / 2),
                                Point2((part[i] + part[0]) / 2)}) {
          const Eigen::Vector3d row(m.x() - center.x(), m.y() - center.y(), 1);
          normal += third * row * row.transpose();
          right += third * row * z(m);
        }
      }
    }
  }
  const auto fit = fit_plane(ground, box);
  const double covered = normal(2, 2);
  if (covered < 1.0) {  // too little ground for a slope to compare
    if (fit) RC_ASSERT(std::abs(fit->covered_area - covered) < 1e-9);
    return;
  }
  RC_ASSERT(fit.has_value());
  RC_ASSERT(std::abs(fit->covered_area - covered) < 1e-9 * covered);
  const Eigen::Vector3d residual = normal * Eigen::Vector3d(fit->plane.a, fit->plane.b, fit->plane.at(center)) - right;
  RC_ASSERT(std::abs(residual[2]) < 1e-9 * covered * 100);
  RC_ASSERT(residual.head<2>().norm() < 1e-9 * covered * 100 * 50);
}

TEST(FitPlane, TellsSlopeAndTheWayWaterRuns) {
  const Ground ground = make_ground(grid(5, 5, 10, [](double x, double y) { return 100 - 0.06 * x + 0.08 * y; }));
  const Polygon2 bed = {{-15, -5}, {15, -5}, {15, 5}, {-15, 5}};
  const auto fit = fit_plane(ground, bed);
  ASSERT_TRUE(fit);
  EXPECT_NEAR(fit->covered_area, 300.0, 1e-10);
  EXPECT_NEAR(fit->slope, 0.10, 1e-12);
  // Falls 0.06 to the east and 0.08 to the south.
  EXPECT_NEAR(fit->downslope_azimuth, 180 - std::atan2(0.06, 0.08) * 180 / std::numbers::pi, 1e-9);
}

TEST(FitPlane, IsNothingOffTheGround) {
  const Ground ground = make_ground(grid(3, 3, 10, level));
  const Polygon2 beside = {{100, 0}, {110, 0}, {110, 10}};
  EXPECT_FALSE(fit_plane(ground, beside));
  EXPECT_FALSE(highest_ground(ground, beside));
  EXPECT_FALSE(lowest_ground(ground, beside));
}

struct BruteRange {
  double lowest = INFINITY, highest = -INFINITY;
  void take(double z) { lowest = std::min(lowest, z), highest = std::max(highest, z); }
};

/// Every shot inside, every crossing of edges, every corner on the ground; no tree, no clipping.
BruteRange brute_range(const Ground& ground, const Polygon2& polygon) {
  BruteRange range;
  const auto inside = [&](const Point2& p) {
    for (std::size_t i = 0; i < polygon.size(); ++i) {
      if (cross(polygon[(i + 1) % polygon.size()] - polygon[i], p - polygon[i]) < 0) return false;
    }
    return true;
  };
  for (const Point3& p : ground.points) {
    if (inside(p.head<2>())) range.take(p.z());
  }
  for (std::size_t t = 0; t < ground.triangle_count(); ++t) {
    for (int k = 0; k < 3; ++k) {
      const Point3 a = corner(ground, t, k), b = corner(ground, t, k + 1);
      for (std::size_t i = 0; i < polygon.size(); ++i) {
        const Point2 &p = polygon[i], &q = polygon[(i + 1) % polygon.size()];
        const double over = cross((b - a).head<2>(), q - p);
        const double s = cross(p - a.head<2>(), q - p) / over, u = cross(p - a.head<2>(), (b - a).head<2>()) / over;
        if (s >= 0 && s <= 1 && u >= 0 && u <= 1) range.take(a.z() + s * (b.z() - a.z()));
      }
    }
  }
  for (const Point2& p : polygon) {
    if (const auto z = elevation_at(ground, p)) range.take(*z);
  }
  return range;
}

RC_GTEST_PROP(HighestAndLowestGround, AgreesWithTryingEverything, ()) {
  std::mt19937 random(*rc::gen::arbitrary<std::uint32_t>());
  const int count = *rc::gen::inRange(3, 400);
  const auto shots = random_shots(random, count, [&](double x, double y) {
    return 100 + 0.3 * x - 0.1 * y + std::sin(x / 7) * std::cos(y / 5) + 1e-3 * static_cast<double>(random() % 1000);
  });
  const Ground ground = make_ground(shots);
  const Polygon2 box = random_rectangle(random, ground);
  const auto highest = highest_ground(ground, box), lowest = lowest_ground(ground, box);
  const BruteRange brute = brute_range(ground, box);
  RC_ASSERT(highest.has_value() == std::isfinite(brute.lowest));
  RC_ASSERT(lowest.has_value() == highest.has_value());
  if (!highest) return;
  RC_ASSERT(std::abs(lowest->elevation - brute.lowest) < 1e-9);
  RC_ASSERT(std::abs(highest->elevation - brute.highest) < 1e-9);
  for (const GroundExtreme& extreme : {*lowest, *highest}) {
    RC_ASSERT(std::abs(elevation_at(ground, extreme.at).value_or(NAN) - extreme.elevation) < 1e-7);
    RC_ASSERT(!extreme.shots.empty() && extreme.shots.size() <= 3);
    // The place lies on the shot, on the line between the two, or in the triangle of the three.
    std::vector<Point2> from;
    for (const std::int64_t s : extreme.shots) {
      from.push_back(
          ground.to_local({shots[static_cast<std::size_t>(s)].easting, shots[static_cast<std::size_t>(s)].northing}));
    }
    const double reach = 1e-6;
    if (from.size() == 1) RC_ASSERT((from[0] - extreme.at).norm() < reach);
    if (from.size() == 2) {
      RC_ASSERT(std::abs((from[0] - extreme.at).norm() + (from[1] - extreme.at).norm() - (from[0] - from[1]).norm()) <
                reach);
    }
    if (from.size() == 3) {
      const double whole = signed_area(from);
      double parts = 0;
      for (int i = 0; i < 3; ++i)
        parts += std::abs(cross(from[static_cast<std::size_t>(i)] - extreme.at,
                                from[static_cast<std::size_t>((i + 1) % 3)] - extreme.at)) /
                 2;
      RC_ASSERT(std::abs(parts - std::abs(whole)) < reach);
    }
  }
}

TEST(HighestAndLowestGround, NamesTheShotTheEdgeOrTheTriangle) {
  // A roof: ridge along y = 0 between two shots, eaves at y = -10 and 10.
  const std::vector<Shot> shots = {shot(0, -40, 110),  shot(0, 40, 110),   shot(-10, -40, 100),
                                   shot(-10, 40, 100), shot(10, -40, 100), shot(10, 40, 100)};
  const Ground ground = make_ground(shots, {{0, 1}});
  const Polygon2 across = {{-10, -5}, {10, -5}, {10, 5.5}, {-10, 5.5}};
  const auto highest = highest_ground(ground, across), lowest = lowest_ground(ground, across);
  ASSERT_TRUE(highest && lowest);
  EXPECT_NEAR(highest->elevation, 110.0, 1e-12);
  EXPECT_THAT(highest->shots, testing::UnorderedElementsAre(0, 1));
  EXPECT_NEAR(lowest->elevation, 104.5, 1e-12);
  EXPECT_NEAR(lowest->at.y(), 5.5, 1e-12);

  const Ground hill =
      make_ground({shot(0, 0, 105), shot(-20, -20, 100), shot(-20, 20, 100), shot(20, 20, 100), shot(20, -20, 100)});
  const Polygon2 about = {{-3, -2}, {4, -2}, {4, 2}, {-3, 2}};
  const auto top = highest_ground(hill, about), foot = lowest_ground(hill, about);
  ASSERT_TRUE(top && foot);
  EXPECT_THAT(top->shots, ElementsAre(0));
  EXPECT_NEAR(foot->elevation, 104.0, 1e-12);  // at the far edge, 4 of 20 down
}

TEST(HighestAndLowestGround, NamesTheTriangleWhereAnEdgeOfThePolygonRunsThroughAShot) {
  const Ground ground = make_ground({shot(0, 0, 0), shot(0, 20, 0), shot(20, 0, 20)});  // rises to the north
  Polygon2 polygon = {{30, -5}, {10, 5}, {0, -20}};  // its first edge runs through (20, 0)
  for (Point2& p : polygon) p = ground.to_local(p);
  const auto highest = highest_ground(ground, polygon);
  ASSERT_TRUE(highest);
  EXPECT_NEAR(highest->elevation, 5.0, 1e-12);
  EXPECT_THAT(highest->shots, SizeIs(3));
}

}  // namespace
}  // namespace moundwright

// Walls and curbs on ground whose volume is known: two breaklines through the same places at two elevations.
#include "geom/walls.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <random>

#include "geom/surfaces.h"
#include "geom/takeoff.h"
#include "tests/support/plain_layer.h"
#include "tests/support/random_mounds.h"

namespace moundwright {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::SizeIs;

constexpr OnePlace tape{0.05, 0.1};
constexpr double half = 50;  // of the lot, about (0, 0)

/// A lot with a wall on it: shots on a grid that keeps off the wall, and the wall's own.
struct Lot {
  std::vector<Shot> shots;
  std::vector<Breakline> lines;

  std::size_t add(double e, double n, double z) {
    shots.push_back({std::to_string(shots.size() + 1), n, e, z, "", static_cast<int>(shots.size()) + 2});
    return shots.size() - 1;
  }
  void add_line(const std::vector<Point3>& places) {
    Breakline& line = lines.emplace_back();
    for (const Point3& p : places) line.push_back(add(p.x(), p.y(), p.z()));
  }
  Ground ground(GroundReport* report = nullptr) const {
    GroundOptions options;
    options.one_place = tape;
    return make_ground(shots, lines, options, report);
  }
};

/// Terraces: `west` of x = 0 and `east` of it, shot 10 apart.
Lot terraces(double west, double east) {
  Lot lot;
  for (int i = -5; i <= 5; ++i) {
    for (int j = -5; j <= 5; ++j) {
      if (i != 0) lot.add(10 * i, 10 * j, i < 0 ? west : east);
    }
  }
  return lot;
}

std::vector<Point3> straight(double z, int step = 25) {
  std::vector<Point3> places;
  for (int n = -50; n <= 50; n += step) places.emplace_back(0, n, z);
  return places;
}

double volume_over_zero(const Ground& ground) { return volume_above(ground_tin(ground), 0); }

double at(const Ground& ground, double e, double n) {
  return elevation_at(ground, ground.to_local({e, n})).value_or(-1);
}

/// What the lean of a face may add to the ground or take from it.
double lean(double height, double length) { return 0.5 * wall_out_of_plumb * height * length; }

TEST(Walls, StandBetweenLevelTerraces) {
  Lot lot = terraces(104, 100);
  lot.add_line(straight(104));
  lot.add_line(straight(100));
  GroundReport report;
  const Ground ground = lot.ground(&report);
  EXPECT_EQ(report.walls, 1u);
  const double upright = 2 * half * half * (104 + 100);
  EXPECT_NEAR(volume_over_zero(ground), upright + lean(4, 2 * half), 1e-6);
  for (const double n : {-49.0, -31.0, 0.0, 17.0, 48.0}) {
    EXPECT_NEAR(at(ground, -1e-6, n), 104, 1e-9);
    EXPECT_NEAR(at(ground, 1.001 * wall_out_of_plumb, n), 100, 1e-9);
  }
  ASSERT_THAT(report.problems.all, SizeIs(1));
  EXPECT_EQ(report.problems.all[0].severity, Severity::note);
  EXPECT_THAT(report.problems.all[0].what,
              AllOf(HasSubstr("places 4.00 apart"), HasSubstr("a wall or curb, low on the side at azimuth 90")));
}

TEST(Walls, DoNotDependOnWhichLineComesFirstNorOnItsDirection) {
  for (const bool low_first : {false, true}) {
    for (const bool turned : {false, true}) {
      for (const double west : {104.0, 96.0}) {
        Lot lot = terraces(west, 100);
        auto first = straight(low_first ? std::min(west, 100.0) : std::max(west, 100.0));
        if (turned) std::reverse(first.begin(), first.end());
        lot.add_line(first);
        lot.add_line(straight(low_first ? std::max(west, 100.0) : std::min(west, 100.0)));
        const Ground ground = lot.ground();
        EXPECT_NEAR(at(ground, -0.01, 3), west, 1e-9) << low_first << turned;
        EXPECT_NEAR(at(ground, 0.01, 3), 100, 1e-9) << low_first << turned;
      }
    }
  }
}

TEST(Walls, TakeShotsAHandsWidthApartAsOnePlace) {
  Lot lot = terraces(104, 100);
  lot.add_line(straight(104));
  auto toe = straight(100);
  for (std::size_t i = 0; i < toe.size(); ++i) toe[i].x() += i % 2 == 0 ? -0.03 : 0.02;  // on the wrong side, too
  lot.add_line(toe);
  const Ground ground = lot.ground();
  EXPECT_NEAR(volume_over_zero(ground), 2 * half * half * (104 + 100), 0.02 * 4 * 2 * half);
  EXPECT_NEAR(at(ground, -0.05, 12), 104, 1e-9);
  EXPECT_NEAR(at(ground, 0.05, 12), 100, 1e-9);
}

TEST(Walls, GoThroughPlacesThatOneLineAloneHas) {
  Lot lot = terraces(104, 100);
  lot.add_line(straight(104, 10));
  lot.add_line(straight(100, 50));
  const Ground ground = lot.ground();
  EXPECT_NEAR(volume_over_zero(ground), 2 * half * half * (104 + 100) + lean(4, 2 * half), 1e-6);
  lot = terraces(104, 100);
  lot.add_line({{0, -50, 104}, {0, 50, 104}});
  lot.add_line(straight(100, 20));
  EXPECT_NEAR(volume_over_zero(lot.ground()), 2 * half * half * (104 + 100) + lean(4, 2 * half), 1e-6);
}

TEST(Walls, MakeNoPlaceOfTheirOwnWhereBothLinesRunOnOnTheGround) {
  // A wall north of N 0; south of it its top and its toe are one line on level ground, with a shot at N -25 on one.
  Lot lot;
  for (int i = -5; i <= 5; ++i) {
    for (int j = -5; j <= 5; ++j) {
      if (i != 0) lot.add(10 * i, 10 * j, i < 0 && j > 0 ? 104 : 100);
    }
  }
  lot.add_line({{0, -50, 100}, {0, -25, 100}, {0, 0, 102}, {0, 50, 104}});
  lot.add_line({{0, -50, 100}, {0, 0, 100}, {0, 50, 100}});
  const Ground ground = lot.ground();
  EXPECT_EQ(ground.points.size(), lot.shots.size() - 1) << "the shot at N -50 is there twice";
  EXPECT_NEAR(at(ground, 0, -25), 100, 1e-9);
}

TEST(Walls, TurnACorner) {
  // High ground in the northwest quarter, 3 up; the wall comes from the west edge and turns north.
  Lot lot;
  const auto z = [](double e, double n) { return e < 0 && n > 0 ? 103.0 : 100.0; };
  for (int i = -5; i <= 5; ++i) {
    for (int j = -5; j <= 5; ++j) {
      const bool on_wall = (i == 0 && j >= 0) || (j == 0 && i <= 0);
      if (!on_wall) lot.add(10 * i, 10 * j, z(10 * i, 10 * j));
    }
  }
  for (const double height : {103.0, 100.0}) {
    lot.add_line({{-50, 0, height}, {-25, 0, height}, {0, 0, height}, {0, 25, height}, {0, 50, height}});
  }
  const Ground ground = lot.ground();
  EXPECT_NEAR(volume_over_zero(ground), 4 * half * half * 100 + half * half * 3 + lean(3, 2 * half), 1e-5);
  // The mitre: the face keeps its lean round the corner.
  const double out = 1.001 * wall_out_of_plumb;
  EXPECT_NEAR(at(ground, out, -out), 100, 1e-9);
  EXPECT_NEAR(at(ground, 0.5 * wall_out_of_plumb, -0.5 * wall_out_of_plumb), 101.5, 1e-6);
  EXPECT_NEAR(at(ground, -1e-6, 1e-6), 103, 1e-9);
}

TEST(Walls, TwoThatMeetInAPlaceWithLinesOfTheirOwnAreOneCorner) {
  Lot lot = terraces(104, 100);
  lot.add_line({{0, -50, 104}, {0, 0, 104}});
  lot.add_line({{0, 0, 104}, {0, 50, 104}});
  lot.add_line({{0, -50, 100}, {0, 0, 100}});
  lot.add_line({{0, 0, 100}, {0, 50, 100}});
  GroundReport report;
  const Ground ground = lot.ground(&report);
  EXPECT_EQ(report.walls, 2u);
  EXPECT_NEAR(volume_over_zero(ground), 2 * half * half * (104 + 100) + lean(4, 2 * half), 1e-6);
}

TEST(Walls, RunOutIntoTheGround) {
  // Ground level in the south; in the north the west side rises, and the wall with it, from nothing at N 0.
  const auto west = [](double n) { return 100 + 0.08 * std::max(0.0, n); };
  Lot lot;
  for (int i = -5; i <= 5; ++i) {
    for (int j = -5; j <= 5; ++j) {
      if (i != 0 || j < 0) lot.add(10 * i, 10 * j, i < 0 ? west(10 * j) : 100);
    }
  }
  lot.add_line({{0, 0, 100}, {0, 20, west(20)}, {0, 50, west(50)}});
  lot.add_line({{0, 0, 100}, {0, 20, 100}, {0, 50, 100}});
  GroundReport report;
  const Ground ground = lot.ground(&report);
  EXPECT_EQ(report.walls, 1u);
  EXPECT_NEAR(at(ground, -0.01, 35), west(35), 1e-9);
  EXPECT_NEAR(at(ground, 0.01, 35), 100, 1e-9);
  EXPECT_NEAR(at(ground, -0.01, 10), west(10), 1e-9);
  EXPECT_NEAR(at(ground, 0.01, 10), 100, 1e-9);
}

TEST(Walls, MayChangeTheirHighSide) {
  // The west side rises to the north, the east side falls: at N 0 they are level.
  const auto west = [](double n) { return 100 + 0.05 * n; };
  const auto east = [](double n) { return 100 - 0.05 * n; };
  Lot lot;
  for (int i = -5; i <= 5; ++i) {
    for (int j = -5; j <= 5; ++j) {
      if (i != 0) lot.add(10 * i, 10 * j, i < 0 ? west(10 * j) : east(10 * j));
    }
  }
  lot.add_line({{0, -50, west(-50)}, {0, -20, west(-20)}, {0, 20, west(20)}, {0, 50, west(50)}});
  lot.add_line({{0, -50, east(-50)}, {0, -20, east(-20)}, {0, 20, east(20)}, {0, 50, east(50)}});
  const Ground ground = lot.ground();
  for (const double n : {-45.0, -20.0, -7.0, 9.0, 33.0}) {
    EXPECT_NEAR(at(ground, -0.01, n), west(n), 1e-3);
    EXPECT_NEAR(at(ground, 0.01, n), east(n), 1e-3);
  }
}

TEST(Walls, StandAtTheSurveysEnd) {
  // The survey stops at the wall: nothing east of it but its toe.
  Lot lot;
  for (int i = -5; i < 0; ++i) {
    for (int j = -5; j <= 5; ++j) lot.add(10 * i, 10 * j, 104);
  }
  lot.add_line(straight(104));
  lot.add_line(straight(100));
  const Ground ground = lot.ground();
  EXPECT_NEAR(at(ground, -1e-6, 7), 104, 1e-9);
  EXPECT_NEAR(at(ground, wall_out_of_plumb, 7), 100, 1e-6);
}

TEST(Walls, AreWarnedOfWhereTheGroundDoesNotTellTheLowSide) {
  Lot lot = terraces(102, 102);
  lot.add_line(straight(104));
  lot.add_line(straight(100));
  GroundReport report;
  lot.ground(&report);
  ASSERT_THAT(report.problems.all, SizeIs(1));
  EXPECT_EQ(report.problems.all[0].severity, Severity::warning);
  EXPECT_THAT(report.problems.all[0].what, HasSubstr("hardly tells which side is low"));
}

TEST(Walls, LinesThatOnlyCrossAtTwoElevationsAreRefused) {
  Lot lot = terraces(100, 100);
  lot.add_line({{-20, 5, 100}, {0, 5, 100}, {20, 5, 100}});
  lot.add_line({{0, -20, 100}, {0, 5, 101}, {0, 20, 100}});
  try {
    lot.ground();
    FAIL() << "it was not refused";
  } catch (const Refusal& refusal) {
    ASSERT_THAT(refusal.problems(), SizeIs(1));
    EXPECT_THAT(refusal.problems()[0].what, HasSubstr("100.00 and 101.00"));
    EXPECT_THAT(refusal.problems()[0].where, AllOf(HasSubstr("line 113"), HasSubstr("line 116")));
    EXPECT_THAT(refusal.problems()[0].what_to_do, HasSubstr("for a wall or a curb"));
  }
}

RC_GTEST_PROP(Walls, HoldBothTerracesApartAlongAnyBends, ()) {
  std::mt19937 random(*rc::gen::arbitrary<unsigned>());
  std::uniform_real_distribution<double> aside(-12, 12), turn(0, 2 * std::numbers::pi), place(-70, 70), height(0.3, 6);
  const double angle = turn(random), high = 100 + height(random);
  const auto turned = [&](const Point2& p) {
    return Point2(std::cos(angle) * p.x() - std::sin(angle) * p.y(), std::sin(angle) * p.x() + std::cos(angle) * p.y());
  };
  std::vector<Point2> bends;
  for (int n = -80; n <= 80; n += 20) bends.emplace_back(aside(random), n);
  const auto east_of_wall = [&](const Point2& p) {
    const auto i = static_cast<std::size_t>(std::clamp(std::floor((p.y() + 80) / 20), 0.0, 7.0));
    const Point2 a = bends[i], b = bends[i + 1];
    return p.x() - (a.x() + (b.x() - a.x()) * (p.y() - a.y()) / (b.y() - a.y()));
  };
  Lot lot;
  const auto shoot = [&](const Point2& p) {
    const Point2 at = turned(p);
    lot.add(at.x(), at.y(), east_of_wall(p) < 0 ? high : 100);
  };
  for (const double e : {-80.0, 80.0}) {
    for (const double n : {-80.0, 0.0, 80.0}) shoot({e, n});
  }
  for (int i = 0; i < 200; ++i) {
    const Point2 p(place(random), place(random));
    if (std::abs(east_of_wall(p)) > 2) shoot(p);
  }
  std::vector<Point3> top, toe;
  for (const Point2& p : bends) {
    top.emplace_back(turned(p).x(), turned(p).y(), high);
    toe.emplace_back(turned(p).x(), turned(p).y(), 100);
  }
  if (random() % 2 == 0) std::reverse(toe.begin(), toe.end());
  lot.add_line(random() % 2 == 0 ? top : toe);
  lot.add_line(lot.shots.back().elevation == 100 ? top : toe);
  const Ground ground = lot.ground();
  for (int i = 0; i < 100; ++i) {
    const Point2 p(place(random), place(random)), at = turned(p);
    if (std::abs(east_of_wall(p)) < 0.02) continue;
    RC_ASSERT(std::abs(elevation_at(ground, ground.to_local(at)).value_or(0) - (east_of_wall(p) < 0 ? high : 100)) <
              1e-9);
  }
}

// ---- mounds at a wall ----

TEST(Walls, MoundsOfAllKindsOverOneBalance) {
  Lot lot;
  for (const Shot& shot : rough_shots(300, half, 0.2, 7)) {
    if (std::abs(shot.easting) > 1.5 && std::abs(shot.easting) < half)
      lot.add(shot.easting, shot.northing, shot.elevation + (shot.easting < 0 ? 2 : 0));
  }
  std::vector<Point3> top = straight(102), toe = straight(100);
  for (const double n : {-50.0, 50.0}) lot.add(-50, n, 105), lot.add(50, n, 97);
  lot.add_line(top);
  lot.add_line(toe);
  const Ground ground = lot.ground();
  Dice dice{std::mt19937(11)};
  int stood = 0;
  for (int i = 0; i < 40; ++i) {
    const MoundDesign design = random_design(dice);
    if (check_design(design).has_errors()) continue;
    const PlacedMound mound = place_mound(place_as_drawn(ground, design));
    const Buildup& b = mound.buildup;
    if (b.toe.outer.empty()) continue;
    ++stood;
    EXPECT_LT(take_off(mound, LengthUnit::foot, 5).balance.relative_difference, 1e-7) << i;
  }
  EXPECT_GT(stood, 20);
}

MoundDesign block_over(double east_of_middle, double bottom, double top) {
  MoundDesign design;
  design.bed = straight_bed({east_of_middle, 0}, 90, 20, 10);
  design.bottom_elevation = bottom;
  design.downslope = 0;
  design.layers = {plain_layer("fill", top, 0, 0)};
  return design;
}

TEST(Walls, AMoundOverAWallHasTheYardsOfBothTerraces) {
  Lot lot = terraces(104, 100);
  lot.add_line(straight(104));
  lot.add_line(straight(100));
  const Ground ground = lot.ground();
  // An upright block 20 x 10 to elevation 106 that stands 6 wide on the upper terrace and 14 on the lower.
  const PlacedMound mound = place_mound(place_as_drawn(ground, block_over(4, 104, 2)));
  const Buildup& b = mound.buildup;
  const double upright = 10 * (6 * 2 + 14 * 6);
  EXPECT_NEAR(b.layers[0].volume, upright - lean(4, 10), 1e-6);
  EXPECT_NEAR(b.footprint_area, 200, 1e-6);
  const Takeoff takeoff = take_off(mound, LengthUnit::foot, 5);
  EXPECT_LT(takeoff.balance.relative_difference, 1e-9);
  const MoundSurfaces surfaces = mound_surfaces(mound);
  const double of_surfaces = volume_above(surfaces.after_layers[0], 0) - volume_above(surfaces.prepared, 0);
  // Its own upright faces lean there: 6 high round the lower part, 2 high round the upper.
  const double own_faces = 0.5 * face_lean * (6 * 6 * (14 + 10 + 14) + 2 * 2 * (6 + 10 + 6));
  EXPECT_NEAR(of_surfaces, b.layers[0].volume + own_faces, 1e-3);
}

TEST(Walls, ABermEndsAgainstAWall) {
  Lot lot = terraces(104, 100);
  lot.add_line(straight(104));
  lot.add_line(straight(100));
  const Ground ground = lot.ground();
  // A block 20 x 10 x 2 on the lower terrace, its west end 3 from the wall, with sides of 3:1: the west berm, 6 long on
  // open ground, is cut off upright by the wall where it still stands 1 high.
  MoundDesign design;
  design.bed = straight_bed({13, 0}, 90, 20, 10);
  design.bottom_elevation = 100;
  design.downslope = 0;
  design.layers = {plain_layer("fill", 2, 0, 3)};
  const Buildup b = build_up(place_as_drawn(ground, design));
  // The whole frustum by the prismatoid rule, less the end of it that would lie behind the wall.
  const double whole = 2.0 / 6 * (20 * 10 + 4 * 26 * 16 + 32 * 22);
  const auto strip = [](double out) { return (2 - out / 3) * 0.5 * (10 + 2 * out + 22); };  // a trapezoid
  const double behind = (6 - 3) / 6.0 * (strip(3) + 4 * strip(4.5) + strip(6));
  EXPECT_NEAR(b.layers[0].volume, whole - behind, 3 * lean(4, 20));
}

TEST(Walls, ContoursRunAlongTheFaceOneOverTheOther) {
  Lot lot = terraces(104.25, 100.25);
  lot.add_line(straight(104.25));
  lot.add_line(straight(100.25));
  const Ground ground = lot.ground();
  const std::vector<Contour> found = contours(ground, 1);
  ASSERT_THAT(found, SizeIs(4));
  for (const Contour& contour : found) {
    ASSERT_THAT(contour.lines, SizeIs(1)) << contour.elevation;
    double length = 0;
    const Polyline2& line = contour.lines[0];
    for (std::size_t i = 0; i + 1 < line.size(); ++i) length += (line[i + 1] - line[i]).norm();
    EXPECT_NEAR(length, 2 * half, 1e-5) << contour.elevation;
    for (const Point2& p : line) {
      // As far out as its share of the height, from the top down.
      EXPECT_NEAR(ground.to_world(p).x(), wall_out_of_plumb * (104.25 - contour.elevation) / 4, 1e-9);
    }
  }
}

}  // namespace
}  // namespace moundwright

// Assumed ground: what lies past the survey where a job has the ground carried on.
#include "geom/ground_margin.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

#include "geom/assumed_ground.h"
#include "geom/plan_checks.h"
#include "geom/site_design.h"
#include "geom/stakes.h"
#include "geom/surfaces.h"
#include "geom/takeoff.h"
#include "tests/support/plain_layer.h"
#include "tests/support/random_mounds.h"
#include "tests/support/site_with_mound.h"

namespace moundwright {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

double falling(double e, double n) { return 100 + 0.05 * e - 0.08 * n; }

/// Shots 10 apart over [-50, 50]^2, or as far as `north`.
std::vector<Shot> square_lot(double (*z)(double, double) = falling, double north = 50) {
  std::vector<Shot> shots;
  for (double n = -50; n < north + 5; n += 10) {
    for (double e = -50; e <= 50; e += 10) shots.push_back(shot_at(e, std::min(n, north), z(e, std::min(n, north))));
  }
  return shots;
}

Ground extended(const std::vector<Shot>& shots, double by, double longest_edge = 1e9) {
  GroundOptions options;
  options.extend = by;
  options.longest_edge = longest_edge;
  return make_ground(shots, {}, options);
}

double area_of(const Ground& ground, bool assumed) {
  double sum = 0;
  for (std::uint32_t t = 0; t < ground.triangle_count(); ++t) {
    if (ground.is_assumed(t) != assumed) continue;
    const auto& [a, b, c] = ground.tree.triangles[t];
    const Point3 u = ground.points[b] - ground.points[a], v = ground.points[c] - ground.points[a];
    sum += 0.5 * (u.x() * v.y() - u.y() * v.x());
  }
  return sum;
}

double area_of(const std::vector<Polygon2>& rings) {
  double twice = 0;
  for (const Polygon2& ring : rings) {
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const Point2 &p = ring[i], &q = ring[(i + 1) % ring.size()];
      twice += p.x() * q.y() - p.y() * q.x();
    }
  }
  return twice / 2;
}

double distance_to(const std::vector<Polygon2>& rings, const Point2& p) {
  double least = 1e300;
  for (const Polygon2& ring : rings) {
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const Point2 &a = ring[i], d = ring[(i + 1) % ring.size()] - a;
      least = std::min(least, (p - a - std::clamp(d.dot(p - a) / d.squaredNorm(), 0.0, 1.0) * d).norm());
    }
  }
  return least;
}

MoundDesign mound_at(double e, double n, double bottom) {
  MoundDesign design;
  design.bed = straight_bed({e, n}, 90, 20, 8);
  design.bottom_elevation = bottom;
  design.downslope = 0;
  design.layers = {plain_layer("core", 0, 1, 0), plain_layer("cover", 1.5, 2, 3)};
  return design;
}

TEST(AssumedGround, IsNoneUnlessAsked) {
  const Ground ground = make_ground(square_lot());
  EXPECT_THAT(ground.assumed, IsEmpty());
  EXPECT_FALSE(elevation_at(ground, ground.to_local({0, 50.001})));
}

TEST(AssumedGround, IsThePlaneOnAPlane) {
  constexpr double by = 2;
  const Ground ground = extended(square_lot(), by);
  // Four strips, and at each corner three pieces of 30 degrees.
  EXPECT_NEAR(area_of(ground, true), 4 * 100 * by + 4 * 3 * 0.5 * by * by * 0.5, 1e-9);
  EXPECT_NEAR(area_of(ground, false), 1e4, 1e-9);
  EXPECT_NEAR(ground.total_area, 1e4, 1e-9);
  for (const Point2& p : {Point2(0, 51.9), Point2(-51.9, 13), Point2(51.2, 51.2), Point2(7, -51)}) {
    const Point2 at = ground.to_local(p);
    EXPECT_TRUE(is_assumed_at(ground, at));
    EXPECT_NEAR(elevation_at(ground, at).value_or(0), falling(p.x(), p.y()), 1e-9);
  }
  EXPECT_FALSE(is_assumed_at(ground, ground.to_local({0, 49.9})));
  EXPECT_FALSE(elevation_at(ground, ground.to_local({0, 52.01})));
  EXPECT_EQ(surveyed_counts(ground).points, 121u);
  EXPECT_EQ(surveyed_counts(ground).triangles, 200u);
  EXPECT_NEAR(area_of(surveyed_outline(ground)), 1e4, 1e-9);
}

TEST(AssumedGround, GivesTheYardsOfASurveyThatReachesFarther) {
  const Ground farther = make_ground(square_lot(falling, 60)), near = extended(square_lot(), 4);
  const MoundDesign design = mound_at(0, 33, 97.8);
  const Buildup wanted = build_up(place_as_drawn(farther, design));
  const PlacedMound mound = place_mound(place_as_drawn(near, design));
  const Buildup& found = mound.buildup;
  ASSERT_EQ(wanted.toe.off_survey, 0);
  ASSERT_GT(build_up(place_as_drawn(make_ground(square_lot()), design)).toe.off_survey, 1);
  EXPECT_EQ(found.toe.off_survey, 0);
  for (std::size_t k = 0; k < 2; ++k) EXPECT_NEAR(found.layers[k].volume, wanted.layers[k].volume, 1e-8);
  EXPECT_NEAR(found.footprint_area, wanted.footprint_area, 1e-8);
  EXPECT_NEAR(found.berm.downslope.middle, wanted.berm.downslope.middle, 1e-9);

  // What lies past the survey is told: the part of the footprint, and of the fill, north of N 50.
  const auto assumed = on_assumed_ground(mound, LengthUnit::metre);
  ASSERT_TRUE(assumed);
  double most_north = 0;
  for (const Point2& p : found.toe.outer[0]) most_north = std::max(most_north, near.to_world(p).y());
  EXPECT_NEAR(assumed->farthest, most_north - 50, 1e-9);
  EXPECT_NEAR(assumed->at.y(), most_north, 1e-9);
  const Ground cut = make_ground(square_lot());  // off its survey a buildup counts what is on it
  const Buildup on_survey = build_up(place_as_drawn(cut, design));
  EXPECT_NEAR(assumed->area, wanted.footprint_area - on_survey.footprint_area, 1e-8);
  EXPECT_NEAR(assumed->fill_cy, (wanted.total_fill() - on_survey.total_fill()) * cubic_yards_per(LengthUnit::metre),
              1e-8);
}

TEST(AssumedGround, ChangesNothingWhereTheToeStaysInside) {
  const auto shots = rough_shots(400, 60, 0.2, 3);
  const Ground plain = make_ground(shots), with = extended(shots, 5);
  const MoundDesign design = mound_at(0, 0, 101.5);
  const Buildup wanted = build_up(place_as_drawn(plain, design));
  const PlacedMound mound = place_mound(place_as_drawn(with, design));
  const Buildup& found = mound.buildup;
  ASSERT_EQ(wanted.toe.off_survey, 0);
  for (std::size_t k = 0; k < 2; ++k) EXPECT_NEAR(found.layers[k].volume, wanted.layers[k].volume, 1e-10);
  EXPECT_EQ(found.toe.outer[0].size(), wanted.toe.outer[0].size());
  EXPECT_FALSE(on_assumed_ground(mound, LengthUnit::foot));
  EXPECT_EQ(with.trend.a, plain.trend.a);
  EXPECT_EQ(with.trend.b, plain.trend.b);
}

TEST(AssumedGround, IsCheckedAndSaidOnTheStakes) {
  const Ground ground = extended(square_lot(), 4);
  test_support::SiteWithMound site;
  site.mound = mound_at(0, 33, 97.8);
  const PlacedMound mound = place_mound(place_as_drawn(ground, site.mound));
  const auto checks = check_plan(mound, check_options(site));
  const auto reach =
      std::find_if(checks.begin(), checks.end(), [](const PlanCheck& c) { return c.name == "survey reach"; });
  ASSERT_NE(reach, checks.end());
  EXPECT_EQ(reach->verdict, Verdict::look);
  EXPECT_THAT(reach->text, HasSubstr("past the survey the berm rests on assumed ground"));
  std::size_t assumed = 0;
  for (const Stake& stake : stake_out(mound, stake_options(site)).stakes) {
    const Point2 at = ground.to_local({stake.easting, stake.northing});
    EXPECT_EQ(stake.ground_is_assumed, at.cwiseAbs().maxCoeff() > 50 && elevation_at(ground, at).has_value());
    EXPECT_EQ(stake.ground_is_assumed, stake.what.ends_with(", ground assumed")) << stake.what;
    assumed += stake.ground_is_assumed;
  }
  EXPECT_GT(assumed, 0u);
}

TEST(AssumedGround, IsNoneForABed) {
  const Ground ground = extended(square_lot(), 8);
  test_support::SiteWithMound site;
  site.mound = mound_at(0, 49, 98);  // its north 3 ft are past the survey
  const auto checks = check_plan(place_mound(place_as_drawn(ground, site.mound)), check_options(site));
  const auto bed =
      std::find_if(checks.begin(), checks.end(), [](const PlanCheck& c) { return c.name == survey_under_bed; });
  ASSERT_NE(bed, checks.end());
  EXPECT_EQ(bed->verdict, Verdict::bad);
  EXPECT_NEAR(bed->found.value_or(0), 100.0 * 5 / 8, 1e-6);
}

TEST(AssumedGround, WithoutItARunOffSaysHowFarHowManyShotsAndTheKey) {
  const Ground ground = make_ground(square_lot());
  test_support::SiteWithMound site;
  site.mound = mound_at(0, 33, 97.8);
  const auto checks = check_plan(place_mound(place_as_drawn(ground, site.mound)), check_options(site));
  const auto reach =
      std::find_if(checks.begin(), checks.end(), [](const PlanCheck& c) { return c.name == "survey reach"; });
  ASSERT_NE(reach, checks.end());
  EXPECT_EQ(reach->verdict, Verdict::bad);
  // What it asks for is enough, and little less would not be.
  const double by = std::stod(reach->what_to_do.substr(reach->what_to_do.find("extend = ") + 9));
  EXPECT_EQ(build_up(place_as_drawn(extended(square_lot(), by), site.mound)).toe.off_survey, 0);
  EXPECT_GT(build_up(place_as_drawn(extended(square_lot(), by - 1), site.mound)).toe.off_survey, 0);
  EXPECT_THAT(reach->what_to_do, HasSubstr("more shots, 10 ft apart like the others"));
}

TEST(AssumedGround, FollowsTheGroundBehindNeedlesAtTheOutside) {
  // A hull shot a tenth in from the line of its neighbours, an inch off in height: the triangle on the hull is a needle
  // that slopes 80 %.
  std::vector<Shot> shots = square_lot();
  for (Shot& shot : shots) {
    if (shot.northing == 50 && shot.easting == 0) shot.northing = 49.9, shot.elevation = falling(0, 49.9) + 0.08;
  }
  const Ground ground = extended(shots, 2);
  for (const double e : {-9.0, -5.0, 0.0, 4.0, 9.0}) {
    EXPECT_NEAR(elevation_at(ground, ground.to_local({e, 51.9})).value_or(0), falling(e, 51.9), 0.12) << e;
  }
}

// A wall runs slantwise out of a survey that is level on both sides of it: what is carried on is as level, whatever the
// wall's face does.
TEST(AssumedGround, DoesNotFollowTheFaceOfAWall) {
  std::vector<Shot> shots;
  for (int n = -50; n <= 50; n += 10) {
    for (int e = -50; e <= 50; e += 10) {
      if (e - n != 30) shots.push_back(shot_at(e, n, e - n < 30 ? 104 : 100));
    }
  }
  std::vector<Breakline> wall(2);
  for (const double z : {104.0, 100.0}) {
    for (int e = -20; e <= 50; e += 10) {
      wall[z == 104 ? 0 : 1].push_back(shots.size());
      shots.push_back(shot_at(e, e - 30, z));
    }
  }
  GroundOptions options;
  options.extend = 5;
  const Ground ground = make_ground(shots, wall, options);
  double strays = 0;
  for (std::uint32_t t = 0; t < ground.triangle_count(); ++t) {
    for (const std::uint32_t v : ground.tree.triangles[t]) {
      if (!ground.is_assumed(t)) continue;
      const double z = ground.points[v].z();
      strays = std::max(strays, std::min(std::abs(z - 100), std::abs(z - 104)));
    }
  }
  EXPECT_LT(strays, 0.01);
  EXPECT_GT(area_of(ground, true), 1000);
}

// A cubic yard is 0.764554857984 m3 (NIST Handbook 44, Appendix C).
TEST(AssumedGround, IsToldInTheJobsOwnUnit) {
  OnAssumedGround assumed;
  assumed.farthest = 1.25, assumed.area = 20, assumed.fill_cy = 10;
  EXPECT_THAT(to_text(assumed, LengthUnit::metre), HasSubstr("1.25 m past the survey the berm rests on assumed ground: "
                                                             "20.0 sq m of it, with 7.6 m3 over it"));
  EXPECT_THAT(to_text(assumed, LengthUnit::foot), HasSubstr("20.0 sq ft of it, with 10.0 cu yd over it"));
}

TEST(AssumedGround, SaysWhereSomeIsLeftOut) {
  std::vector<Shot> shots;  // a U about an inlet 10 wide: strips 6 wide would meet in it
  for (int j = 0; j <= 6; ++j) {
    for (int i = -4; i <= 4; ++i) {
      if (i != 0 || j <= 2) shots.push_back(shot_at(5.0 * i, 5.0 * j, 100));
    }
  }
  GroundOptions options;
  options.extend = 6;
  options.longest_edge = 7.5;
  GroundReport report;
  make_ground(shots, {}, options, &report);
  EXPECT_THAT(report.problems.all,
              testing::Contains(testing::Field("what", &Problem::what,
                                               HasSubstr("left out where the survey's outside folds in on itself"))));
  report = {}, options.longest_edge = 1e9;
  make_ground(square_lot(), {}, options, &report);
  EXPECT_THAT(report.problems.all,
              Not(testing::Contains(testing::Field("what", &Problem::what, HasSubstr("left out")))));
}

TEST(AssumedGround, FillsNoInletAndLiesNowhereTwice) {
  // A U of shots, `apart` from each other, about an inlet twice as wide: 20, and 10, where strips 6 wide would meet.
  for (const double apart : {10.0, 5.0}) {
    std::vector<Shot> shots;
    for (int j = 0; j <= 6; ++j) {
      for (int i = -4; i <= 4; ++i) {
        if (i != 0 || j <= 2) shots.push_back(shot_at(i * apart, j * apart, falling(i * apart, j * apart)));
      }
    }
    const Ground ground = extended(shots, 6, 1.5 * apart);
    EXPECT_NEAR(area_of(ground, true) + area_of(ground, false), area_of(outline(ground)), 1e-6) << apart;
    EXPECT_FALSE(elevation_at(ground, ground.to_local({0, 5.5 * apart}))) << apart;
    EXPECT_TRUE(is_assumed_at(ground, ground.to_local({0, -5}))) << apart;
    EXPECT_EQ(is_assumed_at(ground, ground.to_local({4 - apart, 4 * apart})), apart > 6) << apart;
  }
}

RC_GTEST_PROP(AssumedGround, StaysWithinItsDistanceAndLiesNowhereTwice, ()) {
  const auto seed = *rc::gen::arbitrary<unsigned>();
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> by(0.2, 9), longest(18, 60);
  const double distance = by(random);
  const Ground ground = extended(rough_shots(80, 50, 0.3, seed), distance, longest(random));
  RC_ASSERT(std::abs(area_of(ground, true) + area_of(ground, false) - area_of(outline(ground))) < 1e-6);
  const std::vector<Polygon2> survey = surveyed_outline(ground);
  for (std::uint32_t t = 0; t < ground.triangle_count(); ++t) {
    for (int i = 0; i < 3; ++i) {
      const std::int32_t n = ground.tree.neighbours[t][i];
      if (n >= 0) {
        const auto& back = ground.tree.neighbours[static_cast<std::size_t>(n)];
        RC_ASSERT(std::find(back.begin(), back.end(), static_cast<std::int32_t>(t)) != back.end());
      }
      if (ground.is_assumed(t)) {
        const Point2 p = ground.points[ground.tree.triangles[t][i]].head<2>();
        RC_ASSERT(distance_to(survey, p) < distance + 1e-6);
      }
    }
  }
}

RC_GTEST_PROP(AssumedGround, TurnsAndScalesWithTheSurvey, ()) {
  const auto seed = *rc::gen::arbitrary<unsigned>();
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> angle(0, 2 * std::numbers::pi), place(-54, 54);
  const auto shots = rough_shots(60, 50, 0.3, seed);
  const double turn = angle(random), scale = 0.3048;
  const auto turned = [&](double e, double n) {
    return Point2(scale * (std::cos(turn) * e - std::sin(turn) * n), scale * (std::sin(turn) * e + std::cos(turn) * n));
  };
  std::vector<Shot> others = shots;
  for (Shot& shot : others) {
    const Point2 p = turned(shot.easting, shot.northing);
    shot.easting = p.x(), shot.northing = p.y(), shot.elevation *= scale;
  }
  const Ground ground = extended(shots, 5), other = extended(others, 5 * scale);
  for (int i = 0; i < 200; ++i) {
    const double e = place(random), n = place(random);
    const auto z = elevation_at(ground, ground.to_local({e, n})), w = elevation_at(other, other.to_local(turned(e, n)));
    RC_ASSERT(z.has_value() == w.has_value());
    if (z) RC_ASSERT(std::abs(*z * scale - *w) < 1e-6);
  }
}

}  // namespace
}  // namespace moundwright

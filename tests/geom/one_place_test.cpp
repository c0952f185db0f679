// A point shot twice: averaged where the two agree, refused where they do not.
#include "geom/one_place.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

namespace moundwright {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::SizeIs;

constexpr OnePlace tape{0.05, 0.1};

Shot shot(double northing, double easting, double elevation, int number) {
  return {std::to_string(number), northing, easting, elevation, "", number + 1};
}

/// Nine shots 10 apart on a slope, the middle one number 5 at N 10, E 10, elevation 101.
std::vector<Shot> nine() {
  std::vector<Shot> shots;
  for (const double n : {0.0, 10.0, 20.0}) {
    for (const double e : {0.0, 10.0, 20.0})
      shots.push_back(shot(n, e, 100 + 0.1 * e, static_cast<int>(shots.size()) + 1));
  }
  return shots;
}

Ground ground_of(const std::vector<Shot>& shots, GroundReport& report, const std::vector<Breakline>& lines = {}) {
  GroundOptions options;
  options.one_place = tape;
  return make_ground(shots, lines, options, &report);
}

std::vector<Problem> refusal_of(const std::vector<Shot>& shots, const std::vector<Breakline>& lines = {}) {
  try {
    GroundReport report;
    ground_of(shots, report, lines);
  } catch (const Refusal& refusal) {
    return refusal.problems();
  }
  ADD_FAILURE() << "it was not refused";
  return {};
}

TEST(OnePlace, APointShotTwiceIsAveragedAndTold) {
  auto shots = nine();
  shots.push_back(shot(10.02, 10.01, 101.03, 77));
  GroundReport report;
  const Ground ground = ground_of(shots, report);
  ASSERT_THAT(ground.points, SizeIs(9));
  EXPECT_EQ(report.averaged_shots, 1u);
  const auto middle = elevation_at(ground, ground.to_local({10.005, 10.01}));
  ASSERT_TRUE(middle);
  EXPECT_NEAR(*middle, 101.015, 1e-9);
  ASSERT_THAT(report.problems.all, SizeIs(1));
  EXPECT_EQ(report.problems.all[0].severity, Severity::note);
  EXPECT_THAT(report.problems.all[0].what,
              AllOf(HasSubstr("point 5 and point 77 are one place shot twice"), HasSubstr("0.022 apart in plan"),
                    HasSubstr("0.030 in elevation"), HasSubstr("the mean, 101.015")));
  EXPECT_EQ(report.problems.all[0].where, "line 6 and line 78");
}

TEST(OnePlace, SeveralShotsOfOnePlaceHaveTheMeanOfAll) {
  auto shots = nine();
  shots.push_back(shot(10, 10, 101.03, 77));
  shots.push_back(shot(10, 10.03, 101.06, 78));
  GroundReport report;
  const Ground ground = ground_of(shots, report);
  ASSERT_THAT(ground.points, SizeIs(9));
  EXPECT_NEAR(elevation_at(ground, ground.to_local({10.01, 10})).value_or(0), 101.03, 1e-9);
  EXPECT_THAT(report.problems.all[0].what, HasSubstr("point 5, point 77 and point 78 are one place shot 3 times"));
}

TEST(OnePlace, AveragesUpToTheLimitAndRefusesBeyond) {
  for (const double off : {0.1, -0.1}) {
    auto shots = nine();
    shots.push_back(shot(10, 10, 101 + off, 77));
    GroundReport report;
    EXPECT_THAT(ground_of(shots, report).points, SizeIs(9)) << off;
  }
  auto shots = nine();
  shots.push_back(shot(10, 10.03, 101.11, 77));
  const auto problems = refusal_of(shots);
  ASSERT_THAT(problems, SizeIs(1));
  EXPECT_THAT(problems[0].what, AllOf(HasSubstr("point 5 and point 77"), HasSubstr("0.030 apart in plan"),
                                      HasSubstr("101.00 and 101.11, more than 0.1 apart")));
  EXPECT_EQ(problems[0].where, "line 6 and line 78");
  EXPECT_THAT(problems[0].what_to_do, HasSubstr("for a wall or a curb, join its top and its toe by a breakline each"));
}

TEST(OnePlace, ThreeElevationsAtAPlaceAreNoWall) {
  auto shots = nine();
  shots.push_back(shot(10, 10, 103, 77));
  shots.push_back(shot(10, 10, 105, 78));
  const auto problems = refusal_of(shots, {{3, 4, 5}, {9, 8}});
  ASSERT_THAT(problems, SizeIs(1));
  EXPECT_THAT(problems[0].what, AllOf(HasSubstr("point 5 and point 78"), HasSubstr("101.00 and 105.00"),
                                      HasSubstr("of the same place are point 77 at 103.00")));
  EXPECT_THAT(problems[0].what_to_do, HasSubstr("a place has one elevation, or two"));
}

TEST(OnePlace, ThreeShotsOverMoreThanTheLimitNameTheLowestAndTheHighest) {
  auto shots = nine();
  shots.push_back(shot(10, 10.02, 101.06, 77));
  shots.push_back(shot(10, 9.98, 100.94, 78));
  const auto problems = refusal_of(shots);
  ASSERT_THAT(problems, SizeIs(testing::Ge(1)));
  const Problem& error = problems.back();
  EXPECT_THAT(error.what, AllOf(HasSubstr("point 77 and point 78"), HasSubstr("101.06 and 100.94, more than 0.1 apart"),
                                HasSubstr("of the same place are point 5 at 101.00")));
  for (const Problem& problem : problems) EXPECT_THAT(problem.what, testing::Not(HasSubstr("the mean")));
}

TEST(OnePlace, ShotsBeyondTheLimitInPlanAreTwo) {
  auto shots = nine();
  shots.push_back(shot(10, 10.06, 101.5, 77));
  GroundReport report;
  EXPECT_THAT(ground_of(shots, report).points, SizeIs(10));
}

TEST(OnePlace, ShotsInCloseRowsAreUsedAsTheyAre) {
  auto shots = nine();
  for (int i = 1; i < 20; ++i) shots.push_back(shot(10, 10 + 0.04 * i, 101 + 0.004 * i + (i % 2) * 0.3, 100 + i));
  GroundReport report;
  EXPECT_THAT(ground_of(shots, report).points, SizeIs(28));
  ASSERT_FALSE(report.problems.all.empty());
  EXPECT_THAT(report.problems.all[0].what, HasSubstr("20 shots stand in rows closer than 0.05"));
}

TEST(OnePlace, BreaklinesRunThroughTheMean) {
  auto shots = nine();
  shots.push_back(shot(10.02, 10, 101.02, 77));
  GroundReport report;
  const Ground ground = ground_of(shots, report, {{0, 9, 8}});
  const Point2 mean = ground.to_local({10, 10.01});
  const auto met = std::count_if(ground.points.begin(), ground.points.end(),
                                 [&](const Point3& p) { return (p.head<2>() - mean).norm() < 1e-9; });
  EXPECT_EQ(met, 1);
  EXPECT_NEAR(elevation_at(ground, 0.5 * (mean + ground.to_local({0, 0}))).value_or(0), 0.5 * (101.01 + 100), 1e-9);
}

TEST(OnePlace, DoesNotDependOnTheOrderOfTheShots) {
  auto shots = nine();
  shots.push_back(shot(10.02, 10.01, 101.03, 77));
  shots.push_back(shot(0.01, 19.99, 102.01, 78));
  std::mt19937 random(5);
  std::vector<double> seen;
  for (int i = 0; i < 8; ++i) {
    GroundReport report;
    const Ground ground = ground_of(shots, report);
    seen.push_back(elevation_at(ground, ground.to_local({12, 7})).value_or(0));
    EXPECT_NEAR(seen.back(), seen.front(), 1e-9);
    std::shuffle(shots.begin(), shots.end(), random);
  }
}

TEST(OnePlace, LimitsFollowTheUnitAndTheJobsOwnAccuracy) {
  const OnePlace feet = one_place_limits(LengthUnit::foot, std::nullopt);
  const OnePlace metres = one_place_limits(LengthUnit::metre, std::nullopt);
  // The same lengths in both units, to the rounder number.
  EXPECT_NEAR(feet.plan * 0.3048, metres.plan, 0.001);
  EXPECT_NEAR(feet.elevation * 0.3048, metres.elevation, 0.001);
  // Two readings of one thing differ by sqrt(2) times one's standard deviation, and by 1.96 times that 5 times in 100.
  const OnePlace stated = one_place_limits(LengthUnit::foot, ShotAccuracy{0.02, 0.5});
  EXPECT_NEAR(stated.elevation, 1.96 * std::sqrt(2.0) * 0.02, 0.001);
  EXPECT_EQ(stated.plan, feet.plan);
}

}  // namespace
}  // namespace moundwright

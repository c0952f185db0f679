// A place shot again beside itself at an elevation that does not fit is told; curbs, lines and re-shots that fit are
// not.
#include "geom/close_pairs.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace moundwright {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

std::vector<Shot> lot() {
  std::vector<Shot> shots;
  for (int i = 0; i < 8; ++i) {
    for (int k = 0; k < 8; ++k) {
      const double x = 15.0 * k + 0.7 * (i % 3), y = 15.0 * i + 0.4 * (k % 4);
      const int number = static_cast<int>(shots.size());
      shots.push_back(
          {std::to_string(101 + number), y, x, 400 + 0.1 * y + 0.03 * ((5 * i + 3 * k) % 4), "GS", number + 2});
    }
  }
  return shots;
}

std::vector<Problem> told(const std::vector<Shot>& shots, const std::vector<Breakline>& lines = {}) {
  GroundReport report;
  make_ground(shots, lines, {.one_place = {0.05, 0.1}, .files = {{0, "ground.csv"}}}, &report);
  return report.problems.all;
}

Shot again(const Shot& shot, double beside, double above, const char* description = "GS") {
  return {"900", shot.northing + beside, shot.easting, shot.elevation + above, description, 90};
}

TEST(ClosePairs, AShotAgainAtAnotherElevationIsTold) {
  auto shots = lot();
  shots.push_back(again(shots[27], 0.3, 0.5));
  const auto problems = told(shots);
  ASSERT_THAT(problems, SizeIs(1));
  EXPECT_EQ(problems[0].severity, Severity::warning);
  EXPECT_THAT(problems[0].what,
              AllOf(HasSubstr("point 128 and point 900 stand 0.30 apart in plan"), HasSubstr("a fall of 167 %")));
  EXPECT_EQ(problems[0].where, "ground.csv line 29 and ground.csv line 90");
}

TEST(ClosePairs, WhatFitsIsNotTold) {
  auto shots = lot();
  shots.push_back(again(shots[27], 0.3, 0.03));
  EXPECT_THAT(told(shots), IsEmpty());
  shots.back() = again(shots[27], 0.3, -0.5, "FL");  // a curb: another code
  EXPECT_THAT(told(shots), IsEmpty());
  shots.back() = again(shots[27], 0.3, -0.5);
  shots.push_back(again(shots[28], 0.3, -0.5));
  EXPECT_THAT(told(shots, {{27, 28}, {64, 65}}), IsEmpty()) << "top and toe of a step, each a line";
}

// ---- the limits that geom/close_pairs.h states, each a little within and a little past it ----

/// Level ground, every shot 10 from its neighbors; the last is beside the middle one, so far off and so much higher.
std::vector<Shot> with_one_beside(double apart, double rise, const char* code = "GS", const char* again_code = "GS") {
  std::vector<Shot> shots;
  for (int i = -6; i <= 6; ++i) {
    for (int k = -6; k <= 6; ++k) shots.push_back({"", 5 * std::sqrt(3.0) * i, 10.0 * k + 5.0 * i, 100, code, 0});
  }
  shots.push_back({"", 0, apart, 100 + rise, again_code, 0});
  return shots;
}

std::vector<ClosePair> pairs_of(const std::vector<Shot>& shots, const std::vector<std::size_t>& on_line = {}) {
  const Ground ground = make_ground(shots);
  std::vector<bool> is_on_line(ground.points.size());
  for (std::size_t p = 0; p < is_on_line.size(); ++p) {
    const auto shot = static_cast<std::size_t>(ground.shot_of_point[p]);
    is_on_line[p] = std::find(on_line.begin(), on_line.end(), shot) != on_line.end();
  }
  return find_close_pairs(ground, shots, is_on_line, 0.1);
}

TEST(ClosePairs, StandATenthOfTheUsualDistanceApartAndHalfOfThatAboveOneAnother) {
  EXPECT_THAT(pairs_of(with_one_beside(0.95, 1)), SizeIs(1));
  EXPECT_THAT(pairs_of(with_one_beside(1.05, 1)), IsEmpty());
  EXPECT_THAT(pairs_of(with_one_beside(0.9, 0.47)), SizeIs(1));
  EXPECT_THAT(pairs_of(with_one_beside(0.9, 0.43)), IsEmpty());
  EXPECT_THAT(pairs_of(with_one_beside(0.15, 0.09)), IsEmpty()) << "shots of one place may differ by so much";
  EXPECT_THAT(pairs_of(with_one_beside(0.15, 0.11)), SizeIs(1));
}

TEST(ClosePairs, HaveOneCodeAndAreNotBothOnALine) {
  EXPECT_THAT(pairs_of(with_one_beside(0.5, 1, "GS12", "GS13")), SizeIs(1));
  EXPECT_THAT(pairs_of(with_one_beside(0.5, 1, "GS wet", "GS dry")), SizeIs(1));
  EXPECT_THAT(pairs_of(with_one_beside(0.5, 1, "GS", "GSE")), IsEmpty());
  constexpr std::size_t middle = 84, beside = 169;
  EXPECT_THAT(pairs_of(with_one_beside(0.5, 1), {beside}), SizeIs(1)) << "a line may end beside a shot";
  EXPECT_THAT(pairs_of(with_one_beside(0.5, 1), {middle, beside}), IsEmpty());
}

TEST(ClosePairs, ComeSteepestFirst) {
  std::vector<Shot> shots = with_one_beside(0.9, 0.8);
  shots.push_back({"", 0, 30.2, 100.5, "GS", 0});  // less high, and steeper
  const std::vector<ClosePair> pairs = pairs_of(shots);
  ASSERT_THAT(pairs, SizeIs(2));
  EXPECT_NEAR(pairs[0].rise, 0.5, 1e-9);
  EXPECT_NEAR(pairs[1].rise, 0.8, 1e-9);
}

}  // namespace
}  // namespace moundwright

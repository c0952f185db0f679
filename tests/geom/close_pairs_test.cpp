// A place shot again beside itself at an elevation that does not fit is told; curbs, lines and re-shots that fit are
// not.
#include "geom/close_pairs.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

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

}  // namespace
}  // namespace moundwright

// Which way is downslope, on grounds whose fall is known in closed form.
#include "geom/downslope.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>

namespace moundwright {
namespace {

using testing::HasSubstr;

constexpr double east0 = 2'500'000, north0 = 700'000;  // state-plane sized

/// Shots every 5 on a 200 square about (east0, north0); x and y from there.
Ground ground_of(const std::function<double(double x, double y)>& z) {
  std::vector<Shot> shots;
  for (int i = -20; i <= 20; ++i) {
    for (int j = -20; j <= 20; ++j)
      shots.push_back({"", north0 + 5.0 * j, east0 + 5.0 * i, z(5.0 * i, 5.0 * j), "", 0});
  }
  return make_ground(shots);
}

MoundDesign design_of(std::vector<Point2> line) {
  MoundDesign design;
  for (Point2& p : line) p += Point2(east0, north0);
  design.bed = {std::move(line), 10.0};
  design.least_sand = 1.5;
  Layer core;
  core.name = "core";
  design.layers = {core};
  return design;
}

MoundDesign west_to_east() { return design_of({{-30, 0}, {30, 0}}); }

std::string refusal_of(const Ground& ground, const MoundDesign& design) {
  try {
    find_downslope(ground, design);
  } catch (const Refusal& refusal) {
    return refusal.what();
  }
  return "nothing was refused";
}

TEST(Downslope, IsThePerpendicularNearerTheFall) {
  const auto falls = [](double a, double b) {
    return ground_of([=](double x, double y) { return 100 + a * x + b * y; });
  };
  EXPECT_NEAR(find_downslope(falls(0, 0.05), west_to_east()), 180.0, 1e-9);
  EXPECT_NEAR(std::remainder(find_downslope(falls(0, -0.05), west_to_east()), 360.0), 0.0, 1e-9);
  EXPECT_NEAR(find_downslope(falls(0.04, 0.05), west_to_east()), 180.0, 1e-9) << "38.7 degrees off square";
  const MoundDesign slanting = design_of({{-20, -20}, {20, 20}});
  EXPECT_NEAR(find_downslope(falls(0.05, -1e-6), slanting), 315.0, 1e-9)
      << "axis 45, fall toward 270, a hair nearer 315";
}

TEST(Downslope, DoesNotHangOnTheOrderOfTheLineOrOnWhatWasSetBefore) {
  const Ground ground = ground_of([](double, double y) { return 100 + 0.05 * y; });
  MoundDesign design = design_of({{30, 0}, {-30, 0}});
  EXPECT_NEAR(find_downslope(ground, design), 180.0, 1e-9);
  design.downslope = 0.0;
  EXPECT_NEAR(find_downslope(ground, design), 180.0, 1e-9);
}

TEST(Downslope, AsksWhereTheCrossFallIsUnderOnePercent) {
  const Ground ground = ground_of([](double, double y) { return 100 + 0.009 * y; });
  const std::string refusal = refusal_of(ground, west_to_east());
  EXPECT_THAT(refusal, HasSubstr("falls 0.9 % across the bed and 0.0 % along it"));
  EXPECT_THAT(refusal, HasSubstr("downslope = 180.0 or downslope = 0.0"));
  const Ground steeper = ground_of([](double, double y) { return 100 + 0.011 * y; });
  EXPECT_NEAR(find_downslope(steeper, west_to_east()), 180.0, 1e-9);
}

TEST(Downslope, AsksWhereTheFallIsWithin45DegreesOfTheLongAxis) {
  const Ground ground = ground_of([](double x, double y) { return 100 + 0.051 * x + 0.05 * y; });
  const std::string refusal = refusal_of(ground, west_to_east());
  EXPECT_THAT(refusal, HasSubstr("falls 5.0 % across the bed and 5.1 % along it"));
  EXPECT_THAT(refusal, HasSubstr("toward azimuth 225.6"));
  EXPECT_THAT(refusal, HasSubstr("downslope = 180.0 or downslope = 0.0"));
}

TEST(Downslope, AsksWhereThereIsNoGroundUnderTheBed) {
  const Ground ground = ground_of([](double, double y) { return 100 + 0.05 * y; });
  const std::string refusal = refusal_of(ground, design_of({{-30, 500}, {30, 500}}));
  EXPECT_THAT(refusal, HasSubstr("no surveyed ground under the bed"));
  EXPECT_THAT(refusal, HasSubstr("downslope = 180.0 or downslope = 0.0"));
}

TEST(Downslope, LooksOnlyAtTheGroundUnderTheBed) {
  // Falls north under the bed and for 10 beyond, south everywhere else.
  const Ground ground = ground_of([](double, double y) { return std::abs(y) <= 15 ? 100 - 0.05 * y : 100 + 0.2 * y; });
  EXPECT_NEAR(std::remainder(find_downslope(ground, west_to_east()), 360.0), 0.0, 1e-9);
}

// Inside the bend is uphill, where the top is narrow; the other perpendicular would make it too wide for the bend.
TEST(Downslope, IsFoundWhereTheWrongSideWouldBeTooTight) {
  const Ground ground = ground_of([](double x, double y) { return 100 - 0.05 * x + 0.05 * y; });
  MoundDesign design = design_of({{-60, 0}, {0, 0}, {0, 10}});
  design.layers[0].beyond = {2, 8, 1, 1};
  const double found = find_downslope(ground, design);
  const double chord = std::atan2(60, 10) * 180 / std::acos(-1.0);  // its azimuth: 60 east, 10 north
  EXPECT_NEAR(found, chord + 90, 1e-9) << "square to the chord";
  design.downslope = found;
  const MoundPlace place = place_as_drawn(ground, design);
  const Point2 across = place.frame().across();
  EXPECT_NEAR(across.x(), 10 / std::hypot(60, 10), 1e-12) << "the chord turned to the right";
  EXPECT_NEAR(across.y(), -60 / std::hypot(60, 10), 1e-12);
  EXPECT_NEAR((place.shape().line.front() - place.shape().line.back()).norm(), std::hypot(60, 10), 1e-6);
  design.downslope = found + 180;
  try {
    compile_mound(design);
    FAIL() << "the wide side was let pass inside the bend";
  } catch (const Refusal& refusal) {
    ASSERT_EQ(refusal.problems().size(), 1u);
    EXPECT_EQ(refusal.problems()[0].where, "mound.bed.line");
    EXPECT_THAT(refusal.problems()[0].what, HasSubstr("too tight for the flat top of \"core\""));
  }
}

TEST(FallUnderBed, IsTheOnePieceFitForAStraightBed) {
  const Ground ground =
      ground_of([](double x, double y) { return 100 + 0.05 * y + 2e-3 * x * x - 1e-3 * x * y + std::sin(x); });
  MoundDesign design = west_to_east();
  design.downslope = 180;
  const MoundPlace place = place_as_drawn(ground, design);
  const auto whole = fall_under_bed(place);
  const auto piece = fit_plane(ground, bed_on_ground(place).front());
  ASSERT_TRUE(whole && piece);
  EXPECT_NEAR(whole->covered_area, 600.0, 1e-6);
  EXPECT_NEAR(whole->slope, piece->slope, 1e-12);
  EXPECT_NEAR(whole->downslope_azimuth, piece->downslope_azimuth, 1e-9);
  EXPECT_NEAR(whole->across, piece->plane.b, 1e-12);
  EXPECT_NEAR(whole->along, piece->plane.a, 1e-12) << "left to right looking south is westward";
}

TEST(FallUnderBed, IsTheMeanOfAllPiecesOfABentBed) {
  // Each half of the bed falls toward its own side as well: that cancels only if both count.
  const Ground ground = ground_of([](double x, double y) { return 100 + 0.05 * y - 0.2 * std::abs(x); });
  MoundDesign design = design_of({{-30, -5}, {0, 0}, {30, -5}});
  EXPECT_NEAR(find_downslope(ground, design), 180.0, 1e-9);
  design.downslope = 180;
  const auto fall = fall_under_bed(place_as_drawn(ground, design));
  ASSERT_TRUE(fall);
  EXPECT_NEAR(fall->along, 0.0, 1e-9);
  EXPECT_NEAR(fall->slope, std::hypot(0.05, 0.2), 1e-9);
  EXPECT_NEAR(fall->downslope_azimuth, 180.0, 1e-6);
}

/// A cone that falls 12 % from its peak, 100 north of the middle of the lot, and a bed along its contour there in three
/// pieces of 40, each turned 23 degrees: over the whole bed one plane falls about 9 % only.
const auto round_hill = [](double x, double y) { return 130 - 0.12 * std::hypot(x, y - 100); };

MoundDesign along_round_hill() {
  std::vector<Point2> line;
  for (const double angle : {-34.5, -11.5, 11.5, 34.5}) {
    const double radians = angle * std::acos(-1.0) / 180;
    line.emplace_back(100 * std::sin(radians), 100 - 100 * std::cos(radians));
  }
  return design_of(line);
}

TEST(FallUnderBed, OnAHillThatTurnsIsAsSteepAsTheHill) {
  const Ground ground = ground_of(round_hill);
  MoundDesign design = along_round_hill();
  EXPECT_NEAR(find_downslope(ground, design), 180.0, 1e-9);
  design.downslope = 180;
  const auto fall = fall_under_bed(place_as_drawn(ground, design));
  ASSERT_TRUE(fall);
  ASSERT_EQ(fall->pieces.size(), 3u);
  EXPECT_NEAR(fall->slope, 0.12, 0.002) << "the ground bends within each piece by a hundredth of its fall";
  EXPECT_NEAR(fall->across, 0.12, 0.002);
  EXPECT_NEAR(fall->downslope_azimuth, 180.0, 0.5);
}

// Round three quarters of a knoll: the pieces' falls cancel, but each piece falls across itself, to one side.
TEST(Downslope, IsFoundForABedThatWrapsAKnoll) {
  const Ground ground = ground_of([](double x, double y) { return 130 - 0.12 * std::hypot(x, y); });
  const MoundDesign design = design_of({{-50, 40}, {-50, -30}, {50, -30}, {50, 40}});
  EXPECT_NEAR(find_downslope(ground, design), 180.0, 1e-9);
}

}  // namespace
}  // namespace moundwright

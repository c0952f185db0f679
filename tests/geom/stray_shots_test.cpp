// Shots far from all the others: found whatever else is wrong, with the likely cause, and only those.
#include "geom/stray_shots.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace moundwright {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

/// A hillside of 200 by 200 about a place, a shot every 20.
std::vector<Shot> hillside(double north, double east, double elevation = 100) {
  std::vector<Shot> shots;
  for (int i = -5; i <= 5; ++i) {
    for (int k = -5; k <= 5; ++k) {
      const double n = north + 20.0 * i + 0.3 * ((7 * k + i) % 5), e = east + 20.0 * k + 0.4 * ((3 * i + k) % 4);
      shots.push_back(
          {std::to_string(shots.size() + 1), n, e, elevation + 0.02 * (e - east) - 0.08 * (n - north), "", 0});
    }
  }
  return shots;
}

/// What is told of a shot put among a hillside's; "" if nothing is, "n" if not exactly that one is.
std::string told_of(std::vector<Shot> shots, double north, double east, double elevation) {
  shots[40].northing = north, shots[40].easting = east, shots[40].elevation = elevation;
  const auto strays = find_strays(shots);
  if (strays.empty()) return "";
  return strays.size() == 1 && strays[0].shot == 40 ? strays[0].what : fmt::format("{}", strays.size());
}

TEST(StrayShots, SlipsInPlanAreToldWithTheirCause) {
  const auto state_plane = hillside(13405000, 1205000);
  const auto local = hillside(5000, 4900);
  const auto say = [](const std::string& text) { return HasSubstr(text); };
  EXPECT_THAT(told_of(state_plane, 1205012.5, 13404990.25, 100), say("with northing and easting exchanged"));
  EXPECT_THAT(told_of(local, 5012.3, 4918530, 100),
              say("the easting 4918530 seems to be written with its decimal point lost: 4918.53 would"));
  EXPECT_THAT(told_of(local, 50123.4, 4918.5, 100), say("its decimal point lost: 5012.34 would"));
  EXPECT_THAT(told_of(local, 5012345, 4918530, 100),
              say("both seem to be written with the decimal point lost: 5012.345 and 4918.53"));
  EXPECT_THAT(told_of(local, 501.234, 4918.5, 100), say("misplaced: 5012.34 would"));
  EXPECT_THAT(told_of(state_plane, 0, 1205012, 100), say("the northing is zero"));
  EXPECT_THAT(told_of(state_plane, 0, 0, 0), say("the northing is zero"));
  EXPECT_THAT(told_of(local, 5012, -9999, 100), say("easting -9999 is often written where there is no value"));
  EXPECT_THAT(told_of(local, 5012, 41918.5, 100),
              say("the easting 41918.5 seems to be written with a digit too many: 4918.5 would"));
  EXPECT_THAT(told_of(state_plane, 1340501.25, 1205012, 100), say("decimal point misplaced: 13405012.5 would"));
  EXPECT_THAT(told_of(state_plane, 1345012.5, 1205012, 100), say("with a digit missing: 13405012.5 would"));
  EXPECT_THAT(told_of(state_plane, 13905012, 1205012, 100), say("with a digit wrong: 13405012 would"));
  EXPECT_THAT(told_of(local, -5012, 4918, 100), say("with the wrong sign: 5012 would"));
  EXPECT_THAT(told_of(local, 5012 * 0.3048, 4918 * 0.3048, 30), say("taken as metres and turned into feet"));
  EXPECT_THAT(told_of(local, 5012, 1e9 + 7, 100), say("lies"));  // nothing explains it
  EXPECT_THAT(told_of(local, 1e308, -1e308, 100), say("no value"));
}

TEST(StrayShots, SaysWhereItIsAndWhereTheOthersAre) {
  const std::string what = told_of(hillside(5000, 4900), 5000, 4918530, 100);
  EXPECT_THAT(what, HasSubstr("point 41 at N 5000.00, E 4918530.00 lies 4913"));
  EXPECT_THAT(what, HasSubstr("whose other shots are within 14"));  // half the diagonal, 141
}

TEST(StrayShots, ElevationsThatAreNoneAreTold) {
  const auto shots = hillside(5000, 4900);
  for (const double none : {-9999.0, -999999.0, -32768.0, 999999.0}) {
    EXPECT_THAT(told_of(shots, 5003, 4903, none), HasSubstr("is often written where there is no value")) << none;
  }
  EXPECT_THAT(told_of(shots, 5003, 4903, 0), HasSubstr("the elevation is zero"));
  EXPECT_THAT(told_of(shots, 5003, 4903, 10012), HasSubstr("decimal point lost: 100.12 would"));
  EXPECT_THAT(told_of(shots, 5003, 4903, 1e6 + 7), HasSubstr("above the middle of the survey's elevations"));
}

TEST(StrayShots, ABustOfSomeFeetIsNotForHere) {
  for (const double off : {-40.0, -10.0, 10.0, 40.0})
    EXPECT_EQ(told_of(hillside(5000, 4900), 5003, 4903, 100 + off), "");
}

TEST(StrayShots, AHandfulDoesNotHideOneAnother) {
  auto shots = hillside(5000, 4900);
  std::vector<std::size_t> bad;
  for (std::size_t i = 0; i < 24; ++i) {  // a fifth of them, ever farther off
    shots[5 * i].easting = 0;
    bad.push_back(5 * i);
  }
  shots[5].easting = 1e6, shots[10].northing = 4.9e7, shots[15].easting = -1e9;
  std::vector<std::size_t> found;
  for (const StrayShot& stray : find_strays(shots)) found.push_back(stray.shot);
  EXPECT_EQ(found, bad);
}

TEST(StrayShots, APartWithNorthingAndEastingExchangedIsTold) {
  auto shots = hillside(13405000, 1205000);
  for (std::size_t i = 0; i < 50; ++i) std::swap(shots[i].northing, shots[i].easting);  // 41 %
  const auto strays = find_strays(shots);
  ASSERT_THAT(strays, SizeIs(50));
  EXPECT_THAT(strays[49].what, HasSubstr("with northing and easting exchanged"));
}

// Where northing and easting are alike, an exchanged shot lies only a few times the lot's size away.
TEST(StrayShots, AnExchangedShotIsToldAlthoughItLiesNear) {
  // Off by 600 both ways: 849, six times the 141 of the lot.
  EXPECT_THAT(told_of(hillside(5000, 4400), 4408, 4996, 100), HasSubstr("with northing and easting exchanged"));
}

TEST(StrayShots, AFewThatNothingExplainsAreToldAtTenTimesTheReachOfTheOthers) {
  auto shots = hillside(5000, 4900);
  shots[20].northing = 6050, shots[20].easting = 5950;
  shots[50].northing = 3900, shots[50].easting = 3800;
  shots[90].northing = 6120, shots[90].easting = 3790;
  std::vector<std::size_t> found;
  for (const StrayShot& stray : find_strays(shots)) found.push_back(stray.shot);
  EXPECT_THAT(found, ElementsAre(20, 50, 90));
}

// Many together may be a lot of their own; at a hundred times the reach of the others they are none.
TEST(StrayShots, ManyThatNothingExplainsAreToldWhereTheyLieVeryFar) {
  auto shots = hillside(5000, 4900);
  for (std::size_t i = 0; i < 8; ++i) {
    shots[10 + i].northing = 19137.77 + 9 * static_cast<double>(i), shots[10 + i].easting = 18222.33;
  }
  EXPECT_THAT(find_strays(shots), SizeIs(8));
}

TEST(StrayShots, OrdinarySurveysHaveNone) {
  EXPECT_THAT(find_strays(hillside(5000, 4900)), IsEmpty());
  auto shots = hillside(5000, 4900);
  for (Shot& shot : shots) shot.elevation = 0;  // a survey without elevations
  EXPECT_THAT(find_strays(shots), IsEmpty());

  shots = hillside(150, 120);  // about zero: a corner at 0, 0 is a place as any
  shots[0].northing = shots[0].easting = 0;
  EXPECT_THAT(find_strays(shots), IsEmpty());

  shots = hillside(5000, 4900);  // the lot, and a culvert 600 off with eight shots round it
  for (int i = 0; i < 8; ++i) shots.push_back({"C", 5600.0 + 3 * i, 4900.0 + 5 * (i % 3), 60, "", 0});
  EXPECT_THAT(find_strays(shots), IsEmpty());

  std::vector<Shot> road;  // a mile of it, 24 wide
  for (int i = 0; i <= 100; ++i) {
    for (const double e : {0.0, 24.0}) road.push_back({"R", 52.8 * i, e, 0.05 * 52.8 * i, "", 0});
  }
  EXPECT_THAT(find_strays(road), IsEmpty());

  std::mt19937 random(5);
  std::uniform_real_distribution<double> angle(0, 2 * M_PI);
  std::lognormal_distribution<double> off(4, 0.8);  // dense about the mound, ever sparser outward
  for (int survey = 0; survey < 50; ++survey) {
    std::vector<Shot> sparse;
    for (int i = 0; i < 200; ++i) {
      const double a = angle(random), r = off(random);
      sparse.push_back({"", 5000 + r * std::cos(a), 5000 + r * std::sin(a), 100 + 0.05 * r, "", 0});
    }
    EXPECT_THAT(find_strays(sparse), SizeIs(testing::Le(1))) << survey;
  }
}

TEST(StrayShots, FewShotsAreTooFewToTell) {
  EXPECT_THAT(
      find_strays({{"1", 0, 0, 0, "", 0}, {"2", 0, 9, 0, "", 0}, {"3", 9, 0, 0, "", 0}, {"4", 1e6, 0, 0, "", 0}}),
      IsEmpty());
  EXPECT_THAT(find_strays({}), IsEmpty());
  std::vector<Shot> five = {{"1", 0, 0, 0, "", 0},
                            {"2", 0, 9, 0, "", 0},
                            {"3", 9, 0, 1, "", 0},
                            {"4", 9, 9, 0, "", 0},
                            {"5", 90, 0, 0, "", 0}};
  EXPECT_THAT(find_strays(five), IsEmpty());
  five[4].northing = 1e6;
  EXPECT_THAT(find_strays(five), SizeIs(1));
  five[4].northing = 5, five[4].elevation = -999999;
  EXPECT_THAT(find_strays(five), SizeIs(1));
}

}  // namespace
}  // namespace moundwright

#include "geom/stakes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "geom/site_design.h"
#include "geom/trade_text.h"
#include "tests/support/plain_layer.h"
#include "tests/support/site_with_mound.h"

namespace moundwright {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::EndsWith;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;
using testing::StartsWith;

constexpr double near = 1e-6;  // of positions on a plane; state-plane coordinates themselves carry 1e-9

/// An even slope, falling by `fall` a unit run towards `downslope`, 100.0 at `center`.
struct Lot {
  Point2 center{4890.0, 5120.0};
  double downslope = 164.0;
  double fall = 0.06;
  double half = 120.0;  // of the surveyed square
  double rough = 0.0;   // how far shots stand off the slope, up or down

  double elevation(const Point2& p) const { return 100.0 - fall * direction_of(downslope).dot(p - center); }
  Ground ground() const {
    std::vector<Shot> shots;
    for (int i = 0; i <= 12; ++i) {
      for (int j = 0; j <= 12; ++j) {
        const Point2 p = center + Point2(half * (i - 6) / 6.0, half * (j - 6) / 6.0);
        const double off = rough * std::sin(37.0 * i + 101.0 * j);
        shots.push_back({"", p.y(), p.x(), elevation(p) + off, "", 0});
      }
    }
    return make_ground(shots);
  }
};

/// The position `u` to the right and `v` downslope of the lot's centre, looking downslope.
Point2 at(const Lot& lot, double u, double v) {
  return lot.center + u * direction_of(lot.downslope + 90.0) + v * direction_of(lot.downslope);
}

/// A 60 x 10 bed with stone and one cover: bottom 101.00, finished at 103.50.
test_support::SiteWithMound site_on(const Lot& lot, bool reversed = false) {
  test_support::SiteWithMound site;
  site.mound.bed = straight_bed(lot.center, lot.downslope + (reversed ? -90.0 : 90.0), 60.0, 10.0);
  site.mound.downslope = lot.downslope;
  site.mound.bottom_elevation = 101.0;
  site.mound.layers = {plain_layer("stone", 1.0, 0.0, 0.0), plain_layer("cover", 2.5, 3.0, 3.0)};
  return site;
}

StakeOut staked(const Lot& lot, const test_support::SiteWithMound& site, const std::vector<std::string>& taken = {}) {
  const Ground ground = lot.ground();
  const MoundPlace place = place_as_drawn(ground, site.mound);
  return stake_out(place_mound(place), stake_options(site), taken);
}

std::vector<Stake> named(const StakeOut& out, const std::string& part) {
  std::vector<Stake> found;
  for (const Stake& stake : out.stakes) {
    if (stake.what.find(part) != std::string::npos) found.push_back(stake);
  }
  return found;
}

Point2 place(const Stake& stake) { return {stake.easting, stake.northing}; }

void expect_at(const Stake& stake, const Point2& expected) {
  EXPECT_NEAR(stake.easting, expected.x(), near) << stake.what;
  EXPECT_NEAR(stake.northing, expected.y(), near) << stake.what;
}

Problems refused(const Lot& lot, const test_support::SiteWithMound& site) {
  try {
    staked(lot, site);
  } catch (const Refusal& refusal) {
    return {refusal.problems()};
  }
  return {};
}

// ---- Slope stakes ---------------------------------------------------------------------------------------------------

struct Turn {
  Lot lot;
  bool reversed = false;
};

/// Turned, mirrored (the bed's line given the other way), and at state-plane coordinates.
class OnATiltedPlane : public testing::TestWithParam<Turn> {};

TEST_P(OnATiltedPlane, LongFacesCatchWhereTheClosedFormSays) {
  const Lot& lot = GetParam().lot;
  const StakeOut out = staked(lot, site_on(lot, GetParam().reversed));
  EXPECT_THAT(out.notes.all, IsEmpty());
  for (const double side : {-1.0, 1.0}) {
    // (r + b h) / (1 - b s) downslope, 1 + b s upslope; h from the ground at the bed's edge up to the cover.
    const double height = 103.5 - (100.0 - lot.fall * side * 5.0);
    const double berm = (3.0 + 3.0 * height) / (1.0 - side * 3.0 * lot.fall);
    std::vector<Stake> face = named(out, side < 0 ? "upslope face" : "downslope face");
    ASSERT_THAT(face, SizeIs(7));
    if (side < 0) std::reverse(face.begin(), face.end());
    for (int i = 0; i < 7; ++i) {
      const Stake& stake = face[i];
      expect_at(stake, at(lot, -30.0 + 10.0 * i, side * (5.0 + berm)));
      EXPECT_EQ(stake.station, station_text(10.0 * i));
      EXPECT_EQ(stake.offset, offset_text(side * (5.0 + berm)));
      EXPECT_NEAR(*stake.ground, lot.elevation(place(stake)), near);
      EXPECT_NEAR(*stake.design, 103.5, near);
      EXPECT_EQ(stake.cut_fill, cut_or_fill(*stake.ground, 103.5));
      EXPECT_NEAR(*stake.to_shoulder, berm - 3.0, near);
      EXPECT_NEAR(*stake.slope_run, 3.0, near);
    }
  }
}

TEST_P(OnATiltedPlane, EndsCatchSquareOutFromBothEdges) {
  const Lot& lot = GetParam().lot;
  const StakeOut out = staked(lot, site_on(lot, GetParam().reversed));
  for (const double side : {-1.0, 1.0}) {
    std::vector<Stake> end = named(out, side < 0 ? "left end," : "right end,");
    ASSERT_THAT(end, SizeIs(2));
    if (side > 0) std::reverse(end.begin(), end.end());
    for (int i = 0; i < 2; ++i) {
      const double v = -5.0 + 10.0 * i;
      const double berm = 3.0 + 3.0 * (3.5 + lot.fall * v);  // level along the bed
      expect_at(end[i], at(lot, side * (30.0 + berm), v));
      EXPECT_EQ(end[i].station, station_text(side < 0 ? -berm : 60.0 + berm));
      EXPECT_EQ(end[i].offset, i == 0 ? "U 5.0" : "D 5.0");
      EXPECT_NEAR(*end[i].to_shoulder, berm - 3.0, near);
    }
  }
}

TEST_P(OnATiltedPlane, SharpCornersCatchOnTheHip) {
  const Lot& lot = GetParam().lot;
  const StakeOut out = staked(lot, site_on(lot, GetParam().reversed));
  for (const double end : {-1.0, 1.0}) {
    for (const double side : {-1.0, 1.0}) {
      // Out from the top's corner by x both ways: 103.5 - x / 3 meets 100 - s side (8 + x).
      const double x = 3.0 * (3.5 + lot.fall * side * 8.0) / (1.0 - side * 3.0 * lot.fall);
      const std::string name =
          std::string(side < 0 ? "upslope-" : "downslope-") + (end < 0 ? "left" : "right") + " corner";
      const std::vector<Stake> corner = named(out, "slope stake, " + name);
      ASSERT_THAT(corner, SizeIs(1)) << name;
      expect_at(corner[0], at(lot, end * (33.0 + x), side * (8.0 + x)));
      EXPECT_NEAR(*corner[0].to_shoulder, x * std::numbers::sqrt2, near);
      EXPECT_NEAR(*corner[0].slope_run, 3.0 * std::numbers::sqrt2, near);
    }
  }
}

TEST_P(OnATiltedPlane, HubsStandOnTheEdgeLinesProduced) {
  const Lot& lot = GetParam().lot;
  const StakeOut out = staked(lot, site_on(lot, GetParam().reversed));
  // At 6 % the toes are 10.7 upslope, 17.6 downslope and 12.6 to 14.4 at the ends; one clearance more, up to a whole
  // five.
  const double up = 20.0, down = 25.0, end = 20.0;
  std::vector<Stake> hubs = named(out, "hub");
  ASSERT_THAT(hubs, SizeIs(10));
  const Point2 expected[] = {at(lot, -30, -5 - up), at(lot, -30 - end, -5), at(lot, -30 - end, 0),
                             at(lot, -30 - end, 5), at(lot, -30, 5 + down), at(lot, 30, 5 + down),
                             at(lot, 30 + end, 5),  at(lot, 30 + end, 0),   at(lot, 30 + end, -5),
                             at(lot, 30, -5 - up)};
  for (int i = 0; i < 10; ++i) {
    expect_at(hubs[i], expected[i]);
    EXPECT_FALSE(hubs[i].design);
    EXPECT_EQ(hubs[i].cut_fill, "");
    EXPECT_NEAR(*hubs[i].ground, lot.elevation(expected[i]), near);
  }
  EXPECT_EQ(hubs[0].what, "bed corner upslope-left hub, 20.0 past the corner on the left end line");
  EXPECT_EQ(hubs[1].what, "bed corner upslope-left hub, 20.0 past the corner on the upslope edge line");
  EXPECT_EQ(hubs[2].what, "centre line left hub, 20.0 past the bed's end on the centre line");
  EXPECT_EQ(hubs[5].what, "bed corner downslope-right hub, 25.0 past the corner on the right end line");
  EXPECT_EQ(hubs[1].station, "0+80.0");
  EXPECT_EQ(hubs[1].offset, "U 5.0");
  EXPECT_EQ(hubs[2].offset, "0");
  EXPECT_EQ(hubs[5].station, "1+60.0");
  EXPECT_EQ(hubs[5].offset, "D 30.0");
}

TEST_P(OnATiltedPlane, DiagonalsOfBedAndHubsAreEqualInPairs) {
  const StakeOut out = staked(GetParam().lot, site_on(GetParam().lot, GetParam().reversed));
  std::vector<double> distances;
  for (const TapeCheck& check : out.diagonals) distances.push_back(check.distance);
  ASSERT_THAT(distances, SizeIs(6));
  const double expected[] = {std::hypot(60, 10), std::hypot(100, 10), std::hypot(60, 55)};
  for (int i = 0; i < 6; ++i) EXPECT_NEAR(distances[i], expected[i / 2], near) << out.diagonals[i].what;
  EXPECT_EQ(out.diagonals[2].what, "hub 1002 to hub 1007, on the edge lines");
  EXPECT_EQ(out.diagonals[3].what, "hub 1004 to hub 1009, on the edge lines");
  EXPECT_EQ(out.diagonals[4].what, "hub 1001 to hub 1006, on the end lines");
  ASSERT_THAT(out.sides, SizeIs(4));
  EXPECT_NEAR(out.sides[0].distance, 60.0, near);
  EXPECT_NEAR(out.sides[2].distance, 10.0, near);
}

INSTANTIATE_TEST_SUITE_P(Stakes, OnATiltedPlane,
                         testing::Values(Turn{Lot{}}, Turn{Lot{}, true}, Turn{Lot{{4890, 5120}, 0.0}},
                                         Turn{Lot{{4890, 5120}, 271.3}, true},
                                         Turn{Lot{{2187654.321, 13876543.21}, 37.5}},
                                         Turn{Lot{{2187654.321, 13876543.21}, 217.5}, true}));

TEST(Stakes, CatchPointOfTheFieldBookThroughTheWholeProgram) {
  // Common field-book trial made closed: d = W/2 + s h with h = 6.0 + 0.1 d, W/2 = 20, s = 1.5: 34.118 ft. In fill the
  // ground falls away by 10 %.
  const Lot lot{{0, 0}, 180.0, 0.10};
  test_support::SiteWithMound site = site_on(lot);
  site.mound.bottom_elevation = 103.5;
  site.mound.layers = {plain_layer("cover", 2.5, 15.0, 1.5)};
  const std::vector<Stake> face = named(staked(lot, site), "downslope face");
  ASSERT_THAT(face, SizeIs(7));
  for (const Stake& stake : face) {
    EXPECT_NEAR(stake.northing, -34.118, 0.0005);
    EXPECT_EQ(stake.offset, "D 34.1");
    EXPECT_NEAR(*stake.to_shoulder, 14.118, 0.0005);
    EXPECT_EQ(stake.cut_fill, "F 9.41");  // 6.0 + 3.4118
  }
}

TEST(Stakes, SlopeTableOfTheFieldBookThroughTheWholeProgram) {
  // "Distances from side stakes for cross-sectioning, roadway of any width, side slopes 1-1/2 to 1", the table bound
  // into surveyors' field books: cut or fill, distance out from the shoulder. Halves are rounded up to 0.1 there.
  const std::pair<double, double> table[] = {{7.3, 11.0},  {11.1, 16.7}, {0.1, 0.2},
                                             {10.3, 15.5}, {4.4, 6.6},   {6.2, 9.3}};
  const Lot lot{{0, 0}, 180.0, 0.0};
  for (const auto& [fill, printed] : table) {
    SCOPED_TRACE(fill);
    test_support::SiteWithMound site = site_on(lot);
    site.mound.bottom_elevation = 100.0 + 0.5 * fill;
    site.mound.layers = {plain_layer("cover", 0.5 * fill, 15.0, 1.5)};
    const std::vector<Stake> face = named(staked(lot, site), "downslope face");
    ASSERT_THAT(face, SizeIs(7));
    for (const Stake& stake : face) {
      EXPECT_NEAR(*stake.to_shoulder, printed, 0.05 + near);
      EXPECT_GE(printed + near, *stake.to_shoulder);  // never rounded down from a half
      EXPECT_NEAR(stake.northing, -(20.0 + *stake.to_shoulder), near);
      EXPECT_NEAR(*stake.slope_run, 1.5, near);
    }
  }
}

TEST(Stakes, ACrownedEndIsAGableWhoseShoulderFollowsTheCrown) {
  const Lot lot{{0, 0}, 180.0, 0.0};
  test_support::SiteWithMound site = site_on(lot);
  site.mound.layers[1].crown = 0.8;
  site.station_interval = 5.0;
  const std::vector<Stake> end = named(staked(lot, site), "left end,");
  ASSERT_THAT(end, SizeIs(3));  // across the end at 0, 5 and 10
  for (int i = 0; i < 3; ++i) {
    const double down = 0.1 * std::abs(-5.0 + 5.0 * i);  // of the crown, which falls by 0.8 in 8
    EXPECT_NEAR(*end[i].design, 104.3 - down, near);
    EXPECT_NEAR(*end[i].to_shoulder, 3.0 * (4.3 - down), near);
    EXPECT_NEAR(*end[i].slope_run, 3.0, near);
    expect_at(end[i], at(lot, -30.0 - 3.0 - 3.0 * 4.3, -5.0 + 5.0 * i));
  }
}

TEST(Stakes, ARoundCornerIsCaughtInItsMiddle) {
  const Lot lot{{0, 0}, 180.0, 0.0};
  test_support::SiteWithMound site = site_on(lot);
  site.mound.layers[1].round_corners = true;
  const std::vector<Stake> corner = named(staked(lot, site), "slope stake, downslope-right corner");
  ASSERT_THAT(corner, SizeIs(1));
  const double out = 3.0 * 3.5 / std::numbers::sqrt2;
  expect_at(corner[0], at(lot, 33.0 + out, 8.0 + out));
  EXPECT_NEAR(*corner[0].slope_run, 3.0, near);
}

TEST(Stakes, AVerticalOuterSideHasItsShoulderStraightAbove) {
  const Lot lot{{0, 0}, 180.0, 0.0};
  test_support::SiteWithMound site = site_on(lot);
  site.mound.layers[1].side = ByFace::all(0.0);
  const StakeOut out = staked(lot, site);
  EXPECT_THAT(out.notes.all, IsEmpty());
  const std::vector<Stake> slope = named(out, "slope stake");
  ASSERT_THAT(slope, SizeIs(22));
  for (const Stake& stake : slope) {
    EXPECT_NEAR(*stake.to_shoulder, 0.0, 1e-9) << stake.what;
    EXPECT_EQ(slope_text(*stake.slope_run), "vertical");
    EXPECT_EQ(stake.cut_fill, "F 3.50");
  }
  expect_at(named(out, "slope stake, downslope-right corner")[0], at(lot, 33.0, 8.0));
}

TEST(Stakes, OneVerticalFaceStillGivesItsCorners) {
  const Lot lot{{0, 0}, 180.0, 0.0};
  test_support::SiteWithMound site = site_on(lot);
  site.mound.layers[1].side.upslope = 0.0;
  const StakeOut out = staked(lot, site);
  EXPECT_THAT(out.notes.all, IsEmpty());
  const std::vector<Stake> corner = named(out, "slope stake, upslope-left corner");
  ASSERT_THAT(corner, SizeIs(1));
  EXPECT_NEAR((place(corner[0]) - at(lot, -33.0 - 10.5, -8.0)).norm(), 0.0, 1e-4);
  EXPECT_NEAR(*corner[0].slope_run, 3.0, 1e-4);
}

TEST(Stakes, TheShoulderIsThatOfTheLayerThatMeetsGround) {
  // A low bench carried far downslope: the cover dies on it, and its edge is the shoulder.
  const Lot lot{{0, 0}, 180.0, 0.0};
  test_support::SiteWithMound site = site_on(lot);
  site.mound.layers.push_back(plain_layer("bench", 0.0, 3.0, 2.0));
  site.mound.layers.back().beyond.downslope = 20.0;
  const StakeOut out = staked(lot, site);
  for (const Stake& stake : named(out, "downslope face")) {
    EXPECT_NEAR(*stake.design, 101.0, near);
    EXPECT_NEAR(*stake.to_shoulder, 2.0, near);
    EXPECT_EQ(stake.offset, "D 27.0");
  }
  for (const Stake& stake : named(out, "upslope face")) EXPECT_NEAR(*stake.design, 103.5, near);
}

TEST(Stakes, TheCornerIsThatOfTheLayerThatMeetsGroundWhicheverWentDownLast) {
  const Lot lot{{0, 0}, 180.0, 0.0};
  test_support::SiteWithMound site = site_on(lot);
  site.mound.layers.insert(site.mound.layers.begin(), plain_layer("bench", 0.0, 20.0, 2.0));
  site.mound.layers[0].beyond.downslope = 24.0;
  const std::vector<Stake> corner = named(staked(lot, site), "slope stake, downslope-left corner");
  ASSERT_THAT(corner, SizeIs(1));
  expect_at(corner[0], at(lot, -52.0, 31.0));
  EXPECT_NEAR(*corner[0].design, 101.0, near);
}

TEST(Stakes, WhereGroundMeetsTheFlatTopTheCornerIsSetThere) {
  const Lot lot{{0, 0}, 180.0, 0.25};
  test_support::SiteWithMound site = site_on(lot);
  site.mound.layers[1].beyond.upslope = 12.0;  // ground is at 103.5 where v is -14, before the top's edge at -17
  site.mound.layers[1].beyond.left = 4.0;
  const std::vector<Stake> corner = named(staked(lot, site), "slope stake, upslope-left corner");
  ASSERT_THAT(corner, SizeIs(1));
  expect_at(corner[0], at(lot, -33.0, -14.0));
  EXPECT_NEAR(*corner[0].to_shoulder, 0.0, near);
  EXPECT_EQ(corner[0].cut_fill, "0.00");
}

TEST(Stakes, OneHubDistanceServesAFaceThoughTheGroundFallsAlongIt) {
  Lot lot{{0, 0}, 180.0, 0.10};
  test_support::SiteWithMound site = site_on(lot);
  site.mound.bed = straight_bed(lot.center, 290.0, 60.0, 10.0);
  site.mound.downslope = 200.0;
  const double along = 0.10 * std::sin(20.0 * std::numbers::pi / 180.0),
               across = 0.10 * std::cos(20.0 * std::numbers::pi / 180.0);
  // The downslope toe square out from either end of the bed, the ground falling or rising by `along` to the right.
  const auto toe = [&](double u) { return (3.0 + 3.0 * (3.5 + u * along + 5.0 * across)) / (1.0 - 3.0 * across); };
  const double low = std::min(toe(-30.0), toe(30.0)), high = std::max(toe(-30.0), toe(30.0));
  const double distance = 5.0 * std::ceil((high + 5.0) / 5.0);
  ASSERT_GT(distance, 5.0 * std::ceil((low + 5.0) / 5.0));
  const StakeOut out = staked(lot, site);
  const std::string words = fixed_text(distance, 1) + " past the corner on the ";
  EXPECT_THAT(named(out, "downslope-left hub, " + words + "left end line"), SizeIs(1));
  EXPECT_THAT(named(out, "downslope-right hub, " + words + "right end line"), SizeIs(1));
  EXPECT_NEAR(out.diagonals[4].distance, out.diagonals[5].distance, near);
}

TEST(Stakes, StationsEndAtTheBedsEndWhateverItsLength) {
  const Lot lot;
  test_support::SiteWithMound site = site_on(lot);
  site.mound.bed = straight_bed(lot.center, lot.downslope + 90.0, 63.0, 12.0);
  const StakeOut out = staked(lot, site);
  std::vector<std::string> stations;
  for (const Stake& stake : named(out, "downslope face")) stations.push_back(stake.station);
  EXPECT_THAT(stations, ElementsAre("1+00.0", "1+10.0", "1+20.0", "1+30.0", "1+40.0", "1+50.0", "1+60.0", "1+63.0"));
  std::vector<std::string> offsets;
  for (const Stake& stake : named(out, "left end,")) offsets.push_back(stake.offset);
  EXPECT_THAT(offsets, ElementsAre("U 6.0", "D 4.0", "D 6.0"));
}

TEST(Stakes, WhereTheSurveyEndsNoStakeIsSetAndItIsTold) {
  Lot lot{{0, 0}, 180.0, 0.06};
  test_support::SiteWithMound site = site_on(lot);
  lot.half = 21.0;  // the downslope toe would be at 22.7, the bed's ends at 30
  site.mound.bed = straight_bed(lot.center, 270.0, 10.0, 10.0);
  site.mound.downslope = 180.0;
  const StakeOut out = staked(lot, site);
  EXPECT_THAT(named(out, "downslope face"), IsEmpty());
  EXPECT_THAT(named(out, "upslope face"), SizeIs(2));
  ASSERT_FALSE(out.notes.all.empty());
  EXPECT_EQ(out.notes.all[0].severity, Severity::warning);
  EXPECT_THAT(out.notes.all[0].what, HasSubstr("the survey ends before the mound meets ground"));
  EXPECT_THAT(out.notes.all[0].where, StartsWith("station "));
  const std::vector<Stake> hub = named(out, "downslope-left hub, 25.0 past the corner on the left end line");
  ASSERT_THAT(hub, SizeIs(1));  // the survey ends 16 past the corner
  EXPECT_FALSE(hub[0].ground);
}

// The downslope hubs stand 25 past the edge, 30 from the centre line; the toe is nearer than 27.
TEST(Stakes, OnesPastALineOrOffTheSurveyAreTold) {
  const Lot lot;
  test_support::SiteWithMound site = site_on(lot);
  EXPECT_TRUE(staked(lot, site).notes.all.empty());
  KeepClear line;
  line.name = "property line";
  line.line = {at(lot, -200, 27), at(lot, 200, 27)};
  KeepClear shed;
  shed.name = "shed";
  shed.line = {at(lot, 40, -40), at(lot, 60, -40), at(lot, 60, -60), at(lot, 40, -60)};
  shed.closed = true;
  site.lot.requirements.keep_clear = {line, shed};
  const StakeOut out = staked(lot, site);
  std::string expected;
  for (const Stake& stake : out.stakes) {
    if (direction_of(lot.downslope).dot(Point2(stake.easting, stake.northing) - lot.center) < 27) continue;
    expected += (expected.empty() ? "" : ", ") + std::to_string(stake.number);
  }
  ASSERT_EQ(out.notes.all.size(), 1u) << "the shed is clear";
  EXPECT_THAT(out.notes.all[0].what, AllOf(HasSubstr("stakes " + expected + " ("), HasSubstr("far side of property")));
  EXPECT_EQ(out.notes.all[0].severity, Severity::warning);

  Lot small;
  small.half = 34;  // the mound meets ground inside it, the end hubs do not
  test_support::SiteWithMound short_bed = site_on(small);
  short_bed.mound.bed = straight_bed(small.center, small.downslope + 90.0, 20.0, 10.0);
  short_bed.hub_clearance = 20.0;
  const StakeOut off = staked(small, short_bed);
  ASSERT_EQ(off.notes.all.size(), 1u);
  EXPECT_THAT(off.notes.all[0].what, HasSubstr("off the surveyed ground"));
}

TEST(Stakes, OneInsideAnAreaToBeKeptClearIsTold) {
  const Lot lot;
  test_support::SiteWithMound site = site_on(lot);
  const Stake first = staked(lot, site).stakes.front();
  const Point2 hub(first.easting, first.northing);
  KeepClear garden;
  garden.name = "garden";
  garden.line = {hub + Point2(-2, -2), hub + Point2(2, -2), hub + Point2(2, 2), hub + Point2(-2, 2)};
  garden.closed = true;
  site.lot.requirements.keep_clear = {garden};
  const StakeOut out = staked(lot, site);
  ASSERT_EQ(out.notes.all.size(), 1u);
  EXPECT_THAT(out.notes.all[0].what,
              AllOf(HasSubstr("stake " + std::to_string(first.number) + " ("), HasSubstr("stands inside garden")));
  EXPECT_EQ(out.notes.all[0].severity, Severity::warning);
}

TEST(Stakes, WhereGroundStandsAboveTheMoundItIsTold) {
  const Lot lot{{0, 0}, 180.0, 0.6};
  test_support::SiteWithMound site = site_on(lot);
  site.mound.bottom_elevation = 100.2;  // cover at 102.7, ground at the upslope edge 103
  const StakeOut out = staked(lot, site);
  EXPECT_THAT(named(out, "upslope face"), IsEmpty());
  const bool told = std::any_of(out.notes.all.begin(), out.notes.all.end(), [](const Problem& problem) {
    return problem.what == "no slope stake, upslope face: ground stands above the mound here";
  });
  EXPECT_TRUE(told);
}

/// Level ground at 100 but for a ridge along the downslope berm, 12 to 16 past the bed's middle and 102.6 high, with a
/// gap in it just past one end of the bed.
Ground ridge_in_the_berm() {
  std::vector<Shot> shots;
  for (int u = -60; u <= 60; ++u) {
    for (const double v : {-60.0, -30.0, -10.0, 10.0, 12.0, 14.0, 16.0, 18.0, 60.0}) {
      const bool is_crest = v == 14.0 && (u < 31 || u > 34);
      shots.push_back({"", -v, -static_cast<double>(u), is_crest ? 102.6 : 100.0, "", 0});
    }
  }
  return make_ground(shots);
}

/// The side, 103.5 - (v - 8) / 3, meets 100 + 1.3 (v - 12), 102.6 - 1.3 (v - 14) and 100.
TEST(Stakes, StandWhereverTheMoundMeetsGroundThatStandsOutOfIt) {
  const test_support::SiteWithMound site = site_on({{0, 0}, 180.0});
  const Ground ground = ridge_in_the_berm();
  const PlacedMound mound = place_mound(place_as_drawn(ground, site.mound));
  const Buildup& built = mound.buildup;
  ASSERT_EQ(built.toe.outer.size(), 1u);
  const std::vector<Stake> stakes = named(stake_out(mound, stake_options(site)), "slope stake, downslope face");
  const double side_at_0 = 103.5 + 8.0 / 3;
  const double at[] = {(side_at_0 - 100 + 1.3 * 12) / (1.3 + 1.0 / 3), (102.6 + 1.3 * 14 - side_at_0) / (1.3 - 1.0 / 3),
                       18.5};
  ASSERT_THAT(stakes, SizeIs(3 * 7)) << "stations 0 to 60";
  for (std::size_t i = 0; i < stakes.size(); ++i) {
    EXPECT_NEAR(-stakes[i].northing, at[i % 3], 1e-6) << stakes[i].what;
    EXPECT_NEAR(stakes[i].slope_run.value_or(0), 3.0, 1e-6);
    EXPECT_NEAR(stakes[i].to_shoulder.value_or(0), at[i % 3] - 8, 1e-6);
  }
  EXPECT_THAT(stakes[1].what, HasSubstr("past bare ground, inner toe"));
  EXPECT_THAT(stakes[2].what, HasSubstr("past bare ground, outer toe"));
  EXPECT_NEAR(built.berm.downslope.most, at[0] - 5, 1e-9) << "a berm ends where ground comes out of it";
  EXPECT_NEAR(built.berm.downslope.least, at[0] - 5, 1e-9);
}

// ---- Bent beds ------------------------------------------------------------------------------------------------------

/// Two pieces of 40 that turn by 30 degrees about the lot's centre, ends bent downslope.
struct BentLot {
  Lot lot{{0, 0}, 180.0, 0.0};
  test_support::SiteWithMound site = site_on(lot);
  Point2 left = 40.0 * direction_of(75.0), right = 40.0 * direction_of(-75.0);  // left is east, looking south
  BentLot() {
    left.y() = -left.y(), right.y() = -right.y();
    site.mound.bed.line = {left, Point2(0, 0), right};
  }
};

TEST(BentStakes, AtTheBendOnTheLineThatHalvesIt) {
  const BentLot bent;
  const StakeOut out = staked(bent.lot, bent.site);
  EXPECT_THAT(out.notes.all, IsEmpty());
  const double stretch = 1.0 / std::cos(15.0 * std::numbers::pi / 180.0);  // on the bisector of the bend
  const double toe = 3.0 + 3.0 * 3.5;
  for (const double side : {-1.0, 1.0}) {
    const std::string face = side < 0 ? "upslope" : "downslope";
    const std::vector<Stake> slope = named(out, "slope stake, bend 1 " + face);
    ASSERT_THAT(slope, SizeIs(1));
    expect_at(slope[0], {0.0, -side * (5.0 + toe) * stretch});
    EXPECT_NEAR(*slope[0].slope_run, 3.0 * stretch, near);
    EXPECT_EQ(slope[0].station, "1+40.0");
    EXPECT_EQ(slope[0].offset, side < 0 ? "U 19.2" : "D 19.2");  // 18.5 on the bisector
    const std::vector<Stake> hub = named(out, "bend 1 " + face + " hub");
    ASSERT_THAT(hub, SizeIs(1));
    expect_at(hub[0], {0.0, -side * (5.0 * stretch + 20.0)});
    EXPECT_EQ(hub[0].offset, side < 0 ? "U 25.2" : "D 25.2");
    EXPECT_EQ(hub[0].what, "bend 1 " + face + " hub, 20.0 past the bed's edge on the line that halves the bend");
  }
  EXPECT_THAT(named(out, "hub"), SizeIs(12));
}

TEST(BentStakes, StationsRunAlongTheCentreLineAndKeepToTheirPiece) {
  const BentLot bent;
  const StakeOut out = staked(bent.lot, bent.site);
  const Point2 along_left = (-bent.left).normalized(), along_right = bent.right.normalized();
  for (const Stake& stake : named(out, "downslope face")) {
    const double station = 100.0 * (stake.station[0] - '0') + std::stod(stake.station.substr(2)) - 100.0;
    const bool on_left = station < 40.0;
    const Point2 along = on_left ? along_left : along_right;
    const Point2 outward(-along.y(), along.x());
    const Point2 on_line = on_left ? Point2(bent.left + along * station) : Point2(along * (station - 40.0));
    expect_at(stake, on_line + outward * 18.5);
  }
  std::vector<std::string> upslope, downslope;
  for (const Stake& stake : named(out, "upslope face")) upslope.push_back(stake.station);
  for (const Stake& stake : named(out, "downslope face")) downslope.push_back(stake.station);
  // The outside of the bend is upslope. Inside it the toes of 1+36 to 1+44 are the neighbour's.
  EXPECT_THAT(upslope, ElementsAre("1+80.0", "1+70.0", "1+60.0", "1+50.0", "1+30.0", "1+20.0", "1+10.0", "1+00.0"));
  EXPECT_THAT(downslope, ElementsAre("1+00.0", "1+10.0", "1+20.0", "1+30.0", "1+50.0", "1+60.0", "1+70.0", "1+80.0"));
}

TEST(BentStakes, InsideTheBendNoStationTakesItsNeighboursToe) {
  BentLot bent;
  bent.site.station_interval = 3.0;
  // A piece ends 18.5 tan 15 = 4.96 short of the bend at the toe inside it; outside, every station is its own.
  std::vector<std::string> inside;
  for (const Stake& stake : named(staked(bent.lot, bent.site), "downslope face")) inside.push_back(stake.station);
  EXPECT_THAT(inside, testing::IsSupersetOf({"1+33.0", "1+45.0"}));
  for (const std::string station : {"1+36.0", "1+39.0", "1+42.0"})
    EXPECT_THAT(inside, testing::Not(testing::Contains(station)));
  EXPECT_THAT(named(staked(bent.lot, bent.site), "upslope face"), SizeIs(28));
}

TEST(BentStakes, AHubNeverStandsOnAnotherArmOfTheMound) {
  // Arms 60 apart, toes 13.5 off their edges: 40 from the inner edge of one arm is on the berm of the other.
  const Lot lot{{0, 0}, 180.0, 0.0, 200.0};
  test_support::SiteWithMound site = site_on(lot);
  site.mound.bed.line = {{30, -60}, {30, 0}, {-30, 0}, {-30, -60}};
  site.hub_clearance = 20.0;
  for (const Stake& stake : named(staked(lot, site), "hub")) {
    // Off both arms and the base, each a strip 5 wide either side with 13.5 of berm.
    for (const double arm : {-30.0, 30.0}) {
      const bool on_arm = std::abs(stake.easting - arm) < 18.5 && stake.northing > -73.5 && stake.northing < 18.5;
      EXPECT_FALSE(on_arm) << stake.what;
    }
    EXPECT_FALSE(std::abs(stake.northing) < 18.5 && std::abs(stake.easting) < 48.5) << stake.what;
  }
}

// ---- Numbers, walk, ties, grades, feed ------------------------------------------------------------------------------

TEST(Stakes, NumbersPassOverTheSurveysOwn) {
  const Lot lot;
  const StakeOut out = staked(lot, site_on(lot), {"1", "1001", " 01003", "1004A", "BM1"});
  ASSERT_GE(out.stakes.size(), 4u);
  EXPECT_EQ(out.stakes[0].number, 1002);
  EXPECT_EQ(out.stakes[1].number, 1004);
  EXPECT_EQ(out.stakes[2].number, 1005);
  for (std::size_t i = 0; i < out.stakes.size(); ++i) EXPECT_EQ(out.stakes[i].walk_order, static_cast<int>(i) + 1);
}

TEST(Stakes, TheWalkIsNotShortenedByTurningAnyPartOfItRound) {
  for (const double fall : {0.0, 0.03, 0.08}) {
    Lot lot;
    lot.fall = fall;
    const StakeOut out = staked(lot, site_on(lot));
    for (const std::string part : {"hub,", "slope stake"}) {
      const std::vector<Stake> walk = named(out, part);
      for (std::size_t i = 1; i + 1 < walk.size(); ++i) {
        for (std::size_t j = i + 1; j + 1 < walk.size(); ++j) {
          const auto step = [&](std::size_t a, std::size_t b) { return (place(walk[a]) - place(walk[b])).norm(); };
          EXPECT_LE(step(i - 1, i) + step(j, j + 1), step(i - 1, j) + step(i, j + 1) + near)
              << walk[i].what << " to " << walk[j].what;
        }
      }
    }
  }
}

TEST(Stakes, TiesAreTapedFromTwoMarksOrNone) {
  const Lot lot;
  test_support::SiteWithMound site = site_on(lot);
  EXPECT_THAT(staked(lot, site).tie_marks, IsEmpty());
  site.lot.benchmark = Mark{"BM1", {4800, 5000}, 100.0};
  EXPECT_THAT(staked(lot, site).stakes[0].ties, IsEmpty());
  site.lot.ties = {{"oak", {4850, 5200}, {}}};
  StakeOut out = staked(lot, site);
  ASSERT_THAT(out.tie_marks, SizeIs(2));
  EXPECT_EQ(out.tie_marks[0].name, "BM1");
  EXPECT_NEAR(out.stakes[3].ties[0], (place(out.stakes[3]) - Point2(4800, 5000)).norm(), 1e-9);
  EXPECT_NEAR(out.stakes[3].ties[1], (place(out.stakes[3]) - Point2(4850, 5200)).norm(), 1e-9);
  site.lot.ties.push_back({"house corner", {4900, 5250}, {}});
  out = staked(lot, site);
  EXPECT_EQ(out.tie_marks[0].name, "oak");
  EXPECT_EQ(out.tie_marks[1].name, "house corner");
}

TEST(Stakes, TheGradeCardHasOneLineForEachElevation) {
  const Lot lot;
  test_support::SiteWithMound site = site_on(lot);
  Layer crowned = plain_layer("cover", 2.5, 3.0, 3.0);
  crowned.crown = 0.5;
  site.mound.layers = {plain_layer("core", 0.0, 1.0, 0.0), plain_layer("stone", 1.0, 0.0, 0.0),
                       plain_layer("shell", 1.0, 3.0, 0.0), crowned};
  site.mound.lateral_invert = 0.67;
  std::vector<std::string> card;
  for (const Grade& grade : staked(lot, site).grades) card.push_back(grade.name + " " + fixed_text(grade.elevation, 2));
  EXPECT_THAT(card, ElementsAre("bed bottom, core top 101.00", "lateral invert 101.67", "stone top, shell top 102.00",
                                "finished edge 103.50", "finished ridge 104.00"));
}

TEST(Stakes, AnUndercutAndALevelFinishAreOnTheCard) {
  const Lot lot;
  test_support::SiteWithMound site = site_on(lot);
  site.mound.prepare.undercut = Undercut{97.5, ByFace::all(1.0), ByFace::all(1.0)};
  std::vector<std::string> card;
  for (const Grade& grade : staked(lot, site).grades)
    card.push_back(grade.name + " " + fixed_text(grade.above_bed_bottom, 2));
  EXPECT_THAT(card, ElementsAre("undercut bottom -3.50", "bed bottom 0.00", "stone top 1.00", "finished top 2.50"));
}

TEST(Stakes, FeedPointsAreStakedWithTheirGrades) {
  const Lot lot;
  test_support::SiteWithMound site = site_on(lot);
  site.lot.feed = {{"riser", at(lot, 0, 0), 100.75}, {"port", at(lot, 29, 2.5), {}}};
  const StakeOut out = staked(lot, site);
  const std::vector<Stake> feed = named(out, "feed point");
  ASSERT_THAT(feed, SizeIs(2));
  EXPECT_EQ(feed[0].what, "feed point port");  // nearer to where the walk stood
  EXPECT_EQ(feed[0].station, "1+59.0");
  EXPECT_EQ(feed[0].offset, "D 2.5");
  EXPECT_FALSE(feed[0].design);
  EXPECT_EQ(feed[0].cut_fill, "");
  EXPECT_EQ(feed[1].what, "feed point riser");
  EXPECT_EQ(feed[1].offset, "0");
  EXPECT_EQ(feed[1].cut_fill, "F 0.75");
}

TEST(Stakes, AMetricJobIsInMetresThroughout) {
  const Lot lot{{500000.0, 5400000.0}, 90.0, 0.05};
  test_support::SiteWithMound site = site_on(lot);
  site.unit = LengthUnit::metre;
  site.mound.bed = straight_bed(lot.center, 180.0, 18.0, 3.0);
  site.mound.bottom_elevation = 100.30;
  site.mound.layers = {plain_layer("cover", 0.75, 1.0, 3.0)};
  site.station_interval = 3.0;
  site.hub_clearance = 1.5;
  const StakeOut out = staked(lot, site);
  const std::vector<Stake> face = named(out, "downslope face");
  ASSERT_THAT(face, SizeIs(7));
  const double berm = (1.0 + 3.0 * (1.05 + 0.05 * 1.5)) / (1.0 - 0.15);
  EXPECT_NEAR(face[1].easting, 500000.0 + 1.5 + berm, near);
  EXPECT_EQ(face[1].station, "1+03.00");
  EXPECT_EQ(face[1].offset, "D 6.65");
  EXPECT_EQ(face[1].cut_fill, "F 1.382");
  EXPECT_THAT(out.stakes[0].what, HasSubstr("hub, 6.0 past the corner"));
}

TEST(Stakes, SpacingThatCannotBeIsRefusedTogether) {
  const Lot lot;
  test_support::SiteWithMound site = site_on(lot);
  site.station_interval = 0.0;
  site.hub_clearance = -5.0;
  const Problems problems = refused(lot, site);
  ASSERT_THAT(problems.all, SizeIs(2));
  EXPECT_EQ(problems.all[0].where, "stakes.station_interval");
  EXPECT_EQ(problems.all[1].where, "stakes.hub_clearance");
  site.hub_clearance = 5.0;
  site.station_interval = 1e-3;
  EXPECT_THAT(refused(lot, site).all, SizeIs(1));
}

TEST(Stakes, AMarkThatNoTapeReachesIsNamed) {
  const Lot lot;
  test_support::SiteWithMound site = site_on(lot);
  site.lot.ties = {{"oak", lot.center + Point2(80, 0), {}},
                   {"house, NW corner", lot.center + Point2(0, 5'061'870), {}}};
  const Problems problems = refused(lot, site);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_EQ(problems.all[0].where, "tie.\"house, NW corner\"");
  EXPECT_THAT(problems.all[0].what, HasSubstr("is 5061870.0 from the mound; the limit is 10000"));
  site.lot.ties.erase(site.lot.ties.begin());
  site.lot.benchmark = Mark{"BM", lot.center + Point2(2e4, 0), 100.0};
  const Problems both = refused(lot, site);
  ASSERT_THAT(both.all, SizeIs(2));
  EXPECT_EQ(both.all[0].where, "benchmark");
}

RC_GTEST_PROP(StakesProperty, EverySlopeStakeStandsOnTheFinishedSlope, ()) {
  Lot lot;
  lot.half = 300.0;  // a 4.4:1 side on a 14.9 % fall goes far
  lot.downslope = *rc::gen::inRange(0, 3600) / 10.0;
  lot.fall = *rc::gen::inRange(0, 150) / 1000.0;
  test_support::SiteWithMound site = site_on(lot, *rc::gen::arbitrary<bool>());
  site.mound.bottom_elevation = 101.0 + *rc::gen::inRange(0, 200) / 100.0;
  Layer& cover = site.mound.layers[1];
  const double run = *rc::gen::inRange(15, 45) / 10.0;
  cover.side = ByFace::all(run);
  cover.crown = *rc::gen::inRange(0, 10) / 10.0;
  cover.round_corners = *rc::gen::arbitrary<bool>();
  lot.rough = *rc::gen::inRange(0, 4) / 10.0;
  const StakeOut out = staked(lot, site);
  RC_ASSERT(out.notes.all.empty());
  const double edge = *site.mound.bottom_elevation + 2.5;
  std::size_t slopes = 0;
  for (const Stake& stake : out.stakes) {
    if (stake.kind != StakeKind::slope) continue;
    ++slopes;
    const bool corner = stake.what.find("corner") != std::string::npos;
    const bool end = stake.what.find(" end,") != std::string::npos;
    const double stretch = corner && !cover.round_corners ? std::numbers::sqrt2 : 1.0;
    // Straight in from the bed's corners, 5 of 8 down the crown.
    RC_ASSERT(std::abs(*stake.design - edge - (end ? cover.crown * 3.0 / 8.0 : 0.0)) < 1e-6);
    RC_ASSERT(std::abs(*stake.slope_run - run * stretch) < 1e-5);
  }
  RC_ASSERT(slopes == 22u);
}

// ---- What a stake says ----------------------------------------------------------------------------------------------

TEST(StakeWords, StationsCarryIntoTheNextFullStation) {
  EXPECT_EQ(station_text(0.0), "1+00.0");
  EXPECT_EQ(station_text(23.4), "1+23.4");
  EXPECT_EQ(station_text(-10.0), "0+90.0");
  EXPECT_EQ(station_text(99.96), "2+00.0");
  EXPECT_EQ(station_text(-0.04), "1+00.0");
  EXPECT_EQ(station_text(-112.3), "-0+12.3");
  EXPECT_EQ(station_text(1102.0), "12+02.0");
  EXPECT_EQ(station_text(7.125, LengthUnit::metre), "1+07.13");
}

TEST(StakeWords, Offsets) {
  EXPECT_EQ(offset_text(-12.3), "U 12.3");
  EXPECT_EQ(offset_text(20.1), "D 20.1");
  EXPECT_EQ(offset_text(-0.04), "0");
  EXPECT_EQ(offset_text(3.456, LengthUnit::metre), "D 3.46");
}

TEST(StakeWords, CutAndFillAddUpAsPrinted) {
  EXPECT_EQ(cut_or_fill(99.32, 101.40), "F 2.08");
  EXPECT_EQ(cut_or_fill(101.20, 100.00), "C 1.20");
  EXPECT_EQ(cut_or_fill(100.004, 99.996), "0.00");
  EXPECT_EQ(cut_or_fill(99.326, 101.404), "F 2.07");  // 101.40 - 99.33
  EXPECT_EQ(cut_or_fill(29.9304, 30.9072, LengthUnit::metre), "F 0.977");
}

TEST(StakeWords, Slopes) {
  EXPECT_EQ(slope_text(3.0), "3:1");
  EXPECT_EQ(slope_text(1.5), "1.5:1");
  EXPECT_EQ(slope_text(3.0 * std::numbers::sqrt2), "4.24:1");
  EXPECT_EQ(slope_text(10.0), "10:1");
  EXPECT_EQ(slope_text(0.0), "vertical");
}

TEST(StakeWords, FeetInchesEighths) {
  EXPECT_EQ(feet_inches_eighths(3.72), "3 ft 8-5/8 in");
  EXPECT_EQ(feet_inches_eighths(1e6), "1000000 ft 0 in");
  EXPECT_EQ(feet_inches_eighths(0.0), "0 ft 0 in");
  EXPECT_EQ(feet_inches_eighths(5.5), "5 ft 6 in");
  EXPECT_EQ(feet_inches_eighths(0.05), "0 ft 0-5/8 in");  // the tolerance on the bed, as the trade has it
  EXPECT_EQ(feet_inches_eighths(2.0 + 3.5 / 12), "2 ft 3-1/2 in");
  EXPECT_EQ(feet_inches_eighths(2.0 + 3.75 / 12), "2 ft 3-3/4 in");
  EXPECT_EQ(feet_inches_eighths(2.0 + 3.95 / 12), "2 ft 4 in");   // carries to the inch
  EXPECT_EQ(feet_inches_eighths(2.0 + 11.95 / 12), "3 ft 0 in");  // and to the foot
  EXPECT_EQ(feet_inches_eighths(1.0 / 192), "0 ft 0-1/8 in");     // half an eighth goes up
  EXPECT_THROW(feet_inches_eighths(-0.01), Refusal);
  EXPECT_THROW(feet_inches_eighths(std::nan("")), Refusal);
  EXPECT_THROW(feet_inches_eighths(1e9), Refusal);
}

TEST(StakeWords, RodReadings) {
  EXPECT_EQ(rod_text(3.72), "3.72 (3 ft 8-5/8 in)");
  EXPECT_EQ(rod_text(-1e-9), "0.00 (0 ft 0 in)");
  EXPECT_EQ(rod_text(-1.2), "nothing: the grade is 1.20 above the instrument");
  EXPECT_EQ(rod_text(1.1339, LengthUnit::metre), "1.134");
}

TEST(StakeWords, TheHubsLineSaysWhatToMark) {
  EXPECT_EQ(
      hub_grade_line("bed corner upslope-left hub, 25.0 past the corner on the upslope edge line", "bed bottom", 101.40,
                     99.32, 105.12),
      "bed corner upslope-left hub, 25.0 past the corner on the upslope edge line, bed bottom 101.40, hub shot 99.32: "
      "F 2.08 to bed bottom; with the instrument at 105.12 the rod reads 3.72 (3 ft 8-5/8 in)");
  EXPECT_THAT(hub_grade_line("hub", "bed bottom", 31.0, 30.5, 32.0, LengthUnit::metre),
              EndsWith("the rod reads 1.000"));
}

TEST(StakeWords, GradesWithALevelAsPrintedInNavedtra14081) {
  // NAVEDTRA 14081, p. 15-30: stake C 7.5, rod on hub 5.0, rod in cut 12.2: should read 12.5, cut 0.3 more.
  const double hub = 100.0;
  const double hi_cut = hub + 5.0, grade_cut = hub - 7.5;
  EXPECT_NEAR(grade_rod(hi_cut, grade_cut), 12.5, 1e-12);
  EXPECT_EQ(cut_or_fill(hi_cut - 12.2, grade_cut), "C 0.30");
  // The same: stake F 7.0, rod on hub 12.0, rod on fill 5.5: should read 5.0, fill 0.5 more.
  const double hi_fill = hub + 12.0, grade_fill = hub + 7.0;
  EXPECT_NEAR(grade_rod(hi_fill, grade_fill), 5.0, 1e-12);
  EXPECT_EQ(cut_or_fill(hi_fill - 5.5, grade_fill), "F 0.50");
  // NAVEDTRA 14069, ch. 14: cut (+) or fill (-) = grade rod - ground rod.
  EXPECT_EQ(cut_or_fill(hub, grade_cut), "C " + fixed_text(grade_rod(hi_cut, grade_cut) - 5.0, 2));
}

TEST(StakeWords, ForesightFromAPrintedHeightOfInstrument) {
  // Wolf and Ghilani, Elementary Surveying: BM 820.00 + BS 8.42 = HI 828.42 in print; FS 1.20 then gives 827.22
  // (computed here).
  EXPECT_NEAR(grade_rod(820.00 + 8.42, 827.22), 1.20, 1e-12);
  EXPECT_EQ(rod_text(grade_rod(828.42, 827.22)), "1.20 (1 ft 2-3/8 in)");
}

TEST(StakeWords, NoMinusBeforeNothing) {
  EXPECT_EQ(fixed_text(-0.004, 2), "0.00");
  EXPECT_EQ(fixed_text(-0.0, 3), "0.000");
  EXPECT_EQ(fixed_text(-0.006, 2), "-0.01");
}

}  // namespace
}  // namespace moundwright

// Every check of the plan on grounds where the answer is known in closed form, with the place where it is found.
#include "geom/plan_checks.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "geom/low_spots.h"
#include "geom/site_design.h"
#include "tests/support/site_with_mound.h"

namespace moundwright {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using Heights = std::function<double(double x, double y)>;  // x and y from (east0, north0)

constexpr double east0 = 5000, north0 = 6000;

struct Lot {
  double west = -100, east = 100, south = -100, north = 100;
};

/// Shots every 5.
std::vector<Shot> shots_of(const Heights& z, const Lot& lot = {}) {
  std::vector<Shot> shots;
  for (double x = lot.west; x <= lot.east; x += 5) {
    for (double y = lot.south; y <= lot.north; y += 5) {
      shots.push_back({std::to_string(shots.size() + 1), north0 + y, east0 + x, z(x, y), "", 0});
    }
  }
  return shots;
}

double falling_south(double, double y) { return 100 + 0.05 * y; }
double level(double, double) { return 100; }

Layer layer(const std::string& name, const std::string& material, double top, double beyond, double side = 0) {
  Layer made;
  made.name = name;
  made.material = material;
  made.top = top;
  made.beyond = ByFace::all(beyond);
  made.side = ByFace::all(side);
  return made;
}

/// A bed 60 x 10, long axis west to east, downslope south; core, stone, shell, cover.
test_support::SiteWithMound usual() {
  test_support::SiteWithMound site;
  MoundDesign& mound = site.mound;
  mound.bed = straight_bed({east0, north0}, 90, 60, 10);
  mound.least_sand = 1.5;
  mound.downslope = 180;
  mound.layers = {layer("core", "clean sand", 0, 1), layer("stone", "washed stone", 1, 0),
                  layer("shell", "shell sand", 1, 3), layer("cover", "sandy loam", 1.5, 3, 3)};
  return site;
}

/// One block of sand with vertical sides 3 beyond the bed, so that its toe is a rectangle 66 x 16 on any ground.
test_support::SiteWithMound block() {
  test_support::SiteWithMound site = usual();
  site.mound.layers = {layer("core", "clean sand", 2, 3)};
  return site;
}

std::vector<PlanCheck> checks_on(const Heights& z, const test_support::SiteWithMound& site, const Lot& lot = {}) {
  const std::vector<Shot> shots = shots_of(z, lot);
  const Ground ground = make_ground(shots);
  const MoundPlace place = place_as_drawn(ground, site.mound);
  return check_plan(place_mound(place), check_options(site), shots);
}

std::vector<PlanCheck> named(const std::vector<PlanCheck>& checks, const std::string& name) {
  std::vector<PlanCheck> found;
  for (const PlanCheck& check : checks) {
    if (check.name == name) found.push_back(check);
  }
  return found;
}

/// The one check of a name; a test fails if there is none or more.
PlanCheck only(const std::vector<PlanCheck>& checks, const std::string& name) {
  const std::vector<PlanCheck> found = named(checks, name);
  EXPECT_EQ(found.size(), 1u) << name;
  return found.empty() ? PlanCheck{} : found.front();
}

void expect_at(const PlanCheck& check, std::optional<double> x, std::optional<double> y) {
  ASSERT_TRUE(check.at) << check.text;
  if (x) {
    EXPECT_NEAR(check.at->x() - east0, *x, 1e-5) << check.text;
  }
  if (y) {
    EXPECT_NEAR(check.at->y() - north0, *y, 1e-5) << check.text;
  }
}

TEST(PlanChecks, AnEvenSlopeAsDrawnHasNothingBad) {
  for (const PlanCheck& check : checks_on(falling_south, usual())) {
    EXPECT_TRUE(check.verdict == Verdict::good || check.verdict == Verdict::told) << check.name << ": " << check.text;
    EXPECT_TRUE(check.what_to_do.empty()) << check.name;
  }
}

TEST(PlanChecks, WhatTheJobDoesNotAskIsLeftOut) {
  const auto checks = checks_on(falling_south, usual());
  for (const char* name : {"separation", "basal area", "flow per foot of bed", "keep clear", "undercut", "specks"}) {
    EXPECT_TRUE(named(checks, name).empty()) << name;
  }
}

// ---- bed ----

TEST(BedBottom, BelowTheHighestGroundUnderTheBedIsBadAndNamesTheShot) {
  test_support::SiteWithMound site = usual();
  site.mound.least_sand.reset();
  site.mound.bottom_elevation = 100.35;
  // The even slope reaches 100.25 at the bed's upslope edge; one shot inside the bed stands at 100.45.
  const auto hump = [](double x, double y) { return x == 10 && y == 0 ? 100.45 : falling_south(x, y); };
  const PlanCheck bad = only(checks_on(hump, site), "bed bottom");
  EXPECT_EQ(bad.verdict, Verdict::bad);
  EXPECT_NEAR(*bad.found, -0.10, 1e-9);
  expect_at(bad, 10, 0);
  EXPECT_THAT(bad.text, HasSubstr("point 923"));
  EXPECT_THAT(bad.what_to_do, HasSubstr("100.45"));
  const PlanCheck good = only(checks_on(falling_south, site), "bed bottom");
  EXPECT_EQ(good.verdict, Verdict::good);
  EXPECT_NEAR(*good.found, 0.10, 1e-9);
  expect_at(good, std::nullopt, 5);
}

TEST(BedBottom, AStripDoesNotExcuseABedBelowExistingGround) {
  test_support::SiteWithMound site = usual();
  site.mound.least_sand = 0.2;
  site.mound.prepare.strip = 0.5;  // bottom = 100.25 - 0.5 + 0.2
  const auto checks = checks_on(falling_south, site);
  EXPECT_EQ(only(checks, "bed bottom").verdict, Verdict::bad);
  EXPECT_EQ(only(checks, "sand under the bed").verdict, Verdict::good);
}

TEST(SandUnderTheBed, IsToldBesideWhatIsAsked) {
  const PlanCheck asked = only(checks_on(falling_south, usual()), "sand under the bed");
  EXPECT_EQ(asked.verdict, Verdict::good);
  EXPECT_NEAR(*asked.found, 1.5, 1e-9);
  EXPECT_EQ(asked.asked, 1.5);
  EXPECT_THAT(asked.text, HasSubstr("1.50 ft at the least and 2.00 ft at the most"));
  test_support::SiteWithMound site = usual();
  site.mound.least_sand.reset();
  site.mound.bottom_elevation = 101.0;
  const PlanCheck told = only(checks_on(falling_south, site), "sand under the bed");
  EXPECT_EQ(told.verdict, Verdict::told);
  EXPECT_NEAR(*told.found, 0.75, 1e-9);
  site.mound.bottom_elevation = 100.0;
  const PlanCheck none = only(checks_on(falling_south, site), "sand under the bed");
  EXPECT_EQ(none.verdict, Verdict::bad);
  EXPECT_NEAR(*none.found, -0.25, 1e-9);
  expect_at(none, std::nullopt, 5);
}

TEST(SurveyUnderTheBed, IsBadWhereTheSurveyStopsShort) {
  const PlanCheck bad = only(checks_on(falling_south, usual(), {.east = 20}), "survey under the bed");
  EXPECT_EQ(bad.verdict, Verdict::bad);
  EXPECT_NEAR(*bad.found, 100 * 50.0 / 60.0, 1e-6);
  expect_at(bad, 30, std::nullopt);
}

// ---- separation ----

TEST(Separation, AtABoringAndWorstUnderTheBed) {
  test_support::SiteWithMound site = usual();  // bed bottom 101.75
  site.lot.requirements.separation = 3.6;
  site.lot.requirements.borings = {{"B1", {east0, north0}, 2.0}};
  const auto checks = named(checks_on(falling_south, site), "separation");
  ASSERT_EQ(checks.size(), 2u);
  EXPECT_EQ(checks[0].verdict, Verdict::good);
  EXPECT_NEAR(*checks[0].found, 3.75, 1e-9);
  expect_at(checks[0], 0, 0);
  EXPECT_EQ(checks[1].verdict, Verdict::bad);  // the ground is 100.25 at the upslope edge
  EXPECT_NEAR(*checks[1].found, 3.5, 1e-9);
  expect_at(checks[1], std::nullopt, 5);
  EXPECT_THAT(checks[1].text, HasSubstr("that of the nearest boring"));
  EXPECT_THAT(checks[1].what_to_do, HasSubstr("0.10 ft"));
}

// Three feet over the limiting layer (Minnesota Rules, part 7080.2150, from memory): three are enough, and nothing less
// is.
TEST(Separation, PassesAtWhatIsAskedAndFailsAHundredthBelow) {
  test_support::SiteWithMound site = usual();
  site.lot.requirements.separation = 3.0;
  site.lot.requirements.borings = {{"B1", {east0, north0}, 1.5}};  // the layer at 98.75 under the upslope edge
  site.mound.least_sand.reset();
  const auto worst = [&](double bottom) {
    site.mound.bottom_elevation = bottom;
    return named(checks_on(falling_south, site), "separation").at(1);
  };
  EXPECT_EQ(worst(101.75).verdict, Verdict::good);
  const PlanCheck bad = worst(101.74);
  EXPECT_EQ(bad.verdict, Verdict::bad);
  EXPECT_THAT(bad.text, HasSubstr("2.99 ft above the limiting layer"));
  EXPECT_THAT(bad.what_to_do, HasSubstr("raise the bed bottom by 0.01 ft"));
}

// Elevations of eighths: what the sentence prints adds up.
TEST(BedBottom, StandsAboveTheGroundByWhatIsPrinted) {
  test_support::SiteWithMound site = usual();
  site.mound.least_sand.reset();
  site.mound.bottom_elevation = 101.625;  // printed 101.63, over 100.25
  EXPECT_THAT(only(checks_on(falling_south, site), "bed bottom").text,
              HasSubstr("the bed bottom at 101.63 is 1.38 ft above the highest existing ground under the bed, 100.25"));
}

TEST(Separation, TwoBoringsShareTheBedAtTheirMiddle) {
  test_support::SiteWithMound site = usual();
  site.lot.requirements.borings = {{"B1", {east0 - 20, north0}, 4.0}, {"B2", {east0 + 10, north0}, 2.0}};
  // Ground rising to the west too: B2's half, east of x = -5, decides at its north-west corner.
  const auto checks =
      named(checks_on([](double x, double y) { return 100 + 0.05 * y - 0.02 * x; }, site), "separation");
  ASSERT_EQ(checks.size(), 3u);
  EXPECT_EQ(checks[2].verdict, Verdict::told);
  const double bottom = 100 + 0.25 + 0.6 + 1.5;
  EXPECT_NEAR(*checks[2].found, bottom - (100 + 0.25 + 0.1 - 2.0), 1e-9);
  expect_at(checks[2], -5, 5);
}

TEST(Separation, ThreeBoringsGiveThePlaneOfTheirDepths) {
  test_support::SiteWithMound site = usual();
  site.lot.requirements.separation = 3.0;
  const auto depth = [](double x, double y) {
    return 2 + 0.01 * x + 0.1 * y;
  };  // deeper upslope, faster than the ground
  for (const Point2& p : {Point2(-20, 10), Point2(25, -10), Point2(0, 30)}) {
    site.lot.requirements.borings.push_back({"B", p + Point2(east0, north0), depth(p.x(), p.y())});
  }
  const auto checks = named(checks_on(falling_south, site), "separation");
  ASSERT_EQ(checks.size(), 4u);
  const double layer = falling_south(-30, -5) - depth(-30, -5);
  EXPECT_NEAR(*checks[3].found, 101.75 - layer, 1e-9);
  expect_at(checks[3], -30, -5);
  EXPECT_THAT(checks[3].text, HasSubstr("plane that fits the 3 borings"));
}

TEST(Separation, ABoringOffTheSurveyIsForAPersonToLookAt) {
  test_support::SiteWithMound site = usual();
  site.lot.requirements.borings = {{"B9", {east0 + 400, north0}, 2.0}};
  const auto checks = named(checks_on(falling_south, site), "separation");
  ASSERT_EQ(checks.size(), 2u);
  EXPECT_EQ(checks[0].verdict, Verdict::look);
  expect_at(checks[0], 400, 0);
}

// ---- basal area ----

TEST(BasalArea, OnASlopeCountsFromTheUpslopeEdgeDownslope) {
  test_support::SiteWithMound site = usual();  // sand to 3 beyond the bed: 60 x (10 + 3)
  site.lot.requirements.least_basal_area = 770;
  PlanCheck check = only(checks_on(falling_south, site), "basal area");
  EXPECT_EQ(check.verdict, Verdict::good);
  EXPECT_NEAR(*check.found, 780.0, 1e-6);
  EXPECT_THAT(check.text, HasSubstr("core, shell"));
  site.lot.requirements.least_basal_area.reset();
  site.lot.requirements.daily_flow = 450;
  site.lot.requirements.loading_rate = 0.5;
  const auto checks = checks_on(falling_south, site);
  check = only(checks, "basal area");
  EXPECT_EQ(check.verdict, Verdict::bad);
  EXPECT_NEAR(*check.asked, 900.0, 1e-9);
  EXPECT_THAT(check.what_to_do, HasSubstr("120 sq ft"));
  const PlanCheck flow = only(checks, "flow per foot of bed");
  EXPECT_NEAR(*flow.found, 7.5, 1e-9);
}

// Flow over loading rate, and not a square foot less: 60 x 13 of sand carry 390 gallons at half a gallon a square foot.
TEST(BasalArea, PassesAtWhatIsAskedAndFailsASquareFootBelow) {
  test_support::SiteWithMound site = usual();
  site.lot.requirements.loading_rate = 0.5;
  const auto with_flow = [&](double gallons) {
    site.lot.requirements.daily_flow = gallons;
    return only(checks_on(falling_south, site), "basal area");
  };
  EXPECT_EQ(with_flow(390).verdict, Verdict::good);
  const PlanCheck bad = with_flow(390.5);
  EXPECT_EQ(bad.verdict, Verdict::bad);
  EXPECT_THAT(bad.what_to_do, HasSubstr("1 sq ft are missing"));
}

TEST(BasalArea, OnLevelGroundCountsBothSides) {
  test_support::SiteWithMound site = usual();
  site.lot.requirements.least_basal_area = 900;
  EXPECT_NEAR(*only(checks_on(level, site), "basal area").found, 60 * 16.0, 1e-6);
  site.unit = LengthUnit::us_survey_foot;
  const double foot = 0.3048 * 3937 / 1200;  // in US survey feet
  EXPECT_NEAR(*only(checks_on(level, site), "basal area").found, 60 * 16.0 / (foot * foot), 1e-5);
}

TEST(BasalArea, AMetricJobIsInLitresAndSquareMetres) {
  test_support::SiteWithMound site = usual();
  site.unit = LengthUnit::metre;
  site.lot.requirements.daily_flow = 1700;
  site.lot.requirements.loading_rate = 2.0;
  const auto checks = checks_on(falling_south, site);
  const PlanCheck area = only(checks, "basal area");
  EXPECT_EQ(area.verdict, Verdict::bad);
  EXPECT_NEAR(*area.found, 60 * 13.0, 1e-6);
  EXPECT_NEAR(*area.asked, 850.0, 1e-9);
  EXPECT_EQ(area.unit, "sq m");
  EXPECT_THAT(area.text, HasSubstr("lies on 780.0 sq m of soil"));
  EXPECT_THAT(area.what_to_do, HasSubstr("70.0 sq m are missing"));
  const PlanCheck flow = only(checks, "flow per meter of bed");
  EXPECT_NEAR(*flow.found, 1700.0 / 60, 1e-9);
  EXPECT_THAT(flow.text, HasSubstr("1700 liters a day over 60.0 m of bed are 28.33 liters a day for each meter"));
}

TEST(BasalArea, ASandWedgeCountsOutToWhereItMeetsTheSoil) {
  test_support::SiteWithMound site = usual();
  site.mound.layers = {layer("core", "clean sand", 1, 0)};
  site.mound.layers[0].side = {0, 3, 0, 0};
  site.lot.requirements.least_basal_area = 100;
  // 1 + 2 high at the downslope edge over ground that falls on at 5 %: d (1/3 - 0.05) = 3.
  EXPECT_NEAR(*only(checks_on(falling_south, site), "basal area").found, 60 * (10 + 3 / (1.0 / 3 - 0.05)), 1e-6);
}

TEST(BasalArea, UnderACoverASandWedgeGoesDownToStrippedSoil) {
  test_support::SiteWithMound site = usual();
  site.mound.prepare.strip = 0.5;
  site.mound.layers = {layer("core", "clean sand", 1, 0), layer("cover", "sandy loam", 2, 20, 3)};
  site.mound.layers[0].side = {0, 3, 0, 0};
  site.lot.requirements.least_basal_area = 100;
  // The bed bottom comes down with the strip, so the wedge still stands 3 over the soil it lies on: not 2.5, as over
  // ground that was never stripped.
  EXPECT_NEAR(*only(checks_on(falling_south, site), "basal area").found, 60 * (10 + 3 / (1.0 / 3 - 0.05)), 1e-6);
}

TEST(BasalArea, SoilPutDownFirstIsNotSandOnSoil) {
  test_support::SiteWithMound site = usual();
  site.mound.layers.insert(site.mound.layers.begin(), layer("dam", "sandy loam", -0.5, 30));
  site.lot.requirements.least_basal_area = 100;
  // The dam reaches 101.25 and covers the soil from the bed's upslope edge down.
  EXPECT_NEAR(*only(checks_on(falling_south, site), "basal area").found, 0.0, 1e-6);
}

// ---- contour fit ----

TEST(ContourFit, ABedAlongTheContourIsGood) {
  const auto checks = checks_on(falling_south, usual());
  const PlanCheck fit = only(checks, "contour fit");
  EXPECT_EQ(fit.verdict, Verdict::good);
  EXPECT_NEAR(*fit.found, 0.0, 1e-9);
  EXPECT_THAT(fit.text,
              HasSubstr("100.25 on average; sand averages 1.50 ft there and 2.00 ft along the downslope edge"));
  EXPECT_THAT(fit.text, HasSubstr("straight"));
  EXPECT_NEAR(*only(checks, "skew from the contour").found, 0.0, 1e-6);
}

TEST(ContourFit, SandIsCountedDownToStrippedGround) {
  test_support::SiteWithMound site = usual();
  site.mound.prepare.strip = 0.5;  // bed bottom 101.25 over 99.75 and 99.25
  EXPECT_THAT(only(checks_on(falling_south, site), "contour fit").text,
              HasSubstr("sand averages 1.50 ft there and 2.00 ft along the downslope edge"));
}

TEST(ContourFit, SandIsCountedDownIntoAPitThatTheGroundRunsInto) {
  test_support::SiteWithMound site = usual();
  site.mound.least_sand.reset();
  site.mound.bottom_elevation = 103;
  site.mound.prepare.undercut = Undercut{100, ByFace::all(1), ByFace::all(1)};
  const std::vector<Shot> corners = shots_of([](double x, double) { return 100 + 0.04 * x; }, {-100, 105, -100, 100});
  std::vector<Shot> shots;
  for (const Shot& shot : corners) {  // few shots, so that the pit begins far from any edge of a triangle
    if (std::abs(std::abs(shot.northing - north0) - 100) < 1 &&
        (std::abs(shot.easting - east0 + 100) < 1 || std::abs(shot.easting - east0 - 105) < 1))
      shots.push_back(shot);
  }
  ASSERT_EQ(shots.size(), 4u);
  const Ground ground = make_ground(shots);
  const MoundPlace place = place_as_drawn(ground, site.mound);
  const auto checks = check_plan(place_mound(place), check_options(site), shots);
  // Ground from 98.8 to 101.2, dug to 100 where it is higher: 99.7 on average.
  EXPECT_THAT(only(checks, "contour fit").text,
              HasSubstr("sand averages 3.30 ft there and 3.30 ft along the downslope edge"));
}

TEST(ContourFit, ARidgeIsConvexAndItsLowEndsAreThePlace) {
  const auto ridge = [](double x, double y) { return falling_south(x, y) - 0.02 * std::abs(x); };
  const PlanCheck fit = only(checks_on(ridge, usual()), "contour fit");
  EXPECT_NEAR(*fit.found, 0.6, 1e-9);
  EXPECT_EQ(fit.verdict, Verdict::look);
  EXPECT_THAT(fit.text, HasSubstr("convex"));
  expect_at(fit, std::nullopt, 5);
  EXPECT_NEAR(std::abs(fit.at->x() - east0), 30, 1e-6);
}

TEST(ContourFit, ASwaleIsConcaveAndItsBottomIsThePlace) {
  const auto swale = [](double x, double y) { return falling_south(x, y) + 0.01 * std::abs(x); };
  const PlanCheck fit = only(checks_on(swale, usual()), "contour fit");
  EXPECT_NEAR(*fit.found, 0.3, 1e-9);
  EXPECT_EQ(fit.verdict, Verdict::look) << "water gathers there, however little the ground differs";
  EXPECT_THAT(fit.text, HasSubstr("concave"));
  expect_at(fit, 0, 5);
}

TEST(ContourFit, TellsTheSkewAndRefusesAMoundThatFacesUphill) {
  const auto slanting = [](double x, double y) { return 100 + 0.0125 * x + 0.05 * y; };
  const PlanCheck skew = only(checks_on(slanting, usual()), "skew from the contour");
  EXPECT_NEAR(*skew.found, std::atan(0.25) * 180 / std::acos(-1.0), 1e-6);
  EXPECT_EQ(skew.verdict, Verdict::told);
  test_support::SiteWithMound site = usual();
  site.mound.downslope = 0;
  EXPECT_EQ(only(checks_on(falling_south, site), "skew from the contour").verdict, Verdict::bad);
}

/// A cone falling 12 % from its peak 100 up the hill from (0, 0), and a bed along its contour in three pieces; with
/// `inward`, a hollow of the same shape, and the bed along its contour.
double round_hill(double x, double y) { return 130 - 0.12 * std::hypot(x, y - 100); }
double hollow(double x, double y) { return 70 + 0.12 * std::hypot(x, y + 100); }
test_support::SiteWithMound bent_along_contour(bool inward) {
  test_support::SiteWithMound site = usual();
  site.mound.bed.line.clear();
  for (const double degrees : {-34.5, -11.5, 11.5, 34.5}) {
    const double angle = degrees * std::acos(-1.0) / 180, y = 100 - 100 * std::cos(angle);
    site.mound.bed.line.emplace_back(east0 + 100 * std::sin(angle), north0 + (inward ? -y : y));
  }
  return site;
}

TEST(ContourFit, ABedThatBendsWithAHillIsConvex) {
  const auto checks = checks_on(round_hill, bent_along_contour(false));
  EXPECT_THAT(only(checks, "contour fit").text, HasSubstr("convex, bowed downslope"));
  const PlanCheck skew = only(checks, "skew from the contour");
  EXPECT_LT(*skew.found, 2.0);
  EXPECT_THAT(skew.text, AllOf(HasSubstr("(piece 1, where the ground falls 12.0 %"), HasSubstr("(piece 3,")));
  EXPECT_EQ(skew.verdict, Verdict::told);
}

TEST(ContourFit, ABedThatBendsWithAHollowIsConcave) {
  const PlanCheck fit = only(checks_on(hollow, bent_along_contour(true)), "contour fit");
  EXPECT_THAT(fit.text, HasSubstr("concave, a swale"));
  EXPECT_EQ(fit.verdict, Verdict::look);
  EXPECT_THAT(fit.what_to_do, HasSubstr("out of it"));
}

TEST(ContourFit, APieceThatFacesUphillIsNamed) {
  test_support::SiteWithMound site = usual();
  site.mound.bed.line = {{east0 - 40, north0}, {east0, north0}, {east0 + 15, north0 - 40}};
  // Falls south under the west piece; under the other, whose downslope side is west, to the east.
  const auto z = [](double x, double y) { return 100 + 0.05 * y - (x > 0 ? 0.04 * x : 0); };
  const PlanCheck skew = only(checks_on(z, site), "skew from the contour");
  EXPECT_EQ(skew.verdict, Verdict::bad);
  EXPECT_THAT(skew.text, HasSubstr("; under piece 1 that is toward the side the plan calls upslope"));
  EXPECT_THAT(skew.what_to_do, HasSubstr("bend or move the bed"));
}

TEST(ContourFit, ABedThatRunsDownTheHillIsToBeLookedAt) {
  const auto along = [](double x, double y) { return 100 + 0.06 * x + 0.05 * y; };
  const PlanCheck skew = only(checks_on(along, usual()), "skew from the contour");
  EXPECT_EQ(skew.verdict, Verdict::look);
  EXPECT_THAT(skew.what_to_do, HasSubstr("along the contour"));
}

// ---- survey reach and catching ----

TEST(SurveyReach, TellsHowFarAndWhichWayToShoot) {
  // The cover's shoulder is 103.25 at 8 from the middle; its 3:1 side meets ground falling on at 5 % at 20.882.
  const double toe = (3.25 + 8.0 / 3) / (1.0 / 3 - 0.05);
  const PlanCheck bad = only(checks_on(falling_south, usual(), {.south = -15}), "survey reach");
  EXPECT_EQ(bad.verdict, Verdict::bad);
  EXPECT_NEAR(*bad.found, toe - 15, 1e-6);
  expect_at(bad, std::nullopt, -15);
  EXPECT_THAT(bad.text, HasSubstr("on the downslope side"));
  EXPECT_THAT(bad.what_to_do, HasSubstr("south of the downslope side"));
  EXPECT_THAT(bad.what_to_do, HasSubstr("N 5979.12"));
  EXPECT_EQ(only(checks_on(falling_south, usual(), {.south = -25}), "survey reach").verdict, Verdict::good);
}

TEST(SurveyReach, EveryFaceThatRunsOffIsTold) {
  const auto reach = named(checks_on(falling_south, usual(), {.east = 35, .south = -15}), "survey reach");
  ASSERT_EQ(reach.size(), 2u);
  EXPECT_THAT(reach[0].text, HasSubstr("downslope side"));
  EXPECT_THAT(reach[1].text, HasSubstr("left end"));
  EXPECT_THAT(reach[1].what_to_do, HasSubstr("east of the left end"));
  expect_at(reach[1], 35, std::nullopt);
}

TEST(SideSlopeCatches, AHillAsSteepAsTheBermIsBad) {
  const auto steep = [](double, double y) { return 100 + 0.4 * y; };
  const auto checks = checks_on(steep, usual());
  const PlanCheck catches = only(checks, "side slope catches");
  EXPECT_EQ(catches.verdict, Verdict::bad);
  EXPECT_NEAR(*catches.found, 40.0, 1e-6);
  EXPECT_NEAR(*catches.asked, 100 / 3.0, 1e-9);
  EXPECT_THAT(catches.text, HasSubstr("downslope side"));
  const auto reach = named(checks, "survey reach");  // the berm widens downhill, so the ends may run off with it
  ASSERT_FALSE(reach.empty());
  EXPECT_THAT(reach[0].text, AllOf(HasSubstr("on the downslope side"), HasSubstr("never catch")));
  const auto gentler = [](double, double y) { return 100 + 0.3 * y; };
  EXPECT_TRUE(named(checks_on(gentler, usual()), "side slope catches").empty());
}

TEST(SideSlopeCatches, IsOnlyForAPersonToLookAtWhereTheHillEasesFartherOut) {
  const auto eases = [](double, double y) { return y > -10 ? 100 + 0.4 * y : 96 + 0.01 * (y + 10); };
  EXPECT_EQ(only(checks_on(eases, usual()), "side slope catches").verdict, Verdict::look);
}

// ---- water ----

TEST(Water, ASwaleDammedByABlockFillsToTheBlocksCorner) {
  // Toe: x = +-33, y = +-8. Lowest along the upslope side at x = 0; the water leaves round the corner (33, 8).
  const auto swale = [](double x, double y) { return falling_south(x, y) + 0.1 * std::abs(x); };
  const PlanCheck water = only(checks_on(swale, block()), "water");
  EXPECT_EQ(water.verdict, Verdict::bad);
  EXPECT_NEAR(*water.found, 3.3, 1e-9);
  expect_at(water, 0, 8);
  EXPECT_THAT(water.text, HasSubstr("upslope side"));
  EXPECT_THAT(water.text, HasSubstr("elevation 103.70"));
  EXPECT_THAT(water.text, HasSubstr("over 2178.0 sq ft"));  // a triangle 66 wide and 66 deep
}

TEST(Water, ABedBentDownslopeHoldsAPoolBetweenItsArms) {
  // A block's toe is the bed's line set off by 8, and 3 beyond its ends: the inner corner of the arms is at
  // (0, 4 sqrt 5), their upslope outer corners, round which the water leaves, at (30 - 2 / sqrt 5, 15 + 19 / sqrt 5).
  test_support::SiteWithMound site = block();
  site.mound.bed.line = {{east0 - 30, north0 + 15}, {east0, north0}, {east0 + 30, north0 + 15}};
  const Ground ground = make_ground(shots_of(falling_south));
  const MoundPlace place = place_as_drawn(ground, site.mound);
  const auto spots = low_spots_at_toe(ground, build_up(place).toe, 0.01);
  ASSERT_EQ(spots.size(), 1u);
  const double root = std::sqrt(5.0), inner = 4 * root;
  const Point2 corner(30 - 2 / root, 15 + 19 / root);
  const Point2 spill = ground.to_world(spots[0].spill) - Point2(east0, north0);
  EXPECT_NEAR(std::abs(spill.x()), corner.x(), 1e-6);
  EXPECT_NEAR(spill.y(), corner.y(), 1e-6);
  EXPECT_NEAR(spots[0].level, falling_south(0, corner.y()), 1e-9);
  EXPECT_NEAR(spots[0].depth, 0.05 * (corner.y() - inner), 1e-9);
  EXPECT_NEAR(spots[0].area, corner.x() * (corner.y() - inner), 1e-6);
}

TEST(Water, NothingStandsOnAnEvenSlopeOrARidge) {
  EXPECT_EQ(only(checks_on(falling_south, block()), "water").verdict, Verdict::good);
  EXPECT_EQ(only(checks_on(falling_south, usual()), "water").verdict, Verdict::good);
  const auto ridge = [](double x, double y) { return falling_south(x, y) - 0.02 * std::abs(x); };
  EXPECT_EQ(only(checks_on(ridge, usual()), "water").verdict, Verdict::good);
}

TEST(Water, AHollowAwayFromTheMoundIsNoneOfItsBusiness) {
  const auto hollow = [](double x, double y) { return x == 0 && y == 50 ? 100.0 : falling_south(x, y); };
  EXPECT_EQ(only(checks_on(hollow, block()), "water").verdict, Verdict::good);
}

TEST(Water, AHollowAtTheToeIsFoundWhicheverSideItIsOn) {
  const auto hollow = [](double x, double y) { return x == 0 && y == -10 ? 98.0 : falling_south(x, y); };
  const PlanCheck water = only(checks_on(hollow, block()), "water");
  EXPECT_EQ(water.verdict, Verdict::bad);
  EXPECT_THAT(water.text, HasSubstr("downslope side"));
  // Spills over (0, -15) at 99.25; on the toe the ground between (0, -10) and (0, -5) is 98.70 at y = -8.
  EXPECT_NEAR(*water.found, 0.55, 1e-9);
  EXPECT_THAT(water.text, HasSubstr("1.25 ft farther out"));
  expect_at(water, std::nullopt, -8);
  EXPECT_LT(std::abs(water.at->x() - east0), 2 + 1e-9) << "as low anywhere between two edges of triangles";
}

TEST(Water, OfManyPuddlesTheWorstAreToldAndTheRestCounted) {
  // A dent of half a foot in every second shot along the block's upslope toe, each a puddle of its own.
  const auto dents = [](double x, double y) {
    return y == 10 && std::abs(x) <= 30 && std::lround(x) % 10 == 0 ? 100.0 - 0.001 * x : falling_south(x, y);
  };
  const auto water = named(checks_on(dents, block()), "water");
  ASSERT_EQ(water.size(), 6u);
  for (std::size_t i = 1; i < water.size(); ++i) EXPECT_LE(*water[i].found, *water[i - 1].found);
  // The one at x = 30 runs out round the corner, so the next is the worst: dented at (20, 10), and as low at the toe
  // from there to the edge between (20, 10) and (25, 5).
  expect_at(water[0], std::nullopt, 8);
  EXPECT_NEAR(water[0].at->x() - east0, 21, 1 + 1e-6);
  EXPECT_NEAR(*water[0].found, 100.40 - (99.98 + 0.4 * (100.25 - 99.98)), 1e-9);  // over the sill at (25, 8)
  EXPECT_THAT(water[5].text, HasSubstr("2 more low spots"));
}

/// The depth of water against the mound on a fine raster of the finished surface, and its area: no code in common.
std::pair<double, double> water_on_raster(const PlacedMound& mound, double step) {
  const int n = static_cast<int>(std::lround(200 / step)) + 1;
  const Layer& cover = mound.design().layers.back();
  const Ground& ground = mound.ground;
  std::vector<double> z(static_cast<std::size_t>(n * n)), level(z.size(), 1e9);
  std::vector<bool> covered(z.size());
  const auto place = [&](int i, int j) { return Point2(-100 + step * i, -100 + step * j); };
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) {
      const Point2 p = place(i, j);
      const double out =
          std::max({std::abs(p.x()) - 30 - cover.beyond.left, std::abs(p.y()) - 5 - cover.beyond.upslope, 0.0});
      const double finish = mound.buildup.bottom_elevation + cover.top - out / cover.side.upslope;
      const double natural = *elevation_at(ground, ground.to_local(p + Point2(east0, north0)));
      const auto k = static_cast<std::size_t>(i) * static_cast<std::size_t>(n) + static_cast<std::size_t>(j);
      covered[k] = finish > natural;
      z[k] = std::max(natural, finish);
      if (i == 0 || j == 0 || i == n - 1 || j == n - 1) level[k] = z[k];
    }
  }
  for (bool changed = true; changed;) {  // lower levels until nothing changes
    changed = false;
    for (int sweep = 0; sweep < 2; ++sweep) {
      for (int q = 0; q < n * n; ++q) {
        const int k = sweep == 0 ? q : n * n - 1 - q, i = k / n, j = k % n;
        for (int di = -1; di <= 1; ++di) {
          for (int dj = -1; dj <= 1; ++dj) {
            if (i + di < 0 || j + dj < 0 || i + di >= n || j + dj >= n) continue;
            const double through = std::max(z[static_cast<std::size_t>(k)],
                                            level[static_cast<std::size_t>(i + di) * static_cast<std::size_t>(n) +
                                                  static_cast<std::size_t>(j + dj)]);
            if (through < level[static_cast<std::size_t>(k)] - 1e-12)
              level[static_cast<std::size_t>(k)] = through, changed = true;
          }
        }
      }
    }
  }
  double deepest = 0, area = 0;
  for (std::size_t k = 0; k < z.size(); ++k) {
    if (covered[k] || !(level[k] > z[k])) continue;
    deepest = std::max(deepest, level[k] - z[k]);
    area += step * step;
  }
  return {deepest, area};
}

TEST(Water, AgreesWithAFineRasterOnASlopingBermInASwale) {
  const auto swale = [](double x, double y) { return falling_south(x, y) + 0.04 * std::abs(x - 5) + 0.001 * x; };
  const std::vector<Shot> shots = shots_of(swale);
  const Ground ground = make_ground(shots);
  const PlacedMound mound = place_mound(place_as_drawn(ground, usual().mound));
  const Buildup& b = mound.buildup;
  const auto spots = low_spots_at_toe(ground, b.toe, 0.01);
  ASSERT_EQ(spots.size(), 1u);
  const auto [depth, area] = water_on_raster(mound, 0.5);
  EXPECT_GT(depth, 0.5);
  EXPECT_NEAR(spots[0].depth, depth, 0.04) << "half a step up a 5 % slope and a 4 % side";
  EXPECT_NEAR(spots[0].area, area, 0.03 * area);
}

// ---- keep clear ----

KeepClear feature(const std::string& name, std::vector<Point2> line, bool closed = false) {
  for (Point2& p : line) p += Point2(east0, north0);
  return {name, std::move(line), closed, std::nullopt, std::nullopt};
}

TEST(KeepClear, MeasuresFromTheBedAndFromTheToe) {
  test_support::SiteWithMound site = usual();
  KeepClear well = feature("the well", {{0, 50}});
  well.from_bed = 50;
  well.from_toe = 30;
  site.lot.requirements.keep_clear = {well};
  const auto checks = named(checks_on(falling_south, site), "keep clear");
  ASSERT_EQ(checks.size(), 2u);
  EXPECT_EQ(checks[0].verdict, Verdict::bad);
  EXPECT_NEAR(*checks[0].found, 45.0, 1e-9);
  expect_at(checks[0], 0, 5);
  EXPECT_THAT(checks[0].what_to_do, HasSubstr("5.00 ft"));
  EXPECT_EQ(checks[1].verdict, Verdict::good);
  const double toe = 8 + 2.85 / (1.0 / 3 + 0.05);  // shoulder 103.25 over 100.4, ground rising to meet it
  EXPECT_NEAR(*checks[1].found, 50 - toe, 1e-6);
  expect_at(checks[1], 0, toe);
}

// 50 ft from a drinking water well (Minnesota Rules, part 4725.4450): at 50 it passes, a hundredth nearer it does not.
TEST(KeepClear, PassesAtWhatIsAskedAndFailsAHundredthNearer) {
  const double toe = 8 + 2.85 / (1.0 / 3 + 0.05);
  const auto well_at = [&](double north, bool from_bed) {
    test_support::SiteWithMound site = usual();
    KeepClear well = feature("the well", {{0, north}});
    (from_bed ? well.from_bed : well.from_toe) = 50;
    site.lot.requirements.keep_clear = {well};
    return only(checks_on(falling_south, site), "keep clear");
  };
  for (const bool from_bed : {true, false}) {
    const double edge = from_bed ? 5 : toe;
    EXPECT_EQ(well_at(edge + 50 + 1e-6, from_bed).verdict, Verdict::good);
    const PlanCheck bad = well_at(edge + 49.99, from_bed);
    EXPECT_EQ(bad.verdict, Verdict::bad);
    EXPECT_THAT(bad.what_to_do, HasSubstr("at least 0.01 ft farther from the well"));
  }
}

TEST(KeepClear, AnAreaThatHoldsTheBedOnlyInPartIsRunInto) {
  test_support::SiteWithMound site = block();
  KeepClear field = feature("the field", {{0, -90}, {90, -90}, {90, 90}, {0, 90}}, true);
  field.from_toe = 10;
  site.lot.requirements.keep_clear = {field};
  EXPECT_THAT(only(checks_on(falling_south, site), "keep clear").text, HasSubstr("runs into"));
}

TEST(KeepClear, ALineThatCrossesAndAnAreaThatHoldsTheMoundAreAtNoDistance) {
  test_support::SiteWithMound site = block();
  KeepClear drive = feature("the drive", {{-50, -7}, {50, -7}}),
            lot = feature("the field", {{-90, -90}, {90, -90}, {0, 90}}, true);
  drive.from_toe = lot.from_toe = 10;
  site.lot.requirements.keep_clear = {drive, lot};
  const auto both = named(checks_on(falling_south, site), "keep clear");
  ASSERT_EQ(both.size(), 2u);
  for (const PlanCheck& check : both) {
    EXPECT_EQ(check.verdict, Verdict::bad);
    EXPECT_EQ(check.found, 0.0);
  }
  EXPECT_THAT(both[0].text, HasSubstr("runs into"));
  // The field's sloping sides are nearest the toe's upper corners: 2 x + y = 90 by 33, 8.
  EXPECT_THAT(both[1].text, HasSubstr("lies inside the field, 7.16 ft from its line"));
  EXPECT_THAT(both[1].what_to_do, HasSubstr("closed = true"));
  drive = feature("the drive", {{-50, -20}, {50, -20}});
  site.lot.requirements.keep_clear = {drive};
  const PlanCheck told = only(checks_on(falling_south, site), "keep clear");
  EXPECT_EQ(told.verdict, Verdict::told);
  EXPECT_NEAR(*told.found, 12.0, 1e-6);
}

// ---- layers ----

TEST(LayersCovered, TellsWhatTheCoverLeavesBare) {
  test_support::SiteWithMound site = usual();
  site.mound.layers[3] = layer("cover", "sandy loam", 1, 2, 3);  // the shell, 1 high, goes on to 3
  const auto checks = named(checks_on(falling_south, site), "layers covered");
  ASSERT_EQ(checks.size(), 2u);
  EXPECT_EQ(checks[0].verdict, Verdict::look);
  EXPECT_THAT(checks[0].text, HasSubstr("cover leaves stone bare over 600.0 sq ft; the two are flush"));
  const PlanCheck& bare = checks[1];
  EXPECT_EQ(bare.verdict, Verdict::bad);
  EXPECT_NEAR(*bare.found, 1.0 / 3, 1e-5);
  EXPECT_THAT(bare.text, HasSubstr("cover leaves shell bare over 456.0 sq ft"));  // 66 x 16 less the stone
  ASSERT_TRUE(bare.at);
  const double x = std::abs(bare.at->x() - east0), y = std::abs(bare.at->y() - north0);
  EXPECT_TRUE(std::abs(x - 33) < 1e-4 || std::abs(y - 8) < 1e-4) << x << " " << y;
  EXPECT_EQ(only(checks_on(falling_south, usual()), "layers covered").verdict, Verdict::good);
}

TEST(SteepSide, IsToldWhereNothingLiesAgainstIt) {
  const auto steep = named(checks_on(falling_south, block()), "steep side");
  ASSERT_EQ(steep.size(), 4u);
  EXPECT_EQ(steep[0].verdict, Verdict::look);
  EXPECT_THAT(steep[0].text, HasSubstr("upslope side of core is vertical and stands 3.35 ft"));  // 103.75 over 100.40
  expect_at(steep[0], 0, 8);
  test_support::SiteWithMound site = usual();
  site.mound.layers[3].side.downslope = 1.4;
  const PlanCheck one = only(checks_on(falling_south, site), "steep side");
  EXPECT_THAT(one.text, HasSubstr("downslope side of cover is 1.4:1"));
  EXPECT_THAT(one.text, HasSubstr("steeper than 1.5:1 does not stand alone (common practice)"));
  expect_at(one, 0, -8);
  site.mound.layers[3].side.downslope = 1.5;
  EXPECT_TRUE(named(checks_on(falling_south, site), "steep side").empty());
}

TEST(SteepSide, OfALayerThatLiesInsideAnotherIsNotTold) {
  test_support::SiteWithMound site = usual();
  std::reverse(site.mound.layers.begin(), site.mound.layers.end());  // the cover first: nothing else adds anything
  const auto checks = checks_on(falling_south, site);
  EXPECT_EQ(named(checks, "layer adds nothing").size(), 3u);
  EXPECT_TRUE(named(checks, "steep side").empty());
}

TEST(LayersCovered, ALastLayerOfNoThicknessIsFlush) {
  test_support::SiteWithMound site = usual();
  site.mound.layers[3].crown = 0.5;
  site.mound.layers.push_back(site.mound.layers[3]);
  site.mound.layers.back().name = "topsoil";
  const PlanCheck flush = only(checks_on(falling_south, site), "layers covered");
  EXPECT_EQ(flush.verdict, Verdict::look);
  EXPECT_THAT(flush.text, HasSubstr("flush"));
}

TEST(Laterals, LieInTheStone) {
  test_support::SiteWithMound site = usual();
  EXPECT_TRUE(named(checks_on(falling_south, site), "laterals").empty());
  site.mound.lateral_invert = 0.6;
  const PlanCheck good = only(checks_on(falling_south, site), "laterals");
  EXPECT_EQ(good.verdict, Verdict::good);
  EXPECT_THAT(good.text, HasSubstr("at 102.35 lies in stone, 0.40 ft under its top"));  // bed bottom 101.75
}

TEST(Laterals, AboveTheStoneAreBad) {
  test_support::SiteWithMound site = usual();
  site.mound.lateral_invert = 1.0;  // on the stone, in the cover
  const PlanCheck cover = only(checks_on(falling_south, site), "laterals");
  EXPECT_EQ(cover.verdict, Verdict::bad);
  EXPECT_THAT(cover.text, HasSubstr("lies in cover, not in stone, which lies on the bed bottom up to 102.75"));
  site.mound.lateral_invert = 1.5;
  EXPECT_THAT(only(checks_on(falling_south, site), "laterals").text, HasSubstr("above every layer"));
}

TEST(Laterals, MayLieInASecondLayerOfTheSameStone) {
  test_support::SiteWithMound site = usual();
  site.mound.layers[1].top = 0.5;
  site.mound.layers.insert(site.mound.layers.begin() + 2, layer("upper stone", "washed stone", 1, 0));
  site.mound.lateral_invert = 0.5;
  EXPECT_THAT(only(checks_on(falling_south, site), "laterals").text, HasSubstr("lies in upper stone"));
  site.mound.layers[2].material = "sandy loam";
  EXPECT_EQ(only(checks_on(falling_south, site), "laterals").verdict, Verdict::bad);
}

// Sand up to 0.25 above the bed bottom, the stone on that: the laterals belong in the stone all the same.
TEST(Laterals, LieInTheStoneOverSandThatRisesAboveTheBedBottom) {
  for (const bool core_is_wider : {true, false}) {
    SCOPED_TRACE(core_is_wider);
    test_support::SiteWithMound site = usual();
    site.mound.layers[0].top = 0.25;
    if (!core_is_wider) site.mound.layers[0].beyond = ByFace::all(0);
    site.mound.lateral_invert = 0.25;
    const PlanCheck good = only(checks_on(falling_south, site), "laterals");
    EXPECT_EQ(good.verdict, Verdict::good);
    EXPECT_THAT(good.text, HasSubstr("at 102.00 lies in stone, 0.75 ft under its top"));
    site.mound.lateral_invert = 0.2;
    const PlanCheck under = only(checks_on(falling_south, site), "laterals");
    EXPECT_EQ(under.verdict, Verdict::bad);
    EXPECT_THAT(under.text, HasSubstr("lies in core, not in stone, which lies on core at 102.00 up to 102.75"));
    EXPECT_EQ(under.what_to_do, "raise the invert in [laterals]");
    site.mound.lateral_invert = 1.0;
    const PlanCheck over = only(checks_on(falling_south, site), "laterals");
    EXPECT_EQ(over.verdict, Verdict::bad);
    EXPECT_THAT(over.text, HasSubstr("lies in cover, not in stone"));
    EXPECT_THAT(over.what_to_do, HasSubstr("lower the invert"));
  }
}

// One sand over everything, its side running out from the bed's edge.
TEST(Laterals, LieInTheStoneOverASandWhoseSideSlopes) {
  test_support::SiteWithMound site = usual();
  site.mound.layers = {layer("sand", "clean sand", 0.25, 0, 3), layer("stone", "washed stone", 1, 0),
                       layer("cover", "sandy loam", 1.5, 3, 3)};
  site.mound.lateral_invert = 0.5;
  EXPECT_THAT(only(checks_on(falling_south, site), "laterals").text, HasSubstr("lies in stone"));
  site.mound.lateral_invert = 1.2;
  EXPECT_EQ(only(checks_on(falling_south, site), "laterals").verdict, Verdict::bad);
}

TEST(ShellWidth, UnderTwoFeetIsToldByFace) {
  test_support::SiteWithMound site = usual();
  site.mound.layers[2].beyond.left = 2.5;
  const PlanCheck thin = only(checks_on(falling_south, site), "shell width");
  EXPECT_NEAR(*thin.found, 1.5, 1e-9);
  EXPECT_THAT(thin.text, HasSubstr("left end"));
}

TEST(LayerAddsNothing, IsTold) {
  test_support::SiteWithMound site = usual();
  site.mound.layers.insert(site.mound.layers.begin() + 1, layer("lost", "sand", -0.5, 1));
  const PlanCheck lost = only(checks_on(falling_south, site), "layer adds nothing");
  EXPECT_EQ(lost.verdict, Verdict::look);
  EXPECT_THAT(lost.text, HasSubstr("lost"));
}

TEST(Undercut, MustLieInsideTheFootprint) {
  test_support::SiteWithMound site = usual();
  site.mound.prepare.undercut = Undercut{97, ByFace::all(1), ByFace::all(1)};
  EXPECT_EQ(only(checks_on(level, site), "undercut").verdict, Verdict::good);
  // Sides at 8:1 from 3 deep come out 25 beyond the bed; on level ground the cover (3 high at 3 out, 3:1) ends at 12.
  site.mound.prepare.undercut->side = {1, 1, 8, 1};
  const PlanCheck out = only(checks_on(level, site), "undercut");
  EXPECT_EQ(out.verdict, Verdict::bad);
  // Beyond 12 at the left end: the mouth widens from 9 out to 4 + 5 at the edges as the end comes up 1 in 8.
  EXPECT_THAT(out.text, HasSubstr("toward the left end"));
  EXPECT_THAT(out.text, HasSubstr("in no quantity"));
  ASSERT_TRUE(out.at);
  EXPECT_GT(out.at->x() - east0, 30 + 12);
  EXPECT_LT(out.at->x() - east0, 30 + 25);
  EXPECT_NEAR(*out.found, 13 * (10 + 2 + 6), 1e-6);  // as wide as bed, flat bottom and 1:1 sides at ground
}

TEST(Specks, AreToldWithTheirArea) {
  const std::vector<Shot> shots = shots_of(falling_south);
  const Ground ground = make_ground(shots);
  const test_support::SiteWithMound site = usual();
  PlacedMound mound = place_mound(place_as_drawn(ground, site.mound));
  mound.buildup.specks = 2;
  mound.buildup.specks_area = 3.25;
  const PlanCheck told = only(check_plan(mound, check_options(site)), "specks");
  EXPECT_EQ(told.verdict, Verdict::told);
  EXPECT_EQ(told.found, 3.25);
}

}  // namespace
}  // namespace moundwright

// A survey in two places: told whichever part is the larger, with the cause, and the lot by what is known of it.
#include "geom/far_parts.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>

namespace moundwright {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

/// 144 shots of 190 by 190 about N 8100, E 3100, 10 % down to the north; `change` spoils each `i` that `which` picks.
std::vector<Shot> lot(const std::function<bool(std::size_t)>& which, const std::function<void(Shot&)>& change) {
  std::vector<Shot> shots;
  for (int i = 0; i < 12; ++i) {
    for (int k = 0; k < 12; ++k) {
      const double n = 8005 + 17.0 * i + (k % 3), e = 3005 + 17.0 * k + (i % 2);
      shots.push_back({std::to_string(101 + shots.size()), n, e, 410 - 0.1 * (n - 8100), "GS", 0});
    }
  }
  for (std::size_t i = 0; i < shots.size(); ++i) {
    if (which(i)) change(shots[i]);
  }
  return shots;
}

const LotPlaces places = {Point2(3100, 8100), {{"BM", {3010, 8010}, 420.0}}};

void exchange(Shot& s) { std::swap(s.northing, s.easting); }
void to_metres(Shot& s) { s.northing *= 0.3048, s.easting *= 0.3048, s.elevation *= 0.3048; }
void to_own_frame(Shot& s) { s.northing -= 7000, s.easting -= 2000; }

TEST(FarParts, AreToldWhicheverIsTheLarger) {
  const std::vector<std::pair<std::function<void(Shot&)>, std::string>> slips = {
      {exchange, "with northing and easting exchanged"},
      {to_metres, "taken as meters and turned into feet"},
      {to_own_frame, "coordinates of their own"}};
  for (const auto& [slip, cause] : slips) {
    for (const std::size_t count : {10U, 36U, 45U, 72U, 100U, 130U}) {
      const FarParts found = find_far_parts(lot([count = count](std::size_t i) { return i < count; }, slip), places);
      ASSERT_THAT(found.parts, SizeIs(1)) << cause << " " << count;
      EXPECT_TRUE(found.is_lot_known);
      EXPECT_THAT(found.parts[0].shots, SizeIs(count)) << "the bed and the bench mark are among the others";
      EXPECT_EQ(found.parts[0].shots.back(), count - 1);
      EXPECT_THAT(found.parts[0].what,
                  AllOf(HasSubstr(cause), HasSubstr("of the 144 shots lie"), HasSubstr("where the bed ")));
    }
    // by turns, as two crews that shot side by side
    const FarParts turns = find_far_parts(lot([](std::size_t i) { return i % 2 == 1; }, slip), places);
    ASSERT_THAT(turns.parts, SizeIs(1)) << cause;
    EXPECT_THAT(turns.parts[0].shots, SizeIs(72));
  }
}

TEST(FarParts, ElevationsOfAnotherDatumAreTold) {
  const auto half = [](std::size_t i) { return i % 2 == 1; };
  const FarParts lower = find_far_parts(lot(half, [](Shot& s) { s.elevation -= 300; }), places);
  ASSERT_THAT(lower.parts, SizeIs(1));
  EXPECT_TRUE(lower.is_lot_known);
  EXPECT_THAT(lower.parts[0].shots, SizeIs(72));
  EXPECT_EQ(lower.parts[0].shots.front(), 1U);
  EXPECT_THAT(lower.parts[0].what, AllOf(HasSubstr("281 below the others"), HasSubstr("another datum")));
  const FarParts metres = find_far_parts(lot(half, [](Shot& s) { s.elevation *= 0.3048; }), places);
  ASSERT_THAT(metres.parts, SizeIs(1));
  EXPECT_THAT(metres.parts[0].what, HasSubstr("their elevations, taken as meters and turned into feet"));
}

TEST(FarParts, AreInDoubtWhereNothingTellsTheLot) {
  const auto shots = lot([](std::size_t i) { return i < 60; }, exchange);
  const std::vector<LotPlaces> in_doubt = {
      {}, {Point2(60000, 60000), {}}, {Point2(3100, 8100), {{"BM", {8010, 3010}, 420.0}}}};  // one says each
  for (const LotPlaces& known : in_doubt) {
    const FarParts found = find_far_parts(shots, known);
    EXPECT_FALSE(found.is_lot_known);
    ASSERT_THAT(found.parts, SizeIs(2));
    EXPECT_EQ(found.in_doubt.severity, Severity::error);
    EXPECT_THAT(found.in_doubt.what, AllOf(HasSubstr("two places far apart, 84 shots at N 8"),
                                           HasSubstr("60 shots at N 3"), HasSubstr("exchanged")));
    EXPECT_THAT(found.in_doubt.what_to_do, testing::Not(IsEmpty()));
  }
  EXPECT_THAT(find_far_parts(shots, {Point2(3100, 8100), {{"BM", {8010, 3010}, 420.0}}}).in_doubt.what,
              HasSubstr("the bed is near one and the bench mark near another"));
  EXPECT_TRUE(find_far_parts(shots, {Point2(3100, 8100), {}}).is_lot_known);
  EXPECT_THAT(find_far_parts(shots, {}).parts[0].what, HasSubstr("away in plan from the others"));
}

TEST(FarParts, SayWhatShowsTheLotAndHowFarTheyAreFromIt) {
  const FarParts found = find_far_parts(lot([](std::size_t i) { return i < 36; }, to_own_frame), places);
  ASSERT_THAT(found.parts, SizeIs(1));
  EXPECT_THAT(found.parts[0].what, HasSubstr(", where the bed and the bench mark are"));
  // Of twelve rows 17 apart, the middle of the first three is 102 south of the middle of the others.
  EXPECT_THAT(found.parts[0].what, testing::ContainsRegex("northings about -710[0-9], eastings about -200[0-9]"));
}

TEST(FarParts, AFewStraysBesideDoNotHideThem) {
  auto shots = lot([](std::size_t i) { return i < 60; }, exchange);
  shots[100].easting *= 1000, shots[101].elevation = -9999, shots[102].northing = 0;
  const FarParts found = find_far_parts(shots, places);
  ASSERT_THAT(found.parts, SizeIs(1));
  EXPECT_THAT(found.parts[0].shots, SizeIs(60));
}

TEST(FarParts, SurveysInOnePlaceHaveNone) {
  const auto none = [](std::size_t) { return false; };
  EXPECT_THAT(find_far_parts(lot(none, exchange), places).parts, IsEmpty());
  auto shots = lot(none, exchange);  // the lot, and a road with a culvert 600 off
  for (int i = 0; i < 40; ++i) shots.push_back({"R", 8800.0 + 12 * i, 3100.0 + 24 * (i % 2), 380.0 + i, "EP", 0});
  EXPECT_THAT(find_far_parts(shots, places).parts, IsEmpty());
  shots = lot([](std::size_t i) { return i < 72; }, [](Shot& s) { s.elevation += 40; });  // a cliff across the lot
  EXPECT_THAT(find_far_parts(shots, places).parts, IsEmpty());
  EXPECT_THAT(find_far_parts({}, places).parts, IsEmpty());
  EXPECT_THAT(find_far_parts(std::vector<Shot>(40, Shot{"1", 5, 5, 5, "", 0}), places).parts, IsEmpty());
}

// ---- the limits that geom/far_parts.h states, each a little within and a little past it ----

/// 16 shots on a square of this side, from its south-west corner, rising by `step` from row to row.
std::vector<Shot> square(double n, double e, double side, double z = 100, double step = 0) {
  std::vector<Shot> shots;
  for (int i = 0; i < 4; ++i) {
    for (int k = 0; k < 4; ++k) shots.push_back({"", n + side * i / 3, e + side * k / 3, z + step * i, "GS", 0});
  }
  return shots;
}

std::vector<Shot> both(std::vector<Shot> a, const std::vector<Shot>& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}

bool is_apart(const std::vector<Shot>& a, const std::vector<Shot>& b) {
  const bool found = !find_far_parts(both(a, b), {}).parts.empty();
  EXPECT_EQ(!find_far_parts(both(b, a), {}).parts.empty(), found) << "in the other order";
  return found;
}

TEST(FarParts, HaveATwentiethOfTheShotsAndFive) {
  const auto parts = [](std::size_t count, std::size_t of) {
    std::vector<Shot> shots = lot([=](std::size_t i) { return i < count; }, to_own_frame);
    shots.resize(of);
    return find_far_parts(shots, places).parts.size();
  };
  EXPECT_EQ(parts(4, 40), 0U);
  EXPECT_EQ(parts(5, 40), 1U);
  EXPECT_EQ(parts(7, 144), 0U);  // 7.2 is the twentieth
  EXPECT_EQ(parts(8, 144), 1U);
}

TEST(FarParts, AreFiveTimesTheLargerOnesDiagonalApartInPlan) {
  const double large = 60 * std::sqrt(2.0);
  for (const double times : {4.9, 5.1}) {
    const double gap = times * large;
    const auto small_beyond = square(8000, 3060 + gap, 30), small_before = square(8000, 2970 - gap, 30);
    EXPECT_EQ(is_apart(square(8000, 3000, 60), small_beyond), times > 5) << "to the east";
    EXPECT_EQ(is_apart(square(8000, 3000, 60), small_before), times > 5) << "to the west";
  }
}

TEST(FarParts, OfMetersAmongFeetAreOneAndAHalfTimesApart) {
  // The same square in feet and in meters: 0.6952 of its northing is between them, and 9.1 ft of the one in meters.
  for (const double times : {1.45, 1.55}) {
    const double north = (times * 30 * std::sqrt(2.0) + 30 * 0.3048) / (1 - 0.3048);
    const auto feet = square(north, 0, 30);
    auto metres = feet;
    for (Shot& s : metres) s.northing *= 0.3048, s.easting *= 0.3048;
    EXPECT_EQ(is_apart(feet, metres), times > 1.5) << times;
  }
}

TEST(FarParts, AreFiveTimesTheLargerReliefApartInElevation) {
  for (const double gap : {29.0, 31.0}) {  // relief 6 and none; half the diagonal is 21.2
    const auto low = square(8000, 3000, 30, 100, 2), high = square(8000.1, 3000.1, 30, 106 + gap);
    const auto flat_low = square(8000.1, 3000.1, 30, 100), high_up = square(8000, 3000, 30, 100 + gap, 2);
    EXPECT_EQ(is_apart(low, high), gap > 30) << gap;
    EXPECT_EQ(is_apart(flat_low, high_up), gap > 30) << gap;
  }
}

TEST(FarParts, AreHalfTheSurveysDiagonalApartInElevation) {
  for (const double gap : {20.0, 22.5}) {  // no relief; half the diagonal is 21.2
    EXPECT_EQ(is_apart(square(8000, 3000, 30, 100), square(8000, 3000, 30, 100 + gap)), gap > 21) << gap;
  }
}

TEST(FarParts, ThreeQuartersOfTheShotsTellTheLotWhereNothingElseDoes) {
  const auto is_known = [](std::size_t count) {
    return find_far_parts(lot([=](std::size_t i) { return i < count; }, to_own_frame), {}).is_lot_known;
  };
  EXPECT_TRUE(is_known(35));  // of 144: 0.757 are the others
  EXPECT_FALSE(is_known(37));
}

TEST(FarParts, TheBedIsNearByThreeQuartersOfTheLargestDiagonal) {
  const auto shots = both(square(8000, 3000, 60), square(8000, 4000, 30));
  const double large = 60 * std::sqrt(2.0);
  EXPECT_TRUE(find_far_parts(shots, {Point2(3000 - 0.72 * large, 8030), {}}).is_lot_known);
  EXPECT_FALSE(find_far_parts(shots, {Point2(3000 - 0.78 * large, 8030), {}}).is_lot_known);
}

TEST(FarParts, ABenchMarkIsNearByTwiceTheRelief) {
  const auto shots = both(square(8000, 3000, 30, 100, 2), square(8000, 3000, 30, 137, 2));  // relief 6 each, 31 between
  const auto is_known = [&](double elevation) {
    return find_far_parts(shots, {{}, {{"BM", {3010, 8010}, elevation}}}).is_lot_known;
  };
  EXPECT_TRUE(is_known(106 + 11.5));
  EXPECT_FALSE(is_known(106 + 12.5));
}

// Crews that shot by turns, in a survey of which only every second shot is looked at.
TEST(FarParts, OfALargeSurveyByTurnsAreTold) {
  std::vector<Shot> shots;
  for (int i = 0; i < 100; ++i) {
    for (int k = 0; k < 100; ++k) shots.push_back({"", 8000 + 2.0 * i, 3000 + 2.0 * k, 400 + 0.1 * i, "GS", 0});
  }
  for (std::size_t i = 1; i < shots.size(); i += 2) exchange(shots[i]);
  const FarParts found = find_far_parts(shots, places);
  ASSERT_THAT(found.parts, SizeIs(1));
  EXPECT_THAT(found.parts[0].shots, SizeIs(shots.size() / 2));
}

}  // namespace
}  // namespace moundwright

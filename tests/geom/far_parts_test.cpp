// A survey in two places: told whichever part is the larger, with the cause, and the lot by what is known of it.
#include "geom/far_parts.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

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

}  // namespace
}  // namespace moundwright

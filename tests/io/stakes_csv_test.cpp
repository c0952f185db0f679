#include "io/stakes_csv.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "io/csv_text.h"
#include "io/shots_csv.h"

namespace moundwright::io {
namespace {

using testing::IsEmpty;
using testing::SizeIs;
using testing::StartsWith;

Stake hub() {
  Stake stake;
  stake.number = 1001;
  stake.what = "bed corner upslope-left hub, 25.0 past the corner on the upslope edge line";
  stake.station = "0+75.0";
  stake.offset = "U 5.0";
  stake.northing = 5120.12345;
  stake.easting = -0.0001;
  stake.ground = 99.316;
  stake.walk_order = 1;
  return stake;
}

Stake slope_stake() {
  Stake stake = hub();
  stake.number = 1002;
  stake.kind = StakeKind::slope;
  stake.what = "slope stake by the \"big\" oak";
  stake.design = 103.5;
  stake.cut_fill = "F 4.18";
  stake.to_shoulder = 12.546;
  stake.slope_run = 3.0;
  stake.walk_order = 2;
  return stake;
}

TEST(StakesCsv, AHubLeavesItsElevationBlank) {
  EXPECT_EQ(
      stakes_csv({{hub()}, {}, {}, {}, {}, {}}, LengthUnit::foot),
      "point,northing,easting,elevation,description,kind,station,offset,ground_approx,cut_fill,to_shoulder,slope,"
      "walk_order,hub_shot\n"
      "1001,5120.123,0.000,,\"bed corner upslope-left hub, 25.0 past the corner on the upslope edge line\",hub,0+75.0,"
      "U 5.0,99.32,,,,1,\n");
}

TEST(StakesCsv, TiesAreNamedAfterTheirMarks) {
  StakeOut out{{slope_stake()}, {}, {}, {}, {{"BM1", {0, 0}, {}}, {"oak, 24 in", {0, 0}, {}}}, {}};
  out.stakes[0].ties = {120.456, 80.0};
  EXPECT_EQ(
      stakes_csv(out, LengthUnit::us_survey_foot),
      "point,northing,easting,elevation,description,kind,station,offset,ground_approx,cut_fill,to_shoulder,slope,"
      "tie BM1,\"tie oak, 24 in\",walk_order,hub_shot\n"
      "1002,5120.123,0.000,103.50,\"slope stake by the \"\"big\"\" oak\",slope stake,0+75.0,U 5.0,99.32,F 4.18,12.55,"
      "3:1,120.46,80.00,2,\n");
}

TEST(StakesCsv, MetresCarryMillimetres) {
  const std::string csv = stakes_csv({{slope_stake()}, {}, {}, {}, {}, {}}, LengthUnit::metre);
  EXPECT_THAT(csv, testing::HasSubstr(",103.500,"));
  EXPECT_THAT(csv, testing::HasSubstr(",99.316,F 4.18,12.546,3:1,"));
}

TEST(StakesCsv, OffTheSurveyTheGroundIsBlankAndNothingIsMinusNothing) {
  Stake stake = slope_stake();
  stake.ground.reset();
  stake.cut_fill.clear();
  stake.design = -0.001;
  stake.northing = -0.0002;
  stake.what = "feed point riser";
  EXPECT_THAT(stakes_csv({{stake}, {}, {}, {}, {}, {}}, LengthUnit::foot),
              testing::HasSubstr("\n1002,0.000,0.000,0.00,feed point riser,slope stake,0+75.0,U 5.0,,,12.55,3:1,2,\n"));
}

TEST(StakesCsv, ReadsBackFieldForField) {
  StakeOut out{{hub(), slope_stake()}, {}, {}, {}, {}, {}};
  out.stakes[1].what =
      " two\nlines, a \"quote\" and Gr\xC3\xBC\xC3\x9F"
      "e ";
  const std::string csv = stakes_csv(out, LengthUnit::foot);
  CsvReader reader(csv, ',');
  std::vector<CsvField> fields;
  ASSERT_TRUE(reader.next(fields));
  ASSERT_THAT(fields, SizeIs(14));
  ASSERT_TRUE(reader.next(fields));
  ASSERT_THAT(fields, SizeIs(14));
  EXPECT_EQ(fields[4].text, out.stakes[0].what);
  ASSERT_TRUE(reader.next(fields));
  ASSERT_THAT(fields, SizeIs(14));
  EXPECT_EQ(fields[4].text, out.stakes[1].what);
  EXPECT_FALSE(reader.next(fields));
  EXPECT_THAT(reader.faults(), IsEmpty());
}

TEST(StakesCsv, ADataCollectorsFiveColumnsComeFirst) {
  const StakeOut out{{slope_stake()}, {}, {}, {}, {}, {}};
  const std::string csv = stakes_csv(out, LengthUnit::foot);
  EXPECT_THAT(csv, StartsWith("point,northing,easting,elevation,description,"));
  const Survey survey = shots_from_csv(csv, "stakes.csv");
  ASSERT_THAT(survey.all, SizeIs(1));
  EXPECT_EQ(survey.all[0].point, "1002");
  EXPECT_DOUBLE_EQ(survey.all[0].northing, 5120.123);
  EXPECT_DOUBLE_EQ(survey.all[0].elevation, 103.5);
}

}  // namespace
}  // namespace moundwright::io

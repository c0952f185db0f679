#include "io/shots_csv.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <array>

#include "io/ascii.h"
#include "io/csv_text.h"
#include "scratch.h"

namespace moundwright::io {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::Field;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

Survey read(std::string_view csv, const ShotsOptions& options = {}) { return shots_from_csv(csv, "g.csv", options); }

std::vector<Problem> refused(std::string_view csv, const ShotsOptions& options = {}) {
  return problems_of([&] { read(csv, options); });
}

ShotsOptions columns(std::vector<std::string> words) {
  ShotsOptions options;
  options.columns = std::move(words);
  return options;
}

ShotsOptions codes(std::vector<std::string> breaklines, std::vector<std::string> skip = {}) {
  ShotsOptions options;
  options.codes = {std::move(breaklines), std::move(skip)};
  return options;
}

auto is_shot(const std::string& point, double n, double e, double z, const std::string& description, int line) {
  return AllOf(Field(&Shot::point, point), Field(&Shot::northing, n), Field(&Shot::easting, e),
               Field(&Shot::elevation, z), Field(&Shot::description, description), Field(&Shot::line, line));
}

// --- layouts -------------------------------------------------------------------------------------------------------

TEST(ShotsCsv, WithoutHeaderTheOrderIsPointNorthingEastingElevationDescription) {
  EXPECT_THAT(read("1,5000.5,4890.25,100.2,GS\n2,5010,4891,-1.5e0\n").all,
              ElementsAre(is_shot("1", 5000.5, 4890.25, 100.2, "GS", 1), is_shot("2", 5010, 4891, -1.5, "", 2)));
}

TEST(ShotsCsv, ATableFramedWithBarsIsRead) {
  EXPECT_THAT(read("| 1 | 5000.5 | 4890.25 | 100.2 | GS |\n| 2 | 5010 | 4891 | 101 | |\n").all,
              ElementsAre(is_shot("1", 5000.5, 4890.25, 100.2, "GS", 1), is_shot("2", 5010, 4891, 101, "", 2)));
  EXPECT_THAT(read("| Point | East | North | Elev |\n|---|:---|---:|---|\n| 1 | 4890.25 | 5000.5 | 100.2 |\n").all,
              ElementsAre(is_shot("1", 5000.5, 4890.25, 100.2, "", 3)));
}

TEST(ShotsCsv, HeightIsTheElevationWhereNothingElseIs) {
  for (const char* heading : {"Height", "Ortho Height", "Orthometric height (ft)", "Ortho_Height"}) {
    EXPECT_THAT(read(std::string("Point,Northing,Easting,") + heading + ",Code\n1,5000,4890,100.2,GS\n").all,
                ElementsAre(is_shot("1", 5000, 4890, 100.2, "GS", 2)))
        << heading;
  }
  EXPECT_THAT(read("Point Northing Easting Ortho Height Code\n1 5000 4890 100.2 GS\n").all,
              ElementsAre(is_shot("1", 5000, 4890, 100.2, "GS", 2)));
  EXPECT_THAT(read("Point,Northing,Easting,Height,Elevation\n1,5000,4890,5.2,100.2\n").all,
              ElementsAre(is_shot("1", 5000, 4890, 100.2, "", 2)))
      << "the height of the rod";
  EXPECT_THAT(refused("Point,Northing,Easting,Ellipsoid Height\n1,5000,4890,5.2\n"), testing::Not(IsEmpty()));
}

TEST(ShotsCsv, UnitsInBracketsUnderTheHeaderAreUnits) {
  EXPECT_THAT(read("Point,Northing,Easting,Elevation,Code\n(-),(ft),(ft),[ft],(-)\n1,5000,4890,100.2,GS\n").all,
              ElementsAre(is_shot("1", 5000, 4890, 100.2, "GS", 3)));
  const auto problems = refused("Point,Northing,Easting,Elevation\n(-),(m),(m),(m)\n1,5000,4890,100.2\n");
  ASSERT_THAT(problems, SizeIs(1));
  EXPECT_THAT(problems[0].what, HasSubstr("is not in the job's unit, ft, and 2 more"));
}

TEST(ShotsCsv, AHeaderRepeatedIsPassedOverAndTold) {
  const auto survey = read(
      "Point,Northing,Easting,Elev\n,ft,ft,ft\n1,5000,4890,100\npoint,northing,easting,elev\n,ft,ft,ft\n2,5010,4890,"
      "101\n");
  EXPECT_THAT(survey.all, SizeIs(2));
  ASSERT_THAT(survey.notes.all, SizeIs(1));
  EXPECT_EQ(survey.notes.all[0].severity, Severity::note);
  EXPECT_THAT(survey.notes.all[0].what, HasSubstr("the header is repeated here"));
  EXPECT_EQ(survey.notes.all[0].where, "g.csv line 4");
}

TEST(ShotsCsv, LatitudeAndLongitudeAreSaidToBeDegrees) {
  for (const char* header :
       {"Point,Latitude,Longitude,Elevation", "pt,lat,lon,elev", "Name,Lat (deg),Long (deg),Height"}) {
    const auto problems = refused(std::string(header) + "\n1,44.95,-93.25,830.1\n");
    ASSERT_THAT(problems, SizeIs(1)) << header;
    EXPECT_THAT(problems[0].what, HasSubstr("degrees"));
    EXPECT_THAT(problems[0].what_to_do, HasSubstr("projected grid"));
  }
}

TEST(ShotsCsv, AHeaderTellsTheOrder) {
  for (const char* header : {"Description,Elevation,Easting,Northing,Point", "DESC,Elev.,E,N,Pt", "code,z,x,y,NO",
                             "descr,Elev (ft),East [ft],North,Pt. No.", "Desc,ELEV,e,n,name"}) {
    EXPECT_THAT(read(std::string(header) + "\nGS,100.2,4890.25,5000.5,A-1\n").all,
                ElementsAre(is_shot("A-1", 5000.5, 4890.25, 100.2, "GS", 2)))
        << header;
  }
}

TEST(ShotsCsv, ColumnsTellTheOrderWhereThereIsNoHeader) {
  const auto options = columns({"point", "easting", "northing", "ignore", "elevation"});
  EXPECT_THAT(read("1,4890,5000,99,100.2,GS\n", options).all, ElementsAre(is_shot("1", 5000, 4890, 100.2, "", 1)));
}

TEST(ShotsCsv, ColumnsMayAgreeWithAHeaderOrNameWhatItDoesNot) {
  EXPECT_THAT(read("pt,Hoehe,n,e,desc\n1,100.2,5000,4890,GS\n", columns({"point", "elevation", "northing"})).all,
              ElementsAre(is_shot("1", 5000, 4890, 100.2, "GS", 2)));
}

TEST(ShotsCsv, OtherColumnsArePassedOver) {
  EXPECT_THAT(read("date,pt,n,e,z,hrms\nMay 2,1,5000,4890,100.2,0.02\n").all,
              ElementsAre(is_shot("1", 5000, 4890, 100.2, "", 2)));
  EXPECT_THAT(read("1,5000,4890,100.2,GS,more,,,\n").all, ElementsAre(is_shot("1", 5000, 4890, 100.2, "GS", 1)));
}

TEST(ShotsCsv, SeparatorsAreFoundOut) {
  EXPECT_THAT(read("1;5000;4890;100.2;GS, wet\n").all, ElementsAre(is_shot("1", 5000, 4890, 100.2, "GS, wet", 1)));
  EXPECT_THAT(read("1\t5000\t4890\t100.2\tGS, wet; soft\n").all,
              ElementsAre(is_shot("1", 5000, 4890, 100.2, "GS, wet; soft", 1)));
  EXPECT_THAT(read("\"a;;;;;b\",5000,4890,100.2,GS\n").all,
              ElementsAre(is_shot("a;;;;;b", 5000, 4890, 100.2, "GS", 1)));
}

TEST(ShotsCsv, QuotesCommentsBlankLinesAndEveryEndOfLine) {
  const auto survey = read(
      "\xEF\xBB\xBF# lot 7\r\n"
      "\r\n"
      "1 , +5000 ,4890, 100.2 ,\"EP, \"\"old\"\"\r\ntop\"\r\n"
      ",,,,\r"
      "  # between\n"
      "2,5001,4891,100.3, 12\" pipe \n"
      "3,5002,4892,100.4,last");
  EXPECT_THAT(survey.all,
              ElementsAre(is_shot("1", 5000, 4890, 100.2, "EP, \"old\"\r\ntop", 3),
                          is_shot("2", 5001, 4891, 100.3, "12\" pipe", 7), is_shot("3", 5002, 4892, 100.4, "last", 8)));
  EXPECT_THAT(survey.notes.all, IsEmpty());
}

TEST(ShotsCsv, BlanksAndBarsSeparateToo) {
  const auto same = ElementsAre(is_shot("1", 5000.5, 4890.25, 100.2, "GS wet, soft", 1),
                                is_shot("P 2", 5010, 4891, 99, "EDGE OF ROAD", 2), is_shot("3", 5, 6, 7, "", 3));
  EXPECT_THAT(read("1 5000.5 4890.25 100.2 GS wet, soft\n\"P 2\"  5010\t4891 99   \"EDGE OF ROAD\" \n 3 5 6 7 \n").all,
              same);
  EXPECT_THAT(read("1|5000.5|4890.25|100.2|GS wet, soft\nP 2|5010|4891|99|EDGE OF ROAD\n3|5|6|7\n").all, same);
  // Tabs between fields leave blanks in them alone.
  EXPECT_THAT(read("P 2\t5010\t4891\t99\tEDGE OF ROAD\n").all,
              ElementsAre(is_shot("P 2", 5010, 4891, 99, "EDGE OF ROAD", 1)));
  EXPECT_THAT(read("1,5000,4890,100,1;2;3;4\n").all, ElementsAre(is_shot("1", 5000, 4890, 100, "1;2;3;4", 1)));
}

TEST(ShotsCsvRefusal, ANameOfTwoWordsBetweenBlanks) {
  EXPECT_THAT(refused("1 5000.0 4890.0 100.0 GS\nBM 1 5000.0 4890.0 100.0\n"),
              ElementsAre(is_error("g.csv line 2", "a number follows the elevation: \"100.0\"")));
  EXPECT_THAT(read("1 5000.0 4890.0 100.0 12 oaks\n").all, SizeIs(1));
}

TEST(ShotsCsv, HeadingsWithBlanksAreUnderstood) {
  for (const char* header :
       {"Point Number,Grid Northing,Grid Easting,Elev (ft),Point Code",
        "Pt No.,Y Coordinate,X Coordinate,Z,Description", "POINT_ID,Northing ft,Easting ft,Elevation ft,Feature Code",
        "Name,Ground North,Ground East,El.,Code", "P,N,E,Z,D"}) {
    EXPECT_THAT(read(std::string(header) + "\nA-1,5000.5,4890.25,100.2,EDGE OF ROAD\n").all,
                ElementsAre(is_shot("A-1", 5000.5, 4890.25, 100.2, "EDGE OF ROAD", 2)))
        << header;
  }
  for (const char* header : {"Point Number  Grid Easting   Grid Northing  Elev (ft)  Description",
                             "Pt E N Elev (Intl ft) Point Code", "P\tE  N Z Desc"}) {
    EXPECT_THAT(read(std::string(header) + "\nA-1 4890.25  5000.5 100.2 EDGE OF ROAD\n").all,
                ElementsAre(is_shot("A-1", 5000.5, 4890.25, 100.2, "EDGE OF ROAD", 2)))
        << header;
  }
}

TEST(ShotsCsv, PointsWithoutNumbersAreNamedByTheirLines) {
  const auto survey = read("n,e,z,desc\n5000,4890,100.5,GS\n\n5001,4891,101,EP\n");
  EXPECT_THAT(survey.all,
              ElementsAre(is_shot("line 2", 5000, 4890, 100.5, "GS", 2), is_shot("line 4", 5001, 4891, 101, "EP", 4)));
  EXPECT_THAT(survey.notes.all,
              ElementsAre(is_note("g.csv", "the points have no numbers: they are named by their lines")));
  const auto given = columns({"x", "y", "z", "description"});
  for (const char* csv : {"4890.5,5000,100,GS\n", "4890.5 5000 100 GS\n", "4890,5;5000;100;GS\n"}) {
    EXPECT_THAT(read(csv, given).all, ElementsAre(is_shot("line 1", 5000, 4890.5, 100, "GS", 1))) << csv;
  }
}

TEST(ShotsCsvRefusal, PointsWithoutNumbersOfNoKnownOrder) {
  for (const char* csv : {"5000.5,4890.25,100.2\n5001,4890,100\n", "5000.5 4890.25 100.2\n", "5000,4890,100\n",
                          "5000.5,4890.25,100.2,GS\n5001.5,4890.25,100.2,EP\n", "4890.125,5000.25,100.2,12\n"}) {
    const auto problems = refused(csv);
    EXPECT_THAT(problems, ElementsAre(is_error("g.csv line 1", "the points seem to have no numbers"))) << csv;
    EXPECT_THAT(problems.front().what_to_do, HasSubstr("columns = [\"northing\", \"easting\", \"elevation\"]"));
  }
}

TEST(ShotsCsv, CommasBetweenThousandsAndForDecimalPoints) {
  const auto thousands = read("1,\"5,120.00\",\"4,890\",100.2,GS\n2,\"1,005,120.5\",4890.5,99\n");
  EXPECT_THAT(thousands.all,
              ElementsAre(is_shot("1", 5120, 4890, 100.2, "GS", 1), is_shot("2", 1005120.5, 4890.5, 99, "", 2)));
  EXPECT_THAT(thousands.notes.all,
              ElementsAre(is_note("g.csv line 1", "commas between thousands: \"5,120.00\" is read as 5120")));
  // Only a later line tells how the first is meant.
  for (const char separator : {';', '\t', '|', ' '}) {
    std::string csv = "1;5,125;4890;100,125;GS\n2;5000,5;1.004.890,25;99;EP\n";
    std::replace(csv.begin(), csv.end(), ';', separator);
    const auto decimal = read(csv);
    EXPECT_THAT(decimal.all,
                ElementsAre(is_shot("1", 5.125, 4890, 100.125, "GS", 1), is_shot("2", 5000.5, 1004890.25, 99, "EP", 2)))
        << csv;
    EXPECT_THAT(decimal.notes.all,
                ElementsAre(is_note("g.csv line 2", "commas for decimal points: \"5000,5\" is read as 5000.5")));
  }
  // Decimal points elsewhere in the file leave the comma one meaning.
  EXPECT_THAT(read("1,\"5,120\",4890.25,100\n").all, ElementsAre(is_shot("1", 5120, 4890.25, 100, "", 1)));
}

TEST(ShotsCsv, UnitMarksThatAgreeWithTheJobAreTaken) {
  const auto same = ElementsAre(is_shot("1", 5000.5, 4890, 100.25, "GS", 2));
  for (const LengthUnit unit : {LengthUnit::foot, LengthUnit::us_survey_foot, LengthUnit::metre}) {
    ShotsOptions options;
    options.unit = unit;
    const std::string mark = unit == LengthUnit::metre ? "m" : "ft";
    for (const std::string& csv : {"p,n,e,Elev (" + mark + "),d\n1,5000.5 " + mark + ",4890" + mark + ",100.25,GS\n",
                                   "p,n (" + mark + "),e " + mark + ",z,d\n1,5000.5,4890,100.25 " + mark + ",GS\n"}) {
      const auto survey = read(csv, options);
      EXPECT_THAT(survey.all, same) << csv;
      EXPECT_THAT(survey.notes.all, IsEmpty());
    }
  }
  EXPECT_THAT(read("p,n,e,z,d\n1,5000.5',4890,100.25',GS\n").all, same);
  EXPECT_THAT(read("p,n,e,z,d\n,ft,ft,(ft),\n1,5000.5,4890,100.25,GS\n").all,
              ElementsAre(is_shot("1", 5000.5, 4890, 100.25, "GS", 3)));
}

TEST(ShotsCsvRefusal, UnitMarksThatDoNotAgreeWithTheJob) {
  EXPECT_THAT(
      refused("1,5000,4890,31.2 m\n2,5000,4890 m,31.2 m\n"),
      ElementsAre(is_error("g.csv line 1, column elevation", "\"31.2 m\" is not in the job's unit, ft, and 2 more")));
  EXPECT_THAT(refused("p,n,e,Elev (m)\n1,5000,4890,31.2\n"),
              ElementsAre(is_error("g.csv line 1, column elevation", "\"Elev (m)\" is not in the job's unit, ft")));
  EXPECT_THAT(refused("p,n,e,z\n,m,m,m\n1,5000,4890,31.2\n"),
              ElementsAre(is_error("g.csv line 2, column northing", "\"m\"")));
  ShotsOptions metric;
  metric.unit = LengthUnit::metre;
  EXPECT_THAT(refused("1,5000,4890,100.25'\n", metric),
              ElementsAre(is_error("g.csv line 1, column elevation", "is not in the job's unit, m")));
  const auto survey = read("p,n (US ft),e (US ft),z\n1,5000,4890,100\n");
  EXPECT_THAT(survey.notes.all, ElementsAre(is_warning("g.csv line 1, column northing",
                                                       "\"n (US ft)\" is not in the job's unit, ft, and 1 more")));
}

TEST(ShotsCsv, TheFirstLineMaySayTheSeparator) {
  EXPECT_THAT(read("\xEF\xBB\xBFsep=;\r\nPoint;N;E;Z\r\n1;5000,5;4890;100\r\n").all,
              ElementsAre(is_shot("1", 5000.5, 4890, 100, "", 3)));
  EXPECT_THAT(read("SEP=,\n1,5000,4890,100,1;2;3;4;5\n").all,
              ElementsAre(is_shot("1", 5000, 4890, 100, "1;2;3;4;5", 2)));
  EXPECT_THAT(read("\"sep=|\"\n1|5000|4890|100\n").all, ElementsAre(is_shot("1", 5000, 4890, 100, "", 2)));
  EXPECT_THAT(read("sep=:\n1:5000:4890:100\n").all, ElementsAre(is_shot("1", 5000, 4890, 100, "", 2)));
}

// A word that only ends like one of a closing line is a description: the row is a shot whose numbers are wrong.
TEST(ShotsCsv, ABrokenRowWithABendInItIsNoClosingLine) {
  const auto problems = problems_of(
      [] { shots_from_csv("1,0,0,100,GS\n2,0,10,100,GS\n3,0,20,100,GS\n4,?,?,100.2,fence bend\n", "g.csv", {}); });
  ASSERT_FALSE(problems.empty());
  EXPECT_THAT(problems.front().where, HasSubstr("g.csv line 4"));
}

TEST(ShotsCsv, TitlesAndClosingLinesArePassedOverAndTold) {
  const auto survey = read(
      "Fernhollow, topo, May 2, lot 7\n\nname,2026\nPoint,Northing,Easting,Elev,Code\n1,5000,4890,100,GS\n"
      "2,5001,4890,100,GS\nTotal points: 2\n-----\nEnd of file\n\x1A");
  EXPECT_THAT(survey.all, ElementsAre(is_shot("1", 5000, 4890, 100, "GS", 5), is_shot("2", 5001, 4890, 100, "GS", 6)));
  EXPECT_THAT(survey.notes.all,
              ElementsAre(is_note("g.csv line 1", "taken for a title: \"Fernhollow topo May 2 lot 7\""),
                          is_note("g.csv line 3", "taken for a title: \"name 2026\""),
                          is_note("g.csv line 7", "taken for the end of the list: \"Total points: 2\""),
                          is_note("g.csv line 8", "end of the list: \"-----\""),
                          is_note("g.csv line 9", "end of the list: \"End of file\"")));
  EXPECT_THAT(read("Fernhollow topo\n1,5000,4890,100\n52 points\n").notes.all,
              ElementsAre(is_note("g.csv line 1", "title"),
                          is_warning("g.csv line 3", "the file says \"52 points\", but holds 1 shot")));
  EXPECT_THAT(read("Fernhollow topo, lot 7\nP N E Z\n1 5000 4890 100\nTotal points 1\n").all, SizeIs(1));
  // In another language, where the job says the order.
  EXPECT_THAT(read("Nr;Hochwert;Rechtswert;H\n1;5000;4890;100\n", columns({"point", "n", "e", "z"})).all, SizeIs(1));
}

TEST(ShotsCsvRefusal, LinesThatMayBeShots) {
  // Cut short, or in the middle: no title and no closing line.
  EXPECT_THAT(refused("1,5000,4890,100\nEND,5000.1,48\n"),
              ElementsAre(is_error("g.csv line 2, column elevation", "missing")));
  EXPECT_THAT(refused("1,5000,4890,100\nBM1\n"), SizeIs(3));
  EXPECT_THAT(refused("1,5000,4890,100\nTotal points: 1\n2,5001,4890,100\n"),
              ElementsAre(is_error("g.csv line 2", "holds no shot, and shots follow it: \"Total points: 1\"")));
  EXPECT_THAT(refused("A,5000,x,y\n1,5000,4890,100\n"), SizeIs(2));
  // Words that may say another order must not be taken for a title.
  EXPECT_THAT(refused("Nr,Rechtswert,Hochwert,H\n1,4890,5000,100\n"),
              ElementsAre(is_error("g.csv line 1", "names no column that is known: Nr, Rechtswert, Hochwert, H")));
}

TEST(ShotsCsv, AHeaderBehindAHashTellsTheOrder) {
  const auto survey = read("# lot 7\n#,Easting,Northing,Elev\n1,4890,5000,100\n");
  EXPECT_THAT(survey.all, ElementsAre(is_shot("1", 5000, 4890, 100, "", 3)));
  EXPECT_THAT(survey.notes.all, ElementsAre(is_note("g.csv line 2", "behind the #")));
  EXPECT_THAT(read("#x y z\n4890.5 5000 100\n").all, ElementsAre(is_shot("line 2", 5000, 4890.5, 100, "", 2)));
}

TEST(ShotsCsv, TextOfOtherEncodings) {
  const auto survey = read("1,5000,4890,100,GS\n2,5001,4890,100,caf\xE9\n");
  EXPECT_THAT(survey.all,
              ElementsAre(is_shot("1", 5000, 4890, 100, "GS", 1), is_shot("2", 5001, 4890, 100, "caf\xC3\xA9", 2)));
  EXPECT_THAT(survey.notes.all, ElementsAre(is_note("g.csv line 2", "Windows-1252")));
  std::string wide = "\xFF\xFE";
  for (const char c : std::string_view("1,5000,4890,100\r\n")) wide += {c, '\0'};
  EXPECT_THAT(read(wide).all, ElementsAre(is_shot("1", 5000, 4890, 100, "", 1)));
}

// --- what is refused -------------------------------------------------------------------------------------------------

TEST(ShotsCsvRefusal, NumbersThatAreNone) {
  EXPECT_THAT(refused("1,5000,4890,10o.2\n"), ElementsAre(is_error("g.csv line 1, column elevation", "\"10o.2\"")));
  EXPECT_THAT(refused("1,abc,4890,100\n"), ElementsAre(is_error("g.csv line 1, column northing", "\"abc\"")));
  EXPECT_THAT(refused("1,5000,0x10,100\n"), ElementsAre(is_error("g.csv line 1, column easting", "\"0x10\"")));
  EXPECT_THAT(refused("1,5000,+-1,100\n"), ElementsAre(is_error("g.csv line 1, column easting", "\"+-1\"")));
  EXPECT_THAT(refused("1,5000,++1,100\n"), ElementsAre(is_error("g.csv line 1, column easting", "\"++1\"")));
  EXPECT_THAT(refused("1,5000,+,100\n"), ElementsAre(is_error("g.csv line 1, column easting", "\"+\"")));
}

TEST(ShotsCsvRefusal, NumbersThatAreNotFinite) {
  for (const std::string text : {"nan", "NaN", "inf", "-inf", "Infinity", "1e999"}) {
    EXPECT_THAT(refused("1,5000,4890,100\n2,5000," + text + ",100\n"),
                ElementsAre(is_error("g.csv line 2, column easting", "not a finite number: \"" + text + "\"")));
  }
}

TEST(ShotsCsvRefusal, CommasThatMayMeanTwoThings) {
  const auto problems = refused("1;5,120;4,890;100\n2;5,121;4,890;100\n");
  EXPECT_THAT(problems, ElementsAre(is_error("g.csv line 1, column northing", "\"5,120\" may have a decimal comma")));
  EXPECT_THAT(problems.front().what_to_do, HasSubstr("decimal points"));
  EXPECT_THAT(refused("1,\"5,120\",4890,100\n"), SizeIs(1));
  // A point that may itself stand between thousands tells nothing either.
  EXPECT_THAT(refused("1;5,120;4.890;100\n"), SizeIs(1));
}

TEST(ShotsCsvRefusal, CommasThatContradictEachOther) {
  EXPECT_THAT(refused("1;5000;4890;100\n2;5000,12;4890;100\n3;5000.12;4890;x\n"),
              ElementsAre(is_error("g.csv line 2, column northing", "but \"5000.12\" on line 3 a decimal point"),
                          is_error("g.csv line 3, column elevation", "\"x\"")));
  EXPECT_THAT(refused("1;5,000.00;4890,5;100\n"),
              ElementsAre(is_error("g.csv line 1, column easting", "but \"5,000.00\" on line 1")));
  EXPECT_THAT(refused("1;5000,12;4.890;100\n"),  // 4890 or 4.89
              ElementsAre(is_error("g.csv line 1, column northing", "but \"4.890\" on line 1")));
}

TEST(ShotsCsvRefusal, DecimalCommasBetweenCommas) {
  for (const char* csv :
       {"1,5000,12,4890,25,100,10,GS\n2,5001,12,4890,25,100,10,EP\n", "1,5000,12,4890,25,100,10\n",
        "pt,n,e,z,desc\n1,5000,12,4890,25,100,10,GS\n2,5,1,1,GS\n", "n,e,z\n5000,12,4890,25,100,10\n"}) {
    EXPECT_THAT(refused(csv), ElementsAre(testing::Field(&Problem::what, HasSubstr("seem to have decimal commas"))))
        << csv;
  }
  // Whole numbers of another kind behind the elevation are no such thing.
  EXPECT_THAT(read("1,5000.1,4890,100,12,0,1\n").all, SizeIs(1));
  EXPECT_THAT(read("1,5000,4890,100,12,0\n").all, SizeIs(1));
  EXPECT_THAT(read("pt,n,e,z,code,height,pole\n1,5000,4890,100,12,0,1\n").all, SizeIs(1));
}

TEST(ShotsCsvRefusal, MissingFields) {
  EXPECT_THAT(refused("1,5000,4890,\n"),
              ElementsAre(is_error("g.csv line 1, column elevation", "the elevation is missing")));
  EXPECT_THAT(refused(",5000,4890,100\n"), ElementsAre(is_error("g.csv line 1, column point", "the point is missing")));
  EXPECT_THAT(
      refused("1,5000,4890,100\n2,5000\n"),
      ElementsAre(is_error("g.csv line 2, column easting", "the line has 2 fields, and it would be number 3"),
                  is_error("g.csv line 2, column elevation", "the line has 2 fields, and it would be number 4")));
}

TEST(ShotsCsvRefusal, MissingColumns) {
  EXPECT_THAT(refused("pt,n,e,depth\n1,5000,4890,100\n"),
              ElementsAre(is_error("g.csv line 1, column elevation", "pt, n, e, depth")));
  EXPECT_THAT(refused("1,5000,4890,100\n", columns({"point", "northing", "easting"})),
              ElementsAre(is_error("g.csv, column elevation", "the job's columns have no elevation")));
  EXPECT_THAT(refused("pt,n,northing,e,z\n1,5000,5000,4890,100\n"),
              ElementsAre(is_error("g.csv line 1, column northing", "two columns, 2 and 3, hold the northing")));
}

TEST(ShotsCsvRefusal, ColumnsThatContradictTheHeader) {
  const auto problems = refused("pt,e,n,z\n1,4890,5000,100\n", columns({"point", "northing", "easting", "elevation"}));
  EXPECT_THAT(problems,
              ElementsAre(is_error("g.csv line 1, column northing", "column 2 is \"e\" by the header but northing"),
                          is_error("g.csv line 1, column easting", "column 3 is \"n\" by the header but easting")));
}

TEST(ShotsCsvRefusal, ColumnWordsThatNameNoColumn) {
  const auto problems = refused("1,5000,4890,100\n", columns({"point", "nothing", "easting", "elevation"}));
  ASSERT_THAT(problems,
              ElementsAre(is_error("g.csv", "\"nothing\""), is_error("g.csv, column northing", "no northing")));
  EXPECT_EQ(problems.front().what_to_do, "Did you mean \"northing\"?");
}

TEST(ShotsCsvRefusal, FilesWithoutShots) {
  EXPECT_THAT(refused(""), ElementsAre(is_error("g.csv", "the file is empty")));
  for (const char* csv : {"\n\n", "# only this\n", "pt,n,e,z\n", ",,,\n", "\xEF\xBB\xBF"}) {
    EXPECT_THAT(refused(csv), ElementsAre(is_error("g.csv", "there are no shots"))) << csv;
  }
  EXPECT_THAT(refused("1,5000,4890,100,BM\n", codes({}, {"BM"})), ElementsAre(is_error("g.csv", "no ground is left")));
}

TEST(ShotsCsvRefusal, FilesThatAreNoText) {
  EXPECT_THAT(refused(std::string_view("1,5000,4890,100\n\0\0", 18)),
              ElementsAre(is_error("g.csv line 2", "not text")));
  EXPECT_THAT(refused("1,5000,4890,100,\x81\n"), ElementsAre(is_error("g.csv line 1", "neither UTF-8")));
}

TEST(ShotsCsvRefusal, NamesThatNoFileCanHold) {
  EXPECT_THAT(refused("1,5000,4890,100,GS\n2\x01,5000,4890,100,a\xEF\xBF\xBE\n3,5000\x1B,4890,100,\x7F\n"),
              ElementsAre(is_error("g.csv line 2, column point", "a control character (U+0001): \"2?\""),
                          is_error("g.csv line 2, column description", "U+FFFE"),
                          is_error("g.csv line 3, column northing", "\"5000?\"")));
  EXPECT_THAT(refused("1,5000,4890,100,\x1B[2J\n"),
              ElementsAre(is_error("g.csv line 1, column description", "U+001B")));
}

TEST(ShotsCsvRefusal, NamesAndDescriptionsThatAreFarTooLong) {
  const Scratch scratch;
  const auto file = [&](std::size_t name, std::size_t description) {
    return scratch.put("ground.csv", "1,0,0,10,GR\n" + std::string(name, 'A') + ",5,5,10," +
                                         std::string(description, 'B') + "\n3,9,0,10,GR\n");
  };
  EXPECT_EQ(read_shots(file(120, 500)).all.size(), 3U);
  EXPECT_THAT(problems_of([&] { read_shots(file(121, 500)); }),
              ElementsAre(is_error("ground.csv line 2", "the name of the point has 121 letters")));
  EXPECT_THAT(problems_of([&] { read_shots(file(120, 501)); }),
              ElementsAre(is_error("ground.csv line 2", "the description has 501 letters")));
}

TEST(ShotsCsvRefusal, BrokenQuotes) {
  EXPECT_THAT(refused("1,5000,4890,100,GS\n2,5001,4890,100,\"EP\n3,5002,4890,100\n"),
              ElementsAre(is_error("g.csv line 2", "never closed")));
  EXPECT_THAT(refused("1,5000,4890,100,\"EP\" top\n"),
              ElementsAre(is_error("g.csv line 1", "follows a closing quote: top")));
}

TEST(ShotsCsvRefusal, EveryProblemIsToldAtOnceUpToFifty) {
  EXPECT_THAT(
      refused("1,x,4890,100\n2,5000,nan,100\n3,5000,4890\n"),
      ElementsAre(is_error("g.csv line 1, column northing", "\"x\""), is_error("g.csv line 2, column easting", "nan"),
                  is_error("g.csv line 3, column elevation", "missing")));
  std::string csv;
  for (int i = 1; i <= 73; ++i) csv += fmt::format("{},5000,4890,bad{}\n", i, i);
  const auto problems = refused(csv);
  ASSERT_THAT(problems, SizeIs(51));
  EXPECT_THAT(problems[49].what, HasSubstr("bad50"));
  EXPECT_EQ(problems[50].what, "and 23 more errors");
}

// --- point numbers ---------------------------------------------------------------------------------------------------

TEST(ShotsCsvNumbers, TwoPointsOfOneNumberAreToldWithBothLines) {
  const auto survey = read("1,5000,4890,100\n2,5001,4890,100\n1,5002,4890,100\n2,5001,4890,100\n");
  EXPECT_THAT(survey.notes.all,
              ElementsAre(is_warning("g.csv line 3", "two points share the number 1 at different places"),
                          is_warning("g.csv line 4", "point 2 is there twice, at the same place: see line 2")));
  EXPECT_THAT(survey.notes.all[0].what, HasSubstr("on line 1"));
  EXPECT_THAT(survey.ground_shots, SizeIs(4));
}

// --- codes -----------------------------------------------------------------------------------------------------------

TEST(ShotsCsvCodes, ShotsOfOneCodeJoinInFileOrder) {
  const auto survey = read("1,1,0,0,EP top\n2,2,0,0,GS\n3,3,0,0,ep\n4,4,0,0,DITCH\n5,5,0,0,EPX\n6,6,0,0,Ditch\n",
                           codes({"EP", "DITCH"}));
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(3, 5), ElementsAre(0, 2)));
  EXPECT_THAT(survey.ground_shots, SizeIs(6));
}

TEST(ShotsCsvCodes, DigitsBehindACodeMakeLinesOfTheirOwn) {
  const auto survey =
      read("1,1,0,0,EP1\n2,2,0,0,EP2\n3,3,0,0,EP1\n4,4,0,0,EP2\n5,5,0,0,EP\n6,6,0,0,EP\n", codes({"EP"}));
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(4, 5), ElementsAre(0, 2), ElementsAre(1, 3)));
}

TEST(ShotsCsvCodes, CloseEndsALineWhereItBegan) {
  const auto survey =
      read("1,1,0,0,POND\n2,2,0,0,POND\n3,2,2,0,pond close\n4,4,0,0,POND\n5,5,0,0,POND\n", codes({"POND"}));
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 1, 2, 0), ElementsAre(3, 4)));
}

TEST(ShotsCsvCodes, SkippedShotsAreKeptButAreNotGround) {
  const auto survey = read("9,1,0,0,BM 1\n1,2,0,0,EP\n2,3,0,0,well3\n3,4,0,0,EP\n", codes({"EP"}, {"BM", "WELL"}));
  EXPECT_THAT(survey.all, SizeIs(4));
  ASSERT_THAT(survey.ground_shots, SizeIs(2));
  EXPECT_EQ(survey.ground_shots[1].point, "3");
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 1)));  // counts ground shots
}

TEST(ShotsCsvCodes, ACodeGivenInFullGoesBeforeOneThatNeedsDigits) {
  const auto survey = read("1,1,0,0,EP1\n2,2,0,0,EP1\n3,3,0,0,EP2\n", codes({"EP1"}, {"EP"}));
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 1)));
  EXPECT_THAT(survey.ground_shots, SizeIs(2));
}

TEST(ShotsCsvCodes, ALineOfOneShotIsToldAndLeftOut) {
  const auto survey = read("1,1,0,0,GS\n2,2,0,0,EP\n", codes({"EP"}));
  EXPECT_THAT(survey.breaklines, IsEmpty());
  EXPECT_THAT(survey.notes.all,
              ElementsAre(is_warning("g.csv line 2", "only one shot has the breakline code EP (point 2)")));
}

TEST(ShotsCsvCodes, ACodeThatNoShotHasIsToldWithTheNearestSeen) {
  const auto survey = read("1,1,0,0,DITHC1\n2,2,0,0,GS\n", codes({"DITCH"}, {"ROCK"}));
  ASSERT_THAT(survey.notes.all, ElementsAre(is_warning("g.csv", "no shot has the breakline code DITCH"),
                                            is_warning("g.csv", "no shot has the skip code ROCK")));
  EXPECT_EQ(survey.notes.all[0].what_to_do, "Did you mean \"DITHC\"?");
  EXPECT_EQ(survey.notes.all[1].what_to_do, "");
}

TEST(ShotsCsvCodes, ACodeCannotBeBoth) {
  EXPECT_THAT(refused("1,1,0,0,EP\n2,1,1,0,GS\n", codes({"EP"}, {"ep"})),
              testing::Contains(is_error("", "the code EP is both a breakline's and skipped")));
}

// --- files -----------------------------------------------------------------------------------------------------------

TEST(ShotsCsvFiles, ABreaklineFileIsOneLineAndItsShotsAreGround) {
  const Scratch scratch;
  const auto ground = scratch.put("ground.csv", "1,1,0,10,GS\n2,2,0,10,EP\n");
  ShotsOptions options = codes({}, {"EDGE"});
  options.codes.skip.clear();
  options.breakline_files = {scratch.put("drive.csv", "n,e,z,pt\n5,5,10,51\n2,0,10,2\n6,6,10,52\n"),
                             scratch.put("wall.csv", "61,7,7,10,x\n62,8,8,10,x\n63,8,7,10,x close\n")};
  const auto survey = read_shots(ground, options);
  EXPECT_THAT(survey.ground_shots, SizeIs(7));
  EXPECT_THAT(survey.all, SizeIs(7));
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(2, 1, 3), ElementsAre(4, 5, 6, 4)));
  EXPECT_THAT(survey.notes.all, IsEmpty());
}

TEST(ShotsCsvFiles, PointsWithoutNumbersInTwoFilesHaveTwoNames) {
  const Scratch scratch;
  ShotsOptions options;
  options.breakline_files = {scratch.put("drive.csv", "n,e,z\n5,5,10\n6,6,10\n")};
  const auto survey = read_shots(scratch.put("ground.csv", "n,e,z\n1,1,0\n3,3,3\n"), options);
  EXPECT_THAT(survey.all,
              ElementsAre(Field(&Shot::point, "line 2"), Field(&Shot::point, "line 3"),
                          Field(&Shot::point, "drive.csv line 2"), Field(&Shot::point, "drive.csv line 3")));
}

TEST(ShotsCsvFiles, ANumberSharedBetweenFilesIsToldWithBoth) {
  const Scratch scratch;
  ShotsOptions options;
  options.breakline_files = {scratch.put("drive.csv", "1,5,5,10\n2,6,6,10\n")};
  const auto survey = read_shots(scratch.put("ground.csv", "1,1,0,10\n3,3,3,3\n"), options);
  EXPECT_THAT(survey.notes.all, ElementsAre(is_warning("drive.csv line 1", "on ground.csv line 1")));
}

TEST(ShotsCsvFiles, ProblemsOfAllFilesComeTogether) {
  const Scratch scratch;
  ShotsOptions options;
  options.breakline_files = {scratch.put("drive.csv", "51,5,5,x\n"), scratch / "gone.csv"};
  EXPECT_THAT(problems_of([&] { read_shots(scratch.put("ground.csv", "1,x,0,10\n"), options); }),
              ElementsAre(is_error("ground.csv line 1, column northing", "\"x\""),
                          is_error("drive.csv line 1, column elevation", "\"x\""),
                          is_error(scratch / "gone.csv", "there is no such file")));
}

TEST(ShotsCsvFiles, ABreaklineFileOfOneShotIsTold) {
  const Scratch scratch;
  ShotsOptions options;
  options.breakline_files = {scratch.put("drive.csv", "51,5,5,10\n")};
  const auto survey = read_shots(scratch.put("ground.csv", "1,1,0,10\n"), options);
  EXPECT_THAT(survey.notes.all, ElementsAre(is_warning("drive.csv", "the breakline has 1 shot")));
  EXPECT_THAT(survey.breaklines, IsEmpty());
}

TEST(ShotsCsvFiles, AMissingSurveyIsRefusedByItsPath) {
  const Scratch scratch;
  EXPECT_THAT(problems_of([&] { read_shots(scratch / "gone.csv"); }),
              ElementsAre(is_error(scratch / "gone.csv", "there is no such file")));
}

// --- any shots, written any way, read back equal ---------------------------------------------------------------------

std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) out += c == '"' ? std::string("\"\"") : std::string(1, c);
  return out + '"';
}

std::string field(const std::string& text, char separator, bool always) {
  const bool needs = text.find_first_of(std::string("\"\r\n#") + separator) != std::string::npos || text.empty() ||
                     text.front() == ' ' || text.back() == ' ' || text.front() == '\t' || text.back() == '\t';
  return always || (needs && !text.empty()) ? quoted(text) : text;
}

rc::Gen<double> any_finite() {
  return rc::gen::suchThat(
      rc::gen::oneOf(rc::gen::arbitrary<double>(),
                     rc::gen::map(rc::gen::inRange(-99999999, 99999999), [](int n) { return n / 100.0; })),
      [](double v) { return std::isfinite(v); });
}

rc::Gen<std::string> any_text() {
  const std::vector<std::string> characters = {"E",  "P",  " ", "1",  "2",  ",", ";", "|",
                                               "\t", "\"", "#", "\r", "\n", "x", ".", "\xC3\xA9"};
  return rc::gen::map(rc::gen::container<std::vector<std::string>>(rc::gen::elementOf(characters)),
                      [](const std::vector<std::string>& all) { return fmt::format("{}", fmt::join(all, "")); });
}

struct Spelling {
  char separator;
  std::string end_of_line;
  std::vector<std::size_t> order;  // the column each field holds; 5 for one of no interest
  bool header, columns, mark, comments;
};

const std::array<std::string, 6> column_words = {"point", "northing", "easting", "elevation", "description", "ignore"};

std::string written(const std::vector<Shot>& shots, const Spelling& how) {
  std::string csv = how.mark ? "\xEF\xBB\xBF" : "";
  const auto line = [&](const auto& cell) {
    for (std::size_t i = 0; i < how.order.size(); ++i) {
      if (i > 0) csv += how.separator;
      csv += cell(how.order[i]);
    }
    csv += how.end_of_line;
  };
  if (how.header) line([](std::size_t column) { return column_words[column]; });
  for (const Shot& shot : shots) {
    if (how.comments) csv += "# a comment" + how.end_of_line + how.end_of_line;
    line([&](std::size_t column) {
      switch (column) {
        case 0:
          return field(shot.point, how.separator, false);
        case 1:
          return fmt::format("{}", shot.northing);
        case 2:
          return fmt::format(" {}", shot.easting);
        case 3:
          return fmt::format("{} ", shot.elevation);
        case 4:
          return field(shot.description, how.separator, *rc::gen::arbitrary<bool>());
        default:
          return field("12 \"in, out\"; x", how.separator, true);
      }
    });
  }
  return csv;
}

RC_GTEST_PROP(ShotsCsvProperty, WhatIsWrittenReadsBackEqual, ()) {
  Spelling how;
  how.separator = *rc::gen::element(',', ';', '\t', '|');
  how.end_of_line = *rc::gen::element<std::string>("\n", "\r\n", "\r");
  how.order = {0, 1, 2, 3, 4, 5, 5};
  for (std::size_t i = how.order.size(); i > 1; --i)
    std::swap(how.order[i - 1], how.order[*rc::gen::inRange<std::size_t>(0, i)]);
  how.header = *rc::gen::arbitrary<bool>();
  how.columns = !how.header || *rc::gen::arbitrary<bool>();
  how.mark = *rc::gen::arbitrary<bool>();
  how.comments = *rc::gen::arbitrary<bool>();

  std::vector<Shot> shots(*rc::gen::inRange<std::size_t>(1, 20));
  for (std::size_t i = 0; i < shots.size(); ++i) {
    shots[i].point = fmt::format("{}{}", *any_text(), i);
    shots[i].northing = *any_finite(), shots[i].easting = *any_finite(), shots[i].elevation = *any_finite();
    shots[i].description = *any_text();
  }
  ShotsOptions options;
  if (how.columns) {
    for (const std::size_t column : how.order) options.columns.push_back(column_words[column]);
  }
  const Survey survey = read(written(shots, how), options);
  RC_ASSERT(survey.all.size() == shots.size());
  for (std::size_t i = 0; i < shots.size(); ++i) {
    RC_ASSERT(survey.all[i].point == shots[i].point);
    RC_ASSERT(survey.all[i].northing == shots[i].northing);
    RC_ASSERT(survey.all[i].easting == shots[i].easting);
    RC_ASSERT(survey.all[i].elevation == shots[i].elevation);
    RC_ASSERT(survey.all[i].description == shots[i].description);
  }
}

// --- any number, with commas and marks of any kind, is what it says or refused
// -----------------------------------------

std::string with_groups(std::string digits, char mark) {
  for (std::size_t at = digits.size(); at > 3 && is_digit(digits[at - 4]);) digits.insert(at -= 3, 1, mark);
  return digits;
}

RC_GTEST_PROP(ShotsCsvProperty, NumbersInOneStyleReadBackEqual, ()) {
  const bool decimal_comma = *rc::gen::arbitrary<bool>(), groups = *rc::gen::arbitrary<bool>();
  const char separator = *rc::gen::element(',', ';', '\t', '|', ' ');
  const std::string mark = separator == ' ' ? *rc::gen::element<std::string>("", "'", "ft")
                                            : *rc::gen::element<std::string>("", "'", "ft", " ft", " feet");
  std::vector<std::array<double, 3>> places(*rc::gen::inRange<std::size_t>(1, 12));
  std::string csv;
  for (std::size_t i = 0; i < places.size(); ++i) {
    csv += fmt::format("P{}", i);
    for (double& value : places[i]) {
      const int places_behind = *rc::gen::inRange(1, 5);
      const int whole = *rc::gen::inRange(0, 30000000), behind = *rc::gen::inRange(0, 9999);
      const std::string fraction = fmt::format("{:04}", behind).substr(0, static_cast<std::size_t>(places_behind));
      const bool minus = *rc::gen::arbitrary<bool>();
      value = std::stod(fmt::format("{}{}.{}", minus ? "-" : "", whole, fraction));
      const std::string digits =
          groups ? with_groups(std::to_string(whole), decimal_comma ? '.' : ',') : std::to_string(whole);
      const std::string text =
          fmt::format("{}{}{}{}{}", minus ? "-" : "", digits, decimal_comma ? ',' : '.', fraction, mark);
      csv += separator;
      csv += separator == ',' && text.find(',') != std::string::npos ? '"' + text + '"' : text;
    }
    csv += '\n';
  }
  std::vector<Shot> shots;
  try {
    shots = read(csv).all;
  } catch (const Refusal& refusal) {
    // Only where every comma may mean two things, which takes three digits behind the only comma of each.
    RC_ASSERT(std::string(refusal.what()).find("may have a decimal comma") != std::string::npos);
    RC_ASSERT(decimal_comma);
    return;
  }
  RC_ASSERT(shots.size() == places.size());
  for (std::size_t i = 0; i < shots.size(); ++i) {
    RC_ASSERT(shots[i].northing == places[i][0]);
    RC_ASSERT(shots[i].easting == places[i][1]);
    RC_ASSERT(shots[i].elevation == places[i][2]);
  }
}

}  // namespace
}  // namespace moundwright::io

#include "io/job_toml.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <numbers>

#include "io/text_file.h"
#include "io/toml_table.h"
#include "scratch.h"

namespace moundwright::io {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::SizeIs;

// Line numbers of the tests below count in this job.
constexpr std::string_view plain_job =
    "[job]\n"                                                          // 1
    "title = \"Lot 7\"\n"                                              // 2
    "units = \"ft\"\n"                                                 // 3
    "[ground]\n"                                                       // 4
    "shots = \"ground.csv\"\n"                                         // 5
    "[mound]\n"                                                        // 6
    "center = { n = 5120.0, e = 4890.0 }\n"                            // 7
    "azimuth = 74.0\n"                                                 // 8
    "bed = { length = 60.0, width = 10.0 }\n"                          // 9
    "bottom = { least_sand = 1.5 }\n"                                  // 10
    "[prepare]\n"                                                      // 11
    "scarify = true\n"                                                 // 12
    "[[layer]]\n"                                                      // 13
    "name = \"core\"\n"                                                // 14
    "top = 1\n"                                                        // 15
    "beyond = 1.0\n"                                                   // 16
    "side = 0.0\n"                                                     // 17
    "[[layer]]\n"                                                      // 18
    "name = \"top soil\"\n"                                            // 19
    "top = 1.5\n"                                                      // 20
    "beyond = { upslope = 3.0, downslope = 4.0, ends = 5.0 }\n"        // 21
    "side = { upslope = 3.0, downslope = 4, left = 2, right = 1 }\n";  // 22

Job read(std::string_view toml) { return job_from_toml(toml, "lots/job.toml"); }

std::vector<Problem> refused(std::string_view toml) {
  return problems_of([&] { read(toml); });
}

/// The plain job with one piece of text replaced; it must be there once.
std::string with(std::string_view old_text, std::string_view new_text, std::string_view job = plain_job) {
  std::string text(job);
  const std::size_t place = text.find(old_text);
  EXPECT_NE(place, std::string::npos) << old_text;
  EXPECT_EQ(text.find(old_text, place + 1), std::string::npos) << old_text;
  return text.replace(place, old_text.size(), new_text);
}

std::string plain_job_and(std::string_view more) { return std::string(plain_job) + std::string(more); }

// ---- what is read ----

TEST(JobToml, ReadsTheMound) {
  const Job job = read(plain_job);
  const MoundDesign& mound = job.mound;
  EXPECT_EQ(job.site.title, "Lot 7");
  EXPECT_EQ(job.site.unit, LengthUnit::foot);
  EXPECT_EQ(job.ground.shots, "lots/ground.csv");
  EXPECT_EQ(mound.least_sand, 1.5);
  EXPECT_EQ(mound.bottom_elevation, std::nullopt);
  EXPECT_EQ(mound.downslope, std::nullopt);
  EXPECT_TRUE(mound.prepare.scarify);
  ASSERT_THAT(mound.layers, SizeIs(2));
  EXPECT_EQ(mound.layers[0].material, "core");  // its name, where none is given
  EXPECT_EQ(mound.layers[0].top, 1.0);
  EXPECT_FALSE(mound.layers[0].round_corners);
  EXPECT_EQ(mound.layers[1].name, "top soil");
  const ByFace& beyond = mound.layers[1].beyond;
  EXPECT_THAT((std::array{beyond.upslope, beyond.downslope, beyond.left, beyond.right}), ElementsAre(3, 4, 5, 5));
  const ByFace& side = mound.layers[1].side;
  EXPECT_THAT((std::array{side.upslope, side.downslope, side.left, side.right}), ElementsAre(3, 4, 2, 1));
}

TEST(JobToml, TheBedLiesAlongItsAzimuth) {
  const Bed bed = read(plain_job).mound.bed;
  ASSERT_THAT(bed.line, SizeIs(2));
  EXPECT_EQ(bed.width, 10);
  EXPECT_NEAR((bed.line[1] - bed.line[0]).norm(), 60, 1e-9);
  EXPECT_NEAR(((bed.line[0] + bed.line[1]) / 2 - Eigen::Vector2d(4890, 5120)).norm(), 0, 1e-9);
  const double azimuth = 74 * std::numbers::pi / 180;
  EXPECT_NEAR(std::abs((bed.line[1] - bed.line[0]).dot(Eigen::Vector2d(std::sin(azimuth), std::cos(azimuth)))), 60,
              1e-9);
}

TEST(JobToml, ABentBedIsGivenByItsLine) {
  const Job job =
      read(with("center = { n = 5120.0, e = 4890.0 }\nazimuth = 74.0\nbed = { length = 60.0, width = 10.0 }",
                "bed = { width = 10, line = [{ n = 1, e = 2 }, { n = 3, e = 40 }, { n = 1, e = 80 }] }"));
  EXPECT_THAT(job.mound.bed.line, ElementsAre(Eigen::Vector2d(2, 1), Eigen::Vector2d(40, 3), Eigen::Vector2d(80, 1)));
}

TEST(JobToml, OptionalPartsHaveTheirDefaults) {
  const Job job = read(with("[job]\ntitle = \"Lot 7\"\nunits = \"ft\"\n", ""));
  EXPECT_EQ(job.site.title, "job");  // the file's name
  EXPECT_EQ(job.site.unit, LengthUnit::foot);
  EXPECT_EQ(job.site.lot.benchmark, std::nullopt);
  EXPECT_EQ(job.site.station_interval, 10);
  EXPECT_EQ(job.site.hub_clearance, 5);
  EXPECT_EQ(job.site.end_area_interval, 5);
}

TEST(JobToml, AKeyOfTooManyPartsIsRefusedBeforeItIsParsed) {
  std::string deep = "a";
  for (int i = 0; i < 50'000; ++i) deep += i % 2 == 0 ? ".a" : " . \"a\"";
  for (const std::string& text : {"\n" + deep + " = 1\n", "\n[" + deep + "]\n", "\nb = { " + deep + " = 1 }\n"}) {
    EXPECT_THAT(refused(text), ElementsAre(is_error("job.toml line 2", "more than a hundred parts")));
  }
}

TEST(JobToml, DotsThatAreNoKeysAreLetBe) {
  std::string points = "line = [";
  for (int i = 0; i < 200; ++i) points += fmt::format("{{ n = {}.25, e = 1.5 }}, ", i);
  const std::string dots(300, '.');
  const toml::table document = parsed_toml("# " + dots + "\ntitle = \"" + dots + "\" # a.b.c\nlist = [" +
                                               std::string("0.5, 0.5, 0.5, 0.5").append("]\n") + points + "]\n",
                                           "job.toml");
  EXPECT_EQ(document.size(), 3U);
}

TEST(JobToml, AJobThatIsFarTooLargeIsRefused) {
  EXPECT_THAT(problems_of([] { parsed_toml("#" + std::string(std::size_t{17} << 20, ' '), "job.toml"); }),
              ElementsAre(is_error("job.toml", "larger than 16 MiB")));
}

TEST(JobToml, AJobWithoutAUnitIsToldWhichItTook) {
  EXPECT_THAT(read(with("units = \"ft\"\n", "")).notes.all,
              ElementsAre(is_note("job.toml line 1, job.units", "taken in feet (ft)")));
  EXPECT_THAT(read(with("[job]\ntitle = \"Lot 7\"\nunits = \"ft\"\n", "")).notes.all,
              ElementsAre(is_note("job.toml, job.units", "taken in feet (ft)")));
  EXPECT_THAT(read(plain_job).notes.all, testing::IsEmpty());
}

TEST(JobToml, TheUnitReachesTheReaderOfShots) {
  EXPECT_EQ(read(with("\"ft\"", "\"m\"")).ground.reading.unit, LengthUnit::metre);
}

TEST(JobToml, Windows1252IsReadAndToldWithItsLine) {
  const std::string text = with("Lot 7", "Lot 7, Caf\xE9");
  const Job job = read(text);
  EXPECT_EQ(job.site.title, "Lot 7, Caf\xC3\xA9");
  EXPECT_THAT(job.notes.all, ElementsAre(is_note("job.toml line 2", "Windows-1252")));
  // What is written into it makes it UTF-8, so that it reads again.
  const std::string amended = amended_job(text, {{"mound.azimuth", "75.0"}});
  EXPECT_THAT(amended, testing::AllOf(HasSubstr("Caf\xC3\xA9"), HasSubstr("azimuth = 75.0")));
  EXPECT_THAT(read(amended).notes.all, testing::IsEmpty());
}

TEST(JobToml, AMaterialsFileInWindows1252IsReadAndTold) {
  const Scratch scratch;
  scratch.put("prices.toml", "[[worker]]\nname = \"Andr\xE9\"\nper_hour = 41.0\n");
  const Job job = job_from_toml(
      with("units", "materials = \"prices.toml\"\nunits") + "[bid]\noverhead = 1\nmargin = 1\n", scratch / "job.toml");
  EXPECT_THAT(job.notes.all, ElementsAre(is_note("prices.toml line 2", "Windows-1252")));
  EXPECT_EQ(job.site.estimate.bid->workers.front().name, "Andr\xC3\xA9");
}

TEST(JobToml, AFileNameMakesATitleWhateverTheDiskCallsIt) {
  const Job job = job_from_toml(with("title = \"Lot 7\"\n", ""), "lots/caf\xE9\x01.toml");
  EXPECT_EQ(job.site.title, "caf\xC3\xA9?");
}

// README: the ground is carried on 10 ft (3 m) at most.
TEST(JobToml, TheGroundIsCarriedOnTenFeetOrThreeMetresAtMost) {
  const auto job = [](const char* unit, const char* extend) {
    return with("\"ft\"", unit, with("shots", std::string("extend = ") + extend + "\nshots"));
  };
  EXPECT_EQ(read(job("\"ft\"", "10.0")).ground.options.extend, 10);
  EXPECT_EQ(read(job("\"m\"", "3.0")).ground.options.extend, 3);
  EXPECT_THAT(refused(job("\"ft\"", "10.1")), ElementsAre(is_error("job.toml line 5, ground.extend", "10.1 ft")));
  EXPECT_THAT(refused(job("\"m\"", "3.1")), ElementsAre(is_error("job.toml line 5, ground.extend", "3.1 m past")));
}

TEST(JobToml, UnitsAreTheThreeWords) {
  EXPECT_EQ(read(with("\"ft\"", "\"us-ft\"")).site.unit, LengthUnit::us_survey_foot);
  EXPECT_EQ(read(with("\"ft\"", "\"m\"")).site.unit, LengthUnit::metre);
}

TEST(JobToml, ReadsEveryOptionalPart) {
  std::string text = with("shots = \"ground.csv\"", R"(shots = "/far/ground.csv"
columns = ["point", "easting", "northing", "elevation", "ignore"]
breaklines = ["EP"]
skip = ["BM", "WELL"]
line_words = { begin = ["on", "<"], close = [] }
breakline_files = ["drive.csv"]
longest_edge = 80)");
  text = with("scarify = true", "scarify = false\nstrip = 0.5\nundercut = { elevation = 97.0, beyond = 1.0, side = 2 }",
              text);
  text = with("azimuth = 74.0", "azimuth = 74.0\ndownslope = 164", text);
  text = with("{ least_sand = 1.5 }", "{ elevation = 101.4 }", text);
  text = with("top = 1.5", "top = 1.5\nmaterial = \"loam\"\ncrown = 0.5\ncorners = \"round\"", text);
  text += R"(
[benchmark]
name = "BM1"
n = 5000.0
e = 4000.0
elevation = 100
[second_benchmark]
name = "BM2"
n = 5100
e = 4100
elevation = 112.5
[requirements]
separation = 3.0
daily_flow = 450
loading_rate = 0.6
least_basal_area = 750
[[boring]]
name = "B1"
n = 1
e = 2
limiting_depth = 1.6
[[keep_clear]]
name = "well"
at = { n = 3, e = 4 }
from_bed = 50
[[keep_clear]]
name = "house"
line = [{ n = 0, e = 0 }, { n = 0, e = 9 }, { n = 9, e = 9 }]
closed = true
from_bed = 10
from_toe = 5
[[tie]]
name = "pin"
n = 5
e = 6
[[feed]]
name = "riser"
n = 7
e = 8
elevation = 101.5
[[feed]]
name = "port"
n = 9
e = 10
[laterals]
invert = 0.6
[stakes]
station_interval = 20
hub_clearance = 10
[takeoff]
section_interval = 2.5
)";
  const Job job = read(text);
  EXPECT_EQ(job.ground.shots, "/far/ground.csv");
  EXPECT_THAT(job.ground.reading.columns, ElementsAre("point", "easting", "northing", "elevation", "ignore"));
  EXPECT_THAT(job.ground.reading.codes.breaklines, ElementsAre("EP"));
  EXPECT_THAT(job.ground.reading.codes.skip, ElementsAre("BM", "WELL"));
  const LineWords& line_words = job.ground.reading.codes.line_words;
  EXPECT_EQ(line_words.begin, (std::vector<std::string>{"on", "<"}));
  EXPECT_EQ(line_words.end, std::nullopt);
  EXPECT_EQ(line_words.close, std::vector<std::string>{});
  EXPECT_THAT(job.ground.reading.breakline_files, ElementsAre("lots/drive.csv"));
  EXPECT_EQ(job.ground.options.longest_edge, 80);

  const MoundDesign& mound = job.mound;
  EXPECT_FALSE(mound.prepare.scarify);
  EXPECT_EQ(mound.prepare.strip, 0.5);
  ASSERT_TRUE(mound.prepare.undercut);
  EXPECT_EQ(mound.prepare.undercut->elevation, 97);
  EXPECT_EQ(mound.prepare.undercut->beyond.left, 1);
  EXPECT_EQ(mound.prepare.undercut->side.downslope, 2);
  EXPECT_EQ(mound.downslope, 164);
  EXPECT_EQ(mound.bottom_elevation, 101.4);
  EXPECT_EQ(mound.least_sand, std::nullopt);
  EXPECT_EQ(mound.layers[1].material, "loam");
  EXPECT_EQ(mound.layers[1].crown, 0.5);
  EXPECT_TRUE(mound.layers[1].round_corners);
  EXPECT_EQ(mound.lateral_invert, 0.6);

  ASSERT_TRUE(job.site.lot.benchmark);
  EXPECT_EQ(job.site.lot.benchmark->at, Eigen::Vector2d(4000, 5000));
  EXPECT_EQ(job.site.lot.benchmark->elevation, 100);
  ASSERT_TRUE(job.site.lot.second_benchmark);
  EXPECT_EQ(job.site.lot.second_benchmark->name, "BM2");
  EXPECT_EQ(job.site.lot.second_benchmark->at, Eigen::Vector2d(4100, 5100));
  EXPECT_EQ(job.site.lot.second_benchmark->elevation, 112.5);
  const Requirements& asked = job.site.lot.requirements;
  EXPECT_EQ(asked.separation, 3);
  EXPECT_EQ(asked.daily_flow, 450);
  EXPECT_EQ(asked.loading_rate, 0.6);
  EXPECT_EQ(asked.least_basal_area, 750);
  ASSERT_THAT(asked.borings, SizeIs(1));
  EXPECT_EQ(asked.borings[0].at, Eigen::Vector2d(2, 1));
  EXPECT_EQ(asked.borings[0].limiting_depth, 1.6);
  ASSERT_THAT(asked.keep_clear, SizeIs(2));
  EXPECT_THAT(asked.keep_clear[0].line, ElementsAre(Eigen::Vector2d(4, 3)));
  EXPECT_EQ(asked.keep_clear[0].from_bed, 50);
  EXPECT_EQ(asked.keep_clear[0].from_toe, std::nullopt);
  EXPECT_TRUE(asked.keep_clear[1].closed);
  EXPECT_EQ(asked.keep_clear[1].from_toe, 5);
  ASSERT_THAT(job.site.lot.ties, SizeIs(1));
  EXPECT_EQ(job.site.lot.ties[0].at, Eigen::Vector2d(6, 5));
  ASSERT_THAT(job.site.lot.feed, SizeIs(2));
  EXPECT_EQ(job.site.lot.feed[0].elevation, 101.5);
  EXPECT_EQ(job.site.lot.feed[1].elevation, std::nullopt);
  EXPECT_EQ(job.site.station_interval, 20);
  EXPECT_EQ(job.site.hub_clearance, 10);
  EXPECT_EQ(job.site.end_area_interval, 2.5);
}

TEST(JobToml, ReadsAFileAndResolvesPathsAgainstItsFolder) {
  const Scratch scratch;
  const auto path = scratch.put("job.toml", std::string(plain_job));
  EXPECT_EQ(read_job(path).ground.shots, scratch / "ground.csv");
  EXPECT_THAT(problems_of([&] { read_job(scratch / "none.toml"); }),
              ElementsAre(is_error(scratch / "none.toml", "there is no such file")));
}

// ---- the starter ----

TEST(StarterJob, ReadsCleanly) {
  const Job job = read(starter_job());
  EXPECT_EQ(job.ground.shots, "lots/ground.csv");
  EXPECT_THAT(job.mound.layers, SizeIs(4));
}

TEST(StarterJob, EveryOptionalPartReadsTooWhenItsMarkIsTakenOff) {
  std::string text = starter_job();
  std::size_t taken = 0;
  for (std::size_t place = 0; place != std::string::npos; place = text.find('\n', place + 1)) {
    const std::size_t start = place == 0 ? 0 : place + 1;
    if (start + 1 < text.size() && text[start] == '#' && text[start + 1] != ' ') text.erase(start, 1), ++taken;
  }
  EXPECT_GT(taken, 40u);
  const Scratch scratch;
  scratch.put("materials.toml", "[[worker]]\nname = \"laborer\"\nper_hour = 41.0\n");
  const Job job = job_from_toml(text, scratch / "job.toml");
  EXPECT_THAT(job.notes.all, testing::IsEmpty());
  const EstimatePlan& estimate = job.site.estimate;
  EXPECT_TRUE(estimate.lifts && estimate.accuracy && estimate.bid && estimate.areas.fabric && estimate.areas.fence);
  EXPECT_THAT(estimate.bid->workers, SizeIs(2));
  EXPECT_THAT(estimate.materials, SizeIs(3));
  EXPECT_THAT(estimate.limits, SizeIs(1));
  EXPECT_THAT(estimate.settlement, SizeIs(1));
  EXPECT_TRUE(job.site.lot.benchmark);
  EXPECT_TRUE(job.mound.prepare.undercut);
  EXPECT_THAT(job.site.lot.requirements.keep_clear, SizeIs(2));
  EXPECT_THAT(job.site.lot.ties, SizeIs(1));
  EXPECT_THAT(job.site.lot.feed, SizeIs(1));
  EXPECT_TRUE(job.mound.lateral_invert);
  EXPECT_THAT(job.ground.reading.breakline_files, SizeIs(1));
}

TEST(JobToml, CoordinateSystemInTheJobsUnit) {
  EXPECT_EQ(read(plain_job).crs, std::nullopt);
  EXPECT_EQ(read(with("\"ft\"", "\"ft\"\ncrs = \"EPSG:2253\"")).crs,
            "EPSG:2253");  // Michigan South, international feet
  EXPECT_EQ(read(with("\"ft\"", "\"us-ft\"\ncrs = \"EPSG:3735\"")).crs, "EPSG:3735");  // Ohio South, US survey feet
  EXPECT_EQ(read(with("\"ft\"", "\"m\"\ncrs = \"EPSG:26990\"")).crs, "EPSG:26990");    // Michigan South, metres
}

// --- what is refused: one bad thing, one problem, at its line and key
// ---------------------------------------------------

struct BadJob {
  const char* name;
  const char* old_text;
  const char* new_text;
  const char* where;
  const char* in_what;
  const char* in_what_to_do = "";
};

void PrintTo(const BadJob& bad, std::ostream* out) { *out << bad.name; }

class JobTomlRefusal : public testing::TestWithParam<BadJob> {};

TEST_P(JobTomlRefusal, OneProblemAtItsPlace) {
  const BadJob& bad = GetParam();
  const auto problems = refused(with(bad.old_text, bad.new_text));
  ASSERT_THAT(problems, ElementsAre(is_error(bad.where, bad.in_what)));
  EXPECT_THAT(problems[0].what_to_do, HasSubstr(bad.in_what_to_do));
  EXPECT_NE(problems[0].what_to_do, "");
}

const BadJob bad_jobs[] = {
    {"syntax", "azimuth = 74.0", "azimuth = = 74.0", "job.toml line 8, column 11", "value"},
    {"unclosed_text", "\"Lot 7\"", "\"Lot 7", "job.toml line 2, column 15", "string"},
    {"key_twice", "azimuth = 74.0", "azimuth = 74.0\nazimuth = 75.0", "job.toml line 9, column 11",
     "cannot redefine existing"},

    {"unknown_key", "azimuth", "azimuth = 74.0\nazimut", "job.toml line 9, mound.azimut", "mound.azimut",
     "Did you mean \"azimuth\"?"},
    {"unknown_key_far_off", "shots", "colour = \"red\"\nshots", "job.toml line 5, ground.colour", "ground.colour",
     "Known here: shots"},
    {"unknown_table", "[prepare]", "[prepair]\n[prepare]", "job.toml line 11, prepair", "prepair",
     "Did you mean \"prepare\"?"},
    {"unknown_in_inline_table", "n = 5120.0,", "n = 5120.0, z = 1.0,", "job.toml line 7, mound.center.z",
     "mound.center.z"},
    {"unknown_in_layer", "top = 1.5", "top = 1.5\ncorner = \"round\"", "job.toml line 21, layer.\"top soil\".corner",
     "corner", "Did you mean \"corners\"?"},
    {"unknown_face", "upslope = 3.0, downslope = 4.0,", "upslope = 3.0, downslope = 4.0, uphill = 1,",
     "job.toml line 21, layer.\"top soil\".beyond.uphill", "uphill"},

    {"missing_shots", "shots = \"ground.csv\"\n", "", "job.toml line 4, ground.shots", "ground.shots is missing"},
    {"missing_ground", "[ground]\nshots = \"ground.csv\"\n", "", "job.toml, ground", "ground is missing"},
    {"missing_azimuth", "azimuth = 74.0\n", "", "job.toml line 6, mound.azimuth", "mound.azimuth is missing"},
    {"missing_center", "center = { n = 5120.0, e = 4890.0 }\n", "", "job.toml line 6, mound.center",
     "mound.center is missing"},
    {"missing_coordinate", ", e = 4890.0", "", "job.toml line 7, mound.center.e", "mound.center.e is missing"},
    {"missing_bed", "bed = { length = 60.0, width = 10.0 }\n", "", "job.toml line 6, mound.bed",
     "mound.bed is missing"},
    {"missing_width", ", width = 10.0", "", "job.toml line 9, mound.bed.width", "mound.bed.width is missing"},
    {"missing_bottom", "bottom = { least_sand = 1.5 }\n", "", "job.toml line 6, mound.bottom",
     "mound.bottom is missing"},
    {"missing_top", "top = 1.5\n", "", "job.toml line 18, layer.\"top soil\".top", "is missing"},
    {"missing_side", "side = 0.0\n", "", "job.toml line 13, layer.core.side", "layer.core.side is missing"},
    {"missing_name", "name = \"core\"\n", "", "job.toml line 13, layer.1.name", "layer.1.name is missing"},
    {"missing_face", "ends = 5.0", "left = 5.0", "job.toml line 21, layer.\"top soil\".beyond.right", "is missing"},

    {"text_for_number", "74.0", "\"74.0\"", "job.toml line 8, mound.azimuth", "\"74.0\", not a number"},
    {"number_for_text", "\"Lot 7\"", "7", "job.toml line 2, job.title", "7, not a text"},
    {"number_for_truth", "true", "1", "job.toml line 12, prepare.scarify", "1, not true or false"},
    {"number_for_table", "{ n = 5120.0, e = 4890.0 }", "5", "job.toml line 7, mound.center", "5, not a place such as"},
    {"list_for_number", "74.0", "[74.0]", "job.toml line 8, mound.azimuth", "a list, not a number"},
    {"date_for_number", "74.0", "1979-05-27", "job.toml line 8, mound.azimuth", "a date or time, not a number"},
    {"text_for_list", "shots", "skip = \"BM\"\nshots", "job.toml line 5, ground.skip", "\"BM\", not a list"},
    {"number_in_list", "shots", "skip = [\"BM\",\n5]\nshots", "job.toml line 6, ground.skip",
     "entry 2 of ground.skip is 5"},
    {"line_words_of_no_kind", "shots", "line_words = { start = [\"ST\"] }\nshots",
     "job.toml line 5, ground.line_words.start", "unknown key ground.line_words.start"},
    {"line_words_in_a_list", "shots", "line_words = [\"B\"]\nshots", "job.toml line 5, ground.line_words",
     "a list, not a table such as"},
    {"line_word_of_two", "shots", "line_words = { end = [\"the end\"] }\nshots",
     "job.toml line 5, ground.line_words.end", "\"the end\" is not one word"},
    {"line_word_empty", "shots", "line_words = { end = [\"\"] }\nshots", "job.toml line 5, ground.line_words.end",
     "entry 1 of ground.line_words.end is \"\""},
    {"line_word_with_a_digit", "shots", "line_words = { end = [\"2E\"] }\nshots",
     "job.toml line 5, ground.line_words.end", "\"2E\" begins with a digit"},
    {"line_word_of_two_kinds", "shots", "line_words = { begin = [\"L\"], close = [\"l\"] }\nshots",
     "job.toml line 5, ground.line_words.close", "\"l\" is a word for begin and for close"},
    {"text_for_faces", "beyond = 1.0", "beyond = \"1.0\"", "job.toml line 16, layer.core.beyond",
     "\"1.0\", not a number"},
    {"table_for_tables", "[prepare]\n", "[boring]\n[prepare]\n", "job.toml line 11, boring",
     "a table, not a list of tables"},
    {"value_for_section", "[prepare]\nscarify = true\n", "[job.x]\n", "job.toml line 11, job.x", "unknown key job.x"},
    {"control_in_title", "Lot 7", "Lot\\u00017", "job.toml line 2, job.title",
     "a control character (U+0001): \"Lot?7\""},
    {"tab_in_title", "Lot 7", "Lot\\t7", "job.toml line 2, job.title", "a control character (U+0009)"},
    {"escape_in_layer", "\"core\"", "\"c\\u001b[2Jore\"", "job.toml line 14, layer.\"c?[2Jore\".name", "U+001B"},
    {"delete_in_material", "top = 1.5", "top = 1.5\nmaterial = \"lo\\u007fam\"",
     "job.toml line 21, layer.\"top soil\".material", "U+007F"},
    {"no_character", "Lot 7", "Lot \\uFFFE", "job.toml line 2, job.title", "U+FFFE, which is no character"},
    {"control_in_list", "shots", "skip = [\"BM\",\n\"B\\u0002\"]\nshots", "job.toml line 6, ground.skip", "U+0002"},
    {"empty_text", "\"ground.csv\"", "\" \"", "job.toml line 5, ground.shots", "is an empty text"},

    {"zero_length", "length = 60.0", "length = 0", "job.toml line 9, mound.bed.length", "is 0", "more than zero"},
    {"negative_width", "width = 10.0", "width = -10.0", "job.toml line 9, mound.bed.width", "is -10", "more than zero"},
    {"negative_side", "side = 0.0", "side = -1.0", "job.toml line 17, layer.core.side", "is -1", "less than zero"},
    {"negative_face", "left = 2", "left = -2", "job.toml line 22, layer.\"top soil\".side.left", "is -2",
     "less than zero"},
    {"negative_crown", "top = 1.5", "top = 1.5\ncrown = -0.5", "job.toml line 21, layer.\"top soil\".crown", "is -0.5"},
    {"negative_strip", "scarify = true", "strip = -0.5", "job.toml line 12, prepare.strip", "is -0.5"},
    {"negative_sand", "least_sand = 1.5", "least_sand = -1.5", "job.toml line 10, mound.bottom.least_sand", "is -1.5"},
    {"zero_longest_edge", "shots", "longest_edge = 0.0\nshots", "job.toml line 5, ground.longest_edge", "is 0"},
    {"negative_extend", "shots", "extend = -1.0\nshots", "job.toml line 5, ground.extend", "is -1", "less than zero"},
    {"extend_of_words", "shots", "extend = \"far\"\nshots", "job.toml line 5, ground.extend", "number"},
    {"extend_too_far", "shots", "extend = 10.5\nshots", "job.toml line 5, ground.extend", "10.5 ft past the survey",
     "10 ft at most"},
    {"nan", "74.0", "nan", "job.toml line 8, mound.azimuth", "is nan", "finite"},
    {"far_off", "n = 5120.0", "n = 5.12e13", "job.toml line 7, mound.center.n", "is 51200000000000", "1,000,000,000"},
    {"infinite", "n = 5120.0", "n = inf", "job.toml line 7, mound.center.n", "is inf", "finite"},
    {"infinite_bottom", "least_sand = 1.5", "elevation = -inf", "job.toml line 10, mound.bottom.elevation", "is -inf"},
    {"azimuth_high", "74.0", "361", "job.toml line 8, mound.azimuth", "is 361", "0 to 360"},
    {"azimuth_low", "74.0", "-0.1", "job.toml line 8, mound.azimuth", "is -0.1", "0 to 360"},
    {"downslope_high", "azimuth = 74.0", "azimuth = 74.0\ndownslope = 400.0", "job.toml line 9, mound.downslope",
     "is 400"},

    {"elevation_high", "[prepare]", "[benchmark]\nname = \"BM\"\nn = 1.0\ne = 1.0\nelevation = 100001\n[prepare]",
     "job.toml line 15, benchmark.elevation", "is 100001", "100,000 either way"},
    {"bottom_low", "least_sand = 1.5", "elevation = -1e300", "job.toml line 10, mound.bottom.elevation", "is -1e+300",
     "100,000 either way"},
    {"bed_too_long", "length = 60.0", "length = 1e300", "job.toml line 9, mound.bed.length",
     "is 1e+300; the limit is 10000"},
    {"hubs_too_far", "[prepare]", "[stakes]\nhub_clearance = 1e9\n[prepare]", "job.toml line 12, stakes.hub_clearance",
     "is 1e+09; the limit is 100"},

    {"both_bottoms", "least_sand = 1.5", "least_sand = 1.5, elevation = 101", "job.toml line 10, mound.bottom",
     "both least_sand and elevation"},
    {"neither_bottom", "{ least_sand = 1.5 }", "{}", "job.toml line 10, mound.bottom",
     "neither least_sand nor elevation"},
    {"ends_and_left", "ends = 5.0", "ends = 5.0, left = 1.0", "job.toml line 21, layer.\"top soil\".beyond.ends",
     "also left or right"},
    {"bad_unit", "\"ft\"", "\"feet\"", "job.toml line 3, job.units", "\"feet\"", "us-ft"},
    {"crs_unknown", "\"ft\"", "\"ft\"\ncrs = \"EPSG:999999\"", "job.toml line 4, job.crs",
     "there is no coordinate system \"EPSG:999999\"", "EPSG:2253"},
    {"crs_no_name", "\"ft\"", "\"ft\"\ncrs = \"michigan south\"", "job.toml line 4, job.crs",
     "\"michigan south\" is not the name", "EPSG:2253"},
    {"crs_file", "\"ft\"", "\"ft\"\ncrs = \"/etc/passwd\"", "job.toml line 4, job.crs", "is not the name"},
    {"crs_degrees", "\"ft\"", "\"ft\"\ncrs = \"EPSG:4326\"", "job.toml line 4, job.crs",
     "\"EPSG:4326\" (WGS 84) is not a grid"},
    {"crs_other_feet", "\"ft\"", "\"us-ft\"\ncrs = \"EPSG:2253\"", "job.toml line 4, job.crs",
     "(NAD83 / Michigan South (ft)) is in units of \"foot\", but job.units is \"us-ft\""},
    {"crs_metres", "\"ft\"", "\"ft\"\ncrs = \"EPSG:26990\"", "job.toml line 4, job.crs", "is in units of \"metre\""},
    {"crs_beside_bad_unit", "\"ft\"", "\"feet\"\ncrs = \"EPSG:26990\"", "job.toml line 3, job.units", "\"feet\""},
    {"bad_corners", "top = 1.5", "top = 1.5\ncorners = \"oval\"", "job.toml line 21, layer.\"top soil\".corners",
     "\"oval\""},
    {"bad_column", "shots", "columns = [\"pointt\"]\nshots", "job.toml line 5, ground.columns",
     "\"pointt\" names no column", "Did you mean \"point\"?"},
    {"two_layers_of_one_name", "\"top soil\"", "\"core\"", "job.toml line 19, layer.core.name",
     "two layers have the name \"core\": see line 13"},
};

INSTANTIATE_TEST_SUITE_P(Each, JobTomlRefusal, testing::ValuesIn(bad_jobs),
                         [](const auto& each) { return std::string(each.param.name); });

TEST(JobTomlRefusals, ALineForTheBedExcludesCenterAzimuthAndLength) {
  const auto problems = refused(
      with("length = 60.0, width = 10.0", "length = 60.0, width = 10.0, line = [{ n = 1, e = 2 }, { n = 3, e = 40 }]"));
  EXPECT_THAT(problems,
              testing::UnorderedElementsAre(is_error("job.toml line 7, mound.center", "so is a line"),
                                            is_error("job.toml line 8, mound.azimuth", "so is a line"),
                                            is_error("job.toml line 9, mound.bed.length", "both a length and a line")));
}

TEST(JobTomlRefusals, ALineForTheBedNeedsTwoPlaces) {
  const auto bent = [](const char* line) {
    return with("center = { n = 5120.0, e = 4890.0 }\nazimuth = 74.0\nbed = { length = 60.0, width = 10.0 }",
                std::string("bed = { width = 10, line = ") + line + " }");
  };
  EXPECT_THAT(refused(bent("[{ n = 1, e = 2 }]")),
              ElementsAre(is_error("job.toml line 7, mound.bed.line", "has 1 place")));
  EXPECT_THAT(refused(bent("[]")), ElementsAre(is_error("job.toml line 7, mound.bed.line", "has 0 point")));
  EXPECT_THAT(refused(bent("[1, 2]")),
              ElementsAre(is_error("job.toml line 7, mound.bed.line", "a list, not a list of places")));
}

TEST(JobTomlRefusals, WhatCheckDesignFindsCarriesLineAndKey) {
  // A bed that doubles back is refused by the geometry, not by the reader.
  const auto problems =
      refused(with("center = { n = 5120.0, e = 4890.0 }\nazimuth = 74.0\nbed = { length = 60.0, width = 10.0 }",
                   "bed = { width = 10, line = [{ n = 0, e = 0 }, { n = 0, e = 90 }, { n = 1, e = 0 }] }"));
  EXPECT_THAT(problems, Contains(is_error("job.toml line 7, mound.bed.line", "doubles back")));
}

// What check_design calls a layer's key is the key that the reader and the edits know.
TEST(JobTomlRefusals, KeysOfTheGeometryAreThoseOfTheReader) {
  MoundDesign design = read(plain_job).mound;
  for (Layer& layer : design.layers) layer.top = std::nan("");
  const Problems problems = check_design(design);
  ASSERT_THAT(problems.all, SizeIs(2));
  std::string text(plain_job);
  for (const Problem& problem : problems.all) text = amended_job(text, {{problem.where, "17.25"}});
  for (const Layer& layer : read(text).mound.layers) EXPECT_EQ(layer.top, 17.25) << layer.name;
}

TEST(JobTomlRefusals, KeepClearNeedsOnePlaceOrOneLineAndADistance) {
  const auto keep_clear = [](const char* keys) {
    return refused(plain_job_and("[[keep_clear]]\nname = \"well\"\n") + keys);
  };
  EXPECT_THAT(keep_clear("from_bed = 50\n"),
              ElementsAre(is_error("job.toml line 23, keep_clear.well.at", "no line either")));
  EXPECT_THAT(keep_clear("from_bed = 50\nat = { n = 1, e = 2 }\nline = [{ n = 1, e = 2 }, { n = 3, e = 4 }]\n"),
              ElementsAre(is_error("job.toml line 26, keep_clear.well.at", "a line as well")));
  EXPECT_THAT(keep_clear("at = { n = 1, e = 2 }\n"),
              ElementsAre(is_error("job.toml line 23, keep_clear.well.from_bed", "nothing is asked")));
  EXPECT_THAT(keep_clear("from_toe = 1\nclosed = true\nline = [{ n = 1, e = 2 }, { n = 3, e = 4 }]\n"),
              ElementsAre(is_error("job.toml line 27, keep_clear.well.line", "three places")));
}

TEST(JobTomlRefusals, OptionalPartsAreCheckedAsStrictly) {
  const auto problems =
      refused(plain_job_and("[benchmark]\nname = \"BM\"\nn = 1\n"                // 23-25
                            "[requirements]\ndaily_flow = 0\nflow = 1\n"         // 26-28
                            "[[boring]]\nname = \"B1\"\nn = 1\ne = \"x\"\n"      // 29-32
                            "[[tie]]\nn = 1\ne = 1\n"                            // 33-35
                            "[[feed]]\nname = \"riser\"\nn = 1\ne = 1\nz = 2\n"  // 36-40
                            "[laterals]\n"                                       // 41
                            "[stakes]\nstation_interval = -10\n"                 // 42-43
                            "[takeoff]\nsection_interval = nan\n"));             // 44-45
  EXPECT_THAT(problems,
              testing::UnorderedElementsAre(is_error("job.toml line 23, benchmark.e", "is missing"),
                                            is_error("job.toml line 23, benchmark.elevation", "is missing"),
                                            is_error("job.toml line 27, requirements.daily_flow", "is 0"),
                                            is_error("job.toml line 28, requirements.flow", "unknown key"),
                                            is_error("job.toml line 29, boring.B1.limiting_depth", "is missing"),
                                            is_error("job.toml line 32, boring.B1.e", "\"x\""),
                                            is_error("job.toml line 33, tie.1.name", "is missing"),
                                            is_error("job.toml line 40, feed.riser.z", "unknown key"),
                                            is_error("job.toml line 41, laterals.invert", "is missing"),
                                            is_error("job.toml line 43, stakes.station_interval", "is -10"),
                                            is_error("job.toml line 45, takeoff.section_interval", "is nan")));
}

TEST(JobTomlRefusals, AKeyThatRunsOnIsCutShortInWhatIsTold) {
  const auto problems = refused(plain_job_and("[laterals]\ninvert = 0.5\n" + std::string(1 << 20, 'k') + " = 1\n"));
  ASSERT_THAT(problems,
              ElementsAre(is_error("job.toml line 25, laterals." + std::string(40, 'k'), "unknown key laterals.kkkk")));
  EXPECT_LT(to_text(problems[0]).size(), 1000);
}

TEST(JobTomlRefusals, TextsHaveALengthThatASheetHasRoomFor) {
  const std::string longest(120, 'W'), longer = longest + "W";
  const std::pair<std::string, std::string> texts[] = {
      {"\"Lot 7\"", "job.title"}, {"\"core\"", "name"}, {"name = \"core\"\n", "material"}};
  for (const auto& [text, key] : texts) {
    SCOPED_TRACE(key);
    const auto job = [&, t = text, k = key](const std::string& value) {
      return with(t, k == "material" ? t + "material = \"" + value + "\"\n" : "\"" + value + "\"");
    };
    EXPECT_NO_THROW(read(job(longest)));
    const std::vector<Problem> problems = refused(job(longer));
    ASSERT_THAT(problems, Contains(testing::Field(&Problem::what, HasSubstr(key + " has 121 letters"))));
    EXPECT_THAT(problems.front().what_to_do, HasSubstr("120 letters or fewer"));
  }
  // Letters, not bytes; and a file's path may be longer than a name.
  EXPECT_NO_THROW(read(with("Lot 7", [] {
    std::string umlauts;
    for (int i = 0; i < 120; ++i) umlauts += "\xC3\xBC";
    return umlauts;
  }())));
  EXPECT_NO_THROW(read(with("ground.csv", std::string(200, 'd') + "/ground.csv")));
  EXPECT_THAT(refused(with("shots = \"ground.csv\"", "shots = \"ground.csv\"\nskip = [\"" + longer + "\"]")),
              ElementsAre(is_error("job.toml line 6, ground.skip", "entry 1 of ground.skip has 121 letters")));
}

TEST(JobToml, PathsBeginAtTheFileThatALinkLeadsTo) {
  const Scratch scratch;
  std::filesystem::create_directories(scratch / "lot");
  std::filesystem::create_directories(scratch / "links");
  scratch.put("lot/job.toml", std::string(plain_job));
  std::filesystem::create_symlink("../lot/job.toml", scratch / "links" / "current.toml");
  const Job job = read_job(scratch / "links" / "current.toml");
  EXPECT_EQ(job.path, scratch / "links" / "current.toml");
  EXPECT_EQ(job.ground.shots, std::filesystem::canonical(scratch.folder()) / "lot" / "ground.csv");
}

TEST(JobTomlRefusals, AnEmptyFileIsToldWhatIsMissing) {
  EXPECT_THAT(refused(""), ElementsAre(is_error("job.toml, ground", "missing"), is_error("job.toml, mound", "missing"),
                                       is_error("job.toml, layer", "no layers")));
}

TEST(JobTomlRefusals, ListsHaveFiveHundredEntriesAtMost) {
  for (const std::string list : {"task", "boring", "keep_clear", "feed", "tie", "material", "truck", "machine",
                                 "worker", "seeding", "stockpile", "pipe", "site_soil", "blend"}) {
    std::string many;
    for (int i = 0; i < 501; ++i) many += "[[" + list + "]]\n";
    EXPECT_THAT(refused(with("[prepare]", many + "[prepare]")),
                ElementsAre(is_error("job.toml line 11, " + list, "has 501 entries; the limit is 500")))
        << list;
  }
  std::string codes = "\"A\"";
  for (int i = 0; i < 500; ++i) codes += ", \"A\"";
  EXPECT_THAT(refused(with("shots", "skip = [" + codes + "]\nshots")),
              ElementsAre(is_error("job.toml line 5, ground.skip", "has 501 entries")));
}

}  // namespace
}  // namespace moundwright::io

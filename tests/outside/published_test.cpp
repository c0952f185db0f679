// Lengths printed in mound manuals, against the whole program: a survey as CSV text and a job as TOML text are read,
// triangulated and built up, and the berms are measured on the toe that was found. No formula of a berm stands here.
//
// Each value is held to the rounding it was printed with: half a unit of its last place. Where the print itself is off
// by more (two entries), the test says so and by how much.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <string>

#include "geom/buildup.h"
#include "geom/sections.h"
#include "io/job_toml.h"
#include "io/shots_csv.h"
#include "tests/support/plain_layer.h"

namespace moundwright {
namespace {

constexpr double reading =
    1e-6;  // feet: elevations in the CSV have nine decimals, and a berm is a few times its height

/// A mound on an even slope, in feet; sides b:1 on every face, cover flush with the bed's edge as the manuals draw it.
struct EvenSlope {
  double percent = 0;  // of the ground
  double run = 3;
  double bed_length = 90, bed_width = 10;
  double least_sand = 1, cover_top = 1, crown = 0;
};

constexpr double bed_n = 5120, bed_e = 4890, downslope = 164;  // the bed's middle, and the way water runs

/// 441 shots on an even slope, 440 ft square, steepest toward `downslope`; elevation 100 at the bed's middle.
std::string plane_csv(double percent) {
  const double radians = downslope * std::acos(-1.0) / 180;
  std::string csv = "point,northing,easting,elevation,description\n";
  int point = 0;
  for (int i = -10; i <= 10; ++i) {
    for (int j = -10; j <= 10; ++j) {
      const double north = 22.0 * i, east = 22.0 * j;
      const double away = north * std::cos(radians) + east * std::sin(radians);
      csv +=
          fmt::format("{},{:.3f},{:.3f},{:.9f},GS\n", ++point, bed_n + north, bed_e + east, 100 - percent / 100 * away);
    }
  }
  return csv;
}

std::string job_text(const EvenSlope& mound) {
  return fmt::format(R"([ground]
shots = "ground.csv"
[mound]
center = {{ n = {}, e = {} }}
azimuth = {}
bed = {{ length = {}, width = {} }}
bottom = {{ least_sand = {} }}
downslope = {}
[[layer]]
name = "cover"
top = {}
crown = {}
beyond = 0.0
side = {}
)",
                     bed_n, bed_e, downslope - 90, mound.bed_length, mound.bed_width, mound.least_sand, downslope,
                     mound.cover_top, mound.crown, mound.run);
}

Buildup built(const EvenSlope& mound) {
  const io::Job job = io::job_from_toml(job_text(mound), "job.toml");
  const io::Survey survey = io::shots_from_csv(plane_csv(mound.percent), "ground.csv", job.ground.reading);
  const Ground ground = make_ground(survey.ground_shots, survey.breaklines, job.ground.options);
  return build_up(place_as_drawn(ground, job.mound));
}

/// Height of the finish over existing ground at the bed's upslope and downslope edges.
double height_up(const EvenSlope& mound, const Buildup& b) { return b.sand_least + mound.cover_top; }
double height_down(const EvenSlope& mound, const Buildup& b) { return b.sand_most + mound.cover_top; }

constexpr double inch = 1.0 / 12;

// ---- Ohio State University Extension, Bulletin 813, Mound Systems for On-site Wastewater Treatment ----

/// The design example, steps 12-15: slope 12 %, bed 90 x 4 ft, sand 22 in at the upslope edge, stone 9 in, cover 6 in
/// at the bed's edge and 12 in over its middle, sides 3:1.
const EvenSlope bulletin_example = {12, 3, 90, 4, 22 * inch, (9 + 6) * inch, (12 - 6) * inch};

TEST(Bulletin813, ExampleSandAtTheDownslopeEdge) {
  EXPECT_NEAR(built(bulletin_example).sand_most, 28 * inch, 0.5 * inch);  // printed to the inch
}

TEST(Bulletin813, ExampleUpslopeBerm) {
  // 37 in x 3 x 0.73 = 81 in. The factor stands for 1 / 1.36 = 0.7353, so is short by 0.0053 (see the table), and the
  // product is rounded to the inch.
  const double rounding = 37 * 3 * 0.0053 * inch + 0.5 * inch;
  EXPECT_NEAR(built(bulletin_example).berm.upslope.middle, 81 * inch, rounding);
}

TEST(Bulletin813, ExampleDownslopeBerm) {
  // 43 in x 3 x 1.56 = 201 in. Of the 43 in, the 28 in of sand is rounded from 27.76; the factor, printed to two
  // places, is good to 0.005; the product is rounded to the inch.
  const double rounding = 0.25 * 3 * 1.56 * inch + 43 * 3 * 0.005 * inch + 0.5 * inch;
  EXPECT_NEAR(built(bulletin_example).berm.downslope.middle, 201 * inch, rounding);
}

TEST(Bulletin813, ExampleEnds) {
  // 46 in x 3 = 138 in, 46 in being 25 in of sand at the middle of the end (half of 22 + 28, for 22 + 27.76) and the
  // rest.
  const double rounding = 0.5 * 0.25 * 3 * inch;
  const BermLengths berm = built(bulletin_example).berm;
  EXPECT_NEAR(berm.left.middle, 138 * inch, rounding);
  EXPECT_NEAR(berm.right.middle, 138 * inch, rounding);
}

TEST(Bulletin813, ExampleOverall) {
  const BermLengths berm = built(bulletin_example).berm;
  EXPECT_NEAR(90 + berm.left.middle + berm.right.middle, 113, 0.5);          // printed to the foot
  EXPECT_NEAR(4 + berm.upslope.middle + berm.downslope.middle, 27.5, 0.25);  // printed to the half foot
}

/// Tables 3 and 4, width correction factors for 3:1 sides, slope 1 to 15 %.
constexpr std::array<double, 15> factor_up = {0.97, 0.94, 0.92, 0.89, 0.87, 0.85, 0.83, 0.81,
                                              0.79, 0.77, 0.75, 0.73, 0.72, 0.70, 0.69};
constexpr std::array<double, 15> factor_down = {1.03, 1.06, 1.10, 1.14, 1.18, 1.22, 1.27, 1.32,
                                                1.37, 1.43, 1.49, 1.56, 1.64, 1.72, 1.82};

TEST(Bulletin813, WidthCorrectionFactors) {
  for (int percent = 1; percent <= 15; ++percent) {
    SCOPED_TRACE(percent);
    const EvenSlope mound = {static_cast<double>(percent), 3};
    const Buildup b = built(mound);
    const auto entry = static_cast<std::size_t>(percent - 1);
    // At 12 % the bulletin prints 0.73 upslope; a factor of 0.7353 would round to 0.74.
    const double misprint = percent == 12 ? 0.0003 : 0;
    EXPECT_NEAR(b.berm.upslope.middle / (3 * height_up(mound, b)), factor_up[entry], 0.005 + misprint + reading);
    EXPECT_NEAR(b.berm.downslope.middle / (3 * height_down(mound, b)), factor_down[entry], 0.005 + reading);
  }
}

// ---- University of Minnesota, mound design worksheet, slope multiplier table ----

/// Berm length = multiplier x height, land slope 0 to 10 %.
struct Multipliers {
  double run;
  std::array<double, 11> up, down;
};
const std::array<Multipliers, 2> worksheet = {{{3,
                                                {3.00, 2.91, 2.83, 2.75, 2.68, 2.61, 2.54, 2.48, 2.42, 2.36, 2.31},
                                                {3.00, 3.09, 3.19, 3.30, 3.41, 3.53, 3.66, 3.80, 3.95, 4.11, 4.29}},
                                               {4,
                                                {4.00, 3.85, 3.70, 3.57, 3.45, 3.33, 3.23, 3.12, 3.03, 2.94, 2.86},
                                                {4.00, 4.17, 4.35, 4.54, 4.76, 5.00, 5.26, 5.56, 5.88, 6.25, 6.67}}}};

TEST(MinnesotaWorksheet, SlopeMultipliers) {
  for (const Multipliers& table : worksheet) {
    for (std::size_t percent = 0; percent <= 10; ++percent) {
      SCOPED_TRACE(fmt::format("{}:1 on {} %", table.run, percent));
      const EvenSlope mound = {static_cast<double>(percent), table.run};
      const Buildup b = built(mound);
      // At 3 % the worksheet prints 4.54 for 4:1 downslope; a multiplier of 4.5455 would round to 4.55.
      const double misprint = table.run == 4 && percent == 3 ? 0.0005 : 0;
      EXPECT_NEAR(b.berm.upslope.middle / height_up(mound, b), table.up[percent], 0.005 + reading);
      EXPECT_NEAR(b.berm.downslope.middle / height_down(mound, b), table.down[percent], 0.005 + misprint + reading);
    }
  }
}

// ---- University of Minnesota / Minnesota Pollution Control Agency, mound design form: whole mounds, bed 10 ft wide
// ----

struct FormMound {
  double percent;
  double height_up, berm_up, multiplier_up;
  double height_down, berm_down, multiplier_down;
};

/// Filled-in forms, sides 4:1. The first two print whole feet of berm (11.0 and 21.0, 9.0 and 26.0; see below): 11.3,
/// 21.6, 8.6 and 26.7 are recomputed, the printed multiplier times the printed height. The third prints its berms to
/// 0.1 ft and its heights as 3.8 and 4.0: 3.83 and 4.03 are inferred from the berms.
const std::array<FormMound, 3> forms = {{{6, 3.5, 11.3, 3.23, 4.1, 21.6, 5.26},
                                         {10, 3.0, 8.6, 2.86, 4.0, 26.7, 6.67},
                                         {2, 3.83, 14.2, 3.70, 4.03, 17.5, 4.35}}};

/// What the first two print: berms, overall width, and length of bed and mound.
struct FormPrint {
  double berm_up, berm_down, width, bed_length, length;
};
constexpr std::array<FormPrint, 2> prints = {{{11, 21, 42, 63, 89}, {9, 26, 45, 62, 80}}};

EvenSlope mound_of(const FormMound& form) {
  EvenSlope mound = {form.percent, 4, 63, 10};
  mound.least_sand = form.height_up - mound.cover_top;
  return mound;
}

TEST(MinnesotaForm, HeightAndBermsOfWholeMounds) {
  for (const FormMound& form : forms) {
    SCOPED_TRACE(fmt::format("{} %", form.percent));
    const EvenSlope mound = mound_of(form);
    const Buildup b = built(mound);
    EXPECT_NEAR(height_down(mound, b), form.height_down, reading);  // the form adds bed width x slope, and so exactly
    EXPECT_NEAR(b.berm.upslope.middle, form.berm_up, 0.05 + 0.005 * form.height_up);
    EXPECT_NEAR(b.berm.downslope.middle, form.berm_down, 0.05 + 0.005 * form.height_down);
  }
}

// Each berm is taken to the foot, up or down, and the width is their sum with the bed's 10 ft.
TEST(MinnesotaForm, PrintedBermsAndOverallWidth) {
  for (std::size_t i = 0; i < prints.size(); ++i) {
    SCOPED_TRACE(fmt::format("{} %", forms[i].percent));
    const BermLengths berm = built(mound_of(forms[i])).berm;
    EXPECT_NEAR(berm.upslope.middle, prints[i].berm_up, 1.0);
    EXPECT_NEAR(berm.downslope.middle, prints[i].berm_down, 1.0);
    EXPECT_NEAR(berm.upslope.middle + 10 + berm.downslope.middle, prints[i].width, 1.0);
  }
}

// The form's rule is bed and twice the upslope berm: 62 + 2 x 9 = 80. On the ground an end is longer, for its middle
// stands higher than the upslope edge: 4:1 from the mean of both heights. The first form prints 89 over a bed of 63,
// ends of 13 each, which its own rule does not give (85): they lie between that and the ground's.
TEST(MinnesotaForm, OverallLength) {
  for (std::size_t i = 0; i < prints.size(); ++i) {
    SCOPED_TRACE(fmt::format("{} %", forms[i].percent));
    EvenSlope mound = mound_of(forms[i]);
    mound.bed_length = prints[i].bed_length;
    const BermLengths berm = built(mound).berm;
    const double by_rule = prints[i].bed_length + 2 * berm.upslope.middle;
    const double on_ground = prints[i].bed_length + berm.left.middle + berm.right.middle;
    EXPECT_NEAR(on_ground, prints[i].bed_length + 2 * 4 * 0.5 * (forms[i].height_up + forms[i].height_down), 1e-4);
    EXPECT_GT(prints[i].length, by_rule - 1);
    EXPECT_LT(prints[i].length, on_ground);
    if (i == 1) {
      EXPECT_NEAR(by_rule, prints[i].length, 1.0);
    }
  }
}

// ---- average end area ----

// Dagostino and Peterson, Estimating in Building Construction, Table 9.2: stations in feet, areas in square feet, cubic
// yards by segment printed to the yard.
TEST(AverageEndArea, DagostinoAndPetersonTable92) {
  const std::vector<double> stations = {830, 850, 900, 950, 1000, 1050, 1075};
  const std::vector<double> cut = {0, 125, 168, 210, 144, 75, 0}, fill = {0, 25, 0, 0, 95, 65, 0};
  const std::array<double, 6> cut_yards = {46, 271, 350, 328, 203, 35}, fill_yards = {9, 23, 0, 88, 148, 30};
  const auto segment = [&](const std::vector<double>& areas, std::size_t i) {
    return average_end_area({stations[i], stations[i + 1]}, {areas[i], areas[i + 1]}) / 27;
  };
  for (std::size_t i = 0; i < cut_yards.size(); ++i) {
    EXPECT_NEAR(segment(cut, i), cut_yards[i], 0.5) << i;
    EXPECT_NEAR(segment(fill, i), fill_yards[i], 0.5) << i;
  }
  EXPECT_NEAR(average_end_area(stations, cut) / 27, 1233, 3);  // the printed sums are of rounded segments
  EXPECT_NEAR(average_end_area(stations, fill) / 27, 298, 3);
}

// Fundamentals of Transportation (open access), Earthwork, solved problem: stations and areas in meters; average end
// areas, but a pyramid (a third) where one end is nothing. 4087.5 of fill and 1058.3 of cut. The program averages there
// too (a half), as sections close to an end do not miss much; all other stretches are alike.
TEST(AverageEndArea, FundamentalsOfTransportation) {
  struct Run {
    std::vector<double> stations, areas;
    double published;
    double pyramid;  // area x length of the stretch that begins or ends with nothing
  };
  const Run fill = {{0, 50, 75, 100, 115}, {60, 50, 25, 5, 0}, 4087.5, 5 * 15};
  const Run cut = {{75, 100, 115, 150}, {0, 10, 15, 30}, 1058.3, 10 * 25};
  for (const Run& run : {fill, cut}) {
    const double averaged = average_end_area(run.stations, run.areas);
    EXPECT_NEAR(averaged - (1.0 / 2 - 1.0 / 3) * run.pyramid, run.published, 0.05);
  }
}

/// Fill up to elevation 100 inside vertical faces that stand outside the survey, on the ground of these shots: volume.
double filled_to_100(const std::vector<Shot>& shots, const std::vector<Breakline>& lines) {
  const Ground ground = make_ground(shots, lines);
  MoundDesign design;
  design.bed = straight_bed({25, 25}, 90, 20, 20);
  design.bottom_elevation = 99;
  design.downslope = 0;
  design.layers = {plain_layer("fill", 1, 50, 0)};
  return build_up(place_as_drawn(ground, design)).layers[0].volume;
}

// Dagostino and Peterson, Estimating in Building Construction, Example 9-8, a borrow pit in squares of 50 ft: corner
// depths 1.4 1.4 1.2 1.3 give 3,312.5 cubic feet, 123 cubic yards. A square's four corners weigh alike in the mean of
// the two ways to lay its diagonal.
TEST(BorrowPit, OneSquareOfDagostinoAndPeterson) {
  const std::vector<Shot> corners = {
      {"", 0, 0, 98.6, "", 0}, {"", 0, 50, 98.6, "", 0}, {"", 50, 50, 98.8, "", 0}, {"", 50, 0, 98.7, "", 0}};
  const double volume = 0.5 * (filled_to_100(corners, {{0, 2}}) + filled_to_100(corners, {{1, 3}}));
  EXPECT_NEAR(volume, 3312.5, 1e-6);
  EXPECT_NEAR(volume / 27, 123, 0.5);
}

// Vose, Handbook of Railroad Construction (1857), arts. 107-108: a bank with a base of 20 ft and sides 1.5:1, depths 0
// 5 10 15 0 at 50 ft. By end areas it prints 56,200 cubic feet, which is 56,250 unrounded. It prints no prismoidal sum:
// 52,500 is computed by that formula, which is exact here. Built up on ground of these depths, with sections cut at the
// stations.
TEST(AverageEndArea, VoseArticles107And108ThroughTheWholeProgram) {
  const std::array<double, 5> depths = {0, 5, 10, 15, 0};
  std::vector<Shot> shots;
  std::vector<Breakline> rows;
  const auto add_row = [&](double east, double depth) {
    for (const double north : {-60.0, 60.0}) shots.push_back({"", north, east, 100 - depth, "", 0});
    rows.push_back({shots.size() - 2, shots.size() - 1});
  };
  add_row(-30, 0);
  for (std::size_t i = 0; i < depths.size(); ++i) add_row(50.0 * static_cast<double>(i), depths[i]);
  add_row(230, 0);
  const Ground ground = make_ground(shots, rows);
  MoundDesign design;
  design.bed = straight_bed({100, 0}, 90, 200, 20);
  design.bottom_elevation = 100;
  design.downslope = 180;
  Layer bank = plain_layer("bank", 0, 0, 1.5);
  bank.side.left = bank.side.right = 0;
  design.layers = {bank};
  const PlacedMound mound = place_mound(place_as_drawn(ground, design));
  const Buildup& b = mound.buildup;
  EXPECT_NEAR(b.layers[0].volume, 52500, 1e-6);
  std::vector<double> stations, areas;
  for (int i = 0; i <= 4; ++i) {
    const double east = 50.0 * i;
    stations.push_back(east);
    areas.push_back(cut_section(mound, ground.to_local({east, -59}), ground.to_local({east, 59})).layer_area(0));
  }
  EXPECT_NEAR(average_end_area(stations, areas), 56250, 1e-6);
}

}  // namespace
}  // namespace moundwright

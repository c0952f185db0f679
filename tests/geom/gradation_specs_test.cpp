// Published gradations and sieve openings, held row by row against a second transcription that was typed apart from the
// one in geom/gradation_specs.cpp, and the edges of every limit.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <string>
#include <vector>

#include "geom/gradation.h"
#include "geom/sieve_sample.h"

namespace moundwright {
namespace {

using testing::HasSubstr;
using testing::UnorderedElementsAreArray;

/// Sieve by the opening that the tables print beside its name, mm; percent passing.
struct Row {
  double opening_mm, least, most;
};
struct Table {
  const char* name;
  const char* source;  // a part of it
  std::vector<Row> rows;
};

const std::vector<Table> tables = {
    // ASTM C33/C33M, Standard Specification for Concrete Aggregates, grading of fine aggregate; at most 3 % finer than
    // the 75 um sieve in concrete subject to abrasion.
    {"ASTM C33 fine aggregate",
     "ASTM C33",
     {{9.5, 100, 100},
      {4.75, 95, 100},
      {2.36, 80, 100},
      {1.18, 50, 85},
      {0.600, 25, 60},
      {0.300, 5, 30},
      {0.150, 0, 10},
      {0.075, 0, 3}}},
    // ASTM C33/C33M and D448, coarse aggregate, size number 57, 25.0 to 4.75 mm. The same row stands as gradation
    // number
    // 3 (size 57) in Iowa DOT Materials IM 209, Appendix D.
    {"ASTM C33 size 57", "D448", {{2.36, 0, 5}, {4.75, 0, 10}, {12.5, 25, 60}, {25.0, 95, 100}, {37.5, 100, 100}}},
    // Michigan DOT, Standard Specifications for Construction, section 902, all three from memory; loss by washing
    // stands on the 75 um row.
    {"MDOT 2NS",
     "from memory",
     {{9.5, 100, 100},
      {4.75, 95, 100},
      {2.36, 65, 95},
      {1.18, 35, 75},
      {0.600, 20, 55},
      {0.300, 10, 30},
      {0.150, 0, 10},
      {0.075, 0, 3}}},
    {"MDOT Class II", "from memory", {{75, 100, 100}, {25.0, 60, 100}, {0.150, 0, 30}, {0.075, 0, 7}}},
    {"MDOT 6A", "from memory", {{37.5, 100, 100}, {25.0, 95, 100}, {12.5, 30, 60}, {4.75, 0, 8}, {0.075, 0, 1}}},
};

const GradationLimits& limits_of(const Table& table) { return *published_limits(table.name); }

TEST(PublishedGradations, AreTheseFive) {
  std::vector<std::string> names, typed;
  for (const GradationLimits& limits : published_gradations()) names.push_back(limits.name);
  for (const Table& table : tables) typed.emplace_back(table.name);
  EXPECT_THAT(names, UnorderedElementsAreArray(typed));
}

TEST(PublishedGradations, EveryRowIsAsTyped) {
  for (const Table& table : tables) {
    SCOPED_TRACE(table.name);
    const GradationLimits& limits = limits_of(table);
    EXPECT_THAT(limits.source, HasSubstr(table.source));
    ASSERT_EQ(limits.sieves.size(), table.rows.size());
    for (const Row& row : table.rows) {
      SCOPED_TRACE(row.opening_mm);
      const auto at = std::find_if(limits.sieves.begin(), limits.sieves.end(),
                                   [&](const SieveLimit& l) { return l.opening_mm == row.opening_mm; });
      ASSERT_NE(at, limits.sieves.end());
      EXPECT_EQ(at->passing.least, row.least);
      EXPECT_EQ(at->passing.most, row.most);
    }
  }
}

/// Every sieve of a table half way between its limits, but for one.
GradationReport report_with(const Table& table, const Row& one, double passing) {
  Gradation gradation;
  for (const Row& row : table.rows) {
    gradation.readings.push_back(
        {row.opening_mm, row.opening_mm == one.opening_mm ? passing : (row.least + row.most) / 2});
  }
  return check_gradation(gradation, limits_of(table));
}

/// Whether that one sieve passes; all others have to.
bool passes(const Table& table, const Row& one, double passing) {
  const GradationReport report = report_with(table, one, passing);
  bool result = false;
  for (const GradationCheck& check : report.sieves) {
    if (check.name == sieve_name(one.opening_mm)) {
      result = check.passes;
    } else {
      EXPECT_TRUE(check.passes) << check.name;
    }
  }
  return result;
}

TEST(PublishedGradations, ASampleAtALimitPassesAndATenthBeyondFails) {
  for (const Table& table : tables) {
    for (const Row& row : table.rows) {
      SCOPED_TRACE(fmt::format("{}, {} mm", table.name, row.opening_mm));
      EXPECT_TRUE(passes(table, row, row.least));
      EXPECT_TRUE(passes(table, row, row.most));
      EXPECT_FALSE(passes(table, row, row.least - 0.1));
      EXPECT_FALSE(passes(table, row, row.most + 0.1));
    }
  }
}

/// Concrete sand by what stays on No. 4, 8, 16, 30, 50 and 100 and all coarser ones, percent. All within its limits.
GradationReport sand_retaining(const std::array<double, 6>& cumulative) {
  constexpr std::array<double, 6> openings = {4.75, 2.36, 1.18, 0.600, 0.300, 0.150};
  std::vector<SieveReading> readings = {{9.5, 100}};
  for (std::size_t i = 0; i < openings.size(); ++i) readings.push_back({openings[i], 100 - cumulative[i]});
  readings.push_back({0.075, 0.5});
  Problems problems;
  const Gradation sand = gradation_from_passing(readings, problems);
  EXPECT_FALSE(problems.has_errors());
  GradationReport report = check_gradation(sand, *published_limits("ASTM C33 fine aggregate"));
  for (const GradationCheck& check : report.sieves) EXPECT_TRUE(check.passes) << check.name;
  return report;
}

// ASTM C33: fineness modulus not less than 2.3 nor more than 3.1. What is retained adds up to 230, 229, 310 and 311 %.
TEST(PublishedGradations, FinenessModulusOfConcreteSand) {
  EXPECT_TRUE(sand_retaining({1, 5, 20, 42, 72, 90}).passes);
  EXPECT_FALSE(sand_retaining({0, 5, 20, 42, 72, 90}).passes);
  EXPECT_TRUE(sand_retaining({5, 15, 40, 65, 88, 97}).passes);
  EXPECT_FALSE(sand_retaining({5, 15, 40, 65, 88, 98}).passes);
  for (const Table& table : tables) {
    const Limit& asked = limits_of(table).fineness_modulus;
    EXPECT_EQ(asked.least || asked.most, std::string(table.name) == "ASTM C33 fine aggregate") << table.name;
  }
}

// ---- sieves --------------------------------------------------------------------------------------------------------

struct Sieve {
  const char* name;
  double opening_mm;
};
// ASTM E11, nominal openings. Those by number also in Das, Principles of Geotechnical Engineering, Table 2.3.
constexpr std::array<Sieve, 23> sieves = {{{"6 in", 150},      {"3 in", 75},       {"2-1/2 in", 63},  {"2 in", 50},
                                           {"1-1/2 in", 37.5}, {"1 in", 25.0},     {"3/4 in", 19.0},  {"1/2 in", 12.5},
                                           {"3/8 in", 9.5},    {"1/4 in", 6.3},    {"No. 4", 4.75},   {"No. 8", 2.36},
                                           {"No. 10", 2.00},   {"No. 16", 1.18},   {"No. 20", 0.850}, {"No. 30", 0.600},
                                           {"No. 40", 0.425},  {"No. 50", 0.300},  {"No. 60", 0.250}, {"No. 80", 0.180},
                                           {"No. 100", 0.150}, {"No. 140", 0.106}, {"No. 200", 0.075}}};

TEST(Sieves, OpeningsAreThoseOfAstmE11) {
  for (const Sieve& sieve : sieves) {
    EXPECT_EQ(sieve_opening_mm(sieve.name).value_or(0), sieve.opening_mm) << sieve.name;
    EXPECT_EQ(sieve_name(sieve.opening_mm), sieve.name);
  }
}

// ASTM C125: 150 um (No. 100), 300, 600, 1.18 mm, 2.36, 4.75, 9.5, 19.0, 37.5 and larger, increasing in the ratio of 2
// to 1: eleven sieves up to 6 in. Where each of them and all others pass a half, the modulus is 11 x 0.5.
TEST(Sieves, TheFinenessModulusSumsItsOwnSeriesOnly) {
  Gradation half;
  for (const Sieve& sieve : sieves) half.readings.push_back({sieve.opening_mm, 50});
  EXPECT_NEAR(measures_of(half).fineness_modulus.value_or(0), 5.5, 1e-12);
  for (std::size_t i = 0; i < sieves.size(); ++i) {
    Gradation other = half;
    other.readings[i].passing = 49;
    const double opening = sieves[i].opening_mm;
    const std::array<double, 11> series = {150, 75, 37.5, 19.0, 9.5, 4.75, 2.36, 1.18, 0.600, 0.300, 0.150};
    const bool counts = std::find(series.begin(), series.end(), opening) != series.end();
    EXPECT_NEAR(measures_of(other).fineness_modulus.value_or(0), counts ? 5.51 : 5.5, 1e-12) << sieves[i].name;
  }
}

// ---- weights -------------------------------------------------------------------------------------------------------

bool is_refused(double retained, double pan, std::optional<double> whole, std::optional<double> washed = {}) {
  Problems problems;
  gradation_of({{{4.75, 0}, {0.075, retained}}, pan, whole, washed}, problems);
  return problems.has_errors();
}

// ASTM C136: not for acceptance where the weights before and after sieving are over 0.3 % apart.
TEST(SieveSamples, ThreeInAThousandMayBeLostAndNoMore) {
  EXPECT_FALSE(is_refused(970, 27, 1000));
  EXPECT_FALSE(is_refused(970, 33, 1000));
  EXPECT_TRUE(is_refused(970, 26.9, 1000));
  EXPECT_TRUE(is_refused(970, 33.1, 1000));
  // Washed: held against what went on the sieves, 0.3 % of 900 being 2.7.
  EXPECT_FALSE(is_refused(890, 7.3, 1000, 900));
  EXPECT_TRUE(is_refused(890, 7.2, 1000, 900));
  EXPECT_TRUE(is_refused(890, 12.8, 1000, 900));
}

// 0.3 % of 1,000 may be lost: a pan below zero must not make a sum right.
TEST(SieveSamples, AWeightBelowZeroIsTold) {
  for (const SieveSample& sample :
       {SieveSample{{{4.75, 1003.0}}, -3, 1000, {}}, SieveSample{{{4.75, 1003.0}, {0.075, -3.0}}, 0, 1000, {}}}) {
    Problems problems;
    gradation_of(sample, problems);
    ASSERT_TRUE(problems.has_errors());
    EXPECT_THAT(problems.all.front().what_to_do, HasSubstr("cannot be below zero"));
  }
}

// By the definitions of ASTM C117 (percent finer than No. 200 by washing = (dry weight before - after) / before) and
// C136 (all percentages are of the whole dry sample, what was washed out being in it). The weights are invented: 26.7
// of 523.4 are washed out, 2.2 more are found in the pan, and 0.5 is lost in sieving, which is within 0.3 % of 496.7.
TEST(SieveSamples, AWashedSampleIsMeasuredByItsWholeDryWeight) {
  const SieveSample sample{{{4.75, 20.0}, {0.600, 300.0}, {0.075, 174.0}}, 2.2, 523.4, 496.7};
  Problems problems;
  const Gradation g = gradation_of(sample, problems);
  EXPECT_FALSE(problems.has_errors());
  EXPECT_NEAR(*sample.washed_out(), 100 * 26.7 / 523.4, 1e-9);
  EXPECT_NEAR(*passing_at(g, 4.75), 100 * (1 - 20.0 / 523.4), 1e-9);
  EXPECT_NEAR(*passing_at(g, 0.600), 100 * (1 - 320.0 / 523.4), 1e-9);
  EXPECT_NEAR(*measures_of(g).fines, 100 * (1 - 494.0 / 523.4), 1e-9);  // 5.6, and of what came off the sieves 0.4
}

// 945 of 1,000 stay above No. 200 and 53.5 are in the pan: 5.5 % of the dry weight pass, where 53.5 of the 998.5 that
// came off the sieves would be 5.4.
TEST(SieveSamples, ADryWeightThatIsGivenIsWhatPercentagesAreOf) {
  const SieveSample sample{{{4.75, 500.0}, {0.075, 445.0}}, 53.5, 1000, {}};
  Problems problems;
  const Gradation g = gradation_of(sample, problems);
  EXPECT_FALSE(problems.has_errors());
  EXPECT_EQ(fmt::format("{:.1f}", *measures_of(g).fines), "5.5");
  EXPECT_FALSE(sample.washed_out());
}

}  // namespace
}  // namespace moundwright

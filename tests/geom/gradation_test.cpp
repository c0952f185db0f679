// Sieve analyses against worked examples in print.
#include "geom/gradation.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace moundwright {
namespace {

using testing::ElementsAre;
using testing::Field;
using testing::HasSubstr;
using testing::IsEmpty;

Gradation good(Gradation gradation, const Problems& problems) {
  EXPECT_THAT(problems.all, IsEmpty());
  return gradation;
}

Gradation retained(const std::vector<std::pair<const char*, double>>& rows, double pan,
                   std::optional<double> total = {}) {
  std::vector<RetainedWeight> weights;
  for (const auto& [sieve, weight] : rows) weights.push_back({*sieve_opening_mm(sieve), weight});
  Problems problems;
  Gradation gradation = gradation_from_retained(weights, pan, total, problems);
  return good(std::move(gradation), problems);
}

// Properties and Behavior of Soil: Online Lab Manual, example 2.8: D10 0.14, D30 0.27, D60 0.42 mm; a straight line on
// the logarithm of the size gives 0.144, 0.272, 0.424 (computed apart).
TEST(Gradation, WorkedSieveAnalysis) {
  const Gradation g =
      retained({{"4", 28}, {"10", 42}, {"20", 48}, {"40", 128}, {"60", 221}, {"100", 86}, {"200", 40}}, 24, 617);
  const GradationMeasures m = measures_of(g);
  EXPECT_NEAR(*m.d10, 0.144, 0.0005);
  EXPECT_NEAR(*m.d30, 0.272, 0.0005);
  EXPECT_NEAR(*m.d60, 0.424, 0.0005);
  EXPECT_NEAR(*m.uniformity, *m.d60 / *m.d10, 1e-12);
  EXPECT_NEAR(*m.fines, 100 * 24.0 / 617, 1e-9);
}

// Computed here from weights in print, since no modulus is printed with them: 1,325 / 508 = 2.61, the 2.00 mm sieve
// left out of the sum as it is not in the series (ASTM C125).
TEST(Gradation, FinenessModulusLeavesOutASieveThatIsNotInTheSeries) {
  const Gradation g = retained({{"4.75", 0},
                                {"2.36", 33},
                                {"2.00 mm", 57},
                                {"1.18", 86},
                                {"0.60", 145},
                                {"0.30", 40},
                                {"0.15", 73},
                                {"0.075", 58}},
                               16);
  EXPECT_NEAR(*measures_of(g).fineness_modulus, 2.61, 0.005);
}

// Kosmatka and Kerkhoff, Design and Control of Concrete Mixtures (from memory): 2.83.
TEST(Gradation, FinenessModulusOfPercentRetained) {
  const Gradation g =
      retained({{"3/8 in", 0}, {"4", 2}, {"8", 13}, {"16", 20}, {"30", 20}, {"50", 24}, {"100", 18}}, 3);
  EXPECT_NEAR(*measures_of(g).fineness_modulus, 2.83, 0.005);
}

TEST(Gradation, NoFinenessModulusWhereASieveOfTheSeriesIsMissing) {
  const Gradation g = retained({{"3/8 in", 0}, {"4", 2}, {"16", 33}, {"30", 20}, {"50", 24}, {"100", 18}}, 3);
  EXPECT_FALSE(measures_of(g).fineness_modulus);
}

TEST(Gradation, SievesAsTheyAreWritten) {
  for (const char* text : {"No. 4", "#4", "4", "no 4", "4.75 mm", "4.75", "0.187 in", "4750 um"}) {
    EXPECT_EQ(sieve_opening_mm(text).value_or(0), 4.75) << text;
  }
  EXPECT_EQ(*sieve_opening_mm("1-1/2 in"), 37.5);
  EXPECT_EQ(*sieve_opening_mm("3/8\""), 9.5);
  EXPECT_EQ(*sieve_opening_mm("200"), 0.075);
  for (const char* text : {"", "2", "No. 7", "pan", "-4", "1/0 in"}) EXPECT_FALSE(sieve_opening_mm(text)) << text;
  EXPECT_EQ(sieve_name(25.0), "1 in");
}

Gradation concrete_sand(double no_200) {
  Problems problems;
  Gradation g = gradation_from_passing(
      {{9.5, 100}, {4.75, 98}, {2.36, 88}, {1.18, 68}, {0.6, 42}, {0.3, 16}, {0.15, 5}, {0.075, no_200}}, problems);
  return good(std::move(g), problems);
}

TEST(Gradation, PassesOrFailsSieveBySieve) {
  const GradationLimits& c33 = *published_limits("ASTM C33 fine aggregate");
  EXPECT_TRUE(check_gradation(concrete_sand(2.0), c33).passes);
  const GradationReport dirty = check_gradation(concrete_sand(4.5), c33);
  EXPECT_FALSE(dirty.passes);
  EXPECT_TRUE(dirty.complete);
  for (const GradationCheck& check : dirty.sieves) EXPECT_EQ(check.passes, check.name != "No. 200") << check.name;
  EXPECT_NEAR(dirty.sieves.back().off_by, 1.5, 1e-9);
  // 1.5/97 of the sample washed away leaves (4.5 - 1.5464)/(100 - 1.5464) = 3.0 %
  EXPECT_THAT(dirty.sieves.back().text, HasSubstr("1.5 lb of every 100"));
}

TEST(Gradation, ASieveThatIsNotOnTheTicketIsNotAPass) {
  Problems problems;
  const Gradation g = gradation_from_passing({{9.5, 100}, {4.75, 98}, {0.15, 5}}, problems);
  const GradationReport report = check_gradation(g, *published_limits("MDOT Class II"));
  EXPECT_FALSE(report.complete);
  EXPECT_FALSE(report.passes);
}

TEST(Gradation, ATicketThatGainsWeightIsTold) {
  Problems problems;
  gradation_from_passing({{4.75, 90}, {2.36, 92}}, problems);
  EXPECT_THAT(problems.all, ElementsAre(Field(&Problem::what, HasSubstr("gains weight"))));
  Problems by_weight;
  gradation_from_retained({{4.75, 300}, {2.36, 310}}, 20, 617, by_weight);
  EXPECT_THAT(by_weight.all, ElementsAre(Field(&Problem::what, HasSubstr("gained 2.1 %"))));
}

TEST(Gradation, EverySpecificationSaysWhereItIsFrom) {
  for (const GradationLimits& limits : published_gradations()) {
    EXPECT_FALSE(limits.source.empty()) << limits.name;
    for (std::size_t i = 1; i < limits.sieves.size(); ++i) {
      EXPECT_GT(limits.sieves[i - 1].opening_mm, limits.sieves[i].opening_mm) << limits.name;
      EXPECT_GE(limits.sieves[i - 1].passing.most, limits.sieves[i].passing.most) << limits.name;
    }
  }
}

}  // namespace
}  // namespace moundwright

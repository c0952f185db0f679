#include "geom/printed.h"

#include <gtest/gtest.h>

#include <random>
#include <string>

#include "geom/stakes.h"
#include "geom/trade_text.h"

namespace moundwright {
namespace {

/// A printed figure in units of its last digit, by its characters alone: "-1.20" is -120.
long long digits_of(const std::string& text) {
  std::string digits;
  for (const char c : text) {
    if (c == '-' || (c >= '0' && c <= '9')) digits += c;
  }
  return std::stoll(digits);
}

/// "F 2.08" is 208, "C 1.20" is -120, "0.00" is 0.
long long digits_of_cut_or_fill(const std::string& text) {
  if (text.starts_with("F ")) return digits_of(text.substr(2));
  if (text.starts_with("C ")) return -digits_of(text.substr(2));
  return digits_of(text);
}

TEST(Printed, AHalfGoesUpAsInAFieldBook) {  // common practice; each by hand
  EXPECT_EQ(fixed_text(103.125, 2), "103.13");
  EXPECT_EQ(fixed_text(103.135, 2), "103.14");  // below the half in binary
  EXPECT_EQ(fixed_text(1.005, 2), "1.01");      // the same
  EXPECT_EQ(fixed_text(103.1249, 2), "103.12");
  EXPECT_EQ(fixed_text(0.5, 0), "1");
  EXPECT_EQ(fixed_text(2.5, 0), "3");
  EXPECT_EQ(fixed_text(31.4325, 3), "31.433");
  EXPECT_EQ(fixed_text(-0.125, 2), "-0.13") << "below zero it is the size that is rounded";
  EXPECT_EQ(fixed_text(-0.004, 2), "0.00");
  EXPECT_EQ(fixed_text(1e300, 2).size(), 304U) << "what has no decimals is left alone";
}

TEST(Printed, IsTheRuleInWholeNumbers) {
  std::mt19937_64 random(5);
  std::uniform_int_distribution<long long> any(-30'000'000, 30'000'000);  // of a ten-thousandth
  for (int i = 0; i < 100000; ++i) {
    long long n = any(random);
    if (i % 3 == 0) n = n / 100 * 100 + (n < 0 ? -50 : 50);  // a half
    const long long up = (std::abs(n) + 50) / 100 * (n < 0 ? -1 : 1);
    EXPECT_EQ(digits_of(fixed_text(static_cast<double>(n) / 10000.0, 2)), up) << n;
  }
}

/// Elevations as jobs have them: a survey's hundredths, eighths of a foot on top, sums of both, anything between.
class Elevations {
 public:
  double next() {
    const double hundredths = std::round(any_(random_) * 100) / 100;
    switch (random_() % 4) {
      case 0:
        return hundredths + static_cast<double>(random_() % 8) / 8.0;
      case 1:
        return hundredths + static_cast<double>(random_() % 10) / 2000.0;
      case 2:
        return hundredths;
      default:
        return any_(random_);
    }
  }

 private:
  std::mt19937_64 random_{81};
  std::uniform_real_distribution<double> any_{-60.0, 1500.0};
};

TEST(Printed, CutFillAndRodAreWhatAPencilMakesOfThePrintedFigures) {
  Elevations elevation;
  for (int i = 0; i < 20000; ++i) {
    const double design = elevation.next(), ground = elevation.next(), hi = design + std::abs(elevation.next());
    for (const LengthUnit unit : {LengthUnit::foot, LengthUnit::metre}) {
      const int decimals = length_decimals(unit);
      const long long grade = digits_of(fixed_text(design, decimals));
      EXPECT_EQ(digits_of_cut_or_fill(cut_or_fill(ground, design, unit)),
                grade - digits_of(fixed_text(ground, decimals)))
          << design << " over " << ground;
      const std::string rod = rod_text(grade_rod(hi, design, unit), unit);
      EXPECT_EQ(digits_of(rod.substr(0, rod.find(' '))), digits_of(fixed_text(hi, decimals)) - grade)
          << "rod at " << design << " from " << hi;
    }
  }
}

TEST(Printed, AGradeOfAnEighthOverGroundInHundredths) {  // 101.5 + 1.625 over 100.58
  EXPECT_EQ(fixed_text(101.5 + 1.625, 2), "103.13");
  EXPECT_EQ(cut_or_fill(100.58, 101.5 + 1.625), "F 2.55");
  EXPECT_EQ(rod_text(grade_rod(105.12, 101.405)), "3.71 (3 ft 8-1/2 in)");  // 105.12 - 101.41
}

}  // namespace
}  // namespace moundwright

// How close grades are kept, typed apart from the program: common practice, in the words of the trade.
#include "io/grade_limits.h"

#include <gtest/gtest.h>

namespace moundwright::io {
namespace {

// Five eighths of an inch on the bed, a tenth of a foot elsewhere, a quarter inch on a check shot.
TEST(GradeLimits, OfJobsInFeet) {
  for (const LengthUnit unit : {LengthUnit::foot, LengthUnit::us_survey_foot}) {
    const GradeLimits limits = grade_limits(unit);
    EXPECT_NEAR(12 * limits.bed, 5.0 / 8, 1.0 / 32);
    EXPECT_NEAR(12 * limits.elsewhere, 1 + 3.0 / 16, 1.0 / 32);
    EXPECT_NEAR(12 * limits.check_shot, 1.0 / 4, 1.0 / 32);
  }
}

// A job in meters is held no looser, and closer by less than a millimeter: 1 ft = 304.8 mm (NIST Handbook 44).
TEST(GradeLimits, OfJobsInMeters) {
  const GradeLimits feet = grade_limits(LengthUnit::foot), meters = grade_limits(LengthUnit::metre);
  for (const auto limit : {&GradeLimits::bed, &GradeLimits::elsewhere, &GradeLimits::check_shot}) {
    const double millimeters = 304.8 * (feet.*limit);
    EXPECT_LE(1000 * (meters.*limit), millimeters);
    EXPECT_GT(1000 * (meters.*limit), millimeters - 1);
  }
}

}  // namespace
}  // namespace moundwright::io

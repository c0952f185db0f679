// Lengths and volumes of the trade. Everything is computed in the job's own unit; only what is printed in
// cubic yards, acres or metres passes through here.
//
// Sources: 1 international foot = 0.3048 m and 1 US survey foot = 1200/3937 m exactly (NIST Handbook 44,
// Appendix C); 1 yard = 3 international feet.
#pragma once

namespace moundwright {

enum class LengthUnit { foot, us_survey_foot, metre };

constexpr double metres_per(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::foot:
      return 0.3048;
    case LengthUnit::us_survey_foot:
      return 1200.0 / 3937.0;  // NIST Handbook 44, Appendix C
    case LengthUnit::metre:
      return 1.0;
  }
  return 1.0;
}

/// International feet in one job unit.
constexpr double feet_per(LengthUnit unit) { return metres_per(unit) / 0.3048; }

/// Cubic yards in one cubic job unit.
constexpr double cubic_yards_per(LengthUnit unit) {
  const double yards = metres_per(unit) / 0.9144;
  return yards * yards * yards;
}

/// The word printed after a length: "ft", "us-ft" or "m".
constexpr const char* symbol(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::foot:
      return "ft";
    case LengthUnit::us_survey_foot:
      return "us-ft";
    case LengthUnit::metre:
      return "m";
  }
  return "ft";
}

}  // namespace moundwright

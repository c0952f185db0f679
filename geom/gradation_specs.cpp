// Published gradations. Percent passing by weight, openings in mm (ASTM E11). The plan's own specification always wins.
#include "geom/gradation.h"

namespace moundwright {
namespace {

SieveLimit passes(double opening_mm, double least, double most) { return {opening_mm, {least, most}}; }

std::vector<GradationLimits> make() {
  constexpr double in_3 = 75, in_1_half = 37.5, in_1 = 25, in_half = 12.5, in_3_8 = 9.5, no_4 = 4.75, no_8 = 2.36,
                   no_16 = 1.18, no_30 = 0.6, no_50 = 0.3, no_100 = 0.15, no_200 = 0.075;
  const std::string michigan =
      "Michigan DOT Standard Specifications for Construction, section 902; written down from memory: hold it against "
      "the edition in force; loss by washing is taken as what passes No. 200";
  return {
      {"ASTM C33 fine aggregate",
       "ASTM C33/C33M, fine aggregate",
       {passes(in_3_8, 100, 100), passes(no_4, 95, 100), passes(no_8, 80, 100), passes(no_16, 50, 85),
        passes(no_30, 25, 60), passes(no_50, 5, 30), passes(no_100, 0, 10), passes(no_200, 0, 3)},
       {2.3, 3.1},
       {},
       {}},
      {"ASTM C33 size 57",
       "ASTM C33/C33M and D448, size number 57",
       {passes(in_1_half, 100, 100), passes(in_1, 95, 100), passes(in_half, 25, 60), passes(no_4, 0, 10),
        passes(no_8, 0, 5)},
       {},
       {},
       {}},
      {"MDOT 2NS",
       michigan,
       {passes(in_3_8, 100, 100), passes(no_4, 95, 100), passes(no_8, 65, 95), passes(no_16, 35, 75),
        passes(no_30, 20, 55), passes(no_50, 10, 30), passes(no_100, 0, 10), passes(no_200, 0, 3)},
       {},
       {},
       {}},
      {"MDOT Class II",
       michigan,
       {passes(in_3, 100, 100), passes(in_1, 60, 100), passes(no_100, 0, 30), passes(no_200, 0, 7)},
       {},
       {},
       {}},
      {"MDOT 6A",
       michigan,
       {passes(in_1_half, 100, 100), passes(in_1, 95, 100), passes(in_half, 30, 60), passes(no_4, 0, 8),
        passes(no_200, 0, 1)},
       {},
       {},
       {}},
  };
}

}  // namespace

const std::vector<GradationLimits>& published_gradations() {
  static const std::vector<GradationLimits> all = make();
  return all;
}

}  // namespace moundwright

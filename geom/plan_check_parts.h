// What the parts of check_plan share: the case at hand, and one function for each thing that is checked.
#pragma once

#include <fmt/format.h>

#include <cmath>
#include <string>
#include <vector>

#include "geom/downslope.h"
#include "geom/placed_mound.h"
#include "geom/plan_checks.h"
#include "geom/printed.h"

namespace moundwright {

/// A mound on its ground, as the checks see it.
struct PlanCase {
  const PlacedMound& mound;
  const CheckOptions& options;
  const std::vector<Shot>& shots;
  std::optional<BedFall> fall;  // of the ground under the bed

  const Requirements& asked() const { return options.asked; }
  std::string unit() const { return symbol(options.unit); }
  /// What people call it: on the lot a US survey foot is a foot.
  std::string tape() const { return options.unit == LengthUnit::metre ? "m" : "ft"; }
  /// A number of feet in the job's unit.
  double feet(double value) const { return value / feet_per(options.unit); }
  /// "101.24", in metres "30.858".
  std::string elevation(double value) const { return fixed_text(value, length_decimals(options.unit)); }
  /// "1.20 ft".
  std::string length(double value) const { return fmt::format("{} {}", elevation(value), tape()); }
  /// From one printed elevation up to another.
  double rise(double from, double to) const { return printed_difference(to, from, length_decimals(options.unit)); }
  std::string area_unit() const { return options.unit == LengthUnit::metre ? "sq m" : "sq ft"; }
  /// "160.0 sq ft".
  std::string area(double value) const { return fmt::format("{} {}", fixed_text(value, 1), area_unit()); }
  double square_feet(double area) const { return area * feet_per(options.unit) * feet_per(options.unit); }
};

using PlanChecks = std::vector<PlanCheck>;

/// The face beyond which a place (mound frame) lies, by whichever it is farther out from; and the way out of it.
Face face_beyond(const MoundShape& shape, const Point2& uv);
Point2 outward_of(Face face);  // mound frame; of the ends, along the chord
/// "upslope side", "left end".
std::string face_name(Face face);
/// One of "north", "northeast" and so on.
std::string compass_word(const Point2& direction);

/// Existing ground along a straight stretch (reduced), at every break of it; exact between. Places off the survey are
/// left out.
struct ProfilePoint {
  double s;  // plan distance from the start
  double z;
  Point2 at;
};
std::vector<ProfilePoint> ground_along(const Ground& ground, const Point2& from, const Point2& to);

// In the order check_plan runs them.
void check_survey_under_bed(const PlanCase& c, PlanChecks& checks);
void check_bed_bottom(const PlanCase& c, PlanChecks& checks);
void check_sand(const PlanCase& c, PlanChecks& checks);
void check_laterals(const PlanCase& c, PlanChecks& checks);
void check_separation(const PlanCase& c, PlanChecks& checks);
void check_basal_area(const PlanCase& c, PlanChecks& checks);
void check_contour_fit(const PlanCase& c, PlanChecks& checks);
void check_survey_reach(const PlanCase& c, PlanChecks& checks);
void check_sides_catch(const PlanCase& c, PlanChecks& checks);
void check_water(const PlanCase& c, PlanChecks& checks);
void check_keep_clear(const PlanCase& c, PlanChecks& checks);
void check_layers_bare(const PlanCase& c, PlanChecks& checks);
void check_steep_sides(const PlanCase& c, PlanChecks& checks);
void check_shell(const PlanCase& c, PlanChecks& checks);
void check_layers_add(const PlanCase& c, PlanChecks& checks);
void check_undercut(const PlanCase& c, PlanChecks& checks);
void check_specks(const PlanCase& c, PlanChecks& checks);

/// Least plan distance from some outlines to a feature, both in one frame; 0 where they meet or one holds the other.
double distance_to_feature(const std::vector<Polygon2>& outlines, const KeepClear& feature);

}  // namespace moundwright

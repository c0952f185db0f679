// The plan against the ground: everything a person would want to know before the mound is staked.
//
//   for (const PlanCheck& c : check_plan(place_mound(place), {unit, requirements}, shots)) ...
//
// Nothing here refuses: a check that fails says what was found, what was asked, where, and what to do.
// plan_check_parts.h lists the checks in their order.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geom/lot.h"
#include "geom/placed_mound.h"
#include "geom/units.h"

namespace moundwright {

inline constexpr const char* survey_under_bed = "survey under the bed";  // the name of that check

enum class Verdict {
  told,  // a figure with nothing to hold it against
  good,  // as asked
  look,  // a person should look before going on
  bad    // not as asked, or it cannot be built so
};

/// "told", "good", "look" or "bad".
const char* to_text(Verdict verdict);

struct PlanCheck {
  std::string name;  // what was checked, such as "separation"; several checks may share one name
  Verdict verdict = Verdict::told;
  std::optional<double> found, asked;  // in `unit`
  std::string unit;                    // "ft", "sq ft", "%", "gal/day per ft", ...; empty where there is no figure
  std::string text;                    // one plain sentence with the figures
  std::optional<Point2> at;            // easting, northing of the worst place
  std::string what_to_do;              // empty where nothing is to be done
};

struct CheckOptions {
  LengthUnit unit = LengthUnit::foot;
  Requirements asked;  // what figures are held against
};

/// All checks, in the order a plan is read: bed, soil, fit, survey, water, clearances, layers. A check whose inputs the
/// job does not give is left out. The mound is checked where it is placed, which need not be where it was drawn.
/// `shots`, as given to make_ground, names the shots; left out, places are named by their coordinates alone.
std::vector<PlanCheck> check_plan(const PlacedMound& mound, const CheckOptions& options = {},
                                  const std::vector<Shot>& shots = {});

}  // namespace moundwright

// Everything one job says of its lot and its price, besides the mound itself and the shots.
#pragma once

#include <string>

#include "geom/estimate_plan.h"
#include "geom/lot.h"
#include "geom/plan_checks.h"
#include "geom/stakes.h"
#include "geom/units.h"

namespace moundwright {

struct SiteDesign {
  std::string title;
  LengthUnit unit = LengthUnit::foot;
  Lot lot;
  double end_area_interval = 5.0;  // between the sections of the end-area check
  double station_interval = 10.0;  // between slope stakes along a face
  double hub_clearance = 5.0;      // hubs stand at a whole multiple of this beyond the toe
  EstimatePlan estimate;           // materials, prices, rates; all optional
};

inline StakeOptions stake_options(const SiteDesign& site) {
  return {site.unit, site.station_interval, site.hub_clearance, site.lot};
}

inline CheckOptions check_options(const SiteDesign& site) { return {site.unit, site.lot.requirements}; }

}  // namespace moundwright

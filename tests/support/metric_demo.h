// The demo lot with its coordinates taken for metres: nothing that is ordered depends on the unit but by its size.
#pragma once

#include "io/results.h"
#include "test_paths.h"

namespace moundwright::io {

inline SiteResults demo_in_metres() {
  SiteResults site = compute_site(MOUNDWRIGHT_SURVEYS "/fernhollow.toml");
  SiteDesign& design = site.job.site;
  design.unit = LengthUnit::metre;
  site.takeoff = take_off(site.ground, site.plan, site.buildup, design.unit, design.end_area_interval);
  site.estimate = estimate(site.ground, site.plan, site.buildup, site.takeoff, design);
  return site;
}

}  // namespace moundwright::io

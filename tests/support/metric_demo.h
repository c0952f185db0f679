// The demo lot with its coordinates taken for metres: nothing that is ordered depends on the unit but by its size.
#pragma once

#include "io/results.h"
#include "test_paths.h"

namespace moundwright::io {

inline SiteResults demo_in_metres() {
  SiteResults site = compute_site(MOUNDWRIGHT_SURVEYS "/fernhollow.toml");
  SiteDesign& design = site.job.site;
  design.unit = LengthUnit::metre;
  site.mounds[0].found.takeoff = take_off(site.mound(), design.unit, design.end_area_interval);
  site.estimate = estimate(site.mound(), site.found().takeoff, design);
  return site;
}

}  // namespace moundwright::io

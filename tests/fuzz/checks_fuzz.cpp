// Any lot and mound that are not refused can be checked, staked, cut in sections, lifts and contours, and estimated;
// what is told has finite figures.
#include <cmath>
#include <cstdint>

#include "geom/accuracy.h"
#include "geom/area_items.h"
#include "geom/plan_checks.h"
#include "geom/sections.h"
#include "geom/site_design.h"
#include "geom/stakes.h"
#include "geom/takeoff.h"
#include "tests/fuzz/fuzzed_lot.h"

namespace moundwright::fuzz {
namespace {

SiteDesign site_to_check() {
  SiteDesign site;
  site.lot.requirements.separation = 2;
  site.lot.requirements.borings = {{"B1", {3, -5}, 2.5}};
  site.lot.requirements.daily_flow = 450;
  site.lot.requirements.loading_rate = 0.6;
  site.lot.requirements.keep_clear = {{"well", {{25, 25}}, false, 50.0, 20.0},
                                      {"pool", {{-30, -30}, {-20, -30}, {-25, -20}}, true, 10.0, 10.0}};
  site.lot.ties = {{"T1", {40, 40}, std::nullopt}, {"T2", {-40, 40}, std::nullopt}};
  site.lot.feed = {{"feed", {2, 2}, std::nullopt}};
  return site;
}

void check(const FuzzedLot& lot) {
  const Ground ground = make_ground(lot.shots);
  const PlacedMound mound = place_mound(place_as_drawn(ground, lot.design));
  const SiteDesign site = site_to_check();
  for (const PlanCheck& one : check_plan(mound, check_options(site), lot.shots)) {
    require(!one.name.empty() && !one.text.empty(), "a check says what it found");
    require(std::isfinite(one.found.value_or(0)) && std::isfinite(one.asked.value_or(0)), "a check's figures");
    require(!one.at || one.at->allFinite(), "a check's place");
  }
  for (const Stake& stake : stake_out(mound, stake_options(site)).stakes) {
    require(std::isfinite(stake.easting) && std::isfinite(stake.northing), "a stake's place");
    require(std::isfinite(stake.design.value_or(0)) && stake.to_shoulder.value_or(0) >= 0 &&
                stake.slope_run.value_or(0) >= 0,
            "a stake's figures");
  }
  const Takeoff takeoff = take_off(mound, site.unit, site.end_area_interval);
  require(takeoff.balance.relative_difference * takeoff.fill_cy <= 1e-7 * (1 + takeoff.fill_cy), "the mass balance");
  area_items(mound, takeoff, {site.unit, site.estimate, site.lot.requirements.keep_clear});
  volume_derivatives(mound);
}

}  // namespace
}  // namespace moundwright::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  return moundwright::fuzz::try_lot(bytes, size, moundwright::fuzz::check);
}

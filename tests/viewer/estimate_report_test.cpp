// What the printed report says of how sure the yards are.
#include "viewer/estimate_report.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "io/estimate_json.h"
#include "io/quantities_csv.h"
#include "test_paths.h"

namespace moundwright::viewer {
namespace {

using testing::HasSubstr;
using testing::Not;

/// The demo lot, its bed hung on the least sand as it is or fixed at the elevation that comes to.
io::SiteResults demo(bool fixed) {
  io::SiteResults site = io::compute_site(MOUNDWRIGHT_SURVEYS "/fernhollow.toml");
  if (!fixed) return site;
  const PlacedMound held = place_mound(as_high(site.mound(), site.mound().compiled));
  site.estimate = estimate(held, site.found().takeoff, site.job.site);
  return site;
}

TEST(EstimateReport, TellsWhatToExpectWhereTheBedFollowsTheHighestShot) {
  const io::SiteResults site = demo(false);
  const Accuracy& a = *site.estimate.accuracy;
  EXPECT_THAT(estimate_summary_text(site),
              HasSubstr(fmt::format("highest of many shots: expect about {:.1f} yards more", a.total_fill.rise_cy)));
  const std::string full = estimate_text(site);
  EXPECT_THAT(full, HasSubstr(fmt::format("raise it {:.2f} ft on average", *a.bottom_rise)));
  EXPECT_THAT(full, HasSubstr(fmt::format("and {:.1f} more\n", a.fill[0].rise_cy)));
  EXPECT_GT(a.total_fill.rise_cy, 1);  // re-runs say 2.9 (demo_accuracy_test.cpp)
}

TEST(EstimateReport, SaysNothingOfItWhereTheBedIsFixed) {
  const io::SiteResults site = demo(true);
  EXPECT_FALSE(site.estimate.accuracy->bottom_rise);
  EXPECT_THAT(estimate_summary_text(site), HasSubstr("19 times in 20"));
  for (const std::string& text : {estimate_summary_text(site), estimate_text(site)}) {
    EXPECT_THAT(text, Not(HasSubstr("highest of many")));
    EXPECT_THAT(text, Not(testing::ContainsRegex(", and [0-9.]+ more")));
  }
}

// Without a swell or a truck nobody can say how many loads come: that is no "none".
TEST(EstimateReport, LoadsThatAreNotKnownAreNotNone) {
  io::SiteResults site = demo(false);
  EXPECT_THAT(estimate_text(site), Not(HasSubstr("loads not known")));
  EXPECT_THAT(estimate_text(site), HasSubstr("none: what has come reaches"));
  for (Material& material : site.job.site.estimate.materials) material.truck.clear();
  site.job.site.estimate.trucks.clear();
  site.estimate = estimate(site.mound(), site.found().takeoff, site.job.site);
  const std::string text = estimate_text(site),
                    csv = io::quantities_csv(site.found().takeoff, site.estimate, LengthUnit::foot);
  EXPECT_THAT(text, HasSubstr("loads not known"));
  EXPECT_THAT(text, Not(HasSubstr("none: what has come reaches")));
  EXPECT_THAT(csv, HasSubstr("loads not known"));
  const auto json = io::estimate_json(site.estimate, site.ground());
  for (const auto& delivery : json["deliveries"]) {
    if (!delivery.contains("material")) continue;
    EXPECT_TRUE(delivery["loads"].is_null()) << delivery;
  }
}

}  // namespace
}  // namespace moundwright::viewer

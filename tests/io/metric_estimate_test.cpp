// A job in metres is told in cubic metres and tonnes, in every file of figures, and comes to what the same lot comes to
// in yards.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "io/quantities_csv.h"
#include "io/results.h"
#include "io/summary_json.h"
#include "test_paths.h"
#include "tests/support/metric_demo.h"

namespace moundwright::io {
namespace {

using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

/// Charged by whole loads besides.
SiteResults in_metres() {
  SiteResults site = demo_in_metres();
  SiteDesign& design = site.job.site;
  design.estimate.bid->charged = Charged::whole_loads;
  site.estimate = estimate(site.mound(), site.found().takeoff, design);
  return site;
}

TEST(MetricEstimate, TheTableIsInCubicMetresAndTonnes) {
  const SiteResults site = in_metres();
  const std::string csv = quantities_csv(site.found().takeoff, site.estimate, LengthUnit::metre);
  EXPECT_THAT(
      csv,
      StartsWith("kind,item,material,in_place_m3,end_area_m3,plan_area,thickness_least,thickness_most,unit,"
                 "standard_deviation_m3,rise_m3,bank_m3,loose_m3,tonnes,loads,part_load_m3,quantity,quantity_unit,rate,"
                 "amount,note,in_place_cy\n"));
  const double core = site.mound().buildup.layers[0].volume;  // cubic metres
  EXPECT_THAT(csv, HasSubstr(fmt::format("\nfill,core,clean sand,{:.2f},", core)));
  EXPECT_THAT(csv, HasSubstr(fmt::format(",{:.2f}\n", core / 0.764554857984)));
  EXPECT_THAT(csv, HasSubstr(fmt::format("site soil,tank pits,clay,,,,,,,,,{:.2f},", 88 * 0.764554857984)));
  EXPECT_THAT(csv, Not(HasSubstr("cu yd")));
}

TEST(MetricEstimate, TheSummaryHasBothWithTheYardsBeside) {
  const SiteResults site = in_metres();
  const nlohmann::json json = nlohmann::json::parse(summary_json(site));
  EXPECT_NEAR(json["fill"][0]["volume_m3"], site.mound().buildup.layers[0].volume, 1e-9);
  EXPECT_NEAR(json["fill"][0]["volume_cy"], site.mound().buildup.layers[0].volume / 0.764554857984, 1e-9);
  const auto& order = json["estimate"]["orders"][0];
  EXPECT_NEAR(order["tonnes"], order["tons"].get<double>() * 0.90718474, 1e-9);
  EXPECT_NEAR(order["loads"]["each_loose_m3"], order["loads"]["each_loose_cy"].get<double>() * 0.764554857984, 1e-9);
  const auto& bid = json["estimate"]["bid"];
  EXPECT_NEAR(bid["per_m3"], bid["total"].get<double>() / json["total"]["fill_m3"].get<double>(), 1e-9);
  EXPECT_EQ(bid["charged"], "whole loads");
  const SiteResults feet = compute_site(MOUNDWRIGHT_SURVEYS "/fernhollow.toml");
  EXPECT_THAT(summary_json(feet), Not(HasSubstr("_m3")));
}

}  // namespace
}  // namespace moundwright::io

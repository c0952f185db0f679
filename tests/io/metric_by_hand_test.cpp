// A job in metres priced with a pencil: what is measured, ordered and charged, from the definitions alone. 1 ft =
// 0.3048 m, 1 yd = 0.9144 m, 1 lb = 0.45359237 kg, 1 US ton = 2,000 lb, all exact (NIST Handbook 44, Appendix C). And
// the same lot as a job in feet, charged by the metre.
//
// Level ground at 100; bed bottom at 101. Core 21 x 4 x 1 m, straight down: 84 m3. Cover 22 x 5 m on top, 1.5 m up,
// sides 3:1: it covers 31 x 14 m.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "geom/estimate.h"
#include "io/job_toml.h"

namespace moundwright::io {
namespace {

constexpr double foot = 0.3048, yard = 0.9144, pound = 0.45359237, us_ton = 2000 * pound / 1000;
constexpr double cubic_yard = yard * yard * yard;

struct Priced {
  Job job;
  Takeoff takeoff;
  Estimate estimate;

  const AreaItem& item(const std::string& name) const {
    const auto& all = estimate.areas.items;
    return *std::find_if(all.begin(), all.end(), [&](const AreaItem& i) { return i.name == name; });
  }
  const MaterialOrder& sand() const { return estimate.orders[0]; }
  double hours(const std::string& task) const {
    for (const BidLine& line : estimate.bid->lines) {
      if (line.name.starts_with(task)) return line.quantity;
    }
    return 0;
  }
};

/// `size`: one of the job's units in the lot's own measure, so that 1 leaves the sizes above as they are.
Priced priced(const std::string& units, const std::string& more, double size = 1) {
  const auto of = [&](double length) { return length * size; };
  const std::string text = fmt::format(
      "[job]\nunits = \"{}\"\n[ground]\nshots = \"ground.csv\"\n[mound]\ncenter = {{ n = 0.0, e = 0.0 }}\n"
      "azimuth = 90.0\nbed = {{ length = {}, width = {} }}\nbottom = {{ elevation = {} }}\ndownslope = 180.0\n"
      "[[layer]]\nname = \"core\"\nmaterial = \"sand\"\ntop = 0.0\nbeyond = {}\nside = 0.0\n"
      "[[layer]]\nname = \"cover\"\nmaterial = \"loam\"\ntop = {}\nbeyond = {}\nside = 3.0\n{}",
      units, of(20), of(3), of(101), of(0.5), of(0.5), of(1), more);
  Priced result{job_from_toml(text, "job.toml"), {}, {}};
  std::vector<Shot> shots;
  for (int j = -4; j <= 4; ++j) {
    for (int i = -4; i <= 4; ++i) shots.push_back({"", of(10.0 * j), of(10.0 * i), of(100), "", 0});
  }
  const Ground ground = make_ground(shots);
  const SiteDesign& site = result.job.site;
  const PlacedMound mound = place_mound(place_as_drawn(ground, result.job.mound));
  result.takeoff = take_off(mound, site.unit, site.end_area_interval);
  result.estimate = estimate(mound, result.takeoff, site);
  return result;
}

const double footprint = 31 * 14, slope = 22 * 5 + (31 * 14 - 22 * 5) * std::sqrt(10.0) / 3;  // square metres

const std::string sand_in_metres =
    "[[truck]]\nname = \"t\"\ntonnes = 14.0\nloose_m3 = 9.0\n"
    "[[material]]\nname = \"sand\"\nswell = 12.0\nshrink = 5.0\nloose_weight = 1600.0\ntruck = \"t\"\n";

TEST(MetricByHand, SandByTheTonneTheTonAndTheCubicMetre) {
  const double loose = 84 * 1.12 / 0.95, tonnes = 1.6 * loose;
  const auto cost = [](const std::string& price) {
    return priced("m", sand_in_metres + "price = { " + price + " }\n").sand().cost;
  };
  EXPECT_NEAR(cost("per_tonne = 20.0"), 20 * tonnes, 1e-6);
  EXPECT_NEAR(cost("per_ton = 20.0"), 20 * tonnes / us_ton, 1e-6);
  EXPECT_NEAR(cost("per_m3 = 20.0"), 20 * loose, 1e-6);
  EXPECT_NEAR(cost("per_yard = 20.0"), 20 * loose / cubic_yard, 1e-6);
  const Priced p = priced("m", sand_in_metres);
  EXPECT_NEAR(p.takeoff.fill[0].volume_cy * cubic_yard, 84, 1e-9);
  EXPECT_NEAR(p.sand().bought.cy * cubic_yard, loose, 1e-9);
  EXPECT_NEAR(*p.sand().tons * us_ton, tonnes, 1e-9);
  // 14 t at 1.6 t to the cubic metre are 8.75 m3, less than the 9 the box holds
  EXPECT_TRUE(p.sand().loads->weight_binds);
  EXPECT_NEAR(p.sand().loads->each.cy * cubic_yard, 14 / 1.6, 1e-9);
  EXPECT_EQ(p.sand().loads->count, std::ceil(tonnes / 14));
}

TEST(MetricByHand, ATruckThatIsFullByTheCubicMetre) {
  const std::string light = "[[truck]]\nname = \"t\"\ntonnes = 15.0\nloose_m3 = 9.0\n" +
                            sand_in_metres.substr(sand_in_metres.find("[[material]]"));
  const Priced p = priced("m", light);
  EXPECT_FALSE(p.sand().loads->weight_binds);  // 15 t would be 9.375 m3
  EXPECT_NEAR(p.sand().loads->each.cy * cubic_yard, 9, 1e-9);
}

TEST(MetricByHand, ATrenchBySize) {
  const std::string trench =
      "[[site_soil]]\nname = \"trench\"\nmaterial = \"sand\"\ngoes = \"spread\"\n"
      "length = 60.0\nwidth = 0.5\ndepth = 1.2\n";
  EXPECT_NEAR(priced("m", sand_in_metres + trench).estimate.site_soil[0].bank.cy, 60 * 0.5 * 1.2 / cubic_yard, 1e-9);
  const std::string by_volume =
      "[[site_soil]]\nname = \"pit\"\nmaterial = \"sand\"\ngoes = \"spread\"\nbank_m3 = 36.0\n";
  EXPECT_NEAR(priced("m", sand_in_metres + by_volume).estimate.site_soil[0].bank.cy, 36 / cubic_yard, 1e-9);
  // 60 x 0.5 x 1.2 ft are 36 cubic feet
  const std::string in_feet = "[[material]]\nname = \"sand\"\nswell = 12.0\nshrink = 5.0\n" + trench;
  EXPECT_NEAR(priced("ft", in_feet).estimate.site_soil[0].bank.cy, 36.0 / 27, 1e-9);
}

TEST(MetricByHand, FenceAndPipeByTheFootAndTheMetre) {
  const auto cost = [](const std::string& units, const std::string& price, double size) {
    const Priced p =
        priced(units, "[silt_fence]\n" + price + "[[pipe]]\nname = \"main\"\nlength = 60.0\n" + price, size);
    EXPECT_EQ(p.item("main").order, 60);
    return std::pair(p.item("silt fence"), p.item("main").cost);
  };
  const auto [fence, by_metre] = cost("m", "price = { per_m = 3.0 }\n", 1);
  EXPECT_NEAR(by_metre, 3.0 * 60, 1e-9);
  EXPECT_NEAR(fence.cost, 3.0 * fence.order, 1e-9);
  EXPECT_EQ(fence.unit, "m");
  // Along the toe's long side of 31 m, a quarter turn 5 m out round each corner, two returns of 10 m.
  EXPECT_NEAR(fence.quantity, 31 + 5 * std::acos(-1.0) + 20, 0.05);
  const auto [fence_by_foot, by_foot] = cost("m", "price = { per_ft = 3.0 }\n", 1);
  EXPECT_NEAR(by_foot, 3.0 * 60 / foot, 1e-9);
  EXPECT_NEAR(fence_by_foot.cost, 3.0 * fence_by_foot.order / foot, 1e-9);
  EXPECT_NEAR(cost("ft", "price = { per_m = 3.0 }\n", 1 / foot).second, 3.0 * 60 * foot, 1e-9);
  EXPECT_NEAR(cost("ft", "price = { per_ft = 3.0 }\n", 1 / foot).second, 3.0 * 60, 1e-9);
}

TEST(MetricByHand, SeedByTheThousandSquareFeetAndTheHundredSquareMetres) {
  const auto order = [](const std::string& units, const std::string& rate, double size) {
    const Priced p = priced(units, "[[seeding]]\nname = \"seed\"\n" + rate + " = 50.0\n", size);
    return p.item("seed").order;
  };
  const double hundreds = slope / 100, thousands = slope / (1000 * foot * foot);
  EXPECT_EQ(order("m", "kg_per_100_sq_m", 1), std::ceil(50 * hundreds));
  EXPECT_EQ(order("m", "bales_per_100_sq_m", 1), std::ceil(50 * hundreds));
  EXPECT_NEAR(order("m", "m3_per_100_sq_m", 1), 50 * hundreds, 1e-6);
  EXPECT_EQ(order("m", "lb_per_1000_sq_ft", 1), std::ceil(50 * thousands));
  EXPECT_EQ(order("m", "bales_per_1000_sq_ft", 1), std::ceil(50 * thousands));
  EXPECT_NEAR(order("m", "yards_per_1000_sq_ft", 1), 50 * thousands, 1e-6);
  // the same lot in feet
  EXPECT_EQ(order("ft", "kg_per_100_sq_m", 1 / foot), std::ceil(50 * hundreds));
  EXPECT_EQ(order("ft", "lb_per_1000_sq_ft", 1 / foot), std::ceil(50 * thousands));
}

TEST(MetricByHand, FabricAndScarifyingByEveryUnitOfArea) {
  const auto cost = [](const std::string& price) {
    const Priced p = priced(
        "m", "[fabric]\nover = \"core\"\noverlap = 0.5\nroll = { width = 5.0, length = 50.0 }\nprice = { " + price +
                 " }\n" + (price.starts_with("per_roll") ? "" : "[scarify]\nprice = { " + price + " }\n"));
    EXPECT_NEAR(p.item("fabric").quantity, 21 * 4, 1e-9);
    EXPECT_EQ(p.item("fabric").unit, "sq m");
    EXPECT_EQ(p.item("fabric").order, 1);  // 21 m of one width off a roll of 50
    EXPECT_NEAR(p.item("scarify").quantity, footprint, 1e-9);
    return std::pair(p.item("fabric").cost, p.item("scarify").cost);
  };
  EXPECT_NEAR(cost("per_roll = 90.0").first, 90, 1e-9);
  const double roll = 5 * 50;
  const struct {
    const char* price;
    double square_metres;
  } units[] = {{"per_sq_m = 2.0", 1}, {"per_sq_yd = 2.0", yard * yard}, {"per_sq_ft = 2.0", foot * foot}};
  for (const auto& [price, square_metres] : units) {
    const auto [fabric, scarify] = cost(price);
    EXPECT_NEAR(fabric, 2 * roll / square_metres, 1e-6) << price;
    EXPECT_NEAR(scarify, 2 * footprint / square_metres, 1e-6) << price;
  }
}

TEST(MetricByHand, HoursAtCubicMetresAndYardsAnHour) {
  const auto hours = [](const std::string& rate) {
    return priced("m", sand_in_metres +
                           "[bid]\noverhead = 10.0\nmargin = 10.0\n[[machine]]\nname = \"dozer\"\nper_hour = 100.0\n"
                           "[[task]]\nname = \"spread\"\nmachines = [\"dozer\"]\n" +
                           rate + "\n")
        .hours("spread");
  };
  EXPECT_NEAR(hours("of = [\"core\"]\nm3_per_hour = 30.0"), 84 / 30.0, 1e-9);
  EXPECT_NEAR(hours("of = [\"core\"]\nyards_per_hour = 30.0"), 84 / cubic_yard / 30.0, 1e-9);
  EXPECT_NEAR(hours("of = [\"scarify\"]\narea_per_hour = 200.0"), footprint / 200, 1e-9);
}

// Four loads of 8.75 m3 in a windrow 2 m high with round ends, sides 1.5:1: a cone of radius 3 and a ridge between.
TEST(MetricByHand, AStockpileHoldsItsLoads) {
  const Priced p = priced("m", sand_in_metres + "[[stockpile]]\nmaterial = \"sand\"\nloads = 4.0\nheight = 2.0\n");
  const StockpileResult& pile = p.estimate.areas.stockpiles.at(0);
  EXPECT_NEAR(pile.height, 2, 1e-9);
  EXPECT_NEAR(pile.width, 6, 1e-9);
  const double cone = std::acos(-1.0) * 9 * 2 / 3;
  EXPECT_NEAR(pile.length, 6 + (35 - cone) / 6, 1e-6);
}

// 0.05 m pressed into scarified ground under the core's 84 square metres.
TEST(MetricByHand, SandPressedIntoTheGround) {
  const Priced p = priced("m", sand_in_metres + "[lifts]\ndepth = 0.25\nlayers = [\"core\"]\npressed = 0.05\n");
  double pressed = 0;
  for (const InterfaceLine& line : p.estimate.interface) pressed += line.in_place.cy * cubic_yard;
  EXPECT_NEAR(pressed, 0.05 * 84, 1e-9);
}

}  // namespace
}  // namespace moundwright::io

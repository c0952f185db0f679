// From neat yards to an order and a price: figures that a person can follow with a pencil, and balances that close.
#include "geom/estimate.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "geom/price_gaps.h"
#include "tests/support/site_with_mound.h"

namespace moundwright {
namespace {

using testing::ElementsAre;
using testing::Field;
using testing::HasSubstr;
using testing::IsEmpty;

/// Level ground at 100; core 62 x 12 x 2 ft and a cover over it.
class EstimateOf : public testing::Test {
 protected:
  test_support::SiteWithMound site;
  Ground ground;
  double strip = 0;

  void SetUp() override {
    std::vector<Shot> shots;
    for (int j = 0; j <= 10; ++j) {
      for (int i = 0; i <= 10; ++i) shots.push_back({"", -100.0 + 20 * j, -100.0 + 20 * i, 100, "", 0});
    }
    ground = make_ground(shots);
    MoundDesign& d = site.mound;
    d.bed = straight_bed({0, 0}, 90, 60, 10);
    d.bottom_elevation = 102;
    d.downslope = 0;
    d.layers = {{"core", "sand", 0, 0, ByFace::all(1), ByFace::all(0), false},
                {"cover", "loam", 1, 0, ByFace::all(2), ByFace::all(3), false}};
    EstimatePlan& e = site.estimate;
    e.trucks = {{"truck", 15.0, LooseYards{12}, 100.0}};
    e.materials = {material("sand", 0.11, 0.05), material("loam", 0.20, 0.10), material("topsoil", 0.25, 0.10),
                   material("fill sand", 0.12, 0.05)};
  }

  static Material material(const std::string& name, double swell, double shrink) {
    Material m;
    m.name = name;
    m.swell = swell;
    m.shrink = shrink;
    m.loose_weight = 2500;
    m.waste = 0.05;
    m.price = Price{10, PriceUnit::loose_yard};
    m.truck = "truck";
    return m;
  }

  Takeoff takeoff;
  Estimate run() {
    const PlacedMound mound = place_mound(place_as_drawn(ground, site.mound));
    takeoff = take_off(mound, site.unit, 5);
    return estimate(mound, takeoff, site);
  }

  static const MaterialOrder& order(const Estimate& e, const std::string& name) {
    return *std::find_if(e.orders.begin(), e.orders.end(), [&](const MaterialOrder& o) { return o.material == name; });
  }
};

TEST_F(EstimateOf, SandByHand) {
  const Estimate e = run();
  const MaterialOrder& sand = order(e, "sand");
  const double neat = 62 * 12 * 2 / 27.0, loose = neat * 1.11 / 0.95 * 1.05;
  EXPECT_NEAR(sand.in_place.cy, neat, 1e-9);
  EXPECT_NEAR(sand.bought.cy, loose, 1e-9);
  EXPECT_NEAR(*sand.tons, loose * 2500 / 2000, 1e-9);
  // 15 tons are 12 loose yards at 2,500 lb: both bind alike
  EXPECT_EQ(sand.loads->count, static_cast<int>(std::ceil(loose / 12)));
  EXPECT_NEAR(sand.loads->part.cy, loose - 12 * std::floor(loose / 12), 1e-9);
  EXPECT_NEAR(sand.cost, 10 * loose, 1e-9);
}

TEST_F(EstimateOf, WithoutMaterialsItSaysWhatABidWants) {
  site.estimate = {};
  const Estimate e = run();
  EXPECT_THAT(missing_text(e), HasSubstr("sand: no [[material]] of that name"));
  EXPECT_THAT(missing_text(e), HasSubstr("no [bid] with overhead and margin"));
  EXPECT_FALSE(e.bid);
  EXPECT_FALSE(price_is_incomplete(e));  // there is no price that could be taken for one
  EXPECT_EQ(incomplete_text(e), "");
}

TEST_F(EstimateOf, ABlendTakesItsPartsAndTheStripSuppliesWhatItCan) {
  site.mound.prepare.strip = 0.5;
  site.estimate.blends = {{"loam", {{"fill sand", 1.5}, {"topsoil", 1.0}}, 0.08}};
  site.estimate.site_soil = {{"strip", "strip", {}, "topsoil", 0.10, SoilGoes::use, SoilGoes::spread, ""}};
  const Estimate e = run();
  const double mixed = order(e, "loam").needed->cy;
  EXPECT_NEAR(order(e, "fill sand").for_blends.cy, 0.6 * mixed / 0.92, 1e-9);
  EXPECT_NEAR(order(e, "topsoil").for_blends.cy, 0.4 * mixed / 0.92, 1e-9);
  EXPECT_EQ(order(e, "loam").bought.cy, 0);
  const SiteSoilResult& soil = e.site_soil[0];
  EXPECT_NEAR(soil.loose.cy, takeoff.cut_cy * 1.25, 1e-9);
  EXPECT_NEAR(soil.lost.cy, 0.1 * soil.loose.cy, 1e-9);
  const double usable = takeoff.cut_cy * 1.25 * 0.9;
  EXPECT_NEAR(order(e, "topsoil").from_site.cy, std::min(usable, 0.4 * mixed / 0.92), 1e-9);
  EXPECT_NEAR((order(e, "topsoil").bought + order(e, "topsoil").from_site).cy, 0.4 * mixed / 0.92, 1e-9);
  for (const BalanceLine& line : e.balance) EXPECT_NEAR(line.gap(), 0, 1e-9) << line.material;
  EXPECT_NEAR((soil.lost + soil.used + soil.spread + soil.hauled).cy, soil.loose.cy, 1e-9);
}

TEST_F(EstimateOf, SurplusOfTheSiteGoesWhereTheJobSays) {
  site.estimate.site_soil = {{"pit", "", BankYards{400}, "sand", 0, SoilGoes::use, SoilGoes::haul_off, ""},
                             {"trench", "", BankYards{10}, "topsoil", 0, SoilGoes::spread, SoilGoes::haul_off, ""}};
  const Estimate e = run();
  EXPECT_EQ(order(e, "sand").bought.cy, 0);
  const double over = 400 * 1.11 - order(e, "sand").needed->cy;
  EXPECT_NEAR(e.site_soil[0].hauled.cy, over, 1e-9);
  EXPECT_EQ(e.site_soil[0].loads->count, static_cast<int>(std::ceil(over / 12)));
  EXPECT_NEAR(e.site_soil[0].haul_cost, 100 * std::ceil(over / 12), 1e-9);
  EXPECT_NEAR(e.site_soil[1].spread.cy, 12.5, 1e-9);
}

TEST_F(EstimateOf, DeliveriesAddUpToTheOrderInWholeLoads) {
  site.estimate.lifts = LiftOptions{0.5, {"core"}};
  site.estimate.interface = {1.3, 0.04};
  site.estimate.blends = {{"loam", {{"sand", 1}, {"topsoil", 1}}, 0.08}};
  const Estimate e = run();
  for (const MaterialOrder& o : e.orders) {
    if (!o.loads) continue;
    int loads = 0, next = 1;
    double loose = 0;
    for (const Delivery& d : e.deliveries) {
      if (d.material != o.material) continue;
      loads += d.loads, loose += d.loose.cy;
      if (d.loads == 0) continue;
      EXPECT_EQ(d.first_load, next);
      next = d.last_load + 1;
    }
    EXPECT_EQ(loads, o.loads->count) << o.material;
    EXPECT_NEAR(loose, o.needed->cy, 1e-6) << o.material;
  }
}

TEST_F(EstimateOf, TheBidByHand) {
  BidOptions bid;
  bid.overhead = 0.10;
  bid.margin = 0.20;
  bid.machines = {{"dozer", 100}};
  bid.workers = {{"operator", 50}};
  bid.tasks = {{"sand", {"core"}, 40.0, {}, {}, {"dozer"}, {"operator", "operator"}}};
  site.estimate.bid = bid;
  const Estimate e = run();
  const double hours = 62 * 12 * 2 / 27.0 / 40;
  EXPECT_NEAR(e.bid->machine, 100 * hours, 1e-9);
  EXPECT_NEAR(e.bid->labour, 2 * 50 * hours, 1e-9);
  const double direct = 10 * (order(e, "sand").bought + order(e, "loam").bought).cy + 200 * hours;
  EXPECT_NEAR(e.bid->direct, direct, 1e-6);
  EXPECT_NEAR(e.bid->total, 1.1 * direct / 0.8, 1e-6);
  EXPECT_NEAR(e.bid->margin, 0.2 * e.bid->total, 1e-6);
  EXPECT_NEAR(e.bid->per_yard, e.bid->total / takeoff.fill_cy, 1e-9);
  double sum = 0;
  for (const BidLine& line : e.bid->lines) sum += line.amount;
  EXPECT_NEAR(sum, direct, 1e-6);
}

/// One way for a price not to hold everything.
struct Unpriced {
  const char* missing;
  void (*change)(EstimatePlan&);
};

TEST_F(EstimateOf, APriceThatDoesNotHoldEverythingSaysSo) {
  EstimatePlan& plan = site.estimate;
  plan.areas.fence = FenceOptions{6, 10, Price{3, PriceUnit::foot}};
  plan.site_soil = {{"pit", "", BankYards{20}, "topsoil", 0, SoilGoes::haul_off, SoilGoes::haul_off, ""}};
  BidOptions bid;
  bid.machines = {{"dozer", 100}};
  bid.tasks = {{"sand", {"core"}, 40.0, {}, {}, {"dozer"}, {}}};
  plan.bid = bid;
  const EstimatePlan whole = plan;
  EXPECT_EQ(missing_text(run()), "");
  EXPECT_EQ(incomplete_text(run()), "");
  const std::string no_truck = "no truck, or one rated in tons only and no unit weight";
  const Unpriced cases[] = {
      {"sand: no price", [](EstimatePlan& p) { p.materials[0].price.reset(); }},
      {"sand: no swell and shrink, or loose and compacted weight",
       [](EstimatePlan& p) { p.materials[0].swell.reset(); }},
      {"sand: no [[material]] of that name", [](EstimatePlan& p) { p.materials.erase(p.materials.begin()); }},
      {"sand: priced by the ton, but has no unit weight",
       [](EstimatePlan& p) {
         p.materials[0].price = Price{20, PriceUnit::ton};
         p.materials[0].loose_weight.reset();
       }},
      {"sand: priced by the tonne, but has no unit weight",
       [](EstimatePlan& p) {
         p.materials[0].price = Price{20, PriceUnit::tonne};
         p.materials[0].loose_weight.reset();
       }},
      {"sand: no truck, or one rated in tons only and no unit weight",
       [](EstimatePlan& p) {
         p.materials[0].price = Price{150, PriceUnit::load}, p.materials[0].truck.clear();
       }},
      {"sand: no truck, or one rated in tons only and no unit weight",
       [](EstimatePlan& p) { p.materials[0].haul_per_load = 50, p.materials[0].truck.clear(); }},
      {"sand: no truck, or one rated in tons only and no unit weight",
       [](EstimatePlan& p) { p.bid->charged = Charged::whole_loads, p.materials[0].truck.clear(); }},
      {"silt fence: no price", [](EstimatePlan& p) { p.areas.fence->price.reset(); }},
      {"site soil pit: truck truck has no haul_off_per_load",
       [](EstimatePlan& p) { p.trucks[0].haul_off_per_load.reset(); }},
      {"site soil pit: no truck to haul it off", [](EstimatePlan& p) { p.site_soil[0].truck = "another"; }},
      {"site soil pit: topsoil has no swell", [](EstimatePlan& p) { p.materials[2].swell.reset(); }},
      {"site soil pit: the mound has no undercut",
       [](EstimatePlan& p) { p.site_soil[0].bank.reset(), p.site_soil[0].from = "undercut"; }},
      {"no [[task]]: no machine hours and no labor", [](EstimatePlan& p) { p.bid->tasks.clear(); }},
      {"dozer: no rate an hour", [](EstimatePlan& p) { p.bid->machines.clear(); }},
      {"task sand: no machines and no crew", [](EstimatePlan& p) { p.bid->tasks[0].machines.clear(); }},
      {"task sand: there is no apron to measure on this job", [](EstimatePlan& p) { p.bid->tasks[0].of = {"apron"}; }}};
  for (const Unpriced& unpriced : cases) {
    plan = whole;
    unpriced.change(plan);
    const Estimate e = run();
    EXPECT_EQ(missing_text(e), unpriced.missing);
    EXPECT_EQ(incomplete_text(e), "INCOMPLETE: 1 thing") << unpriced.missing;
  }
  // A thing counts once, whatever it lacks; and a truck that nothing hangs on is not missed.
  plan = whole;
  plan.materials[0].price.reset(), plan.materials[0].haul_per_load = 50, plan.materials[0].truck.clear();
  plan.areas.fence->price.reset();
  EXPECT_EQ(missing_text(run()), "sand: no price; " + no_truck + "; silt fence: no price");
  EXPECT_EQ(incomplete_text(run()), "INCOMPLETE: 2 things");
  plan = whole;
  plan.materials[0].truck.clear();
  EXPECT_EQ(missing_text(run()), "");
}

TEST_F(EstimateOf, ItemsByAreaAndLength) {
  site.estimate.areas.fabric = FabricOptions{"core", 1.0, 7.0, 70.0, Price{200, PriceUnit::roll}};
  site.estimate.areas.spread = {{"seed", 5, PriceUnit::pound, Price{4, PriceUnit::pound}}};
  site.estimate.areas.fence = FenceOptions{6, 10, Price{3, PriceUnit::foot}};
  const Estimate e = run();
  const auto item = [&](const std::string& name) {
    return *std::find_if(e.areas.items.begin(), e.areas.items.end(), [&](const AreaItem& i) { return i.name == name; });
  };
  // 12 ft take two widths of 7 with a lap of 1 (13); 2 x 62 ft off rolls of 70 that lose a lap at each join: 2 rolls.
  EXPECT_NEAR(item("fabric").quantity, 62 * 12, 1e-9);
  EXPECT_EQ(item("fabric").order, 2);
  EXPECT_EQ(item("fabric").cost, 400);
  // Flat top 64 x 14; sides run 9 out at 3:1.
  const double slope = 64 * 14 + ((64 + 18) * (14 + 18) - 64 * 14) * std::sqrt(10.0) / 3;
  EXPECT_NEAR(e.areas.finished_area, slope, 1e-6);
  EXPECT_EQ(item("seed").order, std::ceil(5 * slope / 1000));
  // One long side of 64 + 18, a quarter turn 6 out round each corner (chords, in steps of 10 degrees), two returns
  // of 10.
  EXPECT_NEAR(item("silt fence").quantity, 82 + 6 * std::numbers::pi + 2 * 10, 0.03);
  // Downslope is north: the ends are turned uphill, so that nothing runs round them (EPA, Stormwater Best Management
  // Practice: Silt Fences). They end 10 above where the toe's corner is; the rest stands 6 below the toe at 16.
  ASSERT_GT(e.areas.fence_line.size(), 4U);
  for (const Point2& end : {e.areas.fence_line.front(), e.areas.fence_line.back()}) {
    EXPECT_NEAR(ground.to_world(end).y(), 16 - 10, 1e-9);
  }
  for (const Point2& p : e.areas.fence_line) EXPECT_GT(ground.to_world(p).y(), 16 - 10 - 1e-9);
}

// Every roll but the last gives a lap to the next.
TEST_F(EstimateOf, ALapIsLostWhereTwoRollsOfFabricMeet) {
  const auto rolls = [&](double roll_length) {
    site.estimate.areas.fabric = FabricOptions{"core", 1.5, 7.0, roll_length, {}};
    const Estimate e = run();
    return std::find_if(e.areas.items.begin(), e.areas.items.end(),
                        [](const AreaItem& item) { return item.name == "fabric"; })
        ->order;
  };
  // 62 x 12 over the core: two widths of 7 with a lap of 1.5 make 12.5, so 124 are laid.
  EXPECT_EQ(rolls(63.5), 2);  // that reach 63.5 + 62 = 125.5
  EXPECT_EQ(rolls(62.5), 3);  // two would reach 62.5 + 61 = 123.5
}

TEST_F(EstimateOf, AStockpileBelowTheMoundIsTold) {
  site.estimate.areas.stockpiles = {{"sand", 4, 6, 1.5, Eigen::Vector2d(0, 60)},
                                    {"sand", 4, 6, 1.5, Eigen::Vector2d(0, -60)}};
  const Estimate e = run();
  ASSERT_EQ(e.areas.stockpiles.size(), 2U);
  EXPECT_THAT(e.areas.stockpiles[0].faults, ElementsAre(HasSubstr("below it")));
  EXPECT_THAT(e.areas.stockpiles[1].faults, IsEmpty());
  EXPECT_THAT(e.notes.all, ElementsAre(Field(&Problem::where, "stockpile.1.at")));
  const StockpileResult& pile = e.areas.stockpiles[1];
  EXPECT_NEAR(pile.volume.cy, 48, 1e-9);
  // cone and prism at 1.5:1 hold it
  const double r = 1.5 * pile.height, ridge = pile.length - 2 * r;
  EXPECT_NEAR(std::numbers::pi * r * r * pile.height / 3 + r * pile.height * ridge, 48 * 27, 1e-6);
}

TEST_F(EstimateOf, AStockpileKeepsOffWhatIsToBeKeptClearAndOnTheSurvey) {
  site.lot.requirements.keep_clear = {{"drive", {{-60, -55}, {60, -55}}, false, {}, {}},
                                      {"garden", {{30, -95}, {70, -95}, {70, -60}, {30, -60}}, true, {}, {}}};
  const auto faults = [&](double e, double n) {
    site.estimate.areas.stockpiles = {{"sand", 4, 6, 1.5, Eigen::Vector2d(e, n)}};
    return run().areas.stockpiles[0].faults;
  };
  EXPECT_THAT(faults(0, -60), ElementsAre(HasSubstr("on the drive")));
  EXPECT_THAT(faults(50, -77), ElementsAre(HasSubstr("on the garden")));  // wholly inside it
  EXPECT_THAT(faults(0, -80), IsEmpty());
  // 48 loose yards 6 high lie 18 wide and 32.6 long, ridge along the mound: 16.3 from the middle, drawn as 16.4
  EXPECT_THAT(faults(-83.6, -80), IsEmpty());
  EXPECT_THAT(faults(-83.8, -80), ElementsAre(HasSubstr("off the surveyed ground")));
  EXPECT_THAT(faults(0, -92), ElementsAre(HasSubstr("off the surveyed ground")));
}

/// Stages of the deliveries, in order, without the yards.
std::vector<std::string> stages(const Estimate& e) {
  std::vector<std::string> names;
  for (const Delivery& d : e.deliveries) names.push_back(d.stage);
  return names;
}

TEST_F(EstimateOf, WhatArrivesFollowsTheOrderOfWork) {
  // Core to the bed bottom at 102, a shell to 103 round it and the stone: four lifts of half a foot under the stone,
  // two beside.
  site.mound.layers = {{"core", "sand", 0, 0, ByFace::all(1), ByFace::all(0), false},
                       {"stone", "fill sand", 1, 0, ByFace::all(0), ByFace::all(0), false},
                       {"shell", "sand", 1, 0, ByFace::all(3), ByFace::all(0), false},
                       {"cover", "topsoil", 2, 0, ByFace::all(3), ByFace::all(3), false}};
  site.estimate.areas.fabric = FabricOptions{"stone", 1.0, 7.0, 70.0, {}};
  site.estimate.areas.fence = FenceOptions{};
  site.estimate.areas.spread = {{"seed", 5, PriceUnit::pound, {}}};
  site.estimate.lifts = LiftOptions{1.0, {"core", "shell"}};
  EXPECT_THAT(stages(run()),
              ElementsAre("before digging", "lift 1, core", "lift 1, shell", "lift 2, core", "lift 2, shell", "stone",
                          "lift 3, shell", "over the stone", "cover", "when all is in place"));
  site.estimate.lifts.reset();
  EXPECT_THAT(stages(run()), ElementsAre("before digging", "core", "stone", "shell", "over the stone", "cover",
                                         "when all is in place"));
}

TEST_F(EstimateOf, MaterialIsChargedAsOrderedOrByWholeLoads) {
  site.estimate.bid = BidOptions{};
  site.estimate.bid->overhead = 0.10, site.estimate.bid->margin = 0.20;
  site.estimate.materials[0].price = Price{16, PriceUnit::ton};
  const Estimate exact = run();
  site.estimate.bid->charged = Charged::whole_loads;
  const Estimate whole = run();
  // sand: 15-ton loads are 12 yards at 2,500 lb; loam by the loose yard
  const MaterialOrder &sand = order(exact, "sand"), &loam = order(exact, "loam");
  const double sand_loads = std::ceil(sand.bought.cy / 12), loam_loads = std::ceil(loam.bought.cy / 12);
  EXPECT_NEAR(order(whole, "sand").cost, 16 * 15 * sand_loads, 1e-9);
  EXPECT_NEAR(order(whole, "loam").cost, 10 * 12 * loam_loads, 1e-9);
  EXPECT_NEAR(sand.cost, 16 * sand.bought.cy * 1.25, 1e-9);
  const double more = 16 * 15 * sand_loads + 120 * loam_loads - sand.cost - loam.cost;
  EXPECT_GT(more, 1.0);
  EXPECT_NEAR(whole.bid->total - exact.bid->total, more * 1.1 / 0.8, 1e-9);
  for (const Estimate* e : {&exact, &whole}) {
    EXPECT_NEAR(e->bid->total_as_ordered, exact.bid->total, 1e-9);
    EXPECT_NEAR(e->bid->total_whole_loads, whole.bid->total, 1e-9);
    for (const BalanceLine& line : e->balance) EXPECT_NEAR(line.gap(), 0, 1e-9) << line.material;
  }
  EXPECT_NEAR(whole.balance[0].left_over.cy, 12 * sand_loads - sand.bought.cy, 1e-9);
}

// NIST Handbook 44, Appendix C: 907.18474 kg to the short ton, 0.764 554 858 cubic metre to the yard.
TEST_F(EstimateOf, APriceMayBeByAnyUnitOfWeightOrVolume) {
  const auto cost_by = [&](double amount, PriceUnit unit) {
    site.estimate.materials[0].price = Price{amount, unit};
    return order(run(), "sand").cost;
  };
  EXPECT_NEAR(cost_by(20 / 0.90718474, PriceUnit::tonne), cost_by(20, PriceUnit::ton), 1e-9);
  EXPECT_NEAR(cost_by(20 / 0.764554857984, PriceUnit::loose_cubic_metre), cost_by(20, PriceUnit::loose_yard), 1e-9);
  EXPECT_DOUBLE_EQ(tonnes_per_ton, 0.90718474);
  EXPECT_DOUBLE_EQ(cubic_metres_per_yard, 0.764554857984);
  // 1,000 lb/cu yd are 593.276 kg/m3 (NIST Special Publication 811, Appendix B.8: 5.932 764 E-01 from lb/yd3)
  EXPECT_NEAR(1000 * cubic_metres_and_tonnes.of_density, 593.2764, 5e-5);
}

TEST_F(EstimateOf, SeedByTheMetreIsSeedByTheFoot) {
  site.estimate.areas.spread = {{"seed", 6, PriceUnit::pound, {}},
                                {"more seed", 6 * 0.45359237 / 92.90304 * 100, PriceUnit::kilogram, {}, true}};
  const Estimate e = run();
  const auto count = [&](std::size_t i) { return e.areas.items[i]; };
  ASSERT_EQ(count(2).order_unit, "kg");
  EXPECT_EQ(count(1).order, std::ceil(6 * e.areas.finished_area / 1000));
  EXPECT_EQ(count(2).order, std::ceil(6 * e.areas.finished_area / 1000 * 0.45359237));
}

}  // namespace
}  // namespace moundwright

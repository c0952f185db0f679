// The demo lot with a price list of the tests' own, in feet and in metres.
#pragma once

#include <optional>
#include <string>

#include "io/results.h"
#include "test_paths.h"

namespace moundwright {

inline Material material(const char* name, std::optional<double> swell = {}, std::optional<double> shrink = {}) {
  Material result;
  result.name = name, result.swell = swell, result.shrink = shrink;
  return result;
}

/// A price list that has every branch of an order in it: by ton, load and yard, weights only, a blend, the site's own
/// soil, lifts and interface.
inline EstimatePlan price_list() {
  EstimatePlan plan;
  plan.trucks = {{"tri-axle", 16.0, LooseYards{14.0}, 135.0}, {"small", std::nullopt, LooseYards{8.0}, std::nullopt}};
  Material sand = material("clean sand", 0.11, 0.05);
  sand.loose_weight = 2700, sand.compacted_weight = 3155, sand.moisture = 0.04, sand.waste = 0.04;
  sand.price = Price{19.40, PriceUnit::ton}, sand.truck = "tri-axle";
  Material shell = material("shell sand", 0.12, 0.05);
  shell.loose_weight = 2650, shell.waste = 0.03, shell.price = Price{171.0, PriceUnit::load}, shell.truck = "small";
  shell.haul_per_load = 60;
  Material stone = material("washed stone");
  stone.loose_weight = 2550, stone.compacted_weight = 2750, stone.price = Price{27.80, PriceUnit::ton};
  stone.truck = "tri-axle";
  Material fill = material("fill sand", 0.12, 0.06);
  fill.loose_weight = 2600, fill.moisture = 0.06, fill.price = Price{15.50, PriceUnit::loose_yard},
  fill.truck = "tri-axle";
  Material topsoil = material("topsoil", 0.22, 0.10);
  topsoil.bank_weight = 2380, topsoil.waste = 0.06, topsoil.price = Price{31, PriceUnit::loose_yard};
  topsoil.truck = "tri-axle";
  Material loam = material("sandy loam", 0.16, 0.08);
  loam.waste = 0.05;
  Material clay = material("clay", 0.30, 0.10);
  clay.loose_weight = 2310, clay.truck = "tri-axle";
  plan.materials = {sand, shell, stone, fill, topsoil, loam, clay};
  plan.lifts = LiftOptions{0.75, {"core", "shell"}};
  plan.interface = {1.3, 0.04};
  plan.blends = {{"sandy loam", {{"fill sand", 1.5}, {"topsoil", 1.0}}, 0.08}};
  plan.site_soil = {{"pits' topsoil", "", BankYards{26}, "topsoil", 0.12, SoilGoes::use, SoilGoes::spread, ""},
                    {"more topsoil", "", BankYards{9}, "topsoil", 0.0, SoilGoes::use, SoilGoes::haul_off, ""},
                    {"tank pits", "", BankYards{88}, "clay", 0, SoilGoes::haul_off, SoilGoes::haul_off, ""}};
  plan.areas.spread = {{"seed", 6.0, PriceUnit::pound, Price{4.20, PriceUnit::pound}}};
  plan.areas.fence = FenceOptions{6.0, 10.0, Price{3.10, PriceUnit::foot}};
  plan.areas.fabric = FabricOptions{"stone", 1.0, 12.5, 300.0, Price{265, PriceUnit::roll}};
  plan.areas.pipes = {{"force main", 74, Price{5.60, PriceUnit::foot}}};
  plan.accuracy = ShotAccuracy{0.05, 0.03};
  BidOptions bid;
  bid.overhead = 0.11, bid.margin = 0.10;
  bid.machines = {{"excavator", 118}}, bid.workers = {{"operator", 58}, {"laborer", 41}};
  bid.tasks = {{"scarify", {"scarify"}, std::nullopt, 3500.0, std::nullopt, {"excavator"}, {"operator"}},
               {"sand", {"core", "shell"}, 42.0, std::nullopt, std::nullopt, {"excavator"}, {"operator", "laborer"}},
               {"layout", {}, std::nullopt, std::nullopt, 8.0, {}, {"laborer"}}};
  plan.bid = bid;
  return plan;
}

inline void recompute(io::SiteResults& site) {
  site.estimate = estimate(site.mound(), site.found().takeoff, site.job.site);
}

inline io::SiteResults priced_site() {
  io::SiteResults site = io::compute_site(std::string(MOUNDWRIGHT_SURVEYS) + "/fernhollow.toml");
  site.job.site.estimate = price_list();
  recompute(site);
  return site;
}

/// The same in metres, charged by whole loads, with prices by every unit of weight and volume.
inline io::SiteResults metric_site() {
  io::SiteResults site = io::compute_site(std::string(MOUNDWRIGHT_SURVEYS) + "/fernhollow.toml");
  SiteDesign& design = site.job.site;
  design.unit = LengthUnit::metre;
  design.estimate = price_list();
  design.estimate.bid->charged = Charged::whole_loads;
  design.estimate.materials[2].price = Price{30.6, PriceUnit::tonne};
  design.estimate.materials[3].price = Price{20.3, PriceUnit::loose_cubic_metre};
  site.mounds[0].found.takeoff = take_off(site.mound(), design.unit, design.end_area_interval);
  recompute(site);
  return site;
}

}  // namespace moundwright

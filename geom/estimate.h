// The estimator's part: from neat volumes to an order and a price.
//
//   Estimate e = estimate(mound, takeoff, site);
//   for (const MaterialOrder& order : e.orders) ... order.loads->count ...
//   for (const std::string& gap : e.missing) ...          // what a bid still wants
//
// Every part is optional: what the job does not give is left empty, and said in `missing`. Order: neat yards with
// interface losses, through swell and shrink, with waste, less what the site supplies.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geom/accuracy.h"
#include "geom/area_items.h"
#include "geom/bid.h"
#include "geom/lifts.h"
#include "geom/placed_mound.h"
#include "geom/site_design.h"
#include "geom/site_soil.h"
#include "geom/takeoff.h"

namespace moundwright {

/// One material of the mound, from neat yards to loads. Loose yards hold waste; money is 0 where there is no price.
struct MaterialOrder {
  std::string material;
  std::vector<std::string> layers;           // made of it straight; empty where it only goes into a blend
  CompactedYards in_place;                   // neat, of those layers
  CompactedYards interface;                  // lost at faces and into scarified ground
  std::optional<LooseYards> needed;          // none where swell and shrink are not known
  LooseYards for_layers, for_blends, waste;  // needed = for_layers + for_blends + waste
  LooseYards from_site;
  LooseYards mixed;  // made on site as a blend; not bought
  LooseYards bought;
  std::optional<double> tons;  // of what is bought, on the scale
  std::optional<Loads> loads;
  LooseYards delivered;  // what the whole loads hold, the last one full too; `bought` where no truck is given
  std::optional<double> delivered_tons;
  std::optional<Price> price;
  MaterialCost costs;              // either way
  double cost = 0, haul_cost = 0;  // as the bid charges it
};

/// How many of a price's units an order comes to; nullopt where its weight or its loads are not known.
std::optional<double> charged_quantity(const MaterialOrder& order, PriceUnit unit, Charged charged);

/// One thing that is placed, in the order of work: a layer's part of a lift, or a layer that goes down whole.
struct WorkStage {
  std::string name;  // "lift 3, core", "stone"
  std::string layer, material;
  int lift = 0;             // 0: whole
  CompactedYards in_place;  // with what faces and soft ground take
};

/// Lifts, lowest first. A layer that goes down whole follows the last lift with anything of the lifted layers before
/// it: stone once the core is up to the bed bottom, then the shell above that, then the cover.
std::vector<WorkStage> order_of_work(const Takeoff& takeoff, const LiftPlan* lifts);

/// What arrives for one stage of the work, in the order it is wanted.
struct Delivery {
  std::string stage;  // "lift 3, core", or the layer's name
  std::string material;
  LooseYards loose;
  int loads = 0;                      // to call for
  int first_load = 0, last_load = 0;  // their numbers, from 1, by material; 0 where the last stage's loads suffice
  std::string other;                  // of what comes by area or length: "2 rolls"; then there are no yards and loads
};

struct Estimate {
  std::vector<MaterialOrder> orders;
  std::optional<LiftPlan> lifts;
  std::vector<InterfaceLine> interface;
  std::vector<SettledGrade> settled;
  std::vector<WorkStage> work;
  std::vector<Delivery> deliveries;
  std::vector<Blend> blends;
  std::vector<SiteSoilResult> site_soil;
  std::vector<BalanceLine> balance;
  AreaItems areas;
  std::optional<Accuracy> accuracy;
  std::optional<BidSheet> bid;
  std::vector<std::string> missing;  // for a full bid, one line each
  Problems notes;
};

Estimate estimate(const PlacedMound& mound, const Takeoff& takeoff, const SiteDesign& site);

}  // namespace moundwright

// What is bought by area or length: fabric, seed, mulch, silt fence, pipe, and the ground a stockpile takes.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geom/estimate_plan.h"
#include "geom/lot.h"
#include "geom/placed_mound.h"
#include "geom/takeoff.h"
#include "geom/units.h"

namespace moundwright {

struct AreaItem {
  std::string name;
  double quantity = 0;     // as measured
  std::string unit;        // "sq ft", "ft", ...
  double order = 0;        // as bought, rounded up where it comes in whole pieces
  std::string order_unit;  // "rolls", "lb", "bales", "ft"
  std::string note;        // how it was reckoned, in a few words
  std::optional<Price> price;
  double cost = 0;
};

struct StockpileResult {
  std::string material;
  LooseYards volume;
  double height = 0, width = 0, length = 0, plan_area = 0;  // job units
  std::vector<std::string> faults;  // of its place: "it would lie on the drive"; empty where it is fine, or not given
  std::string note;
};

struct AreaItems {
  double finished_area = 0;  // true area of the finished slope, square job units
  std::vector<AreaItem> items;
  std::vector<StockpileResult> stockpiles;
  std::vector<Point2> fence_line;  // reduced, left to right
};

struct AreaOptions {
  LengthUnit unit = LengthUnit::foot;
  const EstimatePlan& estimate;              // what is wanted, its materials and trucks
  const std::vector<KeepClear>& keep_clear;  // where no stockpile may lie
};

/// Fabric: strips as wide as a roll along each straight piece of the bed, lapped side by side and where a roll ends.
/// Seed and mulch: on the true slope area. Fence: round the toe on its downslope side, at a distance, with returns.
/// Stockpile: a windrow with round ends at its own slope, its ridge along the mound. It may not lie on the mound or
/// where its water goes, on anything to keep clear of, or off the surveyed ground. Scarify: the footprint.
AreaItems area_items(const PlacedMound& mound, const Takeoff& takeoff, const AreaOptions& options);

}  // namespace moundwright

// The bid sheet: material, haul, machine hours and labour, overhead and margin, in the user's own prices.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geom/materials.h"

namespace moundwright {

/// What a price by weight or volume is of: the order to the pound, or what its whole loads bring. Loads are whole
/// either way where the price or the haul is by load.
enum class Charged { as_ordered, whole_loads };
const char* to_text(Charged charged);

/// A machine or a worker, by the hour.
struct HourRate {
  std::string name;
  double per_hour = 0;
};

/// Work done by machines and a crew together, either at a rate or for a number of hours.
struct Task {
  std::string name;
  std::vector<std::string> of;           // layers, cut items, site soils; "scarify", "seed", "fabric" for areas
  std::optional<double> yards_per_hour;  // in place for layers, bank for what is dug
  std::optional<double> area_per_hour;   // square job units
  std::optional<double> hours;
  std::vector<std::string> machines, crew;
};

struct BidOptions {
  std::string currency = "$";
  double overhead = 0;  // fraction of the direct cost
  double margin = 0;    // fraction of the price
  Charged charged = Charged::as_ordered;
  std::vector<HourRate> machines, workers;
  std::vector<Task> tasks;
};

enum class BidKind { material, item, haul, machine, labour };
const char* to_text(BidKind kind);

struct BidLine {
  BidKind kind = BidKind::material;
  std::string name;
  double quantity = 0;
  std::string unit;
  double rate = 0;    // money a unit
  double amount = 0;  // money
};

struct BidSheet {
  std::string currency = "$";
  std::vector<BidLine> lines;
  double material = 0, items = 0, haul = 0, machine = 0, labour = 0;
  double direct = 0, overhead = 0, margin = 0, total = 0;
  double per_yard = 0;  // total over the yards of fill in place
  Charged charged = Charged::as_ordered;
  double total_as_ordered = 0, total_whole_loads = 0;  // one of them is `total`
  double machine_hours = 0, labour_hours = 0;
};

/// What material costs, either way it is charged.
struct MaterialCost {
  double as_ordered = 0, whole_loads = 0;
};

/// Adds up lines: price = (direct + overhead) / (1 - margin), margin being a part of the price and not of the cost.
/// `material` is what the lines of material come to as they are charged, and the other way.
BidSheet add_up(std::vector<BidLine> lines, const BidOptions& options, CompactedYards fill,
                const MaterialCost& material);

}  // namespace moundwright

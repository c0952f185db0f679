// Materials of a job, as the user's own price list gives them, and what an order of one comes to.
//
//   Material sand{.name = "clean sand", .swell = 0.12, .shrink = 0.05, ...};
//   LooseYards loose = loose_from(sand, CompactedYards{160.4});        // 189.1 on the trucks
//   Loads loads = loads_for(sand, truck, loose);                       // 16 loads, the last of 9.1 yards
//
// Definitions (textbook; Peurifoy, Construction Planning, Equipment and Methods): loose = bank x (1 + swell), compacted
// = bank x (1 - shrink). The other definition in print, compacted = bank / (1 + shrink), is not used. Weights are dry,
// in pounds a cubic yard; moisture is added to them as a part of the dry weight. 1 ton is 2,000 pounds (NIST Handbook
// 44, Appendix C: the short ton). Parts are fractions here, percent in the job file. Metric jobs: bulk_units.h.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geom/bulk_units.h"
#include "geom/problem.h"
#include "geom/yards.h"

namespace moundwright {

enum class PriceUnit {
  ton,
  tonne,
  loose_yard,
  loose_cubic_metre,
  load,
  square_foot,
  square_yard,
  square_metre,
  foot,
  metre,
  roll,
  pound,
  kilogram,
  bale,
  each
};

/// The key that states a price's unit in the job file: "per_ton", "per_yard", ...
const char* price_key(PriceUnit unit);
/// "ton", "yd loose", "sq ft", ...
const char* to_text(PriceUnit unit);

struct Price {
  double amount = 0;
  PriceUnit unit = PriceUnit::each;
};

/// What one truck carries; whichever binds. At least one is given.
struct Truck {
  std::string name;
  std::optional<double> tons;
  std::optional<LooseYards> yards;
  std::optional<double> haul_off_per_load;  // money for one load taken off the site, dump fee and all
};

struct Material {
  std::string name;
  std::optional<double> swell, shrink;                                // fractions of the bank yard
  std::optional<double> bank_weight, loose_weight, compacted_weight;  // dry, lb a cubic yard
  double moisture = 0;                                                // of the dry weight, as delivered
  double waste = 0;                                                   // of what goes in place
  std::optional<Price> price;                                         // delivered: by ton, loose yard or load
  std::optional<double> haul_per_load;                                // where the price is at the pit, money a load
  std::string truck;                                                  // by name; empty: none given
  std::string specification;                                          // a published gradation by name, or empty
};

/// Weights and yards of a material that has been found consistent.
/// Loose yards that one compacted yard takes: (1 + swell) / (1 - shrink), or compacted over loose weight.
std::optional<double> loose_per_compacted(const Material& material);
std::optional<double> loose_per_bank(const Material& material);
/// Dry, lb a loose yard; from the loose weight, or from another weight through swell and shrink.
std::optional<double> loose_weight(const Material& material);
std::optional<double> compacted_weight(const Material& material);

std::optional<LooseYards> loose_from(const Material& material, CompactedYards in_place);
std::optional<LooseYards> loose_from(const Material& material, BankYards in_ground);

/// Tons on the scale, moisture and all.
std::optional<double> tons_of(const Material& material, LooseYards loose);

/// What is wrong with a material by itself. `where` of each problem is the key under the material ("shrink").
/// Errors: shrink of 100 % or more, weights that are out of order or disagree with swell and shrink by over 2 %.
/// Weights are told in `told`'s units.
Problems check_material(const Material& material, const BulkUnits& told = yards_and_tons);

struct Loads {
  std::string truck;
  LooseYards each;            // what one load holds
  bool weight_binds = false;  // the truck is full by weight before it is full by volume
  int count = 0;              // rounded up
  int full = 0;               // of them full
  LooseYards part;            // in the last one where it is not full; 0 where all are
  std::optional<double> part_tons;
};

/// Loads of a truck. Nullopt where the truck is rated in tons only and the material has no weight.
std::optional<Loads> loads_for(const Material& material, const Truck& truck, LooseYards loose);

const Material* find_material(const std::vector<Material>& materials, const std::string& name);
const Truck* find_truck(const std::vector<Truck>& trucks, const std::string& name);

}  // namespace moundwright

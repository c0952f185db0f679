#include "geom/materials.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "geom/weight_agreement.h"

namespace moundwright {
namespace {

struct PriceWords {
  PriceUnit unit;
  const char *key, *text;
};
constexpr std::array<PriceWords, 15> price_words = {{{PriceUnit::ton, "per_ton", "ton"},
                                                     {PriceUnit::tonne, "per_tonne", "t"},
                                                     {PriceUnit::loose_yard, "per_yard", "loose yd"},
                                                     {PriceUnit::loose_cubic_metre, "per_m3", "loose m3"},
                                                     {PriceUnit::load, "per_load", "load"},
                                                     {PriceUnit::square_foot, "per_sq_ft", "sq ft"},
                                                     {PriceUnit::square_yard, "per_sq_yd", "sq yd"},
                                                     {PriceUnit::square_metre, "per_sq_m", "sq m"},
                                                     {PriceUnit::foot, "per_ft", "ft"},
                                                     {PriceUnit::metre, "per_m", "m"},
                                                     {PriceUnit::roll, "per_roll", "roll"},
                                                     {PriceUnit::pound, "per_lb", "lb"},
                                                     {PriceUnit::kilogram, "per_kg", "kg"},
                                                     {PriceUnit::bale, "per_bale", "bale"},
                                                     {PriceUnit::each, "each", "each"}}};

const PriceWords& words_of(PriceUnit unit) {
  return *std::find_if(price_words.begin(), price_words.end(), [&](const PriceWords& w) { return w.unit == unit; });
}

std::optional<double> quotient(std::optional<double> a, std::optional<double> b) {
  return a && b ? std::optional(*a / *b) : std::nullopt;
}

void check_part(const std::optional<double>& part, const char* key, double most, const char* why, Problems& problems) {
  if (!part || (*part >= 0 && *part < most)) return;
  problems.error(fmt::format("a {} of {:g} % cannot be", key, 100 * *part), key, why);
}

void check_agreement(const Agreement& a, Problems& problems) {
  if (a.apart().value_or(0) <= agreement_allowed) return;
  problems.error(fmt::format("{} is {:.3f}, but {} is {:.3f}: {:.1f} % apart", a.weights, *a.by_weights, a.rule,
                             *a.by_rule, 100 * *a.apart()),
                 a.key, "Correct one of the figures, or leave one out: it follows from the others. 2 % is allowed.");
}

void check_order_of_weights(const Material& m, const BulkUnits& told, Problems& problems) {
  const auto rises = [&](std::optional<double> low, std::optional<double> high, const char* names) {
    if (low && high && *low > *high)
      problems.error(fmt::format("the {}: {:.6g} over {:.6g} {}", names, told.of_density * *low,
                                 told.of_density * *high, told.density),
                     "compacted_weight",
                     "The same soil weighs least loose and most compacted; look whether two are swapped.");
  };
  rises(m.loose_weight, m.compacted_weight, "loose weight is more than the compacted weight");
  rises(m.loose_weight, m.bank_weight, "loose weight is more than the bank weight");
}

}  // namespace

const char* price_key(PriceUnit unit) { return words_of(unit).key; }
const char* to_text(PriceUnit unit) { return words_of(unit).text; }

std::optional<double> loose_per_compacted(const Material& m) {
  if (m.swell && m.shrink) return (1 + *m.swell) / (1 - *m.shrink);
  return quotient(m.compacted_weight, m.loose_weight);
}

std::optional<double> loose_per_bank(const Material& m) {
  if (m.swell) return 1 + *m.swell;
  return quotient(m.bank_weight, m.loose_weight);
}

std::optional<double> loose_weight(const Material& m) {
  if (m.loose_weight) return m.loose_weight;
  if (m.compacted_weight) return quotient(m.compacted_weight, loose_per_compacted(m));
  return quotient(m.bank_weight, loose_per_bank(m));
}

std::optional<double> compacted_weight(const Material& m) {
  if (m.compacted_weight) return m.compacted_weight;
  const std::optional<double> loose = loose_weight(m), yards = loose_per_compacted(m);
  return loose && yards ? std::optional(*loose * *yards) : std::nullopt;
}

std::optional<LooseYards> loose_from(const Material& m, CompactedYards in_place) {
  const std::optional<double> factor = loose_per_compacted(m);
  return factor ? std::optional(LooseYards{*factor * in_place.cy}) : std::nullopt;
}

std::optional<LooseYards> loose_from(const Material& m, BankYards in_ground) {
  const std::optional<double> factor = loose_per_bank(m);
  return factor ? std::optional(LooseYards{*factor * in_ground.cy}) : std::nullopt;
}

std::optional<double> tons_of(const Material& m, LooseYards loose) {
  // Through the compacted weight where there is one, so that order tons are neat yards x compacted weight to the pound.
  const std::optional<double> compacted = compacted_weight(m), yards = loose_per_compacted(m);
  const std::optional<double> weight = compacted && yards ? quotient(compacted, yards) : loose_weight(m);
  return weight ? std::optional(loose.cy * *weight * (1 + m.moisture) / pounds_per_ton) : std::nullopt;
}

Problems check_material(const Material& m, const BulkUnits& told) {
  Problems problems;
  constexpr double none = std::numeric_limits<double>::infinity();
  check_part(m.swell, "swell", none, "Swell is what soil gains from bank to loose, in percent: 12.0 for 12 %.",
             problems);
  check_part(m.shrink, "shrink", 1.0,
             "Shrink is what soil loses from bank to compacted, in percent of the bank volume: 5.0 for 5 %, never 100.",
             problems);
  check_part(m.moisture, "moisture", 1.0, "Moisture is water as delivered, in percent of the dry weight: 4.0 for 4 %.",
             problems);
  check_part(m.waste, "waste", 1.0, "Waste is in percent of what goes in place: 5.0 for 5 %.", problems);
  if (problems.has_errors()) return problems;
  check_order_of_weights(m, told, problems);
  for (const Agreement& a : agreements(m)) check_agreement(a, problems);
  return problems;
}

std::optional<Loads> loads_for(const Material& material, const Truck& truck, LooseYards loose) {
  Loads loads;
  loads.truck = truck.name;
  const std::optional<double> tons_a_yard = tons_of(material, LooseYards{1});
  std::optional<LooseYards> by_weight;
  if (truck.tons && tons_a_yard) by_weight = LooseYards{*truck.tons / *tons_a_yard};
  if (!by_weight && !truck.yards) return std::nullopt;
  loads.weight_binds = by_weight && (!truck.yards || *by_weight < *truck.yards);
  loads.each = loads.weight_binds ? *by_weight : *truck.yards;
  constexpr double rounding = 1e-9;  // of a load: what is left over by arithmetic is no load
  const double needed = loose / loads.each;
  loads.full = static_cast<int>(std::floor(needed + rounding));
  const double part = needed - loads.full;
  loads.count = loads.full + (part > rounding ? 1 : 0);
  if (loads.count > loads.full) {
    loads.part = part * loads.each;
    loads.part_tons = tons_of(material, loads.part);
  }
  return loads;
}

const Material* find_material(const std::vector<Material>& materials, const std::string& name) {
  const auto at = std::find_if(materials.begin(), materials.end(), [&](const Material& m) { return m.name == name; });
  return at == materials.end() ? nullptr : &*at;
}

const Truck* find_truck(const std::vector<Truck>& trucks, const std::string& name) {
  const auto at = std::find_if(trucks.begin(), trucks.end(), [&](const Truck& t) { return t.name == name; });
  return at == trucks.end() ? nullptr : &*at;
}

}  // namespace moundwright

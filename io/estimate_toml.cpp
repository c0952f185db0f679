#include "io/estimate_toml.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <utility>

#include "io/nearest_word.h"
#include "io/plain_text.h"

namespace moundwright::io {
namespace {

using Words = std::vector<std::string>;

template <class Entry>
Words names_of(const std::vector<Entry>& entries) {
  Words names;
  for (const Entry& entry : entries) names.push_back(entry.name);
  return names;
}

bool is_among(const std::string& word, const Words& known) {
  return std::find(known.begin(), known.end(), word) != known.end();
}

/// Tells a name that nothing has.
void check_name(const Table& table, std::string_view key, const std::string& word, const Words& known,
                const char* kind) {
  if (word.empty() || is_among(word, known)) return;
  std::string advice = did_you_mean(word, known);
  if (advice.empty()) {
    Words named;  // what has no name was told where it stands
    std::copy_if(known.begin(), known.end(), std::back_inserter(named), [](const auto& name) { return !name.empty(); });
    advice = named.empty() ? fmt::format("The job has no {} yet: add one.", kind)
                           : fmt::format("Known here: {}.", fmt::join(named, ", "));
  }
  table.error(key, fmt::format("there is no {} \"{}\"", kind, word), advice);
}

void check_names(const Table& table, std::string_view key, const Words& words, const Words& known, const char* kind) {
  for (const std::string& word : words) check_name(table, key, word, known, kind);
}

/// A fraction from a percentage.
std::optional<double> percent(Table& table, std::string_view key, const char* example) {
  const std::optional<double> value = table.number(key, Need::optional, Allowed::not_negative, example);
  if (!value) return std::nullopt;
  if (*value > 0 && *value < 1) {
    table.warning(key, fmt::format("{} is {:g}, which is {:g} percent", table.key(key), *value, *value),
                  fmt::format("Percent is meant here: write {:g} for {:g} %.", 100 * *value, 100 * *value));
  }
  return *value / 100;
}

/// A fraction that has to stay below one.
double percent_below_100(Table& table, std::string_view key, const char* example) {
  const double value = percent(table, key, example).value_or(0);
  if (value < 1) return value;
  table.error(key, fmt::format("{} is {:g} percent", table.key(key), 100 * value), "It has to be less than 100.");
  return 0;
}

std::string example_of(const std::vector<PriceUnit>& units) {
  Words forms;
  for (const PriceUnit unit : units) forms.push_back(fmt::format("{{ {} = 24.50 }}", price_key(unit)));
  return fmt::format("{}", fmt::join(forms, " or "));
}

/// { per_ton = 24.50 }: a price says what it buys.
std::optional<Price> read_price(Table& table, const std::vector<PriceUnit>& units) {
  const toml::node* node = table.get("price", Need::optional);
  if (node == nullptr) return std::nullopt;
  if (node->is_number()) {
    table.error("price", fmt::format("{} is {:g} with no unit", table.key("price"), *node->value<double>()),
                fmt::format("Say what it buys: {}.", example_of(units)));
    return std::nullopt;
  }
  std::optional<Table> inner = table.table("price", Need::optional, example_of(units).c_str());
  if (!inner) return std::nullopt;
  std::optional<Price> price;
  int given = 0;
  for (const PriceUnit unit : units) {
    if (!inner->has(price_key(unit))) continue;
    ++given;
    if (const auto amount = inner->number(price_key(unit), Need::optional, Allowed::not_negative, "24.50")) {
      price = Price{*amount, unit};
    }
  }
  if (given != 1 && (given > 1 || inner->names().empty())) {
    table.error("price", fmt::format("{} has {} units", table.key("price"), given),
                "Give one: " + example_of(units) + ".");
  }
  for (const PriceUnit unit : units) {
    if (!inner->has(price_key(unit))) inner->get(price_key(unit), Need::optional);  // known here, though not given
  }
  inner->tell_unknown();
  return price;
}

/// A quantity that may be given in either of two units, each under its own key; in the first one's.
struct Either {
  const char* key;
  const char* other_key;
  double of_other;  // of the first unit, in one of the other
};
constexpr Either in_tons = {"tons", "tonnes", 1 / tonnes_per_ton};
constexpr Either in_loose_yards = {"loose_yards", "loose_m3", 1 / cubic_metres_per_yard};
constexpr Either in_bank_yards = {"bank_yards", "bank_m3", 1 / cubic_metres_per_yard};
constexpr Either in_yards_per_hour = {"yards_per_hour", "m3_per_hour", 1 / cubic_metres_per_yard};

bool has(const Table& table, const Either& either) { return table.has(either.key) || table.has(either.other_key); }

std::optional<double> number(Table& table, const Either& either, const char* example) {
  const auto one = table.number(either.key, Need::optional, Allowed::positive, example);
  const auto other = table.number(either.other_key, Need::optional, Allowed::positive, example);
  if (table.has(either.key) && table.has(either.other_key)) {
    table.error(either.key, fmt::format("{} and {} are both given", either.key, either.other_key), "Leave one out.");
  }
  if (one) return one;
  return other ? std::optional(either.of_other * *other) : std::nullopt;
}

// ---- price list --------------------------------------------------------------------------------------------------

Truck read_truck(Table& table) {
  Truck truck;
  set(truck.name, table.text("name", Need::required));
  truck.tons = number(table, in_tons, "15.0");
  if (const auto yards = number(table, in_loose_yards, "12.0")) truck.yards = LooseYards{*yards};
  truck.haul_off_per_load = table.number("haul_off_per_load", Need::optional, Allowed::not_negative, "110.0");
  if (!has(table, in_tons) && !has(table, in_loose_yards)) {
    table.error("tons", fmt::format("{} carries nothing", truck.name.empty() ? "the truck" : truck.name),
                "Give tons (or tonnes), loose_yards (or loose_m3) or both; whichever is full first binds.");
  }
  table.tell_unknown();
  return truck;
}

Limit read_limit(Table& table) {
  Limit limit;
  limit.least = table.number("least", Need::optional, Allowed::not_negative, "0.15");
  limit.most = table.number("most", Need::optional, Allowed::not_negative, "0.30");
  if (!table.has("least") && !table.has("most"))
    table.error("most", "nothing is asked here", "Give least, most or both.");
  if (limit.least && limit.most && *limit.least > *limit.most) {
    table.error("least", fmt::format("at least {:g} and at most {:g} cannot be", *limit.least, *limit.most),
                "Swap the two, or correct one.");
  }
  return limit;
}

Limit read_limit_of(Table& table, const char* key) {
  std::optional<Table> inner = table.table(key, Need::optional, "limits such as { least = 0.15, most = 0.30 }");
  if (!inner) return {};
  const Limit limit = read_limit(*inner);
  inner->tell_unknown();
  return limit;
}

void read_limits(Table& table, const std::string& material, EstimatePlan& plan) {
  MaterialLimits own{material, {"the job's own limits for " + material, "the job", {}, {}, {}, {}}};
  for (Table& row : table.tables("limits", "a list such as [{ sieve = \"No. 4\", least = 95, most = 100 }, ...]")) {
    SieveLimit limit;
    if (const auto sieve = row.text("sieve", Need::required)) {
      const auto opening = sieve_opening_mm(*sieve);
      limit.opening_mm = opening.value_or(0);
      if (!opening) {
        row.error("sieve", fmt::format("\"{}\" is no sieve", *sieve),
                  "Write it as \"No. 4\", \"3/8 in\" or \"0.6 mm\".");
      }
    }
    limit.passing = read_limit(row);
    row.tell_unknown();
    own.limits.sieves.push_back(limit);
  }
  own.limits.fineness_modulus = read_limit_of(table, "fineness_modulus");
  own.limits.d10 = read_limit_of(table, "d10");
  own.limits.uniformity = read_limit_of(table, "uniformity");
  std::stable_sort(own.limits.sieves.begin(), own.limits.sieves.end(),
                   [](const SieveLimit& a, const SieveLimit& b) { return a.opening_mm > b.opening_mm; });
  std::erase_if(plan.limits, [&](const MaterialLimits& other) { return other.material == material; });
  const bool any = table.has("limits") || table.has("fineness_modulus") || table.has("d10") || table.has("uniformity");
  if (any) plan.limits.push_back(std::move(own));
}

/// Dry, pounds a yard; given in the file's own units.
std::optional<double> read_weight(Table& table, const char* key, const BulkUnits& bulk) {
  const auto told = table.number(key, Need::optional, Allowed::positive, bulk.metric ? "1600.0" : "2700.0");
  if (!told) return std::nullopt;
  constexpr double rock = 2500.0;  // kg/m3, about
  const double pounds = *told / bulk.of_density;
  if (pounds * cubic_metres_and_tonnes.of_density > rock) {
    table.warning(key, fmt::format("{} is {:g} {}, as heavy as solid rock", table.key(key), *told, bulk.density),
                  fmt::format("Weights are in {} here. 1,000 lb/cu yd are {:.0f} kg/m3.", bulk.density,
                              1000 * cubic_metres_and_tonnes.of_density));
  }
  return pounds;
}

Material read_material(Table& table, EstimatePlan& plan, const BulkUnits& bulk) {
  Material m;
  set(m.name, table.text("name", Need::required));
  m.swell = percent(table, "swell", "12.0");
  m.shrink = percent(table, "shrink", "5.0");
  m.bank_weight = read_weight(table, "bank_weight", bulk);
  m.loose_weight = read_weight(table, "loose_weight", bulk);
  m.compacted_weight = read_weight(table, "compacted_weight", bulk);
  m.moisture = percent(table, "moisture", "4.0").value_or(0);
  m.waste = percent(table, "waste", "5.0").value_or(0);
  m.price = read_price(table, bulk.metric ? std::vector{PriceUnit::tonne, PriceUnit::loose_cubic_metre, PriceUnit::load,
                                                        PriceUnit::ton, PriceUnit::loose_yard}
                                          : std::vector{PriceUnit::ton, PriceUnit::loose_yard, PriceUnit::load,
                                                        PriceUnit::tonne, PriceUnit::loose_cubic_metre});
  if (bulk.metric && m.price && m.price->unit == PriceUnit::ton) {
    table.warning("price", "a ton is the US ton of 2,000 lb here, 907 kg",
                  "Write per_tonne where a tonne of 1,000 kg is meant.");
  }
  m.haul_per_load = table.number("haul_per_load", Need::optional, Allowed::not_negative, "95.0");
  set(m.truck, table.text("truck", Need::optional));
  check_name(table, "truck", m.truck, names_of(plan.trucks), "truck");
  set(m.specification, table.text("specification", Need::optional));
  Words published;
  for (const GradationLimits& limits : published_gradations()) published.push_back(limits.name);
  check_name(table, "specification", m.specification, published, "published specification");
  read_limits(table, m.name, plan);
  table.tell_unknown();
  for (const Problem& problem : check_material(m, bulk).all)
    table.error(problem.where, problem.what, problem.what_to_do);
  return m;
}

HourRate read_rate(Table& table) {
  HourRate rate;
  set(rate.name, table.text("name", Need::required));
  set(rate.per_hour, table.number("per_hour", Need::required, Allowed::not_negative, "85.0"));
  table.tell_unknown();
  return rate;
}

/// Reads the entries of [[name]] and puts them in place of those of the same name from another file; two of one name in
/// one file are told.
template <class Entry, class Read>
void read_named(Table& root, const char* name, std::vector<Entry>& entries, const Read& read) {
  Words here;
  for (Table& table : root.tables(name)) {
    Entry entry = read(table);
    if (is_among(entry.name, here) && !entry.name.empty()) {
      table.error("name", fmt::format("two {} entries have the name \"{}\"", name, entry.name), "Rename or drop one.");
    }
    here.push_back(entry.name);
    std::erase_if(entries, [&](const Entry& other) { return other.name == entry.name; });
    entries.push_back(std::move(entry));
  }
}

struct Rates {
  std::vector<HourRate> machines, workers;
};

void read_price_list(Table& root, EstimatePlan& plan, Rates& rates, const BulkUnits& bulk) {
  read_named(root, "truck", plan.trucks, [](Table& table) { return read_truck(table); });
  read_named(root, "material", plan.materials, [&](Table& table) { return read_material(table, plan, bulk); });
  read_named(root, "machine", rates.machines, [](Table& table) { return read_rate(table); });
  read_named(root, "worker", rates.workers, [](Table& table) { return read_rate(table); });
}

/// What a price list's weights are in: it says so, or it serves jobs in feet.
const BulkUnits& units_of_price_list(Table& root, const BulkUnits& of_job) {
  const auto word = root.text("units", Need::optional);
  if (!word && of_job.metric) {
    root.error("units", "the price list does not say what its weights are in, and the job is in meters",
               "Write units = \"m\" at its top for kg/m3, or units = \"ft\" for pounds a yard.");
  }
  if (word && *word != "m" && *word != "ft") {
    root.error("units", fmt::format("units cannot be \"{}\"", *word), "Write \"ft\" (pounds a yard) or \"m\" (kg/m3).");
  }
  return word == "m" ? cubic_metres_and_tonnes : yards_and_tons;
}

/// False where the file cannot be read at all.
bool read_materials_file(const std::filesystem::path& path, Table& job, Report& report, EstimatePlan& plan,
                         Rates& rates, const BulkUnits& of_job) {
  Report own{readable_name(path), {}, false, {}};
  try {
    Problems notes;
    const toml::table document = parsed_toml(read_text(path, notes), own.file);
    for (const Problem& problem : notes.all) own.problems.add(problem);
    Table root(document, {}, own);
    read_price_list(root, plan, rates, units_of_price_list(root, of_job));
    root.tell_unknown();
    for (const Problem& problem : own.problems.report().all) report.problems.add(problem);
    report.has_errors = report.has_errors || own.has_errors;
    return true;
  } catch (const Refusal& refusal) {
    for (const Problem& problem : refusal.problems()) {
      job.error("materials", fmt::format("{}: {}", problem.where, problem.what), problem.what_to_do);
    }
  }
  return false;
}

// ---- lifts, blends, site soil --------------------------------------------------------------------------------------

void read_lifts(Table& root, const Words& layers, EstimatePlan& plan) {
  std::optional<Table> table = root.table("lifts", Need::optional, "a table headed [lifts]");
  if (!table) return;
  LiftOptions lifts;
  set(lifts.depth, table->number("depth", Need::required, Allowed::positive, "0.75"));
  lifts.layers = table->texts("layers");
  check_names(*table, "layers", lifts.layers, layers, "layer");
  if (lifts.layers.empty()) {
    table->error("layers", "no layer goes up in lifts", "Name them: layers = [\"core\", \"shell\"].");
  }
  set(plan.interface.face_run, table->number("face_run", Need::optional, Allowed::not_negative, "1.5"));
  set(plan.interface.pressed_depth, table->number("pressed", Need::optional, Allowed::not_negative, "0.05"));
  table->tell_unknown();
  plan.lifts = std::move(lifts);
}

std::vector<BlendPart> read_parts(Table& table, const char* key) {
  std::vector<BlendPart> parts;
  std::optional<Table> inner =
      table.table(key, Need::optional, "a table such as { \"fill sand\" = 1.5, topsoil = 1.0 }");
  if (!inner || !table.check_count(key, inner->names().size())) return parts;
  double sum = 0;
  for (const std::string& name : inner->names()) {
    const auto share = inner->number(name, Need::optional, Allowed::positive, "1.5");
    parts.push_back({name, share.value_or(0)});
    sum += parts.back().parts;
  }
  constexpr double rounding = 0.05;
  if (std::string_view(key) == "percent" && std::abs(sum - 100) > rounding) {
    table.error(key, fmt::format("the blend adds up to {:g} %", sum), "Make it 100, or give parts instead of percent.");
  }
  return parts;
}

Blend read_blend(Table& table, const EstimatePlan& plan) {
  Blend blend;
  set(blend.material, table.text("material", Need::required));
  const bool by_percent = table.has("percent");
  if (by_percent == table.has("parts")) {
    table.error("parts", by_percent ? "the blend is given by parts and by percent" : "the blend has no parts",
                "Give one: parts = { \"fill sand\" = 1.5, topsoil = 1.0 }, by loose volume.");
  }
  std::vector<BlendPart> parts = read_parts(table, "parts"), shares = read_parts(table, "percent");
  blend.parts = by_percent ? std::move(shares) : std::move(parts);
  const char* key = by_percent ? "percent" : "parts";
  if (table.has(key) && blend.parts.size() < 2) {
    table.error(key, "a blend is of two materials or more", "Name each and its share.");
  }
  const Words materials = names_of(plan.materials);
  check_name(table, "material", blend.material, materials, "material");
  for (const BlendPart& part : blend.parts) {
    check_name(table, key, part.material, materials, "material");
    if (part.material == blend.material) table.error(key, "a blend cannot hold itself", "Name what it is mixed from.");
  }
  blend.mixing_shrink = percent_below_100(table, "mixing_shrink", "8.0");
  table.tell_unknown();
  return blend;
}

void read_blends(Table& root, EstimatePlan& plan) {
  std::vector<Table> tables = root.tables("blend");
  for (Table& table : tables) {
    Blend blend = read_blend(table, plan);
    for (const Blend& other : plan.blends) {
      const bool same = other.material == blend.material;
      const auto holds = [](const Blend& big, const Blend& small) {
        return std::any_of(big.parts.begin(), big.parts.end(),
                           [&](const BlendPart& part) { return part.material == small.material; });
      };
      if (same) table.error("material", fmt::format("two blends make {}", blend.material), "Drop one.");
      if (!same && (holds(other, blend) || holds(blend, other))) {
        table.error("material", fmt::format("{} and {} are blended of each other", other.material, blend.material),
                    "Give each blend by what is bought or dug.");
      }
    }
    plan.blends.push_back(std::move(blend));
  }
}

SoilGoes read_goes(Table& table, const char* key, SoilGoes otherwise) {
  const std::optional<std::string> word = table.text(key, Need::optional);
  if (!word) return otherwise;
  for (const SoilGoes goes : {SoilGoes::use, SoilGoes::haul_off, SoilGoes::spread}) {
    if (*word == to_text(goes)) return goes;
  }
  table.error(key, fmt::format("soil cannot go \"{}\"", *word), "Write \"use\", \"haul off\" or \"spread\".");
  return otherwise;
}

/// Bank yards of a trench or pit given by its size.
std::optional<BankYards> read_dug(Table& table, LengthUnit unit) {
  if (const auto yards = number(table, in_bank_yards, "40.0")) return BankYards{*yards};
  const auto length = table.number("length", Need::optional, Allowed::positive, "180.0");
  const auto width = table.number("width", Need::optional, Allowed::positive, "1.5");
  const auto depth = table.number("depth", Need::optional, Allowed::positive, "3.5");
  if (length && width && depth) return BankYards{*length * *width * *depth * cubic_yards_per(unit)};
  return std::nullopt;
}

SiteSoil read_site_soil(Table& table, const EstimatePlan& plan, LengthUnit unit) {
  SiteSoil soil;
  set(soil.name, table.text("name", Need::required));
  set(soil.from, table.text("from", Need::optional));
  check_name(table, "from", soil.from, {"strip", "undercut"}, "cut");
  soil.bank = read_dug(table, unit);
  if (!table.has("from") && !soil.bank) {
    table.error("from", fmt::format("it is not said how much {} there is", soil.name),
                "Give from = \"strip\" or \"undercut\", bank_yards (or bank_m3), or length, width and depth.");
  }
  if (table.has("from") && soil.bank) {
    table.error("from", "the mound's cut gives the yards, and so does the job", "Leave one of them out.");
  }
  set(soil.material, table.text("material", Need::required));
  const Words materials = names_of(plan.materials);
  check_name(table, "material", soil.material, materials, "material");
  soil.loss = percent_below_100(table, "loss", "10.0");
  soil.goes = read_goes(table, "goes", SoilGoes::haul_off);
  soil.surplus = read_goes(table, "surplus", SoilGoes::haul_off);
  if (soil.surplus == SoilGoes::use) {
    table.error("surplus", "the surplus is what is not used", "Write \"haul off\" or \"spread\".");
  }
  set(soil.truck, table.text("truck", Need::optional));
  check_name(table, "truck", soil.truck, names_of(plan.trucks), "truck");
  table.tell_unknown();
  return soil;
}

// ---- items by area and length ------------------------------------------------------------------------------------

void read_fabric(Table& root, const Words& layers, AreaItemOptions& areas) {
  std::optional<Table> table = root.table("fabric", Need::optional, "a table headed [fabric]");
  if (!table) return;
  FabricOptions fabric;
  set(fabric.over, table->text("over", Need::required));
  check_name(*table, "over", fabric.over, layers, "layer");
  set(fabric.overlap, table->number("overlap", Need::optional, Allowed::not_negative, "1.0"));
  if (std::optional<Table> roll =
          table->table("roll", Need::required, "a size such as { width = 12.5, length = 300.0 }")) {
    set(fabric.roll_width, roll->number("width", Need::required, Allowed::positive, "12.5"));
    set(fabric.roll_length, roll->number("length", Need::required, Allowed::positive, "300.0"));
    roll->tell_unknown();
    if (fabric.roll_width > 0 && fabric.roll_length > 0 &&
        fabric.overlap >= std::min(fabric.roll_width, fabric.roll_length)) {
      table->error("overlap", "the overlap is as wide as the roll", "Give the lap between two widths.");
    }
  }
  fabric.price =
      read_price(*table, {PriceUnit::roll, PriceUnit::square_yard, PriceUnit::square_foot, PriceUnit::square_metre});
  table->tell_unknown();
  areas.fabric = std::move(fabric);
}

SpreadOptions read_seeding(Table& table) {
  SpreadOptions spread;
  set(spread.name, table.text("name", Need::required));
  const struct {
    const char* key;
    PriceUnit unit;
    bool per_100_sq_m;
  } forms[] = {
      {"lb_per_1000_sq_ft", PriceUnit::pound, false},         {"bales_per_1000_sq_ft", PriceUnit::bale, false},
      {"yards_per_1000_sq_ft", PriceUnit::loose_yard, false}, {"kg_per_100_sq_m", PriceUnit::kilogram, true},
      {"bales_per_100_sq_m", PriceUnit::bale, true},          {"m3_per_100_sq_m", PriceUnit::loose_cubic_metre, true}};
  int given = 0;
  for (const auto& [key, unit, per_100_sq_m] : forms) {
    const auto rate = table.number(key, Need::optional, Allowed::positive, "5.0");
    if (!table.has(key)) continue;
    ++given;
    spread.rate = rate.value_or(0);
    spread.counted = unit;
    spread.per_100_sq_m = per_100_sq_m;
  }
  if (given != 1) {
    table.error("lb_per_1000_sq_ft", fmt::format("{} rates are given for {}", given, spread.name),
                "Give one: lb_, bales_ or yards_per_1000_sq_ft, or kg_, bales_ or m3_per_100_sq_m.");
  }
  spread.price = read_price(table, {spread.counted});
  table.tell_unknown();
  return spread;
}

void read_fence(Table& root, AreaItemOptions& areas) {
  std::optional<Table> table = root.table("silt_fence", Need::optional, "a table headed [silt_fence]");
  if (!table) return;
  FenceOptions fence;
  set(fence.below_toe, table->number("below_toe", Need::optional, Allowed::not_negative, "5.0"));
  set(fence.returns, table->number("returns", Need::optional, Allowed::not_negative, "10.0"));
  fence.price = read_price(*table, {PriceUnit::foot, PriceUnit::metre});
  table->tell_unknown();
  areas.fence = fence;
}

StockpileOptions read_stockpile(Table& table, const Words& materials) {
  StockpileOptions pile;
  set(pile.material, table.text("material", Need::required));
  check_name(table, "material", pile.material, materials, "material");
  set(pile.loads, table.number("loads", Need::required, Allowed::positive, "4.0"));
  set(pile.height, table.number("height", Need::required, Allowed::positive, "6.0"));
  set(pile.run, table.number("run", Need::optional, Allowed::positive, "1.5"));
  pile.at = table.place("at", Need::optional);
  table.tell_unknown();
  return pile;
}

PipeOptions read_pipe(Table& table) {
  PipeOptions pipe;
  set(pipe.name, table.text("name", Need::required));
  set(pipe.length, table.number("length", Need::required, Allowed::positive, "180.0"));
  pipe.price = read_price(table, {PriceUnit::foot, PriceUnit::metre});
  table.tell_unknown();
  return pipe;
}

void read_areas(Table& root, const Words& layers, EstimatePlan& plan) {
  AreaItemOptions& areas = plan.areas;
  read_fabric(root, layers, areas);
  for (Table& table : root.tables("seeding")) areas.spread.push_back(read_seeding(table));
  read_fence(root, areas);
  const Words materials = names_of(plan.materials);
  for (Table& table : root.tables("stockpile")) areas.stockpiles.push_back(read_stockpile(table, materials));
  for (Table& table : root.tables("pipe")) areas.pipes.push_back(read_pipe(table));
  if (std::optional<Table> table = root.table("scarify", Need::optional, "a table headed [scarify]")) {
    areas.scarify = read_price(*table, {PriceUnit::square_foot, PriceUnit::square_yard, PriceUnit::square_metre});
    table->tell_unknown();
  }
}

// ---- bid ---------------------------------------------------------------------------------------------------------

Words measured_areas(const AreaItemOptions& areas) {
  Words names = {"scarify", "fabric"};
  for (const SpreadOptions& spread : areas.spread) names.push_back(spread.name);
  return names;
}

Task read_task(Table& table, const EstimatePlan& plan, const Words& layers, const Rates& rates) {
  Task task;
  set(task.name, table.text("name", Need::required));
  task.of = table.texts("of");
  task.yards_per_hour = number(table, in_yards_per_hour, "60.0");
  task.area_per_hour = table.number("area_per_hour", Need::optional, Allowed::positive, "4000.0");
  task.hours = table.number("hours", Need::optional, Allowed::positive, "4.0");
  task.machines = table.texts("machines");
  task.crew = table.texts("crew");
  const int given = has(table, in_yards_per_hour) + table.has("area_per_hour") + table.has("hours");
  if (given != 1) {
    table.error("hours", fmt::format("{} rates are given for {}", given, task.name),
                "Give one: yards_per_hour (or m3_per_hour), area_per_hour (square job units) or hours.");
  }
  if (!table.has("hours") && task.of.empty()) {
    table.error("of", fmt::format("{} is of nothing", task.name), "Name what is done: of = [\"core\", \"shell\"].");
  }
  Words yards = layers;
  yards.insert(yards.end(), {"strip", "undercut"});
  for (const SiteSoil& soil : plan.site_soil) yards.push_back(soil.name);
  if (has(table, in_yards_per_hour)) check_names(table, "of", task.of, yards, "layer, cut or site soil");
  if (table.has("area_per_hour")) check_names(table, "of", task.of, measured_areas(plan.areas), "area");
  check_names(table, "machines", task.machines, names_of(rates.machines), "machine");
  check_names(table, "crew", task.crew, names_of(rates.workers), "worker");
  table.tell_unknown();
  return task;
}

void read_bid(Table& root, const Words& layers, const Rates& rates, EstimatePlan& plan) {
  BidOptions bid;
  for (Table& table : root.tables("task")) bid.tasks.push_back(read_task(table, plan, layers, rates));
  std::optional<Table> table = root.table("bid", Need::optional, "a table headed [bid]");
  if (!table && !bid.tasks.empty()) {
    root.warning("task", fmt::format("{} [[task]] that nothing adds up, for the job has no [bid]", bid.tasks.size()),
                 "Add a table headed [bid], with overhead and margin in percent, or take the tasks out.");
  }
  if (!table) return;
  set(bid.currency, table->text("currency", Need::optional));
  bid.overhead = percent(*table, "overhead", "10.0").value_or(0);
  bid.margin = percent_below_100(*table, "margin", "12.0");
  if (const auto word = table->text("charged", Need::optional)) {
    if (*word == to_text(Charged::whole_loads)) bid.charged = Charged::whole_loads;
    if (*word != to_text(Charged::whole_loads) && *word != to_text(Charged::as_ordered)) {
      table->error("charged", fmt::format("material cannot be charged \"{}\"", *word),
                   "Write \"as ordered\" (what is ordered, to the pound) or \"whole loads\" (what the trucks bring).");
    }
  }
  table->tell_unknown();
  bid.machines = rates.machines;
  bid.workers = rates.workers;
  plan.bid = std::move(bid);
}

void read_accuracy(Table& root, EstimatePlan& plan) {
  std::optional<Table> table = root.table("accuracy", Need::optional, "a table headed [accuracy]");
  if (!table) return;
  ShotAccuracy accuracy;
  set(accuracy.random, table->number("random", Need::required, Allowed::not_negative, "0.05"));
  set(accuracy.systematic, table->number("systematic", Need::optional, Allowed::not_negative, "0.02"));
  table->tell_unknown();
  plan.accuracy = accuracy;
}

constexpr std::array tables_of_the_estimate = {"truck",     "material", "machine", "worker",  "lifts",      "blend",
                                               "site_soil", "fabric",   "seeding", "scarify", "silt_fence", "stockpile",
                                               "pipe",      "accuracy", "task",    "bid"};

}  // namespace

void read_settlement(Table& layer, const std::string& name, EstimatePlan& plan) {
  const double allowance = percent_below_100(layer, "settlement", "8.0");
  if (allowance > 0) plan.settlement.push_back({name, allowance});
}

void read_estimate(Table& root, const std::optional<std::filesystem::path>& materials, Report& report,
                   const std::vector<Layer>& mound_layers, SiteDesign& site) {
  EstimatePlan& plan = site.estimate;
  Rates rates;
  if (materials) {
    std::optional<Table> job = root.table("job", Need::optional, "");
    if (!read_materials_file(*materials, *job, report, plan, rates, bulk_units(site.unit))) {
      // Names that only the price list has cannot be judged without it: one error, and not one for each.
      for (const char* name : tables_of_the_estimate) root.get(name, Need::optional);
      return;
    }
  }
  read_price_list(root, plan, rates, bulk_units(site.unit));
  const Words layers = names_of(mound_layers);
  read_lifts(root, layers, plan);
  read_blends(root, plan);
  for (Table& table : root.tables("site_soil")) plan.site_soil.push_back(read_site_soil(table, plan, site.unit));
  read_areas(root, layers, plan);
  read_accuracy(root, plan);
  read_bid(root, layers, rates, plan);
}

}  // namespace moundwright::io

#include "io/quantities_xlsx.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "geom/price_gaps.h"
#include "geom/weight_agreement.h"
#include "io/workbook.h"

namespace moundwright::io {
namespace {

using Column = std::uint16_t;
using Row = std::uint32_t;

/// "IF(ISNUMBER(a)*ISNUMBER(b),what,"")": empty where an input is.
template <class... Cells>
std::string where_known(const std::string& what, const Cells&... cells) {
  std::string all;
  ((all += fmt::format("{}ISNUMBER({})", all.empty() ? "" : "*", cells)), ...);
  return fmt::format("IF({},{},\"\")", all, what);
}

/// Texts with "; " between those that are not empty: as a formula of formulas, and as a text.
std::string joined_formula(const std::vector<std::string>& texts) {
  std::string all;
  for (const std::string& text : texts)
    all += fmt::format("{}IF({}=\"\",\"\",\"; \"&{})", all.empty() ? "" : "&", text, text);
  return fmt::format("MID({},3,999)", all);
}
std::string joined(const std::vector<std::string>& texts) {
  std::string all;
  for (const std::string& text : texts) {
    if (!text.empty()) all += (all.empty() ? "" : "; ") + text;
  }
  return all;
}

std::string sum_of(const std::vector<std::string>& cells) {
  return cells.empty() ? "0" : fmt::format("{}", fmt::join(cells, "+"));
}

/// A list with a heading of columns.
struct Table {
  Row first = 0, last = 0;  // of its rows; none where last < first
  bool is_empty() const { return last + 1 == first; }
};

class Writer {
 public:
  explicit Writer(const SiteResults& results)
      : r_(results),
        e_(results.estimate),
        asked_(results.job.site.estimate),
        book_(results.job.site.title, asked_.bid ? asked_.bid->currency : "$", length_decimals(results.job.site.unit)),
        takeoff_(book_.add("Takeoff")),
        order_(book_.add("Order")) {
    if (e_.bid) bid_ = &book_.add("Bid");
    if (e_.lifts) lifts_ = &book_.add("By lift");
    for (const SiteSoil& soil : asked_.site_soil) {
      if (bank_of(soil)) dug_.push_back(&soil);
    }
    if (!dug_.empty()) soil_ = &book_.add("Site soil");
    if (e_.accuracy) accuracy_ = &book_.add("Accuracy");
  }

  std::string run() {
    write_takeoff();
    lay_out();
    write_order();
    if (soil_ != nullptr) write_soil();
    if (lifts_ != nullptr) write_lifts();
    if (bid_ != nullptr) write_bid();
    if (accuracy_ != nullptr) write_accuracy();
    return book_.bytes();
  }

 private:
  const SiteResults& r_;
  const Estimate& e_;
  const EstimatePlan& asked_;
  Workbook book_;
  Sheet& takeoff_;
  Sheet& order_;
  Sheet* bid_ = nullptr;
  Sheet* lifts_ = nullptr;
  Sheet* soil_ = nullptr;
  Sheet* accuracy_ = nullptr;
  std::map<std::string, std::string> yards_cell_;  // of a layer or cut item on the takeoff, by name
  std::map<std::string, std::string> area_cell_;   // of an area item on the bid
  std::string fill_cell_;
  Table trucks_, blends_, balance_, soils_, interface_;  // on Order, Order, Order, Site soil, By lift
  std::vector<const SiteSoil*> dug_;                     // that the job gives, and the mound has

  const BulkUnits& bulk_ = bulk_units(r_.job.site.unit);

  const char* unit() const { return symbol(r_.job.site.unit); }

  std::optional<BankYards> bank_of(const SiteSoil& soil) const {
    if (soil.bank) return soil.bank;
    for (const TakeoffItem& cut : r_.found().takeoff.cut) {
      if (cut.name == soil.from) return BankYards{cut.volume_cy};
    }
    return std::nullopt;
  }

  /// What a thing lacks for a full bid, as the estimate says it.
  std::string lacks_of(const std::string& thing) const {
    const std::string lead = thing + ": ";
    for (const std::string& gap : e_.missing) {
      if (gap.starts_with(lead)) return gap.substr(lead.size());
    }
    return "";
  }

  // Volumes, weights and densities as the job tells them: yards, tons and pounds a yard, or metric.
  double told(double cubic_yards) const { return bulk_.of_yard * cubic_yards; }
  std::optional<double> told(const std::optional<double>& cubic_yards) const {
    return times(cubic_yards, bulk_.of_yard);
  }
  static std::optional<double> times(const std::optional<double>& value, double factor) {
    return value ? std::optional(factor * *value) : std::nullopt;
  }
  std::optional<double> told_tons(const std::optional<double>& tons) const { return times(tons, bulk_.of_ton); }
  std::optional<double> told_density(const std::optional<double>& pounds) const {
    return times(pounds, bulk_.of_density);
  }
  /// Tons or tonnes of a loose yard or cubic metre.
  std::optional<double> told_weight_of_one(const Material& material) const {
    return times(tons_of(material, LooseYards{1}), bulk_.of_ton / bulk_.of_yard);
  }
  /// "in place, cu yd"
  std::string by_volume(const char* words) const { return fmt::format("{}, {}", words, bulk_.volume); }
  std::string by_loose(const char* words) const { return fmt::format("{}, {} loose", words, bulk_.volume); }

  // ---- takeoff -----------------------------------------------------------------------------------------------------

  void write_takeoff() {
    const std::string length = fmt::format(", {}", unit()), area = fmt::format(", sq {}", unit());
    takeoff_.put({0, 0}, r_.job.site.title + ": takeoff", CellLook::title);
    takeoff_.put({1, 0}, "In place, by neat lines, on the surveyed ground: no swell, shrink or waste.", CellLook::note);
    takeoff_.head(3, {"", "item", "material", by_volume("volume"), by_volume("by average end area"), "plan area" + area,
                      "least thickness" + length, "greatest thickness" + length});
    Row row = 4;
    const auto add = [&](const TakeoffItem& item, const char* kind, bool is_fill) {
      takeoff_.put({row, 0}, kind, CellLook::label);
      takeoff_.put({row, 1}, item.name, CellLook::text);
      takeoff_.put({row, 2}, item.material, CellLook::text);
      takeoff_.put({row, 3}, told(item.volume_cy), CellLook::yards);
      yards_cell_[item.name] = takeoff_.ref({row, 3});
      takeoff_.put({row, 5}, item.plan_area, CellLook::area);
      if (is_fill) {
        takeoff_.put({row, 4}, told(item.end_area_cy), CellLook::yards);
        takeoff_.put({row, 6}, item.thickness_least, CellLook::length);
        takeoff_.put({row, 7}, item.thickness_most, CellLook::length);
      }
      ++row;
    };
    for (const TakeoffItem& item : r_.found().takeoff.fill) add(item, "fill", true);
    total_row(row++, "total fill", 4, r_.found().takeoff.fill.size(), told(r_.found().takeoff.fill_cy),
              told(r_.found().takeoff.end_area_fill_cy), true);
    fill_cell_ = takeoff_.ref({row - 1, 3});
    const Row first_cut = row;
    for (const TakeoffItem& item : r_.found().takeoff.cut) add(item, "cut", false);
    total_row(row++, "total cut", first_cut, r_.found().takeoff.cut.size(), told(r_.found().takeoff.cut_cy),
              told(r_.found().takeoff.end_area_cut_cy), false);
    if (r_.found().takeoff.scarify_area > 0) {
      takeoff_.put({row, 0}, "area", CellLook::label);
      takeoff_.put({row, 1}, "scarify", CellLook::text);
      takeoff_.put({row++, 5}, r_.found().takeoff.scarify_area, CellLook::area);
    }
    if (r_.found().takeoff.on_assumed) {
      takeoff_.put({row, 0}, "area", CellLook::label);
      takeoff_.put({row, 1}, "on assumed ground", CellLook::text);
      takeoff_.put({row++, 5}, r_.found().takeoff.on_assumed->area, CellLook::area);
      takeoff_.put({row++, 0},
                   fmt::format("Not surveyed: {}; {}.", to_text(*r_.found().takeoff.on_assumed, r_.job.site.unit),
                               shoot_assumed_ground),
                   CellLook::note);
    }
    ++row;
    takeoff_.put({row, 0},
                 fmt::format("Average end areas: {} sections, {:g} {} apart, as a check; the volume is exact.",
                             r_.found().takeoff.end_area_sections, r_.found().takeoff.end_area_interval, unit()),
                 CellLook::note);
    takeoff_.widths({9, 18, 22, 12, 14, 14, 14, 14});
    takeoff_.freeze({4, 0});
  }

  void total_row(Row row, const char* label, Row first, std::size_t count, double volume, double end_area,
                 bool is_sum) {
    takeoff_.put({row, 0}, label, CellLook::total_label);
    for (const Column column : {1, 2}) takeoff_.put({row, column}, "", CellLook::total_label);
    const Row last = first + static_cast<Row>(count) - 1;
    const auto sum = [&](Column column, double value) {
      if (count == 0) return takeoff_.put({row, column}, value, CellLook::total_yards);
      takeoff_.put_formula({row, column}, fmt::format("SUM({})", at({first, column}, {last, column})), value,
                           CellLook::total_yards);
    };
    sum(3, volume);
    is_sum ? sum(4, end_area) : takeoff_.put({row, 4}, end_area, CellLook::total_yards);
  }

  // ---- where things are, before any formula names them
  // ---------------------------------------------------------------

  static constexpr Cell charged_cell = {2, 0};  // and beside it how

  enum Line : Row {
    names = 3,
    layers,
    in_place,
    interface,
    swell,
    shrink,
    loose_weight_of,
    bank_weight,
    compacted_weight_of,
    moisture,
    waste_part,
    first_agreement,
    disagrees = first_agreement + 3,
    factor,
    for_layers,
    waste,
    for_blends,
    needed,
    from_site,
    mixed,
    bought,
    tons_a_yard,
    tons_follow,
    tons,
    truck,
    truck_tons,
    truck_yards,
    each_load,
    loads,
    last_load,
    left_over,
    charged_volume,
    charged_weight,
    price,
    price_by,
    cost,
    haul_each,
    haul,
    end_of_lines
  };

  void lay_out() {
    Row row = end_of_lines + 2;
    const auto place = [&](std::size_t count) {
      const Table table{row + 1, row + static_cast<Row>(count)};
      row += static_cast<Row>(count) + 3;
      return table;
    };
    trucks_ = place(std::max<std::size_t>(asked_.trucks.size(), 2));  // room for another
    std::size_t parts = 0;
    for (const Blend& blend : e_.blends) parts += blend.parts.size();
    blends_ = place(parts);
    balance_ = place(e_.orders.size());
    soils_ = {3, static_cast<Row>(2 + dug_.size())};
    std::size_t lift_rows = 0;
    if (e_.lifts) {
      for (const Lift& lift : e_.lifts->lifts) lift_rows += lift.parts.size();
    }
    const Row first = static_cast<Row>(3 + lift_rows + 3);
    interface_ = {first, first + static_cast<Row>(e_.interface.size()) - 1};
  }

  // ---- order -------------------------------------------------------------------------------------------------------

  std::optional<Column> column_of(const std::string& material) const {
    for (std::size_t k = 0; k < e_.orders.size(); ++k) {
      if (e_.orders[k].material == material) return static_cast<Column>(2 + k);
    }
    return std::nullopt;
  }
  std::string order_ref(Line line, Column column) const { return order_.ref({line, column}); }

  void write_order() {
    order_.put({0, 0}, r_.job.site.title + ": order", CellLook::title);
    order_.put({1, 0}, "Change what is on yellow ground; the rest, and the bid, follow.", CellLook::note);
    order_.put(charged_cell, "material is charged", CellLook::label);
    order_.put({charged_cell.row, 1}, to_text(asked_.bid ? asked_.bid->charged : Charged::as_ordered),
               CellLook::text_input);
    order_.put({charged_cell.row, 2}, "as ordered, or whole loads: by what the trucks bring", CellLook::note);
    order_.put({names, 0}, "material", CellLook::header);
    order_.put({names, 1}, "", CellLook::header);
    for (std::size_t k = 0; k < e_.orders.size(); ++k) write_material(e_.orders[k], static_cast<Column>(2 + k));
    write_order_labels();
    write_trucks();
    write_blends();
    write_balance();
    order_.widths({58, 14});
    for (std::size_t k = 0; k < e_.orders.size(); ++k) order_.widths({16}, static_cast<Column>(2 + k));
    order_.freeze({names + 1, 2});
  }

  void write_order_labels() {
    const std::string volume = bulk_.volume, loose = volume + " loose", weight = bulk_.weight, density = bulk_.density;
    const auto label = [&](Line line, const char* text, const std::string& unit_text) {
      const bool strong = line == needed || line == bought || line == cost;
      order_.put({line, 0}, text, strong ? CellLook::total_label : CellLook::label);
      order_.put({line, 1}, unit_text, strong ? CellLook::total_label : CellLook::note);
    };
    label(layers, "layers made of it", "");
    label(in_place, "in place, neat", volume);
    label(interface, "lost at faces, pressed into ground", volume + " in place");
    label(swell, "swell, bank to loose", "of bank");
    label(shrink, "shrink, bank to compacted", "of bank");
    label(loose_weight_of, "loose weight, dry", density);
    label(bank_weight, "bank weight, dry", density);
    label(compacted_weight_of, "compacted weight, dry", density);
    label(moisture, "moisture as delivered", "of dry weight");
    label(waste_part, "waste", "of what goes in");
    const auto rules = agreements({});
    for (std::size_t i = 0; i < rules.size(); ++i) {
      label(agreement_line(i), fmt::format("{}, off {} by", rules[i].weights, rules[i].rule).c_str(), "at most 2 %");
    }
    label(disagrees, "these figures disagree", "");
    label(factor, "loose volume to one in place", "");
    label(for_layers, "for the layers", loose);
    label(waste, "waste", loose);
    label(for_blends, "into blends", loose);
    label(needed, "needed", loose);
    label(from_site, "from the site", loose);
    label(mixed, "mixed on the site", loose);
    label(bought, "to buy", loose);
    label(tons_a_yard, "weight as delivered", weight + "/" + loose);
    label(tons_follow, "it follows from the", "");
    label(tons, "to buy", weight);
    label(truck, "truck", "");
    label(truck_tons, "it holds", weight);
    label(truck_yards, "it holds", loose);
    label(each_load, "so a load is", loose);
    label(loads, "loads to call for", "loads");
    label(last_load, "in the last one", loose);
    label(left_over, "left over, if charged by whole loads", loose);
    label(charged_volume, "charged for", loose);
    label(charged_weight, "charged for", weight);
    label(price, "price", "");
    label(price_by, "price is by", "");
    label(cost, "cost", "");
    label(haul_each, "haul, where the price is at the pit", "a load");
    label(haul, "haul", "");
  }

  void write_material(const MaterialOrder& order, Column c) {
    const Material* m = find_material(asked_.materials, order.material);
    const Material none;
    const Material& given = m != nullptr ? *m : none;
    const auto cell = [&](Line line) { return at({line, c}); };
    const auto put = [&](Line line, const std::string& formula, const std::optional<double>& value, CellLook look) {
      order_.put_formula({line, c}, formula, value, look);
    };
    order_.put({names, c}, order.material, CellLook::header);
    order_.put({layers, c}, fmt::format("{}", fmt::join(order.layers, ", ")), CellLook::text);
    std::vector<std::string> neat;
    for (const std::string& layer : order.layers) neat.push_back(yards_cell_.at(layer));
    put(in_place, sum_of(neat), told(order.in_place.cy), CellLook::yards);
    put(interface, interface_of(order.material), told(order.interface.cy), CellLook::yards);
    order_.put({swell, c}, given.swell, CellLook::percent_input);
    order_.put({shrink, c}, given.shrink, CellLook::percent_input);
    order_.put({loose_weight_of, c}, told_density(given.loose_weight), CellLook::number_input);
    order_.put({bank_weight, c}, told_density(given.bank_weight), CellLook::number_input);
    order_.put({compacted_weight_of, c}, told_density(given.compacted_weight), CellLook::number_input);
    order_.put({moisture, c}, given.moisture, CellLook::percent_input);
    order_.put({waste_part, c}, given.waste, CellLook::percent_input);
    write_agreement(given, c);
    put(factor,
        fmt::format("IFERROR(IF(ISNUMBER({0})*ISNUMBER({1}),(1+{0})/(1-{1}),{2}),\"\")", cell(swell), cell(shrink),
                    where_known(cell(compacted_weight_of) + "/" + cell(loose_weight_of), cell(compacted_weight_of),
                                cell(loose_weight_of))),
        loose_per_compacted(given), CellLook::factor);
    write_needed(order, given, c);
    write_bought(order, given, c);
    write_loads(order, given, c);
    write_cost(order, given, c);
  }

  static Line agreement_line(std::size_t i) { return static_cast<Line>(first_agreement + i); }

  /// How far weights are off swell and shrink, and whether the job could be read with these figures.
  void write_agreement(const Material& given, Column c) {
    const auto cell = [&](Line line) { return at({line, c}); };
    const std::string loose = cell(loose_weight_of), bank = cell(bank_weight), compacted = cell(compacted_weight_of);
    const std::string gain = cell(swell), loss = cell(shrink);
    const auto off = [](const std::string& by_weights, const std::string& by_rule) {
      return fmt::format("ABS({}/({})-1)", by_weights, by_rule);
    };
    const std::array<std::string, 3> formulas = {
        where_known(off(loose + "/" + compacted, fmt::format("(1-{})/(1+{})", loss, gain)), loose, compacted, gain,
                    loss),
        where_known(off(loose + "/" + bank, fmt::format("1/(1+{})", gain)), loose, bank, gain),
        where_known(off(bank + "/" + compacted, fmt::format("1-{}", loss)), bank, compacted, loss)};
    const auto rules = agreements(given);
    for (std::size_t i = 0; i < rules.size(); ++i) {
      order_.put_formula({agreement_line(i), c}, fmt::format("IFERROR({},\"\")", formulas[i]), rules[i].apart(),
                         CellLook::percent);
    }
    const std::string three = at({first_agreement, c}, {disagrees - 1U, c});
    const auto over = [](const std::string& low, const std::string& high) {
      return fmt::format("IF(ISNUMBER({0})*ISNUMBER({1}),{0}>{1},FALSE)", low, high);
    };
    const std::string out_of_range =
        fmt::format("OR(N({0})<0,N({1})<0,N({1})>=1,N({2})<0,N({2})>=1,N({3})<0,N({3})>=1)", gain, loss, cell(moisture),
                    cell(waste_part));
    const std::string wrong = fmt::format("OR({},{},{},MAX({})>{})", out_of_range, over(loose, compacted),
                                          over(loose, bank), three, agreement_allowed);
    order_.put_formula({disagrees, c}, fmt::format("IF({},\"{}\",\"\")", wrong, disagreement),
                       check_material(given).has_errors() ? disagreement : "", CellLook::warning);
  }

  static constexpr const char* disagreement = "CORRECT ONE";

  // What a material has in a list is added up cell by cell: a sum by its name would hang on every row of the list, and
  // so in a circle on itself where a blend is in it; and would take a name with a * or > in it for a pattern.

  std::string interface_of(const std::string& material) const {
    std::vector<std::string> cells;
    for (std::size_t i = 0; i < e_.interface.size(); ++i) {
      if (e_.interface[i].material == material) {
        cells.push_back(lifts_->ref({interface_.first + static_cast<Row>(i), 3}));
      }
    }
    return sum_of(cells);
  }

  std::string blended_of(const std::string& material) const {
    std::vector<std::string> cells;
    Row row = blends_.first;
    for (const Blend& blend : e_.blends) {
      for (const BlendPart& part : blend.parts) {
        if (part.material == material) cells.push_back(at({row, 4}));
        ++row;
      }
    }
    return sum_of(cells);
  }

  /// What the site gives of a material, by the first `count` of its sources.
  std::string dug_of(const std::string& material, std::size_t count) const {
    std::vector<std::string> cells;
    for (std::size_t i = 0; i < count; ++i) {
      if (dug_[i]->material == material) cells.push_back(soil_->ref({soils_.first + static_cast<Row>(i), 9}));
    }
    return sum_of(cells);
  }

  bool is_blend(const std::string& material) const {
    return std::any_of(e_.blends.begin(), e_.blends.end(), [&](const Blend& b) { return b.material == material; });
  }

  void write_needed(const MaterialOrder& order, const Material& given, Column c) {
    const auto cell = [&](Line line) { return at({line, c}); };
    const bool known = loose_per_compacted(given).has_value();
    const auto if_known = [&](double value) { return known ? std::optional(told(value)) : std::nullopt; };
    order_.put_formula(
        {for_layers, c},
        where_known(fmt::format("({}+{})*{}", cell(in_place), cell(interface), cell(factor)), cell(factor)),
        if_known(order.for_layers.cy), CellLook::yards);
    order_.put_formula({waste, c},
                       where_known(fmt::format("{}*{}", cell(waste_part), cell(for_layers)), cell(for_layers)),
                       if_known(order.waste.cy), CellLook::yards);
    order_.put_formula({for_blends, c}, blended_of(order.material), told(order.for_blends.cy), CellLook::yards);
    const std::string all = fmt::format("{}+{}+{}", cell(for_layers), cell(waste), cell(for_blends));
    std::optional<double> value;
    if (order.needed) value = told(order.needed->cy);
    order_.put_formula({needed, c}, order.layers.empty() ? cell(for_blends) : where_known(all, cell(for_layers)), value,
                       CellLook::total_yards);
  }

  void write_bought(const MaterialOrder& order, const Material& given, Column c) {
    const auto cell = [&](Line line) { return at({line, c}); };
    const auto if_needed = [&](double value) { return order.needed ? std::optional(told(value)) : std::nullopt; };
    order_.put_formula({from_site, c}, dug_of(order.material, dug_.size()), told(order.from_site.cy), CellLook::yards);
    order_.put_formula({mixed, c}, is_blend(order.material) ? cell(needed) : "0",
                       is_blend(order.material) ? if_needed(order.mixed.cy) : 0, CellLook::yards);
    order_.put_formula(
        {bought, c},
        where_known(fmt::format("MAX(0,{}-{}-{})", cell(needed), cell(from_site), cell(mixed)), cell(needed)),
        if_needed(order.bought.cy), CellLook::total_yards);
    const std::string weight = fmt::format(
        "IF(ISNUMBER({0})*ISNUMBER({1}),{0}/{1},IF(ISNUMBER({2}),{2},{3}))", cell(compacted_weight_of), cell(factor),
        cell(loose_weight_of),
        where_known(fmt::format("{}/(1+{})", cell(bank_weight), cell(swell)), cell(bank_weight), cell(swell)));
    const std::optional<double> one = told_weight_of_one(given);
    order_.put_formula({tons_a_yard, c},
                       fmt::format("IFERROR({}*(1+{})/{:.0f},\"\")", weight, cell(moisture), bulk_.weight_of), one,
                       CellLook::factor);
    order_.put_formula(
        {tons_follow, c},
        fmt::format("IF(ISNUMBER({0}),IF(ISNUMBER({1})*ISNUMBER({2}),\"{3}\",IF(ISNUMBER({4}),\"{5}\",\"{6}\")),\"\")",
                    cell(tons_a_yard), cell(compacted_weight_of), cell(factor), by_compacted, cell(loose_weight_of),
                    by_loose_weight, by_bank),
        !one                                                   ? ""
        : given.compacted_weight && loose_per_compacted(given) ? by_compacted
        : given.loose_weight                                   ? by_loose_weight
                                                               : by_bank,
        CellLook::text);
    std::optional<double> value;
    if (one && order.needed) value = told(order.bought.cy) * *one;
    order_.put_formula(
        {tons, c}, where_known(fmt::format("{}*{}", cell(bought), cell(tons_a_yard)), cell(bought), cell(tons_a_yard)),
        value, CellLook::yards);
  }

  // What the weight of an order hangs on. In place it weighs what it weighs: where the compacted weight is given, swell
  // moves its yards and never its tons.
  static constexpr const char *by_compacted = "compacted weight", *by_loose_weight = "loose weight",
                              *by_bank = "bank weight";

  /// From the table of trucks by the name in a cell; empty where it is not there.
  std::string truck_lookup(const std::string& name_cell, Column column) const {
    const std::string found =
        fmt::format("INDEX({},MATCH({},{},0))", order_.ref({trucks_.first, column}, {trucks_.last, column}), name_cell,
                    order_.ref({trucks_.first, 0}, {trucks_.last, 0}));
    return fmt::format("IFERROR(IF(ISNUMBER({0}),{0},\"\"),\"\")", found);
  }

  static std::string load_of(const std::string& tons, const std::string& yards, const std::string& tons_a_yard) {
    return fmt::format(
        "IF(ISNUMBER({0})*ISNUMBER({2}),IF(ISNUMBER({1}),MIN({0}/{2},{1}),{0}/{2}),IF(ISNUMBER({1}),{1},\"\"))", tons,
        yards, tons_a_yard);
  }
  static std::string loads_of(const std::string& yards, const std::string& each) {
    return where_known(fmt::format("ROUNDUP(MAX(0,{}/{}-0.000000001),0)", yards, each), yards, each);
  }

  void write_loads(const MaterialOrder& order, const Material& given, Column c) {
    const auto cell = [&](Line line) { return at({line, c}); };
    const Truck* its = find_truck(asked_.trucks, given.truck);
    std::optional<double> one_load, count, last;
    if (its != nullptr) {
      if (const auto any = loads_for(given, *its, LooseYards{1})) one_load = told(any->each.cy);
    }
    if (one_load && order.needed) {
      count = order.loads ? order.loads->count : 0;
      if (*count > 0) last = told(order.bought.cy) - *one_load * (*count - 1);
    }
    order_.put({truck, c}, given.truck, CellLook::text_input);
    std::optional<double> holds_tons, holds_yards;
    if (its != nullptr) {
      holds_tons = told_tons(its->tons);
      if (its->yards) holds_yards = told(its->yards->cy);
    }
    order_.put_formula({truck_tons, c}, truck_lookup(cell(truck), 1), holds_tons, CellLook::yards);
    order_.put_formula({truck_yards, c}, truck_lookup(cell(truck), 2), holds_yards, CellLook::yards);
    order_.put_formula({each_load, c}, load_of(cell(truck_tons), cell(truck_yards), cell(tons_a_yard)), one_load,
                       CellLook::yards);
    order_.put_formula({loads, c}, loads_of(cell(bought), cell(each_load)), count, CellLook::whole);
    order_.put_formula({last_load, c},
                       fmt::format("IF(N({0})>0,{1}-{2}*({0}-1),\"\")", cell(loads), cell(bought), cell(each_load)),
                       last, CellLook::yards);
    write_charged(order, given, {one_load, count}, c);
  }

  struct WholeLoads {
    std::optional<double> each, count;  // told volume of one, how many
  };

  void write_charged(const MaterialOrder& order, const Material& given, const WholeLoads& all, Column c) {
    const auto cell = [&](Line line) { return at({line, c}); };
    const auto if_needed = [&](double value) { return order.needed ? std::optional(value) : std::nullopt; };
    const bool whole = asked_.bid && asked_.bid->charged == Charged::whole_loads && all.count.has_value();
    const double bring = all.count ? *all.count * *all.each : told(order.bought.cy);
    order_.put_formula({left_over, c},
                       where_known(fmt::format("{}*{}-{}", cell(loads), cell(each_load), cell(bought)), cell(loads),
                                   cell(each_load), cell(bought)),
                       all.count ? if_needed(bring - told(order.bought.cy)) : std::nullopt, CellLook::yards);
    order_.put_formula({charged_volume, c},
                       where_known(fmt::format("{}+IF({}=\"{}\",N({}),0)", cell(bought), at({charged_cell.row, 1}),
                                               to_text(Charged::whole_loads), cell(left_over)),
                                   cell(bought)),
                       if_needed(whole ? bring : told(order.bought.cy)), CellLook::yards);
    const std::optional<double> one = told_weight_of_one(given);
    order_.put_formula({charged_weight, c},
                       where_known(fmt::format("{}*{}", cell(charged_volume), cell(tons_a_yard)), cell(charged_volume),
                                   cell(tons_a_yard)),
                       one ? if_needed((whole ? bring : told(order.bought.cy)) * *one) : std::nullopt, CellLook::yards);
  }

  /// What a price by `by` is of: told weight, told volume, loads. Empty where it is by none of them.
  std::string counted(const std::string& by, const std::string& weight, const std::string& volume,
                      const std::string& count) const {
    const auto of = [](const std::string& cell, double factor) {
      return factor == 1 ? cell : where_known(fmt::format("{}*{}", cell, factor), cell);
    };
    const struct {
      PriceUnit unit;
      std::string quantity;
    } forms[] = {{PriceUnit::ton, of(weight, 1 / bulk_.of_ton)},
                 {PriceUnit::tonne, of(weight, tonnes_per_ton / bulk_.of_ton)},
                 {PriceUnit::load, count},
                 {PriceUnit::loose_yard, of(volume, 1 / bulk_.of_yard)},
                 {PriceUnit::loose_cubic_metre, of(volume, cubic_metres_per_yard / bulk_.of_yard)}};
    std::string formula, close;
    for (const auto& [unit, quantity] : forms) {
      formula += fmt::format("IF({}=\"{}\",{},", by, to_text(unit), quantity);
      close += ")";
    }
    return formula + "\"\"" + close;
  }

  void write_cost(const MaterialOrder& order, const Material& given, Column c) {
    const auto cell = [&](Line line) { return at({line, c}); };
    std::optional<double> amount;
    if (given.price) amount = given.price->amount;
    order_.put({price, c}, amount, CellLook::money_input);
    order_.put({price_by, c}, given.price ? to_text(given.price->unit) : "", CellLook::text_input);
    order_.put_formula({cost, c},
                       fmt::format("IFERROR(N({})*{},0)", cell(price),
                                   counted(cell(price_by), cell(charged_weight), cell(charged_volume), cell(loads))),
                       order.cost, CellLook::total_money);
    order_.put({haul_each, c}, given.haul_per_load, CellLook::money_input);
    order_.put_formula({haul, c}, fmt::format("N({})*N({})", cell(haul_each), cell(loads)), order.haul_cost,
                       CellLook::money);
  }

  void write_trucks() {
    order_.head(trucks_.first - 1, {"trucks", bulk_.weight, fmt::format("{} loose", bulk_.volume), "haul off, a load"});
    for (Row row = trucks_.first; row <= trucks_.last; ++row) {
      const std::size_t i = row - trucks_.first;
      const Truck its = i < asked_.trucks.size() ? asked_.trucks[i] : Truck{};
      order_.put({row, 0}, its.name, CellLook::text_input);
      order_.put({row, 1}, told_tons(its.tons), CellLook::number_input);
      order_.put({row, 2}, its.yards ? std::optional(told(its.yards->cy)) : std::nullopt, CellLook::number_input);
      order_.put({row, 3}, its.haul_off_per_load, CellLook::money_input);
    }
  }

  void write_blends() {
    if (blends_.is_empty()) return;
    order_.head(blends_.first - 1, {"blends, by loose volume", "of", "parts", "lost in mixing", by_loose("taken")});
    Row row = blends_.first;
    for (const Blend& blend : e_.blends) {
      const Row first = row, last = row + static_cast<Row>(blend.parts.size()) - 1;
      for (const BlendPart& part : blend.parts) {
        order_.put({row, 0}, blend.material, CellLook::label);
        order_.put({row, 1}, part.material, CellLook::text);
        order_.put({row, 2}, part.parts, CellLook::number_input);
        row == first ? order_.put({row, 3}, blend.mixing_shrink, CellLook::percent_input)
                     : order_.put_formula({row, 3}, at({first, 3}), blend.mixing_shrink, CellLook::percent);
        const auto made = column_of(blend.material);
        const MaterialOrder* order = made ? &e_.orders[*made - 2U] : nullptr;
        const double whole = order != nullptr ? told(order->mixed.cy) : 0;
        double all = 0;
        for (const BlendPart& each : blend.parts) all += each.parts;
        order_.put_formula({row, 4},
                           made ? fmt::format("N({})*{}/SUM({})/(1-{})", at({needed, *made}), at({row, 2}),
                                              at({first, 2}, {last, 2}), at({row, 3}))
                                : "0",
                           whole * part.parts / all / (1 - blend.mixing_shrink), CellLook::yards);
        ++row;
      }
    }
  }

  /// What comes of each material and where it goes, all loose; the gap is nothing.
  void write_balance() {
    if (balance_.is_empty()) return;
    order_.head(balance_.first - 1, {by_loose("balance"), "from the site", "bought", "mixed on the site", "in place",
                                     "waste", "into blends", "left over", "gap"});
    Row row = balance_.first;
    for (const MaterialOrder& order : e_.orders) {
      const auto known = std::find_if(e_.balance.begin(), e_.balance.end(),
                                      [&](const BalanceLine& each) { return each.material == order.material; });
      const BalanceLine line = known == e_.balance.end() ? BalanceLine{} : *known;
      const Column c = column_of(order.material).value();
      const auto number = [&](Line from) {
        return fmt::format("IF(ISNUMBER({}),N({}),0)", at({needed, c}), at({from, c}));
      };
      order_.put({row, 0}, order.material, CellLook::label);
      const std::tuple<Column, std::string, LooseYards> cells[] = {
          {1, number(from_site), line.from_site},
          {2, number(charged_volume), line.bought},
          {3, number(mixed), line.blended_in},
          {4, number(for_layers), line.in_place},
          {5, number(waste), line.waste},
          {6, number(for_blends), line.into_blends},
          {7, fmt::format("{}-{}", number(charged_volume), number(bought)), line.left_over}};
      for (const auto& [column, formula, value] : cells) {
        order_.put_formula({row, column}, formula, told(value.cy), CellLook::yards);
      }
      order_.put_formula({row, 8},
                         fmt::format("ROUND(SUM({})-SUM({}),6)", at({row, 1}, {row, 3}), at({row, 4}, {row, 7})), 0.0,
                         CellLook::yards);
      ++row;
    }
  }

  // ---- site soil ---------------------------------------------------------------------------------------------------

  void write_soil() {
    Sheet& sheet = *soil_;
    sheet.put({0, 0}, r_.job.site.title + ": soil the site has", CellLook::title);
    sheet.head(
        2,
        {"source", "material", by_volume("bank"), "loose to one bank", by_volume("loose"), "lost to roots and handling",
         by_volume("lost"), "goes to", by_loose("wanted"), by_loose("used"), by_loose("spread"), by_loose("hauled off"),
         "truck", fmt::format("{} a loose {}", bulk_.weight, bulk_.volume), by_loose("a load is"), "loads",
         "haul off, a load", "haul cost"},
        4);
    for (std::size_t i = 0; i < dug_.size(); ++i) write_soil(*dug_[i], soils_.first + static_cast<Row>(i));
    sheet.widths({26, 16, 10, 10, 10, 10, 10, 12, 10, 10, 10, 10, 14, 10, 10, 8, 12, 12});
    sheet.freeze({3, 1});
  }

  /// Null where its material has no swell.
  const SiteSoilResult* result_of(const SiteSoil& soil) const {
    const auto found = std::find_if(e_.site_soil.begin(), e_.site_soil.end(),
                                    [&](const SiteSoilResult& each) { return each.name == soil.name; });
    return found == e_.site_soil.end() ? nullptr : &*found;
  }

  /// Where what is not used goes.
  static SoilGoes rest_of(const SiteSoil& soil) { return soil.goes == SoilGoes::use ? soil.surplus : soil.goes; }

  void write_soil(const SiteSoil& asked, Row row) {
    Sheet& sheet = *soil_;
    const Material* found = find_material(asked_.materials, asked.material);
    const Material none;
    const Material& m = found != nullptr ? *found : none;
    const SiteSoilResult* result = result_of(asked);
    const SiteSoilResult soil = result != nullptr ? *result : SiteSoilResult{};
    const auto cell = [&](Column column) { return at({row, column}); };
    sheet.put({row, 0}, asked.name, CellLook::label);
    sheet.put({row, 1}, asked.material, CellLook::text);
    const double bank = told(bank_of(asked)->cy);
    asked.bank ? sheet.put({row, 2}, bank, CellLook::yards_input)
               : sheet.put_formula({row, 2}, yards_cell_.at(asked.from), bank, CellLook::yards);
    const auto column = column_of(asked.material);
    column ? sheet.put_formula({row, 3}, loose_to_bank(*column), loose_per_bank(m), CellLook::factor)
           : sheet.put({row, 3}, loose_per_bank(m), CellLook::number_input);
    sheet.put_formula({row, 4}, where_known(cell(2) + "*" + cell(3), cell(2), cell(3)),
                      result != nullptr ? std::optional(told(soil.loose.cy)) : std::nullopt, CellLook::yards);
    sheet.put({row, 5}, asked.loss, CellLook::percent_input);
    sheet.put_formula({row, 6}, fmt::format("N({})*{}", cell(4), cell(5)), told(soil.lost.cy), CellLook::yards);
    const bool used = asked.goes == SoilGoes::use;
    const SoilGoes rest = rest_of(asked);
    sheet.put({row, 7}, used ? fmt::format("the mound, rest {}", to_text(rest)) : to_text(rest), CellLook::text);
    write_soil_use(asked, soil, row, used && !is_blend(asked.material) ? column : std::nullopt);
    const std::string left = fmt::format("N({})-{}-{}", cell(4), cell(6), cell(9));
    sheet.put_formula({row, 10}, rest == SoilGoes::spread ? left : "0", told(soil.spread.cy), CellLook::yards);
    sheet.put_formula({row, 11}, rest == SoilGoes::spread ? "0" : left, told(soil.hauled.cy), CellLook::yards);
    write_soil_haul(soil, asked, m, row);
  }

  /// Loose volume of one bank volume of a material on the order.
  std::string loose_to_bank(Column c) const {
    const std::string gain = order_ref(swell, c), bank = order_ref(bank_weight, c),
                      loose = order_ref(loose_weight_of, c);
    return fmt::format("IF(ISNUMBER({0}),1+{0},{1})", gain, where_known(bank + "/" + loose, bank, loose));
  }

  void write_soil_use(const SiteSoil& asked, const SiteSoilResult& soil, Row row, const std::optional<Column>& column) {
    Sheet& sheet = *soil_;
    std::string formula = "0";
    double value = 0;
    if (column) {
      formula = fmt::format("N({})", order_ref(needed, *column));
      value = e_.orders[*column - 2U].needed.value_or(LooseYards{}).cy;
      formula += fmt::format("-({})", dug_of(asked.material, row - soils_.first));
      for (std::size_t i = 0; i < row - soils_.first; ++i) {
        const SiteSoilResult* before = result_of(*dug_[i]);
        if (before != nullptr && before->material == asked.material) value -= before->used.cy;
      }
    }
    sheet.put_formula({row, 8}, formula, told(value), CellLook::yards);
    sheet.put_formula({row, 9}, fmt::format("MAX(0,MIN(N({})-{},{}))", at({row, 4}), at({row, 6}), at({row, 8})),
                      told(soil.used.cy), CellLook::yards);
  }

  void write_soil_haul(const SiteSoilResult& soil, const SiteSoil& asked, const Material& m, Row row) {
    Sheet& sheet = *soil_;
    const auto cell = [&](Column column) { return at({row, column}); };
    const std::string& truck_name = asked.truck.empty() ? m.truck : asked.truck;
    const Truck* its = find_truck(asked_.trucks, truck_name);
    const auto column = column_of(asked.material);
    const std::optional<double> weight = told_weight_of_one(m);
    asked.truck.empty() && column
        ? sheet.put_formula({row, 12}, order_ref(truck, *column) + "&\"\"", truck_name, CellLook::text)
        : sheet.put({row, 12}, truck_name, CellLook::text_input);
    column ? sheet.put_formula({row, 13}, order_ref(tons_a_yard, *column), weight, CellLook::factor)
           : sheet.put({row, 13}, weight, CellLook::number_input);
    std::optional<double> each, count, per_load;
    if (its != nullptr) {
      if (const auto any = loads_for(m, *its, LooseYards{1})) each = told(any->each.cy);
      per_load = its->haul_off_per_load;
    }
    if (each) count = soil.loads ? soil.loads->count : 0;
    sheet.put_formula({row, 14}, load_of(truck_lookup(cell(12), 1), truck_lookup(cell(12), 2), cell(13)), each,
                      CellLook::yards);
    sheet.put_formula({row, 15}, loads_of(cell(11), cell(14)), count, CellLook::whole);
    sheet.put_formula({row, 16}, truck_lookup(cell(12), 3), per_load, CellLook::money);
    sheet.put_formula({row, 17}, fmt::format("N({})*N({})", cell(15), cell(16)), soil.haul_cost, CellLook::money);
  }

  // ---- lifts and deliveries
  // ------------------------------------------------------------------------------------------

  void write_lifts() {
    Sheet& sheet = *lifts_;
    sheet.put({0, 0}, fmt::format("{}: by lift of {:g} {}", r_.job.site.title, e_.lifts->depth, unit()),
              CellLook::title);
    sheet.head(2,
               {"lift", "material", "layer", by_volume("in place"), by_volume("lost at faces"),
                by_volume("pressed into ground"), by_volume("placed") + " in place", "from elevation", "to elevation"});
    Row row = 3;
    std::map<std::string, std::string> placed;  // cell with the yards of a stage of the work, by its name
    for (const Lift& lift : e_.lifts->lifts) {
      for (const LiftPart& part : lift.parts) {
        sheet.put({row, 0}, lift.number, CellLook::whole);
        sheet.put({row, 1}, part.material, CellLook::text);
        sheet.put({row, 2}, part.layer, CellLook::text);
        sheet.put({row, 3}, told(part.in_place.cy), CellLook::yards);
        sheet.put({row, 4}, told(part.face.cy), CellLook::yards);
        sheet.put({row, 5}, told(part.pressed.cy), CellLook::yards);
        sheet.put_formula({row, 6}, fmt::format("SUM({})", at({row, 3}, {row, 5})), told(part.placed().cy),
                          CellLook::yards);
        sheet.put({row, 7}, lift.bottom, CellLook::length);
        sheet.put({row, 8}, lift.top, CellLook::length);
        placed[fmt::format("lift {}, {}", lift.number, part.layer)] = at({row, 6});
        ++row;
      }
    }
    sheet.head(interface_.first - 1, {"layer", "material", "what", fmt::format("{} in place", bulk_.volume),
                                      fmt::format("area, sq {}", unit())});
    for (std::size_t i = 0; i < e_.interface.size(); ++i) {
      const InterfaceLine& line = e_.interface[i];
      const Row at_row = interface_.first + static_cast<Row>(i);
      sheet.put({at_row, 0}, line.layer, CellLook::text);
      sheet.put({at_row, 1}, line.material, CellLook::text);
      sheet.put({at_row, 2}, line.what, CellLook::text);
      sheet.put({at_row, 3}, told(line.in_place.cy), CellLook::yards);
      sheet.put({at_row, 4}, line.area, CellLook::area);
    }
    write_deliveries(placed, interface_.last + 3);
    sheet.widths({26, 18, 30, 12, 12, 12, 12, 12, 12});
    sheet.freeze({3, 0});
  }

  /// `placed`: cell with the yards of a lift's part, by the name of its stage; those of whole layers are on the
  /// takeoff.
  void write_deliveries(const std::map<std::string, std::string>& placed, Row heading) {
    Sheet& sheet = *lifts_;
    sheet.head(heading,
               {"deliveries, in the order wanted", "material", "", fmt::format("{} loose", bulk_.volume),
                fmt::format("{} loose, so far", bulk_.volume), "loads, so far", "loads", "first load", "last load"});
    Row row = heading + 1;
    auto delivery = e_.deliveries.begin();
    struct Stock {
      double so_far = 0;
      int called = 0;
      std::vector<Row> rows;
    };
    std::map<std::string, Stock> stock;
    const auto add_items = [&] {
      for (; delivery != e_.deliveries.end() && !delivery->other.empty(); ++delivery, ++row) {
        sheet.put({row, 0}, delivery->stage, CellLook::label);
        sheet.put({row, 1}, delivery->material, CellLook::text);
        sheet.put({row, 2}, delivery->other, CellLook::text);
      }
    };
    const auto add = [&](const std::string& yards) {
      add_items();
      if (delivery == e_.deliveries.end()) return;
      const auto column = column_of(delivery->material);
      if (!column) return;
      auto& [so_far, called, rows] = stock[delivery->material];
      so_far += told(delivery->loose.cy), called += delivery->loads;
      write_delivery(*delivery++, {yards, row, rows, *column}, so_far, called);
      rows.push_back(row++);
    };
    for (const WorkStage& part : e_.work) {
      const auto column = column_of(part.material);
      if (!column || !e_.orders[*column - 2U].needed) continue;
      const std::string& yards = part.lift > 0 ? placed.at(part.name) : yards_cell_.at(part.layer);
      const std::string wanted =
          fmt::format("{}*N({})*(1+N({}))", yards, order_ref(factor, *column), order_ref(waste_part, *column));
      if (!is_blend(part.material)) {
        add(wanted);
        continue;
      }
      for (Row part_row = blends_.first; part_row <= blends_.last; ++part_row) {
        const auto share = blend_share(part.material, part_row);
        if (share) add(fmt::format("{}*{}", wanted, *share));
      }
    }
    add_items();
  }

  /// Of a blend's loose yard what one row of the table of blends takes; nullopt where the row is another blend's.
  std::optional<std::string> blend_share(const std::string& material, Row row) const {
    Row first = blends_.first;
    for (const Blend& blend : e_.blends) {
      const Row last = first + static_cast<Row>(blend.parts.size()) - 1;
      if (blend.material == material && row >= first && row <= last) {
        return fmt::format("{}/SUM({})/(1-{})", order_.ref({row, 2}), order_.ref({first, 2}, {last, 2}),
                           order_.ref({row, 3}));
      }
      first = last + 1;
    }
    return std::nullopt;
  }

  struct DeliveryPlace {
    std::string yards;  // formula
    Row row;
    std::vector<Row> earlier;  // rows of the same material
    Column material;           // on the order
  };

  void write_delivery(const Delivery& delivery, const DeliveryPlace& place, double so_far, int called) {
    Sheet& sheet = *lifts_;
    const Row row = place.row;
    const auto before = [&](Column column) {
      std::vector<std::string> cells;
      for (const Row earlier : place.earlier) cells.push_back(at({earlier, column}));
      return sum_of(cells);
    };
    const auto known = [&](int number) {
      return loads_are_known(e_, delivery) ? std::optional<double>(number) : std::nullopt;
    };
    sheet.put({row, 0}, delivery.stage, CellLook::label);
    sheet.put({row, 1}, delivery.material, CellLook::text);
    sheet.put_formula({row, 3}, place.yards, told(delivery.loose.cy), CellLook::yards);
    sheet.put_formula({row, 4}, fmt::format("{}+{}", before(3), at({row, 3})), so_far, CellLook::yards);
    const std::string count = order_ref(loads, place.material), each = order_ref(each_load, place.material);
    sheet.put_formula({row, 5},
                      fmt::format("IF(ISNUMBER({0}),MIN({0},ROUNDUP(MAX(0,({1}-{2})/{3}-0.000000001),0)),\"\")", count,
                                  at({row, 4}), order_ref(from_site, place.material), each),
                      known(called), CellLook::whole);
    sheet.put_formula({row, 6}, fmt::format("IF(ISNUMBER({0}),{0}-({1}),\"\")", at({row, 5}), before(6)),
                      known(delivery.loads), CellLook::whole);
    const auto some = [&](int number) { return delivery.loads > 0 ? std::optional<double>(number) : std::nullopt; };
    sheet.put_formula({row, 7}, fmt::format("IF(N({0})>0,{1}-{0}+1,\"\")", at({row, 6}), at({row, 5})),
                      some(delivery.first_load), CellLook::whole);
    sheet.put_formula({row, 8}, fmt::format("IF(N({0})>0,{1},\"\")", at({row, 6}), at({row, 5})),
                      some(delivery.last_load), CellLook::whole);
  }

  // ---- bid ---------------------------------------------------------------------------------------------------------

  struct Hours {
    std::string cell;
    double value;
  };

  void write_bid() {
    Sheet& sheet = *bid_;
    sheet.put({0, 0}, r_.job.site.title + ": bid", CellLook::title);
    sheet.put({1, 0}, "Change what is on yellow ground, here or on Order; the total follows.", CellLook::note);
    // The sums and lines stand above what they name: items, rates and tasks.
    const Row sums = 3, lines = sums + 13;
    Row row = lines + 1 + static_cast<Row>(count_lines()) + 2;
    const auto items = write_items(row);
    const auto rates = write_rates(row);
    const auto hours = write_tasks(row);
    const std::vector<BidRow> all = lines_of(items, rates, hours);
    write_lines(lines, all);
    const Mark mark = write_gaps(row, items, rates, hours);
    write_sums(sums, {lines, all.size()}, mark);
    sheet.widths({36, 14, 12, 14, 14, 40});
  }

  /// Area items: as bought, and the price of one.
  std::map<std::string, Row> write_items(Row& row) {
    std::map<std::string, Row> rows;
    bid_->head(row++, {"items by area and length", "as bought", "", "each", "measured", "how it was reckoned"});
    for (const AreaItem& item : e_.areas.items) {
      bid_->put({row, 0}, item.name, CellLook::label);
      bid_->put({row, 1}, item.order, CellLook::yards_input);
      bid_->put({row, 2}, item.order_unit, CellLook::text);
      const std::optional<double> each =
          item.price && item.order > 0 ? std::optional(item.cost / item.order) : std::nullopt;
      bid_->put({row, 3}, each, CellLook::money_input);
      bid_->put({row, 4}, item.quantity, CellLook::area);
      bid_->put({row, 5}, fmt::format("{}; measured in {}", item.note, item.unit), CellLook::text);
      area_cell_[item.name] = at({row, 4});
      rows[item.name] = row++;
    }
    ++row;
    return rows;
  }

  std::map<std::string, Row> write_rates(Row& row) {
    std::map<std::string, Row> rows;
    bid_->head(row++, {"machines and workers", "", "", "an hour"});
    const auto add = [&](const std::string& name, const std::optional<double>& per_hour) {
      if (!rows.emplace(name, row).second) return;
      bid_->put({row, 0}, name, CellLook::label);
      bid_->put({row++, 3}, per_hour, CellLook::money_input);
    };
    for (const auto* rates : {&asked_.bid->machines, &asked_.bid->workers}) {
      for (const HourRate& rate : *rates) add(rate.name, rate.per_hour);
    }
    ++row;
    return rows;
  }

  std::vector<Hours> write_tasks(Row& row) {
    std::vector<Hours> hours;
    bid_->head(row++, {"tasks", "quantity", "", "an hour", "hours", "of"});
    for (const Task& task : asked_.bid->tasks) {
      bid_->put({row, 0}, task.name, CellLook::label);
      double value = 0;
      if (task.hours) {
        bid_->put({row, 4}, *task.hours, CellLook::yards_input);
        value = *task.hours;
      } else {
        double quantity = 0;
        const std::string sum = quantity_of(task, quantity);
        const double rate = task.yards_per_hour ? told(*task.yards_per_hour) : *task.area_per_hour;
        value = quantity / rate;
        bid_->put_formula({row, 1}, sum, quantity, CellLook::yards);
        bid_->put({row, 2}, task.yards_per_hour ? bulk_.volume : fmt::format("sq {}", unit()), CellLook::text);
        bid_->put({row, 3}, rate, CellLook::number_input);
        bid_->put_formula({row, 4}, where_known(at({row, 1}) + "/" + at({row, 3}), at({row, 3})), value,
                          CellLook::yards);
        bid_->put({row, 5}, fmt::format("{}", fmt::join(task.of, ", ")), CellLook::text);
      }
      hours.push_back({at({row++, 4}), value});
    }
    ++row;
    return hours;
  }

  /// What a task works on, as a formula and as a figure.
  std::string quantity_of(const Task& task, double& quantity) const {
    std::vector<std::string> cells;
    const auto add = [&](const std::string& cell, double value) { cells.push_back(cell), quantity += value; };
    for (const std::string& name : task.of) {
      if (!task.yards_per_hour) {
        for (const AreaItem& item : e_.areas.items) {
          if (item.name == name) add(area_cell_.at(name), item.quantity);
        }
        continue;
      }
      if (yards_cell_.contains(name)) {
        for (const auto* items : {&r_.found().takeoff.fill, &r_.found().takeoff.cut}) {
          for (const TakeoffItem& item : *items) {
            if (item.name == name) add(yards_cell_.at(name), told(item.volume_cy));
          }
        }
        continue;
      }
      for (std::size_t i = 0; i < dug_.size(); ++i) {
        const SiteSoilResult* soil = result_of(*dug_[i]);
        if (soil != nullptr && soil->name == name) {
          add(soil_->ref({soils_.first + static_cast<Row>(i), 2}), told(soil->bank.cy));
        }
      }
    }
    return sum_of(cells);
  }

  /// A line of the bid: the cells its figures come from, and what they come to.
  struct BidRow {
    BidKind kind;
    std::string name;
    std::string quantity, unit, rate, amount;  // formulas; the unit's may be empty where `unit_text` says it all
    std::optional<double> quantity_value, rate_value;
    std::string unit_text;
    double amount_value = 0;
  };

  /// In the order of geom/estimate.cpp. Also what has no price yet, so that one can be given on the sheet.
  std::vector<BidRow> lines_of(const std::map<std::string, Row>& items, const std::map<std::string, Row>& rates,
                               const std::vector<Hours>& hours) const {
    std::vector<BidRow> all;
    for (std::size_t k = 0; k < e_.orders.size(); ++k) add_material(e_.orders[k], static_cast<Column>(2 + k), all);
    for (const AreaItem& item : e_.areas.items) {
      const Row row = items.at(item.name);
      std::optional<double> each;
      if (item.price && item.order > 0) each = item.cost / item.order;
      all.push_back({BidKind::item, item.name, at({row, 1}), "", at({row, 3}),
                     fmt::format("N({})*N({})", at({row, 1}), at({row, 3})), item.order, each, item.order_unit,
                     item.cost});
    }
    for (std::size_t i = 0; i < dug_.size(); ++i) {
      if (rest_of(*dug_[i]) == SoilGoes::haul_off) add_haul_off(*dug_[i], soils_.first + static_cast<Row>(i), all);
    }
    for (std::size_t i = 0; i < asked_.bid->tasks.size(); ++i) {
      const Task& task = asked_.bid->tasks[i];
      add_hours(task.machines, asked_.bid->machines, BidKind::machine, task.name, rates, hours[i], all);
      add_hours(task.crew, asked_.bid->workers, BidKind::labour, task.name, rates, hours[i], all);
    }
    return all;
  }

  void add_haul_off(const SiteSoil& asked, Row row, std::vector<BidRow>& all) const {
    const SiteSoilResult* soil = result_of(asked);
    const Material* m = find_material(asked_.materials, asked.material);
    const Truck* its = m != nullptr ? find_truck(asked_.trucks, asked.truck.empty() ? m->truck : asked.truck) : nullptr;
    std::optional<double> count, per_load;
    if (its != nullptr) {
      per_load = its->haul_off_per_load;
      if (loads_for(*m, *its, LooseYards{1})) count = soil != nullptr && soil->loads ? soil->loads->count : 0;
    }
    all.push_back({BidKind::haul, asked.name + " off the site", soil_->ref({row, 15}), "", soil_->ref({row, 16}),
                   soil_->ref({row, 17}), count, per_load, "loads", soil != nullptr ? soil->haul_cost : 0});
  }

  std::size_t count_lines() const {
    std::size_t count = e_.areas.items.size();
    for (const MaterialOrder& order : e_.orders) count += is_blend(order.material) ? 0 : 2;
    for (const SiteSoil* soil : dug_) count += rest_of(*soil) == SoilGoes::haul_off ? 1 : 0;
    for (const Task& task : asked_.bid->tasks) count += task.machines.size() + task.crew.size();
    return count;
  }

  void add_material(const MaterialOrder& order, Column c, std::vector<BidRow>& all) const {
    if (is_blend(order.material)) return;
    const std::string by = order_ref(price_by, c);
    const Material* m = find_material(asked_.materials, order.material);
    const Price* given = m != nullptr && m->price ? &*m->price : nullptr;
    std::optional<double> quantity, count, haul_rate;
    if (order.needed && given != nullptr) quantity = charged_quantity(order, given->unit, asked_.bid->charged);
    if (order.needed && order.loads) count = order.loads->count;
    all.push_back({BidKind::material, order.material,
                   counted(by, order_ref(charged_weight, c), order_ref(charged_volume, c), order_ref(loads, c)),
                   fmt::format("{}&\"\"", by), order_ref(price, c), order_ref(cost, c), quantity,
                   given != nullptr ? std::optional(given->amount) : std::nullopt,
                   given != nullptr ? to_text(given->unit) : "", order.cost});
    if (m != nullptr) haul_rate = m->haul_per_load;
    all.push_back({BidKind::haul, order.material + " to the site", order_ref(loads, c), "", order_ref(haul_each, c),
                   order_ref(haul, c), count, haul_rate, "loads", order.haul_cost});
  }

  static void add_hours(const std::vector<std::string>& names, const std::vector<HourRate>& rates, BidKind kind,
                        const std::string& task, const std::map<std::string, Row>& rows, const Hours& hours,
                        std::vector<BidRow>& all) {
    for (const std::string& name : names) {
      for (const HourRate& rate : rates) {
        if (rate.name != name) continue;
        const std::string each = at({rows.at(name), 3});
        all.push_back({kind, fmt::format("{}, {}", name, task), hours.cell, "", each,
                       fmt::format("N({})*N({})", hours.cell, each), hours.value, rate.per_hour, "hours",
                       hours.value * rate.per_hour});
      }
    }
  }

  void write_lines(Row heading, const std::vector<BidRow>& lines) {
    bid_->head(heading, {"line", "quantity", "unit", "each", "amount", "kind"}, 1);
    Row row = heading + 1;
    for (const BidRow& line : lines) {
      bid_->put({row, 0}, line.name, CellLook::label);
      bid_->put_formula({row, 1}, line.quantity, line.quantity_value, CellLook::yards);
      line.unit.empty() ? bid_->put({row, 2}, line.unit_text, CellLook::text)
                        : bid_->put_formula({row, 2}, line.unit, line.unit_text, CellLook::text);
      bid_->put_formula({row, 3}, fmt::format("IF(ISNUMBER({0}),{0},\"\")", line.rate), line.rate_value,
                        CellLook::money);
      bid_->put_formula({row, 4}, line.amount, line.amount_value, CellLook::money);
      bid_->put({row++, 5}, to_text(line.kind), CellLook::text);
    }
  }

  // ---- what the price does not hold --------------------------------------------------------------------------------

  /// A thing that the price stands on: what it lacks, as a formula (empty where no cell can mend it) and as a text.
  struct Stand {
    std::string thing, formula, lacks;
  };

  /// What is said beside the price, as a formula and as a text.
  struct Mark {
    std::string formula, text;
  };

  /// A row for each thing, with nothing beside it where all is well.
  Mark write_gaps(Row& row, const std::map<std::string, Row>& items, const std::map<std::string, Row>& rates,
                  const std::vector<Hours>& hours) {
    std::vector<Stand> all;
    for (std::size_t i = 0; i < dug_.size(); ++i) all.push_back(stand_of(*dug_[i], soils_.first + static_cast<Row>(i)));
    for (std::size_t k = 0; k < e_.orders.size(); ++k)
      all.push_back(stand_of(e_.orders[k], static_cast<Column>(2 + k)));
    for (const auto& [name, item_row] : items) {
      if (name != "scarify") all.push_back({name, unless_number(at({item_row, 3}), "no price"), lacks_of(name)});
    }
    for (const auto& [name, rate_row] : rates) {
      if (is_hired(name)) all.push_back({name, unless_number(at({rate_row, 3}), "no rate an hour"), lacks_of(name)});
    }
    for (std::size_t i = 0; i < hours.size(); ++i) {
      const std::string thing = "task " + asked_.bid->tasks[i].name, lacks = lacks_of(thing);
      all.push_back({thing, lacks.empty() ? unless_number(hours[i].cell, "no hours") : "", lacks});
    }
    for (const std::string& gap : e_.missing) {  // what no cell can mend
      const bool is_there =
          std::any_of(all.begin(), all.end(), [&](const Stand& s) { return gap.starts_with(s.thing + ": "); });
      if (!is_there) all.push_back({"", "", gap});
    }
    return write_stands(row, all);
  }

  /// What is wrong, where a cell has no number.
  static std::string unless_number(const std::string& cell, const char* lacks) {
    return fmt::format("IF(ISNUMBER({}),\"\",\"{}\")", cell, lacks);
  }

  bool is_hired(const std::string& name) const {
    const auto has = [&](const std::vector<std::string>& names) {
      return std::find(names.begin(), names.end(), name) != names.end();
    };
    return std::any_of(asked_.bid->tasks.begin(), asked_.bid->tasks.end(),
                       [&](const Task& task) { return has(task.machines) || has(task.crew); });
  }

  Stand stand_of(const SiteSoil& soil, Row row) const {
    const auto cell = [&](Column column) { return soil_->ref({row, column}); };
    const std::string haul = fmt::format(
        "IF({}>0,IF(ISNUMBER({}),IF(ISNUMBER({}),\"\",\"truck \"&{}&\" has no haul_off_per_load\"),\"{}\"),\"\")",
        cell(11), cell(15), cell(16), cell(12), "no truck to haul it off");
    const std::string thing = "site soil " + soil.name;
    return {thing, fmt::format("IF(ISNUMBER({}),{},{}&\" has no swell\")", cell(3), haul, cell(1)), lacks_of(thing)};
  }

  /// In the words of geom/estimate.cpp.
  Stand stand_of(const MaterialOrder& order, Column c) const {
    const auto cell = [&](Line line) { return order_ref(line, c); };
    const Material* m = find_material(asked_.materials, order.material);
    const char* in_conflict = "its weights, swell and shrink disagree";
    const std::string conflict = fmt::format("IF({}=\"\",\"\",\"{}\")", cell(disagrees), in_conflict);
    std::string unknown = "\"no swell and shrink, or loose and compacted weight\"";
    if (m == nullptr) {
      unknown = fmt::format("IF(COUNTA({},{},{},{},{})=0,\"no [[material]] of that name\",{})",
                            order_.ref({swell, c}, {compacted_weight_of, c}), cell(price), cell(price_by), cell(truck),
                            cell(haul_each), unknown);
    }
    const std::string by = cell(price_by), priced = fmt::format("ISNUMBER({})", cell(price));
    const auto by_is = [&](PriceUnit unit) { return fmt::format("{}=\"{}\"", by, to_text(unit)); };
    const std::string price_lacks = fmt::format(
        "IF({},IF(OR({},{},{},{},{}),\"\",\"priced by what? {}\"),\"no price\")", priced, by_is(PriceUnit::ton),
        by_is(PriceUnit::tonne), by_is(PriceUnit::load), by_is(PriceUnit::loose_yard),
        by_is(PriceUnit::loose_cubic_metre), "ton, t, loose yd, loose m3 or load");
    const std::string weight_lacks =
        fmt::format("IF({}*NOT(ISNUMBER({}))*OR({},{}),\"priced by the \"&IF({},\"ton\",\"tonne\")&\"{}\",\"\")",
                    priced, cell(tons_a_yard), by_is(PriceUnit::ton), by_is(PriceUnit::tonne), by_is(PriceUnit::ton),
                    ", but has no unit weight");
    const std::string whole =
        fmt::format("{}=\"{}\"", order_.ref({charged_cell.row, 1}), to_text(Charged::whole_loads));
    const std::string loads_lack = fmt::format(
        "IF(ISNUMBER({}),\"\",IF(OR(AND({},OR({},{})),ISNUMBER({})),\"{}\",\"\"))", cell(loads), priced,
        by_is(PriceUnit::load), whole, cell(haul_each), "no truck, or one rated in tons only and no unit weight");
    const std::string bought_lacks = is_blend(order.material)
                                         ? "\"\""
                                         : fmt::format("IF(N({})>0.000000001,{},\"\")", cell(bought),
                                                       joined_formula({price_lacks, weight_lacks, loads_lack}));
    const std::string known = fmt::format("IF(ISNUMBER({}),{},{})", cell(needed), bought_lacks, unknown);
    const bool wrong = m != nullptr && check_material(*m).has_errors();
    return {order.material, joined_formula({conflict, known}),
            joined({wrong ? in_conflict : "", lacks_of(order.material)})};
  }

  Mark write_stands(Row& row, const std::vector<Stand>& all) {
    constexpr Column running = 6;  // the list so far
    bid_->head(row++, {"what the price stands on", "what it lacks (nothing, where nothing stands here)"});
    const Row first = row;
    std::string list;
    std::size_t lacking = 0;
    for (const Stand& stand : all) {
      bid_->put({row, 0}, stand.thing, CellLook::label);
      stand.formula.empty() ? bid_->put({row, 1}, stand.lacks, CellLook::warning)
                            : bid_->put_formula({row, 1}, stand.formula, stand.lacks, CellLook::warning);
      const std::string before = row == first ? "\"\"" : at({row - 1, running});
      const std::string lacks = at({row, 1}), thing = at({row, 0});
      const std::string told_here = stand.thing.empty() ? lacks : fmt::format("{}&\": \"&{}", thing, lacks);
      if (!stand.lacks.empty())
        list = joined({list, stand.thing.empty() ? stand.lacks : stand.thing + ": " + stand.lacks}), ++lacking;
      bid_->put_formula({row, running},
                        fmt::format("{0}&IF({1}=\"\",\"\",IF({0}=\"\",\"\",\"; \")&{2})", before, lacks, told_here),
                        list, CellLook::note);
      ++row;
    }
    bid_->hide(running);
    if (all.empty()) return {"\"\"", ""};
    const std::string count = fmt::format("SUMPRODUCT((LEN({})>0)*1)", at({first, 1}, {row - 1, 1}));
    return {fmt::format("IF({0}=0,\"\",\"INCOMPLETE: \"&{0}&IF({0}=1,\" thing\",\" things\")&\": \"&{1})", count,
                        at({row - 1, running})),
            lacking == 0 ? "" : fmt::format("INCOMPLETE: {} thing{}: {}", lacking, lacking == 1 ? "" : "s", list)};
  }

  struct Lines {
    Row heading;
    std::size_t count;
  };

  void write_sums(Row row, const Lines& lines, const Mark& mark) {
    const BidSheet& bid = *e_.bid;
    const std::size_t count = lines.count;
    const Row first = lines.heading + 1, last = lines.heading + static_cast<Row>(count);
    const Row top = row;
    const auto line = [&](const char* label, const std::string& formula, double value, bool strong) {
      bid_->put({row, 0}, label, strong ? CellLook::total_label : CellLook::label);
      for (const Column column : {1, 2, 3}) {
        if (strong) bid_->put({row, column}, "", CellLook::total_label);
      }
      bid_->put_formula({row, 4}, formula, value, strong ? CellLook::total_money : CellLook::money);
      return at({row++, 4});
    };
    const auto kind = [&](BidKind of, double value) {
      const std::string sum = count == 0 ? "0"
                                         : fmt::format("SUMIF({},\"{}\",{})", at({first, 5}, {last, 5}), to_text(of),
                                                       at({first, 4}, {last, 4}));
      line(to_text(of), sum, value, false);
    };
    kind(BidKind::material, bid.material);
    kind(BidKind::item, bid.items);
    kind(BidKind::haul, bid.haul);
    kind(BidKind::machine, bid.machine);
    kind(BidKind::labour, bid.labour);
    const std::string direct =
        line("direct cost", fmt::format("SUM({})", at({top, 4}, {row - 1, 4})), bid.direct, true);
    bid_->put({row, 3}, asked_.bid->overhead, CellLook::percent_input);
    const std::string overhead = line("overhead, of the direct cost", at({row, 3}) + "*" + direct, bid.overhead, false);
    bid_->put({row, 3}, asked_.bid->margin, CellLook::percent_input);
    const Row margin_row = row;
    const std::string total_cell = at({row + 1, 4});
    line("margin, of the price", fmt::format("{}-{}-{}", total_cell, direct, overhead), bid.margin, false);
    line("price", fmt::format("({}+{})/(1-{})", direct, overhead, at({margin_row, 3})), bid.total, true);
    bid_->put_formula({row - 1, 5}, mark.formula, mark.text, CellLook::warning);
    line(bulk_.metric ? "a cubic meter of fill in place" : "a cubic yard of fill in place",
         fmt::format("IF({0}>0,{1}/{0},0)", fill_cell_, total_cell), bid.per_yard / bulk_.of_yard, false);
    bid_->put_formula({row - 1, 5}, at({row - 2, 5}), mark.text, CellLook::warning);
  }

  // ---- accuracy ----------------------------------------------------------------------------------------------------

  void write_accuracy() {
    Sheet& sheet = *accuracy_;
    const Accuracy& a = *e_.accuracy;
    sheet.put({0, 0}, r_.job.site.title + ": plus or minus", CellLook::title);
    sheet.put(
        {1, 0},
        fmt::format("One standard deviation, from shots good to {:g} {} each and {:g} {} common to all. How far the "
                    "ground strays between shots is not in it.",
                    a.shots.random, unit(), a.shots.systematic, unit()),
        CellLook::note);
    std::vector<std::string> head = {"", "item", by_volume("random"), by_volume("systematic"), by_volume("both")};
    if (a.bottom_rise) {
      sheet.put({2, 0},
                fmt::format(
                    "The bed follows the highest of many shots, and errors of that size raise it {:.2f} {} on average: "
                    "expect the rise more. It is in no other figure.",
                    *a.bottom_rise, unit()),
                CellLook::note);
      head.push_back(by_volume("rise"));
    }
    sheet.head(3, head);
    Row row = 4;
    const auto add = [&](const char* kind, const PlusOrMinus& band) {
      sheet.put({row, 0}, kind, CellLook::label);
      sheet.put({row, 1}, band.name, CellLook::text);
      sheet.put({row, 2}, told(band.random_cy), CellLook::yards);
      sheet.put({row, 3}, told(band.systematic_cy), CellLook::yards);
      sheet.put_formula({row, 4}, fmt::format("SQRT(SUMSQ({}))", at({row, 2}, {row, 3})), told(band.both_cy()),
                        CellLook::yards);
      if (a.bottom_rise) sheet.put({row, 5}, told(band.rise_cy), CellLook::yards);
      ++row;
    };
    for (const PlusOrMinus& band : a.fill) add("fill", band);
    for (const PlusOrMinus& band : a.cut) add("cut", band);
    add("total fill", a.total_fill);
    add("total cut", a.total_cut);
    ++row;
    sheet.head(row++, {"", "shots that would help most", "northing", "easting", by_volume("random of the fill then")});
    for (const ShotAdvice& shot : a.more_shots) {
      sheet.put({row, 1}, shot.shots.size() == 1 ? "shoot again" : "a new shot", CellLook::text);
      sheet.put({row, 2}, shot.at.y(), CellLook::length);
      sheet.put({row, 3}, shot.at.x(), CellLook::length);
      sheet.put({row++, 4}, told(shot.random_after_cy), CellLook::yards);
    }
    sheet.widths({11, 26, 16, 16, 16, 16});
  }
};

}  // namespace

std::string quantities_xlsx(const SiteResults& results) { return Writer(results).run(); }

}  // namespace moundwright::io

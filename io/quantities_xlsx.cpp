#include "io/quantities_xlsx.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "io/workbook.h"

namespace moundwright {
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

std::string sum_of(const std::vector<std::string>& cells) {
  return cells.empty() ? "0" : fmt::format("{}", fmt::join(cells, "+"));
}

/// A list with a heading of columns.
struct Table {
  Row first = 0, last = 0;  // of its rows; none where last < first
  bool is_empty() const { return last + 1 == first; }
};

const SiteSoil* asked_soil(const EstimatePlan& plan, const std::string& name) {
  const auto found = std::find_if(plan.site_soil.begin(), plan.site_soil.end(),
                                  [&](const SiteSoil& soil) { return soil.name == name; });
  return found == plan.site_soil.end() ? nullptr : &*found;
}

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
    if (!e_.site_soil.empty()) soil_ = &book_.add("Site soil");
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

  const BulkUnits& bulk_ = bulk_units(r_.job.site.unit);

  const char* unit() const { return symbol(r_.job.site.unit); }

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
    takeoff_.put({0, 0}, r_.job.site.title + ": takeoff", Look::title);
    takeoff_.put({1, 0}, "In place, by neat lines, on the surveyed ground: no swell, shrink or waste.", Look::note);
    takeoff_.head(3, {"", "item", "material", by_volume("volume"), by_volume("by average end area"), "plan area" + area,
                      "least thickness" + length, "greatest thickness" + length});
    Row row = 4;
    const auto add = [&](const TakeoffItem& item, const char* kind, bool is_fill) {
      takeoff_.put({row, 0}, kind, Look::label);
      takeoff_.put({row, 1}, item.name, Look::text);
      takeoff_.put({row, 2}, item.material, Look::text);
      takeoff_.put({row, 3}, told(item.volume_cy), Look::yards);
      yards_cell_[item.name] = takeoff_.ref({row, 3});
      takeoff_.put({row, 5}, item.plan_area, Look::area);
      if (is_fill) {
        takeoff_.put({row, 4}, told(item.end_area_cy), Look::yards);
        takeoff_.put({row, 6}, item.thickness_least, Look::length);
        takeoff_.put({row, 7}, item.thickness_most, Look::length);
      }
      ++row;
    };
    for (const TakeoffItem& item : r_.takeoff.fill) add(item, "fill", true);
    total_row(row++, "total fill", 4, r_.takeoff.fill.size(), told(r_.takeoff.fill_cy),
              told(r_.takeoff.end_area_fill_cy), true);
    fill_cell_ = takeoff_.ref({row - 1, 3});
    const Row first_cut = row;
    for (const TakeoffItem& item : r_.takeoff.cut) add(item, "cut", false);
    total_row(row++, "total cut", first_cut, r_.takeoff.cut.size(), told(r_.takeoff.cut_cy),
              told(r_.takeoff.end_area_cut_cy), false);
    if (r_.takeoff.scarify_area > 0) {
      takeoff_.put({row, 0}, "area", Look::label);
      takeoff_.put({row, 1}, "scarify", Look::text);
      takeoff_.put({row++, 5}, r_.takeoff.scarify_area, Look::area);
    }
    if (r_.takeoff.on_assumed) {
      takeoff_.put({row, 0}, "area", Look::label);
      takeoff_.put({row, 1}, "on assumed ground", Look::text);
      takeoff_.put({row++, 5}, r_.takeoff.on_assumed->area, Look::area);
      takeoff_.put(
          {row++, 0},
          fmt::format("Not surveyed: {}; {}.", to_text(*r_.takeoff.on_assumed, r_.job.site.unit), shoot_assumed_ground),
          Look::note);
    }
    ++row;
    takeoff_.put({row, 0},
                 fmt::format("Average end areas: {} sections, {:g} {} apart, as a check; the volume is exact.",
                             r_.takeoff.end_area_sections, r_.takeoff.end_area_interval, unit()),
                 Look::note);
    takeoff_.widths({9, 18, 22, 12, 14, 14, 14, 14});
    takeoff_.freeze({4, 0});
  }

  void total_row(Row row, const char* label, Row first, std::size_t count, double volume, double end_area,
                 bool is_sum) {
    takeoff_.put({row, 0}, label, Look::total_label);
    for (const Column column : {1, 2}) takeoff_.put({row, column}, "", Look::total_label);
    const Row last = first + static_cast<Row>(count) - 1;
    const auto sum = [&](Column column, double value) {
      if (count == 0) return takeoff_.put({row, column}, value, Look::total_yards);
      takeoff_.put_formula({row, column}, fmt::format("SUM({})", at({first, column}, {last, column})), value,
                           Look::total_yards);
    };
    sum(3, volume);
    is_sum ? sum(4, end_area) : takeoff_.put({row, 4}, end_area, Look::total_yards);
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
    factor,
    for_layers,
    waste,
    for_blends,
    needed,
    from_site,
    mixed,
    bought,
    tons_a_yard,
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
    balance_ = place(e_.balance.size());
    soils_ = {3, static_cast<Row>(2 + e_.site_soil.size())};
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
    order_.put({0, 0}, r_.job.site.title + ": order", Look::title);
    order_.put({1, 0}, "Change what is on yellow ground; the rest, and the bid, follow.", Look::note);
    order_.put(charged_cell, "material is charged", Look::label);
    order_.put({charged_cell.row, 1}, to_text(asked_.bid ? asked_.bid->charged : Charged::as_ordered),
               Look::text_input);
    order_.put({charged_cell.row, 2}, "as ordered, or whole loads: by what the trucks bring", Look::note);
    order_.put({names, 0}, "material", Look::header);
    order_.put({names, 1}, "", Look::header);
    for (std::size_t k = 0; k < e_.orders.size(); ++k) write_material(e_.orders[k], static_cast<Column>(2 + k));
    write_order_labels();
    write_trucks();
    write_blends();
    write_balance();
    order_.widths({36, 14});
    for (std::size_t k = 0; k < e_.orders.size(); ++k) order_.widths({16}, static_cast<Column>(2 + k));
    order_.freeze({names + 1, 2});
  }

  void write_order_labels() {
    const std::string volume = bulk_.volume, loose = volume + " loose", weight = bulk_.weight, density = bulk_.density;
    const auto label = [&](Line line, const char* text, const std::string& unit_text) {
      const bool strong = line == needed || line == bought || line == cost;
      order_.put({line, 0}, text, strong ? Look::total_label : Look::label);
      order_.put({line, 1}, unit_text, strong ? Look::total_label : Look::note);
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
    label(factor, "loose volume to one in place", "");
    label(for_layers, "for the layers", loose);
    label(waste, "waste", loose);
    label(for_blends, "into blends", loose);
    label(needed, "needed", loose);
    label(from_site, "from the site", loose);
    label(mixed, "mixed on the site", loose);
    label(bought, "to buy", loose);
    label(tons_a_yard, "weight as delivered", weight + "/" + loose);
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
    const auto put = [&](Line line, const std::string& formula, const std::optional<double>& value, Look look) {
      order_.put_formula({line, c}, formula, value, look);
    };
    order_.put({names, c}, order.material, Look::header);
    order_.put({layers, c}, fmt::format("{}", fmt::join(order.layers, ", ")), Look::text);
    std::vector<std::string> neat;
    for (const std::string& layer : order.layers) neat.push_back(yards_cell_.at(layer));
    put(in_place, sum_of(neat), told(order.in_place.cy), Look::yards);
    put(interface, interface_of(order.material), told(order.interface.cy), Look::yards);
    order_.put({swell, c}, given.swell, Look::percent_input);
    order_.put({shrink, c}, given.shrink, Look::percent_input);
    order_.put({loose_weight_of, c}, told_density(given.loose_weight), Look::number_input);
    order_.put({bank_weight, c}, told_density(given.bank_weight), Look::number_input);
    order_.put({compacted_weight_of, c}, told_density(given.compacted_weight), Look::number_input);
    order_.put({moisture, c}, given.moisture, Look::percent_input);
    order_.put({waste_part, c}, given.waste, Look::percent_input);
    put(factor,
        fmt::format("IF(ISNUMBER({0})*ISNUMBER({1}),(1+{0})/(1-{1}),{2})", cell(swell), cell(shrink),
                    where_known(cell(compacted_weight_of) + "/" + cell(loose_weight_of), cell(compacted_weight_of),
                                cell(loose_weight_of))),
        loose_per_compacted(given), Look::factor);
    write_needed(order, given, c);
    write_bought(order, given, c);
    write_loads(order, given, c);
    write_cost(order, given, c);
  }

  std::string interface_of(const std::string& material) const {
    if (lifts_ == nullptr || interface_.is_empty()) return "0";
    return fmt::format("SUMIF({},\"{}\",{})", lifts_->ref({interface_.first, 1}, {interface_.last, 1}),
                       quoted(material), lifts_->ref({interface_.first, 3}, {interface_.last, 3}));
  }

  /// A text inside a formula.
  static std::string quoted(const std::string& text) {
    std::string doubled;
    for (const char c : text) doubled += c == '"' ? "\"\"" : std::string(1, c);
    return doubled;
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
        if_known(order.for_layers.cy), Look::yards);
    order_.put_formula({waste, c},
                       where_known(fmt::format("{}*{}", cell(waste_part), cell(for_layers)), cell(for_layers)),
                       if_known(order.waste.cy), Look::yards);
    const bool taken = !blends_.is_empty();
    order_.put_formula({for_blends, c},
                       taken ? fmt::format("SUMIF({},\"{}\",{})", at({blends_.first, 1}, {blends_.last, 1}),
                                           quoted(order.material), at({blends_.first, 4}, {blends_.last, 4}))
                             : "0",
                       told(order.for_blends.cy), Look::yards);
    const std::string all = fmt::format("{}+{}+{}", cell(for_layers), cell(waste), cell(for_blends));
    std::optional<double> value;
    if (order.needed) value = told(order.needed->cy);
    order_.put_formula({needed, c}, order.layers.empty() ? cell(for_blends) : where_known(all, cell(for_layers)), value,
                       Look::total_yards);
  }

  void write_bought(const MaterialOrder& order, const Material& given, Column c) {
    const auto cell = [&](Line line) { return at({line, c}); };
    const auto if_needed = [&](double value) { return order.needed ? std::optional(told(value)) : std::nullopt; };
    order_.put_formula({from_site, c},
                       soil_ == nullptr
                           ? "0"
                           : fmt::format("SUMIF({},\"{}\",{})", soil_->ref({soils_.first, 1}, {soils_.last, 1}),
                                         quoted(order.material), soil_->ref({soils_.first, 9}, {soils_.last, 9})),
                       told(order.from_site.cy), Look::yards);
    order_.put_formula({mixed, c}, is_blend(order.material) ? cell(needed) : "0",
                       is_blend(order.material) ? if_needed(order.mixed.cy) : 0, Look::yards);
    order_.put_formula(
        {bought, c},
        where_known(fmt::format("MAX(0,{}-{}-{})", cell(needed), cell(from_site), cell(mixed)), cell(needed)),
        if_needed(order.bought.cy), Look::total_yards);
    const std::string weight = fmt::format(
        "IF(ISNUMBER({0})*ISNUMBER({1}),{0}/{1},IF(ISNUMBER({2}),{2},{3}))", cell(compacted_weight_of), cell(factor),
        cell(loose_weight_of),
        where_known(fmt::format("{}/(1+{})", cell(bank_weight), cell(swell)), cell(bank_weight), cell(swell)));
    const std::optional<double> one = told_weight_of_one(given);
    order_.put_formula({tons_a_yard, c},
                       fmt::format("IFERROR({}*(1+{})/{:.0f},\"\")", weight, cell(moisture), bulk_.weight_of), one,
                       Look::factor);
    std::optional<double> value;
    if (one && order.needed) value = told(order.bought.cy) * *one;
    order_.put_formula(
        {tons, c}, where_known(fmt::format("{}*{}", cell(bought), cell(tons_a_yard)), cell(bought), cell(tons_a_yard)),
        value, Look::yards);
  }

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
    order_.put({truck, c}, given.truck, Look::text_input);
    std::optional<double> holds_tons, holds_yards;
    if (its != nullptr) {
      holds_tons = told_tons(its->tons);
      if (its->yards) holds_yards = told(its->yards->cy);
    }
    order_.put_formula({truck_tons, c}, truck_lookup(cell(truck), 1), holds_tons, Look::yards);
    order_.put_formula({truck_yards, c}, truck_lookup(cell(truck), 2), holds_yards, Look::yards);
    order_.put_formula({each_load, c}, load_of(cell(truck_tons), cell(truck_yards), cell(tons_a_yard)), one_load,
                       Look::yards);
    order_.put_formula({loads, c}, loads_of(cell(bought), cell(each_load)), count, Look::whole);
    order_.put_formula({last_load, c},
                       fmt::format("IF(N({0})>0,{1}-{2}*({0}-1),\"\")", cell(loads), cell(bought), cell(each_load)),
                       last, Look::yards);
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
                       all.count ? if_needed(bring - told(order.bought.cy)) : std::nullopt, Look::yards);
    order_.put_formula({charged_volume, c},
                       where_known(fmt::format("{}+IF({}=\"{}\",N({}),0)", cell(bought), at({charged_cell.row, 1}),
                                               to_text(Charged::whole_loads), cell(left_over)),
                                   cell(bought)),
                       if_needed(whole ? bring : told(order.bought.cy)), Look::yards);
    const std::optional<double> one = told_weight_of_one(given);
    order_.put_formula({charged_weight, c},
                       where_known(fmt::format("{}*{}", cell(charged_volume), cell(tons_a_yard)), cell(charged_volume),
                                   cell(tons_a_yard)),
                       one ? if_needed((whole ? bring : told(order.bought.cy)) * *one) : std::nullopt, Look::yards);
  }

  /// What a price by `by` is of: told weight, told volume, loads.
  std::string counted(const std::string& by, const std::string& weight, const std::string& volume,
                      const std::string& count) const {
    const auto of = [](const std::string& cell, double factor) {
      return factor == 1 ? cell : fmt::format("N({})*{}", cell, factor);
    };
    const struct {
      PriceUnit unit;
      std::string quantity;
    } forms[] = {{PriceUnit::ton, of(weight, 1 / bulk_.of_ton)},
                 {PriceUnit::tonne, of(weight, tonnes_per_ton / bulk_.of_ton)},
                 {PriceUnit::load, count},
                 {bulk_.metric ? PriceUnit::loose_yard : PriceUnit::loose_cubic_metre,
                  of(volume, bulk_.metric ? 1 / bulk_.of_yard : cubic_metres_per_yard)}};
    std::string formula, close;
    for (const auto& [unit, quantity] : forms) {
      formula += fmt::format("IF({}=\"{}\",{},", by, to_text(unit), quantity);
      close += ")";
    }
    return formula + volume + close;
  }

  void write_cost(const MaterialOrder& order, const Material& given, Column c) {
    const auto cell = [&](Line line) { return at({line, c}); };
    std::optional<double> amount;
    if (given.price) amount = given.price->amount;
    order_.put({price, c}, amount, Look::money_input);
    order_.put({price_by, c}, given.price ? to_text(given.price->unit) : "", Look::text_input);
    const auto number = [&](Line line) { return fmt::format("N({})", cell(line)); };
    order_.put_formula(
        {cost, c},
        fmt::format("N({})*{}", cell(price),
                    counted(cell(price_by), number(charged_weight), number(charged_volume), number(loads))),
        order.cost, Look::total_money);
    order_.put({haul_each, c}, given.haul_per_load, Look::money_input);
    order_.put_formula({haul, c}, fmt::format("N({})*N({})", cell(haul_each), cell(loads)), order.haul_cost,
                       Look::money);
  }

  void write_trucks() {
    order_.head(trucks_.first - 1, {"trucks", bulk_.weight, fmt::format("{} loose", bulk_.volume), "haul off, a load"});
    for (Row row = trucks_.first; row <= trucks_.last; ++row) {
      const std::size_t i = row - trucks_.first;
      const Truck its = i < asked_.trucks.size() ? asked_.trucks[i] : Truck{};
      order_.put({row, 0}, its.name, Look::text_input);
      order_.put({row, 1}, told_tons(its.tons), Look::number_input);
      order_.put({row, 2}, its.yards ? std::optional(told(its.yards->cy)) : std::nullopt, Look::number_input);
      order_.put({row, 3}, its.haul_off_per_load, Look::money_input);
    }
  }

  void write_blends() {
    if (blends_.is_empty()) return;
    order_.head(blends_.first - 1, {"blends, by loose volume", "of", "parts", "lost in mixing", by_loose("taken")});
    Row row = blends_.first;
    for (const Blend& blend : e_.blends) {
      const Row first = row, last = row + static_cast<Row>(blend.parts.size()) - 1;
      for (const BlendPart& part : blend.parts) {
        order_.put({row, 0}, blend.material, Look::label);
        order_.put({row, 1}, part.material, Look::text);
        order_.put({row, 2}, part.parts, Look::number_input);
        row == first ? order_.put({row, 3}, blend.mixing_shrink, Look::percent_input)
                     : order_.put_formula({row, 3}, at({first, 3}), blend.mixing_shrink, Look::percent);
        const auto made = column_of(blend.material);
        const MaterialOrder* order = made ? &e_.orders[*made - 2U] : nullptr;
        const double whole = order != nullptr ? told(order->mixed.cy) : 0;
        double all = 0;
        for (const BlendPart& each : blend.parts) all += each.parts;
        order_.put_formula({row, 4},
                           made ? fmt::format("N({})*{}/SUM({})/(1-{})", at({needed, *made}), at({row, 2}),
                                              at({first, 2}, {last, 2}), at({row, 3}))
                                : "0",
                           whole * part.parts / all / (1 - blend.mixing_shrink), Look::yards);
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
    for (const BalanceLine& line : e_.balance) {
      const Column c = column_of(line.material).value();
      const auto number = [&](Line from) { return fmt::format("N({})", at({from, c})); };
      order_.put({row, 0}, line.material, Look::label);
      const std::tuple<Column, std::string, LooseYards> cells[] = {
          {1, number(from_site), line.from_site},
          {2, number(charged_volume), line.bought},
          {3, number(mixed), line.blended_in},
          {4, number(for_layers), line.in_place},
          {5, number(waste), line.waste},
          {6, number(for_blends), line.into_blends},
          {7, fmt::format("{}-{}", number(charged_volume), number(bought)), line.left_over}};
      for (const auto& [column, formula, value] : cells) {
        order_.put_formula({row, column}, formula, told(value.cy), Look::yards);
      }
      order_.put_formula({row, 8},
                         fmt::format("ROUND(SUM({})-SUM({}),6)", at({row, 1}, {row, 3}), at({row, 4}, {row, 7})), 0.0,
                         Look::yards);
      ++row;
    }
  }

  // ---- site soil ---------------------------------------------------------------------------------------------------

  void write_soil() {
    Sheet& sheet = *soil_;
    sheet.put({0, 0}, r_.job.site.title + ": soil the site has", Look::title);
    sheet.head(
        2,
        {"source", "material", by_volume("bank"), "loose to one bank", by_volume("loose"), "lost to roots and handling",
         by_volume("lost"), "goes to", by_loose("wanted"), by_loose("used"), by_loose("spread"), by_loose("hauled off"),
         "truck", fmt::format("{} a loose {}", bulk_.weight, bulk_.volume), by_loose("a load is"), "loads",
         "haul off, a load", "haul cost"},
        4);
    for (std::size_t i = 0; i < e_.site_soil.size(); ++i)
      write_soil(e_.site_soil[i], soils_.first + static_cast<Row>(i));
    sheet.widths({26, 16, 10, 10, 10, 10, 10, 12, 10, 10, 10, 10, 14, 10, 10, 8, 12, 12});
    sheet.freeze({3, 1});
  }

  void write_soil(const SiteSoilResult& soil, Row row) {
    Sheet& sheet = *soil_;
    const SiteSoil* asked = asked_soil(asked_, soil.name);
    const Material* m = find_material(asked_.materials, soil.material);
    if (asked == nullptr || m == nullptr) return;
    const auto cell = [&](Column column) { return at({row, column}); };
    sheet.put({row, 0}, soil.name, Look::label);
    sheet.put({row, 1}, soil.material, Look::text);
    const auto cut = yards_cell_.find(asked->from);
    asked->bank || cut == yards_cell_.end() ? sheet.put({row, 2}, told(soil.bank.cy), Look::yards_input)
                                            : sheet.put_formula({row, 2}, cut->second, told(soil.bank.cy), Look::yards);
    const auto column = column_of(soil.material);
    column && m->swell
        ? sheet.put_formula({row, 3}, fmt::format("1+{}", order_ref(swell, *column)), loose_per_bank(*m), Look::factor)
        : sheet.put({row, 3}, loose_per_bank(*m), Look::number_input);
    sheet.put_formula({row, 4}, cell(2) + "*" + cell(3), told(soil.loose.cy), Look::yards);
    sheet.put({row, 5}, asked->loss, Look::percent_input);
    sheet.put_formula({row, 6}, cell(4) + "*" + cell(5), told(soil.lost.cy), Look::yards);
    const bool used = asked->goes == SoilGoes::use;
    const SoilGoes rest = used ? asked->surplus : asked->goes;
    sheet.put({row, 7}, used ? fmt::format("the mound, rest {}", to_text(rest)) : to_text(rest), Look::text);
    const bool wanted = used && column && e_.orders[*column - 2U].needed && !is_blend(soil.material);
    write_soil_use(soil, row, wanted ? column : std::nullopt);
    const std::string left = fmt::format("{}-{}-{}", cell(4), cell(6), cell(9));
    sheet.put_formula({row, 10}, rest == SoilGoes::spread ? left : "0", told(soil.spread.cy), Look::yards);
    sheet.put_formula({row, 11}, rest == SoilGoes::spread ? "0" : left, told(soil.hauled.cy), Look::yards);
    write_soil_haul(soil, *asked, *m, row);
  }

  void write_soil_use(const SiteSoilResult& soil, Row row, const std::optional<Column>& column) {
    Sheet& sheet = *soil_;
    double before = 0;
    for (std::size_t i = 0; i < row - soils_.first; ++i) {
      if (e_.site_soil[i].material == soil.material) before += e_.site_soil[i].used.cy;
    }
    std::string formula = "0";
    double value = 0;
    if (column) {
      formula = fmt::format("N({})", order_ref(needed, *column));
      if (row > soils_.first) {
        formula += fmt::format("-SUMIF({},{},{})", at({soils_.first, 1}, {row - 1, 1}), at({row, 1}),
                               at({soils_.first, 9}, {row - 1, 9}));
      }
      value = told(e_.orders[*column - 2U].needed->cy - before);
    }
    sheet.put_formula({row, 8}, formula, value, Look::yards);
    sheet.put_formula({row, 9}, fmt::format("MAX(0,MIN({}-{},{}))", at({row, 4}), at({row, 6}), at({row, 8})),
                      told(soil.used.cy), Look::yards);
  }

  void write_soil_haul(const SiteSoilResult& soil, const SiteSoil& asked, const Material& m, Row row) {
    Sheet& sheet = *soil_;
    const auto cell = [&](Column column) { return at({row, column}); };
    const Truck* its = find_truck(asked_.trucks, asked.truck.empty() ? m.truck : asked.truck);
    const auto column = column_of(soil.material);
    const std::optional<double> weight = told_weight_of_one(m);
    sheet.put({row, 12}, its != nullptr ? its->name : "", Look::text_input);
    column ? sheet.put_formula({row, 13}, order_ref(tons_a_yard, *column), weight, Look::factor)
           : sheet.put({row, 13}, weight, Look::number_input);
    std::optional<double> each, count, per_load;
    if (its != nullptr) {
      if (const auto any = loads_for(m, *its, LooseYards{1})) each = told(any->each.cy);
      per_load = its->haul_off_per_load;
    }
    if (each) count = soil.loads ? soil.loads->count : 0;
    sheet.put_formula({row, 14}, load_of(truck_lookup(cell(12), 1), truck_lookup(cell(12), 2), cell(13)), each,
                      Look::yards);
    sheet.put_formula({row, 15}, loads_of(cell(11), cell(14)), count, Look::whole);
    sheet.put_formula({row, 16}, truck_lookup(cell(12), 3), per_load, Look::money);
    sheet.put_formula({row, 17}, fmt::format("N({})*N({})", cell(15), cell(16)), soil.haul_cost, Look::money);
  }

  // ---- lifts and deliveries
  // ------------------------------------------------------------------------------------------

  void write_lifts() {
    Sheet& sheet = *lifts_;
    sheet.put({0, 0}, fmt::format("{}: by lift of {:g} {}", r_.job.site.title, e_.lifts->depth, unit()), Look::title);
    sheet.head(2,
               {"lift", "material", "layer", by_volume("in place"), by_volume("lost at faces"),
                by_volume("pressed into ground"), by_volume("placed") + " in place", "from elevation", "to elevation"});
    Row row = 3;
    std::map<std::string, std::string> placed;  // cell with the yards of a stage of the work, by its name
    for (const Lift& lift : e_.lifts->lifts) {
      for (const LiftPart& part : lift.parts) {
        sheet.put({row, 0}, lift.number, Look::whole);
        sheet.put({row, 1}, part.material, Look::text);
        sheet.put({row, 2}, part.layer, Look::text);
        sheet.put({row, 3}, told(part.in_place.cy), Look::yards);
        sheet.put({row, 4}, told(part.face.cy), Look::yards);
        sheet.put({row, 5}, told(part.pressed.cy), Look::yards);
        sheet.put_formula({row, 6}, fmt::format("SUM({})", at({row, 3}, {row, 5})), told(part.placed().cy),
                          Look::yards);
        sheet.put({row, 7}, lift.bottom, Look::length);
        sheet.put({row, 8}, lift.top, Look::length);
        placed[fmt::format("lift {}, {}", lift.number, part.layer)] = at({row, 6});
        ++row;
      }
    }
    sheet.head(interface_.first - 1, {"layer", "material", "what", fmt::format("{} in place", bulk_.volume),
                                      fmt::format("area, sq {}", unit())});
    for (std::size_t i = 0; i < e_.interface.size(); ++i) {
      const InterfaceLine& line = e_.interface[i];
      const Row at_row = interface_.first + static_cast<Row>(i);
      sheet.put({at_row, 0}, line.layer, Look::text);
      sheet.put({at_row, 1}, line.material, Look::text);
      sheet.put({at_row, 2}, line.what, Look::text);
      sheet.put({at_row, 3}, told(line.in_place.cy), Look::yards);
      sheet.put({at_row, 4}, line.area, Look::area);
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
    const Row first = heading + 1;
    Row row = first;
    auto delivery = e_.deliveries.begin();
    std::map<std::string, std::pair<double, int>> stock;
    const auto add_items = [&] {
      for (; delivery != e_.deliveries.end() && !delivery->other.empty(); ++delivery, ++row) {
        sheet.put({row, 0}, delivery->stage, Look::label);
        sheet.put({row, 1}, delivery->material, Look::text);
        sheet.put({row, 2}, delivery->other, Look::text);
      }
    };
    const auto add = [&](const std::string& yards) {
      add_items();
      if (delivery == e_.deliveries.end()) return;
      const auto column = column_of(delivery->material);
      if (!column) return;
      auto& [so_far, called] = stock[delivery->material];
      so_far += told(delivery->loose.cy), called += delivery->loads;
      write_delivery(*delivery++, {yards, first, row, *column}, so_far, called);
      ++row;
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
    Row first, row;
    Column material;  // on the order
  };

  void write_delivery(const Delivery& delivery, const DeliveryPlace& place, double so_far, int called) {
    Sheet& sheet = *lifts_;
    const Row row = place.row;
    const auto before = [&](Column column) {
      return row == place.first ? std::string("0")
                                : fmt::format("SUMIF({},{},{})", at({place.first, 1}, {row - 1, 1}), at({row, 1}),
                                              at({place.first, column}, {row - 1, column}));
    };
    sheet.put({row, 0}, delivery.stage, Look::label);
    sheet.put({row, 1}, delivery.material, Look::text);
    sheet.put_formula({row, 3}, place.yards, told(delivery.loose.cy), Look::yards);
    sheet.put_formula({row, 4}, fmt::format("{}+{}", before(3), at({row, 3})), so_far, Look::yards);
    const std::string count = order_ref(loads, place.material), each = order_ref(each_load, place.material);
    sheet.put_formula({row, 5},
                      fmt::format("IF(ISNUMBER({0}),MIN({0},ROUNDUP(MAX(0,({1}-{2})/{3}-0.000000001),0)),0)", count,
                                  at({row, 4}), order_ref(from_site, place.material), each),
                      called, Look::whole);
    sheet.put_formula({row, 6}, fmt::format("{}-{}", at({row, 5}), before(6)), delivery.loads, Look::whole);
    const auto some = [&](int number) { return delivery.loads > 0 ? std::optional<double>(number) : std::nullopt; };
    sheet.put_formula({row, 7}, fmt::format("IF({0}>0,{1}-{0}+1,\"\")", at({row, 6}), at({row, 5})),
                      some(delivery.first_load), Look::whole);
    sheet.put_formula({row, 8}, fmt::format("IF({0}>0,{1},\"\")", at({row, 6}), at({row, 5})), some(delivery.last_load),
                      Look::whole);
  }

  // ---- bid ---------------------------------------------------------------------------------------------------------

  struct Hours {
    std::string cell;
    double value;
  };

  void write_bid() {
    Sheet& sheet = *bid_;
    sheet.put({0, 0}, r_.job.site.title + ": bid", Look::title);
    sheet.put({1, 0}, "Change what is on yellow ground, here or on Order; the total follows.", Look::note);
    // The sums and lines stand above what they name: items, rates and tasks.
    const Row sums = 3, lines = sums + 13;
    Row row = lines + 1 + static_cast<Row>(count_lines()) + 2;
    const auto items = write_items(row);
    const auto rates = write_rates(row);
    const auto hours = write_tasks(row);
    const std::vector<BidRow> all = lines_of(items, rates, hours);
    write_lines(lines, all);
    write_sums(sums, lines, all.size());
    if (!e_.missing.empty()) {
      sheet.put({row++, 0}, "What a full bid still wants", Look::header);
      for (const std::string& gap : e_.missing) sheet.put({row++, 0}, gap, Look::text);
    }
    sheet.widths({36, 14, 12, 14, 14, 40});
  }

  /// Area items: as bought, and the price of one.
  std::map<std::string, Row> write_items(Row& row) {
    std::map<std::string, Row> rows;
    bid_->head(row++, {"items by area and length", "as bought", "", "each", "measured", "how it was reckoned"});
    for (const AreaItem& item : e_.areas.items) {
      bid_->put({row, 0}, item.name, Look::label);
      bid_->put({row, 1}, item.order, Look::yards_input);
      bid_->put({row, 2}, item.order_unit, Look::text);
      const std::optional<double> each =
          item.price && item.order > 0 ? std::optional(item.cost / item.order) : std::nullopt;
      bid_->put({row, 3}, each, Look::money_input);
      bid_->put({row, 4}, item.quantity, Look::area);
      bid_->put({row, 5}, fmt::format("{}; measured in {}", item.note, item.unit), Look::text);
      area_cell_[item.name] = at({row, 4});
      rows[item.name] = row++;
    }
    ++row;
    return rows;
  }

  std::map<std::string, Row> write_rates(Row& row) {
    std::map<std::string, Row> rows;
    bid_->head(row++, {"machines and workers", "", "", "an hour"});
    for (const auto* rates : {&asked_.bid->machines, &asked_.bid->workers}) {
      for (const HourRate& rate : *rates) {
        bid_->put({row, 0}, rate.name, Look::label);
        bid_->put({row, 3}, rate.per_hour, Look::money_input);
        rows.emplace(rate.name, row++);
      }
    }
    ++row;
    return rows;
  }

  std::vector<Hours> write_tasks(Row& row) {
    std::vector<Hours> hours;
    bid_->head(row++, {"tasks", "quantity", "", "an hour", "hours", "of"});
    for (const Task& task : asked_.bid->tasks) {
      bid_->put({row, 0}, task.name, Look::label);
      double value = 0;
      if (task.hours) {
        bid_->put({row, 4}, *task.hours, Look::yards_input);
        value = *task.hours;
      } else {
        double quantity = 0;
        const std::string sum = quantity_of(task, quantity);
        const double rate = task.yards_per_hour ? told(*task.yards_per_hour) : *task.area_per_hour;
        value = quantity / rate;
        bid_->put_formula({row, 1}, sum, quantity, Look::yards);
        bid_->put({row, 2}, task.yards_per_hour ? bulk_.volume : fmt::format("sq {}", unit()), Look::text);
        bid_->put({row, 3}, rate, Look::number_input);
        bid_->put_formula({row, 4}, at({row, 1}) + "/" + at({row, 3}), value, Look::yards);
        bid_->put({row, 5}, fmt::format("{}", fmt::join(task.of, ", ")), Look::text);
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
        for (const auto* items : {&r_.takeoff.fill, &r_.takeoff.cut}) {
          for (const TakeoffItem& item : *items) {
            if (item.name == name) add(yards_cell_.at(name), told(item.volume_cy));
          }
        }
        continue;
      }
      for (std::size_t i = 0; i < e_.site_soil.size(); ++i) {
        if (e_.site_soil[i].name == name)
          add(soil_->ref({soils_.first + static_cast<Row>(i), 2}), told(e_.site_soil[i].bank.cy));
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
    for (std::size_t i = 0; i < e_.site_soil.size(); ++i) {
      const SiteSoilResult& soil = e_.site_soil[i];
      if (!soil.loads) continue;
      const Row row = soils_.first + static_cast<Row>(i);
      const double count = soil.loads->count;
      all.push_back({BidKind::haul, soil.name + " off the site", soil_->ref({row, 15}), "", soil_->ref({row, 16}),
                     soil_->ref({row, 17}), count,
                     soil.haul_cost > 0 ? std::optional(soil.haul_cost / count) : std::nullopt, "loads",
                     soil.haul_cost});
    }
    for (std::size_t i = 0; i < asked_.bid->tasks.size(); ++i) {
      const Task& task = asked_.bid->tasks[i];
      add_hours(task.machines, asked_.bid->machines, BidKind::machine, task.name, rates, hours[i], all);
      add_hours(task.crew, asked_.bid->workers, BidKind::labour, task.name, rates, hours[i], all);
    }
    return all;
  }

  std::size_t count_lines() const {
    std::size_t count = e_.areas.items.size();
    for (const MaterialOrder& order : e_.orders) count += is_blend(order.material) ? 0 : 2;
    for (const SiteSoilResult& soil : e_.site_soil) count += soil.loads ? 1 : 0;
    for (const Task& task : asked_.bid->tasks) count += task.machines.size() + task.crew.size();
    return count;
  }

  void add_material(const MaterialOrder& order, Column c, std::vector<BidRow>& all) const {
    if (is_blend(order.material)) return;
    const std::string by = order_ref(price_by, c);
    const PriceUnit unit = order.price    ? order.price->unit
                           : bulk_.metric ? PriceUnit::loose_cubic_metre
                                          : PriceUnit::loose_yard;
    const Charged charged = asked_.bid->charged;
    std::optional<double> quantity, count, haul_rate;
    if (order.needed) quantity = charged_quantity(order, unit, charged);
    if (order.needed && order.loads) count = order.loads->count;
    all.push_back({BidKind::material, order.material,
                   counted(by, order_ref(charged_weight, c), order_ref(charged_volume, c), order_ref(loads, c)),
                   fmt::format("{}&\"\"", by), order_ref(price, c), order_ref(cost, c), quantity,
                   order.price ? std::optional(order.price->amount) : std::nullopt, order.price ? to_text(unit) : "",
                   order.cost});
    const Material* m = find_material(asked_.materials, order.material);
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
      bid_->put({row, 0}, line.name, Look::label);
      bid_->put_formula({row, 1}, line.quantity, line.quantity_value, Look::yards);
      line.unit.empty() ? bid_->put({row, 2}, line.unit_text, Look::text)
                        : bid_->put_formula({row, 2}, line.unit, line.unit_text, Look::text);
      bid_->put_formula({row, 3}, fmt::format("IF(ISNUMBER({0}),{0},\"\")", line.rate), line.rate_value, Look::money);
      bid_->put_formula({row, 4}, line.amount, line.amount_value, Look::money);
      bid_->put({row++, 5}, to_text(line.kind), Look::text);
    }
  }

  void write_sums(Row row, Row heading, std::size_t count) {
    const BidSheet& bid = *e_.bid;
    const Row first = heading + 1, last = heading + static_cast<Row>(count);
    const Row top = row;
    const auto line = [&](const char* label, const std::string& formula, double value, bool strong) {
      bid_->put({row, 0}, label, strong ? Look::total_label : Look::label);
      for (const Column column : {1, 2, 3}) {
        if (strong) bid_->put({row, column}, "", Look::total_label);
      }
      bid_->put_formula({row, 4}, formula, value, strong ? Look::total_money : Look::money);
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
    bid_->put({row, 3}, asked_.bid->overhead, Look::percent_input);
    const std::string overhead = line("overhead, of the direct cost", at({row, 3}) + "*" + direct, bid.overhead, false);
    bid_->put({row, 3}, asked_.bid->margin, Look::percent_input);
    const Row margin_row = row;
    const std::string total_cell = at({row + 1, 4});
    line("margin, of the price", fmt::format("{}-{}-{}", total_cell, direct, overhead), bid.margin, false);
    line("price", fmt::format("({}+{})/(1-{})", direct, overhead, at({margin_row, 3})), bid.total, true);
    line(bulk_.metric ? "a cubic metre of fill in place" : "a cubic yard of fill in place",
         fmt::format("IF({0}>0,{1}/{0},0)", fill_cell_, total_cell), bid.per_yard / bulk_.of_yard, false);
  }

  // ---- accuracy ----------------------------------------------------------------------------------------------------

  void write_accuracy() {
    Sheet& sheet = *accuracy_;
    const Accuracy& a = *e_.accuracy;
    sheet.put({0, 0}, r_.job.site.title + ": plus or minus", Look::title);
    sheet.put(
        {1, 0},
        fmt::format("One standard deviation, from shots good to {:g} {} each and {:g} {} common to all. How far the "
                    "ground strays between shots is not in it.",
                    a.shots.random, unit(), a.shots.systematic, unit()),
        Look::note);
    std::vector<std::string> head = {"", "item", by_volume("random"), by_volume("systematic"), by_volume("both")};
    if (a.bottom_rise) {
      sheet.put({2, 0},
                fmt::format(
                    "The bed follows the highest of many shots, and errors of that size raise it {:.2f} {} on average: "
                    "expect the rise more. It is in no other figure.",
                    *a.bottom_rise, unit()),
                Look::note);
      head.push_back(by_volume("rise"));
    }
    sheet.head(3, head);
    Row row = 4;
    const auto add = [&](const char* kind, const PlusOrMinus& band) {
      sheet.put({row, 0}, kind, Look::label);
      sheet.put({row, 1}, band.name, Look::text);
      sheet.put({row, 2}, told(band.random_cy), Look::yards);
      sheet.put({row, 3}, told(band.systematic_cy), Look::yards);
      sheet.put_formula({row, 4}, fmt::format("SQRT(SUMSQ({}))", at({row, 2}, {row, 3})), told(band.both_cy()),
                        Look::yards);
      if (a.bottom_rise) sheet.put({row, 5}, told(band.rise_cy), Look::yards);
      ++row;
    };
    for (const PlusOrMinus& band : a.fill) add("fill", band);
    for (const PlusOrMinus& band : a.cut) add("cut", band);
    add("total fill", a.total_fill);
    add("total cut", a.total_cut);
    ++row;
    sheet.head(row++, {"", "shots that would help most", "northing", "easting", by_volume("random of the fill then")});
    for (const ShotAdvice& shot : a.more_shots) {
      sheet.put({row, 1}, shot.shots.size() == 1 ? "shoot again" : "a new shot", Look::text);
      sheet.put({row, 2}, shot.at.y(), Look::length);
      sheet.put({row, 3}, shot.at.x(), Look::length);
      sheet.put({row++, 4}, told(shot.random_after_cy), Look::yards);
    }
    sheet.widths({11, 26, 16, 16, 16, 16});
  }
};

}  // namespace

std::string quantities_xlsx(const SiteResults& results) { return Writer(results).run(); }

}  // namespace moundwright

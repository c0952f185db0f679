#include "geom/estimate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

namespace moundwright {
namespace {

const Blend* find_blend(const std::vector<Blend>& blends, const std::string& material) {
  const auto at = std::find_if(blends.begin(), blends.end(), [&](const Blend& b) { return b.material == material; });
  return at == blends.end() ? nullptr : &*at;
}

MaterialOrder& order_of(std::vector<MaterialOrder>& orders, const std::string& material) {
  const auto at = std::find_if(orders.begin(), orders.end(),
                               [&](const MaterialOrder& order) { return order.material == material; });
  if (at != orders.end()) return *at;
  orders.emplace_back().material = material;
  return orders.back();
}

class Estimator {
 public:
  Estimator(const PlacedMound& mound, const Takeoff& takeoff, const SiteDesign& site)
      : mound_(mound), takeoff_(takeoff), site_(site), asked_(site.estimate) {}

  Estimate run() {
    cut_lifts();
    gather_layers();
    convert();
    fill_blends();
    use_site_soil();
    buy();
    balance();
    e_.areas = area_items(mound_, takeoff_, {site_.unit, asked_, site_.lot.requirements.keep_clear});
    warn_of_stockpiles();
    deliver();
    if (asked_.accuracy) e_.accuracy = accuracy_of(mound_, *asked_.accuracy, site_.unit);
    tell_what_is_missing();
    price();
    return std::move(e_);
  }

 private:
  const PlacedMound& mound_;
  const Takeoff& takeoff_;
  const SiteDesign& site_;
  const EstimatePlan& asked_;
  Estimate e_;

  /// `thing` is empty where it is the bid itself that lacks something. What one thing lacks stands in one entry.
  void lack(const std::string& thing, const std::string& what) {
    const std::string lead = thing.empty() ? "" : thing + ": ";
    if (!lead.empty() && !e_.missing.empty() && e_.missing.back().starts_with(lead)) {
      e_.missing.back() += "; " + what;
    } else {
      e_.missing.push_back(lead + what);
    }
  }
  const Material* material(const std::string& name) const { return find_material(asked_.materials, name); }

  void cut_lifts() {
    e_.blends = asked_.blends;
    e_.settled = settled_grades(mound_, asked_.settlement);
    if (!asked_.lifts) return;
    e_.lifts = cut_in_lifts(mound_, *asked_.lifts, asked_.interface, site_.unit);
    e_.interface = e_.lifts->interface;
  }

  void gather_layers() {
    for (const TakeoffItem& layer : takeoff_.fill) {
      MaterialOrder& order = order_of(e_.orders, layer.material);
      order.layers.push_back(layer.name);
      order.in_place += CompactedYards{layer.volume_cy};
    }
    for (const InterfaceLine& line : e_.interface) order_of(e_.orders, line.material).interface += line.in_place;
  }

  void convert() {
    for (MaterialOrder& order : e_.orders) {
      const Material* m = material(order.material);
      const auto loose = m ? loose_from(*m, order.in_place + order.interface) : std::nullopt;
      if (!loose) continue;
      order.for_layers = *loose;
      order.waste = m->waste * *loose;
      order.needed = order.for_layers + order.waste;
    }
  }

  void fill_blends() {
    for (const Blend& blend : asked_.blends) {
      MaterialOrder& made = order_of(e_.orders, blend.material);
      if (!made.needed) continue;
      const LooseYards mixed = *made.needed;
      made.mixed = mixed;
      for (const BlendPart& part : blend.parts) {
        MaterialOrder& order = order_of(e_.orders, part.material);  // may move `made`
        const LooseYards taken = blend_part(blend, part.material, mixed);
        order.for_blends += taken;
        // A material of layers whose swell is not known stays unknown.
        if (order.needed || order.layers.empty()) order.needed = order.needed.value_or(LooseYards{}) + taken;
      }
    }
  }

  std::optional<BankYards> bank_of(const SiteSoil& soil) const {
    if (soil.bank) return soil.bank;
    for (const TakeoffItem& cut : takeoff_.cut) {
      if (cut.name == soil.from) return BankYards{cut.volume_cy};
    }
    return std::nullopt;
  }

  static std::string soil_gap(const SiteSoil& soil) { return "site soil " + soil.name; }

  void use_site_soil() {
    for (const SiteSoil& soil : asked_.site_soil) {
      const std::optional<BankYards> bank = bank_of(soil);
      const Material* m = material(soil.material);
      if (!bank) {
        lack(soil_gap(soil), fmt::format("the mound has no {}", soil.from));
        continue;
      }
      if (m == nullptr || !loose_per_bank(*m)) {
        lack(soil_gap(soil), fmt::format("{} has no swell", soil.material));
        continue;
      }
      const auto order = std::find_if(e_.orders.begin(), e_.orders.end(),
                                      [&](const MaterialOrder& o) { return o.material == soil.material; });
      const bool wanted = order != e_.orders.end() && order->needed && !find_blend(asked_.blends, soil.material);
      SiteSoilResult result = dig(soil, *bank, *m, wanted ? *order->needed - order->from_site : LooseYards{});
      if (wanted) order->from_site += result.used;
      haul_off(soil, *m, result);
      e_.site_soil.push_back(std::move(result));
    }
  }

  void haul_off(const SiteSoil& soil, const Material& m, SiteSoilResult& result) {
    if (!(result.hauled.cy > 0)) return;
    const Truck* truck = find_truck(asked_.trucks, soil.truck.empty() ? m.truck : soil.truck);
    if (truck != nullptr) result.loads = loads_for(m, *truck, result.hauled);
    if (!result.loads) return lack(soil_gap(soil), "no truck to haul it off");
    if (!truck->haul_off_per_load) {
      return lack(soil_gap(soil), fmt::format("truck {} has no haul_off_per_load", truck->name));
    }
    result.haul_cost = result.loads->count * *truck->haul_off_per_load;
  }

  void buy() {
    for (MaterialOrder& order : e_.orders) {
      const Material* m = material(order.material);
      if (!order.needed || m == nullptr || order.mixed.cy > 0) continue;
      order.bought = *order.needed - order.from_site;
      constexpr double dust = 1e-9;
      if (order.bought.cy < dust) order.bought = {};
      order.tons = tons_of(*m, order.bought);
      if (const Truck* truck = find_truck(asked_.trucks, m->truck)) order.loads = loads_for(*m, *truck, order.bought);
      order.delivered = order.loads ? order.loads->count * order.loads->each : order.bought;
      order.delivered_tons = tons_of(*m, order.delivered);
      order.price = m->price;
      if (m->price) {
        const auto cost = [&](Charged way) {
          return m->price->amount * charged_quantity(order, m->price->unit, way).value_or(0);
        };
        order.costs = {cost(Charged::as_ordered), cost(Charged::whole_loads)};
        order.cost = charged() == Charged::whole_loads ? order.costs.whole_loads : order.costs.as_ordered;
      }
      if (m->haul_per_load && order.loads) order.haul_cost = *m->haul_per_load * order.loads->count;
    }
  }

  Charged charged() const { return asked_.bid ? asked_.bid->charged : Charged::as_ordered; }

  void balance() {
    for (const MaterialOrder& order : e_.orders) {
      if (!order.needed) continue;
      const bool whole = charged() == Charged::whole_loads && !(order.mixed.cy > 0);
      const LooseYards comes = whole ? order.delivered : order.bought;
      e_.balance.push_back({order.material, order.from_site, comes, order.mixed, order.for_layers, order.waste,
                            order.for_blends, comes - order.bought});
    }
  }

  void warn_of_stockpiles() {
    for (std::size_t i = 0; i < e_.areas.stockpiles.size(); ++i) {
      const StockpileResult& pile = e_.areas.stockpiles[i];
      if (pile.faults.empty()) continue;
      e_.notes.warning(fmt::format("the stockpile of {} is in the wrong place: {}", pile.material, pile.note),
                       fmt::format("stockpile.{}.at", i + 1), "Give it another place.");
    }
  }

  // ---- deliveries --------------------------------------------------------------------------------------------------

  struct Stock {
    LooseYards wanted;  // so far
    int called = 0;     // loads so far
  };

  void deliver() {
    std::map<std::string, Stock> stocks;
    e_.work = order_of_work(takeoff_, e_.lifts ? &*e_.lifts : nullptr);
    call_for_item("before digging", "silt fence");
    const std::size_t fabric = stage_after_fabric();
    for (std::size_t i = 0; i < e_.work.size(); ++i) {
      if (i == fabric) lay_fabric();
      deliver(e_.work[i].name, e_.work[i].material, e_.work[i].in_place, stocks);
    }
    if (fabric == e_.work.size()) lay_fabric();
    for (const SpreadOptions& spread : asked_.areas.spread) call_for_item("when all is in place", spread.name);
  }

  const Layer& design_of(const std::string& layer) const {
    const auto& layers = mound_.design().layers;
    return *std::find_if(layers.begin(), layers.end(), [&](const Layer& l) { return l.name == layer; });
  }

  /// The first thing that goes in after the layer under the fabric and rises above it.
  std::size_t stage_after_fabric() const {
    if (!asked_.areas.fabric) return e_.work.size() + 1;
    const std::string& over = asked_.areas.fabric->over;
    const auto lies =
        std::find_if(e_.work.rbegin(), e_.work.rend(), [&](const WorkStage& w) { return w.layer == over; });
    const auto above = std::find_if(lies.base(), e_.work.end(),
                                    [&](const WorkStage& w) { return design_of(w.layer).top > design_of(over).top; });
    return static_cast<std::size_t>(above - e_.work.begin());
  }

  void lay_fabric() { call_for_item(fmt::format("over the {}", asked_.areas.fabric->over), "fabric"); }

  void call_for_item(const std::string& stage, const std::string& name) {
    for (const AreaItem& item : e_.areas.items) {
      if (item.name != name) continue;
      e_.deliveries.push_back({stage, name, {}, 0, 0, 0, fmt::format("{:.6g} {}", item.order, item.order_unit)});
    }
  }

  void deliver(const std::string& stage, const std::string& name, CompactedYards in_place,
               std::map<std::string, Stock>& stocks) {
    const Material* m = material(name);
    const auto loose = m ? loose_from(*m, in_place) : std::nullopt;
    if (!loose) return;
    const LooseYards wanted = (1 + m->waste) * *loose;
    const Blend* blend = find_blend(asked_.blends, name);
    if (blend == nullptr) return call_for(stage, name, wanted, stocks);
    for (const BlendPart& part : blend->parts) {
      call_for(fmt::format("{} ({})", stage, name), part.material, blend_part(*blend, part.material, wanted), stocks);
    }
  }

  /// The site's own goes first; loads are called for as what has come runs out, so that they add up to the order.
  void call_for(const std::string& stage, const std::string& name, LooseYards wanted,
                std::map<std::string, Stock>& stocks) {
    Stock& stock = stocks[name];
    stock.wanted += wanted;
    Delivery delivery{stage, name, wanted, 0, 0, 0, ""};
    const MaterialOrder& order = order_of(e_.orders, name);
    if (order.loads) {
      constexpr double rounding = 1e-9;
      const double bought = std::max(0.0, (stock.wanted - order.from_site).cy);
      const int called =
          std::min(order.loads->count, static_cast<int>(std::ceil(bought / order.loads->each.cy - rounding)));
      delivery.loads = called - stock.called;
      if (delivery.loads > 0) delivery.first_load = stock.called + 1, delivery.last_load = called;
      stock.called = called;
    }
    e_.deliveries.push_back(std::move(delivery));
  }

  // ---- bid ---------------------------------------------------------------------------------------------------------

  void tell_what_is_missing() {
    for (const MaterialOrder& order : e_.orders) tell_what_is_missing(order);
    for (const AreaItem& item : e_.areas.items) {
      if (!item.price && item.name != "scarify") lack(item.name, "no price");
    }
    if (!asked_.bid) return lack("", "no [bid] with overhead and margin");
    if (asked_.bid->tasks.empty()) lack("", "no [[task]]: no machine hours and no labor");
  }

  void tell_what_is_missing(const MaterialOrder& order) {
    const Material* m = material(order.material);
    const std::string& name = order.material;
    if (m == nullptr) return lack(name, "no [[material]] of that name");
    if (!order.needed) return lack(name, "no swell and shrink, or loose and compacted weight");
    if (order.mixed.cy > 0 || !(order.bought.cy > 0)) return;
    const std::optional<PriceUnit> by = order.price ? std::optional(order.price->unit) : std::nullopt;
    if (!by) lack(name, "no price");
    if (!order.tons && (by == PriceUnit::ton || by == PriceUnit::tonne)) {
      lack(name, fmt::format("priced by the {}, but has no unit weight", by == PriceUnit::ton ? "ton" : "tonne"));
    }
    const bool by_loads = by == PriceUnit::load || (by && charged() == Charged::whole_loads) || m->haul_per_load;
    if (!order.loads && by_loads) lack(name, "no truck, or one rated in tons only and no unit weight");
  }

  void price() {
    if (!asked_.bid) return;
    std::vector<BidLine> lines;
    MaterialCost material;
    for (const MaterialOrder& order : e_.orders) {
      add_material(order, lines);
      material.as_ordered += order.costs.as_ordered, material.whole_loads += order.costs.whole_loads;
    }
    for (const AreaItem& item : e_.areas.items) {
      if (item.price) {
        lines.push_back({BidKind::item, item.name, item.order, item.order_unit,
                         item.order > 0 ? item.cost / item.order : 0, item.cost});
      }
    }
    for (const SiteSoilResult& soil : e_.site_soil) {
      if (soil.loads && soil.haul_cost > 0) {
        lines.push_back({BidKind::haul, soil.name + " off the site", 1.0 * soil.loads->count, "loads",
                         soil.haul_cost / soil.loads->count, soil.haul_cost});
      }
    }
    for (const Task& task : asked_.bid->tasks) add_task(task, lines);
    e_.bid = add_up(std::move(lines), *asked_.bid, {takeoff_.fill_cy}, material);
  }

  void add_material(const MaterialOrder& order, std::vector<BidLine>& lines) const {
    if (order.price && order.bought.cy > 0) {
      const PriceUnit unit = order.price->unit;
      const bool many = unit == PriceUnit::ton || unit == PriceUnit::load;
      lines.push_back({BidKind::material, order.material, charged_quantity(order, unit, charged()).value_or(0),
                       fmt::format("{}{}", to_text(unit), many ? "s" : ""), order.price->amount, order.cost});
    }
    if (order.haul_cost > 0) {
      lines.push_back({BidKind::haul, order.material + " to the site", 1.0 * order.loads->count, "loads",
                       order.haul_cost / order.loads->count, order.haul_cost});
    }
  }

  std::optional<double> yards_of(const std::string& name) const {
    for (const std::vector<TakeoffItem>* items : {&takeoff_.fill, &takeoff_.cut}) {
      for (const TakeoffItem& item : *items) {
        if (item.name == name) return item.volume_cy;
      }
    }
    for (const SiteSoilResult& soil : e_.site_soil) {
      if (soil.name == name) return soil.bank.cy;
    }
    return std::nullopt;
  }

  std::optional<double> area_of(const std::string& name) const {
    for (const AreaItem& item : e_.areas.items) {
      if (item.name == name) return item.quantity;
    }
    return std::nullopt;
  }

  double hours_of(const Task& task) {
    if (task.hours) return *task.hours;
    double sum = 0;
    for (const std::string& name : task.of) {
      const auto quantity = task.yards_per_hour ? yards_of(name) : area_of(name);
      if (quantity) {
        sum += *quantity;
      } else {
        lack("task " + task.name, fmt::format("there is no {} to measure on this job", name));
      }
    }
    return sum / (task.yards_per_hour ? *task.yards_per_hour : *task.area_per_hour);
  }

  void add_task(const Task& task, std::vector<BidLine>& lines) {
    const double hours = hours_of(task);
    const auto add = [&](const std::vector<std::string>& names, const std::vector<HourRate>& rates, BidKind kind) {
      for (const HourRate& rate : rates) {
        const auto count = static_cast<double>(std::count(names.begin(), names.end(), rate.name));
        if (count == 0) continue;
        const std::string who = count == 1 ? rate.name : fmt::format("{:g} x {}", count, rate.name);
        lines.push_back({kind, fmt::format("{}, {}", task.name, who), count * hours, "hours", rate.per_hour,
                         count * hours * rate.per_hour});
      }
    };
    add(task.machines, asked_.bid->machines, BidKind::machine);
    add(task.crew, asked_.bid->workers, BidKind::labour);
    if (task.machines.empty() && task.crew.empty()) lack("task " + task.name, "no machines and no crew");
    tell_without_rate(task.machines, asked_.bid->machines);
    tell_without_rate(task.crew, asked_.bid->workers);
  }

  void tell_without_rate(const std::vector<std::string>& names, const std::vector<HourRate>& rates) {
    for (const std::string& name : names) {
      const bool has_rate = std::any_of(rates.begin(), rates.end(), [&](const HourRate& r) { return r.name == name; });
      const bool is_told = std::any_of(e_.missing.begin(), e_.missing.end(),
                                       [&](const std::string& gap) { return gap.starts_with(name + ": "); });
      if (!has_rate && !is_told) lack(name, "no rate an hour");
    }
  }
};

}  // namespace

std::optional<double> charged_quantity(const MaterialOrder& order, PriceUnit unit, Charged charged) {
  const bool whole = charged == Charged::whole_loads;
  const std::optional<double> tons = whole ? order.delivered_tons : order.tons;
  const LooseYards yards = whole ? order.delivered : order.bought;
  switch (unit) {
    case PriceUnit::ton:
      return tons;
    case PriceUnit::tonne:
      return tons ? std::optional(tonnes_per_ton * *tons) : std::nullopt;
    case PriceUnit::loose_cubic_metre:
      return cubic_metres_per_yard * yards.cy;
    case PriceUnit::load:
      return order.loads ? std::optional<double>(order.loads->count) : std::nullopt;
    default:
      return yards.cy;
  }
}

std::vector<WorkStage> order_of_work(const Takeoff& takeoff, const LiftPlan* lifts) {
  std::vector<WorkStage> work;
  const std::vector<Lift> none;
  const std::vector<Lift>& all = lifts != nullptr ? lifts->lifts : none;
  const auto is_lifted = [&](const std::string& layer) {
    return std::any_of(all.begin(), all.end(), [&](const Lift& lift) {
      return std::any_of(lift.parts.begin(), lift.parts.end(), [&](const LiftPart& p) { return p.layer == layer; });
    });
  };
  std::size_t next = 0;  // layer that has not gone down
  // Puts down whole layers for as long as no lift from `from` on still builds up a layer before them.
  const auto put_down = [&](std::size_t from) {
    for (; next < takeoff.fill.size(); ++next) {
      const TakeoffItem& layer = takeoff.fill[next];
      if (is_lifted(layer.name)) continue;
      const bool waits = std::any_of(all.begin() + static_cast<std::ptrdiff_t>(from), all.end(), [&](const Lift& lift) {
        return std::any_of(takeoff.fill.begin(), takeoff.fill.begin() + static_cast<std::ptrdiff_t>(next),
                           [&](const TakeoffItem& earlier) {
                             return std::any_of(lift.parts.begin(), lift.parts.end(),
                                                [&](const LiftPart& p) { return p.layer == earlier.name; });
                           });
      });
      if (waits) return;
      work.push_back({layer.name, layer.name, layer.material, 0, {layer.volume_cy}});
    }
  };
  for (std::size_t i = 0; i < all.size(); ++i) {
    put_down(i);
    for (const LiftPart& part : all[i].parts) {
      work.push_back({fmt::format("lift {}, {}", all[i].number, part.layer), part.layer, part.material, all[i].number,
                      part.placed()});
    }
  }
  put_down(all.size());
  return work;
}

Estimate estimate(const PlacedMound& mound, const Takeoff& takeoff, const SiteDesign& site) {
  return Estimator(mound, takeoff, site).run();
}

}  // namespace moundwright

#include "io/quantities_csv.h"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "geom/price_gaps.h"
#include "geom/printed.h"
#include "geom/stakes.h"
#include "io/csv_write.h"

namespace moundwright::io {
namespace {

/// One row of the wide table; what is not set stays empty.
struct Row {
  enum Column {
    kind,
    item,
    material,
    in_place,
    end_area,
    plan_area,
    least,
    most,
    unit,
    plus_or_minus,
    rise,
    bank,
    loose,
    tons,
    loads,
    part_load,
    quantity,
    quantity_unit,
    rate,
    amount,
    note,
    in_place_yards,  // of a metric job
    columns
  };
  std::array<std::string, columns> fields;
  BulkUnits bulk;

  Row& text(Column column, const std::string& value) { return fields[column] = csv_field(value), *this; }
  Row& number(Column column, double value, int decimals = 2) {
    return fields[column] = fixed_text(value, decimals), *this;
  }
  Row& volume(Column column, double cubic_yards) {
    if (column == in_place && bulk.metric) number(in_place_yards, cubic_yards);
    return number(column, bulk.of_yard * cubic_yards);
  }
  std::string line() const {
    return fmt::format("{}\n", fmt::join(fields.begin(), fields.end() - (bulk.metric ? 0 : 1), ","));
  }
};

std::string header(const BulkUnits& bulk) {
  return fmt::format(
      "kind,item,material,in_place_{0},end_area_{0},plan_area,thickness_least,thickness_most,unit,standard_deviation_{"
      "0},"
      "rise_{0},bank_{0},loose_{0},{1},loads,part_load_{0},quantity,quantity_unit,rate,amount,note{2}\n",
      bulk.volume_key, bulk.weight_key, bulk.metric ? ",in_place_cy" : "");
}

class Writer {
 public:
  Writer(const Takeoff& takeoff, const Estimate& estimate, LengthUnit unit)
      : takeoff_(takeoff),
        e_(estimate),
        bulk_(bulk_units(unit)),
        unit_(symbol(unit)),
        decimals_(length_decimals(unit)) {}

  std::string run() const { return header(bulk_) + takeoff_rows() + estimate_rows(); }

 private:
  const Takeoff& takeoff_;
  const Estimate& e_;
  const BulkUnits& bulk_;
  const std::string unit_;
  const int decimals_;  // of elevations and lengths

  Row row(const char* kind, const std::string& item, const std::string& material) const {
    Row r{{}, bulk_};
    return r.text(Row::kind, kind).text(Row::item, item).text(Row::material, material);
  }

  /// "12.3 m3"
  std::string volume(double cubic_yards) const {
    return fmt::format("{} {}", fixed_text(bulk_.of_yard * cubic_yards, 1), bulk_.volume);
  }

  std::string order_row(const MaterialOrder& order) const {
    Row r = row("order", order.material, order.material);
    r.volume(Row::in_place, (order.in_place + order.interface).cy);
    if (!order.needed) return r.text(Row::note, "no swell and shrink").line();
    if (order.mixed.cy > 0) return r.volume(Row::loose, order.mixed.cy).text(Row::note, "mixed on the site").line();
    r.volume(Row::loose, order.bought.cy);
    if (order.tons) r.number(Row::tons, bulk_.of_ton * *order.tons);
    if (order.loads) r.number(Row::loads, order.loads->count, 0).volume(Row::part_load, order.loads->part.cy);
    if (order.price) {
      r.text(Row::quantity_unit, to_text(order.price->unit)).number(Row::rate, order.price->amount);
      r.number(Row::amount, order.cost);
    }
    if (order.from_site.cy > 0) r.text(Row::note, volume(order.from_site.cy) + " loose more from the site");
    return r.line();
  }

  std::string lift_rows(const LiftPlan& lifts) const {
    std::string csv;
    for (const Lift& lift : lifts.lifts) {
      for (const LiftPart& part : lift.parts) {
        csv += row("lift", fmt::format("{} {}", lift.number, part.layer), part.material)
                   .volume(Row::in_place, part.in_place.cy)
                   .text(Row::note,
                         fmt::format("to {}; {} {} more at faces and in soft ground", fixed_text(lift.top, decimals_),
                                     fixed_text(bulk_.of_yard * (part.face + part.pressed).cy, 2), bulk_.volume))
                   .line();
      }
    }
    return csv;
  }

  std::string delivery_row(const Delivery& d) const {
    if (!d.other.empty()) return row("delivery", d.stage, d.material).text(Row::note, d.other).line();
    Row r = row("delivery", d.stage, d.material).volume(Row::loose, d.loose.cy);
    if (!loads_are_known(e_, d)) return r.text(Row::note, "loads not known").line();
    r.number(Row::loads, d.loads, 0);
    if (d.loads > 0) r.text(Row::note, fmt::format("loads {} to {}", d.first_load, d.last_load));
    return r.line();
  }

  std::string soil_row(const SiteSoilResult& soil) const {
    Row r =
        row("site soil", soil.name, soil.material).volume(Row::bank, soil.bank.cy).volume(Row::loose, soil.loose.cy);
    if (soil.loads) r.number(Row::loads, soil.loads->count, 0).volume(Row::part_load, soil.loads->part.cy);
    const auto loose = [&](LooseYards yards) { return fixed_text(bulk_.of_yard * yards.cy, 1); };
    r.text(Row::note, fmt::format("loose {}: {} lost, {} used, {} spread, {} hauled off", bulk_.volume,
                                  loose(soil.lost), loose(soil.used), loose(soil.spread), loose(soil.hauled)));
    return r.line();
  }

  std::string balance_row(const BalanceLine& line) const {
    const auto loose = [&](LooseYards yards) { return fixed_text(bulk_.of_yard * yards.cy, 1); };
    const LooseYards in = line.from_site + line.bought + line.blended_in;
    return row("balance", line.material, line.material)
        .volume(Row::loose, in.cy)
        .text(Row::note,
              fmt::format("loose {}: {} from the site, {} bought, {} mixed; {} in place, {} waste, {} into blends, {} "
                          "left over; gap {}",
                          bulk_.volume, loose(line.from_site), loose(line.bought), loose(line.blended_in),
                          loose(line.in_place), loose(line.waste), loose(line.into_blends), loose(line.left_over),
                          loose({std::abs(line.gap())})))
        .line();
  }

  std::string bid_rows(const BidSheet& bid) const {
    std::string csv;
    for (const BidLine& line : bid.lines) {
      csv += row("bid", line.name, to_text(line.kind))
                 .number(Row::quantity, line.quantity)
                 .text(Row::quantity_unit, line.unit)
                 .number(Row::rate, line.rate)
                 .number(Row::amount, line.amount)
                 .line();
    }
    const std::pair<const char*, double> totals[] = {
        {"direct", bid.direct}, {"overhead", bid.overhead}, {"margin", bid.margin}, {"total", bid.total}};
    const std::string mark = incomplete_text(e_);
    for (const auto& [name, amount] : totals) {
      csv += row("bid total", name, "").number(Row::amount, amount).text(Row::note, mark).line();
    }
    csv += row("bid total", fmt::format("per {} of fill in place", bulk_.metric ? "m3" : "yard"), "")
               .number(Row::rate, bid.per_yard / bulk_.of_yard)
               .text(Row::note, mark)
               .line();
    for (const auto& [charged, amount] : {std::pair(Charged::as_ordered, bid.total_as_ordered),
                                          std::pair(Charged::whole_loads, bid.total_whole_loads)}) {
      const bool is_so = charged == bid.charged;
      csv += row("bid total",
                 fmt::format("total with material charged {}{}", charged == Charged::as_ordered ? "" : "by ",
                             to_text(charged)),
                 "")
                 .number(Row::amount, amount)
                 .text(Row::note, fmt::format("{}{}{}", is_so ? "as in this bid" : "not as in this bid",
                                              mark.empty() ? "" : "; ", mark))
                 .line();
    }
    for (const std::string& gap : e_.missing) csv += row("not in the bid", gap, "").line();
    return csv;
  }

  std::string estimate_rows() const {
    std::string csv;
    for (const MaterialOrder& order : e_.orders) csv += order_row(order);
    for (const InterfaceLine& line : e_.interface) {
      csv += row("interface", line.what, line.material).volume(Row::in_place, line.in_place.cy).line();
    }
    if (e_.lifts) csv += lift_rows(*e_.lifts);
    for (const Delivery& d : e_.deliveries) csv += delivery_row(d);
    for (const SiteSoilResult& soil : e_.site_soil) csv += soil_row(soil);
    for (const AreaItem& item : e_.areas.items) {
      csv += row("item", item.name, "")
                 .number(Row::quantity, item.order)
                 .text(Row::quantity_unit, item.order_unit)
                 .number(Row::amount, item.cost)
                 .text(Row::note, item.note)
                 .line();
    }
    for (const BalanceLine& line : e_.balance) csv += balance_row(line);
    for (const SettledGrade& grade : e_.settled) {
      csv += row("settling", fmt::format("{}, {}", grade.layer, grade.where), "")
                 .text(Row::unit, unit_)
                 .text(Row::note, fmt::format("place to {}, settles to {}", fixed_text(grade.placed, decimals_),
                                              fixed_text(grade.settled, decimals_)))
                 .line();
    }
    if (e_.bid) csv += bid_rows(*e_.bid);
    return csv;
  }

  std::string takeoff_rows() const {
    const Accuracy* accuracy = e_.accuracy ? &*e_.accuracy : nullptr;
    std::string csv;
    const auto line = [&](Row r, const PlusOrMinus* band) {
      if (band != nullptr) r.volume(Row::plus_or_minus, band->both_cy());
      if (band != nullptr && accuracy->bottom_rise) r.volume(Row::rise, band->rise_cy);
      csv += r.text(Row::unit, unit_).line();
    };
    for (std::size_t k = 0; k < takeoff_.fill.size(); ++k) {
      const TakeoffItem& layer = takeoff_.fill[k];
      line(row("fill", layer.name, layer.material)
               .volume(Row::in_place, layer.volume_cy)
               .volume(Row::end_area, layer.end_area_cy)
               .number(Row::plan_area, layer.plan_area, 1)
               .number(Row::least, layer.thickness_least, decimals_)
               .number(Row::most, layer.thickness_most, decimals_),
           accuracy ? &accuracy->fill[k] : nullptr);
    }
    for (std::size_t k = 0; k < takeoff_.cut.size(); ++k) {
      const TakeoffItem& cut = takeoff_.cut[k];
      line(row("cut", cut.name, "")
               .volume(Row::in_place, cut.volume_cy)
               .volume(Row::bank, cut.volume_cy)
               .number(Row::plan_area, cut.plan_area, 1),
           accuracy ? &accuracy->cut[k] : nullptr);
    }
    line(row("total", "fill", "")
             .volume(Row::in_place, takeoff_.fill_cy)
             .volume(Row::end_area, takeoff_.end_area_fill_cy)
             .text(Row::note, totals_note),
         accuracy ? &accuracy->total_fill : nullptr);
    line(row("total", "cut", "")
             .volume(Row::in_place, takeoff_.cut_cy)
             .volume(Row::end_area, takeoff_.end_area_cut_cy)
             .text(Row::note, totals_note),
         accuracy ? &accuracy->total_cut : nullptr);
    if (takeoff_.scarify_area > 0) {
      line(row("area", "scarify", "").number(Row::plan_area, takeoff_.scarify_area, 1), nullptr);
    }
    if (takeoff_.on_assumed) {
      line(row("area", "on assumed ground", "")
               .number(Row::plan_area, takeoff_.on_assumed->area, 1)
               .text(Row::note, fmt::format("{} {} of the fill rest on ground that was not surveyed",
                                            fixed_text(bulk_.of_yard * takeoff_.on_assumed->fill_cy, 1), bulk_.volume)),
           nullptr);
    }
    line(row("check", "finished minus prepared ground", "").volume(Row::in_place, takeoff_.balance.independent_cy),
         nullptr);
    return csv;
  }
};

}  // namespace

std::string quantities_csv(const Takeoff& takeoff, const Estimate& estimate, LengthUnit unit) {
  return Writer(takeoff, estimate, unit).run();
}

}  // namespace moundwright::io

#include "io/quantities_csv.h"

#include <fmt/format.h>

#include <array>

#include "geom/stakes.h"
#include "io/csv_write.h"

namespace moundwright {
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
    loose,
    tons,
    loads,
    part_load,
    quantity,
    quantity_unit,
    rate,
    amount,
    note,
    columns
  };
  std::array<std::string, columns> fields;

  Row& text(Column column, const std::string& value) { return fields[column] = csv_quoted(value), *this; }
  Row& number(Column column, double value, int decimals = 2) {
    return fields[column] = fixed_text(value, decimals), *this;
  }
  std::string line() const { return fmt::format("{}\n", fmt::join(fields, ",")); }
};

Row row(const char* kind, const std::string& item, const std::string& material) {
  return Row{}.text(Row::kind, kind).text(Row::item, item).text(Row::material, material);
}

std::string order_row(const MaterialOrder& order) {
  Row r = row("order", order.material, order.material);
  r.number(Row::in_place, (order.in_place + order.interface).cy);
  if (!order.needed) return r.text(Row::note, "no swell and shrink").line();
  if (order.mixed.cy > 0) return r.number(Row::loose, order.mixed.cy).text(Row::note, "mixed on the site").line();
  r.number(Row::loose, order.bought.cy);
  if (order.tons) r.number(Row::tons, *order.tons);
  if (order.loads) r.number(Row::loads, order.loads->count, 0).number(Row::part_load, order.loads->part.cy);
  if (order.price) {
    r.text(Row::quantity_unit, to_text(order.price->unit)).number(Row::rate, order.price->amount);
    r.number(Row::amount, order.cost);
  }
  if (order.from_site.cy > 0) r.text(Row::note, fmt::format("{:.1f} loose yd more from the site", order.from_site.cy));
  return r.line();
}

std::string lift_rows(const LiftPlan& lifts) {
  std::string csv;
  for (const Lift& lift : lifts.lifts) {
    for (const LiftPart& part : lift.parts) {
      csv += row("lift", fmt::format("{} {}", lift.number, part.layer), part.material)
                 .number(Row::in_place, part.in_place.cy)
                 .text(Row::note, fmt::format("to {:.2f}; {:.2f} yd more at faces and in soft ground", lift.top,
                                              (part.face + part.pressed).cy))
                 .line();
    }
  }
  return csv;
}

std::string delivery_row(const Delivery& d) {
  if (!d.other.empty()) return row("delivery", d.stage, d.material).text(Row::note, d.other).line();
  Row r = row("delivery", d.stage, d.material).number(Row::loose, d.loose.cy).number(Row::loads, d.loads, 0);
  if (d.loads > 0) r.text(Row::note, fmt::format("loads {} to {}", d.first_load, d.last_load));
  return r.line();
}

std::string soil_row(const SiteSoilResult& soil) {
  Row r =
      row("site soil", soil.name, soil.material).number(Row::in_place, soil.bank.cy).number(Row::loose, soil.loose.cy);
  if (soil.loads) r.number(Row::loads, soil.loads->count, 0).number(Row::part_load, soil.loads->part.cy);
  r.text(Row::note, fmt::format("loose: {:.1f} lost, {:.1f} used, {:.1f} spread, {:.1f} hauled off", soil.lost.cy,
                                soil.used.cy, soil.spread.cy, soil.hauled.cy));
  return r.line();
}

std::string bid_rows(const BidSheet& bid) {
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
  for (const auto& [name, amount] : totals) csv += row("bid total", name, "").number(Row::amount, amount).line();
  return csv + row("bid total", "per yard of fill in place", "").number(Row::rate, bid.per_yard).line();
}

std::string estimate_rows(const Estimate& e) {
  std::string csv;
  for (const MaterialOrder& order : e.orders) csv += order_row(order);
  for (const InterfaceLine& line : e.interface) {
    csv += row("interface", line.what, line.material).number(Row::in_place, line.in_place.cy).line();
  }
  if (e.lifts) csv += lift_rows(*e.lifts);
  for (const Delivery& d : e.deliveries) csv += delivery_row(d);
  for (const SiteSoilResult& soil : e.site_soil) csv += soil_row(soil);
  for (const AreaItem& item : e.areas.items) {
    csv += row("item", item.name, "")
               .number(Row::quantity, item.order)
               .text(Row::quantity_unit, item.order_unit)
               .number(Row::amount, item.cost)
               .text(Row::note, item.note)
               .line();
  }
  if (e.bid) csv += bid_rows(*e.bid);
  return csv;
}

std::string takeoff_rows(const Takeoff& takeoff, const Accuracy* accuracy, const std::string& unit) {
  std::string csv;
  const auto line = [&](Row r, const PlusOrMinus* band) {
    if (band != nullptr) r.number(Row::plus_or_minus, band->both_cy());
    csv += r.text(Row::unit, unit).line();
  };
  for (std::size_t k = 0; k < takeoff.fill.size(); ++k) {
    const TakeoffItem& layer = takeoff.fill[k];
    line(row("fill", layer.name, layer.material)
             .number(Row::in_place, layer.volume_cy)
             .number(Row::end_area, layer.end_area_cy)
             .number(Row::plan_area, layer.plan_area, 1)
             .number(Row::least, layer.thickness_least)
             .number(Row::most, layer.thickness_most),
         accuracy ? &accuracy->fill[k] : nullptr);
  }
  for (std::size_t k = 0; k < takeoff.cut.size(); ++k) {
    const TakeoffItem& cut = takeoff.cut[k];
    line(row("cut", cut.name, "").number(Row::in_place, cut.volume_cy).number(Row::plan_area, cut.plan_area, 1),
         accuracy ? &accuracy->cut[k] : nullptr);
  }
  line(row("total", "fill", "").number(Row::in_place, takeoff.fill_cy).number(Row::end_area, takeoff.end_area_fill_cy),
       accuracy ? &accuracy->total_fill : nullptr);
  line(row("total", "cut", "").number(Row::in_place, takeoff.cut_cy).number(Row::end_area, takeoff.end_area_cut_cy),
       accuracy ? &accuracy->total_cut : nullptr);
  if (takeoff.scarify_area > 0) {
    line(row("area", "scarify", "").number(Row::plan_area, takeoff.scarify_area, 1), nullptr);
  }
  line(row("check", "finished minus prepared ground", "").number(Row::in_place, takeoff.balance.independent_cy),
       nullptr);
  return csv;
}

}  // namespace

std::string quantities_csv(const Takeoff& takeoff, const Estimate& estimate, LengthUnit unit) {
  return "kind,item,material,in_place_cy,end_area_cy,plan_area,thickness_least,thickness_most,unit,"
         "plus_or_minus_cy,loose_cy,tons,loads,part_load_cy,quantity,quantity_unit,rate,amount,note\n" +
         takeoff_rows(takeoff, estimate.accuracy ? &*estimate.accuracy : nullptr, symbol(unit)) +
         estimate_rows(estimate);
}

}  // namespace moundwright

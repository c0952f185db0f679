#include "io/estimate_json.h"

#include <nlohmann/json.hpp>

#include "geom/price_gaps.h"

namespace moundwright::io {
namespace {

using Json = nlohmann::ordered_json;

template <class Items, class Make>
Json list_of(const Items& items, const Make& make) {
  Json list = Json::array();
  for (const auto& item : items) list.push_back(make(item));
  return list;
}

Json loads_json(const Loads& loads) {
  Json json = {{"truck", loads.truck},
               {"count", loads.count},
               {"each_loose_cy", loads.each.cy},
               {"full_by", loads.weight_binds ? "weight" : "volume"},
               {"part_loose_cy", loads.part.cy}};
  if (loads.part_tons) json["part_tons"] = *loads.part_tons;
  return json;
}

Json order_json(const MaterialOrder& order) {
  Json json = {{"material", order.material},
               {"layers", order.layers},
               {"in_place_cy", order.in_place.cy},
               {"interface_cy", order.interface.cy}};
  if (!order.needed) return json;
  json["needed_loose_cy"] = order.needed->cy;
  json["for_layers_loose_cy"] = order.for_layers.cy;
  json["for_blends_loose_cy"] = order.for_blends.cy;
  json["waste_loose_cy"] = order.waste.cy;
  json["from_site_loose_cy"] = order.from_site.cy;
  json["mixed_loose_cy"] = order.mixed.cy;
  json["bought_loose_cy"] = order.bought.cy;
  if (order.tons) json["tons"] = *order.tons;
  if (order.loads) json["loads"] = loads_json(*order.loads);
  json["delivered_loose_cy"] = order.delivered.cy;
  if (order.delivered_tons) json["delivered_tons"] = *order.delivered_tons;
  if (order.price) {
    json["price"] = {{price_key(order.price->unit), order.price->amount}};
    json["cost_as_ordered"] = order.costs.as_ordered;
    json["cost_whole_loads"] = order.costs.whole_loads;
  }
  json["cost"] = order.cost;
  json["haul_cost"] = order.haul_cost;
  return json;
}

Json lift_json(const Lift& lift) {
  return {{"number", lift.number},
          {"bottom", lift.bottom},
          {"top", lift.top},
          {"parts", list_of(lift.parts, [](const LiftPart& part) -> Json {
             return {{"layer", part.layer},
                     {"material", part.material},
                     {"in_place_cy", part.in_place.cy},
                     {"face_cy", part.face.cy},
                     {"pressed_cy", part.pressed.cy}};
           })}};
}

Json interface_json(const InterfaceLine& line) {
  return {{"layer", line.layer},
          {"material", line.material},
          {"what", line.what},
          {"in_place_cy", line.in_place.cy},
          {"area", line.area}};
}

Json delivery_json(const Estimate& e, const Delivery& d) {
  if (!d.other.empty()) return {{"stage", d.stage}, {"item", d.material}, {"amount", d.other}};
  if (!loads_are_known(e, d)) {
    return {{"stage", d.stage}, {"material", d.material}, {"loose_cy", d.loose.cy}, {"loads", nullptr}};
  }
  return {{"stage", d.stage}, {"material", d.material},     {"loose_cy", d.loose.cy},
          {"loads", d.loads}, {"first_load", d.first_load}, {"last_load", d.last_load}};
}

Json settled_json(const SettledGrade& grade) {
  return {{"layer", grade.layer}, {"where", grade.where}, {"placed", grade.placed}, {"settled", grade.settled}};
}

Json soil_json(const SiteSoilResult& soil) {
  Json json = {{"name", soil.name},
               {"material", soil.material},
               {"bank_cy", soil.bank.cy},
               {"loose_cy", soil.loose.cy},
               {"lost_loose_cy", soil.lost.cy},
               {"used_loose_cy", soil.used.cy},
               {"spread_loose_cy", soil.spread.cy},
               {"hauled_loose_cy", soil.hauled.cy},
               {"haul_cost", soil.haul_cost}};
  if (soil.loads) json["loads"] = loads_json(*soil.loads);
  return json;
}

Json balance_json(const BalanceLine& line) {
  return {{"material", line.material},
          {"from_site_loose_cy", line.from_site.cy},
          {"bought_loose_cy", line.bought.cy},
          {"mixed_loose_cy", line.blended_in.cy},
          {"in_place_loose_cy", line.in_place.cy},
          {"waste_loose_cy", line.waste.cy},
          {"into_blends_loose_cy", line.into_blends.cy},
          {"left_over_loose_cy", line.left_over.cy},
          {"gap_loose_cy", line.gap()}};
}

Json item_json(const AreaItem& item) {
  Json json = {{"name", item.name},   {"quantity", item.quantity},     {"unit", item.unit},
               {"order", item.order}, {"order_unit", item.order_unit}, {"note", item.note}};
  if (item.price) json["cost"] = item.cost;
  return json;
}

Json stockpile_json(const StockpileResult& pile) {
  return {{"material", pile.material}, {"loose_cy", pile.volume.cy},  {"length", pile.length}, {"width", pile.width},
          {"height", pile.height},     {"plan_area", pile.plan_area}, {"faults", pile.faults}, {"note", pile.note}};
}

/// `rise_cy` where the bed is set from the ground: what such shots add on average.
Json band_json(const PlusOrMinus& band, bool rises) {
  Json json = {{"name", band.name},
               {"random_cy", band.random_cy},
               {"systematic_cy", band.systematic_cy},
               {"both_cy", band.both_cy()}};
  if (rises) json["rise_cy"] = band.rise_cy;
  return json;
}

Json accuracy_json(const Accuracy& a) {
  const auto band = [&](const PlusOrMinus& of) { return band_json(of, a.bottom_rise.has_value()); };
  Json json = {{"shot_random", a.shots.random},
               {"shot_systematic", a.shots.systematic},
               {"fill", list_of(a.fill, band)},
               {"cut", list_of(a.cut, band)},
               {"total_fill", band(a.total_fill)},
               {"total_cut", band(a.total_cut)},
               {"more_shots", list_of(a.more_shots, [](const ShotAdvice& shot) -> Json {
                  return {{"n", shot.at.y()},
                          {"e", shot.at.x()},
                          {"again", shot.shots.size() == 1},
                          {"fill_random_before_cy", shot.random_before_cy},
                          {"fill_random_after_cy", shot.random_after_cy}};
                })}};
  if (a.bottom_rise) json["bottom_rise"] = *a.bottom_rise;
  return json;
}

Json bid_json(const Estimate& e) {
  const BidSheet& bid = *e.bid;
  return {{"complete", !price_is_incomplete(e)},
          {"missing", e.missing},
          {"currency", bid.currency},
          {"lines", list_of(bid.lines,
                            [](const BidLine& line) -> Json {
                              return {{"kind", to_text(line.kind)}, {"name", line.name}, {"quantity", line.quantity},
                                      {"unit", line.unit},          {"rate", line.rate}, {"amount", line.amount}};
                            })},
          {"material", bid.material},
          {"items", bid.items},
          {"haul", bid.haul},
          {"machine", bid.machine},
          {"machine_hours", bid.machine_hours},
          {"labour", bid.labour},
          {"labour_hours", bid.labour_hours},
          {"direct", bid.direct},
          {"overhead", bid.overhead},
          {"margin", bid.margin},
          {"total", bid.total},
          {"charged", to_text(bid.charged)},
          {"total_as_ordered", bid.total_as_ordered},
          {"total_whole_loads", bid.total_whole_loads},
          {"per_yard", bid.per_yard}};
}

}  // namespace

Json with_metric_twins(const Json& json) {
  if (json.is_array()) return list_of(json, [](const Json& item) { return with_metric_twins(item); });
  if (!json.is_object()) return json;
  const struct {
    std::string_view ends, twin;
    double factor;
  } twins[] = {{"_cy", "_m3", cubic_metres_per_yard},
               {"tons", "tonnes", tonnes_per_ton},
               {"per_yard", "per_m3", 1 / cubic_metres_per_yard}};
  Json result = Json::object();
  for (const auto& [key, value] : json.items()) {
    result[key] = with_metric_twins(value);
    for (const auto& [ends, twin, factor] : twins) {
      if (!key.ends_with(ends) || !value.is_number()) continue;
      result[key.substr(0, key.size() - ends.size()) + std::string(twin)] = factor * value.get<double>();
    }
  }
  return result;
}

Json estimate_json(const Estimate& e, const Ground& ground) {
  Json json;
  json["orders"] = list_of(e.orders, order_json);
  if (e.lifts) json["lifts"] = {{"depth", e.lifts->depth}, {"lifts", list_of(e.lifts->lifts, lift_json)}};
  json["interface"] = list_of(e.interface, interface_json);
  json["deliveries"] = list_of(e.deliveries, [&](const Delivery& d) { return delivery_json(e, d); });
  json["settled_grades"] = list_of(e.settled, settled_json);
  json["site_soil"] = list_of(e.site_soil, soil_json);
  json["balance"] = list_of(e.balance, balance_json);
  json["finished_area"] = e.areas.finished_area;
  json["items"] = list_of(e.areas.items, item_json);
  json["stockpiles"] = list_of(e.areas.stockpiles, stockpile_json);
  json["silt_fence_line"] = list_of(e.areas.fence_line, [&](const Point2& p) -> Json {
    const Point2 at = ground.to_world(p);
    return {{"n", at.y()}, {"e", at.x()}};
  });
  if (e.accuracy) json["accuracy"] = accuracy_json(*e.accuracy);
  if (e.bid) json["bid"] = bid_json(e);
  json["complete"] = e.bid && !price_is_incomplete(e);
  json["missing"] = e.missing;
  return json;
}

}  // namespace moundwright::io

// The order, in the order it is wanted, and the bid: only what the job gives prices, weights and rates for.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "geom/price_gaps.h"
#include "io/sheet_pages.h"

namespace moundwright::io {
namespace {

std::string volume_or_none(const SheetJob& job, double cubic_yards) {
  return cubic_yards > 0 ? volume_text(job, cubic_yards) : "";
}

/// "1,234.50", and what is off the price with a minus.
std::string money(double amount) {
  const std::string plain = fixed_text(amount, 2);
  const std::size_t first = plain.starts_with('-') ? 1 : 0, point = plain.find('.');
  std::string text;
  for (std::size_t i = 0; i < plain.size(); ++i) {
    if (i > first && i < point && (point - i) % 3 == 0) text += ',';
    text += plain[i];
  }
  return text;
}

std::string loads_text(const SheetJob& job, const MaterialOrder& order) {
  const bool is_bought = order.needed && order.bought.cy > 0;
  if (!order.loads) return is_bought ? "no truck" : "";
  if (order.loads->count == 0) return "";
  const Loads& loads = *order.loads;
  std::string text = fmt::format("{} x {} {}", loads.count, volume_text(job, loads.each.cy), bulk_of(job).volume);
  if (loads.part.cy > 0) text += fmt::format("\nlast one {}", volume_text(job, loads.part.cy));
  return text;
}

void add_orders(const SheetJob& job, SheetFlow& flow) {
  std::vector<TableRow> rows;
  for (const MaterialOrder& order : job.results.estimate.orders) {
    const bool known = order.needed.has_value();
    const std::string layers = order.layers.empty() ? "for a blend" : fmt::format("{}", fmt::join(order.layers, ", "));
    rows.push_back({bold_cell(order.material),
                    {layers},
                    {volume_or_none(job, order.in_place.cy)},
                    {volume_or_none(job, order.interface.cy)},
                    {known ? volume_text(job, order.needed->cy) : "not known"},
                    {known ? volume_or_none(job, order.waste.cy) : ""},
                    {volume_or_none(job, order.from_site.cy)},
                    {volume_or_none(job, order.mixed.cy)},
                    bold_cell(known ? volume_text(job, order.bought.cy) : ""),
                    {order.tons && *order.tons > 0 ? fixed_text(bulk_of(job).of_ton * *order.tons, 1) : ""},
                    bold_cell(loads_text(job, order))});
  }
  const std::string in_place = fmt::format("IN PLACE, {}", bulk_of(job).volume);
  const std::string loose = fmt::format("LOOSE, {}", bulk_of(job).volume);
  flow.heading("What to order");
  flow.table({{"Material", 96},
              {"Goes into", 84},
              {"neat", 48, 1, in_place},
              {"lost at faces and into the ground", 60, 1, in_place},
              {"needed, with waste", 56, 1, loose},
              {"of it waste", 48, 1, loose},
              {"from the site", 48, 1, loose},
              {"mixed on site", 48, 1, loose},
              {"BUY", 52, 1, loose},
              {bulk_of(job).metric ? "Tonnes on the scale" : "Tons on the scale", 52, 1},
              {"Loads", 92, 1}},
             rows, {8.5, 7.5, 22});
}

void add_blends(const SheetJob& job, SheetFlow& flow) {
  for (const Blend& blend : job.results.estimate.blends) {
    std::vector<std::string> parts;
    for (const BlendPart& part : blend.parts) parts.push_back(fmt::format("{:g} of {}", part.parts, part.material));
    flow.gap(4);
    flow.paragraph(fmt::format("Mix {}: {}, by loose volume.", blend.material, fmt::join(parts, " to ")),
                   plain_text(9));
  }
}

void add_deliveries(const SheetJob& job, SheetFlow& flow) {
  std::vector<TableRow> rows;
  for (const Delivery& delivery : job.results.estimate.deliveries) {
    if (!delivery.other.empty()) {
      rows.push_back({bold_cell(delivery.stage), {delivery.material}, {}, {}, {delivery.other}, {}, {}});
      continue;
    }
    const std::string numbers = !loads_are_known(job.results.estimate, delivery) ? "loads not known"
                                : delivery.first_load == 0                       ? "from the last one"
                                : delivery.first_load == delivery.last_load
                                    ? fmt::format("no. {}", delivery.first_load)
                                    : fmt::format("no. {} to {}", delivery.first_load, delivery.last_load);
    rows.push_back({bold_cell(delivery.stage),
                    {delivery.material},
                    {volume_text(job, delivery.loose.cy)},
                    bold_cell(delivery.loads > 0 ? std::to_string(delivery.loads) : ""),
                    {numbers},
                    {},
                    {}});
  }
  if (rows.empty()) return;
  flow.gap(10);
  flow.heading("What to call for, as the work wants it");
  flow.table({{"Stage", 90},
              {"Material", 110},
              {fmt::format("Loose, {}", bulk_of(job).volume), 70, 1},
              {"Loads to call for", 70, 1},
              {"Of this material", 90},
              {"Tickets", 150},
              {"Jar test", 90}},
             rows, {8.5, 7.5, 16});
}

void add_lifts(const SheetJob& job, SheetFlow& flow) {
  if (!job.results.estimate.lifts) return;
  std::vector<TableRow> rows;
  for (const Lift& lift : job.results.estimate.lifts->lifts) {
    std::vector<std::string> neat, placed;
    for (const LiftPart& part : lift.parts) {
      neat.push_back(fmt::format("{} {}", part.layer, volume_text(job, part.in_place.cy)));
      placed.push_back(fmt::format("{} {}", part.layer, volume_text(job, part.placed().cy)));
    }
    rows.push_back({bold_cell(std::to_string(lift.number)),
                    {length_text(job, lift.bottom)},
                    bold_cell(length_text(job, lift.top)),
                    {fmt::format("{}", fmt::join(neat, ", "))},
                    {fmt::format("{}", fmt::join(placed, ", "))}});
  }
  flow.gap(8);
  flow.heading("Lifts, lowest first: all of one lift before the next");
  flow.table({{"Lift", 40, 0.5},
              {"from elevation", 80, 1},
              {"up to elevation", 80, 1},
              {fmt::format("Neat, {} in place", bulk_of(job).volume), 240},
              {fmt::format("With what faces and ground take, {} in place", bulk_of(job).volume), 240}},
             rows, {8.5, 7.5, 16});
}

void add_settled_grades(const SheetJob& job, SheetFlow& flow) {
  std::vector<TableRow> rows;
  for (const SettledGrade& grade : job.results.estimate.settled) {
    rows.push_back({bold_cell(grade.layer),
                    {grade.where},
                    bold_cell(length_text(job, grade.placed)),
                    {length_text(job, grade.settled)}});
  }
  if (rows.empty()) return;
  flow.gap(8);
  flow.heading("Placed high, to settle to the plan's grade");
  flow.table({{"Layer", 110}, {"Half way along the bed", 200}, {"place to", 90, 1}, {"settles to", 90, 1}}, rows,
             {8.5, 7.5, 16});
}

void add_site_soil(const SheetJob& job, SheetFlow& flow) {
  std::vector<TableRow> rows;
  for (const SiteSoilResult& soil : job.results.estimate.site_soil) {
    rows.push_back({bold_cell(soil.name),
                    {soil.material},
                    {volume_text(job, soil.bank.cy)},
                    {volume_text(job, soil.loose.cy)},
                    {volume_or_none(job, soil.lost.cy)},
                    {volume_or_none(job, soil.used.cy)},
                    {volume_or_none(job, soil.spread.cy)},
                    {volume_or_none(job, soil.hauled.cy)},
                    bold_cell(soil.loads && soil.loads->count > 0 ? std::to_string(soil.loads->count) : "")});
  }
  if (rows.empty()) return;
  flow.gap(10);
  const std::string loose = fmt::format("LOOSE, {}", bulk_of(job).volume);
  flow.heading("What the site gives");
  flow.table({{"From", 140},
              {"Material", 90},
              {fmt::format("Bank, {}", bulk_of(job).volume), 66, 1},
              {"in all", 66, 1, loose},
              {"lost", 60, 1, loose},
              {"used here", 66, 1, loose},
              {"spread here", 66, 1, loose},
              {"hauled off", 66, 1, loose},
              {"Loads off", 60, 1}},
             rows, {8.5, 7.5, 16});
}

void add_items(const SheetJob& job, SheetFlow& flow) {
  std::vector<TableRow> rows;
  for (const AreaItem& item : job.results.estimate.areas.items) {
    rows.push_back(
        {bold_cell(item.name),
         {fmt::format("{} {}", fixed_text(item.quantity, 0), item.unit)},
         bold_cell(fmt::format(
             "{} {}", fixed_text(item.order, item.order >= 100 || item.order == std::floor(item.order) ? 0 : 1),
             item.order_unit)),
         {item.note}});
  }
  if (rows.empty()) return;
  flow.gap(10);
  flow.heading("By area and length");
  flow.table({{"Item", 120}, {"Measured", 90, 1}, {"Order", 90, 1}, {"How it was reckoned", 400}}, rows,
             {8.5, 7.5, 16});
}

void add_missing(const SheetJob& job, SheetFlow& flow) {
  const Estimate& estimate = job.results.estimate;
  if (estimate.missing.empty()) return;
  flow.gap(8);
  const std::string mark = incomplete_text(estimate);
  flow.paragraph(fmt::format("{}{}ot in it, for the job does not say: {}.", mark, mark.empty() ? "N" : " n",
                             missing_text(estimate)),
                 plain_text(9, true));
}

bool has_order(const Estimate& estimate) {
  return std::any_of(estimate.orders.begin(), estimate.orders.end(),
                     [](const MaterialOrder& order) { return order.needed.has_value(); });
}

// ---- bid -----------------------------------------------------------------------------------------------------------

void add_bid_lines(const BidSheet& bid, SheetFlow& flow) {
  std::vector<TableRow> rows;
  BidKind kind = BidKind::labour;
  for (const BidLine& line : bid.lines) {
    const bool first = rows.empty() || line.kind != kind;
    kind = line.kind;
    rows.push_back({bold_cell(first ? to_text(kind) : ""),
                    {line.name},
                    {fixed_text(line.quantity, 1)},
                    {line.unit},
                    {money(line.rate)},
                    {money(line.amount)}});
  }
  flow.table({{"", 60},
              {"Item", 220},
              {"Quantity", 64, 1},
              {"Unit", 64},
              {fmt::format("Rate, {}", bid.currency), 64, 1},
              {fmt::format("Amount, {}", bid.currency), 76, 1}},
             rows, {8, 7.5, 14});
}

void add_bid_total(const SheetJob& job, const BidSheet& bid, SheetFlow& flow) {
  std::vector<TableRow> rows;
  const auto row = [&](const char* name, double amount) {
    if (amount != 0) rows.push_back({{name}, {money(amount)}});
  };
  row("Material", bid.material);
  row("Items", bid.items);
  row("Haul", bid.haul);
  row("Machines", bid.machine);
  row("Labor", bid.labour);
  rows.push_back({bold_cell("Direct cost"), bold_cell(money(bid.direct))});
  row("Overhead", bid.overhead);
  row("Margin", bid.margin);
  const std::string mark = incomplete_text(job.results.estimate);
  rows.push_back({bold_cell(mark.empty() ? "Price" : "Price, " + mark, 12), bold_cell(money(bid.total), 12)});
  flow.gap(8);
  flow.table({{"Sum", 300}, {fmt::format("Amount, {}", bid.currency), 120, 1}}, rows, {9, 7.5, 15});
  flow.gap(4);
  const bool whole = bid.charged == Charged::whole_loads;
  const std::string text =
      fmt::format("{} {} a {} of fill in place{}; {} machine hours, {} hours of labor. ", bid.currency,
                  money(bid.per_yard / bulk_of(job).of_yard), bulk_of(job).metric ? "cubic meter" : "cubic yard",
                  mark.empty() ? "" : ", " + mark, fixed_text(bid.machine_hours, 1), fixed_text(bid.labour_hours, 1)) +
      fmt::format("Material by weight or volume is charged {}; {}, the price would be {} {}. ",
                  whole ? "by what the whole loads bring" : "as ordered, not by whole loads",
                  whole ? "as ordered" : "by whole loads", bid.currency,
                  money(whole ? bid.total_as_ordered : bid.total_whole_loads)) +
      "From the job's own prices, rates and swell; it stands or falls with them. " + totals_note;
  flow.paragraph(text, plain_text(9));
}

}  // namespace

std::vector<SheetPage> order_pages(const SheetJob& job) {
  if (!has_order(job.results.estimate)) return {};
  const SheetFlow flow = close_flow(job, true, [&](SheetFlow& out) {
    add_orders(job, out);
    add_blends(job, out);
    add_deliveries(job, out);
    add_site_soil(job, out);
    add_items(job, out);
    add_lifts(job, out);
    add_settled_grades(job, out);
    add_missing(job, out);
  });
  return flow_pages(job, "Order", true, flow);
}

std::vector<SheetPage> bid_pages(const SheetJob& job) {
  const std::optional<BidSheet>& bid = job.results.estimate.bid;
  if (!bid) return {};
  const SheetFlow flow = close_flow(job, false, [&](SheetFlow& out) {
    add_bid_lines(*bid, out);
    add_bid_total(job, *bid, out);
    add_missing(job, out);
  });
  return flow_pages(job, "Bid", false, flow);
}

}  // namespace moundwright::io

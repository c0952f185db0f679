// Every yellow cell of quantities.xlsx, changed and emptied one at a time: what LibreOffice then calculates, in every
// cell of every sheet, is what the same change in the job comes to when the estimate is computed again.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <set>

#include "io/quantities_xlsx.h"
#include "priced_site.h"
#include "spreadsheet.h"

namespace moundwright {
namespace {

bool is_number(const std::string& text) {
  return !text.empty() && text.find_first_not_of("0123456789.-+eE") == std::string::npos;
}

constexpr std::array<std::string_view, 6> sheet_names = {"Takeoff", "Order", "Bid", "By lift", "Site soil", "Accuracy"};

/// A change made on the sheet, and the same in the job or in what was computed from it.
struct Trial {
  std::string kind;  // "Order, swell, bank to loose"
  std::vector<CellEdit> edits;
  std::function<void(io::SiteResults&)> in_job;
};

/// How the estimate of a job is changed.
using PlanChange = std::function<void(EstimatePlan&)>;

class Inputs {
 public:
  explicit Inputs(const io::SiteResults& site)
      : site_(site),
        bulk_(bulk_units(site.job.site.unit)),
        xlsx_(io::quantities_xlsx(site)),
        sheets_(written_values({xlsx_}).front()) {
    for (const BookCell& cell : input_cells(xlsx_)) add(cell);
  }

  const std::string& xlsx() const { return xlsx_; }
  const SheetsByName& sheets() const { return sheets_; }
  const std::vector<Trial>& trials() const { return trials_; }
  /// Yellow cells that no trial is known for.
  const std::vector<std::string>& unknown() const { return unknown_; }

 private:
  const io::SiteResults& site_;
  const BulkUnits& bulk_;
  std::string xlsx_;
  SheetsByName sheets_;
  std::vector<Trial> trials_;
  std::vector<std::string> unknown_;

  const EstimatePlan& plan() const { return site_.job.site.estimate; }

  static CellEdit edit_of(const BookCell& cell, const std::string& text, bool number = true) {
    return {cell.sheet, cell_name(cell.row, cell.column), text, number};
  }
  void put(const std::string& kind, std::vector<CellEdit> edits, PlanChange change) {
    trials_.push_back({kind, std::move(edits), [change](io::SiteResults& site) {
                         change(site.job.site.estimate);
                         recompute(site);
                       }});
  }
  void put_number(const std::string& kind, const BookCell& cell, double value,
                  const std::function<void(EstimatePlan&, std::optional<double>)>& change) {
    put(kind, {edit_of(cell, fmt::format("{}", value))}, [=](EstimatePlan& p) { change(p, value); });
  }
  void put_empty(const std::string& kind, const BookCell& cell,
                 const std::function<void(EstimatePlan&, std::optional<double>)>& change) {
    put(kind, {edit_of(cell, "")}, [=](EstimatePlan& p) { change(p, std::nullopt); });
  }

  void add(const BookCell& cell) {
    const std::size_t before = trials_.size();
    const std::string sheet(sheet_names.at(static_cast<std::size_t>(cell.sheet) - 1));
    const SheetCells& cells = sheets_.at(sheet);
    const std::string now = cell_text(cells, cell.row, cell.column), label = cell_text(cells, cell.row, 0);
    if (sheet == "Order") add_order(cell, cells, label, now);
    if (sheet == "Site soil") add_soil(cell, label, now);
    if (sheet == "Bid") add_bid(cell, cells, label, now);
    if (trials_.size() == before) unknown_.push_back(sheet + " " + cell_name(cell.row, cell.column) + ", " + label);
  }

  // ---- order
  // ---------------------------------------------------------------------------------------------------------

  void add_order(const BookCell& cell, const SheetCells& cells, const std::string& label, const std::string& now) {
    const std::size_t trucks = row_of(cells, "trucks"), blends = row_of(cells, "blends, by loose volume");
    if (label == "material is charged") {
      const bool whole = now == "whole loads";
      return put("Order, " + label, {edit_of(cell, whole ? "as ordered" : "whole loads", false)},
                 [=](EstimatePlan& p) { p.bid->charged = whole ? Charged::as_ordered : Charged::whole_loads; });
    }
    if (cell.row > blends) return add_blend(cell, cell.row - blends - 1);
    if (cell.row > trucks) return add_truck(cell, cell.row - trucks - 1, now);
    add_material(cell, cells, label, now);
  }

  void add_material(const BookCell& cell, const SheetCells& cells, const std::string& label, const std::string& now) {
    const std::string name = cell_text(cells, 3, cell.column), kind = "Order, " + label;
    const auto of = [name](EstimatePlan& p) -> Material& {
      const auto at =
          std::find_if(p.materials.begin(), p.materials.end(), [&](const Material& m) { return m.name == name; });
      return *at;
    };
    const auto optional = [&](std::optional<double> Material::*field, double fresh, double factor) {
      const auto change = [=](EstimatePlan& p, std::optional<double> v) {
        of(p).*field = v ? std::optional(*v / factor) : std::nullopt;
      };
      put_number(kind, cell, is_number(now) ? 1.006 * std::stod(now) : fresh * factor, change);
      put_number(kind, cell, is_number(now) ? 1.3 * std::stod(now) : 1.2 * fresh * factor, change);
      if (is_number(now)) put_empty(kind, cell, change);
    };
    const auto part = [&](double Material::*field) {
      const auto change = [=](EstimatePlan& p, std::optional<double> v) { of(p).*field = v.value_or(0); };
      put_number(kind, cell, 0.15, change);
      put_empty(kind, cell, change);
    };
    if (label == "swell, bank to loose") return optional(&Material::swell, 0.2, 1);
    if (label == "shrink, bank to compacted") return optional(&Material::shrink, 0.08, 1);
    if (label == "loose weight, dry") return optional(&Material::loose_weight, 2600, bulk_.of_density);
    if (label == "bank weight, dry") return optional(&Material::bank_weight, 2950, bulk_.of_density);
    if (label == "compacted weight, dry") return optional(&Material::compacted_weight, 3200, bulk_.of_density);
    if (label == "moisture as delivered") return part(&Material::moisture);
    if (label == "waste") return part(&Material::waste);
    if (label == "haul, where the price is at the pit") return optional(&Material::haul_per_load, 45, 1);
    if (label == "truck") {
      for (const char* truck : {"small", "tri-axle", ""}) {
        if (now != truck) put(kind, {edit_of(cell, truck, false)}, [=](EstimatePlan& p) { of(p).truck = truck; });
      }
    }
    if (label == "price") {
      const BookCell by = {cell.sheet, cell.row + 1, cell.column};
      put(kind, {edit_of(cell, "23.5"), edit_of(by, "t", false)}, [=](EstimatePlan& p) {
        of(p).price = Price{23.5, PriceUnit::tonne};
      });
      if (is_number(now)) {
        put(kind, {edit_of(cell, ""), edit_of(by, "")}, [=](EstimatePlan& p) { of(p).price.reset(); });
        put_number(kind, cell, 41.25, [=](EstimatePlan& p, std::optional<double> v) { of(p).price->amount = *v; });
      }
    }
    if (label == "price is by") {
      const BookCell price = {cell.sheet, cell.row - 1, cell.column};
      for (const PriceUnit unit :
           {PriceUnit::ton, PriceUnit::tonne, PriceUnit::load, PriceUnit::loose_yard, PriceUnit::loose_cubic_metre}) {
        put(kind, {edit_of(cell, to_text(unit), false), edit_of(price, "17.25")}, [=](EstimatePlan& p) {
          of(p).price = Price{17.25, unit};
        });
      }
    }
  }

  void add_truck(const BookCell& cell, std::size_t i, const std::string& now) {
    if (cell.column == 0) {
      return put("truck, name", {edit_of(cell, "another", false)},
                 [=](EstimatePlan& p) { p.trucks.at(i).name = "another"; });
    }
    const auto change = [this, i, column = cell.column](EstimatePlan& p, std::optional<double> v) {
      Truck& truck = p.trucks.at(i);
      if (column == 1) truck.tons = v ? std::optional(*v / bulk_.of_ton) : std::nullopt;
      if (column == 2) truck.yards = v ? std::optional(LooseYards{*v / bulk_.of_yard}) : std::nullopt;
      if (column == 3) truck.haul_off_per_load = v;
    };
    const std::string kind = fmt::format("truck, column {}", cell.column);
    put_number(kind, cell, is_number(now) ? 0.7 * std::stod(now) : 11.0, change);
    if (is_number(now)) put_empty(kind, cell, change);
  }

  void add_blend(const BookCell& cell, std::size_t part) {
    const auto change = [=](EstimatePlan& p, std::optional<double> v) {
      cell.column == 2 ? p.blends.at(0).parts.at(part).parts = v.value_or(0)
                       : p.blends.at(0).mixing_shrink = v.value_or(0);
    };
    put_number(fmt::format("blend, column {}", cell.column), cell, 0.25, change);
    put_empty(fmt::format("blend, column {}", cell.column), cell, change);
  }

  // ---- site soil
  // -----------------------------------------------------------------------------------------------------

  void add_soil(const BookCell& cell, const std::string& label, const std::string& now) {
    const auto soil = [label](EstimatePlan& p) -> SiteSoil& {
      return *std::find_if(p.site_soil.begin(), p.site_soil.end(), [&](const SiteSoil& s) { return s.name == label; });
    };
    const auto material = [soil](EstimatePlan& p) -> Material& {
      const std::string name = soil(p).material;
      return *std::find_if(p.materials.begin(), p.materials.end(), [&](const Material& m) { return m.name == name; });
    };
    const std::string kind = fmt::format("Site soil, column {}", cell.column);
    switch (cell.column) {
      case 2:
        return put_number(kind, cell, 1.9 * std::stod(now), [=, this](EstimatePlan& p, std::optional<double> v) {
          soil(p).bank = BankYards{*v / bulk_.of_yard};
        });
      case 3: {  // of a material that has no column on the order
        const auto change = [=](EstimatePlan& p, std::optional<double> v) {
          material(p).swell = v ? std::optional(*v - 1) : std::nullopt;
        };
        put_number(kind, cell, 1.45, change);
        if (is_number(now)) put_empty(kind, cell, change);
        return;
      }
      case 5: {
        const auto change = [=](EstimatePlan& p, std::optional<double> v) { soil(p).loss = v.value_or(0); };
        put_number(kind, cell, 0.21, change);
        return put_empty(kind, cell, change);
      }
      case 12:
        for (const char* truck : {"small", "none of these"}) {
          put(kind, {edit_of(cell, truck, false)}, [=](EstimatePlan& p) { soil(p).truck = truck; });
        }
        return;
      case 13: {
        const double dry = bulk_.weight_of / bulk_.of_density;
        put_number(kind, cell, 1.2 * std::stod(now), [=](EstimatePlan& p, std::optional<double> v) {
          material(p).loose_weight = *v * dry / (1 + material(p).moisture);
        });
        return;
      }
      default:
        return;
    }
  }

  // ---- bid
  // -----------------------------------------------------------------------------------------------------------

  void add_bid(const BookCell& cell, const SheetCells& cells, const std::string& label, const std::string& now) {
    const std::size_t items = row_of(cells, "items by area and length"), rates = row_of(cells, "machines and workers"),
                      tasks = row_of(cells, "tasks");
    const std::string kind = "Bid, " + label;
    if (cell.row > tasks) return add_task(cell, cell.row - tasks - 1, now);
    if (cell.row > rates) return add_rate(cell, label);
    if (cell.row > items) return cell.column == 1 ? add_item_order(cell, label, now) : add_item_price(cell, label, now);
    const auto change = [label](EstimatePlan& p, std::optional<double> v) {
      (label.starts_with("overhead") ? p.bid->overhead : p.bid->margin) = v.value_or(0);
    };
    put_number(kind, cell, 0.25, change);
    put_empty(kind, cell, change);
  }

  void add_task(const BookCell& cell, std::size_t i, const std::string& now) {
    const auto change = [this, i, column = cell.column](EstimatePlan& p, std::optional<double> v) {
      Task& task = p.bid->tasks.at(i);
      if (column == 4) task.hours = v;
      if (column == 3 && task.yards_per_hour) task.yards_per_hour = *v / bulk_.of_yard;
      if (column == 3 && task.area_per_hour) task.area_per_hour = v;
    };
    put_number(fmt::format("task, column {}", cell.column), cell, 1.5 * std::stod(now), change);
  }

  void add_rate(const BookCell& cell, const std::string& name) {
    put_number("rate", cell, 77.7, [=](EstimatePlan& p, std::optional<double> v) {
      for (auto* rates : {&p.bid->machines, &p.bid->workers}) {
        for (HourRate& rate : *rates) {
          if (rate.name == name) rate.per_hour = *v;
        }
      }
    });
  }

  void add_item_price(const BookCell& cell, const std::string& name, const std::string& now) {
    const bool metric = bulk_.metric;
    const auto change = [=](EstimatePlan& p, std::optional<double> v) {
      const auto set = [&](std::optional<Price>& price, PriceUnit unit) {
        price = v ? std::optional(Price{*v, unit}) : std::nullopt;
      };
      const PriceUnit by_length = metric ? PriceUnit::metre : PriceUnit::foot;
      if (name == "scarify") set(p.areas.scarify, metric ? PriceUnit::square_metre : PriceUnit::square_foot);
      if (name == "fabric") set(p.areas.fabric->price, PriceUnit::roll);
      if (name == "seed") set(p.areas.spread.at(0).price, PriceUnit::pound);
      if (name == "silt fence") set(p.areas.fence->price, by_length);
      if (name == "force main") set(p.areas.pipes.at(0).price, by_length);
    };
    put_number("item, price", cell, 6.5, change);
    if (is_number(now)) put_empty("item, price", cell, change);
  }

  /// The order is computed, and no key of the job: its line of the bid is changed, and the bid added up again.
  void add_item_order(const BookCell& cell, const std::string& name, const std::string& now) {
    const double bought = 3 + 2 * std::stod(now);
    trials_.push_back({"item, order", {edit_of(cell, fmt::format("{}", bought))}, [=](io::SiteResults& site) {
                         Estimate& e = site.estimate;
                         for (AreaItem& item : e.areas.items) {
                           if (item.name != name) continue;
                           item.cost *= bought / item.order;
                           item.order = bought;
                         }
                         MaterialCost material;
                         for (const MaterialOrder& order : e.orders) {
                           material.as_ordered += order.costs.as_ordered,
                               material.whole_loads += order.costs.whole_loads;
                         }
                         std::vector<BidLine> lines = e.bid->lines;
                         for (BidLine& line : lines) {
                           if (line.kind != BidKind::item || line.name != name) continue;
                           line.quantity = bought, line.amount = bought * line.rate;
                         }
                         e.bid = add_up(lines, *site.job.site.estimate.bid, {site.found().takeoff.fill_cy}, material);
                       }});
  }
};

/// Orders whose yards are known, or all of them. Only what is known is delivered; and what only a blend takes has no
/// order where the blend is not known.
std::set<std::string> orders_of(const io::SiteResults& site, bool known) {
  std::set<std::string> names;
  for (const MaterialOrder& order : site.estimate.orders) {
    if (!known || order.needed) names.insert(order.material);
  }
  return names;
}
/// A number as LibreOffice gives it: percent with their mark.
std::optional<double> number_of(std::string text) {
  const bool percent = text.ends_with('%');
  if (percent) text.pop_back();
  if (!is_number(text)) return std::nullopt;
  return std::stod(text) / (percent ? 100 : 1);
}

bool is_same(const std::string& a, const std::string& b) {
  const std::optional<double> one = number_of(a), other = number_of(b);
  if (!one || !other) return a == b;
  return std::abs(*one - *other) <= 1e-8 * (1 + std::abs(*other));
}

/// All but the cells that were edited, down to a row.
void expect_same(const std::string& name, const SheetCells& is, const SheetCells& wanted,
                 const std::vector<CellEdit>& edits, std::size_t last_row) {
  const auto is_edited = [&](std::size_t row, std::size_t column) {
    return std::any_of(edits.begin(), edits.end(), [&](const CellEdit& edit) {
      return sheet_names.at(static_cast<std::size_t>(edit.sheet) - 1) == name && edit.cell == cell_name(row, column);
    });
  };
  for (std::size_t row = 0; row < std::min(last_row, std::max(is.size(), wanted.size())); ++row) {
    for (std::size_t column = 0; column < 20; ++column) {
      if (is_edited(row, column)) continue;
      const std::string a = cell_text(is, row, column), b = cell_text(wanted, row, column);
      EXPECT_TRUE(is_same(a, b)) << name << " " << cell_name(row, column) << " (" << cell_text(wanted, row, 0)
                                 << ") is \"" << a << "\", the estimate says \"" << b << "\"";
    }
  }
}

void expect_every_input_moves_all_as_the_job_would(const io::SiteResults& site) {
  const Inputs inputs(site);
  EXPECT_TRUE(inputs.unknown().empty()) << fmt::format("{}", fmt::join(inputs.unknown(), "\n"));
  const std::vector<Trial>& trials = inputs.trials();
  EXPECT_GT(trials.size(), 100U);
  std::vector<std::vector<CellEdit>> edits;
  std::vector<std::string> wanted;
  std::vector<bool> same_orders, same_deliveries;
  for (const Trial& trial : trials) {
    edits.push_back(trial.edits);
    io::SiteResults changed = site;
    trial.in_job(changed);
    wanted.push_back(io::quantities_xlsx(changed));
    same_orders.push_back(orders_of(changed, false) == orders_of(site, false));
    same_deliveries.push_back(orders_of(changed, true) == orders_of(site, true));
  }
  const std::vector<SheetsByName> calculated =
      sheets_in_libreoffice(with_edits(inputs.xlsx(), edits), Recalculate::always);
  const std::vector<SheetsByName> written = written_values(wanted);
  std::set<std::string> kinds, moving;
  for (std::size_t i = 0; i < trials.size(); ++i) {
    const std::string edit = trials[i].edits.front().cell + " = " + trials[i].edits.front().text;
    SCOPED_TRACE(trials[i].kind + ", " + edit);
    const auto expect_same_sheet = [&](const std::string& name, std::size_t last_row) {
      expect_same(name, calculated[i].at(name), written[i].at(name), trials[i].edits, last_row);
    };
    if (!same_orders[i]) {
      expect_same_sheet("Bid", row_of(written[i].at("Bid"), "line"));  // the price, and what it lacks
      continue;
    }
    for (const auto& [name, sheet] : written[i]) {
      if (name != "By lift" || same_deliveries[i]) expect_same_sheet(name, 1000);
    }
    kinds.insert(trials[i].kind);
    const SheetCells &bid = calculated[i].at("Bid"), &before = inputs.sheets().at("Bid");
    for (std::size_t row = 0; row < bid.size(); ++row) {  // an amount, or what stands beside the price
      for (const std::size_t column : {4U, 5U}) {
        if (!is_same(cell_text(bid, row, column), cell_text(before, row, column))) moving.insert(trials[i].kind);
      }
    }
  }
  EXPECT_EQ(kinds, moving) << "a yellow cell that the bid does not hang on";
}

TEST(QuantitiesXlsxInputs, MoveAllAsTheJobWould) { expect_every_input_moves_all_as_the_job_would(priced_site()); }

TEST(QuantitiesXlsxInputs, MoveAllAsTheJobWouldInMetres) {
  expect_every_input_moves_all_as_the_job_would(metric_site());
}

}  // namespace
}  // namespace moundwright

// quantities.xlsx calculated by LibreOffice: its formulas come to what the estimate comes to, also once an input is
// changed.
#include "io/quantities_xlsx.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "priced_site.h"
#include "spreadsheet.h"
#include "test_paths.h"

namespace moundwright {
namespace {

/// A figure, or one in percent: a cell of that format is given with its sign.
bool is_number(const std::string& text) {
  const std::size_t end = text.find_first_not_of("0123456789.-+eE");
  return !text.empty() && (end == std::string::npos || (end > 0 && end + 1 == text.size() && text.back() == '%'));
}

class QuantitiesXlsx : public testing::Test {
 protected:
  io::SiteResults site = priced_site();
  std::string xlsx = io::quantities_xlsx(site);
};

void expect_formulas_come_to_their_values(const std::string& xlsx) {
  const SheetsByName written = sheets_in_libreoffice(xlsx, Recalculate::never);
  const SheetsByName reckoned = sheets_in_libreoffice(xlsx, Recalculate::always);
  ASSERT_EQ(written.size(), 6u);
  std::size_t numbers = 0;
  for (const auto& [name, sheet] : written) {
    const SheetCells& other = reckoned.at(name);
    ASSERT_EQ(sheet.size(), other.size()) << name;
    for (std::size_t row = 0; row < sheet.size(); ++row) {
      ASSERT_EQ(sheet[row].size(), other[row].size()) << name << " row " << row + 1;
      for (std::size_t column = 0; column < sheet[row].size(); ++column) {
        const std::string &was = sheet[row][column], &is = other[row][column];
        if (is_number(was) && is_number(is)) {
          EXPECT_NEAR(std::stod(is), std::stod(was), 1e-9 * (1 + std::abs(std::stod(was))))
              << name << " " << cell_name(row, column);
          ++numbers;
        } else {
          EXPECT_EQ(is, was) << name << " " << cell_name(row, column);
        }
      }
    }
  }
  EXPECT_GT(numbers, 300u);
}

TEST_F(QuantitiesXlsx, EveryFormulaComesToTheValueWrittenBesideIt) {
  expect_formulas_come_to_their_values(xlsx);
  const SheetsByName written = sheets_in_libreoffice(xlsx, Recalculate::never);
  // And the values written are those that were read: an input changed underneath them does not show.
  const SheetCells& bid = written.at("Bid");
  const std::string margin = cell_name(row_of(bid, "margin, of the price"), 3);
  EXPECT_EQ(sheets_in_libreoffice(with_cell(xlsx, 3, margin, 0.25), Recalculate::never).at("Bid")[row_of(bid, "price")],
            bid[row_of(bid, "price")]);
}

TEST(QuantitiesXlsxMetric, IsInCubicMetresAndTonnesAndComesToTheEstimate) {
  const io::SiteResults metric = metric_site();
  const std::string xlsx = io::quantities_xlsx(metric);
  expect_formulas_come_to_their_values(xlsx);
  const SheetsByName sheets = sheets_in_libreoffice(xlsx, Recalculate::always);
  const SheetCells &order = sheets.at("Order"), &bid = sheets.at("Bid");
  for (const MaterialOrder& m : metric.estimate.orders) {
    const std::size_t column = column_of(order, 3, m.material);
    EXPECT_NEAR(std::stod(order[row_of(order, "needed")][column]), m.needed.value().cy * 0.764554857984, 1e-6);
    EXPECT_NEAR(std::stod(order[row_of(order, "cost")][column]), m.cost, 1e-6) << m.material;
  }
  EXPECT_EQ(order[row_of(order, "needed")][1], "m3 loose");
  EXPECT_EQ(order[row_of(order, "charged for") + 1][1], "t");
  EXPECT_NEAR(std::stod(bid[row_of(bid, "price")][4]), metric.estimate.bid->total, 1e-6);
  for (const auto& [name, sheet] : sheets) {
    for (const auto& row : sheet) {
      for (const std::string& cell : row) EXPECT_EQ(cell.find("cu yd"), std::string::npos) << name << ": " << cell;
    }
  }
}

TEST_F(QuantitiesXlsx, SaysWhatTheEstimateSays) {
  const SheetsByName sheets = sheets_in_libreoffice(xlsx, Recalculate::always);
  const SheetCells &order = sheets.at("Order"), &bid = sheets.at("Bid"), &takeoff = sheets.at("Takeoff");
  EXPECT_NEAR(std::stod(takeoff[row_of(takeoff, "total fill")][3]), site.found().takeoff.fill_cy, 1e-9);
  for (const MaterialOrder& m : site.estimate.orders) {
    const std::size_t column = column_of(order, 3, m.material);
    EXPECT_NEAR(std::stod(order[row_of(order, "needed")][column]), m.needed.value().cy, 1e-9) << m.material;
    if (m.loads) {
      EXPECT_EQ(std::stoi(order[row_of(order, "loads to call for")][column]), m.loads->count) << m.material;
    }
    EXPECT_NEAR(std::stod(order[row_of(order, "cost")][column]), m.cost, 1e-6) << m.material;
  }
  EXPECT_NEAR(std::stod(bid[row_of(bid, "price")][4]), site.estimate.bid->total, 1e-6);
}

/// An input changed on the sheet, and the same in the job.
struct Change {
  const char* name;
  int sheet;
  const char* sheet_name;
  const char* table;  // its heading in column 0; empty: the first row of that name
  const char* row;
  const char* column;  // a heading in row 4, or a number
  double value;
  std::function<void(EstimatePlan&)> in_job;
};

void PrintTo(const Change& change, std::ostream* out) { *out << change.name; }

class QuantitiesXlsxChanged : public testing::TestWithParam<Change> {};

TEST_P(QuantitiesXlsxChanged, MovesTheBidAsTheJobWould) {
  const Change& change = GetParam();
  io::SiteResults site = priced_site();
  const std::string xlsx = io::quantities_xlsx(site);
  const double before = site.estimate.bid->total;
  const SheetCells cells = sheets_in_libreoffice(xlsx, Recalculate::never).at(change.sheet_name);
  const std::string heading = change.column;
  const std::size_t column = is_number(heading) ? std::stoul(heading) : column_of(cells, 3, heading);
  const std::string table = change.table;
  const std::size_t from = table.empty() ? 0 : row_of(cells, table) + 1;
  const std::string cell = cell_name(row_of(cells, change.row, from), column);
  const SheetsByName changed =
      sheets_in_libreoffice(with_cell(xlsx, change.sheet, cell, change.value), Recalculate::always);
  change.in_job(site.job.site.estimate);
  recompute(site);
  const SheetCells& bid = changed.at("Bid");
  EXPECT_NEAR(std::stod(bid[row_of(bid, "price")][4]), site.estimate.bid->total, 0.001);
  EXPECT_GT(std::abs(site.estimate.bid->total - before), 1.0);
}

INSTANTIATE_TEST_SUITE_P(Inputs, QuantitiesXlsxChanged,
                         testing::Values(Change{"swell", 2, "Order", "", "swell, bank to loose", "shell sand", 0.45,
                                                [](EstimatePlan& plan) { plan.materials[1].swell = 0.45; }},
                                         Change{"waste_of_the_blend", 2, "Order", "", "waste", "sandy loam", 0.20,
                                                [](EstimatePlan& plan) { plan.materials[5].waste = 0.20; }},
                                         Change{"price", 2, "Order", "", "price", "washed stone", 41.25,
                                                [](EstimatePlan& plan) { plan.materials[2].price->amount = 41.25; }},
                                         Change{"truck", 2, "Order", "", "small", "2", 5.0,
                                                [](EstimatePlan& plan) { plan.trucks[1].yards = LooseYards{5.0}; }},
                                         Change{"pit", 5, "Site soil", "", "pits' topsoil", "2", 60.0,
                                                [](EstimatePlan& plan) { plan.site_soil[0].bank = BankYards{60.0}; }},
                                         Change{"price_where_there_was_none", 3, "Bid", "items by area and length",
                                                "scarify", "3", 0.05,
                                                [](EstimatePlan& plan) {
                                                  plan.areas.scarify = Price{0.05, PriceUnit::square_foot};
                                                }},
                                         Change{"margin", 3, "Bid", "", "margin, of the price", "3", 0.25,
                                                [](EstimatePlan& plan) { plan.bid->margin = 0.25; }}),
                         [](const auto& info) { return std::string(info.param.name); });

TEST_F(QuantitiesXlsx, ComesOutTheSameTwice) { EXPECT_EQ(io::quantities_xlsx(priced_site()), xlsx); }

TEST(QuantitiesXlsxBare, HasTheTakeoffAndEmptyInputsWhereTheJobHasNoPrices) {
  io::SiteResults site = io::compute_site(std::string(MOUNDWRIGHT_SURVEYS) + "/ridgeback.toml");
  site.job.site.estimate = {};
  recompute(site);
  const SheetsByName sheets = sheets_in_libreoffice(io::quantities_xlsx(site), Recalculate::always);
  ASSERT_EQ(sheets.size(), 2u);
  const SheetCells& order = sheets.at("Order");
  EXPECT_EQ(order[row_of(order, "needed")][2], "");
  for (const auto& row : order) {
    for (const std::string& cell : row) EXPECT_FALSE(cell.starts_with("#") || cell.starts_with("Err:")) << cell;
  }
}

}  // namespace
}  // namespace moundwright

// Fields that no spreadsheet runs, and that our own reader takes back as they were.
#include "io/csv_write.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "io/csv_text.h"
#include "io/quantities_csv.h"
#include "io/results.h"
#include "io/stakes_csv.h"
#include "test_paths.h"

namespace moundwright::io {
namespace {

using testing::HasSubstr;
using testing::Not;

struct Written {
  std::string text, field;
};

// The signs that begin a formula, and the tab and the return that may stand before one: OWASP, "CSV Injection".
const std::vector<Written> written = {{"=1+1", "'=1+1"},
                                      {"+SUM(A1)", "'+SUM(A1)"},
                                      {"-2+3", "'-2+3"},
                                      {"-0+05.0", "'-0+05.0"},
                                      {"@SUM(1,2)", "\"'@SUM(1,2)\""},
                                      {"=HYPERLINK(\"x\")", "\"'=HYPERLINK(\"\"x\"\")\""},
                                      {"\t=1", "'\t=1"},
                                      {"\r=1", "\"'\r=1\""},
                                      {"  =1", "\"'  =1\""},
                                      {"'=1", "''=1"},
                                      {"-", "'-"},
                                      {"+", "'+"},
                                      {"-inf", "'-inf"},
                                      // Numbers and other texts stay as they are.
                                      {"-1.25", "-1.25"},
                                      {"+3", "+3"},
                                      {"-1e-3", "-1e-3"},
                                      {"0+75.0", "0+75.0"},
                                      {"'oak", "'oak"},
                                      {"'-4.5", "'-4.5"},
                                      {"oak = BM2", "oak = BM2"},
                                      {"oak, 24 in", "\"oak, 24 in\""},
                                      {"", ""}};

TEST(CsvWrite, KeepsASpreadsheetFromRunningAText) {
  for (const Written& each : written) EXPECT_EQ(csv_field(each.text), each.field) << each.text;
}

TEST(CsvWrite, IsReadBackAsItWas) {
  for (const Written& each : written) {
    if (each.text.empty() || each.text.find_first_of("\t\r") != std::string::npos) continue;
    const std::string csv = "x," + csv_field(each.text) + "\n";
    CsvReader reader(csv, ',');
    std::vector<CsvField> fields;
    ASSERT_TRUE(reader.next(fields));
    ASSERT_EQ(fields.size(), 2U) << each.text;
    EXPECT_EQ(fields[1].text, each.text);
  }
  for (const Written& each : written) EXPECT_EQ(without_guard(each.text), each.text == "'=1" ? "=1" : each.text);
}

/// Every field of a table, as a spreadsheet would take it: it begins no formula unless it is a number.
void expect_nothing_runs(const std::string& csv) {
  CsvReader reader(csv, ',');
  std::vector<CsvField> fields;
  std::size_t guarded = 0;
  while (reader.next(fields)) {
    for (const CsvField& field : fields) guarded += csv_field(field.text) != field.text ? 1 : 0;
  }
  EXPECT_GT(guarded, 0U);
  for (const char* raw : {",=", "\n=", ",\"=", ",@", ",\"@", "\n@"}) EXPECT_THAT(csv, Not(HasSubstr(raw)));
}

TEST(CsvWrite, NoNameOfAJobRunsInATableOfThePacket) {
  SiteResults site = compute_site(MOUNDWRIGHT_SURVEYS "/fernhollow.toml");
  for (TakeoffItem& item : site.mounds[0].found.takeoff.fill)
    item.name = "=1+" + item.name, item.material = "@" + item.material;
  for (MaterialOrder& order : site.estimate.orders) order.material = "=cmd|" + order.material;
  for (BidLine& line : site.estimate.bid->lines) line.name = "=2*" + line.name;
  expect_nothing_runs(quantities_csv(site.found().takeoff, site.estimate, site.job.site.unit));
  for (Stake& stake : site.mounds[0].found.stakes.stakes)
    stake.what = "=" + stake.what, stake.station = "-" + stake.station;
  const std::string stakes = stakes_csv(site.found().stakes, site.job.site.unit);
  expect_nothing_runs(stakes);
  EXPECT_THAT(stakes, HasSubstr(",'-"));
}

}  // namespace
}  // namespace moundwright::io

// What a packet prints adds up: a person with a pencil gets each difference from the two figures beside it.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <random>

#include "geom/printed.h"
#include "io/csv_text.h"
#include "io/field_html.h"
#include "io/points_csv.h"
#include "io/quantities_csv.h"
#include "io/stakes_csv.h"
#include "made_jobs.h"

namespace moundwright::io {
namespace {

using testing::HasSubstr;

using Rows = std::vector<std::vector<std::string>>;

Rows rows_of(const std::string& csv) {
  CsvReader reader(csv, ',');
  Rows rows;
  for (std::vector<CsvField> fields; reader.next(fields);) {
    std::vector<std::string>& row = rows.emplace_back();
    for (const CsvField& field : fields) row.emplace_back(field.text);
  }
  return rows;
}

std::size_t column_of(const Rows& rows, const std::string& name) {
  const auto at = std::find(rows[0].begin(), rows[0].end(), name);
  if (at == rows[0].end()) throw std::runtime_error("no column " + name);
  return static_cast<std::size_t>(at - rows[0].begin());
}

/// Slopes and heights in eighths and sixteenths, so that many figures lie half way between two printed ones.
SiteResults lot_of_eighths(unsigned seed, const char* units) {
  std::mt19937_64 random(seed);
  const auto eighths = [&](int least, int most) {
    return 0.125 * std::uniform_int_distribution<int>(8 * least, 8 * most)(random);
  };
  const double fall = 0.0625 * std::uniform_int_distribution<int>(32, 160)(random), base = eighths(-20, 900);
  const Scratch folder;
  folder.put("ground.csv", fmt::format("point,northing,easting,elevation,description\n1,4900,4900,{0},GS\n"
                                       "2,4900,5100,{0},GS\n3,5100,4900,{1},GS\n4,5100,5100,{1},GS\n",
                                       base + fall, base - fall));
  return compute_site(folder.put(
      "job.toml",
      fmt::format("[job]\ntitle = \"eighths\"\nunits = \"{}\"\n[ground]\nshots = \"ground.csv\"\n[mound]\n"
                  "center = {{ n = 5000.0, e = 5000.0 }}\nazimuth = 90.0\nbed = {{ length = 40.0, width = 8.0 }}\n"
                  "bottom = {{ elevation = {:.4f} }}\ndownslope = 0.0\n"
                  "[[layer]]\nname = \"sand\"\ntop = 0.0\nbeyond = 0.0\nside = 0.0\n"
                  "[[layer]]\nname = \"stone\"\ntop = 0.75\nbeyond = 0.0\nside = 0.0\n"
                  "[[layer]]\nname = \"cover\"\ntop = {:.4f}\nbeyond = 3.0\nside = 3.0\n",
                  units, base + 0.08 * fall + eighths(1, 2), 0.75 + eighths(1, 2) - 0.125)));
}

/// In units of the last printed digit.
long long digits_of(const std::string& text, int decimals) {
  return std::llround(std::stod(text) * std::pow(10.0, decimals));
}

TEST(PrintedFigures, CutAndFillInStakesCsvIsGradeLessGround) {
  std::size_t held = 0, halves = 0;
  for (unsigned seed = 1; seed <= 60; ++seed) {
    const char* units = seed % 3 == 0 ? "m" : "ft";
    const SiteResults site = lot_of_eighths(seed, units);
    const int decimals = length_decimals(site.job.site.unit);
    const Rows rows = rows_of(stakes_csv(site.found().stakes, site.job.site.unit));
    const std::size_t grade = column_of(rows, "elevation"), ground = column_of(rows, "ground_approx"),
                      fill = column_of(rows, "cut_fill");
    for (std::size_t i = 1; i < rows.size(); ++i) {
      if (rows[i][grade].empty() || rows[i][ground].empty()) continue;
      const long long wanted = digits_of(rows[i][grade], decimals) - digits_of(rows[i][ground], decimals);
      const std::string& told = rows[i][fill];
      const long long sign = told.starts_with("C ") ? -1 : 1;
      EXPECT_EQ(sign * digits_of(told.substr(told.find_first_of("0123456789")), decimals), wanted)
          << rows[i][grade] << " over " << rows[i][ground] << " says " << told << ", lot " << seed;
      ++held;
      const double thousands = *site.found().stakes.stakes[i - 1].design * 1000;
      halves += std::llround(thousands) % 10 == 5 ? 1 : 0;
    }
  }
  EXPECT_GT(held, 1000U);
  EXPECT_GT(halves, 100U) << "the lots are made for figures half way between two printed ones";
}

TEST(PrintedFigures, AStakeHasOneGradeInEveryFile) {
  for (unsigned seed = 1; seed <= 12; ++seed) {
    const SiteResults site = lot_of_eighths(seed, "ft");
    const Rows stakes = rows_of(stakes_csv(site.found().stakes, site.job.site.unit)),
               points = rows_of(points_csv(site));
    const auto json = nlohmann::json::parse(field_json(site));
    for (std::size_t i = 1; i < stakes.size(); ++i) {
      EXPECT_EQ(points[i - 1][3], stakes[i][3]) << "stake " << stakes[i][0];
      if (stakes[i][3].empty()) continue;
      EXPECT_EQ(fixed_text(json["stakes"][i - 1]["design"].get<double>(), 2), stakes[i][3]);
    }
  }
}

// A sum of rounded rows strays from a rounded sum: where a total is printed, so is that.
TEST(PrintedFigures, TotalsAreRoundedOnceAndSaySo) {
  const SiteResults& site = demo_results("fernhollow");
  const Rows rows = rows_of(quantities_csv(site.found().takeoff, site.estimate, site.job.site.unit));
  const std::size_t yards = column_of(rows, "in_place_cy"), note = column_of(rows, "note");
  double sum = 0;
  int layers = 0;
  for (const std::vector<std::string>& row : rows) {
    if (row[0] == "fill") sum += std::stod(row[yards]), ++layers;
    if (row[0] != "total") continue;
    EXPECT_THAT(row[note], HasSubstr("Totals are rounded once, from exact figures"));
    if (row[1] != "fill") continue;
    EXPECT_NEAR(std::stod(row[yards]), sum, 0.005 * (layers + 1) + 1e-9);
  }
  EXPECT_EQ(layers, 5);
}

}  // namespace
}  // namespace moundwright::io

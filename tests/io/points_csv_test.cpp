#include "io/points_csv.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>
#include <sstream>

#include "io/known_marks.h"
#include "io/shots_csv.h"
#include "made_jobs.h"

namespace moundwright::io {
namespace {

std::vector<std::vector<std::string>> rows_of(const std::string& csv) {
  std::vector<std::vector<std::string>> rows;
  std::istringstream lines(csv);
  for (std::string line; std::getline(lines, line);) {
    std::vector<std::string>& row = rows.emplace_back(1);
    for (const char c : line) c == ',' ? void(row.emplace_back()) : row.back().push_back(c);
  }
  return rows;
}

class PointsCsv : public testing::TestWithParam<const char*> {
 protected:
  SiteResults site = demo_results(GetParam());
  std::vector<std::vector<std::string>> rows = rows_of(points_csv(site));
};

INSTANTIATE_TEST_SUITE_P(Surveys, PointsCsv, testing::Values("fernhollow", "ridgeback"),
                         [](const auto& info) { return std::string(info.param); });

TEST_P(PointsCsv, HoldsEveryStakeAndMarkAndNoHeader) {
  ASSERT_EQ(rows.size(), site.found().stakes.stakes.size() + known_marks(site.job.site.lot).size());
  for (std::size_t i = 0; i < site.found().stakes.stakes.size(); ++i) {
    const Stake& stake = site.found().stakes.stakes[i];
    ASSERT_EQ(rows[i].size(), 5u);
    EXPECT_EQ(rows[i][0], std::to_string(stake.number));
    EXPECT_EQ(rows[i][1], fixed_text(stake.northing, 3));
    EXPECT_EQ(rows[i][2], fixed_text(stake.easting, 3));
    EXPECT_EQ(rows[i][3], stake.design ? fixed_text(*stake.design, 2) : "");
  }
  const std::vector<std::string>& mark = rows[site.found().stakes.stakes.size()];
  EXPECT_EQ(mark[1], fixed_text(site.job.site.lot.benchmark->at.y(), 3));
  EXPECT_EQ(mark[3], fixed_text(*site.job.site.lot.benchmark->elevation, 2));
  EXPECT_EQ(mark[4], "BM BM1");
}

TEST_P(PointsCsv, NumbersAreTakenByNoOtherPoint) {
  std::set<std::string> numbers;
  for (const Shot& shot : site.survey.all) numbers.insert(shot.point);
  for (const std::vector<std::string>& row : rows) EXPECT_TRUE(numbers.insert(row[0]).second) << row[0];
}

TEST_P(PointsCsv, IsReadBackAsASurvey) {
  const std::string csv = points_csv(site);
  // Blank elevations are no shots; the rest reads in the order that is taken for granted.
  std::string with_elevation;
  std::istringstream lines(csv);
  for (std::string line; std::getline(lines, line);) {
    if (!rows_of(line + "\n")[0][3].empty()) with_elevation += line + "\n";
  }
  const Survey survey = shots_from_csv(with_elevation, "points.csv");
  EXPECT_EQ(survey.all.size(), static_cast<std::size_t>(std::count_if(rows.begin(), rows.end(),
                                                                      [](const auto& row) { return row[3] != ""; })));
}

TEST(PointsCsvMarks, PassOverNumbersOfTheSurvey) {
  SiteResults site = demo_results("fernhollow");
  const int next = site.found().stakes.stakes.back().number + 1;
  site.survey.all[0].point = std::to_string(next);
  site.survey.all[1].point = std::to_string(next + 1);
  const auto rows = rows_of(points_csv(site));
  EXPECT_EQ(rows[site.found().stakes.stakes.size()][0], std::to_string(next + 2));
}

// A bench mark may also be a mark to tape from.
TEST(KnownMarks, HaveEachPlaceOnce) {
  SiteDesign site;
  site.lot.benchmark = Mark{"BM1", {10, 20}, 100.0};
  site.lot.second_benchmark = Mark{"BM2", {30, 40}, 101.0};
  site.lot.ties = {Mark{"oak at BM2", {30, 40}, {}}, Mark{"house corner", {50, 60}, {}}};
  const std::vector<KnownMark> marks = known_marks(site.lot);
  ASSERT_EQ(marks.size(), 3u);
  EXPECT_EQ(marks[1].mark.name, "BM2");
  EXPECT_TRUE(marks[1].is_benchmark);
  EXPECT_EQ(marks[2].mark.name, "house corner");
  EXPECT_FALSE(marks[2].is_benchmark);
}

TEST(CollectorText, IsPlain) {
  EXPECT_EQ(collector_text("BM  nail in the \"big\" oak,\t20 in\n"), "BM nail in the big oak 20 in");
  EXPECT_EQ(collector_text("TIE caf\xC3\xA9 \xE2\x80\x93 wall"), "TIE caf? ? wall");
  EXPECT_EQ(collector_text(", ,"), "");
}

}  // namespace
}  // namespace moundwright::io

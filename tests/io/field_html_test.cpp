// The field page as it is written, without a browser: what is in the file, and what is not. tests/browser/ uses it.
#include "io/field_html.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <regex>

#include "io/grade_limits.h"
#include "made_jobs.h"

namespace moundwright::io {
namespace {

using nlohmann::json;
using testing::HasSubstr;
using testing::Not;

/// What stands in a script block of the page.
std::string block(const std::string& page, const std::string& id) {
  const std::regex open("<script[^>]* id=\"" + id + "\"[^>]*>");
  std::smatch m;
  if (!std::regex_search(page, m, open)) return "no such block";
  const std::string rest = m.suffix();
  return rest.substr(0, rest.find("</script>"));
}

TEST(FieldHtml, HoldsTheJobAndTheModel) {
  const SiteResults& site = demo_results("fernhollow");
  const std::string page = field_html(site, "Moundwright?");
  EXPECT_THAT(page, HasSubstr("Lot 7, Fernhollow Lane"));
  EXPECT_EQ(json::parse(block(page, "job")), json::parse(field_json(site)));
  EXPECT_EQ(block(page, "model-glb"), "TW91bmR3cmlnaHQ/");  // RFC 4648 base64 of the twelve bytes
  EXPECT_THAT(page, Not(HasSubstr("{{"))) << "a place of the template that nobody filled";
}

TEST(FieldHtml, PadsAModelOfAnyLength) {  // RFC 4648, section 10: test vectors
  const SiteResults& site = demo_results("fernhollow");
  for (const auto& [plain, coded] : {std::pair("f", "Zg=="), std::pair("fo", "Zm8="), std::pair("foo", "Zm9v")}) {
    EXPECT_EQ(block(field_html(site, plain), "model-glb"), coded);
  }
  EXPECT_EQ(block(field_html(site, ""), "model-glb"), "");
}

TEST(FieldHtml, FetchesNothing) {
  const std::string page = field_html(demo_results("fernhollow"), "");
  EXPECT_THAT(page, HasSubstr("default-src 'none'")) << "its own policy forbids to";
  const std::regex outside(R"re((src|href)\s*=\s*["']?(https?:)?//)re");
  EXPECT_FALSE(std::regex_search(page, outside));
}

TEST(FieldHtml, TextOfTheJobEndsNoBlock) {
  SiteResults site = demo_results("fernhollow");
  site.job.site.title = "</script><b>&{{job}}";
  const std::string page = field_html(site, "");
  EXPECT_THAT(page, Not(HasSubstr("</script><b>")));
  EXPECT_EQ(json::parse(block(page, "job"))["title"], "</script><b>&{{job}}");
}

TEST(FieldHtml, SaysTheSameTwiceAndKeepsARecordForEachPlan) {
  SiteResults site = demo_results("fernhollow");
  EXPECT_EQ(field_json(site), field_json(demo_results_anew("fernhollow")));
  const std::string key = json::parse(field_json(site))["key"];
  site.mounds[0].found.stakes.grades[0].elevation += 0.01;
  EXPECT_NE(json::parse(field_json(site))["key"], key);
}

TEST(FieldJson, HasWhatAnOperatorReadsTheRodFor) {
  for (const char* name : {"fernhollow", "ridgeback"}) {
    const SiteResults& site = demo_results(name);
    const json data = json::parse(field_json(site));
    ASSERT_EQ(data["grades"].size(), site.found().stakes.grades.size());
    for (std::size_t i = 0; i < site.found().stakes.grades.size(); ++i) {
      EXPECT_EQ(data["grades"][i]["name"], site.found().stakes.grades[i].name);
      EXPECT_EQ(data["grades"][i]["elevation"], site.found().stakes.grades[i].elevation);
    }
    ASSERT_EQ(data["stakes"].size(), site.found().stakes.stakes.size());
    for (std::size_t i = 0; i < site.found().stakes.stakes.size(); ++i) {
      const Stake& stake = site.found().stakes.stakes[i];
      const json& found = data["stakes"][i];
      EXPECT_EQ(found["number"], stake.number);
      EXPECT_NEAR(found["n"].get<double>(), stake.northing, 0.0005001);
      EXPECT_NEAR(found["e"].get<double>(), stake.easting, 0.0005001);
      EXPECT_EQ(found["edge"]["elevation"], stake.design.value_or(site.mound().buildup.bottom_elevation))
          << stake.number;
      EXPECT_EQ(found["ties"].size(), site.found().stakes.tie_marks.size());
    }
    EXPECT_EQ(data["diagonals"].size(), site.found().stakes.diagonals.size());
    EXPECT_EQ(data["sides"].size(), site.found().stakes.sides.size());
    EXPECT_FALSE(data["plan"]["toe"].empty());
  }
}

// Grades are kept to 0.05 ft on the bed and 0.1 ft elsewhere, a check shot to 0.02 ft: common practice. In metres the
// millimetres nearest to them that are no looser.
TEST(FieldJson, LimitsAreTheJobsOwnUnits) {
  const Scratch folder;
  const json feet = json::parse(field_json(demo_results("fernhollow")))["limits"];
  const json metres = json::parse(field_json(metre_results(folder)))["limits"];
  EXPECT_EQ(feet, (json{{"bed", 0.05}, {"elsewhere", 0.1}, {"check_shot", 0.02}, {"rod", 25.0}}));
  for (const char* limit : {"bed", "elsewhere", "check_shot"}) {
    EXPECT_LE(metres[limit].get<double>(), feet[limit].get<double>() * 0.3048) << limit;
    EXPECT_GT(metres[limit].get<double>(), feet[limit].get<double>() * 0.3048 - 0.001) << limit;
  }
  EXPECT_EQ(metres["rod"], 5.0);
}

}  // namespace
}  // namespace moundwright::io

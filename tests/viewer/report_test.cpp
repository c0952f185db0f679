// What is printed, in the job's own units.
#include "viewer/report.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "test_paths.h"
#include "tests/support/caution_words.h"
#include "tests/support/metric_demo.h"

namespace moundwright::viewer {
namespace {

using testing::HasSubstr;
using testing::Not;

// Exact by NIST Handbook 44, Appendix C.
constexpr double cubic_metres = 0.764554857984, tonnes = 0.90718474;

TEST(Report, OfAJobInMetresIsInCubicMetresAndTonnes) {
  const io::SiteResults site = io::demo_in_metres();
  const MaterialOrder& sand = site.estimate.orders[0];
  const std::string brief = report_text(site, ReportLength::brief);
  const std::string full = report_text(site, ReportLength::full);
  for (const std::string& text : {brief, full}) {
    EXPECT_THAT(text, HasSubstr(fmt::format("clean sand      {:>12.1f}", site.mound().buildup.layers[0].volume)));
    EXPECT_THAT(text, HasSubstr(fmt::format("{:>9.1f}{:>8.1f}", cubic_metres * sand.bought.cy, tonnes * *sand.tons)));
    EXPECT_THAT(text,
                HasSubstr(fmt::format("{:.2f} a m3 of fill in place", site.estimate.bid->per_yard / cubic_metres)));
    EXPECT_THAT(text, Not(HasSubstr("yards")));
  }
  EXPECT_THAT(brief, Not(HasSubstr(" yd")));  // the full report has what the price list asks a yard
  EXPECT_THAT(full, HasSubstr(fmt::format("tank pits: {:.1f} bank m3 of clay", 88 * cubic_metres)));
}

TEST(Report, OfAJobInFeetIsInYardsAndTons) {
  const io::SiteResults site = io::compute_site(MOUNDWRIGHT_SURVEYS "/fernhollow.toml");
  const std::string text = report_text(site, ReportLength::full);
  EXPECT_THAT(text, HasSubstr(fmt::format("clean sand      {:>12.1f}", site.mound().buildup.layers[0].volume / 27)));
  EXPECT_THAT(text, HasSubstr("tank pits: 88.0 bank yd of clay"));
  EXPECT_THAT(text, Not(HasSubstr("m3")));
}

TEST(Report, CarriesTheCautions) {
  const io::SiteResults site = io::compute_site(MOUNDWRIGHT_SURVEYS "/fernhollow.toml");
  for (const ReportLength length : {ReportLength::brief, ReportLength::full}) {
    const std::string text = report_text(site, length);
    const std::string cautions = text.substr(text.rfind("\nCautions\n"));
    for (const CautionWords* caution :
         {&caution_utilities, &caution_trench, &caution_tank, &caution_sewage, &caution_govern}) {
      expect_caution(cautions, *caution, "the report");
    }
  }
}

}  // namespace
}  // namespace moundwright::viewer

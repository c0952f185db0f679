// What is said of the demo jobs' plus or minus and rise, against 3,000 re-runs of the whole program each: the surveys'
// own shots and breaklines, with errors as large as the jobs say, triangulated and built up again.
#include <gtest/gtest.h>

#include <string>

#include "io/results.h"
#include "test_paths.h"
#include "tests/support/shaken_shots.h"

namespace moundwright::io {
namespace {

void expect_agreement_with_re_runs(const std::string& job) {
  const SiteResults site = compute_site(MOUNDWRIGHT_SURVEYS "/" + job);
  const Accuracy& told = *site.estimate.accuracy;
  ASSERT_TRUE(told.bottom_rise);  // both beds hang on the least sand
  const std::vector<Spread> run = monte_carlo(site.survey.ground_shots, site.survey.breaklines, site.job.ground.options,
                                              site.mound().design(), told.shots.random, 1500);
  constexpr double hair = 0.03;  // cubic yards
  expect_bands(told, run, cubic_yards_per(site.job.site.unit), hair);
}

TEST(DemoAccuracy, FernhollowAgreesWithReRuns) { expect_agreement_with_re_runs("fernhollow.toml"); }
TEST(DemoAccuracy, RidgebackAgreesWithReRuns) { expect_agreement_with_re_runs("ridgeback.toml"); }

}  // namespace
}  // namespace moundwright::io

// What makes the figures of a packet wrong is refused, with what and where; a plan that is only doubtful is not.
#include "io/results.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "made_jobs.h"

namespace moundwright::io {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

/// Even ground, 5 % down to the south, 100 on the south line; 120 on a side.
SiteResults on_even_ground(const std::string& mound) {
  const Scratch folder;
  folder.put("ground.csv",
             "point,northing,easting,elevation,description\n"
             "1,0,0,100,GR\n2,0,120,100,GR\n3,120,0,106,GR\n4,120,120,106,GR\n");
  return compute_site(folder.put("job.toml",
                                 "[job]\ntitle = \"Even\"\nunits = \"ft\"\n[ground]\nshots = \"ground.csv\"\n[mound]\n"
                                 "azimuth = 90.0\nbed = { length = 20.0, width = 6.0 }\ndownslope = 180.0\n" +
                                     mound +
                                     "[[layer]]\nname = \"cover\"\nmaterial = \"loam\"\ntop = 1.0\nbeyond = 2.0\n"
                                     "side = 3.0\n"));
}

TEST(BlockingProblems, OfASoundPlanAreNone) {
  const SiteResults site = on_even_ground("center = { n = 60.0, e = 60.0 }\nbottom = { least_sand = 1.0 }\n");
  EXPECT_THAT(blocking_problems(site).all, IsEmpty());
  for (const char* demo : {"fernhollow", "ridgeback"}) {  // the second fails a check, and is written all the same
    EXPECT_THAT(blocking_problems(demo_results(demo)).all, IsEmpty()) << demo;
  }
}

TEST(BlockingProblems, OfABedBelowGroundSayByHowMuchAndWhere) {
  // The upslope edge of the bed is at N 63, where the ground is 100 + 0.05 x 63.
  const auto with_bottom = [](const char* elevation) {
    return blocking_problems(
        on_even_ground(std::string("center = { n = 60.0, e = 60.0 }\nbottom = { elevation = ") + elevation + " }\n"));
  };
  EXPECT_THAT(with_bottom("103.15").all, IsEmpty()) << "at the ground it does not lie below";
  const Problems low = with_bottom("103.14");
  ASSERT_THAT(low.all, SizeIs(1));
  EXPECT_EQ(low.all[0].severity, Severity::error);
  EXPECT_THAT(low.all[0].what, AllOf(HasSubstr("bed bottom at 103.14"), HasSubstr("which stands at 103.15")));
  EXPECT_THAT(low.all[0].where, HasSubstr("N 63.0"));
  EXPECT_THAT(low.all[0].what_to_do, HasSubstr("raise the bed bottom"));
}

TEST(BlockingProblems, OfABermThatLeavesTheSurveyNameTheCheck) {
  const Problems found =
      blocking_problems(on_even_ground("center = { n = 12.0, e = 60.0 }\nbottom = { least_sand = 3.0 }\n"));
  ASSERT_GE(found.all.size(), 2U);
  EXPECT_THAT(found.all[0].what, HasSubstr("the berm runs off the surveyed ground along"));
  EXPECT_TRUE(found.has_errors());
  for (std::size_t i = 1; i < found.all.size(); ++i) EXPECT_THAT(found.all[i].what_to_do, testing::Not(IsEmpty()));
}

TEST(BlockingProblems, OfABedOffTheSurveyAreOneThing) {
  SiteResults site = on_even_ground("center = { n = 60.0, e = 60.0 }\nbottom = { elevation = 104.0 }\n");
  site.mounds[0].mound.buildup.governing.reset();  // what a bed far off has
  const Problems found = blocking_problems(site);
  ASSERT_THAT(found.all, SizeIs(1));
  EXPECT_THAT(found.all[0].what, HasSubstr("no surveyed ground under the bed"));
  EXPECT_EQ(found.all[0].where, "mound.center");
}

TEST(BlockingProblems, OfAMoundThatStandsNowhereSayRaiseIt) {
  SiteResults site = on_even_ground("center = { n = 60.0, e = 60.0 }\nbottom = { elevation = 104.0 }\n");
  site.mounds[0].mound.buildup.toe.outer.clear();
  const Problems found = blocking_problems(site);
  ASSERT_THAT(found.all, SizeIs(1));
  EXPECT_THAT(found.all[0].what, HasSubstr("no layer stands above the ground anywhere"));
}

}  // namespace
}  // namespace moundwright::io

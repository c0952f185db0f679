#include "geom/lath.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace moundwright {
namespace {

using testing::ElementsAre;

const std::vector<Grade> grades = {{"bed bottom", 101.40, 0}, {"stone top", 102.40, 1}, {"finished edge", 102.90, 1.5}};

std::vector<std::string> names(const std::vector<LathGrade>& back) {
  std::vector<std::string> all;
  for (const LathGrade& grade : back) all.push_back(grade.name);
  return all;
}

TEST(LathText, OfAHubHasTheBedBottomOnItsEdge) {
  Stake hub;
  hub.number = 1001, hub.what = "bed corner hub", hub.station = "1+00.0", hub.offset = "U 25.0";
  const LathText lath = lath_text(hub, grades, 101.40);
  EXPECT_THAT(lath.front, ElementsAre("1001", "1+00.0 U 25.0", "bed corner hub"));
  EXPECT_EQ(lath.edge.name, "bed bottom");
  EXPECT_EQ(lath.edge.elevation, 101.40);
  EXPECT_THAT(names(lath.back), ElementsAre("stone top", "finished edge"));
}

TEST(LathText, OfASlopeStakeHasItsShoulderOnTheEdge) {
  Stake slope;
  slope.kind = StakeKind::slope, slope.design = 102.90;
  const LathText lath = lath_text(slope, grades, 101.40);
  EXPECT_EQ(lath.edge.name, "shoulder");
  EXPECT_EQ(lath.edge.elevation, 102.90);
  EXPECT_THAT(names(lath.back), ElementsAre("bed bottom", "stone top")) << "a grade is not written twice";
}

TEST(LathText, OfAFeedPointHasItsOwnGradeOnTheEdge) {
  Stake riser;
  riser.kind = StakeKind::feed, riser.what = "riser", riser.design = 101.90;
  const LathText lath = lath_text(riser, grades, 101.40);
  EXPECT_EQ(lath.edge.name, "riser");
  EXPECT_EQ(lath.edge.elevation, 101.90);
  EXPECT_EQ(lath.back.size(), 3U);
}

}  // namespace
}  // namespace moundwright

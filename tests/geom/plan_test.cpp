// Plan arithmetic against closed forms and against what must hold for any figures.
#include "geom/plan.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <numbers>

namespace moundwright {
namespace {

const Polygon2 square{{0, 0}, {4, 0}, {4, 4}, {0, 4}};

Point2 random_place() {
  const auto figure = [] { return *rc::gen::inRange(-400, 400) / 16.0; };
  const double x = figure();
  return {x, figure()};
}

/// The regular polygon of n corners round a place.
Polygon2 regular(int n, const Point2& middle, double radius) {
  Polygon2 polygon;
  for (int i = 0; i < n; ++i) {
    const double turn = 2 * std::numbers::pi * i / n;
    polygon.emplace_back(middle + radius * Point2(std::cos(turn), std::sin(turn)));
  }
  return polygon;
}

TEST(PlanArea, IsPositiveCounterClockwiseAndThatOfTheClosedForm) {
  EXPECT_DOUBLE_EQ(plan_area(square), 16);
  EXPECT_DOUBLE_EQ(plan_area({square.rbegin(), square.rend()}), -16);
  EXPECT_NEAR(plan_area(regular(6, {3, 7}, 2)), 1.5 * std::sqrt(3.0) * 4, 1e-12);  // of a regular hexagon
  EXPECT_EQ(plan_area({}), 0);
}

RC_GTEST_PROP(ClipConvex, ALinePartsAnAreaInTwo, ()) {
  const Polygon2 whole = regular(*rc::gen::inRange(3, 9), random_place(), 10);
  const Point2 from = random_place(), to = from + Point2(1, 0.25) + 0.01 * random_place();
  const double left = plan_area(clip_convex(whole, line_left_of(from, to)));
  const double right = plan_area(clip_convex(whole, line_left_of(to, from)));
  RC_ASSERT(left >= 0 && right >= 0);
  RC_ASSERT(std::abs(left + right - plan_area(whole)) < 1e-9 * plan_area(whole));
}

TEST(ClipConvex, KeepsWhatLiesInsideAnother) {
  const Polygon2 part = clip_convex(square, Polygon2{{1, -1}, {9, -1}, {9, 3}, {1, 3}});
  EXPECT_NEAR(plan_area(part), 9, 1e-12);
  EXPECT_TRUE(clip_convex(square, Polygon2{{5, 5}, {6, 5}, {6, 6}}).empty());
  EXPECT_TRUE(clip_convex(Polygon2{}, line_left_of({0, 0}, {1, 0})).empty());
}

TEST(ClipConvex, ALineAlongAnEdgeLeavesAllOrNothingThatHasArea) {
  EXPECT_NEAR(plan_area(clip_convex(square, line_left_of({0, 0}, {4, 0}))), 16, 1e-12);
  EXPECT_NEAR(plan_area(clip_convex(square, line_left_of({4, 0}, {0, 0}))), 0, 1e-12);
}

/// By the winding angle, which is another way to tell.
bool winds_round(const Polygon2& polygon, const Point2& p) {
  double turned = 0;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Point2 a = polygon[i] - p, b = polygon[(i + 1) % polygon.size()] - p;
    turned += std::atan2(cross(a, b), a.dot(b));
  }
  return std::abs(turned) > std::numbers::pi;
}

RC_GTEST_PROP(IsInside, AgreesWithTheWindingAngle, ()) {
  Polygon2 star = regular(10, {0.5, 0.25}, 20);
  for (std::size_t i = 0; i < star.size(); i += 2) star[i] *= 0.3;
  const Point2 p = random_place() + Point2(0.01, 0.003);  // on no edge
  RC_ASSERT(is_inside(star, p) == winds_round(star, p));
  RC_ASSERT(is_inside({star.rbegin(), star.rend()}, p) == winds_round(star, p));
}

TEST(IsInside, OfPartsThatShareAnEdgeEachPlaceBelongsToOneAtMost) {
  const Polygon2 left{{0, 0}, {2, 0}, {2, 4}, {0, 4}}, right{{2, 0}, {4, 0}, {4, 4}, {2, 4}};
  for (double y = -1; y <= 5; y += 0.5) {
    for (double x = -1; x <= 5; x += 0.5) EXPECT_FALSE(is_inside(left, {x, y}) && is_inside(right, {x, y})) << x << y;
  }
}

TEST(DoCross, TellsACrossingFromATouch) {
  EXPECT_TRUE(do_cross({0, 0}, {2, 2}, {0, 2}, {2, 0}));
  EXPECT_FALSE(do_cross({0, 0}, {2, 2}, {3, 0}, {3, 9}));
  EXPECT_FALSE(do_cross({0, 0}, {2, 0}, {1, 0}, {3, 0}));  // along one line
}

TEST(NearestOn, IsTheFootOrAnEnd) {
  EXPECT_EQ(nearest_on({0, 0}, {4, 0}, {1, 3}), Point2(1, 0));
  EXPECT_EQ(nearest_on({0, 0}, {4, 0}, {-2, 3}), Point2(0, 0));
  EXPECT_EQ(nearest_on({0, 0}, {4, 0}, {9, 3}), Point2(4, 0));
  EXPECT_EQ(nearest_on({1, 1}, {1, 1}, {9, 3}), Point2(1, 1));
}

TEST(Azimuth, IsClockwiseFromNorthThereAndBack) {
  EXPECT_LT((direction_of(90) - Point2(1, 0)).norm(), 1e-15);
  EXPECT_LT((direction_of(225) + Point2(std::sqrt(0.5), std::sqrt(0.5))).norm(), 1e-15);
  for (double azimuth = 0; azimuth < 360; azimuth += 7.5)
    EXPECT_NEAR(azimuth_of(direction_of(azimuth)), azimuth, 1e-12);
}

TEST(ZeroShare, IsWhereTheLineIsZero) {
  const PlanLine line{2, -1, -3};
  const Point2 p(5, 1), q(-1, 2);
  EXPECT_NEAR(line.at(p + (q - p) * zero_share(line.at(p), line.at(q))), 0, 1e-14);
}

}  // namespace
}  // namespace moundwright

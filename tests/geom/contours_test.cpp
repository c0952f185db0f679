// Contours: at their elevation, whole, and with the higher ground on their left.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <random>

#include "geom/ground.h"

namespace moundwright {
namespace {

using ::testing::IsEmpty;
using ::testing::SizeIs;

Shot shot(double northing, double easting, double elevation) { return {"", northing, easting, elevation, "", 0}; }

double length(const Polyline2& line) {
  double sum = 0;
  for (std::size_t i = 1; i < line.size(); ++i) sum += (line[i] - line[i - 1]).norm();
  return sum;
}

double length(const std::vector<Polyline2>& lines) {
  double sum = 0;
  for (const Polyline2& line : lines) sum += length(line);
  return sum;
}

double enclosed(const Polyline2& closed) {
  double twice = 0;
  for (std::size_t i = 1; i < closed.size(); ++i)
    twice += closed[i - 1].x() * closed[i].y() - closed[i].x() * closed[i - 1].y();
  return twice / 2;
}

/// A square pyramid: apex in the middle, corners 20 out.
Ground pyramid(double base, double apex) {
  return make_ground(
      {shot(0, 0, apex), shot(-20, -20, base), shot(-20, 20, base), shot(20, 20, base), shot(20, -20, base)});
}

TEST(Contours, AreStraightOnAPlaneWithTheHigherGroundLeft) {
  std::vector<Shot> shots;
  for (int x = 0; x <= 40; x += 10) {
    for (int y = 0; y <= 40; y += 10) shots.push_back(shot(y, x, 100.05 + 0.1 * y));  // rises to the north
  }
  const auto lines = contours(make_ground(shots), 1.0);
  ASSERT_THAT(lines, SizeIs(4));
  for (std::size_t k = 0; k < 4; ++k) {
    EXPECT_EQ(lines[k].elevation, 101.0 + static_cast<double>(k));
    ASSERT_THAT(lines[k].lines, SizeIs(1));
    EXPECT_NEAR(length(lines[k].lines[0]), 40.0, 1e-9);
    EXPECT_GT(lines[k].lines[0].back().x(), lines[k].lines[0].front().x());  // eastward, north on the left
  }
}

TEST(Contours, CloseRoundAHillAndRoundAHollow) {
  const auto hill = contours(pyramid(100.5, 105.5), 1.0);
  ASSERT_THAT(hill, SizeIs(5));
  for (const Contour& contour : hill) {
    ASSERT_THAT(contour.lines, SizeIs(1));
    const Polyline2& ring = contour.lines[0];
    EXPECT_EQ(ring.front(), ring.back());
    const double half = 20 * (105.5 - contour.elevation) / 5;
    EXPECT_NEAR(enclosed(ring), 4 * half * half, 1e-9);  // counter-clockwise
  }
  const auto hollow = contours(pyramid(105.5, 100.5), 1.0);
  ASSERT_THAT(hollow, SizeIs(5));
  for (const Contour& contour : hollow) EXPECT_LT(enclosed(contour.lines.at(0)), 0);
}

TEST(Contours, ThroughShotsAtTheLevelHaveNoDoubledPoints) {
  // Level lines run through whole rows of shots.
  std::vector<Shot> shots;
  for (int x = 0; x <= 4; ++x) {
    for (int y = 0; y <= 4; ++y) shots.push_back(shot(10 * y, 10 * x, 100.0 + y));
  }
  const auto lines = contours(make_ground(shots), 1.0);
  ASSERT_THAT(lines, SizeIs(4));  // at 100 itself no ground is lower
  for (const Contour& contour : lines) {
    ASSERT_THAT(contour.lines, SizeIs(1));
    EXPECT_NEAR(length(contour.lines[0]), 40.0, 1e-12);
    EXPECT_THAT(contour.lines[0], SizeIs(5));
  }
}

TEST(Contours, OfAFlatAreItsOutline) {
  const std::vector<Shot> flat = {shot(0, 0, 100), shot(0, 30, 100), shot(20, 0, 100)};
  const auto lines = contours(make_ground(flat), 1.0);
  ASSERT_THAT(lines, SizeIs(1));
  ASSERT_THAT(lines[0].lines, SizeIs(1));
  EXPECT_EQ(lines[0].lines[0].front(), lines[0].lines[0].back());
  EXPECT_NEAR(enclosed(lines[0].lines[0]), 300.0, 1e-9);

  for (const double rim : {98.5, 101.5}) {  // a flat top, and a flat bottom
    std::vector<Shot> table = {shot(-30, -30, rim), shot(-30, 30, rim), shot(30, 30, rim), shot(30, -30, rim)};
    for (const int x : {-10, 10}) {
      for (const int y : {-10, 10}) table.push_back(shot(y, x, 100));
    }
    double found = 0;
    for (const Contour& contour : contours(make_ground(table), 1.0)) {
      if (contour.elevation != 100.0) continue;
      ASSERT_THAT(contour.lines, SizeIs(1));
      EXPECT_EQ(contour.lines[0].front(), contour.lines[0].back());
      found = enclosed(contour.lines[0]);
    }
    EXPECT_NEAR(found, rim < 100 ? 400.0 : -400.0, 1e-9);  // higher ground left
  }
}

TEST(Contours, OfABenchOnASlopeGoRoundIt) {
  // A strip at exactly 100 between a lower and a higher strip.
  std::vector<Shot> shots;
  const double z[] = {98.5, 100, 100, 101.5};
  for (int row = 0; row < 4; ++row) {
    for (int x = 0; x <= 3; ++x) shots.push_back(shot(10 * row, 10 * x, z[row]));
  }
  const auto lines = contours(make_ground(shots), 1.0);
  ASSERT_THAT(lines, SizeIs(3));
  EXPECT_EQ(lines[1].elevation, 100.0);
  EXPECT_THAT(lines[1].lines, SizeIs(4));  // lower side, higher side, and the two ends at the outside of the survey
  EXPECT_NEAR(length(lines[1].lines), 30 + 30 + 10 + 10, 1e-9);
}

TEST(Contours, NeedAnIntervalThatMakesSense) {
  const Ground ground = pyramid(100, 105);
  EXPECT_THROW(contours(ground, 0), Refusal);
  EXPECT_THROW(contours(ground, -1), Refusal);
  EXPECT_THROW(contours(ground, NAN), Refusal);
  EXPECT_THROW(contours(ground, 1e-5), Refusal);
  EXPECT_THAT(contours(ground, 1000), IsEmpty());
}

/// Length of all level lines, triangle by triangle, with nothing chained.
double unchained_length(const Ground& ground, double level) {
  double sum = 0;
  for (const auto& triangle : ground.tree.triangles) {
    std::vector<Point2> ends;
    for (int i = 0; i < 3; ++i) {
      const Point3 a = ground.points[triangle[i]], b = ground.points[triangle[(i + 1) % 3]];
      if ((a.z() < level) == (b.z() < level)) continue;
      ends.emplace_back((a + (level - a.z()) / (b.z() - a.z()) * (b - a)).head<2>());
    }
    if (ends.size() == 2) sum += (ends[1] - ends[0]).norm();
  }
  return sum;
}

RC_GTEST_PROP(Contours, AreCompleteAndAtTheirElevation, ()) {
  std::mt19937 random(*rc::gen::arbitrary<std::uint32_t>());
  std::uniform_real_distribution<double> place(0.0, 100.0), height(95.0, 105.0);
  std::vector<Shot> shots;
  for (int i = *rc::gen::inRange(3, 80); i > 0; --i)
    shots.push_back(shot(place(random), place(random), height(random)));
  const Ground ground = make_ground(shots);
  for (const Contour& contour : contours(ground, 0.7)) {
    RC_ASSERT(std::abs(length(contour.lines) - unchained_length(ground, contour.elevation)) < 1e-7);
    for (const Polyline2& line : contour.lines) {
      for (const Point2& p : line) RC_ASSERT(std::abs(*elevation_at(ground, p) - contour.elevation) < 1e-8);
      // Just left of the middle of each piece the ground is higher, just right lower.
      for (std::size_t i = 1; i < line.size(); ++i) {
        const Point2 along = line[i] - line[i - 1], left = Point2(-along.y(), along.x()).normalized() * 1e-5;
        if (along.norm() < 1e-3) continue;
        const Point2 middle = (line[i] + line[i - 1]) / 2;
        const auto above = elevation_at(ground, middle + left), below = elevation_at(ground, middle - left);
        if (above && below) RC_ASSERT(*above > *below);
      }
      const bool closed = line.front() == line.back();
      const auto at_outside = [&](const Point2& p) {
        for (const Polygon2& ring : outline(ground)) {
          for (std::size_t i = 0; i < ring.size(); ++i) {
            const Point2 a = ring[i], b = ring[(i + 1) % ring.size()];
            if (std::abs((p - a).norm() + (p - b).norm() - (a - b).norm()) < 1e-9) return true;
          }
        }
        return false;
      };
      RC_ASSERT(closed || (at_outside(line.front()) && at_outside(line.back())));
    }
  }
}

}  // namespace
}  // namespace moundwright

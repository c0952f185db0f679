// Level lines against closed forms on level ground, and against sections, which are cut from the planes another way.
#include "geom/level_lines.h"

#include <gtest/gtest.h>

#include <cmath>

#include "geom/sections.h"
#include "geom/toe.h"
#include "tests/support/plain_layer.h"

namespace moundwright {
namespace {

Shot shot_at(double x, double y, double z) {
  Shot shot;
  shot.easting = x, shot.northing = y, shot.elevation = z;
  return shot;
}

Ground even_ground(double fall) {
  return make_ground({shot_at(-200, -150, 100), shot_at(200, -150, 100), shot_at(-200, 150, 100 + 300 * fall),
                      shot_at(200, 150, 100 + 300 * fall)});
}

MoundDesign two_layers(std::vector<Point2> line) {
  MoundDesign design;
  design.bed.line = std::move(line);
  design.bed.width = 10;
  design.bottom_elevation = 112;
  design.downslope = 180;
  design.layers = {plain_layer("core", 0, 1, 0), plain_layer("cover", 1.5, 3, 3)};
  return design;
}

double length_of(const std::vector<Polyline2>& lines) {
  double length = 0;
  for (const Polyline2& line : lines) {
    for (std::size_t i = 1; i < line.size(); ++i) length += (line[i] - line[i - 1]).norm();
  }
  return length;
}

// Level ground at 100: at elevation z the cover is a rectangle (60 + 2 r) by (10 + 2 r), r = 3 + 3 (113.5 - z).
TEST(FinishedContours, AreRectanglesRoundAPlainMoundOnLevelGround) {
  const Ground ground = even_ground(0);
  const PlacedMound mound = place_mound(place_as_drawn(ground, two_layers({{-30, 0}, {30, 0}})));
  const std::vector<Contour> all = finished_contours(mound, 1.0);
  ASSERT_EQ(all.size(), 13u);  // 101 to 113: the toe itself, at 100, is no part of the inside
  for (const Contour& contour : all) {
    const double reach = 3 + 3 * (113.5 - contour.elevation);
    ASSERT_EQ(contour.lines.size(), 1u) << contour.elevation;
    EXPECT_EQ(contour.lines[0].front(), contour.lines[0].back()) << contour.elevation;
    EXPECT_NEAR(length_of(contour.lines), 2 * (60 + 2 * reach) + 2 * (10 + 2 * reach), 1e-6) << contour.elevation;
  }
}

/// Elevation of the finished mound at a place, from a short section through it.
double finished_at(const PlacedMound& mound, const Point2& p) {
  const Section section = cut_section(mound, p - Point2(0.5, 0.2), p + Point2(0.5, 0.2));
  const double middle = Point2(0.5, 0.2).norm();
  for (std::size_t i = 0; i + 1 < section.columns.size(); i += 2) {
    const SectionColumn &a = section.columns[i], &b = section.columns[i + 1];
    if (middle < a.distance - 1e-9 || middle > b.distance + 1e-9) continue;
    const double share = (middle - a.distance) / (b.distance - a.distance);
    return a.surfaces.back() + (b.surfaces.back() - a.surfaces.back()) * share;
  }
  return NAN;
}

void expect_on_finish(const Ground& ground, const MoundDesign& design) {
  const PlacedMound mound = place_mound(place_as_drawn(ground, design));
  const Buildup& buildup = mound.buildup;
  std::size_t asked = 0;
  for (const Contour& contour : finished_contours(mound, 0.5)) {
    for (const Polyline2& line : contour.lines) {
      for (std::size_t i = 1; i < line.size(); ++i) {
        const Point2 middle = 0.5 * (line[i - 1] + line[i]);
        EXPECT_TRUE(encloses(buildup.toe, middle));
        EXPECT_NEAR(finished_at(mound, middle), contour.elevation, 1e-4);
        ++asked;
      }
    }
  }
  EXPECT_GT(asked, 40u);
}

TEST(FinishedContours, LieOnTheFinishedSurfaceOfBentAndRoundMounds) {
  const Ground hill = even_ground(0.06);
  expect_on_finish(hill, two_layers({{-40, 5}, {0, 0}, {40, 8}}));
  MoundDesign round = two_layers({{-30, 0}, {30, 0}});
  round.layers.back().round_corners = true;
  round.layers.back().crown = 0.5;
  expect_on_finish(hill, round);
  // A bend has no line across it: the pieces share it.
  MoundDesign flat = two_layers({{-40, 5}, {0, 0}, {40, 8}});
  flat.bottom_elevation = 119.5;
  expect_on_finish(hill, flat);
}

TEST(FinishedContours, RefusesAnIntervalThatIsNotAboveZeroOrCutsTooOften) {
  const Ground ground = even_ground(0);
  const PlacedMound mound = place_mound(place_as_drawn(ground, two_layers({{-30, 0}, {30, 0}})));
  EXPECT_THROW(finished_contours(mound, 0), Refusal);
  EXPECT_THROW(finished_contours(mound, 1e-5), Refusal);
}

TEST(FlatTopOutline, IsTheBedWidenedByWhatTheTopIsCarriedBeyondIt) {
  const Ground ground = even_ground(0.05);
  const MoundPlace place = place_as_drawn(ground, two_layers({{-30, 0}, {30, 0}}));
  EXPECT_NEAR(length_of(flat_top_outline(place, 0)), 2 * 62 + 2 * 12, 1e-6);
  EXPECT_NEAR(length_of(flat_top_outline(place, 1)), 2 * 66 + 2 * 16, 1e-6);
  const std::vector<Polyline2> lines = flat_top_outline(place, 0);
  ASSERT_EQ(lines.size(), 1u);
  EXPECT_EQ(lines[0].front(), lines[0].back());
}

TEST(FlatTopOutline, GoesRoundABentBedInOneLine) {
  const Ground ground = even_ground(0.05);
  const MoundPlace place = place_as_drawn(ground, two_layers({{-40, 5}, {0, 0}, {40, 8}}));
  for (std::size_t k = 0; k < 2; ++k) EXPECT_EQ(flat_top_outline(place, k).size(), 1u);
}

}  // namespace
}  // namespace moundwright

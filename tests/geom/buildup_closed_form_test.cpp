// The buildup against closed forms: bodies and grounds simple enough that every volume, area and length is known.
//
// All beds here lie about (0, 0) with the long axis east and water running north, so that the mound frame is the
// plan: u is east, v is north, left is west, right is east.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "geom/buildup.h"
#include "geom/takeoff.h"

namespace moundwright {
namespace {

constexpr double rounding = 1e-11;  // relative, and absolute for lengths of tens of feet

// ---- grounds ----

Shot shot_at(double e, double n, double z) { return {"", n, e, z, "", 0}; }

/// Shots on a grid of `squares` x `squares` over [-half, half]^2, at z(e, n).
std::vector<Shot> grid_shots(double half, int squares, const std::function<double(double, double)>& z) {
  std::vector<Shot> shots;
  for (int j = 0; j <= squares; ++j) {
    for (int i = 0; i <= squares; ++i) {
      const double e = -half + 2 * half * i / squares, n = -half + 2 * half * j / squares;
      shots.push_back(shot_at(e, n, z(e, n)));
    }
  }
  return shots;
}

Ground level_ground(double elevation, int squares = 7) {
  return make_ground(grid_shots(200, squares, [&](double, double) { return elevation; }));
}

/// Falls north, downslope of the beds here, by `slope`; 100 at the origin.
Ground tilted_ground(double slope) {
  return make_ground(grid_shots(200, 7, [&](double, double n) { return 100 - slope * n; }));
}

// ---- designs ----

Layer layer_of(const std::string& name, double top, const ByFace& beyond, const ByFace& side, double crown = 0) {
  return {name, name, top, crown, beyond, side, false};
}

constexpr double bed_length = 60, bed_width = 10;

MoundDesign design_of(double bottom, const std::vector<Layer>& layers) {
  MoundDesign design;
  design.bed = straight_bed({0, 0}, 90, bed_length, bed_width);
  design.bottom_elevation = bottom;
  design.downslope = 0;
  design.layers = layers;
  return design;
}

// ---- closed forms ----

/// Integral of a function that is a cubic, or less, between a and b (Simpson's rule, the prismoidal formula).
double simpson(const std::function<double(double)>& f, double a, double b) {
  return (b - a) / 6 * (f(a) + 4 * f(0.5 * (a + b)) + f(b));
}

double rectangle_at(const Layer& layer, double below) {
  const double length =
      bed_length + layer.beyond.left + layer.beyond.right + (layer.side.left + layer.side.right) * below;
  const double width =
      bed_width + layer.beyond.upslope + layer.beyond.downslope + (layer.side.upslope + layer.side.downslope) * below;
  return length * width;
}

/// Frustum of a rectangular pyramid under a layer's flat top, h high: V = h/6 (A1 + 4 Am + A2), the prismoidal
/// formula of any route surveying text.
double frustum(const Layer& layer, double h) {
  return simpson([&](double below) { return rectangle_at(layer, below); }, 0, h);
}

/// a v + b
struct Linear {
  double a, b;
  double at(double v) const { return a * v + b; }
};

/// Integral over v of max(0, least of the functions): exact, piece by piece between all places where anything crosses.
double area_under_least(const std::vector<Linear>& functions) {
  std::vector<double> breaks;
  for (std::size_t i = 0; i < functions.size(); ++i) {
    if (functions[i].a != 0) breaks.push_back(-functions[i].b / functions[i].a);
    for (std::size_t j = 0; j < i; ++j) {
      const double a = functions[i].a - functions[j].a;
      if (a != 0) breaks.push_back((functions[j].b - functions[i].b) / a);
    }
  }
  std::sort(breaks.begin(), breaks.end());
  const auto height = [&](double v) {
    double least = functions[0].at(v);
    for (const Linear& f : functions) least = std::min(least, f.at(v));
    return std::max(0.0, least);
  };
  double area = 0;
  for (std::size_t i = 1; i < breaks.size(); ++i) {
    area += 0.5 * (height(breaks[i - 1]) + height(breaks[i])) * (breaks[i] - breaks[i - 1]);
  }
  return area;
}

/// The section across a layer's flat top at elevation `top`, carried `r` beyond the bed, sides b:1, over ground
/// 100 - slope v.
double section_above_tilt(double top, double r, double b, double slope) {
  const double edge = 0.5 * bed_width + r;
  return area_under_least(
      {{slope, top - 100}, {slope + 1 / b, top + edge / b - 100}, {slope - 1 / b, top + edge / b - 100}});
}

double polygon_area(const Polygon2& polygon) {
  double twice = 0;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Point2 p = polygon[i] - polygon[0], q = polygon[(i + 1) % polygon.size()] - polygon[0];
    twice += p.x() * q.y() - p.y() * q.x();
  }
  return 0.5 * twice;
}

/// The toe's loops close around the footprint that was integrated.
void expect_toe_around_footprint(const Buildup& b) {
  double area = 0;
  for (const Polygon2& loop : b.toe.outer) area += polygon_area(loop);
  for (const Polygon2& loop : b.toe.holes) area += polygon_area(loop);
  EXPECT_NEAR(area, b.footprint_area, rounding * b.footprint_area);
}

void expect_relative(double value, double expected, const std::string& what) {
  EXPECT_NEAR(value, expected, rounding * std::abs(expected)) << what;
}

// ---- level ground ----

TEST(LevelGround, LayerIsFrustumOfRectangularPyramid) {
  const Layer cover = layer_of("cover", 2, {1, 2, 3, 1.5}, {3, 4, 2, 2.5});
  const Buildup b = build_up(place_as_drawn(level_ground(100), design_of(101, {cover})));
  expect_relative(b.layers[0].volume, frustum(cover, 3), "volume");
  expect_relative(b.footprint_area, rectangle_at(cover, 3), "footprint");
  expect_relative(b.layers[0].plan_area, rectangle_at(cover, 3), "plan area");
  EXPECT_EQ(b.toe.outer.size(), 1u);
  EXPECT_TRUE(b.toe.holes.empty());
  EXPECT_EQ(b.specks, 0u);
  EXPECT_EQ(b.toe.off_survey, 0);
  expect_toe_around_footprint(b);
  const double length = 60 + 4.5 + 4.5 * 3, width = 10 + 3 + 7 * 3;
  expect_relative(b.footprint_perimeter, 2 * (length + width), "perimeter");
}

TEST(LevelGround, BermIsBeyondPlusRunTimesHeight) {
  const Layer cover = layer_of("cover", 2, {1, 2, 3, 1.5}, {3, 4, 2, 2.5});
  const BermLengths berm = build_up(place_as_drawn(level_ground(100), design_of(101, {cover}))).berm;
  const auto expect_all = [](const BermLength& length, double expected) {
    EXPECT_NEAR(length.middle, expected, rounding);
    EXPECT_NEAR(length.least, expected, rounding);
    EXPECT_NEAR(length.most, expected, rounding);
  };
  expect_all(berm.upslope, 1 + 3 * 3);
  expect_all(berm.downslope, 2 + 4 * 3);
  expect_all(berm.left, 3 + 2 * 3);
  expect_all(berm.right, 1.5 + 2.5 * 3);
}

TEST(LevelGround, CentroidOfFrustum) {
  const Layer cover = layer_of("cover", 2, {1, 2, 3, 1.5}, {3, 4, 2, 2.5});
  const Ground ground = level_ground(100);
  const Buildup b = build_up(place_as_drawn(ground, design_of(101, {cover})));
  // Of each level slice: area, and where its middle is; both products are cubics in depth.
  const double volume = frustum(cover, 3);
  const auto moment = [&](const std::function<double(double)>& middle) {
    return simpson([&](double below) { return middle(below) * rectangle_at(cover, below); }, 0, 3) / volume;
  };
  const double u = moment([&](double below) { return 0.5 * (1.5 - 3 + (2.5 - 2) * below); });
  const double v = moment([&](double below) { return 0.5 * (2 - 1 + (4 - 3) * below); });
  const double z = moment([&](double below) { return 103 - below; });
  const Point2 at = ground.to_world(b.layers[0].centroid.head<2>());
  EXPECT_NEAR(at.x(), u, rounding);
  EXPECT_NEAR(at.y(), v, rounding);
  EXPECT_NEAR(b.layers[0].centroid.z(), z, 100 * rounding);
}

TEST(LevelGround, FrustumIsTheSameAtStatePlaneCoordinates) {
  const Layer cover = layer_of("cover", 2, {1, 2, 3, 1.5}, {3, 4, 2, 2.5});
  MoundDesign design = design_of(101, {cover});
  for (Eigen::Vector2d& p : design.bed.line) p += Eigen::Vector2d(13'150'000, 642'000);
  std::vector<Shot> shots = grid_shots(200, 8, [](double, double) { return 100.0; });
  for (Shot& s : shots) s.easting += 13'150'000, s.northing += 642'000;
  expect_relative(build_up(place_as_drawn(make_ground(shots), design)).total_fill(), frustum(cover, 3), "volume");
}

/// Core, stone, shell and cover of the plainest mound: boxes, and a frustum less the boxes.
std::vector<Layer> four_layers() {
  return {layer_of("core", 0, ByFace::all(1), ByFace::all(0)), layer_of("stone", 1, ByFace::all(0), ByFace::all(0)),
          layer_of("shell", 1, ByFace::all(3), ByFace::all(0)), layer_of("cover", 1.5, ByFace::all(3), ByFace::all(3))};
}

TEST(LevelGround, CoreStoneAndShellAreBoxes) {
  const Ground ground = level_ground(100);
  const Buildup b = build_up(place_as_drawn(ground, design_of(101.5, four_layers())));
  const double core = 62 * 12 * 1.5, stone = 60 * 10 * 1.0, block = 66 * 16 * 2.5;
  expect_relative(b.layers[0].volume, core, "core");
  expect_relative(b.layers[1].volume, stone, "stone");
  expect_relative(b.layers[2].volume, block - core - stone, "shell");
  expect_relative(b.layers[3].volume, frustum(four_layers()[3], 3) - block, "cover");
  expect_relative(b.layers[0].plan_area, 62 * 12, "core area");
  expect_relative(b.layers[1].plan_area, 60 * 10, "stone area");
  expect_relative(b.layers[2].plan_area, 66 * 16 - 60 * 10, "shell area");
  expect_relative(b.layers[3].plan_area, b.footprint_area, "cover area");
  EXPECT_NEAR(b.layers[0].centroid.z(), 100.75, 100 * rounding);
  EXPECT_NEAR(b.layers[1].centroid.z(), 102.0, 100 * rounding);
  const Point2 middle = ground.to_world(b.layers[1].centroid.head<2>());
  EXPECT_NEAR(middle.norm(), 0, 100 * rounding);
}

TEST(LevelGround, ThicknessUnderBedElseUnderOwnTop) {
  const Buildup b = build_up(place_as_drawn(level_ground(100), design_of(101.5, four_layers())));
  const double expected[4][2] = {
      {1.5, 1.5}, {1, 1}, {1, 2.5} /* over the core, and beside it: none under the bed */, {0.5, 0.5}};
  for (std::size_t k = 0; k < 4; ++k) {
    EXPECT_NEAR(b.layers[k].thickness_least, expected[k][0], 100 * rounding) << b.layers[k].name;
    EXPECT_NEAR(b.layers[k].thickness_most, expected[k][1], 100 * rounding) << b.layers[k].name;
  }
  EXPECT_NEAR(b.sand_least, 1.5, 100 * rounding);
  EXPECT_NEAR(b.sand_most, 1.5, 100 * rounding);
}

TEST(LevelGround, TopsoilIsTheDifferenceOfTwoFrustums) {
  std::vector<Layer> layers = four_layers();
  layers.push_back(layer_of("topsoil", 2, ByFace::all(3), ByFace::all(3)));
  const Buildup b = build_up(place_as_drawn(level_ground(100), design_of(101.5, layers)));
  expect_relative(b.layers[4].volume, frustum(layers[4], 3.5) - frustum(layers[3], 3), "topsoil");
  EXPECT_NEAR(b.layers[4].thickness_most, 0.5, 100 * rounding);
}

TEST(LevelGround, CrownIsAGablePrismOnABox) {
  const Layer roof = layer_of("roof", 2, ByFace::all(1), ByFace::all(0), 0.6);
  const Buildup b = build_up(place_as_drawn(level_ground(100), design_of(100.5, {roof})));
  expect_relative(b.total_fill(), 62 * 12 * (2.5 + 0.6 / 2), "volume");
  EXPECT_NEAR(b.layers[0].thickness_most, 3.1, 100 * rounding);
  EXPECT_NEAR(b.layers[0].thickness_least, 2.5 + 0.6 * 1 / 6,
              100 * rounding);  // at the bed's edge, 1 ft in from the top's
}

TEST(LevelGround, CrownedCoverWithGableEnds) {
  const Layer cover = layer_of("cover", 1.5, ByFace::all(3), {3, 4, 2, 2.5}, 0.5);
  const Buildup b = build_up(place_as_drawn(level_ground(100), design_of(101.5, {cover})));
  const double top = 3, crown = 0.5;
  const auto length_at = [&](double z) { return 66 + 4.5 * (top + crown - z); };  // an end falls from the ridge
  const double below = simpson([&](double z) { return length_at(z) * (16 + 7 * (top - z)); }, 0, top);
  const double above = simpson([&](double z) { return length_at(z) * 16 * (1 - (z - top) / crown); }, top, top + crown);
  expect_relative(b.total_fill(), below + above, "volume");
  EXPECT_NEAR(b.berm.left.middle, 3 + 2 * 3.5, rounding);
  EXPECT_NEAR(b.berm.right.middle, 3 + 2.5 * 3.5, rounding);
  EXPECT_NEAR(b.berm.upslope.middle, 3 + 3 * 3, rounding);
}

// ---- round corners ----

/// Of the square corner's pyramid, the part inside seven planes tangent to the elliptical cone: in axes scaled by the
/// two runs the cone is round, its tangents touch at angles g, and between two of them lies a kite of area tan(dg / 2).
double rounded_part(double run_end, double run_long) {
  double part = 0, last = 0;
  for (int i = 1; i <= 8; ++i) {
    const double turn = 0.5 * std::numbers::pi * i / 8;
    const double touch = i == 8 ? turn : std::atan2(run_long * std::sin(turn), run_end * std::cos(turn));
    part += std::tan(0.5 * (touch - last));
    last = touch;
  }
  return part;
}

double corner_pyramid(double run_end, double run_long, double h) { return run_end * h * run_long * h * h / 3; }

TEST(RoundCorners, VolumeIsTheSevenPlaneCorner) {
  Layer cover = layer_of("cover", 2, ByFace::all(2), {3, 4, 2, 2.5});
  const double square = frustum(cover, 3);
  cover.round_corners = true;
  const Buildup b = build_up(place_as_drawn(level_ground(100), design_of(101, {cover})));
  double expected = square;
  for (const double end : {2.0, 2.5}) {
    for (const double long_side : {3.0, 4.0}) {
      expected -= corner_pyramid(end, long_side, 3) * (1 - rounded_part(end, long_side));
    }
  }
  expect_relative(b.total_fill(), expected, "volume");
  expect_toe_around_footprint(b);
  EXPECT_NEAR(b.berm.left.middle, 2 + 2 * 3, rounding);
}

TEST(RoundCorners, CornerIsOverTheTrueConeByThreeInAThousand) {
  Layer cover = layer_of("cover", 2, ByFace::all(2), ByFace::all(3));
  const double square = frustum(cover, 3), pyramids = 4 * corner_pyramid(3, 3, 3);
  cover.round_corners = true;
  const double corners =
      build_up(place_as_drawn(level_ground(100), design_of(101, {cover}))).total_fill() - square + pyramids;
  const double cones = std::numbers::pi / 4 * pyramids;
  EXPECT_NEAR(corners / cones - 1, 0.003, 0.0005);
}

TEST(RoundCorners, CrownedConeStandsWhereLongEdgeMeetsEndPlaneAtTop) {
  Layer cover = layer_of("cover", 2, ByFace::all(2), ByFace::all(3), 0.5);
  const Ground ground = level_ground(100);
  const double square = build_up(place_as_drawn(ground, design_of(101, {cover}))).total_fill();
  cover.round_corners = true;
  const double round = build_up(place_as_drawn(ground, design_of(101, {cover}))).total_fill();
  // The end plane has come down to `top` at each apex, so each corner cut off is that of a flat top 3 ft up.
  expect_relative(square - round, 4 * corner_pyramid(3, 3, 3) * (1 - rounded_part(3, 3)), "cut off");
}

// ---- even slopes ----

TEST(TiltedGround, BermLengthsOfTheClosedForm) {
  for (const double slope : {0.0, 0.02, 0.08, 0.15, 0.24}) {
    SCOPED_TRACE(slope);
    const double r = 2, b = 4, h_up = 3, h_down = h_up + slope * bed_width;
    const Layer cover = layer_of("cover", 1, ByFace::all(r), ByFace::all(b));
    const std::vector<Shot> shots = grid_shots(600, 9, [&](double, double n) { return 100 - slope * n; });
    const MoundDesign design = design_of(100 + slope * 0.5 * bed_width + h_up - 1, {cover});
    const BermLengths berm = build_up(place_as_drawn(make_ground(shots), design)).berm;
    const double up = (r + b * h_up) / (1 + b * slope), down = (r + b * h_down) / (1 - b * slope);
    EXPECT_NEAR(berm.upslope.middle, up, rounding * up);
    EXPECT_NEAR(berm.upslope.least, up, rounding * up);
    EXPECT_NEAR(berm.upslope.most, up, rounding * up);
    EXPECT_NEAR(berm.downslope.middle, down, 4 * rounding * down);  // the nearer to 1/b, the flatter the cut
    EXPECT_NEAR(berm.left.middle, r + b * 0.5 * (h_up + h_down), rounding * 100);
  }
}

TEST(TiltedGround, PrismWithVerticalEnds) {
  const double slope = 0.1;
  const Layer cover = layer_of("cover", 1, {2, 2, 0, 0}, {3, 3, 0, 0});
  const Buildup b = build_up(place_as_drawn(tilted_ground(slope), design_of(102, {cover})));
  expect_relative(b.total_fill(), bed_length * section_above_tilt(103, 2, 3, slope), "volume");
  expect_toe_around_footprint(b);
}

TEST(TiltedGround, WedgeWithBatteredEnds) {
  const double slope = 0.1, top = 103;
  const Layer cover = layer_of("cover", 1, {2, 2, 1, 1}, {3, 3, 2, 4});
  const Buildup b = build_up(place_as_drawn(tilted_ground(slope), design_of(102, {cover})));
  // Beyond an end the section's flat top goes down; its area is quadratic between the levels of the two toes.
  const auto section = [&](double down) {
    const double cut = top - down;  // the sides stay where they are: the flat gets wider
    const double edge = 0.5 * bed_width + 2;
    return area_under_least(
        {{slope, cut - 100}, {slope + 1 / 3., top + edge / 3 - 100}, {slope - 1 / 3., top + edge / 3 - 100}});
  };
  const double up = (7 + 3 * (top - 100)) / (1 + 3 * slope), down = (7 + 3 * (top - 100)) / (1 - 3 * slope);
  const double high_toe = top - (100 + slope * up), low_toe = top - (100 - slope * down);  // below the top
  const double ends = (2 + 4) * (simpson(section, 0, high_toe) + simpson(section, high_toe, low_toe));
  expect_relative(b.total_fill(), (bed_length + 2) * section(0) + ends, "volume");
  expect_toe_around_footprint(b);
}

TEST(TiltedGround, SingleTriangle) {
  const double slope = 0.1;
  const auto on_plane = [&](double e, double n) { return shot_at(e, n, 100 - slope * n); };
  const Ground ground = make_ground({on_plane(-300, -200), on_plane(300, -200), on_plane(0, 400)});
  const Layer cover = layer_of("cover", 1, {2, 2, 0, 0}, {3, 3, 0, 0});
  const Buildup b = build_up(place_as_drawn(ground, design_of(102, {cover})));
  expect_relative(b.total_fill(), bed_length * section_above_tilt(103, 2, 3, slope), "volume");
}

TEST(TiltedGround, LeastSandSetsTheBedBottom) {
  const double slope = 0.08;
  MoundDesign design = design_of(0, {layer_of("cover", 2, ByFace::all(2), ByFace::all(3))});
  design.bottom_elevation.reset();
  design.least_sand = 1.25;
  const Buildup b = build_up(place_as_drawn(tilted_ground(slope), design));
  EXPECT_NEAR(b.bottom_elevation, 100 + slope * 5 + 1.25, rounding * 100);
  ASSERT_TRUE(b.governing);
  EXPECT_NEAR(b.governing->elevation, 100 + slope * 5, rounding * 100);
  EXPECT_NEAR(b.sand_least, 1.25, rounding * 100);
  EXPECT_NEAR(b.sand_most, 1.25 + slope * bed_width, rounding * 100);
}

TEST(TiltedGround, StripIsTakenOffTheBedBottomAndLeavesTheSand) {
  const double slope = 0.08;
  MoundDesign design = design_of(0, {layer_of("cover", 2, ByFace::all(2), ByFace::all(3))});
  design.bottom_elevation.reset();
  design.least_sand = 1.25;
  design.prepare.strip = 0.5;
  const Buildup b = build_up(place_as_drawn(tilted_ground(slope), design));
  EXPECT_NEAR(b.bottom_elevation, 100 + slope * 5 - 0.5 + 1.25, rounding * 100);
  EXPECT_NEAR(b.sand_least, 1.25, rounding * 100);
  EXPECT_NEAR(b.sand_most, 1.25 + slope * bed_width, rounding * 100);
}

// ---- strip and pit ----

TEST(Strip, IsItsDepthTimesTheFootprint) {
  MoundDesign design = design_of(101.5, four_layers());
  design.prepare.strip = 0.5;
  const Buildup b = build_up(place_as_drawn(level_ground(100), design));
  const Layer& cover = design.layers[3];
  const double area = rectangle_at(cover, 3);
  ASSERT_EQ(b.cuts.size(), 1u);
  EXPECT_EQ(b.cuts[0].name, "strip");
  expect_relative(b.cuts[0].volume, 0.5 * area, "strip");
  expect_relative(b.cuts[0].plan_area, area, "strip area");
  EXPECT_NEAR(b.cuts[0].centroid.z(), 99.75, rounding * 100);
  expect_relative(b.footprint_area, area, "footprint");
  expect_relative(b.layers[0].volume, 62 * 12 * 2.0, "core");
  expect_relative(b.total_fill(), frustum(cover, 3) + 0.5 * area, "fill");
}

TEST(Strip, OnATiltIsItsDepthTimesTheFootprint) {
  MoundDesign design = design_of(102, {layer_of("cover", 1, {2, 2, 0, 0}, {3, 3, 0, 0})});
  const Buildup bare = build_up(place_as_drawn(tilted_ground(0.1), design));
  design.prepare.strip = 0.4;
  const Buildup b = build_up(place_as_drawn(tilted_ground(0.1), design));
  const double up = (2 + 3 * 2.5) / 1.3, down = (2 + 3 * 3.5) / 0.7;
  const double area = bed_length * (up + bed_width + down);
  expect_relative(b.cuts[0].volume, 0.4 * area, "strip");
  expect_relative(b.total_fill(), bare.total_fill() + 0.4 * area, "fill");
}

TEST(Undercut, BoxOnLevelGroundBelowTheStrip) {
  MoundDesign design = design_of(101.5, four_layers());
  design.prepare.strip = 0.5;
  design.prepare.undercut = Undercut{98, ByFace::all(1), ByFace::all(0)};
  const Buildup b = build_up(place_as_drawn(level_ground(100), design));
  ASSERT_EQ(b.cuts.size(), 2u);
  EXPECT_EQ(b.cuts[1].name, "undercut");
  expect_relative(b.cuts[1].volume, 62 * 12 * 1.5, "pit");
  expect_relative(b.cuts[1].plan_area, 62 * 12, "pit area");
  EXPECT_NEAR(b.cuts[1].centroid.z(), 98.75, rounding * 100);
  expect_relative(b.layers[0].volume, 62 * 12 * 3.5, "core fills the pit");
  EXPECT_NEAR(b.sand_least, 3.5, rounding * 100);
  expect_relative(b.total_fill(), frustum(design.layers[3], 3) + b.total_cut(), "fill");
}

TEST(Undercut, BatteredPitOnLevelGround) {
  MoundDesign design = design_of(101.5, four_layers());
  design.prepare.undercut = Undercut{98, {1, 2, 0.5, 0}, {1, 1.5, 0.5, 2}};
  const Buildup b = build_up(place_as_drawn(level_ground(100), design));
  const double pit = simpson([](double up) { return (60.5 + 2.5 * up) * (13 + 2.5 * up); }, 0, 2);
  ASSERT_EQ(b.cuts.size(), 1u);
  expect_relative(b.cuts[0].volume, pit, "pit");
  expect_relative(b.cuts[0].plan_area, 65.5 * 18, "pit area");
  expect_relative(b.total_fill(), frustum(design.layers[3], 3) + pit, "fill");
}

TEST(Undercut, BatteredPitOnATilt) {
  const double slope = 0.1, bottom = 97, run = 1.5;
  MoundDesign design = design_of(103, {layer_of("cover", 1.5, ByFace::all(6), ByFace::all(3))});
  const double bare = build_up(place_as_drawn(tilted_ground(slope), design)).total_fill();
  design.prepare.undercut = Undercut{bottom, ByFace::all(1), {run, run, 1, 2}};
  const Buildup b = build_up(place_as_drawn(tilted_ground(slope), design));
  // As a section from the flat bottom up, whose bottom rises beyond the ends.
  const auto section = [&](double up) {
    const double foot = 6 / run - bottom;
    return area_under_least(
        {{-slope, 100 - bottom - up}, {-slope - 1 / run, 100 + foot}, {-slope + 1 / run, 100 + foot}});
  };
  const double low_v = (6 + run * (100 - bottom)) / (1 + run * slope);  // where the sides come out of the ground
  const double high_v = -(6 + run * (100 - bottom)) / (1 - run * slope);
  const double low = 100 - slope * low_v - bottom, high = 100 - slope * high_v - bottom;
  const double pit = 62 * section(0) + 3 * (simpson(section, 0, low) + simpson(section, low, high));
  ASSERT_EQ(b.cuts.size(), 1u);
  expect_relative(b.cuts[0].volume, pit, "pit");
  expect_relative(b.total_fill(), bare + pit, "fill");
}

TEST(Undercut, BoxOnATiltIsAreaTimesMiddleDepth) {
  MoundDesign design = design_of(103, {layer_of("cover", 1.5, ByFace::all(6), ByFace::all(3))});
  design.prepare.undercut = Undercut{97, ByFace::all(1), ByFace::all(0)};
  design.prepare.strip = 0.25;
  const Buildup b = build_up(place_as_drawn(tilted_ground(0.1), design));
  ASSERT_EQ(b.cuts.size(), 2u);
  expect_relative(b.cuts[1].volume, 62 * 12 * 2.75, "pit");
  EXPECT_NEAR(b.sand_least, 6, rounding * 100);
  EXPECT_NEAR(b.sand_most, 6, rounding * 100);
}

// ---- holes and specks ----

/// Adds a four-sided pyramid to a level survey: base 2 x 2 about the place, tip at `tip`.
void add_pyramid(std::vector<Shot>& shots, double e, double n, double half, double base, double tip) {
  for (const double de : {-half, half}) {
    for (const double dn : {-half, half}) shots.push_back(shot_at(e + de, n + dn, base));
  }
  shots.push_back(shot_at(e, n, tip));
}

TEST(Footprint, KnobStandingThroughTheTopIsAHole) {
  std::vector<Shot> shots = grid_shots(200, 4, [](double, double) { return 100.0; });
  add_pyramid(shots, 13, 12, 1, 100, 110);
  const Layer block = layer_of("block", 3, ByFace::all(12), ByFace::all(0));
  const Buildup b = build_up(place_as_drawn(make_ground(shots), design_of(101, {block})));
  ASSERT_EQ(b.toe.holes.size(), 1u);
  const double side = 2 * 0.6;  // the knob at 104
  EXPECT_NEAR(polygon_area(b.toe.holes[0]), -side * side, 10 * rounding);
  expect_relative(b.footprint_area, 84 * 34 - side * side, "footprint");
  expect_relative(b.footprint_perimeter, 2 * (84 + 34) + 4 * side, "perimeter");
  const double knob = simpson([](double up) { return std::pow(2 - 0.2 * up, 2); }, 0, 4);
  expect_relative(b.total_fill(), 84 * 34 * 4 - knob, "volume");
  expect_toe_around_footprint(b);
}

TEST(Footprint, HoleIsNotStripped) {
  std::vector<Shot> shots = grid_shots(200, 4, [](double, double) { return 100.0; });
  add_pyramid(shots, 13, 12, 1, 100, 110);
  MoundDesign design = design_of(101, {layer_of("block", 3, ByFace::all(12), ByFace::all(0))});
  design.prepare.strip = 0.5;
  expect_relative(build_up(place_as_drawn(make_ground(shots), design)).total_cut(), 0.5 * (84 * 34 - 1.44), "strip");
}

TEST(Footprint, HollowFarOffUnderTheSidePlaneIsASpeckAndDropped) {
  const double b = 3, top = 103, half = 4, base = 100, tip = 80, hollow_n = 60;
  std::vector<Shot> shots = grid_shots(200, 4, [&](double, double) { return base; });
  add_pyramid(shots, 3, hollow_n, half, base, tip);
  MoundDesign design = design_of(101, {layer_of("cover", 2, ByFace::all(0), ByFace::all(b))});
  design.prepare.strip = 0.5;
  const Buildup built = build_up(place_as_drawn(make_ground(shots), design));
  // Hollow tip + k max(|x|, |y|) under the downslope side plane, which is `over` above the tip and falls at m: a
  // trapezoid of height y1 + y2 and mean width y1 + y2.
  const double k = (base - tip) / half, m = 1 / b, over = top - (hollow_n - 5) / b - tip;
  const double height = over / (k + m) + over / (k - m);
  EXPECT_EQ(built.specks, 1u);
  expect_relative(built.specks_area, height * height, "specks");
  const Layer& cover = design.layers[0];
  expect_relative(built.footprint_area, rectangle_at(cover, 3), "footprint");
  expect_relative(built.total_fill(), frustum(cover, 3) + 0.5 * rectangle_at(cover, 3), "fill");
  expect_relative(built.total_cut(), 0.5 * rectangle_at(cover, 3), "strip");
  EXPECT_EQ(built.toe.outer.size(), 1u);
  expect_toe_around_footprint(built);
}

// ---- ground that a layer lies exactly on ----

constexpr double elevations[] = {100.0, 0.0, 100.37, -3.3, 0.05, 1234.567, 9876.54};
const Point2 places[] = {{0, 0}, {13'150'000.25, 642'000.5}};

/// A level survey about a place.
Ground level_ground_at(const Point2& place, double elevation, int squares = 7) {
  std::vector<Shot> shots = grid_shots(200, squares, [&](double, double) { return elevation; });
  for (Shot& s : shots) s.easting += place.x(), s.northing += place.y();
  return make_ground(shots);
}

MoundDesign moved(MoundDesign design, const Point2& place) {
  for (Eigen::Vector2d& p : design.bed.line) p += place;
  return design;
}

void expect_no_footprint(const Buildup& b) {
  EXPECT_EQ(b.footprint_area, 0);
  EXPECT_EQ(b.total_cut(), 0);
  EXPECT_EQ(b.total_fill(), 0);
  EXPECT_TRUE(b.toe.outer.empty());
  for (const LayerResult& layer : b.layers) EXPECT_EQ(layer.plan_area, 0);
}

TEST(Coplanar, LayerExactlyOnLevelGroundHasNoFootprint) {
  for (const double elevation : elevations) {
    for (const double top : {0.0, 0.1, 2.3}) {
      for (const Point2& place : places) {
        SCOPED_TRACE(testing::Message() << elevation << ", top " << top << ", easting " << place.x());
        MoundDesign design = design_of(elevation - top, {layer_of("flat", top, ByFace::all(5), ByFace::all(0))});
        design.prepare.strip = 0.5;
        expect_no_footprint(build_up(place_as_drawn(level_ground_at(place, elevation), moved(design, place))));
      }
    }
  }
}

/// A level survey of shots in no order, so that plan lines cross triangles every way.
Ground scattered_level_ground(double elevation) {
  std::mt19937_64 random(3);
  std::uniform_real_distribution<double> place(-100, 100);
  std::vector<Shot> shots = grid_shots(100, 1, [&](double, double) { return elevation; });
  for (int i = 0; i < 600; ++i) shots.push_back(shot_at(place(random), place(random), elevation));
  return make_ground(shots);
}

/// An apron flush with the ground all round a cover adds nothing: footprint, strip and toe are the cover's own.
void expect_apron_adds_nothing(const Ground& ground, const MoundDesign& design) {
  const Buildup alone = build_up(place_as_drawn(ground, design));
  const Layer apron = layer_of("apron", 0, ByFace::all(40), ByFace::all(0));
  for (const bool apron_first : {false, true}) {
    MoundDesign both = design;
    both.layers.insert(apron_first ? both.layers.begin() : both.layers.end(), apron);
    const Buildup b = build_up(place_as_drawn(ground, both));
    expect_relative(b.footprint_area, alone.footprint_area, "footprint");
    expect_relative(b.total_cut(), 0.5 * b.footprint_area, "strip");
    expect_relative(b.total_fill(), alone.total_fill(), "fill");
    expect_relative(b.footprint_perimeter, alone.footprint_perimeter, "perimeter");
    EXPECT_EQ(b.specks, 0u);
    EXPECT_EQ(b.toe.outer.size(), 1u);
    EXPECT_TRUE(b.toe.holes.empty());
    expect_toe_around_footprint(b);
    EXPECT_LT(take_off(PlacedMound{place_as_drawn(ground, both), b}, LengthUnit::foot, 5).balance.relative_difference,
              1e-9);
  }
}

TEST(Coplanar, ApronExactlyOnLevelGroundAddsNothing) {
  for (const double elevation : elevations) {
    for (const bool round : {false, true}) {
      SCOPED_TRACE(testing::Message() << elevation << (round ? ", round" : ""));
      Layer cover = layer_of("cover", 3, ByFace::all(1), ByFace::all(3));
      cover.round_corners = round;
      MoundDesign design = design_of(elevation, {cover});
      design.prepare.strip = 0.5;
      if (!round) {
        const Buildup b = build_up(place_as_drawn(level_ground_at({0, 0}, elevation), design));
        expect_relative(b.footprint_area, 80 * 30, "footprint");
        expect_relative(b.total_cut(), 0.5 * 80 * 30, "strip");
      }
      for (const Point2& place : places) {
        expect_apron_adds_nothing(level_ground_at(place, elevation), moved(design, place));
      }
      for (const double azimuth : {90.0, 63.0, 121.7}) {
        design.bed = straight_bed({1.3, -2.7}, azimuth, bed_length, bed_width);
        expect_apron_adds_nothing(scattered_level_ground(elevation), design);
      }
    }
  }
}

/// A side that falls as the ground falls, from where the flat top comes out of it: nothing stands above ground.
TEST(Coplanar, SideExactlyOnATiltHasNoFootprint) {
  for (const double slope : {0.1, 0.25, 1.0 / 3}) {
    SCOPED_TRACE(slope);
    const Layer flush = layer_of("flush", 0, ByFace::all(1), {3, 1 / slope, 2, 2});
    MoundDesign design = design_of(100 - slope * 6, {flush});
    design.prepare.strip = 0.5;
    expect_no_footprint(build_up(place_as_drawn(tilted_ground(slope), design)));
  }
}

TEST(Coplanar, AHairAboveTheGroundIsFootprint) {
  for (const double lift : {1e-11, 1e-6}) {
    SCOPED_TRACE(lift);
    MoundDesign design = design_of(100 + lift, {layer_of("flat", 0, ByFace::all(5), ByFace::all(0))});
    design.prepare.strip = 0.5;
    const Buildup b = build_up(place_as_drawn(level_ground(100), design));
    expect_relative(b.footprint_area, 70 * 20, "footprint");
    expect_relative(b.total_cut(), 0.5 * 70 * 20, "strip");
    expect_toe_around_footprint(b);
  }
}

/// Terraces, so that the trend tilts and heights over a pit's bottom are rounding, not zero: where the bottom is the
/// terrace there is nothing to dig, and a hair deeper it is a hair more.
TEST(Coplanar, PitWithItsBottomOnATerraceDigsNothingThere) {
  constexpr double hair = 1e-7;
  const Ground ground = make_ground(grid_shots(84, 14, [](double, double n) { return 100 + std::floor(n / 48); }));
  for (const double azimuth : {90.0, 91.3, 63.0, 121.7}) {
    SCOPED_TRACE(azimuth);
    MoundDesign design = design_of(101.5, four_layers());
    design.bed = straight_bed({0, 0}, azimuth, bed_length, bed_width);
    design.downslope = azimuth + 90;
    const auto with_pit_at = [&](double elevation) {
      design.prepare.undercut = Undercut{elevation, {3, 12, 3, 3}, ByFace::all(0)};
      return build_up(place_as_drawn(ground, design));
    };
    const Buildup deeper = with_pit_at(99 - hair), on = with_pit_at(99);
    const double most = 2 * hair * on.footprint_area;
    EXPECT_GT(on.total_cut(), 100);  // where the ground is higher
    EXPECT_NEAR(on.total_cut(), deeper.total_cut(), most);
    for (std::size_t k = 0; k < on.layers.size(); ++k) {
      EXPECT_NEAR(on.layers[k].volume, deeper.layers[k].volume, most) << on.layers[k].name;
    }
    EXPECT_LT(
        take_off(PlacedMound{place_as_drawn(ground, design), on}, LengthUnit::foot, 5).balance.relative_difference,
        1e-9);
  }
}

// ---- vertical outermost faces ----

/// Perimeter, area and the one closed loop of a block 66 x 16 about the origin.
void expect_block(const Buildup& b) {
  expect_relative(b.footprint_area, 66 * 16, "footprint");
  expect_relative(b.footprint_perimeter, 2 * (66 + 16), "perimeter");
  EXPECT_EQ(b.toe.outer.size(), 1u);
  EXPECT_TRUE(b.toe.holes.empty());
  EXPECT_EQ(b.toe.off_survey, 0);
  EXPECT_NEAR(b.berm.upslope.middle, 3, rounding);
  EXPECT_NEAR(b.berm.left.middle, 3, rounding);
  expect_toe_around_footprint(b);
}

const Layer block = layer_of("block", 2, ByFace::all(3), ByFace::all(0));

TEST(VerticalFaces, ToeIsTheRectangle) {
  for (const double slope : {0.0, 0.06}) {
    SCOPED_TRACE(slope);
    const Buildup b = build_up(place_as_drawn(tilted_ground(slope), design_of(102, {block})));
    expect_block(b);
    expect_relative(b.total_fill(), 66 * 16 * 4, "volume");
  }
}

TEST(VerticalFaces, OnBreaklinesAlongThem) {
  std::vector<Shot> shots = grid_shots(200, 3, [](double, double) { return 100.0; });
  const std::size_t first = shots.size();
  for (const auto& [e, n] : {std::pair{-33., -8.}, {33., -8.}, {33., 8.}, {-33., 8.}})
    shots.push_back(shot_at(e, n, 100));
  const Ground ground = make_ground(shots, {{first, first + 1, first + 2, first + 3, first}});
  expect_block(build_up(place_as_drawn(ground, design_of(102, {block}))));
}

// ---- bent beds ----

/// A right-angled bend: 40 ft east, then 30 ft north. Downslope is on the inside of the bend.
MoundDesign bent_design(double bottom, const std::vector<Layer>& layers) {
  MoundDesign design = design_of(bottom, layers);
  design.bed.line = {{-40, 0}, {0, 0}, {0, 30}};
  design.downslope = 315;
  return design;
}

/// Plan area of a strip with the given distances from the centre line to each side, mitred at a right angle: what the
/// outside gains at the bend, w^2 tan 45, the inside loses.
double bent_area(double length, double outside, double inside) {
  return length * (outside + inside) + outside * outside - inside * inside;
}

TEST(BentBed, StoneIsWidthTimesCentreLine) {
  const std::vector<Layer> layers = {layer_of("core", 0, ByFace::all(1), ByFace::all(0)),
                                     layer_of("stone", 1, ByFace::all(0), ByFace::all(0))};
  const Buildup b = build_up(place_as_drawn(level_ground(100), bent_design(101, layers)));
  expect_relative(b.layers[1].volume, 70 * bed_width, "stone");
  expect_relative(b.layers[0].volume, 72 * 12, "core");
  EXPECT_EQ(b.toe.outer.size(), 1u);
  expect_relative(b.footprint_area, 72 * 12, "footprint");
  expect_toe_around_footprint(b);
}

TEST(BentBed, CoverIsMitred) {
  const Layer cover = layer_of("cover", 2, {3, 2, 4, 1}, {3, 4, 2, 2.5});
  const Buildup b = build_up(place_as_drawn(level_ground(100), bent_design(101, {cover})));
  const auto area_at = [](double below) { return bent_area(75 + 4.5 * below, 8 + 3 * below, 7 + 4 * below); };
  expect_relative(b.total_fill(), simpson(area_at, 0, 3), "volume");
  expect_relative(b.footprint_area, area_at(3), "footprint");
  EXPECT_EQ(b.toe.outer.size(), 1u);
  EXPECT_TRUE(b.toe.holes.empty());
  expect_toe_around_footprint(b);
}

TEST(BentBed, BermLengthsOnLevelGround) {
  const Layer cover = layer_of("cover", 2, {3, 2, 4, 1}, {3, 4, 2, 2.5});
  MoundDesign design = bent_design(101, {cover});
  design.bed.line.front().x() = -110;  // so that mid-length of the inner edge is clear of the bend
  const BermLengths berm = build_up(place_as_drawn(level_ground(100), design)).berm;
  for (const auto& [length, expected] :
       {std::pair{berm.upslope, 12.0}, {berm.downslope, 14.0}, {berm.left, 10.0}, {berm.right, 8.5}}) {
    EXPECT_NEAR(length.middle, expected, rounding);
    EXPECT_NEAR(length.least, expected, rounding);
    EXPECT_NEAR(length.most, expected, rounding);
  }
}

// The line square out from mid-length of the inner edge, 5 ft from the bend, crosses into the other piece's berm.
TEST(BentBed, BermLengthNearABendIsThatOfItsOwnPiece) {
  const Layer cover = layer_of("cover", 2, {3, 2, 4, 1}, {3, 4, 2, 2.5});
  const BermLengths berm = build_up(place_as_drawn(level_ground(100), bent_design(101, {cover}))).berm;
  EXPECT_NEAR(berm.downslope.middle, 14.0, rounding);
  EXPECT_NEAR(berm.downslope.least, 14.0, rounding);
  EXPECT_NEAR(berm.downslope.most, 14.0, rounding);
}

// Ground rises north by s, against the west arm's inner side: 103 - (d - 2) / 4 = 100 + s (5 + d) at d from its edge.
// The nearest line to mid-length that ends in that arm's own berm meets the toe at the bisector; the north arm's are
// farther.
TEST(BentBed, BermLengthAtMidLengthIsTakenAtTheNearestLineOfItsOwn) {
  const double s = 0.05;
  const Ground ground = make_ground(grid_shots(120, 20, [&](double, double n) { return 100 + s * n; }));
  const Layer cover = layer_of("cover", 2, ByFace::all(2), ByFace::all(4));
  const BermLengths berm = build_up(place_as_drawn(ground, bent_design(101, {cover}))).berm;
  const double at_bisector = (3.5 - 5 * s) / (0.25 + s);
  EXPECT_NEAR(berm.downslope.middle, at_bisector, 100 * rounding);
}

// ---- a survey that ends too soon ----

TEST(SurveyEnds, AllAround) {
  const Ground ground = make_ground(grid_shots(12, 3, [](double, double) { return 100.0; }));
  const Layer block_40 = layer_of("block", 2, ByFace::all(20), ByFace::all(0));
  const Buildup b = build_up(place_as_drawn(ground, design_of(101, {block_40})));
  EXPECT_NEAR(b.toe.off_survey, 4 * 24, rounding * 100);
  EXPECT_EQ(b.footprint_perimeter, 0);
  expect_relative(b.total_fill(), 24 * 24 * 3, "volume over what was surveyed");
}

TEST(SurveyEnds, NoGroundUnderTheBedIsRefusedOnlyWhereTheBottomHangsOnIt) {
  MoundDesign design = design_of(101, {block});
  for (Eigen::Vector2d& p : design.bed.line) p += Eigen::Vector2d(5000, 0);
  const Buildup b = build_up(place_as_drawn(level_ground(100), design));
  EXPECT_EQ(b.total_fill(), 0);
  EXPECT_FALSE(b.governing);
  design.bottom_elevation.reset();
  design.least_sand = 1;
  try {
    build_up(place_as_drawn(level_ground(100), design));
    FAIL() << "a bed off the survey was placed";
  } catch (const Refusal& refusal) {
    EXPECT_EQ(refusal.problems().at(0).where, "mound.bottom.least_sand");
  }
}

TEST(LevelGround, SingleTriangleCarriesTheWholeMound) {
  const Ground ground = make_ground({shot_at(-300, -200, 100), shot_at(300, -200, 100), shot_at(0, 400, 100)});
  ASSERT_EQ(ground.triangle_count(), 1u);
  const Layer cover = layer_of("cover", 2, ByFace::all(1), ByFace::all(3));
  const Buildup b = build_up(place_as_drawn(ground, design_of(101, {cover})));
  expect_relative(b.total_fill(), frustum(cover, 3), "volume");
  expect_relative(b.footprint_area, rectangle_at(cover, 3), "footprint");
  expect_toe_around_footprint(b);
}

TEST(VerticalFaces, OnTinEdgesAndShots) {
  std::vector<double> easting, northing;  // lines through the faces and through the bed's own edges
  for (const double e : {-80., -33., -30., -11., 0., 11., 30., 33., 80.}) easting.push_back(e);
  for (const double n : {-60., -8., -5., 0., 5., 8., 60.}) northing.push_back(n);
  for (const double slope : {0.0, 0.0625}) {
    SCOPED_TRACE(slope);
    std::vector<Shot> shots;
    for (const double e : easting) {
      for (const double n : northing) shots.push_back(shot_at(e, n, 100 - slope * n));
    }
    const Buildup b = build_up(place_as_drawn(make_ground(shots), design_of(102, {block})));
    expect_block(b);
    expect_relative(b.total_fill(), 66 * 16 * 4, "volume");
  }
}

TEST(SurveyEnds, UnderTheDownslopeBerm) {
  std::vector<Shot> shots;
  for (const double e : {-150., -40., 0., 70., 150.}) {
    for (const double n : {-90., -30., 12.}) shots.push_back(shot_at(e, n, 100));
  }
  const Layer cover = layer_of("cover", 2, ByFace::all(1), ByFace::all(3));
  const Buildup b = build_up(place_as_drawn(make_ground(shots), design_of(101, {cover})));
  const double length = 60 + 2 * 10, up = 5 + 10;  // toe at 10 ft from the bed; the survey ends 7 ft from it
  EXPECT_NEAR(b.toe.off_survey, length, rounding * length);
  expect_relative(b.footprint_area, length * (up + 12), "footprint");
  expect_relative(b.footprint_perimeter, length + 2 * (up + 12), "perimeter that is toe");
  expect_toe_around_footprint(b);
}

}  // namespace
}  // namespace moundwright

// Sections and the end-area check, against closed forms: exact where faces are vertical, and off by the known
// amount where a side runs out.
#include "geom/sections.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "geom/literal_rule.h"
#include "tests/support/plain_layer.h"

namespace moundwright {
namespace {

constexpr double east0 = 13'400'000, north0 = 1'200'000;  // state-plane sized
constexpr double rounding = 1e-8;                         // relative: sections are cut a millionth of a foot aside

Ground ground_of(const std::function<double(double x, double y)>& z) {
  std::vector<Shot> shots;
  for (int i = -10; i <= 10; ++i) {
    for (int j = -10; j <= 10; ++j) {
      shots.push_back({"", north0 + 13.0 * j, east0 + 13.0 * i, z(13.0 * i, 13.0 * j), "", 0});
    }
  }
  return make_ground(shots);
}

double level(double, double) { return 100; }

/// A bed 8 wide along a line given from (east0, north0), its bottom at 101.
MoundDesign design_of(std::vector<Point2> line, std::vector<Layer> layers) {
  MoundDesign design;
  for (Point2& p : line) p += Point2(east0, north0);
  design.bed = {std::move(line), 8.0};
  design.bottom_elevation = 101;
  design.downslope = 180;
  design.layers = std::move(layers);
  return design;
}

const std::vector<Layer> blocks = {plain_layer("core", 0, 1, 0), plain_layer("stone", 1, 0, 0),
                                   plain_layer("shell", 1, 3, 0)};

struct Checked {
  Buildup built;
  EndAreas sections;
};

Checked checked(const Ground& ground, const MoundDesign& design, double interval) {
  const PlacedMound mound = place_mound(place_as_drawn(ground, design));
  return {mound.buildup, end_areas(mound, interval)};
}

void expect_exact(const Checked& c) {
  for (std::size_t k = 0; k < c.built.layers.size(); ++k) {
    EXPECT_NEAR(c.sections.layers[k], c.built.layers[k].volume, rounding * c.built.total_fill())
        << c.built.layers[k].name;
  }
  EXPECT_NEAR(c.sections.cut, c.built.total_cut(), rounding * c.built.total_fill());
}

// Shots stand on lines every 13, so this cut runs along edges of the triangles.
TEST(Section, AlongAnEdgeOfTheTrianglesIsTakenOnce) {
  const Ground ground = ground_of(level);
  const PlacedMound mound = place_mound(place_as_drawn(ground, design_of({{-25, 0}, {25, 0}}, blocks)));
  const auto local = [&](double x, double y) { return ground.to_local({east0 + x, north0 + y}); };
  for (const double x : {0.0, 13.0, 13.5}) {
    const Section section = cut_section(mound, local(x, -20), local(x, 20));
    EXPECT_NEAR(section.layer_area(0), 10, 1e-6) << x;
    EXPECT_NEAR(section.layer_area(2), 14 * 2 - 10 - 8, 1e-6) << x;
  }
}

// The mound is where its finish stands above the ground, strictly: where it lies on the ground nothing is stripped. A
// slab whose flat top lies on level ground all over its left half, where the right half's ground is lower.
TEST(Section, IsNoMoundWhereTheFinishLiesOnTheGround) {
  const Ground ground = ground_of([](double x, double) { return x > 0 ? 100 : 101; });  // falls from 0 to 13
  MoundDesign design = design_of({{-25, 0}, {25, 0}}, {plain_layer("sand", 0, 1, 0)});
  design.prepare.strip = 0.5;
  const PlacedMound mound = place_mound(place_as_drawn(ground, design));
  const auto local = [&](double x, double y) { return ground.to_local({east0 + x, north0 + y}); };
  const Section on_it = cut_section(mound, local(-20, -20), local(-20, 20));
  EXPECT_EQ(on_it.cut_area(), 0);
  EXPECT_EQ(on_it.layer_area(0), 0);
  const Section above = cut_section(mound, local(20, -20), local(20, 20));
  EXPECT_NEAR(above.cut_area(), 10 * 0.5, 1e-6);
  EXPECT_NEAR(above.layer_area(0), 10 * 1.5, 1e-6);
  const Section along = cut_section(mound, local(-40, 1), local(40, 1));
  EXPECT_NEAR(along.cut_area(), 26 * 0.5, 1e-6);
}

TEST(EndAreas, OfAVerticalSidedMoundAreExact) {
  const Ground ground = ground_of(level);
  for (const double interval : {1000.0, 7.3, 5.0}) {
    SCOPED_TRACE(interval);
    const Checked c = checked(ground, design_of({{-21, 4}, {30, -9}}, blocks), interval);
    const double length = std::hypot(51, 13);
    EXPECT_NEAR(c.built.layers[0].volume, (length + 2) * 10 * 1, 1e-6);
    EXPECT_NEAR(c.built.layers[2].volume, (length + 6) * 14 * 2 - (length + 2) * 10 - length * 8, 1e-6);
    expect_exact(c);
  }
}

TEST(EndAreas, OfAVerticalSidedMoundOnATiltedPlaneAreExact) {
  const Ground ground = ground_of([](double x, double y) { return 100 + 0.02 * x + 0.03 * y; });
  expect_exact(checked(ground, design_of({{-20, 0}, {20, 0}}, blocks), 5));
}

// The outline's width across the chord changes evenly between its corners.
TEST(EndAreas, OfABentVerticalSidedMoundAreExact) {
  expect_exact(checked(ground_of(level), design_of({{-40, -20}, {-5, 0}, {30, -30}}, blocks), 5));
}

TEST(EndAreas, OfAVerticalPitAndAStripUnderABlockAreExact) {
  MoundDesign design = design_of({{-25, 0}, {25, 0}}, blocks);
  design.prepare.strip = 0.5;
  design.prepare.undercut = Undercut{98, ByFace::all(2), ByFace::all(0)};
  const Checked c = checked(ground_of(level), design, 6);
  EXPECT_NEAR(c.built.total_cut(), 56 * 14 * 0.5 + 54 * 12 * 1.5, 1e-6);
  expect_exact(c);
}

// Each end's area grows with its height h above the ground, from nothing at the toe, as (w + 2 run H) h - run h^2 (the
// flat top widens toward the toe, the whole does not): of a stretch where h grows by d, run^2 d^3 / 6 is missed.
// Between the top's end and the toe sections are cut at each eighth of a quarter turn.
TEST(EndAreas, OfASideThatRunsOutAreOffByTheirClosedForm) {
  const double height = 4, run = 3;  // a flat top 3 beyond the bed, 3 above its bottom
  const Checked c = checked(ground_of(level), design_of({{-25, 0}, {25, 0}}, {plain_layer("cover", 3, 3, run)}), 1000);
  double missed = 0;
  for (int k = 1; k <= 8; ++k) {
    const double d = height * (std::sin(k * M_PI / 16) - std::sin((k - 1) * M_PI / 16));
    missed += 2 * run * run * d * d * d / 6;  // both ends
  }
  EXPECT_EQ(c.sections.sections, 6U + 1U + 14U) << "at corners, at the bed's middle, between top and toe";
  EXPECT_NEAR(c.built.total_fill() - c.sections.layers[0], missed, 1e-3);
  EXPECT_GT(missed, 1);
}

TEST(EndAreas, CloseInAsSectionsDo) {
  const Ground ground = ground_of([](double x, double y) { return 100 + 0.04 * y + 0.5 * std::sin(x / 17); });
  const MoundDesign design =
      design_of({{-25, 0}, {25, 0}}, {plain_layer("core", 0, 1, 0), plain_layer("cover", 2, 3, 3)});
  double before = 1;
  for (const double interval : {2.0, 0.5, 0.125}) {
    const Checked c = checked(ground, design, interval);
    const double off = std::abs(c.sections.layers[1] / c.built.layers[1].volume - 1);
    EXPECT_LT(off, 0.3 * before);
    before = off;
  }
  EXPECT_LT(before, 1e-5);
}

// A strip's step follows the toe, which rounds off its ends ever faster: sections at the interval alone are 1 to 2.5 %
// off there.
TEST(EndAreas, AreWithinHalfAPercentWhereARoundedEndStandsOnADeepStrip) {
  const auto tilted = [](double x, double y) { return 100 + 0.004 * x + 0.06 * y; };
  const auto rolling = [](double x, double y) { return 100 + 0.06 * y + 0.5 * std::sin(x / 17); };
  for (const Ground& ground : {ground_of(tilted), ground_of(rolling)}) {
    for (const double length : {30.0, 60.0}) {
      for (const bool is_pit : {false, true}) {
        SCOPED_TRACE(::testing::Message() << length << (is_pit ? " over a pit" : " on a strip"));
        MoundDesign design = design_of({{-length / 2, 0}, {length / 2, 0}},
                                       {plain_layer("core", 0, 1, 0), plain_layer("cover", 2, 3, 3)});
        design.layers[1].round_corners = true;
        if (is_pit) {
          design.prepare.undercut = Undercut{98, ByFace::all(1), ByFace::all(9)};  // it comes out beyond the toe
        } else {
          design.prepare.strip = 2;
        }
        const Checked c = checked(ground, design, 5);
        EXPECT_NEAR(c.sections.cut / c.built.total_cut(), 1, 0.005);
        EXPECT_NEAR(c.sections.layers[1] / c.built.layers[1].volume, 1, 0.005);
      }
    }
  }
}

TEST(EndAreas, AreNothingWhereNoMoundStands) {
  MoundDesign design = design_of({{-25, 0}, {25, 0}}, blocks);
  design.bottom_elevation = 90;
  const Checked c = checked(ground_of(level), design, 5);
  EXPECT_EQ(c.sections.sections, 0u);
  EXPECT_EQ(c.sections.layers[0], 0);
}

// Seven planes to a rounded corner cross one another in many places under the one that counts.
TEST(Section, HasColumnsOnlyWhereSomethingHappens) {
  const Ground ground = ground_of(level);
  MoundDesign design = design_of({{-25, 0}, {25, 0}}, {plain_layer("cover", 2, 3, 3)});
  const auto columns = [&](bool round) {
    design.layers[0].round_corners = round;
    const MoundPlace place = place_as_drawn(ground, design);
    return cut_section(place_mound(place), ground.to_local({east0 + 1, north0 - 40}),
                       ground.to_local({east0 + 1, north0 + 40}))
        .columns.size();
  };
  EXPECT_EQ(columns(true), columns(false));
}

TEST(EndAreas, OfMoreThanTenThousandSectionsAreRefused) {
  const Ground ground = ground_of(level);
  const MoundDesign design = design_of({{-25, 0}, {25, 0}}, blocks);
  EXPECT_GT(checked(ground, design, 0.01).sections.sections, 5000u);
  for (const double interval : {0.001, 1e-9, 1e-300}) {
    try {
      checked(ground, design, interval);
      ADD_FAILURE() << interval;
    } catch (const Refusal& refusal) {
      EXPECT_EQ(refusal.problems()[0].where, "takeoff.section_interval");
      EXPECT_NE(refusal.problems()[0].what.find("the limit is 10000"), std::string::npos);
    }
  }
}

// What lies outside a piece or under the surface stays whole, or one triangle under many pieces falls into a million.
TEST(LiteralRule, CutsATriangleOnlyWhereSomethingHappens) {
  std::vector<Point2> line;
  for (int i = 0; i < 12; ++i) line.emplace_back(4.0 * i, 0.05 * i * i);
  std::vector<Layer> layers;
  for (int k = 0; k < 4; ++k) {
    layers.push_back(plain_layer("layer " + std::to_string(k), 0.1 * k, 1 + 0.3 * k, 1 + 0.2 * k));
  }
  const auto compiled = compile_mound(design_of(line, layers));
  KernelSpot<double> spot{};
  spot.along_x = 1, spot.bottom = 101;
  const PlacedShape<double> shape = place_shape(compiled->shape, spot, KernelPrepare<double>{});
  const TinVertex<double> corner[3] = {{-300, -300, 100}, {300, -300, 100}, {0, 300, 100}};
  const std::size_t bits = literal_bits(corner, shape, 0.0).size();
  EXPECT_GT(bits, 11u);
  EXPECT_LT(bits, 600u);
}

TEST(BedBottom, SetFromGroundFarTooHighIsRefused) {
  const Ground ground = ground_of([](double, double) { return 100'113; });
  MoundDesign design = design_of({{-25, 0}, {25, 0}}, blocks);
  design.bottom_elevation.reset(), design.least_sand = 1;
  try {
    build_up(place_as_drawn(ground, design));
    ADD_FAILURE();
  } catch (const Refusal& refusal) {
    EXPECT_EQ(refusal.problems()[0].where, "mound.bottom.least_sand");
    EXPECT_NE(refusal.problems()[0].what.find("100114.00; the limit is 100000 either way"), std::string::npos);
  }
}

}  // namespace
}  // namespace moundwright

// Lifts: they add up to the layer, and agree with closed forms where ground is level.
#include "geom/lifts.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "geom/footprint_pieces.h"

namespace moundwright {
namespace {

Ground ground_at(double slope, double waves = 0) {
  std::vector<Shot> shots;
  for (int j = 0; j <= 20; ++j) {
    for (int i = 0; i <= 20; ++i) {
      const double e = -100 + 10 * i + (j % 2), n = -100 + 10 * j;
      shots.push_back({"", n, e, 100 - slope * n + waves * std::sin(0.11 * e) * std::cos(0.07 * n), "", 0});
    }
  }
  return make_ground(shots);
}

/// Core with vertical sides, stone, a shell round both, and a cover.
MoundDesign mound_at(double bottom) {
  MoundDesign design;
  design.bed = straight_bed({0, 0}, 90, 60, 10);
  design.bottom_elevation = bottom;
  design.downslope = 0;
  design.layers = {{"core", "sand", 0, 0, ByFace::all(1), ByFace::all(0), false},
                   {"stone", "stone", 1, 0, ByFace::all(0), ByFace::all(0), false},
                   {"shell", "shell sand", 1, 0, ByFace::all(3), ByFace::all(0), false},
                   {"cover", "loam", 1.5, 0.5, ByFace::all(3), ByFace::all(3), true}};
  return design;
}

struct Built {
  std::shared_ptr<const Ground> ground;
  PlacedMound mound;
};
Built built(Ground given, const MoundDesign& design) {
  const auto ground = std::make_shared<const Ground>(std::move(given));
  return {ground, place_mound(place_as_drawn(*ground, design))};
}

LiftPlan lifts_of(const Built& b, const LiftOptions& lifts, const InterfaceOptions& interface = {}) {
  return cut_in_lifts(b.mound, lifts, interface, LengthUnit::foot);
}

TEST(Lifts, AddUpToTheLayer) {
  for (const double slope : {0.0, 0.08, 0.15}) {
    const Built b = built(ground_at(slope, 0.6), mound_at(102.3));
    for (const double depth : {0.5, 0.83, 7.0}) {
      std::map<std::string, double> sum;
      const LiftPlan plan = lifts_of(b, {depth, {"core", "shell", "cover"}});
      for (const Lift& lift : plan.lifts) {
        EXPECT_NEAR(lift.top - lift.bottom, depth, 1e-9);
        for (const LiftPart& part : lift.parts) {
          EXPECT_GT(part.in_place.cy, 0);
          sum[part.layer] += part.in_place.cy;
        }
      }
      for (const LayerResult& layer : b.mound.buildup.layers) {
        if (layer.name == "stone") continue;
        EXPECT_NEAR(sum[layer.name], layer.volume / 27, 1e-9 * layer.volume)
            << layer.name << " " << depth << " " << slope;
      }
    }
  }
}

TEST(Lifts, OnLevelGroundAreSlabs) {
  const Built b = built(ground_at(0), mound_at(102));
  const LiftPlan plan = lifts_of(b, {0.75, {"core", "shell"}});
  // From 100 the core is 62 x 12 and 2 high, the shell 66 x 16 less the core, then less the stone. Lift lines lie at
  // whole depths from the bed bottom, so that the lowest lift is the short one: 0.5 ft.
  ASSERT_EQ(plan.lifts.size(), 5U);
  EXPECT_NEAR(plan.lifts[0].parts[0].in_place.cy, 62 * 12 * 0.5 / 27, 1e-9);
  EXPECT_NEAR(plan.lifts[1].parts[0].in_place.cy, 62 * 12 * 0.75 / 27, 1e-9);
  EXPECT_NEAR(plan.lifts[1].parts[1].in_place.cy, (66 * 16 - 62 * 12) * 0.75 / 27, 1e-9);
  EXPECT_NEAR(plan.lifts[3].parts[0].in_place.cy, (66 * 16 - 60 * 10) * 0.75 / 27, 1e-9);
  EXPECT_NEAR(plan.lifts[4].parts[0].in_place.cy, (66 * 16 - 60 * 10) * 0.25 / 27, 1e-9);
  EXPECT_EQ(plan.lifts[4].parts[0].layer, "shell");
}

// run x lift^2 / 2 for each foot of face and lift (closed form); depth x area on scarified ground.
TEST(Lifts, InterfaceLossesOnLevelGround) {
  const Built b = built(ground_at(0), mound_at(102));
  const LiftPlan plan = lifts_of(b, {1.0, {"core"}}, {1.5, 0.04});
  ASSERT_EQ(plan.interface.size(), 2U);
  const double face = 2 * (62 + 12);
  EXPECT_NEAR(plan.interface[0].in_place.cy, 2 * 1.5 * 1.0 / 2 * face / 27, 1e-4);
  EXPECT_NEAR(plan.interface[0].area, 2 * face, 1e-3);
  EXPECT_NEAR(plan.interface[1].area, 62 * 12, 1e-9);
  EXPECT_NEAR(plan.interface[1].in_place.cy, 0.04 * 62 * 12 / 27, 1e-9);
}

TEST(Lifts, TheirInterfaceLossesAddUpToTheLines) {
  const Built b = built(ground_at(0.1, 0.5), mound_at(103));
  const LiftPlan plan = lifts_of(b, {0.6, {"core", "shell"}}, {1.2, 0.05});
  double parts = 0, lines = 0;
  for (const Lift& lift : plan.lifts) {
    for (const LiftPart& part : lift.parts) parts += (part.face + part.pressed).cy;
  }
  for (const InterfaceLine& line : plan.interface) lines += line.in_place.cy;
  EXPECT_GT(lines, 1);
  EXPECT_NEAR(parts, lines, 1e-9 * lines);
}

// Where layers rest on ground they cover the footprint once.
TEST(Lifts, ContactAreasAddUpToTheFootprint) {
  const Built b = built(ground_at(0.12, 0.4), mound_at(103));
  double sum = 0;
  for (const double area : contact_areas(b.mound)) sum += area;
  EXPECT_NEAR(sum, b.mound.buildup.footprint_area, 1e-9 * sum);
}

// A side at 3:1 has sqrt(10)/3 times its plan area.
TEST(Lifts, FinishedAreaIsOnTheSlope) {
  MoundDesign design = mound_at(102);
  design.layers = {{"cover", "loam", 1, 0, ByFace::all(0), ByFace::all(3), false}};
  const Built b = built(ground_at(0), design);
  const double flat = 60 * 10, sides = (60 + 18) * (10 + 18) - flat;
  EXPECT_NEAR(finished_area(b.mound), flat + sides * std::sqrt(10.0) / 3, 1e-8);
}

// settled t with 8 % of the placed thickness: placed t / 0.92.
TEST(Lifts, CoverIsPlacedHighByItsAllowance) {
  const Built b = built(ground_at(0), mound_at(102));
  const auto grades = settled_grades(b.mound, {{"cover", 0.08}});
  ASSERT_EQ(grades.size(), 3U);
  EXPECT_EQ(grades[0].where, "ridge");
  EXPECT_NEAR(grades[0].settled, 104.0, 1e-9);
  EXPECT_NEAR(grades[0].placed, 104.0 + 1.0 * 0.08 / 0.92, 1e-9);
  EXPECT_NEAR(grades[1].placed, 103.5 + 0.5 * 0.08 / 0.92, 1e-6);
}

// A layer that settles is as thick as it stands on what was left of the ground.
TEST(Lifts, SettlingIsCountedFromStrippedGroundAndFromThePit) {
  MoundDesign design = mound_at(102);
  design.prepare.strip = 0.5;
  const auto ridge_of_core = [&] {
    const Built b = built(ground_at(0), design);
    return settled_grades(b.mound, {{"core", 0.08}}).front().placed;
  };
  EXPECT_NEAR(ridge_of_core(), 102 + 2.5 * 0.08 / 0.92, 1e-9);
  design.prepare.undercut = Undercut{98, ByFace::all(1), ByFace::all(1)};
  EXPECT_NEAR(ridge_of_core(), 102 + 4.0 * 0.08 / 0.92, 1e-9);
}

// Topsoil does not settle, but lies on a cover that does; each edge is taken where its own face's flat top ends.
TEST(Lifts, WhatLiesOnAThickSettlingLayerIsPlacedHighToo) {
  MoundDesign design = mound_at(102);
  design.layers[3].beyond.downslope = 5;
  design.layers.push_back({"topsoil", "topsoil", 1.8, 0.5, design.layers[3].beyond, ByFace::all(3), true});
  const Built b = built(ground_at(0), design);
  const auto grades = settled_grades(b.mound, {{"cover", 0.08}});
  ASSERT_EQ(grades.size(), 6U);
  EXPECT_EQ(grades[3].layer, "topsoil");
  EXPECT_NEAR(grades[3].settled, 104.3, 1e-9);
  EXPECT_NEAR(grades[3].placed, 104.3 + 1.0 * 0.08 / 0.92, 1e-9);
  // Downslope the flat top ends off the shell, so that the whole 3.5 ft over the ground are cover.
  EXPECT_NEAR(grades[2].placed, 103.5 + 3.5 * 0.08 / 0.92, 1e-5);
}

TEST(Lifts, RefusesADepthInTheWrongUnit) {
  const Built b = built(ground_at(0), mound_at(102));
  EXPECT_THROW(lifts_of(b, {0.001, {"core"}}), Refusal);
  EXPECT_THROW(lifts_of(b, {0, {"core"}}), Refusal);
}

}  // namespace
}  // namespace moundwright

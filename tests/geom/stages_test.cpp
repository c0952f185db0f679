#include "geom/stages.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <limits>

namespace moundwright {
namespace {

using testing::ElementsAre;

/// 100.0 in the middle, falling 6 % to the south.
Ground hill() {
  std::vector<Shot> shots;
  for (int i = -5; i <= 5; ++i) {
    for (int j = -5; j <= 5; ++j) shots.push_back({"", 20.0 * j, 20.0 * i, 100.0 + 0.06 * 20.0 * j, "", 0});
  }
  return make_ground(shots);
}

Layer layer(const std::string& name, double top, double beyond, double side, double crown = 0) {
  return {name, name, top, crown, ByFace::all(beyond), ByFace::all(side), false};
}

/// Core, stone with laterals, shell round both, crowned cover.
MoundDesign design() {
  MoundDesign mound;
  mound.bed = straight_bed({0.0, 0.0}, 90.0, 60.0, 10.0);
  mound.downslope = 180.0;
  mound.least_sand = 1.5;
  mound.layers = {layer("core", 0.0, 1.0, 0.0), layer("stone", 1.0, 0.0, 0.0), layer("shell", 1.0, 3.0, 0.0),
                  layer("cover", 1.5, 3.0, 3.0, 0.5)};
  mound.lateral_invert = 0.5;
  return mound;
}

std::vector<BuildStage> stages_of(const MoundDesign& mound) {
  const Ground ground = hill();
  const MoundPlace place = place_as_drawn(ground, mound);
  return build_stages(place_mound(place), LengthUnit::foot);
}

std::vector<std::string> names_of(const std::vector<BuildStage>& stages) {
  std::vector<std::string> names;
  for (const BuildStage& stage : stages) names.push_back(stage.name);
  return names;
}

/// The layers up to `last` as the rule has them: the highest of their shapes, each the least of its planes.
double height_at(const MoundShape& shape, std::size_t last, const Point2& p) {
  double highest = -std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k <= last; ++k) {
    for (const ConcavePiece& piece : shape.layers[k].pieces) {
      const auto is_inside = [&](const PlanLine& l) { return l.at(p) >= -1e-6; };
      if (!std::all_of(piece.inside.begin(), piece.inside.end(), is_inside)) continue;
      double height = std::numeric_limits<double>::infinity();
      for (const ShapePlane& plane : piece.planes) {
        height = std::min(height, plane.at(p));
      }
      highest = std::max(highest, height);
    }
  }
  return highest;
}

/// Every point of every layer's stage lies on the surface that stands once this layer is down.
void expect_on_the_layers(const MoundDesign& design) {
  const Ground ground = hill();
  const PlacedMound mound = place_mound(place_as_drawn(ground, design));
  std::size_t seen = 0;
  for (const BuildStage& stage : build_stages(mound, LengthUnit::foot)) {
    if (stage.kind != StageKind::layer) continue;
    const auto named = [&](const Layer& l) { return stage.name == l.name || stage.name.starts_with(l.name + ","); };
    const auto found = std::find_if(design.layers.begin(), design.layers.end(), named);
    ASSERT_NE(found, design.layers.end()) << stage.name;
    const auto k = static_cast<std::size_t>(found - design.layers.begin());
    for (const StagePoint& point : stage.points) {
      ASSERT_TRUE(point.design) << stage.name << " " << point.name;
      const double height = height_at(mound.shape(), k, mound.to_mound(point.at));
      EXPECT_NEAR(*point.design, mound.buildup.bottom_elevation + height, 1e-6) << stage.name << ", " << point.name;
      ++seen;
    }
  }
  EXPECT_GE(seen, 6 * design.layers.size());
}

TEST(Stages, ComeInTheOrderInWhichTheyAreBuilt) {
  EXPECT_THAT(names_of(stages_of(design())),
              ElementsAre("prepared ground", "core, to the bed bottom", "stone, to the lateral invert", "stone, top",
                          "shell, top", "cover"));
}

TEST(Stages, PointsLieOnTheirLayers) {
  expect_on_the_layers(design());
  MoundDesign bent = design();
  bent.bed.line = {{-40.0, 4.0}, {0.0, 0.0}, {40.0, 6.0}};
  expect_on_the_layers(bent);
  MoundDesign uneven = design();
  uneven.layers[2].beyond = {2.0, 6.0, 3.0, 4.0};
  uneven.layers[3].beyond = {2.0, 6.0, 3.0, 4.0};
  expect_on_the_layers(uneven);
}

TEST(Stages, PreparedGroundIsStrippedGround) {
  MoundDesign stripped = design();
  stripped.prepare.strip = 0.5;
  const BuildStage stage = stages_of(stripped).front();
  ASSERT_EQ(stage.kind, StageKind::prepared);
  for (const StagePoint& point : stage.points) {
    ASSERT_TRUE(point.ground && point.highest) << point.name;
    EXPECT_NEAR(*point.ground, 100.0 + 0.06 * point.at.y() - 0.5, 1e-9) << point.name;
    EXPECT_NEAR(*point.highest, 100.0 + 0.06 * 5 - 0.5, 1e-9) << point.name;  // as at the governing upslope edge
  }
}

TEST(Stages, OnlyTheBedIsKeptClose) {
  for (const BuildStage& stage : stages_of(design())) {
    const bool on_bed = stage.name.starts_with("core") || stage.name.starts_with("stone");
    EXPECT_EQ(stage.on_bed, on_bed) << stage.name;
    EXPECT_EQ(stage.least_thickness.has_value(), stage.name.starts_with("core")) << stage.name;
  }
}

TEST(Stages, PreparedGroundLeavesRoomForTheLeastSand) {
  const std::vector<BuildStage> stages = stages_of(design());
  const double bottom = 100.0 + 0.06 * 5.0 + 1.5;  // the upslope edge governs
  for (const StagePoint& point : stages[0].points) {
    EXPECT_NEAR(*point.highest, bottom - 1.5, 1e-6);
    EXPECT_NEAR(*point.ground, 100.0 + 0.06 * point.at.y(), 1e-6);
    EXPECT_FALSE(point.design);
  }
  EXPECT_THAT(stages[0].points[0].name, "upslope edge, left end");
  EXPECT_NEAR((stages[0].points[0].at - Point2(30.0, 5.0)).norm(), 0.0, 1e-6) << "left, looking south, is east";
}

TEST(Stages, AnUndercutIsBuiltToItsBottomWhereItIsBelowTheGround) {
  MoundDesign mound = design();
  mound.prepare.undercut = Undercut{100.0, ByFace::all(1.0), ByFace::all(0.0)};
  const std::vector<BuildStage> stages = stages_of(mound);
  for (const StagePoint& point : stages[0].points) {
    if (point.at.y() > -1.0) {
      EXPECT_EQ(point.design, 100.0) << point.name;
      EXPECT_FALSE(point.ground) << point.name;
    } else {
      EXPECT_FALSE(point.design) << point.name << ": the ground is below the pit's bottom here";
    }
  }
}

TEST(Stages, ALayerOfWhichNothingShowsIsNotShot) {
  MoundDesign mound = design();
  mound.layers[2].beyond = ByFace::all(0.0);
  for (const std::string& name : names_of(stages_of(mound))) EXPECT_NE(name, "shell, top");
}

}  // namespace
}  // namespace moundwright

// The boolean checker itself, on bodies whose volumes have closed forms.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <sstream>
#include <stdexcept>

#include "tests/support/cgal_booleans.h"
#include "tests/support/solid_meshes.h"

namespace moundwright::test_support {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;
using Triangles = std::vector<std::array<std::uint32_t, 3>>;

constexpr double rounding = 1e-13;  // relative: corners are rounded to double once

std::vector<HalfSpace> box(const Vector3d& low, const Vector3d& high) {
  return {{-1, 0, 0, low.x()},  {1, 0, 0, -high.x()}, {0, -1, 0, low.y()},
          {0, 1, 0, -high.y()}, {0, 0, -1, low.z()},  {0, 0, 1, -high.z()}};
}

SolidMesh box_solid(const Vector3d& low, const Vector3d& high) { return convex_solid(box(low, high)); }

/// A square survey of n x n squares from (-half, -half) to (half, half) at z = fall x + level.
Ground grid_ground(int n, double half, double fall, double level) {
  Ground ground;
  for (int j = 0; j <= n; ++j)
    for (int i = 0; i <= n; ++i) {
      const double x = -half + 2 * half * i / n, y = -half + 2 * half * j / n;
      ground.points.emplace_back(x, y, level + fall * x);
    }
  const auto at = [n](int i, int j) { return static_cast<std::uint32_t>(j * (n + 1) + i); };
  for (int j = 0; j < n; ++j)
    for (int i = 0; i < n; ++i) {
      ground.tree.triangles.push_back({at(i, j), at(i + 1, j), at(i + 1, j + 1)});
      ground.tree.triangles.push_back({at(i, j), at(i + 1, j + 1), at(i, j + 1)});
    }
  return ground;
}

/// A bed 20 x 10 about (0, 0), long axis east, water running north: across is north, right is east.
MoundDesign plain_design() {
  MoundDesign design;
  design.bed.line = {{-10, 0}, {10, 0}};
  design.bed.width = 10;
  design.downslope = 0.0;
  return design;
}

/// A layer over the bed itself, sides vertical unless said.
Layer layer_over_bed(const std::string& name, double top, double crown = 0, double run = 0) {
  Layer layer;
  layer.name = name;
  layer.top = top;
  layer.crown = crown;
  layer.side = ByFace::all(run);
  return layer;
}

TEST(GroundBlock, HoldsThePrismUnderATiltedPlane) {
  const SolidMesh block = ground_block(grid_ground(3, 6, 0.1, 5), 2);
  EXPECT_NEAR(volume(block), 12 * 12 * 3.0, 432 * rounding);
}

TEST(GroundBlock, ClosesUnderAnOutlineThatTurnsInward) {
  // An L: its corners' middle, (6.5, 5.5) / 6 = (1.08, 0.92), does not see every edge.
  const std::vector<Vector3d> points{{0, 0, 1}, {4, 0, 1}, {4, 0.5, 1}, {0.5, 0.5, 1}, {0.5, 4, 1}, {0, 4, 1}};
  const Triangles triangles{{0, 1, 2}, {0, 2, 3}, {0, 3, 4}, {0, 4, 5}};
  const SolidMesh block = ground_block(points, triangles, 0);
  EXPECT_NEAR(volume(block), 4 * 0.5 + 0.5 * 3.5, 4 * rounding);
  EXPECT_EQ(block.triangles.size(), 4 + 4 + 12u);
}

TEST(GroundBlock, RefusesABaseThatCutsTheGround) {
  EXPECT_THROW(ground_block(grid_ground(2, 5, 0, 1), 1.0), std::invalid_argument);
}

TEST(ConvexSolid, OfSixPlanesIsABox) {
  const SolidMesh solid = box_solid({1, 2, 3}, {2, 4, 6});
  EXPECT_EQ(solid.points.size(), 8u);
  EXPECT_EQ(solid.triangles.size(), 12u);
  EXPECT_DOUBLE_EQ(volume(solid), 6);
}

TEST(ConvexSolid, MergesPlanesThatMeetInOnePointAndIgnoresThoseThatCutNothing) {
  // Base 8 x 8, height 4, four sides through one apex; one side twice, one plane far off, one through the apex alone.
  const SolidMesh pyramid = convex_solid({{0, 0, -1, 0},
                                          {1, 0, 1, -4},
                                          {-1, 0, 1, -4},
                                          {0, 1, 1, -4},
                                          {0, -1, 1, -4},
                                          {2, 0, 2, -8},
                                          {0, 0, 1, -50},
                                          {0, 0, 1, -4}});
  EXPECT_EQ(pyramid.points.size(), 5u);
  EXPECT_NEAR(volume(pyramid), 8 * 8 * 4 / 3.0, 100 * rounding);
}

TEST(ConvexSolid, RefusesWhatIsNoBody) {
  EXPECT_THROW(convex_solid({{0, 0, -1, 0}, {0, 0, 1, -1}, {1, 0, 0, 0}}), std::invalid_argument) << "open sideways";
  EXPECT_THROW(convex_solid({{0, 0, -1, 2}, {0, 0, 1, -1}}), std::invalid_argument) << "nothing in common";
}

TEST(LayerHalfSpaces, MakeAFrustumWithItsFacesWhereTheirNamesSay) {
  const MoundDesign design = plain_design();
  // Flat top from x = -11 (left 1) to 12 (right 2), y = -8 (upslope 3) to 9 (downslope 4); base 2 below.
  Layer layer = layer_over_bed("cover", 2);
  layer.beyond = {3, 4, 1, 2};
  layer.side = {1, 2, 0, 3};
  const SolidMesh solid = convex_solid(layer_half_spaces(design, layer, 100, 100, Vector2d::Zero()));
  Vector3d low = solid.points[0], high = solid.points[0];
  for (const Vector3d& p : solid.points) low = low.cwiseMin(p), high = high.cwiseMax(p);
  EXPECT_TRUE(low.isApprox(Vector3d(-11, -10, 100), rounding)) << low.transpose();
  EXPECT_TRUE(high.isApprox(Vector3d(18, 13, 102), rounding)) << high.transpose();
  // Prismoidal formula: areas 29 x 23 below, 26 x 20 in the middle, 23 x 17 on top.
  EXPECT_NEAR(volume(solid), 2 / 6.0 * (29 * 23 + 4 * 26 * 20 + 23 * 17), 1000 * rounding);
}

TEST(LayerHalfSpaces, CrownIsAGableCarriedFullLength) {
  const MoundDesign design = plain_design();
  const Layer layer = layer_over_bed("cover", 1, 0.5);
  const SolidMesh solid = convex_solid(layer_half_spaces(design, layer, 10, 10, Vector2d::Zero()));
  EXPECT_NEAR(volume(solid), 20 * 10 * (1 + 0.25), 300 * rounding);
}

TEST(LayerHalfSpaces, RoundCornersAreTangentToTheCone) {
  const MoundDesign design = plain_design();
  const double h = 2, run = 3;
  Layer layer = layer_over_bed("cover", h, 0, run);
  layer.round_corners = true;
  const SolidMesh solid = convex_solid(layer_half_spaces(design, layer, 50, 50, Vector2d::Zero()));
  // Nine tangents a corner, from face to face, make eight kites of area r^2 tan(pi / 32) round a quarter circle.
  const double corner = 8 * std::tan(std::numbers::pi / 32) * run * run * h * h * h / 3;
  EXPECT_NEAR(volume(solid), 20 * 10 * h + 2 * (20 + 10) * run * h * h / 2 + 4 * corner, 1000 * rounding);
  EXPECT_NEAR(corner, std::numbers::pi / 4 * run * run * h * h * h / 3, 0.0035 * corner);
}

TEST(LayerVolumes, LaterLayersGetOnlyWhatEarlierOnesLeave) {
  BooleanScene scene;
  scene.ground = box_solid({-20, -20, -9}, {20, 20, 0});
  scene.layers = {{"core", {box_solid({-3, -2, -5}, {3, 2, 1})}},
                  {"stone", {box_solid({-3, -2, -5}, {3, 2, 2})}},
                  {"cover", {box_solid({-4, -3, -5}, {4, 3, 2.5})}}};
  const std::vector<double> volumes = layer_volumes(scene);
  ASSERT_EQ(volumes.size(), 3u);
  EXPECT_NEAR(volumes[0], 24, 24 * rounding);
  EXPECT_NEAR(volumes[1], 24, 24 * rounding);
  EXPECT_NEAR(volumes[2], 8 * 6 * 2.5 - 48, 120 * rounding);
}

TEST(LayerVolumes, PiecesOfOneLayerAreNotCountedTwice) {
  BooleanScene scene;
  scene.ground = box_solid({-20, -20, -9}, {20, 20, 0});
  scene.layers = {{"stone", {box_solid({-4, -1, -5}, {4, 1, 1}), box_solid({-1, -4, -5}, {1, 4, 1})}}};
  EXPECT_NEAR(layer_volumes(scene)[0], 16 + 16 - 4, 28 * rounding);
}

TEST(LayerVolumes, OnATiltedPlaneIsAWedge) {
  BooleanScene scene;
  scene.ground = ground_block(grid_ground(5, 20, 0.125, 0), -9);
  // The top, at 0.5, meets z = x / 8 at x = 4: a wedge 8 long, 1.0 high at x = -4, 6 wide.
  scene.layers = {{"stone", {box_solid({-4, -3, -5}, {10, 3, 0.5})}}};
  EXPECT_NEAR(layer_volumes(scene)[0], 6 * 8 * 1.0 / 2, 24 * rounding);
}

TEST(LayerVolumes, StripIsCountedInsideTheFootprintOnly) {
  BooleanScene scene;
  scene.ground = ground_block(grid_ground(5, 20, 0.125, 0), -9);
  scene.strip = 0.25;
  // As above; lowering the ground would bring the top down to it at x = 6, but the footprint ends at x = 4.
  scene.layers = {{"stone", {box_solid({-4, -3, -5}, {10, 3, 0.5})}}};
  EXPECT_NEAR(layer_volumes(scene)[0], 6 * 8 * 1.0 / 2 + 0.25 * 6 * 8, 36 * rounding);
}

TEST(LayerVolumes, AnUndercutIsFilledByWhatLiesOverIt) {
  BooleanScene scene;
  scene.ground = box_solid({-20, -20, -9}, {20, 20, 0});
  scene.pits = {box_solid({-2, -1, -2}, {2, 1, 3})};
  scene.layers = {{"core", {box_solid({-3, -2, -5}, {3, 2, 1})}}, {"cover", {box_solid({-4, -3, -5}, {4, 3, 2})}}};
  const std::vector<double> volumes = layer_volumes(scene);
  EXPECT_NEAR(volumes[0], 24 + 16, 40 * rounding);
  EXPECT_NEAR(volumes[1], 96 - 24, 72 * rounding);
}

TEST(LayerVolumes, NamesTheMeshThatIsNotClosed) {
  BooleanScene scene;
  scene.ground = box_solid({-20, -20, -9}, {20, 20, 0});
  scene.layers = {{"stone", {box_solid({-3, -2, -5}, {3, 2, 1})}}};
  scene.layers[0].pieces[0].triangles.pop_back();
  try {
    layer_volumes(scene);
    FAIL() << "an open mesh was taken";
  } catch (const std::runtime_error& refused) {
    EXPECT_THAT(refused.what(), ::testing::HasSubstr("layer stone"));
  }
}

TEST(BooleanScene, OfADesignOnLevelGroundHasTheVolumesOfItsFrustums) {
  MoundDesign design = plain_design();
  design.prepare.undercut = Undercut{.elevation = 99, .beyond = {}, .side = ByFace::all(1)};
  design.layers = {layer_over_bed("core", 1), layer_over_bed("cover", 2, 0, 3)};
  const BooleanScene scene = boolean_scene(grid_ground(10, 40, 0, 100), design, 100);
  const std::vector<double> volumes = layer_volumes(scene);
  // The core's walls stand over the pit's bottom; the pit's battered part outside them, 1 deep, is the cover's.
  const double pit = 1 / 6.0 * (20 * 10 + 4 * 21 * 11 + 22 * 12);
  const double cover = 2 / 6.0 * (20 * 10 + 4 * 26 * 16 + 32 * 22);
  EXPECT_NEAR(volumes[0], 20 * 10 * 2, 400 * rounding);
  EXPECT_NEAR(volumes[1], cover - 200 + (pit - 200), 1000 * rounding);
}

TEST(SceneFile, ReadsBackBitForBit) {
  BooleanScene scene;
  scene.strip = 0.1;
  scene.ground = {{{1 / 3.0, 2e-17, 12345678.9}}, {{0, 0, 0}}};
  scene.layers = {{"stone", {}}};
  const std::filesystem::path path = std::filesystem::path(::testing::TempDir()) / "scene.json";
  write_scene_json(path, scene);
  std::stringstream text;
  text << std::ifstream(path).rdbuf();
  std::filesystem::remove(path);
  EXPECT_EQ(text.str(), R"({"ground":{"points":[0.3333333333333333,2e-17,12345678.9],"triangles":[0,0,0]},)"
                        R"("layers":[{"name":"stone","pieces":[]}],"pits":[],"strip":0.1})");
}

}  // namespace
}  // namespace moundwright::test_support

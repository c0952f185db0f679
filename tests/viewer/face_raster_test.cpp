// Faces drawn row by row against places worked out by hand and against rays.
#include "viewer/face_raster.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <cmath>

#include "test_paths.h"
#include "viewer/cutaway.h"

namespace moundwright::viewer {
namespace {

using Vec = Eigen::Vector3f;

/// Straight down, a unit of the model to a point of paper.
ParallelView from_above() { return {Vec::UnitX(), Vec::UnitY(), Vec::UnitZ(), 1, Point2::Zero()}; }

/// Of two triangles, from `low` to `high` both ways in the picture.
RayMesh square(float low, float high, float z) {
  RayMesh mesh;
  mesh.add_triangle({low, -low, z}, {high, -low, z}, {high, -high, z});
  mesh.add_triangle({low, -low, z}, {high, -high, z}, {low, -high, z});
  return mesh;
}

TEST(FaceRaster, CoversEachPixelWhoseMiddleLiesInside) {
  const FaceRaster raster({square(3.25F, 17.75F, 5)}, from_above(), 1, 20, 40);
  const std::vector<FaceSpot> spots = raster.rows(0, 40);
  ASSERT_EQ(spots.size(), 800u);
  for (int y = 0; y < 40; ++y) {
    for (int x = 0; x < 20; ++x) {
      const FaceSpot& spot = spots[std::size_t{20} * static_cast<std::size_t>(y) + static_cast<std::size_t>(x)];
      const bool inside = x >= 3 && x < 18 && y >= 3 && y < 18;
      EXPECT_EQ(spot.face != FaceSpot::none, inside) << x << ' ' << y;
      if (inside) {
        EXPECT_NEAR(spot.depth, 5, 1e-6);
      }
    }
  }
}

TEST(FaceRaster, KeepsTheNearestThatIsNotIgnored) {
  std::vector<RayMesh> meshes{square(0, 10, 1), square(0, 10, 5), square(0, 10, 3)};
  meshes[1].may_be_ignored = true;
  const FaceRaster raster(meshes, from_above(), 1, 10, 10,
                          [](std::uint32_t mesh, const Vec& at) { return mesh == 1 && at.x() < 5; });
  const std::vector<FaceSpot> row = raster.rows(4, 5);
  EXPECT_EQ(row[2].face / 2, 2u);
  EXPECT_NEAR(row[2].depth, 3, 1e-6);
  EXPECT_EQ(row[7].face / 2, 1u);
  EXPECT_NEAR(row[7].depth, 5, 1e-6);
}

TEST(FaceRaster, FindsTheNearestOfSomeFacesAnywhere) {
  std::vector<RayMesh> meshes{square(0, 10, 1), square(2, 8, 5)};
  meshes[1].may_be_ignored = true;
  const FaceRaster raster(meshes, from_above(), 1, 10, 10,
                          [](std::uint32_t mesh, const Vec& at) { return mesh == 1 && at.x() < 4; });
  const auto nearest = [&](const std::vector<std::uint32_t>& faces, float x, float y) {
    FaceSpot spot;
    const Eigen::Vector2f place(x, y);
    for (const std::uint32_t face : faces) raster.see(face, {&place, 1}, &spot);
    return spot;
  };
  EXPECT_EQ(nearest({0, 1, 2, 3}, 2.2F, 6.1F).face / 2, 0u) << "what is ignored is seen through";
  EXPECT_EQ(nearest({0, 1, 2, 3}, 4.2F, 6.1F).face / 2, 1u);
  EXPECT_NEAR(nearest({3, 2, 1, 0}, 4.2F, 6.1F).depth, 5, 1e-6);
  EXPECT_NEAR(nearest({0, 1}, 4.2F, 6.1F).depth, 1, 1e-6);
  EXPECT_EQ(nearest({0, 1, 2, 3}, 8.01F, 6.1F).face / 2, 0u);
  EXPECT_EQ(nearest({0, 1, 2, 3}, 10.01F, 6.1F).face, FaceSpot::none);
}

TEST(FaceRaster, LeavesOutTheInsideOfWhatShowsOnlyItsOutside) {
  std::vector<RayMesh> meshes{square(0, 10, 1), square(0, 10, 5)};
  for (auto& [a, b, c] : meshes[0].triangles) std::swap(b, c);
  EXPECT_EQ(FaceRaster(meshes, from_above(), 1, 10, 10).rows(4, 5)[6].face / 2, 1u);
  for (RayMesh& mesh : meshes) mesh.shows_outside_only = true;
  EXPECT_EQ(FaceRaster(meshes, from_above(), 1, 10, 10).rows(4, 5)[6].face / 2, 0u);
}

TEST(FaceRaster, SeesWhatRaysHit) {
  const io::SiteResults results = io::compute_site(std::string(MOUNDWRIGHT_SURVEYS) + "/ridgeback.toml");
  const Cutaway model = cut_away(results, layer_solids(results.mound()));
  const auto ignore = [&](std::uint32_t mesh, const Vec& at) { return is_taken_out(model, mesh, at); };
  const RayScene scene(model.meshes, ignore);
  ParallelView view;
  view.toward = Vec(-0.47F, 0.73F, 0.5F).normalized();
  view.right = Vec::UnitZ().cross(view.toward).normalized();
  view.up = view.toward.cross(view.right);
  view.shift = {150, 150};
  const int side = 300;
  const std::vector<FaceSpot> spots = FaceRaster(model.meshes, view, 1, side, side, ignore).rows(0, side);
  int seen = 0, other = 0;
  for (int i = 0; i < side * side; ++i) {
    const int x = i % side, y = i / side;
    const Point2 middle(x + 0.5, y + 0.5);
    const auto hit = scene.first_hit(view.place(middle, 1000), -view.toward);
    const FaceSpot& spot = spots[static_cast<std::size_t>(i)];
    if (!hit && spot.face == FaceSpot::none) continue;
    ++seen;
    // Beside an edge the one may see past it and the other not.
    if (!hit || std::abs(view.depth(hit->at) - spot.depth) > 1e-2F) ++other;
  }
  EXPECT_GT(seen, 5000);
  EXPECT_LT(other, seen / 1000);
}

}  // namespace
}  // namespace moundwright::viewer

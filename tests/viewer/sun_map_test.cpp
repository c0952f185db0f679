// Sun and shade by the map against places worked out by hand and against rays.
#include "viewer/sun_map.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>

#include "test_paths.h"
#include "viewer/cutaway.h"

namespace moundwright::viewer {
namespace {

using Vec = Eigen::Vector3f;

RayMesh square(float low, float high, float z) {
  RayMesh mesh;
  mesh.add_triangle({low, low, z}, {high, low, z}, {high, high, z});
  mesh.add_triangle({low, low, z}, {high, high, z}, {low, high, z});
  return mesh;
}

Sun at(const SunMap& map, const Vec& place, const Vec& normal) {
  Sun found{};
  map.look(place, Vec::Zero(), 1, normal, &found);
  return found;
}

TEST(SunMap, FindsTheShadowOfARoof) {
  // A roof 10 up, in sun from the west at 45 degrees: its shadow on the level lies 10 to the east.
  const SunMap map({square(-50, 50, 0), square(-5, 5, 10)}, Vec(-1, 0, 1).normalized(), 0.2F);
  std::vector<Sun> row(401);
  map.look({-40, 1, 0}, {0.2F, 0, 0}, 401, Vec::UnitZ(), row.data());
  int unsure = 0;
  for (int i = 0; i <= 400; ++i) {
    const float x = -40 + 0.2F * static_cast<float>(i);
    const Sun found = row[static_cast<std::size_t>(i)];
    if (found == Sun::unsure) {
      ++unsure;
      EXPECT_TRUE(std::abs(x - 5) < 0.5F || std::abs(x - 15) < 0.5F) << x;
    } else {
      EXPECT_EQ(found == Sun::shade, x > 5 && x < 15) << x;
    }
  }
  EXPECT_LE(unsure, 8);
  EXPECT_EQ(at(map, {0, 0, 10}, Vec::UnitZ()), Sun::shines) << "on the roof";
  EXPECT_EQ(at(map, {0, 0, 0}, Vec(1, 0, 1.05F).normalized()), Sun::unsure) << "where the sun only grazes";
}

TEST(SunMap, IsSureOfWhatRaysFind) {
  const io::SiteResults results = io::compute_site(std::string(MOUNDWRIGHT_SURVEYS) + "/ridgeback.toml");
  const Cutaway model = cut_away(results, layer_solids(results.mound()));
  const auto ignore = [&](std::uint32_t mesh, const Vec& place) { return is_taken_out(model, mesh, place); };
  const RayScene scene(model.meshes, ignore);
  const Vec sun = Vec(-0.8F, -0.2F, 0.75F).normalized();
  const SunMap map(model.meshes, sun, 0.2F, ignore);
  int shines = 0, shade = 0, unsure = 0, wrong = 0;
  for (float x = static_cast<float>(model.low.x()) + 1; x < static_cast<float>(model.high.x()) - 1; x += 0.31F) {
    for (float y = static_cast<float>(model.low.y()) + 1; y < static_cast<float>(model.high.y()) - 1; y += 0.31F) {
      const auto hit = scene.first_hit({x, y, 300}, {0, 0, -1});
      if (!hit || hit->normal.dot(sun) <= 0) continue;
      const Sun found = at(map, hit->at, hit->normal);
      ++(found == Sun::shines ? shines : found == Sun::shade ? shade : unsure);
      const bool open = scene.is_open(hit->at + hit->normal * 0.02F, sun);
      wrong += found != Sun::unsure && (found == Sun::shines) != open;
    }
  }
  EXPECT_GT(shines, 50'000);
  EXPECT_GT(shade, 500);
  EXPECT_LT(unsure, (shines + shade) / 20);
  EXPECT_LT(wrong, (shines + shade) / 10'000);
}

}  // namespace
}  // namespace moundwright::viewer

// Triangle meshes that rays are cast at: no display, no graphics card.
//
//   RayScene scene(meshes, ignore);
//   if (const std::optional<RayHit> hit = scene.first_hit(from, direction)) shade(*hit);
//   if (scene.is_open(at, toward_sun)) lit();
//
// On Embree directly, which Open3D's RaycastingScene stands on as well: as Debian 12 ships the two, that class sends
// out every ray with a mask of zero to an Embree that heeds masks, and so never hits anything. Single floats: give
// coordinates about a near origin. Safe to ask from many threads. Same meshes, same answers.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

namespace moundwright::viewer {

struct RayMesh {
  std::vector<Eigen::Vector3f> points;
  std::vector<std::array<std::uint32_t, 3>> triangles;
  bool may_be_ignored = false;      // asks the scene's `ignore`, which takes time
  bool shows_outside_only = false;  // triangles turn counter-clockwise to those who may see them

  void add_triangle(const Eigen::Vector3f& a, const Eigen::Vector3f& b, const Eigen::Vector3f& c);
};

struct Ray {
  Eigen::Vector3f from, direction;
};

struct RayHit {
  Eigen::Vector3f at = Eigen::Vector3f::Zero(), normal = Eigen::Vector3f::UnitZ();  // of length one, toward the ray
  std::uint32_t mesh = 0, triangle = 0;
};

class RayScene {
 public:
  /// True for a hit that is to be passed through; called from many threads, for meshes that may be ignored.
  using Ignore = std::function<bool(std::uint32_t mesh, const Eigen::Vector3f& at)>;

  explicit RayScene(const std::vector<RayMesh>& meshes, Ignore ignore = {});
  ~RayScene();
  RayScene(const RayScene&) = delete;
  RayScene& operator=(const RayScene&) = delete;

  std::optional<RayHit> first_hit(const Eigen::Vector3f& from, const Eigen::Vector3f& direction) const;

  /// True where nothing lies in the way.
  bool is_open(const Eigen::Vector3f& from, const Eigen::Vector3f& direction) const;

  /// The same for many rays at once, which takes less time: sixteen are followed together.
  std::vector<std::optional<RayHit>> first_hits(const std::vector<Ray>& rays) const;
  std::vector<char> are_open(const std::vector<Ray>& rays) const;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace moundwright::viewer

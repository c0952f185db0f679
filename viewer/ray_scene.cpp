#include "viewer/ray_scene.h"

#include <embree3/rtcore.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cstring>
#include <limits>
#include <new>

namespace moundwright::viewer {

struct RayScene::Parts {
  RTCDevice device = nullptr;
  RTCScene scene = nullptr;
  Ignore ignore;

  Parts() = default;
  Parts(const Parts&) = delete;
  Parts& operator=(const Parts&) = delete;
  ~Parts() {
    if (scene != nullptr) rtcReleaseScene(scene);
    if (device != nullptr) rtcReleaseDevice(device);
  }
};

namespace {

constexpr unsigned every_mask = 0xFFFFFFFF;

/// Embree's callback for one ray or several: leaves a hit out where the scene's owner ignores it.
void filter(const RTCFilterFunctionNArguments* arguments) {
  const auto& ignore = *static_cast<const RayScene::Ignore*>(arguments->geometryUserPtr);
  for (unsigned i = 0; i < arguments->N; ++i) {
    if (arguments->valid[i] == 0) continue;
    const RTCRay ray = rtcGetRayFromRayN(arguments->ray, arguments->N, i);
    const RTCHit hit = rtcGetHitFromHitN(arguments->hit, arguments->N, i);
    const Eigen::Vector3f at(ray.org_x + ray.tfar * ray.dir_x, ray.org_y + ray.tfar * ray.dir_y,
                             ray.org_z + ray.tfar * ray.dir_z);
    if (ignore(hit.geomID, at)) arguments->valid[i] = 0;
  }
}

RTCRay ray_of(const Eigen::Vector3f& from, const Eigen::Vector3f& direction) {
  RTCRay ray{};
  ray.org_x = from.x(), ray.org_y = from.y(), ray.org_z = from.z();
  ray.dir_x = direction.x(), ray.dir_y = direction.y(), ray.dir_z = direction.z();
  ray.tfar = std::numeric_limits<float>::infinity();
  ray.mask = every_mask;
  return ray;
}

RayHit hit_of(const Ray& ray, float distance, const Eigen::Vector3f& normal, unsigned mesh, unsigned triangle) {
  RayHit hit;
  hit.at = ray.from + ray.direction * distance;
  hit.normal = normal.normalized();
  if (hit.normal.dot(ray.direction) > 0) hit.normal = -hit.normal;
  hit.mesh = mesh, hit.triangle = triangle;
  return hit;
}

struct alignas(64) Valid16 {
  std::array<int, 16> of{};
};

/// Up to sixteen rays, side by side as Embree takes them.
Valid16 fill(RTCRay16& asked, const Ray* rays, std::size_t count) {
  Valid16 valid;
  for (std::size_t k = 0; k < count; ++k) {
    const auto& [from, direction] = rays[k];
    asked.org_x[k] = from.x(), asked.org_y[k] = from.y(), asked.org_z[k] = from.z();
    asked.dir_x[k] = direction.x(), asked.dir_y[k] = direction.y(), asked.dir_z[k] = direction.z();
    asked.tfar[k] = std::numeric_limits<float>::infinity();
    asked.mask[k] = every_mask;
    valid.of[k] = -1;
  }
  return valid;
}

void attach(RTCDevice device, RTCScene scene, const RayMesh& mesh, unsigned id, RayScene::Ignore& ignore) {
  RTCGeometry geometry = rtcNewGeometry(device, RTC_GEOMETRY_TYPE_TRIANGLE);
  void* points = rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, 3 * sizeof(float),
                                         mesh.points.size());
  void* triangles = rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3,
                                            3 * sizeof(std::uint32_t), mesh.triangles.size());
  if (points == nullptr || triangles == nullptr) throw std::bad_alloc();
  for (std::size_t i = 0; i < mesh.points.size(); ++i) {
    for (int k = 0; k < 3; ++k) static_cast<float*>(points)[3 * i + static_cast<std::size_t>(k)] = mesh.points[i][k];
  }
  std::memcpy(triangles, mesh.triangles.data(), mesh.triangles.size() * 3 * sizeof(std::uint32_t));
  if (ignore && mesh.may_be_ignored) {
    rtcSetGeometryUserData(geometry, &ignore);
    rtcSetGeometryIntersectFilterFunction(geometry, filter);
    rtcSetGeometryOccludedFilterFunction(geometry, filter);
  }
  rtcCommitGeometry(geometry);
  rtcAttachGeometryByID(scene, geometry, id);
  rtcReleaseGeometry(geometry);
}

}  // namespace

void RayMesh::add_triangle(const Eigen::Vector3f& a, const Eigen::Vector3f& b, const Eigen::Vector3f& c) {
  const auto first = static_cast<std::uint32_t>(points.size());
  points.insert(points.end(), {a, b, c});
  triangles.push_back({first, first + 1, first + 2});
}

RayScene::RayScene(const std::vector<RayMesh>& meshes, Ignore ignore) : parts_(std::make_unique<Parts>()) {
  parts_->ignore = std::move(ignore);
  parts_->device = rtcNewDevice(nullptr);
  if (parts_->device == nullptr) throw std::bad_alloc();
  parts_->scene = rtcNewScene(parts_->device);
  rtcSetSceneFlags(parts_->scene, RTC_SCENE_FLAG_ROBUST);
  for (std::size_t i = 0; i < meshes.size(); ++i) {
    if (meshes[i].triangles.empty()) continue;
    attach(parts_->device, parts_->scene, meshes[i], static_cast<unsigned>(i), parts_->ignore);
  }
  rtcCommitScene(parts_->scene);
}

RayScene::~RayScene() = default;

std::optional<RayHit> RayScene::first_hit(const Eigen::Vector3f& from, const Eigen::Vector3f& direction) const {
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  RTCRayHit asked{ray_of(from, direction), {}};
  asked.hit.geomID = RTC_INVALID_GEOMETRY_ID;
  rtcIntersect1(parts_->scene, &context, &asked);
  if (asked.hit.geomID == RTC_INVALID_GEOMETRY_ID) return std::nullopt;
  return hit_of({from, direction}, asked.ray.tfar, {asked.hit.Ng_x, asked.hit.Ng_y, asked.hit.Ng_z}, asked.hit.geomID,
                asked.hit.primID);
}

std::vector<std::optional<RayHit>> RayScene::first_hits(const std::vector<Ray>& rays) const {
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  std::vector<std::optional<RayHit>> hits(rays.size());
  RTCRayHit16 asked{};
  for (std::size_t first = 0; first < rays.size(); first += 16) {
    const std::size_t count = std::min(std::size_t{16}, rays.size() - first);
    const Valid16 valid = fill(asked.ray, rays.data() + first, count);
    std::fill_n(asked.hit.geomID, 16, RTC_INVALID_GEOMETRY_ID);
    rtcIntersect16(valid.of.data(), parts_->scene, &context, &asked);
    for (std::size_t k = 0; k < count; ++k) {
      if (asked.hit.geomID[k] == RTC_INVALID_GEOMETRY_ID) continue;
      hits[first + k] =
          hit_of(rays[first + k], asked.ray.tfar[k], {asked.hit.Ng_x[k], asked.hit.Ng_y[k], asked.hit.Ng_z[k]},
                 asked.hit.geomID[k], asked.hit.primID[k]);
    }
  }
  return hits;
}

std::vector<char> RayScene::are_open(const std::vector<Ray>& rays) const {
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  std::vector<char> open(rays.size());
  RTCRay16 asked{};
  for (std::size_t first = 0; first < rays.size(); first += 16) {
    const std::size_t count = std::min(std::size_t{16}, rays.size() - first);
    const Valid16 valid = fill(asked, rays.data() + first, count);
    rtcOccluded16(valid.of.data(), parts_->scene, &context, &asked);
    for (std::size_t k = 0; k < count; ++k) open[first + k] = asked.tfar[k] >= 0 ? 1 : 0;
  }
  return open;
}

bool RayScene::is_open(const Eigen::Vector3f& from, const Eigen::Vector3f& direction) const {
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  RTCRay ray = ray_of(from, direction);
  rtcOccluded1(parts_->scene, &context, &ray);
  return ray.tfar >= 0;
}

}  // namespace moundwright::viewer

#include "viewer/ray_scene.h"

#include <embree3/rtcore.h>

#include <Eigen/Geometry>
#include <cstring>
#include <limits>
#include <new>

namespace moundwright {

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

/// Embree's callback for one ray: leaves a hit out where the scene's owner ignores it.
void filter(const RTCFilterFunctionNArguments* arguments) {
  const auto& ignore = *static_cast<const RayScene::Ignore*>(arguments->geometryUserPtr);
  const RTCRay ray = rtcGetRayFromRayN(arguments->ray, arguments->N, 0);
  const RTCHit hit = rtcGetHitFromHitN(arguments->hit, arguments->N, 0);
  const Eigen::Vector3f at(ray.org_x + ray.tfar * ray.dir_x, ray.org_y + ray.tfar * ray.dir_y,
                           ray.org_z + ray.tfar * ray.dir_z);
  if (arguments->valid[0] != 0 && ignore(hit.geomID, at)) arguments->valid[0] = 0;
}

RTCRay ray_of(const Eigen::Vector3f& from, const Eigen::Vector3f& direction) {
  RTCRay ray{};
  ray.org_x = from.x(), ray.org_y = from.y(), ray.org_z = from.z();
  ray.dir_x = direction.x(), ray.dir_y = direction.y(), ray.dir_z = direction.z();
  ray.tfar = std::numeric_limits<float>::infinity();
  ray.mask = every_mask;
  return ray;
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
  RTCRayHit ray{};
  ray.ray = ray_of(from, direction);
  ray.hit.geomID = RTC_INVALID_GEOMETRY_ID;
  rtcIntersect1(parts_->scene, &context, &ray);
  if (ray.hit.geomID == RTC_INVALID_GEOMETRY_ID) return std::nullopt;
  RayHit hit;
  hit.at = from + direction * ray.ray.tfar;
  hit.normal = Eigen::Vector3f(ray.hit.Ng_x, ray.hit.Ng_y, ray.hit.Ng_z).normalized();
  if (hit.normal.dot(direction) > 0) hit.normal = -hit.normal;
  hit.mesh = ray.hit.geomID, hit.triangle = ray.hit.primID;
  return hit;
}

bool RayScene::is_open(const Eigen::Vector3f& from, const Eigen::Vector3f& direction) const {
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  RTCRay ray = ray_of(from, direction);
  rtcOccluded1(parts_->scene, &context, &ray);
  return ray.tfar >= 0;
}

}  // namespace moundwright

#include "viewer/sun_map.h"

#include <tbb/parallel_for.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

namespace moundwright {

SunMap::SunMap(const std::vector<RayMesh>& meshes, const Eigen::Vector3f& toward_sun, float cell,
               const RayScene::Ignore& ignore) {
  view_.toward = toward_sun;
  view_.right = toward_sun.unitOrthogonal();
  view_.up = toward_sun.cross(view_.right);
  view_.points_per_unit = 1 / static_cast<double>(cell);
  Eigen::AlignedBox<double, 2> box;
  for (const RayMesh& mesh : meshes) {
    for (const Eigen::Vector3f& p : mesh.points) box.extend(view_.paper(p));
  }
  view_.shift = Point2(1, 1) - box.min();  // so that every place has cells all round
  columns_ = static_cast<int>(box.sizes().x()) + 3, rows_ = static_cast<int>(box.sizes().y()) + 3;
  nearest_.resize(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_));
  const FaceRaster raster(meshes, view_, 1, columns_, rows_, ignore);
  constexpr int together = 32;
  tbb::parallel_for(0, (rows_ + together - 1) / together, [&](int i) {
    const std::vector<FaceSpot> spots = raster.rows(i * together, std::min((i + 1) * together, rows_));
    std::transform(spots.begin(), spots.end(), nearest_.begin() + std::ptrdiff_t{columns_} * i * together,
                   [](const FaceSpot& spot) { return spot.depth; });
  });
}

Eigen::Vector3f SunMap::seen(const Eigen::Vector3f& p) const {
  const Point2 paper = view_.paper(p);
  return {static_cast<float>(paper.x()) - 0.5F, static_cast<float>(paper.y()) - 0.5F, view_.depth(p)};
}

void SunMap::look(const Eigen::Vector3f& first, const Eigen::Vector3f& step, int count, const Eigen::Vector3f& normal,
                  Sun* found) const {
  constexpr float least_squarely = 0.1F, off_face = 0.02F;  // units of the model
  const float squarely = normal.dot(view_.toward);
  if (squarely < least_squarely) {
    std::fill_n(found, count, Sun::unsure);
    return;
  }
  // By how much the face comes nearer to the sun from a place to the cells round it.
  const float slope = (std::abs(normal.dot(view_.right)) + std::abs(normal.dot(view_.up))) / squarely;
  const float room = off_face + slope / static_cast<float>(view_.points_per_unit);
  Eigen::Vector3f at = seen(first);
  const Eigen::Vector3f change = (seen(first + step * static_cast<float>(count)) - at) / static_cast<float>(count);
  for (int i = 0; i < count; ++i, at += change) {
    const float* const cell = &nearest_[static_cast<std::size_t>(at.y()) * static_cast<std::size_t>(columns_) +
                                        static_cast<std::size_t>(at.x())];
    const auto [least, most] = std::minmax({cell[0], cell[1], cell[columns_], cell[columns_ + 1]});
    found[i] = most <= at.z() + room ? Sun::shines : least > at.z() + room ? Sun::shade : Sun::unsure;
  }
}

}  // namespace moundwright

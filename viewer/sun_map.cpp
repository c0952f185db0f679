#include "viewer/sun_map.h"

#include <tbb/parallel_for.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

namespace moundwright::viewer {

SunMap::SunMap(const std::vector<RayMesh>& meshes, const Eigen::Vector3f& toward_sun, float cell,
               const RayScene::Ignore& ignore)
    : toward_sun_(toward_sun), cell_(cell) {
  ParallelView view;
  view.toward = toward_sun;
  view.right = toward_sun.unitOrthogonal();
  view.up = toward_sun.cross(view.right);
  view.points_per_unit = 1 / static_cast<double>(cell);
  Eigen::AlignedBox<double, 2> box;
  for (const RayMesh& mesh : meshes) {
    for (const Eigen::Vector3f& p : mesh.points) box.extend(view.paper(p));
  }
  view.shift = Point2(1, 1) - box.min();  // so that every place has cells all round
  columns_ = static_cast<int>(box.sizes().x()) + 3;
  const int rows = static_cast<int>(box.sizes().y()) + 3;
  seen_ << view.right.transpose() / cell, -view.up.transpose() / cell, toward_sun.transpose();
  shift_ << (view.shift - Point2(0.5, 0.5)).cast<float>(), 0;
  nearest_.resize(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows));
  const FaceRaster raster(meshes, view, 1, columns_, rows, ignore);
  constexpr int together = 32;
  tbb::parallel_for(0, (rows + together - 1) / together, [&](int i) {
    const std::vector<FaceSpot> spots = raster.rows(i * together, std::min((i + 1) * together, rows));
    std::transform(spots.begin(), spots.end(), nearest_.begin() + std::ptrdiff_t{columns_} * i * together,
                   [](const FaceSpot& spot) { return spot.depth; });
  });
}

void SunMap::look(const Eigen::Vector3f& first, const Eigen::Vector3f& step, int count, const Eigen::Vector3f& normal,
                  Sun* found) const {
  constexpr float least_squarely = 0.1F, off_face = 0.02F;  // units of the model
  const float squarely = normal.dot(toward_sun_);
  if (squarely < least_squarely) {
    std::fill_n(found, count, Sun::unsure);
    return;
  }
  // By how much the face comes nearer to the sun from a place to the cells round it.
  const Eigen::Vector3f turned = seen_ * normal * cell_;
  const float room = off_face + cell_ * (std::abs(turned.x()) + std::abs(turned.y())) / squarely;
  const Eigen::Vector3f change = seen_ * step;
  Eigen::Vector3f at = seen_ * first + shift_;
  for (int i = 0; i < count; ++i, at += change) {
    const float* const cell = &nearest_[static_cast<std::size_t>(at.y()) * static_cast<std::size_t>(columns_) +
                                        static_cast<std::size_t>(at.x())];
    const auto [least, most] = std::minmax({cell[0], cell[1], cell[columns_], cell[columns_ + 1]});
    found[i] = most <= at.z() + room ? Sun::shines : least > at.z() + room ? Sun::shade : Sun::unsure;
  }
}

}  // namespace moundwright::viewer

// Sun or shade: how near to the sun anything comes, drawn as it is seen from there (face_raster.h).
//
//   const SunMap map(meshes, toward_sun, cell, ignore);
//   map.look(place, step, count, normal, found);      // along a face: count times Sun::shines, shade or unsure
//
// What lies nearer to the sun by more than a cell's width on the face shades it. Near the edges of shadows, and where
// the sun only grazes a face, it is unsure: cast a ray. A shadow narrower than a cell may be missed. Safe to ask from
// many threads. Same meshes, same answers.
#pragma once

#include <vector>

#include "viewer/face_raster.h"

namespace moundwright::viewer {

enum class Sun : char { shade, shines, unsure };

class SunMap {
 public:
  /// `toward_sun` of length one, `cell` in units of the model; `ignore` as in a RayScene.
  SunMap(const std::vector<RayMesh>& meshes, const Eigen::Vector3f& toward_sun, float cell,
         const RayScene::Ignore& ignore = {});

  /// At places on a face of the meshes that faces the sun, a step apart.
  void look(const Eigen::Vector3f& first, const Eigen::Vector3f& step, int count, const Eigen::Vector3f& normal,
            Sun* found) const;

 private:
  Eigen::Vector3f toward_sun_;
  float cell_;
  Eigen::Matrix3f seen_;   // from the model, as seen from the sun: right and down in cells, and toward it
  Eigen::Vector3f shift_;  // in cells from the middle of the first
  int columns_ = 0;
  std::vector<float> nearest_;  // row by row, toward the sun
};

}  // namespace moundwright::viewer

// A parallel view of a model: every ray of sight runs the same way, so that lengths along one direction are true to one
// scale all over the picture.
//
//   view.paper(p)                          // where a place of the model stands, in points
//   view.place(view.paper(p), view.depth(p))   // and back
#pragma once

#include <Eigen/Core>

#include "geom/ground.h"

namespace moundwright::viewer {

struct ParallelView {
  Eigen::Vector3f right, up, toward;  // unit vectors: right and up in the picture, and toward the eye
  double points_per_unit = 1;         // of paper
  Point2 shift = Point2::Zero();      // paper

  Point2 paper(const Eigen::Vector3f& p) const {
    return shift + Point2(static_cast<double>(p.dot(right)), -static_cast<double>(p.dot(up))) * points_per_unit;
  }
  /// Toward the eye, in units of the model.
  float depth(const Eigen::Vector3f& p) const { return p.dot(toward); }
  Eigen::Vector3f place(const Point2& paper_point, float depth) const {
    const Point2 off = (paper_point - shift) / points_per_unit;
    return right * static_cast<float>(off.x()) - up * static_cast<float>(off.y()) + toward * depth;
  }
};

}  // namespace moundwright::viewer

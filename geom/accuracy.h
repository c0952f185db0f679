// How sure the volumes are, from how good the shots are.
//
//   Accuracy a = accuracy_of(ground, plan, buildup, {.random = 0.05, .systematic = 0.02}, LengthUnit::foot);
//   a.fill[0].random_cy, a.fill[0].systematic_cy, a.more_shots[0].at
//
// Exact derivatives. A layer's volume falls by the integral of a shot's hat function over the ground the layer rests
// on; with a strip, also by the layer's thickness at the toe times the line integral along the toe of hat / |gradient
// of (finish - ground)|, for the toe moves; where the least sand sets the bed bottom, the volume's derivative with
// respect to the bottom times the hat at the governing point comes on top. See the project's model, "plus or minus".
// Independent errors add as squares; an error common to all shots adds straight (Anderson 2019, Earth Surface Processes
// and Landforms 44, 1015-1033). Both are kept as one standard deviation, apart.
//
// Limits: how far the ground between shots strays from the triangles is not in it. First order: a governing point so
// close to another that the error changes which one governs is not seen. The outside of assumed ground counts as shots
// of its own, each as good as one, though it hangs on the survey's outside: first order, and too narrow there.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geom/buildup.h"

namespace moundwright {

struct PlusOrMinus {
  std::string name;
  double random_cy = 0, systematic_cy = 0;  // one standard deviation
  double both_cy() const;                   // root of the sum of squares
};

/// What one more shot takes off the variance of the total fill.
struct ShotAdvice {
  Point2 at = Point2::Zero();                        // easting, northing
  std::vector<std::int64_t> shots;                   // one: shoot it again; more: a new one between these
  double random_before_cy = 0, random_after_cy = 0;  // of the total fill
};

/// Derivatives of one volume, cubic job units for each job unit of elevation.
struct VolumeSlopes {
  std::string name;
  std::vector<double> by_point;  // one a point of the ground
  double by_bottom = 0;          // with the ground held
};
struct VolumeDerivatives {
  std::vector<VolumeSlopes> fill, cut;  // in the order of Buildup::layers and ::cuts
};
VolumeDerivatives volume_derivatives(const Ground& ground, const MoundPlan& plan, const Buildup& buildup);

struct Accuracy {
  ShotAccuracy shots;
  std::vector<PlusOrMinus> fill, cut;
  PlusOrMinus total_fill, total_cut;
  std::vector<ShotAdvice> more_shots;  // best first, a handful
};
Accuracy accuracy_of(const Ground& ground, const MoundPlan& plan, const Buildup& buildup, const ShotAccuracy& shots,
                     LengthUnit unit);

}  // namespace moundwright

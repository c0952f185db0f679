// How sure the volumes are, from how good the shots are.
//
//   Accuracy a = accuracy_of(mound, {.random = 0.05, .systematic = 0.02}, LengthUnit::foot);
//   a.fill[0].random_cy, a.fill[0].systematic_cy, a.more_shots[0].at
//
// Exact derivatives. A layer's volume falls by the integral of a shot's hat function over the ground the layer rests
// on; with a strip, also by the layer's thickness at the toe times the line integral along the toe of hat / |gradient
// of (finish - ground)|, for the toe moves. Where the least sand sets the bed bottom, the volume's derivative with
// respect to the bottom comes on top, times what the bottom does: it follows the highest of many places, each off by
// chance, and rises on average (bed_rise.h, which samples it). What a volume gains by that is its `rise`, of the mound
// built again on the bed so raised; derivatives are taken there.
//
// Independent errors add as squares; an error common to all shots adds straight, and a bed set from the ground goes up
// with it (Anderson 2019, Earth Surface Processes and Landforms 44, 1015-1033). Both are kept as one standard
// deviation, apart.
//
// What the rise means: with shots that are off by so much at random about the elevations of this survey, the fill comes
// to that much more on average. It is in no volume told elsewhere.
//
// Limits: how far the ground between shots strays from the triangles is not in it. First order but for the bottom: that
// the toe's own wandering widens the footprint by a hair is not seen (0.02 cu yd on the demo lots), nor that an error
// larger than the mound is high changes what lies on what. The outside of assumed ground counts as shots of its own,
// each as good as one, though it hangs on the survey's outside: too narrow there.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geom/placed_mound.h"
#include "geom/shot_accuracy.h"
#include "geom/units.h"

namespace moundwright {

struct PlusOrMinus {
  std::string name;
  double random_cy = 0, systematic_cy = 0;  // one standard deviation
  double rise_cy = 0;                       // more on average, where the bed is set from the ground; may be less
  double both_cy() const;                   // root of the sum of squares
};

/// What one more shot takes off the variance of the total fill. A new one where it could itself set the bed is not
/// among them: only shots that are there, taken again.
struct ShotAdvice {
  Point2 at = Point2::Zero();                        // easting, northing
  std::vector<std::int64_t> shots;                   // one: shoot it again; more: a new one between these
  double random_before_cy = 0, random_after_cy = 0;  // of the total fill
};

/// Derivatives of one volume, cubic job units for each job unit of elevation.
struct VolumeSlopes {
  std::string name;
  std::vector<double> by_point;  // one a point of the ground, with the bed bottom held
  double by_bottom = 0;          // with the ground held
};
struct VolumeDerivatives {
  std::vector<VolumeSlopes> fill, cut;  // in the order of Buildup::layers and ::cuts
};
VolumeDerivatives volume_derivatives(const PlacedMound& mound);

struct Accuracy {
  ShotAccuracy shots;
  std::optional<double> bottom_rise;  // on average, job units; where the bed is set from the ground
  std::vector<PlusOrMinus> fill, cut;
  PlusOrMinus total_fill, total_cut;
  std::vector<ShotAdvice> more_shots;  // best first, a handful
};
Accuracy accuracy_of(const PlacedMound& mound, const ShotAccuracy& shots, LengthUnit unit);

}  // namespace moundwright

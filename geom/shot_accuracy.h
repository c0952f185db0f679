// How well a survey's elevations are known.
#pragma once

namespace moundwright {

/// One standard deviation of a shot's elevation, job units.
struct ShotAccuracy {
  double random = 0;      // each shot by itself
  double systematic = 0;  // common to all of them
};

}  // namespace moundwright

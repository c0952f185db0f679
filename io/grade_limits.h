// How close grades are kept: common practice, no source. 0.05 ft on the bed, 0.1 ft elsewhere, 0.02 ft on a check shot.
#pragma once

#include "geom/units.h"

namespace moundwright::io {

/// Job units, plus or minus.
struct GradeLimits {
  double bed = 0, elsewhere = 0, check_shot = 0;
};

inline GradeLimits grade_limits(LengthUnit unit) {
  return unit == LengthUnit::metre ? GradeLimits{0.015, 0.03, 0.006} : GradeLimits{0.05, 0.1, 0.02};
}

}  // namespace moundwright::io

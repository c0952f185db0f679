// A sample on the scale and on the sieves, washed over No. 200 before that (ASTM C117, then C136) or not.
//
//   SieveSample sample{retained, pan, 523.4, 496.7};           // dry, before washing and after
//   Gradation g = gradation_of(sample, problems);
//   sample.washed_out()                                        // 5.1 %
//
// All percentages are of the whole dry sample where it was weighed, what was washed out being in it; else of what came
// off the sieves. Weights are dry, in any one unit.
#pragma once

#include <optional>
#include <vector>

#include "geom/gradation.h"

namespace moundwright {

struct SieveSample {
  std::vector<RetainedWeight> retained;
  double pan = 0;
  std::optional<double> whole;   // before washing, and before sieving where it was not washed
  std::optional<double> washed;  // after washing: what went on the sieves

  double off_sieves() const;                 // retained and pan
  std::optional<double> went_on() const;     // what was put on the sieves
  std::optional<double> washed_out() const;  // percent finer than No. 200 by washing
};

/// Problems: weights below zero, all zero, more after washing than before, and what came off the sieves over 0.3 % off
/// what went on (ASTM C136).
Gradation gradation_of(const SieveSample& sample, Problems& problems);

}  // namespace moundwright

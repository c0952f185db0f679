// Shots that cannot be part of the survey: so far from all the others, in plan or in elevation, that something was
// written wrong. What it seems to be is said with them.
//
//   for (const StrayShot& stray : find_strays(shots)) warn(stray.what, stray.what_to_do);
#pragma once

#include <string>
#include <vector>

#include "geom/ground.h"

namespace moundwright {

struct StrayShot {
  std::size_t shot = 0;    // index of it
  std::string what;        // where it is, where the others are, and what the cause seems to be
  std::string what_to_do;  // to the shot
};

/// Finds shots that stray, in the order given. They are measured from the median northing and easting, and the survey
/// reaches as far as the first gap beyond three quarters of the shots (a gap 3 times as wide as the survey reaches; 50
/// times, beyond half of them), so that a handful of strays, or many, never shift what they are measured by. Then a
/// shot strays beyond
///  - 3 times that reach where it would be among the others with northing and easting exchanged;
///  - 5 times, if such shots are a handful (3, or 2 % of all): more of them may be another part of the survey;
///  - 20 times, if one slip explains it: the decimal point lost or misplaced; a value of zero, or one that stands for
///  none
///    such as -9999; a digit too many, too few or wrong; a wrong sign; metres for feet or feet for metres;
///  - 50 times in any case;
///  - 5 times the others' greatest distance from the median elevation, where its elevation stands for none or lies
///  farther
///    off than the survey reaches in plan (a lesser one is for find_busts).
/// Fewer than five shots are too few to tell; of fewer than eight, only the widest gap and elevations that stand for
/// none tell. No figure here has a source: they are set wide of what ground can do.
std::vector<StrayShot> find_strays(const std::vector<Shot>& shots);

}  // namespace moundwright

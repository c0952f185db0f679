// The lot and the mound that the benchmarks and their peers share. Invented; the same numbers in every language, so
// that all of them triangulate the same points and raise the same mound.
#pragma once

#include <cstddef>
#include <vector>

#include "geom/design.h"
#include "geom/ground.h"

namespace moundwright::bench {

/// `count` random places in a rectangle about (0, 0), drawn in the order x0, y0, x1, y1, ...:
///   the i-th draw (from 1) is splitmix64 of state i * 0x9e3779b97f4a7c15 (Steele, Lea and Flood 2014, "Fast
///   splittable pseudorandom number generators"), its top 53 bits over 2^53, times the rectangle's width, less half.
std::vector<Point2> lot_places(std::size_t count, double width, double depth);

/// Those places on ground that falls 5 % to the east with a foot of undulation, in feet.
std::vector<Shot> lot_shots(std::size_t count, double width, double depth);

/// Four layers over a 60 x 10 ft bed that runs north, 1.5 ft of sand at least, as in a common small mound. `strip` in
/// feet.
MoundDesign lot_mound(double strip);

/// Ground for the booleans, cut close round the mound so that nobody pays for land that it never touches: 450 shots
/// on 160 x 120 ft, the density of 2,000 on a 300 ft lot.
Ground close_ground();

}  // namespace moundwright::bench

// The greatest numbers that are taken, in the job's own unit, feet or metres alike: far beyond any treatment mound, and
// small enough for doubles to hold places a ten millionth apart. The greatest coordinate is seven times round the earth
// in feet: no grid has numbers so large.
#pragma once

#include <cstddef>

namespace moundwright {

inline constexpr double greatest_coordinate = 1e9;  // northing, easting, or anything of a shot, either way
inline constexpr double greatest_elevation = 1e5;   // of what is built, either way
inline constexpr double greatest_plan_size = 1e4;   // the bed's line and width, and how far a top is carried beyond
inline constexpr double greatest_height = 1e3;      // of tops, crowns, strip, sand
inline constexpr double greatest_run = 100;         // of a side, to 1 of rise
inline constexpr std::size_t most_layers = 16;
inline constexpr std::size_t most_bed_points = 60;

}  // namespace moundwright

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
// Points of the bed's line times layers times layers, with which the time for a packet grows: 60 points may have 8
// layers, 15 points 16.
inline constexpr std::size_t most_bed_work = 4000;
inline constexpr double most_sections = 10'000;  // of the end-area check, beside those at corners
inline constexpr double greatest_hub_clearance = 100;
inline constexpr double greatest_tape = 1e4;      // from a stake to a mark that it is tied to
inline constexpr std::size_t most_entries = 500;  // of one list of the job or its price list

}  // namespace moundwright

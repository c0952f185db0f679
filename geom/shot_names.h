// How shots and places are named in what is told to people.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "geom/ground.h"
#include "geom/shot_files.h"

namespace moundwright {

/// "point 105", or "shot 7 of the list" where the survey gave it no name.
std::string shot_name(const std::vector<Shot>& shots, std::size_t index);

/// "ground.csv line 14"; "line 14" where the file has no name, and the shot's name where it was not read from a file.
std::string shot_where(const std::vector<Shot>& shots, std::size_t index, const ShotFiles& files);

/// What its description begins with, up to a blank or a digit: "EP" of "EP1".
std::string_view code_of(const Shot& shot);

/// "N 5120.00, E 4890.00", from (easting, northing).
std::string place_name(const Point2& easting_northing);

}  // namespace moundwright

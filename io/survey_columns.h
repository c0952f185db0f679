// What the columns of a survey hold, and the words that head them.
//
//   column_of("Grid Northing")   // northing
//   heading_unit("Elev (ft)")    // foot
//
// Upper and lower case, blanks, points and underscores are alike; so is what stands behind in brackets, a unit behind
// the word, and grid, ground, local or survey before it.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "io/field_number.h"

namespace moundwright::io {

enum Column : std::size_t { point, northing, easting, elevation, description, column_count };

inline constexpr std::array<std::string_view, column_count> column_names = {"point", "northing", "easting", "elevation",
                                                                            "description"};

std::optional<Column> column_of(std::string_view heading);

/// Of a whole header. "Height" and "Ortho Height" are the elevation where no other heading is: beside one they are that
/// of a rod or an antenna.
std::vector<std::optional<Column>> columns_of(const std::vector<std::string>& headings);

/// Latitude or longitude: degrees, and no place on a plan.
bool is_in_degrees(std::string_view heading);

/// The unit that a heading gives in brackets or behind its word; none where it gives none.
UnitMark heading_unit(std::string_view heading);

/// The unit that is all a field holds, in brackets or not.
std::optional<UnitMark> lone_unit(std::string_view field);

/// A header whose fields were told apart by blanks: words that make up one heading are put together again.
std::vector<std::string> joined_headings(const std::vector<std::string>& words);

}  // namespace moundwright::io

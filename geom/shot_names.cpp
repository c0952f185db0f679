#include "geom/shot_names.h"

#include <fmt/format.h>

#include "geom/printed.h"

namespace moundwright {

std::string shot_name(const std::vector<Shot>& shots, std::size_t index) {
  const std::string& point = shots[index].point;
  return point.empty() ? fmt::format("shot {} of the list", index + 1) : "point " + point;
}

std::string shot_where(const std::vector<Shot>& shots, std::size_t index, const ShotFiles& files) {
  const int line = shots[index].line;
  if (line <= 0) return shot_name(shots, index);
  std::string file;
  for (const ShotsOfFile& one : files) {
    if (index >= one.first) file = one.name + " ";
  }
  return fmt::format("{}line {}", file, line);
}

std::string_view code_of(const Shot& shot) {
  const std::string_view description = shot.description;
  return description.substr(0, description.find_first_of(" \t0123456789"));
}

std::string place_name(const Point2& easting_northing) {
  return fmt::format("N {}, E {}", fixed_text(easting_northing.y(), 2), fixed_text(easting_northing.x(), 2));
}

}  // namespace moundwright

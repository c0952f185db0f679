#include "io/toe_csv.h"

#include <fmt/format.h>

#include "geom/stakes.h"

namespace moundwright::io {
namespace {

void add_loop(const Ground& ground, const std::string& name, const Polygon2& loop, int decimals, std::string& csv) {
  const bool has_assumed = ground.extended > 0;
  for (std::size_t i = 0; i < loop.size(); ++i) {
    const Point2 at = ground.to_world(loop[i]);
    const std::optional<double> elevation = elevation_at(ground, loop[i]);
    const char* which = !has_assumed ? "" : is_assumed_at(ground, loop[i]) ? ",assumed" : ",surveyed";
    csv += fmt::format("{},{},{},{},{}{}\n", name, i + 1, fixed_text(at.y(), 3), fixed_text(at.x(), 3),
                       elevation ? fixed_text(*elevation, decimals) : "", which);
  }
}

}  // namespace

std::string toe_csv(const Ground& ground, const ToeLine& toe, LengthUnit unit) {
  const int decimals = length_decimals(unit);
  std::string csv = "loop,point,northing,easting,elevation";
  csv += ground.extended > 0 ? ",ground\n" : "\n";
  for (std::size_t i = 0; i < toe.outer.size(); ++i) {
    add_loop(ground, i == 0 ? "toe" : fmt::format("toe {}", i + 1), toe.outer[i], decimals, csv);
  }
  for (std::size_t i = 0; i < toe.holes.size(); ++i)
    add_loop(ground, fmt::format("hole {}", i + 1), toe.holes[i], decimals, csv);
  return csv;
}

}  // namespace moundwright::io

#include "io/crs.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "io/ascii.h"
#include "io/gdal.h"

namespace moundwright::io {
namespace {

constexpr const char* how =
    "write authority and code, such as \"EPSG:2253\", or leave the key out for a grid of the lot's own";

bool is_authority_and_code(const std::string& name) {
  const std::size_t colon = name.find(':');
  if (colon == 0 || colon == std::string::npos || colon + 1 == name.size()) return false;
  const auto fits = [](char c) { return is_letter(c) || is_digit(c); };
  return std::all_of(name.begin(), name.begin() + static_cast<std::ptrdiff_t>(colon), fits) &&
         std::all_of(name.begin() + static_cast<std::ptrdiff_t>(colon) + 1, name.end(), fits);
}

const char* in_words(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::foot:
      return "international feet";
    case LengthUnit::us_survey_foot:
      return "US survey feet";
    case LengthUnit::metre:
      return "meters";
  }
  return "";
}

}  // namespace

std::optional<CrsFault> crs_fault(const std::string& name, LengthUnit unit) {
  if (!is_authority_and_code(name)) {
    return CrsFault{fmt::format("\"{}\" is not the name of a coordinate system", name), how};
  }
  const std::optional<GridSystem> system = gdal().system_named(name);
  if (!system) return CrsFault{fmt::format("there is no coordinate system \"{}\"", name), how};
  if (!system->is_projected) {
    return CrsFault{fmt::format("\"{}\" ({}) is not a grid of northings and eastings", name, system->name),
                    "give the projected system that the survey's coordinates are in, or leave the key out"};
  }
  if (std::abs(system->metres_per_unit - metres_per(unit)) > 1e-9) {
    return CrsFault{fmt::format("\"{}\" ({}) is in units of \"{}\", but job.units is \"{}\", {}", name, system->name,
                                system->unit, symbol(unit), in_words(unit)),
                    "give the system, or the units, that the survey's coordinates are in"};
  }
  return std::nullopt;
}

}  // namespace moundwright::io

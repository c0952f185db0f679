#include "io/crs.h"

#include <cpl_error.h>
#include <fmt/format.h>
#include <ogr_spatialref.h>

#include <algorithm>
#include <cmath>

#include "geom/problem.h"
#include "io/ascii.h"

namespace moundwright {
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

/// GDAL prints what it does not like; here it is told in our own words.
class QuietGdal {
 public:
  QuietGdal() { CPLPushErrorHandler(CPLQuietErrorHandler); }
  ~QuietGdal() { CPLPopErrorHandler(); }
  QuietGdal(const QuietGdal&) = delete;
  QuietGdal& operator=(const QuietGdal&) = delete;
};

const char* in_words(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::foot:
      return "international feet";
    case LengthUnit::us_survey_foot:
      return "US survey feet";
    case LengthUnit::metre:
      return "metres";
  }
  return "";
}

std::optional<CrsFault> look_up(const std::string& name, LengthUnit unit, OGRSpatialReference& system) {
  const QuietGdal quiet;
  system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  if (!is_authority_and_code(name)) {
    return CrsFault{fmt::format("\"{}\" is not the name of a coordinate system", name), how};
  }
  if (system.SetFromUserInput(name.c_str()) != OGRERR_NONE) {
    return CrsFault{fmt::format("there is no coordinate system \"{}\"", name), how};
  }
  if (system.IsProjected() == 0) {
    return CrsFault{fmt::format("\"{}\" ({}) is not a grid of northings and eastings", name, system.GetName()),
                    "give the projected system that the survey's coordinates are in, or leave the key out"};
  }
  const char* unit_name = nullptr;
  const double metres = system.GetLinearUnits(&unit_name);
  if (std::abs(metres - metres_per(unit)) > 1e-9) {
    return CrsFault{fmt::format("\"{}\" ({}) is in units of \"{}\", but job.units is \"{}\", {}", name,
                                system.GetName(), unit_name, symbol(unit), in_words(unit)),
                    "give the system, or the units, that the survey's coordinates are in"};
  }
  return std::nullopt;
}

}  // namespace

std::optional<CrsFault> crs_fault(const std::string& name, LengthUnit unit) {
  OGRSpatialReference system;
  return look_up(name, unit, system);
}

OGRSpatialReference crs_named(const std::string& name, LengthUnit unit) {
  OGRSpatialReference system;
  if (const auto fault = look_up(name, unit, system)) {
    throw Refusal({Severity::error, fault->what, "job.crs", fault->what_to_do});
  }
  return system;
}

OGRSpatialReference local_crs(LengthUnit unit) {
  OGRSpatialReference system;
  system.SetLocalCS("Grid of the lot's own");
  system.SetLinearUnits(unit == LengthUnit::metre            ? SRS_UL_METER
                        : unit == LengthUnit::us_survey_foot ? SRS_UL_US_FOOT
                                                             : SRS_UL_FOOT,
                        metres_per(unit));
  system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  return system;
}

}  // namespace moundwright

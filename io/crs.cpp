#include "io/crs.h"

#include <fmt/format.h>
#include <proj.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <memory>
#include <utility>

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

using Context = std::unique_ptr<PJ_CONTEXT, decltype(&proj_context_destroy)>;
using Object = std::unique_ptr<PJ, decltype(&proj_destroy)>;

/// Its faults are told in our own words.
Context quiet_context() {
  Context context(proj_context_create(), proj_context_destroy);
  proj_log_level(context.get(), PJ_LOG_NONE);
  return context;
}

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

struct NamedSystem {
  std::string authority, code;
  Object object{nullptr, proj_destroy};
};

/// None where PROJ does not know it.
NamedSystem named_system(const Context& context, const std::string& name) {
  const std::size_t colon = name.find(':');
  NamedSystem system{name.substr(0, colon), name.substr(colon + 1)};
  for (char& c : system.authority) c = upper(c);
  system.object.reset(proj_create_from_database(context.get(), system.authority.c_str(), system.code.c_str(),
                                                PJ_CATEGORY_CRS, 0, nullptr));
  return system;
}

struct LinearUnit {
  double metres = 0;
  std::string name;
};

/// Of a grid of northings and eastings, with heights or without; none for any other system.
std::optional<LinearUnit> grid_unit(const Context& context, const Object& system) {
  Object level(proj_get_type(system.get()) == PJ_TYPE_COMPOUND_CRS
                   ? proj_crs_get_sub_crs(context.get(), system.get(), 0)
                   : proj_clone(context.get(), system.get()),
               proj_destroy);
  if (!level || proj_get_type(level.get()) != PJ_TYPE_PROJECTED_CRS) return std::nullopt;
  const Object axes(proj_crs_get_coordinate_system(context.get(), level.get()), proj_destroy);
  LinearUnit unit;
  const char* name = nullptr;
  proj_cs_get_axis_info(context.get(), axes.get(), 0, nullptr, nullptr, nullptr, &unit.metres, &name, nullptr, nullptr);
  if (name != nullptr) unit.name = name;
  return unit;
}

std::optional<CrsFault> fault_of(const Context& context, const std::string& name, LengthUnit unit) {
  if (!is_authority_and_code(name)) {
    return CrsFault{fmt::format("\"{}\" is not the name of a coordinate system", name), how};
  }
  const NamedSystem system = named_system(context, name);
  if (!system.object) return CrsFault{fmt::format("there is no coordinate system \"{}\"", name), how};
  const char* full_name = proj_get_name(system.object.get());
  const std::optional<LinearUnit> its = grid_unit(context, system.object);
  if (!its) {
    return CrsFault{fmt::format("\"{}\" ({}) is not a grid of northings and eastings", name, full_name),
                    "give the projected system that the survey's coordinates are in, or leave the key out"};
  }
  if (std::abs(its->metres - metres_per(unit)) > 1e-9) {
    return CrsFault{fmt::format("\"{}\" ({}) is in units of \"{}\", but job.units is \"{}\", {}", name, full_name,
                                its->name, symbol(unit), in_words(unit)),
                    "give the system, or the units, that the survey's coordinates are in"};
  }
  return std::nullopt;
}

constexpr std::int32_t own_id = 100000;  // of a system that EPSG has no number for

CoordinateSystem local_system(LengthUnit unit) {
  const char* name = unit == LengthUnit::metre            ? "Meter"
                     : unit == LengthUnit::us_survey_foot ? "Foot_US"
                                                          : "Foot (International)";
  return {"Grid of the lot's own", own_id, "NONE", own_id,
          fmt::format("LOCAL_CS[\"Grid of the lot's own\",UNIT[\"{}\",{}],AXIS[\"Easting\",EAST],"
                      "AXIS[\"Northing\",NORTH]]",
                      name, metres_per(unit))};
}

}  // namespace

std::optional<CrsFault> crs_fault(const std::string& name, LengthUnit unit) {
  return fault_of(quiet_context(), name, unit);
}

CoordinateSystem coordinate_system(const std::optional<std::string>& name, LengthUnit unit) {
  if (!name) return local_system(unit);
  const Context context = quiet_context();
  if (const auto fault = fault_of(context, *name, unit)) {
    throw Refusal({Severity::error, fault->what, "job.crs", fault->what_to_do});
  }
  const NamedSystem system = named_system(context, *name);
  CoordinateSystem result{proj_get_name(system.object.get()), own_id, system.authority, own_id, {}};
  std::from_chars(system.code.data(), system.code.data() + system.code.size(), result.code);
  if (system.authority == "EPSG") result.id = result.code;
  const char* const one_line[] = {"MULTILINE=NO", nullptr};
  if (const char* text = proj_as_wkt(context.get(), system.object.get(), PJ_WKT1_GDAL, one_line)) {
    result.definition = text;
  }
  return result;
}

}  // namespace moundwright

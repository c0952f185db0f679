// Coordinate systems by name, such as "EPSG:2253", through the PROJ database.
//
//   if (const auto fault = crs_fault("EPSG:2253", LengthUnit::foot)) table.error("crs", fault->what,
//   fault->what_to_do);
//
// Only authority and code are understood: a name that is a file or an address is not looked up.
#pragma once

#include <optional>
#include <string>

#include "geom/units.h"

namespace moundwright::io {

struct CrsFault {
  std::string what, what_to_do;
};

/// Why a survey in `unit` cannot have this coordinate system: no such system, not a grid of northings and eastings, or
/// one in another unit (international and US survey feet are not the same).
std::optional<CrsFault> crs_fault(const std::string& name, LengthUnit unit);

}  // namespace moundwright::io

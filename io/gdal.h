// GDAL, in a module of its own that is loaded when something is first asked of it.
//
//   const std::optional<GridSystem> system = gdal().system_named("EPSG:2253");
//   const std::unique_ptr<GeoPackage> file = gdal().new_geopackage("EPSG:2253", LengthUnit::foot, changed);
//
// Debian's GDAL brings sixty libraries, and loading them takes 40 ms and 20 MB: longer than reading and computing a
// job. So only io/gdal/ links it, as a shared object that this opens; commands that need none of it never wait, and
// `build` has it loaded by the time it writes. Nothing of GDAL's shows here, only plain data.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "geom/units.h"
#include "io/geopackage.h"

namespace moundwright::io {

/// What the PROJ database says of a coordinate system.
struct GridSystem {
  std::string name;
  bool is_projected = false;   // northings and eastings on a grid
  double metres_per_unit = 0;  // of its lengths
  std::string unit;            // as the database calls it
};

class Gdal {
 public:
  virtual ~Gdal() = default;
  /// By authority and code; none where there is no such system.
  virtual std::optional<GridSystem> system_named(const std::string& name) const = 0;
  /// In a system of that kind, or on a plain grid of the lot's own in `unit`. `changed` is when the file says it was
  /// last written. Throws std::runtime_error where it cannot be.
  virtual std::unique_ptr<GeoPackage> new_geopackage(const std::optional<std::string>& system, LengthUnit unit,
                                                     const std::string& changed) const = 0;
};

/// Good until the process ends; any thread may ask. Throws Refusal if the module is neither beside the program nor
/// where it was built.
const Gdal& gdal();

}  // namespace moundwright::io

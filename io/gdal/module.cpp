#include "io/gdal/module.h"

#include <cpl_error.h>
#include <ogr_spatialref.h>

#include "io/gdal.h"
#include "io/gdal/geopackage_file.h"

namespace moundwright::io {
namespace {

/// GDAL prints what it does not like; our callers say it in their own words.
class Quiet {
 public:
  Quiet() { CPLPushErrorHandler(CPLQuietErrorHandler); }
  ~Quiet() { CPLPopErrorHandler(); }
  Quiet(const Quiet&) = delete;
  Quiet& operator=(const Quiet&) = delete;
};

OGRSpatialReference local_system(LengthUnit unit) {
  OGRSpatialReference system;
  system.SetLocalCS("Grid of the lot's own");
  system.SetLinearUnits(unit == LengthUnit::metre            ? SRS_UL_METER
                        : unit == LengthUnit::us_survey_foot ? SRS_UL_US_FOOT
                                                             : SRS_UL_FOOT,
                        metres_per(unit));
  return system;
}

class Module : public Gdal {
 public:
  std::optional<GridSystem> system_named(const std::string& name) const override {
    const Quiet quiet;
    OGRSpatialReference system;
    if (system.SetFromUserInput(name.c_str()) != OGRERR_NONE) return std::nullopt;
    const char* unit = nullptr;
    const double metres = system.GetLinearUnits(&unit);
    return GridSystem{system.GetName(), system.IsProjected() != 0, metres, unit};
  }

  std::unique_ptr<GeoPackage> new_geopackage(const std::optional<std::string>& name, LengthUnit unit,
                                             const std::string& changed) const override {
    OGRSpatialReference system = local_system(unit);
    if (name && system.SetFromUserInput(name->c_str()) != OGRERR_NONE) {
      throw std::runtime_error("there is no coordinate system " + *name);
    }
    system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);  // easting before northing, as geometry has them
    return std::make_unique<GeoPackageFile>(system, changed);
  }
};

}  // namespace
}  // namespace moundwright::io

extern "C" const moundwright::io::Gdal* moundwright_gdal() {
  static const moundwright::io::Module module;
  return &module;
}

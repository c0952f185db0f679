// A GeoPackage (an open standard, OGC 12-128): layers of features in one file, for geographic information systems.
//
//   const GeoLayer shots{"shots", "The survey", GeoShape::point, true, {{"elevation", GeoField::real}}};
//   const std::unique_ptr<GeoPackage> file = gdal().new_geopackage(system, "2000-01-01T00:00:00.000Z");
//   file->add(shots, {{{easting, northing, elevation}}}, {elevation});
//   const std::string bytes = file->bytes();
//
// A layer is made with its first feature, so that none is empty; one of many features gets an index of places. Same
// features, same bytes. io/gdal.h says why the writing itself is in a module.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "geom/ground.h"

namespace moundwright::io {

enum class GeoShape { point, line, polygon };

enum class GeoField { text, real, whole, yes_or_no };

struct GeoLayer {
  std::string name, description;
  GeoShape shape = GeoShape::point;
  bool has_elevations = false;
  std::vector<std::pair<std::string, GeoField>> fields;
};

/// A point or a line alone, or the rings of a polygon, closed, the outer one first. Easting, northing, elevation.
using GeoPlaces = std::vector<std::vector<Point3>>;

/// Of one field; nothing where it is not known.
using GeoValue = std::variant<std::monostate, std::string, double, int>;

/// One that is being written.
class GeoPackage {
 public:
  virtual ~GeoPackage() = default;
  /// Throws std::runtime_error where it cannot be, as `bytes` does.
  virtual void add(const GeoLayer& layer, const GeoPlaces& places, const std::vector<GeoValue>& values) = 0;
  /// Of the finished file; nothing may be added after.
  virtual std::string bytes() = 0;
};

}  // namespace moundwright::io

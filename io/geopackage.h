// A GeoPackage (an open standard, OGC 12-128r14, version 1.2): layers of features in one SQLite file.
//
//   GeoPackage file(coordinate_system(crs, unit), "2000-01-01T00:00:00.000Z");
//   GeoLayer shots{"shots", "The survey", GeoShape::point, true, {{"elevation", GeoField::real}}};
//   file.add(shots, {{{easting, northing, elevation}}}, {elevation});
//   const std::string bytes = file.bytes();
//
// A layer is made with its first feature, so that none is empty; one of many features gets an index of places. Same
// features, same bytes. Throws Refusal where SQLite cannot do it.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "geom/ground.h"
#include "io/crs.h"

struct sqlite3;

namespace moundwright {

enum class GeoShape : std::uint32_t { point = 1, line = 2, polygon = 3 };  // as well-known binary numbers them

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

class GeoPackage {
 public:
  /// `changed` is when the file says it was last written.
  GeoPackage(const CoordinateSystem& system, std::string changed);
  ~GeoPackage();
  GeoPackage(const GeoPackage&) = delete;
  GeoPackage& operator=(const GeoPackage&) = delete;

  void add(const GeoLayer& layer, const GeoPlaces& places, const std::vector<GeoValue>& values);
  std::string bytes();

 private:
  struct Extent {
    std::string layer;
    std::vector<std::array<double, 4>> boxes;  // of each feature: least and greatest easting, then northing
  };
  void run(const std::string& sql, const std::vector<GeoValue>& values = {}, const std::string* geometry = nullptr);
  void make(const GeoLayer& layer);
  void finish(const Extent& extent);
  void add_index(const Extent& extent);

  sqlite3* data_ = nullptr;
  std::int32_t system_id_;
  std::string changed_;
  std::vector<Extent> layers_;
};

}  // namespace moundwright

#include "io/geopackage.h"

#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>
#include <limits>
#include <memory>
#include <utility>

#include "geom/problem.h"

namespace moundwright {
namespace {

static_assert(std::endian::native == std::endian::little, "geometry is written as it lies in memory");

constexpr std::size_t index_from = 1000;  // features; an index on fewer only makes the file large

constexpr const char* schema = R"(
PRAGMA application_id = 1196444487;
PRAGMA user_version = 10200;
CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY,
  organization TEXT NOT NULL, organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
  description TEXT DEFAULT '', last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ', 'now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL,
  geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
INSERT INTO gpkg_spatial_ref_sys VALUES
  ('Undefined Cartesian SRS', -1, 'NONE', -1, 'undefined', 'undefined Cartesian coordinate reference system'),
  ('Undefined geographic SRS', 0, 'NONE', 0, 'undefined', 'undefined geographic coordinate reference system'),
  ('WGS 84 geodetic', 4326, 'EPSG', 4326,
   'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]',
   'longitude/latitude coordinates in decimal degrees on the WGS 84 spheroid');
)";

constexpr const char* extensions_table =
    "CREATE TABLE IF NOT EXISTS gpkg_extensions (table_name TEXT, column_name TEXT, extension_name TEXT NOT NULL, "
    "definition TEXT NOT NULL, scope TEXT NOT NULL, CONSTRAINT ge_tce UNIQUE (table_name, column_name, "
    "extension_name))";

/// What keeps an index of places true for whoever edits the file; word for word the standard's (F.3), {0} the layer.
constexpr const char* index_triggers = R"(
CREATE TRIGGER "rtree_{0}_geom_insert" AFTER INSERT ON "{0}"
  WHEN (new."geom" NOT NULL AND NOT ST_IsEmpty(NEW."geom"))
BEGIN
  INSERT OR REPLACE INTO "rtree_{0}_geom" VALUES
    (NEW."fid", ST_MinX(NEW."geom"), ST_MaxX(NEW."geom"), ST_MinY(NEW."geom"), ST_MaxY(NEW."geom"));
END;
CREATE TRIGGER "rtree_{0}_geom_update1" AFTER UPDATE OF "geom" ON "{0}"
  WHEN OLD."fid" = NEW."fid" AND (NEW."geom" NOTNULL AND NOT ST_IsEmpty(NEW."geom"))
BEGIN
  INSERT OR REPLACE INTO "rtree_{0}_geom" VALUES
    (NEW."fid", ST_MinX(NEW."geom"), ST_MaxX(NEW."geom"), ST_MinY(NEW."geom"), ST_MaxY(NEW."geom"));
END;
CREATE TRIGGER "rtree_{0}_geom_update2" AFTER UPDATE OF "geom" ON "{0}"
  WHEN OLD."fid" = NEW."fid" AND (NEW."geom" ISNULL OR ST_IsEmpty(NEW."geom"))
BEGIN
  DELETE FROM "rtree_{0}_geom" WHERE id = OLD."fid";
END;
CREATE TRIGGER "rtree_{0}_geom_update3" AFTER UPDATE ON "{0}"
  WHEN OLD."fid" != NEW."fid" AND (NEW."geom" NOTNULL AND NOT ST_IsEmpty(NEW."geom"))
BEGIN
  DELETE FROM "rtree_{0}_geom" WHERE id = OLD."fid";
  INSERT OR REPLACE INTO "rtree_{0}_geom" VALUES
    (NEW."fid", ST_MinX(NEW."geom"), ST_MaxX(NEW."geom"), ST_MinY(NEW."geom"), ST_MaxY(NEW."geom"));
END;
CREATE TRIGGER "rtree_{0}_geom_update4" AFTER UPDATE ON "{0}"
  WHEN OLD."fid" != NEW."fid" AND (NEW."geom" ISNULL OR ST_IsEmpty(NEW."geom"))
BEGIN
  DELETE FROM "rtree_{0}_geom" WHERE id IN (OLD."fid", NEW."fid");
END;
CREATE TRIGGER "rtree_{0}_geom_delete" AFTER DELETE ON "{0}"
  WHEN old."geom" NOT NULL
BEGIN
  DELETE FROM "rtree_{0}_geom" WHERE id = OLD."fid";
END;
)";

const char* name_of(GeoShape shape) {
  return shape == GeoShape::point ? "POINT" : shape == GeoShape::line ? "LINESTRING" : "POLYGON";
}

const char* name_of(GeoField field) {
  switch (field) {
    case GeoField::text:
      return "TEXT";
    case GeoField::real:
      return "REAL";
    case GeoField::whole:
      return "MEDIUMINT";
    case GeoField::yes_or_no:
      return "BOOLEAN";
  }
  return "";
}

template <class T>
void put(std::string& bytes, const T& value) {
  bytes.append(reinterpret_cast<const char*>(&value), sizeof value);
}

std::array<double, 4> box_of(const GeoPlaces& places) {
  constexpr double far = std::numeric_limits<double>::infinity();
  std::array<double, 4> box{far, -far, far, -far};
  for (const std::vector<Point3>& ring : places) {
    for (const Point3& p : ring) {
      box = {std::min(box[0], p.x()), std::max(box[1], p.x()), std::min(box[2], p.y()), std::max(box[3], p.y())};
    }
  }
  return box;
}

/// The standard's header, with the box for all but points, and then ISO well-known binary.
std::string geometry_bytes(const GeoLayer& layer, const GeoPlaces& places, std::int32_t system_id) {
  constexpr std::uint8_t little_endian = 1, with_box = 1 << 1;
  const bool is_point = layer.shape == GeoShape::point;
  std::string bytes("GP\0", 3);
  put(bytes, static_cast<std::uint8_t>(little_endian | (is_point ? 0 : with_box)));
  put(bytes, system_id);
  if (!is_point) put(bytes, box_of(places));
  put(bytes, little_endian);
  put(bytes, static_cast<std::uint32_t>(layer.shape) + (layer.has_elevations ? 1000U : 0U));
  if (layer.shape == GeoShape::polygon) put(bytes, static_cast<std::uint32_t>(places.size()));
  for (const std::vector<Point3>& ring : places) {
    if (!is_point) put(bytes, static_cast<std::uint32_t>(ring.size()));
    for (const Point3& p : ring) {
      put(bytes, p.x()), put(bytes, p.y());
      if (layer.has_elevations) put(bytes, p.z());
    }
  }
  return bytes;
}

[[noreturn]] void fail(sqlite3* data) {
  throw Refusal({Severity::error, fmt::format("a GeoPackage cannot be written: {}", sqlite3_errmsg(data)), {}, {}});
}

void bind(sqlite3_stmt* statement, int place, const GeoValue& value) {
  if (const auto* text = std::get_if<std::string>(&value)) {
    sqlite3_bind_text(statement, place, text->data(), static_cast<int>(text->size()), SQLITE_TRANSIENT);
  }
  if (const auto* number = std::get_if<double>(&value)) sqlite3_bind_double(statement, place, *number);
  if (const auto* whole = std::get_if<int>(&value)) sqlite3_bind_int(statement, place, *whole);
}

}  // namespace

GeoPackage::GeoPackage(const CoordinateSystem& system, std::string changed)
    : system_id_(system.id), changed_(std::move(changed)) {
  if (sqlite3_open(":memory:", &data_) != SQLITE_OK || sqlite3_exec(data_, schema, nullptr, nullptr, nullptr) != 0) {
    fail(data_);
  }
  run("BEGIN");
  run("INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, NULL)",
      {system.name, system.id, system.authority, system.code, system.definition});
}

GeoPackage::~GeoPackage() { sqlite3_close(data_); }

/// One statement; `geometry` comes before the values where there is one.
void GeoPackage::run(const std::string& sql, const std::vector<GeoValue>& values, const std::string* geometry) {
  sqlite3_stmt* made = nullptr;
  if (sqlite3_prepare_v2(data_, sql.c_str(), -1, &made, nullptr) != SQLITE_OK) fail(data_);
  const std::unique_ptr<sqlite3_stmt, decltype(&sqlite3_finalize)> statement(made, sqlite3_finalize);
  int place = 1;
  if (geometry != nullptr) {
    sqlite3_bind_blob(made, place++, geometry->data(), static_cast<int>(geometry->size()), SQLITE_STATIC);
  }
  for (const GeoValue& value : values) bind(made, place++, value);
  if (sqlite3_step(made) != SQLITE_DONE) fail(data_);
}

void GeoPackage::make(const GeoLayer& layer) {
  std::string columns;
  for (const auto& [name, type] : layer.fields) columns += fmt::format(", \"{}\" {}", name, name_of(type));
  run(fmt::format(R"(CREATE TABLE "{}" ("fid" INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, "geom" {}{}))", layer.name,
                  name_of(layer.shape), columns));
  run("INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change, srs_id) VALUES "
      "(?, 'features', ?, ?, ?, ?)",
      {layer.name, layer.name, layer.description, changed_, system_id_});
  run("INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', ?, ?, ?, 0)",
      {layer.name, name_of(layer.shape), system_id_, int{layer.has_elevations}});
  layers_.push_back({layer.name, {}});
}

void GeoPackage::add(const GeoLayer& layer, const GeoPlaces& places, const std::vector<GeoValue>& values) {
  const auto known = [&] {
    return std::find_if(layers_.begin(), layers_.end(), [&](const Extent& e) { return e.layer == layer.name; });
  };
  if (known() == layers_.end()) make(layer);
  known()->boxes.push_back(box_of(places));
  std::string marks;
  for (std::size_t i = 0; i < values.size(); ++i) marks += ", ?";
  const std::string geometry = geometry_bytes(layer, places, system_id_);
  run(fmt::format(R"(INSERT INTO "{}" VALUES (NULL, ?{}))", layer.name, marks), values, &geometry);
}

void GeoPackage::finish(const Extent& extent) {
  std::array<double, 4> all = extent.boxes.front();
  for (const auto& [left, right, low, high] : extent.boxes) {
    all = {std::min(all[0], left), std::max(all[1], right), std::min(all[2], low), std::max(all[3], high)};
  }
  run("UPDATE gpkg_contents SET min_x = ?, max_x = ?, min_y = ?, max_y = ? WHERE table_name = ?",
      {all[0], all[1], all[2], all[3], extent.layer});
  if (extent.boxes.size() >= index_from) add_index(extent);
}

void GeoPackage::add_index(const Extent& extent) {
  run(extensions_table);
  run("INSERT INTO gpkg_extensions VALUES (?, 'geom', 'gpkg_rtree_index', "
      "'http://www.geopackage.org/spec120/#extension_rtree', 'write-only')",
      {extent.layer});
  run(fmt::format(R"(CREATE VIRTUAL TABLE "rtree_{}_geom" USING rtree(id, minx, maxx, miny, maxy))", extent.layer));
  const std::string sql = fmt::format(R"(INSERT INTO "rtree_{}_geom" VALUES (?, ?, ?, ?, ?))", extent.layer);
  int id = 0;
  for (const auto& [left, right, low, high] : extent.boxes) run(sql, {++id, left, right, low, high});
  const std::string triggers = fmt::format(fmt::runtime(index_triggers), extent.layer);
  if (sqlite3_exec(data_, triggers.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK) fail(data_);
}

std::string GeoPackage::bytes() {
  for (const Extent& extent : layers_) finish(extent);
  run("COMMIT");
  sqlite3_int64 size = 0;
  const std::unique_ptr<unsigned char, decltype(&sqlite3_free)> file(sqlite3_serialize(data_, "main", &size, 0),
                                                                     sqlite3_free);
  if (!file) fail(data_);
  return {reinterpret_cast<const char*>(file.get()), static_cast<std::size_t>(size)};
}

}  // namespace moundwright

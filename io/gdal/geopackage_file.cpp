#include "io/gdal/geopackage_file.h"

#include <cpl_conv.h>
#include <cpl_error.h>
#include <cpl_string.h>
#include <cpl_vsi.h>
#include <ogrsf_frmts.h>

#include <atomic>
#include <mutex>
#include <stdexcept>

namespace moundwright::io {
namespace {

constexpr GIntBig index_from = 1000;  // features; an index on fewer only makes the file large
constexpr const char* geometry_column = "geom";
constexpr const char* date_setting = "OGR_CURRENT_DATE";

[[noreturn]] void fail(const std::string& what) { throw std::runtime_error(what + ": " + CPLGetLastErrorMsg()); }

GDALDriver& driver() {
  static std::once_flag once;
  std::call_once(once, RegisterOGRGeoPackage);  // this one only: all of GDAL's take a while
  GDALDriver* found = GetGDALDriverManager()->GetDriverByName("GPKG");
  if (found == nullptr) fail("GDAL has no GeoPackage");
  return *found;
}

std::string new_path() {
  static std::atomic<int> count = 0;
  return "/vsimem/moundwright-" + std::to_string(count++) + ".gpkg";
}

void make_field(OGRLayer& layer, const std::string& name, GeoField field) {
  const auto type = field == GeoField::text ? OFTString : field == GeoField::real ? OFTReal : OFTInteger;
  OGRFieldDefn definition(name.c_str(), type);
  if (field == GeoField::yes_or_no) definition.SetSubType(OFSTBoolean);
  if (layer.CreateField(&definition) != OGRERR_NONE) fail(name);
}

OGRwkbGeometryType type_of(const GeoLayer& layer) {
  const auto flat = layer.shape == GeoShape::point  ? wkbPoint
                    : layer.shape == GeoShape::line ? wkbLineString
                                                    : wkbPolygon;
  return layer.has_elevations ? OGR_GT_SetZ(flat) : flat;
}

void add_points(OGRSimpleCurve& curve, const std::vector<Point3>& places, bool has_elevations) {
  for (const Point3& p : places) {
    has_elevations ? curve.addPoint(p.x(), p.y(), p.z()) : curve.addPoint(p.x(), p.y());
  }
}

std::unique_ptr<OGRGeometry> geometry_of(const GeoLayer& layer, const GeoPlaces& places) {
  if (layer.shape == GeoShape::point) {
    const Point3& p = places.front().front();
    return layer.has_elevations ? std::make_unique<OGRPoint>(p.x(), p.y(), p.z())
                                : std::make_unique<OGRPoint>(p.x(), p.y());
  }
  if (layer.shape == GeoShape::line) {
    auto line = std::make_unique<OGRLineString>();
    add_points(*line, places.front(), layer.has_elevations);
    return line;
  }
  auto polygon = std::make_unique<OGRPolygon>();
  for (const std::vector<Point3>& places_of_ring : places) {
    auto ring = std::make_unique<OGRLinearRing>();
    add_points(*ring, places_of_ring, layer.has_elevations);
    polygon->addRingDirectly(ring.release());
  }
  return polygon;
}

}  // namespace

GeoPackageFile::GeoPackageFile(OGRSpatialReference system, const std::string& changed)
    : system_(std::move(system)), path_(new_path()) {
  CPLSetThreadLocalConfigOption(date_setting, changed.c_str());
  data_.reset(driver().Create(path_.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
  if (!data_ || data_->StartTransaction() != OGRERR_NONE) fail("it cannot be made");
}

GeoPackageFile::~GeoPackageFile() {
  data_.reset();
  VSIUnlink(path_.c_str());
  CPLSetThreadLocalConfigOption(date_setting, nullptr);
}

OGRLayer& GeoPackageFile::layer_of(const GeoLayer& layer) {
  OGRLayer*& known = layers_[layer.name];
  if (known != nullptr) return *known;
  CPLStringList options;
  options.SetNameValue("GEOMETRY_NAME", geometry_column);
  options.SetNameValue("DESCRIPTION", layer.description.c_str());
  options.SetNameValue("SPATIAL_INDEX", "NO");
  known = data_->CreateLayer(layer.name.c_str(), &system_, type_of(layer), options.List());
  if (known == nullptr) fail(layer.name);
  for (const auto& [name, field] : layer.fields) make_field(*known, name, field);
  return *known;
}

void GeoPackageFile::add(const GeoLayer& layer, const GeoPlaces& places, const std::vector<GeoValue>& values) {
  OGRLayer& made = layer_of(layer);
  OGRFeature feature(made.GetLayerDefn());
  int i = 0;
  for (const GeoValue& value : values) {
    if (const auto* text = std::get_if<std::string>(&value)) feature.SetField(i, text->c_str());
    if (const auto* number = std::get_if<double>(&value)) feature.SetField(i, *number);
    if (const auto* whole = std::get_if<int>(&value)) feature.SetField(i, *whole);
    ++i;
  }
  feature.SetGeometryDirectly(geometry_of(layer, places).release());
  if (made.CreateFeature(&feature) != OGRERR_NONE) fail(layer.name);
}

std::string GeoPackageFile::bytes() {
  for (const auto& [name, layer] : layers_) {
    if (layer->GetFeatureCount() < index_from) continue;
    const std::string sql = "SELECT CreateSpatialIndex('" + name + "', '" + geometry_column + "')";
    data_->ReleaseResultSet(data_->ExecuteSQL(sql.c_str(), nullptr, nullptr));
  }
  if (data_->CommitTransaction() != OGRERR_NONE) fail("it cannot be finished");
  data_.reset();
  vsi_l_offset size = 0;
  const std::unique_ptr<GByte, void (*)(void*)> content(VSIGetMemFileBuffer(path_.c_str(), &size, TRUE), VSIFree);
  if (!content) fail("it is not there");
  return {reinterpret_cast<const char*>(content.get()), size};
}

}  // namespace moundwright::io

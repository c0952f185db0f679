#include "io/site_gpkg.h"

#include <cpl_conv.h>
#include <cpl_error.h>
#include <cpl_vsi.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <atomic>
#include <initializer_list>
#include <memory>
#include <mutex>
#include <set>
#include <variant>

#include "geom/level_lines.h"
#include "geom/toe.h"
#include "io/ascii.h"
#include "io/crs.h"
#include "io/fixed_date.h"
#include "io/known_marks.h"

namespace moundwright {
namespace {

constexpr std::size_t index_from = 1000;  // features; an index on fewer only makes the file large

[[noreturn]] void fail(const std::string& what) {
  throw Refusal(
      {Severity::error, fmt::format("site.gpkg cannot be written: {}: {}", what, CPLGetLastErrorMsg()), {}, {}});
}

GDALDriver& driver() {
  static std::once_flag once;
  std::call_once(once, RegisterOGRGeoPackage);  // this one only: all of GDAL's take a while
  GDALDriver* found = GetGDALDriverManager()->GetDriverByName("GPKG");
  if (found == nullptr) fail("GDAL has no GeoPackage");
  return *found;
}

/// A setting of GDAL on this thread for a while.
class Setting {
 public:
  Setting(const char* key, const std::string& value) : key_(key) { CPLSetThreadLocalConfigOption(key, value.c_str()); }
  ~Setting() { CPLSetThreadLocalConfigOption(key_, nullptr); }
  Setting(const Setting&) = delete;
  Setting& operator=(const Setting&) = delete;

 private:
  const char* key_;
};

struct Field {
  const char* name;
  OGRFieldType type;
  OGRFieldSubType subtype = OFSTNone;
};

using Value = std::variant<std::monostate, std::string, double, int>;

template <class T>
Value if_any(const std::optional<T>& value) {
  return value ? Value(*value) : Value();
}

/// Printed lengths, so that every file of the packet says the same.
double rounded(double value, int decimals) { return std::stod(fixed_text(value, decimals)); }

/// One layer: made when its first feature comes, so that none is empty.
class FeatureLayer {
 public:
  FeatureLayer(GDALDataset& data, OGRSpatialReference& system, const char* name, const char* description,
               OGRwkbGeometryType type, std::initializer_list<Field> fields, std::size_t about = 0)
      : data_(data),
        system_(system),
        name_(name),
        description_(description),
        type_(type),
        fields_(fields),
        about_(about) {}

  void add(const OGRGeometry& geometry, std::initializer_list<Value> values) {
    if (layer_ == nullptr) make();
    OGRFeature feature(layer_->GetLayerDefn());
    int i = 0;
    for (const Value& value : values) {
      if (const auto* text = std::get_if<std::string>(&value)) feature.SetField(i, text->c_str());
      if (const auto* number = std::get_if<double>(&value)) feature.SetField(i, *number);
      if (const auto* whole = std::get_if<int>(&value)) feature.SetField(i, *whole);
      ++i;
    }
    feature.SetGeometry(&geometry);
    if (layer_->CreateFeature(&feature) != OGRERR_NONE) fail(name_);
  }

 private:
  GDALDataset& data_;
  OGRSpatialReference& system_;
  const char* name_;
  const char* description_;
  OGRwkbGeometryType type_;
  std::vector<Field> fields_;
  std::size_t about_;  // how many features there will be
  OGRLayer* layer_ = nullptr;

  void make() {
    CPLStringList options;
    options.SetNameValue("GEOMETRY_NAME", "geom");
    options.SetNameValue("DESCRIPTION", description_);
    options.SetNameValue("SPATIAL_INDEX", about_ >= index_from ? "YES" : "NO");
    layer_ = data_.CreateLayer(name_, &system_, type_, options.List());
    if (layer_ == nullptr) fail(name_);
    for (const Field& field : fields_) {
      OGRFieldDefn definition(field.name, field.type);
      definition.SetSubType(field.subtype);
      if (layer_->CreateField(&definition) != OGRERR_NONE) fail(field.name);
    }
  }
};

class Writer {
 public:
  Writer(const SiteResults& results, GDALDataset& data, OGRSpatialReference& system)
      : r_(results), data_(data), system_(system) {}

  void run() {
    add_shots();
    add_breaklines();
    add_contours("existing_contours", "Contours of the ground as surveyed", contours(r_.ground, interval()));
    add_toe();
    add_contours("finished_contours", "Contours of the finished mound, inside its toe",
                 finished_contours(r_.ground, r_.plan, r_.buildup, interval()));
    add_layer_outlines();
    add_bed();
    add_stakes();
    add_marks();
    add_borings();
    add_keep_clear();
  }

 private:
  const SiteResults& r_;
  GDALDataset& data_;
  OGRSpatialReference& system_;

  double interval() const { return gpkg_contour_interval(r_.job.site.unit); }
  int decimals() const { return length_decimals(r_.job.site.unit); }

  Value length(const std::optional<double>& value) const {
    return value ? Value(rounded(*value, decimals())) : Value();
  }

  static OGRLineString line_of(const std::vector<Point2>& places, std::optional<double> elevation) {
    OGRLineString line;
    for (const Point2& p : places) elevation ? line.addPoint(p.x(), p.y(), *elevation) : line.addPoint(p.x(), p.y());
    return line;
  }

  std::vector<Point2> to_world(const std::vector<Point2>& reduced) const {
    std::vector<Point2> places;
    for (const Point2& p : reduced) places.push_back(r_.ground.to_world(p));
    return places;
  }

  /// A closed ring; `places` may repeat the first at the end.
  static std::unique_ptr<OGRLinearRing> ring_of(const std::vector<Point2>& places) {
    auto ring = std::make_unique<OGRLinearRing>();
    for (const Point2& p : places) ring->addPoint(p.x(), p.y());
    ring->closeRings();
    return ring;
  }

  static OGRPolygon polygon_of(const std::vector<Point2>& places) {
    OGRPolygon polygon;
    polygon.addRingDirectly(ring_of(places).release());
    return polygon;
  }

  // ---- the lot ----

  void add_shots() {
    FeatureLayer layer(data_, system_, "shots", "The survey, ground or not", wkbPoint25D,
                       {{"point", OFTString},
                        {"description", OFTString},
                        {"elevation", OFTReal},
                        {"is_ground", OFTInteger, OFSTBoolean}},
                       r_.survey.all.size());
    std::set<std::pair<std::string, int>> ground;
    for (const Shot& shot : r_.survey.ground_shots) ground.emplace(shot.point, shot.line);
    for (const Shot& shot : r_.survey.all) {
      const OGRPoint place(shot.easting, shot.northing, shot.elevation);
      layer.add(place, {shot.point, shot.description, shot.elevation, int{ground.contains({shot.point, shot.line})}});
    }
  }

  void add_breaklines() {
    FeatureLayer layer(data_, system_, "breaklines", "Lines that the triangles keep", wkbLineString25D,
                       {{"code", OFTString}});
    for (const Breakline& shots : r_.survey.breaklines) {
      if (shots.size() < 2) continue;
      OGRLineString line;
      for (const std::size_t i : shots) {
        const Shot& shot = r_.survey.ground_shots[i];
        line.addPoint(shot.easting, shot.northing, shot.elevation);
      }
      std::string_view description = r_.survey.ground_shots[shots.front()].description;
      layer.add(line, {std::string(take_word(description))});
    }
  }

  void add_contours(const char* name, const char* description, const std::vector<Contour>& all) {
    std::size_t count = 0;
    for (const Contour& contour : all) count += contour.lines.size();
    FeatureLayer layer(data_, system_, name, description, wkbLineString25D, {{"elevation", OFTReal}}, count);
    for (const Contour& contour : all) {
      for (const Polyline2& line : contour.lines) {
        layer.add(line_of(to_world(line), contour.elevation), {contour.elevation});
      }
    }
  }

  // ---- the mound ----

  void add_toe() {
    FeatureLayer layer(data_, system_, "toe", "Where the finished mound meets existing ground", wkbPolygon,
                       {{"plan_area", OFTReal}, {"perimeter", OFTReal}});
    for (const Polygon2& outer : r_.buildup.toe.outer) {
      OGRPolygon polygon = polygon_of(to_world(outer));
      for (const Polygon2& hole : r_.buildup.toe.holes) {
        const OGRPolygon inside = polygon_of(to_world(hole));
        if (inside.Within(&polygon)) polygon.addRingDirectly(ring_of(to_world(hole)).release());
      }
      double perimeter = 0;
      for (const OGRLinearRing* ring : polygon) perimeter += ring->get_Length();
      layer.add(polygon, {rounded(polygon.get_Area(), 1), rounded(perimeter, decimals())});
    }
  }

  void add_layer_outlines() {
    FeatureLayer layer(data_, system_, "layer_outlines",
                       "Where each layer stands at its full height: the edge of its flat top", wkbPolygon,
                       {{"layer", OFTString},
                        {"material", OFTString},
                        {"place_in_order", OFTInteger},
                        {"top_elevation", OFTReal},
                        {"volume_cy", OFTReal}});
    for (std::size_t k = 0; k < r_.buildup.layers.size(); ++k) {
      const TakeoffItem& item = r_.takeoff.fill[k];
      const double top = r_.buildup.bottom_elevation + r_.plan.design.layers[k].top;
      for (const Polyline2& line : flat_top_outline(r_.ground, r_.plan, k)) {
        if (line.size() < 4 || line.front() != line.back()) continue;
        layer.add(polygon_of(to_world(line)), {item.name, item.material, static_cast<int>(k + 1),
                                               rounded(top, decimals()), rounded(item.volume_cy, 2)});
      }
    }
  }

  void add_bed() {
    FeatureLayer layer(data_, system_, "bed", "The bed, one area for each straight piece", wkbPolygon,
                       {{"piece", OFTInteger}, {"bottom_elevation", OFTReal}});
    int piece = 0;
    for (const Polygon2& outline : bed_on_ground(r_.ground, r_.plan)) {
      layer.add(polygon_of(to_world(outline)), {++piece, rounded(r_.buildup.bottom_elevation, decimals())});
    }
  }

  void add_stakes() {
    FeatureLayer layer(data_, system_, "stakes", "Hubs and stakes; design is the elevation of the grade that is named",
                       wkbPoint,
                       {{"number", OFTInteger},
                        {"kind", OFTString},
                        {"description", OFTString},
                        {"station", OFTString},
                        {"offset", OFTString},
                        {"design", OFTReal},
                        {"ground_approx", OFTReal},
                        {"cut_fill", OFTString},
                        {"to_shoulder", OFTReal},
                        {"slope", OFTString},
                        {"walk_order", OFTInteger}});
    for (const Stake& stake : r_.stakes.stakes) {
      const OGRPoint place(rounded(stake.easting, 3), rounded(stake.northing, 3));
      layer.add(place, {stake.number, std::string(to_text(stake.kind)), stake.what, stake.station, stake.offset,
                        length(stake.design), length(stake.ground),
                        stake.cut_fill.empty() ? Value() : Value(stake.cut_fill), length(stake.to_shoulder),
                        stake.slope_run ? Value(slope_text(*stake.slope_run)) : Value(), stake.walk_order});
    }
  }

  void add_marks() {
    FeatureLayer layer(data_, system_, "marks", "Bench marks, and marks to tape from", wkbPoint,
                       {{"name", OFTString}, {"kind", OFTString}, {"elevation", OFTReal}});
    for (const auto& [mark, is_benchmark] : known_marks(r_.job.site)) {
      layer.add(OGRPoint(mark.at.x(), mark.at.y()),
                {mark.name, std::string(is_benchmark ? "bench mark" : "tie mark"), if_any(mark.elevation)});
    }
  }

  // ---- what the plan asks ----

  void add_borings() {
    FeatureLayer layer(data_, system_, "borings", "Depth to the limiting soil layer; ground is from the TIN", wkbPoint,
                       {{"name", OFTString},
                        {"limiting_depth", OFTReal},
                        {"ground_approx", OFTReal},
                        {"limiting_elevation", OFTReal}});
    for (const Boring& boring : r_.job.site.mound.requirements.borings) {
      const std::optional<double> ground = elevation_at(r_.ground, r_.ground.to_local(boring.at));
      const std::optional<double> limit = ground ? std::optional(*ground - boring.limiting_depth) : std::nullopt;
      layer.add(OGRPoint(boring.at.x(), boring.at.y()),
                {boring.name, boring.limiting_depth, length(ground), length(limit)});
    }
  }

  void add_keep_clear() {
    const std::initializer_list<Field> fields = {{"name", OFTString}, {"from_bed", OFTReal}, {"from_toe", OFTReal}};
    const char* description = "What the mound keeps away from; from_bed and from_toe are the least distances asked";
    FeatureLayer points(data_, system_, "keep_clear_points", description, wkbPoint, fields);
    FeatureLayer lines(data_, system_, "keep_clear_lines", description, wkbLineString, fields);
    FeatureLayer areas(data_, system_, "keep_clear_areas", description, wkbPolygon, fields);
    for (const KeepClear& feature : r_.job.site.mound.requirements.keep_clear) {
      const std::initializer_list<Value> values = {feature.name, if_any(feature.from_bed), if_any(feature.from_toe)};
      if (feature.line.size() == 1) {
        points.add(OGRPoint(feature.line.front().x(), feature.line.front().y()), values);
      } else if (feature.closed && feature.line.size() > 2) {
        areas.add(polygon_of(feature.line), values);
      } else {
        lines.add(line_of(feature.line, std::nullopt), values);
      }
    }
  }
};

/// The bytes of a file in memory, which goes away.
std::string take_bytes(const std::string& path) {
  vsi_l_offset size = 0;
  const std::unique_ptr<GByte, void (*)(void*)> bytes(VSIGetMemFileBuffer(path.c_str(), &size, TRUE), VSIFree);
  if (!bytes) fail("it is not there");
  return {reinterpret_cast<const char*>(bytes.get()), size};
}

}  // namespace

double gpkg_contour_interval(LengthUnit unit) { return unit == LengthUnit::metre ? 0.25 : 1.0; }

std::string site_gpkg(const SiteResults& results) {
  static std::atomic<int> count = 0;
  const std::string path = fmt::format("/vsimem/moundwright-{}.gpkg", count++);
  const Setting date("OGR_CURRENT_DATE", fmt::format("{}T{}.000Z", fixed_date, fixed_time));
  const LengthUnit unit = results.job.site.unit;
  OGRSpatialReference system = results.job.crs ? crs_named(*results.job.crs, unit) : local_crs(unit);
  std::unique_ptr<GDALDataset> data(driver().Create(path.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
  if (!data || data->StartTransaction() != OGRERR_NONE) fail("it cannot be made");
  Writer(results, *data, system).run();
  if (data->CommitTransaction() != OGRERR_NONE) fail("it cannot be finished");
  data.reset();
  return take_bytes(path);
}

}  // namespace moundwright

#include "io/site_gpkg.h"

#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <set>

#include "geom/contour_interval.h"
#include "geom/level_lines.h"
#include "geom/plan.h"
#include "geom/toe.h"
#include "geom/trade_text.h"
#include "io/fixed_date.h"
#include "io/gdal.h"
#include "io/known_marks.h"

namespace moundwright::io {
namespace {

template <class T>
GeoValue if_any(const std::optional<T>& value) {
  return value ? GeoValue(*value) : GeoValue();
}

/// Printed lengths, so that every file of the packet says the same.
double rounded(double value, int decimals) { return std::stod(fixed_text(value, decimals)); }

/// Elevations only for layers that have them.
std::vector<Point3> places_of(const std::vector<Point2>& places, double elevation = 0) {
  std::vector<Point3> result;
  for (const Point2& p : places) result.emplace_back(p.x(), p.y(), elevation);
  return result;
}

/// `places` may repeat the first at the end.
std::vector<Point3> ring_of(std::vector<Point2> places) {
  if (places.front() != places.back()) places.push_back(places.front());
  return places_of(places);
}

double perimeter_of(const Polygon2& ring) {
  double sum = 0;
  for (std::size_t i = 0; i < ring.size(); ++i) sum += (ring[(i + 1) % ring.size()] - ring[i]).norm();
  return sum;
}

/// True where most corners of `hole` lie inside; some may touch.
bool holds(const Polygon2& outer, const Polygon2& hole) {
  ToeLine alone;
  alone.outer.push_back(outer);
  const auto inside = std::count_if(hole.begin(), hole.end(), [&](const Point2& p) { return encloses(alone, p); });
  return 2 * static_cast<std::size_t>(inside) > hole.size();
}

class Writer {
 public:
  Writer(const SiteResults& results, GeoPackage& file) : r_(results), file_(file) {}

  void run() {
    add_shots();
    add_breaklines();
    add_assumed_ground();
    add_contours("existing_contours",
                 r_.ground().extended > 0 ? "Contours of the ground, surveyed and assumed"
                                          : "Contours of the ground as surveyed",
                 contours(r_.ground(), interval()));
    add_toe();
    add_contours("finished_contours", "Contours of the finished mound, inside its toe",
                 finished_contours(r_.mound(), interval()));
    add_layer_outlines();
    add_bed();
    add_stakes();
    add_marks();
    add_borings();
    add_keep_clear();
  }

 private:
  const SiteResults& r_;
  GeoPackage& file_;

  double interval() const { return drawable_interval(r_.ground(), gpkg_contour_interval(r_.job.site.unit)); }
  int decimals() const { return length_decimals(r_.job.site.unit); }

  GeoValue length(const std::optional<double>& value) const {
    return value ? GeoValue(rounded(*value, decimals())) : GeoValue();
  }

  std::vector<Point2> to_world(const std::vector<Point2>& reduced) const {
    std::vector<Point2> places;
    for (const Point2& p : reduced) places.push_back(r_.ground().to_world(p));
    return places;
  }

  // ---- the lot ----

  void add_shots() {
    const GeoLayer layer{"shots",
                         "The survey, ground or not",
                         GeoShape::point,
                         true,
                         {{"point", GeoField::text},
                          {"description", GeoField::text},
                          {"elevation", GeoField::real},
                          {"is_ground", GeoField::yes_or_no}}};
    std::set<std::pair<std::string, int>> ground;
    for (const Shot& shot : r_.survey.ground_shots) ground.emplace(shot.point, shot.line);
    for (const Shot& shot : r_.survey.all) {
      const GeoPlaces place{{{shot.easting, shot.northing, shot.elevation}}};
      file_.add(layer, place,
                {shot.point, shot.description, shot.elevation, int{ground.contains({shot.point, shot.line})}});
    }
  }

  void add_breaklines() {
    const GeoLayer layer{
        "breaklines", "Lines that the triangles keep", GeoShape::line, true, {{"code", GeoField::text}}};
    for (std::size_t k = 0; k < r_.survey.breaklines.size(); ++k) {
      std::vector<Point3> line;
      for (const std::size_t i : r_.survey.breaklines[k]) {
        const Shot& shot = r_.survey.ground_shots[i];
        line.emplace_back(shot.easting, shot.northing, shot.elevation);
      }
      file_.add(layer, {line}, {to_text(r_.survey.line_names[k])});
    }
  }

  void add_assumed_ground() {
    const GeoLayer layer{"assumed_ground",
                         "Ground that was not surveyed: carried on past the survey",
                         GeoShape::polygon,
                         true,
                         {{"carried_on", GeoField::real}}};
    for (const auto& triangle : assumed_triangles(r_.ground())) {
      std::vector<Point3> ring;
      for (const std::size_t i : {0, 1, 2, 0}) {
        const Point2 at = r_.ground().to_world(triangle[i].head<2>());
        ring.emplace_back(at.x(), at.y(), triangle[i].z());
      }
      file_.add(layer, {ring}, {r_.ground().extended});
    }
  }

  void add_contours(const char* name, const char* description, const std::vector<Contour>& all) {
    const GeoLayer layer{name, description, GeoShape::line, true, {{"elevation", GeoField::real}}};
    for (const Contour& contour : all) {
      for (const Polyline2& line : contour.lines) {
        file_.add(layer, {places_of(to_world(line), contour.elevation)}, {contour.elevation});
      }
    }
  }

  // ---- the mound ----

  void add_toe() {
    const GeoLayer layer{"toe",
                         "Where the finished mound meets existing ground",
                         GeoShape::polygon,
                         false,
                         {{"plan_area", GeoField::real}, {"perimeter", GeoField::real}}};
    for (const Polygon2& outer : r_.mound().buildup.toe.outer) {
      GeoPlaces rings{ring_of(to_world(outer))};
      double area = std::abs(plan_area(outer)), perimeter = perimeter_of(outer);
      for (const Polygon2& hole : r_.mound().buildup.toe.holes) {
        if (!holds(outer, hole)) continue;
        rings.push_back(ring_of(to_world(hole)));
        area -= std::abs(plan_area(hole)), perimeter += perimeter_of(hole);
      }
      file_.add(layer, rings, {rounded(area, 1), rounded(perimeter, decimals())});
    }
  }

  void add_layer_outlines() {
    const GeoLayer layer{"layer_outlines",
                         "Where each layer stands at its full height: the edge of its flat top",
                         GeoShape::polygon,
                         false,
                         {{"layer", GeoField::text},
                          {"material", GeoField::text},
                          {"place_in_order", GeoField::whole},
                          {"top_elevation", GeoField::real},
                          {"volume_cy", GeoField::real}}};
    for (std::size_t k = 0; k < r_.mound().buildup.layers.size(); ++k) {
      const TakeoffItem& item = r_.found().takeoff.fill[k];
      const double top = r_.mound().buildup.bottom_elevation + r_.mound().design().layers[k].top;
      for (const Polyline2& line : flat_top_outline(r_.mound(), k)) {
        if (line.size() < 4 || line.front() != line.back()) continue;
        file_.add(
            layer, {ring_of(to_world(line))},
            {item.name, item.material, static_cast<int>(k + 1), rounded(top, decimals()), rounded(item.volume_cy, 2)});
      }
    }
  }

  void add_bed() {
    const GeoLayer layer{"bed",
                         "The bed, one area for each straight piece",
                         GeoShape::polygon,
                         false,
                         {{"piece", GeoField::whole}, {"bottom_elevation", GeoField::real}}};
    int piece = 0;
    for (const Polygon2& outline : bed_on_ground(r_.mound())) {
      file_.add(layer, {ring_of(to_world(outline))},
                {++piece, rounded(r_.mound().buildup.bottom_elevation, decimals())});
    }
  }

  void add_stakes() {
    const GeoLayer layer{"stakes",
                         "Hubs and stakes; design is the elevation of the grade that is named",
                         GeoShape::point,
                         false,
                         {{"number", GeoField::whole},
                          {"kind", GeoField::text},
                          {"description", GeoField::text},
                          {"station", GeoField::text},
                          {"offset", GeoField::text},
                          {"design", GeoField::real},
                          {"ground_approx", GeoField::real},
                          {"cut_fill", GeoField::text},
                          {"to_shoulder", GeoField::real},
                          {"slope", GeoField::text},
                          {"walk_order", GeoField::whole}}};
    for (const Stake& stake : r_.found().stakes.stakes) {
      const GeoPlaces place{{{rounded(stake.easting, 3), rounded(stake.northing, 3), 0}}};
      file_.add(layer, place,
                {stake.number, std::string(to_text(stake.kind)), stake.what, stake.station, stake.offset,
                 length(stake.design), length(stake.ground),
                 stake.cut_fill.empty() ? GeoValue() : GeoValue(stake.cut_fill), length(stake.to_shoulder),
                 stake.slope_run ? GeoValue(slope_text(*stake.slope_run)) : GeoValue(), stake.walk_order});
    }
  }

  void add_marks() {
    const GeoLayer layer{"marks",
                         "Bench marks, and marks to tape from",
                         GeoShape::point,
                         false,
                         {{"name", GeoField::text}, {"kind", GeoField::text}, {"elevation", GeoField::real}}};
    for (const auto& [mark, is_benchmark] : known_marks(r_.job.site.lot)) {
      file_.add(layer, {places_of({mark.at})},
                {mark.name, std::string(is_benchmark ? "bench mark" : "tie mark"), if_any(mark.elevation)});
    }
  }

  // ---- what the plan asks ----

  void add_borings() {
    const GeoLayer layer{"borings",
                         "Depth to the limiting soil layer; ground is from the TIN",
                         GeoShape::point,
                         false,
                         {{"name", GeoField::text},
                          {"limiting_depth", GeoField::real},
                          {"ground_approx", GeoField::real},
                          {"limiting_elevation", GeoField::real}}};
    for (const Boring& boring : r_.job.site.lot.requirements.borings) {
      const std::optional<double> ground = elevation_at(r_.ground(), r_.ground().to_local(boring.at));
      const std::optional<double> limit =
          ground ? std::optional(printed_difference(*ground, boring.limiting_depth, decimals())) : std::nullopt;
      file_.add(layer, {places_of({boring.at})}, {boring.name, boring.limiting_depth, length(ground), length(limit)});
    }
  }

  void add_keep_clear() {
    const std::vector<std::pair<std::string, GeoField>> fields = {
        {"name", GeoField::text}, {"from_bed", GeoField::real}, {"from_toe", GeoField::real}};
    const char* description = "What the mound keeps away from; from_bed and from_toe are the least distances asked";
    const GeoLayer points{"keep_clear_points", description, GeoShape::point, false, fields};
    const GeoLayer lines{"keep_clear_lines", description, GeoShape::line, false, fields};
    const GeoLayer areas{"keep_clear_areas", description, GeoShape::polygon, false, fields};
    for (const KeepClear& feature : r_.job.site.lot.requirements.keep_clear) {
      const std::vector<GeoValue> values = {feature.name, if_any(feature.from_bed), if_any(feature.from_toe)};
      if (feature.line.size() > 2 && feature.closed) {
        file_.add(areas, {ring_of(feature.line)}, values);
      } else {
        file_.add(feature.line.size() == 1 ? points : lines, {places_of(feature.line)}, values);
      }
    }
  }
};

}  // namespace

double gpkg_contour_interval(LengthUnit unit) { return unit == LengthUnit::metre ? 0.25 : 1.0; }

std::string site_gpkg(const SiteResults& results) {
  const std::string changed = fmt::format("{}T{}.000Z", fixed_date, fixed_time);
  try {
    const std::unique_ptr<GeoPackage> file = gdal().new_geopackage(results.job.crs, results.job.site.unit, changed);
    Writer(results, *file).run();
    return file->bytes();
  } catch (const Refusal&) {
    throw;
  } catch (const std::runtime_error& error) {
    throw Refusal({Severity::error, fmt::format("site.gpkg cannot be written: {}", error.what()), {}, {}});
  }
}

}  // namespace moundwright::io

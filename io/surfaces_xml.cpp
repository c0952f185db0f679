#include "io/surfaces_xml.h"

#include <fmt/compile.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <map>
#include <pugixml.hpp>
#include <string_view>
#include <utility>

#include "geom/surfaces.h"
#include "io/fixed_date.h"
#include "io/known_marks.h"

namespace moundwright::io {
namespace {

constexpr std::int64_t per_unit = 1'000'000;
constexpr double grid = per_unit;  // of a coordinate that is written

/// As few digits as say it, to a millionth: "5120.5".
std::string number(double value) {
  const std::int64_t millionths = std::llround(value * grid), size = std::abs(millionths);
  std::string text = millionths < 0 ? "-" : "";
  const auto add = std::back_inserter(text);
  fmt::format_to(add, FMT_COMPILE("{}"), size / per_unit);
  if (size % per_unit == 0) return text;
  fmt::format_to(add, FMT_COMPILE(".{:06}"), size % per_unit);
  text.erase(text.find_last_not_of('0') + 1);
  return text;
}

class Writer {
 public:
  explicit Writer(const SiteResults& results) : results_(results) {}

  std::string run() {
    pugi::xml_node declaration = document_.append_child(pugi::node_declaration);
    declaration.append_attribute("version") = "1.0";
    declaration.append_attribute("encoding") = "UTF-8";
    root_ = document_.append_child("LandXML");
    root_.append_attribute("xmlns") = "http://www.landxml.org/schema/LandXML-1.2";
    root_.append_attribute("xmlns:xsi") = "http://www.w3.org/2001/XMLSchema-instance";
    root_.append_attribute("xsi:schemaLocation") =
        "http://www.landxml.org/schema/LandXML-1.2 http://www.landxml.org/schema/LandXML-1.2/LandXML-1.2.xsd";
    root_.append_attribute("version") = "1.2";
    root_.append_attribute("date") = fixed_date;
    root_.append_attribute("time") = fixed_time;
    root_.append_attribute("language") = "English";
    root_.append_attribute("readOnly") = "false";
    add_head();
    add_points();
    add_surfaces();
    struct : pugi::xml_writer {
      std::string text;
      void write(const void* data, std::size_t size) override { text.append(static_cast<const char*>(data), size); }
    } out;
    document_.save(out, " ", pugi::format_default, pugi::encoding_utf8);
    return with_tins(out.text);
  }

 private:
  const SiteResults& results_;
  pugi::xml_document document_;
  pugi::xml_node root_;
  std::vector<Tin> tins_;  // each goes where the document has a line of its own for it

  void add_head() {
    add_units();
    pugi::xml_node project = root_.append_child("Project");
    project.append_attribute("name") = results_.job.site.title.c_str();
    pugi::xml_node application = root_.append_child("Application");
    application.append_attribute("name") = "Moundwright";
    application.append_attribute("desc") = fixed_date_note;
  }

  void add_units() {
    const LengthUnit unit = results_.job.site.unit;
    const bool metric = unit == LengthUnit::metre;
    pugi::xml_node units = root_.append_child("Units").append_child(metric ? "Metric" : "Imperial");
    units.append_attribute("areaUnit") = metric ? "squareMeter" : "squareFoot";
    units.append_attribute("linearUnit") = metric                               ? "meter"
                                           : unit == LengthUnit::us_survey_foot ? "USSurveyFoot"
                                                                                : "foot";
    units.append_attribute("volumeUnit") = metric ? "cubicMeter" : "cubicFeet";
    units.append_attribute("temperatureUnit") = metric ? "celsius" : "fahrenheit";
    units.append_attribute("pressureUnit") = metric ? "milliBars" : "inchHG";
    units.append_attribute("elevationUnit") = metric ? "meter" : "feet";
  }

  static std::string place(double northing, double easting, double elevation) {
    return number(northing) + ' ' + number(easting) + ' ' + number(elevation);
  }

  pugi::xml_node add_group(const char* name, const char* desc) {
    pugi::xml_node group = root_.append_child("CgPoints");
    group.append_attribute("desc") = desc;
    group.append_attribute("name") = name;
    return group;
  }

  static void add_point(pugi::xml_node& group, const std::string& name, const std::string& desc, const char* code,
                        const std::string& place) {
    pugi::xml_node point = group.append_child("CgPoint");
    point.append_attribute("name") = name.c_str();
    point.append_attribute("desc") = desc.c_str();
    point.append_attribute("code") = code;
    point.text() = place.c_str();
  }

  /// As in every other file of the packet that holds a stake.
  std::string printed_place(double northing, double easting, const std::optional<double>& elevation) const {
    std::string text = fixed_text(northing, 3) + ' ' + fixed_text(easting, 3);
    if (elevation) text += ' ' + fixed_text(*elevation, length_decimals(results_.job.site.unit));
    return text;
  }

  void add_points() {
    pugi::xml_node stakes = add_group("stakes", "An elevation is the design grade that the description names.");
    stakes.append_attribute("state") = "proposed";
    for (const Stake& stake : results_.found().stakes.stakes) {
      add_point(stakes, fmt::format("{}", stake.number),
                fmt::format("{}; station {}, offset {}", stake.what, stake.station, stake.offset), to_text(stake.kind),
                printed_place(stake.northing, stake.easting, stake.design));
    }
    const std::vector<KnownMark> known = known_marks(results_.job.site.lot);
    if (known.empty()) return;
    pugi::xml_node marks = add_group("marks", "Bench marks, and marks to tape from.");
    marks.append_attribute("state") = "existing";
    std::map<std::string, int> named;  // names must differ
    const auto add = [&](const Mark& mark, const char* code) {
      const int count = ++named[mark.name];
      add_point(marks, count == 1 ? mark.name : fmt::format("{} ({})", mark.name, count), code, code,
                printed_place(mark.at.y(), mark.at.x(), mark.elevation));
    };
    for (const KnownMark& each : known) add(each.mark, each.is_benchmark ? "bench mark" : "tie mark");
  }

  void add_surfaces() {
    MoundSurfaces surfaces = mound_surfaces(results_.mound());
    pugi::xml_node all = root_.append_child("Surfaces");
    const bool assumed = !results_.ground().assumed.empty();
    pugi::xml_node existing =
        add_surface(all, "existing ground",
                    assumed ? fmt::format("As surveyed, and carried on {:g} past the survey: see assumed ground.",
                                          results_.ground().extended)
                            : "As surveyed.",
                    "existing");
    add_source(existing);
    add_tin(existing, ground_tin(results_.ground()));
    if (assumed) {
      pugi::xml_node strip =
          add_surface(all, "assumed ground",
                      "The part of existing ground that was not surveyed, but carried on past it.", "existing");
      add_tin(strip, assumed_tin());
    }
    const std::string inside = fmt::format(
        "Inside the toe. Vertical faces lean outward {:g} to 1, since a TIN cannot stand upright.", face_lean);
    const auto add = [&](const std::string& name, const std::string& desc, Tin tin) {
      pugi::xml_node surface = add_surface(all, name, desc, "proposed");
      add_tin(surface, std::move(tin));
    };
    if (!surfaces.prepared.triangles.empty()) {
      add("prepared ground", inside, std::move(surfaces.prepared));
      for (std::size_t k = 0; k < surfaces.after_layers.size(); ++k) {
        const LayerResult& layer = results_.mound().buildup.layers[k];
        add("top of " + layer.name, fmt::format("When {} ({}) is in place. {}", layer.name, layer.material, inside),
            std::move(surfaces.after_layers[k]));
      }
    }
    add("finished lot",
        assumed ? "The ground, surveyed and assumed, with the mound on it."
                : "The ground with the mound on it, as far as the survey goes.",
        std::move(surfaces.finished_lot));
  }

  Tin assumed_tin() const {
    Tin tin;
    for (const auto& triangle : assumed_triangles(results_.ground())) {
      const auto first = static_cast<std::uint32_t>(tin.points.size());
      tin.points.insert(tin.points.end(), triangle.begin(), triangle.end());
      tin.triangles.push_back({first, first + 1, first + 2});
    }
    return tin;
  }

  static pugi::xml_node add_surface(pugi::xml_node& all, const std::string& name, const std::string& desc,
                                    const char* state) {
    pugi::xml_node surface = all.append_child("Surface");
    surface.append_attribute("name") = name.c_str();
    surface.append_attribute("desc") = desc.c_str();
    surface.append_attribute("state") = state;
    return surface;
  }

  // ---- what the ground was made of ----

  void add_source(pugi::xml_node& surface) {
    pugi::xml_node source = surface.append_child("SourceData");
    pugi::xml_node boundaries = source.append_child("Boundaries");
    for (const Polygon2& ring : outline(results_.ground())) {
      std::string points;
      for (std::size_t i = 0; i <= ring.size(); ++i) {
        const Point2& p = ring[i % ring.size()];
        add_to(points, p, elevation_at(results_.ground(), p).value_or(0));
      }
      pugi::xml_node boundary = boundaries.append_child("Boundary");
      boundary.append_attribute("bndType") = is_counter_clockwise(ring) ? "outer" : "void";
      boundary.append_attribute("edgeTrim") = "false";
      boundary.append_child("PntList3D").text() = points.c_str();
    }
    if (results_.survey.breaklines.empty()) return;
    pugi::xml_node breaklines = source.append_child("Breaklines");
    for (std::size_t k = 0; k < results_.survey.breaklines.size(); ++k) {
      std::string points;
      for (const std::size_t i : results_.survey.breaklines[k]) {
        const Shot& shot = results_.survey.ground_shots[i];
        if (!points.empty()) points += ' ';
        points += place(shot.northing, shot.easting, shot.elevation);
      }
      pugi::xml_node node = breaklines.append_child("Breakline");
      node.append_attribute("brkType") = "standard";
      node.append_attribute("name") = to_text(results_.survey.line_names[k]).c_str();
      node.append_child("PntList3D").text() = points.c_str();
    }
  }

  static bool is_counter_clockwise(const Polygon2& ring) {
    double twice = 0;
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const Point2 &p = ring[i], &q = ring[(i + 1) % ring.size()];
      twice += p.x() * q.y() - p.y() * q.x();
    }
    return twice > 0;
  }

  void add_to(std::string& points, const Point2& reduced, double elevation) const {
    const Point2 at = results_.ground().to_world(reduced);
    if (!points.empty()) points += ' ';
    points += place(at.y(), at.x(), elevation);
  }

  // ---- TINs ----

  /// Places on the written grid, so that what is one place in the file is one point, and faces that rounding leaves
  /// without area are left out.
  struct Gridded {
    std::vector<std::array<std::int64_t, 2>> places;  // easting, northing
    std::vector<double> elevations;
    std::vector<std::array<std::uint32_t, 3>> faces;
  };

  Gridded gridded(const Tin& tin) const {
    Gridded result;
    std::map<std::array<std::int64_t, 2>, std::uint32_t> known;
    std::vector<std::uint32_t> place_of;
    for (const Point3& p : tin.points) {
      const Point2 at = results_.ground().to_world(p.head<2>());
      const std::array<std::int64_t, 2> place{std::llround(at.x() * grid), std::llround(at.y() * grid)};
      const auto [found, is_new] = known.try_emplace(place, static_cast<std::uint32_t>(result.places.size()));
      if (is_new) {
        result.places.push_back(place);
        result.elevations.push_back(p.z());
      }
      place_of.push_back(found->second);
    }
    for (const auto& [a, b, c] : tin.triangles) {
      const std::array<std::uint32_t, 3> face{place_of[a], place_of[b], place_of[c]};
      if (has_area(result.places[face[0]], result.places[face[1]], result.places[face[2]]))
        result.faces.push_back(face);
    }
    return result;
  }

  /// Counter-clockwise, exactly: lots are up to some thousand units wide, so that products keep within 64 bits' range.
  static bool has_area(const std::array<std::int64_t, 2>& a, const std::array<std::int64_t, 2>& b,
                       const std::array<std::int64_t, 2>& c) {
    const auto step = [](std::int64_t from, std::int64_t to) { return static_cast<long double>(to - from); };
    return step(a[0], b[0]) * step(a[1], c[1]) > step(a[1], b[1]) * step(a[0], c[0]);
  }

  // A survey of a million shots has some six million nodes here, and they hold nothing but numbers: they are written as
  // text, so that they take no more room than their text does.
  static constexpr const char* tin_mark = "Tin";
  static constexpr std::string_view tin_line = "    <Tin />\n";  // as the document is written; text of a job has no '<'

  void add_tin(pugi::xml_node& surface, Tin tin) {
    pugi::xml_node definition = surface.append_child("Definition");
    definition.append_attribute("surfType") = "TIN";
    definition.append_child(tin_mark);
    tins_.push_back(std::move(tin));
  }

  std::string with_tins(std::string_view document) {
    constexpr std::size_t point_line = 64, face_line = 40;  // bytes, about
    std::string text;
    std::size_t room = document.size();
    for (const Tin& tin : tins_) room += tin.points.size() * point_line + tin.triangles.size() * face_line;
    text.reserve(room);
    for (Tin& tin : tins_) {
      const std::size_t line = document.find(tin_line);
      text += document.substr(0, line);
      document.remove_prefix(line + tin_line.size());
      write_tin(gridded(std::exchange(tin, {})), text);
    }
    text += document;
    return text;
  }

  static void write_tin(const Gridded& mesh, std::string& text) {
    text += "    <Pnts>\n";
    for (std::size_t i = 0; i < mesh.places.size(); ++i) {
      const double easting = static_cast<double>(mesh.places[i][0]) / grid,
                   northing = static_cast<double>(mesh.places[i][1]) / grid;
      fmt::format_to(std::back_inserter(text), FMT_COMPILE("     <P id=\"{}\">{}</P>\n"), i + 1,
                     place(northing, easting, mesh.elevations[i]));
    }
    text += "    </Pnts>\n    <Faces>\n";
    for (const auto& [a, b, c] : mesh.faces) {
      fmt::format_to(std::back_inserter(text), FMT_COMPILE("     <F>{} {} {}</F>\n"), a + 1, b + 1, c + 1);
    }
    text += "    </Faces>\n";
  }
};

}  // namespace

std::string surfaces_xml(const SiteResults& results) { return Writer(results).run(); }

}  // namespace moundwright::io

#include "io/field_html.h"

#include <fmt/format.h>

#include <cstdint>
#include <nlohmann/json.hpp>

#include "geom/lath.h"
#include "io/cautions.h"
#include "io/embedded_file.h"
#include "io/grade_limits.h"

namespace moundwright::io {
namespace {

using Json = nlohmann::ordered_json;

/// Coordinates as the stakes' own file prints them.
double to_thousandth(double value) { return as_printed(value, 3); }

void set_place(Json& json, const Point2& world) {
  json["n"] = to_thousandth(world.y());
  json["e"] = to_thousandth(world.x());
}

template <class Value>
void set_if(Json& json, const char* key, const std::optional<Value>& value) {
  if (value) json[key] = *value;
}

Json mark_json(const Mark& mark) {
  Json json = {{"name", mark.name}};
  set_place(json, mark.at);
  set_if(json, "elevation", mark.elevation);
  return json;
}

Json marks_json(const std::vector<Mark>& marks) {
  Json list = Json::array();
  for (const Mark& mark : marks) list.push_back(mark_json(mark));
  return list;
}

Json benchmarks_json(const SiteDesign& site) {
  Json list = Json::array();
  if (site.lot.benchmark) list.push_back(mark_json(*site.lot.benchmark));
  if (site.lot.second_benchmark) list.push_back(mark_json(*site.lot.second_benchmark));
  return list;
}

Json grades_json(const std::vector<Grade>& grades) {
  Json list = Json::array();
  for (const Grade& grade : grades) list.push_back({{"name", grade.name}, {"elevation", grade.elevation}});
  return list;
}

Json stakes_json(const SiteResults& r) {
  Json list = Json::array();
  for (const Stake& stake : r.found().stakes.stakes) {
    const LathGrade edge = lath_text(stake, r.found().stakes.grades, r.mound().buildup.bottom_elevation).edge;
    Json json = {{"number", stake.number},
                 {"kind", to_text(stake.kind)},
                 {"what", stake.what},
                 {"station", stake.station},
                 {"offset", stake.offset}};
    set_place(json, {stake.easting, stake.northing});
    set_if(json, "ground", stake.ground);
    set_if(json, "design", stake.design);
    set_if(json, "to_shoulder", stake.to_shoulder);
    set_if(json, "slope_run", stake.slope_run);
    json["edge"] = {{"name", edge.name}, {"elevation", edge.elevation}};
    json["ties"] = stake.ties;
    list.push_back(std::move(json));
  }
  return list;
}

Json tape_json(const std::vector<TapeCheck>& checks) {
  Json list = Json::array();
  for (const TapeCheck& check : checks) list.push_back({{"what", check.what}, {"distance", check.distance}});
  return list;
}

const char* word(StageKind kind) {
  switch (kind) {
    case StageKind::prepared:
      return "prepared";
    case StageKind::layer:
      return "layer";
    case StageKind::lateral_invert:
      return "lateral invert";
  }
  return "";
}

Json stage_json(const BuildStage& stage) {
  Json points = Json::array();
  for (const StagePoint& point : stage.points) {
    Json json = {{"name", point.name}};
    set_place(json, point.at);
    set_if(json, "design", point.design);
    set_if(json, "ground", point.ground);
    set_if(json, "highest", point.highest);
    points.push_back(std::move(json));
  }
  Json json = {{"kind", word(stage.kind)}, {"name", stage.name}, {"on_bed", stage.on_bed}};
  set_if(json, "least_thickness", stage.least_thickness);
  json["points"] = std::move(points);
  return json;
}

Json stages_json(const SiteResults& r) {
  Json list = Json::array();
  for (const BuildStage& stage : build_stages(r.mound(), r.job.site.unit)) list.push_back(stage_json(stage));
  return list;
}

Json loop_json(const std::vector<Point2>& world) {
  Json loop = Json::array();
  for (const Point2& p : world) loop.push_back({to_thousandth(p.x()), to_thousandth(p.y())});
  return loop;
}

Json reduced_loops_json(const Ground& ground, const std::vector<Polygon2>& loops) {
  Json list = Json::array();
  for (const Polygon2& loop : loops) {
    std::vector<Point2> world;
    for (const Point2& p : loop) world.push_back(ground.to_world(p));
    list.push_back(loop_json(world));
  }
  return list;
}

Json features_json(const std::vector<KeepClear>& features) {
  Json list = Json::array();
  for (const KeepClear& feature : features) {
    list.push_back({{"name", feature.name}, {"closed", feature.closed}, {"line", loop_json(feature.line)}});
  }
  return list;
}

Json plan_json(const SiteResults& r) {
  return {{"toe", reduced_loops_json(r.ground(), r.mound().buildup.toe.outer)},
          {"holes", reduced_loops_json(r.ground(), r.mound().buildup.toe.holes)},
          {"bed", reduced_loops_json(r.ground(), bed_on_ground(r.mound()))},
          {"features", features_json(r.job.site.lot.requirements.keep_clear)},
          {"downslope", *r.mound().design().downslope}};
}

/// Besides the limits of grades a 25 ft rod, in metric jobs the 5 m staff. All can be changed on the page.
Json limits_json(LengthUnit unit) {
  const GradeLimits limits = grade_limits(unit);
  return {{"bed", limits.bed},
          {"elsewhere", limits.elsewhere},
          {"check_shot", limits.check_shot},
          {"rod", unit == LengthUnit::metre ? 5.0 : 25.0}};
}

/// Those of the page as a whole by name, and those of each stage.
Json cautions_json(const SiteResults& r) {
  Json stages = Json::array();
  const std::vector<BuildStage> all = build_stages(r.mound(), r.job.site.unit);
  for (std::size_t i = 0; i < all.size(); ++i) stages.push_back(stage_cautions(all, i));
  return {{"utilities", cautions::utilities}, {"trench", cautions::trench}, {"tank", cautions::tank},
          {"sewage", cautions::sewage},       {"govern", cautions::govern}, {"stages", stages}};
}

/// FNV-1a, 64 bits.
std::string fingerprint(std::string_view text) {
  std::uint64_t hash = 14695981039346656037ULL;
  for (const char c : text) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 1099511628211ULL;
  }
  return fmt::format("{:016x}", hash);
}

std::string base64(std::string_view bytes) {
  constexpr std::string_view digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  const auto byte = [&](std::size_t i) { return i < bytes.size() ? static_cast<unsigned char>(bytes[i]) : 0U; };
  std::string text;
  text.reserve(bytes.size() / 3 * 4 + 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::uint32_t three = byte(i) << 16 | byte(i + 1) << 8 | byte(i + 2);
    for (int shift = 18; shift >= 0; shift -= 6) text += digits[three >> shift & 63U];
  }
  for (std::size_t i = bytes.size() % 3; i > 0 && i < 3; ++i) text[text.size() - (3 - i)] = '=';
  return text;
}

std::string escaped_json(const Json& json) {
  std::string text;
  for (const char c : json.dump()) {
    if (c == '<') {
      text += "\\u003c";
    } else {
      text += c;
    }
  }
  return text;
}

std::string escaped_html(std::string_view plain) {
  std::string text;
  for (const char c : plain) {
    if (c == '<') {
      text += "&lt;";
    } else if (c == '&') {
      text += "&amp;";
    } else {
      text += c;
    }
  }
  return text;
}

/// Replaces every {{name}} of the template once: what is put in is not looked at again.
template <class Value>
std::string filled(std::string_view text, const Value& value) {
  std::string out;
  while (true) {
    const std::size_t open = text.find("{{");
    out += text.substr(0, open);
    if (open == std::string_view::npos) return out;
    const std::size_t close = text.find("}}", open);
    out += value(text.substr(open + 2, close - open - 2));
    text.remove_prefix(close + 2);
  }
}

}  // namespace

std::string field_json(const SiteResults& r) {
  const SiteDesign& site = r.job.site;
  Json json;
  json["title"] = site.title;
  json["unit"] = symbol(site.unit);
  json["benchmarks"] = benchmarks_json(site);
  json["grades"] = grades_json(r.found().stakes.grades);
  json["stakes"] = stakes_json(r);
  json["stages"] = stages_json(r);
  json["sides"] = tape_json(r.found().stakes.sides);
  json["diagonals"] = tape_json(r.found().stakes.diagonals);
  json["tie_marks"] = marks_json(r.found().stakes.tie_marks);
  json["plan"] = plan_json(r);
  json["undercut"] = r.mound().design().prepare.undercut.has_value();
  json["strip"] = r.mound().design().prepare.strip;
  json["limits"] = limits_json(site.unit);
  const std::string key = fingerprint(json.dump());
  json["key"] = key;
  json["cautions"] = cautions_json(r);
  return escaped_json(json);
}

std::string field_html(const SiteResults& results, std::string_view model_glb) {
  return filled(embedded_file("field.html"), [&](std::string_view name) -> std::string {
    if (name == "title") return escaped_html(results.job.site.title);
    if (name == "job") return field_json(results);
    if (name == "model") return base64(model_glb);
    return std::string(embedded_file(name));
  });
}

}  // namespace moundwright::io

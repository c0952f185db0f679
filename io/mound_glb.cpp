#include "io/mound_glb.h"

#include <array>
#include <bit>
#include <cmath>
#include <nlohmann/json.hpp>

#include "geom/assumed_ground.h"
#include "io/material_style.h"

namespace moundwright::io {
namespace {

using Json = nlohmann::ordered_json;

// Numbers of the glTF 2.0 specification.
constexpr int component_float = 5126, component_unsigned_int = 5125, target_vertices = 34962, target_indices = 34963;
constexpr std::uint32_t magic = 0x46546C67, version = 2, chunk_json = 0x4E4F534A, chunk_bin = 0x004E4942;

/// Everything in the file is little-endian.
void append(std::string& bytes, std::uint32_t value) {
  for (int shift = 0; shift < 32; shift += 8) bytes += static_cast<char>((value >> shift) & 0xff);
}

void append(std::string& bytes, float value) { append(bytes, std::bit_cast<std::uint32_t>(value)); }

double linear(double srgb) { return srgb <= 0.04045 ? srgb / 12.92 : std::pow((srgb + 0.055) / 1.055, 2.4); }

/// To a digit more than eight bits hold, so that no platform's pow() shows in the bytes.
double rounded(double value) { return std::round(value * 1e4) / 1e4; }

struct Model {
  Json json;
  std::string binary;
  Point3 origin = Point3::Zero();  // reduced
  double metres = 1;               // in a job unit

  Model() {
    json["asset"] = {{"version", "2.0"}, {"generator", "Moundwright"}};
    json["scene"] = 0;
    json["scenes"] = Json::array({Json::object()});
    for (const char* list : {"nodes", "meshes", "materials", "accessors", "bufferViews"}) json[list] = Json::array();
  }
};

std::size_t count(const Model& model, const char* list) { return model.json[list].size(); }

std::size_t add_view(Model& model, std::size_t from, int target) {
  model.json["bufferViews"].push_back(
      {{"buffer", 0}, {"byteOffset", from}, {"byteLength", model.binary.size() - from}, {"target", target}});
  return count(model, "bufferViews") - 1;
}

std::size_t add_points(Model& model, const std::vector<Point3>& points) {
  const std::size_t from = model.binary.size();
  std::array<float, 3> low, high;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Point3 p = (points[i] - model.origin) * model.metres;
    const std::array<float, 3> at{static_cast<float>(p.x()), static_cast<float>(p.z()), static_cast<float>(-p.y())};
    if (i == 0) low = high = at;
    for (std::size_t k = 0; k < 3; ++k) {
      low[k] = std::min(low[k], at[k]), high[k] = std::max(high[k], at[k]);
      append(model.binary, at[k]);
    }
  }
  model.json["accessors"].push_back({{"bufferView", add_view(model, from, target_vertices)},
                                     {"componentType", component_float},
                                     {"count", points.size()},
                                     {"type", "VEC3"},
                                     {"min", low},
                                     {"max", high}});
  return count(model, "accessors") - 1;
}

template <class Triangles>
std::size_t add_triangles(Model& model, const Triangles& triangles) {
  const std::size_t from = model.binary.size();
  for (const auto& triangle : triangles) {
    for (std::size_t k = 0; k < 3; ++k) append(model.binary, static_cast<std::uint32_t>(triangle[k]));
  }
  model.json["accessors"].push_back({{"bufferView", add_view(model, from, target_indices)},
                                     {"componentType", component_unsigned_int},
                                     {"count", 3 * triangles.size()},
                                     {"type", "SCALAR"}});
  return count(model, "accessors") - 1;
}

std::size_t add_material(Model& model, const std::string& name, const Colour& colour, double opacity) {
  Json material = {
      {"name", name},
      {"pbrMetallicRoughness",
       {{"baseColorFactor",
         {rounded(linear(colour.red)), rounded(linear(colour.green)), rounded(linear(colour.blue)), opacity}},
        {"metallicFactor", 0.0},
        {"roughnessFactor", 1.0}}}};
  if (opacity < 1) material["alphaMode"] = "BLEND";
  model.json["materials"].push_back(std::move(material));
  return count(model, "materials") - 1;
}

template <class Triangles>
void add_node(Model& model, const std::string& name, const std::vector<Point3>& points, const Triangles& triangles,
              std::size_t material) {
  const std::size_t at = add_points(model, points), faces = add_triangles(model, triangles);
  model.json["meshes"].push_back(
      {{"name", name},
       {"primitives",
        Json::array({{{"attributes", {{"POSITION", at}}}, {"indices", faces}, {"material", material}}})}});
  model.json["nodes"].push_back({{"name", name}, {"mesh", count(model, "meshes") - 1}});
  model.json["scenes"][0]["nodes"].push_back(count(model, "nodes") - 1);
}

void add_solids(Model& model, const SiteResults& results, const std::vector<Solid>& solids) {
  const std::vector<MaterialStyle> styles = layer_styles(results.mound().design());
  for (std::size_t k = 0; k < solids.size(); ++k) {
    const Solid& solid = solids[k];
    if (solid.triangles.empty()) continue;
    const bool is_layer = k < styles.size();
    const std::string name = is_layer ? solid.name : "cut: " + solid.name;
    const std::size_t material = is_layer ? add_material(model, solid.material, styles[k].fill, 1.0)
                                          : add_material(model, name, cut_style().fill, 0.35);
    add_node(model, name, solid.points, solid.triangles, material);
  }
}

std::size_t add_earth(Model& model, const std::string& name, const Colour& colour) {
  const std::size_t earth = add_material(model, name, colour, 1.0);
  model.json["materials"][earth]["doubleSided"] = true;
  return earth;
}

/// What was not surveyed is a node of its own.
void add_ground(Model& model, const Ground& ground) {
  std::vector<std::array<std::uint32_t, 3>> surveyed;
  for (std::uint32_t t = 0; t < ground.triangle_count(); ++t) {
    if (!ground.is_assumed(t)) surveyed.push_back(ground.tree.triangles[t]);
  }
  add_node(model, "ground", ground.points, surveyed, add_earth(model, "ground", ground_style().fill));
  if (ground.assumed.empty()) return;
  std::vector<Point3> points;
  std::vector<std::array<std::uint32_t, 3>> triangles;
  for (const std::array<Point3, 3>& triangle : assumed_triangles(ground)) {
    const auto first = static_cast<std::uint32_t>(points.size());
    points.insert(points.end(), triangle.begin(), triangle.end());
    triangles.push_back({first, first + 1, first + 2});
  }
  const std::string name = "assumed ground";
  add_node(model, name, points, triangles, add_earth(model, name, assumed_ground_colour()));
}

std::string packed(const Model& model) {
  std::string json = model.json.dump(), binary = model.binary;
  json.resize((json.size() + 3) / 4 * 4, ' ');
  binary.resize((binary.size() + 3) / 4 * 4, '\0');
  std::string bytes;
  bytes.reserve(28 + json.size() + binary.size());
  for (const std::uint32_t word : {magic, version, static_cast<std::uint32_t>(28 + json.size() + binary.size()),
                                   static_cast<std::uint32_t>(json.size()), chunk_json}) {
    append(bytes, word);
  }
  bytes += json;
  append(bytes, static_cast<std::uint32_t>(binary.size()));
  append(bytes, chunk_bin);
  return bytes + binary;
}

}  // namespace

std::string mound_glb(const SiteResults& results, const std::vector<Solid>& solids) {
  Model model;
  const Point2 middle = results.mound().frame().origin, local = results.ground().to_local(middle);
  const double datum = results.mound().buildup.bottom_elevation;
  model.origin = {local.x(), local.y(), datum};
  model.metres = metres_per(results.job.site.unit);
  Json& scene = model.json["scenes"][0];
  scene["name"] = results.job.site.title;
  scene["nodes"] = Json::array();
  scene["extras"] = {{"origin", {{"n", middle.y()}, {"e", middle.x()}, {"elevation", datum}}},
                     {"units", symbol(results.job.site.unit)}};
  add_solids(model, results, solids);
  add_ground(model, results.ground());
  model.json["buffers"] = Json::array({{{"byteLength", model.binary.size()}}});
  return packed(model);
}

std::string mound_glb(const SiteResults& results) { return mound_glb(results, layer_solids(results.mound())); }

}  // namespace moundwright::io

// What surfaces.xml and mound.glb say of any lot and mound that are not refused: read back, they hold the volumes of
// the Buildup.
#include <Eigen/Geometry>
#include <array>
#include <cstdint>
#include <cstring>
#include <nlohmann/json.hpp>
#include <pugixml.hpp>
#include <sstream>

#include "geom/surfaces.h"
#include "io/mound_glb.h"
#include "io/surfaces_xml.h"
#include "tests/fuzz/fuzzed_lot.h"

namespace moundwright::fuzz {
namespace {

using Json = nlohmann::json;

Tin tin_of(const pugi::xml_node& definition) {
  Tin tin;
  std::map<int, std::uint32_t> place;
  for (const pugi::xml_node& point : definition.child("Pnts").children("P")) {
    std::istringstream text(point.text().get());
    double north = 0, east = 0, z = 0;
    text >> north >> east >> z;
    place[point.attribute("id").as_int()] = static_cast<std::uint32_t>(tin.points.size());
    tin.points.emplace_back(east, north, z);
  }
  for (const pugi::xml_node& face : definition.child("Faces").children("F")) {
    std::istringstream text(face.text().get());
    int a = 0, b = 0, c = 0;
    text >> a >> b >> c;
    tin.triangles.push_back({place.at(a), place.at(b), place.at(c)});
  }
  return tin;
}

/// Of a sheet, whichever way its faces are listed.
double volume_of_sheet(const Tin& tin, double datum) {
  const double area = volume_above(tin, 0) - volume_above(tin, 1);
  return area < 0 ? -volume_above(tin, datum) : volume_above(tin, datum);
}

void check_xml(const io::SiteResults& results) {
  pugi::xml_document document;
  require(document.load_string(io::surfaces_xml(results).c_str()), "surfaces.xml is XML");
  std::vector<double> volumes;
  for (const pugi::xml_node& surface : document.child("LandXML").child("Surfaces").children("Surface")) {
    volumes.push_back(volume_of_sheet(tin_of(surface.child("Definition")), results.mound().buildup.bottom_elevation));
  }
  const std::vector<LayerResult>& layers = results.mound().buildup.layers;
  if (volumes.size() != layers.size() + 3)
    return require(layers.empty() || !(results.mound().buildup.footprint_area > 0), "every surface is there");
  const double fill = results.mound().buildup.total_fill();
  for (std::size_t k = 0; k < layers.size(); ++k) {
    require_near(volumes[k + 2] - volumes[k + 1], layers[k].volume, 0.02 * (1 + fill), "between two surfaces");
  }
}

std::uint32_t word_at(const std::string& bytes, std::size_t at) {
  std::uint32_t word = 0;
  std::memcpy(&word, bytes.data() + at, 4);
  return word;
}

double volume_of_mesh(const Json& json, const std::string& binary, const Json& primitive) {
  const auto start = [&](const Json& accessor) -> std::size_t {
    return json["bufferViews"][accessor["bufferView"].get<std::size_t>()]["byteOffset"];
  };
  const Json& places = json["accessors"][primitive["attributes"]["POSITION"].get<std::size_t>()];
  const Json& corners = json["accessors"][primitive["indices"].get<std::size_t>()];
  const auto point = [&](std::uint32_t i) {
    std::array<float, 3> p{};
    std::memcpy(p.data(), binary.data() + start(places) + 12 * i, 12);
    return Point3(p[0], p[1], p[2]);
  };
  double sum = 0;
  for (std::size_t i = 0; i < corners["count"].get<std::size_t>(); i += 3) {
    const std::size_t at = start(corners) + 4 * i;
    const Point3 a = point(word_at(binary, at)), b = point(word_at(binary, at + 4)), c = point(word_at(binary, at + 8));
    sum += a.dot(b.cross(c)) / 6;
  }
  return sum;
}

void check_glb(const io::SiteResults& results) {
  const std::string glb = io::mound_glb(results);
  const std::size_t json_size = word_at(glb, 12);
  const Json json = Json::parse(glb.substr(20, json_size));
  const std::string binary = glb.substr(20 + json_size + 8);
  double fill = 0, cubic_metre = 0.3048 * 0.3048 * 0.3048;
  for (const Json& node : json["nodes"]) {
    const std::string name = node["name"];
    if (!name.starts_with("layer")) continue;
    fill += volume_of_mesh(json, binary, json["meshes"][node["mesh"].get<std::size_t>()]["primitives"][0]);
  }
  const double wanted = results.mound().buildup.total_fill();
  require_near(fill / cubic_metre, wanted, 1e-3 * (1 + wanted), "the fill of mound.glb");
}

void check(const FuzzedLot& lot) {
  io::SiteResults results;
  results.shared_ground = std::make_shared<const Ground>(make_ground(lot.shots));
  results.mounds.push_back({place_mound(place_as_drawn(results.ground(), lot.design)), {}});
  check_xml(results);
  check_glb(results);
}

}  // namespace
}  // namespace moundwright::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  return moundwright::fuzz::try_lot(bytes, size, moundwright::fuzz::check);
}

// mound.glb read back by what the glTF 2.0 specification says of its bytes, and by the Khronos validator.
#include "io/mound_glb.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cstdio>
#include <cstring>
#include <nlohmann/json.hpp>
#include <set>

#include "made_jobs.h"

namespace moundwright::io {
namespace {

using Json = nlohmann::json;
using testing::ElementsAre;

std::uint32_t word_at(const std::string& bytes, std::size_t at) {
  std::uint32_t word;
  std::memcpy(&word, bytes.data() + at, 4);
  return word;
}

struct Model {
  Json json;
  std::string binary;
};

Model read(const std::string& glb) {
  EXPECT_EQ(glb.substr(0, 4), "glTF");
  EXPECT_EQ(word_at(glb, 4), 2u);
  EXPECT_EQ(word_at(glb, 8), glb.size());
  const std::size_t json_size = word_at(glb, 12);
  EXPECT_EQ(glb.substr(16, 4), "JSON");
  EXPECT_EQ(glb.substr(20 + json_size + 4, 4), std::string("BIN\0", 4));
  return {Json::parse(glb.substr(20, json_size)), glb.substr(20 + json_size + 8)};
}

std::vector<std::string> node_names(const Model& model) {
  std::vector<std::string> names;
  for (const Json& node : model.json["nodes"]) names.push_back(node["name"]);
  return names;
}

using Point = std::array<double, 3>;

struct Mesh {
  std::vector<Point> points;
  std::vector<std::uint32_t> corners;
};

std::size_t start_of(const Model& model, const Json& accessor) {
  return model.json["bufferViews"][accessor["bufferView"].get<std::size_t>()]["byteOffset"];
}

Mesh mesh_of(const Model& model, const std::string& name) {
  for (const Json& node : model.json["nodes"]) {
    if (node["name"] != name) continue;
    const Json& primitive = model.json["meshes"][node["mesh"].get<std::size_t>()]["primitives"][0];
    const Json& at = model.json["accessors"][primitive["attributes"]["POSITION"].get<std::size_t>()];
    const Json& faces = model.json["accessors"][primitive["indices"].get<std::size_t>()];
    Mesh mesh;
    for (std::size_t i = 0; i < at["count"].get<std::size_t>(); ++i) {
      std::array<float, 3> p;
      std::memcpy(p.data(), model.binary.data() + start_of(model, at) + 12 * i, 12);
      mesh.points.push_back({p[0], p[1], p[2]});
    }
    for (std::size_t i = 0; i < faces["count"].get<std::size_t>(); ++i) {
      mesh.corners.push_back(word_at(model.binary, start_of(model, faces) + 4 * i));
    }
    return mesh;
  }
  ADD_FAILURE() << "no node " << name;
  return {};
}

/// Cubic metres; positive only where the faces look outward in a right-handed frame.
double volume(const Mesh& mesh) {
  double six = 0;
  for (std::size_t i = 0; i < mesh.corners.size(); i += 3) {
    const Point &a = mesh.points[mesh.corners[i]], &b = mesh.points[mesh.corners[i + 1]],
                &c = mesh.points[mesh.corners[i + 2]];
    six += a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0]);
  }
  return six / 6;
}

void expect_volumes_of(const SiteResults& results) {
  const Model model = read(mound_glb(results));
  const double cubic_metres_per_yard = 0.9144 * 0.9144 * 0.9144;
  for (const TakeoffItem& item : results.found().takeoff.fill) {
    // Coordinates are single floats.
    EXPECT_NEAR(volume(mesh_of(model, item.name)), item.volume_cy * cubic_metres_per_yard, 1e-3) << item.name;
  }
  for (const TakeoffItem& item : results.found().takeoff.cut) {
    EXPECT_NEAR(volume(mesh_of(model, "cut: " + item.name)), item.volume_cy * cubic_metres_per_yard, 1e-3) << item.name;
  }
}

TEST(MoundGlb, HasANodeForEachLayerAndTheGround) {
  EXPECT_THAT(node_names(read(mound_glb(demo_results("fernhollow")))),
              ElementsAre("core", "stone", "shell", "cover", "topsoil", "ground"));
  EXPECT_THAT(node_names(read(mound_glb(demo_results("ridgeback")))),
              ElementsAre("core", "stone", "shell", "cover", "cut: undercut", "ground"));
}

TEST(MoundGlb, HoldsTheYardsOfEveryLayerInCubicMetres) {
  const Scratch folder;
  expect_volumes_of(demo_results("fernhollow"));
  expect_volumes_of(demo_results("ridgeback"));
  expect_volumes_of(tiny_results(folder));
  expect_volumes_of(metre_results(folder));
}

TEST(MoundGlb, IsYUpWithXEastFromTheBedBottom) {
  const SiteResults results = demo_results("fernhollow");
  const Model model = read(mound_glb(results));
  const Layer& top = results.mound().design().layers.back();
  const double foot = 0.3048;
  double highest = -1e9;
  for (const Point& p : mesh_of(model, "topsoil").points) highest = std::max(highest, p[1]);
  EXPECT_NEAR(highest, (top.top + top.crown) * foot, 1e-5);
  const Mesh ground = mesh_of(model, "ground");
  const Json& origin = model.json["scenes"][0]["extras"]["origin"];
  for (std::size_t i = 0; i < ground.points.size(); ++i) {
    const auto shot = static_cast<std::size_t>(results.ground().shot_of_point[i]);
    const Shot& s = results.survey.ground_shots[shot];
    EXPECT_NEAR(ground.points[i][0], (s.easting - origin["e"].get<double>()) * foot, 1e-5);
    EXPECT_NEAR(ground.points[i][1], (s.elevation - origin["elevation"].get<double>()) * foot, 1e-5);
    EXPECT_NEAR(ground.points[i][2], -(s.northing - origin["n"].get<double>()) * foot, 1e-5);
  }
}

TEST(MoundGlb, EveryLayerHasAColourOfItsOwn) {
  const Model model = read(mound_glb(demo_results("fernhollow")));
  std::set<std::string> colours;
  for (const Json& material : model.json["materials"]) {
    colours.insert(material["pbrMetallicRoughness"]["baseColorFactor"].dump());
  }
  EXPECT_EQ(colours.size(), model.json["nodes"].size());
}

TEST(MoundGlb, TheSameJobGivesTheSameBytes) {
  EXPECT_EQ(mound_glb(demo_results("ridgeback")), mound_glb(demo_results_anew("ridgeback")));
}

// The validator of the Khronos Group, from npm (tests/package.json): no errors, no warnings, no hints.
TEST(MoundGlb, TheKhronosValidatorFindsNothing) {
  namespace fs = std::filesystem;
  const fs::path tests = fs::path(MOUNDWRIGHT_TEST_DATA).parent_path();
  if (!fs::exists(tests / "node_modules" / "gltf-validator")) {
    GTEST_SKIP() << "NOT CHECKED: npm's gltf-validator is not there; run npm ci in tests/";
  }
  const Scratch folder;
  const std::vector<std::pair<std::string, SiteResults>> all = {{"fernhollow", demo_results("fernhollow")},
                                                                {"ridgeback", demo_results("ridgeback")},
                                                                {"tiny", tiny_results(folder)},
                                                                {"metres", metre_results(folder)}};
  for (const auto& [name, results] : all) {
    const fs::path file = folder.put(name + ".glb", mound_glb(results));
    const std::string command = "node " + (tests / "io" / "validate_glb.mjs").string() + " " + file.string() + " 2>&1";
    FILE* pipe = popen(command.c_str(), "r");
    ASSERT_NE(pipe, nullptr);
    std::string said;
    for (int c = fgetc(pipe); c != EOF; c = fgetc(pipe)) said += static_cast<char>(c);
    EXPECT_EQ(pclose(pipe), 0) << name << ": " << said;
    EXPECT_THAT(said, testing::StartsWith("0 errors, 0 warnings, 0 hints, ")) << name << ": " << said;
  }
}

}  // namespace
}  // namespace moundwright::io

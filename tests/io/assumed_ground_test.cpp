// A berm that leaves the survey: refused with what to do, or on assumed ground and marked so in every file.
#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <array>
#include <cstdio>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <pugixml.hpp>
#include <sstream>

#include "geom/surfaces.h"
#include "io/mound_glb.h"
#include "io/quantities_csv.h"
#include "io/quantities_xlsx.h"
#include "io/sheets_pdf.h"
#include "io/site_gpkg.h"
#include "io/stakes_csv.h"
#include "io/summary_json.h"
#include "io/surfaces_xml.h"
#include "io/text_file.h"
#include "io/toe_csv.h"
#include "made_jobs.h"

namespace moundwright::io {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

std::string output_of(const std::string& command) {
  std::string text;
  FILE* pipe = popen(command.c_str(), "r");
  if (pipe == nullptr) return text;
  std::array<char, 4096> buffer;
  while (const std::size_t n = fread(buffer.data(), 1, buffer.size(), pipe)) text.append(buffer.data(), n);
  pclose(pipe);
  return text;
}

/// The tiny job with its mound near the survey's south edge, N 0, where the ground falls to: the berm's toe lies past
/// it.
class AssumedGroundJob : public testing::Test {
 protected:
  Scratch folder;

  SiteResults with(const std::string& ground_key) {
    tiny_results(folder);
    std::string job = read_file(folder / "tiny.toml");
    const auto change = [&](const std::string& from, const std::string& to) {
      const std::size_t at = job.find(from);
      ASSERT_NE(at, std::string::npos) << from;
      job.replace(at, from.size(), to);
    };
    change("n = 60.0", "n = 11.0");
    change("shots = \"ground.csv\"\n", "shots = \"ground.csv\"\n" + ground_key);
    return compute_site(folder.put("near.toml", job));
  }
};

TEST_F(AssumedGroundJob, WithoutItIsRefusedAndTheKeyNamed) {
  const SiteResults results = with("");
  const Problems problems = blocking_problems(results);
  ASSERT_TRUE(problems.has_errors());
  std::string all;
  for (const Problem& problem : problems.all) all += to_text(problem) + "\n";
  EXPECT_THAT(all, HasSubstr("runs off the surveyed ground"));
  EXPECT_THAT(all, HasSubstr("past the last ground shot"));
  EXPECT_THAT(all, HasSubstr("more shots"));
  EXPECT_THAT(all, HasSubstr("write  extend = "));
}

TEST_F(AssumedGroundJob, TooLittleOfItSaysHowMuchItTakes) {
  const SiteResults results = with("extend = 0.5\n");
  std::string all;
  for (const Problem& problem : blocking_problems(results).all) all += to_text(problem) + "\n";
  EXPECT_THAT(all, HasSubstr("runs off the assumed ground"));
  const std::size_t at = all.find("write  extend = ");
  ASSERT_NE(at, std::string::npos) << all;
  const SiteResults enough = with("extend = " + all.substr(at + 16, 3) + "\n");
  EXPECT_FALSE(blocking_problems(enough).has_errors());
}

// README: a bed may not stand on it.
TEST_F(AssumedGroundJob, ABedThatStandsOnItIsRefused) {
  with("extend = 10.0\n");
  std::string job = read_file(folder / "near.toml");
  const auto change = [&](const std::string& from, const std::string& to) {
    job.replace(job.find(from), from.size(), to);
  };
  change("n = 11.0", "n = 2.5");  // half a foot of the bed lies past the survey
  change("side = 3.0", "side = 2.0");
  const SiteResults results = compute_site(folder.put("over.toml", job));
  ASSERT_EQ(results.mound().buildup.toe.off_survey, 0) << "nothing else is wrong";
  EXPECT_THAT(blocking_problems(results).all,
              testing::ElementsAre(is_error("mound.center", "assumed ground does not count")));
}

TEST_F(AssumedGroundJob, IsMarkedInEveryFile) {
  const SiteResults results = with("extend = 6.0\n");
  ASSERT_FALSE(blocking_problems(results).has_errors());
  ASSERT_TRUE(results.found().takeoff.on_assumed);
  const OnAssumedGround& assumed = *results.found().takeoff.on_assumed;
  EXPECT_GT(assumed.farthest, 0.5);
  EXPECT_TRUE(std::any_of(results.notes.all.begin(), results.notes.all.end(), [](const Problem& p) {
    return p.severity == Severity::warning && p.what.find("the berm rests on assumed ground") != std::string::npos;
  }));

  const auto summary = nlohmann::json::parse(summary_json(results));
  EXPECT_EQ(summary["ground"]["points"], 4);
  EXPECT_EQ(summary["ground"]["triangles"], 2);
  EXPECT_EQ(summary["assumed_ground"]["extend"], 6.0);
  EXPECT_EQ(summary["assumed_ground"]["area_under_mound"], assumed.area);
  EXPECT_EQ(summary["assumed_ground"]["fill_cy"], assumed.fill_cy);
  EXPECT_LT(summary["assumed_ground"]["farthest_at"]["n"], 0.0);

  EXPECT_THAT(quantities_csv(results.found().takeoff, results.estimate, LengthUnit::foot),
              HasSubstr("area,on assumed ground"));
  EXPECT_THAT(stakes_csv(results.found().stakes, LengthUnit::foot), HasSubstr("ground assumed"));
  const std::string book = folder.put("quantities.xlsx", quantities_xlsx(results));
  EXPECT_THAT(output_of("unzip -p " + book + " xl/sharedStrings.xml"), HasSubstr("on assumed ground"));
}

TEST_F(AssumedGroundJob, IsTheLastColumnOfTheToe) {
  const SiteResults results = with("extend = 6.0\n");
  std::istringstream csv(toe_csv(results.ground(), results.mound().buildup.toe, LengthUnit::foot));
  std::string line;
  std::getline(csv, line);
  EXPECT_EQ(line, "loop,point,northing,easting,elevation,ground");
  int assumed = 0, surveyed = 0;
  while (std::getline(csv, line)) {
    double northing = 0;  // the survey ends at N 0
    ASSERT_EQ(std::sscanf(line.c_str(), "toe,%*d,%lf", &northing), 1) << line;
    if (std::abs(northing) < 0.01) continue;
    (northing < 0 ? assumed : surveyed)++;
    EXPECT_TRUE(line.ends_with(northing < 0 ? ",assumed" : ",surveyed")) << line;
  }
  EXPECT_GT(assumed, 0);
  EXPECT_GT(surveyed, 0);
  EXPECT_THAT(toe_csv(tiny_results(folder).ground(), results.mound().buildup.toe, LengthUnit::foot),
              Not(HasSubstr("surveyed")));
}

TEST_F(AssumedGroundJob, IsANodeOfItsOwnInTheModel) {
  const std::string glb = mound_glb(with("extend = 6.0\n"));
  const std::size_t size = static_cast<unsigned char>(glb[12]) + 256U * static_cast<unsigned char>(glb[13]);
  const auto model = nlohmann::json::parse(glb.substr(20, size));
  std::map<std::string, std::size_t> triangles;
  for (const auto& node : model["nodes"]) {
    const auto& primitive = model["meshes"][node["mesh"].get<std::size_t>()]["primitives"][0];
    triangles[node["name"]] =
        model["accessors"][primitive["indices"].get<std::size_t>()]["count"].get<std::size_t>() / 3;
  }
  EXPECT_EQ(triangles.at("ground"), 2U);
  EXPECT_GE(triangles.at("assumed ground"), 8U);
}

TEST_F(AssumedGroundJob, IsALayerOfTheGeoPackage) {
  const SiteResults results = with("extend = 6.0\n");
  const std::string file = folder.put("site.gpkg", site_gpkg(results));
  GDALAllRegister();
  const std::unique_ptr<GDALDataset> data(GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR));
  ASSERT_NE(data, nullptr);
  OGRLayer* layer = data->GetLayerByName("assumed_ground");
  ASSERT_NE(layer, nullptr);
  double area = 0;
  for (const auto& feature : *layer) {
    const OGRGeometry* place = feature->GetGeometryRef();
    EXPECT_TRUE(place->IsValid());
    area += place->toPolygon()->get_Area();
    EXPECT_EQ(feature->GetFieldAsDouble("carried_on"), 6.0);
  }
  EXPECT_NEAR(area, 4 * 120 * 6 + 4 * 3 * 0.5 * 36 * 0.5, 1e-3);
}

TEST_F(AssumedGroundJob, IsASurfaceOfItsOwnInLandXml) {
  const SiteResults results = with("extend = 6.0\n");
  pugi::xml_document document;
  ASSERT_TRUE(document.load_string(surfaces_xml(results).c_str()));
  const pugi::xml_node surfaces = document.child("LandXML").child("Surfaces");
  const pugi::xml_node existing = surfaces.find_child_by_attribute("name", "existing ground");
  EXPECT_THAT(existing.attribute("desc").value(), HasSubstr("carried on 6 past the survey"));
  const pugi::xml_node strip = surfaces.find_child_by_attribute("name", "assumed ground");
  ASSERT_TRUE(strip);
  double twice = 0;
  std::map<int, std::array<double, 3>> points;
  for (const pugi::xml_node p : strip.child("Definition").child("Pnts").children("P")) {
    std::array<double, 3>& at = points[p.attribute("id").as_int()];
    ASSERT_EQ(std::sscanf(p.text().get(), "%lf %lf %lf", &at[0], &at[1], &at[2]), 3);
    EXPECT_TRUE(at[0] < 1e-6 || at[0] > 120 - 1e-6 || at[1] < 1e-6 || at[1] > 120 - 1e-6);
    EXPECT_NEAR(at[2], 100 + 0.05 * at[0], 1e-5);
  }
  for (const pugi::xml_node f : strip.child("Definition").child("Faces").children("F")) {
    int a = 0, b = 0, c = 0;
    ASSERT_EQ(std::sscanf(f.text().get(), "%d %d %d", &a, &b, &c), 3);
    const auto &p = points[a], &q = points[b], &r = points[c];
    twice += (q[1] - p[1]) * (r[0] - p[0]) - (q[0] - p[0]) * (r[1] - p[1]);
  }
  // Four strips of 120 x 6, and at each corner three pieces of 30 degrees.
  EXPECT_NEAR(twice / 2, 4 * 120 * 6 + 4 * 3 * 0.5 * 36 * 0.5, 1e-3);
}

TEST_F(AssumedGroundJob, IsOnTheSheets) {
  const SiteResults results = with("extend = 6.0\n");
  const std::string pdf = folder.put("sheets.pdf", sheets_pdf(results));
  const std::string text = output_of("pdftotext -layout " + pdf + " -");
  EXPECT_THAT(text, HasSubstr("assumed ground: not surveyed"));  // the plan's key
  EXPECT_THAT(text, HasSubstr("Not surveyed: up to"));           // under the yards
  EXPECT_THAT(text, HasSubstr("ground assumed"));                // on a lath
}

TEST_F(AssumedGroundJob, IsNowhereWhereNoneIsAskedFor) {
  const SiteResults results = tiny_results(folder);
  EXPECT_THAT(summary_json(results), Not(HasSubstr("assumed")));
  EXPECT_THAT(surfaces_xml(results), Not(HasSubstr("assumed")));
  EXPECT_THAT(stakes_csv(results.found().stakes, LengthUnit::foot), Not(HasSubstr("assumed")));
}

}  // namespace
}  // namespace moundwright::io

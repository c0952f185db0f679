// surfaces.xml is valid LandXML, its surfaces hold the takeoff's yards between them, and its stakes are the others'.
#include "io/surfaces_xml.h"

#include <gtest/gtest.h>

#include <array>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <pugixml.hpp>
#include <set>
#include <sstream>

#include "geom/surfaces.h"
#include "io/text_file.h"
#include "made_jobs.h"
#include "scratch.h"
#include "test_paths.h"

namespace moundwright::io {
namespace {

pugi::xml_document parsed(const std::string& xml) {
  pugi::xml_document document;
  const pugi::xml_parse_result result = document.load_buffer(xml.data(), xml.size());
  EXPECT_TRUE(result) << result.description();
  return document;
}

std::vector<double> numbers_in(const std::string& text) {
  std::istringstream in(text);
  return {std::istream_iterator<double>(in), {}};
}

/// A surface as a program that reads the file sees it: easting, northing, elevation.
Tin tin_in(const pugi::xml_node& surface) {
  const pugi::xml_node definition = surface.child("Definition");
  EXPECT_STREQ(definition.attribute("surfType").value(), "TIN");
  Tin tin;
  std::map<int, std::uint32_t> by_id;
  for (const pugi::xml_node p : definition.child("Pnts").children("P")) {
    const std::vector<double> at = numbers_in(p.text().get());
    EXPECT_EQ(at.size(), 3u);
    EXPECT_TRUE(by_id.emplace(p.attribute("id").as_int(), static_cast<std::uint32_t>(tin.points.size())).second);
    tin.points.emplace_back(at[1], at[0], at[2]);
  }
  for (const pugi::xml_node f : definition.child("Faces").children("F")) {
    const std::vector<double> ids = numbers_in(f.text().get());
    EXPECT_EQ(ids.size(), 3u);
    std::array<std::uint32_t, 3> face{};
    for (std::size_t i = 0; i < 3; ++i) face[i] = by_id.at(static_cast<int>(ids[i]));
    tin.triangles.push_back(face);
  }
  return tin;
}

std::map<std::string, Tin> surfaces_in(const pugi::xml_document& document) {
  std::map<std::string, Tin> surfaces;
  for (const pugi::xml_node surface : document.child("LandXML").child("Surfaces").children("Surface")) {
    EXPECT_TRUE(surfaces.emplace(surface.attribute("name").value(), tin_in(surface)).second);
  }
  return surfaces;
}

class SurfacesXml : public testing::TestWithParam<const char*> {
 protected:
  SiteResults site = demo_results(GetParam());
  std::string xml = surfaces_xml(site);
  pugi::xml_document document = parsed(xml);
};

INSTANTIATE_TEST_SUITE_P(Surveys, SurfacesXml, testing::Values("fernhollow", "ridgeback"),
                         [](const auto& info) { return std::string(info.param); });

TEST_P(SurfacesXml, HoldsEveryLayersYardsBetweenItsSurfaces) {
  const std::map<std::string, Tin> surfaces = surfaces_in(document);
  ASSERT_EQ(surfaces.size(), 3 + site.mound().buildup.layers.size());
  const double datum = site.mound().buildup.bottom_elevation, to_yards = cubic_yards_per(site.job.site.unit);
  double below = volume_above(surfaces.at("prepared ground"), datum);
  for (const TakeoffItem& layer : site.found().takeoff.fill) {
    const double here = volume_above(surfaces.at("top of " + layer.name), datum);
    EXPECT_NEAR((here - below) * to_yards, layer.volume_cy, 0.01) << layer.name;
    below = here;
  }
  const double raised =
      volume_above(surfaces.at("finished lot"), datum) - volume_above(surfaces.at("existing ground"), datum);
  EXPECT_NEAR(raised * to_yards, site.found().takeoff.fill_cy - site.found().takeoff.cut_cy, 0.01);
}

// Nothing upright and nothing folded over: faces run counter-clockwise, no two points stand over each other.
TEST_P(SurfacesXml, SurfacesAreFunctionsOfThePlan) {
  for (const auto& [name, tin] : surfaces_in(document)) {
    std::set<std::pair<double, double>> places;
    for (const Point3& p : tin.points) EXPECT_TRUE(places.emplace(p.x(), p.y()).second) << name;
    for (const auto& [a, b, c] : tin.triangles) {
      const Point2 p = tin.points[a].head<2>(), q = tin.points[b].head<2>() - p, r = tin.points[c].head<2>() - p;
      EXPECT_GT(q.x() * r.y() - q.y() * r.x(), 0) << name;
    }
  }
}

TEST_P(SurfacesXml, ExistingGroundIsTheTriangulatedSurvey) {
  const Tin existing = surfaces_in(document).at("existing ground");
  EXPECT_EQ(existing.points.size(), site.ground().points.size());
  EXPECT_EQ(existing.triangles.size(), site.ground().triangle_count());
  const pugi::xml_node source = document.child("LandXML").child("Surfaces").child("Surface").child("SourceData");
  std::size_t lines = 0;
  for (const pugi::xml_node line : source.child("Breaklines").children("Breakline")) {
    const Breakline& survey = site.survey.breaklines.at(lines++);
    EXPECT_EQ(numbers_in(line.child_value("PntList3D")).size(), 3 * survey.size());
  }
  EXPECT_EQ(lines, site.survey.breaklines.size());
  EXPECT_STREQ(source.child("Boundaries").child("Boundary").attribute("bndType").value(), "outer");
}

TEST_P(SurfacesXml, StakesArePointsInTheSurveysOrder) {
  const pugi::xml_node stakes = document.child("LandXML").find_child_by_attribute("CgPoints", "name", "stakes");
  auto stake = site.found().stakes.stakes.begin();
  for (const pugi::xml_node point : stakes.children("CgPoint")) {
    ASSERT_NE(stake, site.found().stakes.stakes.end());
    EXPECT_EQ(point.attribute("name").as_int(), stake->number);
    const std::vector<double> at = numbers_in(point.text().get());
    ASSERT_EQ(at.size(), stake->design ? 3u : 2u);
    EXPECT_NEAR(at[0], stake->northing, 0.0005001);
    EXPECT_NEAR(at[1], stake->easting, 0.0005001);
    if (stake->design) {
      EXPECT_NEAR(at[2], *stake->design, 0.005001);
    }
    ++stake;
  }
  EXPECT_EQ(stake, site.found().stakes.stakes.end());
}

TEST_P(SurfacesXml, ComesOutTheSameTwice) { EXPECT_EQ(surfaces_xml(demo_results_anew(GetParam())), xml); }

TEST_P(SurfacesXml, IsValid) {
  const std::filesystem::path schema = std::filesystem::path(MOUNDWRIGHT_SHARED_CHECKS) / "LandXML-1.2.xsd";
  if (!std::filesystem::exists(schema)) {
    GTEST_SKIP() << "NOT CHECKED: the schema of LandXML 1.2 is not at " << schema;
  }
  const Scratch folder;
  write_files({{folder / "surfaces.xml", xml}});
  const std::string command = "xmllint --noout --schema '" + schema.string() + "' '" +
                              (folder / "surfaces.xml").string() + "' 2> '" + (folder / "log").string() + "'";
  EXPECT_EQ(std::system(command.c_str()), 0) << read_file(folder / "log");
}

TEST(SurfacesXmlUnits, AreTheJobs) {
  SiteResults site = demo_results("fernhollow");
  const std::array<std::pair<LengthUnit, const char*>, 3> units{
      {{LengthUnit::foot, "foot"}, {LengthUnit::us_survey_foot, "USSurveyFoot"}, {LengthUnit::metre, "meter"}}};
  for (const auto& [unit, name] : units) {
    site.job.site.unit = unit;
    const pugi::xml_document document = parsed(surfaces_xml(site));
    EXPECT_STREQ(document.child("LandXML").child("Units").first_child().attribute("linearUnit").value(), name);
  }
}

// A title or a name may hold what XML has its own use for.
TEST(SurfacesXmlNames, AreEscaped) {
  SiteResults site = demo_results("fernhollow");
  site.job.site.title = "Lot <7> & \"8\"";
  site.mounds[0].mound.buildup.layers[0].name = "core & <shell>";
  const pugi::xml_document document = parsed(surfaces_xml(site));
  EXPECT_STREQ(document.child("LandXML").child("Project").attribute("name").value(), "Lot <7> & \"8\"");
  EXPECT_TRUE(document.child("LandXML").child("Surfaces").find_child_by_attribute("name", "top of core & <shell>"));
}

}  // namespace
}  // namespace moundwright::io

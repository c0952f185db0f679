// Which number is the northing: every file that holds a mark or a boring puts it where its standard says. Places are
// typed here anew from the demo job files, so that no reader of ours stands between.
#include <cpl_vsi.h>
#include <gdal_priv.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <array>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <pugixml.hpp>
#include <sstream>

#include "io/field_html.h"
#include "io/points_csv.h"
#include "io/site_gpkg.h"
#include "io/surfaces_xml.h"
#include "made_jobs.h"

namespace moundwright::io {
namespace {

struct KnownPlace {
  const char* name;
  double northing, easting;
  double elevation = 0;  // none of a mark to tape from
};

struct KnownBoring {
  const char* name;
  double northing, easting, limiting_depth;
};

struct KnownJob {
  const char* name;
  std::array<KnownPlace, 2> benchmarks;
  KnownPlace tie;  // the other one stands on the second bench mark
  std::array<KnownBoring, 3> borings;
};

const KnownJob jobs[] = {
    {"fernhollow",
     {{{"BM1", 5000.0, 5000.0, 100.00}, {"BM2", 5191.275, 4937.412, 115.16}}},
     {"house, NW corner", 5061.87, 4928.31},
     {{{"TP1", 5111.8, 4866.9, 2.0}, {"TP2", 5129.0, 4890.5, 1.9}, {"TP3", 5118.5, 4917.5, 2.1}}}},
    {"ridgeback",
     {{{"BM1", 13412749.709, 1208344.433, 875.93}, {"BM2", 13412549.783, 1208321.425, 865.21}}},
     {"gate post", 13412725.612, 1208330.856},
     {{{"TP1", 13412674.7, 1208302.1, 2.0}, {"TP2", 13412639.2, 1208315.5, 1.9}, {"TP3", 13412603.9, 1208326.8, 2.2}}}},
};

class Axes : public testing::TestWithParam<KnownJob> {
 protected:
  const KnownJob& job = GetParam();
  const SiteResults& site = demo_results(job.name);

  std::vector<KnownPlace> marks() const { return {job.benchmarks[0], job.benchmarks[1], job.tie}; }
};

INSTANTIATE_TEST_SUITE_P(Surveys, Axes, testing::ValuesIn(jobs), [](const auto& info) { return info.param.name; });

/// A feature of one kind by its name: x, y and the numbers in its fields.
std::map<std::string, std::map<std::string, double>> features_of(const std::string& bytes, const char* layer) {
  GDALAllRegister();
  constexpr const char* path = "/vsimem/axes.gpkg";
  std::string kept = bytes;
  VSIFCloseL(VSIFileFromMemBuffer(path, reinterpret_cast<GByte*>(kept.data()), kept.size(), FALSE));
  std::map<std::string, std::map<std::string, double>> found;
  {
    const std::unique_ptr<GDALDataset> data(GDALDataset::Open(path, GDAL_OF_VECTOR));
    for (const auto& feature : *data->GetLayerByName(layer)) {
      auto& values = found[feature->GetFieldAsString("name")];
      const OGRPoint& at = *feature->GetGeometryRef()->toPoint();
      values["x"] = at.getX(), values["y"] = at.getY();
      for (int i = 0; i < feature->GetFieldCount(); ++i) {
        values[feature->GetFieldDefnRef(i)->GetNameRef()] = feature->GetFieldAsDouble(i);
      }
    }
  }
  VSIUnlink(path);
  return found;
}

// A data collector's row is point, northing, easting, elevation, description (P,N,E,Z,D).
TEST_P(Axes, OfMarksInPointsCsv) {
  std::map<std::string, std::vector<double>> rows;
  std::istringstream lines(points_csv(site));
  for (std::string line; std::getline(lines, line);) {
    std::vector<std::string> fields(1);
    for (const char c : line) c == ',' ? void(fields.emplace_back()) : fields.back().push_back(c);
    rows[fields.at(4)] = {std::stod(fields[1]), std::stod(fields[2]), fields[3].empty() ? 0 : std::stod(fields[3])};
  }
  for (const KnownPlace& mark : marks()) {
    std::string name = mark.name;
    std::erase(name, ',');
    const std::vector<double>& at = rows.at((mark.elevation > 0 ? "BM " : "TIE ") + name);
    EXPECT_NEAR(at[0], mark.northing, 1e-6) << mark.name;
    EXPECT_NEAR(at[1], mark.easting, 1e-6) << mark.name;
    EXPECT_NEAR(at[2], mark.elevation, 1e-6) << mark.name;
  }
}

// LandXML 1.2, CgPoint: "northing easting elevation", a space between.
TEST_P(Axes, OfMarksInLandXml) {
  pugi::xml_document document;
  ASSERT_TRUE(document.load_string(surfaces_xml(site).c_str()));
  const pugi::xml_node group = document.child("LandXML").find_child_by_attribute("CgPoints", "name", "marks");
  for (const KnownPlace& mark : marks()) {
    std::istringstream text(group.find_child_by_attribute("CgPoint", "name", mark.name).text().get());
    double northing = 0, easting = 0, elevation = 0;
    text >> northing >> easting;
    EXPECT_NEAR(northing, mark.northing, 1e-6) << mark.name;
    EXPECT_NEAR(easting, mark.easting, 1e-6) << mark.name;
    EXPECT_EQ(static_cast<bool>(text >> elevation), mark.elevation > 0) << mark.name;
    EXPECT_NEAR(elevation, mark.elevation, 1e-6) << mark.name;
  }
}

// OGC GeoPackage 1.3: x is the easting, y the northing, whatever the coordinate system.
TEST_P(Axes, OfMarksAndBoringsInTheGeoPackage) {
  const std::string bytes = site_gpkg(site);
  const auto found = features_of(bytes, "marks");
  for (const KnownPlace& mark : marks()) {
    EXPECT_NEAR(found.at(mark.name).at("y"), mark.northing, 1e-6) << mark.name;
    EXPECT_NEAR(found.at(mark.name).at("x"), mark.easting, 1e-6) << mark.name;
    EXPECT_NEAR(found.at(mark.name).at("elevation"), mark.elevation, 1e-6) << mark.name;
  }
  const auto borings = features_of(bytes, "borings");
  for (const KnownBoring& boring : job.borings) {
    const auto& values = borings.at(boring.name);
    EXPECT_NEAR(values.at("y"), boring.northing, 1e-6) << boring.name;
    EXPECT_NEAR(values.at("x"), boring.easting, 1e-6) << boring.name;
    EXPECT_NEAR(values.at("limiting_depth"), boring.limiting_depth, 1e-9) << boring.name;
    // Depth is down: the layer lies below the ground by it.
    EXPECT_NEAR(values.at("ground_approx") - values.at("limiting_elevation"), boring.limiting_depth, 1e-9)
        << boring.name;
  }
}

TEST_P(Axes, OfMarksOnTheFieldPage) {
  const auto json = nlohmann::json::parse(field_json(site));
  const auto expect_at = [](const nlohmann::json& found, const KnownPlace& mark) {
    EXPECT_EQ(found["name"], mark.name);
    EXPECT_NEAR(found["n"].get<double>(), mark.northing, 1e-6) << mark.name;
    EXPECT_NEAR(found["e"].get<double>(), mark.easting, 1e-6) << mark.name;
  };
  ASSERT_EQ(json["benchmarks"].size(), 2U);
  for (std::size_t i = 0; i < 2; ++i) {
    expect_at(json["benchmarks"][i], job.benchmarks[i]);
    EXPECT_EQ(json["benchmarks"][i]["elevation"], job.benchmarks[i].elevation);
  }
  ASSERT_EQ(json["tie_marks"].size(), 2U);
  expect_at(json["tie_marks"][0], job.tie);
}

}  // namespace
}  // namespace moundwright::io

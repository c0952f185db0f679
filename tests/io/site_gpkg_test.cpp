// site.gpkg read back by GDAL: what is in it, where, and in which coordinate system.
#include "io/site_gpkg.h"

#include <cpl_vsi.h>
#include <gdal_priv.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <cmath>
#include <cstdlib>
#include <map>
#include <memory>
#include <set>

#include "io/gdal.h"
#include "made_jobs.h"
#include "scratch.h"

namespace moundwright::io {
namespace {

/// The file opened by a program that knows nothing of ours.
class Opened {
 public:
  explicit Opened(std::string bytes) : bytes_(std::move(bytes)) {
    GDALAllRegister();
    VSIFCloseL(VSIFileFromMemBuffer(path, reinterpret_cast<GByte*>(bytes_.data()), bytes_.size(), FALSE));
    data_.reset(GDALDataset::Open(path, GDAL_OF_VECTOR | GDAL_OF_VERBOSE_ERROR));
  }
  ~Opened() {
    data_.reset();
    VSIUnlink(path);
  }
  GDALDataset& operator*() { return *data_; }
  GDALDataset* operator->() { return data_.get(); }
  OGRLayer& layer(const char* name) {
    OGRLayer* found = data_->GetLayerByName(name);
    if (found == nullptr) throw std::runtime_error(name);
    return *found;
  }
  std::string one(const char* sql) {
    OGRLayer* result = data_->ExecuteSQL(sql, nullptr, nullptr);
    std::string text;
    for (const auto& row : *result) text += std::string(row->GetFieldAsString(0)) + ";";
    data_->ReleaseResultSet(result);
    return text;
  }

 private:
  static constexpr const char* path = "/vsimem/opened.gpkg";
  std::string bytes_;
  std::unique_ptr<GDALDataset> data_;
};

class SiteGpkg : public testing::TestWithParam<const char*> {
 protected:
  SiteResults site = demo_results(GetParam());
  Opened file{site_gpkg(site)};
};

INSTANTIATE_TEST_SUITE_P(Surveys, SiteGpkg, testing::Values("fernhollow", "ridgeback"),
                         [](const auto& info) { return std::string(info.param); });

TEST_P(SiteGpkg, LayersHoldOneKindOfValidGeometryEach) {
  std::set<std::string> names;
  for (OGRLayer* layer : file->GetLayers()) {
    names.insert(layer->GetName());
    EXPECT_GT(layer->GetFeatureCount(), 0) << layer->GetName();
    for (const auto& feature : *layer) {
      EXPECT_EQ(feature->GetGeometryRef()->getGeometryType(), layer->GetGeomType()) << layer->GetName();
      EXPECT_TRUE(feature->GetGeometryRef()->IsValid()) << layer->GetName() << " " << feature->GetFID();
    }
  }
  for (const char* name : {"shots", "breaklines", "existing_contours", "finished_contours", "toe", "layer_outlines",
                           "bed", "stakes", "marks", "borings", "keep_clear_points", "keep_clear_lines"}) {
    EXPECT_TRUE(names.contains(name)) << name;
  }
}

TEST_P(SiteGpkg, ToeIsTheFootprint) {
  double area = 0;
  for (const auto& feature : file.layer("toe")) {
    area += feature->GetGeometryRef()->toPolygon()->get_Area();
    EXPECT_NEAR(feature->GetFieldAsDouble("plan_area"), feature->GetGeometryRef()->toPolygon()->get_Area(), 0.0501);
  }
  EXPECT_NEAR(area, site.mound().buildup.footprint_area, 0.001);
}

TEST_P(SiteGpkg, BedIsWidthByLength) {
  double area = 0;
  for (const auto& feature : file.layer("bed")) area += feature->GetGeometryRef()->toPolygon()->get_Area();
  const Bed& bed = site.mound().design().bed;
  double length = 0;
  for (std::size_t i = 1; i < bed.line.size(); ++i) length += (bed.line[i] - bed.line[i - 1]).norm();
  EXPECT_NEAR(area, length * bed.width, 0.001);
}

TEST_P(SiteGpkg, StakesAreWhatStakesCsvPrints) {
  OGRLayer& layer = file.layer("stakes");
  ASSERT_EQ(layer.GetFeatureCount(), static_cast<GIntBig>(site.found().stakes.stakes.size()));
  auto stake = site.found().stakes.stakes.begin();
  for (const auto& feature : layer) {
    EXPECT_EQ(feature->GetFieldAsInteger("number"), stake->number);
    EXPECT_EQ(fixed_text(feature->GetGeometryRef()->toPoint()->getX(), 3), fixed_text(stake->easting, 3));
    EXPECT_EQ(fixed_text(feature->GetGeometryRef()->toPoint()->getY(), 3), fixed_text(stake->northing, 3));
    EXPECT_EQ(feature->IsFieldSetAndNotNull(feature->GetFieldIndex("design")), stake->design.has_value());
    if (stake->design) {
      EXPECT_EQ(fixed_text(feature->GetFieldAsDouble("design"), 2), fixed_text(*stake->design, 2));
    }
    ++stake;
  }
}

TEST_P(SiteGpkg, ContoursLieOnTheirSurfaces) {
  for (const auto& feature : file.layer("existing_contours")) {
    const double elevation = feature->GetFieldAsDouble("elevation");
    EXPECT_EQ(elevation, std::round(elevation));
    for (const OGRPoint& p : *feature->GetGeometryRef()->toLineString()) {
      EXPECT_EQ(p.getZ(), elevation);
      EXPECT_NEAR(elevation_at(site.ground(), site.ground().to_local({p.getX(), p.getY()})).value(), elevation, 1e-5);
    }
  }
  std::set<double> elevations;
  for (const auto& feature : file.layer("finished_contours")) elevations.insert(feature->GetFieldAsDouble("elevation"));
  EXPECT_GE(elevations.size(), 3u);
}

TEST_P(SiteGpkg, ShotsKeepTheSurvey) {
  std::size_t i = 0, ground = 0;
  for (const auto& feature : file.layer("shots")) {
    const Shot& shot = site.survey.all.at(i++);
    EXPECT_EQ(feature->GetFieldAsString("point"), shot.point);
    EXPECT_EQ(feature->GetGeometryRef()->toPoint()->getZ(), shot.elevation);
    ground += static_cast<std::size_t>(feature->GetFieldAsInteger("is_ground"));
  }
  EXPECT_EQ(i, site.survey.all.size());
  EXPECT_EQ(ground, site.survey.ground_shots.size());
}

TEST_P(SiteGpkg, HasNoCoordinateSystemButAPlainGridInTheJobsUnit) {
  const OGRSpatialReference* system = file.layer("toe").GetSpatialRef();
  ASSERT_NE(system, nullptr);
  EXPECT_TRUE(system->IsLocal());
  EXPECT_NEAR(system->GetLinearUnits(), metres_per(site.job.site.unit), 1e-12);
}

TEST_P(SiteGpkg, ComesOutTheSameTwiceAndKnowsNoClock) {
  EXPECT_EQ(site_gpkg(site), site_gpkg(demo_results_anew(GetParam())));
  EXPECT_EQ(file.one("SELECT DISTINCT last_change || '' FROM gpkg_contents"), "2000-01-01T00:00:00.000Z;");
}

TEST_P(SiteGpkg, IsSoundToSqlite) { EXPECT_EQ(file.one("PRAGMA integrity_check"), "ok;"); }

TEST(SiteGpkgSystem, IsTheJobs) {
  SiteResults site = demo_results("fernhollow");
  site.job.crs = "EPSG:2253";
  Opened file(site_gpkg(site));
  for (OGRLayer* layer : file->GetLayers()) {
    EXPECT_STREQ(layer->GetSpatialRef()->GetAuthorityCode(nullptr), "2253") << layer->GetName();
  }
}

TEST(SiteGpkgAreas, HaveTheHousesCorners) {
  Opened file(site_gpkg(demo_results("fernhollow")));
  OGRLayer& areas = file.layer("keep_clear_areas");
  ASSERT_EQ(areas.GetFeatureCount(), 1);
  const auto house = OGRFeatureUniquePtr(areas.GetNextFeature());
  EXPECT_STREQ(house->GetFieldAsString("name"), "house");
  EXPECT_EQ(house->GetFieldAsDouble("from_bed"), 20.0);
  EXPECT_EQ(house->GetGeometryRef()->toPolygon()->getExteriorRing()->getNumPoints(), 5);
}

/// Features enough for an index of places, which finds them.
TEST(GeoPackageLayers, OfManyFeaturesHaveAnIndex) {
  const GeoLayer many{"many", "", GeoShape::point, false, {{"number", GeoField::whole}}};
  const GeoLayer few{"few", "", GeoShape::point, false, {{"number", GeoField::whole}}};
  const auto made = gdal().new_geopackage(std::nullopt, LengthUnit::foot, "2000-01-01T00:00:00.000Z");
  for (int i = 0; i < 1000; ++i) {
    const int row = i / 100;
    const GeoPlaces place{{Point3(i % 100, row, 0)}};
    made->add(many, place, {i});
    if (i > 0) made->add(few, place, {i});
  }
  Opened file(made->bytes());
  EXPECT_EQ(file.one("SELECT table_name FROM gpkg_extensions WHERE extension_name = 'gpkg_rtree_index'"), "many;");
  EXPECT_EQ(file.one("SELECT id FROM rtree_many_geom WHERE minx > 41.5 AND maxx < 43 AND miny > 6.5 AND maxy < 8"),
            "743;");
  file.layer("many").SetSpatialFilterRect(41.5, 6.5, 42.5, 7.5);
  EXPECT_EQ(file.layer("many").GetFeatureCount(), 1);
}

}  // namespace
}  // namespace moundwright::io

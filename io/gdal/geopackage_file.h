// GeoPackage by GDAL, in memory until its bytes are taken.
#pragma once

#include <gdal_priv.h>
#include <ogr_spatialref.h>

#include <map>
#include <memory>
#include <string>

#include "io/geopackage.h"

namespace moundwright::io {

class GeoPackageFile : public GeoPackage {
 public:
  GeoPackageFile(OGRSpatialReference system, const std::string& changed);
  ~GeoPackageFile() override;
  GeoPackageFile(const GeoPackageFile&) = delete;
  GeoPackageFile& operator=(const GeoPackageFile&) = delete;

  void add(const GeoLayer& layer, const GeoPlaces& places, const std::vector<GeoValue>& values) override;
  std::string bytes() override;

 private:
  OGRLayer& layer_of(const GeoLayer& layer);

  OGRSpatialReference system_;
  std::string path_;  // in GDAL's memory
  std::unique_ptr<GDALDataset> data_;
  std::map<std::string, OGRLayer*> layers_;
};

}  // namespace moundwright::io

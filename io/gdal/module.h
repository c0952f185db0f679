// What io/gdal.cpp looks for in the module.
#pragma once

namespace moundwright::io {

class Gdal;

inline constexpr const char* gdal_module_entry = "moundwright_gdal";
using GdalModuleEntry = const Gdal*();

}  // namespace moundwright::io

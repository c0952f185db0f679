#include "io/gdal.h"

#include <dlfcn.h>

#include "geom/problem.h"
#include "io/gdal/module.h"

namespace moundwright::io {
namespace {

const Gdal* load() {
  void* module = dlopen(MOUNDWRIGHT_GDAL_MODULE, RTLD_LAZY | RTLD_LOCAL);  // stays open: GDAL's threads may outlive us
  void* entry = module != nullptr ? dlsym(module, gdal_module_entry) : nullptr;
  if (entry == nullptr) {
    throw Refusal({Severity::error, std::string("GDAL's part of the program cannot be loaded: ") + dlerror(),
                   MOUNDWRIGHT_GDAL_MODULE, "build it, or put it back beside the program"});
  }
  return reinterpret_cast<GdalModuleEntry*>(entry)();
}

}  // namespace

const Gdal& gdal() {
  static const Gdal* const loaded = load();
  return *loaded;
}

}  // namespace moundwright::io

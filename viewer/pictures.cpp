#include "viewer/pictures.h"

#include <tbb/parallel_invoke.h>

#include "io/mound_glb.h"
#include "io/pictures_png.h"
#include "viewer/mound_picture.h"

namespace moundwright {

std::vector<FileContent> picture_files(const SiteResults& results) {
  std::vector<FileContent> files = {{"plan.png", {}}, {"section.png", {}}, {"mound.png", {}}, {"mound.glb", {}}};
  tbb::parallel_invoke(
      [&] {
        const std::vector<Solid> solids = layer_solids(results.ground, results.plan, results.buildup);
        files[2].bytes = mound_png(results, solids);
        files[3].bytes = mound_glb(results, solids);
      },
      [&] { files[0].bytes = plan_png(results); }, [&] { files[1].bytes = section_png(results); });
  return files;
}

}  // namespace moundwright

// The pictures and the 3D model of a packet, drawn side by side on all cores.
#pragma once

#include <vector>

#include "io/results.h"
#include "io/text_file.h"

namespace moundwright {

/// plan.png, section.png, mound.png and mound.glb. The last two share the solids, which take time to work out.
std::vector<FileContent> picture_files(const SiteResults& results);

}  // namespace moundwright

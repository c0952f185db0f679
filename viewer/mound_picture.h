// mound.png: the mound seen from below its slope, three quarters round, with the near quarter cut open.
//
//   const std::string png = mound_png(results, layer_solids(results.mound()));
//
// A parallel view, so that lengths along one direction are true to one scale all over the picture. The faces of
// the exact solids are drawn pixel by pixel (face_raster.h), from the sun too (sun_map.h); rays find open sky, and what
// shows at edges of faces and shadows (ray_scene.h): no display and no graphics card. Same job, same bytes.
#pragma once

#include <string>
#include <vector>

#include "geom/solids.h"
#include "io/results.h"

namespace moundwright::viewer {

std::string mound_png(const io::SiteResults& results, const std::vector<Solid>& solids);

}  // namespace moundwright::viewer

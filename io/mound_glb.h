// mound.glb: the mound as a 3D model, glTF 2.0 binary (ISO/IEC 12113): any 3D viewer or web page shows it.
//
//   const std::string bytes = mound_glb(results);
//
// A node, mesh and material for each layer, named as the job names them, then for each cut item ("cut: undercut",
// see-through), then the ground of the survey ("ground"). A layer that adds nothing has no node. Metres, Y up: x east,
// y up, -z north, about the middle of the bed at the bed bottom; the scene's `extras` say where that is on the survey.
// Layers and cuts are closed solids. No normals are given, so that viewers shade every face flat, as glTF has it.
// Coordinates are single floats: good to 0.01 mm over 100 m. Same job, same bytes.
#pragma once

#include <string>
#include <vector>

#include "geom/solids.h"
#include "io/results.h"

namespace moundwright::io {

/// `solids` as layer_solids gives them for these results, where a caller has them already.
std::string mound_glb(const SiteResults& results, const std::vector<Solid>& solids);
std::string mound_glb(const SiteResults& results);

}  // namespace moundwright::io

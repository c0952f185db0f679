// The one place that says what each layer looks like: on sheets, in pictures, in the 3D model and on the screen.
//
//   std::vector<MaterialStyle> styles = layer_styles(results.mound().design());   // styles[k] is layer k's
//
// Colours are the earth's and far enough apart in lightness and hue to be told in print; hatches tell the layers apart
// where there is no colour at all. A layer's look goes by the words in its name and material (stone, sand, topsoil,
// loam), and no two layers of one mound share a look while there are looks left.
#pragma once

#include <vector>

#include "geom/design.h"
#include "io/colour.h"

namespace moundwright::io {

enum class Hatch {
  none,
  fine_dots,    // clean sand
  coarse_dots,  // another sand
  pebbles,      // stone
  slant,        // loam: slanting lines
  tufts,        // topsoil: short strokes close together
  cross,        // crossed slanting lines
  level,        // level dashes
  earth,        // undisturbed ground: groups of three slanting strokes
};

struct MaterialStyle {
  Colour fill;
  Hatch hatch = Hatch::none;
};

enum class LayerKind { sand, stone, loam, topsoil, other };
/// By the words in its material, else in its name.
LayerKind layer_kind(const Layer& layer);

/// One for each layer, in the order they go down.
std::vector<MaterialStyle> layer_styles(const MoundDesign& design);

/// Undisturbed ground, and what is cut out of it.
MaterialStyle ground_style();

/// Of ground that was not surveyed.
Colour assumed_ground_colour();
MaterialStyle cut_style();

}  // namespace moundwright::io

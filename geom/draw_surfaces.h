// The layers as faces to draw, quickly enough to be made anew while the mound is dragged over the lot.
//
//   DrawWork work;                                           // kept from one placement to the next
//   DrawSurfaces s;
//   draw_surfaces(mound, {}, work, s);
//   s.layers[0].top                                          // three points a triangle
//
// What it promises. The faces of a layer enclose the Buildup's own volume: top, underside and vertical walls face
// outward, and their areas add up to nothing in every direction, as those of a closed surface do. Points are not shared
// and neighbours may meet in T-junctions, which no screen shows; for closed meshes see solids.h.
//
// Why it is quick. A top is one plane all over a plan cell, so only where the ground comes up through it is it cut by
// triangles; elsewhere one polygon stands for thousands of them. Cells are halved until the ground under a part is
// clearly above or below every surface (by the boxes of the TIN tree), or few triangles are left. Undersides do follow
// every triangle of the ground: leave them out while nobody looks from below.
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "geom/placed_mound.h"

namespace moundwright {

/// Three points a triangle, counter-clockwise seen from outside the layer; reduced.
struct LayerSurfaces {
  std::vector<Point3> top, underside, walls;
};

struct DrawSurfaces {
  std::vector<LayerSurfaces> layers;  // in the order they go down
};

struct DrawOptions {
  bool undersides = true;
  bool outside_only = false;  // nothing that other layers cover, and no undersides: a fraction of the faces
  /// With outside_only: parts of a top no wider than this, job units, are left whole where the ground comes up through
  /// them, since a renderer that draws the ground hides what lies below it. 0: all are cut.
  double coarse = 0;
  std::optional<PlanLine> keep = {};  // reduced; only what lies on its positive side is drawn, and left open there
};

/// Memory that one placement after another can share.
class DrawWork {
 public:
  DrawWork();
  ~DrawWork();
  DrawWork(DrawWork&&) noexcept;
  DrawWork& operator=(DrawWork&&) noexcept;
  struct Buffers;
  Buffers& buffers() { return *buffers_; }

 private:
  std::unique_ptr<Buffers> buffers_;
};

/// Fills `result`, reusing its memory.
void draw_surfaces(const PlacedMound& mound, const DrawOptions& options, DrawWork& work, DrawSurfaces& result);

}  // namespace moundwright

// Level lines of the mound's own surfaces, from the design's planes: finished contours and the edges of flat tops.
//
//   for (const Contour& c : finished_contours(mound, 1.0)) draw(c.elevation, c.lines);
//   flat_top_outline(place, k)                         // where layer k stands at its full height, or higher
//
// Where the finished surface is made by layers, it stands as high as z exactly inside the union of convex polygons (one
// for each concave piece, cut at z), so its contours are that union's outline. Vertical faces are part of it. All
// lines are in reduced plan coordinates; closed ones repeat their first point. Ends nearer than 1e-6 are joined.
#pragma once

#include "geom/placed_mound.h"

namespace moundwright {

/// Contours of the finished surface inside the toe, at every multiple of `interval` that it reaches. Throws Refusal for
/// an interval that is not above zero, or that would cut the mound more than 10,000 times.
std::vector<Contour> finished_contours(const PlacedMound& mound, double interval);

/// The outline of where layer k's own shape stands at its `top` or higher, whatever lies over it.
std::vector<Polyline2> flat_top_outline(const MoundPlace& mound, std::size_t layer);

}  // namespace moundwright

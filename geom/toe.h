// Where the finished mound meets existing ground, seen from the bed: berm lengths by face.
//
// On an even slope s with side slope b:1, flat top carried r beyond the bed and height h at the bed's edge, the lengths
// are (r + b h) / (1 + b s) upslope and (r + b h) / (1 - b s) downslope (closed form; the width factors of mound
// manuals are the same thing tabulated). Here they are measured on the toe that was found.
#pragma once

#include "geom/buildup.h"

namespace moundwright {

/// Least and greatest are taken over the whole face, between square lines at the ends of the bed's edge; at a bend,
/// only what belongs to the piece. All zero for a face that never meets its toe.
BermLengths berm_lengths(const Ground& ground, const MoundPlan& plan, const ToeLine& toe);

/// The toe's outer loops in the mound frame.
std::vector<Polygon2> toe_in_mound_frame(const Ground& ground, const MoundPlan& plan, const ToeLine& toe);

/// True if a place (reduced) lies in the footprint that counts: inside the outer loops and in none of their holes.
bool encloses(const ToeLine& toe, const Point2& p);

}  // namespace moundwright

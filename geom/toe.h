// Where the finished mound meets existing ground, seen from the bed: berm lengths by face.
//
// On an even slope s with side slope b:1, flat top carried r beyond the bed and height h at the bed's edge, the lengths
// are (r + b h) / (1 + b s) upslope and (r + b h) / (1 - b s) downslope (closed form; the width factors of mound
// manuals are the same thing tabulated). Here they are measured on the toe that was found.
//
// What a length means. It is taken along a line square to the bed's edge, from the edge out to the toe. Where the bed
// bends, such a line counts only within its own piece's side of the bend's bisector: past it the berm belongs to the
// other piece, and is measured from that piece's edge. So on the inside of a bend the edge near the bend has no length
// of its own, and on the outside the wedge between the two pieces' last square lines is on no face. The two lengths at
// a bisector are one, since its points lie equally far from both edges. Inside a bend of short pieces under a long berm
// every line may leave its piece before it meets the toe: then the lines are carried on to the toe, whoever's it is, as
// a tape would be, and as the section is cut.
#pragma once

#include "geom/buildup.h"

namespace moundwright {

/// Least and greatest over all square lines of the face; `middle` on the one at mid-length of the face's edge or, where
/// that line leaves its piece before it meets the toe, on the nearest one that does not. Each line ends at the first
/// place where it meets the toe, and a wall that runs along a line is no place. Where the length jumps, at the end of a
/// wall or where ground stands out of the berm, what the lines come close to on both sides counts. least <= middle <=
/// most. All zero for a face that never meets its toe.
BermLengths berm_lengths(const Ground& ground, const MoundPlan& plan, const ToeLine& toe);

/// The toe's outer loops in the mound frame.
std::vector<Polygon2> toe_in_mound_frame(const Ground& ground, const MoundPlan& plan, const ToeLine& toe);

/// True if a place (reduced) lies in the footprint that counts: inside the outer loops and in none of their holes.
bool encloses(const ToeLine& toe, const Point2& p);

}  // namespace moundwright

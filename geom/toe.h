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

#include <optional>
#include <vector>

#include "geom/compiled_mound.h"

namespace moundwright {

struct ToeLine {
  std::vector<Polygon2> outer;  // counter-clockwise; one, unless a bent bed stands on two parts
  std::vector<Polygon2> holes;  // clockwise: ground that stands out of the finished mound
  double off_survey = 0;        // length of the outline along which the survey ends before the mound meets ground
};

/// Lengths along one face, from the bed's edge to the toe, in plan.
struct BermLength {
  double middle = 0;  // at mid-length of the face
  double least = 0, most = 0;
};
struct BermLengths {
  BermLength upslope, downslope, left, right;
};

/// One stretch of the bed's edge on a face: from left to right for the long faces; `outward` is a unit vector.
struct BedEdge {
  Point2 from, to, outward;  // mound frame
  std::size_t piece;         // of the bed's straight pieces
};
enum class Face { upslope, downslope, left, right };
double on_face(const ByFace& values, Face face);
std::vector<BedEdge> bed_edges(const MoundShape& shape, Face face);

/// Least and greatest over all square lines of the face; `middle` on the one at mid-length of the face's edge or, where
/// that line leaves its piece before it meets the toe, on the nearest one that does not. Each line ends at the first
/// place where it meets the toe, and a wall that runs along a line is no place. Where the length jumps, at the end of a
/// wall or where ground stands out of the berm, what the lines come close to on both sides counts. least <= middle <=
/// most. All zero for a face that never meets its toe.
BermLengths berm_lengths(const MoundPlace& mound, const ToeLine& toe);

/// The toe's outer loops in the mound frame.
std::vector<Polygon2> toe_in_mound_frame(const MoundPlace& mound, const ToeLine& toe);

/// True if a place (reduced) lies in the footprint that counts: inside the outer loops and in none of their holes.
bool encloses(const ToeLine& toe, const Point2& p);

/// Plan distances from `from` (mound frame) in direction `outward` to all crossings of the toe's outer loops,
/// ascending.
std::vector<double> distances_to_toe(const MoundPlace& mound, const ToeLine& toe, const Point2& from,
                                     const Point2& outward);

/// The first of them; nullopt if there is none.
std::optional<double> distance_to_toe(const MoundPlace& mound, const ToeLine& toe, const Point2& from,
                                      const Point2& outward);

}  // namespace moundwright

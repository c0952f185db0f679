// The plan cells laid on the triangles, one convex piece at a time: for checks that measure parts of the plan which the
// kernel has no sums for. Slower than the kernel, and as exact.
//
//   for_each_cell_piece(mound, region, [&](const CellPiece& piece) {
//     Polygon2 bare = clip_convex(piece.outline, above(top_level(mound, *piece.cell)->plane, piece.ground));
//   });
#pragma once

#include <functional>
#include <optional>

#include "geom/placed_mound.h"
#include "geom/plan_cells.h"

namespace moundwright {

/// Where one cell lies on one triangle. Mound frame; heights are above the bed bottom.
struct CellPiece {
  Polygon2 outline;        // convex, counter-clockwise
  PlaneOf<double> ground;  // existing ground
  const PlanCell<double>* cell;
  std::uint32_t triangle;  // of the ground
};

/// Calls f for every piece inside `region`, a convex counter-clockwise polygon in the mound frame.
void for_each_cell_piece(const PlacedMound& mound, const Polygon2& region,
                         const std::function<void(const CellPiece&)>& f);

/// The outermost level of a cell; nullptr where no layer reaches it.
inline const CellLevel<double>* top_level(const MoundPlace& mound, const PlanCell<double>& cell) {
  return cell.level_count == 0 ? nullptr : &mound.cells().levels[cell.first_level + cell.level_count - 1];
}

/// Height above the bed bottom of the highest of all layer shapes at a place (mound frame); nullopt where none reaches.
std::optional<double> finish_height(const MoundPlace& mound, const Point2& uv);

/// Height above the bed bottom of one layer's own shape; nullopt outside a vertical side.
std::optional<double> shape_height(const LayerShape& shape, const Point2& uv);

}  // namespace moundwright

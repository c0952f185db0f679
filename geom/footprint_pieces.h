// The footprint in convex pieces over each of which existing ground, prepared ground and every layer's surface are one
// plane: for integrals that the kernel has no sums for. Slower than the kernel, and as exact.
//
//   for_each_footprint_piece(mound, [&](const FootprintPiece& piece) {
//     area += plan_area(piece.outline) * std::sqrt(1 + square(piece.finish.a) + square(piece.finish.b));
//   });
#pragma once

#include <array>
#include <functional>
#include <optional>
#include <vector>

#include "geom/cell_pieces.h"
#include "geom/placed_mound.h"

namespace moundwright {

/// Mound frame; heights are above the bed bottom.
struct FootprintPiece {
  Polygon2 outline;        // convex, counter-clockwise
  std::uint32_t triangle;  // of the ground
  PlaneOf<double> ground;  // existing
  PlaneOf<double> prepared;
  PlaneOf<double> finish;
  bool in_pit = false;  // prepared ground is the pit's surface
  const PlanCell<double>* cell = nullptr;
  std::optional<std::array<Point2, 2>> toe;  // where the finish meets existing ground along this piece
};

/// Pieces of the footprint that counts; patches left out of the buildup are left out here.
void for_each_footprint_piece(const PlacedMound& mound, const std::function<void(const FootprintPiece&)>& f);

/// The part of a piece over which level i of its cell stands above prepared ground. These parts grow with i.
Polygon2 part_above_prepared(const MoundPlace& mound, const FootprintPiece& piece, std::uint32_t level);

/// Of each layer, the plan area on which it rests on prepared ground and on no layer before it. Square job units.
std::vector<double> contact_areas(const PlacedMound& mound);

/// True area of the finished surface, square job units. Vertical outer faces are not in it.
double finished_area(const PlacedMound& mound);

}  // namespace moundwright

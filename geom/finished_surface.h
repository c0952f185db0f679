// The finished surface by itself, wherever the ground is: which layer is uppermost at a place, and where its flat top
// ends. Mound frame.
#pragma once

#include <optional>

#include "geom/mound_shape.h"

namespace moundwright {

inline constexpr double same_height = 1e-7;  // of heights and distances that are the same number got in two ways

/// Where a place lies on the finished surface: which layer's plane is uppermost there.
struct OnSurface {
  std::size_t layer;
  const ConcavePiece* piece;
  const ShapePlane* plane;
  double height;  // above the bed bottom
};

/// Of layers at one height the later counts: it is the one that lies on top.
std::optional<OnSurface> finished_at(const MoundShape& shape, const Point2& p);

/// The plane that a piece's height is at a place.
const ShapePlane& lowest_plane(const ConcavePiece& piece, const Point2& p);

/// How far along a ray, up to `end`, the flat top reaches: to `end` itself or to where a side plane crosses a top plane
/// and no other plane of the piece lies lower. `before`: how far behind `from` that may be.
std::optional<double> shoulder_on_ray(const ConcavePiece& piece, const Point2& from, const Point2& outward, double end,
                                      double before);

}  // namespace moundwright

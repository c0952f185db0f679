// The design as planes: each layer's own shape in the mound frame, heights above the bed bottom.
//
// Mound frame: u runs along the bed from its left end to its right end (seen looking downslope), v is square to it
// and points downslope; turning u a quarter counter-clockwise gives v. The origin is the middle of the bed's line.
//
// A layer is one concave piece for each straight piece of the bed: the least of some planes on a convex plan region
// bounded by lines, and minus infinity outside. Where pieces overlap, the higher counts. A bend is cut at its
// bisector, the same line for both sides, so that nothing is notched and nothing counted twice. The two pieces reach
// the bisector at one height, but farther out than where the bisectors of a short piece cross, or past the line of a
// near end, one of them may stand higher there: then the layer has an upright face along the bisector.
#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "geom/design.h"
#include "geom/ground.h"

namespace moundwright {

/// Height above the bed bottom: a u + b v + c.
struct ShapePlane : Plane {
  bool is_top = false;  // a top or crown plane, not a side
};

struct ConcavePiece {
  std::vector<PlanLine> inside;    // all of them hold inside
  std::vector<ShapePlane> planes;  // the height is the least of these; none for a region only
};

struct LayerShape {
  std::vector<ConcavePiece> pieces;
};

struct MoundShape {
  std::vector<LayerShape> layers;
  std::vector<ConcavePiece> bed;  // the bed's outline, regions only
  std::vector<ConcavePiece> pit;  // depth below zero counted upward: minus the pit's surface, above its own bottom
  std::vector<Point2> line;       // the bed's centre line in the mound frame, left to right
  double half_width = 0;
  double reach = 0;  // no plane rises above zero farther out than this on level ground
};

/// Where the mound frame lies on the lot.
struct MoundFrame {
  Point2 origin = Point2::Zero();  // easting, northing of the frame's origin
  Point2 along = Point2::UnitX();  // unit vector of u in easting, northing
  Point2 to_world(const Point2& uv) const { return origin + along * uv.x() + across() * uv.y(); }
  Point2 to_mound(const Point2& world) const { return {along.dot(world - origin), across().dot(world - origin)}; }
  Point2 across() const { return left_of(along); }
};

/// The frame of a design whose downslope is known: the bed's line is taken in the order that puts downslope on its
/// left hand. Throws Refusal if `design.downslope` is not set.
MoundFrame frame_of(const MoundDesign& design);

/// Planes of every layer. The design must have passed check_design and have its downslope set.
MoundShape shape_of(const MoundDesign& design);

/// The same with no face upright inside a box (mound frame): where a layer or the pit ends in a vertical side, or at a
/// bisector along which one of its pieces stands higher than the next, it goes on outward, `lean` to 1 of fall steeper
/// than it came, its upper edge staying where it is. Every layer is one unbroken surface then.
MoundShape leaning(MoundShape shape, double lean, const Eigen::AlignedBox2d& within);

}  // namespace moundwright

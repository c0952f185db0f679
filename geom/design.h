// The designed mound, as the designer's drawing gives it: bed, layers, prepared ground. Plain data in the survey's own
// coordinates (easting x, northing y) and the job's own length unit. How the parts combine on the ground is in
// plan_cells.h and buildup.h; what else a plan shows is in lot.h.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "geom/problem.h"

namespace moundwright {

/// One value a face. Faces are named looking downslope: `left` and `right` are the ends.
struct ByFace {
  double upslope = 0, downslope = 0, left = 0, right = 0;
  static ByFace all(double value) { return {value, value, value, value}; }
};

/// The bed: a strip of even width along a centre line of two points (straight) or more (bent along the contour,
/// or L-shaped). Points are easting, northing.
struct Bed {
  std::vector<Eigen::Vector2d> line;
  double width = 0;
};

/// A straight bed from its centre, the azimuth of its long axis (degrees clockwise from grid north) and its length.
Bed straight_bed(const Eigen::Vector2d& center, double azimuth, double length, double width);

/// A layer's own shape, heights measured from the bed bottom: the least of its planes, so that it is concave.
struct Layer {
  std::string name;
  std::string material;
  double top = 0;    // of the flat top, or of its long edges where it is crowned
  double crown = 0;  // how much higher than `top` the middle of the top stands
  ByFace beyond;     // plan distance the flat top is carried past the bed's edge
  ByFace side;       // run to 1 of rise; 0 is vertical
  bool round_corners = false;
};

/// A pit under the bed with a flat bottom.
struct Undercut {
  double elevation = 0;  // of its bottom
  ByFace beyond;         // plan distance of the flat bottom past the bed's edge
  ByFace side;           // run to 1 of rise of its sides, outward; 0 is vertical
};

struct Prepare {
  bool scarify = true;  // loosened in place: an area to price, no change of elevation
  double strip = 0;     // depth taken off inside the footprint
  std::optional<Undercut> undercut;
};

struct MoundDesign {
  Bed bed;
  std::optional<double> bottom_elevation;  // exactly one of these two is given
  std::optional<double> least_sand;        // least sand under the bed; sets the bed bottom from the ground
  std::optional<double> downslope;         // azimuth water runs, degrees; found from the ground where not given
  Prepare prepare;
  std::vector<Layer> layers;             // in the order they go down
  std::optional<double> lateral_invert;  // above the bed bottom
};

/// Sizes that cannot be built (zero or negative, not finite, a crown below zero, no layers, a layer named twice, a
/// bed line that doubles back, crosses or closes on itself, bends too tight for a layer's top) or are beyond limits.h.
/// `where` of each problem is the job file's dotted key, such as `layer.core.top`.
Problems check_design(const MoundDesign& design);

}  // namespace moundwright

// The designed mound, as the designer's drawing gives it: bed, layers, prepared ground, what the plan asks for.
// Plain data in the survey's own coordinates (easting x, northing y) and the job's own length unit. How the
// parts combine on the ground is in plan_cells.h and buildup.h.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "geom/estimate_plan.h"
#include "geom/problem.h"
#include "geom/units.h"

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

/// Depth to the limiting soil layer found at a place.
struct Boring {
  std::string name;
  Eigen::Vector2d at = Eigen::Vector2d::Zero();
  double limiting_depth = 0;  // below existing ground
};

/// Something the mound must keep away from: a point, a line or (closed) an area.
struct KeepClear {
  std::string name;
  std::vector<Eigen::Vector2d> line;
  bool closed = false;
  std::optional<double> from_bed;  // least plan distance asked of the bed
  std::optional<double> from_toe;  // least plan distance asked of the toe
};

/// What the plan and the local code ask; each optional, checked where given.
struct Requirements {
  std::optional<double> separation;  // bed bottom above the limiting layer
  std::vector<Boring> borings;
  std::optional<double> daily_flow;        // gallons a day; litres in a metric job
  std::optional<double> loading_rate;      // of the soil, gallons a day a square foot; litres a day a square metre
  std::optional<double> least_basal_area;  // square feet or square metres, where given instead of flow and rate
  std::vector<KeepClear> keep_clear;
};

/// A place the stakes show besides bed and toe: feed riser, lateral end, port, pipe end.
struct FeedPoint {
  std::string name;
  Eigen::Vector2d at = Eigen::Vector2d::Zero();
  std::optional<double> elevation;  // design elevation, where it has one
};

/// A known mark: bench mark or tie point.
struct Mark {
  std::string name;
  Eigen::Vector2d at = Eigen::Vector2d::Zero();
  std::optional<double> elevation;
};

struct MoundDesign {
  Bed bed;
  std::optional<double> bottom_elevation;  // exactly one of these two is given
  std::optional<double> least_sand;        // least sand under the bed; sets the bed bottom from the ground
  std::optional<double> downslope;         // azimuth water runs, degrees; found from the ground where not given
  Prepare prepare;
  std::vector<Layer> layers;             // in the order they go down
  std::optional<double> lateral_invert;  // above the bed bottom
  Requirements requirements;
};

/// Everything one job says about one mound on one lot, besides the shots.
struct SiteDesign {
  std::string title;
  LengthUnit unit = LengthUnit::foot;
  MoundDesign mound;
  std::optional<Mark> benchmark;
  std::optional<Mark> second_benchmark;  // to check the first one on
  std::vector<Mark> ties;                // tape ties are given from the first two
  std::vector<FeedPoint> feed;
  double end_area_interval = 5.0;  // between the sections of the end-area check
  double station_interval = 10.0;  // between slope stakes along a face
  double hub_clearance = 5.0;      // hubs stand at a whole multiple of this beyond the toe
  EstimatePlan estimate;           // materials, prices, rates; all optional
};

/// Sizes that cannot be built (zero or negative, not finite, a crown below zero, no layers, a layer named twice, a
/// bed line that doubles back, crosses or closes on itself, bends too tight for a layer's top) or are beyond limits.h.
/// `where` of each problem is the job file's dotted key, such as `layer.core.top`.
Problems check_design(const MoundDesign& design);

}  // namespace moundwright

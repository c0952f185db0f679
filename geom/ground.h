// The surveyed ground: a constrained Delaunay triangulation (TIN) of the shots, ready to be asked.
//
//   GroundReport report;
//   Ground ground = make_ground(shots, breaklines, {.longest_edge = 80.0}, &report);
//   auto z = elevation_at(ground, ground.to_local({easting, northing}));   // nullopt off the survey
//   Plane fall = fit_plane(ground, bed_outline);                           // least squares over an area
//
// Plan coordinates inside are reduced: x = easting - origin.x, y = northing - origin.y, so that state-plane
// values in the millions lose nothing. Elevations are kept as they are. Triangles are counter-clockwise seen
// from above, and both triangles and points are stored along a Hilbert curve, so that neighbours on the lot
// are neighbours in memory. `Ground` does not know mounds.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "geom/plan.h"
#include "geom/problem.h"
#include "geom/shot_files.h"
#include "geom/tin_tree.h"

namespace moundwright {

/// A surveyed point as it was read, in the survey's own coordinates.
struct Shot {
  std::string point;  // the survey's own number or name
  double northing = 0;
  double easting = 0;
  double elevation = 0;
  std::string description;
  int line = 0;  // line of the file it was read from, 0 if none
};

/// Shots joined by a line that the triangles must keep: indices into the shots given to make_ground.
using Breakline = std::vector<std::size_t>;

/// Within these two shots are one place, shot twice. Job units; left out, only what rounding does. What a job's shots
/// are held to is in one_place.h.
struct OnePlace {
  double plan = 1e-6;       // how far apart they may stand
  double elevation = 1e-6;  // how much their elevations may differ
};

struct GroundOptions {
  double longest_edge = std::numeric_limits<double>::infinity();  // no outside triangle has a longer free edge
  double crossing_tolerance = 0.1;  // breaklines that cross may disagree by this much in elevation before it is told
  double bust_factor = 8.0;         // how far out of line with its neighbours a shot may stand; see find_busts
  OnePlace one_place{};
  ShotFiles files{};               // that the shots were read from, for messages
  std::size_t shots_left_out = 0;  // of the survey before it came here: a shot may stand alone for it
  double extend = 0;               // how far the ground is carried on past the survey's outside; see ground_margin.h
};

/// The triangulated ground. `shot_of_point` leads back to the shots given to make_ground.
struct Ground {
  Point2 origin = Point2::Zero();           // easting, northing of reduced (0, 0)
  std::vector<Point3> points;               // reduced; along the Hilbert curve
  std::vector<std::int64_t> shot_of_point;  // index of the (first) shot a point came from; -1 where it was worked out:
                                            // where two breaklines cross, and at the outside of assumed ground
  TinTree<double> tree;                     // triangles, neighbours and boxes over them

  double total_area = 0;  // plan, of surveyed ground
  Plane trend{};          // least-squares plane of all surveyed ground; tree elevations are residuals from it

  double extended = 0;        // as GroundOptions::extend
  std::vector<bool> assumed;  // by triangle: not surveyed, but carried on past the survey; empty where none is

  Point2 to_local(const Point2& easting_northing) const { return easting_northing - origin; }
  Point2 to_world(const Point2& reduced) const { return reduced + origin; }
  std::size_t triangle_count() const { return tree.triangles.size(); }
  bool is_assumed(std::uint32_t triangle) const { return !assumed.empty() && assumed[triangle]; }
};

/// What make_ground has to say besides the ground itself; problems carry shot names and file lines.
struct GroundReport {
  Problems problems;
  std::size_t merged_duplicates = 0;  // shots left out because another is at the same place and elevation
  std::size_t averaged_shots = 0;     // shots that went into a mean with the one before
  std::size_t walls = 0;              // pairs of breaklines that share their places at two elevations
  std::size_t trimmed_triangles = 0;
};

/// Triangulates. Throws Refusal for fewer than three shots, all shots in line, numbers that are not finite, and
/// shots at one place with different elevations (both lines named) that are not a wall (walls.h). Shots at one place
/// within `one_place` are averaged and told. Shots that look like busts are told as warnings (find_busts).
Ground make_ground(const std::vector<Shot>& shots, const std::vector<Breakline>& breaklines = {},
                   const GroundOptions& options = {}, GroundReport* report = nullptr);

/// Elevation of the ground at reduced p, or nullopt outside the triangles. A place within 1e-7 of the outside counts as
/// on it, so that a shot at the edge of the survey has its own elevation whatever its coordinates lost in reducing.
std::optional<double> elevation_at(const Ground& ground, const Point2& p);
/// The ground there is assumed (see Ground::assumed). False off the ground altogether.
bool is_assumed_at(const Ground& ground, const Point2& p);
/// The triangle there; nullopt off the survey. On an edge or a corner, one of those that meet.
std::optional<std::uint32_t> triangle_at(const Ground& ground, const Point2& p);

/// Indices of the triangles that meet a convex polygon (reduced, counter-clockwise): share area, an edge or a point
/// with it. Ascending. Give two places or more: round a single one, triangles that only lie near it are given too.
std::vector<std::uint32_t> triangles_meeting(const Ground& ground, const Polygon2& convex);

/// Area of ground inside a convex polygon, and the plane that fits it best (least squares over the area, exact
/// integrals, not over the shots). Nullopt where no ground lies inside.
struct GroundFit {
  Plane plane{};                 // reduced plan coordinates
  double covered_area = 0;       // plan area of the polygon that has ground under it
  double slope = 0;              // steepest rise per unit run, not percent
  double downslope_azimuth = 0;  // degrees clockwise from north, the way water runs
};
std::optional<GroundFit> fit_plane(const Ground& ground, const Polygon2& convex);

/// The highest or lowest ground inside a convex polygon, where it is, and which shots carry that place: one where it
/// is a shot, two where an edge between two shots crosses the polygon's edge, three inside a triangle. Nullopt where no
/// ground lies inside.
struct GroundExtreme {
  Point2 at = Point2::Zero();
  double elevation = 0;
  std::vector<std::int64_t> shots;  // as shot_of_point
};
std::optional<GroundExtreme> highest_ground(const Ground& ground, const Polygon2& convex);
std::optional<GroundExtreme> lowest_ground(const Ground& ground, const Polygon2& convex);
/// Of the first of them no more than its elevation; allocates nothing for a polygon of up to 21 corners.
std::optional<double> highest_elevation(const Ground& ground, const Polygon2& convex);

/// Contour lines at every multiple of `interval`: elevation, and the polylines at it (closed ones repeat their
/// first point). Higher ground lies to the left. Flat triangles at exactly a contour's level give the outline of the
/// flat, in pieces where lower, higher and no ground lie beyond it. Throws Refusal for an interval that is not above
/// zero, or so small that it would cut the ground more than 10,000 times.
struct Contour {
  double elevation = 0;
  std::vector<Polyline2> lines;
};
std::vector<Contour> contours(const Ground& ground, double interval);

/// The outside of the ground, assumed ground included: counter-clockwise outer rings and clockwise holes (reduced).
std::vector<Polygon2> outline(const Ground& ground);
/// The outside of what was surveyed, the same way.
std::vector<Polygon2> surveyed_outline(const Ground& ground);

/// What was surveyed, without assumed ground.
struct SurveyedCounts {
  std::size_t points = 0, triangles = 0;
};
SurveyedCounts surveyed_counts(const Ground& ground);

}  // namespace moundwright

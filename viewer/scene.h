// What the window draws, as plain triangles, lines and labels: no screen in here.
//
//   SitePicture site = site_picture(session.site());                  // once
//   MoundPicture mound = draw_mound(session, site.frame, options, work);   // at every nudge
//
// Positions are single precision about the frame's origin, z from the lowest ground, so that the whole scene can be
// stretched upward in place. Colours are what the screen shall show: light is worked into them here, from the
// north-west and above as on a map, and the window adds none.
#pragma once

#include <Eigen/Core>
#include <Eigen/Geometry>
#include <array>
#include <cstdint>
#include <limits>
#include <memory>
#include <string>
#include <vector>

#include "geom/draw_surfaces.h"
#include "geom/sections.h"
#include "geom/surfaces.h"
#include "io/colour.h"
#include "viewer/edit_session.h"

namespace moundwright::viewer {

using DrawPoint = std::array<float, 3>;

struct Triangles {
  std::vector<DrawPoint> points, colours;  // one colour a point
  std::vector<std::array<std::int32_t, 3>> corners;
};

struct Lines {
  std::vector<DrawPoint> points;
  std::vector<std::array<std::int32_t, 2>> ends;
  io::Colour colour;
  float width = 1;  // pixels
};

struct Dots {
  std::vector<DrawPoint> points;
  io::Colour colour;
  float size = 1;  // pixels
};

enum class LabelKind { contour, feature, stake, berm, layer };

struct SceneLabel {
  DrawPoint at;
  std::string text;
  LabelKind kind;
  std::size_t layer = 0;  // of LabelKind::layer
};

/// Where the scene's own coordinates lie.
struct SceneFrame {
  Point3 origin = Point3::Zero();  // reduced
  double size = 1;                 // across the lot
  double relief = 0;               // of its ground
  double base = 0;                 // z in the scene of the foot of the block that the ground stands on
  DrawPoint at(const Point3& reduced) const;
};
SceneFrame scene_frame(const Ground& ground);

/// In plan, in the scene's own coordinates.
using SceneBox = Eigen::AlignedBox2f;

/// Neighbouring triangles or lines: what a cut leaves whole is not uploaded again.
template <class What>
struct Tile {
  What drawn;
  SceneBox box;
  std::uint32_t first = 0;  // of ground: the first of its triangles, the others follow
};
/// Of each of the ground's points: how light it is there, about 1.
using GroundLight = std::vector<float>;
GroundLight ground_light(const Ground& ground);
std::vector<Tile<Triangles>> ground_tiles(const Ground& ground, const SceneFrame& frame, const GroundLight& light);

/// A vertical cut: what lies on the positive side of the line (reduced) stays.
struct Slice {
  Point2 through = Point2::Zero();  // reduced
  Point2 along = Point2::UnitX();   // unit vector; what stays lies on its left
  PlanLine keep() const;
};

/// The same a little farther in, where lines no longer lie in the cut face.
Slice behind_face(const Slice& slice, const SceneFrame& frame);

enum class TileCut { whole, gone, crossed };
TileCut cut_of(const SceneBox& box, const SceneFrame& frame, const Slice& slice);
bool is_kept(const DrawPoint& p, const SceneFrame& frame, const Slice& slice);
Triangles cut_triangles(const Triangles& triangles, const SceneFrame& frame, const Slice& slice);

/// The sides of the block that the ground stands on.
Triangles ground_skirt(const Ground& ground, const SceneFrame& frame);

struct ContourLines {
  std::vector<Tile<Lines>> fine, heavy;  // every fifth is heavy, and labelled
  std::vector<SceneLabel> labels;
  double interval = 0;
};
ContourLines contour_lines(const Ground& ground, const SceneFrame& frame);

/// Breaklines, bench mark, ties, borings, feed and keep-clear features, laid on the ground.
struct Features {
  std::vector<Lines> lines;
  std::vector<SceneLabel> labels;
};
Features site_features(const io::SiteResults& site, const SceneFrame& frame);
Dots shot_dots(const io::SiteResults& site, const SceneFrame& frame);

/// All that stays as it is while the mound moves.
struct SitePicture {
  SceneFrame frame;
  std::shared_ptr<const GroundLight> light;
  std::vector<Tile<Triangles>> ground;
  Triangles skirt;
  ContourLines contours;
  Features features;
  Dots shots;
};
SitePicture site_picture(const io::SiteResults& site, const io::Progress& progress = {});

/// The part of some lines that a cut leaves.
Lines cut_lines(const Lines& lines, const SceneFrame& frame, const Slice& slice);

/// The layers' colours on the screen: their own, none so dark that a label on it could not be read.
std::vector<io::Colour> screen_colours(const MoundDesign& design);

struct MoundOptions {
  double lift = 0;  // each layer above the one below it, in job units
  std::optional<Slice> slice;
  bool outside_only = false;  // all layers are shown, none lifted: what the others cover need not be drawn
  bool ground_hides = false;  // the ground is shown: what lies below it need not be cut off
};

struct MoundWork {
  DrawWork draw;
  DrawSurfaces surfaces;
};

struct MoundPicture {
  std::vector<Triangles> layers;     // in the order they go down
  std::vector<Triangles> cut_faces;  // of each layer, where it is sliced; then of the ground
  std::vector<Lines> cut_edges;      // round them, in the same order
  std::vector<Lines> leaders;        // from each lifted layer to its name
  Lines toe, bed;                    // bed: its outline, on the finished surface
  Lines berms;                       // dimensions from the bed's edge to the toe
  std::vector<SceneLabel> labels;
};

/// Everything that follows the mound. Where the session has no Buildup, only the bed's outline on the ground.
void draw_mound(const EditSession& session, const SceneFrame& frame, const MoundOptions& options, MoundWork& work,
                MoundPicture& picture);

/// From where the scene is looked at, in its own coordinates with heights stretched.
struct Eye {
  Eigen::Vector3f at = Eigen::Vector3f::Zero();
  double stretched = 1;             // heights
  bool sees_mound = true;           // false: it is taken apart, and hides nothing
  std::optional<Slice> slice = {};  // what it takes away hides nothing
};

/// Whether the lot, or the mound on it, stands between the eye and a place (before stretching).
bool is_hidden(const EditSession& session, const SceneFrame& frame, const Eye& eye, const DrawPoint& place);

/// How far across the mound reaches, toe to toe: what a view has to hold.
double picture_size(const EditSession& session, const SceneFrame& frame);

/// The ground opened where something is dug out of it.
struct DugPicture {
  std::vector<std::uint32_t> opened;  // triangles of the ground that are not to be drawn, ascending
  SceneBox box;                       // round them
  Triangles undug, strip, undercut;
  Lines contours, heavy_contours;  // in the stead of those on the opened triangles
};
/// `interval`: of the contours.
DugPicture dug_picture(const DugGround& dug, const Ground& ground, const GroundLight& light, const SceneFrame& frame,
                       double interval);
/// A tile of the ground without the triangles that are opened; of contours, without what lies on those.
Triangles opened_tile(const Tile<Triangles>& tile, const std::vector<std::uint32_t>& opened);
Lines opened_lines(const Lines& lines, const Ground& ground, const SceneFrame& frame,
                   const std::vector<std::uint32_t>& opened);
/// Whether a place in the scene lies on one of them.
bool is_opened(const DrawPoint& at, const Ground& ground, const SceneFrame& frame,
               const std::vector<std::uint32_t>& opened);

/// Of the earth that is laid bare.
io::Colour strip_colour();
io::Colour undercut_colour();

struct StakePicture {
  Lines hubs, slopes, feed;
  std::vector<SceneLabel> labels;
};
StakePicture stake_picture(const Ground& ground, const StakeOut& stakes, const SceneFrame& frame, LengthUnit unit);

}  // namespace moundwright::viewer

// The mound on its ground: every layer's volume, area, thickness and centroid, the cut, and the toe.
//
//   MoundPlan plan = plan_mound(design);              // once per design; moving, turning, raising need no other
//   Buildup b = build_up(ground, plan);               // once per placement, in microseconds
//   b.layers[0].volume, b.berm.downslope.middle, ...
//
// Everything downstream (takeoff, toe, stakes, sections, solids) reads a Buildup and never the kernel. Volumes are
// exact on the triangles, in cubic job units; plan coordinates are the ground's reduced ones. How it is computed is in
// buildup_kernel.h. Footprint: where the highest layer shape stands above existing ground. Layer k fills it from the
// prepared ground and the layers before it up to its own shape: S_k = max(S_(k-1), F_k), S_0 the prepared ground.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "geom/design.h"
#include "geom/ground.h"
#include "geom/mound_shape.h"

namespace moundwright {

template <class FT>
struct PlanCells;  // plan_cells.h

/// A design made ready: its cells and where its frame lies. Copy it and change `placement` to move or turn the mound,
/// `design.bottom_elevation` or `design.least_sand` to raise it.
struct MoundPlan {
  MoundDesign design;
  MoundShape shape;
  std::shared_ptr<const PlanCells<double>> cells;
  Placement placement;
  std::vector<Polygon2> bed_outlines;  // mound frame, one convex piece for each straight piece of the bed
};

/// Compiles a design whose downslope is set. Throws Refusal with what check_design finds.
MoundPlan plan_mound(const MoundDesign& design);

/// Lengths along one face, from the bed's edge to the toe, in plan.
struct BermLength {
  double middle = 0;  // at mid-length of the face
  double least = 0, most = 0;
};
struct BermLengths {
  BermLength upslope, downslope, left, right;
};

struct LayerResult {
  std::string name, material;
  double volume = 0;                               // in place, neat
  double plan_area = 0;                            // where it adds something
  double thickness_least = 0, thickness_most = 0;  // under the bed if it lies there, else under its own flat top
  Point3 centroid = Point3::Zero();                // reduced
};

struct CutItem {
  std::string name;  // "strip", "undercut"
  double volume = 0;
  double plan_area = 0;
  Point3 centroid = Point3::Zero();
};

struct ToeLine {
  std::vector<Polygon2> outer;  // counter-clockwise; one, unless a bent bed stands on two parts
  std::vector<Polygon2> holes;  // clockwise: ground that stands out of the finished mound
  double off_survey = 0;        // length of the outline along which the survey ends before the mound meets ground
};

struct Buildup {
  double bottom_elevation = 0;
  std::optional<GroundExtreme> governing;  // the highest existing ground under the bed
  double sand_least = 0, sand_most = 0;    // bed bottom to prepared ground, under the bed
  std::vector<LayerResult> layers;
  std::vector<CutItem> cuts;
  double footprint_area = 0, footprint_perimeter = 0;
  double specks_area = 0;  // left out: patches that do not meet the bed
  std::size_t specks = 0;
  ToeLine toe;
  BermLengths berm;

  double total_fill() const;
  double total_cut() const;
};

/// Memory that one placement after another can share; one a thread.
class BuildupWork {
 public:
  BuildupWork();
  ~BuildupWork();
  BuildupWork(BuildupWork&&) noexcept;
  BuildupWork& operator=(BuildupWork&&) noexcept;
  struct Buffers;
  Buffers& buffers() { return *buffers_; }

 private:
  std::unique_ptr<Buffers> buffers_;
};

/// Builds the mound up on the ground. Never refuses a placement that is only bad (a berm that runs off the survey,
/// ground above the bed bottom): that is for check_plan to tell. Throws Refusal where there is no ground under the bed
/// at all and the bed bottom hangs on it.
Buildup build_up(const Ground& ground, const MoundPlan& plan, BuildupWork& work);
Buildup build_up(const Ground& ground, const MoundPlan& plan);

/// Bed bottom: as given, or highest existing ground under the bed - strip + least sand.
double bed_bottom(const Ground& ground, const MoundPlan& plan, std::optional<GroundExtreme>* governing = nullptr);

/// The bed's outlines in the ground's reduced coordinates.
std::vector<Polygon2> bed_on_ground(const Ground& ground, const MoundPlan& plan);

/// One stretch of the bed's edge on a face: from left to right for the long faces; `outward` is a unit vector.
struct BedEdge {
  Point2 from, to, outward;  // mound frame
  std::size_t piece;         // of the bed's straight pieces
};
enum class Face { upslope, downslope, left, right };
double on_face(const ByFace& values, Face face);
std::vector<BedEdge> bed_edges(const MoundShape& shape, Face face);

/// Plan distances from `from` (mound frame) in direction `outward` to all crossings of the toe's outer loops,
/// ascending.
std::vector<double> distances_to_toe(const Ground& ground, const MoundPlan& plan, const ToeLine& toe,
                                     const Point2& from, const Point2& outward);

/// The first of them; nullopt if there is none.
std::optional<double> distance_to_toe(const Ground& ground, const MoundPlan& plan, const ToeLine& toe,
                                      const Point2& from, const Point2& outward);

}  // namespace moundwright

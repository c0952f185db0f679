// The mound on its ground: every layer's volume, area, thickness and centroid, the cut, and the toe.
//
//   const MoundPlace place = place_as_drawn(ground, design);   // compiled once a design
//   const Buildup b = build_up(place);                         // once a placement, in microseconds
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

#include "geom/compiled_mound.h"
#include "geom/toe.h"

namespace moundwright {

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
Buildup build_up(const MoundPlace& place, BuildupWork& work);
Buildup build_up(const MoundPlace& place);

/// What a placement comes to and nothing else, for a search among thousands of them.
struct PlacementSums {
  double bottom_elevation = 0;
  std::vector<double> fill;        // by layer, in place, neat
  double strip = 0, undercut = 0;  // volumes
  double footprint_area = 0;
};

/// The sums of build_up to rounding, in less time. `result` is used again from one placement to the next: nothing is
/// allocated once it and `work` have grown, but where the mound has upright sides, a hole, or specks. Throws as
/// build_up.
void sum_up(const MoundPlace& place, BuildupWork& work, PlacementSums& result);

/// Bed bottom: as given, or highest existing ground under the bed - strip + least sand.
double bed_bottom(const MoundPlace& place, std::optional<GroundExtreme>* governing = nullptr);

}  // namespace moundwright

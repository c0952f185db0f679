// What is shot at each stage of building, before the next layer hides it.
//
//   for (const BuildStage& stage : build_stages(place_mound(place), LengthUnit::foot))
//     stage.name                 // "stone, to the lateral invert"
//     stage.points[0].name       // "upslope edge, left end"
//     *stage.points[0].design    // elevation it is built to
//
// Stages come in the order the layers go down: prepared ground first, then one for each layer, and one for the lateral
// invert on the way up to the top of the layer that holds it. A layer that stands higher over the bed than all before
// it is shot over the bed: a level one along both edges and at the middle, a crowned one at the edges of its flat top
// and along its ridge. One that only lies round the others (a shell) is shot at the middle of its level top on each
// face. Cross-sections are at both ends of the bed and at the middle of each straight piece.
//
// Limits: prepared ground follows the TIN, which is good to a few tenths only, so it has no grade to be kept except
// the bottom of an undercut; what it must keep is the least sand, `highest`.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geom/placed_mound.h"
#include "geom/units.h"

namespace moundwright {

struct StagePoint {
  std::string name;
  Point2 at = Point2::Zero();     // easting, northing
  std::optional<double> design;   // elevation it is built to
  std::optional<double> ground;   // prepared ground from the TIN, approximate; only where there is no design
  std::optional<double> highest;  // prepared ground above this leaves less than the least sand
};

enum class StageKind { prepared, layer, lateral_invert };

struct BuildStage {
  StageKind kind = StageKind::layer;
  std::string name;
  bool on_bed = false;                    // level under, in or over the stone bed: kept closer than the rest
  std::optional<double> least_thickness;  // over the prepared ground at the point of the same name
  std::vector<StagePoint> points;
};

/// `unit` says how elevations are printed: `highest` is the printed bed bottom less the printed least sand.
std::vector<BuildStage> build_stages(const PlacedMound& mound, LengthUnit unit);

}  // namespace moundwright

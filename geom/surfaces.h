// The mound's surfaces as TINs: prepared ground, the ground after each layer, and the whole finished lot.
//
//   MoundSurfaces surfaces = mound_surfaces(place_mound(place));
//   surfaces.after_layers[k]       // what is there when layer k is in place
//
// Each is one elevation at a place, without T-junctions. Prepared ground and the surfaces after the layers are all on
// one plan, the footprint, and so the volume of a layer is the integral of its surface minus that of the one before.
//
// A TIN cannot stand upright, so vertical faces lean: outward by `face_lean` to 1 of height, with their upper edge
// where the plan has it; so do steps along the bisector of a bend (mound_shape.h). A wall 2 ft high is out of plumb by
// 0.0004 ft, and takes 0.0004 cubic feet a foot more sand.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "geom/placed_mound.h"

namespace moundwright {

inline constexpr double face_lean = 0.0002;  // run to 1 of rise

struct Tin {
  std::vector<Point3> points;                           // reduced
  std::vector<std::array<std::uint32_t, 3>> triangles;  // counter-clockwise seen from above
};

struct MoundSurfaces {
  Tin prepared;
  std::vector<Tin> after_layers;  // in the order of Buildup::layers
  Tin finished_lot;               // the ground with the mound on it, as far as the survey goes
};

/// The same mound in the same place, its bed bottom as the Buildup has it, with no face upright inside the toe.
MoundPlace leaning(const PlacedMound& mound);

/// Empty TINs where there is no footprint, and the ground itself.
MoundSurfaces mound_surfaces(const PlacedMound& mound);

/// What of the prepared ground is to be seen dug out.
struct DugItems {
  bool strip = true, undercut = true;
  friend bool operator==(const DugItems&, const DugItems&) = default;
};

/// The ground opened under the mound, as it is before the first layer goes in. For drawing: three points a triangle,
/// counter-clockwise seen from above or from inside the pit, T-junctions where ground triangles meet. Reduced.
struct DugGround {
  std::vector<std::uint32_t> opened;  // triangles of the ground in whose stead the rest stands; ascending
  std::vector<Point3> undug;          // surveyed ground, round the mound and under it where nothing is dug
  std::vector<Point3> strip;          // the stripped floor, which lies along the surveyed ground
  std::vector<Point3> strip_sides;    // upright, from that floor up to the ground
  std::vector<Point3> undercut;       // bottom and sides of the pit
};

/// Nothing is opened where nothing is dug; of two items, one alone is dug
/// from the surveyed ground, as if the other were not in the design.
DugGround dug_ground(const PlacedMound& mound, const DugItems& items = {});

/// The ground as it was surveyed.
Tin ground_tin(const Ground& ground);

/// Integral of elevation above `datum` over the TIN's plan, cubic job units.
double volume_above(const Tin& tin, double datum);

}  // namespace moundwright

// The mound cut at lift elevations: what each lift takes of each layer, so that core and shell rise together.
//
//   LiftPlan lifts = cut_in_lifts(mound, {0.75, {"core", "shell"}}, LengthUnit::foot);
//   lifts.lifts[2].parts[0].in_place       // yards of core in the third lift
//
// Lift lines lie at whole lift depths from the bed bottom, up and down, so that the core ends on one. Exact: a layer
// cut off at an elevation is the least of its own planes and a level one, a layer again, and so the kernel computes the
// lifts as layers of a longer design, in the order they are placed. The lifts of a layer add up to the layer.
#pragma once

#include <string>
#include <vector>

#include "geom/estimate_plan.h"
#include "geom/placed_mound.h"
#include "geom/yards.h"

namespace moundwright {

struct LiftPart {
  std::string layer, material;
  CompactedYards in_place;  // neat
  CompactedYards face;      // lost at this layer's vertical faces
  CompactedYards pressed;   // into scarified ground
  CompactedYards placed() const { return in_place + face + pressed; }
};

struct Lift {
  int number = 0;               // from 1, lowest first
  double bottom = 0, top = 0;   // elevations
  std::vector<LiftPart> parts;  // in the order they are placed; those that have something in this lift
};

/// A line of its own beside the neat yards.
struct InterfaceLine {
  std::string layer, material;
  std::string what;  // "lost at the core's face", "pressed into scarified ground"
  CompactedYards in_place;
  double area = 0;  // square job units of face, or of ground it rests on
};

struct LiftPlan {
  double depth = 0;
  std::vector<Lift> lifts;
  std::vector<InterfaceLine> interface;
};

/// Throws Refusal for a depth that is not above zero or cuts more than 200 lifts.
LiftPlan cut_in_lifts(const PlacedMound& mound, const LiftOptions& lifts, const InterfaceOptions& interface,
                      LengthUnit unit);

/// Grade as placed, high, and as it will lie once settled, which is the plan's. Of every layer that settles or lies on
/// one that does: topsoil over a cover is placed high by what the cover gives way. Neat yards are of the settled mound,
/// and shrink already takes an order there, so that an allowance changes grades and no yards.
struct SettledGrade {
  std::string layer;
  std::string where;     // half way along the bed: "ridge", "edge of the flat top, upslope"
  double settled = 0;    // elevation, as the plan gives it
  double placed = 0;     // elevation to build to
  double thickness = 0;  // settled
};

std::vector<SettledGrade> settled_grades(const PlacedMound& mound, const std::vector<SettlementAllowance>& allowances);

}  // namespace moundwright

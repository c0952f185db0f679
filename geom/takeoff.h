// What the mound takes, in cubic yards: every layer and cut item in place, totals, and the two checks beside them.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geom/assumed_ground.h"
#include "geom/placed_mound.h"
#include "geom/sections.h"
#include "geom/units.h"

namespace moundwright {

struct TakeoffItem {
  std::string name, material;
  double volume_cy = 0;    // in place, exact on the triangles
  double end_area_cy = 0;  // by average end area, for a layer; 0 for a cut item (see Takeoff)
  double plan_area = 0;    // square job units
  double thickness_least = 0, thickness_most = 0;
};

/// Layers added up, against the integral of finished minus prepared ground taken on its own by the literal rule.
struct MassBalance {
  double layers_cy = 0, independent_cy = 0;
  double relative_difference = 0;
};

struct Takeoff {
  std::vector<TakeoffItem> fill;  // in the order they go down
  std::vector<TakeoffItem> cut;
  double fill_cy = 0, cut_cy = 0;
  double end_area_fill_cy = 0, end_area_cut_cy = 0;
  double end_area_interval = 0;
  std::size_t end_area_sections = 0;
  double scarify_area = 0;  // square job units; 0 where nothing is scarified
  MassBalance balance;
  std::optional<OnAssumedGround> on_assumed;  // none where the whole mound rests on surveyed ground
};

Takeoff take_off(const PlacedMound& mound, LengthUnit unit, double end_area_interval);

}  // namespace moundwright

// A mound built up where it stands: the one thing that stakes, checks, sections, solids and drawings read.
//
//   const PlacedMound mound = place_mound(place_as_drawn(ground, design));
//   mound.buildup.layers[0].volume; mound.to_world({0, 0}); stake_out(mound, options);
#pragma once

#include <optional>
#include <utility>

#include "geom/buildup.h"
#include "geom/compiled_mound.h"

namespace moundwright {

/// The buildup is always that of this ground and place: make another one rather than changing either.
struct PlacedMound : MoundPlace {
  Buildup buildup;
};

/// Throws as build_up.
inline PlacedMound place_mound(const MoundPlace& place, BuildupWork& work) { return {place, build_up(place, work)}; }
inline PlacedMound place_mound(const MoundPlace& place) { return {place, build_up(place)}; }

/// Something else where a mound stands, on the same bed bottom.
inline MoundPlace as_high(const PlacedMound& mound, std::shared_ptr<const CompiledMound> other) {
  return {mound.ground, std::move(other), {mound.frame(), mound.buildup.bottom_elevation, std::nullopt}};
}

}  // namespace moundwright

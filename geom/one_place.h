// Shots of one place: a point shot twice is averaged, and two heights at one place stay two for walls.h to judge.
//
//   const OnePlace limits = one_place_limits(site.unit, site.estimate.accuracy);
//   const MergedSites merged = merge_places(sites, pairs, shots, limits, report);
//
// Shots that stand within `OnePlace::plan` of each other, every one of every other, are one place. There those whose
// elevations lie within `OnePlace::elevation` are one shot: its place and elevation are their means, and the shots are
// named. Where they make rows (each near the next, the ends apart), as a scanner's do, they are left as they are.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "geom/breaklines.h"
#include "geom/shot_accuracy.h"
#include "geom/triangulate.h"
#include "geom/units.h"

namespace moundwright {

/// What a job's shots are held to, job units. In plan 0.05 ft or 0.015 m (common practice, no source: what a rod held
/// on one point twice comes to). In elevation 0.1 ft or 0.03 m, as grades off the bed are kept; where the job states
/// its shots' accuracy, 2.8 times the standard deviation of one shot instead, within which two readings of one thing
/// lie 95 times in 100 (the repeatability limit of ISO 5725).
OnePlace one_place_limits(LengthUnit unit, const std::optional<ShotAccuracy>& stated);

/// Two sites at one place in plan, whose elevations differ by more than is allowed.
using StackedSites = std::array<std::uint32_t, 2>;

struct MergedSites {
  std::vector<std::uint32_t> site_of_shot;  // where each shot's site is now
  std::vector<std::uint32_t> now_at;        // where each site as it was is now
  std::vector<StackedSites> stacked;        // the lower first; every site is in one at most
};

/// Takes out the sites that others stand for and tells it. Errors for three elevations and more at one place.
MergedSites merge_places(std::vector<Site>& sites, const PlanTriangulation& tin, const std::vector<Shot>& shots,
                         const ShotFiles& files, const OnePlace& limits, GroundReport& report);

/// True where some sites are one place: merge_places has something to do.
bool has_shared_places(const std::vector<Site>& sites, const PlanTriangulation& tin, const OnePlace& limits);

/// The error for shots at one place, two or more, whose elevations differ by more than is allowed: names the lowest and
/// the highest, and how many lie between; `what_to_do` says how it is mended.
Problem two_elevations(const std::vector<Shot>& shots, std::vector<std::size_t> at_place, const ShotFiles& files,
                       const OnePlace& limits, std::string what_to_do);

}  // namespace moundwright

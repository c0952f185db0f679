// What is said where the work can hurt someone: each caution once, for paper, field page and printed report alike.
#pragma once

#include <string>
#include <vector>

#include "geom/stages.h"

namespace moundwright::io {

namespace cautions {
inline constexpr const char* utilities =
    "Call 811 (US) before you dig or drive a stake, wait for the marks, and have private lines located too.";
inline constexpr const char* trench =
    "Trenches and pits: a competent person; a way out within 25 ft from 4 ft deep; a protective system from 5 ft or "
    "wherever it may cave; spoil 2 ft back (29 CFR 1926.651-652).";
inline constexpr const char* tank = "Never enter a tank: the gas kills (29 CFR 1926 Subpart AA).";
inline constexpr const char* sewage =
    "Sewage carries disease: gloves, eye protection, wash. Pump wiring is for a licensed electrician.";
inline constexpr const char* dry_soil =
    "Mow and scarify dry soil only: if it smears or rolls into a thread, wait. From now on nothing drives on the "
    "downslope side.";
inline constexpr const char* force_main = "A force main is laid before the ground is scarified.";
inline constexpr const char* placed_sand =
    "Keep machines off the downslope side and off scarified ground: only on placed sand.";
inline constexpr const char* slopes =
    "Slopes roll machines: a light one, from upslope; work up and down the slope, not along it.";
inline constexpr const char* govern =
    "The permit, the local code and the licensed designer govern; this is not a land survey, a design or a permit.";
}  // namespace cautions

/// What is met at one of the stages of building: the danger of that stage, first to last.
std::vector<std::string> stage_cautions(const std::vector<BuildStage>& stages, std::size_t stage);

}  // namespace moundwright::io

// Which way is downslope, found once from the ground under the bed.
//
//   if (!design.downslope) design.downslope = find_downslope(ground, design);   // then write it into the job
//
// See the project's model, "Frame".
#pragma once

#include "geom/buildup.h"

namespace moundwright {

/// The plane that fits the ground under the whole bed best (least squares over the area, exact integrals), over all of
/// its straight pieces at once. Nullopt where there is no ground under the bed.
std::optional<GroundFit> fall_under_bed(const Ground& ground, const MoundPlan& plan);

/// Azimuth water runs, degrees clockwise from grid north in [0, 360): whichever of the two perpendiculars of the bed's
/// chord is nearer the fall of the ground under the bed. `design.downslope` is not looked at. Throws Refusal where
/// there is no ground under the bed, where the ground falls less than 1 % across the bed, where it falls within 45
/// degrees of the long axis, and with what check_design finds. All but the last name both azimuths to choose from.
double find_downslope(const Ground& ground, const MoundDesign& design);

}  // namespace moundwright

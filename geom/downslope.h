// Which way is downslope, found once from the ground under the bed.
//
//   if (!design.downslope) design.downslope = find_downslope(ground, design);   // then write it into the job
//
// It is the least-squares fall of the ground under the bed; where that is too flat or runs along it, a person must say.
#pragma once

#include "geom/compiled_mound.h"

namespace moundwright {

/// How the ground falls under the bed: a plane for each straight piece of it, since on a hill that turns one plane over
/// all of a bent bed comes out too flat. Means are weighted by the pieces' areas.
struct BedFall {
  std::vector<std::optional<GroundFit>> pieces;  // left to right, as MoundShape::bed; nullopt where no ground lies
  double covered_area = 0;                       // plan area of the bed that has ground under it
  double slope = 0;                              // rise per unit run, not percent: mean of the pieces' slopes
  double downslope_azimuth = 0;                  // degrees clockwise from north, of the mean of the pieces' falls
  double across = 0, along = 0;  // means of each piece's fall square to it, downslope, and along it, to the right
};

/// Each piece's plane is the least-squares fit over its area (fit_plane). Nullopt where there is no ground under the
/// bed.
std::optional<BedFall> fall_under_bed(const MoundPlace& mound);

/// Unit vector (east, north) square to a straight piece of the bed, toward the plan's downslope side.
Point2 across_piece(const MoundPlace& mound, std::size_t piece);

/// Azimuth water runs, degrees clockwise from grid north in [0, 360): whichever of the two perpendiculars of the bed's
/// chord is on the side toward which the ground falls across the bed, on the mean of its pieces. `design.downslope` is
/// not looked at. Throws Refusal where there is no ground under the bed, where the ground falls less than 1 % across
/// the bed, where it falls within 45 degrees of the long axis, and with what check_design finds. All but the last name
/// both azimuths to choose from.
double find_downslope(const Ground& ground, const MoundDesign& design);

}  // namespace moundwright

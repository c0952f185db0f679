// The stakes of one mound on its ground, and what each one says.
//
//   StakeOut out = stake_out(place_mound(place), options, {"1001", "1002"});
//   out.stakes[0].what  // "bed corner upslope-left hub, 25.0 past the corner on the left end line"
//
// Words and figures for people (stations, cut and fill, rods) are in trade_text.h.
//
// Hubs: two at each bed corner, one on each of its two edge lines produced, one at each end of the centre line, and two
// at each bend on the line that halves it. From the bed each stands a whole multiple of `hub_clearance` out, and at
// least one clearance beyond the toe; one distance serves a whole face, so that the hubs make rectangles. A hub has no
// design grade: the lath is marked from the hub's own shot.
//
// Slope stakes: at the catch points, square out from the bed's edge at whole intervals of station and at the last
// point of the edge; across an end they are counted anew from its upslope edge. One at each corner of the berm (on the
// hip, or the middle of the round) and at each bend. The grade they name is the shoulder: the edge of the flat top of
// the layer that meets ground there.
//
// Stations run along the bed's centre line from 1+00 at its left end (100 units to a full station in feet and metres
// alike), offsets square to it, U upslope and D downslope. At a bend both are those of the line that halves it.
//
// Limits: the slope of a slope stake is that of the straight line to its shoulder. Keep-clear lines are not looked at.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geom/lot.h"
#include "geom/placed_mound.h"
#include "geom/printed.h"
#include "geom/units.h"

namespace moundwright {

enum class StakeKind { hub, slope, feed };

/// "hub", "slope stake" or "feed point".
const char* to_text(StakeKind kind);

/// Lengths in job units; coordinates are the survey's own.
struct Stake {
  int number = 0;
  StakeKind kind = StakeKind::hub;
  std::string what;
  std::string station;  // "1+23.4"
  std::string offset;   // "U 12.3", "D 20.1", "0"
  double northing = 0, easting = 0;
  std::optional<double> ground;       // from the TIN, approximate; none off the survey
  bool ground_is_assumed = false;     // carried on past the survey (Ground::assumed); `what` says so too
  std::optional<double> design;       // elevation of the grade that `what` names; none for hubs
  std::string cut_fill;               // from `ground` to `design`; empty where either is missing
  std::optional<double> to_shoulder;  // slope stakes: plan distance in to the shoulder
  std::optional<double> slope_run;    // slope stakes: run to 1 of rise up to the shoulder; 0 is vertical
  std::vector<double> ties;           // plan distances from tie_marks, in their order
  int walk_order = 0;                 // from 1
};

/// One line of the grade card: level, so that one rod reading serves the whole layer.
struct Grade {
  std::string name;  // "bed bottom", "stone top, shell top"
  double elevation = 0;
  double above_bed_bottom = 0;  // below zero for the bottom of an undercut
};

/// A distance to tape.
struct TapeCheck {
  std::string what;
  double distance = 0;  // level
};

struct StakeOptions {
  LengthUnit unit = LengthUnit::foot;
  double station_interval = 10.0;  // between slope stakes along a face
  double hub_clearance = 5.0;      // hubs stand at a whole multiple of this beyond the toe
  Lot lot;                         // marks to tie to, feed points, what stakes must keep clear of
};

struct StakeOut {
  std::vector<Stake> stakes;         // in walking order, which is the order of their numbers too
  std::vector<Grade> grades;         // lowest first; grades at one elevation share a line
  std::vector<TapeCheck> sides;      // the bed's edges
  std::vector<TapeCheck> diagonals;  // of the bed and between hubs; in pairs, equal where a straight bed is square
  std::vector<Mark> tie_marks;       // none or two
  Problems notes;  // where a stake could not be placed and why; stakes off the survey, or past what is to be kept clear
};

/// Stakes out a mound. `taken` are the survey's own point numbers, which stakes pass over; names that are not whole
/// numbers do not matter. A stake is left out, and noted, where the survey ends before the mound meets ground or where
/// ground stands above the mound at the bed's edge. Throws Refusal for an interval or clearance that is not above zero,
/// and for an interval that would set more than 10,000 stakes.
StakeOut stake_out(const PlacedMound& mound, const StakeOptions& options = {},
                   const std::vector<std::string>& taken = {});

}  // namespace moundwright

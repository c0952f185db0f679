// What is written on each stake's lath, on paper and on the phone alike.
//
//   LathText lath = lath_text(out.stakes[0], out.grades, b.bottom_elevation);
//   lath.front        // "1001", "1+00.0 U 25.0", "bed corner upslope-left hub, ..."
//   lath.edge.name    // "bed bottom": the edge is marked with cut or fill to it
//   lath.back         // the other grades; the hub's own elevation goes below them
//
// Cut and fill on a lath are from the top of its hub once that is shot, never from the ground of the TIN.
#pragma once

#include <string>
#include <vector>

#include "geom/stakes.h"

namespace moundwright {

struct LathGrade {
  std::string name;
  double elevation = 0;
};

struct LathText {
  std::vector<std::string> front;  // number, station and offset, what it is
  LathGrade edge;
  std::vector<LathGrade> back;  // lowest first
};

/// A slope stake's edge is marked to its shoulder, a feed point's to its own grade, all others' to the bed bottom.
LathText lath_text(const Stake& stake, const std::vector<Grade>& grades, double bed_bottom);

}  // namespace moundwright

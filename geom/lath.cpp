#include "geom/lath.h"

#include <cmath>

namespace moundwright {
namespace {

LathGrade edge_of(const Stake& stake, double bed_bottom) {
  if (!stake.design) return {"bed bottom", bed_bottom};
  return {stake.kind == StakeKind::slope ? "shoulder" : stake.what, *stake.design};
}

}  // namespace

LathText lath_text(const Stake& stake, const std::vector<Grade>& grades, double bed_bottom) {
  constexpr double same = 1e-6;
  LathText text;
  text.front = {std::to_string(stake.number), stake.station + " " + stake.offset, stake.what};
  text.edge = edge_of(stake, bed_bottom);
  for (const Grade& grade : grades) {
    if (std::abs(grade.elevation - text.edge.elevation) > same) text.back.push_back({grade.name, grade.elevation});
  }
  return text;
}

}  // namespace moundwright

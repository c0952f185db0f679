#include "geom/plan_checks.h"

#include <algorithm>

#include "geom/plan_check_parts.h"

namespace moundwright {

Face face_beyond(const MoundShape& shape, const Point2& uv) {
  const double out[4] = {-shape.half_width - uv.y(), uv.y() - shape.half_width, shape.line.front().x() - uv.x(),
                         uv.x() - shape.line.back().x()};
  constexpr Face faces[4] = {Face::upslope, Face::downslope, Face::left, Face::right};
  return faces[std::max_element(out, out + 4) - out];
}

Point2 outward_of(Face face) {
  switch (face) {
    case Face::upslope:
      return {0, -1};
    case Face::downslope:
      return {0, 1};
    case Face::left:
      return {-1, 0};
    case Face::right:
      return {1, 0};
  }
  return {0, 1};
}

std::string face_name(Face face) {
  switch (face) {
    case Face::upslope:
      return "upslope side";
    case Face::downslope:
      return "downslope side";
    case Face::left:
      return "left end";
    case Face::right:
      return "right end";
  }
  return {};
}

std::string compass_word(const Point2& direction) {
  constexpr const char* words[8] = {"north", "northeast", "east", "southeast",
                                    "south", "southwest", "west", "northwest"};
  return words[static_cast<int>(std::lround(azimuth_of(direction) / 45.0)) % 8];
}

std::vector<ProfilePoint> ground_along(const Ground& ground, const Point2& from, const Point2& to) {
  const double length = (to - from).norm();
  const Point2 along = (to - from) / length, aside(-along.y(), along.x());
  std::vector<double> breaks{0.0, length};
  for (const std::uint32_t t : triangles_meeting(ground, {from, to})) {
    for (int i = 0; i < 3; ++i) {
      const Point2 p = ground.points[ground.tree.triangles[t][i]].head<2>() - from;
      const Point2 q = ground.points[ground.tree.triangles[t][(i + 1) % 3]].head<2>() - from;
      const double at_p = aside.dot(p), at_q = aside.dot(q);
      if ((at_p > 0) == (at_q > 0)) continue;
      const double s = along.dot(p + (q - p) * zero_share(at_p, at_q));
      if (s > 0 && s < length) breaks.push_back(s);
    }
  }
  std::sort(breaks.begin(), breaks.end());
  breaks.erase(std::unique(breaks.begin(), breaks.end()), breaks.end());
  std::vector<ProfilePoint> profile;
  for (const double s : breaks) {
    const Point2 at = from + along * s;
    if (const auto z = elevation_at(ground, at)) profile.push_back({s, *z, at});
  }
  return profile;
}

const char* to_text(Verdict verdict) {
  switch (verdict) {
    case Verdict::told:
      return "told";
    case Verdict::good:
      return "good";
    case Verdict::look:
      return "look";
    case Verdict::bad:
      return "bad";
  }
  return "told";
}

std::vector<PlanCheck> check_plan(const PlacedMound& mound, const CheckOptions& options,
                                  const std::vector<Shot>& shots) {
  const PlanCase c{mound, options, shots, fall_under_bed(mound)};
  PlanChecks checks;
  for (const auto check :
       {check_survey_under_bed, check_bed_bottom, check_sand, check_laterals, check_separation, check_basal_area,
        check_contour_fit, check_survey_reach, check_sides_catch, check_water, check_keep_clear, check_layers_bare,
        check_steep_sides, check_shell, check_layers_add, check_undercut, check_specks}) {
    check(c, checks);
  }
  return checks;
}

}  // namespace moundwright

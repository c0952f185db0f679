// What of a mound stands on assumed ground: ground that was not surveyed, but carried on past the survey
// (ground_margin.h). Told wherever its yards and stakes are.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "geom/placed_mound.h"
#include "geom/units.h"

namespace moundwright {

inline constexpr const char* shoot_assumed_ground =
    "shoot the ground out there before you rely on these yards, and read the job again";

struct OnAssumedGround {
  double area = 0;             // of the footprint, square job units
  double fill_cy = 0;          // in place, over that area
  double farthest = 0;         // of the toe past the survey, plan
  Point2 at = Point2::Zero();  // where that is; easting, northing
};

/// None where the whole footprint stands on surveyed ground.
std::optional<OnAssumedGround> on_assumed_ground(const PlacedMound& mound, LengthUnit unit);

/// Plan area of assumed ground inside a convex polygon (reduced).
double assumed_area_in(const Ground& ground, const Polygon2& convex);

/// The assumed ground as a surface of its own: corners of its triangles, counter-clockwise seen from above. Reduced.
std::vector<std::array<Point3, 3>> assumed_triangles(const Ground& ground);

/// "up to 1.40 ft past the survey the berm rests on assumed ground: 32.1 sq ft of it, with 1.2 cu yd over it".
std::string to_text(const OnAssumedGround& assumed, LengthUnit unit);

}  // namespace moundwright

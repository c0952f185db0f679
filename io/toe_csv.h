// toe.csv: the line where the finished mound meets existing ground, point by point.
//
//   loop,point,northing,easting,elevation
//
// `loop` is "toe" for the outside (numbered from the second on) and "hole 1", ... for ground that stands out of the
// mound; loops are closed: the last point joins the first. Coordinates to 0.001, elevations (of existing ground) to
// 0.01 ft or 0.001 m. Where ground is carried on past the survey, a further column, `ground`, tells "surveyed" from
// "assumed".
#pragma once

#include <string>

#include "geom/buildup.h"
#include "geom/units.h"

namespace moundwright::io {

std::string toe_csv(const Ground& ground, const ToeLine& toe, LengthUnit unit);

}  // namespace moundwright::io

// toe.csv: the line where the finished mound meets existing ground, point by point.
//
//   loop,point,northing,easting,elevation
//
// `loop` is "toe" for the outside (numbered from the second on) and "hole 1", ... for ground that stands out of the
// mound; loops are closed: the last point joins the first. Coordinates to 0.001, elevations (of existing ground) to
// 0.01.
#pragma once

#include <string>

#include "geom/buildup.h"

namespace moundwright::io {

std::string toe_csv(const Ground& ground, const ToeLine& toe);

}  // namespace moundwright::io

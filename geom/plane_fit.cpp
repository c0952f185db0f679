#include "geom/plane_fit.h"

namespace moundwright {

std::optional<Plane> plane_of(const Moments<double>& m, const Point2& center) {
  if (!(m.area > 0)) return std::nullopt;
  const double x = m.x / m.area, y = m.y / m.area, r = m.r / m.area;  // centroid and mean
  const double xx = m.xx / m.area - x * x, xy = m.xy / m.area - x * y, yy = m.yy / m.area - y * y;
  const double xr = m.xr / m.area - x * r, yr = m.yr / m.area - y * r;
  const double det = xx * yy - xy * xy, size = xx + yy;
  if (!(det > 1e-14 * size * size)) return std::nullopt;
  const double a = (xr * yy - yr * xy) / det, b = (yr * xx - xr * xy) / det;
  return Plane{a, b, r - a * (x + center.x()) - b * (y + center.y())};
}

}  // namespace moundwright

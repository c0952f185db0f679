#include "geom/downslope.h"

#include <fmt/format.h>

#include <Eigen/Geometry>
#include <cmath>

#include "geom/convex_clip.h"
#include "geom/plane_fit.h"

namespace moundwright {
namespace {

constexpr double least_cross_fall = 0.01;  // rise per unit run; model.md, "Frame"

/// Moments of a triangle whose corners are plan position about the centre, and residual elevation. Exact: the integral
/// of a product of two linear functions p q is area / 12 (sum p_i q_i + sum p_i sum q_i).
void add_triangle(const std::array<Point3, 3>& corner, Moments<double>& m) {
  const Point3 d = corner[1] - corner[0], e = corner[2] - corner[0];
  const double area = 0.5 * (d.x() * e.y() - d.y() * e.x());
  const Point3 sum = corner[0] + corner[1] + corner[2];
  Eigen::Matrix3d square = sum * sum.transpose();
  for (const Point3& c : corner) square += c * c.transpose();
  square *= area / 12;
  m.area += area;
  m.x += area * sum.x() / 3, m.y += area * sum.y() / 3, m.r += area * sum.z() / 3;
  m.xx += square(0, 0), m.xy += square(0, 1), m.yy += square(1, 1);
  m.xr += square(0, 2), m.yr += square(1, 2), m.rr += square(2, 2);
}

void add_ground_inside(const Ground& ground, const Polygon2& convex, const Point2& center, double datum,
                       Moments<double>& m) {
  for (const std::uint32_t t : triangles_meeting(ground, convex)) {
    std::array<Point3, 3> p;
    for (int i = 0; i < 3; ++i) p[i] = ground.points[ground.tree.triangles[t][i]];
    const Point3 normal = (p[1] - p[0]).cross(p[2] - p[0]);
    if (!(normal.z() > 0)) continue;
    const auto lifted = [&](const Point2& q) {
      const Point2 d = q - p[0].head<2>();
      const double z = p[0].z() - (normal.x() * d.x() + normal.y() * d.y()) / normal.z();
      return Point3(q.x() - center.x(), q.y() - center.y(), z - datum);
    };
    const Polygon2 part = clip_convex({p[0].head<2>(), p[1].head<2>(), p[2].head<2>()}, convex);
    for (std::size_t i = 1; i + 1 < part.size(); ++i) {
      add_triangle({lifted(part[0]), lifted(part[i]), lifted(part[i + 1])}, m);
    }
  }
}

double turned(double azimuth) {
  const double turn = std::fmod(azimuth, 360.0);
  return turn < 0 ? turn + 360.0 : turn;
}

/// One decimal, never "360.0".
std::string azimuth_text(double azimuth) {
  return fmt::format("{:.1f}", std::fmod(std::round(azimuth * 10.0), 3600.0) / 10.0);
}

[[noreturn]] void ask(const std::string& what, double one, double other) {
  const std::string line = "downslope = ";
  throw Refusal(
      {Severity::error, what, "mound.downslope",
       "write the way water runs under [mound]: " + line + azimuth_text(one) + " or " + line + azimuth_text(other)});
}

}  // namespace

std::optional<GroundFit> fall_under_bed(const Ground& ground, const MoundPlan& plan) {
  const Point2 center = ground.to_local(plan.placement.origin);
  const double datum = ground.trend.at(center);
  Moments<double> m;
  for (const Polygon2& outline : bed_on_ground(ground, plan)) add_ground_inside(ground, outline, center, datum, m);
  const std::optional<Plane> fit = plane_of(m, center);
  if (!fit) return std::nullopt;
  GroundFit result;
  result.plane = {fit->a, fit->b, fit->c + datum};
  result.covered_area = m.area;
  result.slope = std::hypot(fit->a, fit->b);
  result.downslope_azimuth = azimuth_of({-fit->a, -fit->b});
  return result;
}

double find_downslope(const Ground& ground, const MoundDesign& design) {
  if (design.bed.line.size() < 2) check_design(design).throw_if_errors();
  const double axis = azimuth_of(design.bed.line.back() - design.bed.line.front());
  const double right = turned(axis + 90.0), left = turned(axis - 90.0);
  MoundDesign trial = design;
  trial.downslope = right;
  const std::optional<GroundFit> fit = fall_under_bed(ground, plan_mound(trial));
  if (!fit) ask("there is no surveyed ground under the bed, so which way it falls is not known", right, left);

  const Point2 fall(-fit->plane.a, -fit->plane.b);
  const double across = fall.dot(direction_of(right)), along = fall.dot(direction_of(axis));
  const std::string seen = fmt::format("the ground under the bed falls {:.1f} % across the bed and {:.1f} % along it",
                                       100 * std::abs(across), 100 * std::abs(along));
  if (std::abs(across) < least_cross_fall) {
    ask(seen + "; under 1 % across, which side is downslope is for the plan to say", right, left);
  }
  if (std::abs(along) >= std::abs(across)) {
    ask(seen +
            fmt::format(", toward azimuth {}, within 45 degrees of the long axis ({}); which side is downslope is for "
                        "the plan to say, or the bed is to be turned along the contour",
                        azimuth_text(fit->downslope_azimuth), azimuth_text(axis)),
        right, left);
  }
  return across > 0 ? right : left;
}

}  // namespace moundwright

#include "geom/downslope.h"

#include <fmt/format.h>

#include <cmath>

namespace moundwright {
namespace {

constexpr double least_cross_fall = 0.01;  // rise per unit run; on flatter ground a tenth of a foot would turn it round

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

Point2 across_piece(const MoundPlace& mound, std::size_t piece) {
  const Point2 along = (mound.shape().line[piece + 1] - mound.shape().line[piece]).normalized();
  return mound.frame().along * -along.y() + mound.frame().across() * along.x();
}

std::optional<BedFall> fall_under_bed(const MoundPlace& mound) {
  BedFall result;
  Point2 sum = Point2::Zero();
  for (const Polygon2& outline : bed_on_ground(mound)) {
    const std::size_t piece = result.pieces.size();
    result.pieces.push_back(fit_plane(mound.ground, outline));
    if (!result.pieces.back()) continue;
    const GroundFit& fit = *result.pieces.back();
    const Point2 fall(-fit.plane.a, -fit.plane.b), across = across_piece(mound, piece), along(across.y(), -across.x());
    result.covered_area += fit.covered_area;
    result.slope += fit.covered_area * fit.slope;
    result.across += fit.covered_area * fall.dot(across);
    result.along += fit.covered_area * fall.dot(along);
    sum += fit.covered_area * fall;
  }
  if (!(result.covered_area > 0)) return std::nullopt;
  for (double* mean : {&result.slope, &result.across, &result.along}) *mean /= result.covered_area;
  result.downslope_azimuth = azimuth_of(sum);
  return result;
}

double find_downslope(const Ground& ground, const MoundDesign& design) {
  MoundDesign trial = design;
  trial.downslope.reset();
  check_design(trial).throw_if_errors();
  for (Layer& layer : trial.layers) layer.beyond = {};  // a bend too tight for one side of it is for later to refuse
  const double axis = azimuth_of(design.bed.line.back() - design.bed.line.front());
  const double right = turned(axis + 90.0), left = turned(axis - 90.0);
  trial.downslope = right;
  const std::optional<BedFall> fall = fall_under_bed(place_as_drawn(ground, trial));
  if (!fall) ask("there is no surveyed ground under the bed, so which way it falls is not known", right, left);

  const double across = fall->across, along = fall->along;
  const std::string seen = fmt::format("the ground under the bed falls {:.1f} % across the bed and {:.1f} % along it",
                                       100 * std::abs(across), 100 * std::abs(along));
  if (std::abs(across) < least_cross_fall) {
    ask(seen + "; under 1 % across, which side is downslope is for the plan to say", right, left);
  }
  if (std::abs(along) >= std::abs(across)) {
    ask(seen +
            fmt::format(", toward azimuth {}, within 45 degrees of the long axis ({}); which side is downslope is for "
                        "the plan to say, or the bed is to be turned along the contour",
                        azimuth_text(fall->downslope_azimuth), azimuth_text(axis)),
        right, left);
  }
  return across > 0 ? right : left;
}

}  // namespace moundwright

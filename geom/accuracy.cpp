#include "geom/accuracy.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "geom/convex_clip.h"
#include "geom/footprint_pieces.h"

namespace moundwright {
namespace {

/// a u + b v + c, 1 at one corner of a triangle and 0 at the others.
using Hat = PlaneOf<double>;

/// Hats of a triangle's corners in the mound frame.
std::array<Hat, 3> hats_of(const std::array<Point2, 3>& corner) {
  std::array<Hat, 3> hats;
  for (std::size_t i = 0; i < 3; ++i) {
    const Point2 &p = corner[(i + 1) % 3], &q = corner[(i + 2) % 3];
    const PlanLine line = line_left_of(p, q);
    const double here = line.a * corner[i].x() + line.b * corner[i].y() + line.c;
    hats[i] = {line.a / here, line.b / here, line.c / here};
  }
  return hats;
}

double integral_of(const Hat& plane, const Polygon2& polygon) {
  double sum = 0;
  for (std::size_t i = 1; i + 1 < polygon.size(); ++i) {
    const Point2 &o = polygon[0], &p = polygon[i], &q = polygon[i + 1];
    const double twice = (p.x() - o.x()) * (q.y() - o.y()) - (p.y() - o.y()) * (q.x() - o.x());
    sum += twice * (plane.at(o.x(), o.y()) + plane.at(p.x(), p.y()) + plane.at(q.x(), q.y()));
  }
  return sum / 6;
}

std::array<Point2, 3> corners_in_mound_frame(const Ground& ground, const MoundPlan& plan, std::uint32_t triangle) {
  std::array<Point2, 3> corner;
  for (std::size_t i = 0; i < 3; ++i) {
    const Point3& p = ground.points[ground.tree.triangles[triangle][i]];
    corner[i] = plan.placement.to_mound(ground.to_world(p.head<2>()));
  }
  return corner;
}

/// What one piece of footprint has to say about each layer: by the hats of its triangle's corners, and by the bottom.
struct Slope {
  std::array<double, 3> by_corner{};  // with the bed bottom held
  double by_bottom = 0;               // with the ground held
  void add(const Slope& more, double factor) {
    for (std::size_t i = 0; i < 3; ++i) by_corner[i] += factor * more.by_corner[i];
    by_bottom += factor * more.by_bottom;
  }
};

/// Of the part of a piece over which a surface stands on prepared ground.
Slope of_surface(const Polygon2& part, const std::array<Hat, 3>& hats, bool in_pit) {
  Slope slope;
  if (part.empty()) return slope;
  for (std::size_t i = 0; i < 3 && !in_pit; ++i) slope.by_corner[i] = -integral_of(hats[i], part);
  slope.by_bottom = plan_area(part);
  return slope;
}

/// Along the toe: where the ground rises, or the bottom falls, the toe comes in by 1 / |gradient| and takes the
/// thickness that stands there with it.
class ToeTerm {
 public:
  ToeTerm(const FootprintPiece& piece, const std::array<Hat, 3>& hats, double strip) : piece_(piece), hats_(hats) {
    const PlanLine over = above(piece.finish, piece.ground);
    const auto& [from, to] = *piece.toe;
    scale_ = (to - from).norm() / std::hypot(over.a, over.b);
    strip_ = strip;
  }

  /// Of a thickness of prepared ground to `surface`, held between nothing and the strip.
  Slope of_thickness_below(const PlaneOf<double>& surface) const {
    const PlanLine over = above(surface, piece_.prepared);
    const auto thickness = [&](double t) {
      const Point2 p = at(t);
      return std::clamp(over.a * p.x() + over.b * p.y() + over.c, 0.0, strip_);
    };
    std::vector<double> breaks = {0, 1};
    for (const double level : {0.0, strip_}) {
      const Point2 &p = (*piece_.toe)[0], &q = (*piece_.toe)[1];
      const double a = over.a * p.x() + over.b * p.y() + over.c - level;
      const double b = over.a * q.x() + over.b * q.y() + over.c - level;
      if ((a < 0) != (b < 0)) breaks.push_back(a / (a - b));
    }
    std::sort(breaks.begin(), breaks.end());
    Slope slope;
    for (std::size_t i = 1; i < breaks.size(); ++i) add_part(breaks[i - 1], breaks[i], thickness, slope);
    return slope;
  }

 private:
  const FootprintPiece& piece_;
  const std::array<Hat, 3>& hats_;
  double scale_ = 0, strip_ = 0;

  Point2 at(double t) const { return (*piece_.toe)[0] + t * ((*piece_.toe)[1] - (*piece_.toe)[0]); }

  /// Simpson's rule, exact for the product of two straight lines.
  template <class Thickness>
  void add_part(double from, double to, const Thickness& thickness, Slope& slope) const {
    const std::pair<double, double> nodes[] = {{from, 1}, {0.5 * (from + to), 4}, {to, 1}};
    for (const auto& [t, weight] : nodes) {
      const double part = scale_ * (to - from) * weight / 6 * thickness(t);
      const Point2 p = at(t);
      for (std::size_t i = 0; i < 3; ++i) slope.by_corner[i] -= part * hats_[i].at(p.x(), p.y());
      slope.by_bottom += part;
    }
  }
};

class Derivatives {
 public:
  Derivatives(const Ground& ground, const MoundPlan& plan, const Buildup& buildup)
      : ground_(ground), plan_(plan), strip_(plan.design.prepare.strip) {
    const auto empty = [&](const std::string& name) {
      return VolumeSlopes{name, std::vector<double>(ground.points.size(), 0.0), 0};
    };
    for (const LayerResult& layer : buildup.layers) result_.fill.push_back(empty(layer.name));
    for (const CutItem& cut : buildup.cuts) result_.cut.push_back(empty(cut.name));
  }

  void add(const FootprintPiece& piece) {
    const std::array<Hat, 3> hats = hats_of(corners_in_mound_frame(ground_, plan_, piece.triangle));
    const std::optional<ToeTerm> toe =
        piece.toe && strip_ > 0 ? std::optional<ToeTerm>(std::in_place, piece, hats, strip_) : std::nullopt;
    Slope below;
    for (std::uint32_t i = 0; i < piece.cell->level_count; ++i) {
      const CellLevel<double>& level = plan_.cells->levels[piece.cell->first_level + i];
      Slope slope = of_surface(part_above_prepared(plan_, piece, i), hats, piece.in_pit);
      if (toe) slope.add(toe->of_thickness_below(level.plane), 1);
      Slope layer = slope;
      layer.add(below, -1);
      put(layer, piece.triangle, result_.fill[static_cast<std::size_t>(level.layer)]);
      below = slope;
    }
    add_cuts(piece, hats, toe);
  }

  VolumeDerivatives take() { return std::move(result_); }

 private:
  const Ground& ground_;
  const MoundPlan& plan_;
  const double strip_;
  VolumeDerivatives result_;

  VolumeSlopes* cut_named(const char* name) {
    for (VolumeSlopes& cut : result_.cut) {
      if (cut.name == name) return &cut;
    }
    return nullptr;
  }

  void add_cuts(const FootprintPiece& piece, const std::array<Hat, 3>& hats, const std::optional<ToeTerm>& toe) {
    VolumeSlopes* strip = cut_named("strip");
    if (strip != nullptr && toe) put(toe->of_thickness_below(piece.finish), piece.triangle, *strip);
    VolumeSlopes* pit = cut_named("undercut");
    if (pit == nullptr || !piece.in_pit) return;
    Slope slope;
    for (std::size_t i = 0; i < 3; ++i) slope.by_corner[i] = integral_of(hats[i], piece.outline);
    put(slope, piece.triangle, *pit);
  }

  void put(const Slope& slope, std::uint32_t triangle, VolumeSlopes& into) const {
    for (std::size_t i = 0; i < 3; ++i) into.by_point[ground_.tree.triangles[triangle][i]] += slope.by_corner[i];
    into.by_bottom += slope.by_bottom;
  }
};

/// Weights of the ground's points in the elevation at a place: the hats there.
std::vector<std::pair<std::uint32_t, double>> hats_at(const Ground& ground, const Point2& p) {
  constexpr double reach = 1e-6;
  const Polygon2 box = {p + Point2(-reach, -reach), p + Point2(reach, -reach), p + Point2(reach, reach),
                        p + Point2(-reach, reach)};
  std::vector<std::pair<std::uint32_t, double>> best;
  double best_least = -std::numeric_limits<double>::infinity();
  for (const std::uint32_t t : triangles_meeting(ground, box)) {
    std::array<Point2, 3> corner;
    for (std::size_t i = 0; i < 3; ++i) corner[i] = ground.points[ground.tree.triangles[t][i]].head<2>();
    const std::array<Hat, 3> hats = hats_of(corner);
    double least = 1;
    for (const Hat& hat : hats) least = std::min(least, hat.at(p.x(), p.y()));
    if (least <= best_least) continue;
    best_least = least;
    best.clear();
    for (std::size_t i = 0; i < 3; ++i) best.emplace_back(ground.tree.triangles[t][i], hats[i].at(p.x(), p.y()));
  }
  return best;
}

bool bottom_follows_ground(const MoundPlan& plan, const Buildup& buildup) {
  return !plan.design.bottom_elevation && buildup.governing;
}

double sum_of_squares(const std::vector<double>& values) {
  double sum = 0;
  for (const double v : values) sum += v * v;
  return sum;
}

PlusOrMinus plus_or_minus(const std::string& name, const std::vector<double>& by_point, const ShotAccuracy& shots,
                          double yards) {
  double sum = 0;
  for (const double d : by_point) sum += d;
  return {name, shots.random * std::sqrt(sum_of_squares(by_point)) * yards, shots.systematic * std::abs(sum) * yards};
}

std::vector<double> added(const std::vector<VolumeSlopes>& items, std::size_t points) {
  std::vector<double> sum(points, 0.0);
  for (const VolumeSlopes& item : items) {
    for (std::size_t i = 0; i < points; ++i) sum[i] += item.by_point[i];
  }
  return sum;
}

// ---- where one more shot helps -----------------------------------------------------------------------------------

struct Candidate {
  Point2 at;                          // reduced
  std::vector<std::uint32_t> points;  // of the ground
  double gain = 0;                    // of the sum of squares
};

/// A shot taken again and averaged has half the variance.
void add_repeats(const Ground& ground, const std::vector<double>& slope, std::vector<Candidate>& candidates) {
  for (std::uint32_t i = 0; i < slope.size(); ++i) {
    if (slope[i] != 0 && ground.shot_of_point[i] >= 0)
      candidates.push_back({ground.points[i].head<2>(), {i}, slope[i] * slope[i] / 2});
  }
}

/// A new shot in the middle of a triangle takes its own hat and a third of that from each corner's.
void add_middles(const Ground& ground, const MoundPlan& plan, const Buildup& buildup, const std::vector<double>& slope,
                 std::vector<Candidate>& candidates) {
  std::map<std::uint32_t, double> own;  // derivative by a shot in the middle, by triangle
  for_each_footprint_piece(ground, plan, buildup, [&](const FootprintPiece& piece) {
    if (piece.in_pit || ground.is_assumed(piece.triangle)) return;  // that it wants shots is told by itself
    const std::array<Point2, 3> corner = corners_in_mound_frame(ground, plan, piece.triangle);
    const Point2 middle = (corner[0] + corner[1] + corner[2]) / 3;
    double& sum = own[piece.triangle];
    for (std::size_t i = 0; i < 3; ++i) {
      const std::array<Point2, 3> third = {middle, corner[i], corner[(i + 1) % 3]};
      const Polygon2 part = clip_convex(piece.outline, Polygon2(third.begin(), third.end()));
      if (!part.empty()) sum -= integral_of(hats_of(third)[0], part);
    }
  });
  for (const auto& [t, d] : own) {
    const auto& corners = ground.tree.triangles[t];
    Candidate candidate{Point2::Zero(), {corners.begin(), corners.end()}, -d * d};
    for (const std::uint32_t i : corners) {
      candidate.at += ground.points[i].head<2>() / 3;
      candidate.gain += slope[i] * slope[i] - (slope[i] - d / 3) * (slope[i] - d / 3);
    }
    candidates.push_back(candidate);
  }
}

std::vector<ShotAdvice> advice(const Ground& ground, const MoundPlan& plan, const Buildup& buildup,
                               const std::vector<double>& slope, double random, double yards) {
  constexpr std::size_t handful = 5;
  std::vector<Candidate> candidates;
  add_repeats(ground, slope, candidates);
  add_middles(ground, plan, buildup, slope, candidates);
  std::stable_sort(candidates.begin(), candidates.end(),
                   [](const Candidate& a, const Candidate& b) { return a.gain > b.gain; });
  const double before = sum_of_squares(slope);
  std::vector<ShotAdvice> result;
  for (const Candidate& candidate : candidates) {
    if (result.size() == handful || !(candidate.gain > 0)) break;
    ShotAdvice shot{ground.to_world(candidate.at),
                    {},
                    random * std::sqrt(before) * yards,
                    random * std::sqrt(std::max(0.0, before - candidate.gain)) * yards};
    for (const std::uint32_t i : candidate.points) shot.shots.push_back(ground.shot_of_point[i]);
    result.push_back(std::move(shot));
  }
  return result;
}

}  // namespace

double PlusOrMinus::both_cy() const { return std::hypot(random_cy, systematic_cy); }

VolumeDerivatives volume_derivatives(const Ground& ground, const MoundPlan& plan, const Buildup& buildup) {
  Derivatives derivatives(ground, plan, buildup);
  for_each_footprint_piece(ground, plan, buildup, [&](const FootprintPiece& piece) { derivatives.add(piece); });
  VolumeDerivatives result = derivatives.take();
  if (!bottom_follows_ground(plan, buildup)) return result;
  const auto hats = hats_at(ground, buildup.governing->at);
  for (std::vector<VolumeSlopes>* items : {&result.fill, &result.cut}) {
    for (VolumeSlopes& item : *items) {
      for (const auto& [point, hat] : hats) item.by_point[point] += hat * item.by_bottom;
    }
  }
  return result;
}

Accuracy accuracy_of(const Ground& ground, const MoundPlan& plan, const Buildup& buildup, const ShotAccuracy& shots,
                     LengthUnit unit) {
  const double yards = cubic_yards_per(unit);
  const VolumeDerivatives d = volume_derivatives(ground, plan, buildup);
  Accuracy result;
  result.shots = shots;
  for (const VolumeSlopes& item : d.fill) result.fill.push_back(plus_or_minus(item.name, item.by_point, shots, yards));
  for (const VolumeSlopes& item : d.cut) result.cut.push_back(plus_or_minus(item.name, item.by_point, shots, yards));
  const std::vector<double> fill = added(d.fill, ground.points.size());
  result.total_fill = plus_or_minus("fill", fill, shots, yards);
  result.total_cut = plus_or_minus("cut", added(d.cut, ground.points.size()), shots, yards);
  result.more_shots = advice(ground, plan, buildup, fill, shots.random, yards);
  return result;
}

}  // namespace moundwright

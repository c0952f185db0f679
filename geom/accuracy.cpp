#include "geom/accuracy.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>

#include "geom/bed_rise.h"
#include "geom/footprint_pieces.h"
#include "geom/plan.h"

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
    const double here = line.at(corner[i]);
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

std::array<Point2, 3> corners_in_mound_frame(const MoundPlace& mound, std::uint32_t triangle) {
  std::array<Point2, 3> corner;
  for (std::size_t i = 0; i < 3; ++i) {
    const Point3& p = mound.ground.points[mound.ground.tree.triangles[triangle][i]];
    corner[i] = mound.from_reduced(p.head<2>());
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
      return std::clamp(over.at(p), 0.0, strip_);
    };
    std::vector<double> breaks = {0, 1};
    for (const double level : {0.0, strip_}) {
      const Point2 &p = (*piece_.toe)[0], &q = (*piece_.toe)[1];
      const double a = over.at(p) - level, b = over.at(q) - level;
      if ((a < 0) != (b < 0)) breaks.push_back(zero_share(a, b));
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
  explicit Derivatives(const PlacedMound& mound) : mound_(mound), strip_(mound.design().prepare.strip) {
    const auto empty = [&](const std::string& name) {
      return VolumeSlopes{name, std::vector<double>(mound.ground.points.size(), 0.0), 0};
    };
    for (const LayerResult& layer : mound.buildup.layers) result_.fill.push_back(empty(layer.name));
    for (const CutItem& cut : mound.buildup.cuts) result_.cut.push_back(empty(cut.name));
  }

  void add(const FootprintPiece& piece) {
    const std::array<Hat, 3> hats = hats_of(corners_in_mound_frame(mound_, piece.triangle));
    const std::optional<ToeTerm> toe =
        piece.toe && strip_ > 0 ? std::optional<ToeTerm>(std::in_place, piece, hats, strip_) : std::nullopt;
    Slope below;
    for (std::uint32_t i = 0; i < piece.cell->level_count; ++i) {
      const CellLevel<double>& level = mound_.cells().levels[piece.cell->first_level + i];
      Slope slope = of_surface(part_above_prepared(mound_, piece, i), hats, piece.in_pit);
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
  const PlacedMound& mound_;
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
    for (std::size_t i = 0; i < 3; ++i) into.by_point[mound_.ground.tree.triangles[triangle][i]] += slope.by_corner[i];
    into.by_bottom += slope.by_bottom;
  }
};

bool bottom_follows_ground(const PlacedMound& mound) {
  return !mound.placement.bottom_elevation && mound.buildup.governing;
}

double square(double x) { return x * x; }

double sum_of(const std::vector<double>& values) { return std::accumulate(values.begin(), values.end(), 0.0); }

double sum_of_squares(const std::vector<double>& values) {
  double sum = 0;
  for (const double v : values) sum += square(v);
  return sum;
}

VolumeSlopes added(const std::vector<VolumeSlopes>& items, const char* name, std::size_t points) {
  VolumeSlopes sum{name, std::vector<double>(points, 0.0), 0};
  for (const VolumeSlopes& item : items) {
    for (std::size_t i = 0; i < points; ++i) sum.by_point[i] += item.by_point[i];
    sum.by_bottom += item.by_bottom;
  }
  return sum;
}

/// The mound with its shots in error: what its bed bottom does, and its volumes with it.
struct Shaken {
  double random;      // of a shot, job units
  PlacedMound mound;  // on a bed as high as it is on average
  HighPlaces high;    // places that may set it; none where it is given
  BedRise bed;
  BottomMoves moves;

  bool follows_ground() const { return !high.places.empty(); }
};

Shaken shaken(const PlacedMound& mound, double random) {
  HighPlaces high = bottom_follows_ground(mound) ? high_places(mound, random) : HighPlaces{};
  BedRise bed(high.places, random);
  if (high.places.empty()) return {random, mound, std::move(high), std::move(bed), {}};
  BottomMoves moves = bed.moves();
  MoundPlace raised = as_high(mound, mound.compiled);
  *raised.placement.bottom_elevation += moves.rise;
  return {random, place_mound(raised), std::move(high), std::move(bed), std::move(moves)};
}

/// Variance of a volume. `held`: what it is with the bed bottom held; each shot that may set the bed is put right.
double variance_of(const VolumeSlopes& slopes, double held, const Shaken& shaken, const BottomMoves& moves) {
  double change = 0;
  const std::vector<std::uint32_t>& points = shaken.bed.points();
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double alone = slopes.by_point[points[i]];
    change += square(alone + slopes.by_bottom * moves.share[i]) - square(alone);
  }
  return held + square(shaken.random) * change + square(slopes.by_bottom * moves.rest);
}

double variance_with_bottom_held(const VolumeSlopes& slopes, double random) {
  return square(random) * sum_of_squares(slopes.by_point);
}

PlusOrMinus plus_or_minus(const VolumeSlopes& slopes, const Shaken& shaken, double rise, double systematic,
                          double yards) {
  const double held = variance_with_bottom_held(slopes, shaken.random);
  const double together = sum_of(slopes.by_point) + (shaken.follows_ground() ? slopes.by_bottom : 0);
  return {slopes.name, std::sqrt(variance_of(slopes, held, shaken, shaken.moves)) * yards,
          systematic * std::abs(together) * yards, rise * yards};
}

// ---- where one more shot helps -----------------------------------------------------------------------------------

struct Candidate {
  Point2 at;                          // reduced
  std::vector<std::uint32_t> points;  // of the ground
  double gain = 0;                    // of the variance of the fill
};

class Advisor {
 public:
  Advisor(const Shaken& shaken, const VolumeSlopes& fill)
      : shaken_(shaken),
        fill_(fill),
        slope_(fill.by_point),
        held_(variance_with_bottom_held(fill, shaken.random)),
        before_(variance_of(fill, held_, shaken, shaken.moves)) {
    const std::vector<std::uint32_t>& points = shaken.bed.points();
    for (std::size_t i = 0; i < points.size(); ++i) slope_[points[i]] += fill.by_bottom * shaken.moves.share[i];
  }

  std::vector<ShotAdvice> best(double yards) {
    constexpr std::size_t handful = 5;
    add_repeats();
    add_middles();
    put_best_first(candidates_.size());
    put_bed_right(2 * handful);
    std::vector<ShotAdvice> result;
    for (const Candidate& candidate : candidates_) {
      if (result.size() == handful || !(candidate.gain > 0)) break;
      result.push_back(advice_of(candidate, yards));
    }
    return result;
  }

 private:
  const Shaken& shaken_;
  const VolumeSlopes& fill_;
  std::vector<double> slope_;  // by point, with the bed bottom going where it goes on average
  double held_, before_;
  std::vector<Candidate> candidates_;

  void put_best_first(std::size_t count) {
    std::stable_sort(candidates_.begin(), candidates_.begin() + static_cast<std::ptrdiff_t>(count),
                     [](const Candidate& a, const Candidate& b) { return a.gain > b.gain; });
  }

  /// A shot taken again and averaged has half the variance.
  void add_repeats() {
    for (std::uint32_t i = 0; i < slope_.size(); ++i) {
      if (slope_[i] == 0 || shaken_.mound.ground.shot_of_point[i] < 0) continue;
      candidates_.push_back({shaken_.mound.ground.points[i].head<2>(), {i}, square(shaken_.random * slope_[i]) / 2});
    }
  }

  /// A new shot in the middle of a triangle takes its own hat and a third of that from each corner's.
  void add_middles() {
    const Ground& ground = shaken_.mound.ground;
    std::map<std::uint32_t, double> own;  // derivative by a shot in the middle, by triangle
    for_each_footprint_piece(shaken_.mound, [&](const FootprintPiece& piece) {
      if (piece.in_pit || may_set_the_bed(piece.triangle)) return;
      if (ground.is_assumed(piece.triangle)) return;  // that it wants shots is told by itself
      own[piece.triangle] += slope_of_middle(piece);
    });
    for (const auto& [t, d] : own) {
      const auto& corners = ground.tree.triangles[t];
      Candidate candidate{Point2::Zero(), {corners.begin(), corners.end()}, -square(d)};
      for (const std::uint32_t i : corners) {
        candidate.at += ground.points[i].head<2>() / 3;
        candidate.gain += square(slope_[i]) - square(slope_[i] - d / 3);
      }
      candidate.gain *= square(shaken_.random);
      candidates_.push_back(candidate);
    }
  }

  bool may_set_the_bed(std::uint32_t triangle) const {
    return std::binary_search(shaken_.high.triangles.begin(), shaken_.high.triangles.end(), triangle);
  }

  double slope_of_middle(const FootprintPiece& piece) const {
    const std::array<Point2, 3> corner = corners_in_mound_frame(shaken_.mound, piece.triangle);
    const Point2 middle = (corner[0] + corner[1] + corner[2]) / 3;
    double sum = 0;
    for (std::size_t i = 0; i < 3; ++i) {
      const std::array<Point2, 3> third = {middle, corner[i], corner[(i + 1) % 3]};
      const Polygon2 part = clip_convex(piece.outline, Polygon2(third.begin(), third.end()));
      if (!part.empty()) sum -= integral_of(hats_of(third)[0], part);
    }
    return sum;
  }

  /// A better shot that may set the bed also changes how often the others do: of the best, that is computed anew.
  void put_bed_right(std::size_t most) {
    constexpr double worth_a_look = 0.002;
    const std::size_t count = std::min(most, candidates_.size());
    for (std::size_t i = 0; i < count; ++i) {
      Candidate& candidate = candidates_[i];
      const std::vector<std::uint32_t>& points = shaken_.bed.points();
      const auto at = std::lower_bound(points.begin(), points.end(), candidate.points[0]);
      if (candidate.points.size() > 1 || at == points.end() || *at != candidate.points[0]) continue;
      if (candidate.gain < worth_a_look * before_) continue;  // one of thousands
      const auto twice = static_cast<std::size_t>(at - points.begin());
      const BottomMoves moves = shaken_.bed.moves(twice);
      const double slope = fill_.by_point[*at] + fill_.by_bottom * moves.share[twice];
      candidate.gain = before_ - variance_of(fill_, held_, shaken_, moves) + square(shaken_.random * slope) / 2;
    }
    put_best_first(count);
  }

  ShotAdvice advice_of(const Candidate& candidate, double yards) const {
    const Ground& ground = shaken_.mound.ground;
    ShotAdvice shot{ground.to_world(candidate.at),
                    {},
                    std::sqrt(before_) * yards,
                    std::sqrt(std::max(0.0, before_ - candidate.gain)) * yards};
    for (const std::uint32_t i : candidate.points) shot.shots.push_back(ground.shot_of_point[i]);
    return shot;
  }
};

}  // namespace

double PlusOrMinus::both_cy() const { return std::hypot(random_cy, systematic_cy); }

VolumeDerivatives volume_derivatives(const PlacedMound& mound) {
  Derivatives derivatives(mound);
  for_each_footprint_piece(mound, [&](const FootprintPiece& piece) { derivatives.add(piece); });
  return derivatives.take();
}

Accuracy accuracy_of(const PlacedMound& mound, const ShotAccuracy& shots, LengthUnit unit) {
  const double yards = cubic_yards_per(unit);
  const Shaken in_error = shaken(mound, shots.random);
  const VolumeDerivatives d = volume_derivatives(in_error.mound);
  const auto with = [&](const VolumeSlopes& slopes, double raised, double as_surveyed) {
    return plus_or_minus(slopes, in_error, raised - as_surveyed, shots.systematic, yards);
  };
  Accuracy result;
  result.shots = shots;
  if (in_error.follows_ground()) result.bottom_rise = in_error.moves.rise;
  for (std::size_t k = 0; k < d.fill.size(); ++k) {
    result.fill.push_back(with(d.fill[k], in_error.mound.buildup.layers[k].volume, mound.buildup.layers[k].volume));
  }
  for (std::size_t k = 0; k < d.cut.size(); ++k) {
    result.cut.push_back(with(d.cut[k], in_error.mound.buildup.cuts[k].volume, mound.buildup.cuts[k].volume));
  }
  const VolumeSlopes fill = added(d.fill, "fill", mound.ground.points.size());
  result.total_fill = with(fill, in_error.mound.buildup.total_fill(), mound.buildup.total_fill());
  result.total_cut = with(added(d.cut, "cut", mound.ground.points.size()), in_error.mound.buildup.total_cut(),
                          mound.buildup.total_cut());
  result.more_shots = Advisor(in_error, fill).best(yards);
  return result;
}

}  // namespace moundwright

#include "geom/bed_rise.h"

#include <algorithm>
#include <boost/random/normal_distribution.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numbers>
#include <tuple>

#include "geom/plan.h"

namespace moundwright {
namespace {

/// SplitMix64 (Steele, Lea and Flood 2014, "Fast splittable pseudorandom number generators").
class SplitMix {
 public:
  using result_type = std::uint64_t;
  explicit SplitMix(std::uint64_t seed) : state_(seed) {}
  static constexpr result_type min() { return 0; }
  static constexpr result_type max() { return std::numeric_limits<result_type>::max(); }
  result_type operator()() {
    std::uint64_t z = state_ += 0x9e3779b97f4a7c15U;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31);
  }

 private:
  std::uint64_t state_;
};

/// One point's errors. Boost's normal distribution gives the same numbers everywhere; the standard library's need not.
std::vector<double> errors_of(std::uint32_t point, std::size_t count, double random) {
  SplitMix seed(point), bits(seed());
  boost::random::normal_distribution<double> error(0, random);
  std::vector<double> column(count);
  for (double& e : column) e = error(bits);
  return column;
}

/// Weights of a triangle's corners in the elevation at p.
std::array<double, 3> weights_at(const std::array<Point2, 3>& corner, const Point2& p) {
  const auto twice_area = [](const Point2& a, const Point2& b, const Point2& c) {
    return (b.x() - a.x()) * (c.y() - a.y()) - (b.y() - a.y()) * (c.x() - a.x());
  };
  std::array<double, 3> weights{};
  double sum = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    constexpr double rounding = 1e-9;
    const double weight =
        twice_area(p, corner[(i + 1) % 3], corner[(i + 2) % 3]) / twice_area(corner[0], corner[1], corner[2]);
    weights[i] = weight > rounding ? weight : 0;
    sum += weights[i];
  }
  for (double& weight : weights) weight /= sum;
  return weights;
}

/// Written one way, whichever triangle it was found in.
HighPlace place_at(const Ground& ground, std::uint32_t triangle, const std::array<Point2, 3>& corner, const Point2& p) {
  HighPlace place{ground.tree.triangles[triangle], weights_at(corner, p), 0};
  for (std::size_t i = 0; i < 3; ++i) {
    place.elevation += place.weights[i] * ground.points[place.points[i]].z();
    if (place.weights[i] == 0) place.points[i] = std::numeric_limits<std::uint32_t>::max();
  }
  for (const auto& [i, j] : {std::pair(0U, 1U), std::pair(1U, 2U), std::pair(0U, 1U)}) {
    if (place.points[i] <= place.points[j]) continue;
    std::swap(place.points[i], place.points[j]);
    std::swap(place.weights[i], place.weights[j]);
  }
  for (std::size_t i = 1; i < 3; ++i) {
    if (place.weights[i] == 0) place.points[i] = place.points[0];
  }
  return place;
}

void drop_repeats(std::vector<HighPlace>& places) {
  std::sort(places.begin(), places.end(), [](const HighPlace& a, const HighPlace& b) {
    return std::tie(a.points, a.weights) < std::tie(b.points, b.weights);
  });
  const auto is_same = [](const HighPlace& a, const HighPlace& b) {
    constexpr double rounding = 1e-7;
    return a.points == b.points && std::abs(a.weights[0] - b.weights[0]) < rounding &&
           std::abs(a.weights[1] - b.weights[1]) < rounding;
  };
  places.erase(std::unique(places.begin(), places.end(), is_same), places.end());
}

double highest_under(const Ground& ground, const std::vector<Polygon2>& bed) {
  double top = -std::numeric_limits<double>::infinity();
  for (const Polygon2& outline : bed) {
    if (const auto highest = highest_ground(ground, outline)) top = std::max(top, highest->elevation);
  }
  return top;
}

/// The ground is even on a triangle, so that only corners of its part under the bed can be the highest place.
void add_places(const Ground& ground, std::uint32_t triangle, const Polygon2& outline, double least,
                HighPlaces& found) {
  std::array<Point2, 3> corner;
  bool reaches = false;
  for (std::size_t i = 0; i < 3; ++i) {
    const Point3& p = ground.points[ground.tree.triangles[triangle][i]];
    corner[i] = p.head<2>();
    reaches = reaches || p.z() >= least;
  }
  if (!reaches) return;
  const std::size_t before = found.places.size();
  for (const Point2& p : clip_convex(Polygon2(corner.begin(), corner.end()), outline)) {
    const HighPlace place = place_at(ground, triangle, corner, p);
    if (place.elevation >= least) found.places.push_back(place);
  }
  if (found.places.size() > before) found.triangles.push_back(triangle);
}

}  // namespace

HighPlaces high_places(const MoundPlace& mound, double random) {
  constexpr double deviations = 6, rounding = 1e-12;
  const std::vector<Polygon2> bed = bed_on_ground(mound);
  const double top = highest_under(mound.ground, bed);
  const double least = top - deviations * random - rounding * std::abs(top);
  HighPlaces found;
  for (const Polygon2& outline : bed) {
    for (const std::uint32_t t : triangles_meeting(mound.ground, outline))
      add_places(mound.ground, t, outline, least, found);
  }
  std::sort(found.triangles.begin(), found.triangles.end());
  drop_repeats(found.places);
  return found;
}

BedRise::BedRise(const std::vector<HighPlace>& places, double random) {
  double top = -std::numeric_limits<double>::infinity();
  for (const HighPlace& place : places) {
    top = std::max(top, place.elevation);
    points_.insert(points_.end(), place.points.begin(), place.points.end());
  }
  std::sort(points_.begin(), points_.end());
  points_.erase(std::unique(points_.begin(), points_.end()), points_.end());
  for (const HighPlace& place : places) {
    Carried carried{{}, place.weights, place.elevation - top};
    for (std::size_t i = 0; i < 3; ++i) {
      const auto at = std::lower_bound(points_.begin(), points_.end(), place.points[i]);
      carried.columns[i] = static_cast<std::size_t>(at - points_.begin());
    }
    places_.push_back(carried);
  }
  // Many places together rise by more and vary by less, and want fewer samples.
  constexpr std::size_t most = 4096, fewest = 1024, numbers = 1 << 21;
  samples_ = std::clamp(numbers / std::max<std::size_t>(1, points_.size()), fewest, most);
  for (const std::uint32_t point : points_) errors_.push_back(errors_of(point, samples_, random));
}

BottomMoves BedRise::moves(std::optional<std::size_t> twice) const {
  BottomMoves result;
  result.share.assign(points_.size(), 0.0);
  if (places_.empty()) return result;
  std::vector<double> scale(points_.size(), 1.0);
  if (twice) scale[*twice] = std::numbers::sqrt2 / 2;
  std::vector<double> top(samples_, -std::numeric_limits<double>::infinity());
  std::vector<std::uint32_t> governing(samples_, 0);
  for (std::size_t k = 0; k < places_.size(); ++k) {
    const Carried& place = places_[k];
    const auto [a, b, c] = place.columns;
    const double wa = place.weights[0] * scale[a], wb = place.weights[1] * scale[b], wc = place.weights[2] * scale[c];
    for (std::size_t s = 0; s < samples_; ++s) {
      const double here = place.height + wa * errors_[a][s] + wb * errors_[b][s] + wc * errors_[c][s];
      governing[s] = here > top[s] ? static_cast<std::uint32_t>(k) : governing[s];
      top[s] = std::max(top[s], here);
    }
  }
  const auto count = static_cast<double>(samples_);
  for (const std::uint32_t k : governing) {
    for (std::size_t i = 0; i < 3; ++i) result.share[places_[k].columns[i]] += places_[k].weights[i] / count;
  }
  std::vector<double>& rest = top;
  for (std::size_t p = 0; p < points_.size(); ++p) {
    const double factor = result.share[p] * scale[p];
    if (factor == 0) continue;
    for (std::size_t s = 0; s < samples_; ++s) rest[s] -= factor * errors_[p][s];
  }
  double squares = 0;
  for (const double r : rest) result.rise += r / count;
  for (const double r : rest) squares += (r - result.rise) * (r - result.rise);
  result.rest = std::sqrt(squares / (count - 1));
  return result;
}

}  // namespace moundwright

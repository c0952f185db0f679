// How the bed bottom moves with the errors of the shots, where it is set from the ground: it follows the highest place
// under the bed. The highest of many places that are each off by chance stands on average above all of them, and moves
// less than any one of them.
//
//   BedRise bed(high_places(place, 0.05).places, 0.05);
//   BottomMoves m = bed.moves();                      // m.rise, m.share[i] of bed.points()[i], m.rest
//   BottomMoves n = bed.moves(i);                     // with that shot taken twice
//
// Sampled, with common random numbers: each shot near the top has one fixed column of normal errors, so that the result
// is the same on every run, and two results may be subtracted. Only that part of the movement is left to chance which
// no sum over shots follows. By Stein's identity (Stein 1981, Annals of Statistics 9, 1135-1151) the covariance of the
// bottom with a shot is the shot's variance times its share, the mean derivative of the bottom by that shot; so the sum
// of share x error, whose mean and variance are known, is a control variate and goes with nothing of the rest. Where
// one shot stands clear above all others the rest is nothing, and the result is exact.
//
// Limits: errors are normal and independent, the places in plan are taken as right, and shots off by so much that a
// place more than six deviations under the top becomes the highest are not seen.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "geom/compiled_mound.h"

namespace moundwright {

/// A place where existing ground under the bed may be highest: a shot, an edge between two shots over the bed's edge,
/// or a corner of the bed. Its elevation is a weighted mean of those of up to three points.
struct HighPlace {
  std::array<std::uint32_t, 3> points;  // of the ground; those of no weight repeat another
  std::array<double, 3> weights;        // add up to 1
  double elevation = 0;
};

/// Places under the bed that errors of this size (one standard deviation, job units) may make the highest, each once.
struct HighPlaces {
  std::vector<HighPlace> places;
  std::vector<std::uint32_t> triangles;  // that carry one, ascending
};
HighPlaces high_places(const MoundPlace& mound, double random);

/// bottom = as surveyed + rise + sum of share x error + rest, where the rest has no mean and goes with no shot's error.
struct BottomMoves {
  double rise = 0;            // on average
  std::vector<double> share;  // by BedRise::points; they add up to 1
  double rest = 0;            // one standard deviation
};

class BedRise {
 public:
  BedRise(const std::vector<HighPlace>& places, double random);

  /// Points of the ground that carry a place, ascending.
  const std::vector<std::uint32_t>& points() const { return points_; }
  /// `twice`: index of a point whose shot is taken twice and averaged, which halves its variance.
  BottomMoves moves(std::optional<std::size_t> twice = std::nullopt) const;

 private:
  struct Carried {                       // a place, in the points below
    std::array<std::size_t, 3> columns;  // of errors
    std::array<double, 3> weights;
    double height;  // above the highest place as surveyed; not above zero
  };
  std::vector<std::uint32_t> points_;
  std::vector<Carried> places_;
  std::vector<std::vector<double>> errors_;  // by point: one a sample
  std::size_t samples_ = 0;
};

}  // namespace moundwright

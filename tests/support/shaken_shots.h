// A Monte Carlo run of the whole program: the shots of a job with normal errors in their elevations, triangulated and
// built up again and again. Shares nothing with geom/accuracy.h but the question.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <optional>
#include <random>
#include <vector>

#include "geom/accuracy.h"

namespace moundwright {

/// Bed bottom, then cubic job units: each layer, all fill, each cut item, all cut.
inline std::vector<double> bottom_and_volumes(const Buildup& b) {
  std::vector<double> v = {b.bottom_elevation};
  for (const LayerResult& layer : b.layers) v.push_back(layer.volume);
  v.push_back(b.total_fill());
  for (const CutItem& cut : b.cuts) v.push_back(cut.volume);
  v.push_back(b.total_cut());
  return v;
}

struct Spread {
  double rise = 0, rise_error = 0;  // of the mean over what the shots as they are give, and its standard error
  double deviation = 0;             // one standard deviation
};

/// Of bottom_and_volumes. Every set of errors is tried with both signs, which takes what is linear in them out of the
/// mean and leaves the rise (antithetic variates: Hammersley and Morton 1956, "A new Monte Carlo technique").
/// `better`: a shot whose errors have half the variance of the others'.
inline std::vector<Spread> monte_carlo(const std::vector<Shot>& shots, const std::vector<Breakline>& lines,
                                       const GroundOptions& options, const MoundDesign& design, double random,
                                       int pairs, std::optional<std::size_t> better = std::nullopt) {
  const auto compiled = compile_mound(design);
  BuildupWork work;
  GroundReport unread;  // shots in error may look like busts
  const auto volumes_with = [&](const std::vector<double>& errors, double sign) {
    std::vector<Shot> shaken = shots;
    for (std::size_t i = 0; i < shots.size(); ++i) shaken[i].elevation += sign * errors[i];
    const Ground ground = make_ground(shaken, lines, options, &unread);
    return bottom_and_volumes(build_up({ground, compiled, placement_of(design)}, work));
  };
  std::vector<double> errors(shots.size(), 0.0);
  const std::vector<double> base = volumes_with(errors, 1);
  struct Sums {
    double squares = 0, mean = 0, mean_squares = 0;
  };
  std::vector<Sums> sums(base.size());
  std::mt19937_64 engine(20240607);
  std::normal_distribution<double> error(0, random);
  for (int pair = 0; pair < pairs; ++pair) {
    for (double& e : errors) e = error(engine);
    if (better) errors[*better] *= std::sqrt(0.5);
    const std::vector<double> up = volumes_with(errors, 1), down = volumes_with(errors, -1);
    for (std::size_t k = 0; k < base.size(); ++k) {
      const double a = up[k] - base[k], b = down[k] - base[k], mean = 0.5 * (a + b);
      sums[k].squares += a * a + b * b;
      sums[k].mean += mean, sums[k].mean_squares += mean * mean;
    }
  }
  std::vector<Spread> result;
  for (const Sums& s : sums) {
    const double rise = s.mean / pairs, of_mean = (s.mean_squares - pairs * rise * rise) / (pairs - 1);
    result.push_back(
        {rise, std::sqrt(of_mean / pairs), std::sqrt((s.squares - 2.0 * pairs * rise * rise) / (2.0 * pairs - 1))});
  }
  return result;
}

/// In the order of bottom_and_volumes, from the first layer on.
inline std::vector<PlusOrMinus> all_bands(const Accuracy& accuracy) {
  std::vector<PlusOrMinus> bands = accuracy.fill;
  bands.push_back(accuracy.total_fill);
  bands.insert(bands.end(), accuracy.cut.begin(), accuracy.cut.end());
  bands.push_back(accuracy.total_cut);
  return bands;
}

/// Holds what is said of a mound against a run: every spread within 5 %, every rise within 5 % and three standard
/// errors of the run. `hair` cubic yards are nothing.
inline void expect_bands(const Accuracy& accuracy, const std::vector<Spread>& run, double yards, double hair) {
  EXPECT_NEAR(accuracy.bottom_rise.value_or(0), run[0].rise, 0.05 * run[0].rise + 3 * run[0].rise_error);
  const std::vector<PlusOrMinus> bands = all_bands(accuracy);
  ASSERT_EQ(bands.size() + 1, run.size());
  for (std::size_t k = 0; k < bands.size(); ++k) {
    const Spread& of_run = run[k + 1];
    const double deviation = of_run.deviation * yards, rise = of_run.rise * yards;
    EXPECT_NEAR(bands[k].random_cy, deviation, 0.05 * deviation + hair) << bands[k].name;
    EXPECT_NEAR(bands[k].rise_cy, rise, 0.05 * std::abs(rise) + 3 * of_run.rise_error * yards + hair) << bands[k].name;
  }
}

}  // namespace moundwright

// Volume derivatives against finite differences, the band and the rise of the bed against Monte Carlo runs, and closed
// forms: Anderson's for the band, the greatest of equal normal errors for the rise.
#include "geom/accuracy.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "geom/assumed_ground.h"
#include "geom/bed_rise.h"
#include "tests/support/shaken_shots.h"

namespace moundwright {
namespace {

/// Shots on a skewed lattice, so that one triangulation is the Delaunay one, on a hill that is never even.
std::vector<Shot> hill(int across = 13, double spacing = 12) {
  std::vector<Shot> shots;
  for (int j = 0; j < across; ++j) {
    for (int i = 0; i < across; ++i) {
      const double e = spacing * (i - 0.5 * (across - 1) + 0.31 * (j - 0.5 * (across - 1)));
      const double n = spacing * (j - 0.5 * (across - 1));
      shots.push_back({"", n, e, 100 - 0.08 * n + 0.3 * std::sin(0.13 * e + 0.4) + 0.2 * std::cos(0.17 * n), "", 0});
    }
  }
  return shots;
}

MoundDesign mound(double strip, bool by_least_sand, bool undercut) {
  MoundDesign design;
  design.bed = straight_bed({1.7, 0.9}, 83, 40, 8);
  if (by_least_sand) {
    design.least_sand = 1.3;
  } else {
    design.bottom_elevation = 102.6;
  }
  design.downslope = 353;
  design.prepare.strip = strip;
  if (undercut) design.prepare.undercut = Undercut{97.9, ByFace::all(1), ByFace::all(0.7)};
  design.layers = {{"core", "sand", 0, 0, ByFace::all(1), ByFace::all(0), false},
                   {"stone", "stone", 1, 0, ByFace::all(0), ByFace::all(0), false},
                   {"shell", "shell sand", 1, 0, ByFace::all(3), ByFace::all(0), false},
                   {"cover", "loam", 1.5, 0.5, ByFace::all(3), ByFace::all(3), true},
                   {"topsoil", "topsoil", 1.8, 0.5, ByFace::all(3), ByFace::all(3), true}};
  return design;
}

std::vector<double> volumes(const Buildup& b) {
  std::vector<double> v;
  for (const LayerResult& layer : b.layers) v.push_back(layer.volume);
  for (const CutItem& cut : b.cuts) v.push_back(cut.volume);
  return v;
}

/// Fill and cut items, by point; where the bed is set from the ground, it goes with the highest place.
std::vector<VolumeSlopes> slopes_of(const MoundPlace& place) {
  VolumeDerivatives d = volume_derivatives(place_mound(place));
  std::vector<VolumeSlopes> items = std::move(d.fill);
  items.insert(items.end(), d.cut.begin(), d.cut.end());
  if (place.design().bottom_elevation) return items;
  const std::vector<HighPlace> highest = high_places(place, 0).places;
  EXPECT_EQ(highest.size(), 1U);
  for (VolumeSlopes& item : items) {
    for (std::size_t i = 0; i < 3; ++i) {
      item.by_point[highest[0].points[i]] += item.by_bottom * highest[0].weights[i];
    }
  }
  return items;
}

void expect_derivatives(const MoundDesign& design) {
  const std::vector<Shot> shots = hill();
  const Ground ground = make_ground(shots);
  const MoundPlace place = place_as_drawn(ground, design);
  const std::vector<VolumeSlopes> items = slopes_of(place);
  constexpr double step = 1e-4;
  double largest = 0;
  for (std::size_t p = 0; p < ground.points.size(); ++p) {
    const auto moved = [&](double by) {
      std::vector<Shot> other = shots;
      other[static_cast<std::size_t>(ground.shot_of_point[p])].elevation += by;
      return volumes(build_up(place_as_drawn(make_ground(other), design)));
    };
    const std::vector<double> up = moved(step), down = moved(-step);
    for (std::size_t k = 0; k < items.size(); ++k) {
      const double by_difference = (up[k] - down[k]) / (2 * step);
      EXPECT_NEAR(items[k].by_point[p], by_difference, 0.02 + 1e-4 * std::abs(by_difference))
          << items[k].name << " by point " << p;
      largest = std::max(largest, std::abs(by_difference));
    }
  }
  EXPECT_GT(largest, 50);  // square feet: the tolerance is a small part of the effect
}

TEST(Accuracy, DerivativesAgreeWithFiniteDifferences) { expect_derivatives(mound(0, false, false)); }
TEST(Accuracy, DerivativesWithAStripAgree) { expect_derivatives(mound(0.5, false, false)); }
TEST(Accuracy, DerivativesWithLeastSandAgree) { expect_derivatives(mound(0, true, false)); }
TEST(Accuracy, DerivativesWithStripPitAndLeastSandAgree) { expect_derivatives(mound(0.4, true, true)); }

/// What is said of a mound on a hill against 3,000 re-runs, which are themselves good to 1.3 %.
void expect_agreement_with_re_runs(const std::vector<Shot>& shots, const MoundDesign& design, double random) {
  const Ground ground = make_ground(shots);
  const Accuracy told = accuracy_of(place_mound(place_as_drawn(ground, design)), {random, 0}, LengthUnit::foot);
  // The toe's own wandering goes with the square of the errors; see the limits in geom/accuracy.h.
  const double hair = 0.03 * std::pow(random / 0.05, 2);  // cubic yards
  expect_bands(told, monte_carlo(shots, {}, {}, design, random, 1500), 1 / 27.0, hair);
}

TEST(Accuracy, ReRunsOfABedAtAFixedElevation) { expect_agreement_with_re_runs(hill(), mound(0.3, false, true), 0.05); }
TEST(Accuracy, ReRunsOfABedSetFromTheGround) { expect_agreement_with_re_runs(hill(), mound(0, true, false), 0.05); }
TEST(Accuracy, ReRunsOfABedSetFromTheGroundOverStripAndPit) {
  expect_agreement_with_re_runs(hill(), mound(0.4, true, true), 0.08);
}
TEST(Accuracy, ReRunsOnShotsFarApart) { expect_agreement_with_re_runs(hill(7, 33), mound(0, true, false), 0.1); }
TEST(Accuracy, ReRunsOnShotsCloseTogether) {
  expect_agreement_with_re_runs(hill(21, 6), mound(0.3, true, false), 0.05);
}
TEST(Accuracy, ReRunsOfABedThatBends) {
  MoundDesign design = mound(0, true, false);
  design.bed.line = {{-22, 4}, {1, -1}, {24, 1}};
  expect_agreement_with_re_runs(hill(), design, 0.05);
}

/// Level ground with shots 4 ft apart along the middle of a bed that no other shot, and no edge, comes near: a ridge.
std::vector<Shot> ridge(int tops) {
  std::vector<Shot> shots;
  for (int i = -20; i <= 20; ++i) {
    for (const double n : {-40.0, 40.0}) shots.push_back({"", n, 4.0 * i, 90, "", 0});
    const double here = 2 * std::abs(i) < tops ? 100 : 99;
    shots.push_back({"", 0, 4.0 * i, here, "", 0});
  }
  return shots;
}

BottomMoves moves_of_ridge(int tops, double random) {
  MoundDesign design = mound(0, true, false);
  design.bed = straight_bed({0, 0}, 90, 60, 10);
  const BedRise bed(high_places(place_as_drawn(make_ground(ridge(tops)), design), random).places, random);
  return bed.moves();
}

// The greatest of n independent normal errors: mean 0, 1/sqrt(pi), 3/(2 sqrt(pi)), and for five 1.16296 deviations;
// variance 1, 1 - 1/pi, 1 - (9 - 2 sqrt(3)) / (4 pi) and 0.44753 (Teichroew 1956, Annals of Mathematical Statistics 27,
// 410-426; the first three are closed forms).
TEST(BedRise, TheHighestOfAFewEqualShots) {
  const double pi = std::numbers::pi, random = 0.05;
  const struct {
    int tops;
    double mean, variance;
  } published[] = {{1, 0, 1}, {3, 1.5 / std::sqrt(pi), 1 - (9 - 2 * std::sqrt(3)) / (4 * pi)}, {5, 1.16296, 0.44753}};
  for (const auto& [tops, mean, variance] : published) {
    SCOPED_TRACE(tops);
    const BottomMoves m = moves_of_ridge(tops, random);
    double linear = 0, shares = 0;
    for (const double share : m.share) linear += share * share, shares += share;
    // 4,096 samples of the rest: three standard errors of its mean.
    EXPECT_NEAR(m.rise / random, mean, 3 * m.rest / random / 64 + 1e-12);
    EXPECT_NEAR(linear + m.rest * m.rest / (random * random), variance, 0.03 * variance);
    EXPECT_NEAR(shares, 1, 1e-12);
  }
}

// One shot that stands clear above the rest sets the bed alone: nothing is sampled, and nothing rises.
TEST(BedRise, OneShotAloneIsExact) {
  const BottomMoves m = moves_of_ridge(1, 0.05);
  EXPECT_NEAR(m.rise, 0, 1e-15);
  EXPECT_NEAR(m.rest, 0, 1e-15);
}

// The greater of two independent normal errors with mean 0 (Clark 1961, Operations Research 9, 145-162): its mean is
// t / sqrt(2 pi) and its mean square (a^2 + b^2) / 2, where t^2 = a^2 + b^2. A shot taken twice has half the variance.
TEST(BedRise, AShotTakenTwiceHasHalfTheVariance) {
  const double pi = std::numbers::pi, random = 0.05;
  const HighPlace one{{0, 0, 0}, {1, 0, 0}, 100}, other{{1, 1, 1}, {1, 0, 0}, 100};
  const BedRise bed({one, other}, random);
  const BottomMoves m = bed.moves(0);
  const double t2 = 1.5 * random * random, mean = std::sqrt(t2 / (2 * pi));
  // 4,096 samples of the rest: three standard errors of its mean.
  EXPECT_NEAR(m.rise, mean, 3 * m.rest / 64);
  const double linear = random * random * (0.5 * m.share[0] * m.share[0] + m.share[1] * m.share[1]);
  EXPECT_NEAR(linear + m.rest * m.rest, t2 / 2 - mean * mean, 0.03 * t2);
}

TEST(BedRise, TheSameOnEveryRun) {
  const BottomMoves a = moves_of_ridge(5, 0.05), b = moves_of_ridge(5, 0.05);
  EXPECT_EQ(a.rise, b.rise);
  EXPECT_EQ(a.share, b.share);
  // and on every machine: as it was first computed, to far less than another draw would differ by
  EXPECT_NEAR(a.rise, 0.059118724692, 1e-9);
}

// A bed bottom that is set from the ground goes up and down with an error common to all shots, and no volume changes.
TEST(Accuracy, ACommonErrorLeavesAMoundThatIsSetFromTheGroundAlone) {
  const Ground ground = make_ground(hill());
  const auto common = [&](const MoundDesign& design) {
    const PlacedMound mound = place_mound(place_as_drawn(ground, design));
    const Buildup& b = mound.buildup;
    return std::pair(accuracy_of(mound, {0, 0.1}, LengthUnit::foot).total_fill.systematic_cy,
                     0.1 * b.footprint_area / 27);
  };
  EXPECT_LT(common(mound(0, true, false)).first, 1e-9);
  // Anderson 2019: a common error over area A is sigma_V = A sigma.
  const auto [given, closed_form] = common(mound(0, false, false));
  EXPECT_NEAR(given, closed_form, 1e-9);
}

// Two that have nothing to do with each other add up by their squares (GUM, JCGM 100:2008, 5.1.2).
TEST(Accuracy, RandomAndSystematicAddUpByTheirSquares) {
  PlusOrMinus band;
  band.random_cy = 3, band.systematic_cy = 4;
  EXPECT_NEAR(band.both_cy(), 5, 1e-12);
}

/// Fill with vertical sides over a whole survey of 3 x 3 squares of 10 ft, all diagonals one way.
std::vector<double> squares(bool rising) {
  std::vector<Shot> shots;
  std::vector<Breakline> diagonals;
  for (int j = 0; j <= 3; ++j) {
    for (int i = 0; i <= 3; ++i) shots.push_back({"", 10.0 * j, 10.0 * i, 100, "", 0});
  }
  for (std::size_t j = 0; j < 3; ++j) {
    for (std::size_t i = 0; i < 3; ++i) {
      const std::size_t at = 4 * j + i;
      diagonals.push_back(rising ? Breakline{at, at + 5} : Breakline{at + 1, at + 4});
    }
  }
  const Ground ground = make_ground(shots, diagonals);
  MoundDesign design;
  design.bed = straight_bed({15, 15}, 90, 20, 20);
  design.bottom_elevation = 101;
  design.downslope = 0;
  design.layers = {{"fill", "sand", 1, 0, ByFace::all(20), ByFace::all(0), false}};
  const MoundPlace place = place_as_drawn(ground, design);
  const VolumeDerivatives d = volume_derivatives(place_mound(place));
  std::vector<double> by_shot(shots.size());
  for (std::size_t p = 0; p < ground.points.size(); ++p) {
    by_shot[static_cast<std::size_t>(ground.shot_of_point[p])] = d.fill[0].by_point[p];
  }
  return by_shot;
}

// Corner-weighted 3 x 3 squares of 10 ft, sigma 0.05 ft: 12.5 cu ft random, 45 if common (closed form; Anderson 2019).
// The two diagonals of a square, averaged, weight its corners alike.
TEST(Accuracy, ThreeByThreeSquares) {
  const std::vector<double> a = squares(true), b = squares(false);
  double sum = 0, sum_of_squares = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const double d = 0.5 * (a[i] + b[i]);
    sum += d, sum_of_squares += d * d;
  }
  EXPECT_NEAR(0.05 * std::sqrt(sum_of_squares), 12.5, 1e-9);
  EXPECT_NEAR(0.05 * std::abs(sum), 45, 1e-9);
}

// sqrt(n) L^2 sigma (Anderson 2019): on a lattice every shot inside the fill carries one cell.
TEST(Accuracy, EveryShotInsideTheFillCarriesItsCell) {
  const double spacing = 3;
  const Ground ground = make_ground(hill(31, spacing));
  MoundDesign design = mound(0, false, false);
  design.bottom_elevation = 106;  // a high one, so that many cells lie wholly under it
  const MoundPlace place = place_as_drawn(ground, design);
  const VolumeDerivatives d = volume_derivatives(place_mound(place));
  std::size_t whole = 0;
  for (std::size_t p = 0; p < ground.points.size(); ++p) {
    double all = 0;
    for (const VolumeSlopes& item : d.fill) all += item.by_point[p];
    if (std::abs(all + spacing * spacing) < 1e-9) ++whole;
  }
  EXPECT_GT(whole, 200U);
}

Accuracy told_by(const std::vector<Shot>& shots, const MoundDesign& design, const std::vector<Breakline>& lines = {}) {
  const Ground ground = make_ground(shots, lines);
  return accuracy_of(place_mound(place_as_drawn(ground, design)), {0.05, 0}, LengthUnit::foot);
}

// Set a shot where the advice wants one, on the ground as it is and with the triangle's edges kept, and compute anew.
TEST(Accuracy, OneMoreShotTakesOffWhatTheAdviceSays) {
  std::vector<Shot> shots = hill(7, 33);  // far apart: a shot between helps more than one shot again
  const MoundDesign design = mound(0, false, false);
  const Ground ground = make_ground(shots);
  const Accuracy before = told_by(shots, design);
  std::size_t tried = 0;
  double last = 0;
  for (const ShotAdvice& advice : before.more_shots) {
    EXPECT_GE(advice.random_after_cy, last);
    last = advice.random_after_cy;
    if (advice.shots.size() != 3) continue;
    ++tried;
    std::vector<Shot> more = shots;
    more.push_back({"", advice.at.y(), advice.at.x(), *elevation_at(ground, ground.to_local(advice.at)), "", 0});
    const auto corner = [&](std::size_t i) { return static_cast<std::size_t>(advice.shots[i % 3]); };
    const std::vector<Breakline> edges = {{corner(0), corner(1)}, {corner(1), corner(2)}, {corner(2), corner(0)}};
    EXPECT_NEAR(told_by(more, design, edges).total_fill.random_cy, advice.random_after_cy, 1e-9);
    EXPECT_LT(advice.random_after_cy, before.total_fill.random_cy);
  }
  EXPECT_GT(tried, 0U);
}

/// Triangles of the ground that a new shot would stand in, by what the advice says of it.
std::vector<std::uint32_t> triangles_of_new_shots(const Ground& ground, const std::vector<ShotAdvice>& advice) {
  std::vector<std::uint32_t> triangles;
  for (const ShotAdvice& shot : advice) {
    if (shot.shots.size() > 1) triangles.push_back(triangle_at(ground, ground.to_local(shot.at)).value());
  }
  return triangles;
}

// A new shot where the bed may be set would raise it as well as take off what it is told to: none is advised there,
// though the shots stand so far apart that it would be among the best.
TEST(Accuracy, NoNewShotIsAdvisedWhereItCouldSetTheBed) {
  const Ground ground = make_ground(hill(5, 45));
  const MoundPlace place = place_as_drawn(ground, mound(0, true, false));
  const std::vector<std::uint32_t> may_set_it = high_places(place, 0.05).triangles;
  ASSERT_FALSE(may_set_it.empty());
  const Accuracy told = accuracy_of(place_mound(place), {0.05, 0}, LengthUnit::foot);
  ASSERT_FALSE(told.more_shots.empty());
  for (const std::uint32_t t : triangles_of_new_shots(ground, told.more_shots)) {
    EXPECT_THAT(may_set_it, testing::Not(testing::Contains(t)));
  }
}

// Nor in the middle of ground that was assumed past the survey, here three shots and a mound that leaves them: that it
// wants shots is told by itself (geom/assumed_ground.h).
TEST(Accuracy, NoNewShotIsAdvisedOnAssumedGround) {
  GroundOptions options;
  options.extend = 10;
  const Ground ground =
      make_ground({{"", -8, -150, 100.64, "", 0}, {"", -8, 150, 100.64, "", 0}, {"", 200, 0, 84, "", 0}}, {}, options);
  const PlacedMound placed = place_mound(place_as_drawn(ground, mound(0, false, false)));
  ASSERT_TRUE(on_assumed_ground(placed, LengthUnit::foot));
  const Accuracy told = accuracy_of(placed, {0.05, 0}, LengthUnit::foot);
  const std::vector<std::uint32_t> advised = triangles_of_new_shots(ground, told.more_shots);
  EXPECT_FALSE(advised.empty());
  for (const std::uint32_t t : advised) EXPECT_FALSE(ground.is_assumed(t));
  for (const ShotAdvice& advice : told.more_shots) EXPECT_THAT(advice.shots, testing::Each(testing::Ge(0)));
}

// With the bed held, a shot taken again and averaged keeps half of its own part of the variance, and no other's.
TEST(Accuracy, AShotTakenAgainUnderABedThatIsHeld) {
  const std::vector<Shot> shots = hill();
  const MoundDesign design = mound(0, false, false);
  const Accuracy told = told_by(shots, design);
  std::size_t tried = 0;
  for (const ShotAdvice& advice : told.more_shots) {
    if (advice.shots.size() != 1) continue;
    ++tried;
    constexpr double step = 1e-3;
    const auto fill = [&](double by) {
      std::vector<Shot> other = shots;
      other[static_cast<std::size_t>(advice.shots[0])].elevation += by;
      return build_up(place_as_drawn(make_ground(other), design)).total_fill() / 27;
    };
    const double part = 0.05 * (fill(step) - fill(-step)) / (2 * step);
    const double before = advice.random_before_cy, after = advice.random_after_cy;
    EXPECT_NEAR(before * before - after * after, part * part / 2, 0.01 * part * part);
  }
  EXPECT_GT(tried, 0U);
}

// Where the bed is set from the ground, the best shot to take again is one that may set it; re-runs with that shot's
// variance halved come to what the advice says.
TEST(Accuracy, AShotTakenAgainUnderABedSetFromTheGround) {
  const std::vector<Shot> shots = hill();
  const MoundDesign design = mound(0, true, false);
  const Accuracy told = told_by(shots, design);
  ASSERT_FALSE(told.more_shots.empty());
  const ShotAdvice& best = told.more_shots[0];
  ASSERT_EQ(best.shots.size(), 1U);
  EXPECT_NEAR(best.random_before_cy, told.total_fill.random_cy, 1e-12);
  EXPECT_LT(best.random_after_cy, 0.97 * best.random_before_cy);
  const std::size_t fill = told.fill.size() + 1;
  const auto deviation = [&](std::optional<std::size_t> better) {
    return monte_carlo(shots, {}, {}, design, 0.05, 1500, better)[fill].deviation;
  };
  const double gain = deviation(static_cast<std::size_t>(best.shots[0])) / deviation(std::nullopt);
  EXPECT_NEAR(best.random_after_cy / best.random_before_cy, gain, 0.02);
}

}  // namespace
}  // namespace moundwright

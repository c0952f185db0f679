// Mounds and ground by chance, for the tests: upright faces, bends, crowns, pits and layers bare of cover in every
// mixture on rough ground; and beds of short pieces under long berms on steep, twisted ground, where the bends'
// bisectors cross inside the mound and a line from the bed meets the toe more than once.
#pragma once

#include <cmath>
#include <random>
#include <string>
#include <vector>

#include "geom/ground.h"
#include "tests/support/plain_layer.h"

namespace moundwright {

inline Shot shot_at(double x, double y, double z) {
  Shot shot;
  shot.easting = x, shot.northing = y, shot.elevation = z;
  return shot;
}

/// Shots on a square lot about (0, 0) that falls east, with undulation and noise; the corners of the lot are shot.
inline std::vector<Shot> rough_shots(std::size_t count, double half, double noise, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> place(-half, half), error(-noise, noise);
  std::vector<Shot> shots;
  const auto add = [&](double x, double y) {
    shots.push_back(shot_at(x, y, 100 - 0.06 * x + 0.5 * std::sin(x / 17) * std::cos(y / 13) + error(random)));
  };
  for (const double x : {-half, half}) {
    for (const double y : {-half, half}) add(x, y);
  }
  while (shots.size() < count) {
    const double x = place(random);
    add(x, place(random));
  }
  return shots;
}

struct Dice {
  std::mt19937 random;
  double from(double low, double high) { return std::uniform_real_distribution<double>(low, high)(random); }
  bool one_in(int n) { return std::uniform_int_distribution<int>(1, n)(random) == 1; }
  /// Often zero or a whole number, so that sides stand upright and faces meet.
  double size(double most) {
    if (one_in(2)) return 0;
    const double any = from(0, most);
    return one_in(2) ? std::round(any) : any;
  }
  ByFace sizes(double most) {
    return one_in(2) ? ByFace::all(size(most)) : ByFace{size(most), size(most), size(most), size(most)};
  }
};

inline MoundDesign random_design(Dice& dice) {
  MoundDesign design;
  design.bed.width = 8;
  design.bed.line = {{-15, 0}, {15, dice.from(-4, 4)}};
  if (dice.one_in(2)) design.bed.line.insert(design.bed.line.begin() + 1, {dice.from(-3, 3), dice.from(-4, 4)});
  design.downslope = dice.from(0, 360);
  design.bottom_elevation = dice.from(99, 103);
  const int count = 1 + static_cast<int>(dice.from(0, 5));
  for (int k = 0; k < count; ++k) {
    Layer one = plain_layer("layer " + std::to_string(k), dice.size(2.5), 0, 0);
    one.beyond = dice.sizes(5), one.side = dice.sizes(3);
    if (dice.one_in(3)) one.crown = dice.from(0, 1);
    one.round_corners = dice.one_in(3);
    design.layers.push_back(one);
  }
  if (dice.one_in(2)) design.prepare.strip = dice.from(0, 1);
  if (dice.one_in(2)) design.prepare.undercut = Undercut{dice.from(97, 100), dice.sizes(2), dice.sizes(2)};
  return design;
}

/// Shots on a square lot about (0, 0) that falls up to a quarter either way, twisted, with knolls; its corners are
/// shot.
inline std::vector<Shot> twisted_shots(Dice& dice, std::size_t count, double half) {
  const double east = dice.from(-0.25, 0.25), north = dice.from(-0.25, 0.25), twist = dice.from(-0.3, 0.3) / half;
  const double knolls = dice.one_in(2) ? dice.from(0, 2) : 0, noise = dice.one_in(2) ? dice.from(0, 0.5) : 0;
  std::vector<Shot> shots;
  const auto add = [&](double x, double y) {
    const double knoll = knolls * std::sin(x / 5) * std::cos(y / 6);
    shots.push_back(shot_at(x, y, 100 + east * x + north * y + twist * x * y + knoll + dice.from(-noise, noise)));
  };
  for (const double x : {-half, half}) {
    for (const double y : {-half, half}) add(x, y);
  }
  while (shots.size() < count) {
    const double x = dice.from(-half, half);
    add(x, dice.from(-half, half));
  }
  return shots;
}

/// Two to four pieces of 1 to 3, each bent up to 60 degrees from the one before.
inline std::vector<Point2> short_pieces(Dice& dice) {
  double heading = dice.from(0, 6.28);
  Point2 at(dice.from(-2, 2), dice.from(-2, 2));
  std::vector<Point2> line{at};
  for (int left = 2 + static_cast<int>(dice.from(0, 3)); left > 0; --left) {
    at += dice.from(1, 3) * Point2(std::cos(heading), std::sin(heading));
    line.push_back(at);
    heading += dice.from(-1.05, 1.05);
  }
  return line;
}

/// check_design may refuse it: most bends are too tight for a wide top.
inline MoundDesign random_bent_design(Dice& dice) {
  const auto run = [&] {
    return dice.one_in(3) ? 0.0 : std::vector{0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 12.0}[dice.random() % 7];
  };
  const auto runs = [&] { return dice.one_in(2) ? ByFace::all(run()) : ByFace{run(), run(), run(), run()}; };
  MoundDesign design;
  design.bed.width = dice.from(0.8, 3);
  design.bed.line = short_pieces(dice);
  design.downslope = dice.from(0, 360);
  design.bottom_elevation = dice.from(99, 104);
  const int count = 1 + static_cast<int>(dice.from(0, 4));
  for (int k = 0; k < count; ++k) {
    Layer one = plain_layer("layer " + std::to_string(k), dice.size(3), 0, 0);
    one.beyond = dice.one_in(2) ? ByFace::all(0) : dice.sizes(2);
    one.side = runs();
    if (dice.one_in(3)) one.crown = dice.from(0, 0.5);
    one.round_corners = dice.one_in(3);
    design.layers.push_back(one);
  }
  if (dice.one_in(3)) design.prepare.strip = dice.from(0, 1);
  if (dice.one_in(3)) design.prepare.undercut = Undercut{dice.from(96, 100), dice.sizes(1), dice.sizes(1.5)};
  return design;
}

/// One that check_design lets pass.
inline MoundDesign good_bent_design(Dice& dice) {
  MoundDesign design = random_bent_design(dice);
  while (check_design(design).has_errors()) design = random_bent_design(dice);
  return design;
}

}  // namespace moundwright

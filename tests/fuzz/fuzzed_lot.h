// A small lot and the mound on it from any bytes, for the fuzzers that compute. Sizes are quarters of a foot and places
// whole or half feet, so that walls run along the ground's edges, corners meet shots and planes meet in one line;
// elevations of the ground are off by a hair of their own, so that no side lies on it over an area.
#pragma once

#include <fuzzer/FuzzedDataProvider.h>

#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include "geom/design.h"
#include "geom/ground.h"

namespace moundwright::fuzz {

struct FuzzedLot {
  std::vector<Shot> shots;
  MoundDesign design;
};

inline void require(bool holds, const char* what) {
  if (holds) return;
  std::fprintf(stderr, "does not hold: %s\n", what);
  std::abort();
}

inline void require_near(double found, double wanted, double within, const char* what) {
  if (std::abs(found - wanted) <= within) return;
  std::fprintf(stderr, "does not hold: %s is %.12g for %.12g, within %g\n", what, found, wanted, within);
  std::abort();
}

/// Half of all sizes are zero.
inline double size_from(FuzzedDataProvider& bytes, int quarters) {
  return 0.25 * std::max(0, bytes.ConsumeIntegralInRange(-quarters, quarters));
}

inline ByFace sizes_from(FuzzedDataProvider& bytes, int quarters) {
  if (bytes.ConsumeBool()) return ByFace::all(size_from(bytes, quarters));
  return {size_from(bytes, quarters), size_from(bytes, quarters), size_from(bytes, quarters),
          size_from(bytes, quarters)};
}

inline std::vector<Shot> shots_from(FuzzedDataProvider& bytes) {
  const double half = bytes.ConsumeBool() ? 80 : 16;  // the survey may end under the berm
  const double east = bytes.ConsumeIntegralInRange(-20, 20) / 100.0,
               north = bytes.ConsumeIntegralInRange(-20, 20) / 100.0;
  std::vector<Shot> shots;
  const auto add = [&](double x, double y, double rise) {
    constexpr double golden = 0.6180339887498949, hair = 1e-3;
    const double own = hair * std::fmod(golden * static_cast<double>(shots.size() + 1), 1.0);
    Shot shot;
    shot.easting = x, shot.northing = y, shot.elevation = 100 + east * x + north * y + rise + own;
    shots.push_back(shot);
  };
  for (const double x : {-half, half}) {
    for (const double y : {-half, half}) add(x, y, 0);
  }
  for (int left = bytes.ConsumeIntegralInRange(0, 8); left > 0; --left) {
    const double x = 0.5 * bytes.ConsumeIntegralInRange(-31, 31), y = 0.5 * bytes.ConsumeIntegralInRange(-31, 31);
    add(x, y, bytes.ConsumeIntegralInRange(-16, 16) / 8.0);
  }
  return shots;
}

inline Layer layer_from(FuzzedDataProvider& bytes, std::size_t number) {
  Layer layer;
  layer.name = layer.material = "layer " + std::to_string(number);
  layer.top = 0.25 * bytes.ConsumeIntegralInRange(-4, 12);
  layer.crown = size_from(bytes, 3);
  layer.beyond = sizes_from(bytes, 12);
  layer.side = sizes_from(bytes, 20);
  layer.round_corners = bytes.ConsumeIntegralInRange(0, 7) == 0;  // takes long
  return layer;
}

inline MoundDesign design_from(FuzzedDataProvider& bytes) {
  MoundDesign design;
  design.bed.width = 0.25 * bytes.ConsumeIntegralInRange(2, 24);
  for (int left = bytes.ConsumeIntegralInRange(2, 4); left > 0; --left) {
    const double x = 0.5 * bytes.ConsumeIntegralInRange(-20, 20);
    design.bed.line.emplace_back(x, 0.5 * bytes.ConsumeIntegralInRange(-20, 20));
  }
  design.downslope = 15.0 * bytes.ConsumeIntegralInRange(0, 23);
  if (bytes.ConsumeBool()) {
    design.bottom_elevation = 100 + 0.25 * bytes.ConsumeIntegralInRange(-8, 16);
  } else {
    design.least_sand = size_from(bytes, 8);
  }
  design.prepare.strip = size_from(bytes, 3);
  if (bytes.ConsumeBool()) {
    design.prepare.undercut =
        Undercut{100 - 0.25 * bytes.ConsumeIntegralInRange(-4, 16), sizes_from(bytes, 6), sizes_from(bytes, 6)};
  }
  const auto count = bytes.ConsumeIntegralInRange<std::size_t>(1, 3);
  for (std::size_t k = 0; k < count; ++k) design.layers.push_back(layer_from(bytes, k));
  return design;
}

/// Shots may lie at one place and a design may be one that check_design refuses: that is for the fuzzer to try.
inline FuzzedLot lot_from(const std::uint8_t* data, std::size_t size) {
  FuzzedDataProvider bytes(data, size);
  FuzzedLot lot;
  lot.design = design_from(bytes);
  lot.shots = shots_from(bytes);
  return lot;
}

/// What every fuzzer of lots does: `check` ends the program where something does not hold, and may refuse the lot in
/// words.
template <class Check>
int try_lot(const std::uint8_t* data, std::size_t size, Check check) {
  try {
    check(lot_from(data, size));
  } catch (const Refusal& refusal) {
    require(Problems{refusal.problems()}.has_errors(), "a refusal has an error");
  }
  return 0;
}

}  // namespace moundwright::fuzz

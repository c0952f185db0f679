// How long one placement of a mound takes: a full Buildup with bed-bottom search, areas, thickness and toe, at random
// placements (repeating one flatters the branch predictor).
//
//   BM_Buildup_lot/N       N shots on a 300 ft lot
//   BM_Buildup_spacing/N   N shots at the spacing of 2,000 on a 300 ft lot
//   BM_Compile             a design into plan cells
//   BM_Compile_layers/N    one of N layers, each with rounded corners of its own
#include <benchmark/benchmark.h>

#include <cmath>
#include <map>
#include <random>
#include <string>

#include "geom/buildup.h"

namespace moundwright {
namespace {

constexpr double lot_side = 300;
constexpr double lot_shots = 2000;

Ground rolling_ground(std::size_t shots, double side) {
  std::mt19937_64 generator(1);
  std::uniform_real_distribution<double> place(0, side), noise(-0.05, 0.05);
  std::vector<Shot> survey(shots);
  for (Shot& shot : survey) {
    shot.easting = place(generator), shot.northing = place(generator);
    shot.elevation = 100 + 0.07 * shot.northing + 0.5 * std::sin(shot.easting / 30) +
                     0.4 * std::cos(shot.northing / 25) + noise(generator);
  }
  return make_ground(survey);
}

MoundDesign stripped_design(double side) {
  MoundDesign design;
  design.bed = straight_bed({side / 2, side / 2}, 90, 60, 10);
  design.least_sand = 1.5;
  design.downslope = 180;
  design.prepare.strip = 0.5;
  design.layers = {{"core", "clean sand", 0, 0, ByFace::all(1), ByFace::all(0), false},
                   {"stone", "washed stone", 1, 0, ByFace::all(0), ByFace::all(0), false},
                   {"shell", "shell sand", 1, 0, ByFace::all(3), ByFace::all(0), false},
                   {"cover", "sandy loam", 1.5, 0.5, ByFace::all(3), ByFace::all(3), true}};
  return design;
}

std::vector<MoundFrame> random_frames(double side, std::size_t count) {
  std::mt19937_64 generator(7);
  std::uniform_real_distribution<double> turn(-0.3, 0.3), place(90, side - 90);
  std::vector<MoundFrame> frames(count);
  for (MoundFrame& frame : frames) {
    const double angle = std::acos(-1.0) + turn(generator);
    frame.along = {std::cos(angle), std::sin(angle)};
    frame.origin = {place(generator), place(generator)};
  }
  return frames;
}

void build_at_random(benchmark::State& state, std::size_t shots, double side) {
  const Ground ground = rolling_ground(shots, side);
  MoundPlace place = place_as_drawn(ground, stripped_design(side));
  const std::vector<MoundFrame> frames = random_frames(side, 1024);
  BuildupWork work;
  std::size_t i = 0;
  double footprint = 0;
  for (auto _ : state) {
    place.placement.frame = frames[i++ % frames.size()];
    footprint += build_up(place, work).footprint_area;
  }
  state.counters["footprint"] = footprint / static_cast<double>(i);  // square feet, on average
}

void BM_Buildup_lot(benchmark::State& state) {
  build_at_random(state, static_cast<std::size_t>(state.range(0)), lot_side);
}
BENCHMARK(BM_Buildup_lot)->Arg(2000)->Arg(1000000)->Unit(benchmark::kMicrosecond);

/// The sums alone, as a search over placements asks them.
void BM_PlacementSums_lot(benchmark::State& state) {
  const Ground ground = rolling_ground(static_cast<std::size_t>(state.range(0)), lot_side);
  MoundPlace place = place_as_drawn(ground, stripped_design(lot_side));
  const std::vector<MoundFrame> frames = random_frames(lot_side, 1024);
  BuildupWork work;
  PlacementSums sums;
  std::size_t i = 0;
  for (auto _ : state) {
    place.placement.frame = frames[i++ % frames.size()];
    sum_up(place, work, sums);
    benchmark::DoNotOptimize(sums.footprint_area);
  }
}
BENCHMARK(BM_PlacementSums_lot)->Arg(2000)->Arg(1000000)->Unit(benchmark::kMicrosecond);

void BM_Buildup_spacing(benchmark::State& state) {
  const auto shots = static_cast<std::size_t>(state.range(0));
  build_at_random(state, shots, lot_side * std::sqrt(static_cast<double>(shots) / lot_shots));
}
BENCHMARK(BM_Buildup_spacing)->Arg(1000)->Arg(10000)->Arg(100000)->Arg(1000000)->Unit(benchmark::kMicrosecond);

void BM_Compile(benchmark::State& state) {
  const MoundDesign design = stripped_design(lot_side);
  for (auto _ : state) benchmark::DoNotOptimize(compile_mound(design));
}
BENCHMARK(BM_Compile)->Unit(benchmark::kMicrosecond);

/// The lines of every rounded corner cross those of all others: cells grow with the square of the layers.
void BM_Compile_layers(benchmark::State& state) {
  MoundDesign design = stripped_design(lot_side);
  design.layers.clear();
  for (int k = 0; k < state.range(0); ++k) {
    const std::string name = "layer " + std::to_string(k);
    design.layers.push_back({name, "sand", 0.2 * k, 0.5, ByFace::all(1 + 0.1 * k), ByFace::all(3), true});
  }
  for (auto _ : state) benchmark::DoNotOptimize(compile_mound(design));
}
BENCHMARK(BM_Compile_layers)->Arg(4)->Arg(8)->Arg(16)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace moundwright

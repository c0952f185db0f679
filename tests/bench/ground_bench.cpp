// Ground: making it from a million shots, and asking it. Run with --benchmark_filter=Ground.
#include <benchmark/benchmark.h>

#include <cmath>
#include <numbers>
#include <random>

#include "geom/ground.h"

using namespace moundwright;

namespace {

/// Random shots on a 300 ft lot that falls to the east, with 1 ft of undulation and 0.05 ft of noise.
std::vector<Shot> random_shots(std::size_t count) {
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> place(-150.0, 150.0);
  std::normal_distribution<double> noise(0.0, 0.05);
  std::vector<Shot> shots(count);
  for (Shot& shot : shots) {
    const double x = place(random), y = place(random);
    shot.easting = 5000 + x, shot.northing = 5000 + y;
    shot.elevation = 100 - 0.05 * x + std::sin(x / 25) * std::cos(y / 20) + noise(random);
  }
  return shots;
}

/// Bed outlines of 60 x 10 ft at random places and azimuths, so that no branch is learned by heart.
std::vector<Polygon2> random_beds(std::size_t count) {
  std::mt19937_64 random(11);
  std::uniform_real_distribution<double> place(-100.0, 100.0), turn(0.0, std::numbers::pi);
  std::vector<Polygon2> beds(count);
  for (Polygon2& bed : beds) {
    const Point2 center(place(random), place(random));
    const double angle = turn(random);
    const Point2 along(std::cos(angle), std::sin(angle)), across(-along.y(), along.x());
    bed = {center - 30 * along - 5 * across, center + 30 * along - 5 * across, center + 30 * along + 5 * across,
           center - 30 * along + 5 * across};
  }
  return beds;
}

void BM_MakeGround(benchmark::State& state) {
  const std::vector<Shot> shots = random_shots(static_cast<std::size_t>(state.range(0)));
  for (auto _ : state) benchmark::DoNotOptimize(make_ground(shots));
}
BENCHMARK(BM_MakeGround)->Arg(2000)->Arg(100000)->Arg(1000000)->Unit(benchmark::kMillisecond)->UseRealTime();

void BM_GroundElevationAt(benchmark::State& state) {
  const Ground ground = make_ground(random_shots(static_cast<std::size_t>(state.range(0))));
  std::mt19937_64 random(3);
  std::uniform_real_distribution<double> place(-140.0, 140.0);
  std::vector<Point2> places(1024);
  for (Point2& p : places) p = {place(random), place(random)};
  std::size_t i = 0;
  for (auto _ : state) benchmark::DoNotOptimize(elevation_at(ground, places[i++ % places.size()]));
}
BENCHMARK(BM_GroundElevationAt)->Arg(2000)->Arg(1000000);

template <class Ask>
void ask_beds(benchmark::State& state, Ask ask) {
  const Ground ground = make_ground(random_shots(static_cast<std::size_t>(state.range(0))));
  const std::vector<Polygon2> beds = random_beds(1024);
  std::size_t i = 0;
  for (auto _ : state) benchmark::DoNotOptimize(ask(ground, beds[i++ % beds.size()]));
}

void BM_HighestGround(benchmark::State& state) { ask_beds(state, highest_ground); }
BENCHMARK(BM_HighestGround)->Arg(2000)->Arg(1000000)->Unit(benchmark::kMicrosecond);

void BM_GroundFitPlane(benchmark::State& state) { ask_beds(state, fit_plane); }
BENCHMARK(BM_GroundFitPlane)->Arg(2000)->Arg(1000000)->Unit(benchmark::kMicrosecond);

void BM_GroundContours(benchmark::State& state) {
  const Ground ground = make_ground(random_shots(static_cast<std::size_t>(state.range(0))));
  for (auto _ : state) benchmark::DoNotOptimize(contours(ground, 1.0));
}
BENCHMARK(BM_GroundContours)->Arg(2000)->Arg(1000000)->Unit(benchmark::kMillisecond);

}  // namespace

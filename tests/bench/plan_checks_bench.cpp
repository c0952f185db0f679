// How long all checks of a plan take, on ground with 0.05 ft of noise.
//
//   BM_CheckPlan_lot/N     N shots on a 300 ft lot
#include <benchmark/benchmark.h>

#include <random>

#include "geom/plan_checks.h"
#include "geom/site_design.h"
#include "tests/bench/bench_lot.h"

namespace moundwright::bench {
namespace {

void BM_CheckPlan_lot(benchmark::State& state) {
  std::vector<Shot> shots = lot_shots(static_cast<std::size_t>(state.range(0)), 300, 300);
  std::mt19937_64 random(11);
  std::uniform_real_distribution<double> noise(-0.05, 0.05);
  for (Shot& shot : shots) shot.elevation += noise(random);
  const Ground ground = make_ground(shots);
  const SiteDesign site;
  const PlacedMound mound = place_mound(place_as_drawn(ground, lot_mound(0)));
  for (auto _ : state) benchmark::DoNotOptimize(check_plan(mound, check_options(site), shots));
}
BENCHMARK(BM_CheckPlan_lot)->Arg(2000)->Arg(1000000)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace moundwright::bench

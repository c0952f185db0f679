// How long a nudge of the mound takes in the window, from the key to new faces.
//
//   BM_Draw_lot/N/U        the faces of the layers alone, with undersides (U 1) or without; N shots on a 300 ft lot
#include <benchmark/benchmark.h>

#include <cmath>
#include <map>
#include <random>

#include "bench_lot.h"
#include "geom/draw_surfaces.h"

namespace moundwright {
namespace {

constexpr double lot_side = 300;

const Ground& lot_ground(std::size_t shots) {
  static std::map<std::size_t, Ground> grounds;
  if (!grounds.count(shots)) grounds.emplace(shots, make_ground(bench::lot_shots(shots, lot_side, lot_side)));
  return grounds.at(shots);
}

/// Small steps, as a person drags it.
void nudge(MoundPlan& plan, std::size_t i) {
  const double angle = 0.05 * static_cast<double>(i);
  plan.placement.origin += Point2(0.5 * std::cos(angle), 0.5 * std::sin(angle));
}

void BM_Draw_lot(benchmark::State& state) {
  const Ground& ground = lot_ground(static_cast<std::size_t>(state.range(0)));
  MoundPlan plan = plan_mound(bench::lot_mound(0.5));
  BuildupWork work;
  DrawWork draw_work;
  DrawSurfaces drawn;
  DrawOptions options;
  options.undersides = state.range(1) != 0;
  std::size_t i = 0;
  for (auto _ : state) {
    state.PauseTiming();
    nudge(plan, i++);
    const Buildup buildup = build_up(ground, plan, work);
    state.ResumeTiming();
    draw_surfaces(ground, plan, buildup, options, draw_work, drawn);
  }
  std::size_t faces = 0;
  for (const LayerSurfaces& layer : drawn.layers) {
    faces += (layer.top.size() + layer.underside.size() + layer.walls.size()) / 3;
  }
  state.counters["faces"] = static_cast<double>(faces);
}
BENCHMARK(BM_Draw_lot)->ArgsProduct({{2000, 1000000}, {0, 1}})->Unit(benchmark::kMicrosecond)->UseRealTime();

}  // namespace
}  // namespace moundwright

// Our own side of what tests/bench/run sets beside other libraries, and CGAL's booleans on the same mound.
#include <benchmark/benchmark.h>

#include <Eigen/Geometry>
#include <random>
#include <string>
#include <vector>

#include "geom/buildup.h"
#include "geom/hilbert.h"
#include "geom/triangulate.h"
#include "tests/bench/bench_lot.h"
#include "tests/support/cgal_booleans.h"
#include "tests/support/solid_meshes.h"

namespace moundwright::bench {
namespace {

/// From shots to a ground that can be asked: triangles, neighbours, box tree, moments, bust check.
void BM_Tin_1M_random(benchmark::State& state) {
  const std::vector<Shot> shots = lot_shots(1'000'000, 300, 300);
  std::size_t triangles = 0;
  for (auto _ : state) triangles = make_ground(shots).triangle_count();
  state.counters["triangles"] = static_cast<double>(triangles);
}
BENCHMARK(BM_Tin_1M_random)->Unit(benchmark::kMillisecond)->UseRealTime();

/// The triangles alone, put in order along the curve first: what the peers do too.
void BM_TinTriangles_1M_random(benchmark::State& state) {
  const std::vector<Point2> places = lot_places(1'000'000, 300, 300);
  std::size_t triangles = 0;
  for (auto _ : state) {
    const HilbertFrame frame({-150, -150}, {150, 150});
    std::vector<std::uint32_t> keys;
    for (const Point2& p : places) keys.push_back(frame.key(p.x(), p.y()));
    std::vector<Point2> sorted;
    for (const std::uint32_t i : order_by_key(keys)) sorted.push_back(places[i]);
    triangles = triangulate(sorted).triangles.size();
  }
  state.counters["triangles"] = static_cast<double>(triangles);
}
BENCHMARK(BM_TinTriangles_1M_random)->Unit(benchmark::kMillisecond)->UseRealTime();

/// Within 3 ft and 10 degrees of where the mound was drawn, so that no branch is learned by heart.
std::vector<MoundPlace> nudged(const MoundPlace& place) {
  std::mt19937_64 random(5);
  std::uniform_real_distribution<double> shift(-3, 3), turn(-0.17, 0.17);
  std::vector<MoundPlace> result(256, place);
  for (MoundPlace& p : result) {
    MoundFrame& frame = p.placement.frame;
    frame.origin += Point2(shift(random), shift(random));
    frame.along = Eigen::Rotation2Dd(turn(random)) * frame.along;
  }
  return result;
}

void add_volumes(benchmark::State& state, const std::vector<double>& volumes) {
  for (std::size_t k = 0; k < volumes.size(); ++k) state.counters["volume_" + std::to_string(k + 1)] = volumes[k];
}

/// Volumes told are those of the mound where it was drawn, which the booleans get too.
void buildup_on_close_ground(benchmark::State& state, double strip) {
  const Ground ground = close_ground();
  const MoundPlace place = place_as_drawn(ground, lot_mound(strip));
  const std::vector<MoundPlace> plans = nudged(place);
  BuildupWork work;
  std::size_t i = 0;
  for (auto _ : state) benchmark::DoNotOptimize(build_up(plans[i++ % plans.size()], work));
  std::vector<double> volumes;
  for (const LayerResult& layer : build_up(place, work).layers) volumes.push_back(layer.volume);
  add_volumes(state, volumes);
}
void BM_Buildup_close(benchmark::State& state) { buildup_on_close_ground(state, 0); }
void BM_Buildup_close_strip(benchmark::State& state) { buildup_on_close_ground(state, 0.5); }
BENCHMARK(BM_Buildup_close)->Unit(benchmark::kMillisecond);
BENCHMARK(BM_Buildup_close_strip)->Unit(benchmark::kMillisecond);

/// Meshes are made outside the clock; what is timed is from meshes to volumes.
void booleans_on_close_ground(benchmark::State& state, double strip) {
  const Ground ground = close_ground();
  const MoundDesign design = lot_mound(strip);
  const auto scene = test_support::boolean_scene(ground, design, bed_bottom(place_as_drawn(ground, design)));
  std::vector<double> volumes;
  for (auto _ : state) volumes = test_support::layer_volumes(scene);
  add_volumes(state, volumes);
}
void BM_Booleans_cgal(benchmark::State& state) { booleans_on_close_ground(state, 0); }
void BM_Booleans_cgal_strip(benchmark::State& state) { booleans_on_close_ground(state, 0.5); }
BENCHMARK(BM_Booleans_cgal)->Unit(benchmark::kMillisecond);
BENCHMARK(BM_Booleans_cgal_strip)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace moundwright::bench

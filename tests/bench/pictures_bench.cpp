// How long the pictures and the 3D model of the demo job take, one by one and side by side as a packet has them.
#include <benchmark/benchmark.h>

#include "io/mound_glb.h"
#include "io/pictures_png.h"
#include "test_paths.h"
#include "viewer/mound_picture.h"
#include "viewer/pictures.h"

namespace moundwright {
namespace {

const SiteResults& demo() {
  static const SiteResults results = compute_site(std::string(MOUNDWRIGHT_SURVEYS) + "/fernhollow.toml");
  return results;
}

const std::vector<Solid>& solids() {
  static const std::vector<Solid> all = layer_solids(demo().ground, demo().plan, demo().buildup);
  return all;
}

template <class Work>
void measure(benchmark::State& state, const Work& work) {
  solids();
  for (auto _ : state) benchmark::DoNotOptimize(work());
}

void BM_PicturePlan(benchmark::State& state) {
  measure(state, [] { return plan_png(demo()); });
}
void BM_PictureSection(benchmark::State& state) {
  measure(state, [] { return section_png(demo()); });
}
void BM_PictureMound(benchmark::State& state) {
  measure(state, [] { return mound_png(demo(), solids()); });
}
void BM_PictureGlb(benchmark::State& state) {
  measure(state, [] { return mound_glb(demo(), solids()); });
}
void BM_PicturesOfAPacket(benchmark::State& state) {
  measure(state, [] { return picture_files(demo()); });
}
BENCHMARK(BM_PicturePlan)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime()->UseRealTime();
BENCHMARK(BM_PictureSection)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime()->UseRealTime();
BENCHMARK(BM_PictureMound)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime()->UseRealTime();
BENCHMARK(BM_PictureGlb)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime()->UseRealTime();
BENCHMARK(BM_PicturesOfAPacket)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime()->UseRealTime();

}  // namespace
}  // namespace moundwright

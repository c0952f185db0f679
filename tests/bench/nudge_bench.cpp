// How long a nudge of the mound takes in the window, from the key to new faces for the renderer.
//
//   BM_Draw_lot/N/W        the faces alone: W 0 the mound's outside, 1 every layer's tops and walls, 2 undersides too,
//                          3 the outside, coarsely, as while it is dragged whole; N shots on a 300 ft lot
//   BM_Nudge_lot/N         all of it: the session's move with its Buildup and figures, then faces, lines and labels as
//                          the renderer takes them
//   BM_Nudge_spacing/N     the same at the spacing of 2,000 shots on a 300 ft lot
#include <benchmark/benchmark.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <map>

#include "bench_lot.h"
#include "io/text_file.h"
#include "viewer/panel_text.h"
#include "viewer/scene.h"

namespace moundwright {
namespace {

constexpr double lot_side = 300;
constexpr double lot_shots = 2000;

const Ground& lot_ground(std::size_t shots, double side) {
  static std::map<std::pair<std::size_t, double>, Ground> grounds;
  const auto key = std::pair(shots, side);
  if (!grounds.count(key)) grounds.emplace(key, make_ground(bench::lot_shots(shots, side, side)));
  return grounds.at(key);
}

void BM_Draw_lot(benchmark::State& state) {
  const Ground& ground = lot_ground(static_cast<std::size_t>(state.range(0)), lot_side);
  MoundPlace place = place_as_drawn(ground, bench::lot_mound(0.5));
  BuildupWork work;
  DrawWork draw_work;
  DrawSurfaces drawn;
  DrawOptions options;
  options.outside_only = state.range(1) == 0 || state.range(1) == 3;
  if (state.range(1) == 3) options.coarse = 0.5;
  options.undersides = state.range(1) == 2;
  std::size_t i = 0;
  for (auto _ : state) {
    state.PauseTiming();
    const double angle = 0.05 * static_cast<double>(i++);
    place.placement.frame.origin += Point2(0.5 * std::cos(angle), 0.5 * std::sin(angle));
    const PlacedMound mound = place_mound(place, work);
    state.ResumeTiming();
    draw_surfaces(mound, options, draw_work, drawn);
  }
  std::size_t faces = 0;
  for (const LayerSurfaces& layer : drawn.layers) {
    faces += (layer.top.size() + layer.underside.size() + layer.walls.size()) / 3;
  }
  state.counters["faces"] = static_cast<double>(faces);
}
BENCHMARK(BM_Draw_lot)->ArgsProduct({{2000, 1000000}, {0, 1, 2, 3}})->Unit(benchmark::kMicrosecond)->UseRealTime();

/// A session needs its job's text; only edits of saved jobs would look into it.
io::SiteResults bench_site(std::size_t shots, double side) {
  const std::filesystem::path job =
      std::filesystem::temp_directory_path() / ("moundwright-bench-" + std::to_string(getpid()) + ".toml");
  io::write_files({{job, "[mound]\nazimuth = 0.0\n"}});
  io::SiteResults site;
  site.job.path = job;
  site.job.mound = bench::lot_mound(0.5);
  site.shared_ground = std::make_shared<const Ground>(lot_ground(shots, side));
  return site;
}

void nudge(benchmark::State& state, std::size_t shots, double side) {
  viewer::EditSession session(bench_site(shots, side));
  const viewer::SceneFrame frame = viewer::scene_frame(session.ground());
  viewer::MoundWork work;
  viewer::MoundPicture picture;
  viewer::MoundOptions options;
  options.outside_only = options.ground_hides = true;
  std::size_t i = 0;
  for (auto _ : state) {
    const double angle = 0.05 * static_cast<double>(i++);
    session.move(0.5 * std::cos(angle), 0.5 * std::sin(angle), "drag");
    viewer::draw_mound(session, frame, options, work, picture);
    benchmark::DoNotOptimize(viewer::panel_text(session));
  }
  std::filesystem::remove(session.site().job.path);
  std::size_t faces = 0;
  for (const viewer::Triangles& layer : picture.layers) faces += layer.corners.size();
  state.counters["faces"] = static_cast<double>(faces);
}

void BM_Nudge_lot(benchmark::State& state) { nudge(state, static_cast<std::size_t>(state.range(0)), lot_side); }
BENCHMARK(BM_Nudge_lot)->Arg(2000)->Arg(1000000)->Unit(benchmark::kMillisecond)->UseRealTime();

void BM_Nudge_spacing(benchmark::State& state) {
  const auto shots = static_cast<std::size_t>(state.range(0));
  nudge(state, shots, lot_side * std::sqrt(static_cast<double>(shots) / lot_shots));
}
BENCHMARK(BM_Nudge_spacing)->Arg(1000000)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
}  // namespace moundwright

// What each file of the demo's packet costs, once everything in it has been computed; and what comes before.
#include <benchmark/benchmark.h>

#include "io/results.h"
#include "test_paths.h"
#include "viewer/packet_files.h"

namespace moundwright {
namespace {

const char* const demo_job = MOUNDWRIGHT_SURVEYS "/fernhollow.toml";

const io::SiteResults& demo() {
  static const io::SiteResults results = io::compute_site(demo_job);
  return results;
}

const viewer::PacketModel& model() {
  static const viewer::PacketModel made = viewer::packet_model(demo());
  return made;
}

/// CPU time is that of all threads: what a writer costs however many cores there are.
template <class Work>
void add(const std::string& name, const Work& work) {
  benchmark::RegisterBenchmark(name.c_str(),
                               [work](benchmark::State& state) {
                                 std::size_t bytes = 0;
                                 demo(), model();
                                 for (auto _ : state) bytes = work();
                                 state.counters["bytes"] = static_cast<double>(bytes);
                               })
      ->Unit(benchmark::kMillisecond)
      ->MeasureProcessCPUTime()
      ->UseRealTime();
}

const bool registered = [] {
  static const io::SheetOptions sheets;
  add("BM_Packet/reading and computing", [] { return io::compute_site(demo_job).found().takeoff.fill.size(); });
  add("BM_Packet/solids and model", [] { return viewer::packet_model(demo()).glb.size(); });
  for (const viewer::PacketWriter& writer : viewer::packet_writers()) {
    add(std::string("BM_Packet/") + writer.file, [bytes = writer.bytes] {
      return bytes({demo(), sheets, model()}).size();
    });
  }
  add("BM_PacketSideBySide", [] { return viewer::packet_files(demo(), sheets).size(); });
  return true;
}();

}  // namespace
}  // namespace moundwright

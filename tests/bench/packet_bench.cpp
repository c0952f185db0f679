// What each file of the demo's packet costs, once everything in it has been computed; and what comes before.
#include <benchmark/benchmark.h>

#include "io/results.h"
#include "test_paths.h"
#include "viewer/packet_files.h"

namespace moundwright {
namespace {

const char* const demo_job = MOUNDWRIGHT_SURVEYS "/fernhollow.toml";

const SiteResults& demo() {
  static const SiteResults results = compute_site(demo_job);
  return results;
}

const PacketModel& model() {
  static const PacketModel made = packet_model(demo());
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
  static const SheetOptions sheets;
  add("BM_Packet/reading and computing", [] { return compute_site(demo_job).takeoff.fill.size(); });
  add("BM_Packet/solids and model", [] { return packet_model(demo()).glb.size(); });
  for (const PacketWriter& writer : packet_writers()) {
    add(std::string("BM_Packet/") + writer.file, [bytes = writer.bytes] {
      return bytes({demo(), sheets, model()}).size();
    });
  }
  add("BM_PacketSideBySide", [] { return packet_files(demo(), sheets).size(); });
  return true;
}();

}  // namespace
}  // namespace moundwright

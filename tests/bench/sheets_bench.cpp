// How long the paper takes: every sheet of the demo job, drawn and compressed.
#include <benchmark/benchmark.h>

#include "io/sheets_pdf.h"
#include "test_paths.h"

namespace moundwright {
namespace {

void BM_WriteSheets(benchmark::State& state) {
  const SiteResults results = compute_site(std::string(MOUNDWRIGHT_SURVEYS) + "/fernhollow.toml");
  for (auto _ : state) {
    const std::string bytes = sheets_pdf(results);
    benchmark::DoNotOptimize(bytes.data());
  }
}
BENCHMARK(BM_WriteSheets)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace moundwright

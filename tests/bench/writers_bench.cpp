// How long each file of the demo's packet takes to write, once everything in it has been computed.
#include <benchmark/benchmark.h>

#include "io/points_csv.h"
#include "io/quantities_xlsx.h"
#include "io/results.h"
#include "io/site_gpkg.h"
#include "io/surfaces_xml.h"
#include "test_paths.h"

namespace moundwright {
namespace {

const SiteResults& demo() {
  static const SiteResults results = compute_site(std::string(MOUNDWRIGHT_SURVEYS) + "/fernhollow.toml");
  return results;
}

template <class Write>
void write_for(benchmark::State& state, const Write& write) {
  std::size_t bytes = 0;
  demo();
  for (auto _ : state) bytes = write(demo()).size();
  state.counters["bytes"] = static_cast<double>(bytes);
}

void BM_WritePointsCsv(benchmark::State& state) { write_for(state, points_csv); }
void BM_WriteSurfacesXml(benchmark::State& state) { write_for(state, surfaces_xml); }
void BM_WriteSiteGpkg(benchmark::State& state) { write_for(state, site_gpkg); }
void BM_WriteQuantitiesXlsx(benchmark::State& state) { write_for(state, quantities_xlsx); }
BENCHMARK(BM_WritePointsCsv)->Unit(benchmark::kMillisecond);
BENCHMARK(BM_WriteSurfacesXml)->Unit(benchmark::kMillisecond);
BENCHMARK(BM_WriteSiteGpkg)->Unit(benchmark::kMillisecond);
BENCHMARK(BM_WriteQuantitiesXlsx)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace moundwright

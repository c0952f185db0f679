// The swells that ship with the demo jobs and their price list against ranges in print.
#include <gtest/gtest.h>

#include <map>
#include <string>

#include "io/results.h"
#include "test_paths.h"

namespace moundwright {
namespace {

struct Percent {
  double least, most;
};

/// Swell, percent of the bank yard: Peurifoy, Construction Planning, Equipment and Methods, Table 4-1, for clean sand
/// or gravel, topsoil, loam (here of sand and topsoil, blended), common earth (here with stumps) and clay.
const std::map<std::string, Percent> printed_swell = {
    {"clean sand", {5, 15}},  {"shell sand", {5, 15}},  {"fill sand", {5, 15}}, {"topsoil", {10, 25}},
    {"sandy loam", {10, 35}}, {"stump fill", {20, 45}}, {"clay", {30, 60}}};

void expect_printed_swells(const std::vector<Material>& materials) {
  std::size_t held = 0;
  for (const Material& m : materials) {
    const auto range = printed_swell.find(m.name);
    if (range == printed_swell.end() || !loose_per_bank(m)) continue;
    ++held;
    const double swell = 100 * (*loose_per_bank(m) - 1);
    EXPECT_GE(swell, range->second.least - 1e-9) << m.name;
    EXPECT_LE(swell, range->second.most + 1e-9) << m.name;
  }
  EXPECT_GE(held, 3U);
}

TEST(PublishedMaterials, SwellsOfTheDemoJobs) {
  for (const char* job : {"/fernhollow.toml", "/ridgeback.toml"}) {
    SCOPED_TRACE(job);
    expect_printed_swells(io::read_site(std::string(MOUNDWRIGHT_SURVEYS) + job).job.site.estimate.materials);
  }
}

}  // namespace
}  // namespace moundwright

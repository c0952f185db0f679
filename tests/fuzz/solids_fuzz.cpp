// Any lot and mound that are not refused have closed solids and unbroken surfaces that hold the volumes of the Buildup.
#include <cstdint>
#include <map>

#include "geom/solids.h"
#include "geom/surfaces.h"
#include "tests/fuzz/fuzzed_lot.h"

namespace moundwright::fuzz {
namespace {

constexpr double rounding = 1e-6;

void check_closed(const Solid& solid) {
  std::map<std::pair<std::uint32_t, std::uint32_t>, int> balance;
  for (const auto& t : solid.triangles) {
    for (std::size_t i = 0; i < 3; ++i) {
      const std::uint32_t a = t[i], b = t[(i + 1) % 3];
      require(a != b, "no triangle has a corner twice");
      balance[{std::min(a, b), std::max(a, b)}] += a < b ? 1 : -1;
    }
  }
  for (const auto& [edge, runs] : balance) require(runs == 0, "a solid is closed");
}

void check_solids(const PlacedMound& mound) {
  const Buildup& built = mound.buildup;
  const std::vector<Solid> solids = layer_solids(mound);
  const std::size_t layers = built.layers.size();
  for (std::size_t k = 0; k < solids.size(); ++k) {
    check_closed(solids[k]);
    const double volume = k < layers ? built.layers[k].volume : built.cuts[k - layers].volume;
    require_near(volume_of(solids[k]), volume, rounding * (1 + built.total_fill()), "a solid's volume");
  }
}

/// The surfaces of the mound that leans, which is laid on the ground as any other is.
void check_surfaces(const PlacedMound& mound) {
  const Buildup& built = mound.buildup;
  const Buildup wanted = build_up(leaning(mound));
  const MoundSurfaces surfaces = mound_surfaces(mound);
  double below = volume_above(surfaces.prepared, built.bottom_elevation);
  for (std::size_t k = 0; k < wanted.layers.size(); ++k) {
    const double here = volume_above(surfaces.after_layers[k], built.bottom_elevation);
    require_near(here - below, wanted.layers[k].volume, rounding * (1 + wanted.total_fill()), "between two surfaces");
    below = here;
  }
  require_near(wanted.total_fill(), built.total_fill(), 0.02 * (1 + built.total_fill()), "the fill of what leans");
}

void check(const FuzzedLot& lot) {
  const Ground ground = make_ground(lot.shots);
  const PlacedMound mound = place_mound(place_as_drawn(ground, lot.design));
  check_solids(mound);
  check_surfaces(mound);
}

}  // namespace
}  // namespace moundwright::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  return moundwright::fuzz::try_lot(bytes, size, moundwright::fuzz::check);
}

// Writes the meshes of the bench mound for a boolean library in another language.
#include <cstdio>
#include <exception>
#include <string>

#include "geom/buildup.h"
#include "tests/bench/bench_lot.h"
#include "tests/support/solid_meshes.h"

int main(int argc, char** argv) {
  using namespace moundwright;
  if (argc != 3) {
    std::fprintf(stderr, "usage: moundwright_bench_scene STRIP_IN_FEET FILE.json\n");
    return 2;
  }
  try {
    const Ground ground = bench::close_ground();
    const MoundDesign design = bench::lot_mound(std::stod(argv[1]));
    const double bottom = bed_bottom(place_as_drawn(ground, design));
    test_support::write_scene_json(argv[2], test_support::boolean_scene(ground, design, bottom));
  } catch (const std::exception& failed) {
    std::fprintf(stderr, "%s\n", failed.what());
    return 1;
  }
}

// Writes the meshes of the bench mound (without strip) for a boolean library in another language.
#include <cstdio>
#include <exception>

#include "geom/buildup.h"
#include "tests/bench/bench_lot.h"
#include "tests/support/solid_meshes.h"

int main(int argc, char** argv) {
  using namespace moundwright;
  if (argc != 2) {
    std::fprintf(stderr, "usage: moundwright_bench_scene FILE.json\n");
    return 2;
  }
  try {
    const Ground ground = bench::close_ground();
    const MoundDesign design = bench::lot_mound(0);
    const double bottom = bed_bottom(ground, plan_mound(design));
    test_support::write_scene_json(argv[1], test_support::boolean_scene(ground, design, bottom));
  } catch (const std::exception& failed) {
    std::fprintf(stderr, "%s\n", failed.what());
    return 1;
  }
}

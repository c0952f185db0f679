// Reads shots (northing, easting, elevation a line), places a mound on them, and prints the yards of each layer.
#include <cstdio>
#include <fstream>
#include <iostream>

#include "geom/buildup.h"
#include "geom/units.h"
#include "geom/version.h"

int main(int, char** argv) {
  using namespace moundwright;
  std::vector<Shot> shots;
  std::ifstream file(argv[1]);
  for (Shot shot; file >> shot.northing >> shot.easting >> shot.elevation;) shots.push_back(shot);
  MoundDesign design;
  design.bed = straight_bed({50, 50}, 90, 20, 6);  // easting and northing of its middle, azimuth, length, width
  design.bottom_elevation = 101;
  design.downslope = 180;
  design.layers = {{"sand", "clean sand", 0, 0, ByFace::all(1), ByFace::all(0)},
                   {"cover", "loam", 1, 0, ByFace::all(2), ByFace::all(3)}};
  try {
    const Buildup mound = build_up(place_as_drawn(make_ground(shots), design));
    std::printf("version %s\n", MOUNDWRIGHT_VERSION);
    for (const LayerResult& layer : mound.layers) {
      std::printf("%s %.4f\n", layer.name.c_str(), layer.volume * cubic_yards_per(LengthUnit::foot));
    }
  } catch (const Refusal& refusal) {
    std::cerr << refusal.what() << '\n';
    return 1;
  }
}

#include "tests/bench/bench_lot.h"

#include <cmath>
#include <cstdint>

namespace moundwright::bench {
namespace {

double draw(std::uint64_t i) {
  std::uint64_t z = i * 0x9e3779b97f4a7c15;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9;
  z = (z ^ (z >> 27)) * 0x94d049bb133111eb;
  z ^= z >> 31;
  return static_cast<double>(z >> 11) * 0x1p-53;
}

Layer layer(const char* name, const char* material, double top, double beyond, double run) {
  Layer result;
  result.name = name;
  result.material = material;
  result.top = top;
  result.beyond = ByFace::all(beyond);
  result.side = ByFace::all(run);
  return result;
}

}  // namespace

std::vector<Point2> lot_places(std::size_t count, double width, double depth) {
  std::vector<Point2> places(count);
  for (std::size_t i = 0; i < count; ++i)
    places[i] = {draw(2 * i + 1) * width - width / 2, draw(2 * i + 2) * depth - depth / 2};
  return places;
}

std::vector<Shot> lot_shots(std::size_t count, double width, double depth) {
  std::vector<Shot> shots;
  shots.reserve(count);
  for (const Point2& p : lot_places(count, width, depth)) {
    Shot shot;
    shot.easting = p.x();
    shot.northing = p.y();
    shot.elevation = 100 - 0.05 * p.x() + std::sin(p.x() / 25) * std::cos(p.y() / 20);
    shots.push_back(shot);
  }
  return shots;
}

MoundDesign lot_mound(double strip) {
  MoundDesign design;
  design.bed = straight_bed({0, 0}, 0, 60, 10);
  design.least_sand = 1.5;
  design.downslope = 90.0;
  design.prepare.strip = strip;
  design.layers = {layer("core", "clean sand", 0, 1, 0), layer("stone", "washed stone", 1, 0, 0),
                   layer("shell", "shell sand", 1, 3, 0), layer("cover", "sandy loam", 1.5, 3, 3)};
  design.layers.back().crown = 0.5;
  design.layers.back().round_corners = true;
  return design;
}

Ground close_ground() { return make_ground(lot_shots(450, 120, 160)); }

}  // namespace moundwright::bench

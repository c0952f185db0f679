// Solids are closed, face outward and hold the Buildup's own volumes, on every kind of mound and ground.
#include "geom/solids.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <random>
#include <string>

#include "tests/support/random_mounds.h"

namespace moundwright {
namespace {

Layer layer(const char* name, double top, double beyond, double run) {
  Layer result;
  result.name = name;
  result.material = std::string(name) + " sand";
  result.top = top;
  result.beyond = ByFace::all(beyond);
  result.side = ByFace::all(run);
  return result;
}

MoundDesign four_layers() {
  MoundDesign design;
  design.bed = straight_bed({0, 0}, 8, 60, 10);
  design.least_sand = 1.5;
  design.downslope = 98.0;
  design.layers = {layer("core", 0, 1, 0), layer("stone", 1, 0, 0), layer("shell", 1, 3, 0), layer("cover", 1.5, 3, 3)};
  design.layers.back().crown = 0.5;
  design.layers.back().round_corners = true;
  return design;
}

Undercut pit(double elevation, double run) {
  Undercut result;
  result.elevation = elevation;
  result.beyond = ByFace::all(1);
  result.side = ByFace::all(run);
  return result;
}

/// How much oftener each undirected edge is run one way than the other; zero all over on a closed surface.
std::size_t open_edges(const Solid& solid) {
  std::map<std::pair<std::uint32_t, std::uint32_t>, int> balance;
  for (const auto& t : solid.triangles) {
    for (std::size_t i = 0; i < 3; ++i) {
      const std::uint32_t a = t[i], b = t[(i + 1) % 3];
      balance[{std::min(a, b), std::max(a, b)}] += a < b ? 1 : -1;
    }
  }
  return static_cast<std::size_t>(
      std::count_if(balance.begin(), balance.end(), [](const auto& edge) { return edge.second != 0; }));
}

/// Points of the solid that lie inside one of its edges: T-junctions.
std::size_t points_inside_edges(const Solid& solid) {
  std::size_t count = 0;
  for (const auto& t : solid.triangles) {
    for (std::size_t i = 0; i < 3; ++i) {
      const Point3 &a = solid.points[t[i]], &b = solid.points[t[(i + 1) % 3]];
      const double length = (b - a).norm();
      for (const Point3& p : solid.points) {
        const double along = (p - a).dot(b - a) / length;
        if (along < 1e-6 || along > length - 1e-6) continue;
        count += (p - a - (b - a) * (along / length)).norm() < 1e-9;
      }
    }
  }
  return count;
}

/// 1 inside, 0 outside: the solid angles of the triangles (Van Oosterom and Strackee, 1983) over the whole sphere.
double winding_number(const Solid& solid, const Point3& from) {
  double sum = 0;
  for (const auto& t : solid.triangles) {
    const Point3 a = solid.points[t[0]] - from, b = solid.points[t[1]] - from, c = solid.points[t[2]] - from;
    const double la = a.norm(), lb = b.norm(), lc = c.norm();
    sum += 2 * std::atan2(a.dot(b.cross(c)), la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb);
  }
  return sum / (4 * std::numbers::pi);
}

/// Upright triangles, slivers aside, that do not have the solid behind them and air before them.
std::size_t folded_walls(const Solid& solid) {
  constexpr double step = 1e-5, sliver = 1e-3;
  return static_cast<std::size_t>(std::count_if(solid.triangles.begin(), solid.triangles.end(), [&](const auto& t) {
    const Point3 &a = solid.points[t[0]], &b = solid.points[t[1]], &c = solid.points[t[2]];
    const Point3 normal = (b - a).cross(c - a);
    if (normal.norm() < sliver || std::abs(normal.z()) > 1e-9 * normal.norm()) return false;
    const Point3 middle = (a + b + c) / 3, out = step * normal.normalized();
    return winding_number(solid, middle - out) < 0.5 || winding_number(solid, middle + out) > 0.5;
  }));
}

void expect_sound(const Solid& solid, double volume, double whole) {
  SCOPED_TRACE(solid.name);
  EXPECT_EQ(open_edges(solid), 0u);
  for (const auto& t : solid.triangles) EXPECT_TRUE(t[0] != t[1] && t[1] != t[2] && t[2] != t[0]);
  EXPECT_NEAR(volume_of(solid), volume, 1e-9 * std::max(volume, 1e-3 * whole));
}

std::vector<Solid> expect_sound(const Ground& ground, const MoundDesign& design) {
  const PlacedMound mound = place_mound(place_as_drawn(ground, design));
  const Buildup& buildup = mound.buildup;
  std::vector<Solid> solids = layer_solids(mound);
  EXPECT_EQ(solids.size(), buildup.layers.size() + buildup.cuts.size());
  for (std::size_t k = 0; k < solids.size(); ++k) {
    const std::size_t n = buildup.layers.size();
    expect_sound(solids[k], k < n ? buildup.layers[k].volume : buildup.cuts[k - n].volume, buildup.total_fill());
  }
  return solids;
}

Ground flat_ground() {
  return make_ground({shot_at(-90, -80, 100), shot_at(95, -85, 100), shot_at(90, 88, 100), shot_at(-92, 83, 100)});
}

TEST(Solids, OfVerticalSidesOnFlatGroundIsABox) {
  MoundDesign design = four_layers();
  design.layers = {layer("stone", 1, 0, 0)};
  const std::vector<Solid> solids = expect_sound(flat_ground(), design);
  EXPECT_EQ(solids[0].name, "stone");
  EXPECT_EQ(solids[0].material, "stone sand");
  EXPECT_NEAR(volume_of(solids[0]), 60 * 10 * 2.5, 1e-9);
  double low = 1e9, high = -1e9;
  for (const Point3& p : solids[0].points) low = std::min(low, p.z()), high = std::max(high, p.z());
  EXPECT_NEAR(low, 100, 1e-12);
  EXPECT_NEAR(high, 102.5, 1e-12);
}

/// The obelisk, a frustum whose sides need not meet in one point: h/6 (A + 4 M + B), M half-way up.
double obelisk(double length, double width, double height, double run) {
  const auto area = [&](double up) { return (length + 2 * run * up) * (width + 2 * run * up); };
  return height / 6 * (area(0) + 4 * area(height / 2) + area(height));
}

TEST(Solids, OfFourLayersOnFlatGroundHaveTheVolumesOfBoxesAndObelisk) {
  MoundDesign design = four_layers();
  design.layers.back().crown = 0;
  design.layers.back().round_corners = false;
  const std::vector<Solid> solids = expect_sound(flat_ground(), design);
  const double sand = 1.5;
  const double whole_box = 66 * 16 * (sand + 1), core = 62 * 12 * sand, stone = 60 * 10;
  EXPECT_NEAR(volume_of(solids[0]), core, 1e-8);
  EXPECT_NEAR(volume_of(solids[1]), stone, 1e-8);
  EXPECT_NEAR(volume_of(solids[2]), whole_box - core - stone, 1e-8);
  EXPECT_NEAR(volume_of(solids[3]), obelisk(66, 16, sand + 1.5, 3) - whole_box, 1e-8);
}

/// Upright prisms over a plane: the plan's area times the height over its middle, where the ground is 100.
TEST(Solids, OfUprightLayersStripAndPitOnATiltedPlaneHaveTheVolumesOfPrisms) {
  const auto plane = [](double x, double y) { return shot_at(x, y, 100 - 0.04 * x + 0.02 * y); };
  const Ground ground = make_ground({plane(-90, -80), plane(95, -85), plane(90, 88), plane(-92, 83), plane(7, 3)});
  MoundDesign design = four_layers();
  design.layers.pop_back();
  design.least_sand.reset();
  design.bottom_elevation = 103;
  design.prepare.strip = 0.5;
  design.prepare.undercut = pit(96, 0);
  const std::vector<Solid> solids = expect_sound(ground, design);
  ASSERT_EQ(solids.size(), 5u);
  const double plan = 66 * 16, in_pit = 62 * 12, stone = 60 * 10;
  EXPECT_NEAR(volume_of(solids[0]), in_pit * 7.0, 1e-8) << "the core fills the pit under itself";
  EXPECT_NEAR(volume_of(solids[1]), stone, 1e-8);
  EXPECT_NEAR(volume_of(solids[2]), plan - stone + (plan - in_pit) * 3.5, 1e-8);
  EXPECT_NEAR(volume_of(solids[3]), plan * 0.5, 1e-8);
  EXPECT_NEAR(volume_of(solids[4]), in_pit * 3.5, 1e-8);
}

TEST(Solids, OfAFourLayerMoundOnRoughGround) { expect_sound(make_ground(rough_shots(300, 90, 0.1, 1)), four_layers()); }

TEST(Solids, OfStripAndUndercut) {
  for (const double run : {0.0, 1.0}) {
    MoundDesign design = four_layers();
    design.prepare.strip = 0.5;
    design.prepare.undercut = pit(98.5, run);
    const std::vector<Solid> solids = expect_sound(make_ground(rough_shots(300, 90, 0.1, 2)), design);
    ASSERT_EQ(solids.size(), 6u);
    EXPECT_EQ(solids[4].name, "strip");
    EXPECT_EQ(solids[5].name, "undercut");
    EXPECT_GT(volume_of(solids[5]), 100);
  }
}

TEST(Solids, HaveNoTJunctions) {
  MoundDesign design = four_layers();
  design.prepare.strip = 0.4;
  design.prepare.undercut = pit(98.8, 0.0);
  for (const Solid& solid : expect_sound(make_ground(rough_shots(150, 90, 0.2, 3)), design)) {
    SCOPED_TRACE(solid.name);
    EXPECT_EQ(points_inside_edges(solid), 0u);
  }
}

/// Slopes under, inside and over one another: no wall has a point in the middle of a neighbour's edge.
TEST(Solids, OfAWedgeUnderACrownedCore) {
  MoundDesign design = four_layers();
  design.layers = {layer("wedge", 0, 0, 2), layer("core", 0.5, 2, 0), layer("cover", 0.6, 0, 3)};
  design.layers[1].crown = 1.0;
  for (const Solid& solid : expect_sound(make_ground(rough_shots(150, 90, 0.2, 4)), design)) {
    SCOPED_TRACE(solid.name);
    EXPECT_EQ(points_inside_edges(solid), 0u);
  }
}

TEST(Solids, OfABentBed) {
  MoundDesign design = four_layers();
  design.bed.line = {{-40, -8}, {0, 4}, {38, -6}};
  design.downslope = 0.0;
  design.prepare.strip = 0.3;
  expect_sound(make_ground(rough_shots(400, 110, 0.1, 5)), design);
}

/// Noise so strong that bits of ground stand out of the mound and bits of mound stand apart from it.
TEST(Solids, OfAMoundWithHolesAndSpecks) {
  MoundDesign design = four_layers();
  design.layers = {layer("core", 0.5, 1, 0), layer("cover", 0.5, 4, 12)};
  design.least_sand = std::nullopt;
  design.bottom_elevation = 100.3;
  design.prepare.strip = 0.2;
  const Ground ground = make_ground(rough_shots(3000, 90, 0.6, 6));
  const Buildup buildup = build_up(place_as_drawn(ground, design));
  ASSERT_GT(buildup.specks, 0u);
  ASSERT_FALSE(buildup.toe.holes.empty());
  expect_sound(ground, design);
}

TEST(Solids, WhereTheSurveyEndsUnderTheMound) {
  const Ground ground = make_ground(rough_shots(120, 18, 0.1, 7));
  ASSERT_GT(build_up(place_as_drawn(ground, four_layers())).toe.off_survey, 0);
  expect_sound(ground, four_layers());
}

TEST(Solids, FarFromTheOriginLoseNothing) {
  std::vector<Shot> shots = rough_shots(300, 90, 0.1, 8);
  for (Shot& shot : shots) shot.easting += 2.2e6, shot.northing += 7.1e5;
  MoundDesign design = four_layers();
  design.bed = straight_bed({2.2e6, 7.1e5}, 8, 60, 10);
  expect_sound(make_ground(shots), design);
}

TEST(Solids, OfALayerThatAddsNothingAreEmpty) {
  MoundDesign design = four_layers();
  design.layers.push_back(layer("buried", 0.5, 0, 0));
  const std::vector<Solid> solids = expect_sound(make_ground(rough_shots(300, 90, 0.1, 9)), design);
  EXPECT_TRUE(solids.back().triangles.empty());
}

/// Random placements, some with vertices of the ground exactly under edges of the bed.
TEST(Solids, OfRandomPlacements) {
  std::mt19937 random(10);
  std::uniform_real_distribution<double> turn(0, 180), move(-20, 20);
  const Ground ground = make_ground(rough_shots(400, 120, 0.15, 11));
  for (int i = 0; i < 12; ++i) {
    MoundDesign design = four_layers();
    const double azimuth = i % 3 == 0 ? 0 : turn(random);
    design.bed = straight_bed({std::round(move(random)), std::round(move(random))}, azimuth, 60, 10);
    design.downslope = azimuth + 90;
    if (i % 2 == 0) design.prepare.strip = 0.5;
    if (i % 4 == 0) design.prepare.undercut = pit(97.0, 1.5);
    SCOPED_TRACE(i);
    expect_sound(ground, design);
  }
}

/// Upright faces, bends, crowns, pits and layers bare of cover in every mixture: surfaces of two neighbouring columns
/// cross along the wall between them, and creases meet within a rounding of one another.
TEST(Solids, OfRandomDesigns) {
  Dice dice{std::mt19937(12)};
  int built = 0;
  for (unsigned i = 0; built < 200; ++i) {
    ASSERT_LT(i, 3000u);
    const MoundDesign design = random_design(dice);
    if (check_design(design).has_errors()) continue;
    ++built;
    SCOPED_TRACE(i);
    for (const Solid& solid : expect_sound(make_ground(rough_shots(25, 60, 0.6, i)), design)) {
      EXPECT_EQ(folded_walls(solid), 0u) << solid.name;
    }
  }
}

TEST(Solids, OfShortPiecesUnderLongBerms) {
  Dice dice{std::mt19937(32)};
  for (unsigned i = 0; i < 150; ++i) {
    SCOPED_TRACE(i);
    const MoundDesign design = good_bent_design(dice);
    for (const Solid& solid : expect_sound(make_ground(twisted_shots(dice, 40, 60)), design)) {
      EXPECT_EQ(folded_walls(solid), 0u) << solid.name;
    }
  }
}

/// Shots on a lattice, tops of layers and heights of ground in round numbers: sides of mound and ground run along one
/// another and through one another's corners, and many lines meet within a rounding.
TEST(Solids, OnALatticeOfShots) {
  std::vector<Shot> shots;
  for (double x = -80; x <= 80; x += 8) {
    for (double y = -80; y <= 80; y += 8) {
      shots.push_back(shot_at(x, y, std::round(100 * (100 + 0.08 * y + 0.001 * x * y)) / 100));
    }
  }
  const Ground ground = make_ground(shots);
  std::mt19937 random(14);
  const auto one_of = [&](std::initializer_list<double> all) { return all.begin()[random() % all.size()]; };
  for (int i = 0; i < 40; ++i) {
    MoundDesign design = four_layers();
    design.bed.line = {{-20, one_of({-8, -5, 0, 5})}, {one_of({-5, 0}), 0}, {24, one_of({-16, -8, 0, 8})}};
    design.downslope = 180.0;
    design.layers[0].side = ByFace::all(one_of({0, 3}));
    design.layers[3].side = ByFace::all(one_of({2, 3, 4}));
    design.layers[3].round_corners = i % 2 == 0;
    design.layers.push_back(design.layers[3]);
    design.layers[4].name = "topsoil", design.layers[4].top = one_of({1.5, 1.83, 2.0});
    if (i % 3 == 0) design.prepare.strip = 0.5;
    SCOPED_TRACE(i);
    expect_sound(ground, design);
  }
}

/// Raised by a number that no float holds: roundings fall otherwise, and nothing else may change.
TEST(Solids, HaveNoPartsMadeByRounding) {
  constexpr double lift = 0.7;
  Dice dice{std::mt19937(13)};
  for (unsigned i = 0; i < 120; ++i) {
    MoundDesign design = random_design(dice);
    if (check_design(design).has_errors()) continue;
    SCOPED_TRACE(i);
    std::vector<Shot> shots = rough_shots(25, 60, 0.6, i);
    const std::vector<Solid> before = expect_sound(make_ground(shots), design);
    for (Shot& shot : shots) shot.elevation += lift;
    *design.bottom_elevation += lift;
    if (design.prepare.undercut) design.prepare.undercut->elevation += lift;
    const std::vector<Solid> after = expect_sound(make_ground(shots), design);
    for (std::size_t k = 0; k < before.size(); ++k) {
      EXPECT_EQ(before[k].triangles.size(), after[k].triangles.size()) << before[k].name;
    }
  }
}

}  // namespace
}  // namespace moundwright

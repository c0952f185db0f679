// The Buildup's layers held against solid booleans by another library: CGAL's corefinement on exact constructions,
// of half-spaces and the ground as a block. The two share the definition of a layer (what fills from the last surface
// up to the least of the layer's planes) and nothing else.
#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <random>
#include <string>

#include "geom/buildup.h"
#include "io/job_toml.h"
#include "test_paths.h"
#include "tests/support/cgal_booleans.h"
#include "tests/support/plain_layer.h"
#include "tests/support/solid_meshes.h"

namespace moundwright {
namespace {

namespace support = test_support;

constexpr double agreement = 1e-6;  // relative, of each layer

/// Ground shot at random with 0.1 ft of noise, on an even fall with undulation.
std::vector<Shot> noisy_lot() {
  std::mt19937 random(20);
  std::uniform_real_distribution<double> place(-80, 80);
  std::normal_distribution<double> error(0, 0.1);
  std::vector<Shot> shots;
  for (int i = 0; i < 300; ++i) {
    Shot shot;
    shot.easting = 5000 + place(random), shot.northing = 8000 + place(random);
    const double x = shot.easting - 5000, y = shot.northing - 8000;
    shot.elevation = 100 - 0.07 * x + 0.02 * y + 0.6 * std::sin(x / 19) * std::cos(y / 15) + error(random);
    shots.push_back(shot);
  }
  return shots;
}

MoundDesign square_cornered() {
  MoundDesign design;
  design.bed = straight_bed({5002, 8003}, 11, 50, 10);
  design.least_sand = 1.2;
  design.downslope = 101.0;
  design.layers = {plain_layer("core", 0, 1, 0), plain_layer("stone", 1, 0, 0), plain_layer("shell", 1, 3, 0),
                   plain_layer("cover", 1.5, 3, 3)};
  return design;
}

MoundDesign round_cornered() {
  MoundDesign design = square_cornered();
  design.layers.back().round_corners = true;
  design.layers.back().crown = 0.5;
  return design;
}

MoundDesign prepared(MoundDesign design, double pit_bottom) {
  design.prepare.strip = 0.4;
  design.prepare.undercut = Undercut{pit_bottom, ByFace::all(0.5), ByFace::all(1)};
  return design;
}

/// A box in plan around the toe with a few feet to spare: all of the mound, and no more ground than it needs.
Eigen::AlignedBox2d box_around(const ToeLine& toe) {
  Eigen::AlignedBox2d box;
  for (const Polygon2& loop : toe.outer) {
    for (const Point2& p : loop) box.extend(p);
  }
  constexpr double spare = 3;
  return {box.min().array() - spare, box.max().array() + spare};
}

std::vector<std::array<std::uint32_t, 3>> triangles_under(const Ground& ground, const Eigen::AlignedBox2d& box) {
  const Point2 &low = box.min(), &high = box.max();
  std::vector<std::array<std::uint32_t, 3>> result;
  for (const std::uint32_t t : triangles_meeting(ground, {low, {high.x(), low.y()}, high, {low.x(), high.y()}})) {
    result.push_back(ground.tree.triangles[t]);
  }
  return result;
}

using HalfSpaces = std::vector<support::HalfSpace>;

/// True for a bisector: one of the pieces beside this one ends at the same line.
bool is_shared(const PlanLine& line, const std::vector<ConcavePiece>& pieces) {
  const auto is_same = [&](const PlanLine& other) {
    return std::abs(other.a + line.a) + std::abs(other.b + line.b) + std::abs(other.c + line.c) < 1e-9;
  };
  return std::any_of(pieces.begin(), pieces.end(), [&](const ConcavePiece& piece) {
    return std::any_of(piece.inside.begin(), piece.inside.end(), is_same);
  });
}

/// How far past a bend's bisector a body is carried, for each layer a step more and the pit one more again, so that no
/// two walls lie in one plane, which rounding would make cross. It adds a few hundred-millionths to a volume.
constexpr double overlap_step = 1e-7;

/// A piece of a bent bed's layers or pit as half-spaces: what lies inside its lines and, with `facing` 1, under its
/// planes standing on `datum`; with -1, above them hanging from it.
HalfSpaces body_of(const std::vector<ConcavePiece>& pieces, std::size_t i, const MoundPlace& place,
                   const Point2& origin, double facing, double datum, double overlap) {
  const MoundFrame& at = place.frame();
  const Point2 center = at.origin - origin;
  HalfSpaces body;
  for (const ShapePlane& p : pieces[i].planes) {  // facing (z - datum) <= a u + b v + c
    const Point2 fall = -(at.along * p.a + at.across() * p.b);
    body.push_back({fall.x(), fall.y(), facing, -fall.dot(center) - p.c - facing * datum});
  }
  for (const PlanLine& line : pieces[i].inside) {
    const Point2 out = -(at.along * line.a + at.across() * line.b);
    const double room = is_shared(line, pieces) ? overlap * out.norm() : 0;
    body.push_back({out.x(), out.y(), 0, -out.dot(center) - line.c - room});
  }
  return body;
}

/// From the design where the bed is straight, else from the shape's planes.
HalfSpaces body_of_layer(const MoundPlace& place, std::size_t k, std::size_t piece, double bottom, double base) {
  if (place.shape().bed.size() == 1) {
    return support::layer_half_spaces(place.design(), place.design().layers[k], bottom, base, place.ground.origin);
  }
  HalfSpaces body = body_of(place.shape().layers[k].pieces, piece, place, place.ground.origin, 1, bottom,
                            static_cast<double>(k + 1) * overlap_step);
  body.push_back({0, 0, -1, base});
  return body;
}

HalfSpaces body_of_pit(const MoundPlace& place, std::size_t piece, double lid) {
  const Undercut& pit = *place.design().prepare.undercut;
  if (place.shape().bed.size() == 1) return support::pit_half_spaces(place.design(), pit, lid, place.ground.origin);
  HalfSpaces body = body_of(place.shape().pit, piece, place, place.ground.origin, -1, pit.elevation,
                            static_cast<double>(place.design().layers.size() + 1) * overlap_step);
  body.push_back({0, 0, 1, -lid});
  return body;
}

/// One straight piece of the bed, between its bends' bisectors, on the ground under the whole mound. The pieces share
/// no volume, so that theirs add up; each layer's body is convex.
support::BooleanScene scene_of(const PlacedMound& mound, std::size_t piece) {
  const Ground& ground = mound.ground;
  const Eigen::AlignedBox2d box = box_around(mound.buildup.toe);
  const HalfSpaces sides{
      {-1, 0, 0, box.min().x()}, {1, 0, 0, -box.max().x()}, {0, -1, 0, box.min().y()}, {0, 1, 0, -box.max().y()}};
  const auto [lowest, highest] = std::minmax_element(ground.points.begin(), ground.points.end(),
                                                     [](const Point3& a, const Point3& b) { return a.z() < b.z(); });
  const Prepare& prepare = mound.design().prepare;
  const double low =
      std::min(lowest->z() - prepare.strip, prepare.undercut ? prepare.undercut->elevation : lowest->z());
  support::BooleanScene scene;
  scene.strip = prepare.strip;
  scene.ground = support::ground_block(ground.points, triangles_under(ground, box), low - 2);
  if (prepare.undercut) {
    scene.pits.push_back(support::convex_solid(body_of_pit(mound, piece, highest->z() + 1)));
  }
  for (std::size_t k = 0; k < mound.design().layers.size(); ++k) {
    HalfSpaces body = body_of_layer(mound, k, piece, mound.buildup.bottom_elevation, low - 1);
    body.insert(body.end(), sides.begin(), sides.end());
    scene.layers.push_back({mound.design().layers[k].name, {support::convex_solid(body)}});
  }
  return scene;
}

void expect_same(const Ground& ground, const MoundDesign& design) {
  const PlacedMound mound = place_mound(place_as_drawn(ground, design));
  const Buildup& buildup = mound.buildup;
  ASSERT_EQ(buildup.specks, 0u) << "the booleans would count these";
  ASSERT_EQ(buildup.toe.off_survey, 0) << "the booleans need the whole mound on the survey";
  std::vector<double> layers(buildup.layers.size());
  support::CutVolumes cut;
  for (std::size_t piece = 0; piece < mound.shape().bed.size(); ++piece) {
    const support::BooleanScene scene = scene_of(mound, piece);
    const std::vector<double> volumes = support::layer_volumes(scene);
    ASSERT_EQ(volumes.size(), layers.size());
    for (std::size_t k = 0; k < layers.size(); ++k) layers[k] += volumes[k];
    if (buildup.cuts.empty()) continue;
    const support::CutVolumes part = support::cut_volumes(scene);
    cut.strip += part.strip, cut.pits += part.pits;
  }
  for (std::size_t k = 0; k < layers.size(); ++k) {
    EXPECT_GT(layers[k], 0) << buildup.layers[k].name;
    EXPECT_NEAR(buildup.layers[k].volume, layers[k], agreement * layers[k]) << buildup.layers[k].name;
  }
  for (const CutItem& item : buildup.cuts) {
    const double other = item.name == "strip" ? cut.strip : cut.pits;
    EXPECT_GT(other, 0) << item.name;
    EXPECT_NEAR(item.volume, other, agreement * other) << item.name;
  }
}

/// A demo job as the command reads it; its downslope is in the file.
void expect_same_on_job(const std::string& name) {
  const io::Job job = io::read_job(std::filesystem::path(MOUNDWRIGHT_SURVEYS) / name);
  const io::Survey survey = io::read_shots(job.ground.shots, job.ground.reading);
  expect_same(make_ground(survey.ground_shots, survey.breaklines, job.ground.options), job.mound);
}

TEST(LayersAgainstBooleans, SquareCorners) { expect_same(make_ground(noisy_lot()), square_cornered()); }

TEST(LayersAgainstBooleans, RoundCornersAndCrown) { expect_same(make_ground(noisy_lot()), round_cornered()); }

TEST(LayersAgainstBooleans, SquareCornersWithStripAndUndercut) {
  expect_same(make_ground(noisy_lot()), prepared(square_cornered(), 99.0));
}

TEST(LayersAgainstBooleans, RoundCornersWithStripAndUndercut) {
  expect_same(make_ground(noisy_lot()), prepared(round_cornered(), 99.0));
}

MoundDesign bent() {
  MoundDesign design = round_cornered();
  design.bed.line = {{4978, 7999}, {5000, 8004}, {5024, 7998}};
  design.downslope = 0.0;
  return design;
}

TEST(LayersAgainstBooleans, BentBed) { expect_same(make_ground(noisy_lot()), bent()); }

TEST(LayersAgainstBooleans, BentBedWithStripAndUndercut) {
  expect_same(make_ground(noisy_lot()), prepared(bent(), 99.0));
}

TEST(LayersAgainstBooleans, FernhollowJob) { expect_same_on_job("fernhollow.toml"); }

TEST(LayersAgainstBooleans, RidgebackJob) { expect_same_on_job("ridgeback.toml"); }

}  // namespace
}  // namespace moundwright

// The surfaces hold the layers' volumes between them, lie as one sheet over their plan, and stand upright nowhere.
#include "geom/surfaces.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <map>
#include <random>

#include "tests/support/random_mounds.h"

namespace moundwright {
namespace {

/// Shots on a square lot about (0, 0) that falls east and undulates.
Ground rough_ground(std::size_t count, double half, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> place(-half, half), error(-0.1, 0.1);
  std::vector<Shot> shots;
  const auto add = [&](double x, double y) {
    Shot shot;
    shot.easting = 1.2e6 + x, shot.northing = 1.34e7 + y;
    shot.elevation = 100 - 0.06 * x + 0.5 * std::sin(x / 17) * std::cos(y / 13) + error(random);
    shots.push_back(shot);
  };
  for (const double x : {-half, half}) {
    for (const double y : {-half, half}) add(x, y);
  }
  while (shots.size() < count) {
    const double x = place(random);
    add(x, place(random));
  }
  return make_ground(shots);
}

MoundDesign with_cover() {
  MoundDesign design;
  design.bed = straight_bed({1.2e6, 1.34e7}, 8, 60, 10);
  design.least_sand = 1.5;
  design.downslope = 98.0;
  design.layers = {plain_layer("core", 0, 1, 0), plain_layer("stone", 1, 0, 0), plain_layer("shell", 1, 3, 0),
                   plain_layer("cover", 1.5, 3, 3)};
  design.layers.back().crown = 0.5;
  design.layers.back().round_corners = true;
  return design;
}

MoundDesign standing_alone() {  // vertical outer faces
  MoundDesign design = with_cover();
  design.layers.pop_back();
  return design;
}

MoundDesign over_a_pit() {
  MoundDesign design = with_cover();
  design.prepare.strip = 0.4;
  design.prepare.undercut = Undercut{96.0, ByFace::all(1.0), ByFace::all(0.0)};
  return design;
}

MoundDesign bent() {
  MoundDesign design = with_cover();
  design.bed.line = {{1.2e6 - 5, 1.34e7 + 30}, {1.2e6, 1.34e7}, {1.2e6 - 6, 1.34e7 - 31}};
  design.layers[0].side.downslope = design.layers[2].side.downslope = 3.0;
  design.layers[3].side.upslope = 0;  // vertical on one face, round to the next
  return design;
}

struct Case {
  const char* name;
  MoundDesign (*design)();
};

class Surfaces : public testing::TestWithParam<Case> {
 protected:
  Ground ground = rough_ground(600, 120, 7);
  const PlacedMound mound = place_mound(place_as_drawn(ground, GetParam().design()));
  const Buildup& built = mound.buildup;
  MoundSurfaces surfaces = mound_surfaces(mound);
};

INSTANTIATE_TEST_SUITE_P(Mounds, Surfaces,
                         testing::Values(Case{"cover", with_cover}, Case{"alone", standing_alone},
                                         Case{"pit", over_a_pit}, Case{"bent", bent}),
                         [](const auto& info) { return std::string(info.param.name); });

double area_of(const Tin& tin) { return volume_above(tin, 0) - volume_above(tin, 1); }

/// What leaning adds to or takes from one layer at most: lean x height^2 / 2 along all its walls, here 160 ft at most,
/// and the same for the layer inside it.
double lean_allowance(double wall_height) { return 2 * 160 * face_lean * wall_height * wall_height / 2; }

TEST_P(Surfaces, HoldTheLayersVolumesBetweenThem) {
  const double datum = built.bottom_elevation;
  double below = volume_above(surfaces.prepared, datum);
  ASSERT_EQ(surfaces.after_layers.size(), built.layers.size());
  for (std::size_t k = 0; k < built.layers.size(); ++k) {
    const double here = volume_above(surfaces.after_layers[k], datum);
    EXPECT_NEAR(here - below, built.layers[k].volume, lean_allowance(6.0)) << built.layers[k].name;
    EXPECT_GT(here - below, 100.0);
    below = here;
  }
}

double volume_of_layer(const MoundSurfaces& surfaces, std::size_t k, double datum) {
  return volume_above(surfaces.after_layers[k], datum) -
         volume_above(k == 0 ? surfaces.prepared : surfaces.after_layers[k - 1], datum);
}

/// Only leaning sets the surfaces' volumes apart from the mound's: those of the mound that leans are theirs exactly.
void expect_volumes_of_leaning(const PlacedMound& mound, const MoundSurfaces& surfaces) {
  const Buildup leaned = build_up(leaning(mound));
  const Buildup& built = mound.buildup;
  for (std::size_t k = 0; k < leaned.layers.size(); ++k) {
    EXPECT_NEAR(volume_of_layer(surfaces, k, built.bottom_elevation), leaned.layers[k].volume,
                1e-7 * leaned.total_fill())
        << built.layers[k].name;
  }
  EXPECT_NEAR(area_of(surfaces.prepared), leaned.footprint_area, 1e-6);
}

TEST_P(Surfaces, HoldTheVolumesOfTheLeaningMoundExactly) { expect_volumes_of_leaning(mound, surfaces); }

/// One of these has, once it leans, a face that is hardly wider than what counts as nothing in plan.
TEST(SurfacesOf, RandomDesignsHoldTheVolumesOfTheLeaningMound) {
  Dice dice{std::mt19937(77)};
  for (unsigned i = 0; i <= 446; ++i) {
    const MoundDesign design = random_design(dice);
    if (i < 400 || check_design(design).has_errors()) continue;
    SCOPED_TRACE(i);
    const Ground ground = make_ground(rough_shots(25 + (i % 5) * 40, 60, 0.6, i));
    const PlacedMound mound = place_mound(place_as_drawn(ground, design));
    expect_volumes_of_leaning(mound, mound_surfaces(mound));
  }
}

/// What leaning adds to or takes from a layer at most: lean x height^2 / 2 along every upright face of any layer or of
/// the pit, each at most as long as the footprint is wide; the strip lies under what is added.
double lean_allowance(const PlacedMound& mound, const MoundSurfaces& surfaces) {
  std::size_t faces = 0;
  for (const LayerShape& layer : mound.shape().layers) {
    for (const ConcavePiece& piece : layer.pieces) faces += piece.inside.size();
  }
  for (const ConcavePiece& piece : mound.shape().pit) faces += piece.inside.size();
  Eigen::AlignedBox2d box;
  for (const Polygon2& loop : mound.buildup.toe.outer) {
    for (const Point2& p : loop) box.extend(p);
  }
  double height = 0;  // the surfaces have their points in one order
  for (std::size_t i = 0; i < surfaces.prepared.points.size(); ++i) {
    height = std::max(height, surfaces.after_layers.back().points[i].z() - surfaces.prepared.points[i].z());
  }
  return static_cast<double>(faces) * box.diagonal().norm() * face_lean * height * height / 2;
}

/// A bend's bisector is an upright face where one piece stands higher along it than the next.
TEST(SurfacesOf, ShortPiecesUnderLongBermsHoldTheLayersVolumes) {
  Dice dice{std::mt19937(31)};
  for (unsigned i = 0; i < 150; ++i) {
    SCOPED_TRACE(i);
    const MoundDesign design = good_bent_design(dice);
    const Ground ground = make_ground(twisted_shots(dice, 60, 60));
    const PlacedMound mound = place_mound(place_as_drawn(ground, design));
    const Buildup& built = mound.buildup;
    if (!(built.footprint_area > 0)) continue;
    const MoundSurfaces surfaces = mound_surfaces(mound);
    expect_volumes_of_leaning(mound, surfaces);
    const double allowance = lean_allowance(mound, surfaces);
    for (std::size_t k = 0; k < built.layers.size(); ++k) {
      EXPECT_NEAR(volume_of_layer(surfaces, k, built.bottom_elevation), built.layers[k].volume, allowance);
    }
  }
}

TEST_P(Surfaces, FinishedLotIsTheGroundWithTheMoundOnIt) {
  const Tin existing = ground_tin(ground);
  EXPECT_NEAR(area_of(surfaces.finished_lot), ground.total_area, 1e-6);
  const double raised = volume_above(surfaces.finished_lot, 100) - volume_above(existing, 100);
  EXPECT_NEAR(raised, built.total_fill() - built.total_cut(), lean_allowance(6.0));
}

/// Every edge between two triangles is run once each way; the rest bounds the sheet.
void expect_one_sheet(const Tin& tin, const char* name) {
  std::map<std::pair<std::uint32_t, std::uint32_t>, int> runs;
  for (const auto& t : tin.triangles) {
    for (std::size_t i = 0; i < 3; ++i) ++runs[{t[i], t[(i + 1) % 3]}];
    const Point3 &a = tin.points[t[0]], &b = tin.points[t[1]], &c = tin.points[t[2]];
    EXPECT_GT((b.x() - a.x()) * (c.y() - a.y()) - (b.y() - a.y()) * (c.x() - a.x()), -1e-9) << name;
  }
  for (const auto& [edge, count] : runs) ASSERT_EQ(count, 1) << name;
}

/// Length of the boundary: a T-junction would open a seam of its own and lengthen it.
double boundary_length(const Tin& tin) {
  std::map<std::pair<std::uint32_t, std::uint32_t>, bool> is_open;
  for (const auto& t : tin.triangles) {
    for (std::size_t i = 0; i < 3; ++i) is_open[{t[i], t[(i + 1) % 3]}] = true;
  }
  double length = 0;
  for (const auto& [edge, open] : is_open) {
    if (!is_open.contains({edge.second, edge.first})) {
      length += (tin.points[edge.first] - tin.points[edge.second]).head<2>().norm();
    }
  }
  return length;
}

TEST_P(Surfaces, AreSheetsWithoutSeams) {
  expect_one_sheet(surfaces.prepared, "prepared");
  for (const Tin& tin : surfaces.after_layers) expect_one_sheet(tin, "after a layer");
  expect_one_sheet(surfaces.finished_lot, "finished lot");
  EXPECT_NEAR(boundary_length(surfaces.prepared), built.footprint_perimeter, 0.02);
  EXPECT_NEAR(boundary_length(surfaces.finished_lot), boundary_length(ground_tin(ground)), 1e-6);
}

TEST_P(Surfaces, KeepsTheShots) {
  // Outside the mound the finished lot is made of the shots themselves.
  std::size_t kept = 0;
  for (const Point3& p : surfaces.finished_lot.points) {
    for (const Point3& shot : ground.points) kept += shot.head<2>() == p.head<2>();
  }
  EXPECT_EQ(kept, ground.points.size());
}

TEST(SurfacesOff, ThereIsNoMound) {
  MoundDesign design = with_cover();
  design.least_sand.reset();
  design.bottom_elevation = 50;
  const Ground ground = rough_ground(100, 120, 7);
  const MoundPlace place = place_as_drawn(ground, design);
  const MoundSurfaces surfaces = mound_surfaces(place_mound(place));
  EXPECT_TRUE(surfaces.prepared.triangles.empty());
  EXPECT_EQ(surfaces.finished_lot.triangles.size(), ground.triangle_count());
}

double sum_below(const std::vector<Point3>& faces, const Point3& from) {
  double sum = 0;
  for (std::size_t i = 0; i < faces.size(); i += 3) {
    sum += (faces[i] - from).dot((faces[i + 1] - from).cross(faces[i + 2] - from)) / 6;
  }
  return sum;
}

/// Between the ground that is opened and what stands in its stead.
double enclosed_by(const DugGround& dug, const Ground& ground) {
  std::vector<Point3> lid;
  for (const std::uint32_t t : dug.opened) {
    for (const std::uint32_t v : ground.tree.triangles[t]) lid.push_back(ground.points[v]);
  }
  double enclosed = sum_below(lid, lid.front());
  for (const auto* part : {&dug.undug, &dug.strip, &dug.strip_sides, &dug.undercut}) {
    enclosed -= sum_below(*part, lid.front());
  }
  return enclosed;
}

MoundDesign stripped() {
  MoundDesign design = with_cover();
  design.prepare.strip = 0.5;
  return design;
}

TEST(DugGround, WithTheOpenedGroundEnclosesWhatIsDug) {
  for (const MoundDesign& design : {over_a_pit(), stripped()}) {
    const Ground ground = rough_ground(900, 150, 5);
    const PlacedMound mound = place_mound(place_as_drawn(ground, design));
    const Buildup& buildup = mound.buildup;
    const DugGround dug = dug_ground(mound);
    ASSERT_FALSE(dug.opened.empty());
    EXPECT_FALSE(dug.strip.empty());
    EXPECT_EQ(dug.undercut.empty(), !design.prepare.undercut);
    EXPECT_NEAR(enclosed_by(dug, ground), buildup.total_cut(), 1e-6 * buildup.total_cut());
  }
}

TEST(DugGround, OneItemAloneIsDugFromTheSurveyedGround) {
  const Ground ground = rough_ground(900, 150, 5);
  const PlacedMound mound = place_mound(place_as_drawn(ground, over_a_pit()));
  const Buildup& buildup = mound.buildup;
  const DugGround strip = dug_ground(mound, {.strip = true, .undercut = false});
  EXPECT_TRUE(strip.undercut.empty());
  EXPECT_NEAR(enclosed_by(strip, ground), mound.design().prepare.strip * buildup.footprint_area,
              1e-6 * buildup.total_cut());
  const DugGround pit = dug_ground(mound, {.strip = false, .undercut = true});
  EXPECT_TRUE(pit.strip.empty() && pit.strip_sides.empty());
  MoundDesign unstripped = mound.design();
  unstripped.prepare.strip = 0;
  unstripped.least_sand.reset(), unstripped.bottom_elevation = buildup.bottom_elevation;
  const double alone = build_up(place_as_drawn(ground, unstripped)).total_cut();
  EXPECT_GT(alone, 0);
  EXPECT_NEAR(enclosed_by(pit, ground), alone, 1e-6 * alone);
  EXPECT_TRUE(dug_ground(mound, {.strip = false, .undercut = false}).opened.empty());
}

TEST(DugGround, IsNothingWhereNothingIsDug) {
  const Ground ground = rough_ground(300, 150, 6);
  const MoundPlace place = place_as_drawn(ground, with_cover());
  EXPECT_TRUE(dug_ground(place_mound(place)).opened.empty());
}

}  // namespace
}  // namespace moundwright

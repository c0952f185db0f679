// The faces to draw enclose what the Buildup counted.
#include "geom/draw_surfaces.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <cmath>
#include <random>

#include "geom/cell_pieces.h"

namespace moundwright {
namespace {

constexpr double side = 300;

/// A tilted, rolling lot with shots at random.
Ground rolling_lot(unsigned seed, std::size_t count, double noise) {
  std::mt19937_64 generator(seed);
  std::uniform_real_distribution<double> place(0, side), error(-noise, noise);
  std::vector<Shot> shots;
  for (std::size_t i = 0; i < count; ++i) {
    Shot shot;
    shot.easting = place(generator), shot.northing = place(generator);
    shot.elevation = 100 + 0.08 * shot.northing + 1.5 * std::sin(shot.easting / 40) * std::cos(shot.northing / 33) +
                     error(generator);
    shots.push_back(shot);
  }
  return make_ground(shots);
}

MoundDesign design_at(const Eigen::Vector2d& center) {
  MoundDesign design;
  design.bed = straight_bed(center, 82, 60, 10);
  design.least_sand = 1.5;
  design.downslope = 172;
  design.layers = {{"core", "clean sand", 0, 0, ByFace::all(1), ByFace::all(0), false},
                   {"stone", "washed stone", 1, 0, ByFace::all(0), ByFace::all(0), false},
                   {"shell", "shell sand", 1, 0, ByFace::all(3), ByFace::all(0), false},
                   {"cover", "sandy loam", 1.5, 0.5, ByFace::all(3), ByFace::all(3), true}};
  return design;
}

Point3 area_of(const std::vector<Point3>& faces) {
  Point3 sum = Point3::Zero();
  for (std::size_t i = 0; i < faces.size(); i += 3) {
    sum += 0.5 * (faces[i + 1] - faces[i]).cross(faces[i + 2] - faces[i]);
  }
  return sum;
}

/// A third of the integral of (p - about) over the faces: the volume, if they enclose one.
double volume_of(const std::vector<Point3>& faces, const Point3& about) {
  double sum = 0;
  for (std::size_t i = 0; i < faces.size(); i += 3) {
    sum += (faces[i] - about).dot((faces[i + 1] - about).cross(faces[i + 2] - about));
  }
  return sum / 6;
}

std::vector<Point3> all_faces(const LayerSurfaces& layer) {
  std::vector<Point3> all = layer.top;
  all.insert(all.end(), layer.underside.begin(), layer.underside.end());
  all.insert(all.end(), layer.walls.begin(), layer.walls.end());
  return all;
}

void expect_encloses(const MoundPlace& place, DrawWork& work, const std::string& what) {
  SCOPED_TRACE(what);
  const PlacedMound mound = place_mound(place);
  const Buildup& buildup = mound.buildup;
  ASSERT_FALSE(buildup.toe.outer.empty());
  DrawSurfaces drawn;
  draw_surfaces(mound, {}, work, drawn);
  ASSERT_EQ(drawn.layers.size(), buildup.layers.size());
  const double fill = buildup.total_fill();
  const Point2 origin = place.to_reduced({0, 0});
  for (std::size_t k = 0; k < drawn.layers.size(); ++k) {
    SCOPED_TRACE(buildup.layers[k].name);
    const auto faces = all_faces(drawn.layers[k]);
    // A place far off, so that a missing wall or a face turned inside out cannot hide.
    for (const double away : {0.0, 50.0}) {
      const Point3 about(origin.x() + away, origin.y() - away, buildup.bottom_elevation + away);
      EXPECT_NEAR(volume_of(faces, about), buildup.layers[k].volume, 1e-8 * fill);
    }
    EXPECT_NEAR(area_of(drawn.layers[k].top).z(), buildup.layers[k].plan_area, 1e-8 * buildup.footprint_area);
    EXPECT_NEAR(area_of(drawn.layers[k].underside).z(), -buildup.layers[k].plan_area, 1e-8 * buildup.footprint_area);
    EXPECT_NEAR(area_of(faces).norm(), 0, 1e-8 * buildup.footprint_area);
  }
}

TEST(DrawSurfaces, EncloseTheVolumesWhereverTheMoundIs) {
  DrawWork work;
  std::mt19937_64 generator(3);
  std::uniform_real_distribution<double> turn(-0.4, 0.4), move(-40, 40), raise(0, 1.5);
  for (const std::size_t shots : {60, 2000, 20000}) {
    const Ground ground = rolling_lot(11, shots, 0);
    MoundPlace place = place_as_drawn(ground, design_at({150, 150}));
    const MoundFrame start = place.frame();
    for (int i = 0; i < 6; ++i) {
      const double angle = std::atan2(start.along.y(), start.along.x()) + turn(generator);
      place.placement.frame.along = {std::cos(angle), std::sin(angle)};
      place.placement.frame.origin = start.origin + Point2(move(generator), move(generator));
      place.placement.least_sand = raise(generator);
      expect_encloses(place, work, std::to_string(shots) + " shots, placement " + std::to_string(i));
    }
  }
}

TEST(DrawSurfaces, EncloseTheVolumesOverAStripAndAPit) {
  DrawWork work;
  const Ground ground = rolling_lot(5, 2000, 0);
  MoundDesign design = design_at({150, 150});
  design.prepare.strip = 0.5;
  expect_encloses(place_as_drawn(ground, design), work, "strip");
  for (const double batter : {0.0, 0.5}) {
    design.prepare.undercut =
        Undercut{bed_bottom(place_as_drawn(ground, design)) - 6, ByFace::all(1), ByFace::all(batter)};
    expect_encloses(place_as_drawn(ground, design), work, "strip and pit, sides " + std::to_string(batter));
  }
}

TEST(DrawSurfaces, EncloseTheVolumesOfABentBedWithSquareCornersAndVerticalFaces) {
  DrawWork work;
  const Ground ground = rolling_lot(6, 2000, 0);
  MoundDesign design = design_at({150, 150});
  design.bed.line = {{115, 150}, {150, 160}, {185, 150}};
  design.layers[3].round_corners = false;
  expect_encloses(place_as_drawn(ground, design), work, "bent");
  design.layers[3].side.downslope = 0;
  expect_encloses(place_as_drawn(ground, design), work, "bent, downslope face vertical");
}

TEST(DrawSurfaces, LeaveSpecksOut) {
  DrawWork work;
  const Ground ground = rolling_lot(7, 40000, 0.25);
  MoundPlace place = place_as_drawn(ground, design_at({150, 150}));
  ASSERT_GT(build_up(place).specks, 0U);
  expect_encloses(place, work, "noise");
}

TEST(DrawSurfaces, EndWithTheSurvey) {
  DrawWork work;
  const Ground ground = rolling_lot(8, 3000, 0);
  MoundPlace place = place_as_drawn(ground, design_at({150, 14}));
  ASSERT_GT(build_up(place).toe.off_survey, 0);
  expect_encloses(place, work, "off the survey");
}

TEST(DrawSurfaces, AreOneForBothSidesOfACut) {
  DrawWork work;
  const Ground ground = rolling_lot(9, 2000, 0);
  const PlacedMound mound = place_mound(place_as_drawn(ground, design_at({150, 150})));
  const Buildup& buildup = mound.buildup;
  const Point2 middle = ground.to_local({152, 149});
  const PlanLine line{0.8, 0.6, -0.8 * middle.x() - 0.6 * middle.y()};
  DrawSurfaces near, far;
  draw_surfaces(mound, {.keep = line}, work, near);
  draw_surfaces(mound, {.keep = PlanLine{-line.a, -line.b, -line.c}}, work, far);
  for (std::size_t k = 0; k < near.layers.size(); ++k) {
    const double both = area_of(near.layers[k].top).z() + area_of(far.layers[k].top).z();
    EXPECT_NEAR(both, buildup.layers[k].plan_area, 1e-8 * buildup.footprint_area);
    EXPECT_GT(area_of(near.layers[k].top).z(), 0.2 * buildup.layers[k].plan_area);
    for (const Point3& p : near.layers[k].walls) EXPECT_GE(line.at(p.x(), p.y()), -1e-6);
  }
}

TEST(DrawSurfaces, TheOutsideAloneCoversTheFootprintOnce) {
  DrawWork work;
  const Ground ground = rolling_lot(12, 5000, 0);
  MoundDesign design = design_at({150, 150});
  design.layers[3].side.downslope = 0;  // so that there is a wall outside
  design.layers[3].round_corners = false;
  const PlacedMound mound = place_mound(place_as_drawn(ground, design));
  const Buildup& buildup = mound.buildup;
  DrawSurfaces all, outside;
  draw_surfaces(mound, {}, work, all);
  draw_surfaces(mound, {.undersides = false, .outside_only = true}, work, outside);
  Point3 area = Point3::Zero();
  double walls = 0;
  for (const LayerSurfaces& layer : outside.layers) {
    area += area_of(layer.top) + area_of(layer.walls);
    for (std::size_t i = 0; i < layer.walls.size(); i += 3) {
      walls += 0.5 * (layer.walls[i + 1] - layer.walls[i]).cross(layer.walls[i + 2] - layer.walls[i]).norm();
    }
    EXPECT_TRUE(layer.underside.empty());
  }
  EXPECT_NEAR(area.z(), buildup.footprint_area, 1e-8 * buildup.footprint_area);
  EXPECT_GT(walls, 100);
  EXPECT_LT(outside.layers[3].walls.size(), all.layers[3].walls.size());
}

/// Elevations of the faces that lie over or under a place.
std::vector<double> heights_at(const std::vector<Point3>& faces, const Point2& at) {
  std::vector<double> found;
  for (std::size_t i = 0; i < faces.size(); i += 3) {
    const Point3 *p = &faces[i], normal = (p[1] - p[0]).cross(p[2] - p[0]);
    bool inside = normal.z() > 0;
    for (std::size_t j = 0; j < 3 && inside; ++j) {
      const Point2 along = (p[(j + 1) % 3] - p[j]).head<2>(), to = at - p[j].head<2>();
      inside = along.x() * to.y() - along.y() * to.x() >= 0;
    }
    if (inside) found.push_back(p[0].z() - normal.head<2>().dot(at - p[0].head<2>()) / normal.z());
  }
  return found;
}

TEST(DrawSurfaces, CoarselyLeavesWholeOnlyWhatTheGroundHides) {
  DrawWork work;
  const Ground ground = rolling_lot(14, 100000, 0);
  const PlacedMound mound = place_mound(place_as_drawn(ground, design_at({150, 150})));
  const Buildup& buildup = mound.buildup;
  constexpr double coarse = 2;
  DrawSurfaces cut, whole;
  draw_surfaces(mound, {.undersides = false, .outside_only = true}, work, cut);
  draw_surfaces(mound, {.undersides = false, .outside_only = true, .coarse = coarse}, work, whole);
  std::vector<Point3> faces;
  for (const LayerSurfaces& layer : whole.layers) faces.insert(faces.end(), layer.top.begin(), layer.top.end());
  EXPECT_LT(faces.size(), cut.layers[3].top.size() / 3);

  const Point2 middle = ground.to_local({150, 150});
  std::mt19937_64 generator(14);
  std::uniform_real_distribution<double> place(-60, 60);
  int seen = 0, hidden = 0;
  for (int i = 0; i < 3000; ++i) {
    const Point2 at = middle + Point2(place(generator), place(generator));
    const double existing = *elevation_at(ground, at);
    const std::optional<double> top = finish_height(mound, mound.from_reduced(at));
    const double finish = top ? buildup.bottom_elevation + *top : -1e9;
    const std::vector<double> drawn = heights_at(faces, at);
    if (finish > existing) {
      ASSERT_EQ(drawn.size(), 1U) << at.transpose();
      EXPECT_NEAR(drawn[0], finish, 1e-8);
      ++seen;
    } else if (!drawn.empty()) {
      ASSERT_EQ(drawn.size(), 1U) << at.transpose();
      EXPECT_NEAR(drawn[0], finish, 1e-8) << "below the ground it is still the same plane";
      EXPECT_GT(finish, existing - coarse) << "and only beside the toe";
      ++hidden;
    }
  }
  EXPECT_GT(seen, 500);
  EXPECT_GT(hidden, 10);
}

TEST(DrawSurfaces, CoarselyCutsWhereTheSurveyEndsUnderTheMound) {
  DrawWork work;
  const Ground ground = rolling_lot(15, 20000, 0);
  const PlacedMound mound = place_mound(place_as_drawn(ground, design_at({150, side - 12})));
  DrawSurfaces drawn;
  draw_surfaces(mound, {.undersides = false, .outside_only = true, .coarse = 2}, work, drawn);
  std::size_t beyond = 0, faces = 0;
  for (const LayerSurfaces& layer : drawn.layers) {
    for (const Point3& p : layer.top) {
      ++faces;
      const bool on_ground = elevation_at(ground, {p.x(), p.y() - 1e-6}).has_value();
      if (!on_ground) ++beyond;
    }
  }
  EXPECT_GT(faces, 0U);
  EXPECT_EQ(beyond, 0U);
}

TEST(DrawSurfaces, WithoutUndersidesHaveTheSameTopsAndFewFaces) {
  DrawWork work;
  const Ground ground = rolling_lot(10, 100000, 0);
  const PlacedMound mound = place_mound(place_as_drawn(ground, design_at({150, 150})));
  const Buildup& buildup = mound.buildup;
  DrawSurfaces drawn;
  draw_surfaces(mound, {.undersides = false}, work, drawn);
  std::size_t faces = 0;
  for (std::size_t k = 0; k < drawn.layers.size(); ++k) {
    EXPECT_TRUE(drawn.layers[k].underside.empty());
    EXPECT_NEAR(area_of(drawn.layers[k].top).z(), buildup.layers[k].plan_area, 1e-8 * buildup.footprint_area);
    faces += drawn.layers[k].top.size() / 3;
  }
  EXPECT_LT(faces, 20000U) << "a top is one plane, and must not be cut up by every triangle under it";
}

}  // namespace
}  // namespace moundwright

// What the window draws, without a window.
#include "viewer/scene.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "test_paths.h"

namespace moundwright {
namespace {

double plan_area(const Triangles& triangles) {
  double sum = 0;
  for (const auto& t : triangles.corners) {
    const auto p = [&](std::size_t i) { return triangles.points[static_cast<std::size_t>(t[i])]; };
    sum += 0.5 * ((p(1)[0] - p(0)[0]) * (p(2)[1] - p(0)[1]) - (p(2)[0] - p(0)[0]) * (p(1)[1] - p(0)[1]));
  }
  return sum;
}

double area_of(const Triangles& triangles) {
  double sum = 0;
  for (const auto& t : triangles.corners) {
    Eigen::Vector3d p[3];
    for (std::size_t i = 0; i < 3; ++i) {
      const DrawPoint& q = triangles.points[static_cast<std::size_t>(t[i])];
      p[i] = {q[0], q[1], q[2]};
    }
    const Eigen::Vector3d a = p[1] - p[0], b = p[2] - p[0];
    sum += 0.5 *
           Eigen::Vector3d(a.y() * b.z() - a.z() * b.y(), a.z() * b.x() - a.x() * b.z(), a.x() * b.y() - a.y() * b.x())
               .norm();
  }
  return sum;
}

struct Demo {
  EditSession session{read_site(std::string(MOUNDWRIGHT_SURVEYS) + "/fernhollow.toml")};
  SceneFrame frame = scene_frame(session.ground());
  MoundWork work;
  MoundPicture picture;
  Slice across() const {
    const Point2 a = session.along();
    return {session.ground().to_local(session.state().middle), Point2(a.y(), -a.x())};
  }
  void draw(const MoundOptions& options) { draw_mound(session, frame, options, work, picture); }
};

TEST(Scene, TilesCoverTheGroundOnce) {
  const Demo demo;
  double area = 0;
  for (const Tile<Triangles>& tile : ground_tiles(demo.session.ground(), demo.frame)) area += plan_area(tile.drawn);
  EXPECT_NEAR(area, demo.session.ground().total_area, 1e-5 * area);
}

TEST(Scene, WhatIsDugOutStandsInForTheGroundThatItOpens) {
  EditSession session{read_site(std::string(MOUNDWRIGHT_SURVEYS) + "/ridgeback.toml")};
  const SceneFrame frame = scene_frame(session.ground());
  const DugPicture dug = dug_picture(dug_ground(session.ground(), session.plan(), *session.buildup()), frame);
  double area = plan_area(dug.undug) + plan_area(dug.dug);
  for (const Tile<Triangles>& tile : ground_tiles(session.ground(), frame)) {
    area += plan_area(opened_tile(tile, dug.opened));
  }
  EXPECT_GT(plan_area(dug.dug), 100);
  EXPECT_NEAR(area, session.ground().total_area, 1e-4 * area);
}

TEST(Scene, ASliceLeavesItsLeftSideOfTheGround) {
  const Demo demo;
  const Slice slice = demo.across();
  const Slice other{slice.through, -slice.along};
  for (const Tile<Triangles>& tile : ground_tiles(demo.session.ground(), demo.frame)) {
    ASSERT_EQ(cut_of(tile.box, demo.frame, slice), TileCut::crossed);
    const double kept = plan_area(cut_triangles(tile.drawn, demo.frame, slice));
    const double gone = plan_area(cut_triangles(tile.drawn, demo.frame, other));
    EXPECT_GT(kept, 0);
    EXPECT_GT(gone, 0);
    EXPECT_NEAR(kept + gone, plan_area(tile.drawn), 1e-4 * kept);
  }
}

TEST(Scene, TheCutFaceIsFilledWithEveryLayersOwnArea) {
  Demo demo;
  MoundOptions options;
  options.slice = demo.across();
  demo.draw(options);
  const Point2 from = options.slice->through - options.slice->along * 400;
  const Section section = cut_section(demo.session.ground(), demo.session.plan(), *demo.session.buildup(), from,
                                      from + options.slice->along * 800);
  for (std::size_t k = 0; k < demo.session.buildup()->layers.size(); ++k) {
    EXPECT_GT(section.layer_area(k), 0);
    EXPECT_NEAR(area_of(demo.picture.cut_faces[k]), section.layer_area(k), 1e-3 * section.layer_area(k) + 1e-3);
  }
}

TEST(Scene, LayersLiftedApartKeepTheirSize) {
  Demo demo;
  MoundOptions options;
  options.lift = 1;
  demo.draw(options);
  std::vector<double> areas, lows;
  const auto low = [](const Triangles& triangles) {
    float z = triangles.points.front()[2];
    for (const DrawPoint& p : triangles.points) z = std::min(z, p[2]);
    return z;
  };
  for (const Triangles& layer : demo.picture.layers) areas.push_back(area_of(layer)), lows.push_back(low(layer));
  options.lift = 3;
  demo.draw(options);
  for (std::size_t k = 0; k < areas.size(); ++k) {
    EXPECT_NEAR(area_of(demo.picture.layers[k]), areas[k], 1e-4 * areas[k]);
    EXPECT_NEAR(low(demo.picture.layers[k]), lows[k] + 2.0 * static_cast<double>(k + 1), 1e-3);
  }
}

TEST(Scene, TheOutsideAloneIsWhatIsSeenOfTheWhole) {
  Demo demo;
  demo.draw({});
  const double finish = plan_area(demo.picture.layers.back());
  std::size_t faces = 0;
  for (const Triangles& layer : demo.picture.layers) faces += layer.corners.size();
  MoundOptions options;
  options.outside_only = true;
  demo.draw(options);
  EXPECT_NEAR(plan_area(demo.picture.layers.back()), finish, 1e-4 * finish) << "topsoil covers all of the demo";
  std::size_t outside = 0;
  for (const Triangles& layer : demo.picture.layers) outside += layer.corners.size();
  EXPECT_EQ(outside, demo.picture.layers.back().corners.size());
  EXPECT_LT(2 * outside, faces);
}

TEST(Scene, LayersAreToldApartByColour) {
  const Demo demo;
  const std::vector<Colour> colours = screen_colours(demo.session.plan().design);
  for (std::size_t i = 0; i < colours.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const double apart = std::hypot(colours[i].red - colours[j].red, colours[i].green - colours[j].green,
                                      colours[i].blue - colours[j].blue);
      EXPECT_GT(apart, 0.12) << i << " " << j;
    }
  }
}

TEST(Scene, ContoursStandAtTheirElevations) {
  const Demo demo;
  const ContourLines lines = contour_lines(demo.session.ground(), demo.frame);
  EXPECT_FALSE(lines.labels.empty());
  std::vector<DrawPoint> heavy;
  for (const Tile<Lines>& tile : lines.heavy)
    heavy.insert(heavy.end(), tile.drawn.points.begin(), tile.drawn.points.end());
  EXPECT_FALSE(heavy.empty());
  for (const DrawPoint& p : heavy) {
    const double z = p[2] + demo.frame.origin.z(), steps = z / (5 * lines.interval);
    EXPECT_NEAR(steps, std::round(steps), 0.1);
    const auto ground =
        elevation_at(demo.session.ground(), Point2(p[0] + demo.frame.origin.x(), p[1] + demo.frame.origin.y()));
    if (ground) {
      EXPECT_NEAR(z, *ground, 0.5);
    }
  }
}

TEST(Scene, EveryFeatureAndBermIsNamed) {
  Demo demo;
  demo.draw({});
  std::vector<std::string> names;
  for (const SceneLabel& label : site_features(demo.session.site(), demo.frame).labels) names.push_back(label.text);
  for (const KeepClear& feature : demo.session.site().job.site.mound.requirements.keep_clear) {
    EXPECT_NE(std::find(names.begin(), names.end(), feature.name), names.end()) << feature.name;
  }
  ASSERT_EQ(demo.picture.labels.size(), 4U);
  EXPECT_EQ(demo.picture.labels[1].text.substr(0, 10), "downslope ");
  EXPECT_FALSE(demo.picture.toe.ends.empty());
}

TEST(Scene, WhatLiesBehindTheMoundIsHidden) {
  const Demo demo;
  const Point2 middle = demo.session.ground().to_local(demo.session.state().middle);
  const Point2 along = demo.session.along(), down(-along.y(), along.x());
  const auto on_ground = [&](double downslope, double above) {
    const Point2 p = middle + down * downslope;
    return demo.frame.at({p.x(), p.y(), *elevation_at(demo.session.ground(), p) + above});
  };
  Eye eye;
  const DrawPoint low = on_ground(60, 8);
  eye.at = {low[0], low[1], low[2]};
  const DrawPoint upslope = on_ground(-17, 0.5), downslope = on_ground(30, 0.5), inside = on_ground(0, 1);
  EXPECT_TRUE(is_hidden(demo.session, demo.frame, eye, upslope));
  EXPECT_TRUE(is_hidden(demo.session, demo.frame, eye, inside));
  EXPECT_FALSE(is_hidden(demo.session, demo.frame, eye, downslope));
  eye.sees_mound = false;
  EXPECT_FALSE(is_hidden(demo.session, demo.frame, eye, inside));
  eye.sees_mound = true;
  eye.at.z() += 400;
  EXPECT_FALSE(is_hidden(demo.session, demo.frame, eye, upslope)) << "seen from high above";
  EXPECT_TRUE(is_hidden(demo.session, demo.frame, eye, inside));
}

TEST(Scene, LiftedLayersAreNamed) {
  Demo demo;
  MoundOptions options;
  options.lift = 5;
  demo.draw(options);
  std::vector<std::string> names;
  for (const SceneLabel& label : demo.picture.labels) {
    if (label.kind == LabelKind::layer) names.push_back(label.text);
  }
  ASSERT_EQ(names.size(), demo.session.state().design.layers.size());
  EXPECT_EQ(names.front(), "core: clean sand");
}

TEST(Scene, WithoutAMoundThereIsStillTheGround) {
  Demo demo;
  demo.session.move(0, 500);
  ASSERT_FALSE(demo.session.buildup());
  demo.draw({});
  for (const Triangles& layer : demo.picture.layers) EXPECT_TRUE(layer.corners.empty());
  EXPECT_TRUE(demo.picture.toe.ends.empty());
}

}  // namespace
}  // namespace moundwright

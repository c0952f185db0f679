// What the window draws, without a window.
#include "viewer/scene.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "test_paths.h"

namespace moundwright::viewer {
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
  EditSession session{io::read_site(std::string(MOUNDWRIGHT_SURVEYS) + "/fernhollow.toml")};
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
  for (const Tile<Triangles>& tile :
       ground_tiles(demo.session.ground(), demo.frame, ground_light(demo.session.ground())))
    area += plan_area(tile.drawn);
  EXPECT_NEAR(area, demo.session.ground().total_area, 1e-5 * area);
}

struct Ridge {
  EditSession session{io::read_site(std::string(MOUNDWRIGHT_SURVEYS) + "/ridgeback.toml")};
  const Ground& ground = session.ground();
  SitePicture site = site_picture(session.site());
  DugPicture dug = dug_picture(dug_ground(*session.mound()), ground, *site.light, site.frame, site.contours.interval);
};

TEST(Scene, WhatIsDugOutStandsInForTheGroundThatItOpens) {
  const Ridge ridge;
  const DugPicture& dug = ridge.dug;
  double area = plan_area(dug.undug) + plan_area(dug.strip) + plan_area(dug.undercut);
  for (const Tile<Triangles>& tile : ridge.site.ground) area += plan_area(opened_tile(tile, dug.opened));
  EXPECT_GT(plan_area(dug.undercut), 100);
  EXPECT_NEAR(area, ridge.ground.total_area, 1e-4 * area);
}

/// Of the ground's own tiles, at a place.
std::optional<DrawPoint> colour_at(const std::vector<Triangles>& all, float x, float y) {
  for (const Triangles& triangles : all) {
    for (const auto& t : triangles.corners) {
      std::array<DrawPoint, 3> p{}, c{};
      for (std::size_t i = 0; i < 3; ++i) {
        p[i] = triangles.points[static_cast<std::size_t>(t[i])],
        c[i] = triangles.colours[static_cast<std::size_t>(t[i])];
      }
      std::array<float, 3> share{};
      for (std::size_t i = 0; i < 3; ++i) {
        const DrawPoint &a = p[(i + 1) % 3], &b = p[(i + 2) % 3];
        share[i] = (a[0] - x) * (b[1] - y) - (a[1] - y) * (b[0] - x);
      }
      if (!(std::min({share[0], share[1], share[2]}) >= 0)) continue;
      const float all_of = share[0] + share[1] + share[2];
      DrawPoint mixed{};
      for (std::size_t k = 0; k < 3; ++k) {
        mixed[k] = (share[0] * c[0][k] + share[1] * c[1][k] + share[2] * c[2][k]) / all_of;
      }
      return mixed;
    }
  }
  return std::nullopt;
}

TEST(Scene, GroundRoundWhatIsDugHasTheColoursOfItsTiles) {
  const Ridge ridge;
  std::vector<Triangles> tiles;
  for (const Tile<Triangles>& tile : ridge.site.ground) tiles.push_back(tile.drawn);
  ASSERT_GT(ridge.dug.undug.points.size(), 100U);
  for (std::size_t i = 0; i + 2 < ridge.dug.undug.points.size(); i += 3) {
    // a little inside the face, since tiles are rounded to single precision
    DrawPoint at{}, drawn{};
    for (std::size_t k = 0; k < 3; ++k) {
      for (std::size_t j = i; j < i + 3; ++j) {
        at[k] += ridge.dug.undug.points[j][k] / 3, drawn[k] += ridge.dug.undug.colours[j][k] / 3;
      }
    }
    const auto expected = colour_at(tiles, at[0], at[1]);
    ASSERT_TRUE(expected);
    for (std::size_t k = 0; k < 3; ++k) EXPECT_NEAR(drawn[k], (*expected)[k], 2e-3);
  }
}

TEST(Scene, ContoursFollowTheFloorThatIsDug) {
  const Ridge ridge;
  double kept = 0, whole = 0;
  const auto length = [](const Lines& lines) {
    double sum = 0;
    for (const auto& [p, q] : lines.ends) {
      const DrawPoint &a = lines.points[static_cast<std::size_t>(p)], &b = lines.points[static_cast<std::size_t>(q)];
      sum += std::hypot(a[0] - b[0], a[1] - b[1]);
    }
    return sum;
  };
  for (const auto* tiles : {&ridge.site.contours.fine, &ridge.site.contours.heavy}) {
    for (const Tile<Lines>& tile : *tiles) {
      const Lines left = opened_lines(tile.drawn, ridge.ground, ridge.site.frame, ridge.dug.opened);
      whole += length(tile.drawn), kept += length(left);
      for (const auto& [p, q] : left.ends) {
        const DrawPoint &a = left.points[static_cast<std::size_t>(p)], &b = left.points[static_cast<std::size_t>(q)];
        const DrawPoint middle{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, 0};
        EXPECT_FALSE(is_opened(middle, ridge.ground, ridge.site.frame, ridge.dug.opened));
      }
    }
  }
  EXPECT_LT(kept, whole);
  EXPECT_GT(length(ridge.dug.contours) + length(ridge.dug.heavy_contours), 0);
  // With nothing dug there, they would be the very lines in whose stead they are.
  DugGround whole_ground{ridge.dug.opened, {}, {}, {}, {}};
  for (const std::uint32_t t : ridge.dug.opened) {
    for (const std::uint32_t v : ridge.ground.tree.triangles[t]) {
      whole_ground.undug.push_back(ridge.ground.points[v]);
    }
  }
  const DugPicture undug =
      dug_picture(whole_ground, ridge.ground, *ridge.site.light, ridge.site.frame, ridge.site.contours.interval);
  EXPECT_NEAR(length(undug.contours) + length(undug.heavy_contours), whole - kept, 1e-3 * whole);
}

TEST(Scene, ASliceLeavesItsLeftSideOfTheGround) {
  const Demo demo;
  const Slice slice = demo.across();
  const Slice other{slice.through, -slice.along};
  for (const Tile<Triangles>& tile :
       ground_tiles(demo.session.ground(), demo.frame, ground_light(demo.session.ground()))) {
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
  const Section section = cut_section(*demo.session.mound(), from, from + options.slice->along * 800);
  for (std::size_t k = 0; k < demo.session.mound()->buildup.layers.size(); ++k) {
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
  const std::vector<io::Colour> colours = screen_colours(demo.session.mound()->design());
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
  for (const KeepClear& feature : demo.session.site().job.site.lot.requirements.keep_clear) {
    EXPECT_NE(std::find(names.begin(), names.end(), feature.name), names.end()) << feature.name;
  }
  ASSERT_EQ(demo.picture.labels.size(), 4U);
  EXPECT_EQ(demo.picture.labels[1].text.substr(0, 10), "downslope ");
  EXPECT_FALSE(demo.picture.toe.ends.empty());
}

TEST(Scene, WhereTheSurveyEndsIsDrawnAndNamedIfGroundIsCarriedOn) {
  io::SiteResults site = io::read_site(std::string(MOUNDWRIGHT_SURVEYS) + "/fernhollow.toml");
  const auto says_so = [&] {
    const auto labels = site_features(site, scene_frame(site.ground())).labels;
    return std::any_of(labels.begin(), labels.end(),
                       [](const SceneLabel& label) { return label.text.starts_with("end of survey"); });
  };
  const std::size_t lines = site_features(site, scene_frame(site.ground())).lines.size();
  EXPECT_FALSE(says_so());
  site.shared_ground = std::make_shared<const Ground>(
      make_ground(site.survey.ground_shots, site.survey.breaklines, {.longest_edge = 60, .extend = 10}));
  EXPECT_TRUE(says_so());
  EXPECT_EQ(site_features(site, scene_frame(site.ground())).lines.size(), lines + 1);
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
  ASSERT_FALSE(demo.session.mound());
  demo.draw({});
  for (const Triangles& layer : demo.picture.layers) EXPECT_TRUE(layer.corners.empty());
  EXPECT_TRUE(demo.picture.toe.ends.empty());
}

}  // namespace
}  // namespace moundwright::viewer

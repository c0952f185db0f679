// The 3D picture and what it stands on: rays against places worked out by hand, the cutaway against sections, and the
// picture by the colours in it.
#include "viewer/mound_picture.h"

#include <cairo.h>
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <cstring>

#include "../io/scratch.h"
#include "geom/plan.h"
#include "geom/sections.h"
#include "io/material_style.h"
#include "io/text_file.h"
#include "test_paths.h"
#include "viewer/cutaway.h"
#include "viewer/ray_scene.h"

namespace moundwright::viewer {
namespace {

using Vec = Eigen::Vector3f;

io::SiteResults demo_results(const std::string& name) {
  return io::compute_site(std::string(MOUNDWRIGHT_SURVEYS) + "/" + name + ".toml");
}

std::vector<Solid> solids_of(const io::SiteResults& results) { return layer_solids(results.mound()); }

RayMesh square(float z) {
  RayMesh mesh;
  mesh.add_triangle({0, 0, z}, {10, 0, z}, {10, 10, z});
  mesh.add_triangle({0, 0, z}, {10, 10, z}, {0, 10, z});
  return mesh;
}

TEST(RayScene, HitsTheFirstSurfaceInTheWay) {
  const RayScene scene({square(1), square(5)});
  const auto hit = scene.first_hit({3, 4, 20}, Vec(0.1F, 0, -1).normalized());
  ASSERT_TRUE(hit);
  EXPECT_EQ(hit->mesh, 1u);
  EXPECT_NEAR(hit->at.x(), 4.5, 1e-5);
  EXPECT_NEAR(hit->at.z(), 5, 1e-5);
  EXPECT_NEAR(hit->normal.z(), 1, 1e-6);
  // From below, the normal turns toward the ray.
  const auto below = scene.first_hit({3, 4, -20}, {0, 0, 1});
  ASSERT_TRUE(below);
  EXPECT_EQ(below->mesh, 0u);
  EXPECT_NEAR(below->normal.z(), -1, 1e-6);
  EXPECT_FALSE(scene.first_hit({3, 4, 20}, {0, 0, 1}));
  EXPECT_FALSE(scene.first_hit({-3, 4, 20}, {0, 0, -1}));
  EXPECT_FALSE(scene.is_open({3, 4, 20}, {0, 0, -1}));
  EXPECT_TRUE(scene.is_open({3, 4, 20}, {0, 0, 1}));
}

TEST(RayScene, PassesThroughWhatIsIgnored) {
  std::vector<RayMesh> meshes{square(1), square(5)};
  meshes[1].may_be_ignored = true;
  const RayScene scene(meshes, [](std::uint32_t mesh, const Vec& at) { return mesh == 1 && at.x() < 5; });
  EXPECT_EQ(scene.first_hit({3, 4, 20}, {0, 0, -1})->mesh, 0u);
  EXPECT_EQ(scene.first_hit({7, 4, 20}, {0, 0, -1})->mesh, 1u);
  EXPECT_FALSE(scene.is_open({3, 4, 20}, {0, 0, -1}));
}

TEST(RayScene, FindsForManyRaysWhatItFindsForEach) {
  std::vector<RayMesh> meshes{square(1), square(5)};
  meshes[1].may_be_ignored = true;
  const RayScene scene(meshes, [](std::uint32_t mesh, const Vec& at) { return mesh == 1 && at.x() < 5; });
  std::vector<Ray> rays;
  for (int i = 0; i < 53; ++i) {
    const auto n = static_cast<float>(i);
    rays.push_back({{0.23F * n - 1, 0.17F * n, i % 3 == 0 ? 0.0F : 20.0F}, Vec(0.1F, 0.004F * n, -1).normalized()});
  }
  const auto hits = scene.first_hits(rays);
  const auto open = scene.are_open(rays);
  ASSERT_EQ(hits.size(), rays.size());
  ASSERT_EQ(open.size(), rays.size());
  int met = 0;
  for (std::size_t i = 0; i < rays.size(); ++i) {
    const auto hit = scene.first_hit(rays[i].from, rays[i].direction);
    ASSERT_EQ(hits[i].has_value(), hit.has_value()) << i;
    EXPECT_EQ(open[i] != 0, !hit) << i;
    if (!hit) continue;
    ++met;
    EXPECT_EQ(hits[i]->mesh, hit->mesh);
    EXPECT_EQ(hits[i]->triangle, hit->triangle);
    EXPECT_LT((hits[i]->at - hit->at).norm(), 1e-4F);
    EXPECT_LT((hits[i]->normal - hit->normal).norm(), 1e-4F);
  }
  EXPECT_GT(met, 15);
  EXPECT_LT(met, 45);
}

double area(const RayMesh& mesh) {
  double sum = 0;
  for (const auto& t : mesh.triangles) {
    const Vec a = mesh.points[t[1]] - mesh.points[t[0]], b = mesh.points[t[2]] - mesh.points[t[0]];
    sum += 0.5 * static_cast<double>(a.cross(b).norm());
  }
  return sum;
}

// A solid cut by a vertical plane shows the section's area: from a ray through each of many places of the solids, which
// know nothing of sections.
double area_through_solid(const RayMesh& solid, const Vec& from, const Vec& along, float length, float low,
                          float high) {
  const RayScene scene({solid});
  const int n = 400;
  double sum = 0;
  const Vec down(0, 0, -1);
  for (int i = 0; i < n; ++i) {
    Vec at = from + along * (length * (static_cast<float>(i) + 0.5F) / n);
    at.z() = high + 1;
    // In and out, in and out.
    while (const auto in = scene.first_hit(at, down)) {
      const auto out = scene.first_hit(in->at + down * 1e-3F, down);
      if (!out) break;
      sum += static_cast<double>(in->at.z() - out->at.z());
      at = out->at + down * 1e-3F;
      if (at.z() < low) break;
    }
  }
  return sum * static_cast<double>(length) / n;
}

const RayMesh* mesh_of(const Cutaway& model, Part part, std::size_t layer) {
  for (std::size_t i = 0; i < model.meshes.size(); ++i) {
    if (model.pieces[i].part == part && model.pieces[i].layer == layer) return &model.meshes[i];
  }
  return nullptr;
}

TEST(Cutaway, FacesAreAsLargeAsTheSolidsCutThere) {
  for (const char* job : {"fernhollow", "ridgeback"}) {
    const io::SiteResults results = demo_results(job);
    const std::vector<Solid> solids = solids_of(results);
    const Cutaway model = cut_away(results, solids), whole = cut_away(results, solids, {.cut_open = false});
    const std::size_t layers = results.mound().design().layers.size();
    for (std::size_t k = 0; k < layers; ++k) {
      SCOPED_TRACE(results.mound().design().layers[k].name);
      const RayMesh *solid = mesh_of(whole, Part::layer, k), *face = mesh_of(model, Part::layer_face, k);
      ASSERT_TRUE(solid != nullptr && face != nullptr);
      const Cutaway::Quarter quarter = model.quarters[k];
      const auto low_x = static_cast<float>(model.low.x()), high_y = static_cast<float>(model.high.y());
      const double along =
          area_through_solid(*solid, {low_x, quarter.down, 0}, {1, 0, 0}, quarter.along - low_x, -100, 100);
      const double down =
          area_through_solid(*solid, {quarter.along, quarter.down, 0}, {0, 1, 0}, high_y - quarter.down, -100, 100);
      EXPECT_NEAR(area(*face), along + down, 0.02 * (along + down) + 0.2);
    }
  }
}

TEST(Cutaway, TakesOutTheQuarterOfEachLayerAndNothingElse) {
  const io::SiteResults results = demo_results("fernhollow");
  const Cutaway model = cut_away(results, solids_of(results));
  const RayScene scene(model.meshes, [&](auto mesh, const Vec& at) { return is_taken_out(model, mesh, at); });
  const auto part_at = [&](float along, float down) {
    const auto hit = scene.first_hit({along, down, 200}, {0, 0, -1});
    return hit ? model.pieces[hit->mesh] : Cutaway::Piece{Part::block_side, 99};
  };
  const std::size_t top = results.mound().design().layers.size() - 1;
  EXPECT_EQ(part_at(20, 8).part, Part::layer);
  EXPECT_EQ(part_at(20, 8).layer, top);
  EXPECT_EQ(part_at(-20, -8).layer, top);
  EXPECT_EQ(part_at(-20, 8).part, Part::ground) << "the quarter is open down to the ground";
  // Between the quarters of two layers the lower one's top is bare.
  const Cutaway::Quarter stone = model.quarters[1], shell = model.quarters[2];
  const Cutaway::Piece bare = part_at(-20, 0.5F * (stone.down + shell.down));
  EXPECT_EQ(bare.part, Part::layer);
  EXPECT_EQ(bare.layer, 1u);
}

// No more and no less is left of a layer's outside than what lies outside its quarter.
TEST(Cutaway, LeavesTheOutsideOfALayerWhereItIsNotTakenOut) {
  const io::SiteResults results = demo_results("fernhollow");
  const std::vector<Solid> solids = solids_of(results);
  const Cutaway model = cut_away(results, solids), whole = cut_away(results, solids, {.cut_open = false});
  for (std::size_t k = 0; k < results.mound().design().layers.size(); ++k) {
    SCOPED_TRACE(results.mound().design().layers[k].name);
    const RayScene cut({*mesh_of(model, Part::layer, k)}), uncut({*mesh_of(whole, Part::layer, k)});
    int out = 0, left = 0;
    for (float x = static_cast<float>(model.low.x()); x < static_cast<float>(model.high.x()); x += 0.37F) {
      for (float y = static_cast<float>(model.low.y()); y < static_cast<float>(model.high.y()); y += 0.37F) {
        const auto before = uncut.first_hit({x, y, 200}, {0, 0, -1}), after = cut.first_hit({x, y, 200}, {0, 0, -1});
        if (!before) continue;
        const bool taken = model.is_out(k, before->at);
        ++(taken ? out : left);
        ASSERT_EQ(after.has_value(), !taken) << x << ' ' << y;
        ASSERT_NEAR(after ? after->at.z() : before->at.z(), before->at.z(), 1e-4);
      }
    }
    EXPECT_GT(out, 100);
    EXPECT_GT(left, 100);
  }
}

/// A mound along a line given from the middle of an even slope of 5 % to the south.
io::SiteResults mound_along(const Scratch& folder, const std::vector<Point2>& line) {
  folder.put("ground.csv",
             "point,northing,easting,elevation,description\n"
             "1,0,0,90,GR\n2,0,400,90,GR\n3,400,0,110,GR\n4,400,400,110,GR\n");
  std::string places;
  for (const Point2& p : line) places += fmt::format("{{ n = {:.3f}, e = {:.3f} }},", 200 + p.y(), 200 + p.x());
  return io::compute_site(folder.put(
      "mound.toml",
      "[job]\ntitle = \"Bent\"\nunits = \"ft\"\n[ground]\nshots = \"ground.csv\"\n[mound]\ndownslope = 180.0\n"
      "bed = { width = 10.0, line = [" +
          places +
          "] }\nbottom = { least_sand = 1.0 }\n"
          "[[layer]]\nname = \"sand\"\nmaterial = \"clean sand\"\ntop = 0.0\nbeyond = 1.0\nside = 0.0\n"
          "[[layer]]\nname = \"cover\"\nmaterial = \"loam\"\ntop = 1.5\nbeyond = 2.0\nside = 3.0\n"));
}

/// Plan length of the walls of the block that the ground stands on, along their feet.
double length_of_walls(const Cutaway& model) {
  double length = 0;
  for (std::size_t m = 0; m < model.meshes.size(); ++m) {
    if (model.pieces[m].part != Part::block_side) continue;
    const RayMesh& mesh = model.meshes[m];
    for (const auto& t : mesh.triangles) {
      for (std::size_t i = 0; i < 3; ++i) {
        const auto &a = mesh.points[t[i]], &b = mesh.points[t[(i + 1) % 3]];
        const auto is_foot = [&](const auto& p) { return std::abs(p.z() - model.floor) < 1e-3; };
        if (is_foot(a) && is_foot(b)) length += (a - b).norm();
      }
    }
  }
  return length;
}

// The survey's outside crosses the block's front corner: there the wall goes along it.
TEST(Cutaway, HasWallsAllRoundWhereTheSurveyEndsNearTheMound) {
  const Scratch folder;
  mound_along(folder, {{-40, 0}, {40, 0}});
  folder.put("ground.csv",
             "point,northing,easting,elevation,description\n"
             "1,160,0,98,GR\n2,160,245,98,GR\n3,190,275,99.5,GR\n4,400,275,110,GR\n5,400,0,110,GR\n");
  const io::SiteResults results = io::compute_site(folder / "mound.toml");
  const Cutaway model = cut_away(results, solids_of(results));
  Polygon2 block = outline(results.ground()).front();
  for (Point2& p : block) p = model.frame.to_mound(results.ground().to_world(p));
  block = clip_convex(
      block, Polygon2{model.low, {model.high.x(), model.low.y()}, model.high, {model.low.x(), model.high.y()}});
  double round = 0;
  for (std::size_t i = 0; i < block.size(); ++i) round += (block[i] - block[(i + 1) % block.size()]).norm();
  EXPECT_GT(block.size(), 4U);
  EXPECT_NEAR(length_of_walls(model), round, 0.01);
}

/// Of each straight piece of the bed, the share that lies in the outmost layer's quarter.
std::vector<double> shares_taken_out(const io::SiteResults& results, const Cutaway& model) {
  std::vector<double> shares;
  for (const Polygon2& piece : results.mound().compiled->bed_outlines) {
    const Polygon2 box = box_round({piece});
    int out = 0, all = 0;
    for (double u = box[0].x(); u < box[2].x(); u += 0.5) {
      for (double v = box[0].y(); v < box[2].y(); v += 0.5) {
        if (!is_inside(piece, {u, v})) continue;
        const Point2 at = results.ground().to_local(results.mound().to_world({u, v}));
        ++all;
        if (model.is_out(model.quarters.size() - 1, to_model(results, model, {at.x(), at.y(), 100}))) ++out;
      }
    }
    shares.push_back(static_cast<double>(out) / all);
  }
  return shares;
}

// Whichever way the bed turns, some of it is opened and no leg of it is lost.
TEST(Cutaway, OfABedThatTurnsTakesOutPartOfALegOnly) {
  const std::vector<std::vector<Point2>> lines = {{{-40, 0}, {40, 0}},
                                                  {{-45, -12}, {0, 0}, {45, -12}},
                                                  {{-45, 12}, {0, 0}, {45, 12}},
                                                  {{-30, 0}, {30, 0}, {30, -40}},
                                                  {{-30, 0}, {30, 0}, {30, 40}},
                                                  {{-30, -40}, {-30, 0}, {30, 0}},
                                                  {{-30, 40}, {-30, 0}, {30, 0}},
                                                  {{-40, -40}, {0, 0}, {40, -40}},
                                                  {{-40, 40}, {0, 0}, {40, 40}}};
  for (const std::vector<Point2>& line : lines) {
    SCOPED_TRACE(fmt::format("{},{} {},{} ...", line[0].x(), line[0].y(), line[1].x(), line[1].y()));
    const Scratch folder;
    const io::SiteResults results = mound_along(folder, line);
    const Cutaway model = cut_away(results, solids_of(results));
    const std::vector<double> shares = shares_taken_out(results, model);
    EXPECT_LT(*std::max_element(shares.begin(), shares.end()), 0.45);
    EXPECT_GT(*std::max_element(shares.begin(), shares.end()), 0.1);
  }
}

// North is north in the frame that is drawn, also where that is a leg's.
TEST(Cutaway, OfABedThatTurnsKnowsNorth) {
  for (const std::vector<Point2>& line :
       {std::vector<Point2>{{-40, 0}, {40, 0}}, std::vector<Point2>{{-30, 0}, {30, 0}, {30, -40}}}) {
    const Scratch folder;
    const io::SiteResults results = mound_along(folder, line);
    const Cutaway model = cut_away(results, solids_of(results));
    EXPECT_EQ(model.frame.along == results.mound().frame().along, line.size() == 2);
    const Vec here = to_model(results, model, {0, 0, 0});
    for (const Point2& step : {Point2(0, 10), Point2(10, 0)}) {
      const Vec there = to_model(results, model, {step.x(), step.y(), 0});
      EXPECT_LT((there - here - step_in_model(model, step)).norm(), 1e-3F);
    }
  }
}

// Their pictures stay as they are: a straight bed, and one that bends with its contour.
TEST(Cutaway, OfTheDemoJobsIsInTheMoundsOwnFrame) {
  for (const char* job : {"fernhollow", "ridgeback"}) {
    const io::SiteResults results = demo_results(job);
    EXPECT_EQ(frame_to_cut(results.mound()).along, results.mound().frame().along);
    EXPECT_EQ(frame_to_cut(results.mound()).origin, results.mound().frame().origin);
  }
}

TEST(Cutaway, ShowsTheFloorOfAPitInsideTheQuarter) {
  const io::SiteResults results = demo_results("ridgeback");
  const Cutaway model = cut_away(results, solids_of(results));
  const RayScene scene(model.meshes, [&](auto mesh, const Vec& at) { return is_taken_out(model, mesh, at); });
  // Somewhere inside the core's quarter the pit is open, and its floor is at the undercut's elevation.
  const double floor =
      (results.mound().design().prepare.undercut->elevation - results.mound().buildup.bottom_elevation) * model.heights;
  int seen = 0;
  for (float x = static_cast<float>(model.low.x()); x < model.quarters[0].along; x += 0.5F) {
    for (float y = model.quarters[0].down; y < static_cast<float>(model.high.y()); y += 0.5F) {
      const auto hit = scene.first_hit({x, y, 200}, {0, 0, -1});
      if (!hit || model.pieces[hit->mesh].part != Part::prepared || hit->normal.z() < 0.99F) continue;
      EXPECT_NEAR(hit->at.z(), floor, 1e-3);
      ++seen;
    }
  }
  EXPECT_GT(seen, 50);
}

// ---- the picture ---------------------------------------------------------------------------------------------------

struct Bytes {
  const std::string& text;
  std::size_t at = 0;
};

cairo_status_t next(void* from, unsigned char* to, unsigned count) {
  auto& bytes = *static_cast<Bytes*>(from);
  if (bytes.at + count > bytes.text.size()) return CAIRO_STATUS_READ_ERROR;
  std::memcpy(to, bytes.text.data() + bytes.at, count);
  bytes.at += count;
  return CAIRO_STATUS_SUCCESS;
}

struct Pixels {
  int width = 0, height = 0;
  std::vector<std::uint32_t> rgb;  // 0xRRGGBB, rows from the top
};

Pixels pixels_of(const std::string& png) {
  Bytes bytes{png};
  cairo_surface_t* surface = cairo_image_surface_create_from_png_stream(next, &bytes);
  EXPECT_EQ(cairo_surface_status(surface), CAIRO_STATUS_SUCCESS);
  Pixels pixels{cairo_image_surface_get_width(surface), cairo_image_surface_get_height(surface), {}};
  const int stride = cairo_image_surface_get_stride(surface);
  const unsigned char* data = cairo_image_surface_get_data(surface);
  for (int y = 0; y < pixels.height; ++y) {
    for (int x = 0; x < pixels.width; ++x) {
      std::uint32_t pixel;
      std::memcpy(&pixel, data + std::ptrdiff_t{y} * stride + std::ptrdiff_t{4} * x, 4);
      pixels.rgb.push_back(pixel & 0xffffff);
    }
  }
  cairo_surface_destroy(surface);
  return pixels;
}

double part_of(std::uint32_t pixel, int shift) { return (pixel >> shift) & 0xff; }

/// Pixels whose colour is this one in some light: the same parts of red, green and blue. Those of the legend, at the
/// upper right, are left out.
int pixels_like(const std::string& png, const io::Colour& colour) {
  const Pixels pixels = pixels_of(png);
  int count = 0;
  for (int y = 0; y < pixels.height; ++y) {
    for (int x = 0; x < pixels.width; ++x) {
      if (x > pixels.width * 7 / 10 && y < pixels.height / 4) continue;
      const std::uint32_t pixel = pixels.rgb[static_cast<std::size_t>(y) * pixels.width + x];
      const double light = part_of(pixel, 16) / (255 * colour.red);
      if (light < 0.3 || light > 1.2) continue;
      count += std::abs(part_of(pixel, 8) - light * 255 * colour.green) < 4 &&
               std::abs(part_of(pixel, 0) - light * 255 * colour.blue) < 4;
    }
  }
  return count;
}

TEST(MoundPicture, ShowsEveryLayerAndTheGround) {
  for (const char* job : {"fernhollow", "ridgeback"}) {
    const io::SiteResults results = demo_results(job);
    const std::string png = mound_png(results, solids_of(results));
    const std::vector<io::MaterialStyle> styles = io::layer_styles(results.mound().design());
    for (std::size_t k = 0; k < styles.size(); ++k) {
      EXPECT_GT(pixels_like(png, styles[k].fill), 1500) << results.mound().design().layers[k].name;
    }
    EXPECT_GT(pixels_like(png, io::ground_style().fill), 100'000);
    EXPECT_LT(pixels_like(png, {0.2, 0.9, 0.9}), 50) << "a colour that nothing has";
  }
}

TEST(MoundPicture, IsTheOneInTheReadme) {
  const io::SiteResults results = demo_results("fernhollow");
  const Pixels now = pixels_of(mound_png(results, solids_of(results)));
  const Pixels shown = pixels_of(io::read_file(std::string(MOUNDWRIGHT_SURVEYS) + "/fernhollow-mound.png"));
  ASSERT_EQ(now.width, shown.width);
  ASSERT_EQ(now.height, shown.height);
  std::size_t other = 0;
  for (std::size_t i = 0; i < now.rgb.size(); ++i) {
    const auto differs = [&](int shift) {
      return std::abs(part_of(now.rgb[i], shift) - part_of(shown.rgb[i], shift)) > 8;
    };
    other += differs(0) || differs(8) || differs(16);
  }
  // Other releases of the fonts may set a letter a little differently.
  EXPECT_LT(other, now.rgb.size() / 500)
      << "stale: build the demo and copy its mound.png to surveys/fernhollow-mound.png";
}

TEST(MoundPicture, TheSameJobGivesTheSameBytesAndAnotherJobOthers) {
  const io::SiteResults one = demo_results("fernhollow"), other = demo_results("ridgeback");
  const std::string png = mound_png(one, solids_of(one));
  EXPECT_EQ(png, mound_png(one, solids_of(one)));
  EXPECT_NE(png, mound_png(other, solids_of(other)));
}

}  // namespace
}  // namespace moundwright::viewer

// What must not change, or must change in a known way, when a lot and its mound are moved, turned, mirrored, measured
// in another unit, listed in another order, triangulated finer, or raised. Random lots, random mounds: bent beds, round
// corners, crowns, strip, pits and surveys that end too soon among them.
#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>
#include <random>
#include <vector>

#include "geom/buildup.h"
#include "geom/units.h"

namespace moundwright {
namespace {

constexpr double same = 1e-9;  // relative, of fill and of footprint: rounding of coordinates, and no more

/// A lot and the mound on it, in one coordinate system.
struct Job {
  std::vector<Shot> shots;
  MoundDesign design;
};

Buildup built(const Job& job) { return build_up(place_as_drawn(make_ground(job.shots), job.design)); }

// ---- random jobs ----

/// On a grid of 1/1024, so that moving by whole numbers rounds nothing.
double on_grid(double value) { return std::round(value * 1024) / 1024; }

double from(double low, double high) { return low + (high - low) * *rc::gen::inRange(0, 1001) / 1000.0; }

ByFace faces_from(double low, double high) {
  return {from(low, high), from(low, high), from(low, high), from(low, high)};
}

/// Shots in general position: random places on a rough slope, and a ring of them far enough out that the mound is
/// inside. One survey in four has no ring and ends under the berm.
std::vector<Shot> random_shots() {
  std::mt19937_64 random(*rc::gen::arbitrary<std::uint64_t>());
  const auto any = [&](double low, double high) { return std::uniform_real_distribution<double>(low, high)(random); };
  const double fall = from(0, 0.12), turn = from(-0.04, 0.04), noise = from(0, 0.7);
  std::vector<Shot> shots;
  const auto add = [&](double e, double n) {
    const double z = 100 - fall * n + turn * e + any(-noise, noise);
    shots.push_back({"", on_grid(n), on_grid(e), on_grid(z), "", 0});
  };
  const int inner = *rc::gen::inRange(50, 130);
  const bool ends_under_berm = *rc::gen::element(false, false, false, true);
  const double upslope = ends_under_berm ? from(25, 50) : 140, downslope = ends_under_berm ? from(15, 50) : 140;
  for (int i = 0; i < inner; ++i) add(any(-140, 140), any(-upslope, downslope));
  for (int i = 0; i < (ends_under_berm ? 0 : 12); ++i) {
    const double angle = (i + any(0.1, 0.9)) * std::numbers::pi / 6;
    add(260 * std::sin(angle), 260 * std::cos(angle));
  }
  return shots;
}

/// Straight, or bent once either way, or twice. The mound's downslope is north, more or less.
Bed random_bed() {
  const double turn = from(-25, 25) * std::numbers::pi / 180, half = from(16, 28);
  const int bends = *rc::gen::inRange(0, 3);
  std::vector<Eigen::Vector2d> line = {{-half, 0}};
  if (bends > 0) line.emplace_back(0, from(-9, 9));
  line.emplace_back(half, 0);
  if (bends > 1) line.emplace_back(half + 30, from(-12, 12));
  Bed bed;
  bed.width = from(6, 12);
  for (const Eigen::Vector2d& p : line) {
    const Eigen::Vector2d turned = Eigen::Rotation2D<double>(turn) * p;
    bed.line.emplace_back(on_grid(turned.x() + 3), on_grid(turned.y() - 5));
  }
  return bed;
}

/// Everything stands inside the cover, which is outermost.
std::vector<Layer> random_layers() {
  const double stone = from(0.5, 1);
  Layer core{"core", "sand", 0, 0, faces_from(0.5, 1.5), ByFace::all(*rc::gen::element(0.0, 0.5)), false};
  Layer rock{"stone", "stone", stone, 0, ByFace::all(0), ByFace::all(0), false};
  Layer shell{"shell", "sand", stone, 0, faces_from(2, 3), ByFace::all(*rc::gen::element(0.0, 1.0)), false};
  Layer cover{"cover", "loam", stone + from(0.3, 1), 0, faces_from(3, 5), faces_from(2, 4), false};
  cover.crown = *rc::gen::element(0.0, 0.6);
  cover.round_corners = *rc::gen::arbitrary<bool>();
  return {core, rock, shell, cover};
}

Job random_job() {
  Job job;
  job.shots = random_shots();
  MoundDesign& design = job.design;
  design.bed = random_bed();
  design.downslope = 5;
  design.least_sand = from(0.5, 2);
  design.layers = random_layers();
  design.prepare.strip = *rc::gen::element(0.0, 0.5);
  if (*rc::gen::element(false, false, true)) {
    design.prepare.undercut =
        Undercut{on_grid(from(92, 98)), faces_from(0, 1), ByFace::all(*rc::gen::element(0.0, 0.5))};
  }
  RC_PRE(!check_design(design).has_errors());
  return job;
}

/// The same with the bed bottom that the least sand gave.
Job at_fixed_bottom(Job job) {
  job.design.bottom_elevation = bed_bottom(place_as_drawn(make_ground(job.shots), job.design));
  job.design.least_sand.reset();
  return job;
}

// ---- comparing ----

void near(double value, double expected, double tolerance, const char* what) {
  if (std::abs(value - expected) <= tolerance) return;
  RC_LOG() << what << ": " << value << ", expected " << expected << ", differ by " << value - expected << "\n";
  RC_FAIL(what);
}

double toe_area(const Buildup& b) {
  double twice = 0;
  const auto add = [&](const Polygon2& loop) {
    for (std::size_t i = 0; i < loop.size(); ++i) {
      const Point2 p = loop[i] - loop[0], q = loop[(i + 1) % loop.size()] - loop[0];
      twice += p.x() * q.y() - p.y() * q.x();
    }
  };
  for (const Polygon2& loop : b.toe.outer) add(loop);
  for (const Polygon2& loop : b.toe.holes) add(loop);
  return 0.5 * twice;
}

/// Volumes, areas, thicknesses and toe agree; lengths of `b` are those of `a` times `scale`.
void expect_same(const Buildup& a, const Buildup& b, double scale = 1) {
  const double area = scale * scale, volume = area * scale;
  const double fill = a.total_fill() * volume, footprint = a.footprint_area * area;
  RC_ASSERT(a.layers.size() == b.layers.size());
  RC_ASSERT(fill > 0);
  for (std::size_t k = 0; k < a.layers.size(); ++k) {
    near(b.layers[k].volume, a.layers[k].volume * volume, same * fill, "layer volume");
    near(b.layers[k].plan_area, a.layers[k].plan_area * area, same * footprint, "layer area");
    near(b.layers[k].thickness_least, a.layers[k].thickness_least * scale, same, "least thickness");
    near(b.layers[k].thickness_most, a.layers[k].thickness_most * scale, same, "greatest thickness");
  }
  RC_ASSERT(a.cuts.size() == b.cuts.size());
  for (std::size_t k = 0; k < a.cuts.size(); ++k) near(b.cuts[k].volume, a.cuts[k].volume * volume, same * fill, "cut");
  near(b.footprint_area, footprint, same * footprint, "footprint");
  near(b.footprint_perimeter, a.footprint_perimeter * scale, 100 * same * scale, "perimeter");
  near(toe_area(b), toe_area(a) * area, same * footprint, "toe area");
  near(b.specks_area, a.specks_area * area, same * footprint, "specks");
  RC_ASSERT(a.toe.outer.size() == b.toe.outer.size());
  RC_ASSERT(a.toe.holes.size() == b.toe.holes.size());
  near(b.sand_least, a.sand_least * scale, same, "least sand");
  near(b.sand_most, a.sand_most * scale, same, "most sand");
}

void expect_same_berm(const BermLength& a, const BermLength& b, double scale, const char* face) {
  near(b.middle, a.middle * scale, 100 * same, face);
  near(b.least, a.least * scale, 100 * same, face);
  near(b.most, a.most * scale, 100 * same, face);
}

void expect_same_berms(const Buildup& a, const Buildup& b, double scale = 1) {
  expect_same_berm(a.berm.upslope, b.berm.upslope, scale, "berm upslope");
  expect_same_berm(a.berm.downslope, b.berm.downslope, scale, "berm downslope");
  expect_same_berm(a.berm.left, b.berm.left, scale, "berm left");
  expect_same_berm(a.berm.right, b.berm.right, scale, "berm right");
}

/// Every place of a job, shots and bed, through one map of the plan.
Job mapped(Job job, const std::function<Eigen::Vector2d(const Eigen::Vector2d&)>& map) {
  for (Shot& shot : job.shots) {
    const Eigen::Vector2d at = map({shot.easting, shot.northing});
    shot.easting = at.x(), shot.northing = at.y();
  }
  for (Eigen::Vector2d& p : job.design.bed.line) p = map(p);
  return job;
}

// ---- properties ----

RC_GTEST_PROP(BuildupProperty, MovedAndLifted, ()) {
  const Job job = random_job();
  const Eigen::Vector2d shift(*rc::gen::inRange(-2'000'000, 13'000'000), *rc::gen::inRange(-500'000, 5'000'000));
  const double lift = *rc::gen::inRange(-100, 9000);
  Job other = mapped(job, [&](const Eigen::Vector2d& p) { return Eigen::Vector2d(p + shift); });
  for (Shot& shot : other.shots) shot.elevation += lift;
  if (auto& pit = other.design.prepare.undercut) pit->elevation += lift;
  const Buildup a = built(job), b = built(other);
  expect_same(a, b);
  expect_same_berms(a, b);
  near(b.bottom_elevation - lift, a.bottom_elevation, same, "bed bottom");
}

RC_GTEST_PROP(BuildupProperty, Turned, ()) {
  const Job job = random_job();
  const double degrees = from(0, 360);
  const Eigen::Rotation2D<double> clockwise(-degrees * std::numbers::pi / 180);
  Job other = mapped(job, [&](const Eigen::Vector2d& p) { return Eigen::Vector2d(clockwise * p); });
  *other.design.downslope += degrees;
  const Buildup a = built(job), b = built(other);
  expect_same(a, b);
  expect_same_berms(a, b);
}

RC_GTEST_PROP(BuildupProperty, MirroredSwapsTheEnds, ()) {
  const Job job = random_job();
  Job other = mapped(job, [](const Eigen::Vector2d& p) { return Eigen::Vector2d(-p.x(), p.y()); });
  other.design.downslope = 360 - *job.design.downslope;
  const auto swap_ends = [](ByFace& faces) { std::swap(faces.left, faces.right); };
  for (Layer& layer : other.design.layers) swap_ends(layer.beyond), swap_ends(layer.side);
  if (auto& pit = other.design.prepare.undercut) swap_ends(pit->beyond), swap_ends(pit->side);
  const Buildup a = built(job);
  Buildup b = built(other);
  expect_same(a, b);
  std::swap(b.berm.left, b.berm.right);
  expect_same_berms(a, b);
}

RC_GTEST_PROP(BuildupProperty, InMetres, ()) {
  const Job job = random_job();
  const double metres = metres_per(LengthUnit::foot);
  Job other = mapped(job, [&](const Eigen::Vector2d& p) { return Eigen::Vector2d(p * metres); });
  for (Shot& shot : other.shots) shot.elevation *= metres;
  MoundDesign& design = other.design;
  design.bed.width *= metres;
  *design.least_sand *= metres;
  design.prepare.strip *= metres;
  const auto scale = [&](ByFace& faces) {
    for (double* face : {&faces.upslope, &faces.downslope, &faces.left, &faces.right}) *face *= metres;
  };
  for (Layer& layer : design.layers) layer.top *= metres, layer.crown *= metres, scale(layer.beyond);
  if (auto& pit = design.prepare.undercut) pit->elevation *= metres, scale(pit->beyond);
  const Buildup a = built(job), b = built(other);
  expect_same(a, b, metres);
  expect_same_berms(a, b, metres);
}

RC_GTEST_PROP(BuildupProperty, ShotsInAnotherOrder, ()) {
  const Job job = random_job();
  Job other = job;
  std::shuffle(other.shots.begin(), other.shots.end(), std::mt19937_64(*rc::gen::arbitrary<std::uint64_t>()));
  const Buildup a = built(job), b = built(other);
  expect_same(a, b);
  expect_same_berms(a, b);
}

RC_GTEST_PROP(BuildupProperty, BedLineDrawnTheOtherWay, ()) {
  const Job job = random_job();
  Job other = job;
  std::reverse(other.design.bed.line.begin(), other.design.bed.line.end());
  const Buildup a = built(job), b = built(other);
  expect_same(a, b);
  expect_same_berms(a, b);
}

/// Shots more on the triangles' own faces change no surface, if the triangles' edges are kept as breaklines.
RC_GTEST_PROP(BuildupProperty, TriangulatedFinerOnItsOwnFaces, ()) {
  const Job job = random_job();
  const Ground ground = make_ground(job.shots);
  std::mt19937_64 random(*rc::gen::arbitrary<std::uint64_t>());
  std::uniform_real_distribution<double> weight(0.2, 1);
  std::vector<Shot> shots = job.shots;
  std::vector<Breakline> edges;
  for (const auto& triangle : ground.tree.triangles) {
    Eigen::Vector3d sum = Eigen::Vector3d::Zero();
    double total = 0;
    Breakline around;
    for (const std::uint32_t v : triangle) {
      const double w = weight(random);
      const auto shot = static_cast<std::size_t>(ground.shot_of_point[v]);
      sum += w * Eigen::Vector3d(job.shots[shot].easting, job.shots[shot].northing, job.shots[shot].elevation);
      total += w;
      around.push_back(shot);
    }
    around.push_back(around.front());
    edges.push_back(around);
    if (random() % 3 == 0) continue;
    const Eigen::Vector3d at = sum / total;
    shots.push_back({"", at.y(), at.x(), at.z(), "", 0});
  }
  const Ground finer = make_ground(shots, edges);
  RC_ASSERT(finer.triangle_count() > ground.triangle_count());
  const Buildup a = build_up(place_as_drawn(ground, job.design)), b = build_up(place_as_drawn(finer, job.design));
  expect_same(a, b);
  expect_same_berms(a, b);
}

RC_GTEST_PROP(BuildupProperty, ToeEnclosesTheFootprint, ()) {
  const Buildup b = built(random_job());
  near(toe_area(b), b.footprint_area, same * b.footprint_area, "area inside the toe");
  for (const LayerResult& layer : b.layers) RC_ASSERT(layer.plan_area <= b.footprint_area * (1 + same));
}

RC_GTEST_PROP(BuildupProperty, RaisingTheBedNeverLowersTheFill, ()) {
  Job job = at_fixed_bottom(random_job());
  const Ground ground = make_ground(job.shots);
  MoundPlace place = place_as_drawn(ground, job.design);
  BuildupWork work;
  double last_fill = 0, last_footprint = 0;
  for (int step = 0; step < 5; ++step) {
    const Buildup b = build_up(place, work);
    RC_ASSERT(b.total_fill() >= last_fill);
    RC_ASSERT(b.footprint_area >= last_footprint * (1 - same));
    last_fill = b.total_fill(), last_footprint = b.footprint_area;
    *place.placement.bottom_elevation += from(0.01, 0.5);
  }
}

/// Layers fill what is between prepared ground and the outermost of them once: no more and no less than one layer
/// shaped like the outermost would.
RC_GTEST_PROP(BuildupProperty, LayersShareWhatTheOutermostHolds, ()) {
  const Job job = at_fixed_bottom(random_job());
  Job alone = job;
  alone.design.layers = {job.design.layers.back()};
  const Buildup layered = built(job), single = built(alone);
  near(layered.total_fill(), single.total_fill(), same * single.total_fill(), "fill");
  near(layered.total_cut(), single.total_cut(), same * single.total_fill(), "cut");
  near(layered.footprint_area, single.footprint_area, same * single.footprint_area, "footprint");
  for (const LayerResult& layer : layered.layers) RC_ASSERT(layer.volume >= -same * single.total_fill());
}

/// What goes on top later does not change what lies below, as long as nothing is taken off the ground.
RC_GTEST_PROP(BuildupProperty, LaterLayersLeaveEarlierOnesAlone, ()) {
  Job job = at_fixed_bottom(random_job());
  job.design.prepare.strip = 0;
  job.design.prepare.undercut.reset();
  const Buildup all = built(job);
  for (std::size_t count = 1; count < job.design.layers.size(); ++count) {
    Job fewer = job;
    fewer.design.layers.resize(count);
    const Buildup some = built(fewer);
    RC_PRE(some.specks == 0u);  // dropped where it was bare, and filled under the cover
    for (std::size_t k = 0; k < count; ++k) {
      near(some.layers[k].volume, all.layers[k].volume, same * all.total_fill(), "volume");
    }
  }
}

}  // namespace
}  // namespace moundwright

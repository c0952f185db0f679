#include "viewer/cutaway.h"

#include <Eigen/Geometry>
#include <algorithm>

#include "geom/plan.h"
#include "geom/sections.h"

namespace moundwright::viewer {
namespace {

using Vec = Eigen::Vector3f;

struct Builder {
  const io::SiteResults& results;
  Cutaway& model;

  Point2 mound(const Point2& reduced) const { return model.frame.to_mound(results.ground().to_world(reduced)); }
  Point2 reduced(const Point2& uv) const { return results.ground().to_local(model.frame.to_world(uv)); }
  Vec point(const Point2& uv, double elevation) const {
    return {static_cast<float>(uv.x()), static_cast<float>(uv.y()),
            static_cast<float>((elevation - results.mound().buildup.bottom_elevation) * model.heights)};
  }
  Vec point(const Point3& p) const { return point(mound(p.head<2>()), p.z()); }

  void add(RayMesh mesh, Part part, std::size_t layer = 0) const {
    model.meshes.push_back(std::move(mesh));
    model.pieces.push_back({part, layer});
  }
  std::size_t layers() const { return results.mound().design().layers.size(); }
};

void add_quad(RayMesh& mesh, const Vec& a, const Vec& b, const Vec& c, const Vec& d) {
  mesh.add_triangle(a, b, c);
  mesh.add_triangle(a, c, d);
}

MoundFrame frame_of_piece(const MoundPlace& mound, std::size_t piece) {
  const Point2 from = mound.to_world(mound.shape().line[piece]);
  const Point2 to = mound.to_world(mound.shape().line[piece + 1]);
  return {0.5 * (from + to), (to - from).normalized()};
}

/// Of the straight piece of the bed that has the most of itself in the quarter that a frame would take out: how much.
double greatest_share(const MoundPlace& mound, const MoundFrame& frame) {
  double greatest = 0;
  for (Polygon2 piece : mound.compiled->bed_outlines) {
    for (Point2& p : piece) p = frame.to_mound(mound.to_world(p));
    const Polygon2 out = clip_convex(clip_convex(piece, {-1, 0, 0}), {0, 1, 0});
    greatest = std::max(greatest, plan_area(out) / plan_area(piece));
  }
  return greatest;
}

/// Round the toe and every hub, with a little room.
void set_block(const Builder& build) {
  Eigen::AlignedBox<double, 2> box;
  for (const Polygon2& loop : build.results.mound().buildup.toe.outer) {
    for (const Point2& p : loop) box.extend(build.mound(p));
  }
  for (const Stake& stake : build.results.found().stakes.stakes) {
    box.extend(build.model.frame.to_mound({stake.easting, stake.northing}));
  }
  const Point2 room = Point2::Constant(0.03 * box.sizes().maxCoeff());
  build.model.low = box.min() - room, build.model.high = box.max() + room;
}

/// Steps from the innermost layer out: wide enough to be seen, and the outmost still short of the far side.
void set_quarters(const Builder& build) {
  Eigen::AlignedBox<double, 2> toe;
  for (const Polygon2& loop : build.results.mound().buildup.toe.outer) {
    for (const Point2& p : loop) toe.extend(build.mound(p));
  }
  const double along_step = 0.03 * toe.sizes().x();
  const double down_step = 0.16 * build.results.mound().shape().half_width;
  const auto n = static_cast<double>(build.layers());
  for (std::size_t k = 0; k < build.layers(); ++k) {
    const double steps = static_cast<double>(k) - 0.5 * (n - 1);
    build.model.quarters.push_back({static_cast<float>(steps * along_step), static_cast<float>(-steps * down_step)});
  }
}

std::vector<Vec> corners(const Builder& build, const std::vector<Point3>& points,
                         const std::array<std::uint32_t, 3>& triangle) {
  return {build.point(points[triangle[0]]), build.point(points[triangle[1]]), build.point(points[triangle[2]])};
}

/// The part of a flat convex polygon that stands over the positive side of a line in plan.
std::vector<Vec> clipped(const std::vector<Vec>& polygon, const PlanLine& line) {
  const auto value = [&](const Vec& p) { return static_cast<float>(line.at(p.x(), p.y())); };
  return clip_at_zero(polygon, value, [](const Vec& p, const Vec& q, float share) { return Vec(p + (q - p) * share); });
}

void add_polygon(RayMesh& mesh, const std::vector<Vec>& polygon) {
  for (std::size_t i = 1; i + 1 < polygon.size(); ++i) mesh.add_triangle(polygon[0], polygon[i], polygon[i + 1]);
}

/// A polygon in up to three parts: two that stay where a quarter is taken out, and the one in it.
struct Quartered {
  std::array<std::vector<Vec>, 2> stays;
  std::vector<Vec> out;
};
Quartered quartered(const std::vector<Vec>& polygon, const Cutaway::Quarter& quarter) {
  const double along = quarter.along, down = quarter.down;
  const std::vector<Vec> before = clipped(polygon, {-1, 0, along});
  return {{clipped(polygon, {1, 0, -along}), clipped(before, {0, -1, down})}, clipped(before, {0, 1, -down})};
}

// ---- ground ------------------------------------------------------------------------------------------------------

std::vector<Vec> on_block(std::vector<Vec> polygon, const Cutaway& model) {
  const Point2 &low = model.low, &high = model.high;
  for (const PlanLine& side : {PlanLine{1, 0, -low.x()}, {-1, 0, high.x()}, {0, 1, -low.y()}, {0, -1, high.y()}}) {
    polygon = clipped(polygon, side);
  }
  return polygon;
}

/// Apart from the rest of it: what may be open since something is cut there and the quarter taken out.
void add_ground(const Builder& build) {
  RayMesh mesh, over_cuts;
  const Ground& ground = build.results.ground();
  const bool opens = !build.results.mound().buildup.cuts.empty() && !build.model.quarters.empty();
  for (const auto& t : ground.tree.triangles) {
    const std::vector<Vec> polygon = on_block(corners(build, ground.points, {t[0], t[1], t[2]}), build.model);
    if (!opens) {
      add_polygon(mesh, polygon);
      continue;
    }
    const Quartered parts = quartered(polygon, build.model.quarters.back());
    for (const std::vector<Vec>& part : parts.stays) add_polygon(mesh, part);
    add_polygon(over_cuts, parts.out);
  }
  double lowest = 0;
  for (const RayMesh* part : {&mesh, &over_cuts}) {
    for (const Vec& p : part->points) lowest = std::min(lowest, static_cast<double>(p.z()));
  }
  build.model.floor = lowest - 0.05 * (build.model.high - build.model.low).norm();
  build.add(std::move(mesh), Part::ground);
  if (over_cuts.triangles.empty()) return;
  over_cuts.may_be_ignored = true;
  build.add(std::move(over_cuts), Part::ground);
}

void add_side(const Builder& build, const Point2& from, const Point2& to, RayMesh& mesh) {
  const Section section = cut_section(build.results.mound(), build.reduced(from), build.reduced(to));
  const Point2 along = (to - from).normalized();
  const auto floor = static_cast<float>(build.model.floor);
  for (std::size_t i = 0; i + 1 < section.columns.size(); i += 2) {
    const SectionColumn &a = section.columns[i], &b = section.columns[i + 1];
    const Vec top_a = build.point(from + along * a.distance, a.existing);
    const Vec top_b = build.point(from + along * b.distance, b.existing);
    add_quad(mesh, {top_a.x(), top_a.y(), floor}, {top_b.x(), top_b.y(), floor}, top_b, top_a);
  }
}

/// Where the survey ends short of the block's edge.
void add_survey_edge(const Builder& build, RayMesh& mesh) {
  const auto floor = static_cast<float>(build.model.floor);
  const Ground& ground = build.results.ground();
  for (const Polygon2& ring : outline(ground)) {
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const auto top = [&](const Point2& p) {
        return build.point(build.mound(p),
                           elevation_at(ground, p).value_or(build.results.mound().buildup.bottom_elevation));
      };
      const Vec a = top(ring[i]), b = top(ring[(i + 1) % ring.size()]);
      add_polygon(mesh, on_block({{a.x(), a.y(), floor}, {b.x(), b.y(), floor}, b, a}, build.model));
    }
  }
}

void add_block_sides(const Builder& build) {
  RayMesh mesh;
  const Point2 &low = build.model.low, &high = build.model.high;
  const Point2 corner[4] = {low, {high.x(), low.y()}, high, {low.x(), high.y()}};
  for (std::size_t i = 0; i < 4; ++i) add_side(build, corner[i], corner[(i + 1) % 4], mesh);
  add_survey_edge(build, mesh);
  build.add(std::move(mesh), Part::block_side);
}

// ---- mound -------------------------------------------------------------------------------------------------------

void add_layers(const Builder& build, const std::vector<Solid>& solids) {
  for (std::size_t k = 0; k < build.layers(); ++k) {
    RayMesh mesh;
    for (const auto& t : solids[k].triangles) {
      const std::vector<Vec> triangle = corners(build, solids[k].points, t);
      if (build.model.quarters.empty()) {
        add_polygon(mesh, triangle);
      } else {
        for (const std::vector<Vec>& part : quartered(triangle, build.model.quarters[k]).stays) add_polygon(mesh, part);
      }
    }
    mesh.shows_outside_only = true;
    build.add(std::move(mesh), Part::layer, k);
  }
}

/// A cut's top is ground as it was and opens inside the quarter; the rest of it is prepared ground.
void add_cuts(const Builder& build, const std::vector<Solid>& solids) {
  RayMesh lids, prepared;
  for (std::size_t k = build.layers(); k < solids.size(); ++k) {
    for (const auto& t : solids[k].triangles) {
      const std::vector<Vec> triangle = corners(build, solids[k].points, t);
      const float up = (triangle[1] - triangle[0]).cross(triangle[2] - triangle[0]).z();
      add_polygon(up > 1e-9F ? lids : prepared, triangle);
    }
  }
  if (lids.triangles.empty()) return;
  build.model.cut_lids = std::make_shared<RayScene>(std::vector<RayMesh>{std::move(lids)});
  build.add(std::move(prepared), Part::prepared);
}

void add_face(const Builder& build, std::size_t k, const Point2& from, const Point2& to, RayMesh& mesh) {
  const Section section = cut_section(build.results.mound(), build.reduced(from), build.reduced(to));
  const Point2 along = (to - from).normalized();
  for (std::size_t i = 0; i + 1 < section.columns.size(); i += 2) {
    const SectionColumn &a = section.columns[i], &b = section.columns[i + 1];
    const double low_a = a.surfaces[k], low_b = b.surfaces[k], high_a = a.surfaces[k + 1], high_b = b.surfaces[k + 1];
    if (high_a - low_a <= 0 && high_b - low_b <= 0) continue;
    const Point2 at_a = from + along * a.distance, at_b = from + along * b.distance;
    add_quad(mesh, build.point(at_a, low_a), build.point(at_b, low_b), build.point(at_b, high_b),
             build.point(at_a, high_a));
  }
}

void add_faces(const Builder& build) {
  for (std::size_t k = 0; k < build.layers(); ++k) {
    const Cutaway::Quarter& quarter = build.model.quarters[k];
    const Point2 corner(quarter.along, quarter.down);
    RayMesh mesh;
    add_face(build, k, {build.model.low.x(), corner.y()}, corner, mesh);
    add_face(build, k, corner, {corner.x(), build.model.high.y()}, mesh);
    build.add(std::move(mesh), Part::layer_face, k);
  }
}

}  // namespace

MoundFrame frame_to_cut(const MoundPlace& mound) {
  const auto off = [&](const MoundFrame& frame) { return std::abs(greatest_share(mound, frame) - 0.25); };
  constexpr double near_enough = 0.1;  // a bed that bends with its contour is seen as one
  MoundFrame best = mound.frame();
  double least = off(best);
  if (least < near_enough) return best;
  for (std::size_t i = 0; i + 1 < mound.shape().line.size(); ++i) {
    const MoundFrame frame = frame_of_piece(mound, i);
    if (off(frame) < least) best = frame, least = off(frame);
  }
  return best;
}

Cutaway cut_away(const io::SiteResults& results, const std::vector<Solid>& solids, const CutawayOptions& options) {
  Cutaway model;
  model.frame = frame_to_cut(results.mound());
  model.heights = options.heights;
  const Builder build{results, model};
  set_block(build);
  if (options.cut_open) set_quarters(build);
  add_ground(build);
  add_block_sides(build);
  add_layers(build, solids);
  if (!options.cut_open) return model;
  add_cuts(build, solids);
  add_faces(build);
  return model;
}

bool is_taken_out(const Cutaway& model, std::uint32_t mesh, const Eigen::Vector3f& at) {
  if (model.pieces[mesh].part != Part::ground || !model.cut_lids || !model.is_out(model.quarters.size() - 1, at))
    return false;
  // From far above, straight down: does it meet the lid of a cut?
  return !model.cut_lids->is_open(at + Vec(0, 0, 1e4F), Vec(0, 0, -1));
}

Eigen::Vector3f to_model(const io::SiteResults& results, const Cutaway& model, const Point3& reduced) {
  Cutaway empty;
  empty.frame = model.frame, empty.heights = model.heights;
  return Builder{results, empty}.point(reduced);
}

Eigen::Vector3f step_in_model(const Cutaway& model, const Point2& step) {
  const Point2 uv = model.frame.to_mound(model.frame.origin + step);
  return {static_cast<float>(uv.x()), static_cast<float>(uv.y()), 0};
}

}  // namespace moundwright::viewer

#include "tests/support/solid_meshes.h"

#include <CGAL/Convex_hull_3/dual/halfspace_intersection_3.h>
#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/Surface_mesh.h>
#include <CGAL/convex_hull_2.h>
#include <CGAL/convex_hull_3.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <numbers>
#include <stdexcept>
#include <utility>

namespace moundwright::test_support {
namespace {

using Exact = CGAL::Exact_predicates_exact_constructions_kernel;
using ExactMesh = CGAL::Surface_mesh<Exact::Point_3>;
using Eigen::Vector2d;
using Eigen::Vector3d;
using Edge = std::pair<std::uint32_t, std::uint32_t>;
using Triangles = std::vector<std::array<std::uint32_t, 3>>;

/// Edges that one triangle alone has, as that triangle runs them: the surface lies to their left.
std::vector<Edge> outside_edges(const Triangles& triangles) {
  std::map<Edge, int> seen;
  for (const auto& t : triangles)
    for (int i = 0; i < 3; ++i) ++seen[{t[i], t[(i + 1) % 3]}];
  std::vector<Edge> outside;
  for (const auto& [edge, count] : seen)
    if (!seen.contains({edge.second, edge.first})) outside.push_back(edge);
  return outside;
}

double turn(const Vector2d& a, const Vector2d& b, const Vector2d& c) {
  return (b.x() - a.x()) * (c.y() - a.y()) - (c.x() - a.x()) * (b.y() - a.y());
}

/// A flat base under the outside edges: a fan about the middle where the middle sees every edge, which leaves the
/// block hardly bigger than its top; the top's own triangles turned over where it does not.
void add_base(SolidMesh& block, const Triangles& top, const std::vector<Edge>& outside, double base) {
  const auto below = static_cast<std::uint32_t>(block.points.size() / 2);
  Vector2d middle = Vector2d::Zero();
  for (const auto& [a, b] : outside) middle += block.points[a].head<2>() / static_cast<double>(outside.size());
  const bool sees_all = std::all_of(outside.begin(), outside.end(), [&](const Edge& edge) {
    return turn(middle, block.points[edge.first].head<2>(), block.points[edge.second].head<2>()) > 0;
  });
  if (!sees_all) {
    for (const auto& t : top) block.triangles.push_back({below + t[0], below + t[2], below + t[1]});
    return;
  }
  const auto center = static_cast<std::uint32_t>(block.points.size());
  block.points.emplace_back(middle.x(), middle.y(), base);
  for (const auto& [a, b] : outside) block.triangles.push_back({center, below + b, below + a});
}

/// Leaves out points that no triangle uses.
SolidMesh compacted(const SolidMesh& mesh) {
  SolidMesh result;
  std::vector<std::int64_t> place(mesh.points.size(), -1);
  for (auto triangle : mesh.triangles) {
    for (std::uint32_t& corner : triangle) {
      if (place[corner] < 0) {
        place[corner] = static_cast<std::int64_t>(result.points.size());
        result.points.push_back(mesh.points[corner]);
      }
      corner = static_cast<std::uint32_t>(place[corner]);
    }
    result.triangles.push_back(triangle);
  }
  return result;
}

Vector3d rounded(const Exact::Point_3& p) {
  const auto value = [](const Exact::FT& v) { return CGAL::to_double(CGAL::exact(v)); };
  return {value(p.x()), value(p.y()), value(p.z())};
}

Exact::Point_3 exactly(const Vector3d& p) { return {p.x(), p.y(), p.z()}; }

SolidMesh rounded(const ExactMesh& mesh) {
  SolidMesh result;
  for (const auto v : mesh.vertices()) result.points.push_back(rounded(mesh.point(v)));
  for (const auto f : mesh.faces()) {
    std::array<std::uint32_t, 3> triangle{};
    int i = 0;
    for (const auto v : mesh.vertices_around_face(mesh.halfedge(f))) triangle[i++] = v;
    result.triangles.push_back(triangle);
  }
  return result;
}

/// Half-spaces of a box far outside every lot: a body that reaches it has no end of its own.
constexpr double far_out = 1e9;
std::vector<Exact::Plane_3> far_box() {
  return {{1, 0, 0, -far_out},  {-1, 0, 0, -far_out}, {0, 1, 0, -far_out},
          {0, -1, 0, -far_out}, {0, 0, 1, -far_out},  {0, 0, -1, -far_out}};
}

/// A straight bed's own axes and the size of a flat top over it.
struct BedFrame {
  Vector2d center, across, right;  // across: downslope; right: as seen looking downslope
  double half_length = 0, half_width = 0;
};

BedFrame frame_of(const MoundDesign& design, const Vector2d& origin) {
  if (design.bed.line.size() != 2) throw std::invalid_argument("only a straight bed can be made into half-spaces here");
  if (!design.downslope) throw std::invalid_argument("the design must say which way is downslope");
  const Vector2d from = design.bed.line[0] - origin, to = design.bed.line[1] - origin;
  const double azimuth = *design.downslope * std::numbers::pi / 180;
  const Vector2d fall(std::sin(azimuth), std::cos(azimuth));
  const Vector2d along = (to - from).normalized();
  BedFrame frame;
  frame.center = (from + to) / 2;
  frame.across = Vector2d(-along.y(), along.x());
  if (frame.across.dot(fall) < 0) frame.across = -frame.across;
  frame.right = Vector2d(frame.across.y(), -frame.across.x());
  frame.half_length = (to - from).norm() / 2;
  frame.half_width = design.bed.width / 2;
  return frame;
}

/// One face of a shape: its outward direction in plan, how far out from the bed's centre its flat part ends, and the
/// run to 1 of rise beyond that.
struct Face {
  Vector2d out;
  double reach = 0;
  double run = 0;
};

struct Faces {
  Face upslope, downslope, left, right;
};

Faces faces_of(const BedFrame& frame, const ByFace& beyond, const ByFace& side) {
  return {{-frame.across, frame.half_width + beyond.upslope, side.upslope},
          {frame.across, frame.half_width + beyond.downslope, side.downslope},
          {-frame.right, frame.half_length + beyond.left, side.left},
          {frame.right, frame.half_length + beyond.right, side.right}};
}

/// n . (p - center) - reach + run (z - height) <= 0: at `height` the face stands at its reach.
HalfSpace falling(const BedFrame& frame, const Face& face, double height) {
  return {face.out.x(), face.out.y(), face.run, -face.out.dot(frame.center) - face.reach - face.run * height};
}

HalfSpace not_below(double z) { return {0, 0, -1, z}; }
HalfSpace not_above(double z) { return {0, 0, 1, -z}; }

void add_top(std::vector<HalfSpace>& result, const BedFrame& frame, const Faces& faces, double top, double crown) {
  if (crown <= 0) {
    result.push_back(not_above(top));
    return;
  }
  // From `top` at a long edge up to `top + crown` half a flat top's width further in: run = -half width / crown.
  const double half_top = (faces.upslope.reach + faces.downslope.reach) / 2;
  for (const Face& long_face : {faces.upslope, faces.downslope}) {
    const double rise = crown / half_top;
    const Vector2d in = rise * long_face.out;
    result.push_back({in.x(), in.y(), 1, -in.dot(frame.center) - rise * long_face.reach - top});
  }
}

/// Seven planes equally turned from the end's direction to the long face's, tangent to the elliptical cone whose apex
/// stands at height `top` where the long edge meets the end's plane.
void add_round_corner(std::vector<HalfSpace>& result, const BedFrame& frame, const Face& end, const Face& long_face,
                      double top, double crown) {
  const Vector2d apex = frame.center + (end.reach + crown * end.run) * end.out + long_face.reach * long_face.out;
  for (int i = 1; i <= 7; ++i) {
    const double turned = i * std::numbers::pi / 16;
    const Vector2d out = std::cos(turned) * end.out + std::sin(turned) * long_face.out;
    const double run = std::hypot(end.run * std::cos(turned), long_face.run * std::sin(turned));
    result.push_back({out.x(), out.y(), run, -out.dot(apex) - run * top});
  }
}

/// Half-spaces just inside the convex hull of the ground in plan. Just inside, so that no wall of a layer lies in a
/// skirt of the block; nothing is lost where the mound meets ground well inside the survey.
std::vector<HalfSpace> survey_half_spaces(const Ground& ground) {
  using Plan = CGAL::Exact_predicates_exact_constructions_kernel::Point_2;
  std::vector<Plan> points, hull;
  for (const Point3& p : ground.points) points.emplace_back(p.x(), p.y());
  CGAL::convex_hull_2(points.begin(), points.end(), std::back_inserter(hull));
  std::vector<HalfSpace> result;
  for (std::size_t i = 0; i < hull.size(); ++i) {
    const auto plan = [](const Plan& p) { return Vector2d(CGAL::to_double(p.x()), CGAL::to_double(p.y())); };
    const Vector2d a = plan(hull[i]), b = plan(hull[(i + 1) % hull.size()]);
    const Vector2d out = Vector2d(b.y() - a.y(), a.x() - b.x()).normalized();
    constexpr double inside = 1e-3;
    result.push_back({out.x(), out.y(), 0, -out.dot(a) + inside});
  }
  return result;
}

double lowest(const Ground& ground) {
  const auto below = [](const Point3& a, const Point3& b) { return a.z() < b.z(); };
  return std::min_element(ground.points.begin(), ground.points.end(), below)->z();
}

double highest(const Ground& ground) {
  const auto below = [](const Point3& a, const Point3& b) { return a.z() < b.z(); };
  return std::max_element(ground.points.begin(), ground.points.end(), below)->z();
}

nlohmann::json to_json(const SolidMesh& mesh) {
  nlohmann::json points = nlohmann::json::array(), triangles = nlohmann::json::array();
  for (const Vector3d& p : mesh.points)
    for (int i = 0; i < 3; ++i) points.push_back(p[i]);
  for (const auto& t : mesh.triangles)
    for (const std::uint32_t corner : t) triangles.push_back(corner);
  return {{"points", points}, {"triangles", triangles}};
}

nlohmann::json to_json(const std::vector<SolidMesh>& meshes) {
  nlohmann::json result = nlohmann::json::array();
  for (const SolidMesh& mesh : meshes) result.push_back(to_json(mesh));
  return result;
}

}  // namespace

SolidMesh ground_block(const std::vector<Vector3d>& points, const Triangles& triangles, double base) {
  SolidMesh block{points, triangles};
  for (const Vector3d& p : points) {
    if (p.z() <= base) throw std::invalid_argument("the base of the ground block is not below all of the ground");
    block.points.emplace_back(p.x(), p.y(), base);
  }
  const auto below = static_cast<std::uint32_t>(points.size());
  const std::vector<Edge> outside = outside_edges(triangles);
  for (const auto& [a, b] : outside) {
    block.triangles.push_back({b, a, below + a});
    block.triangles.push_back({b, below + a, below + b});
  }
  add_base(block, triangles, outside, base);
  return compacted(block);
}

SolidMesh ground_block(const Ground& ground, double base) {
  return ground_block(ground.points, ground.tree.triangles, base);
}

SolidMesh convex_solid(const std::vector<HalfSpace>& half_spaces) {
  std::vector<Exact::Plane_3> planes = far_box();
  for (const HalfSpace& h : half_spaces) planes.emplace_back(h.a, h.b, h.c, h.d);
  const auto interior = CGAL::halfspace_intersection_interior_point_3(planes.begin(), planes.end());
  if (!interior) throw std::invalid_argument("the half-spaces have no volume in common");
  ExactMesh corners;
  CGAL::halfspace_intersection_3(planes.begin(), planes.end(), corners, interior);
  std::vector<Exact::Point_3> points;
  for (const auto v : corners.vertices()) points.push_back(corners.point(v));
  for (const Exact::Point_3& p : points)
    for (int i = 0; i < 3; ++i)
      if (CGAL::abs(p[i]) >= far_out) throw std::invalid_argument("the half-spaces bound no finite body");
  // Rounded before the hull is taken, so that the body stays convex: faces of many corners are no longer quite flat.
  for (Exact::Point_3& p : points) p = exactly(rounded(p));
  // The hull of the corners merges corners that several triples of planes share, and cuts every face into triangles.
  ExactMesh hull;
  CGAL::convex_hull_3(points.begin(), points.end(), hull);
  return rounded(hull);
}

std::vector<HalfSpace> layer_half_spaces(const MoundDesign& design, const Layer& layer, double bed_bottom, double base,
                                         const Vector2d& origin) {
  const BedFrame frame = frame_of(design, origin);
  const Faces faces = faces_of(frame, layer.beyond, layer.side);
  const double top = bed_bottom + layer.top;
  std::vector<HalfSpace> result{not_below(base)};
  add_top(result, frame, faces, top, layer.crown);
  for (const Face& long_face : {faces.upslope, faces.downslope}) result.push_back(falling(frame, long_face, top));
  for (const Face& end : {faces.left, faces.right}) result.push_back(falling(frame, end, top + layer.crown));
  if (layer.round_corners) {
    for (const Face& end : {faces.left, faces.right})
      for (const Face& long_face : {faces.upslope, faces.downslope})
        add_round_corner(result, frame, end, long_face, top, layer.crown);
  }
  return result;
}

std::vector<HalfSpace> pit_half_spaces(const MoundDesign& design, const Undercut& pit, double lid,
                                       const Vector2d& origin) {
  const BedFrame frame = frame_of(design, origin);
  const Faces faces = faces_of(frame, pit.beyond, pit.side);
  std::vector<HalfSpace> result{not_below(pit.elevation), not_above(lid)};
  for (Face face : {faces.upslope, faces.downslope, faces.left, faces.right}) {
    face.run = -face.run;  // a pit opens upward
    result.push_back(falling(frame, face, pit.elevation));
  }
  return result;
}

BooleanScene boolean_scene(const Ground& ground, const MoundDesign& design, double bed_bottom) {
  const std::optional<Undercut>& pit = design.prepare.undercut;
  BooleanScene scene;
  scene.strip = design.prepare.strip;
  const double low = std::min(lowest(ground) - scene.strip, pit ? pit->elevation : lowest(ground));
  const double layer_base = low - 1;
  scene.ground = ground_block(ground, layer_base - 1);
  if (pit) scene.pits.push_back(convex_solid(pit_half_spaces(design, *pit, highest(ground) + 1, ground.origin)));
  const std::vector<HalfSpace> survey = survey_half_spaces(ground);
  for (const Layer& layer : design.layers) {
    std::vector<HalfSpace> body = layer_half_spaces(design, layer, bed_bottom, layer_base, ground.origin);
    body.insert(body.end(), survey.begin(), survey.end());
    scene.layers.push_back({layer.name, {convex_solid(body)}});
  }
  return scene;
}

double volume(const SolidMesh& mesh) {
  double sum = 0;
  const Vector3d& from = mesh.points[mesh.triangles.front()[0]];
  for (const auto& t : mesh.triangles) {
    const Vector3d a = mesh.points[t[0]] - from, b = mesh.points[t[1]] - from, c = mesh.points[t[2]] - from;
    sum += a.dot(b.cross(c)) / 6;
  }
  return sum;
}

void write_scene_json(const std::filesystem::path& path, const BooleanScene& scene) {
  nlohmann::json layers = nlohmann::json::array();
  for (const LayerSolid& layer : scene.layers)
    layers.push_back({{"name", layer.name}, {"pieces", to_json(layer.pieces)}});
  std::ofstream file(path);
  file << nlohmann::json{
      {"strip", scene.strip}, {"ground", to_json(scene.ground)}, {"pits", to_json(scene.pits)}, {"layers", layers}};
  if (!file.flush()) throw std::runtime_error("cannot write " + path.string());
}

}  // namespace moundwright::test_support

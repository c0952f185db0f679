#include "tests/support/cgal_booleans.h"

#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/corefinement.h>
#include <CGAL/Surface_mesh.h>

#include <algorithm>
#include <map>
#include <stdexcept>
#include <string>

namespace moundwright::test_support {
namespace {

namespace Pmp = CGAL::Polygon_mesh_processing;
using Exact = CGAL::Exact_predicates_exact_constructions_kernel;
using Mesh = CGAL::Surface_mesh<Exact::Point_3>;
using Vertex = Mesh::Vertex_index;

Mesh to_exact(const SolidMesh& solid, double lowered, const std::string& name) {
  Mesh mesh;
  for (const Eigen::Vector3d& p : solid.points)
    mesh.add_vertex(Exact::Point_3(p.x(), p.y(), Exact::FT(p.z()) - Exact::FT(lowered)));
  for (const auto& t : solid.triangles) {
    if (mesh.add_face(Vertex(t[0]), Vertex(t[1]), Vertex(t[2])) == Mesh::null_face())
      throw std::runtime_error(name + ": triangles do not join into a surface");
  }
  if (!CGAL::is_closed(mesh) || !Pmp::does_bound_a_volume(mesh))
    throw std::runtime_error(name + ": not the closed surface of a body");
  return mesh;
}

/// What the library calls; each changes its two arguments and gives false where the result is no proper surface.
Mesh difference(Mesh a, Mesh b, const std::string& step) {
  Mesh result;
  if (!Pmp::corefine_and_compute_difference(a, b, result)) throw std::runtime_error(step + ": difference failed");
  return result;
}

Mesh intersection(Mesh a, Mesh b, const std::string& step) {
  Mesh result;
  if (!Pmp::corefine_and_compute_intersection(a, b, result)) throw std::runtime_error(step + ": intersection failed");
  return result;
}

void unite(Mesh& into, Mesh piece, const std::string& step) {
  if (into.is_empty()) {
    into = std::move(piece);
    return;
  }
  Mesh result;
  if (!Pmp::corefine_and_compute_union(into, piece, result)) throw std::runtime_error(step + ": union failed");
  result.collect_garbage();
  into = std::move(result);
}

Eigen::Vector3d rounded(const Exact::Point_3& p) {
  const auto value = [](const Exact::FT& v) { return CGAL::to_double(CGAL::exact(v)); };
  return {value(p.x()), value(p.y()), value(p.z())};
}

/// Corners rounded to double once each; summing exactly would carry fractions of thousands of digits.
double volume(const Mesh& mesh) {
  if (mesh.is_empty()) return 0;
  SolidMesh solid;
  solid.points.resize(mesh.num_vertices());
  for (const Vertex v : mesh.vertices()) solid.points[v] = rounded(mesh.point(v));
  for (const auto f : mesh.faces()) {
    const auto h = mesh.halfedge(f);
    solid.triangles.push_back({mesh.source(h), mesh.target(h), mesh.target(mesh.next(h))});
  }
  return test_support::volume(solid);
}

bool faces_down(const Mesh& mesh, Mesh::Face_index f) {
  const auto h = mesh.halfedge(f);
  const Exact::Point_3 &a = mesh.point(mesh.source(h)), &b = mesh.point(mesh.target(h)),
                       &c = mesh.point(mesh.target(mesh.next(h)));
  return CGAL::orientation(Exact::Point_2(a.x(), a.y()), Exact::Point_2(b.x(), b.y()), Exact::Point_2(c.x(), c.y())) ==
         CGAL::RIGHT_TURN;
}

/// The upright prism over the undersides of a fill body, from `low` to `high`: everything above or below the
/// footprint, its toe carried over exactly.
Mesh prism_over_undersides(const Mesh& fill, const Exact::FT& low, const Exact::FT& high) {
  Mesh prism;
  std::map<Vertex, std::pair<Vertex, Vertex>> ends;
  const auto end_pair = [&](Vertex v) {
    const auto [place, is_new] = ends.try_emplace(v);
    if (is_new) {
      const Exact::Point_3& p = fill.point(v);
      place->second = {prism.add_vertex({p.x(), p.y(), low}), prism.add_vertex({p.x(), p.y(), high})};
    }
    return place->second;
  };
  for (const auto f : fill.faces()) {
    if (!faces_down(fill, f)) continue;
    for (const auto h : fill.halfedges_around_face(fill.halfedge(f))) {
      const auto [low_a, high_a] = end_pair(fill.source(h));
      const auto [low_b, high_b] = end_pair(fill.target(h));
      const auto other = fill.face(fill.opposite(h));
      if (other.is_valid() && faces_down(fill, other)) continue;
      prism.add_face(low_b, low_a, high_a);
      prism.add_face(low_b, high_a, high_b);
    }
    const auto h = fill.halfedge(f);
    const auto a = end_pair(fill.source(h)), b = end_pair(fill.target(h)), c = end_pair(fill.target(fill.next(h)));
    prism.add_face(a.first, b.first, c.first);
    prism.add_face(a.second, c.second, b.second);
  }
  if (!CGAL::is_closed(prism)) throw std::runtime_error("footprint: its outline touches itself at a point");
  return prism;
}

std::pair<Exact::FT, Exact::FT> heights(const Mesh& mesh) {
  Exact::FT low = mesh.point(*mesh.vertices().begin()).z(), high = low;
  for (const Vertex v : mesh.vertices()) {
    low = std::min(low, mesh.point(v).z());
    high = std::max(high, mesh.point(v).z());
  }
  return {low, high};
}

/// The union of the first k layers, for every k.
std::vector<Mesh> growing_unions(const std::vector<LayerSolid>& layers) {
  std::vector<Mesh> result;
  for (const LayerSolid& layer : layers) {
    Mesh grown = result.empty() ? Mesh() : result.back();
    for (const SolidMesh& piece : layer.pieces) unite(grown, to_exact(piece, 0, "layer " + layer.name), layer.name);
    result.push_back(std::move(grown));
  }
  return result;
}

Mesh without_pits(Mesh ground, const BooleanScene& scene) {
  for (const SolidMesh& pit : scene.pits) {
    ground = difference(std::move(ground), to_exact(pit, 0, "pit"), "pit");
    ground.collect_garbage();
  }
  return ground;
}

/// The upright prism over the plan where a union of all layers stands above existing ground.
Mesh footprint_of(const Mesh& layers, const BooleanScene& scene) {
  const Mesh fill = difference(layers, to_exact(scene.ground, 0, "ground"), "footprint");
  if (fill.is_empty()) throw std::runtime_error("footprint: no layer stands above the ground");
  const auto [low, high] = heights(layers);
  return prism_over_undersides(fill, low - 1, high + 1);
}

/// What of a body lies inside the footprint, so that nothing is counted where only the strip would have made room.
Mesh inside(Mesh body, const Mesh& footprint) {
  body = intersection(std::move(body), footprint, "footprint");
  body.collect_garbage();
  return body;
}

}  // namespace

std::vector<double> layer_volumes(const BooleanScene& scene) {
  std::vector<Mesh> unions = growing_unions(scene.layers);
  if (scene.strip != 0 || !scene.pits.empty()) {
    const Mesh footprint = footprint_of(unions.back(), scene);
    for (Mesh& grown : unions) grown = inside(std::move(grown), footprint);
  }
  const Mesh prepared = without_pits(to_exact(scene.ground, scene.strip, "ground"), scene);
  std::vector<double> result;
  double below = 0;
  for (std::size_t k = 0; k < unions.size(); ++k) {
    const double up_to = volume(difference(std::move(unions[k]), prepared, scene.layers[k].name));
    result.push_back(up_to - below);
    below = up_to;
  }
  return result;
}

CutVolumes cut_volumes(const BooleanScene& scene) {
  const Mesh footprint = footprint_of(growing_unions(scene.layers).back(), scene);
  const Mesh existing = inside(to_exact(scene.ground, 0, "ground"), footprint),
             stripped = inside(to_exact(scene.ground, scene.strip, "ground"), footprint);
  return {volume(existing) - volume(stripped), volume(stripped) - volume(without_pits(stripped, scene))};
}

}  // namespace moundwright::test_support

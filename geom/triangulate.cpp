#include "geom/triangulate.h"

#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Delaunay_triangulation_2.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Triangulation_face_base_with_info_2.h>
#include <CGAL/Triangulation_vertex_base_with_info_2.h>

#include <algorithm>
#include <bit>
#include <numeric>

#include "geom/problem.h"

namespace moundwright {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using VertexBase = CGAL::Triangulation_vertex_base_with_info_2<std::uint32_t, Kernel>;  // index of its point
using FaceBase = CGAL::Triangulation_face_base_with_info_2<std::int32_t, Kernel>;       // index of its triangle
using Delaunay = CGAL::Delaunay_triangulation_2<Kernel, CGAL::Triangulation_data_structure_2<VertexBase, FaceBase>>;
using KeptFaceBase = CGAL::Constrained_triangulation_face_base_2<Kernel, FaceBase>;
using Constrained =
    CGAL::Constrained_Delaunay_triangulation_2<Kernel, CGAL::Triangulation_data_structure_2<VertexBase, KeptFaceBase>,
                                               CGAL::No_constraint_intersection_requiring_constructions_tag>;

/// Which round a point goes in by: each earlier round takes one point in eight of what is left, picked by a fixed
/// scrambling of the index, so that the same survey always gives the same triangles.
unsigned round_of(std::uint32_t index) {
  std::uint64_t mixed = (index + 1) * 0x9e3779b97f4a7c15ull;  // Steele, Lea and Flood 2014 (SplitMix)
  mixed = (mixed ^ (mixed >> 30)) * 0xbf58476d1ce4e5b9ull;
  mixed = (mixed ^ (mixed >> 27)) * 0x94d049bb133111ebull;
  return static_cast<unsigned>(std::countr_zero(mixed ^ (mixed >> 31))) / 3;
}

std::vector<std::uint32_t> insertion_order(std::size_t count) {
  constexpr unsigned rounds = 64 / 3 + 1;
  std::array<std::size_t, rounds + 1> start{};
  std::vector<std::uint8_t> round(count);
  for (std::size_t i = 0; i < count; ++i) {
    round[i] = static_cast<std::uint8_t>(rounds - 1 - round_of(static_cast<std::uint32_t>(i)));  // rarest first
    ++start[round[i] + 1u];
  }
  std::partial_sum(start.begin(), start.end(), start.begin());
  std::vector<std::uint32_t> order(count);
  for (std::size_t i = 0; i < count; ++i) order[start[round[i]]++] = static_cast<std::uint32_t>(i);
  return order;
}

template <class Tin>
std::vector<typename Tin::Vertex_handle> insert_points(Tin& tin, const std::vector<Eigen::Vector2d>& points,
                                                       PlanTriangulation& result) {
  std::vector<typename Tin::Vertex_handle> vertices(points.size());
  typename Tin::Face_handle near;
  for (const std::uint32_t i : insertion_order(points.size())) {
    const std::size_t before = tin.number_of_vertices();
    const auto vertex = tin.insert({points[i].x(), points[i].y()}, near);
    near = vertex->face();
    vertices[i] = vertex;
    if (tin.number_of_vertices() == before) {
      result.duplicates.push_back({i, vertex->info()});
    } else {
      vertex->info() = i;
    }
  }
  return vertices;
}

template <class Tin>
void read_triangles(Tin& tin, PlanTriangulation& result) {
  if (tin.dimension() < 2) return;
  for (const auto face : tin.all_face_handles()) face->info() = -1;
  std::int32_t count = 0;
  for (const auto face : tin.finite_face_handles()) face->info() = count++;
  result.triangles.reserve(count);
  result.neighbours.reserve(count);
  for (const auto face : tin.finite_face_handles()) {
    result.triangles.push_back({face->vertex(0)->info(), face->vertex(1)->info(), face->vertex(2)->info()});
    // CGAL numbers a neighbour after the corner it is opposite to.
    result.neighbours.push_back({face->neighbor(2)->info(), face->neighbor(0)->info(), face->neighbor(1)->info()});
  }
}

void read_kept(const Constrained& tin, PlanTriangulation& result) {
  if (tin.dimension() < 2) return;
  result.kept.reserve(result.triangles.size());
  for (const auto face : tin.finite_face_handles()) {
    result.kept.push_back({face->is_constrained(2), face->is_constrained(0), face->is_constrained(1)});
  }
}

void keep_edges(Constrained& tin, const std::vector<Constrained::Vertex_handle>& vertices,
                const std::vector<PlanEdge>& edges) {
  for (const PlanEdge& edge : edges) {
    if (vertices[edge[0]] != vertices[edge[1]]) tin.insert_constraint(vertices[edge[0]], vertices[edge[1]]);
  }
}

}  // namespace

PlanTriangulation triangulate(const std::vector<Eigen::Vector2d>& points, const std::vector<PlanEdge>& edges) {
  PlanTriangulation result;
  if (edges.empty()) {
    Delaunay tin;
    insert_points(tin, points, result);
    read_triangles(tin, result);
    return result;
  }
  Constrained tin;
  const auto vertices = insert_points(tin, points, result);
  try {
    keep_edges(tin, vertices, edges);
  } catch (const Constrained::Intersection_of_constraints_exception&) {
    throw Refusal({Severity::error,
                   "breaklines cross each other so closely that they cannot be told apart",
                   {},
                   "look for breaklines entered twice or joined in the wrong order"});
  }
  read_triangles(tin, result);
  read_kept(tin, result);
  return result;
}

}  // namespace moundwright

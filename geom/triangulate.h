// Delaunay triangulation of points in plan, constrained to given edges: CGAL behind plain arrays.
//
//   PlanTriangulation tin = triangulate(points, edges);
//
// Points should come along a Hilbert curve: they go in in rounds of growing size, each round along the curve, which
// keeps insertion near linear whatever the survey looks like (Amenta, Choi and Rote 2003, "Incremental
// constructions con BRIO"). Predicates are exact; no coordinate is changed.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <utility>
#include <vector>

namespace moundwright {

/// Closer than this in plan is one place. Job units: well under what any instrument tells, well over what is lost
/// in reducing state-plane coordinates.
inline constexpr double same_place = 1e-6;

using PlanEdge = std::array<std::uint32_t, 2>;  // indices of its two points

struct PlanTriangulation {
  std::vector<std::array<std::uint32_t, 3>> triangles;   // counter-clockwise; empty where all points are in line
  std::vector<std::array<std::int32_t, 3>> neighbours;   // across edge i, corner i to i + 1; -1 at the outside
  std::vector<std::array<bool, 3>> kept;                 // edge i is one asked for; empty where none were
  std::vector<std::array<std::uint32_t, 2>> duplicates;  // point, and the point at exactly its place that stands for it
};

/// Triangulates. `edges` may touch or share points but must not cross between points; an edge that runs exactly through
/// a third point is split there. Throws Refusal for edges that do cross.
PlanTriangulation triangulate(const std::vector<Eigen::Vector2d>& points, const std::vector<PlanEdge>& edges = {});

}  // namespace moundwright

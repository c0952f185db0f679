// The plan under the mound as one triangulation without T-junctions, on each triangle of which every surface (existing,
// stripped and prepared ground, the top of every layer) is one plane.
//
//   PlanMesher mesher(mound);
//   PlanMesh mesh = mesher.mesh();
//   mesher.elevations_at(mesh.vertices[v], face.piece, z);      // z[surface_after(k)] is the top of layer k
//
// Every triangle of ground under the mound is cut into convex pieces (plan_cutter.h); their outlines are the
// constraints of a triangulation, so that a corner of one piece on the side of another becomes a corner of both. All of
// that is decided exactly (plan_corners.h); a vertex is given within 1e-13 job units of its exact place. The plan
// coordinates are about the mound's origin, elevations are residuals from the ground's trend: `to_ground` puts both
// back. Solids and surfaces are made of it.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <vector>

#include "geom/placed_mound.h"

namespace moundwright {

/// Surfaces by number; after them the top of each layer.
inline constexpr std::size_t existing_surface = 0, stripped_surface = 1, prepared_surface = 2;
inline constexpr std::size_t surface_after(std::size_t layer) { return prepared_surface + 1 + layer; }

struct PlanVertex {
  double x, y;                // about the mound's origin
  double r;                   // residual elevation of existing ground
  std::int32_t ground_point;  // of the ground, at this place; -1 where there is none, or only the footprint is meshed
};

struct PlanFace {
  std::array<std::uint32_t, 3> corners;    // counter-clockwise
  std::array<std::int32_t, 3> neighbours;  // across the edge from corner i to corner i + 1; -1 outside the footprint
  std::uint32_t piece;
};

struct PlanMesh {
  std::vector<PlanVertex> vertices;
  std::vector<PlanFace> faces;                            // of the footprint
  std::vector<std::array<std::uint32_t, 3>> round_about;  // of the ground triangles in reach, outside the footprint
};

/// A place on the edge between two plan vertices: `part` of the way from one to the other.
struct EdgePoint {
  std::uint32_t from, to;
  double part;
};

enum class MeshExtent {
  footprint,
  ground_in_reach  // also the rest of the ground triangles that a box round the toe meets: `in_reach`
};

class PlanMesher {
 public:
  /// The ground must outlive this.
  explicit PlanMesher(const PlacedMound& mound, MeshExtent extent = MeshExtent::footprint);
  ~PlanMesher();

  bool is_empty() const;  // no footprint
  PlanMesh mesh();
  /// Makes vertices on edges of the mesh that `mesh` gave last.
  void split_edges(const std::vector<EdgePoint>& places);

  std::size_t surface_count() const;
  /// Residual elevations of all surfaces of a piece. Layers never go down and pits never up, also where rounding would.
  void elevations_at(const PlanVertex& v, std::uint32_t piece, std::vector<double>& z) const;

  /// Reduced plan coordinates and elevation.
  Point3 to_ground(const Point3& about_origin) const;
  /// The triangles of ground that a box round the toe meets, ascending.
  const std::vector<std::uint32_t>& in_reach() const;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace moundwright

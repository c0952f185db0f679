// Closed triangle meshes of the ground and of a mound's layers, for booleans done by other libraries. Made from the
// definitions alone (half-spaces intersected in exact arithmetic), and sharing no code with the way geom gets its
// volumes, so that the two can be held against each other.
//
//   SolidMesh ground = ground_block(points, triangles, 80.0);             // the TIN down to a flat base at z = 80
//   SolidMesh stone = convex_solid({top_at(101.0), ...sides, base_at(80.0)});
//   BooleanScene scene = boolean_scene(lot, design, 100.2);               // every layer of a straight-bed design
//
// All coordinates are one caller's choice (reduced is best), in one length unit.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "geom/design.h"
#include "geom/ground.h"

namespace moundwright::test_support {

/// A closed surface, triangles counter-clockwise seen from outside.
struct SolidMesh {
  std::vector<Eigen::Vector3d> points;
  std::vector<std::array<std::uint32_t, 3>> triangles;
};

/// The points with a x + b y + c z + d <= 0.
struct HalfSpace {
  double a = 0, b = 0, c = 0, d = 0;
};

/// One layer: one convex piece, or several whose union it is.
struct LayerSolid {
  std::string name;
  std::vector<SolidMesh> pieces;
};

/// What a boolean library needs to get the volumes of one mound: see layer_volumes in cgal_booleans.h.
struct BooleanScene {
  SolidMesh ground;                // existing ground
  double strip = 0;                // depth it is lowered by inside the footprint
  std::vector<SolidMesh> pits;     // taken out of the prepared ground; must lie inside the footprint in plan
  std::vector<LayerSolid> layers;  // in the order they go down
};

/// The block between a TIN and a flat base at z = base with vertical skirts along the TIN's outside edges. Throws
/// std::invalid_argument where the base is not below every point.
SolidMesh ground_block(const std::vector<Eigen::Vector3d>& points,
                       const std::vector<std::array<std::uint32_t, 3>>& triangles, double base);

/// The same for a Ground, in reduced coordinates.
SolidMesh ground_block(const Ground& ground, double base);

/// The body that satisfies every half-space. Planes are intersected exactly and the corners rounded to double once.
/// Throws std::invalid_argument where the body is unbounded or has no volume.
SolidMesh convex_solid(const std::vector<HalfSpace>& half_spaces);

/// The half-spaces of a layer of a straight bed over z >= base, from the planes that make it: top or crown,
/// sides, vertical faces, and round corners where asked. `origin` is taken off the design's plan coordinates.
/// The design must give `downslope`. Throws std::invalid_argument for a bent bed.
std::vector<HalfSpace> layer_half_spaces(const MoundDesign& design, const Layer& layer, double bed_bottom, double base,
                                         const Eigen::Vector2d& origin);

/// The half-spaces of the pit under a straight bed up to z = lid (above all ground there).
std::vector<HalfSpace> pit_half_spaces(const MoundDesign& design, const Undercut& pit, double lid,
                                       const Eigen::Vector2d& origin);

/// Ground, strip, pit and every layer of a straight-bed design, in the ground's reduced coordinates. Every layer is
/// carried down to a little below the lowest ground and cut off at the survey's box, so the survey must be wide enough
/// for the whole mound to meet ground inside it, and convex in plan.
BooleanScene boolean_scene(const Ground& ground, const MoundDesign& design, double bed_bottom);

/// Signed volume; positive for a closed mesh that faces outward.
double volume(const SolidMesh& mesh);

/// {"strip": d, "ground": mesh, "pits": [mesh], "layers": [{"name": s, "pieces": [mesh]}]} with
/// mesh = {"points": [x0, y0, z0, x1, ...], "triangles": [a0, b0, c0, a1, ...]}; numbers written so that they read
/// back bit for bit.
void write_scene_json(const std::filesystem::path& path, const BooleanScene& scene);

}  // namespace moundwright::test_support

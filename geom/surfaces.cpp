#include "geom/surfaces.h"

#include <algorithm>
#include <array>
#include <memory>
#include <utility>

#include "geom/plan_cells.h"
#include "geom/plan_mesh.h"
#include "geom/toe.h"

namespace moundwright {
namespace {

/// The same mound with only these items dug. Its footprint is the same, since that is found before anything is dug.
PlacedMound with_items(const PlacedMound& mound, const DugItems& items) {
  if (items == DugItems{}) return mound;
  MoundDesign design = mound.design();
  if (!items.strip) design.prepare.strip = 0;
  if (!items.undercut) design.prepare.undercut.reset();
  return {{mound.ground, compile_mound(design), mound.placement}, mound.buildup};
}

/// Every vertex of a mesh with the elevation of each surface; existing ground where a surface is not.
std::vector<std::vector<double>> elevations_of(const PlanMesher& mesher, const PlanMesh& mesh) {
  std::vector<std::vector<double>> z(mesher.surface_count());
  for (std::vector<double>& surface : z) {
    for (const PlanVertex& v : mesh.vertices) surface.push_back(v.r);
  }
  std::vector<double> here;
  for (const PlanFace& face : mesh.faces) {
    for (const std::uint32_t v : face.corners) {
      mesher.elevations_at(mesh.vertices[v], face.piece, here);
      for (std::size_t s = 0; s < z.size(); ++s) z[s][v] = here[s];
    }
  }
  return z;
}

/// Puts triangles of numbered points into a TIN, and of the points those that are used.
class TinMaker {
 public:
  explicit TinMaker(std::vector<Point3> points) : points_(std::move(points)), place_(points_.size(), unused) {}

  void add(const std::array<std::uint32_t, 3>& corners) {
    std::array<std::uint32_t, 3> placed{};
    for (std::size_t i = 0; i < 3; ++i) {
      std::uint32_t& place = place_[corners[i]];
      if (place == unused) {
        place = static_cast<std::uint32_t>(tin_.points.size());
        tin_.points.push_back(points_[corners[i]]);
      }
      placed[i] = place;
    }
    tin_.triangles.push_back(placed);
  }

  Tin take() { return std::move(tin_); }

 private:
  static constexpr std::uint32_t unused = ~std::uint32_t{0};
  std::vector<Point3> points_;
  std::vector<std::uint32_t> place_;
  Tin tin_;
};

Tin over_footprint(const PlanMesher& mesher, const PlanMesh& mesh, const std::vector<double>& z) {
  std::vector<Point3> points;
  for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
    points.push_back(mesher.to_ground({mesh.vertices[v].x, mesh.vertices[v].y, z[v]}));
  }
  TinMaker maker(std::move(points));
  for (const PlanFace& face : mesh.faces) maker.add(face.corners);
  return maker.take();
}

/// The mesh in the middle, and beyond its reach the ground's own triangles, which share their points with it.
Tin over_lot(const Ground& ground, const PlanMesher& mesher, const PlanMesh& mesh, const std::vector<double>& z) {
  std::vector<Point3> points = ground.points;
  std::vector<std::uint32_t> number;  // of the mesh's vertices
  for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
    const PlanVertex& vertex = mesh.vertices[v];
    const Point3 p = mesher.to_ground({vertex.x, vertex.y, z[v]});
    if (vertex.ground_point >= 0) {
      number.push_back(static_cast<std::uint32_t>(vertex.ground_point));
      points[number.back()].z() = p.z();
    } else {
      number.push_back(static_cast<std::uint32_t>(points.size()));
      points.push_back(p);
    }
  }
  TinMaker maker(std::move(points));
  const auto add = [&](const std::array<std::uint32_t, 3>& corners) {
    maker.add({number[corners[0]], number[corners[1]], number[corners[2]]});
  };
  for (const PlanFace& face : mesh.faces) add(face.corners);
  for (const auto& corners : mesh.round_about) add(corners);
  std::size_t next = 0;
  for (std::uint32_t t = 0; t < ground.triangle_count(); ++t) {
    if (next < mesher.in_reach().size() && mesher.in_reach()[next] == t) {
      ++next;
    } else {
      maker.add(ground.tree.triangles[t]);
    }
  }
  return maker.take();
}

/// What is dug out of the footprint, face by face.
class DugMaker {
 public:
  DugMaker(const PlanMesher& mesher, const PlanMesh& mesh, double strip)
      : mesher_(mesher), mesh_(mesh), strip_(strip) {}

  void add_face(const PlanFace& face) {
    const std::array<double, 3> z = prepared_at(face);
    std::array<Point3, 3> p;
    for (std::size_t i = 0; i < 3; ++i) p[i] = at(vertex(face, i), z[i]);
    add(p[0], p[1], p[2], is_pit(face, z) ? dug.undercut : strip_ > 0 ? dug.strip : dug.undug);
  }

  /// Upright sides: where the prepared ground of the neighbour, or surveyed ground outside, stands higher.
  void add_sides(const PlanFace& face) {
    const std::array<double, 3> low = prepared_at(face);
    std::vector<Point3>& sides = is_pit(face, low) ? dug.undercut : dug.strip_sides;
    for (std::size_t i = 0; i < 3; ++i) {
      const std::size_t j = (i + 1) % 3;
      const PlanVertex &p = vertex(face, i), &q = vertex(face, j);
      const double high_p = prepared_beyond(face, i, p), high_q = prepared_beyond(face, i, q);
      if (!(high_p > low[i] + thinnest || high_q > low[j] + thinnest)) continue;
      add(at(q, low[j]), at(p, low[i]), at(p, high_p), sides);
      add(at(q, low[j]), at(p, high_p), at(q, high_q), sides);
    }
  }

  void add_round_about(const std::array<std::uint32_t, 3>& corners) {
    const auto surveyed = [&](std::size_t i) { return at(mesh_.vertices[corners[i]], mesh_.vertices[corners[i]].r); };
    add(surveyed(0), surveyed(1), surveyed(2), dug.undug);
  }

  DugGround dug;

 private:
  static constexpr double thinnest = 1e-6;  // feet or metres
  const PlanMesher& mesher_;
  const PlanMesh& mesh_;
  double strip_;
  std::vector<double> here_;

  const PlanVertex& vertex(const PlanFace& face, std::size_t i) const { return mesh_.vertices[face.corners[i]]; }
  Point3 at(const PlanVertex& v, double z) const { return mesher_.to_ground({v.x, v.y, z}); }
  static void add(const Point3& a, const Point3& b, const Point3& c, std::vector<Point3>& to) {
    to.push_back(a), to.push_back(b), to.push_back(c);
  }
  /// Dug deeper than the strip.
  bool is_pit(const PlanFace& face, const std::array<double, 3>& z) const {
    for (std::size_t i = 0; i < 3; ++i) {
      if (z[i] < vertex(face, i).r - strip_ - thinnest) return true;
    }
    return false;
  }
  double prepared(const PlanVertex& v, std::uint32_t piece) {
    mesher_.elevations_at(v, piece, here_);
    return here_[prepared_surface];
  }
  std::array<double, 3> prepared_at(const PlanFace& face) {
    return {prepared(vertex(face, 0), face.piece), prepared(vertex(face, 1), face.piece),
            prepared(vertex(face, 2), face.piece)};
  }
  double prepared_beyond(const PlanFace& face, std::size_t edge, const PlanVertex& v) {
    const std::int32_t beyond = face.neighbours[edge];
    return beyond < 0 ? v.r : prepared(v, mesh_.faces[static_cast<std::size_t>(beyond)].piece);
  }
};

}  // namespace

DugGround dug_ground(const PlacedMound& mound, const DugItems& items) {
  const PlacedMound seen = with_items(mound, items);
  const Prepare& prepare = seen.design().prepare;
  if (!(mound.buildup.total_cut() > 0) || !(prepare.strip > 0 || prepare.undercut)) return {};
  PlanMesher mesher(seen, MeshExtent::ground_in_reach);
  if (mesher.is_empty()) return {};
  const PlanMesh mesh = mesher.mesh();
  DugMaker maker(mesher, mesh, prepare.strip);
  for (const PlanFace& face : mesh.faces) maker.add_face(face), maker.add_sides(face);
  for (const auto& corners : mesh.round_about) maker.add_round_about(corners);
  maker.dug.opened = mesher.in_reach();
  return std::move(maker.dug);
}

MoundPlace leaning(const PlacedMound& mound) {
  Eigen::AlignedBox2d toe;
  for (const Polygon2& loop : toe_in_mound_frame(mound, mound.buildup.toe)) {
    for (const Point2& p : loop) toe.extend(p);
  }
  if (toe.isEmpty()) return as_high(mound, mound.compiled);
  const Point2 margin = Point2::Constant(1);  // leaning carries the toe out by less
  const Eigen::AlignedBox2d within(toe.min() - margin, toe.max() + margin);
  return as_high(mound, compile_shape(mound.design(), leaning(mound.shape(), face_lean, within)));
}

Tin ground_tin(const Ground& ground) { return {ground.points, ground.tree.triangles}; }

MoundSurfaces mound_surfaces(const PlacedMound& mound) {
  PlanMesher mesher(place_mound(leaning(mound)), MeshExtent::ground_in_reach);
  MoundSurfaces surfaces;
  surfaces.after_layers.resize(mound.buildup.layers.size());
  surfaces.finished_lot = ground_tin(mound.ground);
  if (mesher.is_empty()) return surfaces;
  const PlanMesh mesh = mesher.mesh();
  const std::vector<std::vector<double>> z = elevations_of(mesher, mesh);
  surfaces.prepared = over_footprint(mesher, mesh, z[prepared_surface]);
  for (std::size_t k = 0; k < mound.buildup.layers.size(); ++k) {
    surfaces.after_layers[k] = over_footprint(mesher, mesh, z[surface_after(k)]);
  }
  surfaces.finished_lot = over_lot(mound.ground, mesher, mesh, z.back());
  return surfaces;
}

double volume_above(const Tin& tin, double datum) {
  double sum = 0;
  for (const auto& t : tin.triangles) {
    const Point3 &a = tin.points[t[0]], &b = tin.points[t[1]], &c = tin.points[t[2]];
    const double twice = (b.x() - a.x()) * (c.y() - a.y()) - (b.y() - a.y()) * (c.x() - a.x());
    sum += 0.5 * twice * ((a.z() + b.z() + c.z()) / 3 - datum);
  }
  return sum;
}

}  // namespace moundwright

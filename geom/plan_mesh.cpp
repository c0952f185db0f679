#include "geom/plan_mesh.h"

#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Triangulation_face_base_with_info_2.h>
#include <CGAL/Triangulation_vertex_base_with_info_2.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include "geom/kernel_input.h"
#include "geom/plan_cutter.h"
#include "geom/toe.h"

namespace moundwright {
namespace {

/// A box around everything the toe encloses, reduced, a little larger.
Polygon2 box_around(const ToeLine& toe) {
  Eigen::AlignedBox2d box;
  for (const Polygon2& loop : toe.outer) {
    for (const Point2& p : loop) box.extend(p);
  }
  if (box.isEmpty()) return {};
  const Point2 low = box.min().array() - 1e-6, high = box.max().array() + 1e-6;
  return {low, {high.x(), low.y()}, high, {low.x(), high.y()}};
}

Point2 rounded(const PlanCorner& corner) {
  const CornerPlace<double> place = corner.rounded();
  return {place.x, place.y};
}

Point2 rounded_middle(const PlanOutline& outline) {
  Point2 sum = Point2::Zero();
  for (const OutlineCorner& p : outline) sum += rounded(*p.corner);
  return sum / static_cast<double>(outline.size());
}

/// Leaves out the specks: what the toe that counts does not enclose.
void drop_specks(std::vector<PlanPiece>& pieces, const ToeLine& toe, const Point2& origin) {
  std::erase_if(pieces, [&](const PlanPiece& piece) { return !encloses(toe, origin + rounded_middle(piece.outline)); });
}

// ---- the plan, triangulated --------------------------------------------------------------------------------------

struct VertexInfo {
  double r = 0;  // of the ground here
  std::uint32_t index = 0;
  std::int32_t ground_point = -1;
};
struct FaceInfo {
  std::int32_t piece = -1, index = -1;
};

/// Positive where t lies inside the circle through p, q and r; a, b and c are these three less t.
template <class T>
T circle_determinant(const std::array<T, 2>& a, const std::array<T, 2>& b, const std::array<T, 2>& c) {
  const auto square = [](const std::array<T, 2>& u) -> T { return u[0] * u[0] + u[1] * u[1]; };
  const auto cross = [](const std::array<T, 2>& u, const std::array<T, 2>& v) -> T {
    return u[0] * v[1] - u[1] * v[0];
  };
  return square(a) * cross(b, c) + square(b) * cross(c, a) + square(c) * cross(a, b);
}

/// A corner as the triangulation takes it.
struct MeshPoint {
  PlanCorner* corner = nullptr;  // none at the infinite vertex
};

/// Exact, but for the choice between two diagonals where rationals take longer than all else (rectangles are many
/// here): it is made with floats of so many bits that nothing short of four points on one circle is mistaken for it.
/// There the diagonal that stands stays.
struct MeshTraits {
  using Point_2 = MeshPoint;
  struct Segment_2 {};  // the triangulation names these two and makes none
  struct Triangle_2 {};
  struct Construct_point_2 {
    const Point_2& operator()(const Point_2& p) const { return p; }
  };
  struct Orientation_2 {
    auto operator()(const Point_2& p, const Point_2& q, const Point_2& r) const {
      return orientation(*p.corner, *q.corner, *r.corner);
    }
  };
  struct Compare_x_2 {
    auto operator()(const Point_2& p, const Point_2& q) const { return compare_x(*p.corner, *q.corner); }
  };
  struct Compare_y_2 {
    auto operator()(const Point_2& p, const Point_2& q) const { return compare_y(*p.corner, *q.corner); }
  };
  struct Side_of_oriented_circle_2 {
    CGAL::Oriented_side operator()(const Point_2& p, const Point_2& q, const Point_2& r, const Point_2& t) const {
      // Of the determinant's terms, and job units that coordinates may be off: rounding is far below both.
      constexpr double clearly = 1e-9, off = 1e-12;
      const Point2 middle = rounded(*t.corner);
      const Point2 a = rounded(*p.corner) - middle, b = rounded(*q.corner) - middle, c = rounded(*r.corner) - middle;
      const double inside = circle_determinant<double>({a.x(), a.y()}, {b.x(), b.y()}, {c.x(), c.y()});
      const double size = a.norm() + b.norm() + c.norm();
      const double least = clearly * a.norm() * b.norm() * c.norm() * size + off * size * size * size;
      const bool is_inside = std::abs(inside) > least ? inside > 0 : is_surely_inside(p, q, r, t);
      return is_inside ? CGAL::ON_POSITIVE_SIDE : CGAL::ON_NEGATIVE_SIDE;
    }

   private:
    static bool is_surely_inside(const Point_2& p, const Point_2& q, const Point_2& r, const Point_2& t) {
      const CornerPlace<BoundedFloat>& from = t.corner->fine();
      const auto from_t = [&](const Point_2& of) {
        const CornerPlace<BoundedFloat>& place = of.corner->fine();
        return std::array<BoundedFloat, 2>{place.x - from.x, place.y - from.y};
      };
      return circle_determinant<BoundedFloat>(from_t(p), from_t(q), from_t(r)).sure_sign() > 0;
    }
  };
  Construct_point_2 construct_point_2_object() const { return {}; }
  Orientation_2 orientation_2_object() const { return {}; }
  Compare_x_2 compare_x_2_object() const { return {}; }
  Compare_y_2 compare_y_2_object() const { return {}; }
  Side_of_oriented_circle_2 side_of_oriented_circle_2_object() const { return {}; }
};

/// The outlines of all pieces as one triangulation. They meet in corners and along sides and never cross, so that no
/// point is ever constructed here.
class PlanTriangulation {
 public:
  /// `round_about` are whole triangles of ground, which hold all pieces, or none.
  PlanTriangulation(PlanCorners& corners, const std::vector<PlanPiece>& pieces,
                    const std::vector<GroundTriangle>& round_about)
      : corners_(corners), pieces_(pieces), round_about_(round_about), vertices_(corners.all().size()) {
    for_each_outline(
        [&](const PlanOutline& outline) { insert_corners(outline); });  // all, so that no side is cut later
    for_each_outline([&](const PlanOutline& outline) {
      for (std::size_t i = 0; i < outline.size(); ++i) {
        triangulation_.insert_constraint(vertex_at(outline, i), vertex_at(outline, i + 1));
      }
    });
    for (const GroundTriangle& triangle : round_about_) {
      for (std::size_t i = 0; i < 3; ++i) {
        vertex_at(triangle.outline, i)->info().ground_point = static_cast<std::int32_t>(triangle.points[i]);
      }
    }
    label();
  }

  void split_edges(const std::vector<EdgePoint>& places) {
    for (const EdgePoint& place : places) {
      const VertexHandle from = handles_[place.from], to = handles_[place.to];
      PlanCorner& p = corners_.part_way(*from->point().corner, *to->point().corner, place.part);
      const double r = from->info().r + place.part * (to->info().r - from->info().r);
      triangulation_.insert(MeshPoint{&p}, from->face())->info().r = r;
    }
    label();
  }

  PlanMesh mesh() {
    PlanMesh mesh;
    handles_.clear();
    for (const VertexHandle v : triangulation_.finite_vertex_handles()) {
      v->info().index = static_cast<std::uint32_t>(handles_.size());
      handles_.push_back(v);
      const CornerPlace<double> place = v->point().corner->rounded();
      mesh.vertices.push_back({place.x, place.y, v->info().r, v->info().ground_point});
    }
    std::int32_t count = 0;
    for (const FaceHandle f : triangulation_.finite_face_handles()) f->info().index = is_footprint(f) ? count++ : -1;
    for (const FaceHandle f : triangulation_.finite_face_handles()) {
      if (is_footprint(f)) mesh.faces.push_back(plain(f));
      if (f->info().piece == beside) mesh.round_about.push_back(corners_of(f));
    }
    return mesh;
  }

 private:
  using VertexBase = CGAL::Triangulation_vertex_base_with_info_2<VertexInfo, MeshTraits>;
  using FaceBase =
      CGAL::Constrained_triangulation_face_base_2<MeshTraits,
                                                  CGAL::Triangulation_face_base_with_info_2<FaceInfo, MeshTraits>>;
  using Triangulation =
      CGAL::Constrained_Delaunay_triangulation_2<MeshTraits, CGAL::Triangulation_data_structure_2<VertexBase, FaceBase>,
                                                 CGAL::No_constraint_intersection_requiring_constructions_tag>;
  using VertexHandle = Triangulation::Vertex_handle;
  using FaceHandle = Triangulation::Face_handle;

  // What a face belongs to where it is no piece: nothing, or a triangle of ground outside the footprint.
  static constexpr std::int32_t nowhere = -1, beside = -2;

  PlanCorners& corners_;
  const std::vector<PlanPiece>& pieces_;
  const std::vector<GroundTriangle>& round_about_;
  Triangulation triangulation_;
  FaceHandle near_;                     // where the last corner went
  std::vector<VertexHandle> vertices_;  // of the corners
  std::vector<VertexHandle> handles_;   // of the mesh's vertices

  template <class F>
  void for_each_outline(const F& f) const {
    for (const PlanPiece& piece : pieces_) f(piece.outline);
    for (const GroundTriangle& triangle : round_about_) f(triangle.outline);
  }

  VertexHandle vertex_at(const PlanOutline& outline, std::size_t i) const {
    return vertices_[outline[i % outline.size()].corner->number()];
  }

  /// Pieces share their corners; finding a corner's place takes far longer than knowing it again.
  void insert_corners(const PlanOutline& outline) {
    for (const OutlineCorner& p : outline) {
      VertexHandle& v = vertices_[p.corner->number()];
      if (v == VertexHandle()) {
        v = triangulation_.insert(MeshPoint{p.corner}, near_);
        PlanCorner& there = *v->point().corner;  // another one, where two were made at one place
        for (const std::uint32_t line : p.corner->lines()) there.put_on(line);
        v->info().r = there.rounded().r;
      }
      near_ = v->face();
    }
  }

  static bool is_footprint(FaceHandle f) { return f->info().piece >= 0; }

  /// Fills every triangle round about up to its sides, then every piece up to its outline.
  void label() {
    for (const FaceHandle f : triangulation_.all_face_handles()) f->info().piece = nowhere;
    for (const GroundTriangle& triangle : round_about_) {
      fill(face_in(triangle.outline), beside, [&](FaceHandle f, int i) { return is_on_side(f, i, triangle.outline); });
    }
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
      fill(face_in(pieces_[i].outline), static_cast<std::int32_t>(i), [](FaceHandle, int) { return true; });
    }
  }

  /// The face to the left of an outline's first side, where it begins. There is one, since the side is of edges.
  FaceHandle face_in(const PlanOutline& outline) const {
    const VertexHandle from = vertex_at(outline, 0), to = vertex_at(outline, 1);
    FaceHandle f = from->face();
    while (!is_towards(from, f->vertex(Triangulation::ccw(f->index(from))), to)) {
      f = f->neighbor(Triangulation::ccw(f->index(from)));  // turns about the corner
    }
    return f;
  }

  /// True if `next` lies on the way.
  bool is_towards(VertexHandle from, VertexHandle next, VertexHandle to) const {
    if (next == to) return true;
    const MeshPoint &p = from->point(), &q = next->point(), &r = to->point();
    return !triangulation_.is_infinite(next) && orientation(*p.corner, *q.corner, *r.corner) == CGAL::COLLINEAR &&
           triangulation_.compare_xy(p, q) == triangulation_.compare_xy(p, r);
  }

  /// `stops` tells of a constrained edge whether it bounds what is filled.
  template <class Stops>
  static void fill(FaceHandle start, std::int32_t label, const Stops& stops) {
    start->info().piece = label;
    std::vector<FaceHandle> open{start};
    while (!open.empty()) {
      const FaceHandle f = open.back();
      open.pop_back();
      for (int i = 0; i < 3; ++i) {
        const FaceHandle next = f->neighbor(i);
        if (next->info().piece == label || (f->is_constrained(i) && stops(f, i))) continue;
        next->info().piece = label;
        open.push_back(next);
      }
    }
  }

  /// True if the edge lies on a side of the outline.
  static bool is_on_side(FaceHandle f, int edge, const PlanOutline& outline) {
    const PlanCorner &p = *f->vertex(Triangulation::ccw(edge))->point().corner,
                     &q = *f->vertex(Triangulation::cw(edge))->point().corner;
    for (std::size_t i = 0; i < outline.size(); ++i) {
      const PlanCorner &from = *outline[i].corner, &to = *outline[(i + 1) % outline.size()].corner;
      if (orientation(from, to, p) == CGAL::COLLINEAR && orientation(from, to, q) == CGAL::COLLINEAR) return true;
    }
    return false;
  }

  static std::array<std::uint32_t, 3> corners_of(FaceHandle f) {
    return {f->vertex(0)->info().index, f->vertex(1)->info().index, f->vertex(2)->info().index};
  }

  static PlanFace plain(FaceHandle f) {
    PlanFace face{corners_of(f), {}, static_cast<std::uint32_t>(f->info().piece)};
    for (int i = 0; i < 3; ++i) {
      face.neighbours[static_cast<std::size_t>(i)] = f->neighbor(Triangulation::cw(i))->info().index;
    }
    return face;
  }
};

// ---- surfaces ----------------------------------------------------------------------------------------------------

/// On one piece: so far below the ground (if `plane` is null), or a plane.
struct Surface {
  const PlaneOf<double>* plane;
  double below_ground;
  double at(const PlanVertex& v) const { return plane != nullptr ? plane->at(v.x, v.y) : v.r - below_ground; }
};

std::vector<Surface> surfaces_of(const PlanPiece& piece, const PlanCells<double>& cells, double strip) {
  std::vector<Surface> surfaces{{nullptr, 0}, {nullptr, strip}, {nullptr, strip}};
  if (piece.in_pit) surfaces[prepared_surface].plane = &piece.cell->pit;
  std::uint32_t next = 0;
  for (std::size_t k = 0; k < cells.layer_count; ++k) {
    Surface top = surfaces.back();
    for (; next < piece.cell->level_count; ++next) {
      const CellLevel<double>& level = cells.levels[piece.cell->first_level + next];
      if (static_cast<std::size_t>(level.layer) > k) break;
      if (next >= piece.lowest) top.plane = &level.plane;
    }
    surfaces.push_back(top);
  }
  return surfaces;
}

}  // namespace

struct PlanMesher::Parts {
  PlanCells<double> cells;  // the pieces point into it
  Point2 origin = Point2::Zero();
  Plane trend;
  std::vector<std::uint32_t> in_reach;
  PlanCorners corners;
  std::vector<GroundTriangle> round_about;
  std::vector<PlanPiece> pieces;
  std::vector<std::vector<Surface>> surfaces;  // of each piece
  std::optional<PlanTriangulation> triangulation;
};

PlanMesher::PlanMesher(const PlacedMound& mound, MeshExtent extent) : parts_(std::make_unique<Parts>()) {
  Parts& parts = *parts_;
  const double strip = mound.design().prepare.strip;
  parts.cells = placed_cells(mound, mound.buildup.bottom_elevation);
  parts.origin = mound.ground.to_local(mound.frame().origin);
  parts.trend = mound.ground.trend;
  const Polygon2 box = box_around(mound.buildup.toe);
  if (box.empty()) return;
  parts.in_reach = triangles_meeting(mound.ground, box);
  std::vector<GroundTriangle> triangles = ground_triangles(mound.ground, parts.in_reach, parts.origin, parts.corners);
  parts.pieces = cut_footprint(triangles, parts.cells, strip, parts.corners);
  if (mound.buildup.specks > 0) drop_specks(parts.pieces, mound.buildup.toe, parts.origin);
  for (const PlanPiece& piece : parts.pieces) parts.surfaces.push_back(surfaces_of(piece, parts.cells, strip));
  if (extent == MeshExtent::ground_in_reach) parts.round_about = std::move(triangles);
  if (!parts.pieces.empty()) parts.triangulation.emplace(parts.corners, parts.pieces, parts.round_about);
}

PlanMesher::~PlanMesher() = default;

bool PlanMesher::is_empty() const { return !parts_->triangulation; }

PlanMesh PlanMesher::mesh() { return is_empty() ? PlanMesh{} : parts_->triangulation->mesh(); }

void PlanMesher::split_edges(const std::vector<EdgePoint>& places) { parts_->triangulation->split_edges(places); }

std::size_t PlanMesher::surface_count() const { return surface_after(parts_->cells.layer_count); }

void PlanMesher::elevations_at(const PlanVertex& v, std::uint32_t piece, std::vector<double>& z) const {
  z.clear();
  for (const Surface& surface : parts_->surfaces[piece]) z.push_back(surface.at(v));
  z[prepared_surface] = std::min(z[prepared_surface], z[stripped_surface]);
  for (std::size_t s = prepared_surface + 1; s < z.size(); ++s) z[s] = std::max(z[s], z[s - 1]);
}

Point3 PlanMesher::to_ground(const Point3& about_origin) const {
  const Point2 plan = about_origin.head<2>() + parts_->origin;
  return {plan.x(), plan.y(), about_origin.z() + parts_->trend.at(plan)};
}

const std::vector<std::uint32_t>& PlanMesher::in_reach() const { return parts_->in_reach; }

}  // namespace moundwright

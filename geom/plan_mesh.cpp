#include "geom/plan_mesh.h"

#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/Triangulation_face_base_with_info_2.h>
#include <CGAL/Triangulation_vertex_base_with_info_2.h>
#include <gmpxx.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <tuple>
#include <utility>

#include "geom/kernel_input.h"
#include "geom/toe.h"

namespace moundwright {
namespace {

using Exact = CGAL::Exact_predicates_exact_constructions_kernel;
using Number = Exact::FT;
using PlaneD = PlaneOf<double>;

// ---- pieces on which every surface is one plane ------------------------------------------------------------------

/// About the mound's origin, plan axes; r is the ground's residual elevation.
struct Corner {
  Number x, y, r;
};
using Outline = std::vector<Corner>;

struct Piece {
  Outline outline;
  const PlanCell<double>* cell;
  std::uint32_t lowest;  // levels from this one up stand above prepared ground
  bool in_pit;
};

Number value_at(const PlaneD& plane, const Corner& p) { return plane.a * p.x + plane.b * p.y + plane.c; }

Corner crossing(const Corner& p, const Corner& q, const Number& value_p, const Number& value_q) {
  const Number part = value_p / (value_p - value_q);
  return {p.x + (q.x - p.x) * part, p.y + (q.y - p.y) * part, p.r + (q.r - p.r) * part};
}

struct Halves {
  Outline above, below;  // where the value is above zero, and the rest
};

/// Where sides of pieces cross planes. Neighbours that share a side get the very same numbers there, and so its place
/// in the triangulation is not looked for again, nor is it worked out exactly twice.
class Crossings {
 public:
  /// What values are of: a plane, and whether it is held against the pit.
  using What = std::pair<const PlaneD*, bool>;

  const Corner& at(const Corner& p, const Corner& q, const Number& value_p, const Number& value_q, const What& what) {
    const auto a = p.x.id(), b = q.x.id();
    const auto [found, is_new] = known_.try_emplace({std::min(a, b), std::max(a, b), what});
    if (is_new) found->second = crossing(p, q, value_p, value_q);
    return found->second;
  }

 private:
  std::map<std::tuple<CGAL::Handle::Id_type, CGAL::Handle::Id_type, What>, Corner> known_;  // by the ends' numbers
};

template <class Value>
Halves split(Outline outline, const Value& value_of, const Crossings::What& what, Crossings& crossings) {
  std::vector<Number> value;
  std::vector<CGAL::Sign> sign;
  for (const Corner& p : outline) {
    value.push_back(value_of(p));
    sign.push_back(CGAL::sign(value.back()));
  }
  const auto has = [&](CGAL::Sign s) { return std::find(sign.begin(), sign.end(), s) != sign.end(); };
  if (!has(CGAL::POSITIVE)) return {{}, std::move(outline)};
  if (!has(CGAL::NEGATIVE)) return {std::move(outline), {}};
  Halves halves;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const std::size_t j = (i + 1) % outline.size();
    if (sign[i] != CGAL::NEGATIVE) halves.above.push_back(outline[i]);
    if (sign[i] != CGAL::POSITIVE) halves.below.push_back(outline[i]);
    if (sign[i] * sign[j] != CGAL::NEGATIVE) continue;
    halves.above.push_back(crossings.at(outline[i], outline[j], value[i], value[j], what));
    halves.below.push_back(halves.above.back());
  }
  return halves;
}

class Cutter {
 public:
  Cutter(const PlanCells<double>& cells, double strip) : cells_(cells), strip_(strip) {}

  void cut_down(Outline outline, std::int32_t at) {
    while (at >= 0) {
      const PlanNode<double>& node = cells_.nodes[static_cast<std::size_t>(at)];
      Halves halves = split(
          std::move(outline), [&](const Corner& p) { return value_at(node.line, p); }, {&node.line, false}, crossings_);
      if (!halves.above.empty() && !halves.below.empty()) cut_down(std::move(halves.below), node.negative);
      at = halves.above.empty() ? node.negative : node.positive;
      outline = std::move(halves.above.empty() ? halves.below : halves.above);
    }
    add_cell(std::move(outline), cells_.cells[static_cast<std::size_t>(-1 - at)]);
  }

  std::vector<Piece> take() { return std::move(pieces_); }

 private:
  const PlanCells<double>& cells_;
  const double strip_;
  Crossings crossings_;
  std::vector<Piece> pieces_;

  const PlaneD& level(const PlanCell<double>& cell, std::uint32_t i) const {
    return cells_.levels[cell.first_level + i].plane;
  }

  /// Only the footprint: where the outermost level stands strictly above existing ground.
  void add_cell(Outline outline, const PlanCell<double>& cell) {
    if (cell.level_count == 0) return;
    const PlaneD& finish = level(cell, cell.level_count - 1);
    outline = split(
                  std::move(outline), [&](const Corner& p) -> Number { return value_at(finish, p) - p.r; },
                  {&finish, false}, crossings_)
                  .above;
    if (outline.empty()) return;
    if (!cell.has_pit) return add_prepared(std::move(outline), cell, false);
    Halves halves = split(
        std::move(outline), [&](const Corner& p) -> Number { return p.r - strip_ - value_at(cell.pit, p); },
        {&cell.pit, true}, crossings_);
    if (!halves.above.empty()) add_prepared(std::move(halves.above), cell, true);
    if (!halves.below.empty()) add_prepared(std::move(halves.below), cell, false);
  }

  void add_prepared(Outline outline, const PlanCell<double>& cell, bool in_pit) {
    std::uint32_t lowest = cell.level_count - 1;
    for (; lowest > 0; --lowest) {
      const PlaneD& below = level(cell, lowest - 1);
      Halves halves = split(
          std::move(outline),
          [&](const Corner& p) -> Number {
            return value_at(below, p) - (in_pit ? value_at(cell.pit, p) : Number(p.r - strip_));
          },
          {&below, in_pit}, crossings_);
      if (!halves.below.empty()) pieces_.push_back({std::move(halves.below), &cell, lowest, in_pit});
      if (halves.above.empty()) return;
      outline = std::move(halves.above);
    }
    pieces_.push_back({std::move(outline), &cell, lowest, in_pit});
  }
};

Number middle_of(const Outline& outline, Number Corner::*coordinate) {
  Number sum = 0;
  for (const Corner& p : outline) sum += p.*coordinate;
  return sum / static_cast<double>(outline.size());
}

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

/// Leaves out the specks: what the toe that counts does not enclose.
void drop_specks(std::vector<Piece>& pieces, const ToeLine& toe, const Point2& origin) {
  std::erase_if(pieces, [&](const Piece& piece) {
    const Point2 p = origin + Point2(CGAL::to_double(middle_of(piece.outline, &Corner::x)),
                                     CGAL::to_double(middle_of(piece.outline, &Corner::y)));
    return !encloses(toe, p);
  });
}

/// A whole triangle of ground and its corners' numbers there.
struct GroundTriangle {
  Outline outline;
  std::array<std::uint32_t, 3> points;
};

/// Neighbours have the very same numbers at their common corners.
std::vector<GroundTriangle> ground_triangles(const Ground& ground, const std::vector<std::uint32_t>& numbers,
                                             const Point2& origin) {
  std::map<std::uint32_t, Corner> corners;
  std::vector<GroundTriangle> triangles;
  for (const std::uint32_t t : numbers) {
    Outline outline;
    for (const std::uint32_t v : ground.tree.triangles[t]) {
      const auto [corner, is_new] = corners.try_emplace(v);
      const TinVertex<double>& p = ground.tree.vertices[v];
      if (is_new) corner->second = {Number(p.x) - origin.x(), Number(p.y) - origin.y(), Number(p.r)};
      outline.push_back(corner->second);
    }
    triangles.push_back({std::move(outline), ground.tree.triangles[t]});
  }
  return triangles;
}

std::vector<Piece> pieces_of(const std::vector<GroundTriangle>& triangles, const PlanCells<double>& cells, double strip,
                             const Buildup& buildup, const Point2& origin) {
  Cutter cutter(cells, strip);
  for (const GroundTriangle& triangle : triangles) cutter.cut_down(triangle.outline, cells.root);
  std::vector<Piece> pieces = cutter.take();
  if (buildup.specks > 0) drop_specks(pieces, buildup.toe, origin);
  return pieces;
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

double rounded(const Number& value) { return CGAL::to_double(CGAL::exact(value)); }

/// Near enough where nothing hangs on it.
Point2 about(const Exact::Point_2& p) {
  const auto middle = [](const Number& value) {
    const auto [low, high] = CGAL::to_interval(value);
    return 0.5 * (low + high);
  };
  return {middle(p.x()), middle(p.y())};
}

/// Positive where t lies inside the circle through p, q and r; a, b and c are these three less t.
template <class T>
T circle_determinant(const std::array<T, 2>& a, const std::array<T, 2>& b, const std::array<T, 2>& c) {
  const auto square = [](const std::array<T, 2>& u) -> T { return u[0] * u[0] + u[1] * u[1]; };
  const auto cross = [](const std::array<T, 2>& u, const std::array<T, 2>& v) -> T {
    return u[0] * v[1] - u[1] * v[0];
  };
  return square(a) * cross(b, c) + square(b) * cross(c, a) + square(c) * cross(a, b);
}

/// Exact, but for the choice between two diagonals where rationals take longer than all else (rectangles are many
/// here): it is made with floats of so many bits that nothing short of four points on one circle is mistaken for it.
/// There the diagonal that stands stays.
struct MeshTraits : Exact {
  struct Side_of_oriented_circle_2 {
    CGAL::Oriented_side operator()(const Point_2& p, const Point_2& q, const Point_2& r, const Point_2& t) const {
      // Of the determinant's terms, and job units that coordinates may be off: rounding is far below both.
      constexpr double clearly = 1e-9, off = 1e-12;
      const Point2 middle = about(t), a = about(p) - middle, b = about(q) - middle, c = about(r) - middle;
      const double inside = circle_determinant<double>({a.x(), a.y()}, {b.x(), b.y()}, {c.x(), c.y()});
      const double size = a.norm() + b.norm() + c.norm();
      const double least = clearly * a.norm() * b.norm() * c.norm() * size + off * size * size * size;
      const bool is_inside = std::abs(inside) > least ? inside > 0 : is_surely_inside(p, q, r, t);
      return is_inside ? CGAL::ON_POSITIVE_SIDE : CGAL::ON_NEGATIVE_SIDE;
    }

   private:
    static bool is_surely_inside(const Point_2& p, const Point_2& q, const Point_2& r, const Point_2& t) {
      constexpr unsigned bits = 512, sure_bits = 400;
      const auto from_t = [&](const Point_2& of) {
        const auto less = [](const Number& u, const Number& v) {
          return mpf_class(mpf_class(CGAL::exact(u), bits) - mpf_class(CGAL::exact(v), bits));
        };
        return std::array<mpf_class, 2>{less(of.x(), t.x()), less(of.y(), t.y())};
      };
      mpf_class least(1, bits);
      mpf_div_2exp(least.get_mpf_t(), least.get_mpf_t(), sure_bits);
      return circle_determinant<mpf_class>(from_t(p), from_t(q), from_t(r)) > least;
    }
  };
  Side_of_oriented_circle_2 side_of_oriented_circle_2_object() const { return {}; }
};

/// The outlines of all pieces as one triangulation. They meet in corners and along sides and never cross, so that no
/// point is ever constructed here.
class PlanTriangulation {
 public:
  /// `round_about` are whole triangles of ground, which hold all pieces, or none.
  PlanTriangulation(const std::vector<Piece>& pieces, const std::vector<GroundTriangle>& round_about)
      : pieces_(pieces), round_about_(round_about) {
    std::vector<VertexHandle> corners;  // of every outline in turn; all come first, so that no side is cut later
    for_each_outline([&](const Outline& outline) { insert_corners(outline, corners); });
    auto corner = corners.begin();
    for_each_outline([&](const Outline& outline) {
      const std::size_t n = outline.size();
      const auto at = [&](std::size_t i) { return corner[static_cast<std::ptrdiff_t>(i % n)]; };
      for (std::size_t i = 0; i < n; ++i) triangulation_.insert_constraint(at(i), at(i + 1));
      corner += static_cast<std::ptrdiff_t>(n);
    });
    corner = corners.end() - static_cast<std::ptrdiff_t>(3 * round_about_.size());
    for (const GroundTriangle& triangle : round_about_) {
      for (const std::uint32_t point : triangle.points) {
        (*corner++)->info().ground_point = static_cast<std::int32_t>(point);
      }
    }
    label();
  }

  void split_edges(const std::vector<EdgePoint>& places) {
    for (const EdgePoint& place : places) {
      const VertexHandle from = handles_[place.from], to = handles_[place.to];
      const Exact::Point_2 p = from->point() + Number(place.part) * (to->point() - from->point());
      const double r = from->info().r + place.part * (to->info().r - from->info().r);
      triangulation_.insert(p, from->face())->info().r = r;
    }
    label();
  }

  PlanMesh mesh() {
    PlanMesh mesh;
    handles_.clear();
    for (const VertexHandle v : triangulation_.finite_vertex_handles()) {
      v->info().index = static_cast<std::uint32_t>(handles_.size());
      handles_.push_back(v);
      mesh.vertices.push_back({rounded(v->point().x()), rounded(v->point().y()), v->info().r, v->info().ground_point});
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

  const std::vector<Piece>& pieces_;
  const std::vector<GroundTriangle>& round_about_;
  Triangulation triangulation_;
  std::vector<VertexHandle> handles_;                                                      // of the mesh's vertices
  std::map<std::pair<CGAL::Handle::Id_type, CGAL::Handle::Id_type>, VertexHandle> known_;  // by x's and y's identity

  template <class F>
  void for_each_outline(const F& f) const {
    for (const Piece& piece : pieces_) f(piece.outline);
    for (const GroundTriangle& triangle : round_about_) f(triangle.outline);
  }

  /// Pieces share the very numbers of their corners (Crossings); finding a corner's place takes far longer than knowing
  /// it again.
  void insert_corners(const Outline& outline, std::vector<VertexHandle>& corners) {
    for (const Corner& p : outline) {
      VertexHandle& v = known_[{p.x.id(), p.y.id()}];
      if (v == VertexHandle()) {
        const FaceHandle near = corners.empty() ? FaceHandle() : corners.back()->face();
        v = triangulation_.insert(Exact::Point_2(p.x, p.y), near);
        v->info().r = rounded(p.r);
      }
      corners.push_back(v);
    }
  }

  static bool is_footprint(FaceHandle f) { return f->info().piece >= 0; }

  /// Fills every triangle round about from a point inside it up to its sides, then every piece up to its outline.
  void label() {
    for (const FaceHandle f : triangulation_.all_face_handles()) f->info().piece = nowhere;
    FaceHandle near;
    const auto inside = [&](const Outline& outline) {
      return near = triangulation_.locate({middle_of(outline, &Corner::x), middle_of(outline, &Corner::y)}, near);
    };
    for (const GroundTriangle& triangle : round_about_) {
      fill(inside(triangle.outline), beside, [&](FaceHandle f, int i) { return is_on_side(f, i, triangle.outline); });
    }
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
      fill(inside(pieces_[i].outline), static_cast<std::int32_t>(i), [](FaceHandle, int) { return true; });
    }
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
  static bool is_on_side(FaceHandle f, int edge, const Outline& outline) {
    const Exact::Point_2 &p = f->vertex(Triangulation::ccw(edge))->point(),
                         &q = f->vertex(Triangulation::cw(edge))->point();
    for (std::size_t i = 0; i < outline.size(); ++i) {
      const Corner &from = outline[i], &to = outline[(i + 1) % outline.size()];
      const Exact::Point_2 a(from.x, from.y), b(to.x, to.y);
      if (CGAL::collinear(a, b, p) && CGAL::collinear(a, b, q)) return true;
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
  const PlaneD* plane;
  double below_ground;
  double at(const PlanVertex& v) const { return plane != nullptr ? plane->at(v.x, v.y) : v.r - below_ground; }
};

std::vector<Surface> surfaces_of(const Piece& piece, const PlanCells<double>& cells, double strip) {
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

/// Lines and levels about the mound's origin, elevations as residuals.
PlanCells<double> placed_cells(const Ground& ground, const MoundPlan& plan, const Buildup& buildup) {
  KernelWork<double> work;
  place(*plan.cells, kernel_spot(ground, plan, buildup.bottom_elevation), kernel_prepare(plan.design), work);
  return std::move(work.placed);
}

}  // namespace

struct PlanMesher::Parts {
  PlanCells<double> cells;  // the pieces point into it
  Point2 origin = Point2::Zero();
  Plane trend;
  std::vector<std::uint32_t> in_reach;
  std::vector<GroundTriangle> round_about;
  std::vector<Piece> pieces;
  std::vector<std::vector<Surface>> surfaces;  // of each piece
  std::optional<PlanTriangulation> triangulation;
};

PlanMesher::PlanMesher(const Ground& ground, const MoundPlan& plan, const Buildup& buildup, MeshExtent extent)
    : parts_(std::make_unique<Parts>()) {
  Parts& parts = *parts_;
  const double strip = plan.design.prepare.strip;
  parts.cells = placed_cells(ground, plan, buildup);
  parts.origin = ground.to_local(plan.placement.origin);
  parts.trend = ground.trend;
  const Polygon2 box = box_around(buildup.toe);
  if (box.empty()) return;
  parts.in_reach = triangles_meeting(ground, box);
  std::vector<GroundTriangle> triangles = ground_triangles(ground, parts.in_reach, parts.origin);
  parts.pieces = pieces_of(triangles, parts.cells, strip, buildup, parts.origin);
  for (const Piece& piece : parts.pieces) parts.surfaces.push_back(surfaces_of(piece, parts.cells, strip));
  if (extent == MeshExtent::ground_in_reach) parts.round_about = std::move(triangles);
  if (!parts.pieces.empty()) parts.triangulation.emplace(parts.pieces, parts.round_about);
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

// How it works. Every triangle under the mound is cut, in exact arithmetic, into convex pieces on each of which every
// surface (existing, stripped and prepared ground, the top of every layer) is one plane. Their outlines are the
// constraints of a triangulation, so that a corner of one piece on the side of another becomes a corner of both. Then
// the plan is left for plain arrays: at every corner the elevations of all surfaces of all faces around it are sorted
// and made points, and from there on only the points' numbers matter: a solid is the tops and bottoms of its columns,
// and walls where neighbouring columns differ. Closedness follows from the numbering, whatever rounding does.
#include "geom/solids.h"

#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/Triangulation_face_base_with_info_2.h>
#include <CGAL/Triangulation_vertex_base_with_info_2.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "geom/kernel_input.h"
#include "geom/toe.h"

namespace moundwright {
namespace {

using Exact = CGAL::Exact_predicates_exact_constructions_kernel;
using Number = Exact::FT;
using PlaneD = PlaneOf<double>;

/// Elevations (feet or metres) closer than this at one place are one: creases of a layer agree to about 1e-14 only.
constexpr double same_elevation = 1e-9;

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

template <class Value>
Halves split(Outline outline, const Value& value_of) {
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
    halves.above.push_back(crossing(outline[i], outline[j], value[i], value[j]));
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
      Halves halves = split(std::move(outline), [&](const Corner& p) { return value_at(node.line, p); });
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
  std::vector<Piece> pieces_;

  const PlaneD& level(const PlanCell<double>& cell, std::uint32_t i) const {
    return cells_.levels[cell.first_level + i].plane;
  }

  /// Only the footprint: where the outermost level stands strictly above existing ground.
  void add_cell(Outline outline, const PlanCell<double>& cell) {
    if (cell.level_count == 0) return;
    const PlaneD& finish = level(cell, cell.level_count - 1);
    outline = split(std::move(outline), [&](const Corner& p) -> Number { return value_at(finish, p) - p.r; }).above;
    if (outline.empty()) return;
    if (!cell.has_pit) return add_prepared(std::move(outline), cell, false);
    Halves halves =
        split(std::move(outline), [&](const Corner& p) -> Number { return p.r - strip_ - value_at(cell.pit, p); });
    if (!halves.above.empty()) add_prepared(std::move(halves.above), cell, true);
    if (!halves.below.empty()) add_prepared(std::move(halves.below), cell, false);
  }

  void add_prepared(Outline outline, const PlanCell<double>& cell, bool in_pit) {
    std::uint32_t lowest = cell.level_count - 1;
    for (; lowest > 0; --lowest) {
      const PlaneD& below = level(cell, lowest - 1);
      Halves halves = split(std::move(outline), [&](const Corner& p) -> Number {
        return value_at(below, p) - (in_pit ? value_at(cell.pit, p) : Number(p.r - strip_));
      });
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

std::vector<Piece> pieces_of(const Ground& ground, const PlanCells<double>& cells, double strip, const Buildup& buildup,
                             const Point2& origin) {
  const Polygon2 box = box_around(buildup.toe);
  if (box.empty()) return {};
  Cutter cutter(cells, strip);
  for (const std::uint32_t t : triangles_meeting(ground, box)) {
    Outline outline;
    for (const std::uint32_t v : ground.tree.triangles[t]) {
      const TinVertex<double>& p = ground.tree.vertices[v];
      outline.push_back({Number(p.x) - origin.x(), Number(p.y) - origin.y(), Number(p.r)});
    }
    cutter.cut_down(std::move(outline), cells.root);
  }
  std::vector<Piece> pieces = cutter.take();
  if (buildup.specks > 0) drop_specks(pieces, buildup.toe, origin);
  return pieces;
}

// ---- the plan, triangulated --------------------------------------------------------------------------------------

struct PlanVertex {
  double x, y, r;  // as Corner
};

struct PlanFace {
  std::array<std::uint32_t, 3> corners;    // counter-clockwise
  std::array<std::int32_t, 3> neighbours;  // across the edge from corner i to corner i + 1; -1 outside the footprint
  std::uint32_t piece;
};

struct PlanMesh {
  std::vector<PlanVertex> vertices;
  std::vector<PlanFace> faces;
};

/// A place on the edge between two plan vertices where walls have to be split: `part` of the way from one to the other.
struct EdgePoint {
  std::uint32_t from, to;
  double part;
};

struct VertexInfo {
  double r = 0;  // of the ground here
  std::uint32_t index = 0;
};
struct FaceInfo {
  std::int32_t piece = -1, index = -1;
};

double rounded(const Number& value) { return CGAL::to_double(CGAL::exact(value)); }

/// The outlines of all pieces as one triangulation. They meet in corners and along sides and never cross, so that no
/// point is ever constructed here.
class PlanTriangulation {
 public:
  explicit PlanTriangulation(const std::vector<Piece>& pieces) : pieces_(pieces) {
    for (const Piece& piece : pieces) insert_corners(piece.outline);
    auto corner = corners_.begin();
    for (const Piece& piece : pieces) {
      const std::size_t n = piece.outline.size();
      for (std::size_t i = 0; i < n; ++i) triangulation_.insert_constraint(corner[i], corner[(i + 1) % n]);
      corner += static_cast<std::ptrdiff_t>(n);
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
      mesh.vertices.push_back({rounded(v->point().x()), rounded(v->point().y()), v->info().r});
    }
    std::int32_t count = 0;
    for (const FaceHandle f : triangulation_.finite_face_handles()) f->info().index = is_footprint(f) ? count++ : -1;
    for (const FaceHandle f : triangulation_.finite_face_handles()) {
      if (is_footprint(f)) mesh.faces.push_back(plain(f));
    }
    return mesh;
  }

 private:
  using VertexBase = CGAL::Triangulation_vertex_base_with_info_2<VertexInfo, Exact>;
  using FaceBase =
      CGAL::Constrained_triangulation_face_base_2<Exact, CGAL::Triangulation_face_base_with_info_2<FaceInfo, Exact>>;
  using Triangulation =
      CGAL::Constrained_Delaunay_triangulation_2<Exact, CGAL::Triangulation_data_structure_2<VertexBase, FaceBase>,
                                                 CGAL::No_constraint_intersection_requiring_constructions_tag>;
  using VertexHandle = Triangulation::Vertex_handle;
  using FaceHandle = Triangulation::Face_handle;

  const std::vector<Piece>& pieces_;
  Triangulation triangulation_;
  std::vector<VertexHandle> corners_;  // of every piece in turn
  std::vector<VertexHandle> handles_;  // of the mesh's vertices

  void insert_corners(const Outline& outline) {
    FaceHandle near = corners_.empty() ? FaceHandle() : corners_.back()->face();
    for (const Corner& p : outline) {
      const VertexHandle v = triangulation_.insert(Exact::Point_2(p.x, p.y), near);
      v->info().r = rounded(p.r);
      corners_.push_back(v);
      near = v->face();
    }
  }

  static bool is_footprint(FaceHandle f) { return f->info().piece >= 0; }

  /// Fills every piece from a point inside it up to its outline.
  void label() {
    for (const FaceHandle f : triangulation_.all_face_handles()) f->info().piece = -1;
    FaceHandle near;
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
      const Outline& outline = pieces_[i].outline;
      near = triangulation_.locate({middle_of(outline, &Corner::x), middle_of(outline, &Corner::y)}, near);
      fill(near, static_cast<std::int32_t>(i));
    }
  }

  static void fill(FaceHandle start, std::int32_t piece) {
    start->info().piece = piece;
    std::vector<FaceHandle> open{start};
    while (!open.empty()) {
      const FaceHandle f = open.back();
      open.pop_back();
      for (int i = 0; i < 3; ++i) {
        const FaceHandle next = f->neighbor(i);
        if (f->is_constrained(i) || next->info().piece == piece) continue;
        next->info().piece = piece;
        open.push_back(next);
      }
    }
  }

  static PlanFace plain(FaceHandle f) {
    PlanFace face{{}, {}, static_cast<std::uint32_t>(f->info().piece)};
    for (int i = 0; i < 3; ++i) {
      face.corners[static_cast<std::size_t>(i)] = f->vertex(i)->info().index;
      face.neighbours[static_cast<std::size_t>(i)] = f->neighbor(Triangulation::cw(i))->info().index;
    }
    return face;
  }
};

// ---- elevations of all surfaces at all corners ---------------------------------------------------------------------

// Surfaces by number: existing, stripped and prepared ground, then the top of each layer.
constexpr std::size_t existing = 0, stripped = 1, prepared = 2;

/// On one piece: so far below the ground (if `plane` is null), or a plane.
struct Surface {
  const PlaneD* plane;
  double below_ground;
  double at(const PlanVertex& v) const { return plane != nullptr ? plane->at(v.x, v.y) : v.r - below_ground; }
};

std::vector<Surface> surfaces_of(const Piece& piece, const PlanCells<double>& cells, double strip) {
  std::vector<Surface> surfaces{{nullptr, 0}, {nullptr, strip}, {nullptr, strip}};
  if (piece.in_pit) surfaces[prepared].plane = &piece.cell->pit;
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

/// Points numbered so that those over one plan vertex follow each other from the lowest up.
struct Points {
  std::vector<Point3> at;  // x, y as PlanVertex; z a residual elevation
  std::vector<std::array<std::uint32_t, 3>>
      of;  // the three corners of face f's surface s are of[f * surface_count + s]
  std::size_t surface_count;

  std::uint32_t number(std::size_t face, std::size_t surface, std::size_t corner) const {
    return of[face * surface_count + surface][corner];
  }
};

struct Seen {
  std::uint32_t vertex;
  double z;
  std::uint32_t* number;
};

/// Elevations of a piece's surfaces at one place. Layers never go down and pits never up, also where rounding would.
void elevations_at(const PlanVertex& v, const std::vector<Surface>& surfaces, std::vector<double>& z) {
  z.clear();
  for (const Surface& surface : surfaces) z.push_back(surface.at(v));
  z[prepared] = std::min(z[prepared], z[stripped]);
  for (std::size_t s = prepared + 1; s < z.size(); ++s) z[s] = std::max(z[s], z[s - 1]);
}

Points number_points(const PlanMesh& mesh, const std::vector<std::vector<Surface>>& surfaces_by_piece,
                     std::size_t surface_count) {
  Points points;
  points.surface_count = surface_count;
  points.of.resize(mesh.faces.size() * surface_count);
  std::vector<Seen> seen;
  std::vector<double> z;
  seen.reserve(3 * points.of.size());
  for (std::size_t f = 0; f < mesh.faces.size(); ++f) {
    const PlanFace& face = mesh.faces[f];
    for (std::size_t i = 0; i < 3; ++i) {
      const std::uint32_t v = face.corners[i];
      elevations_at(mesh.vertices[v], surfaces_by_piece[face.piece], z);
      for (std::size_t s = 0; s < surface_count; ++s) {
        seen.push_back({v, z[s], &points.of[f * surface_count + s][i]});
      }
    }
  }
  std::sort(seen.begin(), seen.end(),
            [](const Seen& p, const Seen& q) { return p.vertex != q.vertex ? p.vertex < q.vertex : p.z < q.z; });
  for (std::size_t i = 0; i < seen.size(); ++i) {
    const Seen& here = seen[i];
    if (i == 0 || seen[i - 1].vertex != here.vertex || here.z - seen[i - 1].z > same_elevation) {
      points.at.emplace_back(mesh.vertices[here.vertex].x, mesh.vertices[here.vertex].y, here.z);
    }
    *here.number = static_cast<std::uint32_t>(points.at.size() - 1);
  }
  return points;
}

// ---- solids
// ------------------------------------------------------------------------------------------------------------

/// Which two surfaces a solid lies between.
struct Span {
  std::size_t low, high;
};

/// A surface along an edge from u to v, as the numbers of its two end points.
struct Line {
  std::uint32_t u, v;
  friend bool operator==(const Line&, const Line&) = default;
};

/// A column's side over an edge.
struct Side {
  Line low, high;
  bool is_empty() const { return low == high; }
  friend bool operator==(const Side&, const Side&) = default;
};

class SolidMaker {
 public:
  SolidMaker(const PlanMesh& mesh, const Points& points) : mesh_(mesh), points_(points) {}

  Solid make(const Span& span, const Point2& origin, const Plane& trend) {
    solid_ = Solid{};
    place_.assign(points_.at.size(), unused);
    for (std::size_t f = 0; f < mesh_.faces.size(); ++f) {
      add_top_and_bottom(f, span);
      for (std::size_t i = 0; i < 3; ++i) {
        const std::int32_t other = mesh_.faces[f].neighbours[i];
        if (other >= 0 && static_cast<std::size_t>(other) < f) continue;  // done from the other side
        add_walls(sides_at(f, i, span));
      }
    }
    for (Point3& p : solid_.points) {
      p.head<2>() += origin;
      p.z() += trend.at(p.head<2>());
    }
    return std::move(solid_);
  }

  /// Where surfaces of the two columns at an edge cross along it.
  std::vector<EdgePoint> crossings(const std::vector<Span>& spans) const {
    std::vector<EdgePoint> result;
    for (std::size_t f = 0; f < mesh_.faces.size(); ++f) {
      for (std::size_t i = 0; i < 3; ++i) {
        const std::int32_t other = mesh_.faces[f].neighbours[i];
        if (other < 0 || static_cast<std::size_t>(other) < f) continue;
        for (const Span& span : spans) {
          const auto [mine, theirs] = sides_at(f, i, span);
          if (mine.is_empty() || theirs.is_empty()) continue;
          for (const Line& p : {mine.low, mine.high}) {
            for (const Line& q : {theirs.low, theirs.high}) add_crossing(f, i, p, q, result);
          }
        }
      }
    }
    return result;
  }

 private:
  static constexpr std::uint32_t unused = ~std::uint32_t{0};
  const PlanMesh& mesh_;
  const Points& points_;
  Solid solid_;
  std::vector<std::uint32_t> place_;  // of each point, in solid_

  std::uint32_t point(std::uint32_t number) {
    if (place_[number] == unused) {
      place_[number] = static_cast<std::uint32_t>(solid_.points.size());
      solid_.points.push_back(points_.at[number]);
    }
    return place_[number];
  }

  void add_triangle(std::uint32_t a, std::uint32_t b, std::uint32_t c) {
    solid_.triangles.push_back({point(a), point(b), point(c)});
  }

  void add_top_and_bottom(std::size_t f, const Span& span) {
    const auto& low = points_.of[f * points_.surface_count + span.low];
    const auto& high = points_.of[f * points_.surface_count + span.high];
    if (low == high) return;
    add_triangle(high[0], high[1], high[2]);
    add_triangle(low[0], low[2], low[1]);
  }

  Line line_at(std::size_t f, std::size_t surface, std::size_t from, std::size_t to) const {
    return {points_.number(f, surface, from), points_.number(f, surface, to)};
  }

  /// The sides of the two columns at edge i of face f, from its corner i to the next. Outside the footprint: an empty
  /// one.
  std::pair<Side, Side> sides_at(std::size_t f, std::size_t i, const Span& span) const {
    const std::size_t j = (i + 1) % 3;
    const Side mine{line_at(f, span.low, i, j), line_at(f, span.high, i, j)};
    const std::int32_t other = mesh_.faces[f].neighbours[i];
    if (other < 0) return {mine, {mine.low, mine.low}};
    const auto g = static_cast<std::size_t>(other);
    const auto& corners = mesh_.faces[g].corners;
    const auto corner_at = [&](std::uint32_t v) {
      return static_cast<std::size_t>(std::find(corners.begin(), corners.end(), v) - corners.begin());
    };
    const std::size_t u = corner_at(mesh_.faces[f].corners[i]), v = corner_at(mesh_.faces[f].corners[j]);
    return {mine, {line_at(g, span.low, u, v), line_at(g, span.high, u, v)}};
  }

  void add_crossing(std::size_t f, std::size_t i, const Line& p, const Line& q, std::vector<EdgePoint>& result) const {
    const bool crosses = (p.u < q.u && p.v > q.v) || (p.u > q.u && p.v < q.v);
    if (!crosses) return;
    const double over_u = points_.at[p.u].z() - points_.at[q.u].z(), over_v = points_.at[p.v].z() - points_.at[q.v].z();
    const auto& corners = mesh_.faces[f].corners;
    const EdgePoint place{corners[i], corners[(i + 1) % 3], over_u / (over_u - over_v)};
    const auto is_same = [&](const EdgePoint& known) {
      return known.from == place.from && known.to == place.to && std::abs(known.part - place.part) < 1e-12;
    };
    if (std::none_of(result.begin(), result.end(), is_same)) result.push_back(place);
  }

  /// What one column has along the edge and the other has not, facing the other. Lines do not cross here, so that
  /// they have an order.
  void add_walls(const std::pair<Side, Side>& sides) {
    const auto& [mine, theirs] = sides;
    if (mine == theirs) return;
    std::array<Line, 4> lines{mine.low, mine.high, theirs.low, theirs.high};
    std::sort(lines.begin(), lines.end(), [](const Line& p, const Line& q) {
      return std::pair(std::uint64_t{p.u} + p.v, p.u) < std::pair(std::uint64_t{q.u} + q.v, q.u);
    });
    const auto rank = [&](const Line& line) { return std::find(lines.begin(), lines.end(), line) - lines.begin(); };
    const auto holds = [&](const Side& side, std::ptrdiff_t i) { return rank(side.low) <= i && i < rank(side.high); };
    for (std::ptrdiff_t i = 0; i < 3; ++i) {
      const bool in_mine = holds(mine, i), in_theirs = holds(theirs, i);
      if (in_mine != in_theirs)
        add_wall({lines[static_cast<std::size_t>(i)], lines[static_cast<std::size_t>(i) + 1]}, in_theirs);
    }
  }

  /// The wall between two lines, facing right as one goes from u to v, or left. Its upright ends are cut at every point
  /// there, whatever solid it is of, so that all walls at one upright have the same points.
  void add_wall(const Side& side, bool faces_left) {
    std::uint32_t u = side.low.u, v = side.low.v;
    const auto next = [](std::uint32_t at, std::uint32_t end) { return at < end ? at + 1 : at - 1; };
    const auto apart = [&](std::uint32_t a, std::uint32_t b) {
      return std::abs(points_.at[a].z() - points_.at[b].z());
    };
    while (u != side.high.u || v != side.high.v) {
      const std::uint32_t next_u = next(u, side.high.u), next_v = next(v, side.high.v);
      const bool climb_u = v == side.high.v || (u != side.high.u && apart(next_u, v) < apart(next_v, u));
      const std::uint32_t third = climb_u ? next_u : next_v;
      faces_left ? add_triangle(u, third, v) : add_triangle(u, v, third);
      (climb_u ? u : v) = third;
    }
  }
};

std::vector<Span> spans_of(const Buildup& buildup) {
  std::vector<Span> spans;
  for (std::size_t k = 0; k < buildup.layers.size(); ++k) spans.push_back({prepared + k, prepared + k + 1});
  for (const CutItem& cut : buildup.cuts) {
    spans.push_back(cut.name == "strip" ? Span{stripped, existing} : Span{prepared, stripped});
  }
  return spans;
}

/// Lines and levels about the mound's origin, elevations as residuals.
PlanCells<double> placed_cells(const Ground& ground, const MoundPlan& plan, const Buildup& buildup) {
  KernelWork<double> work;
  place(*plan.cells, kernel_spot(ground, plan, buildup.bottom_elevation), kernel_prepare(plan.design), work);
  return std::move(work.placed);
}

/// The solids about the mound's origin, in the order of the spans.
std::vector<Solid> make_solids(const std::vector<Piece>& pieces, const PlanCells<double>& cells, double strip,
                               const std::vector<Span>& spans, const Point2& origin, const Plane& trend) {
  std::vector<std::vector<Surface>> surfaces;
  for (const Piece& piece : pieces) surfaces.push_back(surfaces_of(piece, cells, strip));
  const std::size_t surface_count = prepared + 1 + cells.layer_count;
  PlanTriangulation triangulation(pieces);
  PlanMesh mesh = triangulation.mesh();
  Points points = number_points(mesh, surfaces, surface_count);
  const std::vector<EdgePoint> crossings = SolidMaker(mesh, points).crossings(spans);
  if (!crossings.empty()) {
    triangulation.split_edges(crossings);
    mesh = triangulation.mesh();
    points = number_points(mesh, surfaces, surface_count);
  }
  SolidMaker maker(mesh, points);
  std::vector<Solid> solids;
  for (const Span& span : spans) solids.push_back(maker.make(span, origin, trend));
  return solids;
}

}  // namespace

std::vector<Solid> layer_solids(const Ground& ground, const MoundPlan& plan, const Buildup& buildup) {
  const PlanCells<double> cells = placed_cells(ground, plan, buildup);
  const Point2 origin = ground.to_local(plan.placement.origin);
  const double strip = plan.design.prepare.strip;
  const std::vector<Piece> pieces = pieces_of(ground, cells, strip, buildup, origin);
  const std::vector<Span> spans = spans_of(buildup);
  std::vector<Solid> solids(spans.size());
  if (!pieces.empty()) solids = make_solids(pieces, cells, strip, spans, origin, ground.trend);
  for (std::size_t k = 0; k < buildup.layers.size(); ++k) {
    solids[k].name = buildup.layers[k].name;
    solids[k].material = buildup.layers[k].material;
  }
  for (std::size_t i = 0; i < buildup.cuts.size(); ++i) solids[buildup.layers.size() + i].name = buildup.cuts[i].name;
  return solids;
}

double volume_of(const Solid& solid) {
  double sum = 0;
  for (const auto& t : solid.triangles) {  // about a point of its own, so that nothing is lost far from the origin
    const Point3& from = solid.points.front();
    const Point3 a = solid.points[t[0]] - from, b = solid.points[t[1]] - from, c = solid.points[t[2]] - from;
    sum += a.dot(b.cross(c)) / 6;
  }
  return sum;
}

}  // namespace moundwright

// How it works. The plan mesh has every surface as one plane on each of its faces. At every corner the elevations of
// all surfaces of all faces around it are sorted and made points, and from there on only the points' numbers matter: a
// solid is the tops and bottoms of its columns, and walls where neighbouring columns differ. Closedness follows from
// the numbering, whatever rounding does.
#include "geom/solids.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "geom/plan_mesh.h"

namespace moundwright {
namespace {

/// Elevations (feet or metres) closer than this at one place are one: creases of a layer agree to about 1e-14 only.
constexpr double same_elevation = 1e-9;

// ---- points at all corners ---------------------------------------------------------------------------------------

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

Points number_points(const PlanMesher& mesher, const PlanMesh& mesh) {
  const std::size_t surface_count = mesher.surface_count();
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
      mesher.elevations_at(mesh.vertices[v], face.piece, z);
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

// ---- solids ------------------------------------------------------------------------------------------------------

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

  Solid make(const Span& span, const PlanMesher& mesher) {
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
    for (Point3& p : solid_.points) p = mesher.to_ground(p);
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
    const EdgePoint place{corners[i], corners[(i + 1) % 3], zero_share(over_u, over_v)};
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
    if (mine.is_empty() || theirs.is_empty()) return add_lone_wall(sides);
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

  /// Where only one column has anything there. The other's line is left out, which may cross the wall anywhere.
  void add_lone_wall(const std::pair<Side, Side>& sides) {
    const auto& [mine, theirs] = sides;
    if (!mine.is_empty()) add_wall(mine, false);
    if (!theirs.is_empty()) add_wall(theirs, true);
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
  for (std::size_t k = 0; k < buildup.layers.size(); ++k) spans.push_back({surface_after(k) - 1, surface_after(k)});
  for (const CutItem& cut : buildup.cuts) {
    spans.push_back(cut.name == "strip" ? Span{stripped_surface, existing_surface}
                                        : Span{prepared_surface, stripped_surface});
  }
  return spans;
}

std::vector<Solid> make_solids(PlanMesher& mesher, const std::vector<Span>& spans) {
  PlanMesh mesh = mesher.mesh();
  Points points = number_points(mesher, mesh);
  const std::vector<EdgePoint> crossings = SolidMaker(mesh, points).crossings(spans);
  if (!crossings.empty()) {
    mesher.split_edges(crossings);
    mesh = mesher.mesh();
    points = number_points(mesher, mesh);
  }
  SolidMaker maker(mesh, points);
  std::vector<Solid> solids;
  for (const Span& span : spans) solids.push_back(maker.make(span, mesher));
  return solids;
}

}  // namespace

std::vector<Solid> layer_solids(const PlacedMound& mound) {
  PlanMesher mesher(mound);
  const std::vector<Span> spans = spans_of(mound.buildup);
  std::vector<Solid> solids(spans.size());
  if (!mesher.is_empty()) solids = make_solids(mesher, spans);
  for (std::size_t k = 0; k < mound.buildup.layers.size(); ++k) {
    solids[k].name = mound.buildup.layers[k].name;
    solids[k].material = mound.buildup.layers[k].material;
  }
  for (std::size_t i = 0; i < mound.buildup.cuts.size(); ++i)
    solids[mound.buildup.layers.size() + i].name = mound.buildup.cuts[i].name;
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

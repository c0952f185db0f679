#include "geom/low_spots.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <queue>
#include <set>
#include <unordered_map>
#include <unordered_set>
#include <utility>

#include "geom/breaklines.h"
#include "geom/plan.h"
#include "geom/tin_walk.h"
#include "geom/triangulate.h"

namespace moundwright {
namespace {

using Corners = std::array<std::uint32_t, 3>;

constexpr double infinity = std::numeric_limits<double>::infinity();

/// The ground outside the toe, as far as it is asked for: the triangles that the toe touches, cut along it, and the
/// survey's own beyond them. Nodes are the survey's vertices and, after them, those that the toe makes.
struct OuterGround {
  const Ground& ground;
  std::vector<bool> touched;          // triangles of the survey that the toe touches
  std::vector<Point3> toe_nodes;      // from ground.points.size() on
  std::vector<std::uint32_t> on_toe;  // nodes, the survey's own among them
  std::vector<Corners> cut;           // what the toe leaves of the touched triangles
  std::unordered_map<std::uint32_t, std::vector<std::uint32_t>> cut_round;  // indices into `cut`, by node
  std::unordered_set<std::uint32_t> way_out;               // of cut triangles' nodes, where the survey ends
  std::unordered_map<std::uint32_t, std::uint32_t> start;  // of a vertex, one triangle round it

  double z(std::uint32_t node) const { return point(node).z(); }
  const Point3& point(std::uint32_t node) const {
    return node < ground.points.size() ? ground.points[node] : toe_nodes[node - ground.points.size()];
  }
};

bool is_in_mound(const ToeLine& toe, const Point2& p) {
  return std::any_of(toe.outer.begin(), toe.outer.end(), [&](const Polygon2& loop) { return is_inside(loop, p); });
}

/// True of every triangle that the toe touches.
std::vector<bool> triangles_on_toe(const Ground& ground, const ToeLine& toe) {
  std::vector<bool> touched(ground.triangle_count());
  for (const Polygon2& loop : toe.outer) {
    for (std::size_t i = 0; i < loop.size(); ++i) {
      for (const std::uint32_t t : triangles_meeting(ground, {loop[i], loop[(i + 1) % loop.size()]})) touched[t] = true;
    }
  }
  return touched;
}

/// Sites no nearer to each other than same_place: a toe that runs through a shot has a point there already.
class Sites {
 public:
  std::vector<Site> all;

  std::uint32_t at(const Point3& p, std::int64_t vertex) {
    const std::int64_t column = cell_of(p.x()), row = cell_of(p.y());
    for (std::int64_t i = column - 1; i <= column + 1; ++i) {
      for (std::int64_t j = row - 1; j <= row + 1; ++j) {
        const auto found = cells_.find({i, j});
        if (found != cells_.end() && (all[found->second].plan() - p.head<2>()).norm() < 2 * same_place) {
          return found->second;
        }
      }
    }
    const auto index = static_cast<std::uint32_t>(all.size());
    all.push_back({p.x(), p.y(), p.z(), vertex});
    cells_.emplace(std::pair{column, row}, index);
    return index;
  }

 private:
  std::map<std::pair<std::int64_t, std::int64_t>, std::uint32_t> cells_;
  static std::int64_t cell_of(double x) { return static_cast<std::int64_t>(std::floor(x / (2 * same_place))); }
};

/// The touched triangles cut along the toe. `Site::shot` holds the survey's vertex, or -1 for a point of the toe.
struct CutGround {
  std::vector<Site> sites;
  std::vector<bool> on_toe;
  std::vector<Corners> triangles;
};

CutGround cut_along_toe(const Ground& ground, const ToeLine& toe, const std::vector<bool>& touched) {
  Sites sites;
  std::set<PlanEdge> edges;
  const auto add_edge = [&](std::uint32_t a, std::uint32_t b) {
    if (a != b) edges.insert({std::min(a, b), std::max(a, b)});
  };
  for (std::uint32_t t = 0; t < touched.size(); ++t) {
    if (!touched[t]) continue;
    Corners corner = ground.tree.triangles[t];
    for (std::uint32_t& v : corner) v = sites.at(ground.points[v], v);
    for (int i = 0; i < 3; ++i) add_edge(corner[i], corner[(i + 1) % 3]);
  }
  std::set<std::uint32_t> toe_sites;
  for (const Polygon2& loop : toe.outer) {
    std::vector<std::uint32_t> around;
    for (const Point2& p : loop) around.push_back(sites.at({p.x(), p.y(), 0}, -1));
    for (std::size_t i = 0; i < around.size(); ++i) add_edge(around[i], around[(i + 1) % around.size()]);
    toe_sites.insert(around.begin(), around.end());
  }
  std::vector<BreakSegment> segments;
  for (const PlanEdge& e : edges) segments.push_back({e[0], e[1], {}});
  CutGround cut;
  cut.sites = std::move(sites.all);
  const std::size_t before = cut.sites.size();
  Problems unused;  // with no limit on how far apart the two may be there is nothing to tell
  cut_crossings(cut.sites, segments, infinity, {}, Point2::Zero(), unused);

  std::vector<Point2> points;
  for (Site& site : cut.sites) {
    if (site.shot < 0) site.z = elevation_at(ground, site.plan()).value_or(site.z);
    points.push_back(site.plan());
  }
  cut.on_toe.resize(cut.sites.size());
  for (const std::uint32_t s : toe_sites) cut.on_toe[s] = true;
  for (std::size_t s = before; s < cut.sites.size(); ++s) cut.on_toe[s] = true;
  std::vector<PlanEdge> kept;
  for (const BreakSegment& s : segments) kept.push_back({s.from, s.to});
  cut.triangles = triangulate(points, kept).triangles;
  return cut;
}

/// Adds what the toe leaves of the triangles it touches. The triangulation also fills the hull between them: that is
/// left out again.
void add_cut_triangles(const ToeLine& toe, OuterGround& outer) {
  const Ground& ground = outer.ground;
  const CutGround cut = cut_along_toe(ground, toe, outer.touched);
  std::vector<std::uint32_t> node(cut.sites.size());
  for (std::size_t s = 0; s < node.size(); ++s) {
    if (cut.sites[s].shot >= 0) {
      node[s] = static_cast<std::uint32_t>(cut.sites[s].shot);
    } else {
      node[s] = static_cast<std::uint32_t>(ground.points.size() + outer.toe_nodes.size());
      outer.toe_nodes.emplace_back(cut.sites[s].x, cut.sites[s].y, cut.sites[s].z);
    }
    if (cut.on_toe[s]) outer.on_toe.push_back(node[s]);
  }
  for (const Corners& t : cut.triangles) {
    const Point2 middle = (cut.sites[t[0]].plan() + cut.sites[t[1]].plan() + cut.sites[t[2]].plan()) / 3.0;
    const Point2 halfway = 0.5 * (middle + cut.sites[t[0]].plan());  // a stretch has direction, which one place has not
    const std::vector<std::uint32_t> here = triangles_meeting(ground, {middle, halfway});
    const bool fills_hull = std::none_of(here.begin(), here.end(), [&](std::uint32_t h) { return outer.touched[h]; });
    if (fills_hull || is_in_mound(toe, middle)) continue;
    for (const std::uint32_t corner : t) {
      outer.cut_round[node[corner]].push_back(static_cast<std::uint32_t>(outer.cut.size()));
    }
    outer.cut.push_back({node[t[0]], node[t[1]], node[t[2]]});
  }
}

PlanEdge edge_between(std::uint32_t a, std::uint32_t b) { return {std::min(a, b), std::max(a, b)}; }

/// Notes where the survey ends along the touched triangles: at edges of the cut triangles that have nothing beyond
/// them, the toe's own and those of the survey's next triangles left out.
void find_ways_out(OuterGround& outer) {
  std::set<PlanEdge> next_door;
  for (std::uint32_t t = 0; t < outer.touched.size(); ++t) {
    if (!outer.touched[t]) continue;
    const Corners& corner = outer.ground.tree.triangles[t];
    for (int i = 0; i < 3; ++i) {
      outer.start.emplace(corner[i], t);
      const std::int32_t other = outer.ground.tree.neighbours[t][i];
      if (other >= 0 && !outer.touched[static_cast<std::size_t>(other)]) {
        next_door.insert(edge_between(corner[i], corner[(i + 1) % 3]));
      }
    }
  }
  std::map<PlanEdge, int> times;
  for (const Corners& t : outer.cut) {
    for (int i = 0; i < 3; ++i) ++times[edge_between(t[i], t[(i + 1) % 3])];
  }
  const std::unordered_set<std::uint32_t> on_toe(outer.on_toe.begin(), outer.on_toe.end());
  for (const auto& [edge, count] : times) {
    if (count > 1 || next_door.contains(edge) || (on_toe.contains(edge[0]) && on_toe.contains(edge[1]))) continue;
    outer.way_out.insert(edge.begin(), edge.end());
  }
}

OuterGround ground_outside(const Ground& ground, const ToeLine& toe) {
  OuterGround outer{ground, triangles_on_toe(ground, toe), {}, {}, {}, {}, {}, {}};
  add_cut_triangles(toe, outer);
  find_ways_out(outer);
  return outer;
}

/// Calls f(corners, is_cut, index) for every triangle of the outer ground round a node: cut ones by their index among
/// them, the survey's own by theirs. True if the survey ends at the node.
template <class F>
bool for_each_outer_triangle_round(OuterGround& outer, std::uint32_t node, F f) {
  const auto cut = outer.cut_round.find(node);
  if (cut != outer.cut_round.end()) {
    for (const std::uint32_t t : cut->second) f(outer.cut[t], true, t);
  }
  bool is_way_out = outer.way_out.contains(node);
  if (node >= outer.ground.points.size()) return is_way_out;
  const TinTree<double>& tree = outer.ground.tree;
  for_each_triangle_round(tree, node, outer.start.at(node), [&](std::uint32_t t, int corner) {
    if (outer.touched[t]) return;
    if (tree.neighbours[t][corner] < 0 || tree.neighbours[t][(corner + 2) % 3] < 0) is_way_out = true;
    for (const std::uint32_t v : tree.triangles[t]) outer.start.emplace(v, t);
    f(tree.triangles[t], false, t);
  });
  return is_way_out;
}

/// Where water that reaches a node stands: the least height, over all ways from it off the survey, of the highest place
/// on the way. Each node is asked by walking out from it, lowest first, till the survey ends or ground is met that is
/// known to drain no higher; so only the ground near the toe and one way down from it is ever looked at.
class Drainage {
 public:
  explicit Drainage(OuterGround& outer) : outer_(outer) {}

  struct Level {
    double level = infinity;  // infinite where no way leads off the survey
    std::uint32_t sill = 0;   // the node whose height sets it
  };

  Level from(std::uint32_t start) {
    const auto known = drains_by_.find(start);
    if (known != drains_by_.end() && known->second == infinity) return {infinity, start};
    Level result{-infinity, start};
    std::priority_queue<Entry, std::vector<Entry>, std::greater<>> next;
    std::vector<std::uint32_t> walked;
    std::unordered_set<std::uint32_t> met{start};
    next.emplace(outer_.z(start), start);
    bool drains = false;
    while (!next.empty() && !drains) {
      const auto [z, node] = next.top();
      next.pop();
      walked.push_back(node);
      if (z > result.level) result = {z, node};
      drains = drains_at_or_below(node, result.level);
      if (drains) break;
      drains = for_each_outer_triangle_round(outer_, node, [&](const Corners& t, bool, std::uint32_t) {
        for (const std::uint32_t v : t) {
          if (met.insert(v).second) next.emplace(outer_.z(v), v);
        }
      });
    }
    if (!drains) result.level = infinity;
    for (const std::uint32_t node : walked) {
      const auto [entry, is_new] = drains_by_.try_emplace(node, result.level);
      if (!is_new) entry->second = std::min(entry->second, result.level);
    }
    return result;
  }

 private:
  using Entry = std::pair<double, std::uint32_t>;
  OuterGround& outer_;
  std::unordered_map<std::uint32_t, double> drains_by_;  // water at a node leaves at this level or lower

  bool drains_at_or_below(std::uint32_t node, double level) const {
    const auto known = drains_by_.find(node);
    return known != drains_by_.end() && known->second <= level;
  }
};

/// A part of the outer ground that hangs together below one level, from one of its nodes.
struct Pool {
  std::vector<std::uint32_t> nodes;
  double area = 0;
};

/// Plan area of a triangle below a level.
double area_below(const OuterGround& outer, const Corners& t, double level) {
  Polygon2 wet;
  for (int i = 0; i < 3; ++i) {
    const Point3 &p = outer.point(t[i]), &q = outer.point(t[(i + 1) % 3]);
    if (p.z() < level) wet.push_back(p.head<2>());
    if ((p.z() < level) != (q.z() < level)) {
      wet.push_back(p.head<2>() + (q - p).head<2>() * ((level - p.z()) / (q.z() - p.z())));
    }
  }
  return plan_area(wet);
}

/// A triangle with a corner in the pool has no corner in another, since its edges join them below the level.
Pool pool_from(std::uint32_t start, double level, OuterGround& outer) {
  Pool pool{{start}, 0};
  std::unordered_set<std::uint32_t> met{start};
  std::set<std::pair<bool, std::uint32_t>> counted;
  for (std::size_t at = 0; at < pool.nodes.size(); ++at) {
    for_each_outer_triangle_round(outer, pool.nodes[at], [&](const Corners& t, bool is_cut, std::uint32_t index) {
      if (!counted.insert({is_cut, index}).second) return;
      pool.area += area_below(outer, t, level);
      for (const std::uint32_t v : t) {
        if (outer.z(v) < level && met.insert(v).second) pool.nodes.push_back(v);
      }
    });
  }
  return pool;
}

LowSpot low_spot_of(const Pool& pool, const Drainage::Level& water, const OuterGround& outer,
                    const std::unordered_set<std::uint32_t>& on_toe) {
  LowSpot spot;
  spot.level = water.level;
  spot.area = pool.area;
  spot.spill = outer.point(water.sill).head<2>();
  for (const std::uint32_t v : pool.nodes) {
    const double depth = spot.level - outer.z(v);
    if (depth > spot.depth) spot.depth = depth, spot.deepest = outer.point(v).head<2>();
    if (!on_toe.contains(v) || depth <= spot.depth_at_toe) continue;
    spot.depth_at_toe = depth, spot.deepest_at_toe = outer.point(v).head<2>();
  }
  return spot;
}

}  // namespace

std::vector<LowSpot> low_spots_at_toe(const Ground& ground, const ToeLine& toe, double least_depth) {
  if (toe.outer.empty()) return {};
  OuterGround outer = ground_outside(ground, toe);
  std::vector<std::uint32_t> along_toe;  // lowest first: what is known of a low place serves the higher ones beside it
  for (const std::uint32_t v : outer.on_toe) {
    if (outer.cut_round.contains(v)) along_toe.push_back(v);
  }
  std::sort(along_toe.begin(), along_toe.end(),
            [&](std::uint32_t v, std::uint32_t w) { return std::pair(outer.z(v), v) < std::pair(outer.z(w), w); });
  const std::unordered_set<std::uint32_t> on_toe(outer.on_toe.begin(), outer.on_toe.end());
  Drainage drainage(outer);
  std::unordered_set<std::uint32_t> pooled;
  std::vector<LowSpot> spots;
  for (const std::uint32_t v : along_toe) {
    if (pooled.contains(v)) continue;
    const Drainage::Level water = drainage.from(v);
    if (water.level == infinity || !(water.level - outer.z(v) > least_depth)) continue;
    const Pool pool = pool_from(v, water.level, outer);
    pooled.insert(pool.nodes.begin(), pool.nodes.end());
    spots.push_back(low_spot_of(pool, water, outer, on_toe));
  }
  std::sort(spots.begin(), spots.end(),
            [](const LowSpot& a, const LowSpot& b) { return a.depth_at_toe > b.depth_at_toe; });
  return spots;
}

}  // namespace moundwright

#include "geom/low_spots.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <queue>
#include <set>
#include <utility>

#include "geom/breaklines.h"
#include "geom/convex_clip.h"
#include "geom/triangulate.h"

namespace moundwright {
namespace {

using Corners = std::array<std::uint32_t, 3>;

constexpr double infinity = std::numeric_limits<double>::infinity();

/// The ground outside the toe: triangles over the survey's own vertices and, after them, those that the toe makes.
struct OuterGround {
  std::vector<Point3> nodes;
  std::vector<bool> on_toe;
  std::vector<Corners> triangles;
};

bool is_in_mound(const ToeLine& toe, const Point2& p) {
  return std::any_of(toe.outer.begin(), toe.outer.end(), [&](const Polygon2& loop) { return is_inside(loop, p); });
}

Point2 middle_of(const Ground& ground, const Corners& t) {
  return (ground.points[t[0]] + ground.points[t[1]] + ground.points[t[2]]).head<2>() / 3.0;
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

/// Adds the triangles clear of the toe that lie outside it. Those that hang together without crossing the toe lie on
/// one side of it, so one of each such patch is asked.
void add_clear_triangles(const Ground& ground, const ToeLine& toe, std::vector<bool> seen, OuterGround& outer) {
  std::vector<std::uint32_t> patch;
  for (std::uint32_t first = 0; first < seen.size(); ++first) {
    if (seen[first]) continue;
    const bool keep = !is_in_mound(toe, middle_of(ground, ground.tree.triangles[first]));
    seen[first] = true;
    patch.assign(1, first);
    while (!patch.empty()) {
      const std::uint32_t t = patch.back();
      patch.pop_back();
      if (keep) outer.triangles.push_back(ground.tree.triangles[t]);
      for (const std::int32_t next : ground.tree.neighbours[t]) {
        if (next < 0 || seen[static_cast<std::size_t>(next)]) continue;
        seen[static_cast<std::size_t>(next)] = true;
        patch.push_back(static_cast<std::uint32_t>(next));
      }
    }
  }
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
void add_cut_triangles(const Ground& ground, const ToeLine& toe, const std::vector<bool>& touched, OuterGround& outer) {
  const CutGround cut = cut_along_toe(ground, toe, touched);
  std::vector<std::uint32_t> node(cut.sites.size());
  for (std::size_t s = 0; s < node.size(); ++s) {
    if (cut.sites[s].shot >= 0) {
      node[s] = static_cast<std::uint32_t>(cut.sites[s].shot);
    } else {
      node[s] = static_cast<std::uint32_t>(outer.nodes.size());
      outer.nodes.emplace_back(cut.sites[s].x, cut.sites[s].y, cut.sites[s].z);
      outer.on_toe.push_back(false);
    }
    if (cut.on_toe[s]) outer.on_toe[node[s]] = true;
  }
  for (const Corners& t : cut.triangles) {
    const Point2 middle = (cut.sites[t[0]].plan() + cut.sites[t[1]].plan() + cut.sites[t[2]].plan()) / 3.0;
    const Point2 halfway = 0.5 * (middle + cut.sites[t[0]].plan());  // a stretch has direction, which one place has not
    const std::vector<std::uint32_t> here = triangles_meeting(ground, {middle, halfway});
    const bool fills_hull = std::none_of(here.begin(), here.end(), [&](std::uint32_t h) { return touched[h]; });
    if (!fills_hull && !is_in_mound(toe, middle)) outer.triangles.push_back({node[t[0]], node[t[1]], node[t[2]]});
  }
}

OuterGround ground_outside(const Ground& ground, const ToeLine& toe) {
  OuterGround outer;
  outer.nodes = ground.points;
  outer.on_toe.resize(ground.points.size());
  const std::vector<bool> touched = triangles_on_toe(ground, toe);
  add_clear_triangles(ground, toe, touched, outer);
  add_cut_triangles(ground, toe, touched, outer);
  return outer;
}

/// Neighbours of every node, one list after another, and the nodes where the survey ends.
struct Links {
  std::vector<std::size_t> first;
  std::vector<std::uint32_t> to;
  std::vector<bool> is_way_out;
};

Links links_of(const OuterGround& outer) {
  std::vector<PlanEdge> edges;
  edges.reserve(3 * outer.triangles.size());
  for (const Corners& t : outer.triangles) {
    for (int i = 0; i < 3; ++i) {
      const std::uint32_t a = t[i], b = t[(i + 1) % 3];
      edges.push_back({std::min(a, b), std::max(a, b)});
    }
  }
  std::sort(edges.begin(), edges.end());
  Links links;
  links.is_way_out.resize(outer.nodes.size());
  links.first.assign(outer.nodes.size() + 1, 0);
  std::vector<PlanEdge> once;
  for (std::size_t i = 0; i < edges.size();) {
    const auto [a, b] = edges[i];
    std::size_t next = i + 1;
    while (next < edges.size() && edges[next] == edges[i]) ++next;
    if (next == i + 1 && !(outer.on_toe[a] && outer.on_toe[b])) links.is_way_out[a] = links.is_way_out[b] = true;
    once.push_back(edges[i]);
    ++links.first[a + 1], ++links.first[b + 1];
    i = next;
  }
  for (std::size_t v = 1; v < links.first.size(); ++v) links.first[v] += links.first[v - 1];
  links.to.resize(2 * once.size());
  std::vector<std::size_t> fill(links.first.begin(), links.first.end() - 1);
  for (const auto& [a, b] : once) links.to[fill[a]++] = b, links.to[fill[b]++] = a;
  return links;
}

/// The level to which water stands at every node (its own elevation where it is dry; infinite where no way leads off
/// the survey), and the node whose height sets it.
struct Flood {
  std::vector<double> level;
  std::vector<std::uint32_t> sill;
};

Flood flood(const OuterGround& outer, const Links& links) {
  Flood result{std::vector<double>(outer.nodes.size(), infinity), std::vector<std::uint32_t>(outer.nodes.size(), 0)};
  using Entry = std::pair<double, std::uint32_t>;
  std::priority_queue<Entry, std::vector<Entry>, std::greater<>> next;
  const auto reach = [&](std::uint32_t node, double from, std::uint32_t sill) {
    const double z = outer.nodes[node].z();
    result.level[node] = std::max(z, from);
    result.sill[node] = z >= from ? node : sill;
    next.emplace(result.level[node], node);
  };
  for (std::uint32_t v = 0; v < outer.nodes.size(); ++v) {
    if (links.is_way_out[v]) reach(v, -infinity, v);
  }
  while (!next.empty()) {
    const auto [level, v] = next.top();
    next.pop();
    for (std::size_t i = links.first[v]; i < links.first[v + 1]; ++i) {
      const std::uint32_t w = links.to[i];
      if (result.level[w] == infinity) reach(w, level, result.sill[v]);
    }
  }
  return result;
}

/// Nodes under water that hang together below one level, from one of them.
std::vector<std::uint32_t> pool_from(std::uint32_t start, const OuterGround& outer, const Links& links,
                                     const Flood& water, std::vector<std::int32_t>& pool_of, std::int32_t index) {
  std::vector<std::uint32_t> pool{start};
  pool_of[start] = index;
  for (std::size_t at = 0; at < pool.size(); ++at) {
    for (std::size_t i = links.first[pool[at]]; i < links.first[pool[at] + 1]; ++i) {
      const std::uint32_t w = links.to[i];
      if (pool_of[w] >= 0 || water.level[w] != water.level[start] || !(outer.nodes[w].z() < water.level[w])) continue;
      pool_of[w] = index;
      pool.push_back(w);
    }
  }
  return pool;
}

LowSpot low_spot_of(const std::vector<std::uint32_t>& pool, const OuterGround& outer, const Flood& water) {
  LowSpot spot;
  spot.level = water.level[pool.front()];
  spot.spill = outer.nodes[water.sill[pool.front()]].head<2>();
  for (const std::uint32_t v : pool) {
    const double depth = spot.level - outer.nodes[v].z();
    if (depth > spot.depth) spot.depth = depth, spot.deepest = outer.nodes[v].head<2>();
    if (!outer.on_toe[v] || depth <= spot.depth_at_toe) continue;
    spot.depth_at_toe = depth, spot.deepest_at_toe = outer.nodes[v].head<2>();
  }
  return spot;
}

/// Plan area of a triangle below a level.
double area_below(const OuterGround& outer, const Corners& t, double level) {
  Polygon2 wet;
  for (int i = 0; i < 3; ++i) {
    const Point3 &p = outer.nodes[t[i]], &q = outer.nodes[t[(i + 1) % 3]];
    if (p.z() < level) wet.push_back(p.head<2>());
    if ((p.z() < level) != (q.z() < level)) {
      wet.push_back(p.head<2>() + (q - p).head<2>() * ((level - p.z()) / (q.z() - p.z())));
    }
  }
  return plan_area(wet);
}

}  // namespace

std::vector<LowSpot> low_spots_at_toe(const Ground& ground, const ToeLine& toe, double least_depth) {
  if (toe.outer.empty()) return {};
  const OuterGround outer = ground_outside(ground, toe);
  const Links links = links_of(outer);
  const Flood water = flood(outer, links);
  std::vector<std::int32_t> pool_of(outer.nodes.size(), -1);
  std::vector<LowSpot> spots;
  for (std::uint32_t v = 0; v < outer.nodes.size(); ++v) {
    const double depth = water.level[v] - outer.nodes[v].z();
    if (!outer.on_toe[v] || pool_of[v] >= 0 || water.level[v] == infinity || !(depth > least_depth)) continue;
    const auto index = static_cast<std::int32_t>(spots.size());
    spots.push_back(low_spot_of(pool_from(v, outer, links, water, pool_of, index), outer, water));
  }
  for (const Corners& t : outer.triangles) {
    const std::int32_t pool = std::max({pool_of[t[0]], pool_of[t[1]], pool_of[t[2]]});  // a triangle is in one at most
    if (pool < 0) continue;
    LowSpot& spot = spots[static_cast<std::size_t>(pool)];
    spot.area += area_below(outer, t, spot.level);
  }
  std::sort(spots.begin(), spots.end(),
            [](const LowSpot& a, const LowSpot& b) { return a.depth_at_toe > b.depth_at_toe; });
  return spots;
}

}  // namespace moundwright

#include "geom/ground.h"

#include <fmt/format.h>
#include <tbb/blocked_range.h>
#include <tbb/combinable.h>
#include <tbb/parallel_for.h>
#include <tbb/parallel_invoke.h>
#include <tbb/parallel_reduce.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "geom/big_pages.h"
#include "geom/breaklines.h"
#include "geom/ground_checks.h"
#include "geom/ground_margin.h"
#include "geom/hilbert.h"
#include "geom/limits.h"
#include "geom/one_place.h"
#include "geom/plane_fit.h"
#include "geom/shot_names.h"
#include "geom/triangulate.h"
#include "geom/walls.h"

namespace moundwright {
namespace {

constexpr std::uint32_t none = std::numeric_limits<std::uint32_t>::max();

template <class F>
void in_parallel(std::size_t count, F f) {
  tbb::parallel_for(tbb::blocked_range<std::size_t>(0, count, 8192), [&f](const auto& range) {
    for (std::size_t i = range.begin(); i < range.end(); ++i) f(i);
  });
}

// ---- the shots as sites ----

void check_input(const std::vector<Shot>& shots, const std::vector<Breakline>& breaklines, const ShotFiles& files,
                 Problems& problems) {
  for (std::size_t i = 0; i < shots.size(); ++i) {
    const auto check = [&](double value, const char* which) {
      if (std::abs(value) <= greatest_coordinate) return;
      const std::string fault = std::isfinite(value)
                                    ? fmt::format("farther from zero than any survey reaches ({}; the limit is {})",
                                                  value, greatest_coordinate)
                                    : fmt::format("not a number ({})", value);
      problems.error(fmt::format("the {} of {} is {}", which, shot_name(shots, i), fault), shot_where(shots, i, files),
                     "correct it or leave the shot out");
    };
    check(shots[i].northing, "northing");
    check(shots[i].easting, "easting");
    check(shots[i].elevation, "elevation");
  }
  for (std::size_t i = 0; i < breaklines.size(); ++i) {
    for (const std::size_t shot : breaklines[i]) {
      if (shot < shots.size()) continue;
      problems.error(fmt::format("breakline {} asks for shot {} of {}", i + 1, shot + 1, shots.size()), {},
                     "join breaklines only from shots that are there");
    }
  }
  if (shots.size() < 3) {
    problems.error(
        fmt::format("a ground needs at least three shots; there {} {}", shots.size() == 1 ? "is" : "are", shots.size()),
        {}, "check that the file is the right one and that no code leaves out too many shots");
  }
}

struct Survey {
  Point2 origin = Point2::Zero();
  std::vector<Site> sites;  // along the Hilbert curve
};

/// The range of a coordinate but for a few stragglers: one shot with its northing wrong by a million would otherwise
/// leave the whole lot in one cell of the curve.
std::pair<double, double> middle_range(std::vector<double> sample) {
  std::sort(sample.begin(), sample.end());
  const std::size_t last = sample.size() - 1, off = sample.size() / 50;
  const double low = sample[off], high = sample[last - off], margin = 0.25 * (high - low);
  return {std::max(sample.front(), low - margin), std::min(sample[last], high + margin)};
}

HilbertFrame frame_of(const std::vector<Site>& sites) {
  const std::size_t stride = std::max<std::size_t>(1, sites.size() / 4096);
  std::vector<double> x, y;
  for (std::size_t i = 0; i < sites.size(); i += stride) x.push_back(sites[i].x), y.push_back(sites[i].y);
  const auto [x0, x1] = middle_range(std::move(x));
  const auto [y0, y1] = middle_range(std::move(y));
  return {{x0, y0}, {x1, y1}};
}

/// Where each site goes when they are sorted along the curve.
std::vector<std::uint32_t> sort_along_curve(std::vector<Site>& sites) {
  const HilbertFrame frame = frame_of(sites);
  std::vector<std::uint32_t> keys(sites.size());
  in_parallel(sites.size(), [&](std::size_t i) { keys[i] = frame.key(sites[i].x, sites[i].y); });
  const std::vector<std::uint32_t> order = order_by_key(keys);
  std::vector<Site> sorted(sites.size());
  std::vector<std::uint32_t> now_at(sites.size());
  in_parallel(sites.size(), [&](std::size_t i) {
    sorted[i] = sites[order[i]];
    now_at[order[i]] = static_cast<std::uint32_t>(i);
  });
  sites.swap(sorted);
  return now_at;
}

Survey reduced(const std::vector<Shot>& shots) {
  Point2 low = Point2::Constant(INFINITY), high = -low;
  for (const Shot& shot : shots) {
    const Point2 p(shot.easting, shot.northing);
    low = low.cwiseMin(p), high = high.cwiseMax(p);
  }
  Survey survey;
  survey.origin = (0.5 * low + 0.5 * high).array().round();
  survey.sites.resize(shots.size());
  in_parallel(shots.size(), [&](std::size_t i) {
    const Shot& shot = shots[i];
    survey.sites[i] = {shot.easting - survey.origin.x(), shot.northing - survey.origin.y(), shot.elevation,
                       static_cast<std::int64_t>(i)};
  });
  return survey;
}

PlanTriangulation triangulate_sites(const std::vector<Site>& sites, const std::vector<BreakSegment>& segments = {}) {
  std::vector<Eigen::Vector2d> points(sites.size());
  in_parallel(sites.size(), [&](std::size_t i) { points[i] = sites[i].plan(); });
  std::vector<PlanEdge> edges;
  for (const BreakSegment& segment : segments) edges.push_back({segment.from, segment.to});
  return triangulate(points, edges);
}

// ---- breaklines ----

std::vector<SiteLine> lines_of(const std::vector<Breakline>& breaklines,
                               const std::vector<std::uint32_t>& site_of_shot) {
  std::vector<SiteLine> lines;
  for (const Breakline& breakline : breaklines) {
    SiteLine& line = lines.emplace_back();
    for (const std::size_t shot : breakline) {
      if (line.empty() || line.back().site != site_of_shot[shot]) line.push_back({site_of_shot[shot], shot});
    }
  }
  return lines;
}

std::vector<BreakSegment> segments_of(const std::vector<SiteLine>& lines) {
  std::vector<BreakSegment> segments;
  for (const SiteLine& line : lines) {
    for (std::size_t i = 0; i + 1 < line.size(); ++i) {
      const LineVertex &from = line[i], &to = line[i + 1];
      segments.push_back({from.site, to.site, {from.shot, to.shot}});
    }
  }
  return segments;
}

/// `sorted`: so many sites, the first ones, lie along the curve.
PlanTriangulation with_breaklines(Survey& survey, std::vector<BreakSegment> segments, std::size_t sorted,
                                  const std::vector<Shot>& shots, double tolerance, Problems& problems) {
  cut_crossings(survey.sites, segments, tolerance, shots, survey.origin, problems);
  if (survey.sites.size() > sorted) {
    const std::vector<std::uint32_t> now_at = sort_along_curve(survey.sites);
    for (BreakSegment& segment : segments) segment.from = now_at[segment.from], segment.to = now_at[segment.to];
  }
  return triangulate_sites(survey.sites, segments);
}

// ---- the outside ----

bool all_in_line(const PlanTriangulation& tin, const std::vector<Site>& sites) {
  double twice_area = 0, longest2 = 0;
  for (const auto& [a, b, c] : tin.triangles) {
    const Point2 u = sites[b].plan() - sites[a].plan(), v = sites[c].plan() - sites[a].plan();
    twice_area += u.x() * v.y() - u.y() * v.x();
    longest2 = std::max({longest2, u.squaredNorm(), v.squaredNorm()});
  }
  return twice_area <= same_place * std::sqrt(longest2);  // narrower than one place is wide
}

/// Peels triangles off the outside; what is left is told by `gone`.
struct Peel {
  PlanTriangulation& tin;
  const std::vector<Site>& sites;
  double longest_edge;
  std::vector<bool> gone;
  std::size_t too_long = 0;  // gone for a long edge

  enum class Verdict { stays, needle, too_long };

  Verdict verdict(std::size_t t) const {
    for (int i = 0; i < 3; ++i) {
      if (tin.neighbours[t][i] >= 0 || (!tin.kept.empty() && tin.kept[t][i])) continue;
      const auto corner = [&](int k) { return sites[tin.triangles[t][k % 3]].plan(); };
      const Point2 edge = corner(i + 1) - corner(i), to_apex = corner(i + 2) - corner(i);
      const double length = edge.norm();
      if (length > longest_edge) return Verdict::too_long;
      // Shots in line along the outside, once rounded, leave slivers with a slope that means nothing.
      if (edge.x() * to_apex.y() - edge.y() * to_apex.x() < same_place * length) return Verdict::needle;
    }
    return Verdict::stays;
  }

  void take_off(std::size_t t, std::vector<std::uint32_t>& next) {
    gone[t] = true;
    for (const std::int32_t n : tin.neighbours[t]) {
      if (n < 0) continue;
      for (std::int32_t& back : tin.neighbours[n]) {
        if (back == static_cast<std::int32_t>(t)) back = -1;
      }
      next.push_back(static_cast<std::uint32_t>(n));
    }
  }

  void run() {
    gone.assign(tin.triangles.size(), false);
    std::vector<std::uint32_t> look;
    for (std::uint32_t t = 0; t < tin.triangles.size(); ++t) {
      if (std::min({tin.neighbours[t][0], tin.neighbours[t][1], tin.neighbours[t][2]}) < 0) look.push_back(t);
    }
    while (!look.empty()) {
      const std::uint32_t t = look.back();
      look.pop_back();
      const Verdict found = gone[t] ? Verdict::stays : verdict(t);
      if (found == Verdict::stays) continue;
      too_long += found == Verdict::too_long;
      take_off(t, look);
    }
  }
};

std::size_t count_parts(const PlanTriangulation& tin, const std::vector<bool>& gone) {
  std::vector<bool> seen = gone;
  std::vector<std::uint32_t> look;
  std::size_t parts = 0;
  for (std::uint32_t start = 0; start < seen.size(); ++start) {
    if (seen[start]) continue;
    ++parts;
    seen[start] = true;
    look.push_back(start);
    while (!look.empty()) {
      const std::uint32_t t = look.back();
      look.pop_back();
      for (const std::int32_t n : tin.neighbours[t]) {
        if (n < 0 || seen[n]) continue;
        seen[n] = true;
        look.push_back(static_cast<std::uint32_t>(n));
      }
    }
  }
  return parts;
}

/// Shots that no triangle is left at.
void tell_dropped(const PlanTriangulation& tin, const std::vector<bool>& gone, const std::vector<Site>& sites,
                  const std::vector<Shot>& shots, const GroundOptions& options, Problems& problems) {
  constexpr std::size_t told_singly = 20;
  std::vector<bool> stays(sites.size());
  for (std::size_t t = 0; t < tin.triangles.size(); ++t) {
    for (const std::uint32_t v : tin.triangles[t]) stays[v] = stays[v] || !gone[t];
  }
  std::vector<std::size_t> dropped;
  for (std::size_t i = 0; i < sites.size(); ++i) {
    if (!stays[i] && sites[i].shot >= 0) dropped.push_back(static_cast<std::size_t>(sites[i].shot));
  }
  std::sort(dropped.begin(), dropped.end());
  for (std::size_t i = 0; i < std::min(dropped.size(), told_singly); ++i) {
    const Shot& shot = shots[dropped[i]];
    problems.warning(
        fmt::format("{} at {} is no part of the ground: only edges longer than {:g} lead to it",
                    shot_name(shots, dropped[i]), place_name({shot.easting, shot.northing}), options.longest_edge),
        shot_where(shots, dropped[i], options.files),
        options.shots_left_out > 0 ? "correct the shots that are left out first: this one may only miss them beside it"
                                   : "check its northing and easting, or give a longer longest_edge");
  }
  if (dropped.size() > told_singly) {
    problems.warning(fmt::format("{} more shots are no part of the ground", dropped.size() - told_singly));
  }
}

/// Which triangles are left off at the outside; empty if none is.
std::vector<bool> trim(PlanTriangulation& tin, const std::vector<Site>& sites, const std::vector<Shot>& shots,
                       const GroundOptions& options, GroundReport& report) {
  const double longest_edge = options.longest_edge;
  Peel peel{tin, sites, longest_edge, {}};
  peel.run();
  report.trimmed_triangles = peel.too_long;
  if (std::find(peel.gone.begin(), peel.gone.end(), false) == peel.gone.end()) {
    report.problems.error(fmt::format("no ground is left when edges longer than {:g} are trimmed off", longest_edge),
                          "longest_edge", "give a longer longest_edge, at least the usual distance between shots");
    return peel.gone;
  }
  if (peel.too_long == 0) return peel.gone;
  tell_dropped(tin, peel.gone, sites, shots, options, report.problems);
  const std::size_t parts = count_parts(tin, peel.gone);
  if (parts > 1) {
    report.problems.warning(
        fmt::format("trimming edges longer than {:g} leaves the ground in {} parts", longest_edge, parts),
        "longest_edge", "give a longer longest_edge if the ground between them was surveyed");
  }
  return peel.gone;
}

// ---- putting the ground together ----

/// New index of each site that a triangle uses, in the same order; `none` for the rest.
std::vector<std::uint32_t> used_sites(const PlanTriangulation& tin, const std::vector<bool>& gone, std::size_t count) {
  std::vector<std::uint32_t> now_at(count, none);
  for (std::size_t t = 0; t < tin.triangles.size(); ++t) {
    if (gone[t]) continue;
    for (const std::uint32_t v : tin.triangles[t]) now_at[v] = 0;
  }
  std::uint32_t next = 0;
  for (std::uint32_t& i : now_at) {
    if (i != none) i = next++;
  }
  return now_at;
}

void take_points(Ground& ground, const std::vector<Site>& sites, const std::vector<std::uint32_t>& now_at) {
  const auto count =
      static_cast<std::size_t>(std::count_if(now_at.begin(), now_at.end(), [](auto i) { return i != none; }));
  ground.points.resize(count);
  ground.shot_of_point.resize(count);
  ground.tree.vertices.resize(count);
  in_parallel(sites.size(), [&](std::size_t i) {
    if (now_at[i] == none) return;
    ground.points[now_at[i]] = {sites[i].x, sites[i].y, sites[i].z};
    ground.shot_of_point[now_at[i]] = sites[i].shot;
    ground.tree.vertices[now_at[i]] = {sites[i].x, sites[i].y, sites[i].z};
  });
}

/// Triangles that stay, along the curve of their centroids.
std::vector<std::uint32_t> triangle_order(const PlanTriangulation& tin, const std::vector<bool>& gone,
                                          const std::vector<Site>& sites) {
  std::vector<std::uint32_t> stay;
  stay.reserve(tin.triangles.size());
  for (std::uint32_t t = 0; t < tin.triangles.size(); ++t) {
    if (!gone[t]) stay.push_back(t);
  }
  const HilbertFrame frame = frame_of(sites);
  std::vector<std::uint32_t> keys(stay.size());
  in_parallel(stay.size(), [&](std::size_t i) {
    const auto& [a, b, c] = tin.triangles[stay[i]];
    keys[i] = frame.key((sites[a].x + sites[b].x + sites[c].x) / 3, (sites[a].y + sites[b].y + sites[c].y) / 3);
  });
  std::vector<std::uint32_t> order = order_by_key(keys);
  in_parallel(order.size(), [&](std::size_t i) { order[i] = stay[order[i]]; });
  return order;
}

void take_triangles(Ground& ground, const PlanTriangulation& tin, const std::vector<std::uint32_t>& order,
                    const std::vector<std::uint32_t>& site_now_at) {
  std::vector<std::int32_t> now_at(tin.triangles.size(), -1);
  in_parallel(order.size(), [&](std::size_t i) { now_at[order[i]] = static_cast<std::int32_t>(i); });
  ground.tree.triangles.resize(order.size());
  ground.tree.neighbours.resize(order.size());
  in_parallel(order.size(), [&](std::size_t i) {
    for (int k = 0; k < 3; ++k) {
      ground.tree.triangles[i][k] = site_now_at[tin.triangles[order[i]][k]];
      const std::int32_t across = tin.neighbours[order[i]][k];
      ground.tree.neighbours[i][k] = across < 0 ? -1 : now_at[across];
    }
  });
}

/// Of surveyed ground. Summed in parts that do not depend on the number of threads, so that a survey always gives the
/// same ground.
Moments<double> moments_about_origin(const Ground& ground) {
  const TinTree<double>& tree = ground.tree;
  using Range = tbb::blocked_range<std::uint32_t>;
  return tbb::parallel_deterministic_reduce(
      Range(0, static_cast<std::uint32_t>(tree.triangles.size()), 8192), Moments<double>{},
      [&](const Range& range, Moments<double> sum) {
        for (std::uint32_t t = range.begin(); t < range.end(); ++t) {
          if (!ground.is_assumed(t)) tin_tree_detail::add_triangle(sum, tree, t, 0.0, 0.0);
        }
        return sum;
      },
      [](Moments<double> a, const Moments<double>& b) {
        tin_tree_detail::add_moved(a, b, 0.0, 0.0);
        return a;
      });
}

/// The trend with the last few binary digits, which are noise of the summing, rounded off: level ground then has a
/// level trend, and its residuals, differences of nearly equal numbers, are exact and all the same.
Plane without_noise(const Plane& plane) {
  constexpr double slope_steps = 0x1p46, elevation_steps = 0x1p36;  // 1.4e-14 of slope, 1.5e-11 of elevation
  return {std::nearbyint(plane.a * slope_steps) / slope_steps, std::nearbyint(plane.b * slope_steps) / slope_steps,
          std::nearbyint(plane.c * elevation_steps) / elevation_steps};
}

/// Finds the trend and takes it off the tree's elevations. The mean is taken off first, so that high elevations lose
/// nothing in the moments.
void take_off_trend(Ground& ground) {
  auto& vertices = ground.tree.vertices;
  double mean = 0;
  for (const auto& v : vertices) mean += v.r / static_cast<double>(vertices.size());
  in_parallel(vertices.size(), [&](std::size_t i) { vertices[i].r -= mean; });
  const Moments<double> sum = moments_about_origin(ground);
  ground.total_area = sum.area;
  ground.trend = plane_of(sum, Point2::Zero()).value_or(Plane{0, 0, 0});
  ground.trend.c += mean;
  ground.trend = without_noise(ground.trend);
  in_parallel(vertices.size(), [&](std::size_t i) {
    const Point3& p = ground.points[i];
    vertices[i].r = p.z() - ground.trend.at(p.head<2>());
  });
}

/// As build_boxes, with the two halves of large nodes side by side.
void build_in_parallel(TinTree<double>& tree, const TreeNode& node) {
  constexpr std::uint32_t worth_sharing = 4096;  // blocks
  if (node.blocks < worth_sharing) return tin_tree_detail::build_node(tree, node, tree.vertices);
  tbb::parallel_invoke([&] { build_in_parallel(tree, node.first_child()); },
                       [&] { build_in_parallel(tree, node.second_child()); });
  tin_tree_detail::join_children(tree, node);
}

/// `assumed` by triangle of the triangulation; empty where none is.
Ground assembled(const Survey& survey, const PlanTriangulation& tin, const std::vector<bool>& gone,
                 const std::vector<bool>& assumed) {
  Ground ground;
  ground.origin = survey.origin;
  const std::vector<std::uint32_t> now_at = used_sites(tin, gone, survey.sites.size());
  take_points(ground, survey.sites, now_at);
  const std::vector<std::uint32_t> order = triangle_order(tin, gone, survey.sites);
  take_triangles(ground, tin, order, now_at);
  if (!assumed.empty()) {
    for (const std::uint32_t t : order) ground.assumed.push_back(assumed[t]);
  }
  take_off_trend(ground);
  if (prepare_boxes(ground.tree)) build_in_parallel(ground.tree, root_of(ground.tree));
  move_to_big_pages(ground.tree.vertices);
  move_to_big_pages(ground.tree.triangles);
  move_to_big_pages(ground.tree.boxes);
  move_to_big_pages(ground.tree.moments);
  return ground;
}

void tell_margin(const GroundMargin& margin, double distance, Problems& problems) {
  problems.note(
      fmt::format("the ground is carried on {:g} past the survey, straight on from its outside: assumed ground",
                  distance),
      "ground.extend");
  if (margin.pieces_left_out == 0) return;
  problems.note(fmt::format("{} pieces of assumed ground are left out where the survey's outside folds in on itself",
                            margin.pieces_left_out),
                "ground.extend");
}

Ground make_ground_reporting(const std::vector<Shot>& shots, const std::vector<Breakline>& breaklines,
                             const GroundOptions& options, GroundReport& report) {
  check_input(shots, breaklines, options.files, report.problems);
  report.problems.throw_if_errors();
  Survey survey = reduced(shots);
  sort_along_curve(survey.sites);
  PlanTriangulation tin = triangulate_sites(survey.sites);
  if (!breaklines.empty() || has_shared_places(survey.sites, tin, options.one_place)) {
    const MergedSites merged = merge_places(survey.sites, tin, shots, options.files, options.one_place, report);
    const std::size_t sorted = survey.sites.size();
    std::vector<SiteLine> lines = lines_of(breaklines, merged.site_of_shot);
    stand_walls(survey.sites, lines, merged, tin, options.one_place, shots, options.files, report);
    report.problems.throw_if_errors();
    tin = with_breaklines(survey, segments_of(lines), sorted, shots, options.crossing_tolerance, report.problems);
  }
  if (all_in_line(tin, survey.sites)) {
    report.problems.error(
        fmt::format("all {} shots are in one line, so there is no ground between them", survey.sites.size()), {},
        "check the columns: northing and easting may have been read from the same one");
    report.problems.throw_if_errors();
  }
  std::vector<bool> gone = trim(tin, survey.sites, shots, options, report);
  report.problems.throw_if_errors();
  Ground ground = assembled(survey, tin, gone, {});
  report.problems.append(bust_warnings(ground, shots, breaklines, options));
  if (!(options.extend > 0)) return ground;
  const GroundMargin margin = add_margin(tin, survey.sites, gone, options.extend);
  tell_margin(margin, options.extend, report.problems);
  ground = assembled(survey, tin, gone, margin.assumed);
  ground.extended = options.extend;
  return ground;
}

}  // namespace

Ground make_ground(const std::vector<Shot>& shots, const std::vector<Breakline>& breaklines,
                   const GroundOptions& options, GroundReport* report) {
  GroundReport own;
  return make_ground_reporting(shots, breaklines, options, report ? *report : own);
}

}  // namespace moundwright

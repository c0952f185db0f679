#include "geom/ground_checks.h"

#include <fmt/format.h>
#include <tbb/blocked_range.h>
#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "geom/shot_names.h"
#include "geom/stray_shots.h"
#include "geom/tin_walk.h"
#include "geom/units.h"

namespace moundwright {
namespace {

constexpr double same_place = 0.1;  // job units; a mark shot twice differs by less
constexpr double least_share_of_distance =
    0.05;  // common practice has no figure; an even 1 in 20 is no bust on any lot

using Tree = TinTree<double>;

/// How a vertex stands among its neighbours; elevations with the trend taken off.
struct Standing {
  float stands_out = 0;  // see Bust; 0 where neighbours lie on both sides
  float from_mean = 0;   // above the mean of its neighbours, the nearer counting more
  float distance = 0;    // mean plan distance to them
};

Standing standing_of(const Tree& tree, std::uint32_t vertex, std::uint32_t start) {
  const TinVertex<double>& v = tree.vertices[vertex];
  double least = INFINITY, most = -INFINITY, weights = 0, sum = 0, distances = 0;
  int count = 0;
  const auto meet = [&](std::uint32_t other) {
    const TinVertex<double>& n = tree.vertices[other];
    const double rise = v.r - n.r, distance = std::sqrt((v.x - n.x) * (v.x - n.x) + (v.y - n.y) * (v.y - n.y));
    least = std::min(least, rise), most = std::max(most, rise);
    sum += rise / distance, weights += 1.0 / distance, distances += distance;
    ++count;
  };
  for_each_triangle_round(tree, vertex, start, [&](std::uint32_t t, int i) {
    meet(tree.triangles[t][(i + 1) % 3]);
    if (tree.neighbours[t][(i + 2) % 3] < 0) meet(tree.triangles[t][(i + 2) % 3]);
  });
  const double out = least > 0 ? least : most < 0 ? most : 0.0;
  return {static_cast<float>(out), static_cast<float>(sum / weights), static_cast<float>(distances / count)};
}

std::vector<std::uint32_t> a_triangle_of_each(const Tree& tree) {
  std::vector<std::uint32_t> triangle(tree.vertices.size());
  for (std::uint32_t t = 0; t < tree.triangles.size(); ++t) {
    for (const std::uint32_t v : tree.triangles[t]) triangle[v] = t;
  }
  return triangle;
}

double median(std::vector<float>& values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

double spread_of(const std::vector<Standing>& standings) {
  std::vector<float> sizes(standings.size());
  std::transform(standings.begin(), standings.end(), sizes.begin(),
                 [](const Standing& s) { return std::abs(s.from_mean); });
  return 1.4826 * median(sizes);
}

/// Residual elevation of triangle t's plane carried on to (x, y); nullopt for a needle.
std::optional<double> carried_on(const Tree& tree, std::uint32_t t, double x, double y) {
  const auto& [a, b, c] = tree.triangles[t];
  const TinVertex<double>&p = tree.vertices[a], &q = tree.vertices[b], &r = tree.vertices[c];
  const double ux = q.x - p.x, uy = q.y - p.y, vx = r.x - p.x, vy = r.y - p.y;
  const double cross = ux * vy - uy * vx;
  if (!(cross > 0.02 * (ux * ux + uy * uy + vx * vx + vy * vy))) return std::nullopt;
  const double s = ((x - p.x) * vy - (y - p.y) * vx) / cross, w = ((y - p.y) * ux - (x - p.x) * uy) / cross;
  return p.r + s * (q.r - p.r) + w * (r.r - p.r);
}

/// How far the vertex stands from what the triangles behind its neighbours lead one to expect; nullopt without any.
std::optional<double> out_of_expected(const Tree& tree, std::uint32_t vertex, std::uint32_t start) {
  const TinVertex<double>& v = tree.vertices[vertex];
  std::vector<float> out;
  for_each_triangle_round(tree, vertex, start, [&](std::uint32_t t, int i) {
    const std::int32_t behind = tree.neighbours[t][(i + 1) % 3];
    if (behind < 0) return;
    const auto expected = carried_on(tree, static_cast<std::uint32_t>(behind), v.x, v.y);
    if (expected) out.push_back(static_cast<float>(v.r - *expected));
  });
  if (out.empty()) return std::nullopt;
  return median(out);
}

Bust described(const Ground& ground, std::uint32_t vertex, std::uint32_t start, double stands_out) {
  Bust bust{vertex, stands_out, INFINITY, -INFINITY, 0};
  int count = 0;
  const auto meet = [&](std::uint32_t other) {
    const double z = ground.points[other].z();
    bust.lowest = std::min(bust.lowest, z), bust.highest = std::max(bust.highest, z), bust.mean += z;
    ++count;
  };
  for_each_triangle_round(ground.tree, vertex, start, [&](std::uint32_t t, int i) {
    meet(ground.tree.triangles[t][(i + 1) % 3]);
    if (ground.tree.neighbours[t][(i + 2) % 3] < 0) meet(ground.tree.triangles[t][(i + 2) % 3]);
  });
  bust.mean /= count;
  return bust;
}

struct Extent {
  Point2 low = Point2::Constant(INFINITY), high = Point2::Constant(-INFINITY);
  double lowest = INFINITY, highest = -INFINITY;

  double size() const { return (high - low).norm(); }
  /// Plan distance of p outside; 0 inside.
  double outside(const Point2& p) const { return (low - p).cwiseMax(p - high).cwiseMax(0.0).norm(); }
  double elevation_outside(double z) const { return std::max({lowest - z, z - highest, 0.0}); }
};

/// What a single shot far off, or an elevation that stands for none, would do to it is left out.
Extent extent_of(const std::vector<Shot>& shots, const std::vector<StrayShot>& strays, const std::string& without) {
  Extent extent;
  auto stray = strays.begin();
  for (std::size_t i = 0; i < shots.size(); ++i) {
    const Shot& shot = shots[i];
    const bool strays_here = stray != strays.end() && stray->shot == i;
    if (strays_here) ++stray;
    if (strays_here || (!without.empty() && shot.point == without)) continue;
    const Point2 p(shot.easting, shot.northing);
    extent.low = extent.low.cwiseMin(p), extent.high = extent.high.cwiseMax(p);
    extent.lowest = std::min(extent.lowest, shot.elevation), extent.highest = std::max(extent.highest, shot.elevation);
  }
  return extent;
}

std::string extent_name(const Extent& e) {
  return fmt::format("N {:.2f} to {:.2f}, E {:.2f} to {:.2f}", e.low.y(), e.high.y(), e.low.x(), e.high.x());
}

constexpr double feet_per_metre = 1.0 / 0.3048;

/// `what` lies at `at` in the job: "the bench mark", "the middle of the bed".
void check_place(const Extent& shots, const char* what, const Point2& at, const std::string& where,
                 Problems& problems) {
  const double size = std::max(shots.size(), 1.0), away = shots.outside(at);
  const auto fits = [&](const Point2& p) { return shots.outside(p) < 0.5 * size; };
  if (away <= size) return;
  const std::string seen = fmt::format("{} at {} is {:.0f} from the nearest of the shots ({})", what, place_name(at),
                                       away, extent_name(shots));
  if (fits({at.y(), at.x()})) {
    problems.warning(
        seen + ", but would be among them with northing and easting exchanged", where,
        "if the shots' columns are exchanged, say so in the job: [ground] columns = [\"point\", "
        "\"easting\", \"northing\", \"elevation\", \"description\"]; if the job's n and e are, exchange them");
  } else if (fits(at / feet_per_metre)) {
    problems.warning(seen + fmt::format(", but would be among them in metres, at {}", place_name(at / feet_per_metre)),
                     where,
                     "the shots seem to be in metres and the job in feet: turn one of them into the unit of the other");
  } else if (fits(at * feet_per_metre)) {
    problems.warning(seen + fmt::format(", but would be among them in feet, at {}", place_name(at * feet_per_metre)),
                     where,
                     "the shots seem to be in feet and the job in metres: turn one of them into the unit of the other");
  } else if (away > 10 * size) {
    problems.warning(seen, where, "check that the job and the shots use the same coordinates and units");
  }
}

void check_elevation(const Extent& shots, const Mark& mark, const std::string& where, Problems& problems) {
  if (!mark.elevation) return;
  const double z = *mark.elevation, relief = std::max(shots.highest - shots.lowest, 1.0);
  const double slack = std::max(5 * relief, 0.1 * std::abs(z));
  if (shots.elevation_outside(z) <= slack) return;
  const std::string seen =
      fmt::format("the bench mark's elevation is {:.2f} but the shots lie between {:.2f} and {:.2f}", z, shots.lowest,
                  shots.highest);
  const auto fits = [&](double elevation) { return shots.elevation_outside(elevation) <= slack / 10; };
  if (fits(z * feet_per_metre)) {
    problems.warning(seen + fmt::format("; in metres it would be {:.2f} ft and fit", z * feet_per_metre), where,
                     "metres seem to have passed for feet: check the units of the bench mark");
  } else if (fits(z / feet_per_metre)) {
    problems.warning(seen + fmt::format("; in feet it would be {:.2f} m and fit", z / feet_per_metre), where,
                     "feet and metres seem to be mixed: check the units of the shots");
  } else {
    problems.warning(seen, where,
                     "check the bench mark's elevation and that the shots are in the same datum and units");
  }
}

/// By how much p is q scaled, over one: 2e-6 for US survey feet over international feet. Nullopt where it is no
/// scaling about zero to within `slack`.
std::optional<double> scaled_by(const Point2& p, const Point2& q, double slack) {
  const double scale = q.dot(p - q) / q.squaredNorm();
  if ((p - q - scale * q).norm() > slack) return std::nullopt;
  return scale;
}

void check_own_elevation(const Shot& shot, const Mark& mark, double grade_limit, const std::string& where,
                         Problems& problems) {
  constexpr double rounding = 1e-9;
  if (!mark.elevation) return;
  const double off = std::abs(shot.elevation - *mark.elevation);
  if (off <= grade_limit + rounding) return;
  problems.warning(
      fmt::format("the bench mark's elevation is {:.3f} in the job but {:.3f} among the shots, {:.3f} apart",
                  *mark.elevation, shot.elevation, off),
      where, "correct whichever is wrong: every rod reading would be off by as much");
}

void check_own_place(const Shot& shot, const Mark& mark, const std::string& where, Problems& problems) {
  const Point2 p(shot.easting, shot.northing);
  const double apart = (p - mark.at).norm();
  if (apart <= same_place) return;
  const double survey_feet = metres_per(LengthUnit::us_survey_foot) / metres_per(LengthUnit::foot) - 1.0;  // 2.0e-6
  // The shot's own error, a few hundredths, must be small beside the difference for its cause to be told.
  const auto scale = scaled_by(p, mark.at, std::min(0.25 * apart, 0.5));
  const std::string seen = fmt::format("the bench mark is at {} in the job but at {} among the shots, {:.2f} apart",
                                       place_name(mark.at), place_name(p), apart);
  if (scale && std::abs(std::abs(*scale) - survey_feet) < 0.15 * survey_feet) {
    problems.warning(seen + ", 2 parts in a million of its coordinates", where,
                     "that is the difference between international and US survey feet: check the units of both");
  } else {
    problems.warning(seen, where, "correct whichever is wrong");
  }
}

Problems checked(const std::vector<Shot>& shots, const std::vector<StrayShot>& strays, const Mark& benchmark,
                 double grade_limit) {
  Problems problems;
  const Extent extent = extent_of(shots, strays, benchmark.name);
  if (!(extent.size() >= 0)) return problems;  // no other shots
  const std::string where = benchmark.name.empty() ? "bench mark" : "bench mark " + benchmark.name;
  check_place(extent, "the bench mark", benchmark.at, where, problems);
  check_elevation(extent, benchmark, where, problems);
  for (const Shot& shot : shots) {
    if (benchmark.name.empty() || shot.point != benchmark.name) continue;
    check_own_place(shot, benchmark, where, problems);
    check_own_elevation(shot, benchmark, grade_limit, where, problems);
  }
  return problems;
}

}  // namespace

std::vector<Bust> find_busts(const Ground& ground, double factor) {
  const Tree& tree = ground.tree;
  const std::vector<std::uint32_t> start = a_triangle_of_each(tree);
  std::vector<Standing> standings(tree.vertices.size());
  tbb::parallel_for(tbb::blocked_range<std::size_t>(0, standings.size(), 4096), [&](const auto& range) {
    for (std::size_t v = range.begin(); v < range.end(); ++v) {
      standings[v] = standing_of(tree, static_cast<std::uint32_t>(v), start[v]);
    }
  });
  const double spread = spread_of(standings);
  std::vector<Bust> busts;
  for (std::uint32_t v = 0; v < standings.size(); ++v) {
    const double least = std::max(factor * spread, least_share_of_distance * standings[v].distance);
    const double out = standings[v].stands_out;
    if (std::abs(out) <= least || ground.shot_of_point[v] < 0) continue;
    const auto unexpected = out_of_expected(tree, v, start[v]);
    if (unexpected && *unexpected * out > 0 && std::abs(*unexpected) > least) {
      busts.push_back(described(ground, v, start[v], out));
    }
  }
  std::sort(busts.begin(), busts.end(),
            [](const Bust& a, const Bust& b) { return std::abs(a.stands_out) > std::abs(b.stands_out); });
  return busts;
}

Problems bust_warnings(const Ground& ground, const std::vector<Shot>& shots, double factor) {
  constexpr std::size_t told_singly = 20;
  Problems problems;
  const std::vector<Bust> busts = find_busts(ground, factor);
  for (const Bust& bust : busts) {
    if (problems.all.size() == told_singly) break;
    const Point3& p = ground.points[bust.point];
    const auto shot = static_cast<std::size_t>(ground.shot_of_point[bust.point]);
    problems.warning(
        fmt::format("{} at elevation {:.2f} stands {:.2f} {} the ground round it, the general fall of the lot aside "
                    "(its neighbours are at {:.2f} to {:.2f}, mean {:.2f})",
                    shot_name(shots, shot), p.z(), std::abs(bust.stands_out), bust.stands_out > 0 ? "above" : "below",
                    bust.lowest, bust.highest, bust.mean),
        shot_where(shots, shot) + ", " + place_name(ground.to_world(p.head<2>())),
        "check the rod height and the reading; leave the shot out if it cannot be explained");
  }
  if (busts.size() > told_singly) {
    problems.warning(
        fmt::format("{} more shots stand far out of line with their neighbours", busts.size() - told_singly));
  }
  return problems;
}

Problems check_benchmark(const std::vector<Shot>& shots, const Mark& benchmark, double grade_limit) {
  return checked(shots, find_strays(shots), benchmark, grade_limit);
}

Problems check_benchmarks(const std::vector<Shot>& shots, const std::optional<Mark>& first,
                          const std::optional<Mark>& second, double grade_limit) {
  Problems problems;
  const std::vector<StrayShot> strays = find_strays(shots);
  for (const std::optional<Mark>& mark : {first, second}) {
    if (mark) problems.append(checked(shots, strays, *mark, grade_limit));
  }
  if (first && second && (first->at - second->at).norm() <= same_place) {
    problems.warning(fmt::format("the two bench marks are one place, {}, so a check shot on the second proves nothing",
                                 place_name(first->at)),
                     "second_benchmark", "set a second bench mark well away from the first");
  }
  return problems;
}

Problems check_bed_place(const std::vector<Shot>& shots, const Point2& middle, const std::string& key) {
  Problems problems;
  const Extent extent = extent_of(shots, find_strays(shots), {});
  if (extent.size() >= 0) check_place(extent, "the middle of the bed", middle, key, problems);
  return problems;
}

}  // namespace moundwright

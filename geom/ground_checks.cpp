#include "geom/ground_checks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "geom/bust_groups.h"
#include "geom/close_pairs.h"
#include "geom/shot_names.h"
#include "geom/standings.h"
#include "geom/stray_shots.h"
#include "geom/tin_walk.h"
#include "geom/units.h"

namespace moundwright {
namespace {

constexpr double same_place = 0.1;  // job units; a mark shot twice differs by less
constexpr double least_share_of_distance =
    0.05;  // common practice has no figure; an even 1 in 20 is no bust on any lot

using Tree = TinTree<double>;

double median(std::vector<float>& values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
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

std::vector<Bust> busts_among(const Ground& ground, const Standings& standings, double factor) {
  std::vector<Bust> busts;
  for (std::uint32_t v = 0; v < standings.all.size(); ++v) {
    const std::uint32_t start = standings.triangle_at[v];
    const double least = std::max(factor * standings.spread, least_share_of_distance * standings.all[v].distance);
    const double out = standings.all[v].stands_out;
    if (std::abs(out) <= least || ground.shot_of_point[v] < 0) continue;
    const auto unexpected = out_of_expected(ground.tree, v, start);
    if (unexpected && *unexpected * out > 0 && std::abs(*unexpected) > least) {
      busts.push_back(described(ground, v, start, out));
    }
  }
  std::sort(busts.begin(), busts.end(),
            [](const Bust& a, const Bust& b) { return std::abs(a.stands_out) > std::abs(b.stands_out); });
  return busts;
}

/// By point.
std::vector<bool> points_on_lines(const Ground& ground, std::size_t shots, const std::vector<Breakline>& breaklines) {
  std::vector<bool> of_shot(shots), of_point(ground.points.size());
  for (const Breakline& line : breaklines) {
    for (const std::size_t shot : line) of_shot[shot] = true;
  }
  for (std::size_t i = 0; i < of_point.size(); ++i) {
    const std::int64_t shot = ground.shot_of_point[i];
    of_point[i] = shot < 0 || of_shot[static_cast<std::size_t>(shot)];
  }
  return of_point;
}

/// A good shot beside a group stands out from it the other way; and one of the group is told with it.
void drop_those_beside(const std::vector<BustGroup>& groups, const Ground& ground, const Standings& standings,
                       std::vector<Bust>& busts) {
  if (groups.empty()) return;
  std::vector<bool> in_group(ground.points.size());
  for (const BustGroup& group : groups) {
    for (const std::uint32_t point : group.points) in_group[point] = true;
  }
  std::erase_if(busts, [&](const Bust& bust) {
    bool beside = in_group[bust.point];
    for_each_neighbour(ground, bust.point, standings.triangle_at[bust.point],
                       [&](std::uint32_t n) { beside = beside || in_group[n]; });
    return beside;
  });
}

/// The crew saw what it shot under one code that nothing round it has: the top of a heap, the bottom of a ditch.
bool has_code_of_its_own(const BustGroup& group, const Ground& ground, const Standings& standings,
                         const std::vector<Shot>& shots) {
  const auto code = [&](std::uint32_t point) {
    const std::int64_t shot = ground.shot_of_point[point];
    return shot < 0 ? std::string_view() : code_of(shots[static_cast<std::size_t>(shot)]);
  };
  const std::string_view own = code(group.points.front());
  bool is_own = !own.empty();
  for (const std::uint32_t point : group.points) {
    is_own = is_own && code(point) == own;
    for_each_neighbour(ground, point, standings.triangle_at[point], [&](std::uint32_t n) {
      const bool is_in_group = std::binary_search(group.points.begin(), group.points.end(), n);
      is_own = is_own && (is_in_group || code(n) != own);
    });
  }
  return is_own;
}

/// Of the group's points, in the order of the survey.
std::vector<std::size_t> shots_of(const Ground& ground, const BustGroup& group) {
  std::vector<std::size_t> of_group;
  for (const std::uint32_t point : group.points) {
    if (ground.shot_of_point[point] >= 0) of_group.push_back(static_cast<std::size_t>(ground.shot_of_point[point]));
  }
  std::sort(of_group.begin(), of_group.end());
  return of_group;
}

/// "points 141, 142 and 153"; of many the first few, and how many more.
std::string names_of(const std::vector<Shot>& shots, const std::vector<std::size_t>& some) {
  constexpr std::size_t named = 12;
  const std::size_t shown = some.size() <= named ? some.size() : named - 1;
  std::string names = "points";
  for (std::size_t i = 0; i < shown; ++i) {
    const std::string& point = shots[some[i]].point;
    names += (i == 0                 ? " "
              : i + 1 == some.size() ? " and "
                                     : ", ") +
             (point.empty() ? fmt::format("{} of the list", some[i] + 1) : point);
  }
  return shown == some.size() ? names : names + fmt::format(" and {} more", some.size() - shown);
}

void tell_groups(const Ground& ground, const Standings& standings, const std::vector<Shot>& shots,
                 const std::vector<BustGroup>& groups, const ShotFiles& files, Problems& problems) {
  for (const BustGroup& group : groups) {
    const std::vector<std::size_t> of_group = shots_of(ground, group);
    if (of_group.empty()) continue;
    const std::string stand = fmt::format(
        "{}, {} shots side by side, stand {:.2f} {} the ground all round them, by about one amount ({:.2f} to {:.2f})",
        names_of(shots, of_group), of_group.size(), std::abs(group.stands_out),
        group.stands_out > 0 ? "above" : "below", std::abs(group.least), std::abs(group.most));
    const std::string where = shot_where(shots, of_group.front(), files) + ", " +
                              place_name(ground.to_world(ground.points[group.points.front()].head<2>()));
    if (has_code_of_its_own(group, ground, standings, shots)) {
      problems.note(fmt::format("{}: taken as ground, since nothing round them has their code, {}", stand,
                                code_of(shots[of_group.front()])),
                    where);
      continue;
    }
    problems.warning(
        fmt::format("{}: the height of instrument or of the rod of one set-up seems to be wrong{}", stand,
                    4 * of_group.size() > shots.size() ? ", theirs or that of the others" : ""),
        where,
        "check that set-up's height of instrument, backsight and rod in the field book, and correct all of its shots; "
        "leave them out if it cannot be explained, and where the ground is so, join its top and toe by breaklines");
  }
}

void tell_close_pairs(const std::vector<ClosePair>& pairs, const std::vector<Shot>& shots, const ShotFiles& files,
                      Problems& problems) {
  constexpr std::size_t told_singly = 20;
  for (std::size_t i = 0; i < std::min(pairs.size(), told_singly); ++i) {
    const auto& [first, second] = pairs[i].shots;
    problems.warning(
        fmt::format("{} and {} stand {:.2f} apart in plan, at elevations {:.2f} and {:.2f}: a fall of {:.0f} "
                    "% between them, as where one place was shot twice and one of the shots is wrong",
                    shot_name(shots, first), shot_name(shots, second), pairs[i].apart, shots[first].elevation,
                    shots[second].elevation, 100 * pairs[i].rise / pairs[i].apart),
        shot_where(shots, first, files) + " and " + shot_where(shots, second, files),
        "check both; leave out the one that is wrong, or join top and toe by breaklines if it is a step");
  }
  if (pairs.size() > told_singly) {
    problems.warning(fmt::format("{} more pairs of shots stand as close and as steep", pairs.size() - told_singly));
  }
}

void tell_busts(const Ground& ground, const std::vector<Shot>& shots, const std::vector<Bust>& busts,
                const ShotFiles& files, Problems& problems) {
  constexpr std::size_t told_singly = 20;
  for (std::size_t i = 0; i < std::min(busts.size(), told_singly); ++i) {
    const Bust& bust = busts[i];
    const Point3& p = ground.points[bust.point];
    const auto shot = static_cast<std::size_t>(ground.shot_of_point[bust.point]);
    problems.warning(
        fmt::format("{} at elevation {:.2f} stands {:.2f} {} the ground round it, the general fall of the lot aside "
                    "(its neighbours are at {:.2f} to {:.2f}, mean {:.2f})",
                    shot_name(shots, shot), p.z(), std::abs(bust.stands_out), bust.stands_out > 0 ? "above" : "below",
                    bust.lowest, bust.highest, bust.mean),
        shot_where(shots, shot, files) + ", " + place_name(ground.to_world(p.head<2>())),
        "check the rod height and the reading; leave the shot out if it cannot be explained");
  }
  if (busts.size() > told_singly) {
    problems.warning(
        fmt::format("{} more shots stand far out of line with their neighbours", busts.size() - told_singly));
  }
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
                 const std::string& to_exchange, Problems& problems) {
  const double size = std::max(shots.size(), 1.0), away = shots.outside(at);
  const auto fits = [&](const Point2& p) { return shots.outside(p) < 0.5 * size; };
  if (away <= size) return;
  const std::string seen = fmt::format("{} at {} is {:.0f} from the nearest of the shots ({})", what, place_name(at),
                                       away, extent_name(shots));
  if (fits({at.y(), at.x()})) {
    problems.warning(
        seen + ", but would be among them with northing and easting exchanged", where,
        fmt::format("if the shots' northings and eastings are exchanged, {}; if the job's n and e are, exchange them",
                    to_exchange.empty() ? "exchange the two columns" : to_exchange));
  } else if (fits(at / feet_per_metre)) {
    problems.warning(seen + fmt::format(", but would be among them in meters, at {}", place_name(at / feet_per_metre)),
                     where,
                     "the shots seem to be in meters and the job in feet: turn one of them into the unit of the other");
  } else if (fits(at * feet_per_metre)) {
    problems.warning(seen + fmt::format(", but would be among them in feet, at {}", place_name(at * feet_per_metre)),
                     where,
                     "the shots seem to be in feet and the job in meters: turn one of them into the unit of the other");
  } else if (away > 10 * size) {
    problems.warning(seen, where, "check that the job and the shots use the same coordinates and units");
  }
}

/// Off by hundreds of feet, or by what feet and meters make, it is refused: every figure would be in another datum.
void check_elevation(const Extent& shots, const Mark& mark, const std::string& where, Problems& problems) {
  constexpr double beyond_any_lot = 100;
  if (!mark.elevation) return;
  const double z = *mark.elevation, relief = std::max(shots.highest - shots.lowest, 1.0);
  const double slack = std::max(5 * relief, 0.1 * std::abs(z)), off = shots.elevation_outside(z);
  const bool is_beside = shots.outside(mark.at) <= std::max(shots.size(), 1.0);
  const bool is_beyond = is_beside && off > std::max(5 * relief, beyond_any_lot);
  if (off <= slack && !is_beyond) return;
  const std::string seen =
      fmt::format("the bench mark's elevation is {:.2f} but the shots lie between {:.2f} and {:.2f}", z, shots.lowest,
                  shots.highest);
  const auto fits = [&](double elevation) { return shots.elevation_outside(elevation) <= slack / 10; };
  const auto tell = [&](const std::string& what, const char* what_to_do, bool is_error) {
    problems.all.push_back({is_error ? Severity::error : Severity::warning, what, where, what_to_do});
  };
  if (fits(z * feet_per_metre)) {
    tell(seen + fmt::format("; in meters it would be {:.2f} ft and fit", z * feet_per_metre),
         "the bench mark's elevation seems to be in meters and the shots' in feet: turn one into the unit of the other",
         is_beside);
  } else if (fits(z / feet_per_metre)) {
    tell(seen + fmt::format("; in feet it would be {:.2f} m and fit", z / feet_per_metre),
         "the shots' elevations seem to be in meters and the bench mark's in feet: turn one into the unit of the other",
         is_beside);
  } else {
    tell(seen, "check the bench mark's elevation and that the shots are in the same datum and units", is_beyond);
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

/// Where the mark does not fit the survey at all, its own shot says nothing more.
Problems checked(const std::vector<Shot>& shots, const std::vector<StrayShot>& strays, const Mark& benchmark,
                 double grade_limit, const std::string& to_exchange) {
  Problems problems;
  const Extent extent = extent_of(shots, strays, benchmark.name);
  if (!(extent.size() >= 0)) return problems;  // no other shots
  const std::string where = benchmark.name.empty() ? "bench mark" : "bench mark " + benchmark.name;
  check_place(extent, "the bench mark", benchmark.at, where, to_exchange, problems);
  const bool fits_in_plan = problems.all.empty();
  const std::size_t told = problems.all.size();
  check_elevation(extent, benchmark, where, problems);
  const bool fits_in_height = problems.all.size() == told;
  for (const Shot& shot : shots) {
    if (benchmark.name.empty() || shot.point != benchmark.name) continue;
    if (fits_in_plan) check_own_place(shot, benchmark, where, problems);
    if (fits_in_height) check_own_elevation(shot, benchmark, grade_limit, where, problems);
  }
  return problems;
}

}  // namespace

std::vector<Bust> find_busts(const Ground& ground, double factor) {
  return busts_among(ground, find_standings(ground), factor);
}

Problems bust_warnings(const Ground& ground, const std::vector<Shot>& shots, const std::vector<Breakline>& breaklines,
                       const GroundOptions& options) {
  const double factor = options.bust_factor;
  const ShotFiles& files = options.files;
  const Standings standings = find_standings(ground);
  const std::vector<bool> on_line = points_on_lines(ground, shots.size(), breaklines);
  const std::vector<BustGroup> groups = find_bust_groups(ground, standings, on_line, factor);
  std::vector<Bust> busts = busts_among(ground, standings, factor);
  drop_those_beside(groups, ground, standings, busts);
  Problems problems;
  tell_groups(ground, standings, shots, groups, files, problems);
  tell_close_pairs(find_close_pairs(ground, shots, on_line, options.one_place.elevation), shots, files, problems);
  tell_busts(ground, shots, busts, files, problems);
  return problems;
}

Problems check_benchmark(const std::vector<Shot>& shots, const Mark& benchmark, double grade_limit,
                         const std::string& to_exchange) {
  return checked(shots, find_strays(shots), benchmark, grade_limit, to_exchange);
}

Problems check_benchmarks(const std::vector<Shot>& shots, const std::optional<Mark>& first,
                          const std::optional<Mark>& second, double grade_limit, const std::string& to_exchange) {
  Problems problems;
  const std::vector<StrayShot> strays = find_strays(shots);
  for (const std::optional<Mark>& mark : {first, second}) {
    if (mark) problems.append(checked(shots, strays, *mark, grade_limit, to_exchange));
  }
  if (first && second && (first->at - second->at).norm() <= same_place) {
    problems.warning(fmt::format("the two bench marks are one place, {}, so a check shot on the second proves nothing",
                                 place_name(first->at)),
                     "second_benchmark", "set a second bench mark well away from the first");
  }
  return problems;
}

Problems check_bed_place(const std::vector<Shot>& shots, const Point2& middle, const std::string& key,
                         const std::string& to_exchange) {
  Problems problems;
  const Extent extent = extent_of(shots, find_strays(shots), {});
  if (extent.size() >= 0) check_place(extent, "the middle of the bed", middle, key, to_exchange, problems);
  return problems;
}

}  // namespace moundwright

#include "geom/breaklines.h"

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/box_intersection_d.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

#include "geom/shot_names.h"
#include "geom/triangulate.h"

namespace moundwright {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Box = CGAL::Box_intersection_d::Box_with_info_d<double, 2, std::size_t>;

using Pair = std::array<std::size_t, 2>;

/// Pairs of segments whose boxes overlap, in a fixed order.
std::vector<Pair> close_pairs(const std::vector<Site>& sites, const std::vector<BreakSegment>& segments) {
  std::vector<Box> boxes;
  boxes.reserve(segments.size());
  for (std::size_t i = 0; i < segments.size(); ++i) {
    const Site &a = sites[segments[i].from], &b = sites[segments[i].to];
    boxes.emplace_back(CGAL::Bbox_2(std::min(a.x, b.x), std::min(a.y, b.y), std::max(a.x, b.x), std::max(a.y, b.y)), i);
  }
  std::vector<Pair> pairs;
  CGAL::box_self_intersection_d(boxes.begin(), boxes.end(), [&pairs](const Box& a, const Box& b) {
    pairs.push_back({std::min(a.info(), b.info()), std::max(a.info(), b.info())});
  });
  std::sort(pairs.begin(), pairs.end());
  return pairs;
}

/// How far along each of two segments, 0 to 1, they cross; nullopt where they only touch or miss.
std::optional<std::array<double, 2>> crossing(const std::vector<Site>& sites, const BreakSegment& s,
                                              const BreakSegment& t) {
  const auto at = [&sites](std::uint32_t i) { return Kernel::Point_2(sites[i].x, sites[i].y); };
  const Kernel::Point_2 a = at(s.from), b = at(s.to), c = at(t.from), d = at(t.to);
  if (CGAL::orientation(a, b, c) * CGAL::orientation(a, b, d) >= 0) return std::nullopt;
  if (CGAL::orientation(c, d, a) * CGAL::orientation(c, d, b) >= 0) return std::nullopt;
  const double over = CGAL::determinant(b - a, d - c);
  if (over == 0) return std::nullopt;  // parallel to within rounding: they lie along each other
  const double along_s = CGAL::determinant(c - a, d - c) / over, along_t = CGAL::determinant(c - a, b - a) / over;
  return std::array{std::clamp(along_s, 0.0, 1.0), std::clamp(along_t, 0.0, 1.0)};
}

struct Cut {
  std::size_t segment;
  double along;
  std::uint32_t site;
};

/// Segments split at their cuts.
std::vector<BreakSegment> pieces_of(const std::vector<BreakSegment>& segments, std::vector<Cut> cuts) {
  std::sort(cuts.begin(), cuts.end(), [](const Cut& a, const Cut& b) {
    return a.segment != b.segment ? a.segment < b.segment : a.along < b.along;
  });
  std::vector<BreakSegment> pieces;
  auto cut = cuts.begin();
  for (std::size_t i = 0; i < segments.size(); ++i) {
    std::uint32_t from = segments[i].from;
    const auto add = [&](std::uint32_t to) {
      if (from != to) pieces.push_back({from, to, segments[i].between_shots});
      from = to;
    };
    for (; cut != cuts.end() && cut->segment == i; ++cut) add(cut->site);
    add(segments[i].to);
  }
  return pieces;
}

/// How far along from a to b p stands, 0 to 1, if it is on the line between them to within same_place.
std::optional<double> stands_on(const Point2& p, const Point2& a, const Point2& b) {
  const Point2 along = b - a, off = p - a;
  const double length2 = along.squaredNorm(), t = along.dot(off) / length2;
  const double across = along.x() * off.y() - along.y() * off.x();
  if (t <= 0 || t >= 1 || across * across >= same_place * same_place * length2) return std::nullopt;
  return t;
}

void lead_through_sites(const std::vector<Site>& sites, std::vector<BreakSegment>& segments) {
  std::vector<std::uint32_t> by_x(sites.size());
  std::iota(by_x.begin(), by_x.end(), 0u);
  std::sort(by_x.begin(), by_x.end(), [&](std::uint32_t a, std::uint32_t b) { return sites[a].x < sites[b].x; });
  const auto first_from = [&](double x) {
    return std::lower_bound(by_x.begin(), by_x.end(), x,
                            [&](std::uint32_t i, double limit) { return sites[i].x < limit; });
  };
  std::vector<Cut> cuts;
  for (std::size_t s = 0; s < segments.size(); ++s) {
    const Point2 a = sites[segments[s].from].plan(), b = sites[segments[s].to].plan();
    const auto last = first_from(std::max(a.x(), b.x()) + same_place);
    for (auto i = first_from(std::min(a.x(), b.x()) - same_place); i != last; ++i) {
      if (*i == segments[s].from || *i == segments[s].to) continue;
      if (const auto along = stands_on(sites[*i].plan(), a, b)) cuts.push_back({s, *along, *i});
    }
  }
  segments = pieces_of(segments, std::move(cuts));
}

struct Cutter {
  std::vector<Site>& sites;
  std::vector<BreakSegment>& segments;
  double tolerance;
  const std::vector<Shot>& shots;
  const Point2& origin;
  Problems& problems;
  std::size_t first_crossing;  // sites from here on were added

  double elevation(const BreakSegment& s, double along) const {
    return sites[s.from].z + along * (sites[s.to].z - sites[s.from].z);
  }

  std::optional<std::uint32_t> site_at(const Point2& p, const BreakSegment& s, const BreakSegment& t) const {
    const auto near = [&](std::size_t i) { return (sites[i].plan() - p).norm() < same_place; };
    for (const std::uint32_t i : {s.from, s.to, t.from, t.to}) {
      if (near(i)) return i;
    }
    for (std::size_t i = first_crossing; i < sites.size(); ++i) {
      if (near(i)) return static_cast<std::uint32_t>(i);
    }
    return std::nullopt;
  }

  std::string between(const BreakSegment& s) const {
    return fmt::format("between {} and {}", shot_name(shots, s.between_shots[0]), shot_name(shots, s.between_shots[1]));
  }

  void tell_disagreement(const BreakSegment& s, const BreakSegment& t, const Site& site, double z_s, double z_t) {
    if (std::abs(z_s - z_t) <= tolerance) return;
    problems.warning(
        fmt::format("two breaklines cross at different elevations: {:.2f} on the one {}, {:.2f} on the one "
                    "{}; the mean, {:.2f}, is used",
                    z_s, between(s), z_t, between(t), site.z),
        place_name(site.plan() + origin), "check which shots belong to which line, and their elevations");
  }

  std::uint32_t site_of_crossing(const BreakSegment& s, const BreakSegment& t, const std::array<double, 2>& along) {
    const Point2 p = sites[s.from].plan() + along[0] * (sites[s.to].plan() - sites[s.from].plan());
    if (const auto there = site_at(p, s, t)) return *there;
    const double z_s = elevation(s, along[0]), z_t = elevation(t, along[1]);
    sites.push_back({p.x(), p.y(), 0.5 * (z_s + z_t), -1});
    tell_disagreement(s, t, sites.back(), z_s, z_t);
    return static_cast<std::uint32_t>(sites.size() - 1);
  }

  std::vector<Cut> find_cuts() {
    std::vector<Cut> cuts;
    for (const auto& [i, j] : close_pairs(sites, segments)) {
      const BreakSegment &s = segments[i], &t = segments[j];
      if (s.from == t.from || s.from == t.to || s.to == t.from || s.to == t.to) continue;
      const auto along = crossing(sites, s, t);
      if (!along) continue;
      const std::uint32_t site = site_of_crossing(s, t, *along);
      cuts.push_back({i, (*along)[0], site});
      cuts.push_back({j, (*along)[1], site});
    }
    return cuts;
  }

  /// True if a segment was cut in two or more.
  bool cut_once() {
    std::vector<BreakSegment> pieces = pieces_of(segments, find_cuts());
    const bool changed = pieces.size() > segments.size();
    segments.swap(pieces);
    return changed;
  }
};

}  // namespace

void cut_crossings(std::vector<Site>& sites, std::vector<BreakSegment>& segments, double tolerance,
                   const std::vector<Shot>& shots, const Point2& origin, Problems& problems) {
  lead_through_sites(sites, segments);
  Cutter cutter{sites, segments, tolerance, shots, origin, problems, sites.size()};
  // Rounding moves a crossing off its lines by a hair, which can bring about a new crossing right beside it; a second
  // round settles that. What is still tangled after a few is refused by the triangulation.
  for (int round = 0; round < 8 && cutter.cut_once(); ++round) {
  }
}

}  // namespace moundwright

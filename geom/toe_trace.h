// From loose stretches of the toe, as the kernel meets them triangle by triangle, to closed loops.
//
// Every stretch is directed with the mound on its left. Its two ends are known by what they lie on, never by their
// coordinates alone: an end on a TIN edge meets the one end that comes through the same edge from the other triangle;
// an end inside a triangle meets its partner inside that triangle; ends at vertical sides and at the outside of the
// survey meet among themselves. Only where several pairs lie on one carrier does distance decide which is whose.
#pragma once

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <limits>
#include <utility>
#include <vector>

#include "geom/number.h"

namespace moundwright {

template <class FT>
struct PlanPoint {
  FT x, y;
};

/// A box in plan, in double whatever the number type.
struct PlanBox {
  double x, y;            // its middle
  double half_x, half_y;  // negative where nothing is in it
  bool meets(const PlanBox& other) const {
    return std::abs(x - other.x) <= half_x + other.half_x && std::abs(y - other.y) <= half_y + other.half_y;
  }
};

template <class FT>
PlanBox box_round(const std::vector<PlanPoint<FT>>& points) {
  if (points.empty()) return {0, 0, -std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity()};
  double x0 = approximate(points[0].x), y0 = approximate(points[0].y), x1 = x0, y1 = y0;
  for (const PlanPoint<FT>& p : points) {
    const double x = approximate(p.x), y = approximate(p.y);
    x0 = std::min(x0, x), x1 = std::max(x1, x);
    y0 = std::min(y0, y), y1 = std::max(y1, y);
  }
  return {0.5 * (x0 + x1), 0.5 * (y0 + y1), 0.5 * (x1 - x0), 0.5 * (y1 - y0)};
}

/// What an end of a stretch lies on.
using Carrier = std::uint64_t;
inline Carrier tin_edge_carrier(std::uint32_t v, std::uint32_t w) {
  return (static_cast<Carrier>(std::min(v, w)) << 32) | std::max(v, w);
}
inline Carrier triangle_carrier(std::uint32_t t) { return (Carrier{0xffffffff} << 32) | t; }
constexpr Carrier wall_carrier = ~Carrier{0};  // vertical sides and the outside of the survey

template <class FT>
struct ToeStretch {
  PlanPoint<FT> from, to;
  Carrier from_carrier, to_carrier;
  bool off_survey = false;  // not a toe: here the mound still stands above the ground where the survey ends
};

/// One side of a stretch of a vertical side that stands above ground.
template <class FT>
struct WallStretch {
  int wall;
  PlanPoint<FT> from, to;  // the mound's piece on the left
};

/// A closed loop of the footprint's boundary: counter-clockwise around mound, clockwise around a hole in it.
template <class FT>
struct ToeLoop {
  std::vector<PlanPoint<FT>> points;  // not repeated at the end
  std::vector<bool> off_survey;       // of the stretch from each point to the next
  FT twice_area{0};                   // negative for a hole
  bool is_hole() const { return twice_area < FT(0); }
};

namespace toe_trace_detail {

template <class FT>
FT distance_squared(const PlanPoint<FT>& p, const PlanPoint<FT>& q) {
  return (p.x - q.x) * (p.x - q.x) + (p.y - q.y) * (p.y - q.y);
}

template <class FT>
FT snap_distance() {
  return std::is_floating_point_v<FT> ? FT(1e-9) : FT(0);
}

/// A stretch of one wall along the wall's own direction.
template <class FT>
struct Interval {
  FT from, to;
  PlanPoint<FT> from_point, to_point;
};

/// Joins intervals that touch or overlap.
template <class FT>
std::vector<Interval<FT>> merged(std::vector<Interval<FT>> intervals) {
  std::sort(intervals.begin(), intervals.end(),
            [](const Interval<FT>& p, const Interval<FT>& q) { return p.from < q.from; });
  std::vector<Interval<FT>> result;
  for (const Interval<FT>& next : intervals) {
    if (!result.empty() && next.from <= result.back().to + snap_distance<FT>()) {
      if (next.to > result.back().to) result.back().to = next.to, result.back().to_point = next.to_point;
    } else {
      result.push_back(next);
    }
  }
  return result;
}

/// What is in `mine` and not in `other`; both merged.
template <class FT>
std::vector<Interval<FT>> without(const std::vector<Interval<FT>>& mine, const std::vector<Interval<FT>>& other) {
  std::vector<Interval<FT>> result;
  const FT snap = snap_distance<FT>();
  for (Interval<FT> rest : mine) {
    for (const Interval<FT>& cut : other) {
      if (cut.to <= rest.from || cut.from >= rest.to) continue;
      if (cut.from > rest.from + snap) {
        result.push_back({rest.from, cut.from, rest.from_point, cut.from_point});
      }
      rest.from = cut.to, rest.from_point = cut.to_point;
    }
    if (rest.to > rest.from + snap) result.push_back(rest);
  }
  return result;
}

/// Where a vertical side is the toe: mound on one side of it and none on the other.
template <class FT>
void add_walls(std::vector<WallStretch<FT>>& walls, std::vector<ToeStretch<FT>>& stretches) {
  std::stable_sort(walls.begin(), walls.end(),
                   [](const WallStretch<FT>& p, const WallStretch<FT>& q) { return p.wall < q.wall; });
  for (std::size_t first = 0; first < walls.size();) {
    std::size_t last = first;
    while (last < walls.size() && walls[last].wall == walls[first].wall) ++last;
    std::size_t longest = first;  // slivers along TIN edges have no direction worth the name
    for (std::size_t i = first; i < last; ++i) {
      if (distance_squared(walls[i].from, walls[i].to) > distance_squared(walls[longest].from, walls[longest].to)) {
        longest = i;
      }
    }
    const FT dx = walls[longest].to.x - walls[longest].from.x, dy = walls[longest].to.y - walls[longest].from.y;
    const double length = std::sqrt(approximate(FT(dx * dx + dy * dy)));
    const FT ux = length > 0 ? FT(dx / FT(length)) : FT(0), uy = length > 0 ? FT(dy / FT(length)) : FT(0);
    std::vector<Interval<FT>> sides[2];
    for (std::size_t i = first; i < last; ++i) {
      const WallStretch<FT>& w = walls[i];
      const FT from = ux * w.from.x + uy * w.from.y, to = ux * w.to.x + uy * w.to.y;
      if (from < to) {
        sides[0].push_back({from, to, w.from, w.to});
      } else if (to < from) {
        sides[1].push_back({to, from, w.to, w.from});
      }
    }
    for (auto& side : sides) side = merged(std::move(side));
    for (const Interval<FT>& i : without(sides[0], sides[1])) {
      stretches.push_back({i.from_point, i.to_point, wall_carrier, wall_carrier});
    }
    for (const Interval<FT>& i : without(sides[1], sides[0])) {
      stretches.push_back({i.to_point, i.from_point, wall_carrier, wall_carrier});
    }
    first = last;
  }
}

struct End {
  Carrier carrier;
  std::uint32_t stretch;
  bool arrives;
};

/// The ends that lie on one carrier: how many arrive and leave, and the last of each.
struct Meeting {
  Carrier carrier;
  std::uint32_t arriving = 0, leaving = 0;  // counts; none: the place is free
  std::uint32_t arrives = 0, leaves = 0;    // stretches
  bool is_free() const { return arriving + leaving == 0; }
  bool is_a_pair() const { return arriving == 1 && leaving == 1; }
};

/// Meetings by carrier: a table of a power of two of places, at least half of them free, searched from where the
/// carrier's hash points on.
class Meetings {
 public:
  void clear(std::size_t ends) { places_.assign(std::bit_ceil(2 * ends + 1), Meeting{}); }
  Meeting& at(Carrier carrier) {
    const std::size_t last = places_.size() - 1;
    constexpr std::uint64_t golden = 0x9e3779b97f4a7c15;  // 2^64 over the golden ratio, which spreads neighbours well
    for (std::size_t i = carrier * golden >> 32;; ++i) {
      Meeting& place = places_[i & last];
      if (place.is_free()) place.carrier = carrier;
      if (place.carrier == carrier) return place;
    }
  }

 private:
  std::vector<Meeting> places_;
};

/// For ends on one carrier: each arriving stretch goes on with the nearest leaving one that is still free.
template <class FT>
void match_nearest(const std::vector<ToeStretch<FT>>& stretches, const std::vector<std::uint32_t>& arriving,
                   std::vector<std::uint32_t>& leaving, std::vector<std::int64_t>& next,
                   std::vector<std::uint32_t>& unmatched) {
  for (const std::uint32_t a : arriving) {
    std::size_t best = leaving.size();
    for (std::size_t i = 0; i < leaving.size(); ++i) {
      if (best == leaving.size() || distance_squared(stretches[a].to, stretches[leaving[i]].from) <
                                        distance_squared(stretches[a].to, stretches[leaving[best]].from)) {
        best = i;
      }
    }
    if (best == leaving.size()) {
      unmatched.push_back(a);
      continue;
    }
    next[a] = leaving[best];
    leaving.erase(leaving.begin() + static_cast<std::ptrdiff_t>(best));
  }
}

template <class FT>
void fill(Meetings& meetings, const std::vector<ToeStretch<FT>>& stretches) {
  meetings.clear(2 * stretches.size());
  for (std::uint32_t i = 0; i < stretches.size(); ++i) {
    Meeting& from = meetings.at(stretches[i].from_carrier);
    ++from.leaving, from.leaves = i;
    Meeting& to = meetings.at(stretches[i].to_carrier);
    ++to.arriving, to.arrives = i;
  }
}

}  // namespace toe_trace_detail

/// Room that one trace after another works in.
struct ToeTraceWork {
  toe_trace_detail::Meetings meetings;
  std::vector<std::int64_t> next;  // of each stretch, the one that goes on from its end; -1 for none
  // Ends on a carrier that holds more than one of a kind, and what is left of them as they are joined.
  std::vector<toe_trace_detail::End> crowded;
  std::vector<std::uint32_t> arriving, leaving, lost_arriving, lost_leaving, never;
};

namespace toe_trace_detail {

/// Joins the ends given, carrier by carrier, by distance.
template <class FT>
void match_crowded(const std::vector<ToeStretch<FT>>& stretches, ToeTraceWork& work) {
  auto& [meetings, next, ends, arriving, leaving, lost_arriving, lost_leaving, never] = work;
  lost_arriving.clear(), lost_leaving.clear(), never.clear();
  std::sort(ends.begin(), ends.end(), [](const End& p, const End& q) { return p.carrier < q.carrier; });
  for (std::size_t first = 0; first < ends.size();) {
    arriving.clear(), leaving.clear();
    std::size_t last = first;
    for (; last < ends.size() && ends[last].carrier == ends[first].carrier; ++last) {
      (ends[last].arrives ? arriving : leaving).push_back(ends[last].stretch);
    }
    match_nearest(stretches, arriving, leaving, next, lost_arriving);
    lost_leaving.insert(lost_leaving.end(), leaving.begin(), leaving.end());
    first = last;
  }
  // Left over only where the toe runs exactly through a shot along a vertical side: distance is all there is.
  match_nearest(stretches, lost_arriving, lost_leaving, next, never);
}

/// Finds of each stretch the one that goes on from its end. Nearly every carrier holds one end that arrives and one
/// that leaves; only the others are joined by distance.
template <class FT>
void find_successors(const std::vector<ToeStretch<FT>>& stretches, ToeTraceWork& work) {
  std::vector<std::int64_t>& next = work.next;
  fill(work.meetings, stretches);
  next.assign(stretches.size(), -1);
  work.crowded.clear();
  for (std::uint32_t i = 0; i < stretches.size(); ++i) {
    const Meeting& from = work.meetings.at(stretches[i].from_carrier);
    if (!from.is_a_pair()) work.crowded.push_back({from.carrier, i, false});
    const Meeting& to = work.meetings.at(stretches[i].to_carrier);
    if (to.is_a_pair()) {
      next[i] = to.leaves;
    } else {
      work.crowded.push_back({to.carrier, i, true});
    }
  }
  if (!work.crowded.empty()) match_crowded(stretches, work);
}

}  // namespace toe_trace_detail

/// True if the stretches make one closed loop and nothing else, so that there are neither specks nor holes.
template <class FT>
bool is_one_loop(const std::vector<ToeStretch<FT>>& stretches, ToeTraceWork& work) {
  if (stretches.empty()) return false;
  toe_trace_detail::find_successors(stretches, work);
  std::size_t length = 0;
  for (std::int64_t at = 0; at >= 0 && length < stretches.size(); ++length) {
    at = work.next[static_cast<std::size_t>(at)];
    if (at == 0) return length + 1 == stretches.size();
  }
  return false;
}

/// Closed loops from stretches and walls; what cannot be closed is dropped. The stretches of walls that are toe are
/// added to the others.
template <class FT>
std::vector<ToeLoop<FT>> trace_loops(std::vector<ToeStretch<FT>>& stretches, std::vector<WallStretch<FT>>& walls,
                                     ToeTraceWork& work) {
  using namespace toe_trace_detail;
  if (!walls.empty()) add_walls(walls, stretches);
  find_successors(stretches, work);
  std::vector<std::int64_t>& next = work.next;
  std::vector<ToeLoop<FT>> loops;
  for (std::size_t start = 0; start < stretches.size(); ++start) {
    if (next[start] < 0) continue;
    ToeLoop<FT> loop;
    std::int64_t at = static_cast<std::int64_t>(start);
    while (at >= 0 && next[static_cast<std::size_t>(at)] >= 0) {
      const ToeStretch<FT>& stretch = stretches[static_cast<std::size_t>(at)];
      loop.points.push_back(stretch.from);
      loop.off_survey.push_back(stretch.off_survey);
      at = std::exchange(next[static_cast<std::size_t>(at)], -1);
    }
    const PlanPoint<FT>& origin = loop.points.front();
    for (std::size_t i = 1; i + 1 < loop.points.size(); ++i) {
      const PlanPoint<FT>& p = loop.points[i];
      const PlanPoint<FT>& q = loop.points[i + 1];
      loop.twice_area += (p.x - origin.x) * (q.y - origin.y) - (q.x - origin.x) * (p.y - origin.y);
    }
    if (loop.points.size() > 2) loops.push_back(std::move(loop));
  }
  return loops;
}

/// True if p lies inside the loop, whichever way it turns (crossing number).
template <class FT>
bool is_inside(const ToeLoop<FT>& loop, const PlanPoint<FT>& p) {
  bool inside = false;
  for (std::size_t i = 0, j = loop.points.size() - 1; i < loop.points.size(); j = i++) {
    const PlanPoint<FT>& a = loop.points[i];
    const PlanPoint<FT>& b = loop.points[j];
    inside ^= crosses_ray(a.x, a.y, b.x, b.y, p.x, p.y);
  }
  return inside;
}

}  // namespace moundwright

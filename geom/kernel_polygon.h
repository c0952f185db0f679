// Small convex polygons of ground, as the kernel cuts them: corners with residual elevations, and for every edge what
// it lies on, by which the toe's stretches find each other (toe_trace.h). No allocation on double.
//
// A corner is made in one way only, from the positive end of the edge that is cut. So both triangles at a TIN edge, and
// both sides of a plan line, get the same corner to the last digit, and nothing opens between them.
#pragma once

#include <boost/container/static_vector.hpp>
#include <cstdint>

#include "geom/kernel_sums.h"
#include "geom/toe_trace.h"

namespace moundwright::kernel_detail {

template <class FT>
struct Vertex {
  FT x, y, r;
  std::int32_t edge;  // what the edge to the next vertex lies on: a wall if >= 0, or one of the below
};
constexpr std::int32_t first_tin_edge = -1;  // edges 0, 1, 2 of the triangle are -1, -2, -3
constexpr std::int32_t plain_edge = -4;      // a cut inside a triangle
constexpr std::int32_t survey_edge = -5;     // an edge of the triangle where the survey ends

constexpr std::size_t polygon_capacity = 40;
constexpr std::size_t full_polygon = 24;  // corners; cut no more by lines, so that there is room for cuts by levels
template <class FT>
using Polygon = boost::container::static_vector<Vertex<FT>, polygon_capacity>;
template <class FT>
using Values = boost::container::static_vector<FT, polygon_capacity>;  // of something linear, at the corners

template <class FT>
struct LeastAndMost {
  FT least, most;
};

/// Fills `values` with f(corner).
template <class FT, class F>
LeastAndMost<FT> evaluate(const Polygon<FT>& polygon, const F& f, Values<FT>& values) {
  const std::size_t n = polygon.size();
  values.resize(n, boost::container::default_init);
  FT* value = values.data();
  const Vertex<FT>* corner = polygon.data();
  LeastAndMost<FT> range{f(corner[0]), FT(0)};
  range.most = value[0] = range.least;
  for (std::size_t i = 1; i < n; ++i) {
    value[i] = f(corner[i]);
    range.least = value[i] < range.least ? value[i] : range.least;
    range.most = value[i] > range.most ? value[i] : range.most;
  }
  return range;
}

template <class FT>
PlanPoint<FT> middle_of(const Polygon<FT>& polygon) {
  FT x(0), y(0);
  for (const Vertex<FT>& v : polygon) x += v.x, y += v.y;
  const FT n(static_cast<double>(polygon.size()));
  return {x / n, y / n};
}

/// The polygon with its moments about its first corner (the exact rule of tin_tree.h, on a fan whose every triangle has
/// a corner at the origin).
template <class FT>
Patch<FT> patch_of(const Polygon<FT>& polygon) {
  Moments<FT> m;
  const Vertex<FT>& o = polygon[0];
  const FT r0 = o.r, rr0 = o.r * o.r;
  FT x1 = polygon[1].x - o.x, y1 = polygon[1].y - o.y, r1 = polygon[1].r;
  for (std::size_t i = 2; i < polygon.size(); ++i) {
    const FT x2 = polygon[i].x - o.x, y2 = polygon[i].y - o.y, r2 = polygon[i].r;
    const FT twice = x1 * y2 - x2 * y1;
    const FT sx = x1 + x2, sy = y1 + y2, sr = r0 + r1 + r2;
    m.area += twice;
    m.x += twice * sx, m.y += twice * sy, m.r += twice * sr;
    m.xx += twice * (x1 * x1 + x2 * x2 + sx * sx);
    m.xy += twice * (x1 * y1 + x2 * y2 + sx * sy);
    m.yy += twice * (y1 * y1 + y2 * y2 + sy * sy);
    m.xr += twice * (x1 * r1 + x2 * r2 + sx * sr);
    m.yr += twice * (y1 * r1 + y2 * r2 + sy * sr);
    m.rr += twice * (rr0 + r1 * r1 + r2 * r2 + sr * sr);
    x1 = x2, y1 = y2, r1 = r2;
  }
  const FT half = FT(1) / FT(2), sixth = FT(1) / FT(6), share = FT(1) / FT(24);
  m.area *= half;
  m.x *= sixth, m.y *= sixth, m.r *= sixth;
  m.xx *= share, m.xy *= share, m.yy *= share, m.xr *= share, m.yr *= share, m.rr *= share;
  return {m, o.x, o.y};
}

/// Where the edge from i to j is cut; one of the values is positive, the other is not.
template <class FT>
Vertex<FT> crossing(const Vertex<FT>& i, const Vertex<FT>& j, const FT& value_i, const FT& value_j, std::int32_t edge) {
  const bool from_i = value_i > FT(0);
  const Vertex<FT>& p = from_i ? i : j;
  const Vertex<FT>& q = from_i ? j : i;
  const FT &at_p = from_i ? value_i : value_j, &at_q = from_i ? value_j : value_i;
  const FT part = zero_share(at_p, at_q);
  return {FT(p.x + (q.x - p.x) * part), FT(p.y + (q.y - p.y) * part), FT(p.r + (q.r - p.r) * part), edge};
}

/// The parts with positive and with negative values; corners at zero go to both. `edge` is what the new edges lie on.
template <class FT>
void split_along(const Polygon<FT>& polygon, const Values<FT>& value, std::int32_t edge, Polygon<FT>& positive,
                 Polygon<FT>& negative) {
  const std::size_t n = polygon.size();
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t j = i + 1 == n ? 0 : i + 1;
    const FT &here = value[i], &next = value[j];
    if (here > FT(0)) {
      positive.push_back(polygon[i]);
      if (!(next < FT(0))) continue;
      positive.push_back(crossing(polygon[i], polygon[j], here, next, edge));
      negative.push_back(positive.back());
      negative.back().edge = polygon[i].edge;
    } else if (here < FT(0)) {
      negative.push_back(polygon[i]);
      if (!(next > FT(0))) continue;
      negative.push_back(crossing(polygon[i], polygon[j], here, next, edge));
      positive.push_back(negative.back());
      positive.back().edge = polygon[i].edge;
    } else {
      positive.push_back(polygon[i]);
      negative.push_back(polygon[i]);
      if (next < FT(0)) positive.back().edge = edge;
      if (next > FT(0)) negative.back().edge = edge;
    }
  }
}

/// The new edge of a polygon that was cut: its ends, and the edges of the old polygon that they lie on.
template <class FT>
struct Cut {
  Vertex<FT> from, to;
};

/// The part strictly above zero: corners with a positive value, and the ends of the cut. `cut_edge` is what the cut
/// lies on. Not all values may be positive; where none is, the part is empty and there is no cut.
template <class FT>
Polygon<FT> part_above(const Polygon<FT>& polygon, const Values<FT>& value, std::int32_t cut_edge, Cut<FT>& cut) {
  Polygon<FT> part;
  const std::size_t n = polygon.size();
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t j = i + 1 == n ? 0 : i + 1;
    const bool in_i = value[i] > FT(0), in_j = value[j] > FT(0);
    if (in_i) part.push_back(polygon[i]);
    if (in_i == in_j) continue;
    Vertex<FT>& end = in_i ? cut.from : cut.to;  // on a counter-clockwise part the cut begins where its outline leaves
    end = crossing(polygon[i], polygon[j], value[i], value[j], polygon[i].edge);
    part.push_back(end);
    if (in_i) part.back().edge = cut_edge;
  }
  return part;
}

/// A polygon too full to be cut again, as two.
template <class FT>
void halve(const Polygon<FT>& polygon, Polygon<FT>& first, Polygon<FT>& second) {
  const auto half = polygon.begin() + static_cast<std::ptrdiff_t>(polygon.size() / 2);
  first.assign(polygon.begin(), half + 1);
  first.back().edge = plain_edge;
  second.assign(half, polygon.end());
  second.push_back(polygon.front());
  second.back().edge = plain_edge;
}

}  // namespace moundwright::kernel_detail

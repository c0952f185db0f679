// The kernel: plan cells laid on a TIN, and everything integrated exactly.
//
//   KernelWork<double> work;                          // reused from one placement to the next
//   const KernelResult<double>& r = run_kernel(tree, place(cells, spot, work), prepare, work);
//
// How it works. Two trees are descended together: the boxes over the triangles (tin_tree.h) and the lines over the
// plan cells (plan_cells.h). A box on one side of a line goes down that side whole; a box across a line is opened. A
// box that ends up inside one cell, with every surface of that cell clearly above or below all ground in the box, adds
// its moments and none of its triangles is visited. Only triangles that cross something are cut: first by the lines,
// then in the cell by the outermost surface (what is left is footprint, and the cut is a stretch of the toe), by the
// pit, and by each lower surface in turn, so that the polygon shrinks from layer to layer.
//
// In a cell, with P the prepared ground and U_1 < U_2 < ... its levels, the integral of max(0, U_l - P) for each l
// gives every layer by subtraction of its neighbours; nothing else is ever summed.
//
// Afterwards the toe's stretches are chained into loops. Loops that do not enclose bed are specks, which noise makes
// far off; they are gone over once more on their own and taken off. See model.md, "Prepared ground".
//
// Strictly above: where the finish lies on the ground there is no mound. That has to hold where it matters most, with a
// layer exactly on level ground or an apron flush with it, and there the signs of heights that are nothing but
// rounding would scatter footprint and strip over it. So a height within `height_grain` of nothing is nothing: on
// double a few units in the last place of the numbers at hand (5e-13 ft at an elevation of 100 ft), on an exact type
// zero. What is promised on double:
//   - a flat top whose elevation is that of level ground, as decimals add up, gives no footprint, no strip, no toe;
//   - a toe along a line of the plan cells (a side that ends on an apron flush with the ground) is found and closes;
//   - a side in one plane with a tilt is on it if the coordinates are local ones. At state-plane coordinates doubles
//   are
//     2e-9 ft apart, and whether such a side stands above its ground is no longer in the numbers.
//
// Everything is in plan axes (x east, y north) from the mound's own origin, so that numbers stay small wherever on the
// lot the mound is; elevations are residuals from the ground's trend plane until the results are put together. FT is
// any ordered field; on an exact rational this is the double version's twin, and no branch differs between the two.
#pragma once

#include <boost/container/static_vector.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <vector>

#include "geom/plan_cells.h"
#include "geom/tin_tree.h"
#include "geom/toe_trace.h"

namespace moundwright {

/// Where and how high the mound lies, on the kernel's number type.
template <class FT>
struct KernelSpot {
  FT x, y;                       // of the mound frame's origin, in the ground's reduced coordinates
  FT along_x, along_y;           // unit vector of u
  FT bottom;                     // bed bottom elevation
  FT trend_a, trend_b, trend_c;  // the ground's trend plane, in reduced coordinates
};

/// Heights above ground no greater than this are rounding. For double: bed bottom and layers are sums of decimals, and
/// corners are found to the last place of numbers the size of a lot.
template <class FT>
FT height_grain(const KernelSpot<FT>& spot) {
  if constexpr (std::is_floating_point_v<FT>) {
    constexpr FT size_of_a_lot(512);
    return 4 * std::numeric_limits<FT>::epsilon() * (std::abs(spot.bottom) + size_of_a_lot);
  } else {
    return FT(0);
  }
}

template <class FT>
struct KernelPrepare {
  FT strip{0};
  std::optional<FT> pit_bottom;  // elevation
};

/// Least and greatest of something, over the places where it was seen.
template <class FT>
struct Range {
  bool seen = false;
  FT least{0}, most{0};
  void add(const FT& value) {
    if (!seen) {
      least = most = value;
      seen = true;
    } else if (value < least) {
      least = value;
    } else if (value > most) {
      most = value;
    }
  }
};

/// Integrals of a thickness t over plan: of t, x t, y t, and of t times the height of its middle (a residual).
template <class FT>
struct Bulk {
  FT volume{0}, x{0}, y{0}, z{0};
};

template <class FT>
struct LayerSums {
  Bulk<FT> bulk;
  FT area{0};                       // where the layer adds something
  Range<FT> in_bed, under_own_top;  // of thickness
};

template <class FT>
struct KernelSums {
  std::vector<LayerSums<FT>> layers;
  FT footprint_area{0};
  Bulk<FT> strip;
  Bulk<FT> pit;  // below the stripped surface
  FT pit_area{0};
  Range<FT> sand;  // bed bottom to prepared ground, under the bed

  void reset(std::size_t layer_count) {
    layers.assign(layer_count, LayerSums<FT>{});
    footprint_area = pit_area = FT(0);
    strip = pit = Bulk<FT>{};
    sand = Range<FT>{};
  }
};

template <class FT>
struct KernelResult {
  KernelSums<FT> sums;
  std::vector<ToeLoop<FT>> loops;   // those that count: around bed, and the holes in them
  std::vector<ToeLoop<FT>> specks;  // outer loops left out
  FT specks_area{0};
};

namespace kernel_detail {

template <class FT>
struct Vertex {
  FT x, y, r;
  std::int32_t edge;  // what the edge to the next vertex lies on: a wall if >= 0, or one of the below
};
constexpr std::int32_t first_tin_edge = -1;  // edges 0, 1, 2 of the triangle are -1, -2, -3
constexpr std::int32_t last_tin_edge = -3;
constexpr std::int32_t plain_edge = -4;

constexpr std::size_t polygon_capacity = 40;
template <class FT>
using Polygon = boost::container::static_vector<Vertex<FT>, polygon_capacity>;
template <class FT>
using Values = boost::container::static_vector<FT, polygon_capacity>;

}  // namespace kernel_detail

/// Buffers and results of one run after another. Keep one a thread.
template <class FT>
struct KernelWork {
  PlanCells<FT> placed;
  KernelSpot<FT> spot;
  std::vector<ToeStretch<FT>> stretches;
  std::vector<WallStretch<FT>> walls;
  KernelResult<FT> result;
};

/// Turns and moves the cells' lines and planes into plan axes about the spot, with levels as residual elevations.
template <class FT>
const PlanCells<FT>& place(const PlanCells<FT>& cells, const KernelSpot<FT>& spot, const KernelPrepare<FT>& prepare,
                           KernelWork<FT>& work) {
  work.spot = spot;
  PlanCells<FT>& placed = work.placed;
  placed.nodes = cells.nodes;
  placed.cells = cells.cells;
  placed.levels = cells.levels;
  placed.roofs = cells.roofs;
  placed.root = cells.root;
  placed.layer_count = cells.layer_count;
  const FT trend_here = spot.trend_a * spot.x + spot.trend_b * spot.y + spot.trend_c;
  const auto turn = [&](PlaneOf<FT>& plane) {
    const FT a = plane.a * spot.along_x - plane.b * spot.along_y;
    plane.b = plane.a * spot.along_y + plane.b * spot.along_x;
    plane.a = a;
  };
  const auto as_residual = [&](PlaneOf<FT>& plane, const FT& datum) {
    turn(plane);
    plane.a -= spot.trend_a;
    plane.b -= spot.trend_b;
    plane.c += datum - trend_here;
  };
  for (PlanNode<FT>& node : placed.nodes) turn(node.line);
  for (PlaneOf<FT>& roof : placed.roofs) as_residual(roof, spot.bottom);
  for (CellLevel<FT>& level : placed.levels) as_residual(level.plane, spot.bottom);
  for (PlanCell<FT>& cell : placed.cells) {
    if (cell.has_pit) as_residual(cell.pit, *prepare.pit_bottom);
  }
  return placed;
}

namespace kernel_detail {

/// Integrals over a convex polygon, fanned from its first corner. Exact for the degree (see tin_tree.h).
template <class FT>
struct PolygonSums {
  FT area{0};
  Bulk<FT> bulk;
};

/// Of thickness h at the corners over a surface p at the corners (both linear on the polygon).
template <class FT, class Thickness, class Surface>
PolygonSums<FT> integrate(const Polygon<FT>& polygon, const Thickness& h, const Surface& p) {
  PolygonSums<FT> sums;
  const Vertex<FT>& o = polygon[0];
  for (std::size_t i = 1; i + 1 < polygon.size(); ++i) {
    const Vertex<FT>& v = polygon[i];
    const Vertex<FT>& w = polygon[i + 1];
    const FT twice = (v.x - o.x) * (w.y - o.y) - (w.x - o.x) * (v.y - o.y);
    const FT &h0 = h(0), &h1 = h(i), &h2 = h(i + 1);
    const FT sum = h0 + h1 + h2;
    const FT p0 = p(0), p1 = p(i), p2 = p(i + 1);
    sums.area += twice;
    sums.bulk.volume += twice * sum;
    sums.bulk.x += twice * (h0 * o.x + h1 * v.x + h2 * w.x + sum * (o.x + v.x + w.x));
    sums.bulk.y += twice * (h0 * o.y + h1 * v.y + h2 * w.y + sum * (o.y + v.y + w.y));
    // height of the middle of the column is p + h / 2
    const FT m0 = p0 + p0 + h0, m1 = p1 + p1 + h1, m2 = p2 + p2 + h2;
    sums.bulk.z += twice * (h0 * m0 + h1 * m1 + h2 * m2 + sum * (m0 + m1 + m2));
  }
  sums.area = sums.area / FT(2);
  sums.bulk.volume = sums.bulk.volume / FT(6);
  sums.bulk.x = sums.bulk.x / FT(24);
  sums.bulk.y = sums.bulk.y / FT(24);
  sums.bulk.z = sums.bulk.z / FT(48);
  return sums;
}

template <class FT>
void add(Bulk<FT>& into, const Bulk<FT>& part) {
  into.volume += part.volume, into.x += part.x, into.y += part.y, into.z += part.z;
}

template <class FT>
void subtract(Bulk<FT>& from, const Bulk<FT>& part) {
  from.volume -= part.volume, from.x -= part.x, from.y -= part.y, from.z -= part.z;
}

template <class FT>
PlanPoint<FT> middle_of(const Polygon<FT>& polygon) {
  FT x(0), y(0);
  for (const Vertex<FT>& v : polygon) x += v.x, y += v.y;
  const FT n(static_cast<double>(polygon.size()));
  return {x / n, y / n};
}

/// Lower and upper bound of a plane over a box, in double; the box was rounded outward by far more than this errs.
struct Bounds {
  double low, high;
};

/// Decides which parts of the footprint count while specks are gone over.
template <class FT>
struct SpeckFilter {
  const std::vector<ToeLoop<FT>>* loops;  // all of them
  std::size_t speck;                      // the outer loop at hand
  double x0, y0, x1, y1;                  // its box, about the mound's origin

  bool meets(double cx, double cy, double hx, double hy) const {
    return cx + hx >= x0 && cx - hx <= x1 && cy + hy >= y0 && cy - hy <= y1;
  }
  /// True if the innermost loop around p is this speck's own.
  bool holds(const PlanPoint<FT>& p) const {
    const ToeLoop<FT>& own = (*loops)[speck];
    if (!is_inside(own, p)) return false;
    for (const ToeLoop<FT>& loop : *loops) {
      const FT size = loop.twice_area < FT(0) ? FT(-loop.twice_area) : loop.twice_area;
      if (&loop != &own && size < own.twice_area && is_inside(loop, p)) return false;
    }
    return true;
  }
};

template <class FT>
class Run {
 public:
  Run(const TinTree<FT>& tree, const KernelPrepare<FT>& prepare, KernelWork<FT>& work, KernelSums<FT>& sums,
      const SpeckFilter<FT>* filter)
      : tree_(tree),
        cells_(work.placed),
        spot_(work.spot),
        strip_(prepare.strip),
        strip_approximate_(approximate(prepare.strip)),
        grain_(height_grain(work.spot)),
        grain_approximate_(approximate(grain_)),
        origin_x_(approximate(work.spot.x)),
        origin_y_(approximate(work.spot.y)),
        work_(work),
        sums_(sums),
        filter_(filter) {
    const FT trend_here = spot_.trend_a * spot_.x + spot_.trend_b * spot_.y + spot_.trend_c;
    bed_bottom_ = {-spot_.trend_a, -spot_.trend_b, spot_.bottom - trend_here};
  }

  void descend(const TreeNode& node, std::int32_t at) {
    const TreeBox& box = tree_.boxes[node.index];
    const double cx = box.center_x() - origin_x_, cy = box.center_y() - origin_y_;
    const double hx = box.half_x(), hy = box.half_y();
    if (filter_ != nullptr && !filter_->meets(cx, cy, hx, hy)) return;
    while (at >= 0) {
      const PlanNode<FT>& split = cells_.nodes[static_cast<std::size_t>(at)];
      const double a = approximate(split.line.a), b = approximate(split.line.b);
      const double middle = a * cx + b * cy + approximate(split.line.c);
      const double spread = std::abs(a) * hx + std::abs(b) * hy;
      if (middle >= spread) {
        at = split.positive;
      } else if (middle <= -spread) {
        at = split.negative;
      } else {
        if (is_over_a_roof(split, box, cx, cy, hx, hy)) return;
        open(node, at);
        return;
      }
    }
    const PlanCell<FT>& cell = cells_.cells[static_cast<std::size_t>(-1 - at)];
    if (cell.level_count == 0) return;
    const Bounds top = bounds(level(cell, cell.level_count - 1).plane, cx, cy, hx, hy);
    if (top.high <= box.r0) return;
    if (top.low - box.r1 > grain_approximate_ && add_box(node, cell, cx, cy, hx, hy)) return;
    open(node, at);
  }

 private:
  const TinTree<FT>& tree_;
  const PlanCells<FT>& cells_;
  const KernelSpot<FT>& spot_;
  const FT strip_;
  const double strip_approximate_;
  const FT grain_;
  const double grain_approximate_, origin_x_, origin_y_;
  PlaneOf<FT> bed_bottom_;
  KernelWork<FT>& work_;
  KernelSums<FT>& sums_;
  const SpeckFilter<FT>* filter_;
  std::uint32_t triangle_ = 0;

  const CellLevel<FT>& level(const PlanCell<FT>& cell, std::uint32_t i) const {
    return cells_.levels[cell.first_level + i];
  }

  /// A height without what is only rounding.
  FT above_grain(const FT& height) const {
    if constexpr (std::is_floating_point_v<FT>) {
      return std::abs(height) <= grain_ ? FT(0) : height;
    } else {
      return height;
    }
  }

  static Bounds bounds(const PlaneOf<FT>& plane, double cx, double cy, double hx, double hy) {
    const double a = approximate(plane.a), b = approximate(plane.b);
    const double middle = a * cx + b * cy + approximate(plane.c);
    const double spread = std::abs(a) * hx + std::abs(b) * hy;
    return {middle - spread, middle + spread};
  }

  /// True if all ground in a box stands above some plane that the mound stays under.
  bool is_over_a_roof(const PlanNode<FT>& node, const TreeBox& box, double cx, double cy, double hx, double hy) const {
    for (std::uint32_t i = node.first_roof; i < node.first_roof + node.roof_count; ++i) {
      if (bounds(cells_.roofs[i], cx, cy, hx, hy).high <= box.r0) return true;
    }
    return false;
  }

  void open(const TreeNode& node, std::int32_t at) {
    if (!node.is_leaf()) {
      descend(node.first_child(), at);
      descend(node.second_child(), at);
      return;
    }
    const auto [first, last] = triangle_range(tree_, node);
    for (triangle_ = first; triangle_ < last; ++triangle_) {
      Polygon<FT> polygon;
      for (int i = 0; i < 3; ++i) {
        const TinVertex<FT>& v = tree_.vertices[tree_.triangles[triangle_][i]];
        polygon.push_back({FT(v.x - spot_.x), FT(v.y - spot_.y), v.r, first_tin_edge - i});
      }
      cut_down(polygon, at);
    }
  }

  // ---- whole boxes -----------------------------------------------------------------------------------------------

  enum class Ground { stripped, pit, mixed };

  /// Which surface the prepared ground is, all over a box.
  Ground prepared_in(const PlanCell<FT>& cell, const TreeBox& box, double cx, double cy, double hx, double hy) const {
    if (!cell.has_pit) return Ground::stripped;
    const Bounds pit = bounds(cell.pit, cx, cy, hx, hy);
    if (pit.low >= box.r1 - strip_approximate_) return Ground::stripped;
    if (pit.high <= box.r0 - strip_approximate_) return Ground::pit;
    return Ground::mixed;
  }

  /// Bounds of plane - prepared ground over the box.
  Bounds over_prepared(const PlaneOf<FT>& plane, const PlanCell<FT>& cell, Ground ground, const TreeBox& box, double cx,
                       double cy, double hx, double hy) const {
    if (ground == Ground::pit) return bounds(plan_cells_detail::difference(plane, cell.pit), cx, cy, hx, hy);
    const Bounds b = bounds(plane, cx, cy, hx, hy);
    return {b.low - box.r1 + strip_approximate_, b.high - box.r0 + strip_approximate_};
  }

  static bool settles(const Range<FT>& range, const Bounds& bounds) {
    return range.seen && bounds.low >= approximate(range.least) && bounds.high <= approximate(range.most);
  }

  /// True if nothing inside the box can widen the thickness ranges already seen.
  bool ranges_settled(const PlanCell<FT>& cell, std::uint32_t lowest, Ground ground, const TreeBox& box, double cx,
                      double cy, double hx, double hy) const {
    if (cell.in_bed && !settles(sums_.sand, over_prepared(bed_bottom_, cell, ground, box, cx, cy, hx, hy)))
      return false;
    for (std::uint32_t i = lowest; i < cell.level_count; ++i) {
      const CellLevel<FT>& here = level(cell, i);
      if (!cell.in_bed && !here.is_top) continue;
      const Bounds thickness =
          i == lowest ? over_prepared(here.plane, cell, ground, box, cx, cy, hx, hy)
                      : bounds(plan_cells_detail::difference(here.plane, level(cell, i - 1).plane), cx, cy, hx, hy);
      const LayerSums<FT>& layer = sums_.layers[static_cast<std::size_t>(here.layer)];
      if (cell.in_bed && !settles(layer.in_bed, thickness)) return false;
      if (here.is_top && !settles(layer.under_own_top, thickness)) return false;
    }
    return true;
  }

  /// Integral of plane - residual ground over a box, its first moments, and that of (plane^2 - ground^2) / 2.
  Bulk<FT> bulk_to_ground(const PlaneOf<FT>& plane, const Moments<FT>& m, const FT& cx, const FT& cy) const {
    Bulk<FT> bulk;
    const FT c = plane.at(cx, cy);
    const FT x = plane.a * m.xx + plane.b * m.xy + c * m.x - m.xr;
    const FT y = plane.a * m.xy + plane.b * m.yy + c * m.y - m.yr;
    const FT linear = plane.a * m.x + plane.b * m.y;
    bulk.volume = linear + c * m.area - m.r;
    bulk.x = x + cx * bulk.volume;
    bulk.y = y + cy * bulk.volume;
    const FT plane_squared = plane.a * plane.a * m.xx + FT(2) * plane.a * plane.b * m.xy + plane.b * plane.b * m.yy +
                             FT(2) * c * linear + c * c * m.area;
    bulk.z = (plane_squared - m.rr) / FT(2);
    return bulk;
  }

  Bulk<FT> bulk_between(const PlaneOf<FT>& high, const PlaneOf<FT>& low, const Moments<FT>& m, const FT& cx,
                        const FT& cy) const {
    Bulk<FT> bulk = bulk_to_ground(high, m, cx, cy);
    subtract(bulk, bulk_to_ground(low, m, cx, cy));
    return bulk;
  }

  /// What a strip of this depth takes: the layer between the ground and the ground lowered.
  Bulk<FT> bulk_of_strip(const Moments<FT>& m, const FT& cx, const FT& cy) const {
    return {strip_ * m.area, strip_ * (m.x + cx * m.area), strip_ * (m.y + cy * m.area),
            strip_ * (m.r - strip_ * m.area / FT(2))};
  }

  /// Adds a box that lies wholly in one cell and wholly in the footprint; false if it has to be opened after all.
  bool add_box(const TreeNode& node, const PlanCell<FT>& cell, double cx, double cy, double hx, double hy) {
    const TreeBox& box = tree_.boxes[node.index];
    const Ground ground = prepared_in(cell, box, cx, cy, hx, hy);
    if (ground == Ground::mixed) return false;
    std::uint32_t lowest = cell.level_count - 1;  // levels from here up stand above prepared ground all over the box
    while (lowest > 0) {
      const Bounds over = over_prepared(level(cell, lowest - 1).plane, cell, ground, box, cx, cy, hx, hy);
      if (over.high <= 0) break;
      if (over.low <= grain_approximate_) return false;
      --lowest;
    }
    if (!ranges_settled(cell, lowest, ground, box, cx, cy, hx, hy)) return false;
    const FT fx = FT(box.center_x()) - spot_.x, fy = FT(box.center_y()) - spot_.y;
    if (filter_ != nullptr && !filter_->holds(first_middle(node))) return true;

    const Moments<FT>& m = tree_.moments[node.index];
    const Bulk<FT> strip = bulk_of_strip(m, fx, fy);
    sums_.footprint_area += m.area;
    add(sums_.strip, strip);
    Bulk<FT> below;  // what lies between prepared ground and the level under the one at hand
    for (std::uint32_t i = lowest; i < cell.level_count; ++i) {
      const CellLevel<FT>& here = level(cell, i);
      Bulk<FT> bulk;
      if (ground == Ground::pit) {
        bulk = bulk_between(here.plane, cell.pit, m, fx, fy);
      } else {
        bulk = bulk_to_ground(here.plane, m, fx, fy);
        add(bulk, strip);
      }
      LayerSums<FT>& layer = sums_.layers[static_cast<std::size_t>(here.layer)];
      layer.area += m.area;
      add(layer.bulk, bulk);
      subtract(layer.bulk, below);
      below = bulk;
    }
    if (ground == Ground::pit) {
      sums_.pit_area += m.area;
      subtract(sums_.pit, bulk_to_ground(cell.pit, m, fx, fy));
      subtract(sums_.pit, strip);
    }
    return true;
  }

  PlanPoint<FT> first_middle(const TreeNode& node) const {
    const auto& corners = tree_.triangles[triangle_range(tree_, node).first];
    FT x(0), y(0);
    for (const std::uint32_t v : corners) x += tree_.vertices[v].x, y += tree_.vertices[v].y;
    return {x / FT(3) - spot_.x, y / FT(3) - spot_.y};
  }

  // ---- triangles that cross something ------------------------------------------------------------------------------

  /// Sends a polygon down the lines, splitting it where one crosses it.
  void cut_down(Polygon<FT>& polygon, std::int32_t at) {
    Values<FT> value;
    while (at >= 0) {
      const PlanNode<FT>& split = cells_.nodes[static_cast<std::size_t>(at)];
      bool positive = false, negative = false;
      value.clear();
      for (const Vertex<FT>& v : polygon) {
        value.push_back(split.line.at(v.x, v.y));
        positive |= value.back() > FT(0);
        negative |= value.back() < FT(0);
      }
      if (positive && negative) {
        if (split.roof_count > 0 && is_above(polygon, cells_.roofs[split.first_roof])) return;
        if (polygon.size() + 2 > polygon_capacity) {
          halve(polygon, at);
          return;
        }
        const std::int32_t edge = split.wall >= 0 ? split.wall : plain_edge;  // -1 would be the triangle's first edge
        Polygon<FT> other = part_of(polygon, value, edge, true);
        polygon = part_of(polygon, value, edge, false);
        cut_down(other, split.negative);
      } else if (split.wall >= 0) {
        mark_edge_on_wall(polygon, value, split.wall);
      }
      at = positive ? split.positive : split.negative;
    }
    add_piece(polygon, cells_.cells[static_cast<std::size_t>(-1 - at)]);
  }

  /// True if the ground over a polygon nowhere lies below a plane: no mound there.
  static bool is_above(const Polygon<FT>& polygon, const PlaneOf<FT>& plane) {
    for (const Vertex<FT>& v : polygon) {
      if (plane.at(v.x, v.y) > v.r) return false;
    }
    return true;
  }

  /// A polygon too full to be cut again goes on as two.
  void halve(const Polygon<FT>& polygon, std::int32_t at) {
    const std::size_t half = polygon.size() / 2;
    Polygon<FT> first(polygon.begin(), polygon.begin() + static_cast<std::ptrdiff_t>(half) + 1);
    first.back().edge = plain_edge;
    Polygon<FT> second(polygon.begin() + static_cast<std::ptrdiff_t>(half), polygon.end());
    second.push_back(polygon.front());
    second.back().edge = plain_edge;
    cut_down(first, at);
    cut_down(second, at);
  }

  /// A triangle's edge along a vertical side belongs to the side.
  static void mark_edge_on_wall(Polygon<FT>& polygon, const Values<FT>& value, std::int32_t wall) {
    for (std::size_t i = 0; i < polygon.size(); ++i) {
      const std::size_t j = i + 1 == polygon.size() ? 0 : i + 1;
      if (value[i] == FT(0) && value[j] == FT(0)) polygon[i].edge = wall;
    }
  }

  /// The part with positive values (or, `negative`, with negative ones). A new corner is always reckoned from the
  /// positive end of its edge, so that both triangles at a TIN edge, and both sides of a line, get the same one.
  static Polygon<FT> part_of(const Polygon<FT>& polygon, const Values<FT>& value, std::int32_t edge, bool negative) {
    Polygon<FT> part;
    const std::size_t n = polygon.size();
    for (std::size_t i = 0; i < n; ++i) {
      const std::size_t j = i + 1 == n ? 0 : i + 1;
      const bool in_i = negative ? value[i] <= FT(0) : value[i] >= FT(0);
      const bool crosses = (value[i] > FT(0) && value[j] < FT(0)) || (value[i] < FT(0) && value[j] > FT(0));
      if (in_i) {
        part.push_back(polygon[i]);
        // leaving through a corner exactly on the line
        const bool next_in = negative ? value[j] <= FT(0) : value[j] >= FT(0);
        if (value[i] == FT(0) && !next_in) part.back().edge = edge;
      }
      if (crosses) part.push_back(crossing(polygon[i], polygon[j], value[i], value[j], in_i ? edge : polygon[i].edge));
    }
    return part;
  }

  static Vertex<FT> crossing(const Vertex<FT>& i, const Vertex<FT>& j, const FT& value_i, const FT& value_j,
                             std::int32_t edge) {
    const bool from_i = value_i > FT(0);
    const Vertex<FT>& p = from_i ? i : j;
    const Vertex<FT>& q = from_i ? j : i;
    const FT vp = from_i ? value_i : value_j, vq = from_i ? value_j : value_i;
    const FT part = vp / (vp - vq);
    return {FT(p.x + (q.x - p.x) * part), FT(p.y + (q.y - p.y) * part), FT(p.r + (q.r - p.r) * part), edge};
  }

  /// The part strictly above: corners with value > 0 and the crossings. Empty if there is none.
  static Polygon<FT> part_above(const Polygon<FT>& polygon, const Values<FT>& value, std::int32_t edge) {
    Polygon<FT> part;
    const std::size_t n = polygon.size();
    for (std::size_t i = 0; i < n; ++i) {
      const std::size_t j = i + 1 == n ? 0 : i + 1;
      const bool in_i = value[i] > FT(0), in_j = value[j] > FT(0);
      if (in_i) part.push_back(polygon[i]);
      if (in_i != in_j) {
        part.push_back(crossing(polygon[i], polygon[j], value[i], value[j], in_i ? edge : polygon[i].edge));
      }
    }
    return part;
  }

  Carrier carrier_of(std::int32_t edge) const {
    if (edge >= 0) return wall_carrier;
    if (edge < last_tin_edge) return triangle_carrier(triangle_);
    const auto i = static_cast<std::size_t>(first_tin_edge - edge);
    if (tree_.neighbours[triangle_][i] < 0) return wall_carrier;
    const auto& corners = tree_.triangles[triangle_];
    return tin_edge_carrier(corners[i], corners[(i + 1) % 3]);
  }

  /// Records where the boundary of a footprint piece is, or may be, toe. `whole` and `height` are the polygon it was
  /// cut from and the finish above ground at its corners.
  void record_toe(const Polygon<FT>& piece, const Polygon<FT>& whole, const Values<FT>& height, bool is_cut) {
    if (is_cut) {
      const std::size_t n = whole.size();
      const Vertex<FT>*from = nullptr, *to = nullptr;
      Carrier from_carrier = 0, to_carrier = 0;
      // On a counter-clockwise piece the cut runs from where the outline leaves it to where it comes in again.
      std::size_t at = 0;
      for (std::size_t i = 0; i < n; ++i) {
        const std::size_t j = i + 1 == n ? 0 : i + 1;
        const bool in_i = height[i] > FT(0), in_j = height[j] > FT(0);
        if (in_i) ++at;
        if (in_i == in_j) continue;
        if (in_i) {
          from = &piece[at], from_carrier = carrier_of(whole[i].edge);
        } else {
          to = &piece[at], to_carrier = carrier_of(whole[i].edge);
        }
        ++at;
      }
      if (from != nullptr && to != nullptr) {
        work_.stretches.push_back({{from->x, from->y}, {to->x, to->y}, from_carrier, to_carrier});
      }
    }
    for (std::size_t i = 0; i < piece.size(); ++i) {
      const std::int32_t edge = piece[i].edge;
      if (edge == plain_edge) continue;
      const Vertex<FT>& p = piece[i];
      const Vertex<FT>& q = piece[i + 1 == piece.size() ? 0 : i + 1];
      if (edge >= 0) {
        work_.walls.push_back({edge, {p.x, p.y}, {q.x, q.y}});
      } else if (tree_.neighbours[triangle_][static_cast<std::size_t>(first_tin_edge - edge)] < 0) {
        work_.stretches.push_back({{p.x, p.y}, {q.x, q.y}, wall_carrier, wall_carrier, true});
      }
    }
  }

  void add_piece(const Polygon<FT>& polygon, const PlanCell<FT>& cell) {
    if (cell.level_count == 0) return;
    const PlaneOf<FT>& finish = level(cell, cell.level_count - 1).plane;
    Values<FT> height;
    bool above = false, below = false;
    for (const Vertex<FT>& v : polygon) {
      height.push_back(above_grain(finish.at(v.x, v.y) - v.r));
      above |= height.back() > FT(0);
      below |= !(height.back() > FT(0));
    }
    if (!above) return;
    if (!below) {
      if (filter_ == nullptr) record_toe(polygon, polygon, height, false);
      add_footprint(polygon, cell);
      return;
    }
    const Polygon<FT> piece = part_above(polygon, height, plain_edge);
    if (filter_ == nullptr) record_toe(piece, polygon, height, true);
    add_footprint(piece, cell);
  }

  void add_footprint(const Polygon<FT>& piece, const PlanCell<FT>& cell) {
    if (filter_ != nullptr && !filter_->holds(middle_of(piece))) return;
    if (!cell.has_pit) {
      add_prepared(piece, cell, false);
      return;
    }
    Values<FT> over_pit;  // stripped ground above the pit's surface
    bool pit = false, strip = false;
    for (const Vertex<FT>& v : piece) {
      over_pit.push_back(v.r - strip_ - cell.pit.at(v.x, v.y));
      pit |= over_pit.back() > FT(0);
      strip |= over_pit.back() < FT(0);
    }
    if (pit && strip) {
      add_prepared(part_of(piece, over_pit, plain_edge, false), cell, true);
      add_prepared(part_of(piece, over_pit, plain_edge, true), cell, false);
    } else {
      add_prepared(piece, cell, pit);
    }
  }

  /// A piece of footprint over which the prepared ground is one plane.
  void add_prepared(const Polygon<FT>& piece, const PlanCell<FT>& cell, bool is_pit) {
    const auto residual = [&](const Polygon<FT>& polygon, std::size_t i) -> FT {
      const Vertex<FT>& v = polygon[i];
      return is_pit ? cell.pit.at(v.x, v.y) : FT(v.r - strip_);
    };
    if (is_pit) {
      const PolygonSums<FT> sums = integrate(
          piece, [&](std::size_t i) -> FT { return piece[i].r - strip_ - residual(piece, i); },
          [&](std::size_t i) -> FT { return residual(piece, i); });
      sums_.pit_area += sums.area;
      add(sums_.pit, sums.bulk);
    }
    if (cell.in_bed) {
      for (std::size_t i = 0; i < piece.size(); ++i) {
        sums_.sand.add(bed_bottom_.at(piece[i].x, piece[i].y) - residual(piece, i));
      }
    }
    add_levels(piece, cell, residual);
  }

  template <class Residual>
  void add_levels(const Polygon<FT>& piece, const PlanCell<FT>& cell, const Residual& residual) {
    Polygon<FT> polygon = piece;
    Values<FT> height;
    for (std::uint32_t i = cell.level_count; i-- > 0;) {
      const CellLevel<FT>& here = level(cell, i);
      height.clear();
      bool above = false, below = false;
      for (std::size_t v = 0; v < polygon.size(); ++v) {
        height.push_back(above_grain(here.plane.at(polygon[v].x, polygon[v].y) - residual(polygon, v)));
        above |= height.back() > FT(0);
        below |= height.back() < FT(0);
      }
      const bool is_outermost = i + 1 == cell.level_count;
      if (!is_outermost && !above) break;
      if (!is_outermost && below) {
        polygon = part_of(polygon, height, plain_edge, false);
        height.clear();
        for (std::size_t v = 0; v < polygon.size(); ++v) {
          height.push_back(above_grain(here.plane.at(polygon[v].x, polygon[v].y) - residual(polygon, v)));
        }
      }
      if (!is_outermost) note_thickness_at_crease(polygon, cell, i + 1);
      const PolygonSums<FT> sums = integrate(
          polygon, [&](std::size_t v) -> const FT& { return height[v]; },
          [&](std::size_t v) -> FT { return residual(polygon, v); });
      if (is_outermost) add_footprint_area(polygon, sums.area);
      LayerSums<FT>& layer = sums_.layers[static_cast<std::size_t>(here.layer)];
      layer.area += sums.area;
      add(layer.bulk, sums.bulk);
      if (!is_outermost) {
        subtract(sums_.layers[static_cast<std::size_t>(level(cell, i + 1).layer)].bulk, sums.bulk);
      }
      note_thickness(polygon, height, cell, i);
    }
  }

  /// Footprint and strip of a piece. The strip is the same depth everywhere, so its integrals need no corners' heights.
  void add_footprint_area(const Polygon<FT>& polygon, const FT& area) {
    sums_.footprint_area += area;
    if (strip_ == FT(0)) return;
    const PolygonSums<FT> sums = integrate(
        polygon, [&](std::size_t) -> const FT& { return strip_; },
        [&](std::size_t i) -> FT { return polygon[i].r - strip_; });
    add(sums_.strip, sums.bulk);
  }

  /// Thickness of level i's layer where the level stands above prepared ground: min(level - ground, level - level
  /// below).
  void note_thickness(const Polygon<FT>& polygon, const Values<FT>& height, const PlanCell<FT>& cell, std::uint32_t i) {
    const CellLevel<FT>& here = level(cell, i);
    if (!cell.in_bed && !here.is_top) return;
    LayerSums<FT>& layer = sums_.layers[static_cast<std::size_t>(here.layer)];
    for (std::size_t v = 0; v < polygon.size(); ++v) {
      FT thickness = height[v];
      if (i > 0) {
        const FT over =
            here.plane.at(polygon[v].x, polygon[v].y) - level(cell, i - 1).plane.at(polygon[v].x, polygon[v].y);
        if (over < thickness) thickness = over;
      }
      if (cell.in_bed) layer.in_bed.add(thickness);
      if (here.is_top) layer.under_own_top.add(thickness);
    }
  }

  /// The thickness of level i's layer along the edge where the level below meets ground, where it may be greatest.
  void note_thickness_at_crease(const Polygon<FT>& lower, const PlanCell<FT>& cell, std::uint32_t i) {
    const CellLevel<FT>& here = level(cell, i);
    if (!cell.in_bed && !here.is_top) return;
    LayerSums<FT>& layer = sums_.layers[static_cast<std::size_t>(here.layer)];
    for (const Vertex<FT>& v : lower) {
      const FT thickness = here.plane.at(v.x, v.y) - level(cell, i - 1).plane.at(v.x, v.y);
      if (cell.in_bed) layer.in_bed.add(thickness);
      if (here.is_top) layer.under_own_top.add(thickness);
    }
  }
};

template <class FT>
void take_off(KernelSums<FT>& from, const KernelSums<FT>& part) {
  for (std::size_t k = 0; k < from.layers.size(); ++k) {
    subtract(from.layers[k].bulk, part.layers[k].bulk);
    from.layers[k].area -= part.layers[k].area;
  }
  from.footprint_area -= part.footprint_area;
  subtract(from.strip, part.strip);
  subtract(from.pit, part.pit);
  from.pit_area -= part.pit_area;
}

/// Of each hole the smallest outer loop around it; of each outer loop whether it is around bed.
template <class FT>
std::vector<bool> loops_that_count(const std::vector<ToeLoop<FT>>& loops,
                                   const std::vector<PlanPoint<FT>>& bed_points) {
  std::vector<bool> counts(loops.size(), false);
  std::size_t largest = loops.size();
  bool any = false;
  for (std::size_t i = 0; i < loops.size(); ++i) {
    if (loops[i].twice_area < FT(0)) continue;
    if (largest == loops.size() || loops[i].twice_area > loops[largest].twice_area) largest = i;
    for (const PlanPoint<FT>& p : bed_points) counts[i] = counts[i] || is_inside(loops[i], p);
    any = any || counts[i];
  }
  if (!any && largest < loops.size()) counts[largest] = true;
  for (std::size_t i = 0; i < loops.size(); ++i) {
    if (loops[i].twice_area >= FT(0)) continue;
    std::size_t owner = loops.size();
    for (std::size_t j = 0; j < loops.size(); ++j) {
      const bool smaller = owner == loops.size() || loops[j].twice_area < loops[owner].twice_area;
      if (loops[j].twice_area > -loops[i].twice_area && smaller && is_inside(loops[j], loops[i].points.front()))
        owner = j;
    }
    counts[i] = owner < loops.size() && counts[owner];
  }
  return counts;
}

template <class FT>
SpeckFilter<FT> filter_for(const std::vector<ToeLoop<FT>>& loops, std::size_t speck) {
  constexpr double inf = std::numeric_limits<double>::infinity();
  SpeckFilter<FT> filter{&loops, speck, inf, inf, -inf, -inf};
  for (const PlanPoint<FT>& p : loops[speck].points) {
    const double x = approximate(p.x), y = approximate(p.y);
    filter.x0 = std::min(filter.x0, x), filter.x1 = std::max(filter.x1, x);
    filter.y0 = std::min(filter.y0, y), filter.y1 = std::max(filter.y1, y);
  }
  return filter;
}

/// Takes off the outer loops that enclose no bed, and keeps the loops that count.
template <class FT>
void drop_specks(const TinTree<FT>& tree, const KernelPrepare<FT>& prepare, std::vector<ToeLoop<FT>> loops,
                 const std::vector<PlanPoint<FT>>& bed_points, KernelWork<FT>& work) {
  KernelResult<FT>& result = work.result;
  const std::vector<bool> counts = loops_that_count(loops, bed_points);
  for (std::size_t i = 0; i < loops.size(); ++i) {
    if (counts[i] || loops[i].twice_area < FT(0)) continue;
    const SpeckFilter<FT> filter = filter_for(loops, i);
    KernelSums<FT> speck;
    speck.reset(result.sums.layers.size());
    Run<FT>(tree, prepare, work, speck, &filter).descend(root_of(tree), work.placed.root);
    take_off(result.sums, speck);
    result.specks_area += speck.footprint_area;
  }
  for (std::size_t i = 0; i < loops.size(); ++i) {
    if (counts[i]) {
      result.loops.push_back(std::move(loops[i]));
    } else if (loops[i].twice_area >= FT(0)) {
      result.specks.push_back(std::move(loops[i]));
    }
  }
}

}  // namespace kernel_detail

/// Runs the placed cells in `work` over the ground. `bed_points` (about the mound's origin, plan axes) tell which part
/// of the footprint counts. The result lives in `work` until the next run.
template <class FT>
const KernelResult<FT>& run_kernel(const TinTree<FT>& tree, const KernelPrepare<FT>& prepare,
                                   const std::vector<PlanPoint<FT>>& bed_points, KernelWork<FT>& work) {
  KernelResult<FT>& result = work.result;
  result.sums.reset(work.placed.layer_count);
  result.loops.clear();
  result.specks.clear();
  result.specks_area = FT(0);
  work.stretches.clear();
  work.walls.clear();
  if (tree.triangles.empty()) return result;
  kernel_detail::Run<FT>(tree, prepare, work, result.sums, nullptr).descend(root_of(tree), work.placed.root);
  kernel_detail::drop_specks(tree, prepare, trace_loops(work.stretches, work.walls), bed_points, work);
  return result;
}

}  // namespace moundwright

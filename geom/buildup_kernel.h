// The kernel: plan cells laid on a TIN, and everything integrated exactly.
//
//   KernelWork<double> work;                          // reused from one placement to the next
//   place(cells, spot, prepare, work);
//   const KernelResult<double>& r = run_kernel(tree, prepare, work);
//
// How it works. Two trees are descended together: the boxes over the triangles (tin_tree.h) and the lines over the
// plan cells (plan_cells.h). A box on one side of a line goes down that side whole; a box across a line is opened. A
// box that ends up inside one cell, with every surface of that cell clearly above or below all ground in the box, adds
// its moments and none of its triangles is visited. Only triangles that cross something are cut: first by the lines,
// then in the cell by the outermost surface (what is left is footprint, and the cut is a stretch of the toe), by the
// pit, and by each lower surface in turn, so that the polygon shrinks from layer to layer.
//
// In a cell, with P the prepared ground and U_1 < U_2 < ... its levels, the integral of max(0, U_l - P) for each l
// gives every layer by subtraction of its neighbours; nothing else is ever summed. Boxes and cut triangles are summed
// by the same few lines, from their moments (kernel_sums.h).
//
// Afterwards the toe's stretches are chained into loops. A loop with no footprint under the bed is a speck, which noise
// makes far off; specks are gone over once more on their own and taken off.
//
// Strictly above: where the finish lies on the ground there is no mound. That has to hold where it matters most, with a
// layer exactly on level ground or an apron flush with it, and there the signs of heights that are nothing but
// rounding would scatter footprint and strip over it. So a height within `height_grain` of nothing is nothing: on
// double a few units in the last place of the numbers at hand (5e-13 ft at an elevation of 100 ft), on an exact type
// zero. What is promised on double:
//   - a flat top whose elevation is that of level ground, as decimals add up, gives no footprint, no strip, no toe;
//   - a pit whose bottom is level ground takes nothing there;
//   - a toe along a line of the plan cells (a side that ends on an apron flush with the ground) is found and closes;
//   - a side in one plane with a tilt is on it, in local coordinates. At state-plane coordinates doubles are 2e-9 ft
//     apart, and whether such a side stands above its ground is no longer in the numbers.
//
// Everything is in plan axes (x east, y north) from the mound's own origin, so that numbers stay small wherever on the
// lot the mound is; elevations are residuals from the ground's trend plane until the results are put together. FT is
// any ordered field; on an exact rational this is the double version's twin, and no branch differs between the two.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <vector>

#include "geom/kernel_polygon.h"
#include "geom/kernel_sums.h"
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

template <class FT>
struct KernelResult {
  KernelSums<FT> sums;
  std::vector<ToeLoop<FT>> loops;   // those that count: around bed, and the holes in them
  std::vector<ToeLoop<FT>> specks;  // outer loops left out
  FT specks_area{0};
};

/// Buffers and results of one run after another. Keep one a thread.
template <class FT>
struct KernelWork {
  PlanCells<FT> placed;
  KernelSpot<FT> spot;
  std::vector<ToeStretch<FT>> stretches;
  std::vector<WallStretch<FT>> walls;
  std::vector<PlanPoint<FT>> in_bed;  // a place inside each piece of footprint under the bed
  ToeTraceWork trace;
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

/// Asks for memory that will be read soon: on a large survey a placement mostly meets boxes that no cache holds.
inline void prefetch(const void* address) { __builtin_prefetch(address); }

/// Lower and upper bound, in double; boxes were rounded outward by far more than these err.
struct Bounds {
  double low, high;
};

template <class FT>
Bounds bounds_over(const PlanBox& box, const PlaneOf<FT>& plane) {
  const double a = approximate(plane.a), b = approximate(plane.b);
  const double middle = a * box.x + b * box.y + approximate(plane.c);
  const double spread = std::abs(a) * box.half_x + std::abs(b) * box.half_y;
  return {middle - spread, middle + spread};
}

/// A box of the tree about the mound's origin, and the residual elevations in it.
struct GroundBox : PlanBox {
  double low, high;
  GroundBox(const TreeBox& box, double origin_x, double origin_y)
      : PlanBox{box.center_x() - origin_x, box.center_y() - origin_y, box.half_x(), box.half_y()},
        low(box.r0),
        high(box.r1) {}
};

/// Decides which parts of the footprint count while a speck is gone over.
template <class FT>
struct SpeckFilter {
  const std::vector<ToeLoop<FT>>* loops;  // all of them
  const ToeLoop<FT>* speck;               // the outer loop at hand
  PlanBox box;                            // round it

  /// True if the innermost loop around p is this speck's own.
  bool holds(const PlanPoint<FT>& p) const {
    if (!is_inside(*speck, p)) return false;
    for (const ToeLoop<FT>& loop : *loops) {
      const FT size = loop.twice_area < FT(0) ? FT(-loop.twice_area) : loop.twice_area;
      if (&loop != speck && size < speck->twice_area && is_inside(loop, p)) return false;
    }
    return true;
  }
};

/// How much is found out: with `thicknesses`, boxes are opened for the least and the greatest of them, too.
enum class Wanted { sums, sums_and_thicknesses };

template <class FT, Wanted wanted = Wanted::sums_and_thicknesses>
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

  /// Lays the part of the plan under line or cell `at` on the triangles of a node.
  void descend(const TreeNode& node, std::int32_t at) {
    const GroundBox box(tree_.boxes[node.index], origin_x_, origin_y_);
    if (filter_ != nullptr && !filter_->box.meets(box)) return;
    while (at >= 0) {
      const PlanNode<FT>& split = cells_.nodes[static_cast<std::size_t>(at)];
      const Bounds side = bounds_over(box, split.line);
      if (side.low >= 0) {
        at = split.positive;
      } else if (side.high <= 0) {
        at = split.negative;
      } else {
        if (!is_over_a_roof(split, box)) open(node, at);
        return;
      }
    }
    const PlanCell<FT>& cell = cell_at(at);
    if (cell.level_count == 0) return;
    const Bounds top = bounds_over(box, level(cell, cell.level_count - 1).plane);
    if (top.high <= box.low) return;
    if (top.low - box.high > grain_approximate_ && add_box(node, cell, box)) return;
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

  const PlanCell<FT>& cell_at(std::int32_t at) const { return cells_.cells[static_cast<std::size_t>(-1 - at)]; }

  const CellLevel<FT>& level(const PlanCell<FT>& cell, std::uint32_t i) const {
    return cells_.levels[cell.first_level + i];
  }

  LayerSums<FT>& layer_of(const CellLevel<FT>& level) { return sums_.layers[static_cast<std::size_t>(level.layer)]; }

  /// A height without what is only rounding.
  FT above_grain(const FT& height) const {
    if constexpr (std::is_floating_point_v<FT>) {
      return std::abs(height) <= grain_ ? FT(0) : height;
    } else {
      return height;
    }
  }

  /// True if all ground in a box stands above some plane that the mound stays under.
  bool is_over_a_roof(const PlanNode<FT>& node, const GroundBox& box) const {
    for (std::uint32_t i = node.first_roof; i < node.first_roof + node.roof_count; ++i) {
      if (bounds_over(box, cells_.roofs[i]).high <= box.low) return true;
    }
    return false;
  }

  void open(const TreeNode& node, std::int32_t at) {
    if (!node.is_leaf()) {
      const TreeNode first = node.first_child(), second = node.second_child();
      prefetch(&tree_.boxes[second.index]);
      descend(first, at);
      descend(second, at);
      return;
    }
    const bool is_outside = std::isinf(tree_.boxes[node.index].r1);
    const auto [first, last] = triangle_range(tree_, node);
    for (triangle_ = first; triangle_ < last; ++triangle_) {
      Polygon<FT> polygon = triangle_polygon(is_outside);
      cut_down(polygon, at);
    }
  }

  /// The triangle at hand. Only where the survey ends in its leaf are neighbours looked at.
  Polygon<FT> triangle_polygon(bool is_outside) const {
    const auto& corners = tree_.triangles[triangle_];
    Polygon<FT> polygon;
    for (int i = 0; i < 3; ++i) {
      const TinVertex<FT>& v = tree_.vertices[corners[static_cast<std::size_t>(i)]];
      polygon.push_back({FT(v.x - spot_.x), FT(v.y - spot_.y), v.r, first_tin_edge - i});
    }
    if (!is_outside) return polygon;
    for (std::size_t i = 0; i < 3; ++i) {
      if (tree_.neighbours[triangle_][i] < 0) polygon[i].edge = survey_edge;
    }
    return polygon;
  }

  // ---- whole boxes -----------------------------------------------------------------------------------------------

  enum class Prepared { stripped, pit, mixed };

  /// Which surface the prepared ground is, all over a box.
  Prepared prepared_in(const PlanCell<FT>& cell, const GroundBox& box) const {
    if (!cell.has_pit) return Prepared::stripped;
    const Bounds pit = bounds_over(box, cell.pit);
    if (pit.low >= box.high - strip_approximate_) return Prepared::stripped;
    if (pit.high <= box.low - strip_approximate_) return Prepared::pit;
    return Prepared::mixed;
  }

  /// Bounds of plane - prepared ground over the box.
  Bounds over_prepared(const PlaneOf<FT>& plane, const PlanCell<FT>& cell, Prepared prepared,
                       const GroundBox& box) const {
    if (prepared == Prepared::pit) return bounds_over(box, plan_cells_detail::difference(plane, cell.pit));
    const Bounds b = bounds_over(box, plane);
    return {b.low - box.high + strip_approximate_, b.high - box.low + strip_approximate_};
  }

  static bool settles(const Range<FT>& range, const Bounds& bounds) {
    return range.seen && bounds.low >= approximate(range.least) && bounds.high <= approximate(range.most);
  }

  /// True if nothing inside the box can widen the thickness ranges already seen.
  bool ranges_settled(const PlanCell<FT>& cell, std::uint32_t lowest, Prepared prepared, const GroundBox& box) {
    if constexpr (wanted == Wanted::sums) return true;
    if (cell.in_bed && !settles(sums_.sand, over_prepared(bed_bottom_, cell, prepared, box))) return false;
    for (std::uint32_t i = lowest; i < cell.level_count; ++i) {
      const CellLevel<FT>& here = level(cell, i);
      if (!cell.in_bed && !here.is_top) continue;
      const Bounds thickness =
          i == lowest ? over_prepared(here.plane, cell, prepared, box)
                      : bounds_over(box, plan_cells_detail::difference(here.plane, level(cell, i - 1).plane));
      const LayerSums<FT>& layer = layer_of(here);
      if (cell.in_bed && !settles(layer.in_bed, thickness)) return false;
      if (here.is_top && !settles(layer.under_own_top, thickness)) return false;
    }
    return true;
  }

  /// Adds a box that lies wholly in one cell and wholly in the footprint; false if it has to be opened after all.
  bool add_box(const TreeNode& node, const PlanCell<FT>& cell, const GroundBox& box) {
    const Prepared prepared = prepared_in(cell, box);
    if (prepared == Prepared::mixed) return false;
    std::uint32_t lowest = cell.level_count - 1;  // levels from here up stand above prepared ground all over the box
    while (lowest > 0) {
      const Bounds over = over_prepared(level(cell, lowest - 1).plane, cell, prepared, box);
      if (over.high <= 0) break;
      if (over.low <= grain_approximate_) return false;
      --lowest;
    }
    if (!ranges_settled(cell, lowest, prepared, box)) return false;
    const PlanPoint<FT> place = place_in(node);
    if (filter_ != nullptr && !filter_->holds(place)) return true;
    note_place(cell, place);

    const TreeBox& b = tree_.boxes[node.index];
    const Patch<FT> ground{tree_.moments[node.index], FT(b.center_x()) - spot_.x, FT(b.center_y()) - spot_.y};
    Patch<FT> patch = strip_off(ground);
    if (prepared == Prepared::pit) patch = dig_out(cell.pit, patch);
    for (std::uint32_t i = lowest; i < cell.level_count; ++i) add_level(cell, i, patch);
    return true;
  }

  PlanPoint<FT> place_in(const TreeNode& node) const {
    const auto& corners = tree_.triangles[triangle_range(tree_, node).first];
    FT x(0), y(0);
    for (const std::uint32_t v : corners) x += tree_.vertices[v].x, y += tree_.vertices[v].y;
    return {x / FT(3) - spot_.x, y / FT(3) - spot_.y};
  }

  // ---- summing ---------------------------------------------------------------------------------------------------

  /// A place inside a piece of footprint.
  void note_place(const PlanCell<FT>& cell, const PlanPoint<FT>& place) {
    if (cell.in_bed && filter_ == nullptr) work_.in_bed.push_back(place);
  }

  /// Adds a patch of footprint and what is stripped off it; returns it stripped.
  Patch<FT> strip_off(const Patch<FT>& ground) {
    sums_.footprint_area += ground.moments.area;
    if (strip_ == FT(0)) return ground;
    Patch<FT> stripped = lowered(ground, strip_);
    add(sums_.strip, bulk_of_cover(stripped, strip_));
    return stripped;
  }

  /// Adds what the pit takes out of a stripped patch; returns the pit's surface.
  Patch<FT> dig_out(const PlaneOf<FT>& pit, const Patch<FT>& stripped) {
    sums_.pit_area += stripped.moments.area;
    subtract(sums_.pit, bulk_under(pit, stripped));
    return with_surface(pit, stripped);
  }

  /// A patch of prepared ground over all of which level i stands above it. What lies below the level is its own layer's
  /// and no longer that of the level above.
  void add_level(const PlanCell<FT>& cell, std::uint32_t i, const Patch<FT>& patch) {
    const CellLevel<FT>& here = level(cell, i);
    const Bulk<FT> bulk = bulk_under(here.plane, patch);
    LayerSums<FT>& layer = layer_of(here);
    layer.area += patch.moments.area;
    add(layer.bulk, bulk);
    if (i + 1 < cell.level_count) subtract(layer_of(level(cell, i + 1)).bulk, bulk);
  }

  // ---- triangles that cross something ------------------------------------------------------------------------------

  /// Sends a polygon down the lines, splitting it where one crosses it.
  void cut_down(Polygon<FT>& polygon, std::int32_t at) {
    Values<FT> value;
    while (at >= 0) {
      const PlanNode<FT>& split = cells_.nodes[static_cast<std::size_t>(at)];
      const auto side = evaluate(
          polygon, [&](const Vertex<FT>& v) -> FT { return split.line.at(v.x, v.y); }, value);
      if (side.least < FT(0) && side.most > FT(0)) return cut_in_two(polygon, value, at);
      if (split.wall >= 0) mark_edge_on_wall(polygon, value, split.wall);
      at = side.most > FT(0) ? split.positive : split.negative;
    }
    add_piece(polygon, cell_at(at));
  }

  void cut_in_two(const Polygon<FT>& polygon, const Values<FT>& value, std::int32_t at) {
    const PlanNode<FT>& split = cells_.nodes[static_cast<std::size_t>(at)];
    if (split.roof_count > 0 && is_above(polygon, cells_.roofs[split.first_roof])) return;
    Polygon<FT> positive, negative;
    if (polygon.size() < full_polygon) {
      split_along(polygon, value, split.wall >= 0 ? split.wall : plain_edge, positive, negative);
      cut_down(positive, split.positive);
      cut_down(negative, split.negative);
    } else {
      halve(polygon, positive, negative);
      cut_down(positive, at);
      cut_down(negative, at);
    }
  }

  /// True if the ground over a polygon nowhere lies below a plane: no mound there.
  static bool is_above(const Polygon<FT>& polygon, const PlaneOf<FT>& plane) {
    for (const Vertex<FT>& v : polygon) {
      if (plane.at(v.x, v.y) > v.r) return false;
    }
    return true;
  }

  /// A triangle's edge along a vertical side belongs to the side.
  static void mark_edge_on_wall(Polygon<FT>& polygon, const Values<FT>& value, std::int32_t wall) {
    for (std::size_t i = 0; i < polygon.size(); ++i) {
      const std::size_t j = i + 1 == polygon.size() ? 0 : i + 1;
      if (value[i] == FT(0) && value[j] == FT(0)) polygon[i].edge = wall;
    }
  }

  /// Of a polygon in one cell, the part that stands above ground.
  void add_piece(Polygon<FT>& polygon, const PlanCell<FT>& cell) {
    if (cell.level_count == 0) return;
    const PlaneOf<FT>& finish = level(cell, cell.level_count - 1).plane;
    Values<FT> height;
    const auto over_ground = evaluate(
        polygon, [&](const Vertex<FT>& v) -> FT { return above_grain(finish.at(v.x, v.y) - v.r); }, height);
    if (!(over_ground.most > FT(0))) return;
    if (over_ground.least > FT(0)) return add_footprint(polygon, cell);
    Cut<FT> toe;
    Polygon<FT> piece = part_above(polygon, height, plain_edge, toe);
    if (filter_ == nullptr) record_cut(toe);
    add_footprint(piece, cell);
  }

  void add_footprint(Polygon<FT>& piece, const PlanCell<FT>& cell) {
    if (filter_ != nullptr) {
      if (!filter_->holds(middle_of(piece))) return;
    } else {
      record_edges(piece);
      if (cell.in_bed) note_place(cell, middle_of(piece));
    }
    Patch<FT> patch = strip_off(patch_of(piece));
    if (strip_ != FT(0)) {
      for (Vertex<FT>& v : piece) v.r -= strip_;
    }
    if (cell.has_pit) {
      add_beside_pit(piece, cell, patch);
    } else {
      add_levels(piece, cell, patch);
    }
  }

  /// A stripped piece in a cell with a pit, which may come out of the ground in it. Where its bottom is level ground,
  /// signs of rounding would tear the piece up.
  void add_beside_pit(Polygon<FT>& piece, const PlanCell<FT>& cell, const Patch<FT>& patch) {
    Values<FT> over_pit;
    const auto ground = evaluate(
        piece, [&](const Vertex<FT>& v) -> FT { return above_grain(v.r - cell.pit.at(v.x, v.y)); }, over_pit);
    if (!(ground.most > FT(0))) return add_levels(piece, cell, patch);
    if (!(ground.least < FT(0))) return add_in_pit(piece, cell);
    Polygon<FT> in_pit, beside;
    split_along(piece, over_pit, plain_edge, in_pit, beside);
    add_in_pit(in_pit, cell);
    add_levels(beside, cell, patch_of(beside));
  }

  void add_in_pit(Polygon<FT>& piece, const PlanCell<FT>& cell) {
    const Patch<FT> patch = dig_out(cell.pit, patch_of(piece));
    for (Vertex<FT>& v : piece) v.r = cell.pit.at(v.x, v.y);
    add_levels(piece, cell, patch);
  }

  /// A piece of footprint on prepared ground, which is one plane over it: the levels from the top down, each on what is
  /// left of the piece where it stands above that ground.
  void add_levels(Polygon<FT>& piece, const PlanCell<FT>& cell, Patch<FT> patch) {
    if (wanted != Wanted::sums && cell.in_bed) {
      for (const Vertex<FT>& v : piece) sums_.sand.add(bed_bottom_.at(v.x, v.y) - v.r);
    }
    for (std::uint32_t i = cell.level_count; i-- > 0;) {
      const bool is_outermost = i + 1 == cell.level_count;  // stands above all over the piece
      if (!is_outermost && !cut_to_level(piece, cell, i, patch)) break;
      add_level(cell, i, patch);
      note_thickness(piece, cell, i);
    }
  }

  /// Keeps of a piece what level i stands above; false if there is none.
  bool cut_to_level(Polygon<FT>& piece, const PlanCell<FT>& cell, std::uint32_t i, Patch<FT>& patch) {
    const PlaneOf<FT>& plane = level(cell, i).plane;
    Values<FT> height;
    const auto over_ground = evaluate(
        piece, [&](const Vertex<FT>& v) -> FT { return above_grain(plane.at(v.x, v.y) - v.r); }, height);
    if (!(over_ground.most > FT(0))) return false;
    if (over_ground.least < FT(0)) {
      Cut<FT> crease;
      piece = part_above(piece, height, plain_edge, crease);
      patch = patch_of(piece);
    }
    note_thickness_at_crease(piece, cell, i + 1);
    return true;
  }

  // ---- thickness -------------------------------------------------------------------------------------------------

  /// Thickness is told under the bed, and under a layer's own flat top.
  static bool is_noted(const PlanCell<FT>& cell, const CellLevel<FT>& level) {
    return wanted != Wanted::sums && (cell.in_bed || level.is_top);
  }

  void note(const FT& thickness, const PlanCell<FT>& cell, const CellLevel<FT>& level) {
    LayerSums<FT>& layer = layer_of(level);
    if (cell.in_bed) layer.in_bed.add(thickness);
    if (level.is_top) layer.under_own_top.add(thickness);
  }

  /// Thickness of level i's layer where the level stands above prepared ground: min(level - ground, level - level
  /// below).
  void note_thickness(const Polygon<FT>& piece, const PlanCell<FT>& cell, std::uint32_t i) {
    const CellLevel<FT>& here = level(cell, i);
    if (!is_noted(cell, here)) return;
    const PlaneOf<FT> over_below =
        i > 0 ? plan_cells_detail::difference(here.plane, level(cell, i - 1).plane) : here.plane;
    for (const Vertex<FT>& v : piece) {
      FT thickness = above_grain(here.plane.at(v.x, v.y) - v.r);
      if (i > 0) {
        const FT over = over_below.at(v.x, v.y);
        if (over < thickness) thickness = over;
      }
      note(thickness, cell, here);
    }
  }

  /// The thickness of level i's layer along the edge where the level below meets ground, where it may be greatest.
  void note_thickness_at_crease(const Polygon<FT>& lower, const PlanCell<FT>& cell, std::uint32_t i) {
    const CellLevel<FT>& here = level(cell, i);
    if (!is_noted(cell, here)) return;
    const PlaneOf<FT> over = plan_cells_detail::difference(here.plane, level(cell, i - 1).plane);
    for (const Vertex<FT>& v : lower) note(over.at(v.x, v.y), cell, here);
  }

  // ---- toe -------------------------------------------------------------------------------------------------------

  /// What an end of a stretch on this edge of the triangle at hand lies on.
  Carrier carrier_of(std::int32_t edge) const {
    if (edge >= 0 || edge == survey_edge) return wall_carrier;
    if (edge == plain_edge) return triangle_carrier(triangle_);
    const auto i = static_cast<std::size_t>(first_tin_edge - edge);
    const auto& corners = tree_.triangles[triangle_];
    return tin_edge_carrier(corners[i], corners[(i + 1) % 3]);
  }

  void record_cut(const Cut<FT>& cut) {
    work_.stretches.push_back(
        {{cut.from.x, cut.from.y}, {cut.to.x, cut.to.y}, carrier_of(cut.from.edge), carrier_of(cut.to.edge)});
  }

  /// Records the edges of a piece of footprint that are, or may be, toe without a cut.
  void record_edges(const Polygon<FT>& piece) {
    for (std::size_t i = 0; i < piece.size(); ++i) {
      const std::int32_t edge = piece[i].edge;
      if (edge < 0 && edge != survey_edge) continue;
      const Vertex<FT>&p = piece[i], &q = piece[i + 1 == piece.size() ? 0 : i + 1];
      if (edge == survey_edge) {
        work_.stretches.push_back({{p.x, p.y}, {q.x, q.y}, wall_carrier, wall_carrier, true});
      } else {
        work_.walls.push_back({edge, {p.x, p.y}, {q.x, q.y}});
      }
    }
  }
};

/// The smallest outer loop around p that is larger than `least` (twice its area); loops.size() if there is none.
template <class FT>
std::size_t loop_around(const std::vector<ToeLoop<FT>>& loops, const PlanPoint<FT>& p, const FT& least) {
  std::size_t smallest = loops.size();
  for (std::size_t i = 0; i < loops.size(); ++i) {
    if (!(loops[i].twice_area > least)) continue;
    const bool is_smaller = smallest == loops.size() || loops[i].twice_area < loops[smallest].twice_area;
    if (is_smaller && is_inside(loops[i], p)) smallest = i;
  }
  return smallest;
}

/// Marks the outer loops that hold bed. A lot of loops far off, as noise makes, costs no more than their boxes.
template <class FT>
void mark_loops_with_bed(const std::vector<ToeLoop<FT>>& loops, const std::vector<PlanPoint<FT>>& in_bed,
                         std::vector<bool>& counts) {
  const PlanBox bed = box_round(in_bed);
  std::vector<std::size_t> near;
  for (std::size_t i = 0; i < loops.size(); ++i) {
    if (!loops[i].is_hole() && bed.meets(box_round(loops[i].points))) near.push_back(i);
  }
  if (near.size() == 1) {  // all of the bed's footprint is in it
    counts[near.front()] = true;
  } else if (near.size() > 1) {
    for (const PlanPoint<FT>& p : in_bed) {
      const std::size_t around = loop_around(loops, p, FT(0));
      if (around < loops.size()) counts[around] = true;
    }
  }
}

/// Outer loops that hold bed, or the largest where none does; and the holes in them.
template <class FT>
std::vector<bool> loops_that_count(const std::vector<ToeLoop<FT>>& loops, const std::vector<PlanPoint<FT>>& in_bed) {
  std::vector<bool> counts(loops.size(), false);
  if (loops.empty()) return counts;
  mark_loops_with_bed(loops, in_bed, counts);
  if (std::find(counts.begin(), counts.end(), true) == counts.end()) {
    const auto is_smaller = [](const ToeLoop<FT>& p, const ToeLoop<FT>& q) { return p.twice_area < q.twice_area; };
    counts[static_cast<std::size_t>(std::max_element(loops.begin(), loops.end(), is_smaller) - loops.begin())] = true;
  }
  for (std::size_t i = 0; i < loops.size(); ++i) {
    if (!loops[i].is_hole()) continue;
    const std::size_t owner = loop_around(loops, loops[i].points.front(), FT(-loops[i].twice_area));
    counts[i] = owner < loops.size() && counts[owner];
  }
  return counts;
}

/// Takes off the outer loops that do not count, and keeps the loops that do.
template <Wanted wanted, class FT>
void drop_specks(const TinTree<FT>& tree, const KernelPrepare<FT>& prepare, std::vector<ToeLoop<FT>> loops,
                 KernelWork<FT>& work) {
  KernelResult<FT>& result = work.result;
  const std::vector<bool> counts = loops_that_count(loops, work.in_bed);
  for (std::size_t i = 0; i < loops.size(); ++i) {
    if (counts[i] || loops[i].is_hole()) continue;
    const SpeckFilter<FT> filter{&loops, &loops[i], box_round(loops[i].points)};
    KernelSums<FT> speck;
    speck.reset(result.sums.layers.size());
    Run<FT, wanted>(tree, prepare, work, speck, &filter).descend(root_of(tree), work.placed.root);
    subtract(result.sums, speck);
    result.specks_area += speck.footprint_area;
  }
  for (std::size_t i = 0; i < loops.size(); ++i) {
    if (!counts[i] && loops[i].is_hole()) continue;
    (counts[i] ? result.loops : result.specks).push_back(std::move(loops[i]));
  }
}

/// Everything but the toe's loops and the specks.
template <Wanted wanted, class FT>
void sum_up(const TinTree<FT>& tree, const KernelPrepare<FT>& prepare, KernelWork<FT>& work) {
  KernelResult<FT>& result = work.result;
  result.sums.reset(work.placed.layer_count);
  result.loops.clear();
  result.specks.clear();
  result.specks_area = FT(0);
  work.stretches.clear();
  work.walls.clear();
  work.in_bed.clear();
  if (tree.triangles.empty()) return;
  Run<FT, wanted>(tree, prepare, work, result.sums, nullptr).descend(root_of(tree), work.placed.root);
}

}  // namespace kernel_detail

/// Runs the placed cells in `work` over the ground. The result lives in `work` until the next run.
template <class FT>
const KernelResult<FT>& run_kernel(const TinTree<FT>& tree, const KernelPrepare<FT>& prepare, KernelWork<FT>& work) {
  using namespace kernel_detail;
  constexpr Wanted wanted = Wanted::sums_and_thicknesses;
  sum_up<wanted>(tree, prepare, work);
  drop_specks<wanted>(tree, prepare, trace_loops(work.stretches, work.walls, work.trace), work);
  return work.result;
}

/// The same without thicknesses and, where the toe is one loop, without its points. Allocates nothing once the buffers
/// have grown, but for specks, holes and upright sides.
template <class FT>
const KernelSums<FT>& run_kernel_for_sums(const TinTree<FT>& tree, const KernelPrepare<FT>& prepare,
                                          KernelWork<FT>& work) {
  using namespace kernel_detail;
  sum_up<Wanted::sums>(tree, prepare, work);
  if (!work.walls.empty() || !is_one_loop(work.stretches, work.trace)) {
    drop_specks<Wanted::sums>(tree, prepare, trace_loops(work.stretches, work.walls, work.trace), work);
  }
  return work.result.sums;
}

}  // namespace moundwright

// A design compiled into plan cells, once, so that it can be laid on any ground quickly.
//
//   PlanCells<double> cells = compile_cells<double>(shape_of(design));
//
// Why this works. With U_k the greatest of the layer shapes F_1..F_k, the surface after k layers on prepared ground
// P is S_k = max(P, U_k): what the layers do among themselves does not depend on the ground. So the plan is cut, in the
// mound frame, into convex cells on each of which every U_k is one plane. The lines that cut it are where two planes
// of one layer meet (ridges, hips, the edge of a top), where one layer comes out over another, and the vertical
// sides. The cells hang in a binary tree of those lines (a BSP): to find the cells a polygon meets, go down the tree,
// splitting the polygon where a line crosses it. Moving, turning and raising the mound keep the tree.
//
// In a cell, `levels` are the distinct U_k from the lowest to the highest, each with the layer that reaches it;
// a layer without a level of its own in a cell adds nothing there. The pit, if any, is one plane a cell too.
//
// Works on any number type FT. On an exact type all decisions are exact; on double, what is thinner in plan than a
// tolerance is taken as nothing. It is well above what rounding does to a place in the square that is cut up, so that a
// line once cut along is not found again on either side of it, and the tree ends.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <memory>
#include <type_traits>
#include <utility>
#include <vector>

#include "geom/mound_shape.h"
#include "geom/number.h"

namespace moundwright {

template <class FT>
struct CellLevel {
  PlaneOf<FT> plane;  // height above the bed bottom
  int layer;
  bool is_top;  // the layer's own flat top or crown, not a side
};

template <class FT>
struct PlanCell {
  std::uint32_t first_level = 0;
  std::uint32_t level_count = 0;  // 0: no layer reaches this cell
  bool in_bed = false;
  bool has_pit = false;
  PlaneOf<FT> pit{FT(0), FT(0), FT(0)};  // height above the pit's bottom
};

/// Where a line of the tree sends what lies on its two sides: a node if >= 0, else cell -1 - value.
template <class FT>
struct PlanNode {
  PlaneOf<FT> line;  // positive on the positive side
  std::int32_t positive, negative;
  std::int32_t wall;  // index of the vertical side it is, where the outermost surface may step; else -1
  // Planes the outermost surface stays under all over this node's region (into PlanCells::roofs), so that where one of
  // them lies under the ground nothing need be cut: the hips of a mound run on far past its toe.
  std::uint32_t first_roof = 0, roof_count = 0;
};

template <class FT>
struct PlanCells {
  std::vector<PlanNode<FT>> nodes;
  std::vector<PlanCell<FT>> cells;
  std::vector<CellLevel<FT>> levels;
  std::vector<PlaneOf<FT>> roofs;
  std::int32_t root = -1;
  std::size_t layer_count = 0;
};

namespace plan_cells_detail {

constexpr double plan_tolerance = 1e-10;  // length units; in a square of up to 28,000 of them
constexpr double plan_half_size = 100.0;  // of the square that is cut up, in reaches of the mound
constexpr int deepest_tree = 1000;        // a mound as large and involved as check_design lets pass stays under 100

/// Of a square of this half size.
template <class FT>
FT tolerance_in(double half_size) {
  constexpr double roundings = 16;
  if constexpr (!std::is_floating_point_v<FT>) return FT(0);
  return FT(std::max(plan_tolerance, roundings * std::numeric_limits<double>::epsilon() * half_size));
}

template <class FT>
struct Corner {
  FT u, v;
  int line;  // tag of the edge from this corner to the next
};

template <class FT>
using Outline = std::vector<Corner<FT>>;

constexpr int untagged = -1;

/// A line scaled so that its value is a distance (floating-point types; exact ones need no scale).
template <class FT>
PlaneOf<FT> as_distance(const PlaneOf<FT>& line) {
  if constexpr (std::is_floating_point_v<FT>) {
    const FT size = std::hypot(line.a, line.b);
    return {line.a / size, line.b / size, line.c / size};
  } else {
    return line;
  }
}

template <class FT>
PlaneOf<FT> difference(const PlaneOf<FT>& p, const PlaneOf<FT>& q) {
  return {p.a - q.a, p.b - q.b, p.c - q.c};
}

template <class FT>
PlaneOf<FT> negated(const PlaneOf<FT>& line) {
  return {-line.a, -line.b, -line.c};
}

/// Parallel planes meet nowhere; the one is above the other everywhere or they are the same.
template <class FT>
bool is_level(const PlaneOf<FT>& plane) {
  if constexpr (std::is_floating_point_v<FT>) return plane.a * plane.a + plane.b * plane.b < 1e-26;
  return plane.a == FT(0) && plane.b == FT(0);
}

/// Which sides of a line a convex outline has more on than the tolerance.
struct Sides {
  bool positive = false, negative = false;
  bool both() const { return positive && negative; }
};
template <class FT>
Sides sides_of(const Outline<FT>& outline, const PlaneOf<FT>& line, const FT& tolerance) {
  Sides sides;
  for (const Corner<FT>& corner : outline) {
    const FT value = line.at(corner.u, corner.v);
    sides.positive |= value > tolerance;
    sides.negative |= value < -tolerance;
  }
  return sides;
}

/// The part of a convex outline where `line` is positive; its new edge gets the tag. Empty if nothing wider than the
/// tolerance is left.
template <class FT>
Outline<FT> clipped(const Outline<FT>& outline, const PlaneOf<FT>& line, int tag, const FT& tolerance) {
  const Sides sides = sides_of(outline, line, tolerance);
  if (!sides.positive) return {};
  if (!sides.negative) return outline;
  const std::size_t n = outline.size();
  std::vector<FT> value(n);
  for (std::size_t i = 0; i < n; ++i) value[i] = line.at(outline[i].u, outline[i].v);
  Outline<FT> kept;
  kept.reserve(n + 1);
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t j = i + 1 == n ? 0 : i + 1;
    const bool in_i = value[i] > FT(0), in_j = value[j] > FT(0);
    if (in_i) kept.push_back(outline[i]);
    if (in_i == in_j) continue;
    const FT part = zero_share(value[i], value[j]);
    kept.push_back({outline[i].u + (outline[j].u - outline[i].u) * part,
                    outline[i].v + (outline[j].v - outline[i].v) * part, in_i ? tag : outline[i].line});
  }
  return kept;
}

template <class FT>
double area_of(const Outline<FT>& outline) {
  double twice = 0;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Corner<FT>& p = outline[i];
    const Corner<FT>& q = outline[i + 1 == outline.size() ? 0 : i + 1];
    twice += approximate(p.u) * approximate(q.v) - approximate(q.u) * approximate(p.v);
  }
  return 0.5 * twice;
}

/// A concave piece while it is being resolved: which of its lines and planes still matter in the cell at hand.
template <class FT>
struct Piece {
  int layer;
  std::vector<int> lines;      // into Compiler::lines_; those that still cut the cell at hand
  std::vector<int> all_lines;  // every line the piece began with
  std::vector<int> planes;     // into `all`
  const std::vector<CellLevel<FT>>* all;

  bool is_one_plane() const { return lines.empty() && planes.size() == 1; }
  const PlaneOf<FT>& plane(std::size_t i) const { return (*all)[planes[i]].plane; }
  const CellLevel<FT>& only() const { return (*all)[planes[0]]; }
};

/// A line that could cut the cell, and the stretch of it where something changes.
template <class FT>
struct Cut {
  PlaneOf<FT> line;
  int tag;
  Corner<FT> from, to;
};

/// What is left to be resolved in one cell.
template <class FT>
struct CellWork {
  Outline<FT> outline;
  std::vector<Piece<FT>> layers, bed, pit;
};

template <class FT>
class Compiler {
 public:
  explicit Compiler(const MoundShape& shape) : tolerance_(tolerance_in<FT>(plan_half_size * shape.reach)) {
    result_.layer_count = shape.layers.size();
    CellWork<FT> work;
    for (std::size_t k = 0; k < shape.layers.size(); ++k) {
      add_pieces(shape.layers[k].pieces, static_cast<int>(k), work.layers);
    }
    add_pieces(shape.bed, 0, work.bed);
    add_pieces(shape.pit, 0, work.pit);
    work.outline = square(plan_half_size * shape.reach);
    focus_ = square(shape.reach);
    result_.root = compile(std::move(work), 0);
    drop_walls_never_exposed();
  }
  PlanCells<FT> take() { return std::move(result_); }

 private:
  const FT tolerance_;
  PlanCells<FT> result_;
  std::vector<PlaneOf<FT>> lines_;  // vertical sides and bisectors
  std::vector<int> walls_;          // of each line: the first that lies on the same place, whichever way it faces
  std::vector<bool> exposed_;       // of each wall: the outermost surface may step there
  std::vector<std::unique_ptr<std::vector<CellLevel<FT>>>> planes_;  // storage that Pieces point into
  std::vector<Outline<FT>> outlines_;                                // of each cell
  Outline<FT> focus_;                                                // where most of the ground under the mound will be

  Outline<FT> clip(const Outline<FT>& outline, const PlaneOf<FT>& line, int tag) const {
    return clipped(outline, line, tag, tolerance_);
  }

  static Outline<FT> square(double half) {
    const FT h(half);
    return {{-h, -h, untagged}, {h, -h, untagged}, {h, h, untagged}, {-h, h, untagged}};
  }

  void add_pieces(const std::vector<ConcavePiece>& shapes, int layer, std::vector<Piece<FT>>& into) {
    for (const ConcavePiece& shape : shapes) {
      planes_.push_back(std::make_unique<std::vector<CellLevel<FT>>>());
      Piece<FT> piece{layer, {}, {}, {}, planes_.back().get()};
      for (const ShapePlane& plane : shape.planes) {
        piece.planes.push_back(static_cast<int>(planes_.back()->size()));
        planes_.back()->push_back({{FT(plane.a), FT(plane.b), FT(plane.c)}, layer, plane.is_top});
      }
      for (const PlanLine& line : shape.inside) {
        const PlaneOf<FT> distance = as_distance<FT>({FT(line.a), FT(line.b), FT(line.c)});
        const int same = tag_of(distance);
        walls_.push_back(same == untagged ? static_cast<int>(lines_.size()) : same);
        piece.lines.push_back(static_cast<int>(lines_.size()));
        lines_.push_back(distance);
        exposed_.push_back(false);
      }
      piece.all_lines = piece.lines;
      into.push_back(std::move(piece));
    }
  }

  /// Lines that lie on each other share the tag of the first, so that a vertical side is one wall however it is met.
  int tag_of(const PlaneOf<FT>& line) const {
    for (std::size_t i = 0; i < lines_.size(); ++i) {
      const PlaneOf<FT>& other = lines_[i];
      const FT turn = line.a * other.b - line.b * other.a;
      const FT shift_a = line.a * other.c - line.c * other.a, shift_b = line.b * other.c - line.c * other.b;
      const auto is_nothing = [&](const FT& x) { return x <= tolerance_ && -x <= tolerance_; };
      if (is_nothing(turn) && is_nothing(shift_a) && is_nothing(shift_b)) return walls_[i];
    }
    return untagged;
  }

  /// The piece's region in the cell; its edges on the piece's own lines are tagged with them.
  Outline<FT> region_of(const Piece<FT>& piece, const Outline<FT>& cell) const {
    Outline<FT> region = cell;
    for (Corner<FT>& corner : region) corner.line = untagged;
    for (const int line : piece.lines) {
      region = clip(region, lines_[line], line);
      if (region.empty()) break;
    }
    return region;
  }

  static void add_cuts(const Outline<FT>& region, int tag, const PlaneOf<FT>& line, std::vector<Cut<FT>>& cuts) {
    for (std::size_t i = 0; i < region.size(); ++i) {
      if (region[i].line != tag) continue;
      cuts.push_back({line, tag, region[i], region[i + 1 == region.size() ? 0 : i + 1]});
    }
  }

  /// Drops lines and planes that decide nothing in the cell, and collects the ones that do as cuts. Returns false where
  /// the piece is not in the cell at all.
  bool resolve(Piece<FT>& piece, const Outline<FT>& cell, std::vector<Cut<FT>>& cuts) const {
    const Outline<FT> region = region_of(piece, cell);
    if (region.empty()) return false;
    std::erase_if(piece.lines, [&](int line) {
      const std::size_t before = cuts.size();
      add_cuts(region, line, lines_[line], cuts);
      return cuts.size() == before;
    });
    if (piece.planes.size() > 1) resolve_planes(piece, region, cuts);
    return true;
  }

  void resolve_planes(Piece<FT>& piece, const Outline<FT>& region, std::vector<Cut<FT>>& cuts) const {
    std::vector<int> active;
    constexpr int first_pair_tag = 1 << 20;
    for (std::size_t i = 0; i < piece.planes.size(); ++i) {
      Outline<FT> least = region;
      for (std::size_t j = 0; j < piece.planes.size() && !least.empty(); ++j) {
        if (j == i) continue;
        const PlaneOf<FT> above = difference(piece.plane(j), piece.plane(i));
        if (is_level(above)) {
          if (above.c < FT(0) || (above.c == FT(0) && j < i)) least.clear();
        } else {
          least = clip(least, as_distance(above), first_pair_tag + static_cast<int>(j));
        }
      }
      if (least.empty()) continue;
      active.push_back(piece.planes[i]);
      for (std::size_t j = 0; j < i; ++j) {  // each pair once
        add_cuts(least, first_pair_tag + static_cast<int>(j), difference(piece.plane(j), piece.plane(i)), cuts);
      }
    }
    if (active.empty()) active.push_back(lowest_plane(piece, region));
    piece.planes = std::move(active);
  }

  /// On floating-point types, regions hardly wider than the tolerance may be clipped away under every plane.
  int lowest_plane(const Piece<FT>& piece, const Outline<FT>& region) const {
    const auto sum_over_region = [&](int plane) {
      FT sum(0);
      for (const Corner<FT>& corner : region) sum += (*piece.all)[plane].plane.at(corner.u, corner.v);
      return sum;
    };
    return *std::min_element(piece.planes.begin(), piece.planes.end(),
                             [&](int p, int q) { return sum_over_region(p) < sum_over_region(q); });
  }

  static FT height_at(const Piece<FT>& piece, const FT& u, const FT& v) {
    FT least = piece.plane(0).at(u, v);
    for (std::size_t i = 1; i < piece.planes.size(); ++i) least = std::min(least, FT(piece.plane(i).at(u, v)));
    return least;
  }

  /// True if `low` clearly stands above `high` at a corner of the cell, which spares the search: nearly all do.
  bool is_seen_above(const Piece<FT>& low, const Piece<FT>& high, const Outline<FT>& cell) const {
    const FT clearly(1e-6);
    return low.lines.empty() && std::any_of(cell.begin(), cell.end(), [&](const Corner<FT>& corner) {
             return height_at(low, corner.u, corner.v) > height_at(high, corner.u, corner.v) + clearly;
           });
  }

  /// True if `low` nowhere rises above `high` in the cell.
  bool is_covered(const Piece<FT>& low, const Piece<FT>& high, const Outline<FT>& cell) const {
    if (!high.lines.empty() || is_seen_above(low, high, cell)) return false;
    for (std::size_t i = 0; i < high.planes.size(); ++i) {
      Outline<FT> above = region_of(low, cell);
      for (std::size_t j = 0; j < low.planes.size() && !above.empty(); ++j) {
        const PlaneOf<FT> over = difference(low.plane(j), high.plane(i));
        if (!is_level(over)) {
          above = clip(above, as_distance(over), untagged);
        } else if (over.c <= FT(0)) {
          above.clear();
        }
      }
      if (!above.empty()) return false;
    }
    return true;
  }

  /// A piece of a later layer that stays under an earlier one adds nothing; of one layer, or of the pit, the lower
  /// overlap goes.
  void drop_covered(std::vector<Piece<FT>>& pieces, const Outline<FT>& cell) const {
    for (std::size_t j = pieces.size(); j-- > 0;) {
      for (std::size_t i = 0; i < pieces.size(); ++i) {
        const bool counts_before = pieces[i].layer <= pieces[j].layer;
        if (i == j || !counts_before || !is_covered(pieces[j], pieces[i], cell)) continue;
        pieces.erase(pieces.begin() + static_cast<std::ptrdiff_t>(j));
        break;
      }
    }
  }

  /// Where a later layer comes out over an earlier one, or one piece of a layer or of the pit over another.
  void add_order_cuts(const std::vector<Piece<FT>>& pieces, const Outline<FT>& cell, std::vector<Cut<FT>>& cuts) const {
    for (std::size_t i = 0; i < pieces.size(); ++i) {
      for (std::size_t j = i + 1; j < pieces.size(); ++j) {
        if (!pieces[i].is_one_plane() || !pieces[j].is_one_plane()) continue;
        const PlaneOf<FT> over = difference(pieces[j].plane(0), pieces[i].plane(0));
        if (is_level(over) || !sides_of(cell, as_distance(over), tolerance_).both()) continue;
        add_cuts(clip(cell, as_distance(over), -2), -2, over, cuts);
      }
    }
  }

  std::vector<Cut<FT>> resolve_all(CellWork<FT>& work) const {
    std::vector<Cut<FT>> cuts;
    for (std::vector<Piece<FT>>* pieces : {&work.layers, &work.bed, &work.pit}) {
      std::erase_if(*pieces, [&](Piece<FT>& piece) { return !resolve(piece, work.outline, cuts); });
    }
    const std::size_t before = work.layers.size() + work.pit.size();
    drop_covered(work.layers, work.outline);
    drop_covered(work.pit, work.outline);
    if (work.layers.size() + work.pit.size() != before) {  // what only a covered piece asked for need not be cut
      cuts.clear();
      for (std::vector<Piece<FT>>* pieces : {&work.layers, &work.bed, &work.pit}) {
        for (Piece<FT>& piece : *pieces) resolve(piece, work.outline, cuts);
      }
    }
    if (work.layers.empty()) return {};  // nothing is built here: bed and pit lines do not matter
    add_order_cuts(work.layers, work.outline, cuts);
    add_order_cuts(work.pit, work.outline, cuts);
    for (Cut<FT>& cut : cuts) {
      cut.line = as_distance(cut.line);
      const bool is_line = cut.tag >= 0 && cut.tag < static_cast<int>(lines_.size());
      cut.tag = is_line ? walls_[static_cast<std::size_t>(cut.tag)] : tag_of(cut.line);
    }
    return cuts;
  }

  /// Cuts left on each side, weighed by how much of the mound lies there: the expected work below this node.
  double cost_of(const Cut<FT>& cut, const std::vector<Cut<FT>>& cuts, const Outline<FT>& focus) const {
    int left[2] = {0, 0};
    for (const Cut<FT>& other : cuts) {
      const FT from = cut.line.at(other.from.u, other.from.v), to = cut.line.at(other.to.u, other.to.v);
      left[0] += from > tolerance_ || to > tolerance_;
      left[1] += from < -tolerance_ || to < -tolerance_;
    }
    const double whole = area_of(focus);
    const double part = whole > 0 ? area_of(clip(focus, cut.line, untagged)) / whole : 0.5;
    return part * left[0] + (1 - part) * left[1];
  }

  const Cut<FT>& best_cut(const std::vector<Cut<FT>>& cuts, const Outline<FT>& outline) const {
    Outline<FT> focus = outline;
    for (std::size_t i = 0; i < focus_.size() && !focus.empty(); ++i) {
      const Corner<FT>& p = focus_[i];
      const Corner<FT>& q = focus_[(i + 1) % focus_.size()];
      focus = clip(focus, as_distance<FT>({p.v - q.v, q.u - p.u, p.u * q.v - q.u * p.v}), untagged);
    }
    std::size_t best = 0;
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < cuts.size(); ++i) {
      const double cost = cost_of(cuts[i], cuts, focus);
      if (cost < least) least = cost, best = i;
    }
    return cuts[best];
  }

  std::int32_t compile(CellWork<FT> work, int depth) {
    if (depth > deepest_tree) {
      throw Refusal({Severity::error, "the layers cross one another in too many places to be computed", "layer",
                     "make the shapes plainer: fewer layers, or sides and sizes nearer to each other"});
    }
    std::vector<Cut<FT>> cuts = resolve_all(work);
    std::erase_if(cuts, [&](const Cut<FT>& c) {  // rounding only: a cut along the cell's own edge
      return !sides_of(work.outline, c.line, tolerance_).both();
    });
    if (cuts.empty()) return finish(work);
    const Cut<FT> cut = best_cut(cuts, work.outline);
    const auto index = static_cast<std::int32_t>(result_.nodes.size());
    const std::size_t first_cell = result_.cells.size();
    result_.nodes.push_back({cut.line, 0, 0, cut.tag});
    CellWork<FT> other = work;
    other.outline = clip(work.outline, negated(cut.line), cut.tag);
    work.outline = clip(work.outline, cut.line, cut.tag);
    const std::int32_t positive = compile(std::move(work), depth + 1);
    const std::int32_t negative = compile(std::move(other), depth + 1);
    result_.nodes[static_cast<std::size_t>(index)].positive = positive;
    result_.nodes[static_cast<std::size_t>(index)].negative = negative;
    add_roofs(result_.nodes[static_cast<std::size_t>(index)], first_cell);
    return index;
  }

  const PlaneOf<FT>& finish_of(std::size_t cell) const {
    return result_.levels[result_.cells[cell].first_level + result_.cells[cell].level_count - 1].plane;
  }

  /// True if no cell from `first` on finishes above the plane.
  bool is_roof(const PlaneOf<FT>& plane, std::size_t first) const {
    const FT slack = std::is_floating_point_v<FT> ? FT(1e-9) : FT(0);
    for (std::size_t i = first; i < result_.cells.size(); ++i) {
      if (result_.cells[i].level_count == 0) continue;
      const PlaneOf<FT> over = difference(finish_of(i), plane);
      for (const Corner<FT>& corner : outlines_[i]) {
        if (over.at(corner.u, corner.v) > slack) return false;
      }
    }
    return true;
  }

  /// Of the finishes below a node that are roofs over all of them, up to a handful that face all ways; the middle
  /// first.
  void add_roofs(PlanNode<FT>& node, std::size_t first) {
    std::vector<PlaneOf<FT>> found;
    for (std::size_t i = first; i < result_.cells.size(); ++i) {
      if (result_.cells[i].level_count == 0) continue;
      const PlaneOf<FT>& plane = finish_of(i);
      const bool is_known = std::any_of(found.begin(), found.end(), [&](const PlaneOf<FT>& known) {
        return known.a == plane.a && known.b == plane.b && known.c == plane.c;
      });
      if (!is_known && is_roof(plane, first)) found.push_back(plane);
    }
    constexpr std::size_t handful = 8;
    node.first_roof = static_cast<std::uint32_t>(result_.roofs.size());
    node.roof_count = static_cast<std::uint32_t>(std::min(handful, found.size()));
    for (std::size_t i = 0; i < node.roof_count; ++i) {
      result_.roofs.push_back(found[(found.size() / 2 + i * found.size() / node.roof_count) % found.size()]);
    }
  }

  std::int32_t finish(CellWork<FT>& work) {
    std::stable_sort(work.layers.begin(), work.layers.end(),
                     [](const Piece<FT>& p, const Piece<FT>& q) { return p.layer < q.layer; });
    PlanCell<FT> cell;
    cell.first_level = static_cast<std::uint32_t>(result_.levels.size());
    cell.level_count = static_cast<std::uint32_t>(work.layers.size());
    cell.in_bed = !work.bed.empty();
    for (const Piece<FT>& piece : work.layers) result_.levels.push_back(piece.only());
    if (!work.pit.empty()) {
      cell.has_pit = true;
      cell.pit = negated(work.pit.front().only().plane);
    }
    if (!work.layers.empty()) {
      for (const int line : work.layers.back().all_lines) {
        const int wall = walls_[static_cast<std::size_t>(line)];
        for (const Corner<FT>& corner : work.outline) {
          if (corner.line == wall) exposed_[static_cast<std::size_t>(wall)] = true;
        }
      }
    }
    result_.cells.push_back(cell);
    outlines_.push_back(std::move(work.outline));
    return -static_cast<std::int32_t>(result_.cells.size());
  }

  void drop_walls_never_exposed() {
    for (PlanNode<FT>& node : result_.nodes) {
      if (node.wall >= 0 && !exposed_[static_cast<std::size_t>(node.wall)]) node.wall = -1;
    }
  }
};

}  // namespace plan_cells_detail

/// Compiles a design's shape. About a millisecond on double; moving, turning and raising the mound need no other.
template <class FT>
PlanCells<FT> compile_cells(const MoundShape& shape) {
  return plan_cells_detail::Compiler<FT>(shape).take();
}

}  // namespace moundwright

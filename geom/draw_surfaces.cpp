#include "geom/draw_surfaces.h"

#include <tbb/enumerable_thread_specific.h>
#include <tbb/parallel_for.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <boost/container/small_vector.hpp>
#include <cmath>
#include <limits>

#include "geom/kernel_input.h"

namespace moundwright {
namespace {

using Cell = PlanCell<double>;
using Level = CellLevel<double>;
using Flat = PlaneOf<double>;

// Everything here is in plan axes from the mound's origin with residual elevations, as in the kernel.
struct Corner3 {
  double x, y, r;  // r: the ground
};
using Polygon3 = boost::container::small_vector<Corner3, 16>;

constexpr double inf = std::numeric_limits<double>::infinity();

struct Box {
  double x0 = inf, y0 = inf, x1 = -inf, y1 = -inf;
  void add(double x, double y) {
    x0 = std::min(x0, x), y0 = std::min(y0, y), x1 = std::max(x1, x), y1 = std::max(y1, y);
  }
  double width() const { return x1 - x0; }
  double height() const { return y1 - y0; }
};

Box box_of(const Polygon3& polygon) {
  Box box;
  for (const Corner3& p : polygon) box.add(p.x, p.y);
  return box;
}

/// The part of a convex polygon where `value` (linear) is above zero.
template <class Value>
Polygon3 part_above(const Polygon3& polygon, const Value& value) {
  Polygon3 kept;
  double here = value(polygon.back());
  const Corner3* last = &polygon.back();
  for (const Corner3& p : polygon) {
    const double next = value(p);
    if ((here > 0) != (next > 0)) {
      const double part = zero_share(here, next);
      kept.push_back(
          {last->x + (p.x - last->x) * part, last->y + (p.y - last->y) * part, last->r + (p.r - last->r) * part});
    }
    if (next > 0) kept.push_back(p);
    here = next, last = &p;
  }
  if (kept.size() < 3) kept.clear();
  return kept;
}

/// An edge so short that its direction is only rounding.
bool is_nothing(double dx, double dy) { return std::abs(dx) + std::abs(dy) < 1e-9; }

Polygon3 part_inside(Polygon3 polygon, const Polygon3& convex) {
  for (std::size_t i = 0; i < convex.size() && !polygon.empty(); ++i) {
    const Corner3 &p = convex[i], &q = convex[i + 1 == convex.size() ? 0 : i + 1];
    const double dx = q.x - p.x, dy = q.y - p.y;
    if (is_nothing(dx, dy)) continue;
    const auto left = [&](const Corner3& c) { return dx * (c.y - p.y) - dy * (c.x - p.x); };
    if (std::all_of(polygon.begin(), polygon.end(), [&](const Corner3& c) { return left(c) > 0; })) continue;
    polygon = part_above(polygon, left);
  }
  return polygon;
}

Corner3 middle_of(const Polygon3& polygon) {
  Corner3 sum{0, 0, 0};
  for (const Corner3& p : polygon) sum.x += p.x, sum.y += p.y, sum.r += p.r;
  const auto n = static_cast<double>(polygon.size());
  return {sum.x / n, sum.y / n, sum.r / n};
}

/// A stretch between two cells along which some surface steps. The cell on the left of from -> to first. Mound frame.
struct StepEdge {
  Point2 from, to;
  std::uint32_t left, right;
  bool outside = false;  // the outermost surface steps
};

// ---- where surfaces step, once for a design -------------------------------------------------------------------------

using plan_cells_detail::Outline;

/// An edge of a cell on one of the tree's lines, as the stretch [t0, t1] of it.
struct LineStretch {
  double t0, t1;
  std::uint32_t cell;
};

const Level* level_up_to(const PlanCells<double>& cells, const Cell& cell, int layer) {
  const Level* found = nullptr;
  for (std::uint32_t i = 0; i < cell.level_count; ++i) {
    const Level& level = cells.levels[cell.first_level + i];
    if (level.layer <= layer) found = &level;
  }
  return found;
}

class StepFinder {
 public:
  StepFinder(const PlanCells<double>& cells, double half_size)
      : cells_(cells), tolerance_(plan_cells_detail::tolerance_in<double>(half_size)), sides_(2 * cells.nodes.size()) {
    const double s = half_size;
    using plan_cells_detail::untagged;
    go(cells.root, {{-s, -s, untagged}, {s, -s, untagged}, {s, s, untagged}, {-s, s, untagged}});
  }

  std::vector<StepEdge> steps() const {
    std::vector<StepEdge> found;
    for (std::size_t n = 0; n < cells_.nodes.size(); ++n) {
      for (const LineStretch& left : sides_[2 * n]) {
        for (const LineStretch& right : sides_[2 * n + 1]) add(cells_.nodes[n].line, left, right, found);
      }
    }
    return found;
  }

 private:
  const PlanCells<double>& cells_;
  const double tolerance_;
  std::vector<std::vector<LineStretch>> sides_;  // of node n: [2 n] on its positive side, [2 n + 1] on the other

  void go(std::int32_t at, const Outline<double>& outline) {
    if (outline.empty()) return;
    if (at < 0) return add_edges(static_cast<std::uint32_t>(-1 - at), outline);
    const PlanNode<double>& node = cells_.nodes[static_cast<std::size_t>(at)];
    go(node.positive, plan_cells_detail::clipped(outline, node.line, 2 * at, tolerance_));
    go(node.negative,
       plan_cells_detail::clipped(outline, plan_cells_detail::negated(node.line), 2 * at + 1, tolerance_));
  }

  /// Along the line with its positive side on the left.
  static Point2 direction(const Flat& line) { return Point2(line.b, -line.a).normalized(); }

  void add_edges(std::uint32_t cell, const Outline<double>& outline) {
    for (std::size_t i = 0; i < outline.size(); ++i) {
      const auto &p = outline[i], &q = outline[i + 1 == outline.size() ? 0 : i + 1];
      if (p.line == plan_cells_detail::untagged) continue;
      const Point2 d = direction(cells_.nodes[static_cast<std::size_t>(p.line / 2)].line);
      const double a = d.dot(Point2(p.u, p.v)), b = d.dot(Point2(q.u, q.v));
      sides_[static_cast<std::size_t>(p.line)].push_back({std::min(a, b), std::max(a, b), cell});
    }
  }

  void add(const Flat& line, const LineStretch& left, const LineStretch& right, std::vector<StepEdge>& found) const {
    const double t0 = std::max(left.t0, right.t0), t1 = std::min(left.t1, right.t1);
    if (!(t1 - t0 > 1e-9)) return;
    const Point2 d = direction(line), foot = Point2(line.a, line.b) * (-line.c / (line.a * line.a + line.b * line.b));
    StepEdge edge{foot + d * t0, foot + d * t1, left.cell, right.cell};
    if (!is_step(edge)) return;
    edge.outside = layer_steps(static_cast<int>(cells_.layer_count) - 1, edge);
    found.push_back(edge);
  }

  static bool differ(const Flat* p, const Flat* q, const StepEdge& edge) {
    if (p == nullptr || q == nullptr) return p != q;
    const auto apart = [&](const Point2& at) { return std::abs(p->at(at.x(), at.y()) - q->at(at.x(), at.y())) > 1e-9; };
    return apart(edge.from) || apart(edge.to);
  }

  /// Whether the surface after layers 0..k steps.
  bool layer_steps(int k, const StepEdge& edge) const {
    const Level* a = level_up_to(cells_, cells_.cells[edge.left], k);
    const Level* b = level_up_to(cells_, cells_.cells[edge.right], k);
    return differ(a ? &a->plane : nullptr, b ? &b->plane : nullptr, edge);
  }

  bool is_step(const StepEdge& edge) const {
    const Cell &left = cells_.cells[edge.left], &right = cells_.cells[edge.right];
    for (int k = 0; k < static_cast<int>(cells_.layer_count); ++k) {
      if (layer_steps(k, edge)) return true;
    }
    return differ(left.has_pit ? &left.pit : nullptr, right.has_pit ? &right.pit : nullptr, edge);
  }
};

// ---- which pieces count ---------------------------------------------------------------------------------------------

/// Inside the toe or not, quickly: its edges in rows.
class ToeRows {
 public:
  void set(const ToeLine& toe, const Point2& origin) {
    rows_.resize(row_count);
    for (auto& row : rows_) row.clear();
    box_ = Box{};
    for (const auto* loops : {&toe.outer, &toe.holes}) {
      for (const Polygon2& loop : *loops) {
        for (const Point2& p : loop) box_.add(p.x() - origin.x(), p.y() - origin.y());
      }
    }
    for (const auto* loops : {&toe.outer, &toe.holes}) {
      for (const Polygon2& loop : *loops) {
        for (std::size_t i = 0; i < loop.size(); ++i) add(loop[i] - origin, loop[(i + 1) % loop.size()] - origin);
      }
    }
  }

  bool encloses(double x, double y) const {
    if (!(y >= box_.y0 && y <= box_.y1)) return false;
    bool inside = false;
    for (const auto& [a, b] : rows_[row(y)]) {
      inside ^= crosses_ray(a.x(), a.y(), b.x(), b.y(), x, y);
    }
    return inside;
  }

 private:
  static constexpr std::size_t row_count = 256;
  Box box_;
  std::vector<std::vector<std::pair<Point2, Point2>>> rows_;

  std::size_t row(double y) const {
    const double part = (y - box_.y0) / std::max(box_.height(), 1e-300) * row_count;
    return static_cast<std::size_t>(std::clamp(part, 0.0, row_count - 1.0));
  }
  void add(const Point2& a, const Point2& b) {
    const std::size_t last = row(std::max(a.y(), b.y()));
    for (std::size_t i = row(std::min(a.y(), b.y())); i <= last; ++i) rows_[i].emplace_back(a, b);
  }
};

/// One part of a cell to be drawn.
struct Patch {
  std::uint32_t cell;
  Polygon3 outline;  // r is not used
};

struct Output {
  std::vector<LayerSurfaces> layers;
  std::vector<TreeNode> nodes;  // stack of the nodes under the patches at hand
  void reset(std::size_t count) {
    layers.resize(count);
    for (LayerSurfaces& layer : layers) layer.top.clear(), layer.underside.clear(), layer.walls.clear();
    nodes.clear();
  }
};

}  // namespace

struct DrawWork::Buffers {
  KernelWork<double> kernel;
  std::shared_ptr<const PlanCells<double>> cells;  // whose steps these are
  std::vector<StepEdge> steps;
  ToeRows toe;
  std::vector<Patch> patches;
  tbb::enumerable_thread_specific<Output> outputs;
};

DrawWork::DrawWork() : buffers_(std::make_unique<Buffers>()) {}
DrawWork::~DrawWork() = default;
DrawWork::DrawWork(DrawWork&&) noexcept = default;
DrawWork& DrawWork::operator=(DrawWork&&) noexcept = default;

namespace {

/// What all parts of one drawing share.
struct Drawing {
  const Ground& ground;
  const PlanCells<double>& cells;
  const ToeRows* specks;  // nullptr where everything above ground counts
  Point2 origin;          // reduced
  Flat trend;             // about the origin
  double strip;
  bool undersides, outside_only;
  double coarse;  // see DrawOptions

  bool counts(double x, double y) const { return specks == nullptr || specks->encloses(x, y); }
  Point3 point(double x, double y, double r) const { return {x + origin.x(), y + origin.y(), r + trend.at(x, y)}; }
  const Level& level(const Cell& cell, std::uint32_t i) const { return cells.levels[cell.first_level + i]; }
  Polygon3 triangle(std::uint32_t t) const {
    Polygon3 corners;
    for (const std::uint32_t v : ground.tree.triangles[t]) {
      const TinVertex<double>& p = ground.tree.vertices[v];
      corners.push_back({p.x - origin.x(), p.y - origin.y(), p.r});
    }
    return corners;
  }
};

// ---- vertical walls -------------------------------------------------------------------------------------------------

/// Both ends of something linear along a stretch.
struct Ends {
  double a, b;
  double at(double t) const { return a + (b - a) * t; }
};

/// What stands on one side of a wall's stretch. Without a cell, nothing.
struct WallSide {
  const Cell* cell = nullptr;
  bool in_footprint = false;  // known to be; else where the finish stands above ground
  Ends ground, pit;
  boost::container::small_vector<Ends, 12> levels;

  double prepared(double t, double strip) const {
    const double stripped = ground.at(t) - strip;
    return cell->has_pit ? std::min(stripped, pit.at(t)) : stripped;
  }
};

class Wall {
 public:
  Wall(const Drawing& drawing, Output& output, const Corner3& from, const Corner3& to)
      : d_(drawing), out_(output), from_(from), to_(to) {}

  WallSide side(const Cell* cell, bool in_footprint) const {
    WallSide side;
    if (cell == nullptr || cell->level_count == 0) return side;
    side.cell = cell, side.in_footprint = in_footprint;
    side.ground = {from_.r, to_.r};
    if (cell->has_pit) side.pit = {cell->pit.at(from_.x, from_.y), cell->pit.at(to_.x, to_.y)};
    for (std::uint32_t i = 0; i < cell->level_count; ++i) {
      const Flat& plane = d_.level(*cell, i).plane;
      side.levels.push_back({plane.at(from_.x, from_.y), plane.at(to_.x, to_.y)});
    }
    return side;
  }

  void draw(const WallSide& left, const WallSide& right) {
    parts_ = {0.0, 1.0};
    boost::container::small_vector<Ends, 32> all;
    for (const WallSide* side : {&left, &right}) {
      if (side->cell == nullptr) continue;
      all.push_back(side->ground);
      all.push_back({side->ground.a - d_.strip, side->ground.b - d_.strip});
      if (side->cell->has_pit) all.push_back(side->pit);
      all.insert(all.end(), side->levels.begin(), side->levels.end());
    }
    for (std::size_t i = 0; i < all.size(); ++i) {
      for (std::size_t j = 0; j < i; ++j) split_where_they_cross(all[i], all[j]);
    }
    std::sort(parts_.begin(), parts_.end());
    for (std::size_t i = 0; i + 1 < parts_.size(); ++i) draw_part(left, right, parts_[i], parts_[i + 1]);
  }

 private:
  const Drawing& d_;
  Output& out_;
  Corner3 from_, to_;
  boost::container::small_vector<double, 32> parts_;

  void split_where_they_cross(const Ends& p, const Ends& q) {
    const double a = p.a - q.a, b = p.b - q.b;
    if ((a > 0 && b < 0) || (a < 0 && b > 0)) parts_.push_back(zero_share(a, b));
  }

  bool stands(const WallSide& side, double t, double sideways) const {
    if (side.cell == nullptr) return false;
    if (!side.in_footprint && !(side.levels.back().at(t) > side.ground.at(t))) return false;
    const double dx = to_.x - from_.x, dy = to_.y - from_.y, size = std::hypot(dx, dy);
    return d_.counts(from_.x + dx * t - dy / size * sideways, from_.y + dy * t + dx / size * sideways);
  }

  /// The surface after layers 0..k.
  double surface(const WallSide& side, int k, double t) const {
    double z = side.prepared(t, d_.strip);
    for (std::uint32_t i = 0; i < side.cell->level_count && d_.level(*side.cell, i).layer <= k; ++i) {
      z = std::max(z, side.levels[i].at(t));
    }
    return z;
  }

  void draw_part(const WallSide& left, const WallSide& right, double t0, double t1) {
    if (!(t1 - t0 > 1e-12)) return;
    const double t = 0.5 * (t0 + t1);
    constexpr double aside = 1e-7;
    const bool on_left = stands(left, t, aside), on_right = stands(right, t, -aside);
    for (int k = 0; k < static_cast<int>(out_.layers.size()); ++k) {
      if (on_left) draw_bare(k, left, on_right ? &right : nullptr, t0, t, t1, false);
      if (on_right) draw_bare(k, right, on_left ? &left : nullptr, t0, t, t1, true);
    }
  }

  /// What of a layer's side is not covered by the same layer on the other side.
  void draw_bare(int k, const WallSide& side, const WallSide* other, double t0, double t, double t1, bool to_left) {
    // What lies below the ground or the other side's finish is covered, by whatever layer.
    const auto cover = [&](double at) {
      return other == nullptr ? side.ground.at(at) : surface(*other, static_cast<int>(out_.layers.size()) - 1, at);
    };
    const auto low = [&](const WallSide& s, double at) {
      const double below = surface(s, k - 1, at);
      return d_.outside_only && &s == &side ? std::max(below, cover(at)) : below;
    };
    const auto high = [&](const WallSide& s, double at) { return surface(s, k, at); };
    if (!(high(side, t) > low(side, t))) return;
    if (other == nullptr || !(high(*other, t) > low(*other, t))) {
      draw_face(k, t0, {low(side, t0), low(side, t1)}, t1, {high(side, t0), high(side, t1)}, to_left);
      return;
    }
    const auto below = [&](double at) { return std::min(high(side, at), low(*other, at)); };
    const auto above = [&](double at) { return std::max(low(side, at), high(*other, at)); };
    if (below(t) > low(side, t)) {
      draw_face(k, t0, {low(side, t0), low(side, t1)}, t1, {below(t0), below(t1)}, to_left);
    }
    if (high(side, t) > above(t)) {
      draw_face(k, t0, {above(t0), above(t1)}, t1, {high(side, t0), high(side, t1)}, to_left);
    }
  }

  void draw_face(int k, double t0, const Ends& low, double t1, const Ends& high, bool to_left) {
    const auto at = [&](double t, double r) {
      return d_.point(from_.x + (to_.x - from_.x) * t, from_.y + (to_.y - from_.y) * t, r);
    };
    const Point3 a = at(t0, low.a), b = at(t1, low.b), c = at(t1, high.b), d = at(t0, high.a);
    std::vector<Point3>& walls = out_.layers[static_cast<std::size_t>(k)].walls;
    if (lengthen(walls, a, b, c, d, to_left)) return;
    if (to_left) {
      for (const Point3* p : {&b, &a, &d, &b, &d, &c}) walls.push_back(*p);
    } else {
      for (const Point3* p : {&a, &b, &c, &a, &c, &d}) walls.push_back(*p);
    }
  }

  static bool is_straight(const Point3& p, const Point3& q, const Point3& r) {
    return (q - p).cross(r - q).norm() <= 1e-9 * (r - p).norm();
  }

  /// Lengthens the last face where the next one, a b c d, carries straight on from it: a wall that stands on another
  /// layer need not be cut up by the ground far below.
  static bool lengthen(std::vector<Point3>& walls, const Point3& a, const Point3& b, const Point3& c, const Point3& d,
                       bool to_left) {
    if (walls.size() < 6) return false;
    Point3* last = &walls[walls.size() - 6];
    const int at_a = to_left ? 1 : 0, at_b = to_left ? 0 : 1, at_c = to_left ? 5 : 2, at_d = to_left ? 2 : 5;
    if ((last[at_b] - a).norm() > 1e-9 || (last[at_c] - d).norm() > 1e-9) return false;
    if (!is_straight(last[at_a], a, b) || !is_straight(last[at_d], d, c)) return false;
    last[at_b] = b, last[at_c] = c;
    last[to_left ? 3 : 4] = to_left ? b : c;
    return true;
  }
};

// ---- tops and undersides --------------------------------------------------------------------------------------------

class PatchDrawer {
 public:
  PatchDrawer(const Drawing& drawing, Output& output, const Cell& cell) : d_(drawing), out_(output), cell_(cell) {}

  void draw(const Polygon3& outline) {
    out_.nodes.assign(1, root_of(d_.ground.tree));
    constexpr std::uint32_t many = std::numeric_limits<std::uint32_t>::max();
    refine(outline, 0, {many, many});
  }

 private:
  const Drawing& d_;
  Output& out_;
  const Cell& cell_;

  static constexpr std::uint32_t few_triangles = 12;

  /// Triangles under the part that a part was halved from, and under the one before.
  struct Before {
    std::uint32_t parent, grandparent;
  };

  const Flat& plane(std::uint32_t i) const { return d_.level(cell_, i).plane; }
  LayerSurfaces& layer(std::uint32_t i) const {
    return out_.layers[static_cast<std::size_t>(d_.level(cell_, i).layer)];
  }

  /// The ground under a patch, by its boxes.
  struct Below {
    double r0 = inf, r1 = -inf;
    std::uint32_t triangles = 0;
  };

  bool meets(const TreeBox& b, const Box& box) const {
    const double x = d_.origin.x(), y = d_.origin.y();
    return b.x1 - x >= box.x0 && b.x0 - x <= box.x1 && b.y1 - y >= box.y0 && b.y0 - y <= box.y1;
  }

  void collect(const TreeNode& node, const Box& box, Below& below) {
    const TreeBox& b = d_.ground.tree.boxes[node.index];
    if (!meets(b, box)) return;
    const bool is_small = b.half_x() * 4 <= box.width() && b.half_y() * 4 <= box.height();
    if (node.is_leaf() || is_small) {
      const auto [first, last] = triangle_range(d_.ground.tree, node);
      out_.nodes.push_back(node);
      below.r0 = std::min<double>(below.r0, b.r0), below.r1 = std::max<double>(below.r1, b.r1);
      below.triangles += last - first;
      return;
    }
    collect(node.first_child(), box, below);
    collect(node.second_child(), box, below);
  }

  /// Halving both ways must shed triangles, or a fan of them round one shot would be halved for ever.
  static bool is_worth_halving(std::uint32_t triangles, const Before& before) {
    return triangles > few_triangles && triangles <= before.grandparent - before.grandparent / 8;
  }

  /// Draws the part of the cell inside `outline`, whose ground is under the nodes from `first` on.
  void refine(const Polygon3& outline, std::size_t first, const Before& before) {
    if (outline.empty()) return;
    const Box box = box_of(outline);
    const std::size_t begin = out_.nodes.size();
    Below below;
    for (std::size_t i = first; i < begin; ++i) collect(TreeNode(out_.nodes[i]), box, below);
    if (out_.nodes.size() > begin && reaches_up(outline, below)) {
      if (!draw_whole(outline, below, begin)) {
        if (is_coarse(box, begin)) {
          draw_coarsely(outline);
        } else if (is_worth_halving(below.triangles, before)) {
          halve(outline, box, begin, {below.triangles, before.parent});
        } else {
          for (std::size_t i = begin; i < out_.nodes.size(); ++i) draw_cut(outline, out_.nodes[i]);
        }
      }
    }
    out_.nodes.resize(begin);
  }

  /// Beyond the survey's end no ground would hide what is left whole.
  bool is_coarse(const Box& box, std::size_t begin) const {
    if (!(std::max(box.width(), box.height()) <= d_.coarse)) return false;
    return std::none_of(out_.nodes.begin() + static_cast<std::ptrdiff_t>(begin), out_.nodes.end(),
                        [&](const TreeNode& node) { return has_survey_end(node); });
  }

  bool has_survey_end(const TreeNode& node) const {
    const auto [first, last] = triangle_range(d_.ground.tree, node);
    for (std::uint32_t t = first; t < last; ++t) {
      const auto& neighbours = d_.ground.tree.neighbours[t];
      if (std::any_of(neighbours.begin(), neighbours.end(), [](auto other) { return other < 0; })) return true;
    }
    return false;
  }

  void draw_coarsely(const Polygon3& outline) {
    const Corner3 middle = middle_of(outline);
    const auto counts = [&](const Corner3& p) { return d_.counts(p.x, p.y); };
    if (counts(middle) || std::any_of(outline.begin(), outline.end(), counts)) add_top(cell_.level_count - 1, outline);
  }

  void halve(const Polygon3& outline, const Box& box, std::size_t begin, const Before& before) {
    const bool wide = box.width() > box.height();
    const double x = 0.5 * (box.x0 + box.x1), y = 0.5 * (box.y0 + box.y1);
    const auto past = [&](const Corner3& p) { return wide ? p.x - x : p.y - y; };
    refine(part_above(outline, past), begin, before);
    refine(part_above(outline, [&](const Corner3& p) { return -past(p); }), begin, before);
  }

  Ends range(const Flat& plane, const Polygon3& outline) const {
    Ends range{inf, -inf};
    for (const Corner3& p : outline) {
      const double z = plane.at(p.x, p.y);
      range = {std::min(range.a, z), std::max(range.b, z)};
    }
    return range;
  }

  bool reaches_up(const Polygon3& outline, const Below& below) const {
    return range(plane(cell_.level_count - 1), outline).b > below.r0;
  }

  /// Draws a patch that the ground nowhere comes up in; false if it may.
  bool draw_whole(const Polygon3& outline, const Below& below, std::size_t begin) {
    if (!(range(plane(cell_.level_count - 1), outline).a > below.r1)) return false;
    if (d_.outside_only) {
      const Corner3 at = middle_of(outline);
      if (d_.counts(at.x, at.y)) add_top(cell_.level_count - 1, outline);
      return true;
    }
    bool pitted = false;
    if (cell_.has_pit) {
      const Ends pit = range(cell_.pit, outline);
      pitted = pit.b <= below.r0 - d_.strip;
      if (!pitted && pit.a < below.r1 - d_.strip) return false;
    }
    std::uint32_t lowest = cell_.level_count - 1;
    for (; lowest > 0; --lowest) {
      Ends over = range(plane(lowest - 1), outline);
      if (pitted) {
        over = range(plan_cells_detail::difference(plane(lowest - 1), cell_.pit), outline);
      } else {
        over = {over.a - below.r1 + d_.strip, over.b - below.r0 + d_.strip};
      }
      if (over.b <= 0) break;
      if (over.a <= 0) return false;
    }
    const Corner3 middle = middle_of(outline);
    if (!d_.counts(middle.x, middle.y)) return true;
    for (std::uint32_t i = lowest; i < cell_.level_count; ++i) {
      add_top(i, outline);
      if (i > lowest) add_underside(i, outline, [&](const Corner3& p) { return plane(i - 1).at(p.x, p.y); });
    }
    if (d_.undersides) draw_ground_under(lowest, outline, pitted, begin);
    return true;
  }

  void draw_ground_under(std::uint32_t level, const Polygon3& outline, bool pitted, std::size_t begin) {
    if (pitted) {
      add_underside(level, outline, [&](const Corner3& p) { return cell_.pit.at(p.x, p.y); });
      return;
    }
    for (std::size_t i = begin; i < out_.nodes.size(); ++i) {
      const auto [first, last] = triangle_range(d_.ground.tree, out_.nodes[i]);
      for (std::uint32_t t = first; t < last; ++t) {
        add_underside(level, part_inside(d_.triangle(t), outline), [&](const Corner3& p) { return p.r - d_.strip; });
      }
    }
  }

  // ---- triangle by triangle ----------------------------------------------------------------------------------------

  void draw_cut(const Polygon3& outline, const TreeNode& node) {
    const auto [first, last] = triangle_range(d_.ground.tree, node);
    for (std::uint32_t t = first; t < last; ++t) {
      const Polygon3 piece = part_inside(d_.triangle(t), outline);
      if (piece.empty()) continue;
      const Flat& finish = plane(cell_.level_count - 1);
      const auto over_ground = [&](const Corner3& p) { return finish.at(p.x, p.y) - p.r; };
      const Polygon3 footprint = part_above(piece, over_ground);
      if (footprint.empty()) continue;
      const Corner3 middle = middle_of(footprint);
      if (!d_.counts(middle.x, middle.y)) continue;
      if (!d_.outside_only && (d_.strip > 0 || cell_.has_pit)) draw_toe_wall(footprint, piece, over_ground);
      draw_survey_end(t, outline);
      if (d_.outside_only) {
        add_top(cell_.level_count - 1, footprint);
      } else {
        draw_prepared(footprint);
      }
    }
  }

  void draw_prepared(const Polygon3& footprint) {
    if (!cell_.has_pit) return draw_levels(footprint, false);
    const auto pit_depth = [&](const Corner3& p) { return p.r - d_.strip - cell_.pit.at(p.x, p.y); };
    const Polygon3 pitted = part_above(footprint, pit_depth);
    if (!pitted.empty()) draw_levels(pitted, true);
    const Polygon3 rest = part_above(footprint, [&](const Corner3& p) { return -pit_depth(p); });
    if (!rest.empty()) draw_levels(rest, false);
  }

  /// `part` is footprint, and prepared ground is one plane on it.
  void draw_levels(Polygon3 part, bool pitted) {
    const auto prepared = [&](const Corner3& p) { return pitted ? cell_.pit.at(p.x, p.y) : p.r - d_.strip; };
    for (std::uint32_t i = cell_.level_count; i-- > 0;) {
      add_top(i, part);
      if (i == 0) {
        if (d_.undersides) add_underside(0, part, prepared);
        return;
      }
      const auto over = [&](const Corner3& p) { return plane(i - 1).at(p.x, p.y) - prepared(p); };
      const Polygon3 lower = part_above(part, over);
      if (d_.undersides) {
        if (lower.empty()) {
          add_underside(i, part, prepared);
        } else {
          add_underside(i, part_above(part, [&](const Corner3& p) { return -over(p); }), prepared);
        }
      }
      if (lower.empty()) return;
      add_underside(i, lower, [&](const Corner3& p) { return plane(i - 1).at(p.x, p.y); });
      part = lower;
    }
  }

  /// Where the finish meets ground, prepared ground lies lower by the strip or the pit: the layers end in a face.
  template <class OverGround>
  void draw_toe_wall(const Polygon3& footprint, const Polygon3& piece, const OverGround& over_ground) {
    if (std::all_of(piece.begin(), piece.end(), [&](const Corner3& p) { return over_ground(p) > 0; })) return;
    const Corner3 *from = nullptr, *to = nullptr;  // the cut runs from where the outline leaves to where it comes back
    std::size_t kept = 0;
    for (std::size_t i = 0; i < piece.size(); ++i) {
      const bool in_last = over_ground(piece[i == 0 ? piece.size() - 1 : i - 1]) > 0, in = over_ground(piece[i]) > 0;
      if (in_last != in) (in_last ? from : to) = &footprint[kept++];
      if (in) ++kept;
    }
    if (from == nullptr || to == nullptr) return;
    Wall wall(d_, out_, *from, *to);
    wall.draw(wall.side(&cell_, true), WallSide{});
  }

  /// Where the survey ends under the mound, the layers do too.
  void draw_survey_end(std::uint32_t t, const Polygon3& outline) {
    const auto& neighbours = d_.ground.tree.neighbours[t];
    const Polygon3 corners = d_.triangle(t);
    for (std::size_t i = 0; i < 3; ++i) {
      if (neighbours[i] >= 0) continue;
      const Corner3 &p = corners[i], &q = corners[(i + 1) % 3];
      double t0 = 0, t1 = 1;
      for (std::size_t j = 0; j < outline.size(); ++j) {
        const Corner3 &a = outline[j], &b = outline[j + 1 == outline.size() ? 0 : j + 1];
        if (is_nothing(b.x - a.x, b.y - a.y)) continue;
        const auto left = [&](const Corner3& c) { return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x); };
        const double at_p = left(p), at_q = left(q);
        if (at_p < 0 && at_q < 0) t1 = -1;
        if (at_p < 0 && at_q >= 0) t0 = std::max(t0, zero_share(at_p, at_q));
        if (at_p >= 0 && at_q < 0) t1 = std::min(t1, zero_share(at_p, at_q));
      }
      if (!(t1 > t0)) continue;
      const auto at = [&](double s) {
        return Corner3{p.x + (q.x - p.x) * s, p.y + (q.y - p.y) * s, p.r + (q.r - p.r) * s};
      };
      Wall wall(d_, out_, at(t0), at(t1));
      wall.draw(wall.side(&cell_, false), WallSide{});
    }
  }

  void add_top(std::uint32_t i, const Polygon3& polygon) {
    const Flat& top = plane(i);
    add_fan(
        layer(i).top, polygon, [&](const Corner3& p) { return top.at(p.x, p.y); }, false);
  }
  template <class Height>
  void add_underside(std::uint32_t i, const Polygon3& polygon, const Height& height) {
    if (d_.undersides && !polygon.empty()) add_fan(layer(i).underside, polygon, height, true);
  }
  template <class Height>
  void add_fan(std::vector<Point3>& into, const Polygon3& polygon, const Height& height, bool downward) {
    const auto point = [&](const Corner3& p) { return d_.point(p.x, p.y, height(p)); };
    const Point3 first = point(polygon[0]);
    Point3 last = point(polygon[1]);
    for (std::size_t i = 2; i < polygon.size(); ++i) {
      const Point3 next = point(polygon[i]);
      into.push_back(first);
      into.push_back(downward ? next : last);
      into.push_back(downward ? last : next);
      last = next;
    }
  }
};

// ---- steps along the ground -----------------------------------------------------------------------------------------

class StepDrawer {
 public:
  StepDrawer(const Drawing& drawing, Output& output) : d_(drawing), out_(output) {}

  void draw(const Point2& from, const Point2& to, const Cell& left, const Cell& right) {
    from_ = from, along_ = to - from;
    box_ = Box{};
    box_.add(from.x() + d_.origin.x(), from.y() + d_.origin.y());
    box_.add(to.x() + d_.origin.x(), to.y() + d_.origin.y());
    stretches_.clear();
    descend(root_of(d_.ground.tree));
    std::sort(stretches_.begin(), stretches_.end(), [](const Stretch& a, const Stretch& b) { return a.t0 < b.t0; });
    double done = 0;
    for (const Stretch& s : stretches_) {
      // Where the step runs along an edge of the TIN, the triangles on both its sides have it.
      const double t0 = std::max(s.t0, done);
      if (!(s.t1 > t0)) continue;
      Wall wall(d_, out_, at(t0, s), at(s.t1, s));
      wall.draw(wall.side(&left, false), wall.side(&right, false));
      done = s.t1;
    }
  }

 private:
  struct Stretch {
    double t0, t1, r0, r1;  // r at 0 and 1, of the triangle's plane
  };
  const Drawing& d_;
  Output& out_;
  Point2 from_, along_;
  Box box_;
  std::vector<Stretch> stretches_;

  Corner3 at(double t, const Stretch& s) const {
    const Point2 p = from_ + along_ * t;
    return {p.x(), p.y(), s.r0 + (s.r1 - s.r0) * t};
  }

  void descend(const TreeNode& node) {
    const TreeBox& b = d_.ground.tree.boxes[node.index];
    if (b.x1 < box_.x0 || b.x0 > box_.x1 || b.y1 < box_.y0 || b.y0 > box_.y1) return;
    const Point2 middle = Point2(b.center_x(), b.center_y()) - d_.origin - from_;
    const double aside = std::abs(along_.x() * middle.y() - along_.y() * middle.x());
    if (aside > std::abs(along_.x()) * b.half_y() + std::abs(along_.y()) * b.half_x()) return;
    if (!node.is_leaf()) {
      descend(node.first_child());
      descend(node.second_child());
      return;
    }
    const auto [first, last] = triangle_range(d_.ground.tree, node);
    for (std::uint32_t t = first; t < last; ++t) add(d_.triangle(t));
  }

  void add(const Polygon3& c) {
    double t0 = 0, t1 = 1;
    for (std::size_t i = 0; i < 3; ++i) {
      const Corner3 &a = c[i], &b = c[(i + 1) % 3];
      const double dx = b.x - a.x, dy = b.y - a.y;
      const double here = dx * (from_.y() - a.y) - dy * (from_.x() - a.x), rate = dx * along_.y() - dy * along_.x();
      if (here < 0 && here + rate < 0) return;
      if (rate > 0 && here < 0) t0 = std::max(t0, -here / rate);
      if (rate < 0 && here + rate < 0) t1 = std::min(t1, -here / rate);
    }
    if (!(t1 > t0)) return;
    const double ex = c[1].x - c[0].x, ey = c[1].y - c[0].y, fx = c[2].x - c[0].x, fy = c[2].y - c[0].y;
    const double over = ex * fy - ey * fx, ez = c[1].r - c[0].r, fz = c[2].r - c[0].r;
    if (!(over > 0)) return;
    const double gx = (ez * fy - fz * ey) / over, gy = (fz * ex - ez * fx) / over;
    const double r0 = c[0].r + gx * (from_.x() - c[0].x) + gy * (from_.y() - c[0].y);
    stretches_.push_back({t0, t1, r0, r0 + gx * along_.x() + gy * along_.y()});
  }
};

// ---- all of it ------------------------------------------------------------------------------------------------------

/// Cuts the plan into parts of cells, none so large that the threads would wait for one of them.
void cut_patches(const PlanCells<double>& cells, std::int32_t at, const Polygon3& outline, double largest,
                 std::vector<Patch>& patches) {
  if (outline.empty()) return;
  if (at >= 0) {
    const Flat& line = cells.nodes[static_cast<std::size_t>(at)].line;
    const auto side = [&](const Corner3& p) { return line.at(p.x, p.y); };
    cut_patches(cells, cells.nodes[static_cast<std::size_t>(at)].positive, part_above(outline, side), largest, patches);
    cut_patches(cells, cells.nodes[static_cast<std::size_t>(at)].negative,
                part_above(outline, [&](const Corner3& p) { return -side(p); }), largest, patches);
    return;
  }
  const auto cell = static_cast<std::uint32_t>(-1 - at);
  if (cells.cells[cell].level_count == 0) return;
  const Box box = box_of(outline);
  if (std::max(box.width(), box.height()) <= largest) {
    patches.push_back({cell, outline});
    return;
  }
  const bool wide = box.width() > box.height();
  const double middle = wide ? 0.5 * (box.x0 + box.x1) : 0.5 * (box.y0 + box.y1);
  const auto past = [&](const Corner3& p) { return (wide ? p.x : p.y) - middle; };
  cut_patches(cells, at, part_above(outline, past), largest, patches);
  cut_patches(cells, at, part_above(outline, [&](const Corner3& p) { return -past(p); }), largest, patches);
}

/// The plan that holds the whole mound, or what is kept of it.
Polygon3 region_of(const Buildup& buildup, const Point2& origin, const std::optional<PlanLine>& keep) {
  Box box;
  for (const Polygon2& loop : buildup.toe.outer) {
    for (const Point2& p : loop) box.add(p.x() - origin.x(), p.y() - origin.y());
  }
  constexpr double margin = 1e-3;
  Polygon3 region = {{box.x0 - margin, box.y0 - margin, 0},
                     {box.x1 + margin, box.y0 - margin, 0},
                     {box.x1 + margin, box.y1 + margin, 0},
                     {box.x0 - margin, box.y1 + margin, 0}};
  if (!keep) return region;
  return part_above(
      region, [&](const Corner3& p) { return keep->a * (p.x + origin.x()) + keep->b * (p.y + origin.y()) + keep->c; });
}

/// The part of a stretch inside a convex region, if any.
bool cut_to(const Polygon3& region, Point2& from, Point2& to) {
  double t0 = 0, t1 = 1;
  for (std::size_t i = 0; i < region.size(); ++i) {
    const Corner3 &a = region[i], &b = region[i + 1 == region.size() ? 0 : i + 1];
    const auto left = [&](const Point2& p) { return (b.x - a.x) * (p.y() - a.y) - (b.y - a.y) * (p.x() - a.x); };
    const double at_from = left(from), at_to = left(to);
    if (at_from < 0 && at_to < 0) return false;
    if (at_from < 0) t0 = std::max(t0, zero_share(at_from, at_to));
    if (at_to < 0) t1 = std::min(t1, zero_share(at_from, at_to));
  }
  const Point2 along = to - from;
  to = from + along * t1, from += along * t0;
  return t1 > t0;
}

void gather(DrawWork::Buffers& work, DrawSurfaces& result) {
  for (const Output& part : work.outputs) {
    for (std::size_t k = 0; k < result.layers.size(); ++k) {
      const auto append = [&](std::vector<Point3> LayerSurfaces::*which) {
        std::vector<Point3>& into = result.layers[k].*which;
        into.insert(into.end(), (part.layers[k].*which).begin(), (part.layers[k].*which).end());
      };
      append(&LayerSurfaces::top), append(&LayerSurfaces::underside), append(&LayerSurfaces::walls);
    }
  }
}

}  // namespace

void draw_surfaces(const PlacedMound& mound, const DrawOptions& options, DrawWork& draw_work, DrawSurfaces& result) {
  DrawWork::Buffers& work = draw_work.buffers();
  const std::size_t layer_count = mound.design().layers.size();
  result.layers.resize(layer_count);
  for (LayerSurfaces& layer : result.layers) layer.top.clear(), layer.underside.clear(), layer.walls.clear();
  if (mound.buildup.toe.outer.empty()) return;

  if (work.cells != mound.compiled->cells) {
    work.cells = mound.compiled->cells;
    work.steps = StepFinder(mound.cells(), plan_cells_detail::plan_half_size * mound.shape().reach).steps();
  }
  const auto spot = kernel_spot(mound, mound.buildup.bottom_elevation);
  const auto& placed = place(mound.cells(), spot, kernel_prepare(mound.design()), work.kernel);
  const Point2 origin(spot.x, spot.y);
  if (mound.buildup.specks > 0) work.toe.set(mound.buildup.toe, origin);
  const Drawing drawing{mound.ground,
                        placed,
                        mound.buildup.specks > 0 ? &work.toe : nullptr,
                        origin,
                        {spot.trend_a, spot.trend_b, mound.ground.trend.at(origin)},
                        mound.design().prepare.strip,
                        options.undersides && !options.outside_only,
                        options.outside_only,
                        options.outside_only ? options.coarse : 0};

  const Polygon3 region = region_of(mound.buildup, origin, options.keep);
  if (region.empty()) return;
  const Box box = box_of(region);
  work.patches.clear();
  cut_patches(placed, placed.root, region, std::max(box.width(), box.height()) / 6, work.patches);
  for (Output& output : work.outputs) output.reset(layer_count);
  const auto my_output = [&]() -> Output& {
    Output& output = work.outputs.local();
    if (output.layers.size() != layer_count) output.reset(layer_count);
    return output;
  };
  tbb::parallel_for(std::size_t{0}, work.patches.size() + work.steps.size(), [&](std::size_t i) {
    Output& output = my_output();
    if (i < work.patches.size()) {
      const Patch& patch = work.patches[i];
      PatchDrawer(drawing, output, placed.cells[patch.cell]).draw(patch.outline);
      return;
    }
    const StepEdge& step = work.steps[i - work.patches.size()];
    if (options.outside_only && !step.outside) return;
    const auto turned = [&](const Point2& p) -> Point2 {
      return {p.x() * spot.along_x - p.y() * spot.along_y, p.x() * spot.along_y + p.y() * spot.along_x};
    };
    Point2 from = turned(step.from), to = turned(step.to);
    if (!cut_to(region, from, to)) return;
    StepDrawer(drawing, output).draw(from, to, placed.cells[step.left], placed.cells[step.right]);
  });
  gather(work, result);
}

}  // namespace moundwright

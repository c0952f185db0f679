#include "geom/plan_cutter.h"

#include <algorithm>
#include <map>
#include <utility>

namespace moundwright {
namespace {

using PlaneD = PlaneOf<double>;

struct Halves {
  PlanOutline above, below;  // where the high sheet stands above the low one, and the rest
};

class Cutter {
 public:
  Cutter(const PlanCells<double>& cells, double strip, PlanCorners& corners)
      : cells_(cells), corners_(corners), ground_{nullptr, 0, 1}, stripped_{nullptr, strip, strip > 0 ? 2u : 1u} {
    for (const auto& node : cells.nodes) lines_.push_back(sheet_of(node.line));
    for (const auto& level : cells.levels) levels_.push_back(sheet_of(level.plane));
    for (const auto& cell : cells.cells) pits_.push_back(sheet_of(cell.pit));
  }

  void cut(const GroundTriangle& triangle) {
    triangle_ = triangle.number;
    cut_down(triangle.outline, cells_.root);
  }

  std::vector<PlanPiece> take() { return std::move(pieces_); }

 private:
  static constexpr PlaneD nothing{0, 0, 0};
  const PlanCells<double>& cells_;
  PlanCorners& corners_;
  const CutSheet level_{&nothing, 0, 0}, ground_, stripped_;
  std::map<std::array<double, 3>, std::uint32_t> numbers_{{{0, 0, 0}, 0}};  // of planes: neighbours have equal ones
  std::vector<CutSheet> lines_, levels_, pits_;                             // of each node, level and cell
  std::uint32_t triangle_ = 0;                                              // being cut
  std::vector<PlanPiece> pieces_;
  std::vector<CGAL::Sign> signs_;

  CutSheet sheet_of(const PlaneD& plane) {
    constexpr std::uint32_t after_the_ground = 2;
    const auto next = static_cast<std::uint32_t>(numbers_.size() + after_the_ground);
    return {&plane, 0, numbers_.try_emplace({plane.a, plane.b, plane.c}, next).first->second};
  }

  void cut_down(PlanOutline outline, std::int32_t at) {
    while (at >= 0) {
      const auto i = static_cast<std::size_t>(at);
      const PlanNode<double>& node = cells_.nodes[i];
      Halves halves = split(std::move(outline), {lines_[i], level_});
      if (!halves.above.empty() && !halves.below.empty()) cut_down(std::move(halves.below), node.negative);
      at = halves.above.empty() ? node.negative : node.positive;
      outline = std::move(halves.above.empty() ? halves.below : halves.above);
    }
    add_cell(std::move(outline), static_cast<std::size_t>(-1 - at));
  }

  const CutSheet& level_of(const PlanCell<double>& cell, std::uint32_t i) const {
    return levels_[cell.first_level + i];
  }

  /// Only the footprint: where the outermost level stands strictly above existing ground.
  void add_cell(PlanOutline outline, std::size_t number) {
    const PlanCell<double>& cell = cells_.cells[number];
    if (cell.level_count == 0) return;
    outline = split(std::move(outline), {level_of(cell, cell.level_count - 1), ground_}).above;
    if (outline.empty()) return;
    if (!cell.has_pit) return add_prepared(std::move(outline), cell, stripped_);
    Halves halves = split(std::move(outline), {stripped_, pits_[number]});
    if (!halves.above.empty()) add_prepared(std::move(halves.above), cell, pits_[number]);
    if (!halves.below.empty()) add_prepared(std::move(halves.below), cell, stripped_);
  }

  void add_prepared(PlanOutline outline, const PlanCell<double>& cell, const CutSheet& prepared) {
    const bool in_pit = prepared.plane != nullptr;
    std::uint32_t lowest = cell.level_count - 1;
    for (; lowest > 0; --lowest) {
      Halves halves = split(std::move(outline), {level_of(cell, lowest - 1), prepared});
      if (!halves.below.empty()) pieces_.push_back({std::move(halves.below), &cell, lowest, in_pit});
      if (halves.above.empty()) return;
      outline = std::move(halves.above);
    }
    pieces_.push_back({std::move(outline), &cell, lowest, in_pit});
  }

  Halves split(PlanOutline outline, const SheetCut& cut) {
    signs_.clear();
    for (const OutlineCorner& p : outline) signs_.push_back(corners_.sign_at(*p.corner, cut, triangle_));
    const auto has = [&](CGAL::Sign s) { return std::find(signs_.begin(), signs_.end(), s) != signs_.end(); };
    if (!has(CGAL::POSITIVE)) return {{}, std::move(outline)};
    if (!has(CGAL::NEGATIVE)) return {std::move(outline), {}};
    const std::uint32_t line = corners_.line_of(cut, triangle_);
    PlanCorner *down = nullptr, *up = nullptr;  // where the outline goes below, and comes above
    const auto meet = [&](PlanCorner& corner, bool goes_down) { (goes_down ? down : up) = &corner; };
    Halves halves;
    for (std::size_t i = 0; i < outline.size(); ++i) {
      const std::size_t j = (i + 1) % outline.size();
      const OutlineCorner& p = outline[i];
      if (signs_[i] != CGAL::NEGATIVE) halves.above.push_back(p);
      if (signs_[i] != CGAL::POSITIVE) halves.below.push_back(p);
      if (signs_[i] == CGAL::ZERO) meet(*p.corner, signs_[j] == CGAL::NEGATIVE);
      if (signs_[i] * signs_[j] != CGAL::NEGATIVE) continue;
      PlanCorner& corner = corners_.crossing(*p.side, cut, line);
      halves.above.push_back({&corner, p.side});
      halves.below.push_back({&corner, p.side});
      meet(corner, signs_[i] == CGAL::POSITIVE);
    }
    PlanSide& side = corners_.add_side(*down, *up, line);
    side_from(halves.above, *down).side = &side;
    side_from(halves.below, *up).side = &side;
    return halves;
  }

  static OutlineCorner& side_from(PlanOutline& outline, const PlanCorner& corner) {
    return *std::find_if(outline.begin(), outline.end(), [&](const OutlineCorner& p) { return p.corner == &corner; });
  }
};

}  // namespace

std::vector<GroundTriangle> ground_triangles(const Ground& ground, const std::vector<std::uint32_t>& numbers,
                                             const Point2& origin, PlanCorners& corners) {
  std::map<std::uint32_t, PlanCorner*> points;
  std::map<std::pair<std::uint32_t, std::uint32_t>, PlanSide*> sides;  // by their ends, ascending
  const auto corner_at = [&](std::uint32_t v) -> PlanCorner& {
    const auto [found, is_new] = points.try_emplace(v);
    const TinVertex<double>& p = ground.tree.vertices[v];
    if (is_new) found->second = &corners.add_ground_point({p.x, p.y}, origin, p.r);
    return *found->second;
  };
  std::vector<GroundTriangle> triangles;
  for (const std::uint32_t t : numbers) {
    const std::array<std::uint32_t, 3>& v = ground.tree.triangles[t];
    PlanOutline outline;
    for (std::size_t i = 0; i < 3; ++i) {
      const std::size_t j = (i + 1) % 3;
      PlanCorner &p = corner_at(v[i]), &q = corner_at(v[j]);
      const auto [found, is_new] = sides.try_emplace(std::minmax(v[i], v[j]));
      if (is_new) found->second = &corners.add_side(p, q, corners.new_line());
      outline.push_back({&p, found->second});
    }
    triangles.push_back({t, std::move(outline), v});
  }
  return triangles;
}

std::vector<PlanPiece> cut_footprint(const std::vector<GroundTriangle>& triangles, const PlanCells<double>& cells,
                                     double strip, PlanCorners& corners) {
  Cutter cutter(cells, strip, corners);
  for (const GroundTriangle& triangle : triangles) cutter.cut(triangle);
  return cutter.take();
}

}  // namespace moundwright

// Corners of the plan mesh, each known by how it was made: a point of the ground, where a side crosses a cut, or part
// of the way between two others. All that is decided about them is decided exactly.
//
//   PlanCorners corners;
//   PlanCorner& p = corners.add_ground_point(at, origin, r);
//   PlanSide& side = corners.add_side(p, q, corners.new_line());
//   PlanCorner& x = corners.crossing(side, cut, corners.line_of(cut, triangle));
//   orientation(p, q, x)                    // collinear: they share the side's line
//
// Rationals are dear, so they are worked out only where nothing cheaper will do. Every corner has an interval that
// holds its exact place, and the numbers of the straight lines it lies on by its making. Three corners with a line in
// common are collinear and a corner on the line of a cut is neither above nor below, without arithmetic; those are the
// cases that intervals never settle. What is left is decided on intervals, and on rationals where these do not tell.
//
// Lines are claimed, never found: corners may lie on one line without sharing its number.
#pragma once

#include <CGAL/Interval_nt.h>
#include <CGAL/gmpxx.h>

#include <array>
#include <cstdint>
#include <deque>
#include <map>
#include <memory>
#include <optional>
#include <tuple>
#include <variant>
#include <vector>

#include "geom/bounded_float.h"
#include "geom/ground.h"
#include "geom/plan_cells.h"

namespace moundwright {

using Interval = CGAL::Interval_nt<false>;
using Rational = mpq_class;

/// About the mound's origin, plan axes; r is the ground's residual elevation.
template <class T>
struct CornerPlace {
  T x, y, r;
};

/// A plane, or the ground less so much.
struct CutSheet {
  const PlaneOf<double>* plane;  // null: the ground
  double below_ground;
  std::uint32_t number;  // the same number is the same sheet

  template <class T>
  T at(const CornerPlace<T>& p) const {
    if (plane == nullptr) return p.r - T(below_ground);
    return T(plane->a) * p.x + T(plane->b) * p.y + T(plane->c);
  }
};

/// Parts the plan in where one sheet stands above another, and the rest. On one triangle of ground the two meet along a
/// straight line, or they are the same all over.
struct SheetCut {
  CutSheet high, low;

  bool hangs_on_ground() const { return (high.plane == nullptr) != (low.plane == nullptr); }
  template <class T>
  T value(const CornerPlace<T>& p) const {
    return high.at(p) - low.at(p);
  }
};

class PlanCorner;

/// A straight stretch that corners are made on: a side of a ground triangle, or where a piece was cut.
struct PlanSide {
  struct Crossing {
    std::uint32_t high, low;  // sheets
    PlanCorner* corner;
  };
  const PlanCorner *from, *to;
  std::uint32_t line;
  std::vector<Crossing> crossings;  // made so far
};

class PlanCorner {
 public:
  struct GroundPoint {
    Point2 at, origin;  // reduced
    double r;
  };
  struct Crossing {
    const PlanCorner *from, *to;
    SheetCut cut;
  };
  struct PartWay {
    const PlanCorner *from, *to;
    double part;
  };
  using Making = std::variant<GroundPoint, Crossing, PartWay>;

  PlanCorner(std::size_t number, const Making& making);

  std::size_t number() const { return number_; }  // in the order they were made
  const CornerPlace<Interval>& around() const { return around_; }
  const CornerPlace<Rational>& exact() const;
  const CornerPlace<BoundedFloat>& fine() const;

  /// Within 1e-13 job units of the exact place (or the nearest float, where those lie wider apart).
  CornerPlace<double> rounded() const;

  const std::vector<std::uint32_t>& lines() const { return lines_; }  // ascending
  bool is_on(std::uint32_t line) const;
  void put_on(std::uint32_t line);

 private:
  std::size_t number_;
  Making making_;
  CornerPlace<Interval> around_{};
  mutable std::unique_ptr<const CornerPlace<Rational>> exact_;
  mutable std::optional<const CornerPlace<BoundedFloat>> fine_;
  std::vector<std::uint32_t> lines_;
};

/// Makes all corners of one mesh, and keeps them where they are.
class PlanCorners {
 public:
  PlanCorner& add_ground_point(const Point2& at, const Point2& origin, double r);
  PlanSide& add_side(PlanCorner& from, PlanCorner& to, std::uint32_t line);

  std::uint32_t new_line() { return line_count_++; }
  /// Where the two sheets meet. `triangle` counts if one of them is the ground.
  std::uint32_t line_of(const SheetCut& cut, std::uint32_t triangle);
  /// Of the cut's value there; the corner must be on that triangle.
  CGAL::Sign sign_at(const PlanCorner& p, const SheetCut& cut, std::uint32_t triangle);

  /// The ends must lie on both sides of the cut. Neighbours that share the side get the same corner.
  PlanCorner& crossing(PlanSide& side, const SheetCut& cut, std::uint32_t line);
  /// `part` of the way.
  PlanCorner& part_way(const PlanCorner& from, const PlanCorner& to, double part);

  const std::deque<PlanCorner>& all() const { return corners_; }

 private:
  std::deque<PlanCorner> corners_;
  std::deque<PlanSide> sides_;
  std::uint32_t line_count_ = 0;
  std::map<std::tuple<std::uint32_t, std::uint32_t, std::uint32_t>, std::uint32_t> cut_lines_;

  PlanCorner& add(const PlanCorner::Making& making) { return corners_.emplace_back(corners_.size(), making); }
};

bool share_a_line(const PlanCorner& p, const PlanCorner& q, const PlanCorner& r);
CGAL::Orientation orientation(const PlanCorner& p, const PlanCorner& q, const PlanCorner& r);
CGAL::Comparison_result compare_x(const PlanCorner& p, const PlanCorner& q);
CGAL::Comparison_result compare_y(const PlanCorner& p, const PlanCorner& q);

}  // namespace moundwright

#include "geom/plan_corners.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <type_traits>

namespace moundwright {
namespace {

using CGAL::Sign;
using Guard = CGAL::Protect_FPU_rounding<true>;  // intervals are right only while one lives

template <class T>
const CornerPlace<T>& place_of(const PlanCorner& p) {
  if constexpr (std::is_same_v<T, Interval>) {
    return p.around();
  } else if constexpr (std::is_same_v<T, BoundedFloat>) {
    return p.fine();
  } else {
    return p.exact();
  }
}

template <class T>
CornerPlace<T> part_of_way(const CornerPlace<T>& p, const CornerPlace<T>& q, const T& part) {
  return {T(p.x + (q.x - p.x) * part), T(p.y + (q.y - p.y) * part), T(p.r + (q.r - p.r) * part)};
}

template <class T>
struct Make {
  CornerPlace<T> operator()(const PlanCorner::GroundPoint& from) const {
    return {T(T(from.at.x()) - T(from.origin.x())), T(T(from.at.y()) - T(from.origin.y())), T(from.r)};
  }
  CornerPlace<T> operator()(const PlanCorner::Crossing& from) const {
    const CornerPlace<T>&p = place_of<T>(*from.from), &q = place_of<T>(*from.to);
    const T value_p = from.cut.value(p), value_q = from.cut.value(q);
    return part_of_way<T>(p, q, zero_share<T>(value_p, value_q));
  }
  CornerPlace<T> operator()(const PlanCorner::PartWay& from) const {
    return part_of_way<T>(place_of<T>(*from.from), place_of<T>(*from.to), T(from.part));
  }
};

bool is_narrow(const Interval& value) {
  constexpr double narrow = 2e-13;  // job units
  const double width = value.sup() - value.inf(), magnitude = std::max(-value.inf(), value.sup());
  // Without bounds, it is no wider than a part of its own magnitude.
  return std::isfinite(width) && width <= std::max(narrow, 2 * std::numeric_limits<double>::epsilon() * magnitude);
}

Interval around(const BoundedFloat& value) {
  const double middle = value.rounded(), off = value.off() + 0x1p-51 * std::abs(middle);
  return {middle - off, middle + off};
}

Interval around(const Rational& value) {
  const auto [low, high] = CGAL::to_interval(value);
  return {low, high};
}

bool is_narrow(const CornerPlace<Interval>& place) {
  return is_narrow(place.x) && is_narrow(place.y) && is_narrow(place.r);
}

template <class T>
CornerPlace<Interval> around(const CornerPlace<T>& place) {
  return {around(place.x), around(place.y), around(place.r)};
}

/// Of f(p, q, ...), a sign, if the intervals tell.
template <class F, class... Corners>
CGAL::Uncertain<Sign> sign_around(const F& f, const Corners&... corners) {
  const Guard guard;
  return CGAL::sign(f(corners.around()...));
}

template <class F, class... Corners>
Sign sign_beyond_intervals(const F& f, const Corners&... corners) {
  const int sure = f(corners.fine()...).sure_sign();
  return sure != 0 ? CGAL::enum_cast<Sign>(sure) : CGAL::sign(f(corners.exact()...));
}

template <class F, class... Corners>
Sign sign_of(const F& f, const Corners&... corners) {
  const CGAL::Uncertain<Sign> sign = sign_around(f, corners...);
  return sign.is_certain() ? sign.make_certain() : sign_beyond_intervals(f, corners...);
}

}  // namespace

PlanCorner::PlanCorner(std::size_t number, const Making& making) : number_(number), making_(making) {
  {
    const Guard guard;
    around_ = std::visit(Make<Interval>{}, making_);
  }
  if (is_narrow(around_)) return;
  // So that the middle will do for all that is rounded, and no interval is without bounds.
  const CornerPlace<Interval> closer = moundwright::around(fine());
  around_ = is_narrow(closer) ? closer : moundwright::around(exact());
}

const CornerPlace<BoundedFloat>& PlanCorner::fine() const {
  if (!fine_) fine_.emplace(std::visit(Make<BoundedFloat>{}, making_));
  return *fine_;
}

const CornerPlace<Rational>& PlanCorner::exact() const {
  if (!exact_) exact_ = std::make_unique<const CornerPlace<Rational>>(std::visit(Make<Rational>{}, making_));
  return *exact_;
}

CornerPlace<double> PlanCorner::rounded() const {
  const auto middle = [](const Interval& value) { return 0.5 * (value.inf() + value.sup()); };
  return {middle(around_.x), middle(around_.y), middle(around_.r)};
}

bool PlanCorner::is_on(std::uint32_t line) const { return std::binary_search(lines_.begin(), lines_.end(), line); }

void PlanCorner::put_on(std::uint32_t line) {
  const auto at = std::lower_bound(lines_.begin(), lines_.end(), line);
  if (at == lines_.end() || *at != line) lines_.insert(at, line);
}

PlanCorner& PlanCorners::add_ground_point(const Point2& at, const Point2& origin, double r) {
  return add(PlanCorner::GroundPoint{at, origin, r});
}

PlanSide& PlanCorners::add_side(PlanCorner& from, PlanCorner& to, std::uint32_t line) {
  from.put_on(line);
  to.put_on(line);
  return sides_.emplace_back(PlanSide{&from, &to, line, {}});
}

std::uint32_t PlanCorners::line_of(const SheetCut& cut, std::uint32_t triangle) {
  constexpr std::uint32_t any_triangle = ~std::uint32_t{0};
  const auto [found, is_new] =
      cut_lines_.try_emplace({cut.high.number, cut.low.number, cut.hangs_on_ground() ? triangle : any_triangle});
  if (is_new) found->second = new_line();
  return found->second;
}

CGAL::Sign PlanCorners::sign_at(const PlanCorner& p, const SheetCut& cut, std::uint32_t triangle) {
  const auto value = [&](const auto& place) { return cut.value(place); };
  const CGAL::Uncertain<Sign> sign = sign_around(value, p);
  if (sign.is_certain()) return sign.make_certain();
  return p.is_on(line_of(cut, triangle)) ? CGAL::ZERO : sign_beyond_intervals(value, p);
}

PlanCorner& PlanCorners::crossing(PlanSide& side, const SheetCut& cut, std::uint32_t line) {
  const auto known = std::find_if(side.crossings.begin(), side.crossings.end(), [&](const PlanSide::Crossing& one) {
    return one.high == cut.high.number && one.low == cut.low.number;
  });
  if (known != side.crossings.end()) {
    known->corner->put_on(line);
    return *known->corner;
  }
  PlanCorner& corner = add(PlanCorner::Crossing{side.from, side.to, cut});
  corner.put_on(side.line);
  corner.put_on(line);
  side.crossings.push_back({cut.high.number, cut.low.number, &corner});
  return corner;
}

PlanCorner& PlanCorners::part_way(const PlanCorner& from, const PlanCorner& to, double part) {
  PlanCorner& corner = add(PlanCorner::PartWay{&from, &to, part});
  for (const std::uint32_t line : from.lines()) {
    if (to.is_on(line)) corner.put_on(line);
  }
  return corner;
}

bool share_a_line(const PlanCorner& p, const PlanCorner& q, const PlanCorner& r) {
  return std::any_of(p.lines().begin(), p.lines().end(),
                     [&](std::uint32_t line) { return q.is_on(line) && r.is_on(line); });
}

CGAL::Orientation orientation(const PlanCorner& p, const PlanCorner& q, const PlanCorner& r) {
  const auto turn = []<class T>(const CornerPlace<T>& a, const CornerPlace<T>& b, const CornerPlace<T>& c) {
    return T((b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y));
  };
  const CGAL::Uncertain<Sign> sign = sign_around(turn, p, q, r);
  if (sign.is_certain()) return sign.make_certain();
  return share_a_line(p, q, r) ? CGAL::COLLINEAR : sign_beyond_intervals(turn, p, q, r);
}

CGAL::Comparison_result compare_x(const PlanCorner& p, const PlanCorner& q) {
  if (&p == &q) return CGAL::EQUAL;
  return sign_of([]<class T>(const CornerPlace<T>& a, const CornerPlace<T>& b) { return T(a.x - b.x); }, p, q);
}

CGAL::Comparison_result compare_y(const PlanCorner& p, const PlanCorner& q) {
  if (&p == &q) return CGAL::EQUAL;
  return sign_of([]<class T>(const CornerPlace<T>& a, const CornerPlace<T>& b) { return T(a.y - b.y); }, p, q);
}

}  // namespace moundwright

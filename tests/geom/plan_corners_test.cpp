// Whatever is decided about corners without arithmetic, or on floats, is what rationals say.
#include "geom/plan_corners.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <memory>
#include <vector>

#include "geom/kernel_input.h"
#include "geom/plan_cutter.h"
#include "tests/support/random_mounds.h"

namespace moundwright {
namespace {

struct CutMound {
  PlanCells<double> cells;
  PlanCorners corners;
  std::vector<PlanPiece> pieces;
};

std::unique_ptr<CutMound> cut_mound(const Ground& ground, const MoundDesign& design) {
  const MoundPlace place = place_as_drawn(ground, design);
  auto cut = std::make_unique<CutMound>();
  cut->cells = placed_cells(place, *design.bottom_elevation);
  std::vector<std::uint32_t> all(ground.triangle_count());
  for (std::uint32_t t = 0; t < all.size(); ++t) all[t] = t;
  const auto triangles = ground_triangles(ground, all, ground.to_local(place.frame().origin), cut->corners);
  cut->pieces = cut_footprint(triangles, cut->cells, design.prepare.strip, cut->corners);
  return cut;
}

/// Bent, crowned, round-cornered, pitted, on rough ground; `f` gets each one's corners and pieces.
template <class F>
void for_each_random_mound(int count, const F& f) {
  Dice dice{std::mt19937(21)};
  for (unsigned i = 0; count > 0; ++i) {
    ASSERT_LT(i, 3000u);
    const MoundDesign design = random_design(dice);
    if (check_design(design).has_errors()) continue;
    --count;
    SCOPED_TRACE(i);
    f(*cut_mound(make_ground(rough_shots(25, 60, 0.6, i)), design));
  }
}

int exact_turn(const PlanCorner& p, const PlanCorner& q, const PlanCorner& r) {
  const auto &a = p.exact(), &b = q.exact(), &c = r.exact();
  return sgn(Rational((b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y)));
}

TEST(PlanCorners, LieExactlyOnTheLinesTheyClaim) {
  std::size_t claims = 0, most = 0;
  for_each_random_mound(60, [&](const CutMound& cut) {
    std::map<std::uint32_t, std::vector<const PlanCorner*>> on;
    for (const PlanCorner& p : cut.corners.all()) {
      for (const std::uint32_t line : p.lines()) on[line].push_back(&p);
    }
    for (const auto& [line, corners] : on) {
      // Two that are surely not at one place, and the rest on the line through them.
      const PlanCorner& first = *corners.front();
      const auto last = std::find_if(corners.begin(), corners.end(), [&](const PlanCorner* p) {
        return p->exact().x != first.exact().x || p->exact().y != first.exact().y;
      });
      if (last == corners.end()) continue;
      for (const PlanCorner* p : corners) ASSERT_EQ(exact_turn(first, **last, *p), 0) << line;
      claims += corners.size() - 2;
      most = std::max(most, corners.size());
    }
  });
  EXPECT_GT(claims, 5000u);
  EXPECT_GT(most, 20u);  // a line of the plan runs across many triangles
}

TEST(PlanCorners, TurnAndComeAsRationalsSay) {
  std::array<std::size_t, 3> turns{};
  for_each_random_mound(25, [&](const CutMound& cut) {
    for (const PlanPiece& piece : cut.pieces) {
      for (std::size_t i = 0; i < piece.outline.size(); ++i) {
        const auto at = [&](std::size_t k) -> const PlanCorner& {
          return *piece.outline[k % piece.outline.size()].corner;
        };
        EXPECT_EQ(orientation(at(i), at(i + 1), at(i + 2)), CGAL::LEFT_TURN);  // convex, and no corner on a side
      }
    }
    std::vector<const PlanCorner*> by_x;
    for (const PlanCorner& p : cut.corners.all()) by_x.push_back(&p);
    std::sort(by_x.begin(), by_x.end(),
              [](const PlanCorner* p, const PlanCorner* q) { return compare_x(*p, *q) == CGAL::SMALLER; });
    for (std::size_t i = 0; i + 2 < by_x.size(); ++i) {  // neighbours by x: some at one place, or a rounding apart
      const PlanCorner &p = *by_x[i], &q = *by_x[i + 1], &r = *by_x[i + 2];
      ASSERT_LE(p.exact().x, q.exact().x);
      ASSERT_EQ(compare_y(p, q), sgn(Rational(p.exact().y - q.exact().y)));
      const int turn = exact_turn(p, q, r);
      ASSERT_EQ(orientation(p, q, r), turn);
      ++turns[turn < 0 ? 0 : turn > 0 ? 2 : 1];
    }
  });
  for (const std::size_t count : turns) EXPECT_GT(count, 500u);
}

void expect_held(const Interval& held, double value, const Rational& place) {
  ASSERT_TRUE(std::isfinite(held.inf()) && std::isfinite(held.sup()));
  ASSERT_TRUE(Rational(held.inf()) <= place && place <= Rational(held.sup()));
  ASSERT_LE(Rational(abs(Rational(value) - place)), Rational(1.01e-13));
}

void expect_held_and_rounded_well(const PlanCorner& p) {
  const CornerPlace<Interval> around = p.around();
  const CornerPlace<double> rounded = p.rounded();
  const CornerPlace<Rational>& exact = p.exact();
  expect_held(around.x, rounded.x, exact.x);
  expect_held(around.y, rounded.y, exact.y);
  expect_held(around.r, rounded.r, exact.r);
}

TEST(PlanCorners, AreHeldByTheirIntervalsAndRoundedWell) {
  for_each_random_mound(25, [&](const CutMound& cut) {
    for (const PlanCorner& p : cut.corners.all()) {
      expect_held_and_rounded_well(p);
      const CornerPlace<BoundedFloat>& fine = p.fine();
      ASSERT_LT(std::max({fine.x.off(), fine.y.off(), fine.r.off()}), 1e-30);  // so that rationals are seldom asked
    }
  });
}

/// Ends a few floats apart, where intervals cannot tell that the cut lies between them: dividing by what the cut rises
/// from one to the other, they say nothing at all.
TEST(PlanCorners, AreHeldWhereACutPassesBetweenTheClosestOfPlaces) {
  constexpr double grain = 0x1p-48;  // between floats from 16 to 32
  constexpr PlaneOf<double> level{0, 0, 0};
  Dice dice{std::mt19937(22)};
  std::size_t made = 0;
  for (int i = 0; i < 400; ++i) {
    const Point2 at(dice.from(17, 31), dice.from(17, 31)), next = at + grain * Point2(dice.from(-4, 4), 3);
    PlaneOf<double> slope{dice.from(-1, 1), dice.from(-1, 1), 0};
    slope.c = -(slope.a * at.x() + slope.b * at.y());
    const SheetCut cut{{&slope, 0, 7}, {&level, 0, 8}};
    PlanCorners corners;
    PlanCorner &p = corners.add_ground_point(at, {0, 0}, 5), &q = corners.add_ground_point(next, {0, 0}, 6);
    if (sgn(cut.value(p.exact())) * sgn(cut.value(q.exact())) >= 0) continue;
    ++made;
    PlanSide& side = corners.add_side(p, q, corners.new_line());
    expect_held_and_rounded_well(corners.crossing(side, cut, corners.line_of(cut, 0)));
  }
  EXPECT_GT(made, 50u);
}

/// A cut's sign at a corner made on it is known, and both triangles at a side have the same corner there.
TEST(PlanCorners, OnACutAreOnItFromBothTriangles) {
  constexpr PlaneOf<double> slope{0.3, -0.7, 0.1};
  const SheetCut cut{{&slope, 0, 7}, {nullptr, 0, 1}};
  PlanCorners corners;
  PlanCorner &p = corners.add_ground_point({0.1, 0.2}, {7, 9}, 0),
             &q = corners.add_ground_point({30.7, 0.3}, {7, 9}, 1);
  PlanSide& side = corners.add_side(p, q, corners.new_line());
  PlanCorner& from_one = corners.crossing(side, cut, corners.line_of(cut, 3));
  PlanCorner& from_other = corners.crossing(side, cut, corners.line_of(cut, 4));
  EXPECT_EQ(&from_one, &from_other);
  EXPECT_EQ(from_one.lines().size(), 3u);
  for (const std::uint32_t triangle : {3u, 4u}) EXPECT_EQ(corners.sign_at(from_one, cut, triangle), CGAL::ZERO);
  EXPECT_EQ(cut.value(from_one.exact()), 0);
  EXPECT_TRUE(share_a_line(p, q, from_one));
  const PlanCorner& between = corners.part_way(from_one, q, 0.3);
  EXPECT_TRUE(share_a_line(p, from_one, between));
  EXPECT_EQ(exact_turn(p, from_one, between), 0);
  EXPECT_EQ(corners.part_way(p, corners.add_ground_point({3, 4}, {7, 9}, 0), 0.5).lines().size(), 0u);
}

/// Ground that is the finish: the two meet all over, and that is no line.
TEST(PlanCorners, ClaimNoLineWhereTwoSheetsAreOne) {
  MoundDesign design;
  design.bed.width = 8;
  design.bed.line = {{-15, 0}, {15, 0}};
  design.downslope = 180;
  design.bottom_elevation = 100;
  design.layers = {plain_layer("core", 0, 0, 0)};  // its top is the ground
  const auto cut = cut_mound(make_ground({shot_at(-40, -40, 100), shot_at(40, -40, 100), shot_at(0, 50, 100)}), design);
  EXPECT_TRUE(cut->pieces.empty());
  for (const PlanCorner& p : cut->corners.all()) EXPECT_LE(p.lines().size(), 2u);
}

}  // namespace
}  // namespace moundwright

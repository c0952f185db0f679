// The kernel on double against its twin on exact rationals, and the twin against the rule taken literally, on random
// grounds and mounds: straight and bent beds, square and round corners, crowns, strip, pits, surveys that end under the
// berm; short pieces under long berms, whose bisectors cross inside the mound and the pit.
//
// MOUNDWRIGHT_TWIN_CASES sets another number of cases, for sanitizer runs.
#include <CGAL/Gmpq.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <numeric>
#include <random>

#include "geom/buildup.h"
#include "geom/literal_rule.h"
#include "geom/plan.h"
#include "geom/takeoff.h"
#include "tests/support/random_mounds.h"

namespace moundwright {
namespace {

using Exact = CGAL::Gmpq;

int case_count() {
  const char* given = std::getenv("MOUNDWRIGHT_TWIN_CASES");
  return given != nullptr ? std::atoi(given) : 1000;
}

struct TwinDice {
  std::mt19937_64 generator;
  double between(double low, double high) { return std::uniform_real_distribution<double>(low, high)(generator); }
  bool one_in(int n) { return std::uniform_int_distribution<int>(1, n)(generator) == 1; }
};

Ground random_ground(TwinDice& dice) {
  std::vector<Shot> shots;
  const int n = 60 + static_cast<int>(dice.between(0, 60));
  const double fall = dice.between(0.02, 0.12), turn = dice.between(-0.03, 0.03), noise = dice.between(0, 0.6);
  const bool ends_under_berm = dice.one_in(5);
  const double south = ends_under_berm ? dice.between(85, 105) : 0,
               north = ends_under_berm ? dice.between(130, 170) : 240;
  for (int i = 0; i < n; ++i) {
    Shot shot;
    shot.easting = dice.between(0, 240), shot.northing = dice.between(south, north);
    shot.elevation = 100 + fall * shot.northing + turn * shot.easting + dice.between(-noise, noise);
    shots.push_back(shot);
  }
  return make_ground(shots);
}

ByFace random_faces(TwinDice& dice, double low, double high) {
  return {dice.between(low, high), dice.between(low, high), dice.between(low, high), dice.between(low, high)};
}

MoundDesign usual_design(TwinDice& dice) {
  MoundDesign design;
  const Eigen::Vector2d at(120 + dice.between(-10, 10), 120 + dice.between(-10, 10));
  design.bed = straight_bed(at, 90 + dice.between(-20, 20), dice.between(30, 50), dice.between(6, 12));
  if (dice.one_in(3)) {  // bent, or L-shaped
    const Eigen::Vector2d middle =
        at + Eigen::Vector2d(dice.between(-3, 3), dice.between(5, 12) * (dice.one_in(2) ? 1 : -1));
    design.bed.line = {design.bed.line[0], middle, design.bed.line[1]};
    if (dice.one_in(3)) design.bed.line.emplace_back(design.bed.line[2] + Eigen::Vector2d(dice.between(-5, 5), -25));
  }
  design.downslope = 180;
  design.least_sand = dice.between(0.5, 2);
  if (dice.one_in(3)) design.prepare.strip = dice.between(0.2, 0.8);
  design.layers.push_back({"core", "sand", 0, 0, random_faces(dice, 0.5, 2), ByFace::all(0), false});
  design.layers.push_back({"stone", "stone", dice.between(0.5, 1), 0, ByFace::all(0), ByFace::all(0), false});
  design.layers.push_back({"shell", "sand", design.layers[1].top, 0, random_faces(dice, 2, 4),
                           dice.one_in(2) ? ByFace::all(0) : random_faces(dice, 0.3, 1.5), false});
  design.layers.push_back({"cover", "loam", 1.5, dice.one_in(2) ? dice.between(0.2, 0.8) : 0.0,
                           random_faces(dice, 2, 4), random_faces(dice, 2, 4), dice.one_in(2)});
  if (dice.one_in(2)) {
    design.layers.push_back({"topsoil", "topsoil", 1.8, design.layers.back().crown, ByFace::all(3.5),
                             dice.one_in(8) ? ByFace::all(0) : ByFace::all(3.2), dice.one_in(2)});
  }
  return design;
}

void maybe_add_pit(TwinDice& dice, MoundDesign& design) {
  if (!dice.one_in(3)) return;
  design.prepare.undercut =
      Undercut{0, random_faces(dice, 0, 1.5), dice.one_in(3) ? ByFace::all(0) : random_faces(dice, 0.5, 1.5)};
}

struct ExactCase {
  TinTree<Exact> tree;
  KernelSpot<Exact> spot;
  KernelPrepare<Exact> prepare;
};

/// The same numbers, exactly: what double rounded is taken as given.
ExactCase exact_case(const MoundPlace& place, double bottom) {
  const Ground& ground = place.ground;
  ExactCase c;
  c.tree.triangles = ground.tree.triangles;
  c.tree.neighbours = ground.tree.neighbours;
  const Plane& t = ground.trend;
  for (const auto& v : ground.tree.vertices) c.tree.vertices.push_back({Exact(v.x), Exact(v.y), Exact(v.r)});
  build_boxes(c.tree, ground.tree.vertices);
  const Point2 origin = ground.to_local(place.frame().origin);
  c.spot = {Exact(origin.x()),
            Exact(origin.y()),
            Exact(place.frame().along.x()),
            Exact(place.frame().along.y()),
            Exact(bottom),
            Exact(t.a),
            Exact(t.b),
            Exact(t.c)};
  c.prepare.strip = Exact(place.design().prepare.strip);
  if (place.design().prepare.undercut) c.prepare.pit_bottom = Exact(place.design().prepare.undercut->elevation);
  return c;
}

// ---- the rule taken literally ----

/// A stretch of a bit's outline, and the bit it belongs to.
struct Side {
  PlanPoint<Exact> from, to;
  PlanBox box;
  std::size_t bit;
};

std::vector<Side> sides_of(const std::vector<LiteralBit<Exact>>& bits) {
  std::vector<Side> sides;
  for (std::size_t b = 0; b < bits.size(); ++b) {
    const auto& outline = bits[b].outline;
    for (std::size_t i = 0; i < outline.size(); ++i) {
      const PlanPoint<Exact>&p = outline[i], &q = outline[(i + 1) % outline.size()];
      sides.push_back({p, q, box_round(std::vector<PlanPoint<Exact>>{p, q}), b});
    }
  }
  return sides;
}

double rough_cross(const Side& s, const PlanPoint<Exact>& p) {
  const double x = s.from.x.to_double(), y = s.from.y.to_double();
  return (s.to.x.to_double() - x) * (p.y.to_double() - y) - (s.to.y.to_double() - y) * (p.x.to_double() - x);
}

bool is_on_line(const Side& s, const PlanPoint<Exact>& p) {
  if (std::abs(rough_cross(s, p)) > 1e-6) return false;  // rounding is far less
  return (s.to.x - s.from.x) * (p.y - s.from.y) == (s.to.y - s.from.y) * (p.x - s.from.x);
}

/// True if the two have more than a point in common.
bool overlap(const Side& s, const Side& t) {
  if (!s.box.meets(t.box) || !is_on_line(s, t.from) || !is_on_line(s, t.to)) return false;
  const Exact dx = s.to.x - s.from.x, dy = s.to.y - s.from.y;
  const auto along = [&](const PlanPoint<Exact>& p) -> Exact { return (p.x - s.from.x) * dx + (p.y - s.from.y) * dy; };
  const Exact length = along(s.to), p = along(t.from), q = along(t.to);
  return std::max(p, q) > Exact(0) && std::min(p, q) < length && p != q;
}

/// For each bit the first bit of the part of the footprint it hangs together with.
std::vector<std::size_t> parts_of(const std::vector<LiteralBit<Exact>>& bits) {
  std::vector<std::size_t> part(bits.size());
  std::iota(part.begin(), part.end(), std::size_t{0});
  const auto root = [&](std::size_t b) {
    while (part[b] != b) b = part[b] = part[part[b]];
    return b;
  };
  const std::vector<Side> sides = sides_of(bits);
  for (std::size_t i = 0; i < sides.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const std::size_t a = root(sides[i].bit), b = root(sides[j].bit);
      if (a != b && overlap(sides[i], sides[j])) part[std::max(a, b)] = std::min(a, b);
    }
  }
  for (std::size_t b = 0; b < part.size(); ++b) part[b] = root(b);
  return part;
}

bool meets_bed(const LiteralBit<Exact>& bit, const PlacedShape<Exact>& shape) {
  for (const PlacedPiece<Exact>& piece : shape.bed) {
    auto inside = bit.outline;
    for (const PlaneOf<Exact>& line : piece.inside) inside = literal_detail::where_positive(inside, line);
    if (literal_detail::area_of(inside) > Exact(0)) return true;
  }
  return false;
}

struct Literal {
  LiteralSums<Exact> sums;
  Exact specks_area{0};
};

/// The parts of the footprint that meet the bed, found without the kernel; of several parts none of which does, nothing
/// is asked here.
Literal literally(const ExactCase& c, const MoundShape& shape) {
  const PlacedShape<Exact> placed = place_shape(shape, c.spot, c.prepare);
  std::vector<LiteralBit<Exact>> bits;
  for (const auto& triangle : c.tree.triangles) {
    TinVertex<Exact> corner[3];
    for (std::size_t i = 0; i < 3; ++i) {
      const auto& v = c.tree.vertices[triangle[i]];
      corner[i] = {v.x - c.spot.x, v.y - c.spot.y, v.r};
    }
    for (auto& bit : literal_bits(corner, placed, c.prepare.strip)) bits.push_back(std::move(bit));
  }
  const std::vector<std::size_t> part = parts_of(bits);
  std::vector<bool> counts(bits.size(), false);
  for (std::size_t b = 0; b < bits.size(); ++b) counts[part[b]] = counts[part[b]] || meets_bed(bits[b], placed);
  Literal literal;
  for (std::size_t b = 0; b < bits.size(); ++b) {
    if (counts[part[b]]) {
      add(literal.sums, literal_sums(bits[b], placed));
    } else {
      literal.specks_area += literal_detail::area_of(bits[b].outline);
    }
  }
  return literal;
}

/// Equal to the last digit; thousands of digits are kept out of the message.
void expect_same(const Exact& a, const Exact& b, const std::string& what) {
  EXPECT_TRUE(a == b) << what << ": " << a.to_double() << " and " << b.to_double() << " differ by "
                      << Exact(a - b).to_double();
}

constexpr int grounds_per_design = 25;
constexpr int shards = 8;
constexpr double agreement = 1e-11;  // of total fill

void expect_twins(const MoundPlace& where, const PlanCells<Exact>& cells, bool also_literally) {
  const PlacedMound mound = place_mound(where);
  const Buildup& buildup = mound.buildup;
  const ExactCase c = exact_case(where, buildup.bottom_elevation);
  KernelWork<Exact> work;
  place(cells, c.spot, c.prepare, work);
  const KernelResult<Exact>& exact = run_kernel(c.tree, c.prepare, work);

  const double fill = buildup.total_fill();
  ASSERT_GT(fill, 0);
  for (std::size_t k = 0; k < buildup.layers.size(); ++k) {
    const LayerSums<Exact>& layer = exact.sums.layers[k];
    EXPECT_NEAR(buildup.layers[k].volume, layer.bulk.volume.to_double(), agreement * fill) << buildup.layers[k].name;
    EXPECT_NEAR(buildup.layers[k].plan_area, layer.area.to_double(), 1e-8 * buildup.footprint_area);
  }
  EXPECT_NEAR(buildup.footprint_area, exact.sums.footprint_area.to_double(), 1e-10 * buildup.footprint_area);
  EXPECT_NEAR(buildup.sand_least, exact.sums.sand.least.to_double(), 1e-9);
  EXPECT_NEAR(buildup.sand_most, exact.sums.sand.most.to_double(), 1e-9);
  EXPECT_EQ(buildup.toe.outer.size() + buildup.toe.holes.size(), exact.loops.size());
  if (!also_literally) return;

  const auto [literal, specks_area] = literally(c, where.shape());
  Exact sum(0);
  for (std::size_t k = 0; k < buildup.layers.size(); ++k) {
    expect_same(literal.layers[k], exact.sums.layers[k].bulk.volume, buildup.layers[k].name);
    sum += exact.sums.layers[k].bulk.volume;
  }
  expect_same(literal.footprint_area, exact.sums.footprint_area, "footprint");
  expect_same(specks_area, exact.specks_area, "specks");
  expect_same(literal.pit, exact.sums.pit.volume, "pit");
  expect_same(literal.finish_minus_prepared, sum, "sum of layers");
}

class Twin : public testing::TestWithParam<int> {};

TEST_P(Twin, DoubleExactAndLiteralAgree) {
  const int designs = (case_count() + grounds_per_design - 1) / grounds_per_design;
  for (int i = GetParam(); i < designs; i += shards) {
    TwinDice dice{std::mt19937_64(static_cast<std::uint64_t>(i))};
    MoundDesign design = usual_design(dice);
    while (check_design(design).has_errors()) design = usual_design(dice);
    maybe_add_pit(dice, design);
    const PlanCells<Exact> cells = compile_cells<Exact>(shape_of(design));
    for (int g = 0; g < std::min(grounds_per_design, case_count()); ++g) {
      SCOPED_TRACE("design " + std::to_string(i) + ", ground " + std::to_string(g));
      const Ground ground = random_ground(dice);
      if (design.prepare.undercut) {  // from well under the bed up into the ground
        design.prepare.undercut->elevation = bed_bottom(place_as_drawn(ground, design)) - dice.between(1, 3);
      }
      expect_twins(place_as_drawn(ground, design), cells,
                   g == 0);  // the literal rule on rationals takes seconds a case
      if (HasFailure()) return;
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Random, Twin, testing::Range(0, shards));

class BentTwin : public testing::TestWithParam<int> {};

TEST_P(BentTwin, DoubleExactAndLiteralAgree) {
  constexpr int cases_per_design = 20;
  const int designs = (case_count() + cases_per_design - 1) / cases_per_design;
  for (int i = GetParam(); i < designs; i += shards) {
    SCOPED_TRACE("design " + std::to_string(i));
    Dice dice{std::mt19937(static_cast<unsigned>(i))};
    const MoundDesign design = good_bent_design(dice);
    const Ground ground = make_ground(twisted_shots(dice, 30, 60));
    const MoundPlace place = place_as_drawn(ground, design);
    if (!(build_up(place).footprint_area > 0)) continue;
    expect_twins(place, compile_cells<Exact>(place.shape()), true);
    if (HasFailure()) return;
  }
}

INSTANTIATE_TEST_SUITE_P(Random, BentTwin, testing::Range(0, shards));

/// Pits that overlap beyond a bend count once, the deeper; the independent integral has its own way to find that.
TEST(MassBalance, OfShortPiecesUnderLongBermsHolds) {
  Dice dice{std::mt19937(41)};
  for (int i = 0; i < 400; ++i) {
    SCOPED_TRACE(i);
    MoundDesign design = good_bent_design(dice);
    if (i % 2 == 0)
      design.prepare.undercut = Undercut{dice.from(90, 99), dice.sizes(1), ByFace::all(dice.from(0.5, 2))};
    const Ground ground = make_ground(twisted_shots(dice, 40, 60));
    const PlacedMound mound = place_mound(place_as_drawn(ground, design));
    const Buildup& built = mound.buildup;
    const Takeoff takeoff = take_off(mound, LengthUnit::foot, 5);
    EXPECT_LT(takeoff.balance.relative_difference, 1e-9);
    double inside_toe = 0;
    for (const Polygon2& loop : built.toe.outer) inside_toe += plan_area(loop);
    for (const Polygon2& hole : built.toe.holes) inside_toe += plan_area(hole);
    EXPECT_NEAR(inside_toe, built.footprint_area, 1e-7 * (1 + built.footprint_area));
  }
}

}  // namespace
}  // namespace moundwright

// What a placement is worth: a compiled mound that is moved is the mound drawn there, for everything that is read off
// it; and its sums alone are those of the whole buildup, without a single allocation.
#include "geom/placed_mound.h"

#include <gtest/gtest.h>

#include <atomic>
#include <cmath>
#include <cstdlib>
#include <new>
#include <random>

#include "geom/plan_checks.h"
#include "geom/sections.h"
#include "geom/solids.h"
#include "geom/stages.h"
#include "geom/stakes.h"
#include "tests/support/plain_layer.h"
#include "tests/support/random_mounds.h"

#if defined(__has_feature)
#if __has_feature(address_sanitizer)
#define COUNTS_NO_ALLOCATIONS
#endif
#elif defined(__SANITIZE_ADDRESS__)
#define COUNTS_NO_ALLOCATIONS
#endif

#ifndef COUNTS_NO_ALLOCATIONS  // the address sanitizer has operators of its own
namespace {
std::atomic<std::size_t> allocations{0};
}

// Every allocation of this program is counted.
[[gnu::noinline]] void* operator new(std::size_t size) {
  ++allocations;
  if (void* memory = std::malloc(size == 0 ? 1 : size)) return memory;
  throw std::bad_alloc();
}
void* operator new[](std::size_t size) { return operator new(size); }
[[gnu::noinline]] void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete[](void* memory) noexcept { operator delete(memory); }
void operator delete(void* memory, std::size_t) noexcept { operator delete(memory); }
void operator delete[](void* memory, std::size_t) noexcept { operator delete(memory); }
#endif

namespace moundwright {
namespace {

Ground rolling(std::size_t shots, double noise) {
  std::mt19937_64 random(5);
  std::uniform_real_distribution<double> place(-150, 150), error(-noise, noise);
  std::vector<Shot> all;
  for (std::size_t i = 0; i < shots; ++i) {
    const double e = place(random), n = place(random);
    all.push_back({"", n, e, 100 - 0.06 * n + 0.4 * std::sin(e / 18) + error(random), "", 0});
  }
  return make_ground(all);
}

MoundDesign four_layers(double downslope) {
  MoundDesign design;
  design.bed = straight_bed({0, 0}, downslope + 90, 60, 10);
  design.least_sand = 1.5;
  design.downslope = downslope;
  design.prepare.strip = 0.5;
  design.layers = {{"core", "clean sand", 0, 0, ByFace::all(1), ByFace::all(2), false},
                   {"stone", "washed stone", 1, 0, ByFace::all(0), ByFace::all(1), false},
                   {"shell", "shell sand", 1, 0, ByFace::all(3), ByFace::all(3), false},
                   {"cover", "sandy loam", 1.5, 0.5, ByFace::all(3), ByFace::all(3), true}};
  return design;
}

TEST(Placement, OfADesignIsWhereItWasDrawn) {
  MoundDesign design = four_layers(0);
  design.bed = straight_bed({12, -7}, 90, 60, 10);
  const Placement placement = placement_of(design);
  EXPECT_NEAR((placement.frame.origin - Point2(12, -7)).norm(), 0, 1e-12);
  EXPECT_EQ(placement.least_sand, 1.5);
  EXPECT_FALSE(placement.bottom_elevation);
}

/// Moved by whole feet and turned by a quarter, a mound drawn at the origin is the one drawn there.
TEST(PlacedMound, MovedTurnedAndRaisedIsTheMoundDrawnThere) {
  const Ground ground = rolling(2000, 0.05);
  MoundDesign there = four_layers(90);
  there.bed = straight_bed({20, -30}, 180, 60, 10);
  there.least_sand.reset(), there.bottom_elevation = 106;
  const PlacedMound drawn = place_mound(place_as_drawn(ground, there));

  MoundPlace place = place_as_drawn(ground, four_layers(0));
  const MoundFrame wanted = frame_of(there);
  place.placement = {{wanted.origin, wanted.along}, 106, std::nullopt};
  const PlacedMound moved = place_mound(place);

  constexpr double rounding = 1e-8;
  for (std::size_t k = 0; k < 4; ++k) EXPECT_NEAR(moved.buildup.layers[k].volume, drawn.buildup.layers[k].volume, 1e-6);
  EXPECT_NEAR(moved.buildup.berm.downslope.most, drawn.buildup.berm.downslope.most, rounding);
  ASSERT_EQ(bed_line(moved).size(), 2U);
  for (std::size_t i = 0; i < 2; ++i) EXPECT_NEAR((bed_line(moved)[i] - bed_line(drawn)[i]).norm(), 0, rounding);

  // A creek along the drawn place's bed: stakes on the far side are told of where the mound is, not where it was drawn.
  StakeOptions options;
  options.lot.requirements.keep_clear = {{"creek", {{21, -120}, {21, 120}}, false, {}, {}}};
  const StakeOut a = stake_out(moved, options), b = stake_out(drawn, options);
  ASSERT_EQ(a.stakes.size(), b.stakes.size());
  for (std::size_t i = 0; i < a.stakes.size(); ++i) {
    EXPECT_NEAR(a.stakes[i].northing, b.stakes[i].northing, rounding);
    EXPECT_NEAR(a.stakes[i].easting, b.stakes[i].easting, rounding);
    EXPECT_NEAR(a.stakes[i].design.value_or(0), b.stakes[i].design.value_or(0), rounding);
  }
  ASSERT_FALSE(b.notes.all.empty());
  ASSERT_EQ(a.notes.all.size(), b.notes.all.size());
  for (std::size_t i = 0; i < a.notes.all.size(); ++i) EXPECT_EQ(to_text(a.notes.all[i]), to_text(b.notes.all[i]));

  CheckOptions asked;
  asked.asked.borings = {{"B1", {22, -31}, 2.5}};
  asked.asked.separation = 2;
  const auto checks = check_plan(moved, asked), wanted_checks = check_plan(drawn, asked);
  ASSERT_EQ(checks.size(), wanted_checks.size());
  for (std::size_t i = 0; i < checks.size(); ++i) EXPECT_EQ(checks[i].text, wanted_checks[i].text);

  const auto stages = build_stages(moved, LengthUnit::foot), wanted_stages = build_stages(drawn, LengthUnit::foot);
  ASSERT_EQ(stages.size(), wanted_stages.size());
  for (std::size_t i = 0; i < stages.size(); ++i) {
    ASSERT_EQ(stages[i].points.size(), wanted_stages[i].points.size());
    for (std::size_t j = 0; j < stages[i].points.size(); ++j) {
      const StagePoint &p = stages[i].points[j], &q = wanted_stages[i].points[j];
      EXPECT_NEAR((p.at - q.at).norm(), 0, rounding);
      EXPECT_EQ(p.highest, q.highest) << "the least sand is the placement's, not the drawing's";
    }
  }
  const auto solids = layer_solids(moved), wanted_solids = layer_solids(drawn);
  for (std::size_t k = 0; k < 4; ++k) EXPECT_NEAR(volume_of(solids[k]), volume_of(wanted_solids[k]), 1e-6);
  const Point2 from(-60, 10), to(70, -65);
  EXPECT_NEAR(cut_section(moved, from, to).layer_area(3), cut_section(drawn, from, to).layer_area(3), 1e-6);
}

void expect_sums_of_the_buildup(const MoundPlace& place, BuildupWork& work, PlacementSums& sums) {
  sum_up(place, work, sums);
  const Buildup b = build_up(place);
  const double rounding = 1e-10 * (1 + b.total_fill());
  EXPECT_EQ(sums.bottom_elevation, b.bottom_elevation);
  ASSERT_EQ(sums.fill.size(), b.layers.size());
  for (std::size_t k = 0; k < b.layers.size(); ++k) EXPECT_NEAR(sums.fill[k], b.layers[k].volume, rounding);
  EXPECT_NEAR(sums.strip + sums.undercut, b.total_cut(), rounding);
  EXPECT_NEAR(sums.footprint_area, b.footprint_area, 1e-10 * (1 + b.footprint_area));
}

TEST(PlacementSums, AreThoseOfTheBuildup) {
  Dice dice{std::mt19937(12)};
  BuildupWork work;
  PlacementSums sums;
  std::size_t with_specks = 0, with_holes = 0, upright = 0;
  for (unsigned i = 0; i < 400; ++i) {
    SCOPED_TRACE(i);
    const MoundDesign design = i % 2 == 0 ? good_bent_design(dice) : random_design(dice);
    if (check_design(design).has_errors()) continue;
    const Ground ground = make_ground(rough_shots(40 + i, 60, i % 3 == 0 ? 3 : 0.4, i));
    const MoundPlace place = place_as_drawn(ground, design);
    expect_sums_of_the_buildup(place, work, sums);
    const Buildup b = build_up(place);
    with_specks += b.specks > 0, with_holes += !b.toe.holes.empty();
    upright += design.layers.back().side.left == 0;
  }
  EXPECT_GT(with_specks, 20U);
  EXPECT_GT(with_holes, 20U);
  EXPECT_GT(upright, 10U);
}

TEST(PlacementSums, OfABedOffTheSurveyAreRefusedAsTheBuildupIs) {
  const Ground ground = rolling(200, 0);
  MoundPlace place = place_as_drawn(ground, four_layers(0));
  place.placement.frame.origin = {1000, 0};
  BuildupWork work;
  PlacementSums sums;
  EXPECT_THROW(build_up(place), Refusal);
  EXPECT_THROW(sum_up(place, work, sums), Refusal);
}

#ifndef COUNTS_NO_ALLOCATIONS
TEST(PlacementSums, AllocateNothingFromOnePlacementToTheNext) {
  const Ground ground = rolling(2000, 0.05);
  MoundPlace place = place_as_drawn(ground, four_layers(0));
  std::mt19937_64 random(3);
  std::uniform_real_distribution<double> shift(-60, 60), turn(-0.4, 0.4);
  std::vector<MoundFrame> frames(1500, place.frame());
  for (MoundFrame& frame : frames) {
    const double angle = turn(random);
    frame.origin = {shift(random), shift(random)};
    frame.along = {-std::cos(angle), std::sin(angle)};
  }
  BuildupWork work;
  PlacementSums sums;
  const auto sum_all = [&] {
    double fill = 0;
    for (const MoundFrame& frame : frames) {
      place.placement.frame = frame;
      sum_up(place, work, sums);
      fill += sums.fill[0];
    }
    return fill;
  };
  const double first = sum_all();  // buffers grow
  const std::size_t before = allocations;
  const double again = sum_all();
  EXPECT_EQ(allocations - before, 0U);
  EXPECT_EQ(again, first);
  EXPECT_GT(before, 0U) << "they are counted";
}
#endif

}  // namespace
}  // namespace moundwright

// The design by itself: what check_design refuses, where the mound's frame lies, and the shapes of the layers.
#include "geom/design.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "geom/buildup.h"
#include "geom/mound_shape.h"

namespace moundwright {
namespace {

using ::testing::HasSubstr;

constexpr double rounding = 1e-12;
constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double infinity = std::numeric_limits<double>::infinity();

/// Bed 60 x 10 about (0, 0), long axis east, water running north: u is east, v is north.
MoundDesign good_design() {
  MoundDesign design;
  design.bed = {{{-30, 0}, {30, 0}}, 10};
  design.bottom_elevation = 101;
  design.downslope = 0;
  design.layers = {{"stone", "stone", 1, 0, ByFace::all(0), ByFace::all(0), false},
                   {"cover", "loam", 1.5, 0, {1, 2, 3, 4}, {2, 3, 4, 5}, false}};
  return design;
}

// ---- what is refused ----

void rename_layers(MoundDesign& design) {
  for (std::size_t k = 0; k < design.layers.size(); ++k) design.layers[k].name = "layer " + std::to_string(k);
}

struct BadDesign {
  std::string where;  // the key the problem names
  std::function<void(MoundDesign&)> spoil;
};

const std::vector<BadDesign>& bad_designs() {
  static const std::vector<BadDesign> all = {
      {"mound.bed.width", [](MoundDesign& d) { d.bed.width = 0; }},
      {"mound.bed.width", [](MoundDesign& d) { d.bed.width = -4; }},
      {"mound.bed.width", [](MoundDesign& d) { d.bed.width = nan; }},
      {"mound.bed.line", [](MoundDesign& d) { d.bed.line.clear(); }},
      {"mound.bed.line", [](MoundDesign& d) { d.bed.line.pop_back(); }},
      {"mound.bed.line", [](MoundDesign& d) { d.bed.line[1] = d.bed.line[0]; }},
      {"mound.bed.line", [](MoundDesign& d) { d.bed.line[0].y() = nan; }},
      {"mound.bed.line", [](MoundDesign& d) { d.bed.line.emplace_back(-10, 1); }},  // doubles back
      {"mound.bottom", [](MoundDesign& d) { d.bottom_elevation.reset(); }},
      {"mound.bottom", [](MoundDesign& d) { d.least_sand = 1; }},
      {"mound.bottom.elevation", [](MoundDesign& d) { d.bottom_elevation = infinity; }},
      {"mound.bottom.least_sand", [](MoundDesign& d) { d.bottom_elevation.reset(), d.least_sand = -0.1; }},
      {"mound.downslope", [](MoundDesign& d) { d.downslope = nan; }},
      {"mound.downslope", [](MoundDesign& d) { d.downslope = 90; }},   // along the bed
      {"mound.downslope", [](MoundDesign& d) { d.downslope = 266; }},  // as good as along it
      {"prepare.strip", [](MoundDesign& d) { d.prepare.strip = -0.5; }},
      {"prepare.undercut.elevation",
       [](MoundDesign& d) {
         d.prepare.undercut = Undercut{nan, {}, {}};
       }},
      {"prepare.undercut.beyond",
       [](MoundDesign& d) {
         d.prepare.undercut = Undercut{97, {0, 0, -1, 0}, {}};
       }},
      {"prepare.undercut.side",
       [](MoundDesign& d) {
         d.prepare.undercut = Undercut{97, {}, {0, -1, 0, 0}};
       }},
      {"mound.bed.width", [](MoundDesign& d) { d.bed.width = 1e5; }},
      {"mound.bed", [](MoundDesign& d) { d.bed.line[1].x() = 1e5; }},
      {"mound.bed.line", [](MoundDesign& d) { d.bed.line[0].x() = -2e9; }},
      {"mound.bed.line", [](MoundDesign& d) { d.bed.line[0].y() = 1e13; }},
      {"mound.bottom.elevation", [](MoundDesign& d) { d.bottom_elevation = 1e6; }},
      {"mound.bottom.least_sand", [](MoundDesign& d) { d.bottom_elevation.reset(), d.least_sand = 1e4; }},
      {"prepare.strip", [](MoundDesign& d) { d.prepare.strip = 1e4; }},
      {"prepare.undercut.elevation",
       [](MoundDesign& d) {
         d.prepare.undercut = Undercut{-1e6, {}, {}};
       }},
      {"layer.cover.top", [](MoundDesign& d) { d.layers[1].top = 1e4; }},
      {"layer.cover.top", [](MoundDesign& d) { d.layers[1].top = -1e4; }},
      {"layer.cover.crown", [](MoundDesign& d) { d.layers[1].crown = 1e4; }},
      {"layer.cover.beyond", [](MoundDesign& d) { d.layers[1].beyond.left = 1e5; }},
      {"layer.cover.side", [](MoundDesign& d) { d.layers[1].side.left = 1372.2; }},
      {"layer", [](MoundDesign& d) { d.layers.resize(17, d.layers[1]), rename_layers(d); }},
      {"mound.bed.line",  // a ring
       [](MoundDesign& d) {
         d.bed.line = {{-30, 0}, {20, 10}, {20, -20}, {-25, -20}, {-30, 0}};
       }},
      {"mound.bed.line",  // crosses itself
       [](MoundDesign& d) {
         d.bed.line = {{-60, 0}, {60, 0}, {60, -60}, {0, -60}, {0, 30}};
       }},
      {"mound.bed.line",  // ends on its own side
       [](MoundDesign& d) {
         d.bed.line = {{-60, 0}, {60, 0}, {60, -60}, {0, -60}, {0, 0}};
       }},
      {"mound.bed.line",
       [](MoundDesign& d) {
         d.bed.line.clear();
         for (int i = 0; i < 61; ++i) d.bed.line.emplace_back(20.0 * i, 0);
       }},
      {"layer", [](MoundDesign& d) { d.layers.clear(); }},
      {"layer.stone.name", [](MoundDesign& d) { d.layers[1].name = "stone"; }},
      {"layer.2.name", [](MoundDesign& d) { d.layers[1].name.clear(); }},
      {"layer.cover.top", [](MoundDesign& d) { d.layers[1].top = nan; }},
      {"layer.cover.crown", [](MoundDesign& d) { d.layers[1].crown = -0.1; }},
      {"layer.cover.beyond", [](MoundDesign& d) { d.layers[1].beyond.right = -1; }},
      {"layer.cover.side", [](MoundDesign& d) { d.layers[1].side.upslope = infinity; }},
      {"layer.\"top soil\".top", [](MoundDesign& d) { d.layers[1].name = "top soil", d.layers[1].top = nan; }}};
  return all;
}

TEST(CheckDesign, GoodDesignHasNothingToSay) {
  EXPECT_TRUE(check_design(good_design()).all.empty());
  MoundDesign design = good_design();
  design.bottom_elevation.reset();
  design.least_sand = 0;
  design.downslope.reset();
  design.prepare.strip = 0.5;
  design.prepare.undercut = Undercut{97, ByFace::all(1), ByFace::all(0)};
  design.layers[1].crown = 0.5;
  EXPECT_TRUE(check_design(design).all.empty());
}

TEST(CheckDesign, DownslopeMayLieAskewOfTheBed) {
  for (const double askew : {84.0, 96.0, 264.0, 276.0}) {
    MoundDesign design = good_design();
    design.downslope = askew;
    EXPECT_TRUE(check_design(design).all.empty()) << askew;
  }
}

TEST(CheckDesign, EachFaultIsOneErrorAtItsKey) {
  for (const BadDesign& bad : bad_designs()) {
    SCOPED_TRACE(bad.where);
    MoundDesign design = good_design();
    bad.spoil(design);
    const Problems problems = check_design(design);
    ASSERT_EQ(problems.all.size(), 1u);
    EXPECT_EQ(problems.all[0].severity, Severity::error);
    EXPECT_EQ(problems.all[0].where, bad.where);
    EXPECT_FALSE(problems.all[0].what.empty());
    EXPECT_FALSE(problems.all[0].what_to_do.empty());
  }
}

TEST(CheckDesign, SeveralFaultsAreToldTogether) {
  MoundDesign design = good_design();
  design.bed.width = 0;
  design.prepare.strip = -1;
  design.layers[0].top = nan;
  EXPECT_EQ(check_design(design).all.size(), 3u);
  try {
    compile_mound(design);
    FAIL() << "a design with three faults was planned";
  } catch (const Refusal& refusal) {
    EXPECT_EQ(refusal.problems().size(), 3u);
  }
}

// README, "Sizes have limits": plan sizes 10,000, heights 1,000, elevations 100,000, sides 100:1, 16 layers, 60 points.
TEST(CheckDesign, SizesMayBeWhatReadmeSaysAndNoLarger) {
  const auto layers = [](std::size_t count) {
    return [count](MoundDesign& d) { d.layers.resize(count, d.layers[1]), rename_layers(d); };
  };
  const auto points = [](int count) {
    return [count](MoundDesign& d) {
      d.bed.line.clear();
      for (int i = 0; i < count; ++i) d.bed.line.emplace_back(20.0 * i, 0);
    };
  };
  using Set = std::function<void(MoundDesign&)>;
  const struct {
    std::string where;
    Set at_limit, beyond;
  } sizes[] = {
      {"mound.bed",
       [](MoundDesign& d) {
         d.bed.line = {{0, 0}, {10000, 0}};
       },
       [](MoundDesign& d) {
         d.bed.line = {{0, 0}, {10001, 0}};
       }},
      {"mound.bed.width", [](MoundDesign& d) { d.bed.width = 10000; }, [](MoundDesign& d) { d.bed.width = 10001; }},
      {"layer.cover.beyond", [](MoundDesign& d) { d.layers[1].beyond.left = 10000; },
       [](MoundDesign& d) { d.layers[1].beyond.left = 10001; }},
      {"layer.cover.top", [](MoundDesign& d) { d.layers[1].top = 1000; },
       [](MoundDesign& d) { d.layers[1].top = 1001; }},
      {"layer.cover.side", [](MoundDesign& d) { d.layers[1].side.left = 100; },
       [](MoundDesign& d) { d.layers[1].side.left = 101; }},
      {"mound.bottom.elevation", [](MoundDesign& d) { d.bottom_elevation = 100000; },
       [](MoundDesign& d) { d.bottom_elevation = 100001; }},
      {"layer", layers(16), layers(17)},
      {"mound.bed.line", points(60), points(61)},
  };
  for (const auto& [where, at_limit, beyond] : sizes) {
    const auto faults = [key = where](const Set& set) {
      MoundDesign design = good_design();
      set(design);
      const Problems problems = check_design(design);
      return std::count_if(problems.all.begin(), problems.all.end(), [&](const Problem& p) { return p.where == key; });
    };
    EXPECT_EQ(faults(at_limit), 0) << where;
    EXPECT_EQ(faults(beyond), 1) << where;
  }
}

TEST(CheckDesign, SizesBeyondTheLimitAreToldWithTheLimit) {
  MoundDesign design = good_design();
  design.layers[1].top = 1e4;
  EXPECT_EQ(check_design(design).all[0].what, "the top is 10000; the limit is 1000 either way");
  design.layers[1].top = 1.5, design.bed.line[0].y() = -1e13;
  EXPECT_EQ(check_design(design).all[0].what,
            "the northing of point 1 of the bed's line is -10000000000000; the limit is 1000000000 either way");
}

// README: points times layers times layers, 4,000.
TEST(CheckDesign, ManyPointsGoWithFewLayers) {
  const auto faults = [](int points, std::size_t layers) {
    MoundDesign design = good_design();
    design.bed.line.clear();
    for (int i = 0; i < points; ++i) design.bed.line.emplace_back(20.0 * i, 0);
    design.layers.resize(layers, design.layers[1]), rename_layers(design);
    return check_design(design).all;
  };
  EXPECT_TRUE(faults(60, 8).empty());
  EXPECT_TRUE(faults(15, 16).empty());
  for (const std::vector<Problem>& told : {faults(60, 9), faults(16, 16)}) {
    ASSERT_EQ(told.size(), 1u);
    EXPECT_EQ(told[0].where, "layer");
  }
  EXPECT_THAT(faults(60, 9)[0].what_to_do, HasSubstr("give 8 layers or fewer, or 49 points"));
}

TEST(CheckDesign, ABedThatClosesOnItselfIsToldSo) {
  MoundDesign design = good_design();
  design.bed.line = {{-30, 0}, {20, 10}, {20, -20}, {-25, -20}, {-30, 0}};
  EXPECT_THAT(check_design(design).all[0].what, HasSubstr("closes on itself"));
  design.bed.line.back() = {-29, -4};
  EXPECT_TRUE(check_design(design).all.empty()) << "open by four feet";
}

TEST(CheckDesign, BendIsRefusedFrom120Degrees) {
  const auto bent_by = [](double degrees) {
    const double turn = degrees * std::acos(-1.0) / 180;
    MoundDesign design = good_design();
    design.bed.line = {{-60, 0}, {0, 0}, {60 * std::cos(turn), 60 * std::sin(turn)}};
    return check_design(design);
  };
  EXPECT_FALSE(bent_by(119).has_errors());
  EXPECT_FALSE(bent_by(-119).has_errors());
  EXPECT_TRUE(bent_by(121).has_errors());
  EXPECT_TRUE(bent_by(-121).has_errors());
}

TEST(CheckDesign, PieceTooShortForItsBendIsRefused) {
  // Square bend: the inner edge of a top 5 + 2 ft from the line is 7 ft shorter than the line's piece.
  const auto with_last_piece = [](double length) {
    MoundDesign design = good_design();
    design.bed.line = {{-60, 0}, {0, 0}, {0, length}};
    return check_design(design);
  };
  EXPECT_FALSE(with_last_piece(7.1).has_errors());
  const Problems tight = with_last_piece(6.9);
  ASSERT_EQ(tight.all.size(), 1u);
  EXPECT_EQ(tight.all[0].where, "mound.bed.line");
  EXPECT_THAT(tight.all[0].what, HasSubstr("\"cover\""));
}

// On the inside of the bend, and only there, the top's edge gets shorter: what it does on the other side is no matter.
TEST(CheckDesign, PieceTooShortForItsBendIsJudgedByTheSideInsideTheBend) {
  const auto with = [](double upslope, double downslope, std::optional<double> way) {
    MoundDesign design = good_design();
    design.bed.line = {{-60, 0}, {0, 0}, {0, 10}};  // turns left, to the north: the inside is northwest
    design.downslope = way;
    design.layers[1].beyond = {upslope, downslope, 1, 1};
    return check_design(design).has_errors();
  };
  EXPECT_FALSE(with(8, 2, 315.0));
  EXPECT_TRUE(with(2, 8, 315.0));
  EXPECT_TRUE(with(8, 2, 135.0));
  EXPECT_FALSE(with(2, 8, 135.0));
  EXPECT_FALSE(with(2, 8, std::nullopt)) << "not known yet which side it is";
  EXPECT_TRUE(with(8, 8, std::nullopt));
}

// ---- the frame ----

TEST(Azimuth, IsClockwiseFromNorth) {
  EXPECT_NEAR((direction_of(0) - Point2(0, 1)).norm(), 0, rounding);
  EXPECT_NEAR((direction_of(90) - Point2(1, 0)).norm(), 0, rounding);
  EXPECT_NEAR((direction_of(225) - Point2(-1, -1).normalized()).norm(), 0, rounding);
  for (const double azimuth : {0.0, 33.0, 90.0, 179.0, 181.0, 359.5}) {
    EXPECT_NEAR(azimuth_of(direction_of(azimuth)), azimuth, 1e-10);
  }
}

TEST(StraightBed, LiesAboutItsCenter) {
  const Bed bed = straight_bed({4890, 5120}, 30, 60, 10);
  ASSERT_EQ(bed.line.size(), 2u);
  EXPECT_EQ(bed.width, 10);
  EXPECT_NEAR(((bed.line[0] + bed.line[1]) / 2 - Point2(4890, 5120)).norm(), 0, 1e-11);
  EXPECT_NEAR(((bed.line[1] - bed.line[0]) - 60 * direction_of(30)).norm(), 0, 1e-11);
}

TEST(Frame, AcrossPointsDownslopeHoweverTheLineIsDrawn) {
  for (const double downslope : {164.0, 344.0}) {
    MoundDesign design = good_design();
    design.bed = straight_bed({4890, 5120}, 74, 60, 10);
    design.downslope = downslope;
    const MoundFrame frame = frame_of(design);
    EXPECT_NEAR((frame.across() - direction_of(downslope)).norm(), 0, rounding);
    EXPECT_NEAR((frame.origin - Point2(4890, 5120)).norm(), 0, 1e-11);
    std::reverse(design.bed.line.begin(), design.bed.line.end());
    const MoundFrame again = frame_of(design);
    EXPECT_NEAR((again.along - frame.along).norm(), 0, rounding);
    EXPECT_NEAR((again.origin - frame.origin).norm(), 0, 1e-11);
  }
}

TEST(Frame, LeftAndRightAreSeenLookingDownslope) {
  MoundDesign design = good_design();
  design.downslope = 180;  // looking south, left is east
  const MoundShape shape = shape_of(design);
  const MoundFrame frame = frame_of(design);
  EXPECT_NEAR(frame.to_world(shape.line.front()).x(), 30, rounding);
  EXPECT_NEAR(frame.to_world(shape.line.back()).x(), -30, rounding);
}

TEST(Frame, WorldAndMoundAreInverse) {
  const MoundFrame frame = {{4890, 5120}, direction_of(74)};
  const Point2 at(12.5, -3.75);
  EXPECT_NEAR((frame.to_mound(frame.to_world(at)) - at).norm(), 0, 1e-11);
}

TEST(Frame, OfABentBedIsAtHalfItsLength) {
  MoundDesign design = good_design();
  design.bed.line = {{-50, 0}, {0, 0}, {0, 30}};
  design.downslope = 315;
  const MoundFrame frame = frame_of(design);
  EXPECT_NEAR((frame.origin - Point2(-10, 0)).norm(), 0, rounding);
  EXPECT_NEAR((frame.along - Point2(50, 30).normalized()).norm(), 0, rounding);
}

TEST(Frame, NeedsTheDownslope) {
  MoundDesign design = good_design();
  design.downslope.reset();
  try {
    frame_of(design);
    FAIL() << "a frame was found without the downslope";
  } catch (const Refusal& refusal) {
    EXPECT_EQ(refusal.problems().at(0).where, "mound.downslope");
  }
}

// ---- shapes ----

/// Height of a layer's own shape in the mound frame; nullopt outside it.
std::optional<double> height_at(const std::vector<ConcavePiece>& pieces, double u, double v) {
  std::optional<double> greatest;
  for (const ConcavePiece& piece : pieces) {
    const auto holds = [&](const PlanLine& line) { return line.a * u + line.b * v + line.c >= 0; };
    if (!std::all_of(piece.inside.begin(), piece.inside.end(), holds)) continue;
    double least = infinity;
    for (const ShapePlane& plane : piece.planes) least = std::min(least, plane.a * u + plane.b * v + plane.c);
    if (!greatest || least > *greatest) greatest = least;
  }
  return greatest;
}

void expect_height(const MoundShape& shape, double u, double v, double expected) {
  const std::optional<double> height = height_at(shape.layers[1].pieces, u, v);
  ASSERT_TRUE(height) << u << ", " << v;
  EXPECT_NEAR(*height, expected, rounding) << u << ", " << v;
}

TEST(Shape, VerticalLayerIsABox) {
  const MoundShape shape = shape_of(good_design());
  EXPECT_EQ(height_at(shape.layers[0].pieces, 29.9, 4.9), 1.0);
  EXPECT_EQ(height_at(shape.layers[0].pieces, 30.1, 0), std::nullopt);
  EXPECT_EQ(height_at(shape.layers[0].pieces, 0, -5.1), std::nullopt);
}

TEST(Shape, FlatTopAndSidesByFace) {
  const MoundShape shape = shape_of(good_design());  // beyond 1 2 3 4, side 2 3 4 5
  expect_height(shape, 0, 0, 1.5);
  expect_height(shape, 0, -6, 1.5);           // the top's upslope edge
  expect_height(shape, 0, -6 - 2, 0.5);       // 2:1 upslope
  expect_height(shape, 0, 7 + 3, 0.5);        // 3:1 downslope
  expect_height(shape, -33 - 4, 0, 0.5);      // 4:1 left
  expect_height(shape, 34 + 5, 0, 0.5);       // 5:1 right
  expect_height(shape, 34 + 5, 7 + 6, -0.5);  // at a square corner the lower side counts
}

TEST(Shape, CrownRunsFullLengthAndEndsAreGables) {
  MoundDesign design = good_design();
  design.layers[1].crown = 0.65;  // over a top 13 ft wide: 0.1 a foot
  const MoundShape shape = shape_of(design);
  const double middle = 0.5 * (7 - 6);
  expect_height(shape, 0, middle, 2.15);
  expect_height(shape, 0, 7, 1.5);
  expect_height(shape, 0, middle + 1, 2.05);
  expect_height(shape, 34, middle, 2.15);      // the ridge at the right end of the top
  expect_height(shape, 34 + 5, middle, 1.15);  // and down 5:1 from there
  expect_height(shape, 34, 7 + 3, 0.5);        // the long side is where it was
}

TEST(Shape, RoundCornerTouchesBothFacesAndCutsTheCorner) {
  MoundDesign design = good_design();
  design.layers[1].side = ByFace::all(3);
  design.layers[1].round_corners = true;
  const MoundShape shape = shape_of(design);
  expect_height(shape, 0, 7 + 3, 0.5);
  expect_height(shape, 34 + 3, 7, 0.5);  // straight out from the end of the long edge
  // On the diagonal, one of the seven planes: falls 1 in 3 along the line from the top's corner.
  const double out = 3 / std::sqrt(2.0);
  expect_height(shape, 34 + out, 7 + out, 0.5);
}

TEST(Shape, PitIsALayerUpsideDown) {
  MoundDesign design = good_design();
  design.prepare.undercut = Undercut{97, {1, 1, 0, 0}, {2, 2, 0, 0}};
  const MoundShape shape = shape_of(design);
  EXPECT_NEAR(*height_at(shape.pit, 0, 6), 0, rounding);
  EXPECT_NEAR(*height_at(shape.pit, 0, 6 + 2), -1, rounding);  // the pit's side is 1 ft up, 2 ft out
  EXPECT_EQ(height_at(shape.pit, 30.1, 0), std::nullopt);
}

TEST(Shape, BentPiecesMeetAtTheBisectorAndCoverThePlanOnce) {
  MoundDesign design = good_design();
  design.bed.line = {{-50, 0}, {0, 0}, {0, 50}};
  design.downslope = 315;
  const MoundShape shape = shape_of(design);
  const MoundFrame frame = frame_of(design);
  ASSERT_EQ(shape.bed.size(), 2u);
  const auto pieces_at = [&](double e, double n) {
    const Point2 p = frame.to_mound({e, n});
    int count = 0;
    for (const ConcavePiece& piece : shape.bed) count += height_at({piece}, p.x(), p.y()).has_value();
    return count;
  };
  EXPECT_EQ(pieces_at(-20, 4), 1);
  EXPECT_EQ(pieces_at(4, 20), 1);
  EXPECT_EQ(pieces_at(4.5, -4.6), 1);  // the outer corner is not notched
  EXPECT_EQ(pieces_at(4.6, -4.5), 1);
  EXPECT_EQ(pieces_at(-4.5, 4.6), 1);  // and the inner is not counted twice
  EXPECT_EQ(pieces_at(-6, 6), 0);
  EXPECT_EQ(pieces_at(6, -4), 0);
}

}  // namespace
}  // namespace moundwright

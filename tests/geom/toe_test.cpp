// What a berm length means where the bed bends: square to the edge, and only on its own side of the bend's bisector.
#include "geom/toe.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

#include "geom/cell_pieces.h"
#include "geom/placed_mound.h"
#include "tests/support/random_mounds.h"

namespace moundwright {
namespace {

double from(double low, double high) { return low + (high - low) * *rc::gen::inRange(0, 1001) / 1000.0; }

/// A slope with a swell in it, shot on a jittered grid.
Ground random_ground() {
  std::mt19937_64 random(*rc::gen::arbitrary<std::uint64_t>());
  std::uniform_real_distribution<double> jitter(-6, 6), noise(-0.2, 0.2);
  const double a = from(-0.06, 0.06), b = from(-0.08, 0.08);
  std::vector<Shot> shots;
  for (int i = -12; i <= 12; ++i) {
    for (int j = -12; j <= 12; ++j) {
      const double e = 20 * i + jitter(random), n = 20 * j + jitter(random);
      const double z = 100 + a * e + b * n + std::sin(e / 31) * std::cos(n / 23) + noise(random);
      shots.push_back({"", n, e, z, "", 0});
    }
  }
  return make_ground(shots);
}

/// Two to four pieces, each bend up to 100 degrees either way.
MoundDesign random_design() {
  MoundDesign design;
  double azimuth = from(0, 360);
  Point2 at(0, 0);
  design.bed.width = from(4, 10);
  design.bed.line = {at};
  const int pieces = *rc::gen::inRange(2, 5);
  for (int i = 0; i < pieces; ++i) {
    at += from(20, 60) * direction_of(azimuth);
    design.bed.line.push_back(at);
    azimuth += from(-100, 100);
  }
  Layer cover;
  cover.name = "cover";
  cover.top = from(1, 2);
  cover.beyond = {from(0, 4), from(0, 4), from(0, 4), from(0, 4)};
  cover.side = {from(1, 4), from(1, 4), from(1, 4), from(1, 4)};
  design.layers = {cover};
  design.least_sand = 1;
  design.downslope = azimuth_of(at) + 90;
  RC_PRE(!check_design(design).has_errors());
  return design;
}

bool is_on_own_side(const MoundShape& shape, std::size_t piece, const Point2& p) {
  for (std::size_t other = 0; other < shape.bed.size(); ++other) {
    if (other + 1 != piece && other != piece + 1) continue;
    const Point2& bend = shape.line[std::max(other, piece)];
    const Point2 before = (bend - shape.line[std::max(other, piece) - 1]).normalized(),
                 after = (shape.line[std::max(other, piece) + 1] - bend).normalized();
    const double past = (before + after).dot(p - bend);
    if (other > piece ? past > 1e-7 : past < -1e-7) return false;
  }
  return true;
}

/// Length of the square line at a station of a face; nullopt where it leaves its piece first, and at a bend, which has
/// two.
std::optional<double> length_at(const MoundPlace& place, const ToeLine& toe, Face face, double station) {
  for (const BedEdge& edge : bed_edges(place.shape(), face)) {
    const double length = (edge.to - edge.from).norm();
    if (station > length) {
      station -= length;
      continue;
    }
    if (std::min(station, length - station) < 1e-6) return std::nullopt;
    const Point2 foot = edge.from + (edge.to - edge.from) * (station / length);
    const std::optional<double> out = distance_to_toe(place, toe, foot, edge.outward);
    if (!out || !is_on_own_side(place.shape(), edge.piece, foot + *out * edge.outward)) return std::nullopt;
    return out;
  }
  return std::nullopt;
}

double face_length(const MoundPlace& place, Face face) {
  double length = 0;
  for (const BedEdge& edge : bed_edges(place.shape(), face)) length += (edge.to - edge.from).norm();
  return length;
}

RC_GTEST_PROP(BermLengths, MiddleIsBetweenLeastAndMost, ()) {
  const Ground ground = random_ground();
  const MoundPlace place = place_as_drawn(ground, random_design());
  const BermLengths berm = build_up(place).berm;
  for (const BermLength& length : {berm.upslope, berm.downslope, berm.left, berm.right}) {
    RC_ASSERT(length.least <= length.middle);
    RC_ASSERT(length.middle <= length.most);
  }
}

// Square lines taken one by one, each from its foot to the toe: all of them within least and most, and `middle` that of
// the one nearest mid-length.
RC_GTEST_PROP(BermLengths, AreThoseOfTheSquareLines, ()) {
  const Ground ground = random_ground();
  const PlacedMound mound = place_mound(place_as_drawn(ground, random_design()));
  const Buildup& b = mound.buildup;
  RC_PRE(b.toe.off_survey == 0 && b.toe.outer.size() == 1);
  for (const auto& [face, length] : {std::pair{Face::upslope, b.berm.upslope},
                                     {Face::downslope, b.berm.downslope},
                                     {Face::left, b.berm.left},
                                     {Face::right, b.berm.right}}) {
    const double whole = face_length(mound, face);
    constexpr double rounding = 1e-7;
    for (int i = 1; i < 40; ++i) {
      const std::optional<double> out = length_at(mound, b.toe, face, whole * i / 40);
      if (!out) continue;
      RC_ASSERT(*out > length.least - rounding);
      RC_ASSERT(*out < length.most + rounding);
      if (i == 20) RC_ASSERT(std::abs(*out - length.middle) < rounding);
    }
  }
}

// Upright ends flush with the bed's own ends: their walls run along the outermost square lines and end none of them.
TEST(BermLengths, OfAFaceBetweenUprightEndsAreThoseOfItsLines) {
  MoundDesign design;
  design.bed = straight_bed({0, 0}, 90, 60, 10);
  design.downslope = 180;
  design.bottom_elevation = 101;
  Layer cover;
  cover.name = "cover";
  cover.top = 2.5;
  cover.beyond = {3, 3, 0, 0};
  cover.side = {3, 3, 0, 0};
  design.layers = {cover};
  std::vector<Shot> shots;
  for (const double n : {-80.0, 80.0}) {
    for (const double e : {-80.0, 80.0}) shots.push_back({"", n, e, 100, "", 0});
  }
  const BermLengths berm = build_up(place_as_drawn(make_ground(shots), design)).berm;
  const double length = 3 + 3 * 3.5;  // level ground
  for (const BermLength& face : {berm.upslope, berm.downslope}) {
    EXPECT_NEAR(face.least, length, 1e-9);
    EXPECT_NEAR(face.middle, length, 1e-9);
    EXPECT_NEAR(face.most, length, 1e-9);
  }
  for (const BermLength& face : {berm.left, berm.right}) {
    EXPECT_NEAR(face.least, 0, 1e-9);
    EXPECT_NEAR(face.most, 0, 1e-9);
  }
}

/// How far the finished mound stands above ground on a line out from the bed's edge, got from the layers' own shapes
/// and the ground alone: stepped out until it no longer does, and halved to the place.
class Walker {
 public:
  explicit Walker(const PlacedMound& mound) : mound_(mound) {}

  bool stands(const Point2& uv) const {
    const std::optional<double> z = elevation_at(mound_.ground, mound_.to_reduced(uv));
    if (!z) return false;
    return std::any_of(mound_.shape().layers.begin(), mound_.shape().layers.end(), [&](const LayerShape& layer) {
      const std::optional<double> height = shape_height(layer, uv);
      return height && mound_.buildup.bottom_elevation + *height > *z;
    });
  }

  double walk(const Point2& from, const Point2& outward) const {
    constexpr double step = 0.05;
    double on = 0;
    while (stands(from + (on + step) * outward)) on += step;
    double off = on + step;
    for (int i = 0; i < 40; ++i) {
      const double middle = 0.5 * (on + off);
      (stands(from + middle * outward) ? on : off) = middle;
    }
    return on;
  }

 private:
  const PlacedMound& mound_;
};

/// Lengths of the lines that stay on their own piece, in order along the face; empty where one begins off the mound.
std::vector<double> walked(const Walker& walker, const MoundPlace& place, Face face) {
  constexpr int lines = 24;
  std::vector<double> lengths;
  for (const BedEdge& edge : bed_edges(place.shape(), face)) {
    for (int i = 0; i < lines; ++i) {
      const Point2 foot = edge.from + (edge.to - edge.from) * ((i + 0.5) / lines);
      if (!walker.stands(foot + 1e-6 * edge.outward)) return {};
      const double out = walker.walk(foot + 1e-6 * edge.outward, edge.outward) + 1e-6;
      if (is_on_own_side(place.shape(), edge.piece, foot + out * edge.outward)) lengths.push_back(out);
    }
  }
  return lengths;
}

TEST(BermLengths, OfShortPiecesUnderLongBermsAreThoseWalkedOut) {
  Dice dice{std::mt19937(33)};
  int faces = 0;
  for (int i = 0; i < 80; ++i) {
    SCOPED_TRACE(i);
    const MoundDesign design = good_bent_design(dice);
    const Ground ground = make_ground(twisted_shots(dice, 40, 60));
    const PlacedMound mound = place_mound(place_as_drawn(ground, design));
    const Buildup& b = mound.buildup;
    if (!b.toe.holes.empty() || b.toe.outer.size() != 1) continue;  // a berm is measured past what stands out inside it
    const Walker walker(mound);
    for (const auto& [face, berm] : {std::pair{Face::upslope, b.berm.upslope},
                                     {Face::downslope, b.berm.downslope},
                                     {Face::left, b.berm.left},
                                     {Face::right, b.berm.right}}) {
      const std::vector<double> lengths = walked(walker, mound, face);
      if (lengths.size() < 10) continue;
      ++faces;
      double jump = 0;
      for (std::size_t k = 1; k < lengths.size(); ++k) jump = std::max(jump, std::abs(lengths[k] - lengths[k - 1]));
      const auto [least, most] = std::minmax_element(lengths.begin(), lengths.end());
      constexpr double rounding = 1e-5;  // a toe along a bisector is on either side of it
      EXPECT_GT(*least, berm.least - rounding);
      EXPECT_LT(*most, berm.most + rounding);
      EXPECT_LT(*least - berm.least, jump + rounding) << "no line is so short";
      EXPECT_LT(berm.most - *most, jump + rounding) << "no line is so long";
    }
  }
  EXPECT_GT(faces, 60);
}

/// A piece of the bed's edge on one side (1: left of the line), worked out anew: where the piece's own edge meets the
/// lines that halve the bends at its ends.
BedEdge edge_by_hand(const MoundShape& shape, std::size_t piece, double side) {
  const std::vector<Point2>& line = shape.line;
  const auto along = [&](std::size_t i) { return Point2((line[i + 1] - line[i]) / (line[i + 1] - line[i]).norm()); };
  const Point2 a = along(piece), outward(-side * a.y(), side * a.x());
  const auto corner = [&](std::size_t bend) {
    const Point2 across = line[bend] + shape.half_width * outward;
    if (bend == 0 || bend + 1 == line.size()) return across;
    const Point2 halving = along(bend - 1) + along(bend);
    return Point2(across - a * halving.dot(across - line[bend]) / halving.dot(a));
  };
  return {corner(piece), corner(piece + 1), outward, piece};
}

/// Where a ray first meets the toe, every stretch of it tried by itself.
std::optional<double> cast(const std::vector<Polygon2>& toe, const Point2& from, const Point2& way) {
  std::optional<double> nearest;
  for (const Polygon2& loop : toe) {
    for (std::size_t i = 0; i < loop.size(); ++i) {
      const Point2 p = loop[i] - from, back = loop[i] - loop[(i + 1) % loop.size()];
      const double turn = cross(way, back);
      if (std::abs(turn) < 1e-14) continue;
      const double out = cross(p, back) / turn, share = cross(way, p) / turn;
      if (out >= -1e-9 && share >= 0 && share <= 1) nearest = std::min(nearest.value_or(out), out);
    }
  }
  return nearest;
}

struct Rays {
  std::vector<double> on_own_side, all;
  std::optional<double> middle;  // of all
  bool middle_counts = false;
};

Rays rays_of(const MoundShape& shape, const std::vector<Polygon2>& toe, double side) {
  constexpr int count = 801;  // the one in the middle at mid-length
  std::vector<BedEdge> edges;
  double total = 0;
  for (std::size_t i = 0; i + 1 < shape.line.size(); ++i) {
    edges.push_back(edge_by_hand(shape, i, side));
    total += (edges.back().to - edges.back().from).norm();
  }
  Rays rays;
  for (int k = 0; k < count; ++k) {
    double station = total * (k + 0.5) / count;
    for (const BedEdge& edge : edges) {
      const double length = (edge.to - edge.from).norm();
      if (station > length && edge.piece + 1 < edges.size()) {
        station -= length;
        continue;
      }
      const Point2 foot = edge.from + (edge.to - edge.from) * (station / length);
      const std::optional<double> out = cast(toe, foot, edge.outward);
      if (!out) break;
      const bool counts = is_on_own_side(shape, edge.piece, foot + *out * edge.outward);
      if (counts) rays.on_own_side.push_back(*out);
      rays.all.push_back(*out);
      if (k == count / 2) rays.middle = *out, rays.middle_counts = counts;
      break;
    }
  }
  return rays;
}

// On the inside of a bend of short pieces no line may stay on its own side as far as the toe; the berm is as long there
// as a tape finds it, and never 0.
TEST(BermLengths, OfShortPiecesAreThoseOfRaysToTheToe) {
  Dice dice{std::mt19937(7)};
  int none_on_its_side = 0, faces = 0;
  for (int i = 0; i < 400; ++i) {
    SCOPED_TRACE(i);
    const MoundDesign design = good_bent_design(dice);
    const Ground ground = make_ground(twisted_shots(dice, 40, 60));
    const PlacedMound mound = place_mound(place_as_drawn(ground, design));
    const Buildup& b = mound.buildup;
    if (b.toe.outer.size() != 1) continue;
    std::vector<Polygon2> toe = b.toe.outer;
    for (Point2& p : toe[0]) p = mound.from_reduced(p);
    for (const auto& [side, berm] : {std::pair{-1.0, b.berm.upslope}, {1.0, b.berm.downslope}}) {
      const Rays rays = rays_of(mound.shape(), toe, side);
      if (rays.all.empty()) continue;
      ++faces;
      constexpr double rounding = 1e-5;
      const std::vector<double>& counted = rays.on_own_side.empty() ? rays.all : rays.on_own_side;
      const auto [least, most] = std::minmax_element(counted.begin(), counted.end());
      EXPECT_LT(berm.least, *least + rounding);
      EXPECT_GT(berm.most, *most - rounding);
      EXPECT_GE(berm.middle, berm.least);
      EXPECT_LE(berm.middle, berm.most);
      none_on_its_side += rays.on_own_side.empty();
      if (rays.middle && (rays.middle_counts || rays.on_own_side.empty())) {
        EXPECT_NEAR(berm.middle, *rays.middle, rounding);
      }
    }
  }
  EXPECT_GT(faces, 300);
  EXPECT_GT(none_on_its_side, 10);
}

// A few degrees over pieces of a foot or two, and a berm of forty.
TEST(BermLengths, InsideABendOfShortPiecesIsWhatATapeFinds) {
  MoundDesign design;
  design.bed.width = 13;
  design.bed.line = {{1.7, 0}, {0, 0.25}, {-1, 0.6}};
  design.downslope = 0;
  design.bottom_elevation = 103;
  design.layers = {plain_layer("cover", 5, 0.5, 5)};
  std::vector<Shot> shots;
  for (const double n : {-150.0, 150.0}) {
    for (const double e : {-150.0, 150.0}) shots.push_back({"", n, e, 100, "", 0});
  }
  const BermLengths berm = build_up(place_as_drawn(make_ground(shots), design)).berm;
  const double length = 0.5 + 5 * 8.0;  // level ground
  for (const BermLength& face : {berm.upslope, berm.downslope}) EXPECT_NEAR(face.middle, length, 1);
}

TEST(ToeLine, EnclosesNothingWhereGroundStandsOutOfTheMound) {
  ToeLine toe;
  toe.outer = {{{0, 0}, {10, 0}, {10, 10}, {0, 10}}};
  toe.holes = {{{4, 4}, {4, 6}, {6, 6}, {6, 4}}};
  EXPECT_TRUE(encloses(toe, {2, 5}));
  EXPECT_FALSE(encloses(toe, {5, 5}));
  EXPECT_FALSE(encloses(toe, {12, 5}));
}

}  // namespace
}  // namespace moundwright

// Busts side by side are told as a group; what ground does, and what crews shoot for its own sake, is none.
#include "geom/bust_groups.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <functional>
#include <initializer_list>
#include <random>
#include <sstream>

#include "test_paths.h"

namespace moundwright {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;

using Height = std::function<double(double, double)>;

double rolling(double x, double y) {
  return 412 + 0.075 * y - 0.03 * x + 0.8 * std::sin(y / 37) + 0.6 * std::cos(x / 29);
}

/// A shot about every 15 over 180 by 180.
std::vector<Shot> lot(const Height& height = rolling, unsigned seed = 7) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> off(-2, 2);
  std::normal_distribution<double> noise(0, 0.02);
  std::vector<Shot> shots;
  for (int i = 0; i < 12; ++i) {
    for (int k = 0; k < 12; ++k) {
      const double x = 15.0 * k + off(random), y = 15.0 * i + off(random);
      const int number = static_cast<int>(shots.size());
      shots.push_back({std::to_string(101 + number), y, x, height(x, y) + noise(random), "GS", number + 2});
    }
  }
  return shots;
}

std::vector<std::size_t> nearest(const std::vector<Shot>& shots, double x, double y, std::size_t count) {
  std::vector<std::size_t> all(shots.size());
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = i;
  std::sort(all.begin(), all.end(), [&](std::size_t a, std::size_t b) {
    const auto off = [&](std::size_t i) { return std::hypot(shots[i].easting - x, shots[i].northing - y); };
    return off(a) < off(b);
  });
  all.resize(count);
  std::sort(all.begin(), all.end());
  return all;
}

std::vector<BustGroup> groups_of(const std::vector<Shot>& shots, const std::vector<Breakline>& lines = {}) {
  const Ground ground = make_ground(shots, lines);
  std::vector<bool> on_line(ground.points.size());
  for (std::size_t i = 0; i < on_line.size(); ++i) {
    for (const Breakline& line : lines) {
      on_line[i] = on_line[i] || std::find(line.begin(), line.end(), ground.shot_of_point[i]) != line.end();
    }
  }
  return find_bust_groups(ground, find_standings(ground), on_line, GroundOptions{}.bust_factor);
}

/// The shots of all groups, by index.
std::vector<std::size_t> shots_in_groups(const std::vector<Shot>& shots) {
  const Ground ground = make_ground(shots);
  std::vector<std::size_t> found;
  for (const BustGroup& group : groups_of(shots)) {
    for (const std::uint32_t p : group.points) found.push_back(static_cast<std::size_t>(ground.shot_of_point[p]));
  }
  std::sort(found.begin(), found.end());
  return found;
}

TEST(BustGroups, OfOneSetUpAreFound) {
  for (const double off : {1.0, -1.0, 3.0, -10.0, 100.0}) {
    for (const std::size_t count : {2U, 3U, 5U, 9U}) {
      for (unsigned seed = 1; seed <= 5; ++seed) {
        if (std::abs(off) < 3 && count > 3) continue;  // a foot over forty feet square is what ground may do
        auto shots = lot(rolling, seed);
        const auto group = nearest(shots, 85, 85, count);
        for (const std::size_t i : group) shots[i].elevation += off;
        EXPECT_EQ(shots_in_groups(shots), group) << off << " " << count << " " << seed;
      }
    }
  }
}

TEST(BustGroups, AtTheEdgeOfTheSurveyAreFoundWhereNoBankIsSoSteep) {
  for (const std::size_t count : {5U, 20U, 60U}) {
    auto shots = lot();
    std::vector<std::size_t> group;
    for (std::size_t i = 1; i <= count; ++i) group.push_back(i), shots[i].elevation += 100;
    EXPECT_EQ(shots_in_groups(shots), group) << count;
  }
}

TEST(BustGroups, AreToldWithTheCauseAndNoGoodShotIs) {
  auto shots = lot();
  for (std::size_t i = 1; i <= 20; ++i) shots[i].elevation += 100;
  GroundReport report;
  make_ground(shots, {}, {.files = {{0, "ground.csv"}}}, &report);
  ASSERT_THAT(report.problems.all, SizeIs(1));
  const Problem& told = report.problems.all[0];
  EXPECT_EQ(told.severity, Severity::warning);
  EXPECT_THAT(told.what, AllOf(HasSubstr("points 102, 103, "), HasSubstr("20 shots side by side, stand "),
                               HasSubstr("above the ground all round them"), HasSubstr("height of instrument")));
  EXPECT_THAT(told.where, testing::StartsWith("ground.csv line 3"));
  EXPECT_THAT(told.what_to_do, HasSubstr("check"));
}

TEST(BustGroups, HoldThoseOfTheirShotsThatStandFarFromTheOthers) {
  int found = 0;
  for (unsigned seed = 1; seed <= 20; ++seed) {
    auto shots = lot(rolling, seed);
    std::mt19937 random(seed);
    std::normal_distribution<double> off(0, 6), noise(0, 0.02);
    for (const double x : {45.0, 90.0, 150.0}) {  // dense where something is to be built
      for (int i = 0; i < 70; ++i) {
        const double e = x + off(random), n = 170 - x + off(random);
        shots.push_back({fmt::format("D{}", shots.size()), n, e, rolling(e, n) + noise(random), "GS", 0});
      }
    }
    const auto group = nearest(shots, 90, 80, 80);  // one place and ten shots round it
    for (const std::size_t i : group) shots[i].elevation += 8;
    found += shots_in_groups(shots) == group ? 1 : 0;
  }
  EXPECT_GE(found, 15);
}

TEST(BustGroups, OrdinaryGroundHasNone) {
  for (unsigned seed = 1; seed <= 100; ++seed) EXPECT_THAT(groups_of(lot(rolling, seed)), IsEmpty()) << seed;
  const std::vector<Height> lots = {
      [](double x, double) { return 100 + 4 * std::floor(x / 45); },  // terraces
      [](double x, double) { return x < 90    ? 100.0
                                    : x < 102 ? 100 + 0.5 * (x - 90)
                                              : 106; },  // a bank
      [](double x, double y) { return 100 + 0.0008 * ((x - 90) * (x - 90) + (y - 90) * (y - 90)); },
      [](double x, double y) { return 100 + 12 * std::exp(-std::hypot(x - 90, y - 90) / 40); },  // a hill
      [](double x, double) { return 100 - 3 * std::exp(-std::abs(x - 90) / 12); },               // a swale
      [](double x, double y) { return 100 + 0.1 * std::abs(x - y); },  // a ridge, the other way
      [](double, double y) { return y > 160 ? 108.0 : 100.0; }};       // the road above
  for (std::size_t which = 0; which < lots.size(); ++which) {
    for (unsigned seed = 1; seed <= 20; ++seed)
      EXPECT_THAT(groups_of(lot(lots[which], seed)), IsEmpty()) << which << " " << seed;
  }
}

TEST(BustGroups, WhatWasShotForItsOwnSakeIsNone) {
  // A pad 30 square and a berm, 4 and 3 high at 2:1, with shots at top and toe, on an even lot.
  const auto even = [](double x, double y) { return 100 + 0.02 * x - 0.05 * y; };
  auto shots = lot(even);
  std::erase_if(shots, [](const Shot& s) { return std::hypot(s.easting - 90, s.northing - 90) < 42; });
  const auto add = [&](double x, double y, double up) {
    shots.push_back({fmt::format("P{}", shots.size()), y, x, even(x, y) + up, "GS", 0});
  };
  for (const double half : {15.0, 23.0}) {
    for (const double s : {-1.0, 0.0, 1.0}) {
      for (const double t : {-1.0, 0.0, 1.0}) {
        if (s == 0 && t == 0 && half > 15) continue;
        add(90 + half * s, 90 + half * t, half > 15 ? 0 : 4);
      }
    }
  }
  EXPECT_THAT(groups_of(shots), IsEmpty());
  auto berm = lot(even);
  std::erase_if(berm, [](const Shot& s) { return std::abs(s.easting - 90) < 10 && std::abs(s.northing - 90) < 40; });
  shots = berm;
  for (double y = 60; y <= 120; y += 12) add(90, y, 3), add(84, y, 0), add(96, y, 0);
  add(90, 54, 0), add(90, 126, 0);
  EXPECT_THAT(groups_of(shots), IsEmpty());
}

std::vector<std::vector<double>> numbers_in(const std::string& file) {
  std::ifstream in(std::string(MOUNDWRIGHT_TEST_DATA) + "/" + file);
  std::vector<std::vector<double>> rows;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#' || line[0] == 'x') continue;
    std::istringstream cells(line);
    rows.emplace_back();
    for (std::string cell; std::getline(cells, cell, ',');) rows.back().push_back(std::stod(cell));
  }
  return rows;
}

TEST(BustGroups, PublishedSurveysHaveNoneNorPairsTooSteep) {
  std::vector<Shot> davis, crater;
  for (const auto& row : numbers_in("davis1973-topo.csv"))
    davis.push_back({"", 50 * row[1], 50 * row[0], row[2], "", 0});
  const auto rows = numbers_in("maunga-whau-dem.csv");
  for (std::size_t r = 0; r < rows.size(); ++r) {
    for (std::size_t c = 0; c < rows[r].size(); ++c) {
      crater.push_back({"", 10.0 * static_cast<double>(c), -10.0 * static_cast<double>(r), rows[r][c], "", 0});
    }
  }
  ASSERT_THAT(davis, SizeIs(52));
  ASSERT_THAT(crater, SizeIs(87 * 61));
  for (const auto& shots : {davis, crater}) {
    EXPECT_THAT(groups_of(shots), IsEmpty());
    GroundReport report;
    make_ground(shots, {}, {}, &report);
    for (const Problem& problem : report.problems.all) EXPECT_THAT(problem.what, Not(HasSubstr("apart in plan")));
  }
}

TEST(BustGroups, WhatHasACodeOfItsOwnIsTakenAsGroundAndNoted) {
  // A heap 6 high at 1.5:1, its toe and the rim of its top shot all round.
  const auto even = [](double x, double y) { return 100 + 0.02 * x - 0.05 * y; };
  const auto with_heap = [&](const std::string& top) {
    auto shots = lot(even);
    std::erase_if(shots, [](const Shot& s) { return std::hypot(s.easting - 90, s.northing - 90) < 14; });
    for (int i = 0; i < 12; ++i) {
      const double angle = 0.5236 * i, c = std::cos(angle), s = std::sin(angle);
      shots.push_back({"", 90 + 12 * s, 90 + 12 * c, even(90 + 12 * c, 90 + 12 * s), "TOE", 0});
      shots.push_back({"", 90 + 3 * s, 90 + 3 * c, even(90 + 3 * c, 90 + 3 * s) + 6, top, 0});
    }
    return shots;
  };
  for (const std::string top : {"TOP", "TOP 4"}) {
    GroundReport report;
    make_ground(with_heap(top), {}, {}, &report);
    ASSERT_THAT(report.problems.all, SizeIs(1)) << top;
    EXPECT_EQ(report.problems.all[0].severity, Severity::note);
    EXPECT_THAT(report.problems.all[0].what,
                HasSubstr("taken as ground, since nothing round them has their code, TOP"));
  }
  for (const std::string top : {"TOE", ""}) {
    GroundReport report;
    make_ground(with_heap(top), {}, {}, &report);
    ASSERT_THAT(report.problems.all, SizeIs(1)) << top;
    EXPECT_EQ(report.problems.all[0].severity, Severity::warning);
    EXPECT_THAT(report.problems.all[0].what, HasSubstr("12 shots side by side"));
    EXPECT_THAT(report.problems.all[0].what_to_do, HasSubstr("where the ground is so, join its top and toe"));
  }
}

TEST(BustGroups, AreToldWorstFirstWithTheirNearestAndFarthest) {
  auto shots = lot();
  const auto off = [&](double x, double y, std::initializer_list<double> by) {
    const auto group = nearest(shots, x, y, by.size());
    for (std::size_t i = 0; i < group.size(); ++i) shots[group[i]].elevation += by.begin()[i];
  };
  off(45, 45, {10, 11, 12});
  off(130, 130, {-28, -30, -32});
  const std::vector<BustGroup> groups = groups_of(shots);
  ASSERT_THAT(groups, SizeIs(2));
  const double ground = 2;  // may stray from a surface of second degree by so much between the shots round a group
  EXPECT_NEAR(groups[0].stands_out, -30, ground);
  EXPECT_NEAR(groups[0].least, -28, ground);
  EXPECT_NEAR(groups[0].most, -32, ground);
  EXPECT_NEAR(groups[1].stands_out, 11, ground);
  EXPECT_LT(groups[1].least, groups[1].stands_out);
  EXPECT_GT(groups[1].most, groups[1].stands_out);
  EXPECT_GT(groups[0].least, groups[0].most);
}

TEST(BustGroups, MostlyOnALineAreNone) {
  auto shots = lot();
  const auto group = nearest(shots, 85, 85, 4);
  for (const std::size_t i : group) shots[i].elevation += 10;
  const Ground ground = make_ground(shots);
  const auto found = [&](std::size_t on_line) {
    std::vector<bool> is_on_line(ground.points.size());
    for (std::size_t p = 0; p < is_on_line.size(); ++p) {
      const auto end = group.begin() + static_cast<std::ptrdiff_t>(on_line);
      is_on_line[p] = std::find(group.begin(), end, static_cast<std::size_t>(ground.shot_of_point[p])) != end;
    }
    return find_bust_groups(ground, find_standings(ground), is_on_line, GroundOptions{}.bust_factor);
  };
  EXPECT_THAT(found(2), SizeIs(1));
  EXPECT_THAT(found(3), IsEmpty());
}

TEST(BustGroups, ALineIsNone) {
  auto shots = lot();
  Breakline line;
  for (std::size_t i = 52; i < 58; ++i) line.push_back(i), shots[i].elevation += 3;
  EXPECT_THAT(groups_of(shots, {line}), IsEmpty());
}

}  // namespace
}  // namespace moundwright

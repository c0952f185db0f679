// Busts and bench marks: what looks wrong is told, what is only rough is not.
#include "geom/ground_checks.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace moundwright {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

template <class F>
std::vector<Shot> scattered(int count, F f, unsigned seed = 3) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> place(0.0, 300.0);
  std::vector<Shot> shots;
  for (int i = 0; i < count; ++i) {
    const double x = place(random), y = place(random);
    shots.push_back({std::to_string(100 + i), 5000 + y, 4000 + x, f(x, y, random), "", i + 2});
  }
  return shots;
}

double undulating(double x, double y) { return 100 + 0.05 * x + std::sin(x / 25) * std::cos(y / 20); }

double noisy(double x, double y, std::mt19937& random) {
  return undulating(x, y) + std::normal_distribution<double>(0, 0.05)(random);
}

std::vector<Bust> busts_of(const std::vector<Shot>& shots, const std::vector<Breakline>& breaklines = {}) {
  return find_busts(make_ground(shots, breaklines), GroundOptions{}.bust_factor);
}

/// A shot in the middle of the lot, away from the edge.
std::size_t in_the_middle(const std::vector<Shot>& shots) {
  std::size_t best = 0;
  const auto off = [&](std::size_t i) { return std::hypot(shots[i].northing - 5150, shots[i].easting - 4150); };
  for (std::size_t i = 0; i < shots.size(); ++i) {
    if (off(i) < off(best)) best = i;
  }
  return best;
}

TEST(Busts, TenFeetOffIsTold) {
  for (const double off : {10.0, -10.0}) {
    auto shots = scattered(150, noisy);
    const std::size_t bad = in_the_middle(shots);
    shots[bad].elevation += off;
    GroundReport report;
    make_ground(shots, {}, {}, &report);
    ASSERT_THAT(report.problems.all, SizeIs(1));
    const Problem& told = report.problems.all[0];
    EXPECT_EQ(told.severity, Severity::warning);
    EXPECT_THAT(told.what, AllOf(HasSubstr("point " + shots[bad].point + " at elevation"),
                                 HasSubstr(off > 0 ? "above the ground round it" : "below the ground round it"),
                                 HasSubstr("mean")));
    EXPECT_THAT(told.where, AllOf(HasSubstr("line " + std::to_string(shots[bad].line)), HasSubstr("N ")));
  }
}

TEST(Busts, AFootOffOnASmoothLotIsTold) {
  auto shots = scattered(900, noisy);
  const std::size_t bad = in_the_middle(shots);
  shots[bad].elevation -= 1.5;
  const auto busts = busts_of(shots);
  ASSERT_THAT(busts, SizeIs(1));
  EXPECT_LT(busts[0].stands_out, -0.8);
  EXPECT_LE(busts[0].lowest, busts[0].mean);
  EXPECT_LE(busts[0].mean, busts[0].highest);
  EXPECT_GT(busts[0].mean, shots[bad].elevation + 0.8);
}

TEST(Busts, OrdinaryGroundHasNone) {
  for (unsigned seed = 1; seed <= 20; ++seed) {
    EXPECT_THAT(busts_of(scattered(200, noisy, seed)), IsEmpty()) << "seed " << seed;
    EXPECT_THAT(busts_of(scattered(2000, noisy, seed)), IsEmpty()) << "seed " << seed;
  }
}

TEST(Busts, RoughGroundHasNone) {
  const auto rough = [](double, double, std::mt19937& random) {
    return std::uniform_real_distribution<double>(95, 105)(random);
  };
  for (unsigned seed = 1; seed <= 5; ++seed) EXPECT_THAT(busts_of(scattered(3000, rough, seed)), IsEmpty());
}

TEST(Busts, ADitchAndABankAreNone) {
  // A flat lot, shot every 15 ft, with a ditch (8 ft wide, 3 ft deep) and a bank (6 ft high at 2:1) across it.
  std::vector<Shot> shots;
  const auto add = [&](double x, double y, double z) {
    shots.push_back({std::to_string(shots.size()), y, x, z, "", 0});
  };
  Breakline ditch, top, toe;
  for (int row = 0; row <= 12; ++row) {
    const double y = 15.0 * row + 0.3 * (row % 3);
    for (const double x : {0.0, 15.0, 30.0, 45.0}) add(x, y, 100.0 + 0.02 * ((row * 7) % 5));
    add(56, y, 100);
    ditch.push_back(shots.size()), add(60, y, 97);
    add(64, y, 100);
    add(80, y, 100);
    toe.push_back(shots.size()), add(95, y, 100);
    top.push_back(shots.size()), add(107, y, 106);
    add(120, y, 106);
    add(135, y, 106);
  }
  EXPECT_THAT(busts_of(shots), IsEmpty());
  EXPECT_THAT(busts_of(shots, {ditch, top, toe}), IsEmpty());
}

TEST(Busts, AFallTowardTheEdgeIsNone) {
  // Rolls off ever more steeply: shots at the outside lie below all their neighbours, as their neighbours' slope has
  // it.
  const auto rolling = [](double x, double y, std::mt19937& random) {
    return 100 - 0.001 * ((x - 150) * (x - 150) + (y - 150) * (y - 150)) +
           std::normal_distribution<double>(0, 0.02)(random);
  };
  for (unsigned seed = 1; seed <= 10; ++seed) EXPECT_THAT(busts_of(scattered(400, rolling, seed)), IsEmpty()) << seed;
}

TEST(Busts, AfterTwentyAreOnlyCounted) {
  auto shots = scattered(2000, noisy);
  for (std::size_t i = 0; i < 40; ++i) shots[i * 50].elevation += 10;
  GroundReport report;
  const Ground ground = make_ground(shots, {}, {}, &report);
  const std::size_t found = find_busts(ground, GroundOptions{}.bust_factor).size();
  ASSERT_GT(found, 20u);
  const auto& told = report.problems.all;
  const auto groups = static_cast<std::size_t>(
      std::count_if(told.begin(), told.end(), [](const Problem& p) { return p.what.find("side by side") < 99; }));
  ASSERT_THAT(told, SizeIs(21 + groups));
  EXPECT_THAT(told.back().what, HasSubstr(" more"));
}

// ---- bench mark ----

constexpr double bed_limit = 0.05;

Mark mark(double northing, double easting, double elevation) { return {"BM1", {easting, northing}, elevation}; }

TEST(BenchMark, ThatFitsIsNotTold) {
  EXPECT_THAT(check_benchmark(scattered(100, noisy), mark(5000, 3900, 104.2), bed_limit).all, IsEmpty());
}

TEST(BenchMark, NorthingAndEastingExchangedAreTold) {
  const auto problems = check_benchmark(scattered(100, noisy), mark(4020, 5100, 104.2), bed_limit);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_EQ(problems.all[0].where, "bench mark BM1");
  EXPECT_THAT(problems.all[0].what, HasSubstr("with northing and easting exchanged"));
}

TEST(BenchMark, CoordinatesInTheOtherUnitAreTold) {
  const auto shots = scattered(100, noisy);
  auto problems = check_benchmark(shots, mark(5100 / 0.3048, 4150 / 0.3048, 104.2), bed_limit);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_THAT(problems.all[0].what, HasSubstr("would be among them in meters, at N 5100.00, E 4150.00"));
  EXPECT_THAT(problems.all[0].what_to_do, HasSubstr("the shots seem to be in meters"));
  problems = check_benchmark(shots, mark(5100 * 0.3048, 4150 * 0.3048, 104.2), bed_limit);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_THAT(problems.all[0].what, HasSubstr("would be among them in feet, at N 5100.00, E 4150.00"));
}

TEST(BenchMark, AShotFarOffHidesNothing) {
  auto shots = scattered(100, [](double x, double y, std::mt19937& r) { return 800 + noisy(x, y, r); });
  shots[7].easting *= 1000, shots[8].elevation = -99999;
  EXPECT_THAT(check_benchmark(shots, mark(4020, 5100, 905), bed_limit).all, SizeIs(1));
  EXPECT_THAT(check_benchmark(shots, mark(5000, 4000, 905 * 0.3048), bed_limit).all, SizeIs(1));
}

TEST(BedPlace, ShowsExchangedColumnsWhereNoBenchMarkDoes) {
  const auto shots = scattered(100, noisy);
  EXPECT_THAT(check_bed_place(shots, {4150, 5100}, "mound.center").all, IsEmpty());
  EXPECT_THAT(check_bed_place(shots, {4150, 5600}, "mound.center").all,
              IsEmpty());  // just off: the berm's checks say so
  const auto problems = check_bed_place(shots, {5100, 4150}, "mound.center");
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_EQ(problems.all[0].where, "mound.center");
  EXPECT_THAT(problems.all[0].what, AllOf(HasSubstr("the middle of the bed"), HasSubstr("exchanged")));
}

TEST(BenchMark, FarFromEveryShotIsTold) {
  const auto problems = check_benchmark(scattered(100, noisy), mark(500000, 1700000, 104.2), bed_limit);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_THAT(problems.all[0].what, HasSubstr("from the nearest of the shots"));
}

TEST(BenchMark, MetresForFeetAreTold) {
  const auto shots = scattered(100, [](double x, double y, std::mt19937& r) { return 800 + noisy(x, y, r); });
  auto problems = check_benchmark(shots, mark(5000, 4000, 905 * 0.3048), bed_limit);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_THAT(problems.all[0].what, HasSubstr("in meters it would be 905.00 ft"));
  problems = check_benchmark(shots, mark(5000, 4000, 905 / 0.3048), bed_limit);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_THAT(problems.all[0].what, HasSubstr("in feet it would be 905.00 m"));
  problems = check_benchmark(shots, mark(5000, 4000, 100), bed_limit);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_THAT(problems.all[0].what, HasSubstr("100.00 but the shots lie between"));
}

TEST(BenchMark, HundredsOffTheGroundRoundItAreRefusedAndOneFarAwayIsWarnedOf) {
  const auto shots = scattered(100, [](double x, double y, std::mt19937& r) { return 5800 + noisy(x, y, r); });
  const auto severity = [&](const Mark& given) {
    const Problems told = check_benchmark(shots, given, bed_limit);
    return told.all.size() == 1 ? std::optional(told.all[0].severity) : std::nullopt;
  };
  EXPECT_EQ(severity(mark(5000, 4000, 5905)), std::nullopt);
  EXPECT_EQ(severity(mark(5000, 4000, 5505)), Severity::error);  // another datum, though within a tenth of it
  EXPECT_EQ(severity(mark(5000, 4000, 5905 * 0.3048)), Severity::error);
  EXPECT_EQ(severity(mark(6200, 4000, 4000)), Severity::warning);
}

TEST(BenchMark, ThatDoesNotFitIsToldOnceNotAgainByItsOwnShot) {
  auto shots = scattered(100, [](double x, double y, std::mt19937& r) { return 800 + noisy(x, y, r); });
  shots.push_back({"BM1", 5010, 4010, 904.0, "BM", 0});
  for (Shot& s : shots) std::swap(s.northing, s.easting);
  EXPECT_THAT(check_benchmark(shots, mark(5010, 4010, 904.0), bed_limit).all, SizeIs(1));
  for (Shot& s : shots) std::swap(s.northing, s.easting);
  EXPECT_THAT(check_benchmark(shots, mark(5010, 4010, 904.0 * 0.3048), bed_limit).all, SizeIs(1));
}

TEST(BenchMark, SurveyFeetForInternationalAreToldFromItsOwnShot) {
  auto shots = scattered(100, noisy);
  for (Shot& s : shots) s.northing += 500000, s.easting += 1700000;
  const Mark given = mark(505100, 1704100, 104.2);
  const double us_per_international = 0.3048 * 3937 / 1200;
  shots.push_back(
      {"BM1", given.at.y() * us_per_international + 0.02, given.at.x() * us_per_international - 0.03, 104.2, "", 0});
  auto problems = check_benchmark(shots, given, bed_limit);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_THAT(problems.all[0].what, HasSubstr("3.5"));
  EXPECT_THAT(problems.all[0].what_to_do, HasSubstr("US survey feet"));

  shots.back() = {"BM1", given.at.y() + 3.5, given.at.x(), 104.2, "", 0};
  problems = check_benchmark(shots, given, bed_limit);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_THAT(problems.all[0].what_to_do, testing::Not(HasSubstr("survey feet")));

  shots.back() = {"BM1", given.at.y() + 0.05, given.at.x(), 104.2, "", 0};
  EXPECT_THAT(check_benchmark(shots, given, bed_limit).all, IsEmpty());
}

TEST(BenchMark, AnotherElevationThanItsOwnShotIsTold) {
  auto shots = scattered(100, noisy);
  const Mark given = mark(5000, 4000, 104.20);
  shots.push_back({"BM1", 5000, 4000, 104.70, "", 0});
  const auto problems = check_benchmark(shots, given, bed_limit);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_THAT(problems.all[0].what, HasSubstr("104.200 in the job but 104.700 among the shots, 0.500 apart"));
  shots.back().elevation = 104.25;
  EXPECT_THAT(check_benchmark(shots, given, bed_limit).all, IsEmpty());
  shots.back().elevation = 104.14;
  EXPECT_THAT(check_benchmark(shots, given, bed_limit).all, SizeIs(1));
}

TEST(BenchMarks, BothAreHeldAgainstTheShots) {
  auto shots = scattered(100, noisy);
  Mark first = mark(5000, 4000, 104.20), second = mark(5010, 4100, 106.00);
  second.name = "BM2";
  shots.push_back({"BM2", 5010, 4100, 106.30, "", 0});
  const auto problems = check_benchmarks(shots, first, second, bed_limit);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_THAT(problems.all[0].where, HasSubstr("BM2"));
  EXPECT_THAT(check_benchmarks(shots, first, std::nullopt, bed_limit).all, IsEmpty());
  EXPECT_THAT(check_benchmarks(shots, std::nullopt, std::nullopt, bed_limit).all, IsEmpty());
}

TEST(BenchMarks, TwoThatAreOnePlaceAreTold) {
  const auto shots = scattered(100, noisy);
  const Mark first = mark(5000, 4000, 104.20);
  Mark second = first;
  second.name = "BM2";
  const auto problems = check_benchmarks(shots, first, second, bed_limit);
  ASSERT_THAT(problems.all, SizeIs(1));
  EXPECT_THAT(problems.all[0].what, HasSubstr("are one place"));
  second.at.x() += 1;
  EXPECT_THAT(check_benchmarks(shots, first, second, bed_limit).all, IsEmpty());
}

}  // namespace
}  // namespace moundwright

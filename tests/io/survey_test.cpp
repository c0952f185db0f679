// What is wrong with a whole survey, told in the order that helps: the cause before what follows from it.
#include "io/survey.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>

#include "geom/contour_interval.h"
#include "made_jobs.h"

namespace moundwright::io {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;
using testing::SizeIs;

/// A hillside of 13 by 13 shots, 15 apart about N 15000, E 5000, falling north; `change` may spoil it.
std::string hillside(const std::function<void(std::vector<Shot>&)>& change = {}) {
  std::vector<Shot> shots;
  for (int i = -6; i <= 6; ++i) {
    for (int k = -6; k <= 6; ++k) {
      const double n = 15.0 * i, e = 15.0 * k + 0.5 * ((i + 8) % 3);
      shots.push_back({std::to_string(shots.size() + 1), 15000 + n, 5000 + e, 100 - 0.08 * n + 0.01 * e, "GS", 0});
    }
  }
  if (change) change(shots);
  std::string csv;
  for (const Shot& s : shots) {
    csv += fmt::format("{},{:.3f},{:.3f},{:.3f},{}\n", s.point, s.northing, s.easting, s.elevation, s.description);
  }
  return csv;
}

constexpr const char* job_text = R"([job]
title = "T"
units = "ft"
[ground]
shots = "g.csv"
[mound]
center = { n = 15000.0, e = 5000.0 }
azimuth = 90.0
bed = { length = 20.0, width = 6.0 }
bottom = { least_sand = 1.0 }
downslope = 0.0
[[layer]]
name = "sand"
top = 0.0
beyond = 1.0
side = 2.0
[[layer]]
name = "cover"
top = 1.0
beyond = 2.0
side = 3.0
)";

constexpr const char* benchmark = "[benchmark]\nname = \"BM1\"\nn = 14985.0\ne = 4970.0\nelevation = 101.0\n";

SiteResults computed(const Scratch& folder, const std::string& csv, const std::string& job = job_text) {
  folder.put("g.csv", csv);
  return compute_site(folder.put("job.toml", job));
}

std::vector<std::string> refusal(const std::string& csv, const std::string& job) {
  std::vector<std::string> texts;
  for (const Problem& problem : problems_of([&] { computed(Scratch(), csv, job); })) texts.push_back(to_text(problem));
  return texts;
}

double yards(const std::string& csv, const std::string& job) {
  return computed(Scratch(), csv, job).found().takeoff.fill_cy;
}

/// The job with a line under [ground].
std::string with_columns(const std::string& line) {
  std::string job = job_text;
  return job.replace(job.find("[mound]"), 0, line);
}

std::string exchanged() {
  return hillside([](std::vector<Shot>& shots) {
    for (Shot& s : shots) std::swap(s.northing, s.easting);
  });
}

std::string in_metres() {
  return hillside([](std::vector<Shot>& shots) {
    for (Shot& s : shots) s.northing *= 0.3048, s.easting *= 0.3048, s.elevation *= 0.3048;
  });
}

TEST(SurveyCauses, ColumnsExchangedAreToldBeforeTheBedOffTheSurvey) {
  for (const std::string& marks : {std::string(benchmark), std::string()}) {  // the bed itself shows it, too
    const auto told = refusal(exchanged(), job_text + marks);
    ASSERT_THAT(told, SizeIs(2)) << marks;
    EXPECT_THAT(told[0], HasSubstr("would be among them with northing and easting exchanged"));
    EXPECT_THAT(told[0], HasSubstr(marks.empty() ? "mound.center: the middle of the bed" : "bench mark BM1"));
    EXPECT_THAT(told[0], HasSubstr("[ground] columns = [\"point\", \"easting\", \"northing\""));
    const std::size_t begin = told[0].find("columns = ["), end = told[0].find(']', begin);
    const std::string columns = told[0].substr(begin, end + 1 - begin) + "\n";
    EXPECT_DOUBLE_EQ(yards(exchanged(), with_columns(columns) + marks), yards(hillside(), job_text + marks));
    EXPECT_THAT(told[1], HasSubstr("there is no surveyed ground under the bed"));
  }
}

TEST(SurveyCauses, MetresForFeetAreToldBeforeTheBedOffTheSurvey) {
  for (const std::string& marks : {std::string(benchmark), std::string()}) {
    const auto told = refusal(in_metres(), job_text + marks);
    ASSERT_THAT(told, SizeIs(testing::Ge(2))) << marks;
    EXPECT_THAT(told[0], HasSubstr("would be among them in meters"));
    EXPECT_THAT(told.back(), HasSubstr("there is no surveyed ground under the bed"));
  }
}

TEST(SurveyCauses, WhatBenchMarksShowGoesBeforeTheShots) {
  const Scratch folder;
  const std::string csv = hillside([](std::vector<Shot>& shots) {
    for (Shot& s : shots) s.elevation += 800;
    shots[84].elevation += 10;
  });
  std::string marks = benchmark;
  marks.replace(marks.find("101.0"), 5, "274.6");  // metres
  const auto told = refusal(csv, job_text + marks);
  ASSERT_THAT(told, SizeIs(testing::Ge(1)));
  EXPECT_THAT(told[0], HasSubstr("error: bench mark BM1"));
  EXPECT_THAT(told[0], HasSubstr("in meters it would be 900.92 ft and fit"));
  marks = benchmark;
  marks.replace(marks.find("101.0"), 5, "500.0");
  marks.replace(marks.find("4970.0"), 6, "4400.0");  // off the lot: a person decides
  const SiteResults results = computed(folder, csv, job_text + marks);
  ASSERT_THAT(results.notes.all, SizeIs(testing::Ge(2)));
  EXPECT_THAT(results.notes.all[0].what, HasSubstr("500.00 but the shots lie between"));
  EXPECT_THAT(results.notes.all[1].what, HasSubstr("point 85 at elevation"));
}

TEST(SurveyCauses, TheAdviceForExchangedColumnsWorksWhenFollowed) {
  const double right = yards(hillside(), job_text);
  const std::vector<std::pair<std::string, std::string>> headings = {{"northing", "easting"}, {"Y", "X"}};
  for (const auto& [n, e] : headings) {
    const auto file = [&](const std::string& first, const std::string& second) {
      return "point," + first + "," + second + ",elevation,description\n" + exchanged();
    };
    const auto told = refusal(file(n, e), job_text);
    ASSERT_THAT(told, SizeIs(testing::Ge(1)));
    EXPECT_THAT(told[0], HasSubstr("exchange the headings \"" + n + "\" and \"" + e + "\" in g.csv line 1"));
    EXPECT_DOUBLE_EQ(yards(file(e, n), job_text), right);
  }
  // what the job says is exchanged: the advice gives the other order
  const auto told = refusal(hillside(), with_columns("columns = [\"ignore\", \"easting\", \"northing\", \"z\"]\n"));
  ASSERT_THAT(told, SizeIs(testing::Ge(1)));
  const std::string advised = "columns = [\"ignore\", \"northing\", \"easting\", \"z\"]";
  EXPECT_THAT(told[0], HasSubstr(advised));
  EXPECT_DOUBLE_EQ(yards(hillside(), with_columns(advised + "\n")), right);
  // header and job agree, and both are wrong
  const std::string both = "columns = [\"point\", \"easting\", \"northing\"]\n";
  const auto with_both = refusal("p,x,y,z,d\n" + hillside(), with_columns(both));
  ASSERT_THAT(with_both, SizeIs(testing::Ge(1)));
  EXPECT_THAT(with_both[0],
              HasSubstr("exchange the headings \"y\" and \"x\" in g.csv line 1 and write in the job: [ground] "
                        "columns = [\"point\", \"northing\", \"easting\"]"));
  EXPECT_DOUBLE_EQ(
      yards("p,y,x,z,d\n" + hillside(), with_columns("columns = [\"point\", \"northing\", \"easting\"]\n")), right);
}

TEST(SurveyCauses, AHalfInAnotherFrameIsToldAndLeftOutOrRefused) {
  const auto spoiled = [](std::size_t count) {
    return hillside([count](std::vector<Shot>& shots) {
      for (std::size_t i = 0; i < count; ++i) std::swap(shots[i].northing, shots[i].easting);
    });
  };
  const Scratch folder;
  const SiteResults results = computed(folder, spoiled(60), std::string(job_text) + benchmark);
  EXPECT_THAT(results.survey.ground_shots, SizeIs(109));
  EXPECT_EQ(results.survey.left_out, 60U);
  ASSERT_THAT(results.notes.all, SizeIs(testing::Ge(1)));
  const std::string told = to_text(results.notes.all[0]);
  EXPECT_THAT(told, HasSubstr("g.csv lines 1 to 60: 60 of the 169 shots lie"));
  EXPECT_THAT(told, HasSubstr("with northing and easting exchanged they would be among them"));
  EXPECT_THAT(told, HasSubstr("Exchange northing and easting of those lines"));
  EXPECT_NEAR(results.found().takeoff.fill_cy, yards(hillside(), job_text), 0.02 * results.found().takeoff.fill_cy);

  std::string elsewhere = job_text;
  elsewhere.replace(elsewhere.find("n = 15000.0"), 11, "n = 95000.0");
  const auto refused = refusal(spoiled(60), elsewhere);
  ASSERT_THAT(refused, SizeIs(1));
  EXPECT_THAT(refused[0], HasSubstr("109 shots at N 14"));
  EXPECT_THAT(refused[0], HasSubstr("60 shots at N 4"));
}

TEST(SurveyCauses, AGoodShotLeftAloneIsNotTheOneToCheck) {
  std::string job = job_text;
  job.replace(job.find("[mound]"), 0, "longest_edge = 40.0\n");
  const SiteResults results = computed(Scratch(), hillside([](std::vector<Shot>& shots) {
                                         for (std::size_t i = 1; i < 50; ++i)
                                           std::swap(shots[i].northing, shots[i].easting);
                                       }),
                                       job);
  for (const Problem& problem : results.notes.all) {
    EXPECT_THAT(problem.what_to_do, Not(HasSubstr("check its northing and easting"))) << problem.what;
  }
}

TEST(SurveyCauses, ABustOfOneSetUpIsToldBeforeWhatFollowsFromIt) {
  const SiteResults results = computed(Scratch(), hillside([](std::vector<Shot>& shots) {
                                         for (const std::size_t i : {70, 71, 83, 84, 85, 97}) shots[i].elevation += 100;
                                       }),
                                       job_text);
  EXPECT_FALSE(blocking_problems(results).all.empty());
  ASSERT_THAT(results.notes.all, SizeIs(testing::Ge(2)));
  EXPECT_THAT(results.notes.all[0].what,
              HasSubstr("points 71, 72, 84, 85, 86 and 98, 6 shots side by side, stand 100."));
  EXPECT_THAT(results.notes.all[0].where, testing::StartsWith("g.csv line 71, N "));
}

TEST(SurveyCauses, ADoubledShotIsToldOnce) {
  const SiteResults results = computed(Scratch(), hillside() + "85,15000.000,5000.000,100.000,GS\n", job_text);
  std::size_t told = 0;
  for (const Problem& problem : results.notes.all) told += to_text(problem).find("85") != std::string::npos;
  EXPECT_LE(told, 1U);
}

TEST(SurveyCauses, OneShotFarOffDoesNotHideWhatTheBenchMarkShows) {
  const auto told = refusal(hillside([](std::vector<Shot>& shots) {
                              for (Shot& s : shots) std::swap(s.northing, s.easting);
                              shots[3].northing = 49999999, shots[4].elevation = -9999;
                            }),
                            std::string(job_text) + benchmark);
  ASSERT_THAT(told, SizeIs(4));
  EXPECT_THAT(told[0], HasSubstr("would be among them with northing and easting exchanged"));
}

TEST(SurveyStrays, AreLeftOutOfTheGroundAndItsLinesAndTold) {
  const Scratch folder;
  const auto line = [](std::vector<Shot>& shots) {
    for (std::size_t i = 0; i < 5; ++i) shots[13 * i].description = "EP";
  };
  const std::string job =
      std::string(job_text).replace(std::string(job_text).find("[mound]"), 0, "breaklines = [\"EP\"]\n");
  const SiteResults whole = computed(folder, hillside(line), job);
  const SiteResults spoiled = computed(folder, hillside([&](std::vector<Shot>& shots) {
                                         line(shots);
                                         shots[26].easting *= 1000;
                                         shots[84].elevation = -9999;
                                       }),
                                       job);
  EXPECT_THAT(spoiled.survey.all, SizeIs(169));
  EXPECT_THAT(spoiled.survey.ground_shots, SizeIs(167));
  EXPECT_EQ(spoiled.ground().points.size(), 167u);
  EXPECT_THAT(spoiled.survey.breaklines, ElementsAre(ElementsAre(0, 13, 38, 51)));  // each behind 26 comes one sooner
  EXPECT_NEAR(spoiled.found().takeoff.fill_cy, whole.found().takeoff.fill_cy, 0.01 * whole.found().takeoff.fill_cy);
  ASSERT_THAT(spoiled.notes.all, SizeIs(testing::Ge(2)));
  std::vector<std::string> texts;
  for (const Problem& problem : spoiled.notes.all) texts.push_back(to_text(problem));
  EXPECT_THAT(texts,
              testing::Contains(testing::AllOf(HasSubstr("g.csv line 27: point 27"), HasSubstr("decimal point lost"),
                                               HasSubstr("it is left out of the ground"))));
  EXPECT_THAT(texts, testing::Contains(testing::AllOf(HasSubstr("g.csv line 85: point 85"), HasSubstr("no value"))));
  EXPECT_THAT(texts, testing::Each(Not(HasSubstr("leaps"))));  // what the line would do follows from the shot
}

TEST(SurveyStrays, WordsOfAShotThatIsLeftOutStillEndItsLine) {
  ShotsOptions options;
  options.codes.breaklines = {"EP"};
  const Survey survey = shots_from_csv(hillside([](std::vector<Shot>& shots) {
                                         for (const std::size_t i : {0, 13, 26}) shots[i].description = "EP";
                                         for (const std::size_t i : {12, 25, 38}) shots[i].description = "EP";
                                         shots[26].description = "EP E", shots[26].northing = 0;
                                       }),
                                       "g.csv", options);
  // 12 and 13 in the order of the file: one line of 0, 12, 13, 25 and (26), another of 38 alone, which is told.
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 12, 13, 25)));
}

TEST(SurveyStrays, WarningsOfTheJobItselfAreTold) {
  const Scratch folder;
  const SiteResults results =
      computed(folder, hillside(), std::string(job_text) + "[[material]]\nname = \"sand\"\nswell = 0.11\n");
  ASSERT_THAT(results.notes.all, SizeIs(testing::Ge(1)));
  EXPECT_THAT(results.notes.all[0].what, HasSubstr("which is 0.11 percent"));
}

TEST(SurveyStrays, ContoursStayFewWhateverTheElevations) {
  const Scratch folder;
  // A third of the elevations are nonsense: too many to be strays, and the ground is as told.
  const SiteResults results = computed(folder, hillside([](std::vector<Shot>& shots) {
                                         for (std::size_t i = 0; i < 60; ++i)
                                           shots[i].elevation = 90 + 15000.0 * static_cast<double>(i);
                                       }));
  const double interval = drawable_interval(results.ground(), 1);
  EXPECT_GE(interval, 400);
  EXPECT_LE(contours(results.ground(), interval).size(), 2000u);
  std::string texts;
  for (const Problem& problem : results.notes.all) texts += to_text(problem) + "\n";
  EXPECT_THAT(texts, HasSubstr("contours every 1 would be too many"));
  EXPECT_EQ(drawable_interval(computed(folder, hillside()).ground(), 1), 1);
}

}  // namespace
}  // namespace moundwright::io

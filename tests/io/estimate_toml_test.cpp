// The estimator's part of the job file and its materials file: what is read, and every way to get it wrong.
#include "io/estimate_toml.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "io/job_toml.h"
#include "scratch.h"

namespace moundwright::io {
namespace {

using testing::AllOf;
using testing::Contains;
using testing::ElementsAre;
using testing::Field;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

constexpr std::string_view mound =
    "[ground]\nshots = \"ground.csv\"\n[mound]\ncenter = { n = 0.0, e = 0.0 }\nazimuth = 74.0\n"
    "bed = { length = 60.0, width = 10.0 }\nbottom = { least_sand = 1.5 }\n"
    "[[layer]]\nname = \"core\"\nmaterial = \"sand\"\ntop = 0.0\nbeyond = 1.0\nside = 0.0\n"
    "[[layer]]\nname = \"cover\"\nmaterial = \"loam\"\ntop = 1.0\nbeyond = 3.0\nside = 3.0\n";

Job read(const std::string& more) {
  return job_from_toml(std::string(mound) + more + "[job]\nunits = \"ft\"\n", "job.toml");
}

std::vector<Problem> refused(const std::string& more) {
  return problems_of([&] { read(more); });
}

auto told(const char* key, const char* what) {
  return AllOf(Field(&Problem::where, HasSubstr(key)), Field(&Problem::what, HasSubstr(what)));
}

const std::string truck = "[[truck]]\nname = \"t\"\ntons = 15.0\nloose_yards = 12.0\n";
const std::string sand =
    "[[material]]\nname = \"sand\"\nswell = 11.0\nshrink = 5.0\nloose_weight = 2700.0\nmoisture = 4.0\nwaste = 5.0\n"
    "price = { per_ton = 19.5 }\ntruck = \"t\"\n";
const std::string loam = "[[material]]\nname = \"loam\"\nswell = 20.0\nshrink = 10.0\n";

const std::string topsoil = "[[material]]\nname = \"topsoil\"\n";

TEST(EstimateToml, ReadsPercentAsFractions) {
  const Job job = read(truck + sand);
  ASSERT_THAT(job.site.estimate.materials, SizeIs(1));
  const Material& m = job.site.estimate.materials[0];
  EXPECT_DOUBLE_EQ(*m.swell, 0.11);
  EXPECT_DOUBLE_EQ(*m.shrink, 0.05);
  EXPECT_DOUBLE_EQ(m.moisture, 0.04);
  EXPECT_EQ(m.price->unit, PriceUnit::ton);
  EXPECT_EQ(m.truck, "t");
  EXPECT_THAT(job.notes.all, IsEmpty());
}

TEST(EstimateToml, WarnsWhereAFractionStandsForPercent) {
  const Job job = read("[[material]]\nname = \"sand\"\nswell = 0.12\nshrink = 5.0\n");
  EXPECT_THAT(job.notes.all, ElementsAre(told("material.sand.swell", "0.12 percent")));
}

// One report: a price with no unit, a truck of zero yards, a shrink of 120 %, a blend that does not add up.
TEST(EstimateToml, TellsAllThatIsWrongInOneReport) {
  const std::vector<Problem> problems = refused(
      "[[truck]]\nname = \"t\"\nloose_yards = 0.0\n"
      "[[material]]\nname = \"sand\"\nswell = 11.0\nshrink = 120.0\nprice = 19.5\n"
      "[[material]]\nname = \"topsoil\"\nswell = 20.0\nshrink = 10.0\n" +
      loam + "[[blend]]\nmaterial = \"loam\"\npercent = { sand = 60.0, topsoil = 50.0 }\n");
  EXPECT_THAT(problems, Contains(told("job.toml line 22, truck.t.loose_yards", "is 0")));
  EXPECT_THAT(problems, Contains(told("job.toml line 26, material.sand.shrink", "shrink of 120 %")));
  EXPECT_THAT(problems, Contains(told("job.toml line 27, material.sand.price", "19.5 with no unit")));
  EXPECT_THAT(problems, Contains(told("blend.1.percent", "adds up to 110 %")));
  EXPECT_THAT(problems, SizeIs(4));
}

TEST(EstimateToml, WeightsThatDisagreeWithSwellAndShrinkAreRefused) {
  EXPECT_THAT(refused("[[material]]\nname = \"sand\"\nswell = 11.0\nshrink = 5.0\nloose_weight = 2700.0\n"
                      "compacted_weight = 3300.0\n"),
              ElementsAre(told("material.sand.compacted_weight", "apart")));
}

struct Wrong {
  const char* toml;
  const char* key;
  const char* what;
};

TEST(EstimateToml, WhatIsKnownIsListedOnceAndByName) {
  const std::vector<Problem> unknown =
      refused("[silt_fence]\nbelow_toe = 6.0\nprice = { per_ft = 3.0 }\nheight = 3.0\n");
  ASSERT_THAT(unknown, SizeIs(1));
  EXPECT_EQ(unknown[0].what_to_do, "Known here: below_toe, returns, price.");
  const std::vector<Problem> nameless = refused("[[material]]\nswell = 9.0\n" + sand +
                                                "[[blend]]\nmaterial = \"sand\"\nparts = { peat = 1.0, sand = 1.0 }\n");
  EXPECT_THAT(nameless, Contains(Field(&Problem::what_to_do, "Known here: sand.")));
}

TEST(EstimateToml, EachMistakeIsToldAtItsKey) {
  const Wrong wrongs[] = {
      {"[[material]]\nname = \"x\"\nprice = { per_ton = 1.0, per_yard = 2.0 }\n", "material.x.price", "has 2 units"},
      {"[[material]]\nname = \"x\"\nprice = { per_stone = 1.0 }\n", "material.x.price.per_stone", "unknown key"},
      {"[[truck]]\nname = \"u\"\ntons = 15.0\ntonnes = 14.0\n", "truck.u.tons", "both given"},
      {"[bid]\ncharged = \"by the load\"\n", "bid.charged", "cannot be charged"},
      {"[[material]]\nname = \"x\"\nprice = {}\n", "material.x.price", "has 0 units"},
      {"[[material]]\nname = \"x\"\ntruck = \"u\"\n", "material.x.truck", "no truck \"u\""},
      {"[[material]]\nname = \"x\"\nspecification = \"C33\"\n", "material.x.specification",
       "no published specification"},
      {"[[material]]\nname = \"x\"\nlimits = [{ sieve = \"No. 7\", most = 3.0 }]\n", "limits", "no sieve"},
      {"[[material]]\nname = \"x\"\nd10 = { least = 0.3, most = 0.2 }\n", "material.x.d10.least", "cannot be"},
      {"[[material]]\nname = \"sand\"\n", "material.sand.name", "two material entries"},
      {"[[truck]]\nname = \"u\"\n", "truck.u.tons", "carries nothing"},
      {"[lifts]\ndepth = 0.0\nlayers = [\"core\"]\n", "lifts.depth", "is 0"},
      {"[lifts]\ndepth = 0.75\nlayers = [\"cor\"]\n", "lifts.layers", "no layer \"cor\""},
      {"[lifts]\ndepth = 0.75\n", "lifts.layers", "no layer goes up"},
      {"[[blend]]\nmaterial = \"loam\"\nparts = { sand = 1.5 }\n", "blend.1.parts", "two materials or more"},
      {"[[blend]]\nmaterial = \"loam\"\nparts = { sand = 0.0, topsoil = 1.0 }\n", "blend.1.parts.sand", "is 0"},
      {"[[blend]]\nmaterial = \"loam\"\nparts = { sand = 1.0, loam = 1.0 }\n", "blend.1.parts", "cannot hold itself"},
      {"[[blend]]\nmaterial = \"loam\"\nparts = { sand = 1.0, peat = 1.0 }\n", "blend.1.parts", "no material \"peat\""},
      {"[[blend]]\nmaterial = \"loam\"\n", "blend.1", "has no parts"},
      {"[[site_soil]]\nname = \"pile\"\nmaterial = \"sand\"\n", "site_soil.pile", "how much pile"},
      {"[[site_soil]]\nname = \"pile\"\nfrom = \"hill\"\nmaterial = \"sand\"\n", "site_soil.pile.from", "no cut"},
      {"[[site_soil]]\nname = \"p\"\nbank_yards = 3.0\nmaterial = \"sand\"\ngoes = \"away\"\n", "site_soil.p.goes",
       "away"},
      {"[[site_soil]]\nname = \"p\"\nbank_yards = 3.0\nmaterial = \"sand\"\nloss = 100.0\n", "site_soil.p.loss", "100"},
      {"[fabric]\nover = \"core\"\nroll = { width = 1.0, length = 9.0 }\noverlap = 1.0\n", "fabric.overlap", "as wide"},
      {"[[seeding]]\nname = \"seed\"\n", "seeding.seed", "0 rates"},
      {"[silt_fence]\nprice = 3.0\n", "silt_fence.price", "no unit"},
      {"[bid]\n[[task]]\nname = \"dig\"\nof = [\"core\"]\n", "task.dig", "0 rates"},
      {"[bid]\n[[task]]\nname = \"dig\"\nof = [\"hole\"]\nyards_per_hour = 9.0\n", "task.dig.of", "hole"},
      {"[bid]\n[[task]]\nname = \"dig\"\nhours = 2.0\nmachines = [\"digger\"]\n", "task.dig.machines", "digger"},
      {"[bid]\nmargin = 100.0\n", "bid.margin", "100 percent"},
      {"[accuracy]\nrandom = -0.1\n", "accuracy.random", "-0.1"},
  };
  const std::string materials = truck + sand + loam + topsoil;
  for (const Wrong& wrong : wrongs) {
    EXPECT_THAT(refused(materials + wrong.toml), ElementsAre(told(wrong.key, wrong.what))) << wrong.toml;
  }
}

TEST(EstimateToml, AMaterialsFileServesTheJobAndGivesWay) {
  const Scratch scratch;
  scratch.put("prices.toml", truck + sand + loam);
  const std::string head = "job.units = \"ft\"\njob.materials = \"prices.toml\"\n";
  const std::string own = "[[material]]\nname = \"sand\"\nswell = 14.0\nshrink = 5.0\n";
  const Job job = job_from_toml(head + std::string(mound) + own, scratch / "job.toml");
  EXPECT_DOUBLE_EQ(*find_material(job.site.estimate.materials, "sand")->swell, 0.14);
  EXPECT_DOUBLE_EQ(*find_material(job.site.estimate.materials, "loam")->swell, 0.20);
  EXPECT_THAT(job.site.estimate.materials, SizeIs(2));
}

TEST(EstimateToml, FaultsOfBothFilesAreInOneReport) {
  const Scratch scratch;
  scratch.put("prices.toml", "[[material]]\nname = \"sand\"\nshrink = 120.0\n");
  const std::string head = "job.units = \"ft\"\njob.materials = \"prices.toml\"\n";
  EXPECT_THAT(
      problems_of([&] { job_from_toml(head + std::string(mound) + "[bid]\nmargin = -3.0\n", scratch / "job.toml"); }),
      ElementsAre(told("prices.toml line 3, material.sand.shrink", "120"), told("job.toml line 23, bid.margin", "-3")));
}

TEST(EstimateToml, AMaterialsFileThatIsNotThereIsToldAtItsKey) {
  const Scratch scratch;
  EXPECT_THAT(problems_of([&] {
                job_from_toml("job.units = \"ft\"\njob.materials = \"gone.toml\"\n" + std::string(mound) + truck +
                                  sand + "[[blend]]\nmaterial = \"x\"\nparts = { y = 1.0, z = 1.0 }\n",
                              scratch / "job.toml");
              }),
              ElementsAre(told("job.toml line 2, job.materials", "gone.toml")));
}

TEST(EstimateToml, ATaskThatNothingAddsUpIsTold) {
  const std::string task = "[[task]]\nname = \"layout\"\nhours = 2.0\n";
  EXPECT_THAT(read(task).notes.all, ElementsAre(told("task", "no [bid]")));
  EXPECT_THAT(read(task + "[bid]\noverhead = 10.0\n").notes.all, IsEmpty());
}

TEST(EstimateToml, ABlendOfABlendIsRefused) {
  const std::string materials = truck + sand + loam + topsoil;
  const std::string peat = "[[material]]\nname = \"mix\"\n";
  const std::string outer = "[[blend]]\nmaterial = \"loam\"\nparts = { sand = 1.0, mix = 1.0 }\n";
  const std::string inner = "[[blend]]\nmaterial = \"mix\"\nparts = { sand = 1.0, topsoil = 1.0 }\n";
  for (const std::string& blends : {outer + inner, inner + outer}) {
    EXPECT_THAT(refused(fmt::format("{}{}{}", materials, peat, blends)),
                ElementsAre(told("blend.2.material", "blended of each other")));
  }
}

TEST(EstimateToml, AJobWithoutAnyOfItReads) { EXPECT_THAT(read("").notes.all, IsEmpty()); }

Job read_metric(const std::string& more) {
  return job_from_toml("[job]\nunits = \"m\"\n" + std::string(mound) + more, "job.toml");
}

// 1,600 kg/m3 are 2,696.9 lb a yard; 15 t are 16.535 tons and 10 m3 13.080 yards (NIST Handbook 44, Appendix C).
TEST(EstimateToml, AMetricJobIsGivenInItsOwnUnits) {
  const Job job = read_metric(
      "[[truck]]\nname = \"t\"\ntonnes = 15.0\nloose_m3 = 10.0\n"
      "[[material]]\nname = \"sand\"\nswell = 11.0\nshrink = 5.0\nloose_weight = 1600.0\n"
      "price = { per_tonne = 21.0 }\ntruck = \"t\"\n"
      "[[site_soil]]\nname = \"pit\"\nbank_m3 = 30.0\nmaterial = \"sand\"\n"
      "[[seeding]]\nname = \"seed\"\nkg_per_100_sq_m = 3.0\nprice = { per_kg = 9.0 }\n"
      "[[task]]\nname = \"sand\"\nof = [\"core\"]\nm3_per_hour = 30.0\n[bid]\ncharged = \"whole loads\"\n");
  const EstimatePlan& plan = job.site.estimate;
  EXPECT_NEAR(*plan.materials[0].loose_weight, 2696.9, 0.05);
  EXPECT_NEAR(*plan.trucks[0].tons, 16.535, 0.0005);
  EXPECT_NEAR(plan.trucks[0].yards->cy, 13.080, 0.0005);
  EXPECT_NEAR(plan.site_soil[0].bank->cy, 39.239, 0.0005);
  EXPECT_NEAR(*plan.bid->tasks[0].yards_per_hour, 39.239, 0.0005);
  EXPECT_EQ(plan.materials[0].price->unit, PriceUnit::tonne);
  EXPECT_EQ(plan.areas.spread[0].counted, PriceUnit::kilogram);
  EXPECT_EQ(plan.bid->charged, Charged::whole_loads);
  EXPECT_THAT(job.notes.all, IsEmpty());
  // 15 t at 1.6 t/m3 are 9.375 m3: full by weight
  const Loads loads = *loads_for(plan.materials[0], plan.trucks[0], LooseYards{100});
  EXPECT_TRUE(loads.weight_binds);
  EXPECT_NEAR(cubic_metres_per_yard * loads.each.cy, 9.375, 1e-9);
}

TEST(EstimateToml, UnitsThatMayBeMistakenAreTold) {
  EXPECT_THAT(read_metric("[[material]]\nname = \"x\"\nloose_weight = 2700.0\nprice = { per_ton = 19.0 }\n").notes.all,
              ElementsAre(told("material.x.loose_weight", "solid rock"), told("material.x.price", "US ton")));
  EXPECT_THAT(problems_of([] {
                read_metric("[[material]]\nname = \"x\"\nloose_weight = 1900.0\ncompacted_weight = 1600.0\n");
              }),
              ElementsAre(told("material.x.compacted_weight", "1900 over 1600 kg/m3")));
}

TEST(EstimateToml, APriceListSaysItsUnitsWhereTheJobIsInMetres) {
  const Scratch scratch;
  const auto weight = [&](const std::string& list, const std::string& units) {
    scratch.put("prices.toml", list + "[[material]]\nname = \"sand\"\nloose_weight = 1600.0\n");
    const std::string head = "[job]\nmaterials = \"prices.toml\"\nunits = \"" + units + "\"\n";
    return *job_from_toml(head + std::string(mound), scratch / "job.toml").site.estimate.materials[0].loose_weight;
  };
  EXPECT_EQ(weight("", "ft"), 1600);
  EXPECT_EQ(weight("units = \"ft\"\n", "m"), 1600);
  EXPECT_NEAR(weight("units = \"m\"\n", "ft"), 2696.9, 0.05);
  EXPECT_THAT(problems_of([&] { weight("", "m"); }), ElementsAre(told("units", "does not say")));
  EXPECT_THAT(problems_of([&] { weight("units = \"lb\"\n", "ft"); }), ElementsAre(told("units", "\"lb\"")));
}

}  // namespace
}  // namespace moundwright::io

// What amended_job promises: the key has the value asked for, and every other byte is where it was.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "io/job_toml.h"
#include "scratch.h"

namespace moundwright::io {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

std::string set(std::string_view text, const std::string& key, const std::string& value) {
  return amended_job(text, {{key, value}});
}

std::string without(std::string_view text, const std::string& key) { return amended_job(text, {{key, std::nullopt}}); }

TEST(JobEdit, ReplacesAValueWhereItStands) {
  EXPECT_EQ(set("[mound]\n  downslope=1_60.0 # found\nx = 1\n", "mound.downslope", "164.0"),
            "[mound]\n  downslope=164.0 # found\nx = 1\n");
  EXPECT_EQ(set("[a]\nx = \"y\" # \"y\"\n", "a.x", "\"longer\""), "[a]\nx = \"longer\" # \"y\"\n");
  EXPECT_EQ(set("[a]\nx = [1,\n 2, # two\n 3]\ny = 1", "a.x", "[]"), "[a]\nx = []\ny = 1");
}

TEST(JobEdit, ReplacesInsideInlineTables) {
  EXPECT_EQ(set("[mound]\ncenter = { n = 5120.0,e=4890.0 }  # staked\n", "mound.center.e", "4891.5"),
            "[mound]\ncenter = { n = 5120.0,e=4891.5 }  # staked\n");
  EXPECT_EQ(set("[mound]\nbottom = { least_sand = 1.5 } # x\n", "mound.bottom", "{ elevation = 101.4 }"),
            "[mound]\nbottom = { elevation = 101.4 } # x\n");
  EXPECT_EQ(set("mound = { bed = { width = 10 } }", "mound.bed.width", "12.0"), "mound = { bed = { width = 12.0 } }");
}

TEST(JobEdit, CountsBytesAndNotLetters) {
  EXPECT_EQ(set("\xEF\xBB\xBFtitle = { a = \"Löt — 7\", b = 1 } # é\n", "title.b", "2"),
            "\xEF\xBB\xBFtitle = { a = \"Löt — 7\", b = 2 } # é\n");
}

TEST(JobEdit, KeepsCarriageReturns) {
  EXPECT_EQ(set("[mound]\r\nazimuth = 74.0\r\n\r\n[prepare]\r\n", "mound.azimuth", "75.0"),
            "[mound]\r\nazimuth = 75.0\r\n\r\n[prepare]\r\n");
  EXPECT_EQ(set("[mound]\r\nazimuth = 74.0\r\n\r\n[prepare]\r\n", "mound.downslope", "164.0"),
            "[mound]\r\nazimuth = 74.0\r\ndownslope = 164.0\r\n\r\n[prepare]\r\n");
}

TEST(JobEdit, PutsAMissingKeyBehindTheLastOfItsTable) {
  EXPECT_EQ(
      set("[mound]\n  azimuth = 74.0 # of the long axis\n\n# next\n[prepare]\nstrip = 1\n", "mound.downslope", "164.0"),
      "[mound]\n  azimuth = 74.0 # of the long axis\n  downslope = 164.0\n\n# next\n[prepare]\nstrip = 1\n");
  EXPECT_EQ(set("[mound]\nazimuth = 74.0", "mound.downslope", "164.0"), "[mound]\nazimuth = 74.0\ndownslope = 164.0\n");
  EXPECT_EQ(set("[mound] # here\n[prepare]\n", "mound.downslope", "164.0"),
            "[mound] # here\ndownslope = 164.0\n[prepare]\n");
  EXPECT_EQ(set("[mound]\nx = [\n1,\n2 ]  # list\n[mound.bottom]\nleast_sand = 1\n", "mound.downslope", "164.0"),
            "[mound]\nx = [\n1,\n2 ]  # list\ndownslope = 164.0\n[mound.bottom]\nleast_sand = 1\n");
}

TEST(JobEdit, PutsAMissingKeyIntoAnInlineTable) {
  EXPECT_EQ(set("[m]\nbottom = { least_sand = 1.5 } # x\n", "m.bottom.elevation", "101.4"),
            "[m]\nbottom = { least_sand = 1.5, elevation = 101.4 } # x\n");
  EXPECT_EQ(set("[m]\nbottom = {} # x\n", "m.bottom.elevation", "101.4"), "[m]\nbottom = { elevation = 101.4 } # x\n");
}

TEST(JobEdit, KnowsDottedKeys) {
  EXPECT_EQ(set("mound.azimuth = 74.0 # a\nmound.bed.width = 10\n", "mound.bed.width", "12.0"),
            "mound.azimuth = 74.0 # a\nmound.bed.width = 12.0\n");
  EXPECT_EQ(set("mound.azimuth = 74.0 # a\njob.title = \"x\"\n[prepare]\n", "mound.downslope", "164.0"),
            "mound.azimuth = 74.0 # a\nmound.downslope = 164.0\njob.title = \"x\"\n[prepare]\n");
  EXPECT_EQ(set("[mound]\nbed.width = 10\nbed.length = 60\n[prepare]\n", "mound.downslope", "164.0"),
            "[mound]\nbed.width = 10\nbed.length = 60\ndownslope = 164.0\n[prepare]\n");
}

TEST(JobEdit, AddsATableThatIsNotThere) {
  EXPECT_EQ(set("[mound]\nazimuth = 74.0\n", "prepare.strip", "0.5"),
            "[mound]\nazimuth = 74.0\n\n[prepare]\nstrip = 0.5\n");
  EXPECT_EQ(set("[mound]\nazimuth = 74.0", "prepare.strip", "0.5"),
            "[mound]\nazimuth = 74.0\n\n[prepare]\nstrip = 0.5\n");
  EXPECT_EQ(set("", "prepare.strip", "0.5"), "[prepare]\nstrip = 0.5\n");
  // [mound] itself is not there, only a table inside it: it gets a header of its own.
  EXPECT_EQ(set("[mound.bottom]\nleast_sand = 1\n", "mound.azimuth", "74.0"),
            "[mound.bottom]\nleast_sand = 1\n\n[mound]\nazimuth = 74.0\n");
}

TEST(JobEdit, FindsLayersByName) {
  const std::string job = "[[layer]]\nname = \"core\"\ntop = 0.0\n[[layer]]\nname = \"top soil\"\ntop = 1.5 # here\n";
  EXPECT_EQ(set(job, "layer.core.top", "0.25"),
            "[[layer]]\nname = \"core\"\ntop = 0.25\n[[layer]]\nname = \"top soil\"\ntop = 1.5 # here\n");
  EXPECT_EQ(set(job, "layer.\"top soil\".crown", "0.5"), job + "crown = 0.5\n");
  EXPECT_EQ(set(job, "layer.core.crown", "0.5"),
            "[[layer]]\nname = \"core\"\ntop = 0.0\ncrown = 0.5\n[[layer]]\nname = \"top soil\"\ntop = 1.5 # here\n");
}

TEST(JobEdit, TakesAKeyOut) {
  EXPECT_EQ(without("[m]\na = 1 # one\nb = 2\n", "m.a"), "[m]\nb = 2\n");
  EXPECT_EQ(without("[m]\nx = { a = 1, b = 2, c = 3 }\n", "m.x.a"), "[m]\nx = { b = 2, c = 3 }\n");
  EXPECT_EQ(without("[m]\nx = { a = 1, b = 2, c = 3 }\n", "m.x.b"), "[m]\nx = { a = 1, c = 3 }\n");
  EXPECT_EQ(without("[m]\nx = { a = 1, b = 2, c = 3 }\n", "m.x.c"), "[m]\nx = { a = 1, b = 2 }\n");
  EXPECT_EQ(without("[m]\nx = { a = 1 }\n", "m.x.a"), "[m]\nx = {}\n");
  EXPECT_EQ(without("[m]\na = 1\n", "m.not_there"), "[m]\na = 1\n");
}

TEST(JobEdit, EditsAreMadeInTurn) {
  EXPECT_EQ(amended_job("[m]\nbottom = { least_sand = 1.5 } # x\n",
                        {{"m.bottom.elevation", "101.4"}, {"m.bottom.least_sand", std::nullopt}}),
            "[m]\nbottom = { elevation = 101.4 } # x\n");
}

TEST(JobEdit, RefusesWhatItCannotDoInPlace) {
  const auto refused = [](std::string_view text, const std::string& key, const std::string& value) {
    return problems_of([&] { set(text, key, value); });
  };
  EXPECT_THAT(refused("[m]\na = 1\n", "m", "2"), ElementsAre(is_error("m", "a table of its own")));
  EXPECT_THAT(refused("m.a = 1\n", "m", "2"), ElementsAre(is_error("m", "a table of its own")));
  EXPECT_THAT(refused("[[layer]]\nname = \"a\"\n", "layer", "2"), ElementsAre(is_error("layer", "a table of its own")));
  EXPECT_THAT(refused("[[layer]]\nname = \"a\"\n", "layer.a", "2"),
              ElementsAre(is_error("layer.a", "a table of its own")));
  EXPECT_THAT(refused("[[layer]]\nname = \"a\"\n", "layer.b.top", "2"), ElementsAre(is_error("layer.b.top", "")));
  EXPECT_THAT(refused("[m]\na = 1\n", "m.a.b", "2"),
              ElementsAre(testing::Field(&Problem::what, HasSubstr("not a table"))));
  EXPECT_THAT(refused("[m]\na = 1\n", "m.a", "2\nb = 3"), ElementsAre(is_error("m.a", "other parts of the file")));
  EXPECT_THAT(refused("[m]\na = 1\n", "m.a", "one"), ElementsAre(is_error("m.a", "not TOML")));
  EXPECT_THAT(refused("[m\n", "m.a", "1"), ElementsAre(is_error("m.a", "the job file is not TOML (line 1, column 3")));
  for (const char* key : {"", ".", "m.", ".m", "m..a", "m.\"a", "m a"}) {
    EXPECT_THAT(refused("[m]\na = 1\n", key, "1"), ElementsAre(is_error(key, "it is not a key"))) << key;
  }
}

TEST(TomlNumber, AlwaysReadsAsANumberWithAPoint) {
  EXPECT_EQ(toml_number(164), "164.0");
  EXPECT_EQ(toml_number(-0.1), "-0.1");
  EXPECT_EQ(toml_number(5120.25), "5120.25");
  EXPECT_EQ(toml_number(1e300), "1e+300");
}

// --- any number into any place of the starter job, in any of its spellings
// -----------------------------------------------

std::string with_carriage_returns(const std::string& text) {
  std::string out;
  for (const char c : text) out += c == '\n' ? std::string("\r\n") : std::string(1, c);
  return out;
}

std::size_t same_front(std::string_view a, std::string_view b) {
  return static_cast<std::size_t>(std::mismatch(a.begin(), a.end(), b.begin(), b.end()).first - a.begin());
}

std::size_t same_back(std::string_view a, std::string_view b) {
  return static_cast<std::size_t>(std::mismatch(a.rbegin(), a.rend(), b.rbegin(), b.rend()).first - a.rbegin());
}

struct NumberKey {
  const char* key;
  double (*of)(const Job&);
};

const NumberKey number_keys[] = {
    {"mound.downslope", [](const Job& job) { return job.mound.downslope.value_or(-1); }},
    {"mound.bed.width", [](const Job& job) { return job.mound.bed.width; }},
    {"mound.bottom.least_sand", [](const Job& job) { return job.mound.least_sand.value_or(-1); }},
    {"prepare.strip", [](const Job& job) { return job.mound.prepare.strip; }},
    {"layer.core.crown", [](const Job& job) { return job.mound.layers[0].crown; }},
    {"layer.stone.top", [](const Job& job) { return job.mound.layers[1].top; }},
    {"layer.shell.beyond.downslope", [](const Job& job) { return job.mound.layers[2].beyond.downslope; }},
    {"layer.cover.crown", [](const Job& job) { return job.mound.layers[3].crown; }},
    {"stakes.hub_clearance", [](const Job& job) { return job.site.hub_clearance; }},
};

RC_GTEST_PROP(JobEditProperty, TheKeyHasTheValueAndNoOtherByteMoves, ()) {
  const NumberKey& chosen = *rc::gen::elementOf(std::vector<NumberKey>(std::begin(number_keys), std::end(number_keys)));
  const double value = *rc::gen::inRange(1, 100000) / 1000.0;
  const bool along_the_bed = std::abs(std::remainder(value - 74.0, 180.0)) <= 5.0;
  RC_PRE(chosen.key != std::string_view("mound.downslope") || !along_the_bed);
  std::string job = starter_job();
  if (*rc::gen::arbitrary<bool>()) job = with_carriage_returns(job);
  const std::string after = set(job, chosen.key, toml_number(value));
  RC_ASSERT(chosen.of(job_from_toml(after, "job.toml")) == value);

  // One stretch of text is new; taken out of both texts, they are the same, and it is no longer than a setting.
  const std::size_t front = same_front(job, after);
  const std::size_t back = std::min(same_back(job, after), std::min(job.size(), after.size()) - front);
  RC_ASSERT(job.size() - front - back <= 8u);
  RC_ASSERT(after.size() - front - back <= 60u);

  const std::string again = set(after, chosen.key, toml_number(value));
  RC_ASSERT(again == after);
}

}  // namespace
}  // namespace moundwright::io

// Cautions stand where the work can hurt someone, with the figures of the rules: in the order of work, on the field
// page and in README. The printed report's are in tests/viewer/report_test.cpp, the page's screens in tests/browser/.
#include "io/cautions.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "io/field_html.h"
#include "io/sheets_pdf.h"
#include "io/text_file.h"
#include "io/work_steps.h"
#include "made_jobs.h"
#include "tests/support/caution_words.h"

namespace moundwright::io {
namespace {

using testing::AllOf;
using testing::HasSubstr;

const char* const demo_jobs[] = {"fernhollow", "ridgeback"};

const WorkStep& step(const std::vector<WorkStep>& steps, const std::string& title) {
  const auto found = std::find_if(steps.begin(), steps.end(), [&](const WorkStep& s) { return s.title == title; });
  if (found == steps.end()) throw std::runtime_error("no step: " + title);
  return *found;
}

TEST(Cautions, OfTheOrderOfWorkStandAtTheirStep) {
  for (const char* job : demo_jobs) {
    const std::vector<WorkStep> steps = work_steps(demo_results(job));
    EXPECT_EQ(steps.front().title, "Locate utilities") << "before anything is driven or dug";
    expect_caution(steps.front().caution, caution_utilities, job);
    expect_caution(step(steps, "Lay the force main").caution, caution_trench, job);
    expect_caution(step(steps, "Lay the force main").caution, caution_tank, job);
    expect_caution(step(steps, "Laterals, squirt test, inspection").caution, caution_sewage, job);
    expect_caution(step(steps, "Laterals, squirt test, inspection").caution, caution_tank, job);
  }
  expect_caution(step(work_steps(demo_results("ridgeback")), "Undercut under the bed").caution, caution_trench,
                 "the undercut");
}

/// The words of sheets.pdf, page after page, as another program finds them.
std::string words_on_paper(const SiteResults& results) {
  const Scratch folder;
  const std::string file = folder.put("sheets.pdf", sheets_pdf(results, {})).string();
  std::string text;
  FILE* pipe = popen(("pdftotext " + file + " -").c_str(), "r");
  if (pipe == nullptr) return text;
  std::array<char, 4096> buffer;
  while (const std::size_t n = fread(buffer.data(), 1, buffer.size(), pipe)) text.append(buffer.data(), n);
  EXPECT_EQ(pclose(pipe), 0);
  return text;
}

TEST(Cautions, OfTheOrderOfWorkAreOnPaper) {
  for (const char* job : demo_jobs) {
    const std::string words = words_on_paper(demo_results(job));
    const std::size_t begin = words.find("Locate utilities");
    ASSERT_NE(begin, std::string::npos);
    for (const CautionWords* caution : {&caution_utilities, &caution_trench, &caution_tank, &caution_sewage}) {
      expect_caution(words.substr(begin), *caution, std::string("the order of work of ") + job);
    }
    expect_caution(words, caution_govern, job);
  }
}

// What no code or standard asks for is told as what it is.
TEST(CommonPractice, IsMarkedWhereItIsTold) {
  const Scratch folder;
  const std::string feet = step(work_steps(demo_results("fernhollow")), "Sand").text;
  EXPECT_THAT(feet, AllOf(HasSubstr("lifts of 6 to 12 in"), HasSubstr("1/8 in of fines over 2 in of sand"),
                          HasSubstr("Lifts and jar test are common practice")));
  const std::string metres = step(work_steps(metre_results(folder)), "Sand").text;
  EXPECT_THAT(metres, AllOf(HasSubstr("lifts of 150 to 300 mm"), HasSubstr("3 mm of fines over 50 mm of sand"),
                            HasSubstr("common practice")));
  const std::string words = on_one_line(words_on_paper(demo_results("fernhollow")));
  EXPECT_THAT(words, HasSubstr("everything else within 0.10 ft (about 1-1/4 in): common practice"));
}

TEST(Cautions, OfTheFieldPageAreTheRules) {
  for (const char* job : demo_jobs) {
    const auto json = nlohmann::json::parse(field_json(demo_results(job)));
    const auto& cautions = json["cautions"];
    for (const CautionWords* caution :
         {&caution_utilities, &caution_trench, &caution_tank, &caution_sewage, &caution_govern}) {
      expect_caution(cautions.value(caution->name, ""), *caution, std::string("the field page of ") + job);
    }
    const auto of_stage = [&](const std::string& name) {
      for (std::size_t i = 0; i < json["stages"].size(); ++i) {
        if (json["stages"][i]["name"].get<std::string>().find(name) == std::string::npos) continue;
        return cautions["stages"][i].dump();
      }
      return std::string();
    };
    expect_caution(of_stage("prepared ground"), caution_trench, "prepared ground");
    expect_caution(of_stage("lateral invert"), caution_sewage, "the lateral invert");
    expect_caution(of_stage("lateral invert"), caution_tank, "the lateral invert");
  }
}

/// Layers only, so that which stage is which does not hang on a demo job.
std::vector<BuildStage> stages(std::initializer_list<StageKind> kinds) {
  std::vector<BuildStage> all;
  for (const StageKind kind : kinds) all.push_back({kind, "", false, std::nullopt, {}});
  return all;
}

TEST(StageCautions, WithoutALateralInvertThePipesAreInTheSecondLayer) {
  const auto all = stages({StageKind::prepared, StageKind::layer, StageKind::layer, StageKind::layer});
  EXPECT_THAT(stage_cautions(all, 1), testing::ElementsAre(HasSubstr("only on placed sand")));
  EXPECT_THAT(stage_cautions(all, 2), testing::ElementsAre(HasSubstr("Sewage"), HasSubstr("Never enter a tank")));
  EXPECT_THAT(stage_cautions(all, 3), testing::ElementsAre(HasSubstr("Slopes roll machines")));
}

TEST(Cautions, OfReadmeAreTheRules) {
  const std::string readme = read_file(MOUNDWRIGHT_SURVEYS "/../README.md");
  const std::size_t begin = readme.find("\n## Cautions");
  ASSERT_NE(begin, std::string::npos);
  const std::string part = readme.substr(begin, readme.find("\n## ", begin + 1) - begin);
  for (const CautionWords* caution :
       {&caution_utilities, &caution_trench, &caution_tank, &caution_sewage, &caution_govern}) {
    expect_caution(part, *caution, "README");
  }
}

}  // namespace
}  // namespace moundwright::io

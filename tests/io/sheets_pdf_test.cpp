// sheets.pdf as other programs read it: every stake, grade and yard is on paper, drawings are true to scale, nothing is
// cut off, fonts are embedded, and the same job gives the same bytes.
#include "io/sheets_pdf.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <functional>
#include <map>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <sstream>

#include "io/plan_drawing.h"
#include "io/summary_json.h"
#include "io/text_file.h"
#include "made_jobs.h"

namespace moundwright::io {
namespace {

using testing::HasSubstr;

struct Outcome {
  int code = -1;
  std::string text;
};

Outcome run(const std::string& command) {
  Outcome outcome;
  FILE* pipe = popen((command + " 2>&1").c_str(), "r");
  if (pipe == nullptr) return outcome;
  std::array<char, 4096> buffer;
  while (const std::size_t n = fread(buffer.data(), 1, buffer.size(), pipe)) outcome.text.append(buffer.data(), n);
  outcome.code = pclose(pipe);
  return outcome;
}

/// The demo job with a stake every foot of station: more than fit on a page.
SiteResults many_stakes(const Scratch& folder) {
  const std::string surveys = MOUNDWRIGHT_SURVEYS;
  for (const char* name : {"/fernhollow-ground.csv", "/fernhollow-materials.toml"}) {
    folder.put(name + 1, read_file(surveys + name));
  }
  return compute_site(folder.put("many.toml", read_file(surveys + "/fernhollow.toml") +
                                                  "\n[stakes]\nstation_interval = 2.0\nhub_clearance = 5.0\n"));
}

struct MadeJob {
  const char* name;
  std::function<SiteResults(const Scratch&)> make;
};

const MadeJob made_jobs[] = {
    {"fernhollow", [](const Scratch&) { return demo_results_anew("fernhollow"); }},
    {"ridgeback", [](const Scratch&) { return demo_results_anew("ridgeback"); }},
    {"tiny", tiny_results},
    {"metres", metre_results},
    {"many stakes", many_stakes},
};

/// Fits whatever paper a page comes on.
struct Word {
  double left, top, right, bottom;
  std::string text;
};
struct Page {
  double width = 0, height = 0;
  std::vector<Word> words;
};

std::vector<Page> pages_of(const std::string& pdf) {
  const std::string text = run("pdftotext -bbox " + pdf + " -").text;
  std::vector<Page> pages;
  std::istringstream lines(text);
  const std::regex page(R"re(<page width="([0-9.]+)" height="([0-9.]+)">)re");
  const std::regex word(
      R"re(<word xMin="([-0-9.]+)" yMin="([-0-9.]+)" xMax="([-0-9.]+)" yMax="([-0-9.]+)">(.*)</word>)re");
  std::smatch m;
  for (std::string line; std::getline(lines, line);) {
    if (std::regex_search(line, m, page)) pages.push_back({std::stod(m[1]), std::stod(m[2]), {}});
    if (!pages.empty() && std::regex_search(line, m, word)) {
      pages.back().words.push_back({std::stod(m[1]), std::stod(m[2]), std::stod(m[3]), std::stod(m[4]), m[5]});
    }
  }
  return pages;
}

class Sheets : public testing::TestWithParam<MadeJob> {
 protected:
  Scratch folder;
  SiteResults results = GetParam().make(folder);
  std::string file = (folder / "sheets.pdf").string();

  void write(const SheetOptions& options = {}) { folder.put("sheets.pdf", sheets_pdf(results, options)); }
  std::string text(int page = 0) const {
    const std::string range = page == 0 ? "" : "-f " + std::to_string(page) + " -l " + std::to_string(page) + " ";
    return run("pdftotext -layout " + range + file + " -").text;
  }
  /// The pages' own operators, not compressed.
  std::string plain_operators(const std::string& options = {}) const {
    const std::string plain = (folder / "plain.pdf").string();
    const Outcome outcome = run("qpdf --qdf --object-streams=disable " + file + " " + options + " " + plain);
    EXPECT_EQ(outcome.code, 0) << outcome.text;
    return read_file(plain);
  }
};

INSTANTIATE_TEST_SUITE_P(Jobs, Sheets, testing::ValuesIn(made_jobs), [](const auto& info) {
  std::string name = info.param.name;
  std::replace(name.begin(), name.end(), ' ', '_');
  return name;
});

// The instrument is set up from the first mark and checked on the second: each line has its own mark's elevation.
TEST(SheetsGradeCard, ChecksOnTheSecondMarksOwnElevation) {
  struct Marks {
    const char *job, *first, *second;  // as the job files have them
  };
  for (const auto& [job, first, second] :
       {Marks{"fernhollow", "100.00", "115.16"}, {"ridgeback", "875.93", "865.21"}}) {
    const Scratch folder;
    const std::string file = folder.put("sheets.pdf", sheets_pdf(demo_results(job), {})).string();
    const std::string card = run("pdftotext -layout -f 1 -l 1 " + file + " -").text;
    EXPECT_THAT(card, HasSubstr(std::string("Rod on BM1, elevation ") + first)) << job;
    EXPECT_THAT(card, HasSubstr(std::string("HI = ") + first + " + that reading")) << job;
    EXPECT_THAT(card, HasSubstr(std::string("CHECK SHOT FIRST, on BM2, ") + second)) << job;
    EXPECT_THAT(card, HasSubstr(std::string("HI - ") + second + " =")) << job;
  }
}

TEST_P(Sheets, SayEveryStakeGradeAndYard) {
  write();
  const std::string all = text(), card = text(1);
  const LengthUnit unit = results.job.site.unit;
  for (const Stake& stake : results.found().stakes.stakes) EXPECT_THAT(all, HasSubstr(std::to_string(stake.number)));
  // On the lath sheets each number is one word, in a row of its own.
  std::map<std::string, int> on_laths;
  for (const Page& page : pages_of(file)) {
    const auto has = [&](const char* text) {
      return std::any_of(page.words.begin(), page.words.end(), [&](const Word& word) { return word.text == text; });
    };
    if (!has("EDGE") || !has("LATH")) continue;
    for (const Word& word : page.words) ++on_laths[word.text];
  }
  for (const Stake& stake : results.found().stakes.stakes)
    EXPECT_GE(on_laths[std::to_string(stake.number)], 1) << stake.number;
  for (const Grade& grade : results.found().stakes.grades) {
    EXPECT_THAT(card, HasSubstr(fixed_text(grade.elevation, length_decimals(unit)))) << grade.name;
  }
  EXPECT_THAT(card, HasSubstr("GRADE CARD")) << "the grade card comes first";
  const auto summary = nlohmann::json::parse(summary_json(results));
  const std::string in = bulk_units(unit).volume_key;
  for (const auto& item : summary["fill"]) {
    EXPECT_THAT(all, HasSubstr(fixed_text(item["volume_" + in].get<double>(), 1))) << item["name"];
  }
  EXPECT_THAT(all, HasSubstr(fixed_text(summary["total"]["fill_" + in].get<double>(), 1)));
  for (const PlanCheck& check : results.found().checks)
    EXPECT_THAT(all, HasSubstr(check.name.substr(0, check.name.find(' '))));
}

TEST_P(Sheets, PassTheCheckOfPdf) {
  write();
  const Outcome outcome = run("qpdf --check " + file);
  EXPECT_EQ(outcome.code, 0) << outcome.text;
  EXPECT_THAT(outcome.text, HasSubstr("No syntax or stream encoding errors"));
}

TEST_P(Sheets, EmbedTheirFonts) {
  write();
  std::istringstream lines(run("pdffonts " + file).text);
  std::string line;
  std::getline(lines, line);
  const std::size_t column = line.find("emb");
  ASSERT_NE(column, std::string::npos) << line;
  std::getline(lines, line);
  int fonts = 0;
  while (std::getline(lines, line)) {
    EXPECT_THAT(line, HasSubstr("DejaVuSans"));
    EXPECT_EQ(line.substr(column, 3), "yes") << line;
    ++fonts;
  }
  EXPECT_GE(fonts, 2) << "plain and bold";
}

TEST_P(Sheets, AreTheSameBytesTwice) {
  const std::string once = sheets_pdf(results);
  const Scratch elsewhere;
  EXPECT_EQ(once, sheets_pdf(GetParam().make(elsewhere)));
  folder.put("sheets.pdf", once);
  EXPECT_THAT(run("pdfinfo " + file).text, Not(HasSubstr("Date")));
}

/// Every word lies whole inside the frame, and none lies on the line over the title block or the one through it.
TEST_P(Sheets, KeepEveryWordInsideTheFrameOnAnyPaper) {
  constexpr double frame = 28, title = 44, caution = 11;
  for (const PaperSize size : {PaperSize::letter, PaperSize::a4, PaperSize::tabloid, PaperSize::a3}) {
    write({size, "2026-04-01"});
    const SheetPaper paper = sheet_paper(size);
    for (const Page& page : pages_of(file)) {
      EXPECT_NEAR(std::min(page.width, page.height), paper.width, 0.01);
      EXPECT_NEAR(std::max(page.width, page.height), paper.height, 0.01);
      ASSERT_FALSE(page.words.empty());
      for (const Word& word : page.words) {
        const std::string what = std::string(to_text(size)) + ": " + word.text;
        EXPECT_GE(word.left, frame) << what;
        EXPECT_LE(word.right, page.width - frame) << what;
        EXPECT_GE(word.top, frame) << what;
        EXPECT_LE(word.bottom, page.height - frame + 0.5) << what;
        // Drawings are not enlarged, text pages are: one of the two lines is there.
        for (const double line : {frame + title, frame + caution}) {
          const double plain = page.height - line, large = page.height - line * paper.enlarged;
          const auto clear = [&](double y) { return word.bottom < y + 1.2 || word.top > y - 1.2; };
          EXPECT_TRUE(clear(plain) || clear(large)) << what;
        }
      }
    }
  }
}

/// Sizes of all text as the page's operators set it, turned text too.
TEST_P(Sheets, HaveNoTextBelowSevenPoints) {
  write();
  const std::string operators = plain_operators();
  const std::regex matrix("([-0-9.]+) ([-0-9.]+) ([-0-9.]+) ([-0-9.]+) [-0-9.]+ [-0-9.]+ Tm");
  int texts = 0;
  for (std::sregex_iterator i(operators.begin(), operators.end(), matrix), end; i != end; ++i, ++texts) {
    const auto part = [&](std::size_t k) { return std::stod((*i)[k]); };
    const double size = std::sqrt(std::abs(part(1) * part(4) - part(2) * part(3)));
    EXPECT_GE(size, 6.99) << i->str();
  }
  EXPECT_GT(texts, 300);
}

/// Hubs are filled squares on the plan, drawn in their order; how far apart they stand on paper gives the scale.
TEST_P(Sheets, DrawThePlanToItsScale) {
  write();
  int plan = 0;
  const int pages = static_cast<int>(pages_of(file).size());
  for (int page = 1; page <= pages && plan == 0; ++page) {
    if (text(page).find("Plan of the work") != std::string::npos) plan = page;
  }
  ASSERT_GT(plan, 0);
  const std::string words = text(plan);
  std::smatch m;
  double points = 0;  // of paper for one job unit
  if (results.job.site.unit == LengthUnit::metre) {
    ASSERT_TRUE(std::regex_search(words, m, std::regex("1:([0-9]+)")));
    points = 72 / 0.0254 / std::stod(m[1]);
  } else {
    ASSERT_TRUE(std::regex_search(words, m, std::regex("1 in = ([0-9]+) ft")));
    points = 72 / std::stod(m[1]);
  }
  const std::string operators = plain_operators("--pages . " + std::to_string(plan) + " --");
  // Squares of 3.4 points, measured down from the top of the page.
  const std::regex square("([-0-9.]+) ([-0-9.]+) 3\\.(?:39|40?)[0-9]* 3\\.(?:39|40?)[0-9]* re");
  std::vector<Point2> squares;
  for (std::sregex_iterator i(operators.begin(), operators.end(), square), end; i != end; ++i) {
    squares.emplace_back(std::stod((*i)[1]) + 1.7, std::stod((*i)[2]) + 1.7);
  }
  std::vector<Point2> hubs;
  for (const Stake& stake : results.found().stakes.stakes) {
    if (stake.kind == StakeKind::hub) hubs.emplace_back(stake.easting, stake.northing);
  }
  ASSERT_GE(hubs.size(), 8U);
  ASSERT_GE(squares.size(), hubs.size());
  for (std::size_t i = 1; i < hubs.size(); ++i) {
    const Point2 on_ground = hubs[i] - hubs[0], on_paper = squares[i] - squares[0];
    EXPECT_NEAR(on_paper.x(), points * on_ground.x(), 0.005) << i;
    EXPECT_NEAR(on_paper.y(), -points * on_ground.y(), 0.005) << i;
  }
}

TEST_P(Sheets, SayTheDateThatIsGivenAndNoOther) {
  write({std::nullopt, "2026-04-01"});
  for (const Page& page : pages_of(file)) {
    EXPECT_TRUE(
        std::any_of(page.words.begin(), page.words.end(), [](const Word& w) { return w.text == "2026-04-01"; }));
  }
  EXPECT_THAT(run("TZ=UTC pdfinfo " + file).text, HasSubstr("Apr  1 00:00:00 2026"));
}

TEST(SheetPaper, IsWhatPrintersCallIt) {
  const Scratch folder;
  const SiteResults results = tiny_results(folder);
  const std::pair<PaperSize, const char*> names[] = {{PaperSize::letter, "612 x 792 pts (letter)"},
                                                     {PaperSize::a4, "(A4)"},
                                                     {PaperSize::tabloid, "792 x 1224 pts"},
                                                     {PaperSize::a3, "(A3)"}};
  for (const auto& [size, name] : names) {
    const std::filesystem::path file = folder.put("sheets.pdf", sheets_pdf(results, {size, ""}));
    EXPECT_THAT(run("pdfinfo " + file.string()).text, HasSubstr(name));
    EXPECT_EQ(paper_named(to_text(size)), size);
  }
  EXPECT_EQ(paper_named("foolscap"), std::nullopt);
}

TEST(SheetPaper, IsLetterForFeetAndA4ForMetres) {
  const Scratch folder;
  const auto size_line = [&](const SiteResults& results) {
    return run("pdfinfo " + folder.put("sheets.pdf", sheets_pdf(results)).string()).text;
  };
  EXPECT_THAT(size_line(tiny_results(folder)), HasSubstr("(letter)"));
  EXPECT_THAT(size_line(metre_results(folder)), HasSubstr("(A4)"));
}

TEST(SheetTables, RepeatTheirHeadingsOnEveryPage) {
  const Scratch folder;
  const SiteResults results = many_stakes(folder);
  ASSERT_GE(results.found().stakes.stakes.size(), 80U);
  const std::string file = folder.put("sheets.pdf", sheets_pdf(results)).string();
  int lath_pages = 0;
  const int pages = static_cast<int>(pages_of(file).size());
  for (int page = 1; page <= pages; ++page) {
    const std::string text = run(fmt::format("pdftotext -layout -f {0} -l {0} {1} -", page, file)).text;
    if (text.find("what to write on each lath") == std::string::npos) continue;
    ++lath_pages;
    EXPECT_THAT(text, HasSubstr("EDGE OF LATH")) << page;
    EXPECT_THAT(text, HasSubstr("BACK OF LATH")) << page;
  }
  EXPECT_GE(lath_pages, 6);
}

TEST(SheetDate, IsADayOfTheCalendar) {
  for (const char* good : {"2026-04-01", "2024-02-29", "1999-12-31"}) EXPECT_TRUE(is_calendar_date(good)) << good;
  for (const char* bad :
       {"", "2026-4-1", "2026-02-29", "2026-13-01", "2026-00-10", "01-04-2026", "2026/04/01", "2026-04-01 ", "today"}) {
    EXPECT_FALSE(is_calendar_date(bad)) << bad;
  }
}

}  // namespace
}  // namespace moundwright::io

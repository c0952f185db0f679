// What descriptions say of breaklines, and the lines that are joined from them.
#include "io/line_words.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "geom/ground.h"
#include "io/shots_csv.h"
#include "scratch.h"

namespace moundwright::io {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

/// "begin 2", "end", "" for a plain shot; "none" where the description has another code.
std::string read(const std::string& description, const std::string& code = "EP", const LineWords& words = {}) {
  const auto place = place_on_line(description, code, LineVocabulary(words));
  if (!place) return "none";
  constexpr const char* marks[] = {"", "begin", "end", "close"};
  std::string text = marks[static_cast<int>(place->mark)];
  if (!place->number.empty()) text += (text.empty() ? "" : " ") + place->number;
  return text;
}

TEST(LineWords, ACodeStandsAloneOrWithARemarkBehind) {
  for (const char* text : {"EP", "ep", " EP ", "EP broken asphalt", "EP bottom", "EP east", "EP, top", "EP (top)",
                           "EP 12.5 wide", "EP 6in", "EP 12' off", "EP B12", "EP 1/2", "EP clay"}) {
    EXPECT_EQ(read(text), "") << text;
  }
}

TEST(LineWords, ANumberIsTheLines) {
  for (const char* text : {"EP2", "EP 2", "EP-2", "EP_2", "EP/2", "EP02", "EP  2", "ep2 top", "EP 2, top", "EP2, B2"}) {
    EXPECT_EQ(read(text), "2") << text;
  }
}

TEST(LineWords, WordsBeginAndEndLines) {
  for (const char* text : {"EP B", "EP BEG", "ep begin", "EP ST", "EP Start", "EP-B", "EP B broken asphalt"}) {
    EXPECT_EQ(read(text), "begin") << text;
  }
  for (const char* text : {"EP E", "EP EN", "EP end", "EP STOP", "EP-END", "EP, E"})
    EXPECT_EQ(read(text), "end") << text;
  for (const char* text : {"EP CL", "EP CLS", "EP close"}) EXPECT_EQ(read(text), "close") << text;
  for (const char* text : {"EP2 B", "EP 2 B", "EP-2-B", "EP2B", "EP B 2", "EP B 2 "})
    EXPECT_EQ(read(text), "begin 2") << text;
  EXPECT_EQ(read("EP B 12 ft lane"), "begin");
}

TEST(LineWords, APointStandsBeforeAWordOrANumber) {
  EXPECT_EQ(read("EP.B"), "begin");
  EXPECT_EQ(read("EP.E top"), "end");
  EXPECT_EQ(read("EP.2"), "2");
  EXPECT_EQ(read("EP2.B"), "begin 2");
  EXPECT_EQ(read("EP 12.5"), "");
  for (const char* text : {"EP.X", "EP.25x", "EP.", "EP.B2.5"}) EXPECT_EQ(read(text), "none") << text;
}

TEST(LineWords, SignsOfTheJobStandRightBehindTheCode) {
  const LineWords signs = {{{"+"}}, {{"-"}}, {}};
  for (const char* text : {"EP+", "EP +", "ep + top"}) EXPECT_EQ(read(text, "EP", signs), "begin") << text;
  for (const char* text : {"EP-", "EP -"}) EXPECT_EQ(read(text, "EP", signs), "end") << text;
  EXPECT_EQ(read("EP2+", "EP", signs), "begin 2");
  EXPECT_EQ(read("EP-2", "EP", signs), "2");
  EXPECT_EQ(read("EP+"), "none");
}

TEST(LineWords, InTheWrongPlaceAreWarnedOf) {
  ShotsOptions options;
  options.codes.breaklines = {"TOB"};
  const auto warnings = [&](const std::string& first, const std::string& last) {
    const std::string csv = "1,0,0,1," + first + "\n2,9,0,1,TOB\n3,18,0,1," + last +
                            "\n4,9,9,1,GS\n5,0,9,1,GS\n6,9,4,1,TOPE\n7,3,4,1,TOP\n";
    std::string texts;
    for (const Problem& problem : shots_from_csv(csv, "g.csv", options).notes.all) texts += to_text(problem) + "\n";
    return texts;
  };
  EXPECT_THAT(warnings("TOBB", "TOBE"), HasSubstr("g.csv line 1: 2 shots such as \"TOBB\" are on no line"));
  EXPECT_THAT(warnings("B TOB", "E TOB"), HasSubstr("g.csv line 1: 2 shots such as \"B TOB\" are on no line"));
  EXPECT_THAT(warnings("TOB B", "TOB E"), testing::Not(HasSubstr("on no line")));
}

TEST(LineWords, OtherCodesAreNotTaken) {
  for (const char* text : {"EPX", "EP-TOP", "EP1X", "EPB", "EP1-2", "E", "", "GS EP", "EP-"})
    EXPECT_EQ(read(text), "none") << text;
}

TEST(LineWords, CodesMayHaveBlanksAndHyphens) {
  EXPECT_EQ(read("Edge  of pavement 2 beg", "EDGE OF PAVEMENT"), "begin 2");
  EXPECT_EQ(read("EDGE OF", "EDGE OF PAVEMENT"), "none");
  EXPECT_EQ(read("EDGE OF PAVEMENTS", "EDGE OF PAVEMENT"), "none");
  EXPECT_EQ(read("EP-1 B", "EP-1"), "begin");
  EXPECT_EQ(read("EP-12", "EP-1"), "2");
}

TEST(LineWords, WordsOfTheJobTakeThePlaceOfTheUsualOnes) {
  LineWords words;
  words.begin = {{"<", "on"}}, words.end = {{"B"}};
  EXPECT_EQ(read("EP <", "EP", words), "begin");
  EXPECT_EQ(read("EP On", "EP", words), "begin");
  EXPECT_EQ(read("EP BEG", "EP", words), "");
  EXPECT_EQ(read("EP B", "EP", words), "end");
  EXPECT_EQ(read("EP CLS", "EP", words), "close");  // not given, so the usual words stay
  words.close = std::vector<std::string>{};
  EXPECT_EQ(read("EP CLS", "EP", words), "");
}

// ---- lines ----

ShotsOptions with_codes(std::vector<std::string> codes, LineWords words = {}) {
  ShotsOptions options;
  options.codes.breaklines = std::move(codes);
  options.codes.line_words = std::move(words);
  return options;
}

/// Shots by description and place, numbered from 1.
struct Place {
  double north, east;
  const char* description;
};

std::string csv_of(const std::vector<Place>& places) {
  std::string csv;
  for (std::size_t i = 0; i < places.size(); ++i) {
    csv += fmt::format("{},{},{},100,{}\n", i + 1, places[i].north, places[i].east, places[i].description);
  }
  return csv;
}

Survey survey_of(const std::vector<Place>& places, const ShotsOptions& options = with_codes({"EP"})) {
  return shots_from_csv(csv_of(places), "g.csv", options);
}

auto is_warning(const std::string& where, const std::string& what) {
  return testing::AllOf(testing::Field(&Problem::severity, Severity::warning), testing::Field(&Problem::where, where),
                        testing::Field(&Problem::what, HasSubstr(what)));
}

/// Two edges 30 apart, each of four shots 10 apart, one after the other and both northward.
std::vector<Place> two_edges(const char* first, const char* middle, const char* last) {
  std::vector<Place> places;
  for (const double east : {0.0, 30.0}) {
    for (const double north : {0.0, 10.0, 20.0, 30.0}) {
      places.push_back({north, east, north == 0 ? first : north == 30 ? last : middle});
    }
  }
  return places;
}

TEST(LineJoining, BeginAndEndWordsMakeTwoLinesOfOneCode) {
  const std::vector<std::vector<const char*>> ways = {
      {"EP B", "EP", "EP E"}, {"EP BEG", "EP", "EP END"}, {"EP ST", "EP", "EP EN"},         {"EP B", "EP", "EP"},
      {"EP", "EP", "EP E"},   {"EP-B", "EP", "EP-E"},     {"EP START", "EP top", "EP STOP"}};
  for (const auto& way : ways) {
    const Survey survey = survey_of(two_edges(way[0], way[1], way[2]));
    EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 1, 2, 3), ElementsAre(4, 5, 6, 7))) << way[0];
    EXPECT_THAT(survey.notes.all, IsEmpty()) << way[0];
    EXPECT_EQ(to_text(survey.line_names.at(1)), "EP");
  }
}

TEST(LineJoining, NumbersMakeLinesInWhateverOrderTheyAreShot) {
  const Survey survey = survey_of({{0, 0, "EP 1"}, {0, 30, "EP-2"}, {10, 30, "EP2 top"}, {10, 0, "EP01"}});
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 3), ElementsAre(1, 2)));
  EXPECT_EQ(to_text(survey.line_names.at(1)), "EP2");
}

TEST(LineJoining, ACodeOfSeveralWords) {
  const Survey survey = survey_of(two_edges("Edge of Pavement B", "edge of pavement", "EDGE OF PAVEMENT E"),
                                  with_codes({"edge of  pavement"}));
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 1, 2, 3), ElementsAre(4, 5, 6, 7)));
}

TEST(LineJoining, TwoLinesOpenAtOnceAreSortedByNearnessAndTold) {
  const Survey survey = survey_of({{0, 0, "EP B"},
                                   {0, 30, "EP B"},
                                   {10, 0, "EP"},
                                   {10, 30, "EP"},
                                   {20, 30, "EP"},
                                   {20, 0, "EP"},
                                   {30, 0, "EP E"},
                                   {30, 30, "EP E"}});
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 2, 5, 6), ElementsAre(1, 3, 4, 7)));
  EXPECT_THAT(survey.notes.all, ElementsAre(is_warning("g.csv line 1 and g.csv line 2", "has two lines open at once")));
}

TEST(LineJoining, AShotThatMayBelongToEitherOfTwoIsRefused) {
  const auto problems = problems_of([] {
    survey_of({{0, 0, "EP B"}, {0, 30, "EP B"}, {80, 0, "EP"}, {80, 30, "EP"}, {160, 0, "EP E"}, {160, 30, "EP E"}});
  });
  ASSERT_THAT(problems, SizeIs(2));
  EXPECT_THAT(problems[1].what,
              HasSubstr("point 3 may belong to either: it is 80.0 from point 1 and 85.4 from point 2"));
  EXPECT_THAT(problems[1].what_to_do, HasSubstr("EP1 for one and EP2 for the other"));
}

TEST(LineJoining, AWordOnShotsOneAfterAnotherIsARemark) {
  // An edge to the east, and the center line (CL) of a ditch.
  Survey survey = survey_of({{0, 0, "EP E"}, {10, 0, "EP E"}, {20, 0, "EP E"}});
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 1, 2)));
  ASSERT_THAT(survey.notes.all,
              ElementsAre(is_warning("g.csv line 1", "has the word E behind it on 3 of its 3 shots")));
  EXPECT_THAT(survey.notes.all[0].what_to_do, HasSubstr("line_words = { end = [\"E\"] }"));
  survey = survey_of({{0, 0, "EP CL"}, {10, 0, "EP CL"}, {20, 0, "EP CL"}});
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 1, 2)));

  LineWords given;
  given.end = {{"E"}};
  survey = survey_of({{0, 0, "EP E"}, {10, 0, "EP"}, {20, 0, "EP E"}}, with_codes({"EP"}, given));
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(1, 2)));
}

// A word that the job gives is what the job says it is, even where it leaves lines of one shot.
TEST(LineJoining, AWordOfTheJobIsNeverARemark) {
  LineWords given;
  given.end = {{"E"}};
  const Survey survey = survey_of({{0, 0, "EP E"}, {10, 0, "EP E"}, {20, 0, "EP E"}}, with_codes({"EP"}, given));
  EXPECT_THAT(survey.breaklines, IsEmpty());
  EXPECT_THAT(survey.notes.all, ElementsAre(is_warning("g.csv line 1", "a line of one shot"),
                                            is_warning("g.csv line 2", "a line of one shot"),
                                            is_warning("g.csv line 3", "a line of one shot")));
}

// On every second shot CL would close lines of two shots, which no line can be: the center line is meant.
TEST(LineJoining, AWordThatWouldCloseLinesOfTwoShotsIsARemark) {
  const Survey survey =
      survey_of({{0, 0, "EP"}, {10, 0, "EP CL"}, {20, 0, "EP"}, {30, 0, "EP CL"}, {40, 0, "EP"}, {50, 0, "EP CL"}});
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 1, 2, 3, 4, 5)));
  EXPECT_THAT(survey.notes.all,
              ElementsAre(is_warning("g.csv line 2", "has the word CL behind it on 3 of its 6 shots")));
}

TEST(LineJoining, TheLongerCodeCounts) {
  ShotsOptions options = with_codes({"EP"});
  options.codes.skip = {"EP9"};  // marks beside the edge
  const std::vector<Place> places = {{0, 0, "EP"}, {5, 50, "EP9"}, {10, 0, "EP"}, {20, 0, "EP"}};
  Survey survey = survey_of(places, options);
  EXPECT_THAT(survey.ground_shots, SizeIs(3));
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 1, 2)));
  options = with_codes({"EP9"});
  options.codes.skip = {"EP"};
  survey = survey_of({{0, 0, "EP9"}, {5, 50, "EP"}, {10, 0, "EP9"}}, options);
  EXPECT_THAT(survey.ground_shots, SizeIs(2));
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 1)));
}

TEST(LineJoining, TheFirstShotOfABreaklineFileIsToldAsThatFiles) {
  const Scratch scratch;
  ShotsOptions options;
  options.breakline_files = {
      scratch.put("curb.csv", "51,0,60,100\n52,80,160,100\n53,89,160,100\n54,98,160,100\n55,107,160,100\n")};
  const Survey survey = read_shots(scratch.put("g.csv", "90,-5,-5,100\n91,-5,5,100\n"), options);
  EXPECT_THAT(survey.notes.all, ElementsAre(is_warning("curb.csv line 1 and curb.csv line 2", "leaps")));
}

TEST(LineJoining, AMissingEndIsTold) {
  const Survey survey = survey_of({{0, 0, "EP B"}, {10, 0, "EP"}, {0, 30, "EP B"}, {10, 30, "EP E"}});
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 1), ElementsAre(2, 3)));
  EXPECT_THAT(survey.notes.all,
              ElementsAre(is_warning("g.csv line 1 and g.csv line 3", "is not ended before another")));
}

TEST(LineJoining, ALeapIsToldWithPointsDistanceAndWhatToDo) {
  const Survey survey = survey_of(two_edges("EP", "EP", "EP"));  // no words: one line across the drive
  EXPECT_THAT(survey.breaklines, ElementsAre(SizeIs(8)));
  ASSERT_THAT(survey.notes.all, SizeIs(1));
  const Problem& told = survey.notes.all[0];
  const double leap = std::hypot(30, 30);
  EXPECT_THAT(told.what, HasSubstr(fmt::format("leaps {:.1f} from point 4 to point 5, where its shots are usually 10.0 "
                                               "apart",
                                               leap)));
  EXPECT_EQ(told.where, "g.csv line 4 and g.csv line 5");
  EXPECT_THAT(told.what_to_do, HasSubstr("EP1 and EP2, or write where each begins and ends: EP B ... EP E"));
}

TEST(LineJoining, EdgesShotByTurnsUnderOneCodeAreTold) {
  const Survey to_and_fro =
      survey_of({{0, 0, "EP"}, {0, 24, "EP"}, {50, 0, "EP"}, {50, 24, "EP"}, {100, 0, "EP"}, {100, 24, "EP"}});
  EXPECT_THAT(to_and_fro.notes.all, ElementsAre(is_warning("g.csv line 1", "goes to and fro")));
  const Survey there_and_back = survey_of({{0, 0, "EP"},
                                           {0, 24, "EP"},
                                           {50, 24, "EP"},
                                           {50, 0, "EP"},
                                           {100, 0, "EP"},
                                           {100, 24, "EP"},
                                           {150, 24, "EP"},
                                           {150, 0, "EP"}});
  EXPECT_THAT(there_and_back.notes.all, ElementsAre(is_warning("g.csv line 1", "goes to and fro")));
}

TEST(LineJoining, BendsSquaresAndUnevenSpacingAreNotTold) {
  EXPECT_THAT(survey_of({{0, 0, "EP"},
                         {50, 0, "EP"},
                         {90, 5, "EP"},
                         {110, 20, "EP"},
                         {115, 26, "EP"},
                         {118, 33, "EP"},
                         {119, 40, "EP"},
                         {119, 90, "EP"},
                         {119, 140, "EP"}})
                  .notes.all,
              IsEmpty());
  EXPECT_THAT(survey_of({{0, 0, "EP"}, {30, 0, "EP"}, {30, 12, "EP"}, {0, 12, "EP CLOSE"}}).notes.all, IsEmpty());
}

TEST(LineJoining, ALineOfTwoShotsCannotBeClosed) {
  const Survey survey =
      survey_of({{0, 0, "EP B"}, {10, 0, "EP CLOSE"}, {0, 30, "EP B"}, {10, 30, "EP"}, {10, 40, "EP CLOSE"}});
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(0, 1), ElementsAre(2, 3, 4, 2)));
  EXPECT_THAT(survey.notes.all, ElementsAre(is_warning("g.csv line 1 and g.csv line 2", "cannot be closed")));
}

TEST(LineJoining, ABreaklineFileWithWordsHoldsSeveralLines) {
  const Scratch scratch;
  ShotsOptions options;
  options.breakline_files = {
      scratch.put("drive.csv", csv_of(two_edges("EP B", "EP", "EP E"))),
      scratch.put("curb.csv", "51,0,60,100\n52,9,60,100\n53,18,60,100\n54,80,160,100\n55,89,160,100\n")};
  const Survey survey = read_shots(scratch.put("g.csv", "90,-5,-5,100\n91,-5,5,100\n"), options);
  EXPECT_THAT(survey.breaklines, ElementsAre(ElementsAre(2, 3, 4, 5), ElementsAre(6, 7, 8, 9), SizeIs(5)));
  EXPECT_THAT(survey.notes.all,
              ElementsAre(is_warning("curb.csv line 3 and curb.csv line 4", "the breakline curb.csv leaps")));
  EXPECT_EQ(to_text(survey.line_names.at(0)), "EP");
  EXPECT_EQ(to_text(survey.line_names.at(2)), "curb");
}

}  // namespace
}  // namespace moundwright::io

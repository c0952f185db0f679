// A job open for changes, without a screen: moves, the way back, figures, and what is saved.
#include "viewer/edit_session.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "../io/scratch.h"
#include "io/text_file.h"
#include "test_paths.h"
#include "viewer/panel_text.h"

namespace moundwright::viewer {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

class Edit : public testing::Test {
 protected:
  Scratch scratch;
  fs::path copy(const std::string& name) const {
    fs::copy(MOUNDWRIGHT_SURVEYS, scratch.folder(), fs::copy_options::recursive | fs::copy_options::skip_existing);
    return scratch / (name + ".toml");
  }
  static EditSession open(const fs::path& job) { return EditSession(io::read_site(job)); }

  void change(const fs::path& job, const std::string& from, const std::string& to) const {
    std::string text = io::read_file(job);
    const std::size_t at = text.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    io::write_files({{job, text.replace(at, from.size(), to)}});
  }
};

void work_out(EditSession& session) {
  const auto work = session.pending();
  ASSERT_TRUE(work);
  ASSERT_TRUE(session.accept((*work)(), session.revision()));
}

/// The session's figures against those of the whole computation on the file.
void expect_same_figures(EditSession& session, const io::SiteResults& built) {
  ASSERT_TRUE(session.mound());
  const Buildup &a = session.mound()->buildup, &b = built.mound().buildup;
  EXPECT_NEAR(a.bottom_elevation, b.bottom_elevation, 1e-9);
  for (std::size_t k = 0; k < a.layers.size(); ++k) {
    EXPECT_NEAR(a.layers[k].volume, b.layers[k].volume, 1e-6) << a.layers[k].name;
  }
  EXPECT_NEAR(a.total_cut(), b.total_cut(), 1e-6);
  EXPECT_NEAR(a.berm.downslope.middle, b.berm.downslope.middle, 1e-6);
  work_out(session);
  ASSERT_EQ(session.findings()->checks.size(), built.found().checks.size());
  for (std::size_t i = 0; i < built.found().checks.size(); ++i) {
    EXPECT_EQ(session.findings()->checks[i].text, built.found().checks[i].text);
    EXPECT_EQ(session.findings()->checks[i].verdict, built.found().checks[i].verdict);
  }
  EXPECT_EQ(session.findings()->stakes.stakes.size(), built.found().stakes.stakes.size());
}

TEST_F(Edit, AJobOpensAsItIs) {
  for (const char* name : {"fernhollow", "ridgeback"}) {
    SCOPED_TRACE(name);
    const fs::path job = copy(name);
    EditSession session = open(job);
    EXPECT_FALSE(session.is_changed());
    EXPECT_FALSE(session.can_undo());
    const Moved moved = session.moved();
    EXPECT_EQ(moved.along, 0);
    EXPECT_EQ(moved.turned, 0);
    expect_same_figures(session, io::compute_site(job));
  }
}

TEST_F(Edit, AlongIsToTheRightEndAndAcrossIsDownslope) {
  EditSession session = open(copy("fernhollow"));
  const Point2 before = session.state().middle;
  session.move(0, 2);
  const Point2 by = session.state().middle - before;
  EXPECT_NEAR(by.norm(), 2, 2e-3);
  EXPECT_GT(by.dot(direction_of(164)), 1.99) << "downslope of the demo is azimuth 164";
  session.move(3, 0);
  EXPECT_NEAR(session.moved().along, 3, 2e-3);
  EXPECT_NEAR(session.moved().across, 2, 2e-3);
}

TEST_F(Edit, ATurnChangesNothingOfWhatIsSaidOfMoves) {
  EditSession session = open(copy("fernhollow"));
  session.move(3, 1);
  for (const double turn : {30.0, 80.0, 200.0, -300.0}) {
    session.turn(turn);
    EXPECT_NEAR(session.moved().along, 3, 2e-3);
    EXPECT_NEAR(session.moved().across, 1, 2e-3);
    EXPECT_LE(std::abs(session.moved().turned), 180);
  }
  const Point2 a = session.along(), before = session.state().middle;
  session.move(2, 0);
  EXPECT_NEAR((session.state().middle - before - 2 * a).norm(), 0, 2e-3) << "a step goes along the bed as it lies";
}

TEST_F(Edit, OnceSavedWhatIsSaidOfMovesIsAlongTheBedAsSaved) {
  EditSession session = open(copy("fernhollow"));
  session.turn(30);
  session.save();
  const Point2 a = session.along(), before = session.state().middle;
  session.move_to(5, 0);
  EXPECT_NEAR((session.state().middle - before - 5 * a).norm(), 0, 2e-3);
  EXPECT_NEAR(session.moved().along, 5, 2e-3);
  EXPECT_NEAR(session.moved().across, 0, 2e-3);
}

TEST_F(Edit, ATurnPastNorthIsAnAzimuthThatAJobMayHave) {
  const fs::path job = copy("fernhollow");
  EditSession session = open(job);
  session.turn(-100);  // from 74 degrees
  EXPECT_NEAR(session.bed_azimuth(), 334, 1e-6);
  session.save();
  EXPECT_NEAR(open(job).bed_azimuth(), 334, 1e-6);
}

TEST_F(Edit, SandIsNeverLoweredBelowNothing) {
  EditSession session = open(copy("fernhollow"));
  session.raise(-50);
  EXPECT_EQ(session.state().design.least_sand, 0.0);
}

TEST_F(Edit, ABedTurnedRoundFacesDownslopeWithItsOtherSide) {
  EditSession session = open(copy("fernhollow"));
  const double downslope = session.mound()->buildup.berm.downslope.middle;
  session.turn(180);
  EXPECT_NEAR(session.mound()->buildup.berm.downslope.middle, downslope, 1e-6)
      << "the layers are the same on both sides";
  EXPECT_EQ(session.state().design.downslope, 164.0);
}

TEST_F(Edit, WhatIsSavedGivesTheFiguresThatWereShown) {
  for (const char* name : {"fernhollow", "ridgeback"}) {
    SCOPED_TRACE(name);
    const fs::path job = copy(name);
    EditSession session = open(job);
    session.move(1.2345, -0.777);
    session.turn(3.217);
    session.raise(0.25);
    session.resize([](MoundDesign& design) { design.layers[1].top += 0.1; });
    ASSERT_TRUE(session.is_changed());
    session.save();
    EXPECT_FALSE(session.is_changed());
    expect_same_figures(session, io::compute_site(job));
    EXPECT_EQ(session.moved().along, 0) << "from where the job file has it";
  }
}

TEST_F(Edit, SavingKeepsCommentsAndOrder) {
  const fs::path job = copy("fernhollow");
  const std::string before = io::read_file(job);
  EditSession session = open(job);
  session.raise(0.5);
  session.save();
  std::string expected = before;
  const std::string old_value = "least_sand = 1.5 ", new_value = "least_sand = 2.0 ";
  expected.replace(expected.find(old_value), old_value.size(), new_value);
  EXPECT_EQ(io::read_file(job), expected);
}

TEST_F(Edit, UndoGoesBackAndRedoForthToTheSameBytes) {
  const fs::path job = copy("ridgeback");
  EditSession session = open(job);
  const double first = session.mound()->buildup.total_fill();
  session.move(2, 1);
  session.turn(2);
  session.raise(0.2);
  const double last = session.mound()->buildup.total_fill();
  EXPECT_NE(first, last);
  int steps = 0;
  while (session.undo()) ++steps;
  EXPECT_EQ(steps, 3);
  EXPECT_FALSE(session.is_changed());
  EXPECT_EQ(session.mound()->buildup.total_fill(), first);
  while (session.redo()) --steps;
  EXPECT_EQ(steps, 0);
  EXPECT_EQ(session.mound()->buildup.total_fill(), last);
  session.undo();
  session.move(1, 0);
  EXPECT_FALSE(session.can_redo()) << "a new change closes the way forth";
}

TEST_F(Edit, OneDragIsOneStepBack) {
  EditSession session = open(copy("fernhollow"));
  for (int i = 0; i < 20; ++i) session.move(0.1, 0, "drag");
  session.end_change();
  session.move(0.1, 0, "drag");
  EXPECT_NEAR(session.moved().along, 2.1, 0.03);
  session.undo();
  EXPECT_NEAR(session.moved().along, 2.0, 0.03);
  session.undo();
  EXPECT_EQ(session.moved().along, 0);
  EXPECT_FALSE(session.can_undo());
}

TEST_F(Edit, ABentBedKeepsItsShapeHoweverOftenItIsTurned) {
  EditSession session = open(copy("ridgeback"));
  const auto first = session.state().design.bed.line;
  for (int i = 0; i < 60; ++i) session.turn(i % 2 == 0 ? 7.3 : -6.1);
  session.turn_to(10);
  const auto line = session.state().design.bed.line;
  for (std::size_t i = 1; i < line.size(); ++i) {
    EXPECT_NEAR((line[i] - line[i - 1]).norm(), (first[i] - first[i - 1]).norm(), 2e-3);
  }
}

TEST_F(Edit, ABedOffTheSurveyIsToldAndCanBeMovedBack) {
  const fs::path job = copy("fernhollow");
  change(job, "n = 5120.0, e = 4890.0", "n = 5620.0, e = 4890.0");
  EditSession session = open(job);
  EXPECT_FALSE(session.mound());
  EXPECT_FALSE(session.pending());
  ASSERT_TRUE(session.problems().has_errors());
  EXPECT_THAT(to_text(panel_text(session)), HasSubstr("no surveyed ground under the bed"));
  const Point2 back = Point2(4890, 5120) - session.state().middle;
  const Point2 along = session.along();
  session.move(along.dot(back), Point2(-along.y(), along.x()).dot(back));
  EXPECT_TRUE(session.mound());
  EXPECT_FALSE(session.problems().has_errors());
  session.save();
  EXPECT_FALSE(io::blocking_problems(io::compute_site(job)).has_errors());
}

TEST_F(Edit, ABermOffTheSurveyAndABuriedBedAreToldAsBuildTellsThem) {
  const fs::path job = copy("fernhollow");
  change(job, "bottom = { least_sand = 1.5 }", "bottom = { elevation = 109.0 }");
  EditSession session = open(job);
  const Problems built = io::blocking_problems(io::compute_site(job));
  ASSERT_EQ(session.problems().all.size(), built.all.size());
  EXPECT_EQ(session.problems().all[0].what, built.all[0].what);
  session.raise(4);
  EXPECT_FALSE(session.problems().has_errors());
}

TEST_F(Edit, SizesThatCannotBeBuiltAreToldAndUndone) {
  EditSession session = open(copy("fernhollow"));
  session.set_bed_length(-5);
  EXPECT_FALSE(session.mound());
  EXPECT_TRUE(session.problems().has_errors());
  EXPECT_THROW(session.save(), Refusal);
  session.undo();
  EXPECT_TRUE(session.mound());
}

TEST_F(Edit, AJobChangedByOthersIsNotOverwritten) {
  const fs::path job = copy("fernhollow");
  EditSession session = open(job);
  session.move(1, 0);
  change(job, "separation = 3.0", "separation = 2.0");
  const std::string theirs = io::read_file(job);
  EXPECT_THAT(problems_of([&] { session.save(); }),
              testing::ElementsAre(is_error(job.string(), "changed by someone else")));
  EXPECT_EQ(io::read_file(job), theirs);
}

TEST_F(Edit, FindingsOfAnotherPlaceAreNotTaken) {
  EditSession session = open(copy("fernhollow"));
  const auto work = session.pending();
  const auto revision = session.revision();
  session.move(1, 0);
  EXPECT_FALSE(session.accept((*work)(), revision));
  EXPECT_EQ(session.findings(), nullptr);
  work_out(session);
  EXPECT_FALSE(session.pending()) << "there is nothing left to find out";
}

TEST_F(Edit, DownslopeIsFoundAndSavedWithTheFirstChangeOnly) {
  const fs::path job = copy("fernhollow");
  change(job, "downslope = 164.0", "# none");
  EditSession session = open(job);
  EXPECT_FALSE(session.is_changed());
  session.move(1, 0);
  session.save();
  EXPECT_THAT(io::read_file(job), HasSubstr("downslope = 164"));
}

TEST_F(Edit, ThePanelSaysWhatTheSessionHolds) {
  EditSession session = open(copy("fernhollow"));
  session.move(0, 1.5);
  const PanelText panel = panel_text(session);
  EXPECT_EQ(panel.title, "Lot 7, Fernhollow Lane");
  EXPECT_EQ(panel.saved, "changed, not saved");
  EXPECT_EQ(panel.place[1].value, "1.50 ft downslope");
  ASSERT_EQ(panel.takeoff.size(), 7U);
  EXPECT_EQ(panel.takeoff[0].value,
            fixed_text(session.mound()->buildup.layers[0].volume * cubic_yards_per(LengthUnit::foot), 1));
  EXPECT_FALSE(panel.checks_ready);
  work_out(session);
  EXPECT_TRUE(panel_text(session).checks_ready);
  EXPECT_THAT(to_text(panel_text(session)), HasSubstr("separation: "));
}

TEST(Wrapped, BreaksAtSpacesOnly) {
  EXPECT_EQ(wrapped("the berm runs off", 8), "the berm\nruns off");
  EXPECT_EQ(wrapped("incomprehensible", 4), "incomprehensible");
  EXPECT_EQ(wrapped("", 4), "");
}

TEST_F(Edit, ABedOffTheSurveyIsBroughtOnAndBack) {
  const fs::path job = copy("fernhollow");
  change(job, "n = 5120.0, e = 4890.0", "n = 9120.0, e = 1890.0");
  EditSession session = open(job);
  ASSERT_FALSE(session.is_on_survey());
  EXPECT_THAT(to_text(panel_text(session)), HasSubstr("the bed lies off the survey"));
  const Point2 before = session.state().middle;
  ASSERT_TRUE(session.bring_onto_survey());
  EXPECT_TRUE(session.is_on_survey());
  ASSERT_TRUE(session.mound());
  EXPECT_EQ(session.mound()->buildup.toe.off_survey, 0);
  EXPECT_THAT(to_text(panel_text(session)), testing::Not(HasSubstr("off the survey")));
  // Only as far as it takes: some feet back, the berm leaves the survey.
  const Point2 there = session.state().middle, back = 12 * (before - there).normalized(), a = session.along();
  session.move(a.dot(back), Point2(-a.y(), a.x()).dot(back));
  EXPECT_TRUE(!session.mound() || session.mound()->buildup.toe.off_survey > 0);
  ASSERT_TRUE(session.undo());
  ASSERT_TRUE(session.undo());
  EXPECT_EQ(session.state().middle, before);
  EXPECT_FALSE(session.is_on_survey());
  EXPECT_FALSE(session.is_changed());
}

TEST_F(Edit, OneThatIsOnTheSurveyStaysThere) {
  EditSession session = open(copy("ridgeback"));
  EXPECT_FALSE(session.bring_onto_survey());
  EXPECT_FALSE(session.can_undo());
}

TEST_F(Edit, FeedPointsStayBehindUnlessTheyAreLetGoAlong) {
  for (const char* name : {"fernhollow", "ridgeback"}) {
    SCOPED_TRACE(name);
    const fs::path job = copy(name);
    EditSession session = open(job);
    const Point2 middle = session.state().middle;
    const std::vector<FeedPoint> before = session.feed();
    ASSERT_FALSE(before.empty());
    EXPECT_FALSE(session.feed_stays_behind());
    session.move(3, 1);
    session.turn(4);
    EXPECT_EQ(session.feed().front().at, before.front().at);
    EXPECT_TRUE(session.feed_stays_behind());
    EXPECT_THAT(to_text(panel_text(session)), HasSubstr("while the bed was moved: " + before.front().name));
    session.let_feed_go_along(true);
    EXPECT_FALSE(session.feed_stays_behind());
    EXPECT_THAT(to_text(panel_text(session)), testing::Not(HasSubstr("feed points")));
    const Point2 moved = session.state().middle;
    for (std::size_t i = 0; i < before.size(); ++i) {
      // As far from the bed's middle as before, and seen from there turned clockwise by as much.
      const Point2 from = before[i].at - middle, to = session.feed()[i].at - moved;
      EXPECT_NEAR(to.norm(), from.norm(), 2e-3);
      if (from.norm() < 1) continue;  // at the middle itself
      EXPECT_NEAR(std::remainder(azimuth_of(to) - azimuth_of(from), 360), 4, 0.1);
    }
    work_out(session);
    const auto& stakes = session.findings()->stakes.stakes;
    const auto staked = std::count_if(stakes.begin(), stakes.end(), [&](const Stake& stake) {
      return stake.kind == StakeKind::feed &&
             (Point2(stake.easting, stake.northing) - session.feed().front().at).norm() < 1e-9;
    });
    EXPECT_EQ(staked, 1);
    session.save();
    EXPECT_EQ(io::read_job(job).site.lot.feed.front().at, session.feed().front().at);
    EXPECT_EQ(io::read_job(job).site.lot.feed.back().at, session.feed().back().at);
    ASSERT_TRUE(session.undo());
    EXPECT_EQ(session.feed().front().at, before.front().at);
  }
}

}  // namespace
}  // namespace moundwright::viewer

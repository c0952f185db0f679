// One job open for changes: where the mound is and how big, what it comes to there, and the way back.
//
//   EditSession session(read_site("lot7.toml"));
//   session.move(0, 0.5);                            // half a foot downslope; Buildup and figures follow
//   session.turn(1); session.raise(0.1);
//   session.undo();
//   session.save();                                  // the job file, its comments and order kept
//
// No screen in here. Figures come from the functions that `build` uses, and every change is rounded to what the job
// file will hold, so that the figures shown are those of the saved job to the last digit.
//
// The Buildup is made anew at every change, inline. Checks, end areas and stakes take longer on a large survey: take
// `pending()`, run it on any thread, and hand what it returns to `accept`.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "geom/surfaces.h"
#include "io/results.h"

namespace moundwright::viewer {

/// What can be changed. `design.bed.line` and the rest are always in step with it.
struct MoundState {
  Point2 middle = Point2::Zero();  // of the bed; easting, northing
  double turned = 0;               // degrees clockwise from how the job had it when it was opened
  double bed_length = 0;           // of a straight bed
  bool feed_goes_along = false;    // the job's feed points keep their places by the bed, not on the lot
  MoundDesign design;
};

/// How far the mound stands from where the job file has it: along and across the bed as it lies there (across is
/// downslope), so that a turn changes nothing of what is said of moves; turned clockwise, -180 to 180 degrees; raised.
struct Moved {
  double along = 0, across = 0, turned = 0, raised = 0;
};

class EditSession {
 public:
  /// Takes a job and its ground as read_site gives them. Never refuses: what stops the mound is in `problems`.
  explicit EditSession(io::SiteResults site);

  const io::SiteResults& site() const { return *site_; }
  /// The same, to be kept by work on another thread.
  std::shared_ptr<const io::SiteResults> shared_site() const { return site_; }
  const Ground& ground() const { return site_->ground(); }
  LengthUnit unit() const { return site_->job.site.unit; }
  const MoundState& state() const { return state_; }
  /// Where the mound stands; none where its design cannot be compiled: see problems().
  std::optional<MoundPlace> place() const;
  /// None where there is nothing to build on either.
  const std::optional<PlacedMound>& mound() const { return mound_; }
  bool is_straight() const { return straight_; }
  Moved moved() const;
  double bed_azimuth() const;
  /// Unit vector of the bed's long axis from its left end to its right, seen looking downslope. Downslope is the
  /// ground's own, found once: a bed turned by more than 90 degrees faces it with its other side.
  Point2 along() const;

  // Changes. Those with one `tag` in a row, such as those of one drag, are undone together, until end_change().
  void move(double along, double across, const std::string& tag = {});     // the bed as it lies now
  void move_to(double along, double across, const std::string& tag = {});  // as in Moved
  void turn_to(double degrees, const std::string& tag = {});
  void raise_to(double by, const std::string& tag = {});
  void turn(double degrees, const std::string& tag = {}) { turn_to(moved().turned + degrees, tag); }
  void raise(double by, const std::string& tag = {}) { raise_to(moved().raised + by, tag); }
  /// Sizes: bed width, layers, prepared ground, as `edit` changes them. A length only for a straight bed.
  void resize(const std::function<void(MoundDesign&)>& edit, const std::string& tag = {});
  void set_bed_length(double length, const std::string& tag = {});
  void end_change() { open_tag_.clear(); }

  /// Whether there is surveyed ground under the bed's middle. Where there is none, nothing can be built or seen.
  bool is_on_survey() const;
  /// Moves the bed straight toward the survey's middle, only as far as it takes to stand whole on surveyed ground, berm
  /// and all; to the middle itself where it does so nowhere. False where it is on the survey.
  bool bring_onto_survey();

  /// The feed points where they are: where the job has them, or gone along with the bed.
  std::vector<FeedPoint> feed() const;
  /// Whether the bed was moved or turned away from them since the job was opened.
  bool feed_stays_behind() const;
  void let_feed_go_along(bool along);

  bool undo();
  bool redo();
  bool can_undo() const { return at_ > 0; }
  bool can_redo() const { return at_ + 1 < history_.size(); }
  bool is_changed() const { return !edits().empty(); }

  /// What a person has to mend before anything can be built: in plain words, each with what to do.
  const Problems& problems() const { return problems_; }

  /// The slower findings of the design as it is, ready to run on another thread; none where there is no mound.
  using Work = std::function<std::shared_ptr<const io::Findings>()>;
  std::optional<Work> pending() const;
  /// The ground opened for what is dug out, likewise; nothing where there is no mound.
  std::function<DugGround()> digging(const DugItems& items) const;
  /// Counts changes; findings of another revision are not of this mound.
  std::uint64_t revision() const { return revision_; }
  /// True if they were of the mound as it is.
  bool accept(std::shared_ptr<const io::Findings> findings, std::uint64_t revision);
  /// nullptr until those of the mound as it is were accepted.
  const io::Findings* findings() const { return findings_.get(); }

  /// The job file's changes, for amended_job.
  std::vector<io::JobEdit> edits() const;
  /// Writes them. Throws Refusal where the file was changed by others since it was opened, or cannot be written.
  void save();

 private:
  std::shared_ptr<const io::SiteResults> site_;
  std::string text_;  // of the job file, as it was opened or saved
  bool straight_ = true, had_downslope_ = true;
  double first_azimuth_ = 0;
  MoundState first_, saved_, state_;
  Point2 saved_along_ = Point2::UnitX();  // `along` as it was saved
  std::vector<MoundState> history_;
  std::size_t at_ = 0;
  std::string open_tag_;
  std::shared_ptr<const CompiledMound> compiled_;  // of the sizes as they are
  std::optional<PlacedMound> mound_;
  BuildupWork work_;
  Problems problems_;
  std::uint64_t revision_ = 0;
  std::shared_ptr<const io::Findings> findings_;

  void put(MoundState next, const std::string& tag, bool sizes);
  void put_middle(const Point2& middle, const std::string& tag);
  void place_bed(MoundState& state) const;
  std::vector<FeedPoint> feed_of(const MoundState& state) const;
  bool could_stand_at(const Point2& middle);
  void recompute(bool sizes);
  void compile();
};

}  // namespace moundwright::viewer

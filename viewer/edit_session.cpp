#include "viewer/edit_session.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "io/job_key.h"
#include "io/plain_text.h"
#include "io/text_file.h"

namespace moundwright::viewer {
namespace {

constexpr double place_step = 0.001;   // of what is written: job units
constexpr double azimuth_step = 0.01;  // degrees

double rounded(double value, double step) {
  const double per_unit = std::round(1.0 / step);
  return std::round(value * per_unit) / per_unit;
}

double wrapped(double azimuth) {
  const double turned = std::fmod(azimuth, 360.0);
  return turned < 0 ? turned + 360.0 : turned;
}

Point2 turned_by(const Point2& p, double degrees) {
  const double angle = -degrees * std::acos(-1.0) / 180.0;  // clockwise
  return {p.x() * std::cos(angle) - p.y() * std::sin(angle), p.x() * std::sin(angle) + p.y() * std::cos(angle)};
}

Point2 middle_of(const std::vector<Point2>& line) {
  Point2 low = line.front(), high = line.front();
  for (const Point2& p : line) low = low.cwiseMin(p), high = high.cwiseMax(p);
  return 0.5 * (low + high);
}

/// Corners of the box round the surveyed ground; easting, northing.
std::pair<Point2, Point2> corners_of(const Ground& ground) {
  Point2 low = Point2::Constant(std::numeric_limits<double>::infinity()), high = -low;
  for (const Point3& p : ground.points) low = low.cwiseMin(p.head<2>()), high = high.cwiseMax(p.head<2>());
  return {ground.to_world(low), ground.to_world(high)};
}

std::string face_table(const ByFace& face) {
  if (face.upslope == face.downslope && face.left == face.right && face.left == face.upslope) {
    return io::toml_number(face.upslope);
  }
  const std::string ends = face.left == face.right ? fmt::format("ends = {}", io::toml_number(face.left))
                                                   : fmt::format("left = {}, right = {}", io::toml_number(face.left),
                                                                 io::toml_number(face.right));
  return fmt::format("{{ upslope = {}, downslope = {}, {} }}", io::toml_number(face.upslope),
                     io::toml_number(face.downslope), ends);
}

bool is_same(const ByFace& a, const ByFace& b) {
  return a.upslope == b.upslope && a.downslope == b.downslope && a.left == b.left && a.right == b.right;
}

/// Collects the edits for what differs.
struct Edits {
  std::vector<io::JobEdit> all;
  void number(const std::string& key, double from, double to) {
    if (from != to) all.push_back({key, io::toml_number(to)});
  }
  void faces(const std::string& key, const ByFace& from, const ByFace& to) {
    if (!is_same(from, to)) all.push_back({key, face_table(to)});
  }
};

void add_layer_edits(const Layer& from, const Layer& to, std::size_t place, Edits& edits) {
  const std::string key = joined_key("layer", to.name.empty() ? std::to_string(place + 1) : to.name);
  edits.number(key + ".top", from.top, to.top);
  edits.number(key + ".crown", from.crown, to.crown);
  edits.faces(key + ".beyond", from.beyond, to.beyond);
  edits.faces(key + ".side", from.side, to.side);
}

/// As edits take it.
std::string job_text(const std::filesystem::path& path) {
  Problems told_on_reading;
  return io::read_text(path, told_on_reading);
}

}  // namespace

EditSession::EditSession(io::SiteResults site) : site_(std::make_shared<const io::SiteResults>(std::move(site))) {
  text_ = job_text(site_->job.path);
  const MoundDesign& design = site_->job.mound;
  // A bent bed is written as places along a line, a straight one by its middle.
  straight_ = io::amended_job(text_, {{"mound.azimuth", std::nullopt}}) != text_;
  had_downslope_ = design.downslope.has_value();
  state_.design = design;
  const auto& line = design.bed.line;
  state_.middle = middle_of(line).unaryExpr([](double v) { return rounded(v, 1e-6); });
  state_.bed_length = straight_ ? rounded((line.back() - line.front()).norm(), 1e-6) : 0;
  first_azimuth_ = rounded(azimuth_of(line.back() - line.front()), 1e-9);
  first_ = saved_ = state_;
  history_ = {state_};
  recompute(true);
  saved_along_ = along();
}

Point2 EditSession::along() const {
  if (compiled_) return frame_of(state_.design).along;
  const auto& line = state_.design.bed.line;
  return (line.back() - line.front()).normalized();
}

double EditSession::bed_azimuth() const { return wrapped(first_azimuth_ + state_.turned); }

Moved EditSession::moved() const {
  const Point2 a = saved_along_, by = state_.middle - saved_.middle;
  const auto height = [](const MoundState& s) {
    return s.design.bottom_elevation ? *s.design.bottom_elevation : s.design.least_sand.value_or(0);
  };
  return {a.dot(by), Point2(-a.y(), a.x()).dot(by), std::remainder(state_.turned - saved_.turned, 360.0),
          height(state_) - height(saved_)};
}

/// The bed's line from its middle and turn; of a bent one always from the first, so that rounding never adds up.
void EditSession::place_bed(MoundState& state) const {
  Bed& bed = state.design.bed;
  const bool unmoved = state.turned == first_.turned && state.middle == first_.middle;
  if (straight_) {
    const double azimuth = wrapped(first_azimuth_ + state.turned);
    if (unmoved && state.bed_length == first_.bed_length) {
      bed.line = first_.design.bed.line;
    } else {
      bed.line = straight_bed(state.middle, azimuth, std::max(0.0, state.bed_length), bed.width).line;
    }
    return;
  }
  bed.line = first_.design.bed.line;
  if (unmoved) return;
  for (Point2& p : bed.line) {
    p = state.middle + turned_by(p - first_.middle, state.turned);
    p = {rounded(p.x(), place_step), rounded(p.y(), place_step)};
  }
}

void EditSession::put(MoundState next, const std::string& tag, bool sizes) {
  place_bed(next);
  if (!tag.empty() && tag == open_tag_ && at_ > 0) {
    history_.resize(at_ + 1);
    history_[at_] = next;
  } else {
    history_.resize(at_ + 1);
    history_.push_back(next);
    at_ = history_.size() - 1;
  }
  open_tag_ = tag;
  state_ = std::move(next);
  recompute(sizes);
}

void EditSession::move(double along, double across, const std::string& tag) {
  const Point2 a = this->along();
  put_middle(state_.middle + a * along + Point2(-a.y(), a.x()) * across, tag);
}

void EditSession::move_to(double along, double across, const std::string& tag) {
  const Point2& a = saved_along_;
  put_middle(saved_.middle + a * along + Point2(-a.y(), a.x()) * across, tag);
}

void EditSession::put_middle(const Point2& middle, const std::string& tag) {
  MoundState next = state_;
  next.middle = {rounded(middle.x(), place_step), rounded(middle.y(), place_step)};
  put(std::move(next), tag, false);
}

void EditSession::turn_to(double degrees, const std::string& tag) {
  MoundState next = state_;
  const double azimuth = rounded(first_azimuth_ + saved_.turned + degrees, azimuth_step);
  next.turned = azimuth - first_azimuth_;
  put(std::move(next), tag, true);
}

void EditSession::raise_to(double by, const std::string& tag) {
  MoundState next = state_;
  MoundDesign& design = next.design;
  if (design.bottom_elevation) {
    design.bottom_elevation = rounded(*saved_.design.bottom_elevation + by, place_step);
  } else {
    design.least_sand = std::max(0.0, rounded(saved_.design.least_sand.value_or(0) + by, place_step));
  }
  put(std::move(next), tag, false);
}

void EditSession::resize(const std::function<void(MoundDesign&)>& edit, const std::string& tag) {
  MoundState next = state_;
  edit(next.design);
  put(std::move(next), tag, true);
}

void EditSession::set_bed_length(double length, const std::string& tag) {
  if (!straight_) return;
  MoundState next = state_;
  next.bed_length = length;
  put(std::move(next), tag, true);
}

std::optional<MoundPlace> EditSession::place() const {
  if (!compiled_) return std::nullopt;
  return MoundPlace{ground(), compiled_, placement_of(state_.design)};
}

bool EditSession::is_on_survey() const {
  if (mound_) return mound_->buildup.governing.has_value();
  return elevation_at(ground(), ground().to_local(state_.middle)).has_value();
}

/// Whether the mound, as it is, would find ground everywhere with its bed there.
bool EditSession::could_stand_at(const Point2& middle) {
  MoundState there = state_;
  there.middle = middle;
  place_bed(there);
  try {
    if (!there.design.downslope) there.design.downslope = io::downslope_for(ground(), there.design);
    const Buildup built = build_up(place_as_drawn(ground(), there.design), work_);
    return built.governing && built.toe.off_survey == 0;
  } catch (const Refusal&) {
    return false;
  }
}

bool EditSession::bring_onto_survey() {
  if (is_on_survey()) return false;
  const auto [low, high] = corners_of(ground());
  const Point2 way = 0.5 * (low + high) - state_.middle;
  // What lies before the survey's box may be any length. Inside, a hundredth of the way is a fine enough step, since a
  // lot is seldom more than some beds across.
  const double inside = std::min(1.0, (high - low).norm() / way.norm());
  constexpr int steps = 100;
  const auto place = [&](int step) -> Point2 { return state_.middle + (1 - inside * (steps - step) / steps) * way; };
  int step = 0;
  while (step < steps && !could_stand_at(place(step))) ++step;
  end_change();
  put_middle(place(step), {});
  return true;
}

/// By the bed as the job had both when it was opened.
std::vector<FeedPoint> EditSession::feed_of(const MoundState& state) const {
  std::vector<FeedPoint> feed = site_->job.site.lot.feed;
  if (!state.feed_goes_along) return feed;
  for (FeedPoint& point : feed) {
    const Point2 p = state.middle + turned_by(point.at - first_.middle, state.turned);
    if (state.turned != 0 || state.middle != first_.middle)
      point.at = {rounded(p.x(), place_step), rounded(p.y(), place_step)};
  }
  return feed;
}

std::vector<FeedPoint> EditSession::feed() const { return feed_of(state_); }

bool EditSession::feed_stays_behind() const {
  return !state_.feed_goes_along && !site_->job.site.lot.feed.empty() &&
         (state_.middle != first_.middle || state_.turned != first_.turned);
}

void EditSession::let_feed_go_along(bool along) {
  if (along == state_.feed_goes_along) return;
  MoundState next = state_;
  next.feed_goes_along = along;
  end_change();
  put(std::move(next), {}, false);
}

bool EditSession::undo() {
  if (!can_undo()) return false;
  state_ = history_[--at_];
  end_change();
  recompute(true);
  return true;
}

bool EditSession::redo() {
  if (!can_redo()) return false;
  state_ = history_[++at_];
  end_change();
  recompute(true);
  return true;
}

void EditSession::compile() {
  MoundDesign design = state_.design;
  if (!design.downslope) design.downslope = io::downslope_for(ground(), design);
  compiled_ = compile_mound(design);
  state_.design.downslope = history_[at_].design.downslope = design.downslope;
}

void EditSession::recompute(bool sizes) {
  ++revision_;
  findings_.reset();
  mound_.reset();
  problems_ = Problems{};
  try {
    if (sizes) compiled_.reset();
    if (!compiled_) compile();
    mound_.emplace(place_mound(*place(), work_));
    problems_ = io::blocking_problems(*mound_, {}, unit());
  } catch (const Refusal& refusal) {
    problems_.all = refusal.problems();
  }
}

std::optional<EditSession::Work> EditSession::pending() const {
  if (!mound_ || findings_) return std::nullopt;
  SiteDesign design = site_->job.site;
  design.lot.feed = feed();
  return [site = site_, design = std::move(design), mound = *mound_]() -> std::shared_ptr<const io::Findings> {
    try {
      return std::make_shared<const io::Findings>(io::findings_of(mound, site->survey, design));
    } catch (const Refusal&) {
      return nullptr;  // what stops the stakes is told by the Buildup's own problems
    }
  };
}

std::function<DugGround()> EditSession::digging(const DugItems& items) const {
  if (!mound_) return [] { return DugGround{}; };
  return [site = site_, mound = *mound_, items] { return dug_ground(mound, items); };
}

bool EditSession::accept(std::shared_ptr<const io::Findings> findings, std::uint64_t revision) {
  if (revision != revision_ || !findings) return false;
  findings_ = std::move(findings);
  if (mound_) problems_ = io::blocking_problems(*mound_, findings_->checks, unit());
  return true;
}

std::vector<io::JobEdit> EditSession::edits() const {
  Edits edits;
  const MoundDesign &from = saved_.design, &to = state_.design;
  if (straight_) {
    edits.number("mound.center.n", saved_.middle.y(), state_.middle.y());
    edits.number("mound.center.e", saved_.middle.x(), state_.middle.x());
    if (saved_.turned != state_.turned)
      edits.all.push_back({"mound.azimuth", io::toml_number(rounded(bed_azimuth(), azimuth_step))});
    edits.number("mound.bed.length", saved_.bed_length, state_.bed_length);
  } else {
    for (std::size_t i = 0; i < to.bed.line.size(); ++i) {
      const std::string key = fmt::format("mound.bed.line.{}.", i + 1);
      edits.number(key + "n", from.bed.line[i].y(), to.bed.line[i].y());
      edits.number(key + "e", from.bed.line[i].x(), to.bed.line[i].x());
    }
  }
  const std::vector<FeedPoint> feed_from = feed_of(saved_), feed_to = feed();
  for (std::size_t i = 0; i < feed_to.size(); ++i) {
    const std::string key = joined_key("feed", feed_to[i].name.empty() ? std::to_string(i + 1) : feed_to[i].name);
    edits.number(key + ".n", feed_from[i].at.y(), feed_to[i].at.y());
    edits.number(key + ".e", feed_from[i].at.x(), feed_to[i].at.x());
  }
  edits.number("mound.bed.width", from.bed.width, to.bed.width);
  if (to.bottom_elevation) edits.number("mound.bottom.elevation", *from.bottom_elevation, *to.bottom_elevation);
  if (to.least_sand) edits.number("mound.bottom.least_sand", *from.least_sand, *to.least_sand);
  for (std::size_t k = 0; k < to.layers.size(); ++k) add_layer_edits(from.layers[k], to.layers[k], k, edits);
  // The direction is found once and kept in the job; by itself it is no reason to save.
  if (!had_downslope_ && to.downslope && !edits.all.empty()) {
    edits.all.push_back({"mound.downslope", io::toml_number(*to.downslope)});
  }
  return edits.all;
}

void EditSession::save() {
  const std::filesystem::path& path = site_->job.path;
  if (job_text(path) != text_) {
    throw Refusal({Severity::error, "the job file was changed by someone else since it was opened here", path.string(),
                   "note the figures, close the window and open the job again"});
  }
  const std::string text = io::amended_job(text_, edits());
  io::job_from_toml(text, path);  // what could not be opened again must not be written
  io::write_files({{path, text}});
  text_ = text;
  saved_ = state_;
  saved_along_ = along();
  had_downslope_ = had_downslope_ || state_.design.downslope.has_value();
  end_change();
}

}  // namespace moundwright::viewer

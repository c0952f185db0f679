#include "viewer/window.h"

#include <GLFW/glfw3.h>
#include <fmt/format.h>
#include <open3d/geometry/Image.h>
#include <open3d/visualization/gui/Application.h>
#include <open3d/visualization/gui/Dialog.h>
#include <open3d/visualization/gui/Events.h>
#include <open3d/visualization/gui/Label3D.h>
#include <open3d/visualization/gui/Theme.h>
#include <open3d/visualization/gui/Window.h>
#include <open3d/visualization/rendering/Camera.h>
#include <open3d/visualization/rendering/ColorGrading.h>
#include <open3d/visualization/rendering/View.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "io/caught.h"
#include "io/text_file.h"
#include "viewer/panel_text.h"
#include "viewer/scene.h"
#include "viewer/window_pacer.h"
#include "viewer/window_panel.h"
#include "viewer/window_picture.h"
#include "viewer/window_scene.h"
#include "viewer/window_threads.h"

namespace moundwright::viewer {
namespace {

/// Everything that is worked out before there is something to see.
struct Opened {
  std::unique_ptr<EditSession> session;
  SitePicture picture;
};

std::shared_ptr<Opened> open_job(const std::filesystem::path& job, const io::Progress& progress) {
  auto opened = std::make_shared<Opened>();
  io::SiteResults site = io::read_site(job, progress);
  progress("building the mound up on the ground");
  opened->session = std::make_unique<EditSession>(std::move(site));
  opened->picture = site_picture(opened->session->site(), progress);
  return opened;
}

/// What the mouse does in the scene besides looking about.
class SceneView : public gui::SceneWidget {
 public:
  std::function<bool(const gui::MouseEvent&)> on_mouse;  // true: taken

  EventResult Mouse(const gui::MouseEvent& event) override {
    if (on_mouse && on_mouse(event)) return EventResult::CONSUMED;
    return gui::SceneWidget::Mouse(event);
  }
};

constexpr const char* hint =
    "Arrows move, Page Up/Down raise, [ ] turn (Shift: farther)   Ctrl+Z undo   Ctrl+S save   1-9 layers   X slice   "
    "L lift   F1-F4 views";

/// Rank of a label where two would overlap: the lower is kept.
int rank_of(LabelKind kind) {
  switch (kind) {
    case LabelKind::berm:
    case LabelKind::layer:
      return 0;
    case LabelKind::feature:
      return 1;
    case LabelKind::stake:
      return 2;
    case LabelKind::contour:
      return 3;
  }
  return 4;
}

class MoundWindow : public gui::Window {
 public:
  explicit MoundWindow(const std::filesystem::path& job);
  ~MoundWindow() override { *alive_ = false; }
  bool is_open() const { return session_ != nullptr; }
  std::size_t frames() const { return pacer_.frames(); }

 protected:
  void Layout(const gui::LayoutContext& context) override;

 private:
  std::filesystem::path job_;
  std::shared_ptr<bool> alive_ = std::make_shared<bool>(true);  // for work that comes back from another thread
  std::unique_ptr<EditSession> session_;                        // none until the job is open
  std::unique_ptr<SiteScene> site_;                             // none until the job is open
  SliceChoice slice_;
  /// From where the scene is looked at.
  struct View {
    Eigen::Vector3f center, eye, up;
  };
  std::optional<View> own_view_;  // a person's, before the eye was turned to a slice
  Eigen::Vector3f turned_to_ = Eigen::Vector3f::Zero();
  bool typing_ = false, checking_ = false, digging_ = false, closing_ = false, labels_stale_ = false;
  bool fine_ = true;
  double rests_at_ = 0;             // seconds
  std::optional<double> check_at_;  // seconds
  std::optional<Point2> dragged_from_;
  FramePacer pacer_{*this};

  std::shared_ptr<SceneView> view_;
  std::shared_ptr<SidePanel> panel_;
  std::shared_ptr<gui::Vert> strip_;
  std::shared_ptr<gui::Label> status_;
  std::shared_ptr<gui::Vert> opening_;  // over the empty scene, until the job is open
  std::shared_ptr<gui::Label> opening_text_;
  std::string stages_done_, stage_;
  double stage_begun_ = 0;  // seconds
  struct PlacedLabel {
    SceneLabel label;
    std::shared_ptr<gui::Label3D> shown;
    Eigen::Vector3f at = Eigen::Vector3f::Zero();  // where it is shown
  };
  std::map<std::string, std::vector<PlacedLabel>> labels_;  // by what they belong to

  EditSession& session() { return *session_; }
  rendering::Open3DScene& scene() { return *view_->GetScene(); }

  void build_scene_widget();
  SidePanel::Actions panel_actions();
  void start_loading();
  void install(const std::shared_ptr<Opened>& opened);
  void tell(const std::string& text);
  void tell_stage(const std::string& stage);
  void tell_time();
  template <class Deed>
  void attempt(const Deed& deed);
  template <class... Arguments>
  void attempted(std::function<void(Arguments...)>& action);
  template <class Work, class End>
  void run_aside(const Work& work, const End& end);

  // drawing
  void put_labels(const std::string& group, const std::vector<SceneLabel>& labels);
  bool is_wanted(const SceneLabel& label);
  void place_labels();
  Eigen::Vector3f place_of(const SceneLabel& label) const;
  double text_width(const SceneLabel& label) const;
  Eigen::Vector3f left_of_panel(const Eigen::Vector3f& at, double width);
  double names_width();
  std::optional<Point2> on_screen(const Eigen::Vector3f& at);
  void draw_finely(bool fine);
  void is_moving();
  void redraw();
  void on_tick();

  // changes
  void changed();
  void check();
  void dig();
  void accept(const std::shared_ptr<const io::Findings>& found, std::uint64_t revision);
  void show_stakes();
  void refresh_panel();
  void place(Place which, double value);
  void bring_onto_survey();
  void let_feed_go_along(bool along);
  void slice(SliceChoice choice);
  std::optional<Slice> slice_of(const SliceChoice& choice);
  bool is_eye_on_kept_side(const Slice& slice);
  void face_slice(const Slice& slice);
  std::pair<double, double> mound_along(const Slice& slice);
  void turn_back();
  void lift(double by);
  void stretch_heights(double by);
  void show_layer(std::size_t layer, bool shown);
  double level_of_bed();
  double lifted_height() { return site_->lifted() * static_cast<double>(site_->layer_count()); }
  Eigen::Vector3f in_view(const Point2& at, double z);
  View view_now();
  void look_from(const View& view);
  void look(ViewFrom way);
  void save();
  void take_picture();
  bool may_close();

  // keys and mouse
  bool on_key(const gui::KeyEvent& event);
  bool on_ctrl_key(const gui::KeyEvent& event);
  bool nudge(const gui::KeyEvent& event, bool far);
  bool look_inside(const gui::KeyEvent& event);
  void nudge_on_screen(double right, double up);
  bool on_mouse(const gui::MouseEvent& event);
  std::optional<Point2> ground_under(const gui::MouseEvent& event);
};

MoundWindow::MoundWindow(const std::filesystem::path& job)
    : gui::Window(fmt::format("Moundwright: {}", job.filename().string()), 1400, 900), job_(job) {
  build_scene_widget();
  panel_ = std::make_shared<SidePanel>(panel_actions(), GetTheme().font_size);
  panel_->SetVisible(false);
  status_ = std::make_shared<gui::Label>("");
  const int em = GetTheme().font_size;
  opening_ = std::make_shared<gui::Vert>(em / 2, gui::Margins(2 * em, em));
  opening_text_ = std::make_shared<gui::Label>("");
  opening_->AddChild(std::make_shared<gui::Label>(fmt::format("Opening {}", job.filename().string()).c_str()));
  opening_->AddChild(opening_text_);
  strip_ = std::make_shared<gui::Vert>(0, gui::Margins(GetTheme().font_size / 2, GetTheme().font_size / 4));
  strip_->AddChild(status_);
  AddChild(panel_), AddChild(strip_), AddChild(opening_);
  SetOnKeyEvent([this](const gui::KeyEvent& event) {
    bool taken = true;
    attempt([&] { taken = on_key(event); });
    return taken;
  });
  SetOnClose([this] { return may_close(); });
  SetOnTickEvent([this] {
    attempt([this] { on_tick(); });
    return false;
  });
  start_loading();
}

void MoundWindow::build_scene_widget() {
  view_ = std::make_shared<SceneView>();
  view_->SetScene(std::make_shared<rendering::Open3DScene>(GetRenderer()));
  scene().SetBackground({0.90F, 0.93F, 0.95F, 1});
  rendering::View& view = *scene().GetView();
  using Grading = rendering::ColorGradingParams;
  view.SetColorGrading(Grading(Grading::Quality::kUltra, Grading::ToneMapping::kLinear));  // colours as they are
  view.SetShadowing(false, rendering::View::ShadowType::kPCF);
  view.SetAmbientOcclusion(false);
  view_->on_mouse = [this](const gui::MouseEvent& event) {
    bool taken = true;
    attempt([&] { taken = on_mouse(event); });
    return taken;
  };
  view_->SetOnCameraChanged([this](rendering::Camera*) {
    labels_stale_ = true;
    is_moving();
  });
  draw_finely(true);
  AddChild(view_);
}

SidePanel::Actions MoundWindow::panel_actions() {
  SidePanel::Actions actions;
  actions.place = [this](Place which, double value) { place(which, value); };
  actions.resize = [this](const std::function<void(MoundDesign&)>& edit, const std::string& tag) {
    session().resize(edit, tag);
    changed();
  };
  actions.bed_length = [this](double length) {
    session().set_bed_length(length, "bed length");
    changed();
  };
  actions.show_layer = [this](std::size_t layer, bool shown) { show_layer(layer, shown); };
  actions.show = [this](Shown what, bool shown) {
    site_->show(what, shown, session());
    redraw();
  };
  actions.slice = [this](const SliceChoice& choice) { slice(choice); };
  actions.lift = [this](double by) { lift(by); };
  actions.stretch = [this](double by) { stretch_heights(by); };
  actions.look = [this](ViewFrom way) { look(way); };
  actions.undo = [this] {
    if (session().undo()) changed();
  };
  actions.redo = [this] {
    if (session().redo()) changed();
  };
  actions.save = [this] { save(); };
  actions.picture = [this] { take_picture(); };
  actions.bring_onto_survey = [this] { bring_onto_survey(); };
  actions.let_feed_go_along = [this](bool along) { let_feed_go_along(along); };
  actions.touched = [this](bool typing) {
    typing_ = typing;
    if (session_) session().end_change();
  };
  attempted(actions.place), attempted(actions.resize), attempted(actions.bed_length), attempted(actions.show_layer);
  attempted(actions.show), attempted(actions.slice), attempted(actions.lift), attempted(actions.stretch);
  attempted(actions.look), attempted(actions.undo), attempted(actions.redo), attempted(actions.picture);
  attempted(actions.bring_onto_survey), attempted(actions.let_feed_go_along);
  attempted(actions.touched);  // save attempts by itself
  return actions;
}

void MoundWindow::Layout(const gui::LayoutContext& context) {
  const gui::Rect r = GetContentRect();
  const int em = context.theme.font_size, panel = panel_->IsVisible() ? 26 * em : 0, strip = static_cast<int>(1.8 * em);
  view_->SetFrame(gui::Rect(r.x, r.y, r.width - panel, r.height - strip));
  strip_->SetFrame(gui::Rect(r.x, r.GetBottom() - strip, r.width - panel, strip));
  panel_->SetFrame(gui::Rect(r.GetRight() - panel, r.y, panel, r.height));
  const int width = 26 * em, height = 15 * em;
  opening_->SetFrame(gui::Rect(r.x + (r.width - width) / 2, r.y + (r.height - height) / 3, width, height));
  gui::Window::Layout(context);
  labels_stale_ = true;
}

void MoundWindow::tell(const std::string& text) {
  status_->SetText(text.c_str());
  SetNeedsLayout();
  pacer_.want();
}

/// What is done of opening the job, with the seconds that it took.
void MoundWindow::tell_stage(const std::string& stage) {
  const double now = gui::Application::GetInstance().Now();
  if (!stage_.empty()) stages_done_ += fmt::format("{:.1f} s   {}\n", now - stage_begun_, stage_);
  stage_ = stage, stage_begun_ = now;
  tell_time();
}

/// A clock that goes, so that a large survey is seen to be worked on.
void MoundWindow::tell_time() {
  const double taken = gui::Application::GetInstance().Now() - stage_begun_;
  const std::string text = fmt::format("{}{:.1f} s   {} ...", stages_done_, taken, stage_);
  if (text == opening_text_->GetText()) return;
  opening_text_->SetText(text.c_str());
  pacer_.want();
}

/// Does something that may be refused, and tells why.
template <class Deed>
void MoundWindow::attempt(const Deed& deed) {
  try {
    deed();
  } catch (...) {
    ShowMessageBox("Not done", wrapped(io::caught_refusal().what(), 70).c_str());
  }
}

/// Has an action of the panel attempted from now on.
template <class... Arguments>
void MoundWindow::attempted(std::function<void(Arguments...)>& action) {
  action = [this, deed = std::move(action)](Arguments... arguments) { attempt([&] { deed(arguments...); }); };
}

/// Work on another thread, whose end comes back to this one; where it cannot be done, that is told here.
template <class Work, class End>
void MoundWindow::run_aside(const Work& work, const End& end) {
  auto& app = gui::Application::GetInstance();
  app.RunInThread([this, alive = alive_, work, end, &app] {
    const auto post = [&](std::function<void()> f) {
      app.PostToMainThread(nullptr, [this, alive, f = std::move(f)] {
        if (*alive) attempt(f);
      });
    };
    work_at_leisure();
    try {
      post([end, found = work()] { end(found); });
    } catch (...) {
      post([this, refusal = io::caught_refusal()] {
        checking_ = false;  // the next change is checked again
        throw refusal;
      });
    }
  });
}

void MoundWindow::start_loading() {
  auto& app = gui::Application::GetInstance();
  app.RunInThread([this, alive = alive_, job = job_, &app] {
    const auto post = [&](std::function<void()> f) {
      app.PostToMainThread(nullptr, [this, alive, f = std::move(f)] {
        if (*alive) attempt(f);
      });
    };
    try {
      std::shared_ptr<Opened> opened =
          open_job(job, [&](const char* stage) { post([this, text = std::string(stage)] { tell_stage(text); }); });
      post([this, opened] { install(opened); });
    } catch (...) {
      post([this, text = std::string(io::caught_refusal().what())] {
        opening_->SetVisible(false), stage_.clear();
        tell("the job could not be opened");
        ShowMessageBox("The job could not be opened", wrapped(text, 70).c_str());
      });
    }
  });
}

void MoundWindow::install(const std::shared_ptr<Opened>& opened) {
  constexpr std::size_t shots_worth_showing = 20000;
  const bool shots = opened->picture.shots.points.size() <= shots_worth_showing;
  session_ = std::move(opened->session);
  site_ = std::make_unique<SiteScene>(scene(), GetScaling());
  site_->open(std::move(opened->picture), session());
  site_->show(Shown::shots, shots, session());
  panel_->open(session(), shots);
  panel_->SetVisible(true), opening_->SetVisible(false);
  put_labels("contours", site_->site().contours.labels);
  put_labels("features", site_->site().features.labels);
  changed();
  look(ViewFrom::orbit);
  let_drawing_wait();
  tell(hint);
}

// ---- drawing --------------------------------------------------------------------------------------------------------

void MoundWindow::on_tick() {
  const double now = gui::Application::GetInstance().Now();
  if (!session_ && !stage_.empty()) tell_time();
  if (check_at_ && now >= *check_at_) check();
  if (site_ && site_->lacks_dug() && !digging_ && now >= rests_at_) dig();
  if (labels_stale_) place_labels();
  if (!fine_ && now >= rests_at_) draw_finely(true);
  pacer_.tick(now);
}

/// Smooth edges take most of the time of a frame that is drawn in software: they wait until nothing moves. Not without
/// the renderer's own smoothing of what is drawn, or it would show colours far too dark.
void MoundWindow::draw_finely(bool fine) {
  fine_ = fine;
  scene().GetView()->SetSampleCount(fine ? 4 : 1);
  scene().GetView()->SetAntiAliasing(true);
  pacer_.want();
}

void MoundWindow::is_moving() {
  constexpr double rest = 0.3;  // seconds
  rests_at_ = gui::Application::GetInstance().Now() + rest;
  if (fine_) draw_finely(false);
}

void MoundWindow::redraw() {
  labels_stale_ = true;
  pacer_.want();
}

// ---- labels ---------------------------------------------------------------------------------------------------------

Eigen::Vector3f MoundWindow::place_of(const SceneLabel& label) const {
  return {label.at[0], label.at[1], label.at[2] * static_cast<float>(site_->stretched())};
}

void MoundWindow::put_labels(const std::string& group, const std::vector<SceneLabel>& labels) {
  for (PlacedLabel& placed : labels_[group]) {
    if (placed.shown) view_->RemoveLabel(placed.shown);
  }
  labels_[group].clear();
  for (const SceneLabel& label : labels) labels_[group].push_back({label, nullptr, {}});
  labels_stale_ = true;
}

std::optional<Point2> MoundWindow::on_screen(const Eigen::Vector3f& at) {
  rendering::Camera& camera = *scene().GetCamera();
  if (camera.GetForwardVector().dot(at - camera.GetPosition()) <= 0) return std::nullopt;
  const Eigen::Vector2f p = camera.GetNDC(at);
  if (std::abs(p.x()) > 1 || std::abs(p.y()) > 1) return std::nullopt;
  const gui::Rect& f = view_->GetFrame();
  return Point2(0.5 * (p.x() + 1) * f.width, 0.5 * (1 - p.y()) * f.height);
}

/// In pixels, with room for wide letters.
double MoundWindow::text_width(const SceneLabel& label) const {
  return 0.56 * GetTheme().font_size * static_cast<double>(label.text.size());
}

/// Of the longest name of a lifted layer: long enough that narrow letters make up for wide ones.
double MoundWindow::names_width() {
  double width = 0;
  for (const PlacedLabel& placed : labels_["mound"]) {
    if (placed.label.kind == LabelKind::layer && is_wanted(placed.label))
      width = std::max(width, 0.85 * text_width(placed.label));
  }
  return width;
}

/// As high and as far away, but so far to the left that a text of this width ends before the panel.
Eigen::Vector3f MoundWindow::left_of_panel(const Eigen::Vector3f& at, double width) {
  rendering::Camera& camera = *scene().GetCamera();
  if (camera.GetForwardVector().dot(at - camera.GetPosition()) <= 0) return at;
  const Eigen::Vector3f right = -camera.GetLeftVector();
  const float x = camera.GetNDC(at).x(), step = camera.GetNDC(at + right).x() - x;
  const auto last = static_cast<float>(1 - 2 * width / view_->GetFrame().width);
  return x > last ? Eigen::Vector3f(at + right * ((last - x) / step)) : at;
}

bool MoundWindow::is_wanted(const SceneLabel& label) {
  if (!site_->is_shown(Shown::labels) || !site_->is_kept(label)) return false;
  // The others would be written over lifted layers.
  if (site_->lifted() > 0) return label.kind == LabelKind::layer && site_->is_layer_shown(label.layer);
  switch (label.kind) {
    case LabelKind::contour:
      return site_->is_shown(Shown::contours) && !site_->is_opened(label.at);
    case LabelKind::feature:
      return site_->is_shown(Shown::features);
    case LabelKind::stake:
      return site_->is_shown(Shown::stakes);
    case LabelKind::berm:
      return site_->is_whole();
    case LabelKind::layer:
      return false;
  }
  return true;
}

/// Shows the labels that there is room for, what matters most first.
void MoundWindow::place_labels() {
  labels_stale_ = false;
  if (!session_) return;
  std::vector<PlacedLabel*> all;
  for (auto& [group, labels] : labels_) {
    for (PlacedLabel& placed : labels) all.push_back(&placed);
  }
  std::stable_sort(all.begin(), all.end(), [](const PlacedLabel* a, const PlacedLabel* b) {
    return rank_of(a->label.kind) < rank_of(b->label.kind);
  });
  const Eye eye{scene().GetCamera()->GetPosition(), site_->stretched(), site_->is_whole(), site_->sliced()};
  const double em = GetTheme().font_size, names = names_width() + 0.5 * em;
  std::vector<std::pair<Point2, Point2>> taken;  // low and high corners
  for (PlacedLabel* placed : all) {
    bool room = is_wanted(placed->label);
    placed->at = place_of(placed->label);
    if (placed->label.kind == LabelKind::layer) placed->at = left_of_panel(placed->at, names);  // all in one column
    const std::optional<Point2> at = room ? on_screen(placed->at) : std::nullopt;
    room = room && at;
    if (room) {
      // Text begins at its place.
      const double width = text_width(placed->label);
      const Point2 low = *at - Point2(4, 0.6 * em), high = *at + Point2(width + 4, 0.6 * em);
      room = std::none_of(taken.begin(), taken.end(), [&](const auto& box) {
        return low.x() < box.second.x() && high.x() > box.first.x() && low.y() < box.second.y() &&
               high.y() > box.first.y();
      });
      room = room && !is_hidden(session(), site_->frame(), eye, placed->label.at);
      if (room) taken.emplace_back(low, high);
    }
    if (room && !placed->shown) {
      placed->shown = view_->AddLabel(placed->at, (" " + placed->label.text).c_str());
      placed->shown->SetTextColor(gui::Color(0.08F, 0.07F, 0.05F));
    } else if (!room && placed->shown) {
      view_->RemoveLabel(placed->shown);
      placed->shown = nullptr;
    } else if (placed->shown) {
      placed->shown->SetPosition(placed->at);
    }
  }
  pacer_.want();
}

// ---- changes --------------------------------------------------------------------------------------------------------

/// The mound moved or grew: new faces and figures at once, checks and stakes as soon as they are worked out.
void MoundWindow::changed() {
  site_->draw_mound(session());
  put_labels("mound", site_->mound().labels);
  put_labels("stakes", {});
  refresh_panel();
  constexpr double rest = 0.2;  // seconds, so that checks don't take the machine from a drag
  check_at_ = gui::Application::GetInstance().Now() + rest;
  is_moving();
  redraw();
}

void MoundWindow::refresh_panel() { panel_->refresh(session(), panel_text(session())); }

void MoundWindow::check() {
  if (checking_) return;
  check_at_.reset();
  const std::optional<EditSession::Work> work = session().pending();
  if (!work) return;
  checking_ = true;
  run_aside(*work, [this, revision = session().revision()](const std::shared_ptr<const io::Findings>& found) {
    accept(found, revision);
  });
}

void MoundWindow::dig() {
  digging_ = true;
  const DugItems items = site_->dug_wanted();
  const auto work = [dig = session().digging(items), site = session().shared_site(), light = site_->site().light,
                     frame = site_->frame(), interval = site_->site().contours.interval] {
    return std::make_shared<DugPicture>(dug_picture(dig(), site->ground(), *light, frame, interval));
  };
  run_aside(work, [this, items, revision = session().revision()](const std::shared_ptr<DugPicture>& dug) {
    digging_ = false;
    if (revision != session().revision()) return;
    site_->draw_dug(std::move(*dug), items);
    redraw();
  });
}

void MoundWindow::accept(const std::shared_ptr<const io::Findings>& found, std::uint64_t revision) {
  checking_ = false;
  if (!session().accept(found, revision)) return;  // where it was moved on meanwhile, the next are due
  show_stakes();
  refresh_panel();
  redraw();
}

void MoundWindow::show_stakes() {
  if (session().findings() == nullptr) return;
  StakePicture stakes =
      stake_picture(session().ground(), session().findings()->stakes, site_->frame(), session().unit());
  put_labels("stakes", stakes.labels);
  site_->draw_stakes(std::move(stakes));
}

void MoundWindow::place(Place which, double value) {
  const Moved moved = session().moved();
  switch (which) {
    case Place::along:
      session().move_to(value, moved.across, "along");
      break;
    case Place::across:
      session().move_to(moved.along, value, "across");
      break;
    case Place::turn:
      session().turn_to(value, "turn");
      break;
    case Place::raise:
      session().raise_to(value, "raise");
      break;
  }
  changed();
}

void MoundWindow::bring_onto_survey() {
  if (!session().bring_onto_survey()) return;
  changed();
  look(ViewFrom::orbit);
}

void MoundWindow::let_feed_go_along(bool along) {
  session().let_feed_go_along(along);
  changed();
}

std::optional<Slice> MoundWindow::slice_of(const SliceChoice& choice) {
  if (!choice.on) return std::nullopt;
  const Point2 a = session().along(), d(-a.y(), a.x());
  const Point2 middle = session().ground().to_local(session().state().middle);
  Slice slice{middle + (choice.lengthwise ? d : a) * choice.at, choice.lengthwise ? a : d};
  if (!choice.other_side) slice.along = -slice.along;
  return slice;
}

/// Toward the half that a slice takes away.
Eigen::Vector3f way_out(const Slice& slice) {
  return {static_cast<float>(slice.along.y()), static_cast<float>(-slice.along.x()), 0};
}

/// Clearly so: from straight above, the eye is on neither.
bool MoundWindow::is_eye_on_kept_side(const Slice& slice) {
  const Eigen::Vector3f to_eye = scene().GetCamera()->GetPosition() - in_view(slice.through, level_of_bed());
  return to_eye.normalized().dot(way_out(slice)) < -0.05F;
}

/// A slice stays where it was put while the mound is moved through it. A new one takes away the half before the eye.
void MoundWindow::slice(SliceChoice choice) {
  const bool is_new = choice.on && (!slice_.on || choice.lengthwise != slice_.lengthwise);
  if (is_new && is_eye_on_kept_side(*slice_of(choice))) choice.other_side = !choice.other_side;
  slice_ = choice;
  const std::optional<Slice> slice = slice_of(choice);
  panel_->set_slice(choice);
  site_->slice(slice, session());
  if (is_new) face_slice(*slice);
  if (!slice) turn_back();
  redraw();
}

/// Turns the eye to look at the cut face, from a little above and from the side that it was on.
void MoundWindow::face_slice(const Slice& slice) {
  const auto [from, to] = mound_along(slice);
  const Point2 middle = slice.through + slice.along * (0.5 * (from + to));
  const Eigen::Vector3f center = in_view(middle, level_of_bed() + 0.5 * lifted_height());
  const View now = view_now();
  const Eigen::Vector3f to_eye = (now.eye - center).normalized(), out = way_out(slice), along(-out.y(), out.x(), 0);
  constexpr float seen_well = 0.77F;  // cosine
  if (to_eye.dot(out) > seen_well) return;
  if (!own_view_) own_view_ = now;
  constexpr float off = 0.56F, rise = 0.33F;  // radians: off the face's normal, and up
  const Eigen::Vector3f aside = std::copysign(std::sin(off), to_eye.dot(along)) * along;
  const Eigen::Vector3f way = std::cos(rise) * (std::cos(off) * out + aside) + Eigen::Vector3f(0, 0, std::sin(rise));
  turned_to_ = center + static_cast<float>(1.5 * (to - from) + lifted_height()) * way;
  look_from({center, turned_to_, {0, 0, 1}});
}

/// How far the mound reaches along a slice, from where that goes through.
std::pair<double, double> MoundWindow::mound_along(const Slice& slice) {
  const double half = 0.5 * picture_size(session(), site_->frame());
  if (!session().mound() || session().mound()->buildup.toe.outer.empty()) return {-half, half};
  double from = half, to = -half;
  for (const Polygon2& loop : session().mound()->buildup.toe.outer) {
    for (const Point2& p : loop) {
      const double at = slice.along.dot(p - slice.through);
      from = std::min(from, at), to = std::max(to, at);
    }
  }
  return {from, to};
}

/// To a person's own view, unless it was left since.
void MoundWindow::turn_back() {
  const float moved = (scene().GetCamera()->GetPosition() - turned_to_).norm();
  if (own_view_ && moved < 1e-3F * turned_to_.norm()) look_from(*own_view_);
  own_view_.reset();
}

void MoundWindow::lift(double by) {
  panel_->set_lift(by);
  site_->lift(by, session());
  put_labels("mound", site_->mound().labels);
  redraw();
}

void MoundWindow::stretch_heights(double by) {
  panel_->set_stretch(by);
  site_->stretch_heights(by);
  redraw();
}

void MoundWindow::show_layer(std::size_t layer, bool shown) {
  if (layer >= site_->layer_count()) return;
  panel_->set_layer_shown(layer, shown);
  site_->show_layer(layer, shown, session());
  put_labels("mound", site_->mound().labels);
  redraw();
}

double MoundWindow::level_of_bed() {
  if (!session().is_on_survey()) return site_->frame().origin.z() + 0.5 * site_->frame().relief;
  if (session().mound()) return session().mound()->buildup.bottom_elevation;
  return session().ground().trend.at(session().ground().to_local(session().state().middle));
}

/// A place (reduced) in the scene as it is shown.
Eigen::Vector3f MoundWindow::in_view(const Point2& at, double z) {
  const DrawPoint p = site_->frame().at({at.x(), at.y(), z});
  return {p[0], p[1], p[2] * static_cast<float>(site_->stretched())};
}

MoundWindow::View MoundWindow::view_now() {
  const rendering::Camera& camera = *scene().GetCamera();
  const Eigen::Vector3f eye = camera.GetPosition();
  return {eye + camera.GetForwardVector() * static_cast<float>(picture_size(session(), site_->frame())), eye,
          camera.GetUpVector()};
}

void MoundWindow::look_from(const View& view) {
  view_->SetupCamera(35, scene().GetBoundingBox(), view.center);
  view_->LookAt(view.center, view.eye, view.up);
  redraw();
}

/// At the mound; at the survey where the bed lies off it.
void MoundWindow::look(ViewFrom way) {
  const SceneFrame& frame = site_->frame();
  const bool at_mound = session().is_on_survey();
  const Point2 middle = at_mound ? session().ground().to_local(session().state().middle) : frame.origin.head<2>();
  const Eigen::Vector3f center = in_view(middle, level_of_bed() + 0.5 * lifted_height());
  const double across = at_mound ? picture_size(session(), frame) + 0.7 * lifted_height() : 0.7 * frame.size;
  const auto size = static_cast<float>(across);
  const Point2 along = session().along();
  const Eigen::Vector3f a(static_cast<float>(along.x()), static_cast<float>(along.y()), 0), d(-a.y(), a.x(), 0);
  Eigen::Vector3f eye, up(0, 0, 1);
  switch (way) {
    case ViewFrom::orbit:
      eye = center + size * (1.25F * d - 0.75F * a + Eigen::Vector3f(0, 0, 1.0F));
      break;
    case ViewFrom::plan:
      eye = center + size * Eigen::Vector3f(0, 0, 2.1F), up = {0, 1, 0};
      break;
    case ViewFrom::side:
      eye = center + size * (1.6F * d + Eigen::Vector3f(0, 0, 0.16F));
      break;
    case ViewFrom::end:
      eye = center + size * (-1.3F * a + Eigen::Vector3f(0, 0, 0.14F));
      break;
  }
  own_view_.reset();
  look_from({center, eye, up});
}

void MoundWindow::save() {
  attempt([&] {
    session().save();
    refresh_panel();
    tell(fmt::format("Saved to {}", job_.string()));
  });
}

/// The first name of this kind that is not taken.
std::filesystem::path free_name(const std::filesystem::path& job) {
  for (int i = 1;; ++i) {
    std::filesystem::path path = job;
    path.replace_filename(fmt::format("{}-view-{}.png", job.stem().string(), i));
    if (!std::filesystem::exists(path)) return path;
  }
}

/// The picture comes with a later frame; its labels and figures are those of now.
void MoundWindow::take_picture() {
  if (labels_stale_) place_labels();
  draw_finely(true);
  auto picture = std::make_shared<ScenePicture>();
  picture->title = session().site().job.site.title;
  if (site_->stretched() != 1) picture->note = fmt::format("heights x {:.1f}", site_->stretched());
  for (const auto& [group, labels] : labels_) {
    for (const PlacedLabel& placed : labels) {
      if (!placed.shown) continue;
      if (const auto at = on_screen(placed.at)) picture->labels.push_back({*at, placed.label.text});
    }
  }
  scene().GetScene()->RenderToImage(
      [this, picture, figures = to_text(panel_text(session())),
       width = view_->GetFrame().width](const std::shared_ptr<open3d::geometry::Image>& image) {
        attempt([&] {
          if (!image || image->IsEmpty()) {
            throw Refusal({Severity::error, "the renderer gave no picture", "", "try again"});
          }
          picture->width = image->width_, picture->height = image->height_, picture->rgb = image->data_;
          for (PictureLabel& label : picture->labels) label.at *= static_cast<double>(image->width_) / width;
          const std::filesystem::path path = free_name(job_);
          std::filesystem::path beside = path;
          beside.replace_extension(".txt");
          io::write_files({{path, picture_png(*picture)}, {beside, figures}});
          tell(fmt::format("Picture in {}, its figures in {}", path.filename().string(), beside.filename().string()));
        });
      });
  redraw();
}

bool MoundWindow::may_close() {
  if (closing_ || !session_ || !session().is_changed()) return true;
  auto dialog = std::make_shared<gui::Dialog>("Close");
  const int em = GetTheme().font_size;
  auto column = std::make_shared<gui::Vert>(em, gui::Margins(em));
  column->AddChild(std::make_shared<gui::Label>("The mound was changed. Save it to the job file?"));
  auto buttons = std::make_shared<gui::Horiz>(em / 2);
  const auto add = [&](const char* text, std::function<void()> pressed) {
    auto button = std::make_shared<gui::Button>(text);
    button->SetOnClicked([this, pressed = std::move(pressed)] {
      CloseDialog();
      pressed();
    });
    buttons->AddChild(button);
  };
  const auto close = [this] {
    closing_ = true;
    Close();
  };
  add("Save and close", [this, close] {
    save();
    if (!session().is_changed()) close();
  });
  add("Close without saving", close);
  add("Stay", [] {});
  column->AddChild(buttons);
  dialog->AddChild(column);
  ShowDialog(dialog);
  return false;
}

// ---- keys and mouse -------------------------------------------------------------------------------------------------

bool MoundWindow::on_key(const gui::KeyEvent& event) {
  if (event.type != gui::KeyEvent::DOWN || !session_) return false;
  if ((GetMouseMods() & static_cast<int>(gui::KeyModifier::CTRL)) != 0) return on_ctrl_key(event);
  if (typing_) {  // what is typed into a number is not meant for the mound
    if (event.key == gui::KEY_ENTER || event.key == gui::KEY_ESCAPE || event.key == gui::KEY_TAB) typing_ = false;
    return false;
  }
  if (!event.isRepeat) session().end_change();  // holding a key down is one change
  const bool far = (GetMouseMods() & static_cast<int>(gui::KeyModifier::SHIFT)) != 0;
  if (nudge(event, far)) {
    changed();
    return true;
  }
  return look_inside(event);
}

bool MoundWindow::on_ctrl_key(const gui::KeyEvent& event) {
  const bool shift = (GetMouseMods() & static_cast<int>(gui::KeyModifier::SHIFT)) != 0;
  switch (event.key) {
    case gui::KEY_Z:
      if (shift ? session().redo() : session().undo()) changed();
      return true;
    case gui::KEY_Y:
      if (session().redo()) changed();
      return true;
    case gui::KEY_S:
      save();
      return true;
    case gui::KEY_P:
      take_picture();
      return true;
    case gui::KEY_Q:
      Close();
      return true;
    default:
      return false;
  }
}

bool MoundWindow::nudge(const gui::KeyEvent& event, bool far) {
  const bool metric = session().unit() == LengthUnit::metre;
  const double step = (metric ? 0.1 : 0.5) * (far ? 10 : 1), rise = (metric ? 0.01 : 0.05) * (far ? 10 : 1);
  switch (event.key) {
    case gui::KEY_LEFT:
      nudge_on_screen(-step, 0);
      return true;
    case gui::KEY_RIGHT:
      nudge_on_screen(step, 0);
      return true;
    case gui::KEY_UP:
      nudge_on_screen(0, step);
      return true;
    case gui::KEY_DOWN:
      nudge_on_screen(0, -step);
      return true;
    case gui::KEY_PAGEUP:
      session().raise(rise, "raise by key");
      return true;
    case gui::KEY_PAGEDOWN:
      session().raise(-rise, "raise by key");
      return true;
    case gui::KEY_LEFT_BRACKET:
      session().turn(far ? -5 : -0.5, "turn by key");
      return true;
    case gui::KEY_RIGHT_BRACKET:
      session().turn(far ? 5 : 0.5, "turn by key");
      return true;
    default:
      return false;
  }
}

/// Along or across the bed, whichever the screen's direction is nearer to.
void MoundWindow::nudge_on_screen(double right, double up) {
  const rendering::Camera& camera = *scene().GetCamera();
  Eigen::Vector3f ahead = camera.GetForwardVector();
  if (ahead.head<2>().norm() < 0.3F) ahead = camera.GetUpVector();
  // Looking along -z with y up, what the renderer calls left points right.
  const Eigen::Vector3f way = right != 0 ? camera.GetLeftVector() : ahead;
  const Point2 wanted(way.x(), way.y()), a = session().along(), d(-a.y(), a.x());
  const double by = right != 0 ? right : up;
  if (std::abs(a.dot(wanted)) >= std::abs(d.dot(wanted))) {
    session().move(std::copysign(1.0, a.dot(wanted)) * by, 0, "move by key");
  } else {
    session().move(0, std::copysign(1.0, d.dot(wanted)) * by, "move by key");
  }
}

bool MoundWindow::look_inside(const gui::KeyEvent& event) {
  SliceChoice choice = slice_;
  const double ft = 1 / feet_per(session().unit());
  switch (event.key) {
    case gui::KEY_X:
      choice.on = !choice.on;
      slice(choice);
      return true;
    case gui::KEY_T:
      choice.lengthwise = !choice.lengthwise, choice.on = true;
      slice(choice);
      return true;
    case gui::KEY_COMMA:
      choice.at -= ft;
      slice(choice);
      return true;
    case gui::KEY_PERIOD:
      choice.at += ft;
      slice(choice);
      return true;
    case gui::KEY_L:
      lift(site_->lifted() > 0 ? 0 : 8 * ft);
      return true;
    case gui::KEY_H:
      stretch_heights(site_->stretched() > 1 ? 1 : 2);
      return true;
    case gui::KEY_B:
      bring_onto_survey();
      return true;
    case gui::KEY_F:
      let_feed_go_along(!session().state().feed_goes_along);
      return true;
    case gui::KEY_F1:
      look(ViewFrom::orbit);
      return true;
    case gui::KEY_F2:
      look(ViewFrom::plan);
      return true;
    case gui::KEY_F3:
      look(ViewFrom::side);
      return true;
    case gui::KEY_F4:
      look(ViewFrom::end);
      return true;
    default:
      break;
  }
  if (event.key < gui::KEY_1 || event.key > gui::KEY_9) return false;
  const std::size_t layer = event.key - gui::KEY_1;
  if (layer < site_->layer_count()) show_layer(layer, !site_->is_layer_shown(layer));
  return true;
}

/// Where the line of sight meets the level of the bed bottom; easting, northing.
std::optional<Point2> MoundWindow::ground_under(const gui::MouseEvent& event) {
  if (!session().mound()) return std::nullopt;
  const gui::Rect& f = view_->GetFrame();
  const rendering::Camera& camera = *scene().GetCamera();
  const Eigen::Vector3f eye = camera.GetPosition();
  const Eigen::Vector3f through = camera.Unproject(static_cast<float>(event.x - f.x), static_cast<float>(event.y - f.y),
                                                   0.5F, static_cast<float>(f.width), static_cast<float>(f.height));
  const Eigen::Vector3f ray = through - eye;
  const SceneFrame& frame = site_->frame();
  const double level = (session().mound()->buildup.bottom_elevation - frame.origin.z()) * site_->stretched();
  const double share = (level - eye.z()) / ray.z();
  if (!(share > 0) || !std::isfinite(share)) return std::nullopt;
  const Point2 p(eye.x() + share * ray.x(), eye.y() + share * ray.y());
  return session().ground().to_world(p + Point2(frame.origin.x(), frame.origin.y()));
}

bool MoundWindow::on_mouse(const gui::MouseEvent& event) {
  if (!session_) return false;
  const bool shift = (event.modifiers & static_cast<int>(gui::KeyModifier::SHIFT)) != 0;
  if (event.type == gui::MouseEvent::BUTTON_DOWN) {
    typing_ = false;
    session().end_change();
    if (!shift) return false;
    dragged_from_ = ground_under(event);
    return true;
  }
  if (event.type == gui::MouseEvent::DRAG && dragged_from_) {
    if (const std::optional<Point2> now = ground_under(event)) {
      const Point2 by = *now - *dragged_from_, a = session().along();
      session().move(a.dot(by), Point2(-a.y(), a.x()).dot(by), "drag");
      dragged_from_ = now;
      changed();
    }
    return true;
  }
  if (event.type == gui::MouseEvent::BUTTON_UP && dragged_from_) {
    dragged_from_.reset();
    session().end_change();
    return true;
  }
  return false;
}

// ---- opening --------------------------------------------------------------------------------------------------------

constexpr const char* without_window =
    "use a desktop with OpenGL; `moundwright build JOB -o FOLDER` writes plan, sections and a 3D model without one";

/// Open3D would end the process without a word of what to do, so display and OpenGL are tried first.
void require_display() {
  const auto refuse = [](const std::string& what) { throw Refusal({Severity::error, what, "", without_window}); };
  const auto reason = [] {
    const char* text = nullptr;
    glfwGetError(&text);
    return std::string(text != nullptr ? text : "no reason given");
  };
  if (glfwInit() == GLFW_FALSE) refuse(fmt::format("there is no display to open a window on ({})", reason()));
  glfwWindowHint(GLFW_VISIBLE, GLFW_FALSE);
  glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 4), glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 1);
  glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
  GLFWwindow* trial = glfwCreateWindow(64, 64, "", nullptr, nullptr);
  if (trial == nullptr) refuse(fmt::format("this display has no OpenGL 4.1 ({})", reason()));
  glfwDestroyWindow(trial);
  glfwDefaultWindowHints();
}

/// Where Open3D's materials and fonts are: where the environment says, else where the build found them.
std::filesystem::path resource_folder() {
  const char* named = std::getenv("MOUNDWRIGHT_OPEN3D_RESOURCES");
  return named != nullptr ? named : MOUNDWRIGHT_OPEN3D_RESOURCES;
}

/// Open3D would end the process, or draw nothing, where one of them is missing.
void require_resources(const std::filesystem::path& folder) {
  for (const char* name : {"defaultUnlit.filamat", "unlitLine.filamat", "unlitBackground.filamat", "defaultLit.filamat",
                           "ui_blit.filamat", "img_blit.filamat", "Roboto-Medium.ttf"}) {
    if (std::filesystem::exists(folder / name)) continue;
    throw Refusal({Severity::error, "the window's materials and fonts are not installed", (folder / name).string(),
                   fmt::format("install the package open3d-gui-data, or set MOUNDWRIGHT_OPEN3D_RESOURCES to the folder "
                               "that holds them; or {}",
                               without_window)});
  }
}

}  // namespace

void prepare_windows() {
  const std::filesystem::path resources = resource_folder();
  require_resources(resources);
  require_display();
  gui::Application::GetInstance().Initialize(resources.c_str());
}

std::shared_ptr<gui::Window> make_window(const std::filesystem::path& job) {
  return std::make_shared<MoundWindow>(job);
}

bool is_open(const gui::Window& window) { return dynamic_cast<const MoundWindow&>(window).is_open(); }

std::size_t frames_drawn(const gui::Window& window) { return dynamic_cast<const MoundWindow&>(window).frames(); }

void show_window(const std::filesystem::path& job) {
  prepare_windows();
  auto& app = gui::Application::GetInstance();
  // The application must hold the only reference, or the scene would outlive the renderer.
  app.AddWindow(make_window(job));
  app.Run();
}

}  // namespace moundwright::viewer

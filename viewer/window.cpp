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
#include <set>

#include "io/text_file.h"
#include "viewer/panel_text.h"
#include "viewer/scene.h"
#include "viewer/window_panel.h"
#include "viewer/window_picture.h"

namespace moundwright {
namespace {

/// Everything that is worked out before there is something to see.
struct Opened {
  std::unique_ptr<EditSession> session;
  SceneFrame frame;
  std::vector<GroundTile> tiles;
  Triangles skirt;
  ContourLines contours;
  Features features;
  Dots shots;
  std::set<std::string> whole, gone;  // tiles of the ground as they are in the scene
};

std::shared_ptr<Opened> open_job(const std::filesystem::path& job, const Progress& progress) {
  auto opened = std::make_shared<Opened>();
  SiteResults site = read_site(job, progress);
  progress("building the mound up on the ground");
  opened->session = std::make_unique<EditSession>(std::move(site));
  progress("drawing the ground");
  const Ground& ground = opened->session->ground();
  opened->frame = scene_frame(ground);
  opened->tiles = ground_tiles(ground, opened->frame);
  opened->skirt = ground_skirt(ground, opened->frame);
  progress("drawing contours");
  opened->contours = contour_lines(ground, opened->frame);
  opened->features = site_features(opened->session->site(), opened->frame);
  opened->shots = shot_dots(opened->session->site(), opened->frame);
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

 protected:
  void Layout(const gui::LayoutContext& context) override;

 private:
  std::filesystem::path job_;
  std::shared_ptr<bool> alive_ = std::make_shared<bool>(true);  // for work that comes back from another thread
  std::shared_ptr<Opened> opened_;
  MoundOptions options_;
  MoundWork work_;
  MoundPicture picture_;
  SliceChoice slice_;
  double exaggeration_ = 1;
  bool typing_ = false, working_ = false, closing_ = false, labels_shown_ = true, labels_stale_ = false;
  bool redraw_asked_ = false;
  double redraw_until_ = 0, redraw_next_ = 0;  // seconds
  std::set<std::string> names_;                // of all geometry in the scene
  std::set<Shown> hidden_;
  std::vector<bool> shown_;  // layers
  std::optional<Point2> dragged_from_;

  std::shared_ptr<SceneView> view_;
  std::shared_ptr<SidePanel> panel_;
  std::shared_ptr<gui::Vert> strip_;
  std::shared_ptr<gui::Label> status_;
  struct PlacedLabel {
    SceneLabel label;
    std::shared_ptr<gui::Label3D> shown;
  };
  std::map<std::string, std::vector<PlacedLabel>> labels_;  // by what they belong to

  EditSession& session() { return *opened_->session; }
  rendering::Open3DScene& scene() { return *view_->GetScene(); }

  void build_scene_widget();
  SidePanel::Actions panel_actions();
  void start_loading();
  void install(std::shared_ptr<Opened> opened);
  void tell(const std::string& text);
  template <class Deed>
  void attempt(const Deed& deed);

  // drawing
  template <class What>
  void put(const std::string& name, const What& what);
  void draw_ground();
  void draw_site_lines();
  void draw_mound_now();
  void show_as_chosen();
  /// Nothing but the outside of the mound is to be seen.
  bool is_whole() const {
    return options_.lift == 0 && std::all_of(shown_.begin(), shown_.end(), [](bool shown) { return shown; });
  }
  void put_labels(const std::string& group, const std::vector<SceneLabel>& labels);
  void clear_labels();
  void place_labels();
  Eigen::Vector3f place_of(const SceneLabel& label) const;
  std::optional<Point2> on_screen(const Eigen::Vector3f& at);
  void redraw();
  bool on_tick();

  // changes
  void changed();
  void find_out();
  void accept(const std::shared_ptr<const Findings>& found, std::uint64_t revision);
  void show_stakes();
  void refresh_panel();
  void place(Place which, double value);
  void slice(const SliceChoice& choice);
  void lift(double by);
  void stretch_heights(double by);
  void show_layer(std::size_t layer, bool shown);
  void look(Look look);
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
  status_ = std::make_shared<gui::Label>("opening ...");
  strip_ = std::make_shared<gui::Vert>(0, gui::Margins(GetTheme().font_size / 2, GetTheme().font_size / 4));
  strip_->AddChild(status_);
  AddChild(panel_), AddChild(strip_);
  SetOnKeyEvent([this](const gui::KeyEvent& event) { return on_key(event); });
  SetOnClose([this] { return may_close(); });
  SetOnTickEvent([this] { return on_tick(); });
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
  view.SetSampleCount(4);
  view_->on_mouse = [this](const gui::MouseEvent& event) { return on_mouse(event); };
  view_->SetOnCameraChanged([this](rendering::Camera*) { labels_stale_ = true; });
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
    if (shown) {
      hidden_.erase(what);
    } else {
      hidden_.insert(what);
    }
    show_as_chosen();
  };
  actions.slice = [this](const SliceChoice& choice) { slice(choice); };
  actions.lift = [this](double by) { lift(by); };
  actions.stretch = [this](double by) { stretch_heights(by); };
  actions.look = [this](Look way) { look(way); };
  actions.undo = [this] {
    if (session().undo()) changed();
  };
  actions.redo = [this] {
    if (session().redo()) changed();
  };
  actions.save = [this] { save(); };
  actions.picture = [this] { take_picture(); };
  actions.touched = [this](bool typing) {
    typing_ = typing;
    if (opened_) session().end_change();
  };
  return actions;
}

void MoundWindow::Layout(const gui::LayoutContext& context) {
  const gui::Rect r = GetContentRect();
  const int panel = 26 * context.theme.font_size, strip = static_cast<int>(1.8 * context.theme.font_size);
  view_->SetFrame(gui::Rect(r.x, r.y, r.width - panel, r.height - strip));
  strip_->SetFrame(gui::Rect(r.x, r.GetBottom() - strip, r.width - panel, strip));
  panel_->SetFrame(gui::Rect(r.GetRight() - panel, r.y, panel, r.height));
  gui::Window::Layout(context);
  labels_stale_ = true;
}

void MoundWindow::tell(const std::string& text) {
  status_->SetText(text.c_str());
  SetNeedsLayout();
  redraw_asked_ = true;
  PostRedraw();
}

/// Does something that may be refused, and tells why.
template <class Deed>
void MoundWindow::attempt(const Deed& deed) {
  try {
    deed();
  } catch (const Refusal& refusal) {
    ShowMessageBox("Not done", wrapped(refusal.what(), 70).c_str());
  }
}

void MoundWindow::start_loading() {
  auto& app = gui::Application::GetInstance();
  app.RunInThread([this, alive = alive_, job = job_, &app] {
    const auto post = [&](std::function<void()> f) {
      app.PostToMainThread(nullptr, [alive, f = std::move(f)] {
        if (*alive) f();
      });
    };
    try {
      std::shared_ptr<Opened> opened =
          open_job(job, [&](const char* stage) { post([this, text = std::string(stage)] { tell(text + " ..."); }); });
      post([this, opened] { install(opened); });
    } catch (const Refusal& refusal) {
      post([this, text = std::string(refusal.what())] {
        tell("the job could not be opened");
        ShowMessageBox("The job could not be opened", wrapped(text, 70).c_str());
      });
    }
  });
}

void MoundWindow::install(std::shared_ptr<Opened> opened) {
  opened_ = std::move(opened);
  constexpr std::size_t shots_worth_showing = 20000;
  const bool shots = opened_->shots.points.size() <= shots_worth_showing;
  if (!shots) hidden_.insert(Shown::shots);
  shown_.assign(session().state().design.layers.size(), true);
  panel_->open(session(), shots);
  panel_->SetVisible(true);
  draw_ground();
  draw_site_lines();
  put("shots", opened_->shots);
  changed();
  look(Look::orbit);
  tell(hint);
}

// ---- drawing --------------------------------------------------------------------------------------------------------

template <class What>
void MoundWindow::put(const std::string& name, const What& what) {
  if constexpr (std::is_same_v<What, Triangles>) {
    upload(scene(), name, what);
  } else {
    upload(scene(), name, what, GetScaling());
  }
  if (exaggeration_ != 1) stretch(scene(), name, exaggeration_);
  names_.insert(name);
}

/// A renderer that falls behind drops frames, the last one too: so what was changed is drawn a few times over.
bool MoundWindow::on_tick() {
  if (labels_stale_) place_labels();
  const double now = gui::Application::GetInstance().Now();
  if (redraw_asked_) redraw_until_ = now + 1.2, redraw_next_ = now;
  redraw_asked_ = false;
  if (now > redraw_until_ || now < redraw_next_) return false;
  redraw_next_ = now + 0.12;
  view_->ForceRedraw();
  return true;
}

/// The ground is uploaded once; a slice takes only the tiles that it crosses up again.
void MoundWindow::draw_ground() {
  for (std::size_t i = 0; i < opened_->tiles.size(); ++i) {
    const std::string name = fmt::format("ground {}", i);
    GroundTile& tile = opened_->tiles[i];
    const TileCut cut = options_.slice ? cut_of(tile, opened_->frame, *options_.slice) : TileCut::whole;
    const bool was_whole = opened_->whole.count(name) != 0;
    if (cut == TileCut::crossed) {
      put(name, cut_triangles(tile.triangles, opened_->frame, *options_.slice));
      opened_->whole.erase(name);
    } else if (!was_whole && cut == TileCut::whole) {
      put(name, tile.triangles);
      opened_->whole.insert(name);
    }
    if (cut == TileCut::gone) {
      opened_->gone.insert(name);
    } else {
      opened_->gone.erase(name);
    }
  }
  put("skirt", options_.slice ? cut_triangles(opened_->skirt, opened_->frame, *options_.slice) : opened_->skirt);
}

void MoundWindow::draw_site_lines() {
  const auto put_cut = [&](const std::string& name, const Lines& lines) {
    put(name, options_.slice ? cut_lines(lines, opened_->frame, *options_.slice) : lines);
  };
  put_cut("contours", opened_->contours.fine);
  put_cut("heavy contours", opened_->contours.heavy);
  for (std::size_t i = 0; i < opened_->features.lines.size(); ++i) {
    put_cut(fmt::format("features {}", i), opened_->features.lines[i]);
  }
  put_labels("contours", opened_->contours.labels);
  put_labels("features", opened_->features.labels);
}

void MoundWindow::draw_mound_now() {
  options_.outside_only = is_whole();
  draw_mound(session(), opened_->frame, options_, work_, picture_);
  for (std::size_t k = 0; k < picture_.layers.size(); ++k) {
    put(fmt::format("layer {}", k), picture_.layers[k]);
    put(fmt::format("cut face {}", k), picture_.cut_faces[k]);
    put(fmt::format("cut edges {}", k), picture_.cut_edges[k]);
  }
  put("cut face of the ground", picture_.cut_faces.back());
  put("cut edges of the ground", picture_.cut_edges.back());
  const auto put_cut = [&](const std::string& name, const Lines& lines) {
    put(name, options_.slice ? cut_lines(lines, opened_->frame, *options_.slice) : lines);
  };
  put_cut("toe", picture_.toe);
  put_cut("bed", picture_.bed);
  put_cut("berms", picture_.berms);
  put_labels("mound", picture_.labels);
}

void MoundWindow::show_as_chosen() {
  const auto show = [&](const std::string& name, bool shown) {
    if (scene().HasGeometry(name)) scene().ShowGeometry(name, shown);
  };
  const auto chosen = [&](Shown what) { return hidden_.count(what) == 0; };
  for (std::size_t i = 0; i < opened_->tiles.size(); ++i) {
    const std::string name = fmt::format("ground {}", i);
    show(name, chosen(Shown::ground) && opened_->gone.count(name) == 0);
  }
  show("skirt", chosen(Shown::ground));
  show("contours", chosen(Shown::contours)), show("heavy contours", chosen(Shown::contours));
  for (std::size_t i = 0; i < opened_->features.lines.size(); ++i) {
    show(fmt::format("features {}", i), chosen(Shown::features));
  }
  show("shots", chosen(Shown::shots) && !options_.slice);
  for (const char* name : {"hubs", "slope stakes", "feed"}) show(name, chosen(Shown::stakes));
  for (std::size_t k = 0; k < shown_.size(); ++k) {
    for (const char* part : {"layer", "cut face", "cut edges"}) show(fmt::format("{} {}", part, k), shown_[k]);
  }
  // These lie on the finished surface: without it they would hang in the air.
  show("bed", is_whole()), show("berms", is_whole());
  redraw();
}

void MoundWindow::redraw() {
  labels_stale_ = redraw_asked_ = true;
  view_->ForceRedraw();
  PostRedraw();
}

// ---- labels ---------------------------------------------------------------------------------------------------------

Eigen::Vector3f MoundWindow::place_of(const SceneLabel& label) const {
  return {label.at[0], label.at[1], label.at[2] * static_cast<float>(exaggeration_)};
}

void MoundWindow::put_labels(const std::string& group, const std::vector<SceneLabel>& labels) {
  for (PlacedLabel& placed : labels_[group]) {
    if (placed.shown) view_->RemoveLabel(placed.shown);
  }
  labels_[group].clear();
  for (const SceneLabel& label : labels) labels_[group].push_back({label, nullptr});
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

/// Shows the labels that there is room for, what matters most first.
void MoundWindow::place_labels() {
  labels_stale_ = false;
  if (!opened_) return;
  std::vector<PlacedLabel*> all;
  const bool whole = is_whole();
  for (auto& [group, labels] : labels_) {
    for (PlacedLabel& placed : labels) all.push_back(&placed);
  }
  std::stable_sort(all.begin(), all.end(), [](const PlacedLabel* a, const PlacedLabel* b) {
    return rank_of(a->label.kind) < rank_of(b->label.kind);
  });
  const auto wanted = [&](const SceneLabel& label) {
    if (hidden_.count(Shown::labels) != 0) return false;
    if (options_.slice && !is_kept(label.at, opened_->frame, *options_.slice)) return false;
    switch (label.kind) {
      case LabelKind::contour:
        return hidden_.count(Shown::contours) == 0;
      case LabelKind::feature:
        return hidden_.count(Shown::features) == 0;
      case LabelKind::stake:
        return hidden_.count(Shown::stakes) == 0;
      case LabelKind::berm:
        return whole;
    }
    return true;
  };
  const double em = GetTheme().font_size;
  std::vector<std::pair<Point2, Point2>> taken;  // low and high corners
  for (PlacedLabel* placed : all) {
    bool room = wanted(placed->label);
    const std::optional<Point2> at = room ? on_screen(place_of(placed->label)) : std::nullopt;
    room = room && at;
    if (room) {
      // Text begins at its place.
      const double width = 0.56 * em * static_cast<double>(placed->label.text.size());
      const Point2 low = *at - Point2(4, 0.6 * em), high = *at + Point2(width + 4, 0.6 * em);
      room = std::none_of(taken.begin(), taken.end(), [&](const auto& box) {
        return low.x() < box.second.x() && high.x() > box.first.x() && low.y() < box.second.y() &&
               high.y() > box.first.y();
      });
      if (room) taken.emplace_back(low, high);
    }
    if (room && !placed->shown) {
      placed->shown = view_->AddLabel(place_of(placed->label), placed->label.text.c_str());
      placed->shown->SetTextColor(gui::Color(0.08F, 0.07F, 0.05F));
    } else if (!room && placed->shown) {
      view_->RemoveLabel(placed->shown);
      placed->shown = nullptr;
    } else if (placed->shown) {
      placed->shown->SetPosition(place_of(placed->label));
    }
  }
  redraw_asked_ = true;
}

// ---- changes --------------------------------------------------------------------------------------------------------

/// The mound moved or grew: new faces and figures at once, checks and stakes as soon as they are worked out.
void MoundWindow::changed() {
  draw_mound_now();
  for (const char* name : {"hubs", "slope stakes", "feed"}) put(name, Lines{});
  put_labels("stakes", {});
  refresh_panel();
  find_out();
  show_as_chosen();
}

void MoundWindow::refresh_panel() {
  panel_->refresh(session(), panel_text(session()));
  SetNeedsLayout();
}

void MoundWindow::find_out() {
  if (working_) return;
  const std::optional<EditSession::Work> work = session().pending();
  if (!work) return;
  working_ = true;
  auto& app = gui::Application::GetInstance();
  app.RunInThread([this, alive = alive_, work = *work, revision = session().revision(), &app] {
    const std::shared_ptr<const Findings> found = work();
    app.PostToMainThread(nullptr, [this, alive, found, revision] {
      if (*alive) accept(found, revision);
    });
  });
}

void MoundWindow::accept(const std::shared_ptr<const Findings>& found, std::uint64_t revision) {
  working_ = false;
  const bool is_current = revision == session().revision();
  if (!session().accept(found, revision)) {
    if (!is_current) find_out();  // it was moved on meanwhile
    return;
  }
  show_stakes();
  refresh_panel();
  show_as_chosen();
}

void MoundWindow::show_stakes() {
  if (session().findings() == nullptr) return;
  const StakePicture stakes =
      stake_picture(session().ground(), session().findings()->stakes, opened_->frame, session().unit());
  const auto put_cut = [&](const std::string& name, const Lines& lines) {
    put(name, options_.slice ? cut_lines(lines, opened_->frame, *options_.slice) : lines);
  };
  put_cut("hubs", stakes.hubs), put_cut("slope stakes", stakes.slopes), put_cut("feed", stakes.feed);
  put_labels("stakes", stakes.labels);
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

/// A slice stays where it was put while the mound is moved through it.
void MoundWindow::slice(const SliceChoice& choice) {
  slice_ = choice;
  options_.slice.reset();
  if (choice.on) {
    const Point2 a = session().along();
    const Point2 d(-a.y(), a.x());
    const Point2 middle = session().ground().to_local(session().state().middle);
    Slice& slice = options_.slice.emplace();
    slice.through = middle + (choice.lengthwise ? d : a) * choice.at;
    slice.along = choice.lengthwise ? a : d;
    if (!choice.other_side) slice.along = -slice.along;
  }
  panel_->set_slice(choice);
  draw_ground();
  draw_site_lines();
  draw_mound_now();
  show_stakes();
  show_as_chosen();
}

void MoundWindow::lift(double by) {
  options_.lift = by;
  panel_->set_lift(by);
  draw_mound_now();
  show_as_chosen();
}

void MoundWindow::stretch_heights(double by) {
  exaggeration_ = by;
  panel_->set_stretch(by);
  for (const std::string& name : names_) stretch(scene(), name, by);
  redraw();
}

void MoundWindow::show_layer(std::size_t layer, bool shown) {
  if (layer >= shown_.size()) return;
  const bool was_whole = is_whole();
  shown_[layer] = shown;
  panel_->set_layer_shown(layer, shown);
  if (is_whole() != was_whole) draw_mound_now();
  show_as_chosen();
}

void MoundWindow::look(Look look) {
  const SceneFrame& frame = opened_->frame;
  const Point2 middle = session().ground().to_local(session().state().middle);
  const double z = session().buildup() ? session().buildup()->bottom_elevation : session().ground().trend.at(middle);
  const DrawPoint c = frame.at({middle.x(), middle.y(), z});
  const Eigen::Vector3f center(c[0], c[1], c[2] * static_cast<float>(exaggeration_));
  const auto size = static_cast<float>(picture_size(session(), frame));
  const Point2 along = session().along();
  const Eigen::Vector3f a(static_cast<float>(along.x()), static_cast<float>(along.y()), 0), d(-a.y(), a.x(), 0);
  Eigen::Vector3f eye, up(0, 0, 1);
  switch (look) {
    case Look::orbit:
      eye = center + size * (1.25F * d - 0.75F * a + Eigen::Vector3f(0, 0, 1.0F));
      break;
    case Look::plan:
      eye = center + size * Eigen::Vector3f(0, 0, 2.1F), up = {0, 1, 0};
      break;
    case Look::side:
      eye = center + size * (1.6F * d + Eigen::Vector3f(0, 0, 0.16F));
      break;
    case Look::end:
      eye = center + size * (-1.3F * a + Eigen::Vector3f(0, 0, 0.14F));
      break;
  }
  view_->SetupCamera(35, scene().GetBoundingBox(), center);
  view_->LookAt(center, eye, up);
  redraw();
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
  auto picture = std::make_shared<ScenePicture>();
  picture->title = session().site().job.site.title;
  if (exaggeration_ != 1) picture->note = fmt::format("heights x {:.1f}", exaggeration_);
  for (const auto& [group, labels] : labels_) {
    for (const PlacedLabel& placed : labels) {
      if (!placed.shown) continue;
      if (const auto at = on_screen(place_of(placed.label))) picture->labels.push_back({*at, placed.label.text});
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
          write_files({{path, picture_png(*picture)}, {beside, figures}});
          tell(fmt::format("Picture in {}, its figures in {}", path.filename().string(), beside.filename().string()));
        });
      });
  redraw();
}

bool MoundWindow::may_close() {
  if (closing_ || !opened_ || !session().is_changed()) return true;
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
  if (event.type != gui::KeyEvent::DOWN || !opened_) return false;
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
      lift(options_.lift > 0 ? 0 : 3 * ft);
      return true;
    case gui::KEY_H:
      stretch_heights(exaggeration_ > 1 ? 1 : 2);
      return true;
    case gui::KEY_F1:
      look(Look::orbit);
      return true;
    case gui::KEY_F2:
      look(Look::plan);
      return true;
    case gui::KEY_F3:
      look(Look::side);
      return true;
    case gui::KEY_F4:
      look(Look::end);
      return true;
    default:
      break;
  }
  if (event.key < gui::KEY_1 || event.key > gui::KEY_9) return false;
  const std::size_t layer = event.key - gui::KEY_1;
  if (layer < shown_.size()) show_layer(layer, !shown_[layer]);
  return true;
}

/// Where the line of sight meets the level of the bed bottom; easting, northing.
std::optional<Point2> MoundWindow::ground_under(const gui::MouseEvent& event) {
  if (!session().buildup()) return std::nullopt;
  const gui::Rect& f = view_->GetFrame();
  const rendering::Camera& camera = *scene().GetCamera();
  const Eigen::Vector3f eye = camera.GetPosition();
  const Eigen::Vector3f through = camera.Unproject(static_cast<float>(event.x - f.x), static_cast<float>(event.y - f.y),
                                                   0.5F, static_cast<float>(f.width), static_cast<float>(f.height));
  const Eigen::Vector3f ray = through - eye;
  const SceneFrame& frame = opened_->frame;
  const double level = (session().buildup()->bottom_elevation - frame.origin.z()) * exaggeration_;
  const double share = (level - eye.z()) / ray.z();
  if (!(share > 0) || !std::isfinite(share)) return std::nullopt;
  const Point2 p(eye.x() + share * ray.x(), eye.y() + share * ray.y());
  return session().ground().to_world(p + Point2(frame.origin.x(), frame.origin.y()));
}

bool MoundWindow::on_mouse(const gui::MouseEvent& event) {
  if (!opened_) return false;
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

void require_resources() {
  const std::filesystem::path file = std::filesystem::path(MOUNDWRIGHT_OPEN3D_RESOURCES) / "defaultUnlit.filamat";
  if (std::filesystem::exists(file)) return;
  throw Refusal({Severity::error, "the window's materials are not installed", file.string(),
                 "install the package open3d-gui-data"});
}

}  // namespace

void show_window(const std::filesystem::path& job) {
  require_resources();
  require_display();
  auto& app = gui::Application::GetInstance();
  app.Initialize(MOUNDWRIGHT_OPEN3D_RESOURCES);
  // The application must hold the only reference, or the scene would outlive the renderer.
  app.AddWindow(std::make_shared<MoundWindow>(job));
  app.Run();
}

}  // namespace moundwright

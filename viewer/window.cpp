#include "viewer/window.h"

#include <GLFW/glfw3.h>
#include <fmt/format.h>
#include <open3d/geometry/Image.h>
#include <open3d/visualization/gui/Application.h>
#include <open3d/visualization/gui/Events.h>
#include <open3d/visualization/gui/Label3D.h>
#include <open3d/visualization/gui/TabControl.h>
#include <open3d/visualization/gui/Theme.h>
#include <open3d/visualization/gui/Window.h>
#include <open3d/visualization/rendering/Camera.h>
#include <open3d/visualization/rendering/ColorGrading.h>
#include <open3d/visualization/rendering/View.h>

#include <cmath>
#include <cstdlib>
#include <map>
#include <set>

#include "io/material_style.h"
#include "viewer/panel_text.h"
#include "viewer/scene.h"
#include "viewer/window_parts.h"

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

enum class Look { orbit, plan, side, end };

/// What the mouse does in the scene besides looking about.
class SceneView : public gui::SceneWidget {
 public:
  std::function<void()> on_press;
  std::function<bool(const gui::MouseEvent&)> on_mouse;  // true: taken

  EventResult Mouse(const gui::MouseEvent& event) override {
    if (event.type == gui::MouseEvent::BUTTON_DOWN && on_press) on_press();
    if (on_mouse && on_mouse(event)) return EventResult::CONSUMED;
    return gui::SceneWidget::Mouse(event);
  }
};

class MoundWindow : public gui::Window {
 public:
  explicit MoundWindow(const std::filesystem::path& job);
  ~MoundWindow() override { *alive_ = false; }

 protected:
  void Layout(const gui::LayoutContext& context) override;

 private:
  std::filesystem::path job_;
  std::shared_ptr<bool> alive_ = std::make_shared<bool>(true);
  std::shared_ptr<Opened> opened_;
  MoundOptions options_;
  MoundWork work_;
  MoundPicture picture_;
  double exaggeration_ = 1;
  bool typing_ = false, working_ = false;
  std::set<std::string> names_;  // of all geometry in the scene
  std::vector<bool> shown_;      // layers

  std::shared_ptr<SceneView> view_;
  std::shared_ptr<gui::Vert> head_, foot_;
  std::shared_ptr<gui::Label> title_, saved_, status_, figures_, berms_, checks_;
  std::shared_ptr<FormRow> along_, across_, turn_, raise_;
  struct PlacedLabel {
    SceneLabel label;
    std::shared_ptr<gui::Label3D> shown;
  };
  std::map<std::string, std::vector<PlacedLabel>> labels_;  // by what they belong to

  EditSession& session() { return *opened_->session; }
  rendering::Open3DScene& scene() { return *view_->GetScene(); }
  float em() const { return static_cast<float>(GetTheme().font_size); }

  void build_scene_widget();
  void build_panel();
  void start_loading();
  void install(std::shared_ptr<Opened> opened);
  bool on_key(const gui::KeyEvent& event);
  void mound_changed();
  void refresh_panel();
  void find_out();
  void put(const std::string& name, const Triangles& triangles);
  void put(const std::string& name, const Lines& lines);
  void put_labels(const std::string& group, const std::vector<SceneLabel>& labels);
  void look(Look look);
  void tell(const std::string& text);
};

MoundWindow::MoundWindow(const std::filesystem::path& job)
    : gui::Window(fmt::format("Moundwright: {}", job.filename().string()), 1400, 900), job_(job) {
  build_scene_widget();
  build_panel();
  SetOnKeyEvent([this](const gui::KeyEvent& event) { return on_key(event); });
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
  view_->on_press = [this] { typing_ = false; };
  AddChild(view_);
}

void MoundWindow::build_panel() {
  const int gap = static_cast<int>(0.3F * em());
  head_ = std::make_shared<gui::Vert>(gap, gui::Margins(static_cast<int>(0.8F * em())));
  title_ = std::make_shared<gui::Label>("");
  saved_ = std::make_shared<gui::Label>("");
  figures_ = std::make_shared<gui::Label>("");
  berms_ = std::make_shared<gui::Label>("");
  checks_ = std::make_shared<gui::Label>("");
  head_->AddChild(title_), head_->AddChild(saved_), head_->AddChild(figures_), head_->AddChild(berms_);
  head_->AddChild(checks_);
  status_ = std::make_shared<gui::Label>("opening");
  AddChild(head_), AddChild(status_);
}

void MoundWindow::Layout(const gui::LayoutContext& context) {
  const gui::Rect r = GetContentRect();
  const int panel = 26 * context.theme.font_size, strip = static_cast<int>(1.8 * context.theme.font_size);
  view_->SetFrame(gui::Rect(r.x, r.y, r.width - panel, r.height - strip));
  status_->SetFrame(gui::Rect(r.x + strip / 2, r.GetBottom() - strip, r.width - panel - strip, strip));
  head_->SetFrame(gui::Rect(r.GetRight() - panel, r.y, panel, r.height));
  gui::Window::Layout(context);
}

void MoundWindow::tell(const std::string& text) {
  status_->SetText(text.c_str());
  PostRedraw();
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
      post([this, text = std::string(refusal.what())] { tell(text); });
    }
  });
}

void MoundWindow::put(const std::string& name, const Triangles& triangles) {
  upload(scene(), name, triangles);
  stretch(scene(), name, exaggeration_);
  names_.insert(name);
}

void MoundWindow::put(const std::string& name, const Lines& lines) {
  upload(scene(), name, lines, GetScaling());
  stretch(scene(), name, exaggeration_);
  names_.insert(name);
}

void MoundWindow::put_labels(const std::string& group, const std::vector<SceneLabel>& labels) {
  for (PlacedLabel& placed : labels_[group]) {
    if (placed.shown) view_->RemoveLabel(placed.shown);
  }
  labels_[group].clear();
  for (const SceneLabel& label : labels) {
    const Eigen::Vector3f at(label.at[0], label.at[1], label.at[2] * static_cast<float>(exaggeration_));
    auto shown = view_->AddLabel(at, label.text.c_str());
    shown->SetTextColor(gui::Color(0.12F, 0.10F, 0.08F));
    labels_[group].push_back({label, shown});
  }
}

void MoundWindow::install(std::shared_ptr<Opened> opened) {
  opened_ = std::move(opened);
  for (std::size_t i = 0; i < opened_->tiles.size(); ++i) put(fmt::format("ground {}", i), opened_->tiles[i].triangles);
  put("skirt", opened_->skirt);
  put("contours", opened_->contours.fine);
  put("heavy contours", opened_->contours.heavy);
  put_labels("contours", opened_->contours.labels);
  for (std::size_t i = 0; i < opened_->features.lines.size(); ++i) {
    put(fmt::format("features {}", i), opened_->features.lines[i]);
  }
  put_labels("features", opened_->features.labels);
  mound_changed();
  look(Look::orbit);
  tell("");
}

void MoundWindow::mound_changed() {
  mound_picture(session(), opened_->frame, options_, work_, picture_);
  for (std::size_t k = 0; k < picture_.layers.size(); ++k) {
    put(fmt::format("layer {}", k), picture_.layers[k]);
    put(fmt::format("cut face {}", k), picture_.cut_faces[k]);
  }
  put("cut face of the ground", picture_.cut_faces.back());
  put("cut edges", picture_.cut_edges);
  put("toe", picture_.toe);
  put("bed", picture_.bed);
  put("berms", picture_.berms);
  put_labels("mound", picture_.labels);
  for (const char* name : {"hubs", "slope stakes", "feed"}) put(name, Lines{});
  put_labels("stakes", {});
  refresh_panel();
  find_out();
  view_->ForceRedraw();
  PostRedraw();
}

void MoundWindow::refresh_panel() {
  const PanelText panel = panel_text(session());
  title_->SetText(panel.title.c_str());
  saved_->SetText(panel.saved.c_str());
  std::string text;
  for (const auto* rows : {&panel.place, &panel.bed, &panel.takeoff, &panel.berm}) {
    for (const PanelRow& row : *rows) text += fmt::format("{}: {}\n", row.name, row.value);
  }
  figures_->SetText(text.c_str());
  text.clear();
  for (const auto* lines : {&panel.problems, &panel.checks}) {
    for (const PanelLine& line : *lines) text += wrapped(line.text, 52) + "\n";
  }
  checks_->SetText(text.c_str());
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
      if (!*alive) return;
      working_ = false;
      if (!session().accept(found, revision)) {
        if (found) find_out();
        return;
      }
      const StakePicture stakes = stake_picture(session().ground(), found->stakes, opened_->frame, session().unit());
      put("hubs", stakes.hubs), put("slope stakes", stakes.slopes), put("feed", stakes.feed);
      put_labels("stakes", stakes.labels);
      refresh_panel();
      view_->ForceRedraw();
      PostRedraw();
    });
  });
}

void MoundWindow::look(Look look) {
  const SceneFrame& frame = opened_->frame;
  const MoundPlan& plan = session().plan();
  const Point2 middle = session().ground().to_local(session().state().middle);
  const double z = session().buildup() ? session().buildup()->bottom_elevation : frame.origin.z();
  const DrawPoint c = frame.at({middle.x(), middle.y(), z});
  const Eigen::Vector3f center(c[0], c[1], c[2] * static_cast<float>(exaggeration_));
  const auto size = static_cast<float>(frame.size);
  Eigen::Vector3f eye, up(0, 0, 1);
  const Point2 along = plan.placement.along, across = plan.placement.across();
  const Eigen::Vector3f a(static_cast<float>(along.x()), static_cast<float>(along.y()), 0);
  const Eigen::Vector3f d(static_cast<float>(across.x()), static_cast<float>(across.y()), 0);
  switch (look) {
    case Look::orbit:
      eye = center + size * (0.40F * d - 0.22F * a + Eigen::Vector3f(0, 0, 0.32F));
      break;
    case Look::plan:
      eye = center + size * Eigen::Vector3f(0, 0, 0.7F), up = {0, 1, 0};
      break;
    case Look::side:
      eye = center + size * (0.45F * d + Eigen::Vector3f(0, 0, 0.03F));
      break;
    case Look::end:
      eye = center + size * (0.45F * a + Eigen::Vector3f(0, 0, 0.03F));
      break;
  }
  view_->SetupCamera(35, scene().GetBoundingBox(), center);
  view_->LookAt(center, eye, up);
  view_->ForceRedraw();
}

bool MoundWindow::on_key(const gui::KeyEvent& event) {
  if (event.type != gui::KeyEvent::DOWN || !opened_) return false;
  const bool ctrl = (GetMouseMods() & static_cast<int>(gui::KeyModifier::CTRL)) != 0;
  const bool shift = (GetMouseMods() & static_cast<int>(gui::KeyModifier::SHIFT)) != 0;
  const double step = shift ? 5 : 0.5;
  const std::string held = event.isRepeat ? "held key" : "";
  switch (event.key) {
    case gui::KEY_LEFT:
      session().move(-step, 0);
      break;
    case gui::KEY_RIGHT:
      session().move(step, 0);
      break;
    case gui::KEY_UP:
      session().move(0, -step);
      break;
    case gui::KEY_DOWN:
      session().move(0, step);
      break;
    case gui::KEY_Z:
      if (!ctrl) return false;
      session().undo();
      break;
    default:
      return false;
  }
  mound_changed();
  return true;
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

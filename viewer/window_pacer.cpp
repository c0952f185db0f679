#include "viewer/window_pacer.h"

#include <GLFW/glfw3.h>
#include <open3d/visualization/rendering/Renderer.h>

#include <algorithm>

namespace moundwright::viewer {
namespace {

FramePacer* pacer = nullptr;  // GLFW's callbacks carry nothing of ours

}  // namespace

FramePacer::FramePacer(open3d::visualization::gui::Window& window)
    : window_(window), on_screen_(static_cast<GLFWwindow*>(window.GetOSWindow())) {
  pacer = this;
  window_.GetRenderer().SetOnAfterDraw([this] { taken_ = true, ++frames_; });
  draw_ = glfwSetWindowRefreshCallback(on_screen_, [](GLFWwindow*) { pacer->wanted_ = true; });
  // A press and its release must not fall into one frame, or buttons would not see them.
  press_ = glfwSetMouseButtonCallback(on_screen_, [](GLFWwindow* on_screen, int button, int action, int modifiers) {
    pacer->press_(on_screen, button, action, modifiers);
    pacer->draw();
  });
}

FramePacer::~FramePacer() {
  glfwSetWindowRefreshCallback(on_screen_, draw_);
  glfwSetMouseButtonCallback(on_screen_, press_);
  window_.GetRenderer().SetOnAfterDraw({});
  pacer = nullptr;
}

void FramePacer::draw() {
  wanted_ = taken_ = false;
  draw_(on_screen_);
  if (!taken_) wanted_ = true;
}

void FramePacer::tick(double now) {
  if (!wanted_ || now < next_) return;
  draw();
  constexpr double first = 0.01, longest = 0.25;
  wait_ = taken_ ? 0 : std::clamp(2 * wait_, first, longest);
  next_ = now + wait_;
}

}  // namespace moundwright::viewer

// When the window is drawn. Open3D draws at every event, and hands over a whole panel each time even where the renderer
// is behind and drops the frame; enough mouse moves in a row then fill the renderer's memory, which ends the program.
// This draws once for all events that came together, waits longer where the renderer is behind, and draws again until
// the last change was taken.
#pragma once

#include <open3d/visualization/gui/Window.h>

struct GLFWwindow;

namespace moundwright::viewer {

class FramePacer {
 public:
  /// Takes over the window's drawing; one window a program.
  explicit FramePacer(open3d::visualization::gui::Window& window);
  ~FramePacer();
  FramePacer(const FramePacer&) = delete;
  FramePacer& operator=(const FramePacer&) = delete;

  /// Asks for a frame. Without the display server, which may be busy showing the one before.
  void want() { wanted_ = true; }
  /// Draws if something asked for it; `now` in seconds. To be called at every turn of the application's loop.
  void tick(double now);
  /// Frames that the renderer took.
  std::size_t frames() const { return frames_; }

 private:
  using Refresh = void (*)(GLFWwindow*);
  using Button = void (*)(GLFWwindow*, int, int, int);
  open3d::visualization::gui::Window& window_;
  GLFWwindow* on_screen_;
  Refresh draw_ = nullptr;
  Button press_ = nullptr;
  bool wanted_ = true, taken_ = false;
  double next_ = 0, wait_ = 0;  // seconds
  std::size_t frames_ = 0;

  void draw();
};

}  // namespace moundwright::viewer

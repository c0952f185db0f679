// The 3D window: the mound on its ground, moved and resized by hand, with figures that follow.
#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>

namespace open3d::visualization::gui {
class Window;
}

namespace moundwright::viewer {

/// Opens the job and returns when the window was closed. Throws Refusal where there is no display, no OpenGL or no
/// Open3D resources; a job that cannot be read is told in the window.
void show_window(const std::filesystem::path& job);

/// What show_window does, in steps, for what has to time them: makes Open3D's application ready (throws as
/// show_window), makes the window for it to run, and tells whether the job is open in that window and how many frames
/// the renderer took of it.
void prepare_windows();
std::shared_ptr<open3d::visualization::gui::Window> make_window(const std::filesystem::path& job);
bool is_open(const open3d::visualization::gui::Window& window);
std::size_t frames_drawn(const open3d::visualization::gui::Window& window);

}  // namespace moundwright::viewer

// The 3D window: the mound on its ground, moved and resized by hand, with figures that follow.
#pragma once

#include <filesystem>

namespace moundwright {

/// Opens the job and returns when the window was closed. Throws Refusal where there is no display, no OpenGL or no
/// Open3D resources; a job that cannot be read throws what read_job throws, after the window told it.
void show_window(const std::filesystem::path& job);

}  // namespace moundwright

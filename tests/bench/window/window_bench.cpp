// The real window, timed: the program's own window on a display, with its keys and mouse events handed to it as the
// display would. Writes one line of JSON.
//
//   moundwright_window_bench JOB NUDGES SECONDS
//   moundwright_window_bench SHOTS NUDGES SECONDS     the lot of the other benchmarks, 300 ft wide, with so many shots
//
//   open_ms             from starting to read the job to the mound in the window
//   longest_stall_ms    the longest that the window heard nothing meanwhile
//   nudge_*_ms          from an arrow key to everything that changed handed to the renderer, figures in the panel too
//   slice_ms            the same for moving the slice
//   frames_per_second   frames that the renderer began while the scene is turned by the mouse
#include <fmt/format.h>
#include <open3d/visualization/gui/Application.h>
#include <open3d/visualization/gui/Events.h>
#include <open3d/visualization/gui/Window.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "io/text_file.h"
#include "tests/bench/bench_lot.h"
#include "viewer/window.h"

namespace moundwright {
namespace {

namespace gui = open3d::visualization::gui;
using Clock = std::chrono::steady_clock;

double milliseconds_since(Clock::time_point start) {
  return std::chrono::duration<double, std::milli>(Clock::now() - start).count();
}

/// Takes the part of the loop that Application::Run has.
class Loop {
 public:
  bool tick() { return gui::Application::GetInstance().RunOneTick(unlocker_, false); }
  void run_for(double milliseconds) {
    for (const Clock::time_point start = Clock::now(); milliseconds_since(start) < milliseconds;) tick();
  }

 private:
  struct Unlocker : gui::Application::EnvUnlocker {
    void unlock() override {}
    void relock() override {}
  };
  Unlocker unlocker_;
};

struct Opening {
  double total = 0, longest_stall = 0;
};

Opening wait_till_open(const gui::Window& window, Loop& loop) {
  Opening opening;
  for (const Clock::time_point start = Clock::now(); !viewer::is_open(window);) {
    const Clock::time_point before = Clock::now();
    loop.tick();
    opening.longest_stall = std::max(opening.longest_stall, milliseconds_since(before));
    opening.total = milliseconds_since(start);
  }
  return opening;
}

void press(gui::Window& window, gui::KeyName key) { window.OnKeyEvent({gui::KeyEvent::DOWN, key, false}); }

struct Times {
  std::vector<double> all;
  double least() const { return *std::min_element(all.begin(), all.end()); }
  double middle() const {
    std::vector<double> sorted = all;
    std::sort(sorted.begin(), sorted.end());
    return sorted[sorted.size() / 2];
  }
};

/// Between keys the window has `pause` milliseconds to draw.
Times time_keys(gui::Window& window, Loop& loop, const std::vector<gui::KeyName>& keys, int count, double pause) {
  Times times;
  for (int i = 0; i < count; ++i) {
    const Clock::time_point start = Clock::now();
    press(window, keys[static_cast<std::size_t>(i) % keys.size()]);
    times.all.push_back(milliseconds_since(start));
    loop.run_for(pause);
  }
  return times;
}

double frames_per_second(gui::Window& window, Loop& loop, double seconds) {
  const std::size_t before = viewer::frames_drawn(window);
  const int y = 420, left = static_cast<int>(gui::MouseButton::LEFT);
  window.OnMouseEvent(
      gui::MouseEvent::MakeButtonEvent(gui::MouseEvent::BUTTON_DOWN, 480, y, 0, gui::MouseButton::LEFT, 1));
  const Clock::time_point start = Clock::now();
  for (int i = 0; milliseconds_since(start) < 1000 * seconds; ++i) {
    const int swing = i % 200, x = 380 + (swing < 100 ? swing : 200 - swing);
    window.OnMouseEvent(gui::MouseEvent::MakeMoveEvent(gui::MouseEvent::DRAG, x, y, 0, left));
    loop.tick();
  }
  const double took = milliseconds_since(start) / 1000;
  const std::size_t frames = viewer::frames_drawn(window) - before;
  window.OnMouseEvent(
      gui::MouseEvent::MakeButtonEvent(gui::MouseEvent::BUTTON_UP, 480, y, 0, gui::MouseButton::LEFT, 1));
  return static_cast<double>(frames) / took;
}

/// A job of the lot and mound that the other benchmarks have.
std::filesystem::path write_lot(std::size_t shots, const std::filesystem::path& folder) {
  std::string ground = "point,northing,easting,elevation,description\n";
  std::size_t number = 0;
  for (const Shot& shot : bench::lot_shots(shots, 300, 300)) {
    ground += fmt::format("{},{:.4f},{:.4f},{:.4f},GS\n", ++number, shot.northing, shot.easting, shot.elevation);
  }
  std::string job = "[ground]\nshots = \"ground.csv\"\n[mound]\ncenter = { n = 0.0, e = 0.0 }\nazimuth = 0.0\n";
  job += "bed = { length = 60.0, width = 10.0 }\nbottom = { least_sand = 1.5 }\ndownslope = 90.0\n";
  job += "[prepare]\nstrip = 0.5\n";
  for (const Layer& layer : bench::lot_mound(0.5).layers) {
    job += fmt::format("[[layer]]\nname = \"{}\"\nmaterial = \"{}\"\ntop = {:.2f}\ncrown = {:.2f}\nbeyond = {:.2f}\n",
                       layer.name, layer.material, layer.top, layer.crown, layer.beyond.upslope);
    job += fmt::format("side = {:.2f}\n{}", layer.side.upslope, layer.round_corners ? "corners = \"round\"\n" : "");
  }
  std::filesystem::create_directories(folder);
  io::write_files({{folder / "ground.csv", ground}, {folder / "lot.toml", job}});
  return folder / "lot.toml";
}

void run(const std::string& what, int nudges, double seconds) {
  viewer::prepare_windows();
  auto& app = gui::Application::GetInstance();
  const std::filesystem::path folder =
      std::filesystem::temp_directory_path() / fmt::format("moundwright-window-bench-{}", getpid());
  const std::size_t shots = std::strtoull(what.c_str(), nullptr, 10);
  std::shared_ptr<gui::Window> window =
      viewer::make_window(shots > 0 ? write_lot(shots, folder) : std::filesystem::path(what));
  app.AddWindow(window);
  Loop loop;
  const Opening opening = wait_till_open(*window, loop);
  loop.run_for(3000);  // checks and stakes are worked out, and drawn
  const double frames = frames_per_second(*window, loop, seconds);
  const double pause = std::max(200.0, 3000 / std::max(frames, 0.1));  // the renderer is done with the one before
  loop.run_for(pause);
  const std::vector<gui::KeyName> round = {gui::KEY_RIGHT, gui::KEY_UP, gui::KEY_RIGHT, gui::KEY_DOWN,
                                           gui::KEY_LEFT,  gui::KEY_UP, gui::KEY_LEFT,  gui::KEY_DOWN};
  const Times nudge = time_keys(*window, loop, round, nudges, pause);
  press(*window, gui::KEY_X);
  loop.run_for(pause);
  const Times slice = time_keys(*window, loop, {gui::KEY_COMMA, gui::KEY_PERIOD}, nudges / 2, pause);
  fmt::print(
      "{{\"open_ms\": {:.0f}, \"longest_stall_ms\": {:.0f}, \"nudge_least_ms\": {:.3f}, \"nudge_middle_ms\": {:.3f}, "
      "\"slice_ms\": {:.3f}, \"frames_per_second\": {:.1f}}}\n",
      opening.total, opening.longest_stall, nudge.least(), nudge.middle(), slice.middle(), frames);
  std::fflush(stdout);
  std::filesystem::remove_all(folder);
  std::quick_exit(0);  // the figures are out; a window with changes would ask what to do with them
}

}  // namespace
}  // namespace moundwright

int main(int argc, char** argv) {
  if (argc != 4) {
    fmt::print(stderr, "usage: {} JOB|SHOTS NUDGES SECONDS\n", argv[0]);
    return 2;
  }
  try {
    moundwright::run(argv[1], std::max(2, std::atoi(argv[2])), std::atof(argv[3]));
  } catch (const moundwright::Refusal& refusal) {
    fmt::print(stderr, "{}\n", refusal.what());
    return 1;
  }
}

// The window as a person uses it: the real program on a screen of its own (Xvfb, software OpenGL), driven by keys and
// mouse (xdotool), looked at by screenshots (ImageMagick). What it says is read from the figures that it writes beside
// every saved picture.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include "../io/scratch.h"
#include "test_paths.h"

namespace moundwright::viewer {
namespace {

namespace fs = std::filesystem;
using namespace std::chrono_literals;
using testing::HasSubstr;

std::string content(const fs::path& path) {
  std::ostringstream text;
  text << std::ifstream(path, std::ios::binary).rdbuf();
  return text.str();
}

std::string output_of(const std::string& command) {
  FILE* pipe = popen(command.c_str(), "r");
  std::string text;
  char buffer[4096];
  while (const std::size_t n = fread(buffer, 1, sizeof buffer, pipe)) text.append(buffer, n);
  pclose(pipe);
  return text;
}

/// A process of a test's own, ended with it.
class Process {
 public:
  explicit Process(const std::vector<std::string>& command, const fs::path& output) {
    id_ = fork();
    if (id_ != 0) return;
    setpgid(0, 0);
    if (freopen(output.c_str(), "w", stdout) == nullptr ||
        freopen((output.string() + ".err").c_str(), "w", stderr) == nullptr)
      _exit(126);
    std::vector<char*> arguments;
    for (const std::string& word : command) arguments.push_back(const_cast<char*>(word.c_str()));
    arguments.push_back(nullptr);
    execvp(arguments[0], arguments.data());
    _exit(127);
  }
  Process(const Process&) = delete;
  Process& operator=(const Process&) = delete;
  ~Process() {
    if (id_ > 0 && !code(0s)) {
      kill(id_, SIGKILL);
      waitpid(id_, nullptr, 0);
    }
  }
  /// The exit code once it has ended; 128 + the signal that ended it.
  std::optional<int> code(std::chrono::milliseconds within) {
    const auto until = std::chrono::steady_clock::now() + within;
    do {
      int status = 0;
      if (id_ > 0 && waitpid(id_, &status, WNOHANG) == id_) {
        id_ = -1;
        code_ = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
      }
      if (code_) return code_;
      std::this_thread::sleep_for(20ms);
    } while (std::chrono::steady_clock::now() < until);
    return code_;
  }

 private:
  pid_t id_ = -1;
  std::optional<int> code_;
};

bool wait_for(const std::function<bool()>& done, std::chrono::seconds within = 60s) {
  const auto until = std::chrono::steady_clock::now() + within;
  while (!done()) {
    if (std::chrono::steady_clock::now() > until) return false;
    std::this_thread::sleep_for(50ms);
  }
  return true;
}

std::string fixed(double value) { return fmt::format("{:.1f}", value); }

/// A row of the panel, as its text file has it.
std::string panel_row(const std::string& name, const std::string& value) {
  return fmt::format("  {:<14}{}", name, value);
}

class Window : public testing::Test {
 protected:
  Scratch scratch;
  fs::path job = scratch / "fernhollow.toml";
  std::unique_ptr<Process> screen, program;

  void SetUp() override {
    fs::copy(MOUNDWRIGHT_SURVEYS, scratch.folder());
    setenv("LIBGL_ALWAYS_SOFTWARE", "1", 1);
  }
  void TearDown() override {
    program.reset();
    screen.reset();
    unsetenv("DISPLAY");
  }

  void start_screen(const std::vector<std::string>& more = {}) {
    // Without -noreset it starts anew when its only client leaves, and a window that comes just then finds no screen.
    std::vector<std::string> command = {"Xvfb",        "-displayfd", "1",   "-screen", "0",
                                        "1400x900x24", "-nolisten",  "tcp", "-noreset"};
    command.insert(command.end(), more.begin(), more.end());
    screen = std::make_unique<Process>(command, scratch / "display");
    ASSERT_TRUE(wait_for([&] { return content(scratch / "display").find('\n') != std::string::npos; }))
        << "Xvfb did not start: " << content(scratch / "display.err");
    std::string display = content(scratch / "display");  // the number, with an end of line
    display.pop_back();
    setenv("DISPLAY", display.insert(0, 1, ':').c_str(), 1);
  }

  void open_window() {
    start_screen();
    program = std::make_unique<Process>(std::vector<std::string>{MOUNDWRIGHT_COMMAND, "view", job.string()},
                                        scratch / "told");
    // Until the job is open, keys go unheard.
    ASSERT_TRUE(wait_for([&] { return !ask_for_figures(2s).empty(); })) << content(scratch / "told.err");
    forget_figures();
  }

  fs::path figures(int number) const { return scratch / fmt::format("{}-view-{}.txt", job.stem().string(), number); }
  fs::path picture(int number) const { return scratch / fmt::format("{}-view-{}.png", job.stem().string(), number); }

  static void press(const std::string& keys) {
    ASSERT_EQ(std::system(fmt::format("xdotool key --delay 60 {}", keys).c_str()), 0);
  }
  /// Has the figures written, and gives them; nothing where none came.
  std::string ask_for_figures(std::chrono::seconds within) {
    press("ctrl+p");
    const auto written = [&] { return fs::exists(figures(1)); };
    return wait_for(written, within) ? content(figures(1)) : std::string();
  }
  /// Takes away what was written, also what was asked for once too often and comes late.
  void forget_figures() {
    for (int calm = 0; calm < 10; ++calm) {
      for (int i = 1; fs::exists(figures(i)) || fs::exists(picture(i)); ++i) {
        fs::remove(figures(i)), fs::remove(picture(i));
        calm = 0;
      }
      std::this_thread::sleep_for(50ms);
    }
  }
  /// What the panel says now.
  std::string panel() {
    std::string text;
    EXPECT_TRUE(wait_for([&] { return !(text = ask_for_figures(15s)).empty(); })) << "no figures are written";
    forget_figures();
    return text;
  }
  /// The same as soon as it says this.
  std::string panel_with(const std::string& expected) {
    std::string text;
    EXPECT_TRUE(wait_for([&] { return (text = panel()).find(expected) != std::string::npos; }))
        << "never said \"" << expected << "\", but\n"
        << text;
    return text;
  }
  /// The same once the checks are worked out.
  std::string settled_panel() { return panel_with("\nChecks\n"); }
  /// Presses keys that change what the panel says, once more where they went unheard, until it says what is expected.
  std::string press_until(const std::string& keys, const std::string& expected) {
    const std::string before = panel();
    std::string after = before;
    for (int tries = 0; tries < 3 && after == before; ++tries) {
      press(keys);
      wait_for([&] { return (after = panel()) != before; }, 15s);
    }
    return after.find(expected) != std::string::npos ? after : panel_with(expected);
  }

  fs::path screenshot(const std::string& name) {
    fs::path file = scratch / (name + ".png");
    EXPECT_EQ(std::system(fmt::format("import -window root '{}'", file.string()).c_str()), 0);
    return file;
  }
  /// Share of the scene's pixels (left of the panel) in which two screenshots differ.
  static double difference(const fs::path& a, const fs::path& b) {
    const std::string text = output_of(
        fmt::format("compare -metric AE -fuzz 3% -extract 970x860+0+0 '{}' '{}' null: 2>&1", a.string(), b.string()));
    return std::stod(text) / (970.0 * 860.0);
  }
  /// Of a scene that no longer changes: the first picture may be drawn in pieces.
  fs::path still_screenshot(const std::string& name) {
    const fs::path now = screenshot(name);
    EXPECT_TRUE(wait_for(
        [&] {
          const fs::path before = scratch / "before.png";
          fs::copy_file(now, before, fs::copy_options::overwrite_existing);
          std::this_thread::sleep_for(4s);  // longer than a picture takes where other work runs beside it
          return difference(before, screenshot(name)) == 0;
        },
        40s));
    return now;
  }
  /// Waits until the scene looks other than before by this much.
  ::testing::AssertionResult changes_from(const fs::path& before, double least, const std::string& name) {
    double by = 0;
    if (wait_for([&] { return (by = difference(before, screenshot(name))) >= least; }, 40s)) {
      return ::testing::AssertionSuccess();
    }
    return ::testing::AssertionFailure() << name << " differs in " << by << " of the scene";
  }
  /// That the panel says what `build` computes of the job file.
  void expect_figures_of_build(const std::string& saved) {
    const fs::path packet = scratch / "packet";
    const int status = std::system(
        fmt::format("{} build {} -o {} >/dev/null 2>&1", MOUNDWRIGHT_COMMAND, job.string(), packet.string()).c_str());
    constexpr int checks_fail = 3;  // written all the same
    ASSERT_TRUE(WEXITSTATUS(status) == 0 || WEXITSTATUS(status) == checks_fail) << status;
    const auto summary = nlohmann::json::parse(content(packet / "summary.json"));
    for (const auto& layer : summary["fill"]) {
      EXPECT_THAT(saved, HasSubstr(panel_row(layer["name"], fixed(layer["volume_cy"]))));
    }
    EXPECT_THAT(saved, HasSubstr(panel_row("Fill", fixed(summary["total"]["fill_cy"]))));
    EXPECT_THAT(saved, HasSubstr(panel_row("Cut", fixed(summary["total"]["cut_cy"]))));
    for (const auto& [name, key] :
         {std::pair("Upslope", "upslope"), {"Downslope", "downslope"}, {"Left end", "left"}}) {
      EXPECT_THAT(saved, HasSubstr(panel_row(name, fixed(summary["toe"][key]))));
    }
    for (const auto& check : summary["checks"]) {
      EXPECT_THAT(saved, HasSubstr(check["text"].get<std::string>()));
    }
  }
  static int colours(const fs::path& file) {
    return std::stoi(output_of(fmt::format("identify -format %k '{}'", file.string())));
  }
};

TEST_F(Window, MovesTheMoundAndShowsWhatBuildComputesOfTheSavedJob) {
  open_window();
  if (HasFatalFailure()) return;
  const std::string before = panel();
  EXPECT_THAT(before, HasSubstr("as in the job file"));
  const fs::path first = screenshot("first");
  EXPECT_GT(colours(first), 1000) << "blank";

  // The picture is seen from downslope, so that its right is the bed's left end.
  press_until("Right Right Right", "1.50 ft to the left");
  press_until("Up Up", "1.00 ft upslope");
  const std::string moved = press_until("Prior", "0.05 ft up");
  EXPECT_THAT(moved, HasSubstr("changed, not saved"));
  EXPECT_THAT(moved, HasSubstr("1.50 ft to the left"));
  press_until("bracketright bracketright", "1.00 deg clockwise");

  const std::string unsaved = content(job);
  press_until("ctrl+s", "as in the job file");
  ASSERT_NE(content(job), unsaved);
  EXPECT_THAT(content(job), HasSubstr("# along the contour")) << "comments are kept";
  EXPECT_THAT(content(job), HasSubstr("azimuth = 75.0"));
  const std::string saved = settled_panel();

  expect_figures_of_build(saved);
}

TEST_F(Window, ShowsAHardJobFromInsideAndSaysWhatBuildComputesOfIt) {
  job = scratch / "ridgeback.toml";  // a bent bed over a pit, in state-plane coordinates and US survey feet
  open_window();
  if (HasFatalFailure()) return;
  const fs::path whole = screenshot("whole");
  EXPECT_GT(colours(whole), 1000) << "blank";
  press_until("Right Right", "1.00 us-ft to the left");
  EXPECT_TRUE(changes_from(whole, 0.002, "moved"));
  press("x");
  EXPECT_TRUE(changes_from(scratch / "moved.png", 0.1, "sliced"));
  EXPECT_GT(colours(scratch / "sliced.png"), 1000);
  press_until("Prior", "0.05 us-ft up");
  press("x l");
  EXPECT_TRUE(changes_from(scratch / "sliced.png", 0.1, "lifted apart"));
  const fs::path lifted = screenshot("with the pit");
  press("1 2 3 4");  // what is under the layers
  EXPECT_TRUE(changes_from(lifted, 0.05, "without layers"));
  press("1 2 3 4 l");
  press_until("ctrl+s", "as in the job file");
  expect_figures_of_build(settled_panel());
}

TEST_F(Window, GoesBackAndForth) {
  open_window();
  if (HasFatalFailure()) return;
  const std::string before = settled_panel();
  press_until("Right", "0.50 ft to the left");
  press_until("Up", "0.50 ft upslope");
  press_until("Next", "0.05 ft down");
  const std::string after = settled_panel();
  EXPECT_NE(after, before);
  press_until("ctrl+z ctrl+z ctrl+z ctrl+z", "as in the job file");
  EXPECT_EQ(settled_panel(), before);
  press_until("ctrl+y ctrl+y ctrl+y ctrl+y", "0.05 ft down");
  EXPECT_EQ(settled_panel(), after);
}

TEST_F(Window, ShowsOtherPicturesForOtherWaysToLook) {
  open_window();
  if (HasFatalFailure()) return;
  settled_panel();  // stakes come with the checks
  const fs::path orbit = still_screenshot("orbit");
  press("F2");
  EXPECT_TRUE(changes_from(orbit, 0.1, "plan"));
  press("F3");
  EXPECT_TRUE(changes_from(orbit, 0.1, "side"));
  press("F1 5");
  EXPECT_TRUE(changes_from(orbit, 0.02, "without topsoil"));
  press("5 x");
  EXPECT_TRUE(changes_from(orbit, 0.05, "sliced"));
  press("t");
  EXPECT_TRUE(changes_from(scratch / "sliced.png", 0.05, "sliced lengthwise"));
  press("x");
  EXPECT_TRUE(wait_for([&] { return difference(orbit, screenshot("whole again")) < 0.002; }, 40s))
      << "the eye goes back to where it was";
  press("l");
  EXPECT_TRUE(changes_from(scratch / "sliced lengthwise.png", 0.02, "lifted apart"));
  press("l h");
  EXPECT_TRUE(changes_from(orbit, 0.05, "heights doubled"));
}

// The mound fills the view, so that there is little room beside it.
TEST_F(Window, ShowsTheWholeNamesOfLiftedLayersLeftOfThePanel) {
  open_window();
  if (HasFatalFailure()) return;
  settled_panel();
  const fs::path whole = screenshot("whole");
  press("l");
  ASSERT_TRUE(changes_from(whole, 0.02, "lifted apart"));
  // In all but black on a lighter ground; the panel's edge is at 984.
  const auto ink = [&](int from, int to) {
    return std::stod(
        output_of(fmt::format("convert '{}' -crop {}x500+{}+200 +repage -fx 'r<0.2&&g<0.2&&b<0.2' "
                              "-format '%[fx:mean*w*h]' info:",
                              screenshot("names").string(), to - from, from)));
  };
  EXPECT_TRUE(wait_for([&] { return ink(840, 978) > 500; })) << "no names";
  EXPECT_EQ(ink(978, 983), 0) << "cut off at the panel";
}

TEST_F(Window, AMoundThatCannotBeBuiltOpensWithWhatIsWrongAndIsMendedByHand) {
  std::string text = content(job);
  const std::string from = "bottom = { least_sand = 1.5 }";
  std::ofstream(job) << text.replace(text.find(from), from.size(), "bottom = { elevation = 109.0 }");
  open_window();
  if (HasFatalFailure()) return;
  const std::string wrong = panel_with("To mend first");
  EXPECT_THAT(wrong, HasSubstr("lies below existing ground"));
  EXPECT_THAT(wrong, HasSubstr("raise the bed bottom"));
  const std::string mended =
      press_until("shift+Prior shift+Prior shift+Prior shift+Prior shift+Prior shift+Prior shift+Prior", "3.50 ft up");
  EXPECT_THAT(mended, testing::Not(HasSubstr("To mend first")));
}

TEST_F(Window, ABedOffTheSurveyOpensOnTheSurveyAndIsBroughtOntoIt) {
  std::string text = content(job);
  const std::string from = "n = 5120.0, e = 4890.0";
  std::ofstream(job) << text.replace(text.find(from), from.size(), "n = 4890.0, e = 5120.0");  // the two swapped
  open_window();
  if (HasFatalFailure()) return;
  EXPECT_THAT(panel_with("To decide"), HasSubstr("the bed lies off the survey"));
  EXPECT_GT(colours(screenshot("survey")), 1000) << "blank";
  const std::string brought = press_until("b", "feed points");
  EXPECT_THAT(brought, testing::Not(HasSubstr("off the survey")));
  EXPECT_THAT(brought, testing::Not(HasSubstr("To mend first")));
  settled_panel();
  press("f");
  EXPECT_TRUE(wait_for([&] { return panel().find("feed points") == std::string::npos; }));
  press_until("ctrl+z ctrl+z", "the bed lies off the survey");
}

TEST_F(Window, KeepsItsColoursWhileTheMoundMoves) {
  open_window();
  if (HasFatalFailure()) return;
  const auto brightness = [](const fs::path& file) {
    return std::stod(
        output_of(fmt::format("convert '{}' -crop 900x800+0+20 -format '%[fx:mean]' info:", file.string())));
  };
  settled_panel();
  const fs::path resting = screenshot("resting");
  // As a held key does; each is drawn before the picture comes to rest.
  ASSERT_EQ(std::system("xdotool keydown Right"), 0);
  EXPECT_TRUE(changes_from(resting, 0.01, "moving"));
  EXPECT_NEAR(brightness(scratch / "moving.png"), brightness(resting), 0.05);
  ASSERT_EQ(std::system("xdotool keyup Right"), 0);
}

TEST_F(Window, IsDraggedByTheMouse) {
  open_window();
  if (HasFatalFailure()) return;
  const std::string before = settled_panel();
  ASSERT_EQ(std::system("xdotool mousemove 480 420 keydown shift sleep 0.3 mousedown 1 sleep 0.4 mousemove 520 420 "
                        "sleep 0.4 mousemove 560 420 sleep 0.4 mouseup 1 keyup shift"),
            0);
  panel_with("changed, not saved");
  press_until("ctrl+z", "as in the job file");
  EXPECT_EQ(settled_panel(), before) << "a drag is one step back";
}

TEST_F(Window, OutlivesAMouseThatIsFasterThanTheRenderer) {
  open_window();
  if (HasFatalFailure()) return;
  std::string moves = "mousemove 480 420 mousedown 1";
  for (int i = 0; i < 3000; ++i) moves += fmt::format(" mousemove {} {}", 380 + i % 100, 400 + i % 7);
  ASSERT_EQ(std::system(("xdotool " + moves + " mouseup 1").c_str()), 0);
  EXPECT_THAT(panel(), HasSubstr("as in the job file")) << "looking about changes nothing";
}

TEST_F(Window, AQuickClickIsHeard) {
  open_window();
  if (HasFatalFailure()) return;
  press_until("Right", "0.50 ft to the left");
  ASSERT_EQ(std::system("xdotool mousemove 1028 103 click 1"), 0);  // Undo; pressed and let go within a millisecond
  panel_with("as in the job file");
}

TEST_F(Window, ClosesCleanly) {
  open_window();
  if (HasFatalFailure()) return;
  press("ctrl+q");
  EXPECT_EQ(program->code(30s), 0) << content(scratch / "told.err");
}

TEST_F(Window, AJobThatCannotBeReadIsToldWithoutAWindow) {
  std::ofstream(job, std::ios::app) << "\n[mound]\n";
  start_screen();
  Process refused({MOUNDWRIGHT_COMMAND, "view", job.string()}, scratch / "told");
  EXPECT_EQ(refused.code(30s), 1);
  EXPECT_THAT(content(scratch / "told.err"), HasSubstr("fernhollow.toml"));
}

TEST_F(Window, WithoutADisplayPointsToThePicturesOfBuild) {
  unsetenv("DISPLAY");
  unsetenv("WAYLAND_DISPLAY");
  Process refused({MOUNDWRIGHT_COMMAND, "view", job.string()}, scratch / "told");
  EXPECT_EQ(refused.code(30s), 1);
  EXPECT_THAT(content(scratch / "told.err"), HasSubstr("no display"));
  EXPECT_THAT(content(scratch / "told.err"), HasSubstr("moundwright build"));
}

TEST_F(Window, WithoutOpen3DsResourcesSaysWhatToInstall) {
  for (const char* missing : {"defaultUnlit.filamat", "Roboto-Medium.ttf"}) {
    SCOPED_TRACE(missing);
    const fs::path resources = scratch / (std::string("without-") + missing);
    fs::copy(MOUNDWRIGHT_OPEN3D_RESOURCES, resources);
    fs::remove(resources / missing);
    setenv("MOUNDWRIGHT_OPEN3D_RESOURCES", resources.c_str(), 1);
    Process refused({MOUNDWRIGHT_COMMAND, "view", job.string()}, scratch / "told");
    EXPECT_EQ(refused.code(30s), 1);
    unsetenv("MOUNDWRIGHT_OPEN3D_RESOURCES");
    EXPECT_THAT(content(scratch / "told.err"), HasSubstr((resources / missing).string()));
    EXPECT_THAT(content(scratch / "told.err"), HasSubstr("open3d-gui-data"));
    EXPECT_THAT(content(scratch / "told.err"), HasSubstr("moundwright build"));
  }
}

TEST_F(Window, WithoutItsProgramSaysWhere) {
  const fs::path alone = scratch / "moundwright";
  fs::copy_file(MOUNDWRIGHT_COMMAND, alone);
  Process refused({alone.string(), "view", job.string()}, scratch / "told");
  EXPECT_EQ(refused.code(30s), 1);
  EXPECT_THAT(content(scratch / "told.err"), HasSubstr((scratch / "moundwright-view").string()));
}

TEST_F(Window, NoOtherCommandLoadsWhatDrawsIt) {
  EXPECT_THAT(output_of(std::string("ldd ") + MOUNDWRIGHT_COMMAND), testing::Not(HasSubstr("Open3D")));
}

TEST_F(Window, WithoutOpenGLSaysSo) {
  start_screen({"-extension", "GLX"});
  Process refused({MOUNDWRIGHT_COMMAND, "view", job.string()}, scratch / "told");
  EXPECT_EQ(refused.code(30s), 1);
  EXPECT_THAT(content(scratch / "told.err"), HasSubstr("OpenGL"));
}

}  // namespace
}  // namespace moundwright::viewer

#include "viewer/window_threads.h"

#include <sys/resource.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <system_error>
#include <vector>

namespace moundwright::viewer {
namespace {

namespace fs = std::filesystem;

// Nice values: 0 is the usual, 19 the humblest. Enough to be passed by, too little to stand still on a busy machine.
constexpr int drawing = 2, leisure = 10;

std::string name_of(const fs::path& task) {
  std::string name;
  std::getline(std::ifstream(task / "comm"), name);
  return name;
}

/// Threads of this process whose names begin so.
std::vector<id_t> threads_named(const std::string& beginning) {
  std::vector<id_t> found;
  std::error_code none;  // without /proc, or of a thread that has just ended
  for (fs::directory_iterator task("/proc/self/task", none), end; !none && task != end; task.increment(none)) {
    if (name_of(task->path()).rfind(beginning, 0) != 0) continue;
    found.push_back(static_cast<id_t>(std::atoi(task->path().filename().c_str())));
  }
  return found;
}

}  // namespace

void let_drawing_wait() {
  std::vector<id_t> threads = threads_named("llvmpipe-");  // Mesa's, which draws in software
  if (threads.empty()) return;
  for (const id_t thread : threads_named("FEngine::loop")) threads.push_back(thread);  // Filament's, which feeds it
  for (const id_t thread : threads) setpriority(PRIO_PROCESS, thread, drawing);
}

void work_at_leisure() { setpriority(PRIO_PROCESS, static_cast<id_t>(gettid()), leisure); }

}  // namespace moundwright::viewer

#include "viewer/refusals.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>

#include "viewer/report.h"

namespace moundwright {
namespace {

Refusal unprinted(int error) {
  return Refusal({Severity::error, fmt::format("what is printed cannot be written: {}", std::strerror(error)),
                  "standard output", "free some space, or print to another place"});
}

}  // namespace

bool wants_colour(int stream) { return isatty(stream) != 0 && std::getenv("NO_COLOR") == nullptr; }

void print(const std::string& text) {
  if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size()) throw unprinted(errno);
}

void flush_printed() {
  if (std::fflush(stdout) != 0) throw unprinted(errno);
}

void print_problems(const Problems& problems) {
  fmt::print(stderr, "{}", problems_text(problems, wants_colour(STDERR_FILENO)));
}

void print_refusal(const Refusal& refusal) {
  Problems problems;
  problems.all = refusal.problems();
  print_problems(problems);
}

}  // namespace moundwright

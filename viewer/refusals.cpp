#include "viewer/refusals.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cstdlib>

#include "viewer/report.h"

namespace moundwright {

bool wants_colour(int stream) { return isatty(stream) != 0 && std::getenv("NO_COLOR") == nullptr; }

void print_problems(const Problems& problems) {
  fmt::print(stderr, "{}", problems_text(problems, wants_colour(STDERR_FILENO)));
}

void print_refusal(const Refusal& refusal) {
  Problems problems;
  problems.all = refusal.problems();
  print_problems(problems);
}

}  // namespace moundwright

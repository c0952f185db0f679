#include "viewer/refusals.h"

#include <fmt/format.h>
#include <sys/resource.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <exception>
#include <string_view>

#include "viewer/report.h"
#include "viewer/terminal.h"

namespace moundwright::viewer {
namespace {

Refusal unprinted(int error) {
  return Refusal({Severity::error, fmt::format("what is printed cannot be written: {}", std::strerror(error)),
                  "standard output", "free some space, or print to another place"});
}

/// Whether what is written there (STDOUT_FILENO, STDERR_FILENO) may be coloured.
bool wants_colour(int stream) { return isatty(stream) != 0 && std::getenv("NO_COLOR") == nullptr; }

std::string shown(const std::string& text, int stream) { return wants_colour(stream) ? coloured(text) : visible(text); }

/// Out of a library that gives up by itself, as those for letters and pictures do without memory. May only do what a
/// signal handler may.
extern "C" void tell_abort(int) {
  constexpr std::string_view text =
      "error: a library gave up, most likely for want of memory; the files are as they were\n"
      "    Close other programs, or raise the limit on memory (ulimit -v unlimited) and run again.\n";
  if (::write(STDERR_FILENO, text.data(), text.size()) < 0) ::_exit(exit_refused);
  ::_exit(exit_refused);
}

[[noreturn]] void tell_terminate() {
  try {
    if (std::current_exception()) print_refusal(io::caught_refusal());
  } catch (...) {
    std::abort();
  }
  std::abort();
}

}  // namespace

void print(const std::string& text) {
  const std::string all = shown(text, STDOUT_FILENO);
  if (std::fwrite(all.data(), 1, all.size(), stdout) != all.size()) throw unprinted(errno);
}

void flush_printed() {
  if (std::fflush(stdout) != 0) throw unprinted(errno);
}

void print_aside(const std::string& text) { fmt::print(stderr, "{}", shown(text, STDERR_FILENO)); }

void print_problems(const Problems& problems) { print_aside(problems_text(problems)); }

void print_refusal(const Refusal& refusal) {
  Problems problems;
  problems.all = refusal.problems();
  print_problems(problems);
}

std::optional<std::size_t> memory_limit() {
  rlimit limit{};
  if (::getrlimit(RLIMIT_AS, &limit) != 0 || limit.rlim_cur == RLIM_INFINITY) return std::nullopt;
  return limit.rlim_cur;
}

void tell_sudden_ends() {
  std::set_terminate(tell_terminate);
  for (const int signal : {SIGABRT, SIGTRAP}) std::signal(signal, tell_abort);
  // Where memory is held short, so does a library that uses what it was not given.
  if (memory_limit()) std::signal(SIGSEGV, tell_abort);
}

}  // namespace moundwright::viewer

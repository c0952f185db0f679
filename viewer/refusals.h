// How what a command has to say, and what it refuses, reach the person who typed it. All that is printed goes through
// here, and so through `visible` (viewer/terminal.h).
#pragma once

#include <cstddef>
#include <optional>
#include <string>

#include "io/caught.h"
#include "viewer/commands.h"

namespace moundwright::viewer {

/// To standard output. Throws Refusal where that cannot take it, as `flush_printed` does for what is on its way there.
void print(const std::string& text);
void flush_printed();

/// To standard error.
void print_aside(const std::string& text);
void print_problems(const Problems& problems);
void print_refusal(const Refusal& refusal);

/// Bytes that this process may map, where that is limited (ulimit -v).
std::optional<std::size_t> memory_limit();

/// For what no `catch` sees, in a library's own thread or by its own hand: one clear error and exit code 1 there too.
void tell_sudden_ends();

/// Runs a command's body; whatever is thrown is printed and becomes its exit code.
template <class Body>
int guarded(const Body& body) {
  try {
    const int code = body();
    flush_printed();
    return code;
  } catch (...) {
    print_refusal(io::caught_refusal());
    return exit_refused;
  }
}

}  // namespace moundwright::viewer

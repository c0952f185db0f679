// How a refusal reaches the person who typed a command.
#pragma once

#include <string>

#include "geom/problem.h"
#include "viewer/commands.h"

namespace moundwright {

/// Whether what is written there (STDOUT_FILENO, STDERR_FILENO) may be coloured.
bool wants_colour(int stream);

/// To standard output. Throws Refusal where that cannot take it, as `flush_printed` does for what is on its way there.
void print(const std::string& text);
void flush_printed();

/// To standard error.
void print_problems(const Problems& problems);
void print_refusal(const Refusal& refusal);

/// Runs a command's body; a refusal is printed and becomes its exit code.
template <class Body>
int guarded(const Body& body) {
  try {
    const int code = body();
    flush_printed();
    return code;
  } catch (const Refusal& refusal) {
    print_refusal(refusal);
    return exit_refused;
  }
}

}  // namespace moundwright

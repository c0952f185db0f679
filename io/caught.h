// Whatever was thrown, as a Refusal: the last word of every command, thread and button, so that none ends in an abort.
//
//   try {
//     ...
//   } catch (...) {
//     print_refusal(caught_refusal());
//   }
#pragma once

#include "geom/problem.h"

namespace moundwright::io {

/// The exception that is being handled. A Refusal stays as it is; memory, disk and threads that are not to be had are
/// told in plain words; anything else is told as a fault of the program.
Refusal caught_refusal();

}  // namespace moundwright::io

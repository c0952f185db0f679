// The program of the 3D window, which `moundwright view JOB` starts: a program of its own, so that no other command
// loads the libraries that draw.
#include "viewer/refusals.h"
#include "viewer/window.h"

int main(int argc, char** argv) {
  moundwright::viewer::tell_sudden_ends();
  if (argc != 2) {
    moundwright::viewer::print_aside("usage: moundwright view JOB\n");
    return moundwright::viewer::exit_usage;
  }
  return moundwright::viewer::guarded([&]() -> int {
    moundwright::viewer::show_window(argv[1]);
    return moundwright::viewer::exit_done;
  });
}

// Which files shots were read from, as messages call them.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace moundwright {

struct ShotsOfFile {
  std::size_t first = 0;  // of its shots; those up to the next file's first are its
  std::string name;
};
using ShotFiles = std::vector<ShotsOfFile>;  // in the order of the shots; empty where they have no names

}  // namespace moundwright

// What the build generates behind embedded_file(): one entry a file.
#pragma once

#include <cstddef>

namespace moundwright::io {

struct EmbeddedFile {
  const char* name;  // without folders
  const char* begin;
  const char* end;
};

extern const EmbeddedFile embedded_files[];
extern const std::size_t embedded_file_count;

}  // namespace moundwright::io

#include "io/embedded_file.h"

#include <algorithm>
#include <stdexcept>
#include <string>

#include "io/embedded_table.h"

namespace moundwright::io {

std::string_view embedded_file(std::string_view name) {
  const EmbeddedFile* const end = embedded_files + embedded_file_count;
  const EmbeddedFile* const file =
      std::find_if(embedded_files, end, [&](const EmbeddedFile& f) { return name == f.name; });
  if (file == end) throw std::out_of_range("no file is embedded as " + std::string(name));
  return {file->begin, static_cast<std::size_t>(file->end - file->begin)};
}

}  // namespace moundwright::io

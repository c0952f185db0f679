// Files that were put into the program when it was built: see embed_files() in io/CMakeLists.txt.
#pragma once

#include <string_view>

namespace moundwright::io {

/// The bytes of an embedded file by its name without folders, "field.css". Throws std::out_of_range if there is none.
std::string_view embedded_file(std::string_view name);

}  // namespace moundwright::io

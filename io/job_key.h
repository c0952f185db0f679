// Dotted keys of the job file; see job_toml.h.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "geom/dotted_key.h"

namespace moundwright::io {

/// The names in a dotted key, without their quotes. Empty if the key is not well formed.
std::vector<std::string> split_key(std::string_view key);

}  // namespace moundwright::io

// Dotted keys of the job file; see job_toml.h.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace moundwright {

/// `path` with one more name behind it, quoted if need be.
std::string joined_key(std::string_view path, std::string_view name);

/// The names in a dotted key, without their quotes. Empty if the key is not well formed.
std::vector<std::string> split_key(std::string_view key);

/// A name as it stands in a dotted key or in TOML: bare if it may be, else quoted.
std::string quoted_name(std::string_view name);

}  // namespace moundwright

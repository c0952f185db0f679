// Dotted keys: how a problem names a part of the design, and how the job file names the same part.
//
//   joined_key(joined_key("layer", "top soil"), "beyond")    // layer."top soil".beyond
#pragma once

#include <string>
#include <string_view>

namespace moundwright {

/// `path` with one more name behind it, quoted if need be.
std::string joined_key(std::string_view path, std::string_view name);

/// A name as it stands in a dotted key or in TOML: bare if it is letters, digits, - and _ only, else quoted.
std::string quoted_name(std::string_view name);

}  // namespace moundwright

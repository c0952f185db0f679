// One field of a CSV text as RFC 4180 wants it.
#pragma once

#include <string>
#include <string_view>

namespace moundwright {

/// Quoted where it holds a comma, a quote or a line break, or begins or ends with a blank.
inline std::string csv_quoted(std::string_view text) {
  const bool edge_blank = !text.empty() && (text.front() == ' ' || text.back() == ' ');
  if (!edge_blank && text.find_first_of(",\"\r\n") == std::string_view::npos) return std::string(text);
  std::string quoted = "\"";
  for (const char c : text) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + '"';
}

}  // namespace moundwright

#include "io/csv_write.h"

#include <charconv>
#include <cmath>

namespace moundwright::io {
namespace {

constexpr char guard = '\'';

bool is_plain_number(std::string_view text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  double value = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
  return fault == std::errc{} && end == text.data() + text.size() && std::isfinite(value);
}

/// What a spreadsheet would run. Guards before it count as nothing, so that a guard of the text's own gets one more.
bool would_run(std::string_view text) {
  while (text.starts_with(guard)) text.remove_prefix(1);
  const std::size_t first = text.find_first_not_of(' ');
  if (first == std::string_view::npos) return false;
  constexpr std::string_view begins_formula = "=+-@\t\r";
  return begins_formula.find(text[first]) != std::string_view::npos && !is_plain_number(text);
}

}  // namespace

std::string csv_field(std::string_view text) {
  const bool guarded = would_run(text);
  const bool edge_blank = !text.empty() && (text.front() == ' ' || text.back() == ' ');
  if (!edge_blank && text.find_first_of(",\"\r\n") == std::string_view::npos) {
    return guarded ? guard + std::string(text) : std::string(text);
  }
  std::string quoted = "\"";
  if (guarded) quoted += guard;
  for (const char c : text) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + '"';
}

std::string_view without_guard(std::string_view field) {
  if (field.starts_with(guard) && would_run(field)) field.remove_prefix(1);
  return field;
}

}  // namespace moundwright::io

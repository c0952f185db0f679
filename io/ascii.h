// The few things readers do to plain text, without the locale.
#pragma once

#include <algorithm>
#include <cstddef>
#include <string_view>

namespace moundwright::io {

inline char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }
inline char upper(char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c; }
inline bool is_digit(char c) { return c >= '0' && c <= '9'; }
inline bool is_letter(char c) { return lower(c) >= 'a' && lower(c) <= 'z'; }
inline bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }

inline std::string_view trimmed(std::string_view text) {
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_blank(text.back())) text.remove_suffix(1);
  return text;
}

/// Of UTF-8: every byte but those that carry a letter on.
inline std::size_t letters_in(std::string_view text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80; }));
}

inline bool same_letters(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](char p, char q) { return lower(p) == lower(q); });
}

/// The first word of `text`, which is cut down to what follows it.
inline std::string_view take_word(std::string_view& text) {
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
  std::size_t end = 0;
  while (end < text.size() && !is_blank(text[end])) ++end;
  const std::string_view word = text.substr(0, end);
  text.remove_prefix(end);
  return word;
}

}  // namespace moundwright::io

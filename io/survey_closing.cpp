#include "io/survey_closing.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <string>
#include <string_view>

#include "io/ascii.h"
#include "io/survey_columns.h"

namespace moundwright::io {
namespace {

/// All fields in lower case, a blank after each.
std::string text_of(const SurveyRecord& record) {
  std::string text;
  for (const std::string& field : record.fields) {
    for (const char c : field) text += lower(c);
    text += ' ';
  }
  return text;
}

bool has_word(std::string_view text, std::string_view word) {
  for (std::size_t at = text.find(word); at != std::string_view::npos; at = text.find(word, at + 1)) {
    const bool begins = at == 0 || !is_letter(text[at - 1]);
    const bool ends = at + word.size() == text.size() || !is_letter(text[at + word.size()]);
    if (begins && ends) return true;
  }
  return false;
}

}  // namespace

bool is_closing_line(const SurveyRecord& record) {
  constexpr std::array<std::string_view, 13> words = {"total", "end",     "eof",      "count",     "points",
                                                      "shots", "records", "exported", "generated", "printed",
                                                      "page",  "pages",   "finished"};
  const std::string text = text_of(record);
  const auto is_rule = [](char c) { return std::string_view("-=_*. ").find(c) != std::string_view::npos; };
  return std::all_of(text.begin(), text.end(), is_rule) ||
         std::any_of(words.begin(), words.end(), [&](std::string_view word) { return has_word(text, word); });
}

std::optional<std::size_t> points_counted(const SurveyRecord& record) {
  const std::string text = text_of(record);
  const std::size_t first = text.find_first_of("0123456789"), last = text.find_last_of("0123456789");
  if (first == std::string::npos || !(has_word(text, "points") || has_word(text, "shots"))) return std::nullopt;
  std::size_t count = 0;
  const auto [end, error] = std::from_chars(text.data() + first, text.data() + last + 1, count);
  return error == std::errc() && end == text.data() + last + 1 ? std::optional(count) : std::nullopt;
}

bool is_line_of_units(const SurveyRecord& record) {
  return std::all_of(record.fields.begin(), record.fields.end(), [](std::string_view field) {
    if (field.find_first_not_of("-=_:()[]") == std::string_view::npos) return true;
    return lone_unit(field).has_value();
  });
}

}  // namespace moundwright::io

#include "io/line_words.h"

#include <algorithm>
#include <array>

#include "io/ascii.h"

namespace moundwright::io {
namespace {

constexpr std::array usual_begin = {"B", "BEG", "BEGIN", "ST", "START"};
constexpr std::array usual_end = {"E", "EN", "END", "STOP"};
constexpr std::array usual_close = {"CL", "CLS", "CLOSE"};

bool is_word_letter(char c) { return is_letter(c) || is_digit(c) || static_cast<unsigned char>(c) >= 0x80; }
bool is_separator(char c) { return std::string_view("-_/").find(c) != std::string_view::npos; }
bool is_pause(char c) { return is_blank(c) || std::string_view(",;:(").find(c) != std::string_view::npos; }

/// What follows the code; nullopt where the description begins otherwise. A run of blanks matches any other.
std::optional<std::string_view> behind_letters(std::string_view description, std::string_view code) {
  description = trimmed(description), code = trimmed(code);
  if (code.empty()) return std::nullopt;
  while (!code.empty()) {
    if (description.empty() || is_blank(description.front()) != is_blank(code.front())) return std::nullopt;
    if (is_blank(code.front())) {
      description = trimmed(description), code = trimmed(code);
      continue;
    }
    if (lower(description.front()) != lower(code.front())) return std::nullopt;
    description.remove_prefix(1), code.remove_prefix(1);
  }
  return description;
}

/// True if anything was passed over.
bool pass_gap(std::string_view& text) {
  const std::size_t before = text.size();
  while (!text.empty() && is_pause(text.front())) text.remove_prefix(1);
  if (!text.empty() && is_separator(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
  return text.size() < before;
}

std::string_view word_at(std::string_view text) {
  std::size_t end = 0;
  while (end < text.size() && is_word_letter(text[end])) ++end;
  return text.substr(0, end);
}

/// A word of a job that begins with a sign, such as "+" or "-", may stand right behind the code: TOB+.
bool take_sign(std::string_view& text, const LineVocabulary& words, LinePlace& place) {
  std::string_view rest = text;
  const std::string_view word = take_word(rest);
  if (word.empty() || is_word_letter(word.front())) return false;
  const LineVocabulary::Meaning meaning = words.meaning_of(word);
  if (!meaning.is_given) return false;
  place.mark = meaning.mark, place.word = word, place.word_is_given = true;
  text = rest;
  return true;
}

/// TOB.B, TOB.2: a point stands before a word or a number of a line, and nothing else is with it.
bool pass_point(std::string_view& text, const LineVocabulary& words, bool number_counts) {
  if (!text.starts_with('.')) return false;
  const std::string_view word = word_at(text.substr(1));
  const std::string_view behind = text.substr(1 + word.size());
  if (word.empty() || !(behind.empty() || is_pause(behind.front()) || is_separator(behind.front()))) return false;
  const bool is_number = std::all_of(word.begin(), word.end(), is_digit);
  if (is_number && (!number_counts || !behind.empty())) return false;
  if (!is_number && words.meaning_of(word).mark == LineMark::none) return false;
  text.remove_prefix(1);
  return true;
}

/// A word of a job may have other signs than letters in it, such as "<": then it stands alone between blanks.
bool take_mark(std::string_view& text, const LineVocabulary& words, LinePlace& place) {
  std::string_view rest = text;
  for (const std::string_view word : {take_word(rest), word_at(text)}) {
    const LineVocabulary::Meaning meaning = words.meaning_of(word);
    if (meaning.mark == LineMark::none) continue;
    place.mark = meaning.mark, place.word = word, place.word_is_given = meaning.is_given;
    text.remove_prefix(word.size());
    return true;
  }
  return false;
}

/// The number of a line is whole and stands by itself, or has a mark right behind it: 12.5, 12' and 6in are remarks.
bool take_number(std::string_view& text, const LineVocabulary& words, LinePlace& place) {
  std::size_t end = 0;
  while (end < text.size() && is_digit(text[end])) ++end;
  if (end == 0) return false;
  const std::string_view behind = text.substr(end);
  const bool stands_alone =
      behind.empty() || is_blank(behind.front()) ||
      ((is_pause(behind.front()) || is_separator(behind.front())) && (behind.size() == 1 || !is_digit(behind[1])));
  LinePlace sign;
  std::string_view signed_behind = behind;
  std::string_view pointed_behind = behind;
  if (!stands_alone && words.meaning_of(word_at(behind)).mark == LineMark::none &&
      !take_sign(signed_behind, words, sign) && !pass_point(pointed_behind, words, false))
    return false;
  std::string_view digits = text.substr(0, end);
  while (digits.size() > 1 && digits.front() == '0') digits.remove_prefix(1);
  place.number = digits;
  text = behind;
  return true;
}

/// "EP E 2": a number behind the word, with nothing more behind it.
void take_last_number(std::string_view text, const LineVocabulary& words, LinePlace& place) {
  LinePlace last;
  pass_gap(text);
  if (take_number(text, words, last) && trimmed(text).empty()) place.number = last.number;
}

bool is_mark_alone(std::string_view text, const LineVocabulary& words) {
  const std::string_view word = word_at(text);
  const std::string_view behind = text.substr(word.size());
  return (behind.empty() || is_pause(behind.front())) && words.meaning_of(word).mark != LineMark::none;
}

}  // namespace

LineVocabulary::LineVocabulary(const LineWords& given) {
  const auto add_given = [&](const std::optional<std::vector<std::string>>& words, LineMark mark) {
    if (!words) return;
    for (const std::string& word : *words) entries_.push_back({std::string(trimmed(word)), {mark, true}});
  };
  const auto add_usual = [&](const auto& usual, const std::optional<std::vector<std::string>>& words, LineMark mark) {
    if (words) return;
    for (const char* word : usual) entries_.push_back({word, {mark, false}});
  };
  add_given(given.begin, LineMark::begin);
  add_given(given.end, LineMark::end);
  add_given(given.close, LineMark::close);
  add_usual(usual_begin, given.begin, LineMark::begin);
  add_usual(usual_end, given.end, LineMark::end);
  add_usual(usual_close, given.close, LineMark::close);
}

LineVocabulary::Meaning LineVocabulary::meaning_of(std::string_view word) const {
  if (word.empty()) return {};
  for (const Entry& entry : entries_) {
    if (same_letters(entry.word, word)) return entry.meaning;
  }
  return {};
}

bool has_misplaced_word(std::string_view description, std::string_view code, const LineVocabulary& words) {
  if (const auto rest = behind_letters(description, code)) {
    return !rest->empty() && is_letter(rest->front()) && is_mark_alone(*rest, words);
  }
  std::string_view rest = description;
  const std::string_view first = take_word(rest);
  return words.meaning_of(first).mark != LineMark::none && place_on_line(rest, code, words).has_value();
}

std::optional<LinePlace> place_on_line(std::string_view description, std::string_view code,
                                       const LineVocabulary& words) {
  std::optional<std::string_view> rest = behind_letters(description, code);
  if (!rest) return std::nullopt;
  LinePlace place;
  const bool may_be_remark = rest->empty() || is_pause(rest->front());
  if (take_sign(*rest, words, place)) return place;
  bool apart = pass_point(*rest, words, true) || pass_gap(*rest);
  if (take_number(*rest, words, place)) {
    if (take_sign(*rest, words, place)) return place;
    if (!pass_point(*rest, words, false)) pass_gap(*rest);
    apart = true;
  }
  if (apart && take_mark(*rest, words, place) && place.number.empty()) take_last_number(*rest, words, place);
  const bool says_something = !place.number.empty() || place.mark != LineMark::none;
  return may_be_remark || says_something ? std::optional(place) : std::nullopt;
}

}  // namespace moundwright::io

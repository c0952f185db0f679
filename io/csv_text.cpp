#include "io/csv_text.h"

#include <algorithm>
#include <array>

#include "io/ascii.h"
#include "io/csv_write.h"
#include "io/plain_text.h"

namespace moundwright::io {
namespace {

constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
constexpr std::size_t blank = separators.size() - 1;  // told apart only by reading, since words have blanks too

bool all_empty(const std::vector<CsvField>& fields) {
  return std::all_of(fields.begin(), fields.end(), [](const CsvField& field) { return field.text.empty(); });
}

std::string_view without_marks(std::string_view text) {
  if (text.starts_with(byte_order_mark)) text.remove_prefix(byte_order_mark.size());
  while (!text.empty() && text.back() == '\x1A') text.remove_suffix(1);
  return text;
}

/// A first line such as sep=; without its end; empty if there is none.
std::string_view separator_line(std::string_view text) {
  const std::string_view line = text.substr(0, text.find_first_of("\r\n"));
  std::string_view said = line;
  if (said.starts_with('"')) said.remove_prefix(1);
  return said.size() > 4 && same_letters(said.substr(0, 4), "sep=") ? line : std::string_view();
}

/// The text from its first line on that is neither blank nor a comment.
std::string_view from_first_record(std::string_view text) {
  text = without_marks(text);
  text.remove_prefix(separator_line(text).size());
  while (!text.empty()) {
    const std::size_t end = std::min(text.find_first_of("\r\n"), text.size());
    const std::string_view line = trimmed(text.substr(0, end));
    if (!line.empty() && line.front() != '#') break;
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return text;
}

}  // namespace

std::optional<char> declared_separator(std::string_view text) {
  const std::string_view line = separator_line(without_marks(text));
  if (line.empty()) return std::nullopt;
  const char said = line[line.find('=') + 1];
  constexpr std::string_view of_fields = ".+-'\"#";
  const bool fits = said > 0 && !is_letter(said) && !is_digit(said) && of_fields.find(said) == std::string_view::npos;
  return fits ? std::optional(said) : std::nullopt;
}

char detect_separator(std::string_view text) {
  if (const auto declared = declared_separator(text)) return *declared;
  std::array<int, separators.size()> count{};
  bool quoted = false;
  for (const char c : from_first_record(text)) {
    if (c == '"') quoted = !quoted;
    if (quoted) continue;
    if (c == '\n' || c == '\r') break;
    const std::size_t which = separators.find(c);
    if (which < blank) ++count[which];
  }
  const auto most = std::max_element(count.begin(), count.end());
  return *most > 0 ? separators[static_cast<std::size_t>(most - count.begin())] : ',';
}

CsvReader::CsvReader(std::string_view text, char separator) : text_(without_marks(text)), separator_(separator) {
  for (const char c : {separator, separator == ' ' ? '\t' : separator, '\n', '\r'}) {
    ends_field_[static_cast<unsigned char>(c)] = true;
  }
  place_ = separator_line(text_).size();
}

bool CsvReader::next(std::vector<CsvField>& fields) {
  while (!at_end()) {
    if (at_comment()) {
      pass_line();
      continue;
    }
    read_record(fields);
    if (!all_empty(fields)) return true;
  }
  return false;
}

void CsvReader::pass_line_end() {
  if (at_end()) return;
  if (text_[place_] == '\r' && place_ + 1 < text_.size() && text_[place_ + 1] == '\n') ++place_;
  ++place_;
  ++line_;
}

void CsvReader::pass_line() {
  while (!at_line_end()) ++place_;
  pass_line_end();
}

bool CsvReader::at_comment() const {
  std::size_t place = place_;
  while (place < text_.size() && text_[place] == ' ') ++place;
  return place < text_.size() && text_[place] == '#';
}

void CsvReader::read_record(std::vector<CsvField>& fields) {
  fields.clear();
  unquoted_.clear();
  if (is_framed_) pass_blanks();
  if (is_framed_ && !at_end() && text_[place_] == separator_) ++place_;
  for (;;) {
    fields.push_back(fields.size() < rest_from_ ? read_field() : read_rest());
    if (at_line_end()) break;
    pass_separator();
    if (separator_ == ' ' && at_line_end()) break;  // blanks at the end of a line
  }
  pass_line_end();
}

void CsvReader::pass_blanks() {
  while (!at_end() && (text_[place_] == ' ' || (separator_ == ' ' && text_[place_] == '\t'))) ++place_;
}

void CsvReader::pass_separator() {
  if (separator_ == ' ') {
    pass_blanks();
  } else {
    ++place_;
  }
}

CsvField CsvReader::read_field() {
  pass_blanks();
  if (!at_end() && text_[place_] == '"') return read_quoted();
  const std::size_t begin = place_;
  pass_text();
  return {without_guard(trimmed(text_.substr(begin, place_ - begin))), line_};
}

CsvField CsvReader::read_rest() {
  if (!at_end() && text_[place_] == '"') return read_quoted();
  const std::size_t begin = place_;
  while (!at_line_end()) ++place_;
  return {without_guard(trimmed(text_.substr(begin, place_ - begin))), line_};
}

CsvField CsvReader::read_quoted() {
  CsvField field{{}, line_};
  const std::size_t begin = ++place_;
  bool doubled = false;
  for (;; ++place_) {
    if (at_end()) {
      faults_.push_back({field.line, "a quote is opened here and never closed",
                         "Close it, or double a quote that belongs to the text."});
      break;
    }
    if (text_[place_] == '"') {
      if (place_ + 1 == text_.size() || text_[place_ + 1] != '"') break;
      doubled = true;
      ++place_;
    } else if (at_line_end()) {
      pass_line_end();
      --place_;  // the loop steps on
    }
  }
  field.text = text_.substr(begin, place_ - begin);
  if (doubled) {
    std::string& plain = unquoted_.emplace_back();
    for (std::size_t i = 0; i < field.text.size(); ++i) {
      plain += field.text[i];
      if (field.text[i] == '"') ++i;  // the second of a pair
    }
    field.text = plain;
  }
  field.text = without_guard(field.text);
  if (!at_end()) ++place_;  // the closing quote
  const std::size_t behind = place_;
  pass_text();
  const std::string_view rest = trimmed(text_.substr(behind, place_ - behind));
  if (!rest.empty()) {
    faults_.push_back({line_, "text follows a closing quote: " + excerpt(rest),
                       "Quote the whole field, and double a quote that belongs to the text."});
  }
  return field;
}

}  // namespace moundwright::io

#include "io/csv_text.h"

#include <algorithm>

#include "io/ascii.h"

namespace moundwright {
namespace {

constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

bool all_empty(const std::vector<CsvField>& fields) {
  return std::all_of(fields.begin(), fields.end(), [](const CsvField& field) { return field.text.empty(); });
}

std::string_view without_mark(std::string_view text) {
  if (text.starts_with(byte_order_mark)) text.remove_prefix(byte_order_mark.size());
  return text;
}

/// The text from its first line on that is neither blank nor a comment.
std::string_view from_first_record(std::string_view text) {
  text = without_mark(text);
  while (!text.empty()) {
    const std::size_t end = std::min(text.find_first_of("\r\n"), text.size());
    const std::string_view line = trimmed(text.substr(0, end));
    if (!line.empty() && line.front() != '#') break;
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return text;
}

}  // namespace

char detect_separator(std::string_view text) {
  int commas = 0, semicolons = 0, tabs = 0;
  bool quoted = false;
  for (const char c : from_first_record(text)) {
    if (c == '"') quoted = !quoted;
    if (quoted) continue;
    if (c == '\n' || c == '\r') break;
    commas += c == ',', semicolons += c == ';', tabs += c == '\t';
  }
  if (tabs > 0 && tabs >= semicolons && tabs >= commas) return '\t';
  return semicolons > 0 && semicolons >= commas ? ';' : ',';
}

CsvReader::CsvReader(std::string_view text, char separator) : text_(without_mark(text)), separator_(separator) {}

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
  for (;;) {
    fields.push_back(read_field());
    if (at_line_end()) break;
    ++place_;  // the separator
  }
  pass_line_end();
}

CsvField CsvReader::read_field() {
  while (!at_end() && text_[place_] == ' ') ++place_;
  if (!at_end() && text_[place_] == '"') return read_quoted();
  const std::size_t begin = place_;
  while (!at_line_end() && text_[place_] != separator_) ++place_;
  return {trimmed(text_.substr(begin, place_ - begin)), line_};
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
  if (!at_end()) ++place_;  // the closing quote
  const std::size_t behind = place_;
  while (!at_line_end() && text_[place_] != separator_) ++place_;
  const std::string_view rest = trimmed(text_.substr(behind, place_ - behind));
  if (!rest.empty()) {
    faults_.push_back({line_, "text follows a closing quote: " + std::string(rest.substr(0, 40)),
                       "Quote the whole field, and double a quote that belongs to the text."});
  }
  return field;
}

}  // namespace moundwright

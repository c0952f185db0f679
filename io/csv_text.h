// Records and fields of a CSV text (RFC 4180, and what data collectors and spreadsheets make of it).
//
//   CsvReader reader(text, detect_separator(text));
//   std::vector<CsvField> fields;
//   while (reader.next(fields)) { ... fields[2].text, fields[2].line ... }
//   for (const CsvFault& fault : reader.faults()) { ... }
//
// Understood: quoted fields with doubled quotes, separators and line breaks inside; comma, semicolon, tab, bar or
// blanks between fields; lines ended by LF, CRLF or CR; a byte order mark. Passed over: blank lines, lines of
// separators only, lines whose first mark is #, a first line such as "sep=;" (which says what the separator is), and
// the Ctrl-Z that old programs end a text with. A quote inside a field that does not start with one is an inch mark and
// stays. The apostrophe that keeps a spreadsheet from running a field (csv_write.h) is taken off.
#pragma once

#include <array>
#include <cstddef>
#include <deque>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace moundwright::io {

struct CsvField {
  std::string_view text;  // without its quotes; blanks round an unquoted field are taken off
  int line = 0;           // that it begins on, from 1
};

struct CsvFault {
  int line = 0;
  std::string what;
  std::string what_to_do;
};

/// What may stand between fields. The blank is for any run of blanks and tabs.
inline constexpr char separator_letters[] = "\t;|, ";  // one array in all sources, as no literal need be
inline constexpr std::string_view separators = separator_letters;

/// What a first line "sep=;" says; nullopt where there is none, or it names no separator.
std::optional<char> declared_separator(std::string_view text);

/// What the first line says; else tab, semicolon, bar or comma: whichever the first record has most of, outside quotes;
/// on a tie in that order, as a comma may then be a decimal one.
char detect_separator(std::string_view text);

class CsvReader {
 public:
  /// `text` must outlive the reader and its fields.
  CsvReader(std::string_view text, char separator);

  /// From here on this field, counted from 0, takes all the rest of its line: words that have blanks between them as
  /// fields have.
  void take_rest_as(std::size_t field) { rest_from_ = field; }

  /// From here on a separator that stands first in a line is passed over: the frame of a table, "| 101 | 8019.30 |".
  void pass_leading_separators() { is_framed_ = true; }

  /// The next record that is not blank or a comment; false at the end. Fields hold until the next call.
  bool next(std::vector<CsvField>& fields);

  /// Quotes left open, and text behind a closing quote. Reading goes on as well as it can.
  const std::vector<CsvFault>& faults() const { return faults_; }

 private:
  bool at_end() const { return place_ == text_.size(); }
  bool at_line_end() const { return at_end() || text_[place_] == '\n' || text_[place_] == '\r'; }
  /// To the separator or the end of the line.
  void pass_text() {
    while (place_ < text_.size() && !ends_field_[static_cast<unsigned char>(text_[place_])]) ++place_;
  }
  void pass_line_end();
  void pass_line();
  bool at_comment() const;
  void read_record(std::vector<CsvField>& fields);
  void pass_blanks();
  void pass_separator();
  CsvField read_field();
  CsvField read_rest();
  CsvField read_quoted();

  std::string_view text_;
  char separator_;
  std::array<bool, 256> ends_field_{};  // by byte: separators and ends of line
  std::size_t place_ = 0;
  int line_ = 1;
  bool is_framed_ = false;
  std::size_t rest_from_ = static_cast<std::size_t>(-1);
  std::deque<std::string> unquoted_;  // fields of this record that had doubled quotes
  std::vector<CsvFault> faults_;
};

}  // namespace moundwright::io

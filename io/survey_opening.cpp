#include "io/survey_opening.h"

#include <algorithm>
#include <bitset>

#include "io/ascii.h"
#include "io/field_number.h"
#include "io/survey_columns.h"

namespace moundwright::io {
namespace {

constexpr std::size_t most_first = 20;       // records that are looked at
constexpr std::size_t most_bytes = 1 << 16;  // of them
constexpr std::size_t least_fields = 3;      // of a shot: northing, easting, elevation

using Named = std::bitset<column_count>;

Named named_by(const SurveyRecord& record) {
  Named named;
  for (const std::optional<Column>& column : columns_of(record.fields)) {
    if (column) named.set(*column);
  }
  return named;
}

bool names_a_place(const Named& named) { return named[northing] && named[easting] && named[elevation]; }

std::vector<SurveyRecord> first_records(CsvReader reader, std::size_t count) {
  std::vector<SurveyRecord> records;
  std::vector<CsvField> fields;
  while (records.size() < count && reader.next(fields)) records.push_back(record_of(fields));
  return records;
}

/// A table drawn with bars has one at both ends of every line.
bool is_framed(const std::vector<SurveyRecord>& records) {
  const auto has_frame = [](const SurveyRecord& record) {
    return record.fields.size() > least_fields + 1 && record.fields.front().empty() && record.fields.back().empty();
  };
  const auto framed = static_cast<std::size_t>(std::count_if(records.begin(), records.end(), has_frame));
  return framed > 0 && framed == static_cast<std::size_t>(std::count_if(
                                     records.begin(), records.end(),
                                     [](const SurveyRecord& record) { return record.fields.size() > 1; }));
}

struct ShotsFound {
  std::ptrdiff_t shots = 0;
  std::size_t first_field = 0;  // its length in the first of them
};

/// Whether blanks may stand between the fields: what comes before the code holds other separators in numbers only.
bool may_be_by_blanks(const SurveyRecord& record) {
  const auto end = record.fields.begin() + std::min<std::ptrdiff_t>(std::ssize(record.fields), 1 + least_fields);
  return std::all_of(record.fields.begin(), end, [](const std::string& field) {
    return field.find_first_of(",;|") == std::string::npos || comma_use(field) != CommaUse::not_a_number;
  });
}

ShotsFound found_with(char separator, std::string_view text) {
  ShotsFound found;
  for (const SurveyRecord& record : first_records(CsvReader(text.substr(0, most_bytes), separator), most_first)) {
    if (count_numbers(record.fields) < least_fields) continue;
    if (separator == ' ' && !may_be_by_blanks(record)) continue;
    if (found.shots++ == 0) found.first_field = record.fields.front().size();
  }
  return found;
}

char separator_of(std::string_view text) {
  if (const auto declared = declared_separator(text)) return *declared;
  char best = detect_separator(text);
  ShotsFound most, with_tabs;
  for (const char separator : separators) {
    const ShotsFound found = found_with(separator, text);
    if (separator == '\t') with_tabs = found;
    // Blanks take tabs for blanks, too: where names have some in them, they find more numbers than there are.
    if (separator == ' ' && found.shots <= 10 * with_tabs.shots) continue;
    // Numbers and codes may have other separators in them, but the first that stands in a line is that of its fields:
    // "1 5,120.00 4,890.00", "1,5000,4890,100,2;3;4".
    const bool is_better =
        found.shots > most.shots || (found.shots == most.shots && found.first_field < most.first_field);
    if (is_better) most = found, best = separator;
  }
  return best;
}

/// A header that someone put behind a # to keep it out of the way of other programs.
std::optional<SurveyRecord> header_in_comments(std::string_view text, char separator) {
  for (int line = 1; !text.empty(); ++line) {
    const std::size_t end = std::min(text.find_first_of("\r\n"), text.size());
    std::string_view words = trimmed(text.substr(0, end));
    text.remove_prefix(text.substr(end).starts_with("\r\n") ? end + 2 : std::min(end + 1, text.size()));
    if (words.empty()) continue;
    if (words.front() != '#') break;
    words.remove_prefix(1);
    std::vector<SurveyRecord> records = first_records(CsvReader(words, separator), 1);
    if (records.empty() || !names_a_place(named_by(records.front()))) continue;
    SurveyRecord& header = records.front();
    if (header.fields.front().empty()) header.fields.front() = "number";  // the # itself headed the column
    header.line = line;
    return header;
  }
  return std::nullopt;
}

/// Those of the first records that stand before any with two numbers.
std::vector<SurveyRecord> before_shots(std::vector<SurveyRecord> records) {
  const auto shot = std::find_if(records.begin(), records.end(),
                                 [](const SurveyRecord& record) { return count_numbers(record.fields) >= 2; });
  records.erase(shot, records.end());
  return records;
}

/// Which of the records is the header; their number if none is.
std::size_t header_among(const std::vector<SurveyRecord>& records) {
  std::size_t best = records.size(), most = 0;
  for (std::size_t i = 0; i < records.size(); ++i) {
    const Named named = named_by(records[i]);
    if (count_numbers(records[i].fields) > 0) continue;
    if (names_a_place(named)) return i;
    if (records[i].fields.size() >= least_fields && named.count() > most) best = i, most = named.count();
  }
  return best;
}

bool is_title(const SurveyRecord& record, bool columns_are_given) {
  return record.fields.size() < least_fields || (columns_are_given && count_numbers(record.fields) == 0);
}

}  // namespace

SurveyRecord record_of(const std::vector<CsvField>& fields) {
  SurveyRecord record{fields.front().line, {}};
  for (const CsvField& field : fields) record.fields.emplace_back(field.text);
  return record;
}

std::size_t count_numbers(const std::vector<std::string>& fields) {
  return static_cast<std::size_t>(std::count_if(fields.begin(), fields.end(), [](const std::string& field) {
    return comma_use(field) != CommaUse::not_a_number;
  }));
}

SurveyOpening opening_of(std::string_view text, bool columns_are_given) {
  SurveyOpening opening;
  opening.separator = separator_of(text);
  opening.rows = CsvReader(text, opening.separator);
  if (opening.separator == '|' && is_framed(first_records(opening.rows, most_first)))
    opening.rows.pass_leading_separators();
  std::vector<SurveyRecord> leading = before_shots(first_records(opening.rows, most_first));
  if (opening.separator == ' ') {
    for (SurveyRecord& record : leading) record.fields = joined_headings(record.fields);
  }
  const std::size_t header = header_among(leading);
  std::size_t passed = 0;
  if (header < leading.size()) {
    opening.header = leading[header];
    passed = header + 1;
    opening.titles.assign(leading.begin(), leading.begin() + static_cast<std::ptrdiff_t>(header));
  } else {
    opening.header = header_in_comments(text, opening.separator);
    if (opening.header && opening.separator == ' ') opening.header->fields = joined_headings(opening.header->fields);
    opening.header_is_comment = opening.header.has_value();
    while (passed < leading.size() && is_title(leading[passed], columns_are_given)) ++passed;
    opening.titles.assign(leading.begin(), leading.begin() + static_cast<std::ptrdiff_t>(passed));
  }
  std::vector<CsvField> fields;
  for (std::size_t i = 0; i < passed; ++i) opening.rows.next(fields);
  opening.first = first_records(opening.rows, most_first);
  return opening;
}

}  // namespace moundwright::io

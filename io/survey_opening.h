// How a survey file begins: what stands between its fields, titles, a header, and where its shots begin.
//
//   SurveyOpening opening = opening_of(text, columns_are_given);
//   while (opening.rows.next(fields)) ...      // the first shot, and all that follow
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "io/csv_text.h"

namespace moundwright::io {

/// A record of its own text: fields of a CsvReader hold only until the next.
struct SurveyRecord {
  int line = 0;
  std::vector<std::string> fields;
};

struct SurveyOpening {
  char separator = ',';
  std::vector<SurveyRecord> titles;    // lines that hold no shot, above the header or the first shot
  std::optional<SurveyRecord> header;  // names at least one column
  bool header_is_comment = false;      // "#point, northing, ...": it stands behind a #
  std::vector<SurveyRecord> first;     // the first twenty records from where `rows` begins
  CsvReader rows{{}, ','};             // what follows the header, or else the titles
};

/// A header has no number in it and names northing, easting and elevation, or else is the record before the first shot
/// that names the most. Titles stand above it, or have fewer fields than a shot. The separator is the one that finds
/// most shots in the first records, if the text does not say itself; of several the one that comes first in the line;
/// blanks only where tabs find next to none. With `columns_are_given` a record without any number is a title, too,
/// since it is not needed to tell the order.
SurveyOpening opening_of(std::string_view text, bool columns_are_given);

SurveyRecord record_of(const std::vector<CsvField>& fields);

/// How many of the fields are numbers, however written.
std::size_t count_numbers(const std::vector<std::string>& fields);

}  // namespace moundwright::io

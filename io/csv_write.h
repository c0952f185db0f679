// A field of a CSV file: quoted as RFC 4180 wants it, and so that no spreadsheet runs it.
//
//   csv += csv_field(mark.name) + ',' + csv_field("=1+1");      // ...,'=1+1
//
// A spreadsheet takes a field that begins with = + - or @ for a formula, and runs it; names and descriptions come from
// whoever wrote the survey or the job. Such a text is written with an apostrophe before it. A plain number is no
// formula and stays as it is. csv_text.h takes the apostrophe off again.
#pragma once

#include <string>
#include <string_view>

namespace moundwright::io {

/// Quoted where it holds a comma, a quote or a line break, or begins or ends with a blank.
std::string csv_field(std::string_view text);

/// The text that csv_field was given, from the field without its quotes.
std::string_view without_guard(std::string_view field);

}  // namespace moundwright::io

// A number as people write it in a field, read strictly: what could mean two things is told and never guessed.
//
//   FieldNumber n = read_number("100.25'", Commas::none);             // 100.25, mark foot
//   FieldNumber n = read_number("5,120.00", Commas::thousands);       // 5120
//   FieldNumber n = read_number("4890,5", Commas::decimal);           // 4890.5
//
// How a file uses its commas is for the reader of the file to find out, from all of its numbers: `comma_use` says what
// each of them tells. "5,120.00" and "1,005,120" have them between thousands; "4890,5", "5000,125" and "5.120,25" for
// the decimal point; "5,120" may be either.
#pragma once

#include <optional>
#include <string_view>

#include "geom/units.h"

namespace moundwright::io {

/// The unit that a mark or a heading names: ', ft, feet, us-ft, m, meters. A foot is of either kind unless it says so.
enum class UnitMark { none, foot, international_foot, us_survey_foot, metre };

std::optional<UnitMark> unit_mark(std::string_view word);

enum class UnitAgreement { agrees, other_foot, differs };
UnitAgreement agreement(UnitMark mark, LengthUnit unit);

/// How the commas of a file's numbers are to be read.
enum class Commas { none, thousands, decimal };

enum class NumberFault { none, empty, text, comma, not_finite };

struct FieldNumber {
  double value = 0;
  NumberFault fault = NumberFault::none;
  UnitMark mark = UnitMark::none;
};

/// `text` without blanks round it. Fault `comma`: a comma where `commas` has no place for it.
FieldNumber read_number(std::string_view text, Commas commas);

/// What a field tells of its file's commas.
enum class CommaUse {
  not_a_number,
  none,        // a whole number
  point,       // 100.25: a decimal point, so that no comma is one
  some_point,  // 5.120: a decimal point, or one between thousands where the commas are decimal
  thousands,   // 5,120.00
  decimal,     // 4890,5
  either       // 5,120
};
CommaUse comma_use(std::string_view text);

}  // namespace moundwright::io

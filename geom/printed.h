// How figures are rounded where they are printed: one rule for report, paper, tables and the field page alike.
//
//   as_printed(103.125, 2)                  // 103.13: a half goes up, as in a field book; below zero by its size
//   fixed_text(-0.004, 2)                   // "0.00"
//   printed_difference(103.125, 100.58, 2)  // 2.55: of what is printed, 103.13 - 100.58
//
// Grades, ground and readings are rounded to what is printed first; cut and fill, rod readings and whatever else is
// the difference of two printed figures is taken of those, so that a person with a pencil gets the same. Totals of
// volumes and money are rounded once, from exact figures: `totals_note` stands beside them. io/field/turning.js has
// the twin of this rule.
//
// Most halves are not halves in binary: 1.005 is kept as 1.00499999999999989. What is within a millionth of its last
// digit of a half is taken for one.
#pragma once

#include <string>

#include "geom/units.h"

namespace moundwright {

/// Rounded to this many decimals, never minus zero.
double as_printed(double value, int decimals);

/// a - b as whoever reads the two printed figures gets it.
double printed_difference(double a, double b, int decimals);

/// Fixed decimals, and never a minus before nothing but zeros.
std::string fixed_text(double value, int decimals);

/// Decimals of a printed elevation or length: 2 in feet, 3 in metres.
int length_decimals(LengthUnit unit);

/// Beside the total of a printed column.
inline constexpr const char* totals_note =
    "Totals are rounded once, from exact figures: printed rows may add up to a last digit more or less.";

}  // namespace moundwright

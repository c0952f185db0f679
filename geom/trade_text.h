// Figures as the trade writes them: stations and offsets, cut and fill, slopes, rod readings.
//
//   cut_or_fill(99.32, 101.40)          // "F 2.08", from the top of a hub that was shot
//   rod_text(grade_rod(105.12, 101.40)) // "3.72 (3 ft 8-5/8 in)"
//
// All are rounded as printed.h has it.
#pragma once

#include <string>
#include <string_view>

#include "geom/printed.h"
#include "geom/units.h"

namespace moundwright {

/// "1+23.4" for 23.4 past the left end of the bed; "0+90.0" 10 before it. Tenths of a foot, hundredths of a metre.
std::string station_text(double past_left_end, LengthUnit unit = LengthUnit::foot);

/// "U 12.3" upslope (below zero), "D 20.1" downslope, "0" where it rounds to nothing.
std::string offset_text(double downslope, LengthUnit unit = LengthUnit::foot);

/// "F 2.08" where the design is above ground, "C 1.20" where it is below, "0.00" at grade: of both as they are printed.
std::string cut_or_fill(double ground, double design, LengthUnit unit = LengthUnit::foot);

/// "3:1", "4.24:1"; "vertical" for 0.
std::string slope_text(double run);

/// What the rod reads with its foot at `grade`: height of instrument - grade (NAVEDTRA 14081, p. 15-30), of both as
/// they are printed. Below zero the grade is above the instrument and cannot be read.
double grade_rod(double height_of_instrument, double grade, LengthUnit unit = LengthUnit::foot);

/// "3 ft 8-5/8 in", to the nearest eighth of an inch, half up. Beside decimal feet it is given what is printed there,
/// so that the same hundredths are the same inches everywhere. Throws Refusal for a length below zero, not finite or
/// past a million feet.
std::string feet_inches_eighths(double feet);

/// "3.72 (3 ft 8-5/8 in)"; "1.134" in metres. A rod below zero says how far the grade is above the instrument.
std::string rod_text(double rod, LengthUnit unit = LengthUnit::foot);

/// What to mark on a hub's lath once the hub is shot, in one line:
/// "<hub>, bed bottom 101.40, hub shot 99.32: F 2.08 to bed bottom; with the instrument at 105.12 the rod reads 3.72
/// (3 ft 8-5/8 in)".
std::string hub_grade_line(std::string_view hub, std::string_view grade_name, double grade, double hub_shot,
                           double height_of_instrument, LengthUnit unit = LengthUnit::foot);

}  // namespace moundwright

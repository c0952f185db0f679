// Lines that hold no shot, under a header and at the end of a survey file.
#pragma once

#include <cstddef>
#include <optional>

#include "io/survey_opening.h"

namespace moundwright::io {

/// "Total points: 52", "End of file", a line of dashes: a word that ends a list, or no letter and no digit at all. A
/// shot that was cut short has neither.
bool is_closing_line(const SurveyRecord& record);

/// How many points a closing line says there are; nullopt where it says none.
std::optional<std::size_t> points_counted(const SurveyRecord& record);

/// Units or dashes in every field: the second line of some headers.
bool is_line_of_units(const SurveyRecord& record);

}  // namespace moundwright::io

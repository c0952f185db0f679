// Shots from CSV: point, northing, easting, elevation, description, in any order that is stated.
//
//   Survey survey = read_shots("ground.csv", {.codes = {.breaklines = {"EP", "DITCH"}, .skip = {"BM"}}});
//   Ground ground = make_ground(survey.ground_shots, survey.breaklines);
//
// The order is stated by a header (behind a # too) or by `columns`; without either it is the one above. Headings, upper
// and lower case alike, with blanks or without, are for example: point, pt, no, name, id, point number; northing,
// north, n, y; easting, east, e, x; elevation, elev, z; description, desc, code. Before them may stand grid, ground or
// local, and a unit behind, as in "Grid Northing" or "Elev (ft)": survey_columns.h. Other columns are passed over. The
// description may be missing, and so may the point: then a shot is named by its line, "line 14", which is noted. But
// numbers of which nothing says what they are (three in each line, no header) are refused.
//
// Read besides, each with a note that says what was taken for what, in which line: titles above the header, closing
// lines such as "Total points: 52" (warned of where the count differs), commas between thousands ("5,120.00") or for
// decimal points (4890,5), text that is not UTF-8 (plain_text.h). How the commas are meant is found out from all
// numbers of a file; where no number tells, or two contradict each other, the file is refused. Unit marks
// (100.25', 31.2 m) must agree with the job's unit. Between fields stand commas, semicolons, tabs, bars or blanks:
// survey_opening.h; with blanks the description is the rest of the line. Quotes and comments: csv_text.h. What codes
// do: survey.h.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "geom/units.h"
#include "io/survey.h"

namespace moundwright::io {

struct ShotsOptions {
  std::vector<std::string> columns;  // what each column holds, in order; "ignore" for one of no interest
  SurveyCodes codes;
  LengthUnit unit = LengthUnit::foot;                  // of the job: marks such as "31.2 m" must agree with it
  std::vector<std::filesystem::path> breakline_files;  // each is one breakline, in file order
  LotPlaces lot = {};                                  // what the job says of where the lot is
};

/// The word for a column in messages and in `columns`: "northing" for "N", "" for a word that names none.
std::string_view column_named(std::string_view word);

/// Reads a survey. Throws Refusal with every problem of every file (the first 50, and how many more): a file that
/// cannot be read, is empty, is not text or has no shots; columns that are missing, named twice or contradict the
/// header; fields that are missing, not a number or not finite; commas and units that do not fit; names with characters
/// that not every file can hold; broken quotes; and what sort_survey finds.
Survey read_shots(const std::filesystem::path& path, const ShotsOptions& options = {});

/// The same from the text of the survey file.
Survey shots_from_csv(std::string_view csv, const std::string& file_name, const ShotsOptions& options = {});

}  // namespace moundwright::io

// Shots from CSV: point, northing, easting, elevation, description, in any order that is stated.
//
//   Survey survey = read_shots("ground.csv", {.codes = {.breaklines = {"EP", "DITCH"}, .skip = {"BM"}}});
//   Ground ground = make_ground(survey.ground_shots, survey.breaklines);
//
// The order is stated by a header row or by `columns`; without either it is the one above. Header words, upper and
// lower case alike and whatever stands behind in brackets: point, pt, no, number, name, id · northing, north, n, y ·
// easting, east, e, x · elevation, elev, z · description, desc, descr, code. Other columns are passed over, and the
// description may be missing. What separators, quotes and comments are understood: csv_text.h. What codes do: survey.h.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "io/survey.h"

namespace moundwright {

struct ShotsOptions {
  std::vector<std::string> columns;  // what each column holds, in order; "ignore" for one of no interest
  SurveyCodes codes;
  std::vector<std::filesystem::path> breakline_files;  // each is one breakline, in file order
};

/// The word for a column in messages and in `columns`: "northing" for "N", "" for a word that names none.
std::string_view column_named(std::string_view word);

/// Reads a survey. Throws Refusal with every problem of every file (the first 50, and how many more): a file that
/// cannot be read, is empty, is not text or has no shots; columns that are missing, named twice or contradict the
/// header; fields that are missing, not a number, not finite, or have a decimal comma; broken quotes; and what
/// sort_survey finds.
Survey read_shots(const std::filesystem::path& path, const ShotsOptions& options = {});

/// The same from the text of the survey file.
Survey shots_from_csv(std::string_view csv, const std::string& file_name, const ShotsOptions& options = {});

}  // namespace moundwright

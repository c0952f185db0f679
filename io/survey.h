// A survey sorted by what its description codes say: which shots are ground, and which join into breaklines.
//
// A shot's code is the first word of its description, upper and lower case alike. A code given in the job, such as
// EP, stands for itself and for itself with digits behind: EP1 and EP2 are two lines of edge of pavement.
//   - breakline codes: the shots with one code (EP1 and EP2 apart) join into one line, in file order. The second word
//     `close` ends the line where it began; the next shot with that code starts another line.
//   - skip codes: bench marks, wells and the like. Kept in `all`, left out of the ground.
#pragma once

#include <string>
#include <vector>

#include "geom/ground.h"
#include "io/capped_problems.h"

namespace moundwright {

struct SurveyCodes {
  std::vector<std::string> breaklines;
  std::vector<std::string> skip;
};

/// Shots of one file, in file order; `name` is what messages call it.
struct ShotFile {
  std::string name;
  std::vector<Shot> shots;
};

struct Survey {
  std::vector<Shot> ground_shots;     // what make_ground takes
  std::vector<Shot> all;              // ground or not, in file order
  std::vector<Breakline> breaklines;  // indices into ground_shots
  Problems notes;                     // warnings and notes; errors are thrown
};

/// Sorts a survey. Each of `line_files` is one breakline by itself, whatever its codes; its shots become ground shots
/// (one that the survey already has, same number and same place, is taken from there).
/// Warns of: two shots with one number; a line with fewer than two shots; a code that no shot has.
/// Adds errors to `problems` for a code that is both a breakline's and skipped, and for a survey without ground shots.
Survey sort_survey(const ShotFile& survey, const std::vector<ShotFile>& line_files, const SurveyCodes& codes,
                   CappedProblems& problems);

}  // namespace moundwright

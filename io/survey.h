// A survey sorted by what its description codes say: which shots are ground, and which join into breaklines.
//
// A shot's code is what its description begins with: one of the codes given in the job, which may be several words
// (EDGE OF PAVEMENT) or have a hyphen in them. A code stands for itself and for itself with the number of a line
// behind: EP1, EP 1 and EP-1 are one line of edge of pavement, EP2 another. Of two codes that fit, the longer counts.
//   - breakline codes: the shots with one code and number join into lines, in file order, as the words behind say where
//     each begins and ends (line_words.h, line_joining.h); without such words they are one line.
//   - skip codes: bench marks, wells and the like. Kept in `all`, left out of the ground.
#pragma once

#include <string>
#include <vector>

#include "geom/far_parts.h"
#include "geom/ground.h"
#include "io/capped_problems.h"
#include "io/line_words.h"

namespace moundwright::io {

struct SurveyCodes {
  std::vector<std::string> breaklines;
  std::vector<std::string> skip;
  LineWords line_words = {};
};

/// Shots of one file, in file order; `name` is what messages call it.
struct ShotFile {
  std::string name;
  std::vector<Shot> shots;
  std::string to_exchange = {};  // how its northings and eastings are exchanged: "exchange the headings ..."
};

/// What a breakline is called.
struct LineName {
  std::string code;  // as the job writes it; of a breakline file, the first word of its first description, or its name
  std::string number;  // of several lines; may be empty
};

/// "EP2", "EDGE OF PAVEMENT 2".
std::string to_text(const LineName& name);

struct Survey {
  std::vector<Shot> ground_shots;     // what make_ground takes
  std::vector<Shot> all;              // ground or not, in file order
  std::vector<Breakline> breaklines;  // indices into ground_shots
  std::vector<LineName> line_names;   // of each breakline
  ShotFiles files;                    // of ground_shots
  std::string to_exchange;            // how its northings and eastings are exchanged, where they are
  std::size_t left_out = 0;           // shots that are no part of the ground, since they lie far from the lot
  Problems notes;                     // warnings and notes; errors are thrown
};

/// Sorts a survey. Each of `line_files` is one breakline by itself, whatever its codes, or several where their words
/// say so; its shots become ground shots (one that the survey already has, same number and same place, is taken from
/// there). Warns of: two shots with one number; a code that no shot has; lines that look wrong (join_lines). Adds
/// errors to `problems` for a code that is both a breakline's and skipped, for names and descriptions that
/// are too long to be any, and for a survey without ground shots.
/// `lot` tells which part of a survey in two places is the lot's: the rest is left out, and told; where it does not
/// tell, the survey is refused.
Survey sort_survey(const ShotFile& survey, const std::vector<ShotFile>& line_files, const SurveyCodes& codes,
                   CappedProblems& problems, const LotPlaces& lot = {});

}  // namespace moundwright::io

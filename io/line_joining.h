// Shots of one code joined into breaklines, as their words say where each begins and ends.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "geom/ground.h"
#include "io/capped_problems.h"
#include "io/line_words.h"

namespace moundwright::io {

/// A shot on a line of a code; `shot` is its index.
struct LineShot {
  std::size_t shot = 0;
  LinePlace place;
  bool is_left_out = false;  // its words count, but the line goes on to the next shot that is not
};

/// The shots of one code and number in the order they were read, or those of one breakline file.
struct LineShots {
  std::string name;          // "the breakline code EP", as messages begin with it
  std::string code;          // "EP", as advice writes it
  bool is_numbered = false;  // the shots carry a line number already
  std::vector<LineShot> shots;
};

/// Joins them in order. A beginning starts a line, whether the one before was ended or not; an end or a close finishes
/// it, and the next shot starts another.
///   - A usual word on shots one after another, which would leave most of its lines with one shot, is taken for a
///     remark (EP E along an east edge); a word that the job gives never is. Warned of.
///   - Where two lines are open at once, as when both edges are shot by turns, each shot goes to the line whose last
///     shot is nearer. Warned of; where the two are nearly as far, an error asks for numbers.
/// Warns of a line of one shot (left out), a beginning that no end follows though the code has ends, a line too short
/// to close, a leap (line_shape.h), and a line that goes to and fro.
/// `where` names a shot's file and line.
std::vector<Breakline> join_lines(const LineShots& line, const std::vector<Shot>& shots,
                                  const std::function<std::string(std::size_t)>& where, CappedProblems& problems);

}  // namespace moundwright::io

// Does a breakline look like one line? Shots of two lines that were joined into one show in its shape. Everything here
// only points a finger: a person decides.
#pragma once

#include <optional>
#include <vector>

#include "geom/ground.h"

namespace moundwright {

/// A stretch of a line that is far longer than the line's others.
struct LineLeap {
  std::size_t from = 0;  // place in the line that it leads from, to the next one
  double length = 0;
  double usual = 0;  // median length of the line's stretches
};

/// Leaps of a line, longest first: stretches over 5 times as long as the median and at least twice as long as those
/// beside them; over twice the median where the line also turns back (by more than 102 degrees) at both ends. In a line
/// of fewer than three stretches nothing can be told.
std::vector<LineLeap> find_leaps(const Polyline2& line);

/// At how many stretches a line goes to and fro: turns back sharply into the next one, or runs against the next but
/// one, as two edges do that were shot by turns. A line of its own does so at few or none.
std::size_t count_returns(const Polyline2& line);

/// True where more than a third of the line's stretches, and three at least, are such.
bool goes_to_and_fro(const Polyline2& line);

}  // namespace moundwright

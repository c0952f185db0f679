// Bench marks and tie marks of a job, each place once.
#pragma once

#include <algorithm>
#include <vector>

#include "geom/lot.h"

namespace moundwright::io {

struct KnownMark {
  Mark mark;
  bool is_benchmark = false;
};

/// The bench marks, then the tie marks that are no bench marks.
inline std::vector<KnownMark> known_marks(const Lot& lot) {
  std::vector<KnownMark> marks;
  const auto add = [&](const Mark& mark, bool is_benchmark) {
    const bool is_there =
        std::any_of(marks.begin(), marks.end(), [&](const KnownMark& known) { return known.mark.at == mark.at; });
    if (!is_there) marks.push_back({mark, is_benchmark});
  };
  if (lot.benchmark) add(*lot.benchmark, true);
  if (lot.second_benchmark) add(*lot.second_benchmark, true);
  for (const Mark& mark : lot.ties) add(mark, false);
  return marks;
}

}  // namespace moundwright::io

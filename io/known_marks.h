// Bench marks and tie marks of a job, each place once.
#pragma once

#include <algorithm>
#include <vector>

#include "geom/design.h"

namespace moundwright::io {

struct KnownMark {
  Mark mark;
  bool is_benchmark = false;
};

/// The bench marks, then the tie marks that are no bench marks.
inline std::vector<KnownMark> known_marks(const SiteDesign& site) {
  std::vector<KnownMark> marks;
  const auto add = [&](const Mark& mark, bool is_benchmark) {
    const bool is_there =
        std::any_of(marks.begin(), marks.end(), [&](const KnownMark& known) { return known.mark.at == mark.at; });
    if (!is_there) marks.push_back({mark, is_benchmark});
  };
  if (site.benchmark) add(*site.benchmark, true);
  if (site.second_benchmark) add(*site.second_benchmark, true);
  for (const Mark& mark : site.ties) add(mark, false);
  return marks;
}

}  // namespace moundwright::io

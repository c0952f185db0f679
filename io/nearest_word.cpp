#include "io/nearest_word.h"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>

#include "io/ascii.h"

namespace moundwright::io {

// Damerau's optimal string alignment, three rows of the usual table.
std::size_t changes_between(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  std::iota(last.begin(), last.end(), std::size_t{0});
  const auto same = [&](std::size_t i, std::size_t j) { return lower(a[i]) == lower(b[j]); };
  for (std::size_t i = 0; i < a.size(); ++i) {
    row[0] = i + 1;
    for (std::size_t j = 0; j < b.size(); ++j) {
      row[j + 1] = std::min({last[j + 1] + 1, row[j] + 1, last[j] + (same(i, j) ? 0 : 1)});
      const bool swapped = i > 0 && j > 0 && same(i, j - 1) && same(i - 1, j);
      if (swapped) row[j + 1] = std::min(row[j + 1], before[j - 1] + 1);
    }
    before.swap(last);
    last.swap(row);
  }
  return last[b.size()];
}

std::optional<std::string> nearest_word(std::string_view word, const std::vector<std::string>& candidates) {
  if (word.size() > 64) return std::nullopt;  // no slip of the pen, and the table grows with the square
  std::optional<std::string> nearest;
  std::size_t least = std::max<std::size_t>(1, word.size() / 3) + 1;
  for (const std::string& candidate : candidates) {
    if (candidate.size() > word.size() + least || word.size() > candidate.size() + least) continue;
    const std::size_t changes = changes_between(word, candidate);
    if (changes < least) least = changes, nearest = candidate;
  }
  return nearest;
}

std::string did_you_mean(std::string_view word, const std::vector<std::string>& candidates) {
  const std::optional<std::string> near = nearest_word(word, candidates);
  return near ? fmt::format("Did you mean \"{}\"?", *near) : std::string();
}

}  // namespace moundwright::io

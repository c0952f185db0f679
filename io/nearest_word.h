// "Did you mean ...?" for keys, codes and column names.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace moundwright::io {

/// How many single changes (a letter put in, left out or replaced, two neighbours swapped) lie between two
/// words, upper and lower case alike. Bytes, not letters, outside ASCII.
std::size_t changes_between(std::string_view a, std::string_view b);

/// The candidate nearest to `word`, if it is near enough to be a slip: no more than a third of the letters changed
/// (at least one change is allowed).
std::optional<std::string> nearest_word(std::string_view word, const std::vector<std::string>& candidates);

/// "Did you mean "azimuth"?" or, where nothing is near, nothing.
std::string did_you_mean(std::string_view word, const std::vector<std::string>& candidates);

}  // namespace moundwright::io

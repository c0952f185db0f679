#include "io/survey_columns.h"

#include <algorithm>
#include <utility>

#include "io/ascii.h"

namespace moundwright::io {
namespace {

constexpr std::pair<std::string_view, Column> column_words[] = {
    {"point", point},
    {"pt", point},
    {"pnt", point},
    {"p", point},
    {"no", point},
    {"num", point},
    {"number", point},
    {"name", point},
    {"id", point},
    {"pointno", point},
    {"ptno", point},
    {"pointnum", point},
    {"ptnum", point},
    {"pointnumber", point},
    {"ptnumber", point},
    {"pointname", point},
    {"ptname", point},
    {"pointid", point},
    {"ptid", point},
    {"northing", northing},
    {"northings", northing},
    {"north", northing},
    {"n", northing},
    {"y", northing},
    {"ycoord", northing},
    {"ycoordinate", northing},
    {"easting", easting},
    {"eastings", easting},
    {"east", easting},
    {"e", easting},
    {"x", easting},
    {"xcoord", easting},
    {"xcoordinate", easting},
    {"elevation", elevation},
    {"elevations", elevation},
    {"elev", elevation},
    {"el", elevation},
    {"z", elevation},
    {"zcoord", elevation},
    {"zcoordinate", elevation},
    {"description", description},
    {"desc", description},
    {"descr", description},
    {"d", description},
    {"code", description},
    {"pointcode", description},
    {"pointdescription", description},
    {"featurecode", description},
};

constexpr std::string_view height_words[] = {"height",      "heights", "orthoheight", "orthometricheight",
                                             "orthometric", "orthoht"};
constexpr std::string_view degree_words[] = {"latitude", "lat", "longitude", "long", "lon", "lng"};

std::optional<Column> known(std::string_view letters) {
  for (const auto& [word, column] : column_words) {
    if (word == letters) return column;
  }
  return std::nullopt;
}

std::vector<std::string> words_of(std::string_view heading) {
  std::vector<std::string> words;
  bool in_word = false;
  for (const char c : heading.substr(0, heading.find_first_of("([{"))) {
    if (!is_letter(c)) {
      in_word = false;
    } else {
      if (!in_word) words.emplace_back();
      in_word = true;
      words.back() += lower(c);
    }
  }
  return words;
}

/// A heading taken apart: a column's word, and a unit behind it.
struct Heading {
  std::optional<Column> column;
  UnitMark unit = UnitMark::none;
};

std::string joined(std::vector<std::string>::const_iterator from, std::vector<std::string>::const_iterator to) {
  std::string all;
  for (; from != to; ++from) all += *from;
  return all;
}

bool opens_bracket(std::string_view word) { return word.find_first_of("([{") == 0; }

template <std::size_t count>
bool is_among(std::string_view word, const std::string_view (&words)[count]) {
  return std::find(std::begin(words), std::end(words), word) != std::end(words);
}

Heading heading_of(std::string_view text, bool height_counts = false) {
  std::vector<std::string> words = words_of(text);
  constexpr std::string_view before[] = {"grid", "ground", "local", "survey"};
  if (words.size() > 1 && std::find(std::begin(before), std::end(before), words.front()) != std::end(before)) {
    words.erase(words.begin());
  }
  for (auto end = words.cend(); end != words.cbegin(); --end) {
    const std::string word = joined(words.cbegin(), end);
    std::optional<Column> column = known(word);
    if (!column && height_counts && is_among(word, height_words)) column = elevation;
    if (!column) continue;
    if (end == words.cend()) return {column};
    if (const auto unit = unit_mark(joined(end, words.cend()))) return {column, *unit};
  }
  return {};
}

}  // namespace

std::optional<Column> column_of(std::string_view heading) { return heading_of(heading).column; }

std::vector<std::optional<Column>> columns_of(const std::vector<std::string>& headings) {
  std::vector<std::optional<Column>> columns;
  for (const std::string& heading : headings) columns.push_back(column_of(heading));
  if (std::find(columns.begin(), columns.end(), elevation) != columns.end()) return columns;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    if (!columns[i]) columns[i] = heading_of(headings[i], true).column;
  }
  return columns;
}

bool is_in_degrees(std::string_view heading) {
  const std::vector<std::string> words = words_of(heading);
  return !words.empty() && is_among(words.front(), degree_words);
}

UnitMark heading_unit(std::string_view heading) {
  const std::size_t open = heading.find_first_of("([{");
  if (open == std::string_view::npos) return heading_of(heading, true).unit;
  const std::size_t close = std::min(heading.find_first_of(")]}", open), heading.size());
  return unit_mark(heading.substr(open + 1, close - open - 1)).value_or(UnitMark::none);
}

std::optional<UnitMark> lone_unit(std::string_view field) {
  if (field.starts_with('(') || field.starts_with('[')) field.remove_prefix(1);
  if (field.ends_with(')') || field.ends_with(']')) field.remove_suffix(1);
  return unit_mark(field);
}

std::vector<std::string> joined_headings(const std::vector<std::string>& words) {
  std::vector<std::string> headings;
  for (std::size_t i = 0; i < words.size();) {
    std::string longest = words[i], together = words[i];
    std::size_t taken = 1;
    for (std::size_t k = 1; k < 4 && i + k < words.size() && !opens_bracket(words[i + k]); ++k) {
      together += ' ' + words[i + k];
      if (heading_of(together, true).column) longest = together, taken = k + 1;
    }
    i += taken;
    if (i < words.size() && opens_bracket(words[i])) {  // to its end, as in "Elev (US ft)"
      bool is_open = true;
      for (; is_open && i < words.size(); ++i) {
        longest += ' ' + words[i];
        is_open = words[i].find_first_of(")]}") == std::string::npos;
      }
    }
    headings.push_back(std::move(longest));
  }
  return headings;
}

}  // namespace moundwright::io

#include "io/survey.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <string_view>
#include <unordered_map>

#include "io/ascii.h"
#include "io/nearest_word.h"

namespace moundwright {
namespace {

enum class Kind { ground, breakline, skipped };

std::string upper(std::string_view word) {
  std::string text(word);
  for (char& c : text) c = c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  return text;
}

std::string_view code_of(const Shot& shot) {
  std::string_view description = shot.description;
  return take_word(description);
}

bool closes(const Shot& shot) {
  std::string_view description = shot.description;
  take_word(description);
  return same_letters(take_word(description), "close");
}

std::string_view without_digits(std::string_view word) {
  while (!word.empty() && is_digit(word.back())) word.remove_suffix(1);
  return word;
}

/// `word` is `code` itself.
bool is_code(std::string_view word, std::string_view code) { return same_letters(word, trimmed(code)); }

/// `word` is `code` with digits behind.
bool is_numbered_code(std::string_view word, std::string_view code) {
  code = trimmed(code);
  return word.size() > code.size() && same_letters(word.substr(0, code.size()), code) &&
         std::all_of(word.begin() + static_cast<std::ptrdiff_t>(code.size()), word.end(), is_digit);
}

template <class Match>
bool any_code(std::string_view word, const std::vector<std::string>& codes, Match match) {
  return std::any_of(codes.begin(), codes.end(), [&](const std::string& code) { return match(word, code); });
}

/// A code given in full goes before one that needs digits behind it, so that EP1 can be a line and EP skipped.
Kind kind_of(std::string_view word, const SurveyCodes& codes) {
  if (word.empty()) return Kind::ground;
  if (any_code(word, codes.skip, is_code)) return Kind::skipped;
  if (any_code(word, codes.breaklines, is_code)) return Kind::breakline;
  if (any_code(word, codes.skip, is_numbered_code)) return Kind::skipped;
  return any_code(word, codes.breaklines, is_numbered_code) ? Kind::breakline : Kind::ground;
}

bool same_place(const Shot& a, const Shot& b) {
  return a.northing == b.northing && a.easting == b.easting && a.elevation == b.elevation;
}

/// A shot with a number that an earlier one has, and the two places.
Problem repeated_number(const Shot& first, const std::string& first_file, const Shot& again, const std::string& file) {
  const std::string where = fmt::format("{} line {}", file, again.line);
  const std::string other =
      first_file == file ? fmt::format("line {}", first.line) : fmt::format("{} line {}", first_file, first.line);
  if (same_place(first, again)) {
    return {Severity::warning, fmt::format("point {} is there twice, at the same place: see {}", again.point, other),
            where, "Take one of them out."};
  }
  return {Severity::warning,
          fmt::format("two points share the number {} at different places ({:.2f}, {:.2f}, {:.2f} here and "
                      "{:.2f}, {:.2f}, {:.2f} on {})",
                      again.point, again.northing, again.easting, again.elevation, first.northing, first.easting,
                      first.elevation, other),
          where, "Check which one is meant, and renumber the other."};
}

/// Finds shots by number. `all` grows while this is in use, so it keeps indices and its own views of the numbers.
struct NumberIndex {
  struct Entry {
    const Shot* shot;
    const std::string* file;
    std::size_t ground_index;
  };
  static constexpr std::size_t not_ground = static_cast<std::size_t>(-1);
  std::unordered_map<std::string_view, Entry> by_number;
};

class Sorter {
 public:
  Sorter(const ShotFile& file, const SurveyCodes& codes, CappedProblems& problems)
      : file_(file), codes_(codes), problems_(problems) {}

  void sort() {
    survey.all.reserve(file_.shots.size());
    survey.ground_shots.reserve(file_.shots.size());
    numbers_.by_number.reserve(file_.shots.size());
    for (const Shot& shot : file_.shots) place(shot);
    for (const auto& [code, line] : open_) finish_line(code, line);
  }

  void add_line(const ShotFile& line_file) {
    if (line_file.shots.empty()) return;  // the reader has said why
    Breakline line;
    for (const Shot& shot : line_file.shots) line.push_back(index_in_ground(shot, line_file.name));
    if (line.size() > 2 && closes(line_file.shots.back())) line.push_back(line.front());
    if (line_file.shots.size() < 2) {
      warn_short("the breakline has 1 shot", line_file.name);
    } else {
      survey.breaklines.push_back(std::move(line));
    }
  }

  Survey survey;

 private:
  void place(const Shot& shot) {
    survey.all.push_back(shot);
    const std::string_view code = code_of(shot);
    const Kind kind = kind_of(code, codes_);
    std::size_t index = NumberIndex::not_ground;
    if (kind != Kind::skipped) {
      index = survey.ground_shots.size();
      survey.ground_shots.push_back(shot);
    }
    note_number(shot, file_.name, index);
    if (kind == Kind::breakline) join(shot, upper(code), index);
  }

  void join(const Shot& shot, const std::string& code, std::size_t index) {
    Breakline& line = open_[code];
    line.push_back(index);
    if (!closes(shot)) return;
    if (line.size() > 2) line.push_back(line.front());
    finish_line(code, line);
    open_.erase(code);
  }

  void finish_line(const std::string& code, const Breakline& line) {
    if (line.size() > 1) {
      survey.breaklines.push_back(line);
      return;
    }
    const Shot& shot = survey.ground_shots[line.front()];
    warn_short(fmt::format("only one shot has the breakline code {} (point {})", code, shot.point),
               fmt::format("{} line {}", file_.name, shot.line));
  }

  void warn_short(std::string what, std::string where) {
    problems_.add({Severity::warning, std::move(what), std::move(where), "A breakline needs two shots or more."});
  }

  /// Notes a shot's number, and warns if an earlier one has it.
  void note_number(const Shot& shot, const std::string& file, std::size_t ground_index) {
    const auto [found, is_new] =
        numbers_.by_number.try_emplace(shot.point, NumberIndex::Entry{&shot, &file, ground_index});
    if (is_new) return;
    const NumberIndex::Entry& first = found->second;
    problems_.add(Severity::warning, [&] { return repeated_number(*first.shot, *first.file, shot, file); });
  }

  std::size_t index_in_ground(const Shot& shot, const std::string& file) {
    const auto found = numbers_.by_number.find(shot.point);
    if (found != numbers_.by_number.end() && found->second.ground_index != NumberIndex::not_ground &&
        same_place(*found->second.shot, shot)) {
      return found->second.ground_index;
    }
    const std::size_t index = survey.ground_shots.size();
    note_number(shot, file, index);
    survey.ground_shots.push_back(shot);
    survey.all.push_back(shot);
    return index;
  }

  const ShotFile& file_;
  const SurveyCodes& codes_;
  CappedProblems& problems_;
  NumberIndex numbers_;
  std::map<std::string, Breakline> open_;  // by code, upper case
};

void check_codes_apart(const SurveyCodes& codes, CappedProblems& problems) {
  for (const std::string& code : codes.breaklines) {
    if (any_code(trimmed(code), codes.skip, is_code)) {
      problems.add({Severity::error,
                    fmt::format("the code {} is both a breakline's and skipped", code),
                    {},
                    "Take it out of one of the two lists."});
    }
  }
}

void check_codes_used(const std::vector<Shot>& shots, const SurveyCodes& codes, const std::string& file,
                      CappedProblems& problems) {
  const auto used = [&](const std::string& code) {
    return std::any_of(shots.begin(), shots.end(), [&](const Shot& shot) {
      const std::string_view word = code_of(shot);
      return is_code(word, code) || is_numbered_code(word, code);
    });
  };
  const auto check = [&](const std::string& code, const char* list) {
    if (used(code)) return;
    std::set<std::string> seen;
    for (const Shot& shot : shots) {
      if (seen.size() < 1000) seen.insert(upper(without_digits(code_of(shot))));
    }
    seen.erase("");
    problems.add({Severity::warning, fmt::format("no shot has the {} code {}", list, code), file,
                  did_you_mean(code, {seen.begin(), seen.end()})});
  };
  for (const std::string& code : codes.breaklines) check(code, "breakline");
  for (const std::string& code : codes.skip) check(code, "skip");
}

}  // namespace

Survey sort_survey(const ShotFile& survey, const std::vector<ShotFile>& line_files, const SurveyCodes& codes,
                   CappedProblems& problems) {
  check_codes_apart(codes, problems);
  Sorter sorter(survey, codes, problems);
  sorter.sort();
  for (const ShotFile& file : line_files) sorter.add_line(file);
  if (!survey.shots.empty()) {
    check_codes_used(survey.shots, codes, survey.name, problems);
    if (sorter.survey.ground_shots.empty()) {
      problems.add({Severity::error, "every shot has a code that is skipped: no ground is left", survey.name,
                    "Check the skip codes of the job."});
    }
  }
  return std::move(sorter.survey);
}

}  // namespace moundwright

#include "io/survey.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <string_view>
#include <unordered_map>
#include <utility>

#include "geom/stray_shots.h"
#include "io/ascii.h"
#include "io/line_joining.h"
#include "io/nearest_word.h"

namespace moundwright::io {
namespace {

enum class Kind { ground, breakline, skipped };

std::string upper(std::string_view word) {
  std::string text(word);
  for (char& c : text) c = io::upper(c);
  return text;
}

/// The code that a description begins with, and what it says behind it.
struct Coded {
  Kind kind = Kind::ground;
  std::string_view code;  // as the job writes it
  LinePlace place;
};

/// The longest code that fits, so that EP1 can be a line and EP skipped.
Coded coded(std::string_view description, const SurveyCodes& codes, const LineVocabulary& words) {
  Coded best;
  const auto look = [&](const std::vector<std::string>& list, Kind kind) {
    for (const std::string& given : list) {
      const std::string_view code = trimmed(given);
      if (best.kind != Kind::ground && code.size() <= best.code.size()) continue;
      if (auto place = place_on_line(description, code, words)) best = {kind, code, std::move(*place)};
    }
  };
  look(codes.skip, Kind::skipped);
  look(codes.breaklines, Kind::breakline);
  return best;
}

std::string_view without_digits(std::string_view word) {
  while (!word.empty() && is_digit(word.back())) word.remove_suffix(1);
  return word;
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
  Sorter(const ShotFile& file, const SurveyCodes& codes, const LotPlaces& lot, CappedProblems& problems)
      : file_(file), codes_(codes), lot_(lot), words_(codes.line_words), problems_(problems) {}

  void sort() {
    survey.all.reserve(file_.shots.size());
    survey.ground_shots.reserve(file_.shots.size());
    numbers_.by_number.reserve(file_.shots.size());
    for (const Shot& shot : file_.shots) place(shot);
  }

  void add_line_file(const ShotFile& line_file) {
    if (line_file.shots.empty()) return;  // the reader has said why
    NamedLine line{{}, {"the breakline " + line_file.name, {}, false, {}}};
    for (const Shot& shot : line_file.shots) {
      Coded found = coded_in_line_file(shot.description);
      if (line.shots.shots.empty()) line.name = {std::string(found.code), found.place.number};
      line.shots.shots.push_back({index_in_ground(shot, line_file.name), std::move(found.place)});
    }
    if (line.name.code.empty()) line.name.code = line_file.name.substr(0, line_file.name.find_last_of('.'));
    line.shots.code = line.name.code;
    if (line.shots.shots.size() > 1) {
      file_lines_.push_back(std::move(line));
    } else {
      problems_.add(
          {Severity::warning, "the breakline has 1 shot", line_file.name, "A breakline needs two shots or more."});
    }
  }

  /// Joins the lines. What cannot be part of the ground is left out of it, and said first: lines look wrong for it.
  void finish() {
    survey.to_exchange = file_.to_exchange;
    survey.files.push_back({0, file_.name});
    for (const auto& [first, file] : line_files_) survey.files.push_back({first, *file});
    tell_misplaced_words();
    const std::vector<bool> strays = told_strays();
    for (auto& [name, line] : lines_) join(line, strays);
    for (NamedLine& line : file_lines_) join(line, strays);
    if (!strays.empty()) take_out(strays);
  }

  Survey survey;

 private:
  /// Shots on no line whose description seems to have a line word in the wrong place.
  struct Misplaced {
    const Shot* first = nullptr;
    std::size_t count = 0;
  };
  struct NamedLine {
    LineName name;
    LineShots shots;
  };

  void place(const Shot& shot) {
    survey.all.push_back(shot);
    Coded found = coded(shot.description, codes_, words_);
    if (found.kind == Kind::ground) look_for_misplaced_words(shot);
    std::size_t index = NumberIndex::not_ground;
    if (found.kind != Kind::skipped) {
      index = survey.ground_shots.size();
      survey.ground_shots.push_back(shot);
    }
    note_number(shot, file_.name, index);
    if (found.kind != Kind::breakline) return;
    const LineName name{std::string(found.code), found.place.number};
    const std::string key = upper(to_text(name));
    NamedLine& line = lines_[key];
    if (line.shots.shots.empty()) {
      line = {name, {"the breakline code " + key, name.code, !name.number.empty(), {}}};
    }
    line.shots.shots.push_back({index, std::move(found.place)});
  }

  /// Most descriptions are that of the shot before.
  void look_for_misplaced_words(const Shot& shot) {
    if (last_plain_ && *last_plain_ == shot.description) return;
    for (const std::string& code : codes_.breaklines) {
      if (!has_misplaced_word(shot.description, code, words_)) continue;
      Misplaced& words = misplaced_[code];
      if (words.count++ == 0) words.first = &shot;
      return;  // and look at the next one that is alike
    }
    last_plain_ = &shot.description;
  }

  void tell_misplaced_words() {
    for (const auto& [code, words] : misplaced_) {
      problems_.add({Severity::warning,
                     fmt::format("{} shot{} such as \"{}\" {} on no line: a line word counts behind the code {}, with "
                                 "a blank, a hyphen or a point between",
                                 words.count, words.count == 1 ? "" : "s", words.first->description,
                                 words.count == 1 ? "is" : "are", code),
                     fmt::format("{} line {}", file_.name, words.first->line),
                     fmt::format("Write the code, a blank and the word; where \"{}\" is a code of its own, name it in "
                                 "the job's breaklines or skip.",
                                 words.first->description)});
    }
  }

  /// A breakline file's shots need no code of the job: what words say is looked for behind the first word.
  Coded coded_in_line_file(std::string_view description) const {
    Coded found = coded(description, {codes_.breaklines, {}, {}}, words_);
    if (found.kind == Kind::breakline) return found;
    std::string_view rest = description;
    found.code = take_word(rest);
    if (auto place = place_on_line(description, found.code, words_)) found.place = std::move(*place);
    return found;
  }

  std::string where(std::size_t ground_shot) const {
    return fmt::format("{} line {}", file_of(ground_shot), survey.ground_shots[ground_shot].line);
  }

  void join(NamedLine& line, const std::vector<bool>& strays) {
    for (LineShot& shot : line.shots.shots) shot.is_left_out = !strays.empty() && strays[shot.shot];
    const auto where_of = [this](std::size_t shot) { return where(shot); };
    for (Breakline& joined : join_lines(line.shots, survey.ground_shots, where_of, problems_)) {
      survey.breaklines.push_back(std::move(joined));
      survey.line_names.push_back(line.name);
    }
  }

  /// "ground.csv lines 5 to 54", "ground.csv lines 5, 7, 9 and 40 more".
  std::string where_all(const std::vector<std::size_t>& ground_shots) const {
    constexpr std::size_t named = 3;
    const auto line = [&](std::size_t i) { return survey.ground_shots[ground_shots[i]].line; };
    const std::size_t last = ground_shots.size() - 1;
    if (static_cast<std::size_t>(line(last) - line(0)) == last)
      return fmt::format("{} lines {} to {}", file_of(ground_shots[0]), line(0), line(last));
    std::string text = fmt::format("{} lines", file_of(ground_shots[0]));
    for (std::size_t i = 0; i < std::min(named, last + 1); ++i)
      text += fmt::format("{} {}", i == 0 ? "" : ",", line(i));
    return last < named ? text : text + fmt::format(" and {} more", last + 1 - named);
  }

  /// True of each ground shot that is of a part far from the lot's; empty where none is.
  std::vector<bool> told_far_parts() {
    const FarParts found = find_far_parts(survey.ground_shots, lot_);
    if (found.parts.empty()) return {};
    if (!found.is_lot_known) {
      Problem doubt = found.in_doubt;
      for (const FarPart& part : found.parts) doubt.where += (doubt.where.empty() ? "" : "; ") + where_all(part.shots);
      problems_.add(std::move(doubt));
      is_in_doubt_ = true;
      return {};
    }
    std::vector<bool> far(survey.ground_shots.size());
    for (const FarPart& part : found.parts) {
      for (const std::size_t i : part.shots) far[i] = true;
      problems_.add({Severity::warning, part.what + ". They are left out of the ground", where_all(part.shots),
                     part.what_to_do + ": until then the yards rest on the other shots alone"});
    }
    return far;
  }

  /// True of each ground shot that strays or is of a part far from the lot's; empty where none is.
  std::vector<bool> told_strays() {
    std::vector<bool> strays = told_far_parts();
    if (is_in_doubt_) return strays;
    std::vector<Shot> near;
    std::vector<std::size_t> place_of;  // of those, among all
    for (std::size_t i = 0; i < strays.size(); ++i) {
      if (!strays[i]) near.push_back(survey.ground_shots[i]), place_of.push_back(i);
    }
    for (const StrayShot& stray : find_strays(strays.empty() ? survey.ground_shots : near)) {
      const std::size_t shot = place_of.empty() ? stray.shot : place_of[stray.shot];
      strays.resize(survey.ground_shots.size());
      strays[shot] = true;
      problems_.add(Severity::warning, [&] {
        return Problem{Severity::warning, stray.what + "; it is left out of the ground", where(shot), stray.what_to_do};
      });
    }
    survey.left_out = static_cast<std::size_t>(std::count(strays.begin(), strays.end(), true));
    return strays;
  }

  /// From the ground; no line has any.
  void take_out(const std::vector<bool>& strays) {
    std::vector<Shot> kept;
    std::vector<std::size_t> now_at(strays.size());
    for (std::size_t i = 0; i < strays.size(); ++i) {
      now_at[i] = kept.size();
      if (!strays[i]) kept.push_back(std::move(survey.ground_shots[i]));
    }
    survey.ground_shots = std::move(kept);
    for (ShotsOfFile& file : survey.files)
      file.first = file.first < now_at.size() ? now_at[file.first] : survey.ground_shots.size();
    for (Breakline& line : survey.breaklines) {
      for (std::size_t& i : line) i = now_at[i];
    }
  }

  /// Shots of breakline files stand behind the survey's.
  const std::string& file_of(std::size_t ground_shot) const {
    const std::string* name = &file_.name;
    for (const auto& [first, file] : line_files_) {
      if (ground_shot >= first) name = file;
    }
    return *name;
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
    if (line_files_.empty() || line_files_.back().second != &file) line_files_.emplace_back(index, &file);
    note_number(shot, file, index);
    survey.ground_shots.push_back(shot);
    survey.all.push_back(shot);
    return index;
  }

  std::map<std::string, Misplaced> misplaced_;  // by code
  const std::string* last_plain_ = nullptr;
  bool is_in_doubt_ = false;  // which part of the survey is the lot's
  const ShotFile& file_;
  const SurveyCodes& codes_;
  const LotPlaces& lot_;
  LineVocabulary words_;
  CappedProblems& problems_;
  NumberIndex numbers_;
  std::map<std::string, NamedLine> lines_;  // by name, upper case
  std::vector<NamedLine> file_lines_;
  std::vector<std::pair<std::size_t, const std::string*>> line_files_;  // first ground shot of each
};

void check_codes_apart(const SurveyCodes& codes, CappedProblems& problems) {
  for (const std::string& code : codes.breaklines) {
    const bool is_skipped = std::any_of(codes.skip.begin(), codes.skip.end(), [&](const std::string& other) {
      return same_letters(trimmed(code), trimmed(other));
    });
    if (!is_skipped) continue;
    problems.add({Severity::error,
                  fmt::format("the code {} is both a breakline's and skipped", code),
                  {},
                  "Take it out of one of the two lists."});
  }
}

/// As many of the first words as `code` has, without digits behind them.
std::string head_of(std::string_view description, std::string_view code) {
  std::string head;
  while (!take_word(code).empty()) {
    const std::string_view word = take_word(description);
    if (!word.empty() && !head.empty()) head += ' ';
    head += upper(word);
  }
  return std::string(without_digits(head));
}

void check_codes_used(const std::vector<Shot>& shots, const SurveyCodes& codes, const std::string& file,
                      CappedProblems& problems) {
  const LineVocabulary words(codes.line_words);
  const auto check = [&](const std::string& code, const char* list) {
    const bool is_used = std::any_of(shots.begin(), shots.end(), [&](const Shot& shot) {
      return place_on_line(shot.description, code, words).has_value();
    });
    if (is_used) return;
    std::set<std::string> seen;
    for (const Shot& shot : shots) {
      if (seen.size() < 1000) seen.insert(head_of(shot.description, code));
    }
    seen.erase("");
    problems.add({Severity::warning, fmt::format("no shot has the {} code {}", list, code), file,
                  did_you_mean(code, {seen.begin(), seen.end()})});
  };
  for (const std::string& code : codes.breaklines) check(code, "breakline");
  for (const std::string& code : codes.skip) check(code, "skip");
}

/// A point's name is written on a lath, a description is a remark from the field: what is longer was read wrongly.
void check_lengths(const ShotFile& file, CappedProblems& problems) {
  constexpr std::size_t longest_name = 120, longest_description = 500;
  const auto check = [&](const Shot& shot, const std::string& text, const char* what, std::size_t longest) {
    if (text.size() <= longest || letters_in(text) <= longest) return;
    problems.add(
        {Severity::error, fmt::format("{} has {} letters", what, letters_in(text)),
         fmt::format("{} line {}", file.name, shot.line),
         fmt::format("Shorten it to {} letters or fewer; where it is several fields, check the separators.", longest)});
  };
  for (const Shot& shot : file.shots) {
    check(shot, shot.point, "the name of the point", longest_name);
    check(shot, shot.description, "the description", longest_description);
  }
}

}  // namespace

std::string to_text(const LineName& name) {
  const bool has_words = name.code.find(' ') != std::string::npos;
  return name.code + (has_words && !name.number.empty() ? " " : "") + name.number;
}

Survey sort_survey(const ShotFile& survey, const std::vector<ShotFile>& line_files, const SurveyCodes& codes,
                   CappedProblems& problems, const LotPlaces& lot) {
  check_codes_apart(codes, problems);
  check_lengths(survey, problems);
  for (const ShotFile& file : line_files) check_lengths(file, problems);
  Sorter sorter(survey, codes, lot, problems);
  sorter.sort();
  for (const ShotFile& file : line_files) sorter.add_line_file(file);
  sorter.finish();
  if (!survey.shots.empty()) {
    check_codes_used(survey.shots, codes, survey.name, problems);
    if (sorter.survey.ground_shots.empty()) {
      problems.add({Severity::error, "every shot has a code that is skipped: no ground is left", survey.name,
                    "Check the skip codes of the job."});
    }
  }
  return std::move(sorter.survey);
}

}  // namespace moundwright::io

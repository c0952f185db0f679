#include "io/shots_csv.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>
#include <utility>

#include "io/ascii.h"
#include "io/csv_text.h"
#include "io/field_number.h"
#include "io/nearest_word.h"
#include "io/plain_text.h"
#include "io/survey_closing.h"
#include "io/survey_columns.h"
#include "io/survey_opening.h"
#include "io/text_file.h"

namespace moundwright::io {
namespace {

constexpr std::size_t nowhere = static_cast<std::size_t>(-1);

/// Which field of a record holds each column; `nowhere` for none.
using Layout = std::array<std::size_t, column_count>;

constexpr std::array<Column, 3> place_columns = {northing, easting, elevation};

Problem number_problem(NumberFault fault, std::string_view column, std::string_view text, std::string where) {
  const auto problem = [&](std::string what, const char* what_to_do) {
    return Problem{Severity::error, std::move(what), std::move(where), what_to_do};
  };
  const std::string shown = excerpt(text);
  switch (fault) {
    case NumberFault::none:
    case NumberFault::comma:  // told once, for the whole file
    case NumberFault::empty:
      return problem(fmt::format("the {} is missing", column), "Give it, or take the line out.");
    case NumberFault::not_finite:
      return problem(fmt::format("the {} is not a finite number: \"{}\"", column, shown),
                     "Write a decimal number, such as 100.20.");
    case NumberFault::text:
      break;
  }
  return problem(fmt::format("the {} is not a number: \"{}\"", column, shown),
                 "Write a decimal number, such as 100.20.");
}

/// A number of the file that showed something, and where.
struct Sighting {
  int line = 0;
  Column column = northing;
  std::string text;
};

/// The first number of each kind that a file has.
struct CommaSightings {
  std::optional<Sighting> thousands, decimal, point, some_point, either;

  void add(CommaUse use, const Sighting& seen) {
    const auto keep = [&](std::optional<Sighting>& first) {
      if (!first) first = seen;
    };
    if (use == CommaUse::thousands) keep(thousands);
    if (use == CommaUse::decimal) keep(decimal);
    if (use == CommaUse::point) keep(point);
    if (use == CommaUse::some_point) keep(some_point);
    if (use == CommaUse::either) keep(either);
  }
};

/// Unit marks that are not the job's: the first, and how many.
struct OtherUnit {
  Sighting first;
  std::size_t count = 0;
};

/// Reads one file; problems go to the common report.
class ShotsReader {
 public:
  /// `name_before` stands before the line in the names of points that have no numbers.
  ShotsReader(std::string_view text, const std::string& file, const ShotsOptions& options, std::string name_before,
              CappedProblems& problems)
      : text_(text),
        file_(file),
        columns_(options.columns),
        unit_(options.unit),
        name_before_(std::move(name_before)),
        problems_(problems) {}

  std::vector<Shot> read() {
    if (!is_text()) return {};
    opening_ = opening_of(text_, !columns_.empty());
    std::vector<Shot> shots;
    shots.reserve(text_.size() / 24);  // a line is seldom shorter
    if (lay_out() && tell_order_unknown()) read_rows(shots);
    for (const CsvFault& fault : opening_.rows.faults()) error(fault.what, fault.line, {}, fault.what_to_do);
    if (shots.empty() && !told_) error("there are no shots in it", 0, {}, "Check that this is the survey's file.");
    tell_other_units();
    tell_what_was_assumed(shots);
    return shots;
  }

  /// How northing and easting are exchanged: as the file or the job says which column is which.
  std::string to_exchange() const {
    std::string headings = opening_.header ? fmt::format("exchange the headings \"{}\" and \"{}\" in {} line {}",
                                                         heading(northing), heading(easting), file_, header_line())
                                           : std::string();
    std::string order;
    const std::vector<std::string> usual = {"point", "northing", "easting", "elevation", "description"};
    for (const std::string& word : columns_.empty() ? usual : columns_) {
      const std::optional<Column> column = column_of(word);
      order += fmt::format("{}\"{}\"", order.empty() ? "" : ", ",
                           column == northing  ? "easting"
                           : column == easting ? "northing"
                                               : word);
    }
    if (columns_.empty() && opening_.header) return headings;
    return fmt::format("{}{}write in the job: [ground] columns = [{}]", headings, headings.empty() ? "" : " and ",
                       order);
  }

 private:
  std::string heading(Column column) const {
    const std::size_t at = layout_[column];
    return at < opening_.header->fields.size() ? excerpt(opening_.header->fields[at])
                                               : std::string(column_names[column]);
  }

  void error(std::string what, int line, std::string_view column, std::string what_to_do) {
    told_ = true;
    problems_.add({Severity::error, std::move(what), where(line, column), std::move(what_to_do)});
  }

  void note(std::string what, int line, std::string what_to_do = {}) {
    problems_.add({Severity::note, std::move(what), where(line, {}), std::move(what_to_do)});
  }

  std::string where(int line, std::string_view column) const {
    std::string text = file_;
    if (line > 0) text += fmt::format(" line {}", line);
    if (!column.empty()) text += fmt::format(", column {}", column);
    return text;
  }

  bool is_text() {
    if (text_.empty()) error("the file is empty", 0, {}, "Export the survey again.");
    names_may_be_bad_ = !is_plain_ascii(text_);
    if (!names_may_be_bad_) return !told_;
    Problems notes;
    try {
      converted_ = converted_to_utf8(text_, file_, notes);
      if (converted_) text_ = *converted_;
    } catch (const Refusal& refusal) {
      told_ = true;
      notes.all = refusal.problems();
    }
    for (const Problem& problem : notes.all) problems_.add(problem);
    return !told_;
  }

  // --- which field holds what ---

  /// From the header and `columns`. False if that cannot be told.
  bool lay_out() {
    std::vector<std::optional<Column>> held = columns_given();
    if (opening_.header) {
      merge_header(*opening_.header, held);
    } else if (columns_.empty()) {
      held = {point, northing, easting, elevation, description};
    }
    layout_.fill(nowhere);
    for (std::size_t i = 0; i < held.size(); ++i) {
      if (!held[i]) continue;
      if (layout_[*held[i]] != nowhere) {
        error(fmt::format("two columns, {} and {}, hold the {}", layout_[*held[i]] + 1, i + 1, column_names[*held[i]]),
              header_line(), column_names[*held[i]], "Name one of them otherwise.");
      }
      layout_[*held[i]] = i;
    }
    for (const Column column : place_columns) {
      if (layout_[column] == nowhere) missing_column(column_names[column]);
    }
    const bool description_is_last = layout_[description] != nowhere &&
                                     *std::max_element(layout_.begin(), layout_.end(), before) == layout_[description];
    if (opening_.separator == ' ' && description_is_last) opening_.rows.take_rest_as(layout_[description]);
    return !told_;
  }

  static bool before(std::size_t a, std::size_t b) { return b != nowhere && (a == nowhere || a < b); }

  int header_line() const { return opening_.header ? opening_.header->line : 0; }

  std::vector<std::optional<Column>> columns_given() {
    std::vector<std::optional<Column>> held;
    for (const std::string& word : columns_) {
      held.push_back(column_of(word));
      if (!held.back() && word != "ignore") {
        std::vector<std::string> known(column_names.begin(), column_names.end());
        known.emplace_back("ignore");
        error(fmt::format("the job's columns have a word that names no column: \"{}\"", word), 0, {},
              did_you_mean(word, known));
      }
    }
    return held;
  }

  void merge_header(const SurveyRecord& header, std::vector<std::optional<Column>>& held) {
    if (held.size() < header.fields.size()) held.resize(header.fields.size());
    const std::vector<std::optional<Column>> named = columns_of(header.fields);
    for (std::size_t i = 0; i < header.fields.size(); ++i) {
      const std::string& heading = header.fields[i];
      const std::optional<Column> said = named[i];
      if (held[i] && said && *held[i] != *said) {
        error(fmt::format("column {} is \"{}\" by the header but {} by the job's columns", i + 1, excerpt(heading),
                          column_names[*held[i]]),
              header.line, column_names[*held[i]], "Correct the one that is wrong, or leave columns out of the job.");
      }
      if (!held[i] && (i >= columns_.size() || columns_[i] != "ignore")) held[i] = said;
      if (held[i] && *held[i] != point && *held[i] != description) {
        check_unit(heading_unit(heading), {header.line, *held[i], heading});
      }
    }
  }

  void missing_column(std::string_view name) {
    if (!opening_.header) {
      error(fmt::format("the job's columns have no {}", name), 0, name, "Name the column that holds it.");
      return;
    }
    const auto& headings = opening_.header->fields;
    if (std::any_of(headings.begin(), headings.end(), is_in_degrees) && name != column_names[elevation]) {
      if (!std::exchange(told_degrees_, true)) {
        error(
            "the header has latitude or longitude: those are degrees, and no distances on the lot", header_line(), {},
            fmt::format("Export the survey in northing and easting on a projected grid, such as a state plane zone, in "
                        "{}.",
                        symbol(unit_)));
      }
      return;
    }
    std::string words;
    for (const std::string& field : headings) words += fmt::format("{}{}", words.empty() ? "" : ", ", excerpt(field));
    error(fmt::format("the header names no column for the {}: {}", name, words), header_line(), name,
          fmt::format("Head that column \"{}\".", name));
  }

  /// Where neither a header nor `columns` gives the order, it is the usual one; but not against what the first shots
  /// show. False, and told, where they show another.
  bool tell_order_unknown() {
    if (opening_.first.empty() || opening_.header || !columns_.empty()) return true;
    const SurveyRecord& first = opening_.first.front();
    const auto all = [&](const auto& is_so) {
      return std::all_of(opening_.first.begin(), opening_.first.end(),
                         [&](const SurveyRecord& record) { return is_closing_line(record) || is_so(record.fields); });
    };
    const auto use = [](const std::vector<std::string>& fields, std::size_t i) {
      return i < fields.size() ? comma_use(fields[i]) : CommaUse::not_a_number;
    };
    const auto has_point = [](CommaUse seen) { return seen == CommaUse::point || seen == CommaUse::some_point; };
    if (first.fields.size() >= place_columns.size() && count_numbers(first.fields) == 0) {
      error(fmt::format("this line holds no shot, and names no column that is known: {}",
                        excerpt(fmt::format("{}", fmt::join(first.fields, ", ")))),
            first.line, {},
            "Head the columns point, northing, easting, elevation and description; or put a # before the line.");
    } else if (all([&](const auto& f) { return f.size() == 3 && count_numbers(f) == 3; }) ||
               all([&](const auto& f) { return has_point(use(f, 0)) && use(f, 1) != CommaUse::not_a_number; })) {
      error(fmt::format("the points seem to have no numbers, and nothing says which column holds what: {}",
                        excerpt(fmt::format("{}", fmt::join(first.fields, ", ")))),
            first.line, {},
            "Give the file a header, or the job's [ground] columns = [\"northing\", \"easting\", \"elevation\"] in the "
            "order they stand in.");
    }
    return !told_;
  }

  // --- units ---

  void check_unit(UnitMark mark, const Sighting& seen) {
    const UnitAgreement agreed = agreement(mark, unit_);
    if (agreed == UnitAgreement::agrees) return;
    OtherUnit& other = agreed == UnitAgreement::differs ? other_unit_ : other_foot_;
    if (other.count++ == 0) other.first = seen;
  }

  void tell_other_units() {
    const auto told = [&](const OtherUnit& other) {
      const std::string more = other.count > 1 ? fmt::format(", and {} more", other.count - 1) : "";
      return fmt::format("\"{}\" is not in the job's unit, {}{}", excerpt(other.first.text), symbol(unit_), more);
    };
    if (other_unit_.count > 0) {
      error(told(other_unit_), other_unit_.first.line, column_names[other_unit_.first.column],
            "Correct units under [job], or export the survey in that unit.");
    }
    if (other_foot_.count > 0) {
      problems_.add({Severity::warning, told(other_foot_),
                     where(other_foot_.first.line, column_names[other_foot_.first.column]),
                     "International and US survey feet differ by 2 parts in a million: correct units under [job]."});
    }
  }

  // --- commas ---

  void for_each_number(CsvReader rows, const auto& meet) const {
    std::vector<CsvField> fields;
    while (rows.next(fields)) {
      for (const Column column : place_columns) {
        if (layout_[column] < fields.size()) meet(fields[layout_[column]], column);
      }
    }
  }

  /// How the file uses its commas, from all of its numbers. Told, since another file may have it otherwise.
  Commas find_commas() {
    CommaSightings seen;
    for_each_number(rows_, [&](const CsvField& field, Column column) {
      const CommaUse use = comma_use(field.text);
      if (use != CommaUse::none && use != CommaUse::not_a_number) {
        seen.add(use, {field.line, column, std::string(field.text)});
      }
    });
    const auto& against = seen.thousands ? seen.thousands : seen.point ? seen.point : seen.some_point;
    if (seen.decimal && against) {
      error(fmt::format("\"{}\" has a decimal comma, but \"{}\" on line {} a decimal point",
                        excerpt(seen.decimal->text), excerpt(against->text), against->line),
            seen.decimal->line, column_names[seen.decimal->column], "Write all numbers with decimal points.");
      return Commas::none;
    }
    if (!seen.decimal && !seen.thousands && !seen.point) {
      error(
          fmt::format("\"{}\" may have a decimal comma or one between thousands, and no number of the file tells which",
                      excerpt(seen.either->text)),
          seen.either->line, column_names[seen.either->column], "Write decimal points, and no other commas.");
      return Commas::none;
    }
    const auto& shows = seen.decimal ? seen.decimal : seen.thousands ? seen.thousands : seen.either;
    const Commas commas = seen.decimal ? Commas::decimal : Commas::thousands;
    note(fmt::format("the numbers have commas {}: \"{}\" is read as {}",
                     commas == Commas::decimal ? "for decimal points" : "between thousands", excerpt(shows->text),
                     read_number(shows->text, commas).value),
         shows->line);
    return commas;
  }

  FieldNumber number_of(std::string_view text) {
    FieldNumber number = read_number(text, commas_.value_or(Commas::none));
    if (number.fault == NumberFault::comma && !commas_) {
      commas_ = find_commas();
      number = read_number(text, *commas_);
    }
    return number;
  }

  // --- rows ---

  void read_rows(std::vector<Shot>& shots) {
    rows_ = opening_.rows;
    if (has_split_numbers()) return;
    std::vector<CsvField> fields;
    bool is_first = opening_.header.has_value();
    while (opening_.rows.next(fields)) {
      if (is_first && is_line_of_units(record_of(fields))) {
        check_line_of_units(record_of(fields));
      } else {
        read_shot(fields, shots);
      }
      is_first = false;
    }
  }

  /// Decimal commas in a file whose fields are separated by commas, too: every number falls into two whole ones.
  bool has_split_numbers() {
    if (opening_.separator != ',') return false;
    const std::size_t before = layout_[point] == 0 ? 1 : 0, behind = before + 2 * place_columns.size();
    const std::size_t named = opening_.header ? opening_.header->fields.size() : before + place_columns.size();
    const auto is_split = [&](const SurveyRecord& record) {
      const auto& fields = record.fields;
      if (fields.size() < std::max(named + place_columns.size(), behind)) return false;
      return std::all_of(fields.begin() + static_cast<std::ptrdiff_t>(before),
                         fields.begin() + static_cast<std::ptrdiff_t>(behind),
                         [](const std::string& field) { return comma_use(field) == CommaUse::none; });
    };
    const auto split = std::count_if(opening_.first.begin(), opening_.first.end(), is_split);
    // Without a header the fields behind may hold whole numbers of any other kind, in one line or another.
    const auto enough = opening_.header ? 1 : std::ssize(opening_.first);
    if (split == 0 || split < enough) return false;
    error("the numbers seem to have decimal commas, and commas stand between the fields as well",
          opening_.first.front().line, {},
          "Export the survey with semicolons between the fields, or with decimal points.");
    return true;
  }

  void check_line_of_units(const SurveyRecord& record) {
    for (const Column column : place_columns) {
      if (layout_[column] >= record.fields.size()) continue;
      const std::string& field = record.fields[layout_[column]];
      check_unit(lone_unit(field).value_or(UnitMark::none), {record.line, column, field});
    }
  }

  void read_shot(const std::vector<CsvField>& fields, std::vector<Shot>& shots) {
    Shot shot;
    shot.line = fields.front().line;
    std::array<NumberFault, column_count> faults{};
    bool good = true;
    const auto number = [&](Column column, double& value) {
      const CsvField* cell = field(fields, column);
      const FieldNumber read = cell ? number_of(cell->text) : FieldNumber{0, NumberFault::empty};
      value = read.value;
      faults[column] = read.fault;
      good = good && read.fault == NumberFault::none;
      if (read.mark != UnitMark::none) check_unit(read.mark, {cell->line, column, std::string(cell->text)});
    };
    if (layout_[point] == nowhere) {
      shot.point = fmt::format("{}line {}", name_before_, shot.line);
    } else if (const CsvField* name = field(fields, point); name && !name->text.empty()) {
      shot.point = name->text;
    } else {
      good = false, faults[point] = NumberFault::empty;
    }
    number(northing, shot.northing);
    number(easting, shot.easting);
    number(elevation, shot.elevation);
    if (const CsvField* words = field(fields, description)) shot.description = words->text;
    if (good && names_are_good(shot) && ends_as_it_should(shot)) {
      tell_closing_lines_between();
      shots.push_back(std::move(shot));
    } else if (!good && !repeats_header(fields) && !may_close(fields, faults)) {
      tell(faults, fields);
    }
  }

  const CsvField* field(const std::vector<CsvField>& fields, Column column) const {
    return layout_[column] < fields.size() ? &fields[layout_[column]] : nullptr;
  }

  /// Names and codes go into files that cannot hold every character.
  bool names_are_good(const Shot& shot) {
    if (!names_may_be_bad_) return true;
    const auto is_good = [&](const std::string& text, Column column) {
      const auto bad = forbidden_character(text, true);
      if (bad) {
        error(fmt::format("the {} holds {}: \"{}\"", column_names[column], *bad, excerpt(text)), shot.line,
              column_names[column], "Take it out.");
      }
      return !bad;
    };
    const bool good_point = is_good(shot.point, point);
    return is_good(shot.description, description) && good_point;
  }

  /// Where blanks separate the fields, a name of two words shifts all that follow it by one.
  bool ends_as_it_should(const Shot& shot) {
    if (opening_.separator != ' ' || shot.description.empty()) return true;
    std::string_view words = shot.description;
    const CommaUse use = comma_use(take_word(words));
    if (use == CommaUse::not_a_number || use == CommaUse::none) return true;
    error(fmt::format("a number follows the elevation: \"{}\"", excerpt(shot.description)), shot.line, {},
          "If the point's name has a blank in it, put the name in quotes, or export with commas between the fields.");
    return false;
  }

  void tell(const std::array<NumberFault, column_count>& faults, const std::vector<CsvField>& fields) {
    for (const Column column : {point, northing, easting, elevation}) {
      if (faults[column] != NumberFault::none) tell(faults[column], column, field(fields, column), fields);
    }
  }

  void tell(NumberFault fault, Column column, const CsvField* cell, const std::vector<CsvField>& fields) {
    if (fault == NumberFault::comma) return;  // told once, for the whole file
    told_ = true;
    problems_.add(Severity::error, [&] {
      const std::string place = where(cell ? cell->line : fields.back().line, column_names[column]);
      if (!cell) {
        return Problem{
            Severity::error,
            fmt::format("the {} is missing: the line has {} field{}, and it would be number {}", column_names[column],
                        fields.size(), fields.size() == 1 ? "" : "s", layout_[column] + 1),
            place, "Complete the line or take it out; check the separators if every line says this."};
      }
      return number_problem(fault, column_names[column], cell->text, place);
    });
  }

  // --- lines that hold no shot ---

  /// The header again, as at the head of each page, or the units under it.
  bool repeats_header(const std::vector<CsvField>& fields) {
    if (!opening_.header || opening_.header_is_comment) return false;
    SurveyRecord record = record_of(fields);
    if (opening_.separator == ' ') record.fields = joined_headings(record.fields);
    const auto& header = opening_.header->fields;
    const bool is_header = std::equal(header.begin(), header.end(), record.fields.begin(), record.fields.end(),
                                      [](const std::string& a, const std::string& b) { return same_letters(a, b); });
    const bool is_units =
        !repeated_headers_.empty() && repeated_headers_.back() + 1 == record.line && is_line_of_units(record);
    if (is_header) repeated_headers_.push_back(record.line);
    return is_header || is_units;
  }

  /// Keeps a line that may close the file: with such words in it, and of northing, easting and elevation one at most.
  bool may_close(const std::vector<CsvField>& fields, const std::array<NumberFault, column_count>& faults) {
    const auto numbers = std::count_if(place_columns.begin(), place_columns.end(),
                                       [&](Column column) { return faults[column] == NumberFault::none; });
    SurveyRecord record = record_of(fields);
    constexpr std::size_t most_closing = 5;
    if (numbers > 1 || closing_.size() == most_closing || !is_closing_line(record)) return false;
    closing_.push_back(std::move(record));
    return true;
  }

  /// They did not close it: a shot follows.
  void tell_closing_lines_between() {
    for (const SurveyRecord& record : closing_) {
      error(fmt::format("this line holds no shot, and shots follow it: \"{}\"", text_of(record)), record.line, {},
            "Take it out, or put a # before it.");
    }
    closing_.clear();
  }

  static std::string text_of(const SurveyRecord& record) {
    return excerpt(fmt::format("{}", fmt::join(record.fields, " ")));
  }

  void tell_what_was_assumed(const std::vector<Shot>& shots) {
    if (told_) return;
    for (const SurveyRecord& title : opening_.titles) {
      note(fmt::format("this line is taken for a title: \"{}\"", text_of(title)), title.line);
    }
    if (!repeated_headers_.empty()) {
      const std::size_t more = repeated_headers_.size() - 1;
      note("the header is repeated here" + (more > 0 ? fmt::format(", and {} more times", more) : "") +
               "; it is passed over",
           repeated_headers_.front());
    }
    if (opening_.header_is_comment) note("the header is taken from behind the #", header_line());
    for (const SurveyRecord& record : closing_) {
      const auto counted = points_counted(record);
      if (counted && *counted != shots.size()) {
        problems_.add({Severity::warning,
                       fmt::format("the file says \"{}\", but holds {} shot{}", text_of(record), shots.size(),
                                   shots.size() == 1 ? "" : "s"),
                       where(record.line, {}), "Check that the file is whole."});
      } else {
        note(fmt::format("this line is taken for the end of the list: \"{}\"", text_of(record)), record.line);
      }
    }
    if (layout_[point] == nowhere && !shots.empty()) {
      note(
          fmt::format("the points have no numbers: they are named by their lines, such as \"{}\"", shots.front().point),
          0);
    }
  }

  std::string_view text_;
  const std::string& file_;
  const std::vector<std::string>& columns_;
  LengthUnit unit_;
  std::string name_before_;
  CappedProblems& problems_;
  std::optional<std::string> converted_;  // the text, where it was not UTF-8
  bool names_may_be_bad_ = false;
  SurveyOpening opening_;
  CsvReader rows_{{}, ','};  // from the first row on, to look at all numbers
  Layout layout_{};
  std::optional<Commas> commas_;  // once a comma was met
  OtherUnit other_unit_, other_foot_;
  std::vector<SurveyRecord> closing_;
  bool told_degrees_ = false;
  std::vector<int> repeated_headers_;  // lines
  bool told_ = false;                  // an error of this file
};

ShotFile shots_of(std::string_view text, std::string name, const ShotsOptions& options, bool is_the_survey,
                  CappedProblems& problems) {
  ShotFile file{std::move(name), {}};
  const std::string name_before = is_the_survey ? "" : file.name + " ";
  ShotsReader reader(text, file.name, options, name_before, problems);
  file.shots = reader.read();
  if (!file.shots.empty()) file.to_exchange = reader.to_exchange();
  return file;
}

std::string text_or_problem(const std::filesystem::path& path, CappedProblems& problems, bool& good) {
  try {
    return read_file(path);
  } catch (const Refusal& refusal) {
    good = false;
    for (const Problem& problem : refusal.problems()) problems.add(problem);
    return {};
  }
}

std::vector<ShotFile> line_files_of(const ShotsOptions& options, CappedProblems& problems) {
  std::vector<ShotFile> files;
  for (const std::filesystem::path& path : options.breakline_files) {
    bool good = true;
    const std::string text = text_or_problem(path, problems, good);
    if (good) files.push_back(shots_of(text, readable_name(path), options, false, problems));
  }
  return files;
}

Survey sorted(const ShotFile& file, const ShotsOptions& options, CappedProblems& problems) {
  Survey survey = sort_survey(file, line_files_of(options, problems), options.codes, problems, options.lot);
  survey.notes = problems.report();
  survey.notes.throw_if_errors();
  return survey;
}

}  // namespace

std::string_view column_named(std::string_view word) {
  const std::optional<Column> column = column_of(word);
  return column ? column_names[*column] : std::string_view();
}

Survey shots_from_csv(std::string_view csv, const std::string& file_name, const ShotsOptions& options) {
  CappedProblems problems;
  return sorted(shots_of(csv, file_name, options, true, problems), options, problems);
}

Survey read_shots(const std::filesystem::path& path, const ShotsOptions& options) {
  CappedProblems problems;
  bool good = true;
  const std::string text = text_or_problem(path, problems, good);
  const std::string name = readable_name(path);
  return sorted(good ? shots_of(text, name, options, true, problems) : ShotFile{name, {}}, options, problems);
}

}  // namespace moundwright::io

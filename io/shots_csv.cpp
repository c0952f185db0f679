#include "io/shots_csv.h"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <optional>

#include "io/ascii.h"
#include "io/csv_text.h"
#include "io/nearest_word.h"
#include "io/text_file.h"

namespace moundwright {
namespace {

enum Column : std::size_t { point, northing, easting, elevation, description, column_count };

constexpr std::array<std::string_view, column_count> column_names = {"point", "northing", "easting", "elevation",
                                                                     "description"};

constexpr std::size_t nowhere = static_cast<std::size_t>(-1);

/// Which field of a record holds each column; `nowhere` for none.
using Layout = std::array<std::size_t, column_count>;

struct ColumnWord {
  std::string_view word;
  Column column;
};

constexpr ColumnWord column_words[] = {
    {"point", point},
    {"pt", point},
    {"no", point},
    {"number", point},
    {"name", point},
    {"id", point},
    {"pointno", point},
    {"ptno", point},
    {"pointnumber", point},
    {"pointname", point},
    {"pointid", point},
    {"northing", northing},
    {"north", northing},
    {"n", northing},
    {"y", northing},
    {"easting", easting},
    {"east", easting},
    {"e", easting},
    {"x", easting},
    {"elevation", elevation},
    {"elev", elevation},
    {"z", elevation},
    {"description", description},
    {"desc", description},
    {"descr", description},
    {"code", description},
};

/// The letters of a header word, up to a bracket: "Pt. No" and "Northing (ft)" are ptno and northing.
std::string letters_of(std::string_view word) {
  std::string letters;
  for (const char c : word.substr(0, word.find_first_of("([{"))) {
    if (is_letter(c)) letters += lower(c);
  }
  return letters;
}

std::optional<Column> column_of(std::string_view word) {
  const std::string letters = letters_of(word);
  for (const ColumnWord& known : column_words) {
    if (known.word == letters) return known.column;
  }
  return std::nullopt;
}

enum class NumberFault { none, empty, text, decimal_comma, not_finite };

struct Number {
  double value = 0;
  NumberFault fault = NumberFault::none;
};

Number to_number(std::string_view text) {
  if (text.empty()) return {0, NumberFault::empty};
  const bool plus = text.size() > 1 && text[0] == '+' && text[1] != '-';
  const std::string_view digits = plus ? text.substr(1) : text;  // from_chars takes no plus
  const char* end = digits.data() + digits.size();
  Number number;
  const auto [stop, error] = std::from_chars(digits.data(), end, number.value);
  if (error == std::errc::result_out_of_range && stop == end) return {0, NumberFault::not_finite};
  if (error != std::errc() || stop != end) {
    return {0, text.find(',') == std::string_view::npos ? NumberFault::text : NumberFault::decimal_comma};
  }
  if (!std::isfinite(number.value)) number.fault = NumberFault::not_finite;
  return number;
}

Problem number_problem(NumberFault fault, std::string_view column, std::string_view text, std::string where) {
  const std::string shown(text.substr(0, 40));
  switch (fault) {
    case NumberFault::none:
    case NumberFault::empty:
      return {Severity::error, fmt::format("the {} is missing", column), std::move(where),
              "Give it, or take the line out."};
    case NumberFault::decimal_comma:
      return {Severity::error, fmt::format("the {} has a comma in it: \"{}\"", column, shown), std::move(where),
              "Write a decimal point, and no commas between thousands."};
    case NumberFault::not_finite:
      return {Severity::error, fmt::format("the {} is not a finite number: \"{}\"", column, shown), std::move(where),
              "Write a decimal number, such as 100.20."};
    case NumberFault::text:
      break;
  }
  return {Severity::error, fmt::format("the {} is not a number: \"{}\"", column, shown), std::move(where),
          "Write a decimal number, such as 100.20."};
}

/// Reads one file; problems go to the common report.
class ShotsReader {
 public:
  ShotsReader(std::string_view text, const std::string& file, const std::vector<std::string>& columns,
              CappedProblems& problems)
      : text_(text), file_(file), columns_(columns), problems_(problems), csv_(text, detect_separator(text)) {}

  std::vector<Shot> read() {
    if (!is_text()) return {};
    std::vector<Shot> shots;
    shots.reserve(text_.size() / 24);  // a line is seldom shorter
    std::vector<CsvField> fields;
    const bool has_records = csv_.next(fields);
    has_header_ = has_records && is_header(fields);
    if (has_records && lay_out(fields)) {
      if (!has_header_) read_shot(fields, shots);
      while (csv_.next(fields)) read_shot(fields, shots);
    }
    for (const CsvFault& fault : csv_.faults()) error(fault.what, fault.line, {}, fault.what_to_do);
    if (shots.empty() && !told_) error("there are no shots in it", 0, {}, "Check that this is the survey's file.");
    return shots;
  }

 private:
  void error(std::string what, int line, std::string_view column, std::string what_to_do) {
    told_ = true;
    problems_.add({Severity::error, std::move(what), where(line, column), std::move(what_to_do)});
  }

  std::string where(int line, std::string_view column) const {
    std::string text = file_;
    if (line > 0) text += fmt::format(" line {}", line);
    if (!column.empty()) text += fmt::format(", column {}", column);
    return text;
  }

  bool is_text() {
    if (text_.empty()) {
      error("the file is empty", 0, {}, "Export the survey again.");
    } else if (text_.starts_with("\xFF\xFE") || text_.starts_with("\xFE\xFF")) {
      error("the file is UTF-16 text", 0, {}, "Save it as CSV in UTF-8.");
    } else if (text_.find('\0') != std::string_view::npos) {
      error("the file is not text", 0, {}, "Export the survey as CSV.");
    } else {
      return true;
    }
    return false;
  }

  /// A header has a word that we know and no field that is a number.
  static bool is_header(const std::vector<CsvField>& fields) {
    bool known = false;
    for (const CsvField& field : fields) {
      if (to_number(field.text).fault == NumberFault::none) return false;
      known |= column_of(field.text).has_value();
    }
    return known;
  }

  /// Finds which field holds what, from the header and `columns`. False if that cannot be told.
  bool lay_out(const std::vector<CsvField>& first) {
    std::vector<std::optional<Column>> held = columns_given();
    if (has_header_) {
      merge_header(first, held);
    } else if (columns_.empty()) {
      held = {point, northing, easting, elevation, description};
    }
    layout_.fill(nowhere);
    for (std::size_t i = 0; i < held.size(); ++i) {
      if (!held[i]) continue;
      if (layout_[*held[i]] != nowhere) {
        error(fmt::format("two columns, {} and {}, hold the {}", layout_[*held[i]] + 1, i + 1, column_names[*held[i]]),
              has_header_ ? first.front().line : 0, column_names[*held[i]], "Name one of them otherwise.");
      }
      layout_[*held[i]] = i;
    }
    for (std::size_t c = point; c < description; ++c) {
      if (layout_[c] == nowhere) missing_column(first, column_names[c]);
    }
    return !told_;
  }

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

  void merge_header(const std::vector<CsvField>& header, std::vector<std::optional<Column>>& held) {
    if (held.size() < header.size()) held.resize(header.size());
    for (std::size_t i = 0; i < header.size(); ++i) {
      const std::optional<Column> said = column_of(header[i].text);
      if (held[i] && said && *held[i] != *said) {
        error(fmt::format("column {} is \"{}\" by the header but {} by the job's columns", i + 1, header[i].text,
                          column_names[*held[i]]),
              header[i].line, column_names[*held[i]],
              "Correct the one that is wrong, or leave columns out of the job.");
      }
      if (!held[i] && (i >= columns_.size() || columns_[i] != "ignore")) held[i] = said;
    }
  }

  void missing_column(const std::vector<CsvField>& first, std::string_view name) {
    if (!has_header_) {
      error(fmt::format("the job's columns have no {}", name), 0, name, "Name the column that holds it.");
      return;
    }
    std::string words;
    for (const CsvField& field : first)
      words += fmt::format("{}{}", words.empty() ? "" : ", ", field.text.substr(0, 40));
    error(fmt::format("the header names no column for the {}: {}", name, words), first.front().line, name,
          fmt::format("Head that column \"{}\".", name));
  }

  void read_shot(const std::vector<CsvField>& fields, std::vector<Shot>& shots) {
    Shot shot;
    shot.line = fields.front().line;
    bool good = true;
    const auto field = [&](Column column) -> const CsvField* {
      return layout_[column] < fields.size() ? &fields[layout_[column]] : nullptr;
    };
    const auto number = [&](Column column, double& value) {
      const CsvField* cell = field(column);
      const Number read = cell ? to_number(cell->text) : Number{0, NumberFault::empty};
      value = read.value;
      if (read.fault != NumberFault::none) good = false, tell(read.fault, column, cell, fields);
    };
    const CsvField* name = field(point);
    if (name && !name->text.empty()) {
      shot.point = name->text;
    } else {
      good = false, tell(NumberFault::empty, point, name, fields);
    }
    number(northing, shot.northing);
    number(easting, shot.easting);
    number(elevation, shot.elevation);
    if (const CsvField* words = field(description)) shot.description = words->text;
    if (good) shots.push_back(std::move(shot));
  }

  void tell(NumberFault fault, Column column, const CsvField* cell, const std::vector<CsvField>& fields) {
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

  std::string_view text_;
  const std::string& file_;
  const std::vector<std::string>& columns_;
  CappedProblems& problems_;
  CsvReader csv_;
  Layout layout_{};
  bool has_header_ = false;
  bool told_ = false;  // an error of this file
};

ShotFile shots_of(std::string_view text, std::string name, const ShotsOptions& options, CappedProblems& problems) {
  ShotFile file{std::move(name), {}};
  file.shots = ShotsReader(text, file.name, options.columns, problems).read();
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
    if (good) files.push_back(shots_of(text, path.filename().string(), options, problems));
  }
  return files;
}

Survey sorted(const ShotFile& file, const ShotsOptions& options, CappedProblems& problems) {
  Survey survey = sort_survey(file, line_files_of(options, problems), options.codes, problems);
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
  return sorted(shots_of(csv, file_name, options, problems), options, problems);
}

Survey read_shots(const std::filesystem::path& path, const ShotsOptions& options) {
  CappedProblems problems;
  bool good = true;
  const std::string text = text_or_problem(path, problems, good);
  const std::string name = path.filename().string();
  return sorted(good ? shots_of(text, name, options, problems) : ShotFile{name, {}}, options, problems);
}

}  // namespace moundwright

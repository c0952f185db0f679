#include "io/sieve_ticket.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <map>

#include "io/ascii.h"
#include "io/capped_problems.h"
#include "io/csv_text.h"
#include "io/plain_text.h"
#include "io/text_file.h"

namespace moundwright::io {
namespace {

enum class Column { passing, retained, percent_retained, cumulative };

std::string plain(std::string_view text) {
  std::string word;
  for (const char c : text) {
    if (c == '%' || c == '(' || c == ')' || c == '_' || c == ' ') continue;
    word += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
  return word;
}

std::string percent_spelled(std::string_view header) {
  std::string text;
  for (const char c : header) text += c == '%' ? std::string("percent") : std::string(1, c);
  return text;
}

std::optional<Column> column_of(std::string_view header) {
  static const std::map<std::string, Column> words = {{"passing", Column::passing},
                                                      {"percentpassing", Column::passing},
                                                      {"totalpassing", Column::passing},
                                                      {"retained", Column::retained},
                                                      {"weightretained", Column::retained},
                                                      {"retainedg", Column::retained},
                                                      {"retainedlb", Column::retained},
                                                      {"weightretainedg", Column::retained},
                                                      {"massretained", Column::retained},
                                                      {"massretainedg", Column::retained},
                                                      {"percentretained", Column::percent_retained},
                                                      {"individualpercentretained", Column::percent_retained},
                                                      {"cumulative", Column::cumulative},
                                                      {"cumulativepercentretained", Column::cumulative}};
  auto at = words.find(plain(header));
  if (at == words.end()) at = words.find(plain(percent_spelled(header)));
  if (at == words.end()) return std::nullopt;
  // "% retained" loses its mark above; it is of each sieve by itself, not a weight.
  const bool is_percent = header.find('%') != std::string_view::npos;
  return at->second == Column::retained && is_percent ? Column::percent_retained : at->second;
}

std::optional<double> number_in(std::string_view text) {
  if (text.ends_with('%')) text.remove_suffix(1);
  text = trimmed(text);
  double value = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool good = fault == std::errc{} && end == text.data() + text.size() && std::isfinite(value);
  return good ? std::optional(value) : std::nullopt;
}

/// A line that begins "#8" is a sieve and no comment.
std::string with_numbers_spelled(std::string_view csv) {
  std::string text;
  bool at_start = true;
  for (std::size_t i = 0; i < csv.size(); ++i) {
    const bool is_sieve = at_start && csv[i] == '#' && i + 1 < csv.size() && is_digit(csv[i + 1]);
    if (is_sieve) {
      text += "No. ";
    } else {
      text += csv[i];
    }
    at_start = csv[i] == '\n' || csv[i] == '\r' || (at_start && (csv[i] == ' ' || csv[i] == '\t'));
  }
  return text;
}

class Ticket {
 public:
  Ticket(std::string_view csv, const std::string& file)
      : file_(file), text_(with_numbers_spelled(csv)), reader_(text_, detect_separator(text_)) {}

  SieveTicket read() {
    std::vector<CsvField> fields;
    while (reader_.next(fields)) {
      if (!column_) {
        read_header(fields);
      } else {
        read_row(fields);
      }
    }
    for (const CsvFault& fault : reader_.faults()) error(fault.line, fault.what, fault.what_to_do);
    if (!column_) error(0, "the ticket is empty", "begin it with a header row: sieve,passing");
    problems_.report().throw_if_errors();
    Problems found;
    SieveTicket ticket = graded(found);
    for (Problem& problem : found.all) {
      problem.where = file_;
      problems_.add(std::move(problem));
    }
    problems_.report().throw_if_errors();
    return ticket;
  }

 private:
  std::string file_, text_;
  CsvReader reader_;
  std::optional<Column> column_;
  std::size_t sieve_at_ = 0, value_at_ = 0;
  std::vector<std::pair<double, double>> rows_;  // opening in mm, figure
  std::optional<double> pan_, whole_, washed_;
  CappedProblems problems_;

  void error(int line, std::string what, std::string what_to_do) {
    problems_.add({Severity::error, std::move(what), line > 0 ? fmt::format("{} line {}", file_, line) : file_,
                   std::move(what_to_do)});
  }

  void read_header(const std::vector<CsvField>& fields) {
    bool has_sieve = false;
    for (std::size_t i = 0; i < fields.size(); ++i) {
      const std::string word = plain(fields[i].text);
      if (word == "sieve" || word == "opening" || word == "size" || word == "sievesize" || word == "sieveno." ||
          word == "sievenumber") {
        sieve_at_ = i, has_sieve = true;
      } else if (const auto column = column_of(fields[i].text); column && !column_) {
        column_ = column, value_at_ = i;
      }
    }
    if (has_sieve && column_) return;
    error(fields.front().line, "the header row does not say what the columns are",
          "write  sieve,passing  or  sieve,retained  or  sieve,percent retained  or  sieve,cumulative");
    column_ = Column::passing;
    value_at_ = 1;
  }

  void set_once(std::optional<double>& place, double value, std::string_view row, int line) {
    if (place) return error(line, fmt::format("\"{}\" is there twice", row), "leave one of the two rows");
    place = value;
  }

  /// Which weight of the dry sample a row tells; null where it tells none.
  std::optional<double>* weighed_as(std::string_view word) {
    const auto says = [&](std::string_view part) { return word.find(part) != std::string_view::npos; };
    if (says("afterwash") || says("washeddry")) return &washed_;
    if (says("beforewash") || says("originaldry") || word == "total" || word == "totaldrymass") return &whole_;
    return nullptr;
  }

  void read_row(const std::vector<CsvField>& fields) {
    const int line = fields.front().line;
    if (fields.size() <= std::max(sieve_at_, value_at_)) {
      return error(line, "a figure is missing", "give the sieve and what passed it or stayed on it");
    }
    const std::string_view sieve = fields[sieve_at_].text, figure = fields[value_at_].text;
    const std::optional<double> value = number_in(figure);
    if (!value) return error(line, fmt::format("\"{}\" is not a number", figure), "write a number, such as 97.2");
    constexpr double greatest_figure = 1e9;  // grams of a sample of a thousand tons
    if (std::abs(*value) > greatest_figure) {
      return error(line, fmt::format("{:g} is beyond any sample", *value), "write grams or percent");
    }
    const std::string word = plain(sieve);
    if (word == "pan") {
      set_once(pan_, *value, sieve, line);
    } else if (std::optional<double>* weighed = weighed_as(word)) {
      set_once(*weighed, *value, sieve, line);
      if (!(*value > 0)) error(line, fmt::format("the sample weighs {:g}", *value), "give its dry weight");
    } else if (const auto opening = sieve_opening_mm(sieve)) {
      rows_.emplace_back(*opening, *value);
    } else {
      error(line, fmt::format("\"{}\" is no sieve", sieve),
            "write it as \"No. 4\", \"3/8 in\" or \"0.6 mm\"; whole inches and millimetres want their unit");
    }
  }

  /// Percentages are rounded, to a whole number at worst.
  void check_percent(Problems& found) const {
    double sum = pan_.value_or(0);
    for (const auto& [opening, value] : rows_) sum += value;
    constexpr double allowed = 1.0;
    if (std::abs(sum - 100) <= allowed) return;
    found.error(fmt::format("the percentages retained, with the pan, add up to {:g}", sum), "",
                sum > 100 ? "the ticket gains weight: are they cumulative? Then head the column  cumulative"
                          : "a row is missing, perhaps the pan");
  }

  SieveTicket graded(Problems& found) const {
    if (*column_ == Column::retained || *column_ == Column::percent_retained) {
      SieveSample sample;
      for (const auto& [opening, value] : rows_) sample.retained.push_back({opening, value});
      sample.pan = pan_.value_or(0);
      if (*column_ == Column::percent_retained) {
        check_percent(found);
        return {gradation_of(sample, found), {}};
      }
      sample.whole = whole_, sample.washed = washed_;
      return {gradation_of(sample, found), sample};
    }
    std::vector<SieveReading> readings;
    for (const auto& [opening, value] : rows_) {
      readings.push_back({opening, *column_ == Column::passing ? value : 100 - value});
    }
    return {gradation_from_passing(std::move(readings), found), {}};
  }
};

}  // namespace

SieveTicket sieve_ticket_from_csv(std::string_view csv, const std::string& file, Problems* notes) {
  Problems found;
  const std::string text = as_utf8(std::string(csv), file, found);
  if (notes) notes->append(found);
  return Ticket(text, file).read();
}

SieveTicket read_sieve_ticket(const std::filesystem::path& path, Problems* notes) {
  return sieve_ticket_from_csv(read_file(path), readable_name(path), notes);
}

}  // namespace moundwright::io

// A table of a TOML file that reports what is wrong with it: every problem with file, line and dotted key, all in one
// report. What job_toml.cpp and estimate_toml.cpp read with.
//
//   Table root(document, {}, report);
//   if (auto bed = root.table("bed", Need::required, "a table such as { length = 60.0 }")) {
//     auto length = bed->number("length", Need::required, Allowed::positive, "60.0");   // nullopt, and told, if wrong
//     bed->tell_unknown();
//   }
#pragma once

#include <toml++/toml.h>

#include <Eigen/Core>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "io/capped_problems.h"

namespace moundwright::io {

/// Letters in a text: a title or name has its place on every sheet, and fills a line of it at most. A file's path may
/// be as long as Linux takes it.
constexpr std::size_t longest_text = 120, longest_path = 4096;

enum class Need { optional, required };
enum class Allowed { any, not_negative, positive, azimuth, coordinate, elevation };

/// What all tables of one file share.
struct Report {
  std::string file;
  CappedProblems problems;
  bool has_errors = false;
  std::map<std::string, std::size_t> lines;  // of every key that was asked for and found

  void error(std::size_t line, std::string_view key, const std::string& what, std::string what_to_do);
  void warning(std::size_t line, std::string_view key, const std::string& what, std::string what_to_do);
  void note(std::size_t line, std::string_view key, const std::string& what, std::string what_to_do);

 private:
  void add(Severity severity, std::size_t line, std::string_view key, const std::string& what, std::string what_to_do);
};

/// The text of a file as TOML. Throws Refusal with line and column.
toml::table parsed_toml(std::string_view text, const std::string& file);

class Table {
 public:
  Table(const toml::table& table, std::string path, Report& report)
      : table_(table), path_(std::move(path)), report_(report) {}

  std::string key(std::string_view name) const;
  bool has(std::string_view name) const { return table_.contains(name); }
  std::size_t line() const { return path_.empty() ? 0 : table_.source().begin.line; }
  /// Every key that is there, in the file's order of names.
  std::vector<std::string> names() const;

  void error(std::string_view name, const std::string& what, std::string what_to_do) const;
  void warning(std::string_view name, const std::string& what, std::string what_to_do) const;

  /// The value of a key; nullptr if there is none, which is told where it is required.
  const toml::node* get(std::string_view name, Need need);

  std::optional<double> number(std::string_view name, Need need, Allowed range, const char* example);
  std::optional<std::string> text(std::string_view name, Need need, std::size_t longest = longest_text);
  std::optional<bool> truth(std::string_view name);
  std::vector<std::string> texts(std::string_view name, std::size_t longest = longest_text);
  std::optional<Table> table(std::string_view name, Need need, const char* example);
  /// { n = , e = }, as easting, northing.
  std::optional<Eigen::Vector2d> place(std::string_view name, Need need);
  /// The keys n and e of this table itself.
  std::optional<Eigen::Vector2d> place();

  /// The entries of [[name]]; none, and told, where they are more than limits.h allows.
  std::vector<Table> tables(std::string_view name, const char* example = nullptr);

  std::optional<double> number_of(const toml::node& node, std::string_view name, Allowed range, const char* example);
  void wrong_kind(std::string_view name, const toml::node& node, const char* wanted) const;
  /// Tells a list with more entries than limits.h allows.
  bool check_count(std::string_view name, std::size_t entries) const;
  /// Tells a number that is too great, with the limit.
  void check_most(std::string_view name, const std::optional<double>& value, double most) const;

  /// Tells every key that nothing asked for. Call when all have been.
  void tell_unknown() const;

 private:
  const toml::table& table_;
  std::string path_;
  Report& report_;
  std::vector<std::string> known_;

  std::size_t line_of(std::string_view name) const;
  /// Refuses what XML and a screen cannot take, since texts of the job go into files of every kind.
  void check_characters(std::string_view text, std::size_t line, std::string_view key) const;
};

template <class Value>
void set(Value& into, const std::optional<Value>& value) {
  if (value) into = *value;
}

}  // namespace moundwright::io

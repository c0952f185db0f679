#include "io/toml_table.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "geom/limits.h"
#include "io/ascii.h"
#include "io/job_key.h"
#include "io/nearest_word.h"
#include "io/plain_text.h"

namespace moundwright::io {
namespace {

const char* kind_of(const toml::node& node) {
  switch (node.type()) {
    case toml::node_type::table:
      return "a table";
    case toml::node_type::array:
      return "a list";
    case toml::node_type::string:
      return "a text";
    case toml::node_type::integer:
    case toml::node_type::floating_point:
      return "a number";
    case toml::node_type::boolean:
      return "true or false";
    default:
      return "a date or time";
  }
}

/// The value as it is shown in a message.
std::string shown(const toml::node& node) {
  if (const auto text = node.value_exact<std::string_view>()) return fmt::format("\"{}\"", excerpt(*text));
  if (const auto number = node.value_exact<double>()) return fmt::format("{}", *number);
  if (const auto number = node.value_exact<std::int64_t>()) return fmt::format("{}", *number);
  if (const auto truth = node.value_exact<bool>()) return *truth ? "true" : "false";
  return kind_of(node);
}

const char* fault_of(double value, Allowed range) {
  if (!std::isfinite(value)) return "must be a finite number";
  if (range == Allowed::positive && value <= 0) return "must be more than zero";
  if (range == Allowed::not_negative && value < 0) return "must not be less than zero";
  if (range == Allowed::azimuth && (value < 0 || value > 360)) return "must be from 0 to 360 degrees";
  if (range == Allowed::coordinate && std::abs(value) > greatest_coordinate)
    return "must be within 1,000,000,000 either way";
  if (range == Allowed::elevation && std::abs(value) > greatest_elevation) return "must be within 100,000 either way";
  return nullptr;
}

std::string too_long(std::size_t longest) { return fmt::format("Shorten it to {} letters or fewer.", longest); }

std::string entry_name(const toml::table& entry, std::size_t index) {
  const std::optional<std::string> name = entry["name"].value_exact<std::string>();
  return name && !name->empty() ? *name : std::to_string(index + 1);
}

/// Line of the first key whose parts, joined by dots, are too many: the parser takes them one inside the other and
/// would run out of stack. Counted are dots with nothing between them but what may stand in a key; a text counts as a
/// part.
std::optional<std::size_t> line_too_deep(std::string_view text) {
  constexpr std::size_t most_dots = 100;
  std::size_t line = 1, dots = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (c == '.' && i > 0 && text[i - 1] == '.') dots = 0;  // dots in a row are in a text
    if (c == '.' && ++dots > most_dots) return line;
    if (c == '\n') ++line;
    if (c == '#') {
      i = std::min(text.find('\n', i), text.size()) - 1, dots = 0;
    } else if (c == '"' || c == '\'') {
      const std::size_t end = text.find_first_of(c == '"' ? "\"\n" : "'\n", i + 1);
      i = std::min(end, text.size()) - (end < text.size() && text[end] == '\n' ? 1 : 0);
    } else if (c == '\n' || c == ',' || c == '=' || c == '{' || c == '[') {
      dots = 0;
    }
  }
  return std::nullopt;
}

void check_size_and_depth(std::string_view text, const std::string& file) {
  constexpr std::size_t most_bytes = std::size_t{16} << 20;
  if (text.size() > most_bytes) {
    throw Refusal({Severity::error, fmt::format("the file is larger than {} MiB", most_bytes >> 20), file,
                   "A job or a price list takes some thousand lines; shots belong in a file of their own."});
  }
  if (const auto line = line_too_deep(text)) {
    throw Refusal({Severity::error, "a key has more than a hundred parts", fmt::format("{} line {}", file, *line),
                   "Correct the line; no key here has more than three parts."});
  }
}

}  // namespace

void Report::add(Severity severity, std::size_t line, std::string_view key, const std::string& what,
                 std::string what_to_do) {
  std::string where = file;
  if (line > 0) where += fmt::format(" line {}", line);
  if (!key.empty()) where += fmt::format(", {}", readable(key));
  problems.add({severity, readable(what), std::move(where), std::move(what_to_do)});
}

void Report::error(std::size_t line, std::string_view key, const std::string& what, std::string what_to_do) {
  has_errors = true;
  add(Severity::error, line, key, what, std::move(what_to_do));
}

void Report::note(std::size_t line, std::string_view key, const std::string& what, std::string what_to_do) {
  add(Severity::note, line, key, what, std::move(what_to_do));
}

void Report::warning(std::size_t line, std::string_view key, const std::string& what, std::string what_to_do) {
  add(Severity::warning, line, key, what, std::move(what_to_do));
}

toml::table parsed_toml(std::string_view text, const std::string& file) {
  check_size_and_depth(text, file);
  try {
    return toml::parse(text, file);
  } catch (const toml::parse_error& error) {
    const toml::source_position at = error.source().begin;
    throw Refusal(Problem{Severity::error, fmt::format("this is not TOML: {}", error.description()),
                          fmt::format("{} line {}, column {}", file, at.line, at.column),
                          "Correct the line; texts are in quotes, and every key stands before a = sign."});
  }
}

std::string Table::key(std::string_view name) const { return joined_key(path_, name); }

void Table::check_characters(std::string_view text, std::size_t line, std::string_view key) const {
  if (const auto bad = forbidden_character(text, false)) {
    report_.error(line, key, fmt::format("{} holds {}: \"{}\"", key, *bad, excerpt(text)), "Take it out.");
  }
}

std::vector<std::string> Table::names() const {
  std::vector<std::string> all;
  for (const auto& [name, node] : table_) {
    check_characters(name.str(), name.source().begin.line, path_);
    all.emplace_back(name.str());
  }
  return all;
}

std::size_t Table::line_of(std::string_view name) const {
  const toml::node* node = table_.get(name);
  return node ? node->source().begin.line : line();
}

void Table::error(std::string_view name, const std::string& what, std::string what_to_do) const {
  report_.error(line_of(name), key(name), what, std::move(what_to_do));
}

void Table::warning(std::string_view name, const std::string& what, std::string what_to_do) const {
  report_.warning(line_of(name), key(name), what, std::move(what_to_do));
}

const toml::node* Table::get(std::string_view name, Need need) {
  if (std::find(known_.begin(), known_.end(), name) == known_.end()) known_.emplace_back(name);
  const toml::node* node = table_.get(name);
  if (node) {
    report_.lines[key(name)] = node->source().begin.line;
  } else if (need == Need::required) {
    error(name, fmt::format("{} is missing", key(name)), "Add it; the starter job shows how it is written.");
  }
  return node;
}

std::optional<double> Table::number(std::string_view name, Need need, Allowed range, const char* example) {
  const toml::node* node = get(name, need);
  return node ? number_of(*node, name, range, example) : std::nullopt;
}

std::optional<std::string> Table::text(std::string_view name, Need need, std::size_t longest) {
  const toml::node* node = get(name, need);
  if (!node) return std::nullopt;
  std::optional<std::string> value = node->value_exact<std::string>();
  if (!value) {
    wrong_kind(name, *node, "a text in quotes");
  } else if (trimmed(*value).empty()) {
    error(name, fmt::format("{} is an empty text", key(name)), "Give it, or leave the key out.");
  } else if (const std::size_t letters = letters_in(*value); letters > longest) {
    error(name, fmt::format("{} has {} letters", key(name), letters), too_long(longest));
  } else {
    check_characters(*value, node->source().begin.line, key(name));
  }
  return value;
}

std::optional<bool> Table::truth(std::string_view name) {
  const toml::node* node = get(name, Need::optional);
  if (!node) return std::nullopt;
  const std::optional<bool> value = node->value_exact<bool>();
  if (!value) wrong_kind(name, *node, "true or false");
  return value;
}

std::vector<std::string> Table::texts(std::string_view name, std::size_t longest) {
  const toml::node* node = get(name, Need::optional);
  if (!node) return {};
  std::vector<std::string> words;
  const toml::array* list = node->as_array();
  if (!list) wrong_kind(name, *node, "a list of texts in quotes");
  if (list && !check_count(name, list->size())) return {};
  for (std::size_t i = 0; list && i < list->size(); ++i) {
    const toml::node& item = (*list)[i];
    const std::optional<std::string> word = item.value_exact<std::string>();
    if (word && letters_in(*word) > longest) {
      report_.error(item.source().begin.line, key(name),
                    fmt::format("entry {} of {} has {} letters", i + 1, key(name), letters_in(*word)),
                    too_long(longest));
    } else if (word && !trimmed(*word).empty()) {
      check_characters(*word, item.source().begin.line, key(name));
      words.push_back(*word);
    } else {
      report_.error(item.source().begin.line, key(name),
                    fmt::format("entry {} of {} is {}, not a text in quotes", i + 1, key(name), shown(item)),
                    "Write a list such as [\"EP\", \"DITCH\"].");
    }
  }
  return words;
}

std::optional<Table> Table::table(std::string_view name, Need need, const char* example) {
  const toml::node* node = get(name, need);
  if (!node) return std::nullopt;
  if (const toml::table* inner = node->as_table()) return Table(*inner, key(name), report_);
  wrong_kind(name, *node, example);
  return std::nullopt;
}

std::vector<Table> Table::tables(std::string_view name, const char* example) {
  const toml::node* node = get(name, Need::optional);
  if (!node) return {};
  const toml::array* list = node->as_array();
  const std::string wanted = example ? example : fmt::format("a list of tables, each headed [[{}]]", key(name));
  if (!list || !std::all_of(list->begin(), list->end(), [](const toml::node& n) { return n.is_table(); })) {
    wrong_kind(name, *node, wanted.c_str());
    return {};
  }
  if (!check_count(name, list->size())) return {};
  std::vector<Table> entries;
  for (std::size_t i = 0; i < list->size(); ++i) {
    const toml::table& entry = *(*list)[i].as_table();
    entries.emplace_back(entry, joined_key(key(name), entry_name(entry, i)), report_);
  }
  return entries;
}

std::optional<double> Table::number_of(const toml::node& node, std::string_view name, Allowed range,
                                       const char* example) {
  if (!node.is_number()) {
    wrong_kind(name, node, fmt::format("a number such as {}", example).c_str());
    return std::nullopt;
  }
  const double value = *node.value<double>();
  if (const char* fault = fault_of(value, range)) {
    error(name, fmt::format("{} is {}", key(name), shown(node)), fmt::format("It {}, such as {}.", fault, example));
    return std::nullopt;
  }
  return value;
}

void Table::wrong_kind(std::string_view name, const toml::node& node, const char* wanted) const {
  error(name, fmt::format("{} is {}, not {}", key(name), shown(node), wanted), "Write it as shown.");
}

bool Table::check_count(std::string_view name, std::size_t entries) const {
  if (entries <= most_entries) return true;
  error(name, fmt::format("{} has {} entries; the limit is {}", key(name), entries, most_entries),
        "Leave out those that are not needed.");
  return false;
}

void Table::check_most(std::string_view name, const std::optional<double>& value, double most) const {
  if (!value || *value <= most) return;
  error(name, fmt::format("{} is {:g}; the limit is {:g}", key(name), *value, most),
        "Give a smaller number, in the job's own unit, or look for a slip of the decimal point.");
}

void Table::tell_unknown() const {
  for (const auto& [name, node] : table_) {
    if (std::find(known_.begin(), known_.end(), name.str()) != known_.end()) continue;
    const std::string shown = excerpt(name.str());  // it may run on for a whole file
    std::string advice = did_you_mean(shown, known_);
    if (advice.empty()) advice = fmt::format("Known here: {}.", fmt::join(known_, ", "));
    report_.error(name.source().begin.line, key(shown), fmt::format("unknown key {}", key(shown)), advice);
  }
}

std::optional<Eigen::Vector2d> Table::place() {
  const auto n = number("n", Need::required, Allowed::coordinate, "5120.0");
  const auto e = number("e", Need::required, Allowed::coordinate, "4890.0");
  return n && e ? std::optional<Eigen::Vector2d>({*e, *n}) : std::nullopt;
}

std::optional<Eigen::Vector2d> Table::place(std::string_view name, Need need) {
  std::optional<Table> inner = table(name, need, "a place such as { n = 5120.0, e = 4890.0 }");
  if (!inner) return std::nullopt;
  std::optional<Eigen::Vector2d> at = inner->place();
  inner->tell_unknown();
  return at;
}

}  // namespace moundwright::io

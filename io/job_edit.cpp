// amended_job: toml++ tells where every key and value stands in the text; the edits are made there, in the text itself,
// and the result is parsed again to see that it says what was asked and nothing else.
#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <utility>

#include "io/ascii.h"
#include "io/job_key.h"
#include "io/job_toml.h"
#include "io/plain_text.h"

namespace moundwright::io {
namespace {

Refusal cannot_edit(const std::string& key, std::string why, std::string what_to_do) {
  return Refusal(Problem{Severity::error, fmt::format("{} cannot be set: {}", key, why), key, std::move(what_to_do)});
}

/// The text, and byte offsets in it for toml++'s lines and columns (columns count characters, not bytes).
class Source {
 public:
  explicit Source(std::string_view text) : text_(text) {
    line_starts_.push_back(text.starts_with("\xEF\xBB\xBF") ? 3 : 0);
    for (std::size_t i = 0; i < text.size(); ++i) {
      if (text[i] == '\n') line_starts_.push_back(i + 1);
    }
  }

  std::size_t offset(toml::source_position at) const {
    std::size_t place = line_starts_[at.line - 1];
    for (toml::source_index column = 1; column < at.column && place < text_.size(); ++column) {
      ++place;
      while (place < text_.size() && (static_cast<unsigned char>(text_[place]) & 0xC0) == 0x80) ++place;
    }
    return place;
  }
  std::size_t begin(const toml::node& node) const { return offset(node.source().begin); }
  std::size_t end(const toml::node& node) const { return offset(node.source().end); }
  std::size_t begin(const toml::key& key) const { return offset(key.source().begin); }
  std::size_t end(const toml::key& key) const { return offset(key.source().end); }

  std::size_t first() const { return line_starts_.front(); }
  std::size_t line_start(std::size_t place) const {
    return *std::prev(std::upper_bound(line_starts_.begin(), line_starts_.end(), place));
  }
  /// Behind the line's end of line, or the end of the text.
  std::size_t line_end(std::size_t place) const {
    const auto next = std::upper_bound(line_starts_.begin(), line_starts_.end(), place);
    return next == line_starts_.end() ? text_.size() : *next;
  }
  const char* end_of_line() const {
    const std::size_t first = text_.find('\n');
    return first != std::string_view::npos && first > 0 && text_[first - 1] == '\r' ? "\r\n" : "\n";
  }
  std::string_view text() const { return text_; }

 private:
  std::string_view text_;
  std::vector<std::size_t> line_starts_;
};

/// One key of a table as it is written: `bottom` of `bottom.least_sand = 1.5` spans to the end of 1.5.
struct Entry {
  std::size_t key_begin, value_end;
};

bool is_inline(const toml::node& node) { return !node.is_table() || node.as_table()->is_inline(); }

/// A table with a [header] of its own, or a list of tables with [[headers]]; not what is written behind a key.
bool has_header(const Source& source, const toml::key& key) {
  const std::size_t start = source.line_start(source.begin(key));
  return trimmed(source.text().substr(start, source.begin(key) - start)).starts_with('[');
}

std::size_t end_of_value(const Source& source, const toml::node& node) {
  if (is_inline(node)) return source.end(node);
  std::size_t end = 0;
  for (const auto& [key, value] : *node.as_table()) end = std::max(end, end_of_value(source, value));
  return end;
}

/// What is written in a table itself, in file order.
std::vector<Entry> entries_of(const Source& source, const toml::table& table) {
  std::vector<Entry> entries;
  for (const auto& [key, value] : table) {
    if (!table.is_inline() && has_header(source, key)) continue;
    entries.push_back({source.begin(key), end_of_value(source, value)});
  }
  std::sort(entries.begin(), entries.end(), [](const Entry& a, const Entry& b) { return a.key_begin < b.key_begin; });
  return entries;
}

/// A place in the tree of tables: the node, and its key in the table that holds it.
struct Found {
  const toml::node* node = nullptr;
  const toml::key* key = nullptr;       // nullptr for an entry of a list
  const toml::table* parent = nullptr;  // likewise
};

/// The entry of a list that goes by `name`: its own name, or its place from 1.
const toml::node* entry_of(const toml::array& list, const std::string& name) {
  for (std::size_t i = 0; i < list.size(); ++i) {
    const toml::table* table = list[i].as_table();
    if (!table) continue;
    const auto own = (*table)["name"].value_exact<std::string>();
    if (own && !own->empty() ? *own == name : std::to_string(i + 1) == name) return table;
  }
  return nullptr;
}

std::optional<Found> step(const Found& from, const std::string& name) {
  if (const toml::array* list = from.node->as_array()) {
    const toml::node* entry = entry_of(*list, name);
    return entry ? std::optional<Found>({entry, nullptr, nullptr}) : std::nullopt;
  }
  const toml::table* table = from.node->as_table();
  if (!table) return std::nullopt;
  const auto found = table->find(name);
  if (found == table->end()) return std::nullopt;
  return Found{&found->second, &found->first, table};
}

std::optional<Found> find(const toml::table& root, const std::vector<std::string>& names) {
  std::optional<Found> found = Found{&root, nullptr, nullptr};
  for (const std::string& name : names) {
    found = step(*found, name);
    if (!found) break;
  }
  return found;
}

std::string replaced(std::string_view text, std::size_t begin, std::size_t end, std::string_view with) {
  return fmt::format("{}{}{}", text.substr(0, begin), with, text.substr(end));
}

/// A line put in at a line's start, with an end of line before it where the last line has none.
std::string with_line(const Source& source, std::size_t place, const std::string& line) {
  const std::string_view text = source.text();
  const bool open = place > source.first() && text[place - 1] != '\n';
  return replaced(text, place, place,
                  fmt::format("{}{}{}", open ? source.end_of_line() : "", line, source.end_of_line()));
}

std::string in_inline_table(const Source& source, const toml::table& table, const std::string& setting) {
  const std::vector<Entry> entries = entries_of(source, table);
  if (entries.empty()) return replaced(source.text(), source.begin(table), source.end(table), "{ " + setting + " }");
  const std::size_t end = entries.back().value_end;
  return replaced(source.text(), end, end, ", " + setting);
}

std::string with_new_table(const Source& source, const std::string& header, const std::string& setting) {
  const char* eol = source.end_of_line();
  const std::string block = fmt::format("[{}]{}{}", header, eol, setting);
  return with_line(source, source.text().size(), source.text().size() > source.first() ? eol + block : block);
}

/// Whether the header that made this table is its own: [mound], not [mound.bottom] alone.
bool header_is_own(const Source& source, const Found& table) {
  if (!table.key) return true;  // the root, or an entry of a list
  const std::string_view behind = source.text().substr(source.end(*table.key));
  return trimmed(behind.substr(0, behind.find('\n'))).starts_with(']');
}

std::string in_written_table(const Source& source, const Found& parent, const std::string& path,
                             const std::string& setting) {
  const std::vector<Entry> entries = entries_of(source, *parent.node->as_table());
  if (!entries.empty()) {
    // Behind the last one, written as the last one is: with its indent, and with its table's name where keys are
    // dotted.
    const Entry& last = *std::max_element(entries.begin(), entries.end(),
                                          [](const Entry& a, const Entry& b) { return a.value_end < b.value_end; });
    const std::size_t start = std::max(source.line_start(last.key_begin), source.first());
    const std::string before(source.text().substr(start, last.key_begin - start));
    return with_line(source, source.line_end(last.value_end), before + setting);
  }
  if (path.empty()) return with_line(source, source.first(), setting);
  if (!header_is_own(source, parent)) return with_new_table(source, path, setting);
  return with_line(source, source.line_end(source.begin(*parent.node)), setting);
}

std::string joined(const std::vector<std::string>& names) {
  std::string key;
  for (const std::string& name : names) key = joined_key(key, name);
  return key;
}

std::string with_new_key(const Source& source, const toml::table& root, std::vector<std::string> names,
                         const std::string& value) {
  const std::string setting = fmt::format("{} = {}", quoted_name(names.back()), value);
  names.pop_back();
  const std::optional<Found> parent = find(root, names);
  if (!parent) return with_new_table(source, joined(names), setting);
  const toml::table* table = parent->node->as_table();
  if (!table) throw cannot_edit(joined(names), "it is not a table", "Write it by hand.");
  if (table->is_inline()) return in_inline_table(source, *table, setting);
  return in_written_table(source, *parent, joined(names), setting);
}

std::string without_inline_key(const Source& source, const Found& found) {
  const std::vector<Entry> entries = entries_of(source, *found.parent);
  const std::size_t key_begin = source.begin(*found.key);
  const auto entry =
      std::find_if(entries.begin(), entries.end(), [&](const Entry& e) { return e.key_begin == key_begin; });
  if (entries.size() == 1) return replaced(source.text(), source.begin(*found.parent), source.end(*found.parent), "{}");
  if (entry == entries.begin()) return replaced(source.text(), key_begin, std::next(entry)->key_begin, "");
  return replaced(source.text(), std::prev(entry)->value_end, entry->value_end, "");
}

std::string without_key(const Source& source, const Found& found) {
  if (found.parent->is_inline()) return without_inline_key(source, found);
  return replaced(source.text(), std::max(source.line_start(source.begin(*found.key)), source.first()),
                  source.line_end(end_of_value(source, *found.node)), "");
}

bool can_be_replaced(const Source& source, const Found& found) {
  return found.key && is_inline(*found.node) && !has_header(source, *found.key);
}

toml::table parsed(std::string_view text, const std::string& key, const char* what) {
  try {
    return toml::parse(text);
  } catch (const toml::parse_error& error) {
    throw cannot_edit(key,
                      fmt::format("{} is not TOML (line {}, column {}: {})", what, error.source().begin.line,
                                  error.source().begin.column, error.description()),
                      "Correct it first.");
  }
}

/// The tree as the edit would have it; nullopt if a name on the way is not a table.
bool set_in_tree(toml::table& root, const std::vector<std::string>& names, const toml::node* value) {
  toml::node* node = &root;
  for (std::size_t i = 0; i + 1 < names.size(); ++i) {
    if (toml::array* list = node->as_array()) {
      node = const_cast<toml::node*>(entry_of(*list, names[i]));
    } else {
      toml::table& table = *node->as_table();
      node = &table.emplace<toml::table>(names[i]).first->second;
    }
    if (!node || !(node->is_table() || node->is_array_of_tables())) return false;
  }
  toml::table* table = node->as_table();
  if (!table) return false;
  table->erase(names.back());
  if (value) table->insert(names.back(), *value);
  return true;
}

std::string amended(std::string_view text, const JobEdit& edit) {
  const std::vector<std::string> names = split_key(edit.key);
  if (names.empty()) throw cannot_edit(edit.key, "it is not a key", "Write it as in mound.downslope.");
  const toml::table before = parsed(text, edit.key, "the job file");
  const Source source(text);
  const std::optional<Found> found = find(before, names);
  if (!found && !edit.value) return std::string(text);
  if (found && !can_be_replaced(source, *found)) {
    throw cannot_edit(edit.key, "it is written as a table of its own", "Set the keys inside it.");
  }
  std::string after = !found       ? with_new_key(source, before, names, *edit.value)
                      : edit.value ? replaced(text, source.begin(*found->node), source.end(*found->node), *edit.value)
                                   : without_key(source, *found);

  const toml::table value = parsed("value = " + edit.value.value_or("0"), edit.key, "the new value");
  toml::table wanted = before;
  if (!set_in_tree(wanted, names, edit.value ? value.get("value") : nullptr) || value.size() != 1 ||
      parsed(after, edit.key, "the amended job") != wanted) {
    throw cannot_edit(edit.key, "that would change other parts of the file", "Write it by hand.");
  }
  return after;
}

}  // namespace

std::string toml_number(double value) {
  const std::string text = fmt::format("{}", value);
  return text.find_first_of(".en") == std::string::npos ? text + ".0" : text;
}

std::string amended_job(std::string_view text, const std::vector<JobEdit>& edits) {
  Problems notes;  // told when the job is read
  std::string job = as_utf8(std::string(text), "the job", notes);
  for (const JobEdit& edit : edits) job = amended(job, edit);
  return job;
}

}  // namespace moundwright::io

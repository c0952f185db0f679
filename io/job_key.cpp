#include "io/job_key.h"

#include <algorithm>

#include "io/ascii.h"

namespace moundwright::io {
namespace {

bool is_bare(char c) { return is_letter(c) || is_digit(c) || c == '-' || c == '_'; }

/// Takes a quoted name off the front of `key`; false if its quote is not closed.
bool take_quoted(std::string_view& key, std::string& name) {
  for (std::size_t i = 1; i < key.size(); ++i) {
    if (key[i] == '\\' && i + 1 < key.size()) {
      name += key[++i];
    } else if (key[i] == '"') {
      key.remove_prefix(i + 1);
      return true;
    } else {
      name += key[i];
    }
  }
  return false;
}

void take_bare(std::string_view& key, std::string& name) {
  const auto end = std::find_if_not(key.begin(), key.end(), is_bare);
  name.assign(key.begin(), end);
  key.remove_prefix(name.size());
}

}  // namespace

std::vector<std::string> split_key(std::string_view key) {
  std::vector<std::string> names;
  for (;;) {
    std::string name;
    if (key.starts_with('"')) {
      if (!take_quoted(key, name)) return {};
    } else {
      take_bare(key, name);
      if (name.empty()) return {};
    }
    names.push_back(std::move(name));
    if (key.empty()) return names;
    if (key.front() != '.') return {};
    key.remove_prefix(1);
  }
}

}  // namespace moundwright::io

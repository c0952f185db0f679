#include "geom/dotted_key.h"

namespace moundwright {
namespace {

constexpr std::string_view bare_letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

}  // namespace

std::string quoted_name(std::string_view name) {
  if (!name.empty() && name.find_first_not_of(bare_letters) == std::string_view::npos) return std::string(name);
  std::string quoted = "\"";
  for (const char c : name) {
    if (c == '"' || c == '\\') quoted += '\\';
    quoted += c;
  }
  return quoted + '"';
}

std::string joined_key(std::string_view path, std::string_view name) {
  std::string key(path);
  if (!key.empty()) key += '.';
  return key + quoted_name(name);
}

}  // namespace moundwright

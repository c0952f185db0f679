#include "viewer/terminal.h"

#include <fmt/color.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <optional>
#include <utility>

#include "viewer/report.h"

namespace moundwright::viewer {
namespace {

struct Letter {
  std::uint32_t code = 0;
  std::size_t bytes = 1;
};

/// The first letter of a text that is not empty; none where it begins with no UTF-8.
std::optional<Letter> first_letter(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  if (byte(0) < 0x80) return Letter{byte(0), 1};
  const std::size_t bytes = byte(0) >= 0xF0 ? 4 : byte(0) >= 0xE0 ? 3 : 2;
  if (byte(0) < 0xC2 || byte(0) > 0xF4 || text.size() < bytes) return std::nullopt;
  std::uint32_t code = byte(0) & (0xFFU >> (bytes + 1));
  for (std::size_t i = 1; i < bytes; ++i) {
    if ((byte(i) & 0xC0U) != 0x80) return std::nullopt;
    code = code << 6 | (byte(i) & 0x3FU);
  }
  constexpr std::array<std::uint32_t, 5> least = {0, 0, 0x80, 0x800, 0x10000};
  const bool is_surrogate = code >= 0xD800 && code <= 0xDFFF;
  if (code < least[bytes] || code > 0x10FFFF || is_surrogate) return std::nullopt;
  return Letter{code, bytes};
}

/// Controls of ASCII and of ISO 6429's second set, and Unicode's marks that turn the direction of writing or split it.
bool is_order(std::uint32_t code) {
  if (code == '\n' || code == '\t') return false;
  return code < 0x20 || (code >= 0x7F && code <= 0x9F) || code == 0x200E || code == 0x200F || code == 0x2028 ||
         code == 0x2029 || (code >= 0x202A && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
}

std::optional<fmt::color> colour_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::told:
      return std::nullopt;
    case Verdict::good:
      return fmt::color::green;
    case Verdict::look:
      return fmt::color::orange;
    case Verdict::bad:
      return fmt::color::red;
  }
  return std::nullopt;
}

/// The word at the head of a line, where it is one of ours, and its colour.
std::optional<std::pair<std::string, fmt::color>> lead_of(std::string_view line) {
  if (line.starts_with("error:")) return std::pair("error:", fmt::color::red);
  if (line.starts_with("warning:")) return std::pair("warning:", fmt::color::orange);
  for (const Verdict verdict : {Verdict::told, Verdict::good, Verdict::look, Verdict::bad}) {
    const std::string lead = verdict_lead(verdict);
    if (const auto colour = colour_of(verdict); colour && line.starts_with(lead)) return std::pair(lead, *colour);
  }
  return std::nullopt;
}

}  // namespace

std::string visible(std::string_view text) {
  std::string shown;
  shown.reserve(text.size());
  while (!text.empty()) {
    const std::optional<Letter> letter = first_letter(text);
    const std::size_t bytes = letter ? letter->bytes : 1;
    if (!letter) {
      shown += fmt::format("\\x{:02X}", static_cast<unsigned char>(text.front()));
    } else if (!is_order(letter->code)) {
      shown += text.substr(0, bytes);
    } else {
      shown += letter->code < 0x100 ? fmt::format("\\x{:02X}", letter->code) : fmt::format("\\u{:04X}", letter->code);
    }
    text.remove_prefix(bytes);
  }
  return shown;
}

std::string coloured(std::string_view text) {
  const std::string plain = visible(text);
  std::string shown;
  for (std::string_view rest = plain; !rest.empty();) {
    const std::string_view line = rest.substr(0, std::min(rest.find('\n'), rest.size() - 1) + 1);
    rest.remove_prefix(line.size());
    const auto lead = lead_of(line);
    if (lead) shown += fmt::format(fmt::fg(lead->second), "{}", lead->first);
    shown += line.substr(lead ? lead->first.size() : 0);
  }
  return shown;
}

}  // namespace moundwright::viewer

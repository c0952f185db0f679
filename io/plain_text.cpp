#include "io/plain_text.h"

#include <fmt/format.h>
#include <glib.h>

#include <algorithm>
#include <array>
#include <vector>

#include "io/text_file.h"

namespace moundwright::io {
namespace {

/// Windows-1252 from 0x80 to 0x9F; 0 where it has no character. From 0xA0 on it is Latin-1, and so the code point.
/// Source: the Unicode Consortium's mapping table CP1252.TXT.
constexpr std::array<char16_t, 32> windows_1252 = {0x20AC, 0,      0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021,
                                                   0x02C6, 0x2030, 0x0160, 0x2039, 0x0152, 0,      0x017D, 0,
                                                   0,      0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014,
                                                   0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0,      0x017E, 0x0178};

constexpr std::string_view utf8_mark = "\xEF\xBB\xBF";

bool is_high(char c) { return (static_cast<unsigned char>(c) & 0x80) != 0; }

char32_t code_point_of(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return byte >= 0x80 && byte < 0xA0 ? windows_1252[byte - 0x80] : byte;
}

void append(std::string& text, char32_t c) {
  std::array<char, 6> bytes{};
  text.append(bytes.data(), static_cast<std::size_t>(g_unichar_to_utf8(c, bytes.data())));
}

[[noreturn]] void refuse(std::string what, const std::string& file, int line, std::string what_to_do) {
  throw Refusal(Problem{Severity::error, std::move(what), line > 0 ? fmt::format("{} line {}", file, line) : file,
                        std::move(what_to_do)});
}

constexpr const char* save_as_utf8 = "Save it again as UTF-8.";

/// The line that a place is on, for a message: its characters, read as Windows-1252.
std::string line_round(std::string_view bytes, std::size_t place) {
  const std::size_t begin = bytes.find_last_of("\r\n", place) + 1;  // 0 where there is none
  const std::size_t end = std::min(bytes.find_first_of("\r\n", place), bytes.size());
  std::string line;
  for (const char c : bytes.substr(begin, end - begin)) append(line, code_point_of(c));
  return excerpt(line);
}

/// Where bytes begin that are UTF-8 beyond ASCII, and where some that are not UTF-8.
struct Beyond {
  std::optional<std::size_t> utf8, other;
};

Beyond beyond_ascii(std::string_view bytes) {
  Beyond beyond;
  const char* const begin = bytes.data();
  const char* const end = begin + bytes.size();
  for (const char* from = begin; from != end;) {
    const char* stop = from;
    g_utf8_validate_len(from, static_cast<gsize>(end - from), &stop);
    const char* high = beyond.utf8 ? stop : std::find_if(from, stop, is_high);
    if (high != stop) beyond.utf8 = high - begin;
    if (stop == end) break;
    if (!beyond.other) beyond.other = stop - begin;
    if (beyond.utf8) break;
    from = stop + 1;
  }
  return beyond;
}

/// Half of a UTF-16 pair, written as if it were a character: some programs write names outside the common plane so.
bool is_half_a_pair(std::string_view bytes, std::size_t place) {
  return place + 2 < bytes.size() && bytes[place] == '\xED' && static_cast<unsigned char>(bytes[place + 1]) >= 0xA0 &&
         static_cast<unsigned char>(bytes[place + 1]) < 0xC0 && is_high(bytes[place + 2]);
}

std::string from_windows_1252(std::string_view bytes, std::size_t first, const std::string& file, Problems& notes) {
  std::string text;
  text.reserve(bytes.size() + bytes.size() / 8);
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    const char32_t c = code_point_of(bytes[i]);
    if (c == 0) {
      refuse(fmt::format("the file is neither UTF-8 nor Windows-1252: there is a byte {:02X} on this line",
                         static_cast<unsigned char>(bytes[i])),
             file, line_at(bytes, i), save_as_utf8);
    }
    append(text, c);
  }
  notes.note(
      fmt::format("the file is not UTF-8 and is read as Windows-1252, here first: \"{}\"", line_round(bytes, first)),
      fmt::format("{} line {}", file, line_at(bytes, first)), "If that looks wrong, save the file as UTF-8.");
  return text;
}

std::string from_utf16(std::string_view bytes, const std::string& file, Problems& notes) {
  const std::size_t low = bytes.starts_with("\xFF\xFE") ? 0 : 1;
  std::string text;
  text.reserve(bytes.size());
  const auto unit = [&](std::size_t at) {
    return static_cast<char16_t>(static_cast<unsigned char>(bytes[at + low]) |
                                 static_cast<unsigned char>(bytes[at + 1 - low]) << 8);
  };
  const auto broken = [&] {
    refuse("the file is UTF-16 text, and broken on this line", file, line_at(text, text.size()),
           "Export it again, as UTF-8.");
  };
  for (std::size_t i = 2; i < bytes.size(); i += 2) {
    if (i + 1 == bytes.size()) broken();
    char32_t c = unit(i);
    if (c >= 0xD800 && c < 0xE000) {
      const char32_t next = i + 3 < bytes.size() ? unit(i + 2) : 0;
      if (c >= 0xDC00 || next < 0xDC00 || next >= 0xE000) broken();
      c = 0x10000 + ((c - 0xD800) << 10) + (next - 0xDC00);
      i += 2;
    }
    if (c == 0) refuse("the file is not text", file, line_at(text, text.size()), save_as_utf8);
    append(text, c);
  }
  notes.note("the file is UTF-16 text, and is read as such", file);
  return text;
}

/// A file of bytes that are no characters is perhaps UTF-16 whose mark is missing: then every other byte is zero.
[[noreturn]] void refuse_zeros(std::string_view bytes, const std::string& file) {
  std::array<std::size_t, 2> zeros{};
  for (std::size_t i = 0; i < bytes.size(); ++i) zeros[i % 2] += bytes[i] == '\0';
  const std::size_t most = std::max(zeros[0], zeros[1]), least = std::min(zeros[0], zeros[1]);
  if (most * 4 > bytes.size() && least * 8 < most) {
    refuse("the file seems to be UTF-16 text without a byte order mark", file, 0, save_as_utf8);
  }
  refuse("the file is not text: a zero byte is on this line", file, line_at(bytes, bytes.find('\0')),
         "Export it again as text.");
}

/// XML 1.0 takes those from U+007F to U+009F, a screen does not.
bool is_forbidden(char32_t c, bool breaks) {
  if (c == '\t' || c == '\r' || c == '\n') return !breaks;
  const bool turns_text = (c >= 0x202A && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069);  // what follows, backward
  return c < 0x20 || (c >= 0x7F && c < 0xA0) || turns_text || c == 0xFFFE || c == 0xFFFF;
}

}  // namespace

bool is_plain_ascii(std::string_view text) {
  unsigned odd = 0;  // without branches, so that many bytes are looked at in one step
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    const bool plain = static_cast<unsigned char>(byte - 0x20) < 0x5F || static_cast<unsigned char>(byte - 9) < 2;
    odd |= static_cast<unsigned>(!plain) & static_cast<unsigned>(byte != '\r');
  }
  return odd == 0;
}

int line_at(std::string_view text, std::size_t place) {
  int line = 1;
  for (std::size_t i = 0; i < std::min(place, text.size()); ++i) {
    if (text[i] == '\n' || (text[i] == '\r' && (i + 1 == text.size() || text[i + 1] != '\n'))) ++line;
  }
  return line;
}

std::optional<std::string> converted_to_utf8(std::string_view bytes, const std::string& file, Problems& notes) {
  if (is_plain_ascii(bytes)) return std::nullopt;
  if (bytes.starts_with(std::string_view("\xFF\xFE\0\0", 4)) ||
      bytes.starts_with(std::string_view("\0\0\xFE\xFF", 4))) {
    refuse("the file is UTF-32 text", file, 0, save_as_utf8);
  }
  if (bytes.starts_with("\xFF\xFE") || bytes.starts_with("\xFE\xFF")) return from_utf16(bytes, file, notes);
  if (bytes.find('\0') != std::string_view::npos) refuse_zeros(bytes, file);
  const Beyond beyond = beyond_ascii(bytes);
  if (!beyond.other) return std::nullopt;
  const int line = line_at(bytes, *beyond.other);
  if (is_half_a_pair(bytes, *beyond.other)) {
    refuse("half of a UTF-16 pair stands on this line, which is no character", file, line, save_as_utf8);
  }
  if (beyond.utf8) {
    const bool marked = bytes.starts_with(utf8_mark);
    refuse(marked ? "the file is marked as UTF-8, but this line is not"
                  : fmt::format("line {} is written in UTF-8, but this line is not", line_at(bytes, *beyond.utf8)),
           file, line, save_as_utf8);
  }
  return from_windows_1252(bytes, *beyond.other, file, notes);
}

std::string as_utf8(std::string bytes, const std::string& file, Problems& notes) {
  std::optional<std::string> converted = converted_to_utf8(bytes, file, notes);
  return converted ? std::move(*converted) : std::move(bytes);
}

std::string read_text(const std::filesystem::path& path, Problems& notes) {
  return as_utf8(read_file(path), readable_name(path), notes);
}

std::string readable(std::string_view text) {
  if (is_plain_ascii(text) && text.find_first_of("\t\r\n") == std::string_view::npos) return std::string(text);
  const bool is_utf8 = g_utf8_validate_len(text.data(), text.size(), nullptr) != FALSE;
  std::string good;
  for (std::size_t i = 0; i < text.size();) {
    const char* at = text.data() + i;
    const char32_t c = is_utf8 ? g_utf8_get_char(at) : code_point_of(*at);
    append(good, c == 0 || is_forbidden(c, false) ? U'?' : c);
    i += is_utf8 ? static_cast<std::size_t>(g_utf8_next_char(at) - at) : 1;
  }
  return good;
}

std::string readable_name(const std::filesystem::path& path) { return readable(path.filename().string()); }

std::optional<std::string> forbidden_character(std::string_view utf8, bool breaks) {
  const char* const end = utf8.data() + utf8.size();
  for (const char* at = utf8.data(); at < end; at = g_utf8_next_char(at)) {
    const char32_t c = is_high(*at) ? g_utf8_get_char(at) : static_cast<unsigned char>(*at);
    if (!is_forbidden(c, breaks)) continue;
    return c >= 0xFFFE ? fmt::format("U+{:04X}, which is no character", static_cast<unsigned>(c))
                       : fmt::format("a control character (U+{:04X})", static_cast<unsigned>(c));
  }
  return std::nullopt;
}

std::string excerpt(std::string_view utf8) {
  constexpr std::size_t most = 40;
  std::size_t length = std::min(utf8.size(), most);
  while (length > 0 && length < utf8.size() && (static_cast<unsigned char>(utf8[length]) & 0xC0) == 0x80) --length;
  return readable(utf8.substr(0, length));
}

}  // namespace moundwright::io

// Text as people send it, made UTF-8; and what no name may hold.
//
//   std::string text = read_text("ground.csv", notes);        // UTF-8, and a note where it was something else
//   if (const auto bad = forbidden_character(title)) ...      // "a control character (U+0001)"
//   fmt::format("not a number: \"{}\"", excerpt(field));      // fit for a message, whatever the file holds
//
// Understood: UTF-8, with or without a byte order mark; UTF-16 with one; Windows-1252, which older programs write. What
// is none of them, or holds bytes of two of them, is refused with its line: a name read wrong helps nobody.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "geom/problem.h"

namespace moundwright::io {

/// The bytes as UTF-8; nullopt where they are UTF-8 already. Notes what they were, with the first line that showed it.
/// Throws Refusal for text in no encoding that is understood, and for bytes that are no text.
std::optional<std::string> converted_to_utf8(std::string_view bytes, const std::string& file, Problems& notes);

/// The same of text at hand, and of a whole file. `file` is what messages call it.
std::string as_utf8(std::string bytes, const std::string& file, Problems& notes);
std::string read_text(const std::filesystem::path& path, Problems& notes);

/// Text fit for a message or a title: UTF-8 without control characters, whatever it was. So is a file's name.
std::string readable(std::string_view text);
std::string readable_name(const std::filesystem::path& path);

/// The first character of UTF-8 text that XML 1.0 (2.2 Characters) or a screen cannot take: control characters, U+FFFE,
/// U+FFFF. Tabs and line breaks are let pass where `breaks` says so. Nullopt if there is none.
std::optional<std::string> forbidden_character(std::string_view utf8, bool breaks);

/// The first 40 bytes or so of UTF-8 text, whole characters only, control characters replaced.
std::string excerpt(std::string_view utf8);

/// The line, from 1, that a byte of the text stands on; ended by LF, CRLF or CR.
int line_at(std::string_view text, std::size_t place);

/// Only printable ASCII, tabs and line ends: nothing else here needs to look at it.
bool is_plain_ascii(std::string_view text);

}  // namespace moundwright::io

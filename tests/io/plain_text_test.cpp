// Text in any encoding that is understood, held against the C library's own tables, and every way to refuse it.
#include "io/plain_text.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <iconv.h>

#include <array>
#include <string>

#include "scratch.h"

namespace moundwright::io {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::Field;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

/// What iconv makes of the bytes; nullopt where it takes them for no text.
std::optional<std::string> by_iconv(std::string bytes, const char* to, const char* from) {
  const iconv_t converter = iconv_open(to, from);
  std::string out(4 * bytes.size() + 8, '\0');
  char *in = bytes.data(), *at = out.data();
  std::size_t in_left = bytes.size(), out_left = out.size();
  const std::size_t fault = iconv(converter, &in, &in_left, &at, &out_left);
  iconv_close(converter);
  if (fault == static_cast<std::size_t>(-1)) return std::nullopt;
  out.resize(out.size() - out_left);
  return out;
}

std::string converted(std::string_view bytes) {
  Problems notes;
  return as_utf8(std::string(bytes), "g.csv", notes);
}

std::vector<Problem> refused(std::string_view bytes) {
  return problems_of([&] { converted(bytes); });
}

TEST(PlainText, Utf8IsLeftAlone) {
  for (const std::string_view text : {"", "1,2,3\r\n", "Pt\xC3\xA9\n", "\xEF\xBB\xBFx", "\xF0\x9F\x8C\xB1 seed"}) {
    Problems notes;
    EXPECT_EQ(converted_to_utf8(text, "g.csv", notes), std::nullopt);
    EXPECT_THAT(notes.all, IsEmpty());
  }
}

TEST(PlainText, EveryByteOfWindows1252AsTheCLibraryHasIt) {
  int refusals = 0;
  for (int byte = 0x80; byte < 0x100; ++byte) {
    const std::string text = std::string("a") + static_cast<char>(byte) + "b";
    const auto expected = by_iconv(text, "UTF-8", "WINDOWS-1252");
    if (expected) {
      EXPECT_EQ(converted(text), *expected) << byte;
    } else {
      EXPECT_THAT(refused(text), ElementsAre(is_error("g.csv line 1", "neither UTF-8 nor Windows-1252"))) << byte;
      ++refusals;
    }
  }
  EXPECT_EQ(refusals, 5);  // 81, 8D, 8F, 90 and 9D
}

TEST(PlainText, Windows1252IsToldWithTheFirstLineThatShowsIt) {
  Problems notes;
  as_utf8("1,2\r\n3,caf\xE9\r4,\xE9\n", "g.csv", notes);
  ASSERT_THAT(notes.all, SizeIs(1));
  EXPECT_EQ(notes.all[0].severity, Severity::note);
  EXPECT_EQ(notes.all[0].where, "g.csv line 2");
  EXPECT_THAT(notes.all[0].what, AllOf(HasSubstr("Windows-1252"), HasSubstr("\"3,caf\xC3\xA9\"")));
}

TEST(PlainText, Utf16WithAMarkAsTheCLibraryHasIt) {
  const std::string text = "N\xC2\xB0 1,\xE2\x82\xAC\r\n\xF0\x9F\x8C\xB1,2\n";
  const std::string little = "\xFF\xFE" + *by_iconv(text, "UTF-16LE", "UTF-8");
  const std::string big = "\xFE\xFF" + *by_iconv(text, "UTF-16BE", "UTF-8");
  for (const std::string& bytes : {little, big}) {
    Problems notes;
    EXPECT_EQ(as_utf8(bytes, "g.csv", notes), text);
    ASSERT_THAT(notes.all, SizeIs(1));
    EXPECT_THAT(notes.all[0].what, HasSubstr("UTF-16"));
  }
}

TEST(PlainText, WhatTurnsTextRoundIsAControlCharacter) {
  for (const char* text : {"a\u202Eb", "\u202A", "x\u2066", "\u2069y"})
    EXPECT_TRUE(forbidden_character(text, true)) << text;
  EXPECT_EQ(readable("a\u202Eb"), "a?b");
  for (const char* text : {"\u2029", "\u202F", "\u2065", "\u206A"})
    EXPECT_FALSE(forbidden_character(text, true)) << text;
}

TEST(PlainText, WhatIsRefusedWithItsLine) {
  using namespace std::string_literals;
  const auto told = [](const std::string& bytes, const char* where, const char* what) {
    EXPECT_THAT(refused(bytes), ElementsAre(is_error(where, what))) << bytes;
  };
  told("1\n\xC3\xA9\n\xE9\n"s, "g.csv line 3", "line 2 is written in UTF-8, but this line is not");
  told("\xEF\xBB\xBF 1\n\xE9\n"s, "g.csv line 2", "marked as UTF-8");
  told("1\n\xED\xA0\x80\n"s, "g.csv line 2", "half of a UTF-16 pair");
  told("1\n\xED\xAF\xBF\n"s, "g.csv line 2", "half of a UTF-16 pair");  // U+DBFF, the last of the first halves
  told("1\n\xED\xBF\xBF\n"s, "g.csv line 2", "half of a UTF-16 pair");  // U+DFFF, the last of the other halves
  told("1\n2\0\n"s, "g.csv line 2", "zero byte");
  told("1\0,\0002\0,\0003\0\n\0"s, "g.csv", "UTF-16 text without a byte order mark");
  told("\0001\0,\0002\0,\0003\0\n"s, "g.csv", "UTF-16 text without a byte order mark");
  told("\xFF\xFE\0\0\0001\0\0\0"s, "g.csv", "UTF-32");
  told("\xFF\xFE\x31\0\x0A\0\x32"s, "g.csv line 2", "broken on this line");  // half a unit
  told("\xFF\xFE\x3D\xD8\x31\0"s, "g.csv line 1", "broken on this line");    // half a pair
  told("\xFF\xFE\x31\xDC\x31\0"s, "g.csv line 1", "broken on this line");    // its other half
  told("\xFE\xFF\0\x31\0\x0A\0\0"s, "g.csv line 2", "not text");
}

// XML 1.0, fifth edition, 2.2: Char ::= #x9 | #xA | #xD | [#x20-#xD7FF] | [#xE000-#xFFFD] | [#x10000-#x10FFFF].
bool is_xml_char(unsigned c) {
  return c == 0x9 || c == 0xA || c == 0xD || (c >= 0x20 && c <= 0xD7FF) || (c >= 0xE000 && c <= 0xFFFD) ||
         (c >= 0x10000 && c <= 0x10FFFF);
}

std::string utf8(unsigned c) {
  std::string bytes;
  for (int shift = 24; shift >= 0; shift -= 8) bytes += static_cast<char>(c >> shift & 0xFF);
  return *by_iconv(bytes, "UTF-8", "UCS-4BE");
}

TEST(PlainText, WhatXmlCannotHoldIsForbiddenAndNothingElseButControls) {
  for (unsigned c = 1; c <= 0x10FFFF; c += c < 0x3000 || (c > 0xD700 && c < 0x10010) ? 1 : 0x101) {
    if (c >= 0xD800 && c < 0xE000) continue;  // no UTF-8 has them
    // Unicode's category Cc, and the explicit directional controls of Unicode Standard Annex 9, 2.1 to 2.5.
    const bool turns = (c >= 0x202A && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069);
    const bool is_control = c < 0x20 || (c >= 0x7F && c <= 0x9F) || turns;
    const bool is_break = c == '\t' || c == '\r' || c == '\n';
    const std::string text = fmt::format("a{}b", utf8(c));
    EXPECT_EQ(forbidden_character(text, false).has_value(), is_control || !is_xml_char(c)) << c;
    EXPECT_EQ(forbidden_character(text, true).has_value(), (is_control && !is_break) || !is_xml_char(c)) << c;
    if (forbidden_character(text, false)) {
      EXPECT_THAT(*forbidden_character(text, false), HasSubstr(fmt::format("U+{:04X}", c)));
    }
  }
}

TEST(PlainText, MessagesShowWholeCharactersAndNoControls) {
  EXPECT_EQ(excerpt("a\x1B[31m\xC2\x9B"
                    "b\tc"),
            "a?[31m?b?c");
  std::string cut = std::string(39, 'x') + "\xE2\x82\xAC";
  EXPECT_EQ(excerpt(cut), std::string(39, 'x'));
  EXPECT_EQ(excerpt(std::string(38, 'x') + "\xC3\xA9" + "yyy"), std::string(38, 'x') + "\xC3\xA9");
  EXPECT_EQ(readable_name("/lots/caf\xE9\n.csv"), "caf\xC3\xA9?.csv");
}

TEST(PlainText, LinesAreCountedByEveryEndOfLine) {
  const std::string_view text = "1\n2\r\n3\r4\n\r5";
  for (const char c : std::string_view("1234")) EXPECT_EQ(line_at(text, text.find(c)), c - '0');
  EXPECT_EQ(line_at(text, text.find('5')), 6);
}

}  // namespace
}  // namespace moundwright::io

// What reaches a terminal: no order out of a file, and colour only where it is ours.
#include "viewer/terminal.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

#include "geom/problem.h"
#include "viewer/report.h"

namespace moundwright::viewer {
namespace {

TEST(Terminal, LettersOfEveryKindStayAsTheyAre) {
  for (const char* text :
       {"Lot 7, Fernhollow Lane\n\tN 5120.00", "Grünewald, 3.5 m² — ok", "\xE0\xA0\x80", "\xF0\x9F\x9A\x9C", ""}) {
    EXPECT_EQ(visible(text), text);
  }
}

// ECMA-48, 5th edition: C0 (0x00 to 0x1F), DEL, and C1, which UTF-8 writes in two bytes.
TEST(Terminal, ControlCharactersAreWrittenOut) {
  EXPECT_EQ(visible("\x1B[2Jgone\x1B]0;title\x07"), "\\x1B[2Jgone\\x1B]0;title\\x07");
  EXPECT_EQ(visible(std::string("a\0b", 3)), "a\\x00b");
  EXPECT_EQ(visible("over\rwritten\b\x7F"), "over\\x0Dwritten\\x08\\x7F");
  EXPECT_EQ(visible("\xC2\x9B"
                    "31m"),
            "\\x9B31m");
  for (int c = 0; c < 0x20; ++c) {
    if (c == '\n' || c == '\t') continue;
    EXPECT_EQ(visible(std::string(1, static_cast<char>(c))).size(), 4U) << c;
  }
}

// Unicode Standard Annex 9: what turns the direction of writing can make a text read otherwise than it is.
TEST(Terminal, MarksThatTurnTheDirectionOfWritingAreWrittenOut) {
  EXPECT_EQ(visible("a\xE2\x80\xAE"
                    "b"),
            "a\\u202Eb");
  EXPECT_EQ(visible("\xE2\x81\xA6"), "\\u2066");
}

// RFC 3629: the bytes that cannot stand in UTF-8, letters written longer than need be, surrogates, and what is past the
// end.
TEST(Terminal, BytesThatAreNoUtf8AreWrittenOut) {
  EXPECT_EQ(visible("Gr\xFCn"), "Gr\\xFCn");
  EXPECT_EQ(visible("\xC0\x9B"), "\\xC0\\x9B");
  EXPECT_EQ(visible("\xE0\x82\x9B"), "\\xE0\\x82\\x9B");
  EXPECT_EQ(visible("\xED\xA0\x80"), "\\xED\\xA0\\x80");
  EXPECT_EQ(visible("\xF4\x90\x80\x80"), "\\xF4\\x90\\x80\\x80");
  EXPECT_EQ(visible("cut \xE2\x82"), "cut \\xE2\\x82");
}

TEST(Terminal, ColourIsOfTheWordThatALineBeginsWith) {
  const std::string red = "\x1B[38;2;255;000;000m", end = "\x1B[0m";
  EXPECT_EQ(coloured("error: no\n    error: indented\n"), red + "error:" + end + " no\n    error: indented\n");
  const std::string bad = verdict_lead(Verdict::bad);
  EXPECT_EQ(coloured("Title\n" + bad + "separation"), "Title\n" + red + bad + end + "separation");
  EXPECT_EQ(coloured(verdict_lead(Verdict::told) + "x\n"), verdict_lead(Verdict::told) + "x\n");
  EXPECT_THAT(coloured("\x1B[31mmine"), testing::Not(testing::HasSubstr("\x1B[31m")));
}

}  // namespace
}  // namespace moundwright::viewer

// What every caution has to say, typed apart from the program from the rules themselves. The wording is the project's
// own; the figures are the rule's.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace moundwright {

struct CautionWords {
  const char* name;
  std::vector<std::string> words;  // each somewhere in the text, in this order
};

/// Damage prevention, 49 CFR 196.103: a one-call system (811 in the US) before digging, then wait for the marks.
/// Private lines are not marked by it: common practice.
inline const CautionWords caution_utilities = {"utilities",
                                               {"811", "wait for the marks", "have private lines located too"}};

inline const CautionWords caution_trench = {
    "trench",
    {
        "a competent person",                     // 29 CFR 1926.651(k)(1): daily inspections
        "a way out within 25 ft from 4 ft deep",  // 1926.651(c)(2): 4 ft or more deep, 25 ft of lateral travel
        "a protective system from 5 ft or",       // 1926.652(a)(1)(ii): none needed only under 5 ft ...
        "wherever it may cave",                   // ... and where nothing shows that it may cave in
        "spoil 2 ft back",                        // 1926.651(j)(2)
        "29 CFR 1926.651-652",
    }};

/// Confined spaces in construction, 29 CFR 1926.1201-1213: 1926.1203(b) keeps everyone out who holds no permit.
inline const CautionWords caution_tank = {"tank", {"Never enter a tank", "the gas kills", "29 CFR 1926 Subpart AA"}};

/// Hygiene: 29 CFR 1926.51(f), washing facilities, and 1926.28, 1926.102, gloves and eyes. A licensed electrician:
/// state electrical codes; common practice.
inline const CautionWords caution_sewage = {
    "sewage",
    {"Sewage carries disease", "gloves", "eye protection", "wash", "Pump wiring is for a licensed electrician"}};

inline const CautionWords caution_govern = {
    "govern",
    {"permit, the local code and the licensed designer govern", "is not a land survey, a design or a permit"}};

/// Line ends and runs of blanks are one blank: text is broken differently in each file.
inline std::string on_one_line(const std::string& text) {
  std::string line;
  for (const char c : text) {
    const bool blank = c == ' ' || c == '\n' || c == '\r' || c == '\t' || c == '\f';
    if (!blank) line += c;
    if (blank && !line.empty() && line.back() != ' ') line += ' ';
  }
  return line;
}

inline void expect_caution(const std::string& text, const CautionWords& caution, const std::string& where) {
  const std::string line = on_one_line(text);
  std::size_t from = 0;
  for (const std::string& words : caution.words) {
    const std::size_t at = line.find(words, from);
    EXPECT_NE(at, std::string::npos) << where << " does not say \"" << words << "\" (" << caution.name << ")";
    if (at != std::string::npos) from = at;
  }
}

}  // namespace moundwright

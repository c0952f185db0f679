// What a shot's description says of breaklines: the code it begins with, which line of that code the shot is on, and
// whether a line begins or ends there.
//
//   EP                    a shot on the line EP
//   EP broken asphalt     the same; what stands behind is a remark
//   EP2, EP 2, EP-2       on line 2 of several with that code
//   EP B, EP2 BEG, EP2B   a line begins here
//   EP E, EP END 2        a line ends here
//   EP CLOSE              a line ends here, led back to where it began
//   EP.B, EP.2, EP+       a point before the word or number; a job's own word that begins with a sign, glued to the
//   code
//
// A word counts only where it stands right behind the code or the number. Upper and lower case are alike, and so are
// runs of blanks; between code, number and word may stand blanks, a comma or one of - _ / as well.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace moundwright::io {

enum class LineMark { none, begin, end, close };

/// The words of a job, by what they say; nullopt leaves the usual ones: B, BEG, BEGIN, ST, START · E, EN, END, STOP ·
/// CL, CLS, CLOSE. These are common practice, and no standard; they differ from crew to crew.
struct LineWords {
  std::optional<std::vector<std::string>> begin, end, close;
};

class LineVocabulary {
 public:
  explicit LineVocabulary(const LineWords& given);

  struct Meaning {
    LineMark mark = LineMark::none;
    bool is_given = false;  // by the job, so that it is never taken for a remark
  };
  Meaning meaning_of(std::string_view word) const;

 private:
  struct Entry {
    std::string word;
    Meaning meaning;
  };
  std::vector<Entry> entries_;  // given ones first
};

/// What stands behind a code.
struct LinePlace {
  std::string number;  // of the line, without zeros before it; empty where the code has none
  LineMark mark = LineMark::none;
  std::string word;  // that the mark was written with
  bool word_is_given = false;
};

/// What a description says behind `code`; nullopt where it does not begin with that code. EPX, EP-X and EP1X do not
/// begin with EP.
std::optional<LinePlace> place_on_line(std::string_view description, std::string_view code,
                                       const LineVocabulary& words);

/// Whether a word seems to be meant, but stands where it says nothing: glued to the code (TOBB) or before it (B TOB).
/// For descriptions that place_on_line knows no place of.
bool has_misplaced_word(std::string_view description, std::string_view code, const LineVocabulary& words);

}  // namespace moundwright::io

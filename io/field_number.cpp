#include "io/field_number.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <string>
#include <utility>

#include "io/ascii.h"

namespace moundwright::io {
namespace {

/// A number as C++ and every program writes it; a plus in front is let pass.
FieldNumber plain_number(std::string_view text) {
  const bool plus = text.size() > 1 && text[0] == '+' && text[1] != '-';
  const std::string_view digits = plus ? text.substr(1) : text;  // from_chars takes no plus
  const char* end = digits.data() + digits.size();
  FieldNumber number;
  const auto [stop, error] = std::from_chars(digits.data(), end, number.value);
  if (error == std::errc::result_out_of_range && stop == end) return {0, NumberFault::not_finite};
  if (error != std::errc() || stop != end) return {0, NumberFault::text};
  if (!std::isfinite(number.value)) return {0, NumberFault::not_finite};
  return number;
}

bool all_digits(std::string_view text) { return std::all_of(text.begin(), text.end(), is_digit); }

/// "1", "12" or "123" with groups of three behind, each after `mark`; one group at least.
bool is_grouped(std::string_view text, char mark) {
  const std::size_t first = text.find(mark);
  if (first == 0 || first > 3 || first == std::string_view::npos || !all_digits(text.substr(0, first))) return false;
  if (text.front() == '0') return false;  // nobody writes 0,125 for a hundred and twenty-five
  for (text.remove_prefix(first); !text.empty(); text.remove_prefix(4)) {
    if (text.size() < 4 || text.front() != mark || !all_digits(text.substr(1, 3))) return false;
  }
  return true;
}

bool is_thousands(std::string_view digits) {
  const std::size_t point = std::min(digits.find('.'), digits.size());
  return is_grouped(digits.substr(0, point), ',') && all_digits(digits.substr(std::min(point + 1, digits.size())));
}

/// With points between thousands or none.
bool is_decimal_comma(std::string_view digits) {
  const std::size_t comma = digits.find(',');
  if (comma == std::string_view::npos) return false;
  const std::string_view whole = digits.substr(0, comma), behind = digits.substr(comma + 1);
  return !behind.empty() && all_digits(behind) && (all_digits(whole) || is_grouped(whole, '.'));
}

std::string_view without_sign(std::string_view text) {
  if (!text.empty() && (text.front() == '+' || text.front() == '-')) text.remove_prefix(1);
  return text;
}

bool is_part_of_number(char c) { return is_digit(c) || c == '.' || c == ','; }

/// Cuts a unit mark off the end of `text`: what stands behind its last digit.
UnitMark take_unit_mark(std::string_view& text) {
  std::size_t end = text.size();
  if (end > 1 && text.back() == '.' && is_letter(text[end - 2])) --end;  // the point of "ft."
  while (end > 0 && !is_part_of_number(text[end - 1])) --end;
  if (end == 0 || end == text.size()) return UnitMark::none;
  const auto mark = unit_mark(text.substr(end));
  if (!mark) return UnitMark::none;
  text = trimmed(text.substr(0, end));
  return *mark;
}

/// The number with its commas taken out or made points.
std::string without_commas(std::string_view text, Commas commas) {
  std::string plain;
  for (const char c : text) {
    const char thousands = commas == Commas::decimal ? '.' : ',';
    if (c != thousands) plain += c == ',' ? '.' : c;
  }
  return plain;
}

CommaUse comma_use_of_bare(std::string_view text) {
  const std::string_view digits = without_sign(text);
  if (digits.find(',') == std::string_view::npos) {
    if (plain_number(text).fault != NumberFault::none) return CommaUse::not_a_number;
    if (digits.find('.') == std::string_view::npos) return CommaUse::none;
    return is_grouped(digits, '.') ? CommaUse::some_point : CommaUse::point;
  }
  const bool thousands = is_thousands(digits), decimal = is_decimal_comma(digits);
  if (thousands && decimal) return CommaUse::either;
  return thousands ? CommaUse::thousands : decimal ? CommaUse::decimal : CommaUse::not_a_number;
}

bool reads_as(CommaUse use, Commas commas) {
  if (commas == Commas::none) return false;
  return use == CommaUse::either || (use == CommaUse::thousands && commas == Commas::thousands) ||
         (use == CommaUse::decimal && commas == Commas::decimal);
}

FieldNumber read_odd_number(std::string_view text, Commas commas) {
  const UnitMark mark = take_unit_mark(text);
  FieldNumber number;
  const CommaUse use = comma_use_of_bare(text);
  if (text.find(',') == std::string_view::npos || use == CommaUse::not_a_number) {
    number = plain_number(text);
  } else if (!reads_as(use, commas)) {
    number.fault = NumberFault::comma;
  } else {
    number = plain_number(without_commas(text, commas));
  }
  number.mark = mark;
  return number;
}

}  // namespace

std::optional<UnitMark> unit_mark(std::string_view word) {
  word = trimmed(word);
  for (const std::string_view prime :
       {"'", "\xE2\x80\xB2", "\xE2\x80\x99"}) {  // typed, prime, as a word processor has it
    if (word == prime) return UnitMark::foot;
  }
  std::string letters;
  for (const char c : word) {
    if (is_letter(c)) {
      letters += lower(c);
    } else if (c != ' ' && c != '.' && c != '-' && c != '_') {
      return std::nullopt;
    }
  }
  static constexpr std::pair<std::string_view, UnitMark> words[] = {
      {"ft", UnitMark::foot},
      {"feet", UnitMark::foot},
      {"foot", UnitMark::foot},
      {"intft", UnitMark::international_foot},
      {"intlft", UnitMark::international_foot},
      {"ift", UnitMark::international_foot},
      {"internationalfeet", UnitMark::international_foot},
      {"usft", UnitMark::us_survey_foot},
      {"ftus", UnitMark::us_survey_foot},
      {"sft", UnitMark::us_survey_foot},
      {"ussft", UnitMark::us_survey_foot},
      {"usfeet", UnitMark::us_survey_foot},
      {"surveyfeet", UnitMark::us_survey_foot},
      {"ussurveyfeet", UnitMark::us_survey_foot},
      {"ussurveyft", UnitMark::us_survey_foot},
      {"ussurveyfoot", UnitMark::us_survey_foot},
      {"m", UnitMark::metre},
      {"meter", UnitMark::metre},
      {"meters", UnitMark::metre},
      {"metre", UnitMark::metre},
      {"metres", UnitMark::metre},
  };
  for (const auto& [known, mark] : words) {
    if (known == letters) return mark;
  }
  return std::nullopt;
}

UnitAgreement agreement(UnitMark mark, LengthUnit unit) {
  const bool metric = unit == LengthUnit::metre;
  switch (mark) {
    case UnitMark::none:
      return UnitAgreement::agrees;
    case UnitMark::metre:
      return metric ? UnitAgreement::agrees : UnitAgreement::differs;
    case UnitMark::foot:
      return metric ? UnitAgreement::differs : UnitAgreement::agrees;
    case UnitMark::international_foot:
      return metric                     ? UnitAgreement::differs
             : unit == LengthUnit::foot ? UnitAgreement::agrees
                                        : UnitAgreement::other_foot;
    case UnitMark::us_survey_foot:
      return metric                     ? UnitAgreement::differs
             : unit == LengthUnit::foot ? UnitAgreement::other_foot
                                        : UnitAgreement::agrees;
  }
  return UnitAgreement::agrees;
}

FieldNumber read_number(std::string_view text, Commas commas) {
  if (text.empty()) return {0, NumberFault::empty};
  const FieldNumber number = plain_number(text);
  return number.fault == NumberFault::text ? read_odd_number(text, commas) : number;
}

CommaUse comma_use(std::string_view text) {
  take_unit_mark(text);
  return comma_use_of_bare(text);
}

}  // namespace moundwright::io

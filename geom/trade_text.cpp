#include "geom/trade_text.h"

#include <fmt/format.h>

#include <cmath>

#include "geom/problem.h"

namespace moundwright {
namespace {

std::string trimmed_zeros(std::string number) {
  number.erase(number.find_last_not_of('0') + 1);
  if (number.back() == '.') number.pop_back();
  return number;
}

int station_decimals(LengthUnit unit) { return unit == LengthUnit::metre ? 2 : 1; }

}  // namespace

std::string station_text(double past_left_end, LengthUnit unit) {
  const int decimals = station_decimals(unit);
  const double station = as_printed(100.0 + past_left_end, decimals);
  const double size = std::abs(station);
  const double full = std::floor(size / 100.0);
  return fmt::format("{}{:.0f}+{:0{}.{}f}", station < 0 ? "-" : "", full, size - 100.0 * full, decimals + 3, decimals);
}

std::string offset_text(double downslope, LengthUnit unit) {
  const int decimals = station_decimals(unit);
  const double offset = as_printed(downslope, decimals);
  if (offset == 0) return "0";
  return fmt::format("{} {}", offset < 0 ? "U" : "D", fixed_text(std::abs(offset), decimals));
}

std::string cut_or_fill(double ground, double design, LengthUnit unit) {
  const int decimals = length_decimals(unit);
  const double fill = printed_difference(design, ground, decimals);
  std::string size = fixed_text(std::abs(fill), decimals);
  if (fill == 0) return size;
  return (fill > 0 ? "F " : "C ") + size;
}

std::string slope_text(double run) { return run > 0 ? trimmed_zeros(fixed_text(run, 2)) + ":1" : "vertical"; }

double grade_rod(double height_of_instrument, double grade, LengthUnit unit) {
  return printed_difference(height_of_instrument, grade, length_decimals(unit));
}

std::string feet_inches_eighths(double feet) {
  if (!(feet >= 0) || feet > 1e6) {
    throw Refusal({Severity::error, fmt::format("{} cannot be written in feet, inches and eighths", feet), "",
                   "give a length from zero to a million feet"});
  }
  const auto eighths = static_cast<long long>(as_printed(feet * 96.0, 0));
  const long long whole_inches = eighths / 8 % 12, part = eighths % 8;
  std::string text = fmt::format("{} ft {}", eighths / 96, whole_inches);
  if (part > 0) {
    const int shrink = part % 4 == 0 ? 4 : part % 2 == 0 ? 2 : 1;
    text += fmt::format("-{}/{}", part / shrink, 8 / shrink);
  }
  return text + " in";
}

std::string rod_text(double rod, LengthUnit unit) {
  const int decimals = length_decimals(unit);
  const double reading = as_printed(rod, decimals);
  if (reading < 0) return fmt::format("nothing: the grade is {} above the instrument", fixed_text(-reading, decimals));
  const std::string text = fixed_text(reading, decimals);
  return unit == LengthUnit::metre ? text : fmt::format("{} ({})", text, feet_inches_eighths(std::abs(reading)));
}

std::string hub_grade_line(std::string_view hub, std::string_view grade_name, double grade, double hub_shot,
                           double height_of_instrument, LengthUnit unit) {
  const auto length = [&](double value) { return fixed_text(value, length_decimals(unit)); };
  return fmt::format("{}, {} {}, hub shot {}: {} to {}; with the instrument at {} the rod reads {}", hub, grade_name,
                     length(grade), length(hub_shot), cut_or_fill(hub_shot, grade, unit), grade_name,
                     length(height_of_instrument), rod_text(grade_rod(height_of_instrument, grade, unit), unit));
}

}  // namespace moundwright

#include "geom/printed.h"

#include <fmt/format.h>

#include <cmath>

namespace moundwright {

double as_printed(double value, int decimals) {
  constexpr double slack = 1e-6;    // of the last digit
  constexpr double whole = 0x1p52;  // from here on there are no halves
  const double scale = std::pow(10.0, decimals), size = std::abs(value) * scale;
  if (!(size < whole)) return value;
  const double digits = std::floor(size + 0.5 + slack);
  return digits == 0 ? 0.0 : std::copysign(digits / scale, value);
}

double printed_difference(double a, double b, int decimals) {
  return as_printed(as_printed(a, decimals) - as_printed(b, decimals), decimals);
}

std::string fixed_text(double value, int decimals) {
  return fmt::format("{:.{}f}", as_printed(value, decimals), decimals);
}

int length_decimals(LengthUnit unit) { return unit == LengthUnit::metre ? 3 : 2; }

}  // namespace moundwright

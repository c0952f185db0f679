// A colour as screens and printers take it.
#pragma once

namespace moundwright::io {

/// sRGB, each from 0 to 1.
struct Colour {
  double red = 0, green = 0, blue = 0;
};

/// From `colour` (0) towards white (1).
constexpr Colour lighter(const Colour& colour, double share) {
  return {colour.red + (1 - colour.red) * share, colour.green + (1 - colour.green) * share,
          colour.blue + (1 - colour.blue) * share};
}

constexpr Colour darker(const Colour& colour, double share) {
  return {colour.red * (1 - share), colour.green * (1 - share), colour.blue * (1 - share)};
}

}  // namespace moundwright::io

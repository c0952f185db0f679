// Scales, north arrow, scale bar and dimension lines of drawing.h.
#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "io/drawing.h"

namespace moundwright::io {
namespace {

constexpr double bar_height = 4, bar_figures = 7;

double bar_step(const DrawingScale& scale, double most_width) {
  double step = 0;
  for (double tens = 1e-3; tens < 1e6; tens *= 10) {
    for (const double digit : {1.0, 2.0, 2.5, 5.0}) {
      if (4 * digit * tens * scale.points_per_unit() <= most_width) step = std::max(step, digit * tens);
    }
  }
  return step;
}

}  // namespace

std::string to_text(const DrawingScale& scale) {
  if (scale.unit == LengthUnit::metre) return fmt::format("1:{:g}", scale.denominator);
  return fmt::format("1 in = {:g} ft", scale.denominator / 12);
}

double round_step(double least) {
  const double tens = std::pow(10.0, std::floor(std::log10(least)));
  for (const double digit : {1.0, 2.0, 5.0, 10.0}) {
    if (digit * tens >= least * (1 - 1e-9)) return digit * tens;
  }
  return 10 * tens;
}

DrawingScale fitting_scale(LengthUnit unit, double width, double height, double paper_width, double paper_height) {
  // US survey feet are laid off as feet; on paper the two parts in a million do not show.
  const std::vector<double> steps =
      unit == LengthUnit::metre ? std::vector<double>{1, 2, 2.5, 5, 10} : std::vector<double>{1, 2, 3, 4, 5, 6, 8, 10};
  const double inch = unit == LengthUnit::metre ? 1.0 : 12.0;
  DrawingScale scale{inch, unit};
  for (double tens = 1; tens < 1e9; tens *= 10) {
    for (const double step : steps) {
      scale.denominator = inch * step * tens;
      const double points = scale.points_per_unit() * (1 - 1e-9);  // what fits exactly fits
      if (width * points <= paper_width && height * points <= paper_height) return scale;
    }
  }
  return scale;
}

void draw_arrow_head(cairo_t* cairo, const Point2& tip, const Point2& direction, double length, const Colour& colour) {
  const Point2 back = tip - direction * length, side = Point2(-direction.y(), direction.x()) * (0.28 * length);
  add_path(cairo, {tip, back + side, back - side}, true);
  set_colour(cairo, colour);
  cairo_fill(cairo);
}

void draw_north_arrow(cairo_t* cairo, const Point2& centre, double height, const Point2& north, const Point2& east) {
  const Point2 tip = centre + north * (0.5 * height), foot = centre - north * (0.5 * height);
  const Point2 waist = foot + north * (0.16 * height);
  const double half = 0.16 * height;
  // One half dark, one light, so that it shows on any ground.
  add_path(cairo, {tip, waist, foot - east * half}, true);
  set_colour(cairo, ink);
  cairo_fill(cairo);
  add_path(cairo, {tip, waist, foot + east * half}, true);
  set_colour(cairo, paper_white);
  cairo_fill_preserve(cairo);
  take_pen(cairo, {0.7, ink, {}});
  cairo_stroke(cairo);
  TextStyle style;
  style.size = 0.3 * height, style.bold = true, style.halo = 1;
  draw_text(cairo, "N", tip + north.normalized() * (0.2 * height), 0.5, 0.5, style);
}

TextSize scale_bar_size(const DrawingScale& scale, double most_width) {
  const double bar = 4 * bar_step(scale, most_width) * scale.points_per_unit();
  const double words = 0.62 * bar_figures * static_cast<double>(("Scale " + to_text(scale)).size());
  return {std::max(bar + 26, words + 10), bar_height + 2 * bar_figures + 9};
}

void draw_scale_bar(cairo_t* cairo, const Point2& at, const DrawingScale& scale, double most_width) {
  const double step = bar_step(scale, most_width), width = step * scale.points_per_unit();
  const double left = at.x() + 5, top = at.y() + bar_figures + 4;
  TextStyle figures;
  figures.size = bar_figures;
  for (int i = 0; i < 4; ++i) {
    const PaperRect piece{left + i * width, top, width, bar_height};
    fill_rect(cairo, piece, i % 2 == 0 ? ink : paper_white);
    draw_rect(cairo, piece, {0.6, ink, {}});
  }
  for (const int i : {0, 1, 2, 4}) {
    if (i * width < 18 && i > 0) continue;
    if (i == 1 && width < 24) continue;
    const std::string text = fmt::format("{:g}{}", i * step, i == 4 ? std::string(" ") + symbol(scale.unit) : "");
    const double across = i == 4 ? 0.3 : 0.5;
    draw_text(cairo, text, {left + i * width, top - 1}, across, 1, figures);
  }
  draw_text(cairo, "Scale " + to_text(scale), {left, top + bar_height + 1.5}, 0, 0, figures);
}

void draw_dimension(cairo_t* cairo, const Point2& from, const Point2& to, const std::vector<std::string>& texts,
                    const TextStyle& style) {
  const double length = (to - from).norm();
  if (length < 1e-9 || texts.empty()) return;
  const Point2 along = (to - from) / length;
  const auto goes_between = [&](const std::string& t) { return measure_text(cairo, t, style).width + 10 < length; };
  const auto found = std::find_if(texts.begin(), texts.end(), goes_between);
  const bool fits = found != texts.end();
  const std::string& text = fits ? *found : texts.back();
  const TextSize size = measure_text(cairo, text, style);
  const Pen pen{0.5, ink, {}};
  const Point2 middle = 0.5 * (from + to);
  if (fits) {
    draw_line(cairo, {from, middle - along * (0.5 * size.width + 2)}, pen);
    draw_line(cairo, {middle + along * (0.5 * size.width + 2), to}, pen);
  } else {
    draw_line(cairo, {from, to}, pen);
  }
  const Point2 slant = Point2(along.x() - along.y(), along.y() + along.x()) * 2.2;
  for (const Point2& end : {from, to}) draw_line(cairo, {end - slant, end + slant}, {0.9, ink, {}});
  double angle = std::atan2(along.y(), along.x());
  if (std::abs(angle) > 0.5 * M_PI + 1e-9) angle += angle > 0 ? -M_PI : M_PI;
  draw_text(cairo, text, middle, 0.5, fits ? 0.5 : 1.15, style, angle);
}

}  // namespace moundwright::io

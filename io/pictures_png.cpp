#include "io/pictures_png.h"

#include <cairo.h>
#include <fmt/format.h>
#include <png.h>

#include <algorithm>
#include <cstdint>
#include <memory>
#include <vector>

#include "io/plan_drawing.h"
#include "io/section_drawing.h"

namespace moundwright {
namespace {

constexpr double dots_per_inch = 150;
constexpr double margin = 27;

/// Compressed for speed, which for drawings is no larger: cairo's own takes some four times as long.
std::string png_of(cairo_surface_t* surface) {
  cairo_surface_flush(surface);
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  image.format = PNG_FORMAT_RGB;
  image.flags = PNG_IMAGE_FLAG_FAST;
  image.width = static_cast<png_uint_32>(cairo_image_surface_get_width(surface));
  image.height = static_cast<png_uint_32>(cairo_image_surface_get_height(surface));
  const auto stride = static_cast<std::size_t>(cairo_image_surface_get_stride(surface));
  std::vector<std::uint8_t> colours(PNG_IMAGE_SIZE(image));
  std::uint8_t* next = colours.data();
  for (std::size_t y = 0; y < image.height; ++y) {
    const auto* row = reinterpret_cast<const std::uint32_t*>(cairo_image_surface_get_data(surface) + y * stride);
    for (std::size_t x = 0; x < image.width; ++x) {
      for (const unsigned shift : {16U, 8U, 0U}) *next++ = static_cast<std::uint8_t>(row[x] >> shift);
    }
  }
  std::string bytes(PNG_IMAGE_PNG_SIZE_MAX(image), '\0');
  png_alloc_size_t size = bytes.size();
  if (png_image_write_to_memory(&image, bytes.data(), &size, 0, colours.data(), 0, nullptr) == 0) {
    throw Refusal({Severity::error, fmt::format("a picture cannot be written: {}", image.message), {}, {}});
  }
  bytes.resize(size);
  return bytes;
}

void draw_heading(cairo_t* cairo, const SiteResults& results, const std::string& what) {
  TextStyle title;
  title.size = 13, title.bold = true;
  TextStyle subtitle;
  subtitle.size = 9, subtitle.colour = soft_ink;
  draw_text(cairo, results.job.site.title, {margin, margin}, 0, 0, title);
  draw_text(cairo, what, {picture_width - margin, margin + 3}, 1, 0, subtitle);
}

/// Level, name: highest first, as they stand in the mound; in smaller print where there are many.
void draw_grade_card(cairo_t* cairo, const SiteResults& results, const PaperRect& box) {
  const std::vector<Grade>& grades = results.stakes.grades;
  const double row = std::min(10.5, box.height / static_cast<double>(grades.size() + 1));
  TextStyle style;
  style.size = 0.65 * row;
  TextStyle heading = style;
  heading.bold = true;
  double y = box.top;
  draw_text(cairo, fmt::format("Grades, {}", symbol(results.job.site.unit)), {box.left, y}, 0, 0, heading);
  for (std::size_t i = grades.size(); i-- > 0;) {
    y += row;
    draw_text(cairo, fixed_text(grades[i].elevation, length_decimals(results.job.site.unit)), {box.left, y}, 0, 0,
              style);
    TextStyle name = style;
    name.size *= std::min(1.0, (box.width - 44) / measure_text(cairo, grades[i].name, style).width);
    draw_text(cairo, grades[i].name, {box.left + 42, y}, 0, 0, name);
  }
}

void draw_caution(cairo_t* cairo, const std::string& text) {
  TextStyle style;
  style.size = 6.2, style.colour = soft_ink;
  draw_text(cairo, text, {margin, picture_height - margin + 2}, 0, 0.5, style);
}

void draw_plan_page(cairo_t* cairo, const SiteResults& results) {
  draw_heading(cairo, results, "Plan");
  const double top = margin + 24, bottom = picture_height - margin - 8;
  constexpr double panel = 178;
  const PaperRect main{margin, top, picture_width - 2 * margin - panel - 10, bottom - top};
  const PlanExtent work = plan_extent(results, PlanView::work);
  draw_plan(cairo, results, main, work, plan_scale(results, work, main));

  const PaperRect side{main.right() + 10, top, panel, bottom - top};
  const PaperRect small{side.left, side.top, panel, 0.9 * panel};
  const PlanExtent lot = plan_extent(results, PlanView::whole_lot);
  PlanOptions few;
  few.stakes = few.stake_numbers = few.tape_ties = few.section_lines = few.grid_ticks = few.finished_contours = false;
  few.layer_outlines = few.borings = false;
  draw_plan(cairo, results, small, lot, plan_scale(results, lot, small), few);
  double y = small.bottom() + 8;
  y += draw_plan_key(cairo, results, {side.left, y, panel, 0}) + 8;
  // The yards stand on the sections too; they give way to the grades where a mound has many layers.
  const double grades = 7.5 * static_cast<double>(results.stakes.grades.size() + 1);
  const double materials = material_key_height(results);
  if (y + materials + 4 + grades <= bottom) y += draw_material_key(cairo, results, {side.left, y, panel, 0}) + 4;
  draw_grade_card(cairo, results, {side.left, y, panel, bottom - y});
  draw_caution(
      cairo,
      "Ground from the TIN is approximate; mark grade from each hub's own shot. Call 811 before you dig or drive "
      "a stake. Not a land survey, a design or a permit.");
}

void draw_section_page(cairo_t* cairo, const SiteResults& results) {
  draw_heading(cairo, results, "Sections");
  const double width = picture_width - 2 * margin, top = margin + 24, bottom = picture_height - margin - 8;
  const std::vector<SectionCut> cuts = standard_cuts(results);
  constexpr double key = 52;
  const PaperRect upper{margin, top, width, 0.56 * (bottom - top - key)};
  const PaperRect lower{margin, upper.bottom(), width, bottom - key - upper.bottom()};
  draw_section(cairo, results, cuts[0], upper, section_scale(results, cuts[0], upper));
  SectionOptions along;
  along.grades = false;
  draw_section(cairo, results, cuts[1], lower, section_scale(results, cuts[1], lower, along), along);
  draw_material_key(cairo, results, {margin, lower.bottom() + 6, width, key}, 3);
  draw_caution(cairo,
               "Yards are neat and in place: no swell, shrink or waste. Not a land survey, a design or a permit.");
}

}  // namespace

std::string png_of_drawing(double width, double height, double resolution, const std::function<void(cairo_t*)>& draw) {
  const double factor = resolution / 72;
  const std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)> surface(
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, static_cast<int>(width * factor),
                                 static_cast<int>(height * factor)),
      cairo_surface_destroy);
  const std::unique_ptr<cairo_t, decltype(&cairo_destroy)> cairo(cairo_create(surface.get()), cairo_destroy);
  set_colour(cairo.get(), paper_white);
  cairo_paint(cairo.get());
  cairo_scale(cairo.get(), factor, factor);
  draw(cairo.get());
  return png_of(surface.get());
}

std::string plan_png(const SiteResults& results) {
  return png_of_drawing(picture_width, picture_height, dots_per_inch,
                        [&](cairo_t* cairo) { draw_plan_page(cairo, results); });
}

std::string section_png(const SiteResults& results) {
  return png_of_drawing(picture_width, picture_height, dots_per_inch,
                        [&](cairo_t* cairo) { draw_section_page(cairo, results); });
}

}  // namespace moundwright

#include "io/pictures_png.h"

#include <cairo.h>
#include <fmt/format.h>
#include <libdeflate.h>
#include <png.h>

#include <algorithm>
#include <memory>
#include <new>
#include <span>
#include <vector>

#include "io/plan_drawing.h"
#include "io/section_drawing.h"

namespace moundwright::io {
namespace {

constexpr double dots_per_inch = 150;
constexpr double margin = 27;

void append(png_structp png, png_bytep bytes, std::size_t count) {
  static_cast<std::string*>(png_get_io_ptr(png))->append(reinterpret_cast<const char*>(bytes), count);
}

[[noreturn]] void fail(png_structp, const char* why) {
  throw Refusal({Severity::error, fmt::format("a picture cannot be written: {}", why), {}, {}});
}

using Bytes = std::span<const unsigned char>;

/// Makes of a picture's pixels, where they lie, what PNG has: rows that begin with a filter, none, and then hold red,
/// green and blue of each pixel. These take less room than cairo's 0x00RRGGBB, so that none is lost before its turn.
Bytes pack_rows(cairo_surface_t* surface) {
  const auto width = static_cast<std::size_t>(cairo_image_surface_get_width(surface)),
             height = static_cast<std::size_t>(cairo_image_surface_get_height(surface)),
             stride = static_cast<std::size_t>(cairo_image_surface_get_stride(surface)), packed = 1 + 3 * width;
  unsigned char* const pixels = cairo_image_surface_get_data(surface);
  for (std::size_t y = 0; y < height; ++y) {
    const unsigned char* from = pixels + y * stride;
    unsigned char* to = pixels + y * packed + 1;
    for (std::size_t x = 0; x < width; ++x, from += 4, to += 3) {
      const unsigned char blue = from[0], green = from[1], red = from[2];
      to[0] = red, to[1] = green, to[2] = blue;
    }
    pixels[y * packed] = PNG_FILTER_VALUE_NONE;
  }
  return {pixels, height * packed};
}

/// Writes the rows as one zlib stream. Drawings are mostly runs of white: higher levels take longer for little. (ISA-L
/// takes a fifth of the time, but once in some thousand times gives other bytes for the same rows.)
void write_rows(png_structp png, Bytes rows) {
  const std::unique_ptr<libdeflate_compressor, decltype(&libdeflate_free_compressor)> compressor(
      libdeflate_alloc_compressor(2), libdeflate_free_compressor);
  if (compressor == nullptr) throw std::bad_alloc();
  const std::size_t most = libdeflate_zlib_compress_bound(compressor.get(), rows.size());
  const auto stream = std::make_unique_for_overwrite<unsigned char[]>(most);  // little of it is ever touched
  const std::size_t size = libdeflate_zlib_compress(compressor.get(), rows.data(), rows.size(), stream.get(), most);
  png_write_chunk(png, reinterpret_cast<png_const_bytep>("IDAT"), stream.get(), size);
}

/// The surface's pixels are lost.
std::string png_of(cairo_surface_t* surface) {
  struct Writing {
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, fail, nullptr);
    png_infop info = png != nullptr ? png_create_info_struct(png) : nullptr;
    ~Writing() { png_destroy_write_struct(&png, &info); }
  } writing;
  const auto& [png, info] = writing;
  if (info == nullptr) throw std::bad_alloc();
  cairo_surface_flush(surface);
  std::string bytes;
  png_set_write_fn(png, &bytes, append, nullptr);
  png_set_IHDR(png, info, static_cast<png_uint_32>(cairo_image_surface_get_width(surface)),
               static_cast<png_uint_32>(cairo_image_surface_get_height(surface)), 8, PNG_COLOR_TYPE_RGB,
               PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  png_set_sRGB(png, info, PNG_sRGB_INTENT_PERCEPTUAL);
  png_write_info(png, info);
  write_rows(png, pack_rows(surface));
  png_write_chunk(png, reinterpret_cast<png_const_bytep>("IEND"), nullptr, 0);
  return bytes;
}

void draw_heading(cairo_t* cairo, const SiteResults& results, const std::string& what) {
  TextStyle title;
  title.size = 13, title.bold = true;
  TextStyle subtitle;
  subtitle.size = 9, subtitle.colour = soft_ink;
  const double room = picture_width - 2 * margin - measure_text(cairo, what, subtitle).width - 2 * title.size;
  draw_fitting(cairo, results.job.site.title, {margin, margin}, 0, room, title);
  draw_text(cairo, what, {picture_width - margin, margin + 3}, 1, 0, subtitle);
}

/// Level, name: highest first, as they stand in the mound; in smaller print where there are many.
void draw_grade_card(cairo_t* cairo, const SiteResults& results, const PaperRect& box) {
  const std::vector<Grade>& grades = results.found().stakes.grades;
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
  const double grades = 7.5 * static_cast<double>(results.found().stakes.grades.size() + 1);
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
               "Volumes are neat and in place: no swell, shrink or waste. Not a land survey, a design or a permit.");
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
  cairo_set_antialias(cairo.get(), CAIRO_ANTIALIAS_FAST);  // sixteen greys at an edge, not 256: no eye tells them apart
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

}  // namespace moundwright::io

#include "io/pictures_png.h"

#include <cairo.h>
#include <fmt/format.h>

#include <memory>

#include "io/plan_drawing.h"
#include "io/section_drawing.h"

namespace moundwright {
namespace {

constexpr double dots_per_inch = 150;
constexpr double margin = 27;

cairo_status_t append(void* text, const unsigned char* bytes, unsigned count) {
  static_cast<std::string*>(text)->append(reinterpret_cast<const char*>(bytes), count);
  return CAIRO_STATUS_SUCCESS;
}

void draw_heading(cairo_t* cairo, const SiteResults& results, const std::string& what) {
  TextStyle title;
  title.size = 13, title.bold = true;
  TextStyle subtitle;
  subtitle.size = 9, subtitle.colour = soft_ink;
  draw_text(cairo, results.job.site.title, {margin, margin}, 0, 0, title);
  draw_text(cairo, what, {picture_width - margin, margin + 3}, 1, 0, subtitle);
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
  const PaperRect small{side.left, side.top, panel, panel};
  const PlanExtent lot = plan_extent(results, PlanView::whole_lot);
  PlanOptions few;
  few.stakes = few.stake_numbers = few.tape_ties = few.section_lines = few.grid_ticks = few.finished_contours = false;
  few.layer_outlines = few.borings = false;
  draw_plan(cairo, results, small, lot, plan_scale(results, lot, small), few);
  draw_plan_key(cairo, results, {side.left, small.bottom() + 8, panel, 0});
  draw_caution(
      cairo,
      "Ground from the TIN is approximate; mark grade from each hub's own shot. Call 811 before you dig or drive "
      "a stake. Not a land survey, a design or a permit.");
}

void draw_section_page(cairo_t* cairo, const SiteResults& results) {
  draw_heading(cairo, results, "Sections");
  const double top = margin + 24, bottom = picture_height - margin - 8;
  const std::vector<SectionCut> cuts = standard_cuts(results);
  constexpr double key = 178;
  const double each = 0.5 * (bottom - top);
  const PaperRect upper{margin, top, picture_width - 2 * margin - key - 10, each};
  const PaperRect lower{margin, top + each, picture_width - 2 * margin, each};
  draw_section(cairo, results, cuts[0], upper, section_scale(results, cuts[0], upper));
  draw_section(cairo, results, cuts[1], lower, section_scale(results, cuts[1], lower));
  draw_material_key(cairo, results, {upper.right() + 10, top + 10, key, 0});
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
  std::string bytes;
  cairo_surface_write_to_png_stream(surface.get(), append, &bytes);
  return bytes;
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

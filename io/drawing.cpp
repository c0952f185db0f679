#include "io/drawing.h"

#include <pango/pangocairo.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <tuple>

namespace moundwright::io {
namespace {

struct Unref {
  void operator()(gpointer object) const { g_object_unref(object); }
};
using Layout = std::unique_ptr<PangoLayout, Unref>;

/// Text is laid out at this size, whatever its own, and scaled by cairo: Pango looks a font up anew for every size and
/// every turn of the paper, which took longer than laying out.
constexpr double laid_out_size = 16;

double scale_of(const TextStyle& style) { return style.size / laid_out_size; }

/// Metrics must not hang on the resolution, or a label that fits on paper would not in the picture.
PangoContext* new_text_context() {
  const std::unique_ptr<cairo_font_options_t, decltype(&cairo_font_options_destroy)> options(
      cairo_font_options_create(), cairo_font_options_destroy);
  cairo_font_options_set_hint_style(options.get(), CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options.get(), CAIRO_ANTIALIAS_GRAY);
  PangoContext* context = pango_font_map_create_context(pango_cairo_font_map_get_default());
  pango_cairo_context_set_font_options(context, options.get());
  pango_cairo_context_set_resolution(context, 72.0);
  pango_context_set_round_glyph_positions(context, FALSE);
  return context;
}

/// One for each thread, as Pango's font maps are; nothing changes it.
PangoContext* text_context() {
  thread_local const std::unique_ptr<PangoContext, Unref> context(new_text_context());
  return context.get();
}

/// Of a text broken into lines of at most `width` of Pango's units, or not at all where that is -1.
Layout new_layout(const std::string& text, const TextStyle& style, int width) {
  Layout layout(pango_layout_new(text_context()));
  PangoFontDescription* font = pango_font_description_new();
  pango_font_description_set_family_static(font, "DejaVu Sans");
  pango_font_description_set_absolute_size(font, laid_out_size * PANGO_SCALE);
  if (style.bold) pango_font_description_set_weight(font, PANGO_WEIGHT_BOLD);
  if (style.italic) pango_font_description_set_style(font, PANGO_STYLE_OBLIQUE);
  pango_layout_set_font_description(layout.get(), font);
  pango_font_description_free(font);
  pango_layout_set_width(layout.get(), width);
  pango_layout_set_wrap(layout.get(), PANGO_WRAP_WORD_CHAR);
  pango_layout_set_text(layout.get(), text.c_str(), static_cast<int>(text.size()));
  return layout;
}

/// Texts are measured, tried and drawn: the last ones are kept, laid out. Good until the next call.
PangoLayout* layout_of(const std::string& text, const TextStyle& style, int width = -1) {
  constexpr std::size_t most = 2000;  // some kilobytes each; sheets have 1,600
  thread_local std::map<std::tuple<std::string, bool, bool, int>, Layout> known;
  if (known.size() >= most) known.clear();
  Layout& layout = known[{text, style.bold, style.italic, width}];
  if (!layout) layout = new_layout(text, style, width);
  return layout.get();
}

PaperRect points_of(const PangoRectangle& box) {
  return {pango_units_to_double(box.x), pango_units_to_double(box.y), pango_units_to_double(box.width),
          pango_units_to_double(box.height)};
}

TextSize size_of(PangoLayout* layout, const TextStyle& style) {
  PangoRectangle box;
  pango_layout_get_extents(layout, nullptr, &box);
  return {scale_of(style) * points_of(box).width, scale_of(style) * points_of(box).height};
}

/// A text that goes into one line is laid out once for all widths; one that is surely too long is not tried.
PangoLayout* paragraph_layout(const std::string& text, double width, const TextStyle& style) {
  constexpr double narrow_letter = 0.45;  // of the size; wider on average
  if (narrow_letter * style.size * static_cast<double>(text.size()) < width) {
    PangoLayout* whole = layout_of(text, style);
    if (size_of(whole, style).width <= width) return whole;
  }
  return layout_of(text, style, static_cast<int>(width / scale_of(style) * PANGO_SCALE));
}

/// A box behind the ink of each line with its corners taken off, `rim` past it, but no higher than the line itself,
/// which is what labels keep clear. A rim round each letter hides no less, and takes as long as all else on a plan.
void add_plates(cairo_t* cairo, PangoLayout* layout, double rim) {
  const std::unique_ptr<PangoLayoutIter, decltype(&pango_layout_iter_free)> lines(pango_layout_get_iter(layout),
                                                                                  pango_layout_iter_free);
  do {
    PangoRectangle ink, line;
    pango_layout_iter_get_line_extents(lines.get(), &ink, &line);
    const auto [x, y, width, height] = inset(points_of(ink), -rim);
    const double left = x, right = x + width, cut = 0.6 * rim;
    const double top = std::max(y, points_of(line).top), bottom = std::min(y + height, points_of(line).bottom());
    add_path(cairo,
             {{left, top + cut},
              {left + cut, top},
              {right - cut, top},
              {right, top + cut},
              {right, bottom - cut},
              {right - cut, bottom},
              {left + cut, bottom},
              {left, bottom - cut}},
             true);
  } while (pango_layout_iter_next_line(lines.get()));
}

/// From the context's origin right and down.
void show(cairo_t* cairo, PangoLayout* layout, const TextStyle& style) {
  cairo_scale(cairo, scale_of(style), scale_of(style));
  cairo_new_path(cairo);
  if (style.halo > 0) {
    add_plates(cairo, layout, style.halo / scale_of(style));
    set_colour(cairo, paper_white);
    cairo_fill(cairo);
  }
  set_colour(cairo, style.colour);
  cairo_move_to(cairo, 0, 0);
  pango_cairo_show_layout(cairo, layout);
}

// ---- hatches: each draws where its shape is, and is clipped to it by its caller -------------------------------------

/// The box round a shape, and which places in it are near the shape: a thin shape's box is mostly empty, and marks that
/// the clip takes away would still be written into every PDF.
class HatchArea {
 public:
  /// Of cairo's current path. Marks reach no farther than `reach` points.
  HatchArea(cairo_t* cairo, double reach) {
    double right = 0, bottom = 0;
    cairo_path_extents(cairo, &box.left, &box.top, &right, &bottom);
    box.width = right - box.left, box.height = bottom - box.top;
    left_ = std::floor(box.left - reach), top_ = std::floor(box.top - reach);
    near_.reset(cairo_image_surface_create(CAIRO_FORMAT_A8, static_cast<int>(right + reach - left_) + 2,
                                           static_cast<int>(bottom + reach - top_) + 2));
    const std::unique_ptr<cairo_path_t, decltype(&cairo_path_destroy)> path(cairo_copy_path_flat(cairo),
                                                                            cairo_path_destroy);
    const std::unique_ptr<cairo_t, decltype(&cairo_destroy)> mask(cairo_create(near_.get()), cairo_destroy);
    cairo_translate(mask.get(), -left_, -top_);
    cairo_append_path(mask.get(), path.get());
    cairo_fill_preserve(mask.get());
    cairo_set_line_width(mask.get(), 2 * (reach + 1));  // 1 more, since the mask tells points of paper apart no finer
    cairo_stroke(mask.get());
    cairo_surface_flush(near_.get());
  }
  bool is_near(double x, double y) const {
    const int column = static_cast<int>(std::floor(x - left_)), row = static_cast<int>(std::floor(y - top_));
    if (column < 0 || row < 0 || column >= cairo_image_surface_get_width(near_.get()) ||
        row >= cairo_image_surface_get_height(near_.get()))
      return false;
    return cairo_image_surface_get_data(near_.get())[row * cairo_image_surface_get_stride(near_.get()) + column] != 0;
  }

  PaperRect box;

 private:
  struct Destroy {
    void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
  };
  double left_ = 0, top_ = 0;
  std::unique_ptr<cairo_surface_t, Destroy> near_;
};

constexpr long columns_of_grid = 10, rows_of_grid = 14;  // until the marks come again

/// The number in a row of so many that begins again and again.
unsigned within(long number, long count) { return static_cast<unsigned>((number % count + count) % count); }

/// Calls mark(x, y, i) on a grid turned out of line row by row; `i` numbers the places on paper, so that a hatch looks
/// the same wherever the shape begins.
template <class Mark>
void on_grid(const HatchArea& area, double step_x, double step_y, const Mark& mark) {
  const PaperRect& box = area.box;
  const auto first_row = static_cast<long>(std::floor(box.top / step_y)) - 1;
  const auto last_row = static_cast<long>(std::ceil(box.bottom() / step_y)) + 1;
  const auto first = static_cast<long>(std::floor(box.left / step_x)) - 1;
  const auto last = static_cast<long>(std::ceil(box.right() / step_x)) + 1;
  for (long row = first_row; row <= last_row; ++row) {
    for (long i = first; i <= last; ++i) {
      const double x = (static_cast<double>(i) + (row % 2 == 0 ? 0.0 : 0.5)) * step_x;
      const double y = static_cast<double>(row) * step_y;
      if (area.is_near(x, y)) mark(x, y, within(row, rows_of_grid) * 7919 + within(i, columns_of_grid) * 104729);
    }
  }
}

/// 0 to 1, the same for the same number.
double scatter(unsigned i, unsigned which) {
  unsigned z = i * 2654435761U + which * 40503U;
  z = (z ^ (z >> 15)) * 2246822519U;
  z = (z ^ (z >> 13)) * 3266489917U;
  return static_cast<double>((z ^ (z >> 16)) & 0xffffU) / 65536.0;
}

/// Calls run(from, to, y, i) for the places that follow each other in a row of the grid, the first numbered `i`: what
/// stands beside each other can be one broken line, a fifth as long to say as each mark by itself.
template <class Run>
void on_runs(const HatchArea& area, double step_x, double step_y, const Run& run) {
  double from = 0, to = -1, at = 0;
  unsigned first = 0;
  on_grid(area, step_x, step_y, [&](double x, double y, unsigned i) {
    if (y != at || x > to + 1.5 * step_x) {
      if (from <= to) run(from, to, at, first);
      from = x, at = y, first = i;
    }
    to = x;
  });
  if (from <= to) run(from, to, at, first);
}

/// Dashes of next to no length with a round pen, which are discs, unevenly along lines that go up and down.
void dots(cairo_t* cairo, const HatchArea& area, double step, double radius) {
  std::vector<double> pattern;
  for (unsigned k = 0; k < 7; ++k) pattern.insert(pattern.end(), {0.01, (0.65 + 0.7 * scatter(k, 1)) * step});
  const double bend = 1.3 * step;
  on_runs(area, step, 0.8 * step, [&](double from, double to, double y, unsigned i) {
    double x = from - 3 * step * scatter(i, 0);
    for (unsigned k = 1; x < to + bend; ++k, x += bend) cairo_line_to(cairo, x, y + 0.6 * step * (scatter(i, k) - 0.5));
    cairo_new_sub_path(cairo);
  });
  cairo_set_dash(cairo, pattern.data(), static_cast<int>(pattern.size()), 0);
  cairo_set_line_width(cairo, 2 * radius);
  cairo_set_line_cap(cairo, CAIRO_LINE_CAP_ROUND);
  cairo_stroke(cairo);
}

void pebbles(cairo_t* cairo, const HatchArea& area, const Point2& step) {
  cairo_set_line_width(cairo, 0.45);
  on_grid(area, step.x(), step.y(), [&](double x, double y, unsigned i) {
    const double radius = 1.5 + 0.75 * scatter(i, 0);
    const double turn = M_PI * scatter(i, 1);
    const double px = x + (scatter(i, 2) - 0.5), py = y + (scatter(i, 3) - 0.5);
    cairo_new_sub_path(cairo);
    for (int corner = 0; corner < 6; ++corner) {
      const double angle = turn + corner * M_PI / 3 + 0.5 * (scatter(i, 4 + static_cast<unsigned>(corner)) - 0.5);
      const double r = radius * (corner % 3 == 0 ? 1.25 : 0.95);
      cairo_line_to(cairo, px + r * std::cos(angle), py + 0.8 * r * std::sin(angle));
    }
    cairo_close_path(cairo);
  });
  cairo_stroke(cairo);
}

void dashes(cairo_t* cairo, const HatchArea& area, double step_x, double step_y, double length, double width) {
  on_runs(area, step_x, step_y, [&](double from, double to, double y, unsigned) {
    cairo_move_to(cairo, from, y);
    cairo_line_to(cairo, to + length, y);
  });
  const double pattern[] = {length, step_x - length};
  cairo_set_dash(cairo, pattern, 2, 0);
  cairo_set_line_width(cairo, width);
  cairo_stroke(cairo);
}

void slanting_threes(cairo_t* cairo, const HatchArea& area, const Point2& step) {
  cairo_set_line_width(cairo, 0.45);
  on_grid(area, step.x(), step.y(), [&](double x, double y, unsigned) {
    for (int k = 0; k < 3; ++k) {
      cairo_move_to(cairo, x + 3.25 * k, y);
      cairo_rel_line_to(cairo, -4.5, 4.5);
    }
  });
  cairo_stroke(cairo);
}

void slants(cairo_t* cairo, const PaperRect& box, double step, double width, int sense) {
  cairo_set_line_width(cairo, width);
  const double low = sense > 0 ? box.left - box.bottom() : box.left + box.top;
  const double high = sense > 0 ? box.right() - box.top : box.right() + box.bottom();
  for (double c = std::floor(low / step) * step; c <= high; c += step) {
    cairo_move_to(cairo, sense > 0 ? c + box.top : c - box.top, box.top);
    cairo_line_to(cairo, sense > 0 ? c + box.bottom() : c - box.bottom(), box.bottom());
  }
  cairo_stroke(cairo);
}

/// How far a mark reaches at most from its place on the grid, points.
double reach_of(Hatch hatch) {
  return hatch == Hatch::earth ? 12 : hatch == Hatch::level ? 5 : hatch == Hatch::pebbles ? 4 : 3;
}

/// From a mark to the next one, across and down.
Point2 step_of(Hatch hatch) {
  switch (hatch) {
    case Hatch::none:
      return {1, 1};
    case Hatch::fine_dots:
      return {4.0, 3.2};
    case Hatch::coarse_dots:
      return {5.6, 4.48};
    case Hatch::pebbles:
      return {6.2, 4.464};
    case Hatch::slant:
      return {6.0, 6.0};
    case Hatch::tufts:
      return {2.6, 3.6};
    case Hatch::cross:
      return {6.5, 6.5};
    case Hatch::level:
      return {8.0, 3.4};
    case Hatch::earth:
      return {24.0, 9.0};
  }
  return {1, 1};
}

void draw_hatch(cairo_t* cairo, const HatchArea& area, Hatch hatch) {
  const Point2 step = step_of(hatch);
  switch (hatch) {
    case Hatch::none:
      return;
    case Hatch::fine_dots:
      return dots(cairo, area, step.x(), 0.38);
    case Hatch::coarse_dots:
      return dots(cairo, area, step.x(), 0.85);
    case Hatch::pebbles:
      return pebbles(cairo, area, step);
    case Hatch::slant:
      return slants(cairo, area.box, step.x(), 0.5, -1);
    case Hatch::tufts:
      return dashes(cairo, area, step.x(), step.y(), 0.55, 2.2);
    case Hatch::cross:
      slants(cairo, area.box, step.x(), 0.4, -1);
      return slants(cairo, area.box, step.x(), 0.4, 1);
    case Hatch::level:
      return dashes(cairo, area, step.x(), step.y(), 5.0, 0.5);
    case Hatch::earth:
      return slanting_threes(cairo, area, step);
  }
}

/// Dark marks on light colours, light ones on dark.
Colour hatch_colour(const Colour& fill) {
  const double lightness = 0.3 * fill.red + 0.59 * fill.green + 0.11 * fill.blue;
  return lightness > 0.4 ? darker(fill, 0.62) : lighter(fill, 0.55);
}

}  // namespace

PaperRect inset(const PaperRect& rect, double margin) {
  return {rect.left + margin, rect.top + margin, rect.width - 2 * margin, rect.height - 2 * margin};
}

void set_colour(cairo_t* cairo, const Colour& colour, double opacity) {
  cairo_set_source_rgba(cairo, colour.red, colour.green, colour.blue, opacity);
}

void take_pen(cairo_t* cairo, const Pen& pen) {
  set_colour(cairo, pen.colour);
  cairo_set_line_width(cairo, pen.width);
  cairo_set_dash(cairo, pen.dashes.data(), static_cast<int>(pen.dashes.size()), 0);
  cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
  cairo_set_line_cap(cairo, pen.dashes.empty() ? CAIRO_LINE_CAP_ROUND : CAIRO_LINE_CAP_BUTT);
}

void add_path(cairo_t* cairo, const Polyline2& line, bool closed) {
  cairo_new_sub_path(cairo);
  for (const Point2& p : line) cairo_line_to(cairo, p.x(), p.y());
  if (closed) cairo_close_path(cairo);
}

void draw_line(cairo_t* cairo, const Polyline2& line, const Pen& pen, bool closed) {
  if (line.size() < 2) return;
  take_pen(cairo, pen);
  add_path(cairo, line, closed);
  cairo_stroke(cairo);
}

void draw_rect(cairo_t* cairo, const PaperRect& rect, const Pen& pen) {
  take_pen(cairo, pen);
  cairo_rectangle(cairo, rect.left, rect.top, rect.width, rect.height);
  cairo_stroke(cairo);
}

void fill_rect(cairo_t* cairo, const PaperRect& rect, const Colour& colour, double opacity) {
  set_colour(cairo, colour, opacity);
  cairo_rectangle(cairo, rect.left, rect.top, rect.width, rect.height);
  cairo_fill(cairo);
}

Point2 hatch_period(Hatch hatch) {
  const Point2 step = step_of(hatch);
  const bool scattered = hatch == Hatch::fine_dots || hatch == Hatch::coarse_dots || hatch == Hatch::pebbles;
  return scattered ? Point2(columns_of_grid * step.x(), rows_of_grid * step.y()) : Point2(step.x(), 2 * step.y());
}

void fill_material(cairo_t* cairo, const MaterialStyle& style, double opacity) {
  cairo_save(cairo);
  cairo_set_fill_rule(cairo, CAIRO_FILL_RULE_EVEN_ODD);
  set_colour(cairo, style.fill, opacity);
  cairo_fill_preserve(cairo);
  const HatchArea area(cairo, reach_of(style.hatch));
  // Were marks smoothed as the clip is, cairo would cut each at it exactly, which takes longer than all the rest.
  cairo_set_antialias(cairo, CAIRO_ANTIALIAS_DEFAULT);
  cairo_clip(cairo);
  cairo_set_antialias(cairo, CAIRO_ANTIALIAS_FAST);
  if (area.box.width > 0 && area.box.height > 0) {
    set_colour(cairo, hatch_colour(style.fill), opacity);
    cairo_set_dash(cairo, nullptr, 0, 0);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
    draw_hatch(cairo, area, style.hatch);
  }
  cairo_restore(cairo);
  cairo_new_path(cairo);
}

void draw_swatch(cairo_t* cairo, const PaperRect& rect, const MaterialStyle& style) {
  cairo_rectangle(cairo, rect.left, rect.top, rect.width, rect.height);
  fill_material(cairo, style);
  draw_rect(cairo, rect, {0.5, ink, {}});
}

TextSize measure_text(cairo_t*, const std::string& text, const TextStyle& style) {
  return size_of(layout_of(text, style), style);
}

void draw_text(cairo_t* cairo, const std::string& text, const Point2& at, double across, double down,
               const TextStyle& style, double angle) {
  PangoLayout* layout = layout_of(text, style);
  const TextSize size = size_of(layout, style);
  cairo_save(cairo);
  cairo_translate(cairo, at.x(), at.y());
  cairo_rotate(cairo, angle);
  cairo_translate(cairo, -across * size.width, -down * size.height);
  show(cairo, layout, style);
  cairo_restore(cairo);
  cairo_new_path(cairo);
}

namespace {

/// The beginning of a text, whole letters of UTF-8 only.
std::string first_letters(const std::string& text, std::size_t bytes) {
  while (bytes > 0 && bytes < text.size() && (static_cast<unsigned char>(text[bytes]) & 0xC0U) == 0x80U) --bytes;
  return text.substr(0, bytes);
}

/// As much of it as goes into `width`, with three dots behind. By halves: laid out letter by letter, a long text takes
/// minutes.
std::string cut_short(cairo_t* cairo, const std::string& text, double width, const TextStyle& style) {
  std::size_t fits = 0, too_many = text.size();
  while (fits + 1 < too_many) {
    const std::size_t bytes = (fits + too_many) / 2;
    const bool is_in = measure_text(cairo, first_letters(text, bytes) + "...", style).width <= width;
    (is_in ? fits : too_many) = bytes;
  }
  return first_letters(text, fits) + "...";
}

}  // namespace

void draw_fitting(cairo_t* cairo, const std::string& text, const Point2& at, double down, double width,
                  TextStyle style) {
  constexpr double least = 7;
  const auto is_in = [&] { return measure_text(cairo, text, style).width <= width; };
  while (style.size > least && !is_in()) style.size = std::max(least, style.size - 0.5);
  draw_text(cairo, is_in() ? text : cut_short(cairo, text, width, style), at, 0, down, style);
}

double draw_paragraph(cairo_t* cairo, const std::string& text, const Point2& at, double width, const TextStyle& style) {
  PangoLayout* layout = paragraph_layout(text, width, style);
  cairo_save(cairo);
  cairo_translate(cairo, at.x(), at.y());
  show(cairo, layout, style);
  cairo_restore(cairo);
  cairo_new_path(cairo);
  return size_of(layout, style).height;
}

double paragraph_height(cairo_t*, const std::string& text, double width, const TextStyle& style) {
  return size_of(paragraph_layout(text, width, style), style).height;
}

}  // namespace moundwright::io

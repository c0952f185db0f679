#include "io/sheet_book.h"

#include <cairo-pdf.h>
#include <fmt/format.h>

#include <algorithm>
#include <memory>

#include "io/cautions.h"

namespace moundwright::io {
namespace {

// Printers leave about a quarter inch bare.
constexpr double margin = 28, title_height = 44, caution_height = 11, body_gap = 8;

struct NamedPaper {
  PaperSize size;
  const char* name;
  SheetPaper paper;
};

// Tabloid is letter enlarged 17/11 one way and 11/8.5 the other: the lesser holds everything.
constexpr double inch = 72, millimetre = 72 / 25.4;
const NamedPaper papers[] = {
    {PaperSize::letter, "letter", {8.5 * inch, 11 * inch, 1}},
    {PaperSize::a4, "a4", {210 * millimetre, 297 * millimetre, 1}},
    {PaperSize::tabloid, "tabloid", {11 * inch, 17 * inch, 11 / 8.5}},
    {PaperSize::a3, "a3", {297 * millimetre, 420 * millimetre, 297.0 / 210.0}},
};

const char* unit_words(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::foot:
      return "feet (international)";
    case LengthUnit::us_survey_foot:
      return "US survey feet";
    case LengthUnit::metre:
      return "meters";
  }
  return "";
}

/// The page in the units it is laid out in.
PaperRect whole_page(const SheetPaper& paper, bool landscape, bool enlarge) {
  const double factor = enlarge ? paper.enlarged : 1;
  const double width = paper.width / factor, height = paper.height / factor;
  return landscape ? PaperRect{0, 0, height, width} : PaperRect{0, 0, width, height};
}

struct TitleCell {
  const char* label;
  std::string text;
  double width;
};

void draw_title_block(cairo_t* cairo, const SheetBook& book, const SheetPage& page, std::size_t number,
                      const PaperRect& frame) {
  const double top = frame.bottom() - title_height, foot = frame.bottom() - caution_height;
  const Pen thin{0.6, ink, {}};
  draw_line(cairo, {{frame.left, top}, {frame.right(), top}}, {1.1, ink, {}});
  draw_line(cairo, {{frame.left, foot}, {frame.right(), foot}}, thin);
  std::vector<TitleCell> cells = {{"Sheet", fmt::format("{} of {}", number, book.pages.size()), 56}};
  if (!book.date.empty()) cells.push_back({"Date", book.date, 74});
  cells.push_back({"Lengths in", unit_words(book.unit), 112});
  if (!page.scale.empty()) cells.push_back({"Scale", page.scale, 92});
  double right = frame.right();
  TextStyle label, text, job, title;
  label.size = 7, label.colour = soft_ink;
  text.size = 9, job.size = 12, job.bold = true, title.size = 10;
  for (const TitleCell& cell : cells) {
    right -= cell.width;
    draw_line(cairo, {{right, top}, {right, foot}}, thin);
    draw_text(cairo, cell.label, {right + 4, top + 2}, 0, 0, label);
    draw_fitting(cairo, cell.text, {right + 4, top + 22}, 0.5, cell.width - 8, text);
  }
  draw_fitting(cairo, book.job, {frame.left + 6, top + 10}, 0.5, right - frame.left - 10, job);
  draw_fitting(cairo, page.title, {frame.left + 6, top + 24}, 0.5, right - frame.left - 10, title);
  label.colour = ink;
  const std::string caution = fmt::format("{} Call 811 (US) before you dig.", cautions::govern);
  draw_fitting(cairo, caution, {frame.left + 6, foot + 0.5 * caution_height}, 0.5, frame.width - 12, label);
}

cairo_status_t append(void* text, const unsigned char* bytes, unsigned count) {
  static_cast<std::string*>(text)->append(reinterpret_cast<const char*>(bytes), count);
  return CAIRO_STATUS_SUCCESS;
}

void set_metadata(cairo_surface_t* surface, const SheetBook& book) {
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, book.job.c_str());
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Moundwright");
  // Empty takes out the clock's time that Cairo would write.
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, book.date.c_str());
}

void draw_page(cairo_t* cairo, const SheetBook& book, std::size_t index) {
  const SheetPage& page = book.pages[index];
  const PaperRect frame = inset(whole_page(book.paper, page.landscape, page.enlarge), margin);
  draw_rect(cairo, frame, {1.1, ink, {}});
  draw_title_block(cairo, book, page, index + 1, frame);
  page.draw(cairo, sheet_body(book.paper, page.landscape, page.enlarge));
}

}  // namespace

const char* to_text(PaperSize size) {
  return std::find_if(std::begin(papers), std::end(papers), [&](const NamedPaper& p) { return p.size == size; })->name;
}

std::optional<PaperSize> paper_named(std::string_view word) {
  for (const NamedPaper& paper : papers) {
    if (word == paper.name) return paper.size;
  }
  return std::nullopt;
}

PaperSize usual_paper(LengthUnit unit) { return unit == LengthUnit::metre ? PaperSize::a4 : PaperSize::letter; }

SheetPaper sheet_paper(PaperSize size) {
  return std::find_if(std::begin(papers), std::end(papers), [&](const NamedPaper& p) { return p.size == size; })->paper;
}

PaperRect sheet_body(const SheetPaper& paper, bool landscape, bool enlarge) {
  PaperRect body = inset(whole_page(paper, landscape, enlarge), margin + body_gap);
  body.height -= title_height;
  return body;
}

std::string pdf_of(const SheetBook& book) {
  std::string bytes;
  {
    const std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)> surface(
        cairo_pdf_surface_create_for_stream(append, &bytes, book.paper.width, book.paper.height),
        cairo_surface_destroy);
    set_metadata(surface.get(), book);
    for (std::size_t i = 0; i < book.pages.size(); ++i) {
      const SheetPage& page = book.pages[i];
      const PaperRect whole = whole_page(book.paper, page.landscape, false);
      cairo_pdf_surface_set_size(surface.get(), whole.width, whole.height);
      const std::unique_ptr<cairo_t, decltype(&cairo_destroy)> cairo(cairo_create(surface.get()), cairo_destroy);
      const double factor = page.enlarge ? book.paper.enlarged : 1;
      cairo_scale(cairo.get(), factor, factor);
      draw_page(cairo.get(), book, i);
      cairo_show_page(cairo.get());
    }
    cairo_surface_finish(surface.get());
  }
  return bytes;
}

TextMeasure::TextMeasure() {
  cairo_surface_t* surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, nullptr);
  cairo_ = cairo_create(surface);
  cairo_surface_destroy(surface);
}

TextMeasure::~TextMeasure() { cairo_destroy(cairo_); }

}  // namespace moundwright::io

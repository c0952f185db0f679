// Pages of paper with a frame and a title block, bound into one PDF.
//
//   SheetBook book{sheet_paper(PaperSize::letter), "Lot 7, Fernhollow Lane", LengthUnit::foot, "2026-04-01"};
//   book.pages.push_back({.title = "Grade card", .draw = [](cairo_t* cairo, const PaperRect& body) { ... }});
//   std::string bytes = pdf_of(book);
//
// Vector throughout, fonts embedded, no clock in it: the same book gives the same bytes.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "io/drawing.h"

namespace moundwright::io {

enum class PaperSize { letter, a4, tabloid, a3 };  // tabloid is ANSI B, 11 x 17 in

/// "letter", "a4", "tabloid" or "a3".
const char* to_text(PaperSize size);
std::optional<PaperSize> paper_named(std::string_view word);

/// Letter for a job in feet, A4 for one in metres.
PaperSize usual_paper(LengthUnit unit);

/// Upright paper in points. Text pages are laid out for the smaller paper of the same shape and enlarged on the bigger.
struct SheetPaper {
  double width = 612, height = 792;
  double enlarged = 1;
};
SheetPaper sheet_paper(PaperSize size);

struct SheetPage {
  std::string title;
  std::string scale = "";  // in words; empty where nothing on the page has one
  bool landscape = false;
  bool enlarge = true;  // false for drawings, which keep their scale on any paper
  std::function<void(cairo_t*, const PaperRect& body)> draw = {};
};

struct SheetBook {
  SheetPaper paper;
  std::string job;
  LengthUnit unit = LengthUnit::foot;
  std::string date;  // as it stands on every page; empty for none
  std::vector<SheetPage> pages = {};
};

/// The room a page's drawing has, inside frame and title block; the `body` that its `draw` is given.
PaperRect sheet_body(const SheetPaper& paper, bool landscape, bool enlarge);

std::string pdf_of(const SheetBook& book);

/// Somewhere to measure text before there is a page.
class TextMeasure {
 public:
  TextMeasure();
  ~TextMeasure();
  TextMeasure(const TextMeasure&) = delete;
  TextMeasure& operator=(const TextMeasure&) = delete;
  cairo_t* cairo() const { return cairo_; }

 private:
  cairo_t* cairo_;
};

}  // namespace moundwright::io

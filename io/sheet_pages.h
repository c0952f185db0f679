// The pages of sheets.pdf, a function for each kind. sheets_pdf.h says what is on them.
#pragma once

#include <functional>

#include "io/results.h"
#include "io/sheet_book.h"
#include "io/sheet_flow.h"

namespace moundwright::io {

/// What every page needs. Pages keep a reference to it, so it outlives the book.
struct SheetJob {
  const SiteResults& results;
  SheetPaper paper;
  cairo_t* measure;
  LengthUnit unit() const { return results.job.site.unit; }
  bool is_metric() const { return unit() == LengthUnit::metre; }
};

std::vector<SheetPage> grade_card_pages(const SheetJob& job);
std::vector<SheetPage> plan_pages(const SheetJob& job);
std::vector<SheetPage> section_pages(const SheetJob& job);
std::vector<SheetPage> lath_pages(const SheetJob& job);
std::vector<SheetPage> tape_pages(const SheetJob& job);
std::vector<SheetPage> quantity_pages(const SheetJob& job);
/// None where the job gives nothing to reckon an order with, or no rates.
std::vector<SheetPage> order_pages(const SheetJob& job);
std::vector<SheetPage> bid_pages(const SheetJob& job);
std::vector<SheetPage> work_pages(const SheetJob& job);
std::vector<SheetPage> stage_pages(const SheetJob& job);
std::vector<SheetPage> check_pages(const SheetJob& job);

// ---- what they share -----------------------------------------------------------------------------------------------

SheetFlow new_flow(const SheetJob& job, bool landscape);
/// The flow's pages, numbered within their title where there are several.
std::vector<SheetPage> flow_pages(const SheetJob& job, const std::string& title, bool landscape, const SheetFlow& flow);

/// The flow that `fill` makes, drawn together as far as that saves a page.
SheetFlow close_flow(const SheetJob& job, bool landscape, const std::function<void(SheetFlow&)>& fill);

/// "112.53", in metres "34.299".
std::string length_text(const SheetJob& job, double value);
/// "3 ft 8-5/8 in" of what length_text prints; empty in metres.
std::string inches_text(const SheetJob& job, double value);
/// With its first letter a capital.
std::string sentence(std::string text);
/// "1-1/4 in", "5/8 in": less than a foot in inches and eighths.
std::string small_inches(double feet);
/// "ft" also for survey feet: on a tape and a rod they are the same.
const char* tape_unit(const SheetJob& job);
const char* area_unit(const SheetJob& job);
const BulkUnits& bulk_of(const SheetJob& job);
/// Cubic yards or cubic metres to a tenth, as the job tells them; bulk_of names the unit.
std::string volume_text(const SheetJob& job, double cubic_yards);

/// One piece of a form: some words, then a line to write on, this wide where there is room.
struct FormPart {
  std::string text;
  double blank = 0;
};
/// In one line no wider than `width`, words first: what they leave is for the blanks.
void draw_form_line(cairo_t* cairo, const Point2& left_middle, double width, const std::vector<FormPart>& parts,
                    const TextStyle& style);

/// "second bench mark" or "BM2, 115.16": what a stage begins with a check shot on.
std::string check_mark_text(const SheetJob& job);
/// "Check shot on BM2, 115.16: should read ___ reads ___".
std::vector<FormPart> check_shot_form(const SheetJob& job);

TextStyle plain_text(double size, bool bold = false);

}  // namespace moundwright::io

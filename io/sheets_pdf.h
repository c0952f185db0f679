// sheets.pdf: what goes to the site and into the office on paper.
//
//   write_files({{"packet/sheets.pdf", sheets_pdf(results)}});
//   write_files({{"packet/sheets.pdf", sheets_pdf(results, {PaperSize::tabloid, "2026-04-01"})}});
//
// Pages: the grade card first, rod readings and set-ups, plan of the work and of the lot, sections, what to write on
// each lath, coordinates with tape ties and diagonals, quantities,
// order and bid where the job gives what they want, the order of work, what is shot at each stage, checks of
// the plan. Drawings are
// true to an engineering scale that the title block names; text pages are enlarged on the larger papers. DejaVu Sans is
// embedded; everything reads in black and white.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "io/results.h"
#include "io/sheet_book.h"

namespace moundwright::io {

struct SheetOptions {
  std::optional<PaperSize> paper;  // usual_paper() of the job's unit where it is left out
  std::string date;                // YYYY-MM-DD; left out, no date stands anywhere: the same job gives the same bytes
};

/// True for a day that the calendar has, written YYYY-MM-DD.
bool is_calendar_date(std::string_view text);

std::string sheets_pdf(const SiteResults& results, const SheetOptions& options = {});

}  // namespace moundwright::io

#include "io/sheets_pdf.h"

#include "io/sheet_pages.h"

namespace moundwright {

std::string sheets_pdf(const SiteResults& results, const SheetOptions& options) {
  const LengthUnit unit = results.job.site.unit;
  const TextMeasure measure;
  const SheetJob job{results, sheet_paper(options.paper.value_or(usual_paper(unit))), measure.cairo()};
  SheetBook book{job.paper, results.job.site.title, unit, options.date};
  for (auto* const pages_of : {grade_card_pages, plan_pages, section_pages, lath_pages, tape_pages, quantity_pages,
                               work_pages, check_pages}) {
    for (SheetPage& page : pages_of(job)) book.pages.push_back(std::move(page));
  }
  return pdf_of(book);
}

}  // namespace moundwright

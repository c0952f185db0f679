#include "io/sheets_pdf.h"

#include <chrono>

#include "io/sheet_pages.h"

namespace moundwright::io {

bool is_calendar_date(std::string_view text) {
  constexpr std::string_view shape = "dddd-dd-dd";
  if (text.size() != shape.size()) return false;
  for (std::size_t i = 0; i < shape.size(); ++i) {
    if (shape[i] == 'd' ? text[i] < '0' || text[i] > '9' : text[i] != shape[i]) return false;
  }
  const auto number = [&](std::size_t from, std::size_t count) {
    int value = 0;
    for (const char digit : text.substr(from, count)) value = 10 * value + (digit - '0');
    return value;
  };
  return std::chrono::year_month_day(std::chrono::year(number(0, 4)),
                                     std::chrono::month(static_cast<unsigned>(number(5, 2))),
                                     std::chrono::day(static_cast<unsigned>(number(8, 2))))
      .ok();
}

std::string sheets_pdf(const SiteResults& results, const SheetOptions& options) {
  const LengthUnit unit = results.job.site.unit;
  const TextMeasure measure;
  const SheetJob job{results, sheet_paper(options.paper.value_or(usual_paper(unit))), measure.cairo()};
  SheetBook book{job.paper, results.job.site.title, unit, options.date};
  for (auto* const pages_of : {grade_card_pages, plan_pages, section_pages, lath_pages, tape_pages, quantity_pages,
                               order_pages, bid_pages, work_pages, stage_pages, check_pages}) {
    for (SheetPage& page : pages_of(job)) book.pages.push_back(std::move(page));
  }
  return pdf_of(book);
}

}  // namespace moundwright::io

#include "io/sheet_pages.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "geom/trade_text.h"
#include "io/ascii.h"

namespace moundwright::io {

SheetFlow new_flow(const SheetJob& job, bool landscape) {
  return {job.measure, sheet_body(job.paper, landscape, true).width};
}

std::vector<SheetPage> flow_pages(const SheetJob& job, const std::string& title, bool landscape,
                                  const SheetFlow& flow) {
  const std::vector<FlowPage> flowed = flow.pages(sheet_body(job.paper, landscape, true).height);
  std::vector<SheetPage> pages;
  for (std::size_t i = 0; i < flowed.size(); ++i) {
    SheetPage page;
    page.title = flowed.size() == 1 ? title : fmt::format("{}, {} of {}", title, i + 1, flowed.size());
    page.landscape = landscape;
    page.draw = [blocks = flowed[i]](cairo_t* cairo, const PaperRect& body) { draw_flow(cairo, blocks, body); };
    pages.push_back(std::move(page));
  }
  return pages;
}

SheetFlow close_flow(const SheetJob& job, bool landscape, const std::function<void(SheetFlow&)>& fill) {
  const PaperRect body = sheet_body(job.paper, landscape, true);
  const auto filled = [&](double spacing) {
    SheetFlow flow(job.measure, body.width, spacing);
    fill(flow);
    return flow;
  };
  SheetFlow best = filled(1);
  std::size_t pages = best.pages(body.height).size();
  for (const double spacing : {0.92, 0.84, 0.7}) {
    if (pages == 1) break;
    SheetFlow closer = filled(spacing);
    if (closer.pages(body.height).size() >= pages) continue;
    best = std::move(closer);
    pages = best.pages(body.height).size();
  }
  return best;
}

std::string length_text(const SheetJob& job, double value) { return fixed_text(value, length_decimals(job.unit())); }

std::string inches_text(const SheetJob& job, double value) {
  return job.is_metric() ? std::string() : feet_inches_eighths(as_printed(value, length_decimals(job.unit())));
}

std::string sentence(std::string text) {
  if (!text.empty()) text.front() = upper(text.front());
  return text;
}

std::string small_inches(double feet) {
  std::string text = feet_inches_eighths(feet);
  for (const char* nothing : {"0 ft ", "0-"}) {
    if (text.starts_with(nothing)) text.erase(0, std::string_view(nothing).size());
  }
  return text;
}

const char* tape_unit(const SheetJob& job) { return job.is_metric() ? "m" : "ft"; }
const char* area_unit(const SheetJob& job) { return job.is_metric() ? "sq m" : "sq ft"; }
const BulkUnits& bulk_of(const SheetJob& job) { return bulk_units(job.results.job.site.unit); }
std::string volume_text(const SheetJob& job, double cubic_yards) {
  return fixed_text(bulk_of(job).of_yard * cubic_yards, 1);
}

void draw_form_line(cairo_t* cairo, const Point2& left_middle, double width, const std::vector<FormPart>& parts,
                    const TextStyle& style) {
  constexpr double before = 4, after = 5;
  double words = 0, blanks = 0;
  for (const FormPart& part : parts) {
    words += measure_text(cairo, part.text, style).width + (part.blank > 0 ? before + after : 0);
    blanks += part.blank;
  }
  const double share = blanks > 0 ? std::clamp((width - words) / blanks, 0.0, 1.0) : 0;
  Point2 at = left_middle;
  for (const FormPart& part : parts) {
    const TextSize size = measure_text(cairo, part.text, style);
    draw_text(cairo, part.text, at, 0, 0.5, style);
    at.x() += size.width;
    if (part.blank <= 0) continue;
    const double line = at.y() + 0.4 * style.size;
    draw_line(cairo, {{at.x() + before, line}, {at.x() + before + share * part.blank, line}}, {0.6, ink, {}});
    at.x() += before + share * part.blank + after;
  }
}

std::string check_mark_text(const SheetJob& job) {
  const std::optional<Mark>& mark = job.results.job.site.lot.second_benchmark;
  if (!mark) return "the second bench mark";
  return mark->elevation ? fmt::format("{}, {}", mark->name, length_text(job, *mark->elevation)) : mark->name;
}

std::vector<FormPart> check_shot_form(const SheetJob& job) {
  return {{fmt::format("Check shot on {}: should read", check_mark_text(job)), 56}, {"reads", 56}};
}

TextStyle plain_text(double size, bool bold) {
  TextStyle style;
  style.size = size, style.bold = bold;
  return style;
}

}  // namespace moundwright::io

// The order of work, with boxes to tick and blanks for what is shot on the way.
#include <fmt/format.h>

#include "io/sheet_pages.h"
#include "io/work_steps.h"

namespace moundwright::io {
namespace {

constexpr double indent = 26;

void add_title(const WorkStep& step, std::size_t number, SheetFlow& flow) {
  flow.block(
      17,
      [title = fmt::format("{}  {}", number, step.title)](cairo_t* cairo, const PaperRect& box) {
        draw_rect(cairo, {box.left + 2, box.top + 2, 11, 11}, {0.9, ink, {}});
        draw_text(cairo, title, {box.left + indent, box.top + 8}, 0, 0.5, plain_text(10.5, true));
      },
      true);
}

void add_text(const std::string& text, const SheetJob& job, SheetFlow& flow, bool with_next) {
  const TextStyle style = plain_text(9);
  const double width = flow.width() - indent;
  flow.block(
      paragraph_height(job.measure, text, width, style) + 3,
      [text, style, width](cairo_t* cairo, const PaperRect& box) {
        draw_paragraph(cairo, text, {box.left + indent, box.top}, width, style);
      },
      with_next);
}

void add_shots(const WorkStep& step, const SheetJob& job, SheetFlow& flow) {
  constexpr double row = 17;
  std::vector<std::vector<FormPart>> lines{check_shot_form(job)};
  for (const Grade& grade : step.checks) {
    lines.push_back({{fmt::format("{} {}: lowest found", grade.name, length_text(job, grade.elevation)), 60},
                     {"highest found", 60}});
  }
  flow.block(static_cast<double>(lines.size()) * row + 3, [lines](cairo_t* cairo, const PaperRect& box) {
    for (std::size_t i = 0; i < lines.size(); ++i) {
      draw_form_line(cairo, {box.left + indent, box.top + (static_cast<double>(i) + 0.5) * row}, box.width - indent,
                     lines[i], plain_text(9));
    }
  });
}

void add_step(const WorkStep& step, std::size_t number, const SheetJob& job, SheetFlow& flow) {
  add_title(step, number, flow);
  if (!step.caution.empty()) flow.caution(step.caution);
  add_text(step.text, job, flow, !step.checks.empty());
  if (!step.checks.empty()) add_shots(step, job, flow);
  flow.gap(7);
}

}  // namespace

std::vector<SheetPage> work_pages(const SheetJob& job) {
  const std::vector<WorkStep> steps = work_steps(job.results);
  const SheetFlow flow = close_flow(job, false, [&](SheetFlow& out) {
    for (std::size_t i = 0; i < steps.size(); ++i) add_step(steps[i], i + 1, job, out);
  });
  return flow_pages(job, "Order of work", false, flow);
}

}  // namespace moundwright::io

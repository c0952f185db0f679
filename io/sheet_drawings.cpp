// Plans and sections at true scales.
#include <fmt/format.h>

#include <algorithm>

#include "io/cautions.h"
#include "io/plan_drawing.h"
#include "io/section_drawing.h"
#include "io/sheet_pages.h"

namespace moundwright::io {
namespace {

struct PlanLayout {
  bool landscape = false;
  PaperRect frame, key, notes;
  DrawingScale scale;
};

PlanLayout layout_of_plan(const SheetJob& job, const PlanExtent& extent, bool landscape) {
  constexpr double side = 172, strip = 172, gap = 8;
  const PaperRect body = sheet_body(job.paper, landscape, false);
  PlanLayout layout;
  layout.landscape = landscape;
  if (landscape) {
    layout.frame = {body.left, body.top, body.width - side - gap, body.height};
    layout.key = {layout.frame.right() + gap, body.top, side, 0.5 * body.height};
    layout.notes = {layout.key.left, layout.key.bottom(), side, 0.5 * body.height};
  } else {
    layout.frame = {body.left, body.top, body.width, body.height - strip - gap};
    const double top = layout.frame.bottom() + gap;
    layout.key = {body.left, top, 0.5 * body.width - gap, strip};
    layout.notes = {body.left + 0.5 * body.width, top, 0.5 * body.width, strip};
  }
  layout.scale = plan_scale(job.results, extent, layout.frame);
  return layout;
}

/// Whichever way round the paper gives the larger scale.
PlanLayout best_layout(const SheetJob& job, const PlanExtent& extent) {
  const PlanLayout across = layout_of_plan(job, extent, true), upright = layout_of_plan(job, extent, false);
  return upright.scale.denominator < across.scale.denominator ? upright : across;
}

std::vector<std::string> plan_notes(const SheetJob& job, const DrawingScale& scale) {
  return {
      fmt::format("Contours every {:g} {}, every fifth heavy: broken as the ground is, whole as it will be.",
                  contour_interval(job.results, scale), tape_unit(job)),
      "Ground between the shots is approximate: mark grade from each hub's own shot.",
      "Scale is true at full size: print at 100 %, and lay a rule on the scale bar.",
      cautions::utilities,
  };
}

void draw_notes(cairo_t* cairo, const std::vector<std::string>& notes, const PaperRect& box) {
  double top = box.top;
  for (const std::string& note : notes)
    top += draw_paragraph(cairo, note, {box.left, top}, box.width, plain_text(7.5)) + 5;
}

SheetPage plan_page(const SheetJob& job, const std::string& title, PlanView view, const PlanOptions& options) {
  const PlanExtent extent = plan_extent(job.results, view);
  const PlanLayout layout = best_layout(job, extent);
  SheetPage page;
  page.title = title;
  page.scale = to_text(layout.scale);
  page.landscape = layout.landscape;
  page.enlarge = false;
  page.draw = [&job, extent, layout, options](cairo_t* cairo, const PaperRect&) {
    draw_plan(cairo, job.results, layout.frame, extent, layout.scale, options);
    const double used = draw_plan_key(cairo, job.results, layout.key, options);
    PaperRect notes = layout.notes;
    if (layout.landscape) notes.top = layout.key.top + used + 12;
    draw_notes(cairo, plan_notes(job, layout.scale), notes);
  };
  return page;
}

/// Both sections over the whole width, what the hatches are below them.
SheetPage sections_page(const SheetJob& job) {
  constexpr std::size_t key_columns = 3;
  constexpr double gap = 8, notes_height = 24;
  const PaperRect body = sheet_body(job.paper, true, false);
  const double key_height = material_key_height(job.results, key_columns) + notes_height;
  const double room = body.height - key_height - gap;
  const PaperRect upper{body.left, body.top, body.width, 0.56 * room};
  const PaperRect lower{body.left, upper.bottom(), body.width, 0.44 * room};
  const std::vector<SectionCut> cuts = standard_cuts(job.results);
  const SectionScale across = section_scale(job.results, cuts[0], upper);
  // Grades once, beside the section across: they would cost the long one its scale.
  SectionOptions lengthwise;
  lengthwise.grades = false;
  const SectionScale along = section_scale(job.results, cuts[1], lower, lengthwise);
  SheetPage page;
  page.title = "Sections";
  page.scale = across.level.denominator == along.level.denominator ? to_text(across.level) : "as shown";
  page.landscape = true, page.enlarge = false;
  page.draw = [&job, cuts, upper, lower, across, along, lengthwise, key_height](cairo_t* cairo, const PaperRect& all) {
    draw_section(cairo, job.results, cuts[0], upper, across);
    draw_section(cairo, job.results, cuts[1], lower, along, lengthwise);
    const PaperRect key{all.left, all.bottom() - key_height, all.width, key_height};
    const double used = draw_material_key(cairo, job.results, key, key_columns);
    draw_notes(
        cairo,
        {"Volumes are neat, in place: no swell, shrink or waste. Broken line: the ground as it is, from the survey; "
         "approximate between shots."},
        {key.left, key.top + used + 6, key.width, 0});
  };
  return page;
}

}  // namespace

std::vector<SheetPage> plan_pages(const SheetJob& job) {
  PlanOptions lot;
  lot.stake_numbers = lot.section_lines = lot.layer_outlines = false;
  return {plan_page(job, "Plan of the work", PlanView::work, {}),
          plan_page(job, "Plan of the lot", PlanView::whole_lot, lot)};
}

std::vector<SheetPage> section_pages(const SheetJob& job) { return {sections_page(job)}; }

}  // namespace moundwright::io

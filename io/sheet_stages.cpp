// What is shot at each stage before the next layer hides it, with blanks: the inspector's pages.
#include <fmt/format.h>

#include "geom/stages.h"
#include "io/grade_limits.h"
#include "io/sheet_pages.h"

namespace moundwright {
namespace {

TableRow point_row(const SheetJob& job, const StagePoint& point) {
  std::string asked;
  if (point.design) asked = length_text(job, *point.design);
  if (!point.design && point.highest) asked = fmt::format("at most {}", length_text(job, *point.highest));
  if (!point.design && !point.highest && point.ground) {
    asked = fmt::format("about {}", fixed_text(*point.ground, job.is_metric() ? 2 : 1));
  }
  return {{point.name}, bold_cell(asked), {}, {}, {}, {}};
}

std::string stage_title(const SheetJob& job, const BuildStage& stage) {
  if (stage.kind == StageKind::prepared) return sentence(stage.name);
  const GradeLimits limits = grade_limits(job.unit());
  return fmt::format("{}: within {} {}", sentence(stage.name),
                     length_text(job, stage.on_bed ? limits.bed : limits.elsewhere), tape_unit(job));
}

/// The title with the check shot behind it, or below it where the title is long.
void add_stage_heading(const SheetJob& job, const BuildStage& stage, SheetFlow& flow) {
  constexpr double least_form = 290, row = 16;
  const std::string title = stage_title(job, stage);
  const TextStyle bold = plain_text(10, true);
  const double behind = measure_text(job.measure, title, bold).width + 14;
  const bool one_line = behind + least_form <= flow.width();
  flow.block(
      one_line ? row : 2 * row,
      [title, bold, form = check_shot_form(job), left = one_line ? behind : 0.0](cairo_t* cairo, const PaperRect& box) {
        draw_text(cairo, title, {box.left, box.top + 0.5 * row}, 0, 0.5, bold);
        draw_form_line(cairo, {box.left + left, box.bottom() - 0.5 * row}, box.width - left, form, plain_text(8.5));
      },
      true);
}

void add_stage(const SheetJob& job, const BuildStage& stage, SheetFlow& flow) {
  const std::size_t first = flow.size();
  add_stage_heading(job, stage, flow);
  std::vector<TableRow> rows;
  for (const StagePoint& point : stage.points) rows.push_back(point_row(job, point));
  flow.table({{"Where", 190},
              {"Elevation asked", 84, 1},
              {"Rod should read = HI - elevation", 74},
              {"Rod reads", 64},
              {"Elevation found = HI - rod", 74},
              {"High or low by", 54}},
             rows, {7.5, 7, 15});
  if (stage.least_thickness) {
    flow.gap(3);
    flow.paragraph(fmt::format("Over the prepared ground at the same place: never less than {} {}, no minus tolerance.",
                               length_text(job, *stage.least_thickness), tape_unit(job)),
                   plain_text(8.5, true));
  }
  flow.keep_together(first);
  flow.gap(8);
}

}  // namespace

std::vector<SheetPage> stage_pages(const SheetJob& job) {
  SheetFlow flow = new_flow(job, false);
  const SiteResults& r = job.results;
  for (const BuildStage& stage : build_stages(r.ground, r.plan, r.buildup)) add_stage(job, stage, flow);
  flow.block(26, [](cairo_t* cairo, const PaperRect& box) {
    draw_form_line(cairo, {box.left, box.centre().y()}, box.width,
                   {{"Shot by", 150}, {"Seen by the inspector", 150}, {"Date", 80}}, plain_text(9.5));
  });
  return flow_pages(job, "Stage checks, as built", false, flow);
}

}  // namespace moundwright

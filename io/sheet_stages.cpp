// What is shot at each stage before the next layer hides it, with blanks: the inspector's pages.
#include <fmt/format.h>

#include <algorithm>

#include "geom/stages.h"
#include "io/grade_limits.h"
#include "io/sheet_pages.h"

namespace moundwright::io {
namespace {

constexpr std::size_t most_beside = 4;  // stages that find room for figures by hand

std::string asked_text(const SheetJob& job, const StagePoint& point) {
  if (point.design) return length_text(job, *point.design);
  if (point.highest) return fmt::format("at most {}", length_text(job, *point.highest));
  if (point.ground) return fmt::format("about {}", fixed_text(*point.ground, job.is_metric() ? 2 : 1));
  return "";
}

/// What all points of a stage are asked; nothing where they are asked this and that.
std::string asked_of_all(const SheetJob& job, const BuildStage& stage) {
  const std::string first = asked_text(job, stage.points.front());
  const bool same = std::all_of(stage.points.begin(), stage.points.end(),
                                [&](const StagePoint& point) { return asked_text(job, point) == first; });
  return same ? first : "";
}

std::string stage_title(const SheetJob& job, const BuildStage& stage) {
  std::string title = sentence(stage.name);
  const std::string asked = asked_of_all(job, stage);
  if (!asked.empty()) title += ": " + asked;
  if (stage.kind == StageKind::prepared) return title;
  const GradeLimits limits = grade_limits(job.unit());
  return fmt::format("{}, within {} {}", title, length_text(job, stage.on_bed ? limits.bed : limits.elsewhere),
                     tape_unit(job));
}

using StagesBeside = std::vector<const BuildStage*>;

bool have_same_points(const BuildStage& a, const BuildStage& b) {
  return std::equal(a.points.begin(), a.points.end(), b.points.begin(), b.points.end(),
                    [](const StagePoint& p, const StagePoint& q) { return p.name == q.name; });
}

/// Stages that are shot at the same places stand beside each other, so that sand shows over the ground it lies on.
std::vector<StagesBeside> tables_of(const std::vector<BuildStage>& stages) {
  std::vector<StagesBeside> tables;
  for (const BuildStage& stage : stages) {
    const bool joins =
        !tables.empty() && tables.back().size() < most_beside && have_same_points(*tables.back().front(), stage);
    if (!joins) tables.emplace_back();
    tables.back().push_back(&stage);
  }
  return tables;
}

std::vector<TableColumn> columns_of(const SheetJob& job, const StagesBeside& beside) {
  std::vector<TableColumn> columns{{"Where", 142}};
  for (const BuildStage* stage : beside) {
    const std::string title = stage_title(job, *stage);
    if (asked_of_all(job, *stage).empty()) columns.push_back({"asked", 44, 1, title});
    for (const char* heading : {"rod reads", "HI - rod", "off by"}) columns.push_back({heading, 35, 0, title});
  }
  return columns;
}

std::vector<TableRow> rows_of(const SheetJob& job, const StagesBeside& beside, std::size_t columns) {
  const std::string within = length_text(job, grade_limits(job.unit()).check_shot);
  std::vector<TableRow> rows{
      {bold_cell(fmt::format("First a check shot on {}: within {}", check_mark_text(job), within))},
      {bold_cell("Rod should read: HI - grade")}};
  for (TableRow& row : rows) row.resize(columns);
  for (std::size_t i = 0; i < beside.front()->points.size(); ++i) {
    TableRow row{{beside.front()->points[i].name}};
    for (const BuildStage* stage : beside) {
      if (asked_of_all(job, *stage).empty()) row.push_back(bold_cell(asked_text(job, stage->points[i])));
      row.resize(row.size() + 3);
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

void add_stages(const SheetJob& job, const StagesBeside& beside, SheetFlow& flow) {
  const std::size_t first = flow.size();
  const std::vector<TableColumn> columns = columns_of(job, beside);
  flow.table(columns, rows_of(job, beside, columns.size()), {7.5, 7, 19});
  for (const BuildStage* stage : beside) {
    if (!stage->least_thickness) continue;
    flow.gap(3);
    flow.paragraph(fmt::format("{}, over the prepared ground at the same place: never less than {} {}, no minus "
                               "tolerance.",
                               sentence(stage->name), length_text(job, *stage->least_thickness), tape_unit(job)),
                   plain_text(8.5, true));
  }
  flow.keep_together(first);
  flow.gap(9);
}

}  // namespace

std::vector<SheetPage> stage_pages(const SheetJob& job) {
  const SiteResults& r = job.results;
  const std::vector<BuildStage> stages = build_stages(r.mound(), job.unit());
  const SheetFlow flow = close_flow(job, false, [&](SheetFlow& out) {
    for (const StagesBeside& beside : tables_of(stages)) add_stages(job, beside, out);
    out.block(26, [](cairo_t* cairo, const PaperRect& box) {
      draw_form_line(cairo, {box.left, box.centre().y()}, box.width,
                     {{"Shot by", 150}, {"Seen by the inspector", 150}, {"Date", 80}}, plain_text(9.5));
    });
  });
  return flow_pages(job, "Stage checks, as built", false, flow);
}

}  // namespace moundwright::io

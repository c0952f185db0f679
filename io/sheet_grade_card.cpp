// The grade card: one rod reading a level layer, big enough to be read in the rain.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "geom/printed.h"
#include "geom/trade_text.h"
#include "io/grade_limits.h"
#include "io/sheet_pages.h"

namespace moundwright::io {
namespace {

double highest_grade(const SiteResults& results) {
  double highest = results.mound().buildup.bottom_elevation;
  for (const Grade& grade : results.found().stakes.grades) highest = std::max(highest, grade.elevation);
  return highest;
}

std::string benchmark_name(const SheetJob& job) {
  return job.results.job.site.lot.benchmark ? job.results.job.site.lot.benchmark->name : "the bench mark";
}

std::string benchmark_elevation(const SheetJob& job) {
  const std::optional<Mark>& mark = job.results.job.site.lot.benchmark;
  return mark && mark->elevation ? length_text(job, *mark->elevation) : std::string();
}

void add_set_up(const SheetJob& job, SheetFlow& flow) {
  constexpr double row = 27;
  const std::string name = benchmark_name(job), elevation = benchmark_elevation(job);
  const std::optional<Mark>& mark = job.results.job.site.lot.second_benchmark;
  const bool second = mark && mark->elevation;
  const std::string check = check_mark_text(job);
  const std::string back =
      second ? "    HI - " + length_text(job, *mark->elevation) + " =" : "    HI - its elevation =";
  const std::string limit = length_text(job, grade_limits(job.unit()).check_shot);
  flow.block(4 * row + 8, [=](cairo_t* cairo, const PaperRect& box) {
    const TextStyle style = plain_text(12.5);
    const double width = box.width - 6;
    const auto at = [&](int line) { return Point2(box.left + 4, box.top + (line + 0.5) * row); };
    const std::string known = elevation.empty() ? "elevation" : "elevation " + elevation;
    draw_form_line(cairo, at(0), width,
                   {{"1  Rod on " + name + ", " + known, elevation.empty() ? 70.0 : 0.0}, {":  reads", 80}}, style);
    draw_form_line(cairo, at(1), width,
                   {{"2  HI = " + (elevation.empty() ? "elevation" : elevation) + " + that reading =", 110}},
                   plain_text(12.5, true));
    if (second) {
      draw_form_line(cairo, at(2), width, {{"3  CHECK SHOT FIRST, on " + check, 0}}, style);
    } else {
      draw_form_line(cairo, at(2), width, {{"3  CHECK SHOT FIRST, second bench mark", 90}, {"elevation", 80}}, style);
    }
    draw_form_line(cairo, at(3), width, {{back, 80}, {"reads", 80}, {"within " + limit + "? Else set up again.", 0}},
                   style);
  });
}

void add_bigger_is_lower(SheetFlow& flow) {
  flow.block(46, [](cairo_t* cairo, const PaperRect& box) {
    const double half = 0.5 * box.width - 4;
    const PaperRect low{box.left, box.top, half, 38}, high{box.right() - half, box.top, half, 38};
    fill_rect(cairo, low, ink);
    draw_rect(cairo, high, {1.4, ink, {}});
    TextStyle style = plain_text(15, true);
    draw_text(cairo, "High? Smaller reading: CUT", high.centre(), 0.5, 0.5, style);
    style.colour = paper_white;
    draw_text(cairo, "Low? Bigger reading: FILL", low.centre(), 0.5, 0.5, style);
  });
}

void add_grades(const SheetJob& job, SheetFlow& flow, double row_height) {
  const double example = std::ceil(highest_grade(job.results)) + (job.is_metric() ? 1.125 : 4.37);
  const std::string unit = tape_unit(job);
  std::vector<TableColumn> columns{{"Grade, lowest first", 118, 0}, {"Elevation, " + unit, 86, 0.5}};
  if (job.is_metric()) {
    columns.push_back({"YOUR ROD = HI - grade, m", 130, 0.5});
    columns.push_back(
        {fmt::format("Example only: if HI were {}, the rod reads, m", length_text(job, example)), 100, 0.5});
  } else {
    columns.push_back({"YOUR ROD = HI - grade, decimal feet", 90, 0.5});
    columns.push_back({"the same in feet, inches, eighths", 90, 0.5});
    columns.push_back({fmt::format("Example only: HI {}, decimal feet", length_text(job, example)), 74, 0.5});
    columns.push_back({"example in feet, inches, eighths", 82, 0.5});
  }
  std::vector<TableRow> rows;
  for (const Grade& grade : job.results.found().stakes.grades) {
    TableRow row{bold_cell(grade.name), bold_cell(length_text(job, grade.elevation), 17), blank_cell()};
    if (!job.is_metric()) row.push_back(blank_cell());
    const double rod = grade_rod(example, grade.elevation, job.unit());
    row.push_back({length_text(job, rod), false, false, 12});
    if (!job.is_metric()) row.push_back({inches_text(job, rod), false, false, 9.5});
    rows.push_back(std::move(row));
  }
  flow.table(columns, rows, {12.5, 8.5, row_height});
}

void add_limits(const SheetJob& job, SheetFlow& flow) {
  const GradeLimits limits = grade_limits(job.unit());
  const auto both = [&](double length) {
    return job.is_metric() ? fmt::format("{} mm", fixed_text(1000 * length, 0))
                           : fmt::format("{} ft (about {})", fixed_text(length, 2), small_inches(length));
  };
  std::string text =
      fmt::format("Keep the bed within {}, everything else within {}: common practice, unless the plan asks for more.",
                  both(limits.bed), both(limits.elsewhere));
  if (job.results.mound().placement.least_sand) {
    text += fmt::format(" Sand under the bed is never thinner than {} {}: no minus tolerance.",
                        length_text(job, *job.results.mound().placement.least_sand), tape_unit(job));
  }
  if (!job.is_metric()) text += " Tenths are not inches: 0.10 ft is 1-1/4 in.";
  flow.gap(6);
  flow.paragraph(text, plain_text(11));
}

// ---- second page ---------------------------------------------------------------------------------------------------

void add_rod_table(const SheetJob& job, SheetFlow& flow) {
  const double step = job.is_metric() ? 0.5 : 1.0;
  const double first = (std::floor(highest_grade(job.results) / step) + 1) * step;
  std::vector<TableColumn> columns{{"Grade", 116, 0}, {std::string("Elevation, ") + tape_unit(job), 62, 0.5}};
  constexpr int count = 5;
  for (int i = 0; i < count; ++i)
    columns.push_back({fmt::format("HI {}", length_text(job, first + i * step)), 72, 0.5});
  std::vector<TableRow> rows;
  for (const Grade& grade : job.results.found().stakes.grades) {
    TableRow row{bold_cell(grade.name, 9), bold_cell(length_text(job, grade.elevation), 11)};
    for (int i = 0; i < count; ++i) {
      const double rod = grade_rod(first + i * step, grade.elevation, job.unit());
      row.push_back({fmt::format("{}\n{}", length_text(job, rod), inches_text(job, rod))});
    }
    rows.push_back(std::move(row));
  }
  flow.heading("Rod = HI - grade");
  flow.paragraph(job.is_metric()
                     ? "In meters. HI between two columns: what it is above the column is added to every reading."
                     : "Upper figure decimal feet, lower figure feet, inches and eighths. HI between two "
                       "columns: what it is above the column is added to every reading.",
                 plain_text(9));
  flow.table(columns, rows, {9, 9, 32});
}

void add_inches(SheetFlow& flow) {
  const auto strip = [&](double step) {
    std::vector<TableColumn> columns;
    TableRow row;
    for (int i = 1; i <= 9; ++i) {
      columns.push_back({fixed_text(i * step, 2) + " ft", 1, 0.5});
      row.push_back({small_inches(i * step)});
    }
    flow.table(columns, {row}, {9, 9, 20});
    flow.gap(4);
  };
  flow.gap(10);
  flow.heading("Decimal feet in inches, to the nearest eighth");
  strip(0.01);
  strip(0.1);
}

void add_log(const SheetJob& job, SheetFlow& flow) {
  flow.gap(10);
  flow.heading("Set-ups");
  const std::optional<Mark>& second = job.results.job.site.lot.second_benchmark;
  const std::vector<TableColumn> columns{
      {"Day, stage", 96},  {"Rod on " + benchmark_name(job), 70},
      {"HI", 70},          {fmt::format("Check shot on {}: reads", second ? second->name : "the second"), 84},
      {"Should read", 70}, {"Off by", 50},
      {"Who", 60}};
  constexpr double row = 24, heading = 30;
  const double room = sheet_body(job.paper, false, true).height - flow.height() - heading;
  const TableRow empty(columns.size());
  flow.table(columns, std::vector<TableRow>(static_cast<std::size_t>(std::max(6.0, room / row)), empty), {8, 8, row});
}

SheetFlow grade_card(const SheetJob& job, double row_height) {
  SheetFlow card = new_flow(job, false);
  card.heading("GRADE CARD", 20);
  add_set_up(job, card);
  add_bigger_is_lower(card);
  add_grades(job, card, row_height);
  add_limits(job, card);
  return card;
}

/// Rows as high as the page has room for, so that there is space to write with cold hands.
SheetFlow grade_card(const SheetJob& job) {
  constexpr double least = 34, most = 64;
  const double spare = sheet_body(job.paper, false, true).height - grade_card(job, least).height();
  const auto rows = static_cast<double>(std::max<std::size_t>(1, job.results.found().stakes.grades.size()));
  return grade_card(job, std::clamp(least + spare / rows - 1, least, most));
}

}  // namespace

std::vector<SheetPage> grade_card_pages(const SheetJob& job) {
  std::vector<SheetPage> pages = flow_pages(job, "Grade card", false, grade_card(job));

  SheetFlow table = new_flow(job, false);
  add_rod_table(job, table);
  if (!job.is_metric()) add_inches(table);
  add_log(job, table);
  for (SheetPage& page : flow_pages(job, "Rod readings and set-ups", false, table)) pages.push_back(std::move(page));
  return pages;
}

}  // namespace moundwright::io

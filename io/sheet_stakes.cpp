// The stake list: what goes on each lath, and how to find and prove the stakes with a tape.
#include <fmt/format.h>

#include <algorithm>

#include "geom/lath.h"
#include "geom/trade_text.h"
#include "io/sheet_pages.h"

namespace moundwright::io {
namespace {

constexpr std::size_t most_grade_columns = 7;
constexpr const char* back_heading = "BACK OF LATH: cut or fill = grade - hub, and the hub's elevation";

/// Figures from the TIN are approximate: given to a tenth of a foot or a hundredth of a metre, so that nobody takes
/// them for a shot.
int about_decimals(const SheetJob& job) { return length_decimals(job.unit()) - 1; }

/// Of the grade and the ground as the sheet prints them.
std::string about_text(const SheetJob& job, const Stake& stake, double design) {
  if (!stake.ground) return "";
  const int decimals = about_decimals(job);
  const double grade = as_printed(design, length_decimals(job.unit()));
  const double fill = as_printed(grade - as_printed(*stake.ground, decimals), decimals);
  return fmt::format("{} {}", fill < 0 ? "C" : "F", fixed_text(std::abs(fill), decimals));
}

std::string ground_text(const SheetJob& job, const Stake& stake) {
  return stake.ground ? fmt::format("~{}", fixed_text(*stake.ground, about_decimals(job))) : "off survey";
}

std::string inward_text(const SheetJob& job, const Stake& stake) {
  if (!stake.to_shoulder) return "";
  const std::string inches = inches_text(job, *stake.to_shoulder);
  return fmt::format("in {} at {}\n{}", length_text(job, *stake.to_shoulder), slope_text(stake.slope_run.value_or(0)),
                     inches);
}

TableRow lath_row(const SheetJob& job, const Stake& stake, const std::vector<Grade>& shown) {
  const LathText lath =
      lath_text(stake, job.results.found().stakes.grades, job.results.mound().buildup.bottom_elevation);
  TableRow row{bold_cell(lath.front[0], 10),
               {lath.front[1] + "\n" + lath.front[2]},
               {ground_text(job, stake) + "\n" + about_text(job, stake, lath.edge.elevation)},
               blank_cell(),
               blank_cell(fmt::format("to {} {}", lath.edge.name, length_text(job, lath.edge.elevation))),
               {inward_text(job, stake)}};
  for (const Grade& grade : shown) {
    const bool on_back = std::any_of(lath.back.begin(), lath.back.end(),
                                     [&](const LathGrade& g) { return g.elevation == grade.elevation; });
    row.push_back(on_back ? blank_cell() : TableCell{"edge"});
  }
  return row;
}

std::string grade_heading(const SheetJob& job, const Grade& grade) {
  return grade.name + "\n" + length_text(job, grade.elevation);
}

void add_lath_table(const SheetJob& job, SheetFlow& flow) {
  const std::vector<Grade>& grades = job.results.found().stakes.grades;
  const std::vector<Grade> shown(grades.begin(),
                                 grades.begin() + static_cast<long>(std::min(grades.size(), most_grade_columns)));
  std::vector<TableColumn> columns{{"No.", 42, 0.5, "FRONT OF LATH"},
                                   {"station, offset, what it is", 154, 0, "FRONT OF LATH"},
                                   {"ground, to the edge's grade", 42, 0.5, "ABOUT"},
                                   {"TOP OF HUB, your own shot", 54, 0.5},
                                   {"cut or fill = grade - hub", 94, 0, "EDGE OF LATH"},
                                   {"shoulder lies", 66, 0, "SLOPE STAKES"}};
  for (const Grade& grade : shown) {
    columns.push_back({grade_heading(job, grade), 280.0 / static_cast<double>(shown.size()), 0.5, back_heading});
  }
  std::vector<TableRow> rows;
  for (const Stake& stake : job.results.found().stakes.stakes) rows.push_back(lath_row(job, stake, shown));
  flow.table(columns, rows, {7.5, 7, 0});
}

/// Grades that find no room beside the stakes, on sheets of their own.
void add_more_backs(const SheetJob& job, SheetFlow& flow) {
  const std::vector<Grade>& grades = job.results.found().stakes.grades;
  constexpr std::size_t wide = 12;
  for (std::size_t first = most_grade_columns; first < grades.size(); first += wide) {
    const std::size_t last = std::min(grades.size(), first + wide);
    flow.gap(8);
    flow.heading("Back of the laths, the other grades");
    std::vector<TableColumn> columns{{"No.", 42, 0.5}, {"TOP OF HUB, your own shot", 60, 0.5}};
    for (std::size_t i = first; i < last; ++i)
      columns.push_back({grade_heading(job, grades[i]), 50, 0.5, back_heading});
    std::vector<TableRow> rows;
    for (const Stake& stake : job.results.found().stakes.stakes) {
      TableRow row{bold_cell(std::to_string(stake.number), 10)};
      row.resize(columns.size(), blank_cell());
      rows.push_back(std::move(row));
    }
    flow.table(columns, rows, {7.5, 7, 0});
  }
}

// ---- tape ----------------------------------------------------------------------------------------------------------

void add_ties(const SheetJob& job, SheetFlow& flow) {
  const StakeOut& out = job.results.found().stakes;
  const std::string unit = job.is_metric() ? "m" : "decimal feet";
  std::vector<TableColumn> columns{{"No.", 42, 0.5}, {"What", 200}, {"Northing", 74, 1}, {"Easting", 74, 1}};
  for (const Mark& mark : out.tie_marks) {
    columns.push_back({fmt::format("Tape from {}, {}", mark.name, unit), 62, 1});
    if (!job.is_metric()) columns.push_back({"the same in feet, inches, eighths", 76, 1});
  }
  std::vector<TableRow> rows;
  for (const Stake& stake : out.stakes) {
    TableRow row{bold_cell(std::to_string(stake.number), 9),
                 {fmt::format("{} {}  {}", stake.station, stake.offset, stake.what)},
                 {fixed_text(stake.northing, 3)},
                 {fixed_text(stake.easting, 3)}};
    for (const double tie : stake.ties) {
      row.push_back(bold_cell(length_text(job, tie)));
      if (!job.is_metric()) row.push_back({inches_text(job, tie)});
    }
    rows.push_back(std::move(row));
  }
  flow.heading("Where each stake stands");
  flow.table(columns, rows, {7.5, 7, 16});
}

/// A list that may stand beside another, under its title.
struct TapedList {
  std::string title;
  const std::vector<TapeCheck>& checks;
};

void add_taped_columns(const SheetJob& job, const TapedList& list, std::vector<TableColumn>& columns) {
  columns.push_back({"What", 190, 0, list.title});
  columns.push_back({job.is_metric() ? "Level distance, m" : "Level distance, decimal feet", 62, 1, list.title});
  if (!job.is_metric()) columns.push_back({"feet, inches, eighths", 66, 1, list.title});
  columns.push_back({"As taped", 46, 0, list.title});
}

void add_taped_cells(const SheetJob& job, const TapedList& list, std::size_t place, TableRow& row) {
  const std::size_t cells = job.is_metric() ? 3 : 4;
  if (place >= list.checks.size()) {
    row.resize(row.size() + cells);
    return;
  }
  const TapeCheck& check = list.checks[place];
  row.insert(row.end(), {{check.what}, bold_cell(length_text(job, check.distance))});
  if (!job.is_metric()) row.push_back({inches_text(job, check.distance)});
  row.emplace_back();
}

/// Sides and diagonals, beside each other so that they find room below the stakes.
void add_taped(const SheetJob& job, SheetFlow& flow) {
  std::vector<TapedList> lists;
  const StakeOut& out = job.results.found().stakes;
  if (!out.sides.empty()) lists.push_back({"SIDES OF THE BED", out.sides});
  if (!out.diagonals.empty()) lists.push_back({"DIAGONALS: EACH PAIR IS EQUAL WHERE IT IS SQUARE", out.diagonals});
  if (lists.empty()) return;
  std::vector<TableColumn> columns;
  std::vector<TableRow> rows(std::max(out.sides.size(), out.diagonals.size()));
  for (const TapedList& list : lists) {
    add_taped_columns(job, list, columns);
    for (std::size_t i = 0; i < rows.size(); ++i) add_taped_cells(job, list, i, rows[i]);
  }
  flow.gap(8);
  const std::size_t first = flow.size();
  flow.table(columns, rows, {7.5, 7, 15});
  flow.keep_together(first);
}

}  // namespace

std::vector<SheetPage> lath_pages(const SheetJob& job) {
  SheetFlow flow = new_flow(job, true);
  flow.paragraph(
      "Drive the hub, shoot its top, write that shot in, then mark the lath. Cut or fill is grade - hub from YOUR "
      "shot: above the "
      "hub is fill (F), below it is cut (C). ABOUT is what the survey's triangles (TIN) make of it, good to a few "
      "tenths "
      "only: it finds a bust and never goes on a lath.",
      plain_text(8.5));
  add_lath_table(job, flow);
  add_more_backs(job, flow);
  return flow_pages(job, "Stakes: what to write on each lath", true, flow);
}

std::vector<SheetPage> tape_pages(const SheetJob& job) {
  const SheetFlow flow = close_flow(job, true, [&](SheetFlow& out) {
    add_ties(job, out);
    add_taped(job, out);
  });
  return flow_pages(job, "Stakes: coordinates, tape ties and diagonals", true, flow);
}

}  // namespace moundwright::io

// Every check of the plan against the ground: figure, asked, verdict, where.
#include <fmt/format.h>

#include <algorithm>

#include "geom/printed.h"
#include "io/sheet_pages.h"

namespace moundwright::io {
namespace {

TableCell verdict_cell(Verdict verdict) {
  switch (verdict) {
    case Verdict::told:
      return {"told"};
    case Verdict::good:
      return {"good"};
    case Verdict::look:
      return bold_cell("LOOK");
    case Verdict::bad:
      return bold_cell("BAD", 11);
  }
  return {};
}

std::string figure_text(const std::optional<double>& figure, const std::string& unit) {
  const int decimals = unit == symbol(LengthUnit::metre) ? length_decimals(LengthUnit::metre) : 2;
  return figure ? fixed_text(*figure, decimals) + (unit.empty() ? "" : " " + unit) : "";
}

TableRow check_row(const PlanCheck& check) {
  return {verdict_cell(check.verdict),
          bold_cell(check.name),
          {figure_text(check.found, check.unit)},
          {figure_text(check.asked, check.unit)},
          {sentence(check.text) + (check.what_to_do.empty() ? "." : ".\nDo: " + check.what_to_do + ".")},
          {check.at ? fmt::format("N {}\nE {}", fixed_text(check.at->y(), 1), fixed_text(check.at->x(), 1)) : ""}};
}

std::string count_text(const std::vector<PlanCheck>& checks) {
  const auto count = [&](Verdict verdict) {
    return std::count_if(checks.begin(), checks.end(), [&](const PlanCheck& c) { return c.verdict == verdict; });
  };
  std::string text =
      fmt::format("{} checks: {} good, {} to look at, {} BAD, {} told without anything asked.", checks.size(),
                  count(Verdict::good), count(Verdict::look), count(Verdict::bad), count(Verdict::told));
  if (count(Verdict::bad) > 0) text += " Do not build before what is BAD is settled with the designer.";
  return text;
}

void add_notes(const SheetJob& job, SheetFlow& flow) {
  std::vector<TableRow> rows;
  for (const Problem& problem : job.results.notes.all) {
    rows.push_back(
        {bold_cell(problem.severity == Severity::warning ? "warning" : "note"),
         {sentence(problem.what) + (problem.what_to_do.empty() ? "." : ".\nDo: " + problem.what_to_do + ".")},
         {problem.where}});
  }
  if (rows.empty()) return;
  flow.gap(10);
  flow.heading("Told while reading and staking");
  flow.table({{"", 50}, {"What", 520}, {"Where", 150}}, rows, {8, 7.5, 16});
}

}  // namespace

std::vector<SheetPage> check_pages(const SheetJob& job) {
  std::vector<TableRow> rows;
  for (const PlanCheck& check : job.results.found().checks) rows.push_back(check_row(check));
  const SheetFlow flow = close_flow(job, true, [&](SheetFlow& out) {
    out.paragraph(count_text(job.results.found().checks), plain_text(10, true));
    out.gap(4);
    out.table({{"Verdict", 44, 0.5},
               {"Check", 92},
               {"Found", 74, 1},
               {"Asked", 74, 1},
               {"In words", 346},
               {"Where it is worst", 90}},
              rows, {8, 7.5, 18});
    add_notes(job, out);
  });
  return flow_pages(job, "Checks of the plan against the ground", true, flow);
}

}  // namespace moundwright::io

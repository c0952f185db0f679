#include "viewer/report.h"

#include <fmt/format.h>

#include <algorithm>
#include <sstream>

#include "geom/bulk_units.h"
#include "geom/printed.h"
#include "io/cautions.h"
#include "viewer/estimate_report.h"
#include "viewer/panel_text.h"

namespace moundwright::viewer {
namespace {

std::string square_unit(LengthUnit unit) { return unit == LengthUnit::metre ? "sq m" : "sq ft"; }

std::string ground_part(const io::SiteResults& r) {
  const SurveyedCounts surveyed = surveyed_counts(r.ground());
  std::string text = fmt::format("Ground      {} points, {} triangles", surveyed.points, surveyed.triangles);
  if (r.found().fall) {
    text += fmt::format("; under the bed it falls {} % toward azimuth {}", fixed_text(100 * r.found().fall->slope, 1),
                        fixed_text(r.found().fall->downslope_azimuth, 0));
  }
  text += "\n";
  if (r.ground().extended > 0) {
    text += fmt::format("            carried on {:g} {} past the survey as assumed ground\n", r.ground().extended,
                        symbol(r.job.site.unit));
  }
  return text;
}

std::string bed_part(const io::SiteResults& r) {
  const Buildup& b = r.mound().buildup;
  const char* unit = symbol(r.job.site.unit);
  const auto length = [&](double value) { return fixed_text(value, length_decimals(r.job.site.unit)); };
  std::string text = fmt::format("Bed bottom  {} {}; sand under the bed {} to {} {}\n", length(b.bottom_elevation),
                                 unit, length(b.sand_least), length(b.sand_most), unit);
  if (b.governing) {
    const Point2 at = r.ground().to_world(b.governing->at);
    text += fmt::format("            highest ground under the bed {} at N {}, E {}\n", length(b.governing->elevation),
                        fixed_text(at.y(), 1), fixed_text(at.x(), 1));
  }
  return text;
}

std::string berm_part(const io::SiteResults& r) {
  const BermLengths& berm = r.mound().buildup.berm;
  const char* unit = symbol(r.job.site.unit);
  std::string text = fmt::format("Berm        from the bed's edge to the toe, in {}\n", unit);
  const auto line = [&](const char* face, const BermLength& length) {
    text += fmt::format("            {:<10} {:>6} at mid-length  ({} to {})\n", face, fixed_text(length.middle, 1),
                        fixed_text(length.least, 1), fixed_text(length.most, 1));
  };
  line("upslope", berm.upslope);
  line("downslope", berm.downslope);
  line("left", berm.left);
  line("right", berm.right);
  text += fmt::format("            footprint {} {}, toe {} {} round\n", fixed_text(r.mound().buildup.footprint_area, 0),
                      square_unit(r.job.site.unit), fixed_text(r.mound().buildup.footprint_perimeter, 0), unit);
  return text;
}

std::string quantities_part(const io::SiteResults& r) {
  const Takeoff& t = r.found().takeoff;
  const LengthUnit unit = r.job.site.unit;
  const BulkUnits& bulk = bulk_units(unit);
  std::string text = fmt::format("{:<12}{:<16}{:>12}{:>14}   thickness, {}\n", "In place", "material",
                                 bulk.metric ? "cubic meters" : "cubic yards", "by end areas", symbol(unit));
  const auto row = [&](const std::string& name, const std::string& material, double yards, const std::string& by_areas,
                       const std::string& thickness) {
    std::string line =
        fmt::format("  {:<10}{:<16}{:>12}{:>14}   {}", name, material, fixed_text(yards, 1), by_areas, thickness);
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + "\n";
  };
  const auto told = [&](double cubic_yards) { return fixed_text(bulk.of_yard * cubic_yards, 1); };
  for (const TakeoffItem& item : t.fill) {
    row(item.name, item.material, bulk.of_yard * item.volume_cy, told(item.end_area_cy),
        fmt::format("{} to {}", fixed_text(item.thickness_least, length_decimals(unit)),
                    fixed_text(item.thickness_most, length_decimals(unit))));
  }
  row("fill", "total", bulk.of_yard * t.fill_cy, told(t.end_area_fill_cy), "");
  for (const TakeoffItem& item : t.cut) row("cut", item.name, bulk.of_yard * item.volume_cy, "", "");
  if (!t.cut.empty()) row("cut", "total", bulk.of_yard * t.cut_cy, told(t.end_area_cut_cy), "");
  if (t.scarify_area > 0) text += fmt::format("  scarify   {} {}\n", fixed_text(t.scarify_area, 0), square_unit(unit));
  if (t.on_assumed) text += "  " + to_text(*t.on_assumed, unit) + "\n";
  text += fmt::format("  layers against finished minus prepared ground: {:.1e} of the fill apart\n",
                      t.balance.relative_difference);
  text += fmt::format("  {}\n", totals_note);
  text += fmt::format("  Neat, in place: no swell, shrink or waste is in these {}.\n", bulk.metric ? "m3" : "yards");
  return text;
}

std::string grades_part(const io::SiteResults& r) {
  std::string text;
  for (const Grade& grade : r.found().stakes.grades) {
    text += fmt::format("{:<12}{:<9}{}\n", text.empty() ? "Grades" : "",
                        fixed_text(grade.elevation, length_decimals(r.job.site.unit)), grade.name);
  }
  return text;
}

std::string check_lines(const PlanCheck& check) {
  std::string text = verdict_lead(check.verdict) + check.name + ": " + check.text + "\n";
  if (!check.what_to_do.empty()) text += "          " + check.what_to_do + "\n";
  return text;
}

/// "  good  bed bottom, separation (4), ..."; empty where no check has that verdict.
std::string names_with(Verdict verdict, const std::vector<PlanCheck>& checks) {
  std::vector<std::pair<std::string, int>> names;
  for (const PlanCheck& check : checks) {
    if (check.verdict != verdict) continue;
    const auto at =
        std::find_if(names.begin(), names.end(), [&](const auto& name) { return name.first == check.name; });
    if (at == names.end()) {
      names.emplace_back(check.name, 1);
    } else {
      ++at->second;
    }
  }
  if (names.empty()) return "";
  std::vector<std::string> words;
  for (const auto& [name, count] : names) words.push_back(count == 1 ? name : fmt::format("{} ({})", name, count));
  return verdict_lead(verdict) + fmt::format("{}\n", fmt::join(words, ", "));
}

std::string checks_part(const io::SiteResults& r, ReportLength length) {
  std::string text = "Checks of the plan against the ground\n";
  const bool brief = length == ReportLength::brief;
  for (const PlanCheck& check : r.found().checks) {
    const bool gathered = brief && (check.verdict == Verdict::good || check.verdict == Verdict::told);
    if (!gathered) text += check_lines(check);
  }
  if (brief) text += names_with(Verdict::good, r.found().checks) + names_with(Verdict::told, r.found().checks);
  return text;
}

std::string cautions_part() {
  std::string text = "Cautions\n";
  for (const char* caution :
       {io::cautions::utilities, io::cautions::trench, io::cautions::tank, io::cautions::sewage,
        io::cautions::placed_sand, "Ground from the TIN is approximate; grade is marked from each hub's own shot.",
        io::cautions::govern}) {
    std::istringstream lines(wrapped(caution, 110));
    for (std::string line; std::getline(lines, line);) text += "  " + line + "\n";
  }
  return text;
}

}  // namespace

std::string verdict_lead(Verdict verdict) { return fmt::format("  {:<4}  ", word_of(verdict)); }

std::string problems_text(const Problems& problems) {
  std::string text;
  for (const Problem& problem : problems.all) text += to_text(problem) + '\n';
  return text;
}

std::string report_text(const io::SiteResults& results, ReportLength length) {
  std::string text = results.job.site.title + "\n\n";
  text += ground_part(results) + bed_part(results) + grades_part(results) + "\n" + berm_part(results) + "\n";
  text += quantities_part(results) + "\n";
  text += length == ReportLength::full ? estimate_text(results) : estimate_summary_text(results);
  return text + checks_part(results, length) + "\n" + cautions_part();
}

}  // namespace moundwright::viewer

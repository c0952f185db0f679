#include "io/results.h"

#include <fmt/format.h>

#include <cmath>

#include "geom/ground_checks.h"

namespace moundwright {
namespace {

std::vector<std::string> point_names(const Survey& survey) {
  std::vector<std::string> names;
  names.reserve(survey.all.size());
  for (const Shot& shot : survey.all) names.push_back(shot.point);
  return names;
}

void read_ground(SiteResults& results, const Progress& progress) {
  progress("reading the shots");
  results.survey = read_shots(results.job.ground.shots, results.job.ground.reading);
  results.notes.append(results.survey.notes);
  if (results.job.site.benchmark)
    results.notes.append(check_benchmark(results.survey.all, *results.job.site.benchmark));
  progress("triangulating the ground");
  GroundReport report;
  results.ground =
      make_ground(results.survey.ground_shots, results.survey.breaklines, results.job.ground.options, &report);
  results.notes.append(report.problems);
}

}  // namespace

SiteResults compute_site(const std::filesystem::path& job_path, const Progress& given) {
  const Progress progress = given ? given : [](const char*) {};
  SiteResults results;
  results.job = read_job(job_path);
  read_ground(results, progress);

  progress("building the mound up on the ground");
  SiteDesign& site = results.job.site;
  if (!site.mound.downslope) {
    // It only says which side is downslope, so a hundredth of a degree is plenty to keep in the job.
    site.mound.downslope = std::round(100.0 * find_downslope(results.ground, site.mound)) / 100.0;
    results.downslope_was_found = true;
  }
  results.plan = plan_mound(site.mound);
  results.fall = fall_under_bed(results.ground, results.plan);
  results.buildup = build_up(results.ground, results.plan);

  progress("checking the plan, taking off, setting stakes");
  results.checks = check_plan(results.ground, results.plan, results.buildup, site, results.survey.ground_shots);
  results.takeoff = take_off(results.ground, results.plan, results.buildup, site.unit, site.end_area_interval);
  results.stakes = stake_out(results.ground, results.plan, results.buildup, site, point_names(results.survey));
  results.notes.append(results.stakes.notes);
  results.estimate = estimate(results.ground, results.plan, results.buildup, results.takeoff, site);
  results.notes.append(results.estimate.notes);
  return results;
}

Problems blocking_problems(const SiteResults& results) {
  Problems problems;
  const Buildup& b = results.buildup;
  const char* unit = symbol(results.job.site.unit);
  if (!b.governing) {
    problems.error("there is no surveyed ground under the bed", "mound.center",
                   "move the bed onto the survey, or check northing and easting");
    return problems;
  }
  constexpr double rounding = 1e-9;
  if (b.bottom_elevation < b.governing->elevation - rounding) {
    const Point2 at = results.ground.to_world(b.governing->at);
    problems.error(
        fmt::format("the bed bottom at {:.2f} lies below existing ground, which stands at {:.2f} under the bed",
                    b.bottom_elevation, b.governing->elevation),
        fmt::format("N {:.1f}, E {:.1f}", at.y(), at.x()),
        "raise the bed bottom or move the bed downslope; stone in a bowl of tight soil drowns");
  }
  if (b.toe.outer.empty()) {
    problems.error("no layer stands above the ground anywhere", "mound.bottom", "raise the bed bottom");
  }
  if (b.toe.off_survey > 0) {
    problems.error(
        fmt::format("the berm runs off the surveyed ground along {:.1f} {} of its outline", b.toe.off_survey, unit), {},
        {});
    for (const PlanCheck& check : results.checks) {
      if (check.verdict == Verdict::bad) problems.error(check.text, check.name, check.what_to_do);
    }
  }
  return problems;
}

}  // namespace moundwright

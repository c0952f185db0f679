#include "io/results.h"

#include <fmt/format.h>
#include <tbb/parallel_invoke.h>
#include <tbb/task_arena.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "geom/contour_interval.h"
#include "geom/ground_checks.h"
#include "geom/printed.h"
#include "io/grade_limits.h"

namespace moundwright::io {
namespace {

std::vector<std::string> point_names(const Survey& survey) {
  std::vector<std::string> names;
  names.reserve(survey.all.size());
  for (const Shot& shot : survey.all) names.push_back(shot.point);
  return names;
}

/// Does `part`; where it is refused, what was already told goes before, since it often is the cause.
template <class Part>
auto told_before(const Problems& notes, const Part& part) {
  try {
    return part();
  } catch (const Refusal& refusal) {
    std::vector<Problem> all = notes.all;
    all.insert(all.end(), refusal.problems().begin(), refusal.problems().end());
    throw Refusal(std::move(all));
  }
}

/// Without the parts that lie far from the lot's: those were told, and would hide what marks show of the rest.
std::vector<Shot> shots_of_lot(const std::vector<Shot>& all, const LotPlaces& lot) {
  std::vector<bool> is_far(all.size());
  for (const FarPart& part : find_far_parts(all, lot).parts) {
    for (const std::size_t i : part.shots) is_far[i] = true;
  }
  std::vector<Shot> shots;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (!is_far[i]) shots.push_back(all[i]);
  }
  return shots;
}

/// What bench marks or, without a word from them, the bed show of the whole survey: columns exchanged, another unit.
Problems check_marks(const Survey& survey, const Job& job) {
  const SiteDesign& site = job.site;
  const std::vector<Shot> of_lot =
      survey.left_out > 0 ? shots_of_lot(survey.all, job.ground.reading.lot) : std::vector<Shot>();
  const std::vector<Shot>& shots = survey.left_out > 0 ? of_lot : survey.all;
  Problems problems = check_benchmarks(shots, site.lot.benchmark, site.lot.second_benchmark,
                                       grade_limits(site.unit).bed, survey.to_exchange);
  const std::optional<Point2>& bed = job.ground.reading.lot.bed;
  if (!problems.all.empty() || !bed) return problems;
  return check_bed_place(shots, *bed, job.mound.bed.line.size() > 2 ? "mound.bed.line" : "mound.center",
                         survey.to_exchange);
}

void tell_wide_contours(const Ground& ground, LengthUnit unit, Problems& notes) {
  const double finest = unit == LengthUnit::metre ? 0.25 : 1.0, drawn = drawable_interval(ground, finest);
  if (drawn == finest) return;
  const auto [low, high] = std::minmax_element(ground.points.begin(), ground.points.end(),
                                               [](const Point3& a, const Point3& b) { return a.z() < b.z(); });
  notes.warning(
      fmt::format("the ground reaches from {:.2f} to {:.2f}: contours every {:g} would be too many, and stand "
                  "at {:g} or more",
                  low->z(), high->z(), finest, drawn),
      {}, "check the elevations of the lowest and highest shots");
}

/// What the bench marks show comes first: other messages often follow from it.
void read_ground(SiteResults& results, const Progress& progress) {
  progress("reading the shots");
  results.survey = read_shots(results.job.ground.shots, results.job.ground.reading);
  results.notes.append(check_marks(results.survey, results.job));
  results.notes.append(results.job.notes);
  results.notes.append(results.survey.notes);
  results.notes.throw_if_errors();
  results.job.ground.options.shots_left_out = results.survey.left_out;
  results.job.ground.options.files = results.survey.files;
  progress("triangulating the ground");
  GroundReport report;
  results.shared_ground = told_before(results.notes, [&] {
    return std::make_shared<const Ground>(
        make_ground(results.survey.ground_shots, results.survey.breaklines, results.job.ground.options, &report));
  });
  results.notes.append(report.problems);
  tell_wide_contours(results.ground(), results.job.site.unit, results.notes);
}

Progress told_to(const Progress& given) {
  return given ? given : [](const char*) {};
}

void compute_mound(SiteResults& results, const Progress& progress) {
  progress("building the mound up on the ground");
  const SiteDesign& site = results.job.site;
  MoundDesign design = std::exchange(results.job.mound, {});
  if (!design.downslope) {
    design.downslope = downslope_for(results.ground(), design);
    results.downslope_was_found = true;
  }
  results.mounds.push_back({place_mound(place_as_drawn(results.ground(), design)), {}});

  progress("checking the plan, taking off, setting stakes");
  auto& [mound, found] = results.mounds.back();
  found = findings_of(mound, results.survey, site);
  if (found.takeoff.on_assumed) {
    results.notes.warning(to_text(*found.takeoff.on_assumed, site.unit), "ground.extend", shoot_assumed_ground);
  }
  results.notes.append(found.stakes.notes);
  results.estimate = estimate(mound, found.takeoff, site);
  results.notes.append(results.estimate.notes);
}

}  // namespace

SiteResults read_site(const std::filesystem::path& job_path, const Progress& progress) {
  SiteResults results;
  results.job = read_job(job_path);
  read_ground(results, told_to(progress));
  return results;
}

double downslope_for(const Ground& ground, const MoundDesign& design) {
  // It only says which side is downslope, so a hundredth of a degree is plenty to keep in the job.
  return std::round(100.0 * find_downslope(ground, design)) / 100.0;
}

Findings findings_of(const PlacedMound& mound, const Survey& survey, const SiteDesign& site) {
  Findings found;
  const auto take = [&] { found.takeoff = take_off(mound, site.unit, site.end_area_interval); };
  const auto check = [&] {
    found.fall = fall_under_bed(mound);
    found.checks = check_plan(mound, check_options(site), survey.ground_shots);
    found.stakes = stake_out(mound, stake_options(site), point_names(survey));
  };
  // In an arena of its own: a window's thread that waits for work of its own would else take this up meanwhile.
  tbb::task_arena().execute([&] { tbb::parallel_invoke(take, check); });
  return found;
}

SiteResults compute_site(const std::filesystem::path& job_path, const Progress& given) {
  const Progress progress = told_to(given);
  SiteResults results = read_site(job_path, progress);
  told_before(results.notes, [&] { compute_mound(results, progress); });
  return results;
}

Problems blocking_problems(const SiteResults& results) {
  return blocking_problems(results.mound(), results.found().checks, results.job.site.unit);
}

Problems blocking_problems(const PlacedMound& mound, const std::vector<PlanCheck>& checks, LengthUnit unit) {
  const Ground& ground = mound.ground;
  const Buildup& b = mound.buildup;
  Problems problems;
  if (!b.governing) {
    problems.error("there is no surveyed ground under the bed", "mound.center",
                   "move the bed onto the survey, or check northing and easting");
    return problems;
  }
  constexpr double rounding = 1e-9;
  if (b.bottom_elevation < b.governing->elevation - rounding) {
    const Point2 at = ground.to_world(b.governing->at);
    problems.error(fmt::format("the bed bottom at {} lies below existing ground, which stands at {} under the bed",
                               fixed_text(b.bottom_elevation, 2), fixed_text(b.governing->elevation, 2)),
                   fmt::format("N {}, E {}", fixed_text(at.y(), 1), fixed_text(at.x(), 1)),
                   "raise the bed bottom or move the bed downslope; stone in a bowl of tight soil drowns");
  }
  if (b.toe.outer.empty()) {
    problems.error("no layer stands above the ground anywhere", "mound.bottom", "raise the bed bottom");
  }
  for (const PlanCheck& check : checks) {
    if (!ground.assumed.empty() && check.name == survey_under_bed && check.verdict == Verdict::bad) {
      problems.error(check.text + "; assumed ground does not count", "mound.center", check.what_to_do);
    }
  }
  if (b.toe.off_survey > 0) {
    problems.error(
        fmt::format("the berm runs off the {} ground along {} {} of its outline",
                    ground.extended > 0 ? "assumed" : "surveyed", fixed_text(b.toe.off_survey, 1), symbol(unit)),
        {}, {});
    for (const PlanCheck& check : checks) {
      if (check.verdict == Verdict::bad) problems.error(check.text, check.name, check.what_to_do);
    }
  }
  return problems;
}

}  // namespace moundwright::io

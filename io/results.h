// Everything the writers read: one job's results, put together once.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "geom/downslope.h"
#include "geom/estimate.h"
#include "geom/plan_checks.h"
#include "geom/stakes.h"
#include "geom/takeoff.h"
#include "io/job_toml.h"
#include "io/survey.h"

namespace moundwright::io {

/// What people read off a mound on its ground.
struct Findings {
  std::optional<BedFall> fall;  // of the ground under the bed
  Takeoff takeoff;
  std::vector<PlanCheck> checks;
  StakeOut stakes;
};
Findings findings_of(const PlacedMound& mound, const Survey& survey, const SiteDesign& site);

struct MoundResults {
  PlacedMound mound;
  Findings found;
};

struct SiteResults {
  Job job;  // its mound's design is moved on into what was compiled of it
  Survey survey;
  std::shared_ptr<const Ground> shared_ground;  // stays where it is for mounds that stand on it
  std::vector<MoundResults> mounds;             // none where only the ground was read
  Estimate estimate;                            // order and price, as far as the job gives what they want
  Problems notes;                               // warnings and notes from reading to staking
  bool downslope_was_found = false;             // it was not in the job, and belongs there now

  const Ground& ground() const { return *shared_ground; }
  // A job gives one mound.
  const PlacedMound& mound() const { return mounds.front().mound; }
  const Findings& found() const { return mounds.front().found; }
};

/// Told as each part of the work begins; for progress.
using Progress = std::function<void(const char* stage)>;

/// Reads a job and its shots and computes everything. Throws Refusal for what cannot be computed; a plan that only
/// fails its checks comes back with them.
SiteResults compute_site(const std::filesystem::path& job_path, const Progress& progress = {});

/// Reads a job, its shots and its ground, and computes nothing of the mound yet.
SiteResults read_site(const std::filesystem::path& job_path, const Progress& progress = {});

/// Downslope where the job does not say: rounded, since it only tells which side is which. Throws as find_downslope.
double downslope_for(const Ground& ground, const MoundDesign& design);

/// What makes quantities and stakes wrong, not just the plan doubtful: ground above the bed bottom, a berm that runs
/// off the survey, no mound at all. Empty where there is none of it.
Problems blocking_problems(const SiteResults& results);
Problems blocking_problems(const PlacedMound& mound, const std::vector<PlanCheck>& checks, LengthUnit unit);

}  // namespace moundwright::io

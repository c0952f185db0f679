// The order of work on this job, in the trade's words, with each caution at the step where the danger is met.
//
//   for (const WorkStep& step : work_steps(results)) step.title, step.text, step.caution, step.checks
//
// Only the steps that the job has: no strip where nothing is stripped, no squirt test where no laterals are given.
#pragma once

#include <string>
#include <vector>

#include "io/results.h"

namespace moundwright::io {

struct WorkStep {
  std::string title;
  std::string text;
  std::string caution;        // empty where the step has none of its own
  std::vector<Grade> checks;  // grades to be shot before the next step hides them; a check shot comes first
};

std::vector<WorkStep> work_steps(const SiteResults& results);

}  // namespace moundwright::io

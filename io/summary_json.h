// summary.json: every figure of the job for other programs; its first keys are the project's output contract.
#pragma once

#include <string>

#include "io/results.h"

namespace moundwright::io {

/// Lengths, elevations and areas in the job's unit, volumes in cubic yards. No clock and no machine in it: the same job
/// gives the same bytes.
std::string summary_json(const SiteResults& results);

}  // namespace moundwright::io

// The estimate as JSON: the key `estimate` of summary.json. Yards say their state in their names; money is in the job's
// own currency; plus or minus is one standard deviation.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "geom/estimate.h"
#include "geom/ground.h"

namespace moundwright::io {

/// A summary of a job in metres: beside each figure in cubic yards or US tons (keys that end in _cy, tons or per_yard)
/// the same in cubic metres or tonnes (_m3, tonnes, per_m3).
nlohmann::ordered_json with_metric_twins(const nlohmann::ordered_json& json);

nlohmann::ordered_json estimate_json(const Estimate& estimate, const Ground& ground);

}  // namespace moundwright::io

// The estimate as JSON: the key `estimate` of summary.json. Yards say their state in their names; money is in the job's
// own currency; plus or minus is one standard deviation.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "geom/estimate.h"
#include "geom/ground.h"

namespace moundwright {

nlohmann::ordered_json estimate_json(const Estimate& estimate, const Ground& ground);

}  // namespace moundwright

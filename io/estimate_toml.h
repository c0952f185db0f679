// The estimator's part of the job file, and the materials file beside it: materials and trucks, lifts, blends, site
// soil, items by area and length, rates, overhead and margin. How it is written: starter_job(). Percent in the file,
// fractions in the structs.
//
// A materials file holds [[material]], [[truck]], [[machine]] and [[worker]] and may serve many jobs; an entry of the
// job takes the place of one of the same name in the file.
//
// Units: keys name theirs (tons or tonnes, per_yard or per_m3), and either may stand in any job. Unit weights are in
// pounds a yard in a job in feet and kg/m3 in one in metres; a materials file says which by units = "ft" or "m" at its
// top, "ft" where it says nothing and the job is in feet.
#pragma once

#include <filesystem>
#include <optional>
#include <vector>

#include "geom/design.h"
#include "geom/site_design.h"
#include "io/toml_table.h"

namespace moundwright::io {

/// Reads into `site.estimate`; `layers` are the mound's. `materials` is the file that the job names. Every problem of
/// both files goes into `report`.
void read_estimate(Table& root, const std::optional<std::filesystem::path>& materials, Report& report,
                   const std::vector<Layer>& layers, SiteDesign& site);

/// The key of a layer: percent that it settles.
void read_settlement(Table& layer, const std::string& name, EstimatePlan& plan);

}  // namespace moundwright::io

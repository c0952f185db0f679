// What a job says about ordering and pricing: the input of estimate.h, all of it optional.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "geom/bid.h"
#include "geom/gradation.h"
#include "geom/materials.h"
#include "geom/shot_accuracy.h"
#include "geom/site_soil.h"

namespace moundwright {

struct LiftOptions {
  double depth = 0;                 // of one lift, job units
  std::vector<std::string> layers;  // that are placed in lifts; the rest goes down whole
};

/// Sand that neat lines do not hold: at faces built as loose lifts, and pressed into scarified ground.
struct InterfaceOptions {
  double face_run = 0;       // run to 1 of rise that a loose lift stands at where the plan has a vertical face; 0: none
  double pressed_depth = 0;  // into scarified ground, job units; 0: none
};

/// Placed thickness = settled thickness / (1 - allowance); `allowance` a fraction of the placed thickness, by layer
/// name.
struct SettlementAllowance {
  std::string layer;
  double allowance = 0;
};

struct FabricOptions {
  std::string over;    // the layer it lies on
  double overlap = 0;  // between widths, and where a roll ends, job units
  double roll_width = 0, roll_length = 0;
  std::optional<Price> price;
};

/// Seed or mulch: so much on each 1,000 square feet or 100 square metres of finished slope.
struct SpreadOptions {
  std::string name;  // "seed", "mulch"
  double rate = 0;
  PriceUnit counted = PriceUnit::pound;  // pound, kilogram, bale, loose_yard or loose_cubic_metre
  std::optional<Price> price;
  bool per_100_sq_m = false;
};

struct FenceOptions {
  double below_toe = 5.0;  // plan distance out from the toe
  double returns = 10.0;   // each end turned uphill by this much
  std::optional<Price> price;
};

struct StockpileOptions {
  std::string material;
  double loads = 0;                   // that lie there at once
  double height = 0;                  // at most
  double run = 1.5;                   // run to 1 of rise it stands at
  std::optional<Eigen::Vector2d> at;  // easting, northing of its middle
};

struct PipeOptions {
  std::string name;
  double length = 0;
  std::optional<Price> price;
};

struct AreaItemOptions {
  std::optional<FabricOptions> fabric;
  std::vector<SpreadOptions> spread;
  std::optional<FenceOptions> fence;
  std::vector<StockpileOptions> stockpiles;
  std::vector<PipeOptions> pipes;
  std::optional<Price> scarify;  // by area
};

/// Own limits of a material's gradation; they win over the published specification that it names.
struct MaterialLimits {
  std::string material;
  GradationLimits limits;
};

struct EstimatePlan {
  std::vector<Material> materials;
  std::vector<Truck> trucks;
  std::vector<MaterialLimits> limits;
  std::optional<LiftOptions> lifts;
  InterfaceOptions interface;
  std::vector<SettlementAllowance> settlement;
  std::vector<Blend> blends;
  std::vector<SiteSoil> site_soil;
  AreaItemOptions areas;
  std::optional<ShotAccuracy> accuracy;
  std::optional<BidOptions> bid;
};

}  // namespace moundwright

// The lot round the mound: marks, what the plan and the code ask, what is to be kept clear of, places to stake besides
// bed and toe. Plain data in the survey's own coordinates (easting x, northing y) and the job's own length unit.
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

namespace moundwright {

/// Depth to the limiting soil layer found at a place.
struct Boring {
  std::string name;
  Eigen::Vector2d at = Eigen::Vector2d::Zero();
  double limiting_depth = 0;  // below existing ground
};

/// Something the mound must keep away from: a point, a line or (closed) an area.
struct KeepClear {
  std::string name;
  std::vector<Eigen::Vector2d> line;
  bool closed = false;
  std::optional<double> from_bed;  // least plan distance asked of the bed
  std::optional<double> from_toe;  // least plan distance asked of the toe
};

/// What the plan and the local code ask; each optional, checked where given.
struct Requirements {
  std::optional<double> separation;  // bed bottom above the limiting layer
  std::vector<Boring> borings;
  std::optional<double> daily_flow;        // gallons a day; litres in a metric job
  std::optional<double> loading_rate;      // of the soil, gallons a day a square foot; litres a day a square metre
  std::optional<double> least_basal_area;  // square feet or square metres, where given instead of flow and rate
  std::vector<KeepClear> keep_clear;
};

/// A place the stakes show besides bed and toe: feed riser, lateral end, port, pipe end.
struct FeedPoint {
  std::string name;
  Eigen::Vector2d at = Eigen::Vector2d::Zero();
  std::optional<double> elevation;  // design elevation, where it has one
};

/// A known mark: bench mark or tie point.
struct Mark {
  std::string name;
  Eigen::Vector2d at = Eigen::Vector2d::Zero();
  std::optional<double> elevation;
};

struct Lot {
  std::optional<Mark> benchmark;
  std::optional<Mark> second_benchmark;  // to check the first one on
  std::vector<Mark> ties;                // tape ties are given from the first two
  std::vector<FeedPoint> feed;
  Requirements requirements;
};

}  // namespace moundwright

#include "geom/design.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "geom/dotted_key.h"
#include "geom/limits.h"
#include "geom/mound_shape.h"

namespace moundwright {
namespace {

using Vector2 = Eigen::Vector2d;

void check_between(double value, double least, double most, const std::string& what, const std::string& where,
                   Problems& problems) {
  if (std::isfinite(value) && value >= least && value <= most) return;
  if (value > most || (value < least && least == -most)) {
    const std::string limit = fmt::format("{:.0f}{}", most, least == -most ? " either way" : "");
    problems.error(fmt::format("{} is {}; the limit is {}", what, value, limit), where,
                   "give a smaller number, in the job's own unit, or look for a slip of the decimal point");
  } else {
    problems.error(fmt::format("{} is {}", what, value), where,
                   fmt::format("give a number from {} to {}", least, most));
  }
}

void check_size(double value, const std::string& what, const std::string& where, Problems& problems) {
  if (std::isfinite(value) && value <= 0) {
    problems.error(fmt::format("{} is {}", what, value), where, "give a number greater than 0");
  } else {
    check_between(value, 0, greatest_plan_size, what, where, problems);
  }
}

void check_faces(const ByFace& faces, double most, const std::string& what, const std::string& where,
                 Problems& problems) {
  check_between(faces.upslope, 0, most, what + " upslope", where, problems);
  check_between(faces.downslope, 0, most, what + " downslope", where, problems);
  check_between(faces.left, 0, most, what + " at the left end", where, problems);
  check_between(faces.right, 0, most, what + " at the right end", where, problems);
}

void check_place(const Vector2& at, const std::string& what, const std::string& where, Problems& problems) {
  check_between(at.y(), -greatest_coordinate, greatest_coordinate, "the northing of " + what, where, problems);
  check_between(at.x(), -greatest_coordinate, greatest_coordinate, "the easting of " + what, where, problems);
}

constexpr double sharpest_turn_cosine = -0.5;  // a bend of 120 degrees leaves a spike, not a bed

double distance_to_segment(const Vector2& p, const Vector2& from, const Vector2& to) {
  return (nearest_on(from, to, p) - p).norm();
}

bool do_meet(const Vector2& p, const Vector2& q, const Vector2& r, const Vector2& s) {
  constexpr double touching = 1e-6;
  return do_cross(p, q, r, s) || distance_to_segment(p, r, s) < touching || distance_to_segment(q, r, s) < touching ||
         distance_to_segment(r, p, q) < touching || distance_to_segment(s, p, q) < touching;
}

/// A bed has two ends and lies nowhere over itself.
bool check_line_is_open(const Bed& bed, Problems& problems) {
  const std::vector<Vector2>& line = bed.line;
  if (line.size() > 3 && (line.front() - line.back()).norm() < 1e-6) {
    problems.error("the bed's line closes on itself: its first point is its last as well", "mound.bed.line",
                   "end the bed short of where it begins: a bed is a strip with two ends");
    return false;
  }
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    for (std::size_t j = i + 2; j + 1 < line.size(); ++j) {
      if (!do_meet(line[i], line[i + 1], line[j], line[j + 1])) continue;
      problems.error(fmt::format("the bed's line crosses itself: from point {} to {}, and from {} to {}", i + 1, i + 2,
                                 j + 1, j + 2),
                     "mound.bed.line", "put its points in order from one end of the bed to the other");
      return false;
    }
  }
  return true;
}

bool check_line_fits(const Bed& bed, Problems& problems) {
  if (bed.line.size() > most_bed_points) {
    problems.error(
        fmt::format("the bed's line has {} points", bed.line.size()), "mound.bed.line",
        fmt::format("give {} or fewer: leave out those between which the bed hardly bends", most_bed_points));
    return false;
  }
  const std::size_t before = problems.all.size();
  for (std::size_t i = 0; i < bed.line.size(); ++i) {
    check_place(bed.line[i], fmt::format("point {} of the bed's line", i + 1), "mound.bed.line", problems);
  }
  if (problems.all.size() > before) return false;
  double length = 0;
  for (std::size_t i = 1; i < bed.line.size(); ++i) length += (bed.line[i] - bed.line[i - 1]).norm();
  check_between(length, 0, greatest_plan_size, "the bed's length", "mound.bed", problems);
  return problems.all.size() == before;
}

bool check_line(const Bed& bed, Problems& problems) {
  if (bed.line.size() < 2) {
    problems.error(fmt::format("the bed's line has {} point(s)", bed.line.size()), "mound.bed.line",
                   "give at least two points, or a center, azimuth and length");
    return false;
  }
  bool good = true;
  for (std::size_t i = 0; i < bed.line.size(); ++i) {
    if (!bed.line[i].allFinite()) {
      problems.error(fmt::format("point {} of the bed's line is not a number", i + 1), "mound.bed.line",
                     "give n and e");
      good = false;
    }
  }
  if (!good || !check_line_fits(bed, problems)) return false;
  for (std::size_t i = 1; i < bed.line.size(); ++i) {
    if ((bed.line[i] - bed.line[i - 1]).norm() > 1e-6) continue;
    problems.error(fmt::format("points {} and {} of the bed's line are in one place", i, i + 1), "mound.bed.line",
                   "drop one of them; a bed must have a length");
    good = false;
  }
  for (std::size_t i = 1; good && i + 1 < bed.line.size(); ++i) {
    const Vector2 before = (bed.line[i] - bed.line[i - 1]).normalized(),
                  after = (bed.line[i + 1] - bed.line[i]).normalized();
    if (before.dot(after) > sharpest_turn_cosine) continue;
    problems.error(fmt::format("the bed doubles back at point {} of its line", i + 1), "mound.bed.line",
                   "keep each bend under 120 degrees");
    good = false;
  }
  return good && check_line_is_open(bed, problems);
}

/// How far a top is carried past the bed's edge on the two sides of its line as it is drawn.
struct PastEdge {
  double left = 0, right = 0;
};

/// Which side is downslope is not known before it is found: then what either side would allow is let pass.
PastEdge past_edge(const MoundDesign& design, const Layer& layer) {
  if (!design.downslope) {
    const double least = std::min(layer.beyond.upslope, layer.beyond.downslope);
    return {least, least};
  }
  const Vector2 chord = design.bed.line.back() - design.bed.line.front(), down = direction_of(*design.downslope);
  const bool is_left_down = chord.x() * down.y() - chord.y() * down.x() >= 0;
  return is_left_down ? PastEdge{layer.beyond.downslope, layer.beyond.upslope}
                      : PastEdge{layer.beyond.upslope, layer.beyond.downslope};
}

/// At a bend the inner edge of a flat top gets shorter; where it would run backwards, the layer cannot be built so.
void check_bends(const Bed& bed, const PastEdge& past, const std::string& what, Problems& problems) {
  for (std::size_t i = 0; i + 1 < bed.line.size(); ++i) {
    const Vector2 step = bed.line[i + 1] - bed.line[i];
    double shorter[2] = {0, 0};  // on the left and the right side of the line
    const auto add_bend = [&](const Vector2& before, const Vector2& after) {
      const double turn = std::atan2(before.x() * after.y() - before.y() * after.x(), before.dot(after));
      const double out = 0.5 * bed.width + (turn > 0 ? past.left : past.right);
      shorter[turn > 0 ? 0 : 1] += out * std::tan(0.5 * std::abs(turn));
    };
    if (i > 0) add_bend(bed.line[i] - bed.line[i - 1], step);
    if (i + 2 < bed.line.size()) add_bend(step, bed.line[i + 2] - bed.line[i + 1]);
    if (std::max(shorter[0], shorter[1]) < step.norm()) continue;
    problems.error(fmt::format("the bend at point {} or {} of the bed's line is too tight for {}", i + 1, i + 2, what),
                   "mound.bed.line", "make that piece of the bed longer, the bend gentler, or the bed narrower");
  }
}

void check_layer(const Layer& layer, const std::string& where, Problems& problems) {
  check_between(layer.top, -greatest_height, greatest_height, "the top", joined_key(where, "top"), problems);
  check_between(layer.crown, 0, greatest_height, "the crown", joined_key(where, "crown"), problems);
  check_faces(layer.beyond, greatest_plan_size, "the distance beyond the bed", joined_key(where, "beyond"), problems);
  check_faces(layer.side, greatest_run, "the side slope (run to 1 of rise)", joined_key(where, "side"), problems);
}

void check_bottom(const MoundDesign& design, Problems& problems) {
  if (design.bottom_elevation.has_value() == design.least_sand.has_value()) {
    problems.error(design.least_sand ? "the bed bottom is given twice, as an elevation and by its least sand"
                                     : "the bed bottom is not given",
                   "mound.bottom", "give either bottom = { elevation = ... } or bottom = { least_sand = ... }");
  }
  if (design.bottom_elevation) {
    check_between(*design.bottom_elevation, -greatest_elevation, greatest_elevation, "the bed bottom",
                  "mound.bottom.elevation", problems);
  }
  if (design.least_sand) {
    check_between(*design.least_sand, 0, greatest_height, "the least sand", "mound.bottom.least_sand", problems);
  }
}

/// It only says which long side is downslope, which a direction along the bed does not.
void check_downslope(const MoundDesign& design, bool line_is_good, Problems& problems) {
  if (!design.downslope) return;
  if (!std::isfinite(*design.downslope)) {
    problems.error(fmt::format("the downslope azimuth is {}", *design.downslope), "mound.downslope", "give a number");
  }
  if (!line_is_good || !std::isfinite(*design.downslope)) return;
  constexpr double along_the_bed = 5.0 * std::numbers::pi / 180.0;
  const Vector2 chord = (design.bed.line.back() - design.bed.line.front()).normalized();
  if (std::abs(chord.dot(direction_of(*design.downslope))) < std::cos(along_the_bed)) return;
  problems.error(
      fmt::format("downslope, azimuth {:g}, runs along the bed, so it does not tell which long side is downslope",
                  *design.downslope),
      "mound.downslope", "write the way water runs across the bed, or take it out to have it found");
}

}  // namespace

Bed straight_bed(const Vector2& center, double azimuth, double length, double width) {
  const Vector2 half = 0.5 * length * direction_of(azimuth);
  return {{center - half, center + half}, width};
}

Problems check_design(const MoundDesign& design) {
  Problems problems;
  check_size(design.bed.width, "the bed's width", "mound.bed.width", problems);
  const bool line_is_good = check_line(design.bed, problems);
  check_bottom(design, problems);
  check_downslope(design, line_is_good, problems);
  check_between(design.prepare.strip, 0, greatest_height, "the strip", "prepare.strip", problems);
  if (const auto& pit = design.prepare.undercut) {
    check_between(pit->elevation, -greatest_elevation, greatest_elevation, "the pit's bottom",
                  "prepare.undercut.elevation", problems);
    check_faces(pit->beyond, greatest_plan_size, "the pit's distance beyond the bed", "prepare.undercut.beyond",
                problems);
    check_faces(pit->side, greatest_run, "the pit's side slope", "prepare.undercut.side", problems);
  }
  if (design.layers.empty()) {
    problems.error("the mound has no layers", "layer", "add a [[layer]] for each material, in the order they go down");
  }
  if (design.layers.size() > most_layers) {
    problems.error(fmt::format("the mound has {} layers", design.layers.size()), "layer",
                   fmt::format("give {} or fewer; lifts are told from the layers' tops by themselves", most_layers));
  }
  const std::size_t points = design.bed.line.size(), layers = design.layers.size();
  if (points <= most_bed_points && layers <= most_layers && points * layers * layers > most_bed_work) {
    const double layers_here = std::floor(std::sqrt(most_bed_work / static_cast<double>(points)));
    problems.error(fmt::format("{} layers on a bed of {} points are more than can be computed", layers, points),
                   "layer",
                   fmt::format("give {:.0f} layers or fewer, or {} points: leave out those between which the bed "
                               "hardly bends",
                               layers_here, most_bed_work / (layers * layers)));
  }
  std::set<std::string> names;
  for (std::size_t i = 0; i < design.layers.size(); ++i) {
    const Layer& layer = design.layers[i];
    const std::string where = joined_key("layer", layer.name.empty() ? std::to_string(i + 1) : layer.name);
    if (layer.name.empty()) {
      problems.error("a layer has no name", joined_key(where, "name"), "name it, for example \"core\"");
    } else if (!names.insert(layer.name).second) {
      problems.error("two layers have one name", joined_key(where, "name"), "give each layer a name of its own");
    }
    check_layer(layer, where, problems);
  }
  if (line_is_good && !problems.has_errors()) {
    check_bends(design.bed, {}, "the bed", problems);
    for (const Layer& layer : design.layers) {
      check_bends(design.bed, past_edge(design, layer), "the flat top of \"" + layer.name + "\"", problems);
    }
  }
  return problems;
}

}  // namespace moundwright

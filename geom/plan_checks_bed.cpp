// Checks of the bed: the ground under it, its sand, its height over the limiting layer, its fit to the contour.
#include <Eigen/Dense>
#include <algorithm>

#include "geom/assumed_ground.h"
#include "geom/plan.h"
#include "geom/plan_check_parts.h"
#include "geom/printed.h"
#include "geom/shot_names.h"

namespace moundwright {
namespace {

constexpr double same_elevation = 1e-9;

std::string shots_at(const PlanCase& c, const GroundExtreme& extreme) {
  std::string names;
  for (const std::int64_t shot : extreme.shots) {
    if (shot < 0 || static_cast<std::size_t>(shot) >= c.shots.size()) continue;
    names += (names.empty() ? " (" : ", ") + shot_name(c.shots, static_cast<std::size_t>(shot));
  }
  return names.empty() ? names : names + ")";
}

std::string place_on(const PlanCase& c, const Point2& reduced) { return place_name(c.mound.ground.to_world(reduced)); }

}  // namespace

void check_survey_under_bed(const PlanCase& c, PlanChecks& checks) {
  double bed = 0;
  for (const Polygon2& outline : c.mound.compiled->bed_outlines) bed += plan_area(outline);
  double assumed = 0;
  for (const Polygon2& outline : bed_on_ground(c.mound)) assumed += assumed_area_in(c.mound.ground, outline);
  const double bare = bed - (c.fall ? c.fall->covered_area : 0.0) + assumed;
  if (bare <= 1e-6 * bed) return;
  Point2 at = c.mound.frame().origin;
  for (const Polygon2& outline : bed_on_ground(c.mound)) {
    for (const Point2& p : outline) {
      if (!elevation_at(c.mound.ground, p) || is_assumed_at(c.mound.ground, p)) at = c.mound.ground.to_world(p);
    }
  }
  checks.push_back(
      {survey_under_bed, Verdict::bad, 100 * (bed - bare) / bed, 100.0, "%",
       fmt::format("only {} % of the bed has surveyed ground under it", fixed_text(100 * (bed - bare) / bed, 0)), at,
       "shoot the ground under the whole bed, or move the bed onto the survey"});
}

void check_bed_bottom(const PlanCase& c, PlanChecks& checks) {
  if (!c.mound.buildup.governing) return;
  const GroundExtreme& high = *c.mound.buildup.governing;
  const double above = c.rise(high.elevation, c.mound.buildup.bottom_elevation);
  PlanCheck check{"bed bottom", Verdict::good, above, 0.0, c.unit(), {}, c.mound.ground.to_world(high.at), {}};
  const std::string where = fmt::format("the highest existing ground under the bed, {} at {}{}",
                                        c.elevation(high.elevation), place_on(c, high.at), shots_at(c, high));
  if (c.mound.buildup.bottom_elevation - high.elevation < -same_elevation) {
    check.verdict = Verdict::bad;
    check.text = fmt::format("the bed bottom at {} is {} below {}: stone in a clay bowl drowns",
                             c.elevation(c.mound.buildup.bottom_elevation), c.length(-above), where);
    check.what_to_do = fmt::format("raise the bed bottom to {} or more, or move the bed", c.elevation(high.elevation));
  } else {
    check.text = fmt::format("the bed bottom at {} is {} above {}", c.elevation(c.mound.buildup.bottom_elevation),
                             c.length(above), where);
  }
  checks.push_back(std::move(check));
}

void check_sand(const PlanCase& c, PlanChecks& checks) {
  if (!c.mound.buildup.governing) return;
  const double least = c.mound.buildup.sand_least;
  const std::optional<double> asked = c.mound.placement.least_sand;
  PlanCheck check{"sand under the bed",
                  asked ? Verdict::good : Verdict::told,
                  least,
                  asked,
                  c.unit(),
                  {},
                  c.mound.ground.to_world(c.mound.buildup.governing->at),
                  {}};
  check.text = fmt::format("the sand under the bed is {} at the least and {} at the most", c.length(least),
                           c.length(c.mound.buildup.sand_most));
  if (asked) check.text += fmt::format("; {} was asked", c.length(*asked));
  if (!(least > same_elevation) || (asked && least < *asked - 1e-6)) {
    check.verdict = Verdict::bad;
    const double lift = asked.value_or(0.0) - least;
    check.what_to_do = asked
                           ? fmt::format("raise the bed bottom by {}", c.length(lift))
                           : fmt::format("raise the bed bottom by more than {}, so that sand lies under all of the bed",
                                         c.length(std::max(0.0, lift)));
  }
  checks.push_back(std::move(check));
}

// ---- separation ----

namespace {

/// Depth to the limiting layer as a plane over one part of the bed.
struct DepthPart {
  Polygon2 where;  // reduced
  Plane depth;     // reduced
};

/// Least-squares plane of the borings' depths; nullopt for fewer than three or all nearly in line.
std::optional<Plane> depth_plane(const PlanCase& c) {
  const std::vector<Boring>& borings = c.asked().borings;
  if (borings.size() < 3) return std::nullopt;
  const auto rows = static_cast<Eigen::Index>(borings.size());
  const Point2 center = c.mound.ground.to_local(c.mound.frame().origin);
  Eigen::MatrixX3d at(rows, 3);
  Eigen::VectorXd depth(rows);
  for (Eigen::Index i = 0; i < rows; ++i) {
    const Boring& boring = borings[static_cast<std::size_t>(i)];
    const Point2 p = c.mound.ground.to_local(boring.at) - center;
    at.row(i) << p.x(), p.y(), 1.0;
    depth(i) = boring.limiting_depth;
  }
  Eigen::ColPivHouseholderQR<Eigen::MatrixX3d> solver(at);
  solver.setThreshold(1e-3);  // in line to within a thousandth of their spread: no slope can be told across it
  if (solver.rank() < 3) return std::nullopt;
  const Eigen::Vector3d fit = solver.solve(depth);
  return Plane{fit(0), fit(1), fit(2) - fit(0) * center.x() - fit(1) * center.y()};
}

/// Every piece of the bed shared out to the nearest boring.
std::vector<DepthPart> nearest_depths(const PlanCase& c, const std::vector<Polygon2>& bed) {
  const std::vector<Boring>& borings = c.asked().borings;
  std::vector<DepthPart> parts;
  for (const Polygon2& outline : bed) {
    for (const Boring& mine : borings) {
      Polygon2 part = outline;
      for (const Boring& other : borings) {
        const Point2 d = mine.at - other.at;
        if (d.norm() == 0) continue;
        const Point2 middle = c.mound.ground.to_local(0.5 * (mine.at + other.at));
        part = clip_convex(part, {d.x(), d.y(), -d.dot(middle)});
      }
      if (!part.empty()) parts.push_back({part, {0, 0, mine.limiting_depth}});
    }
  }
  return parts;
}

/// The highest the limiting layer stands under a part of the bed: at a corner of a piece of a triangle.
std::optional<GroundExtreme> highest_layer(const Ground& ground, const DepthPart& part) {
  std::optional<GroundExtreme> highest;
  for (const std::uint32_t t : triangles_meeting(ground, part.where)) {
    Polygon2 triangle;
    for (const std::uint32_t v : ground.tree.triangles[t]) triangle.push_back(ground.points[v].head<2>());
    for (const Point2& p : clip_convex(triangle, part.where)) {
      const std::optional<double> z = elevation_at(ground, p);
      if (!z) continue;
      const double layer = *z - part.depth.at(p);
      if (!highest || layer > highest->elevation) highest = GroundExtreme{p, layer, {}};
    }
  }
  return highest;
}

void judge_separation(const PlanCase& c, double limiting, const std::string& where, PlanCheck check,
                      PlanChecks& checks) {
  const double found = c.rise(limiting, c.mound.buildup.bottom_elevation);
  check.name = "separation";
  check.unit = c.unit();
  check.found = found;
  check.asked = c.asked().separation;
  check.text = fmt::format("the bed bottom is {} above the limiting layer {} (layer at {})", c.length(found), where,
                           c.elevation(limiting));
  if (check.asked) {
    const double missing = *check.asked - (c.mound.buildup.bottom_elevation - limiting);
    check.verdict = missing > 1e-9 ? Verdict::bad : Verdict::good;
    check.text += fmt::format("; {} is asked", c.length(*check.asked));
    if (missing > 1e-9) check.what_to_do = fmt::format("raise the bed bottom by {}", c.length(missing));
  }
  checks.push_back(std::move(check));
}

}  // namespace

void check_separation(const PlanCase& c, PlanChecks& checks) {
  const std::vector<Boring>& borings = c.asked().borings;
  if (borings.empty()) return;
  for (const Boring& boring : borings) {
    PlanCheck check;
    check.at = boring.at;
    const std::optional<double> z = elevation_at(c.mound.ground, c.mound.ground.to_local(boring.at));
    if (z) {
      judge_separation(c, *z - boring.limiting_depth, "at boring " + boring.name, check, checks);
      continue;
    }
    checks.push_back(
        {"separation", Verdict::look, std::nullopt, c.asked().separation, c.unit(),
         "boring " + boring.name + " lies off the survey, so the elevation of its limiting layer is not known",
         boring.at, "shoot the ground at the boring"});
  }
  const std::vector<Polygon2> bed = bed_on_ground(c.mound);
  const std::optional<Plane> plane = depth_plane(c);
  std::vector<DepthPart> parts;
  if (plane) {
    for (const Polygon2& outline : bed) parts.push_back({outline, *plane});
  } else {
    parts = nearest_depths(c, bed);
  }
  std::optional<GroundExtreme> worst;
  for (const DepthPart& part : parts) {
    const auto high = highest_layer(c.mound.ground, part);
    if (high && (!worst || high->elevation > worst->elevation)) worst = high;
  }
  if (!worst) return;
  PlanCheck check;
  check.at = c.mound.ground.to_world(worst->at);
  const std::string taken = plane ? fmt::format("the plane that fits the {} borings' depths best", borings.size())
                                  : std::string("that of the nearest boring");
  judge_separation(c, worst->elevation, "at its worst under the bed, depth taken as " + taken, check, checks);
}

// ---- contour fit ----

namespace {

/// Ground along one of the bed's long edges, with distance counted through its bends.
std::vector<ProfilePoint> edge_profile(const PlanCase& c, Face face) {
  std::vector<ProfilePoint> profile;
  double before = 0;
  for (const BedEdge& edge : bed_edges(c.mound.shape(), face)) {
    for (ProfilePoint p : ground_along(c.mound.ground, c.mound.to_reduced(edge.from), c.mound.to_reduced(edge.to))) {
      p.s += before;
      profile.push_back(p);
    }
    before += (edge.to - edge.from).norm();
  }
  return profile;
}

/// The profile between two distances, with points at both.
std::vector<ProfilePoint> part_of(const std::vector<ProfilePoint>& profile, double from, double to) {
  std::vector<ProfilePoint> part;
  for (std::size_t i = 0; i + 1 < profile.size(); ++i) {
    const ProfilePoint &p = profile[i], &q = profile[i + 1];
    if (q.s <= from || p.s >= to || q.s <= p.s) continue;
    const auto at = [&](double s) {
      const double w = (s - p.s) / (q.s - p.s);
      return ProfilePoint{s, p.z + w * (q.z - p.z), p.at + w * (q.at - p.at)};
    };
    part.push_back(at(std::max(from, p.s)));
    part.push_back(at(std::min(to, q.s)));
  }
  return part;
}

/// Mean of min(z - strip, pit) along a profile: the prepared ground.
double mean_prepared(const std::vector<ProfilePoint>& profile, double strip, double pit) {
  double sum = 0, length = 0;
  for (std::size_t i = 0; i + 1 < profile.size(); ++i) {
    const double step = profile[i + 1].s - profile[i].s;
    if (!(step > 0)) continue;
    const double p = profile[i].z - strip - pit, q = profile[i + 1].z - strip - pit;
    double below = std::min(0.0, p) + std::min(0.0, q);
    if (std::isfinite(pit) && p * q < 0) below *= std::min(p, q) / (std::min(p, q) - std::max(p, q));
    sum += step * (std::isfinite(pit) ? pit + 0.5 * below : 0.5 * (profile[i].z + profile[i + 1].z) - strip);
    length += step;
  }
  return length > 0 ? sum / length : profile.front().z - strip;
}

double mean_of(const std::vector<ProfilePoint>& profile) {
  return mean_prepared(profile, 0.0, std::numeric_limits<double>::infinity());
}

double mean_sand(const PlanCase& c, const std::vector<ProfilePoint>& profile) {
  const Prepare& prepare = c.mound.design().prepare;
  const double pit = prepare.undercut ? prepare.undercut->elevation : std::numeric_limits<double>::infinity();
  return c.mound.buildup.bottom_elevation - mean_prepared(profile, prepare.strip, pit);
}

/// How the contour through the bed bows in plan, told in elevation: heights along the edge, each carried straight
/// downslope or upslope to the bed's chord at the slope of the ground, so that a bed which bends with its contour shows
/// the bend. It is how much higher the middle half is, on average, than the two outer quarters: above zero the contours
/// bow downslope (convex), below zero the ground is a swale there (concave).
double bow_of(const PlanCase& c, std::vector<ProfilePoint> profile) {
  for (ProfilePoint& p : profile) p.z += c.fall->slope * c.mound.from_reduced(p.at).y();
  const double length = profile.back().s;
  const auto left = part_of(profile, 0, 0.25 * length), middle = part_of(profile, 0.25 * length, 0.75 * length),
             right = part_of(profile, 0.75 * length, length);
  if (left.empty() || middle.empty() || right.empty()) return 0;
  return mean_of(middle) - 0.5 * (mean_of(left) + mean_of(right));
}

constexpr double level_ground = 0.01;         // below this slope there is no contour to speak of; as for downslope
constexpr double told_unevenness_feet = 0.5;  // our own figure: half a foot of sand more at one end than at the other
constexpr double told_bow_feet = 0.1;         // grades are kept to it; common practice
constexpr double skew_to_look_at = 45.0;      // degrees; past it the bed runs down the hill, as for downslope

}  // namespace

namespace {

/// One straight piece of the bed against the contour.
struct Skew {
  double degrees = 0;     // of the piece's long axis off the contour
  double uphill = 0;      // how steeply its ground falls toward the side the plan calls upslope, where it does
  std::size_t piece = 0;  // from 0
};

/// Of the pieces whose ground is steep enough to have a contour.
std::vector<Skew> skews_of(const PlanCase& c) {
  std::vector<Skew> skews;
  for (std::size_t i = 0; i < c.fall->pieces.size(); ++i) {
    const std::optional<GroundFit>& fit = c.fall->pieces[i];
    if (!fit || fit->slope < level_ground) continue;
    const Point2 fall(-fit->plane.a, -fit->plane.b), across = across_piece(c.mound, i);
    const double down = fall.dot(across), aside = fall.dot(Point2(across.y(), -across.x()));
    skews.push_back({std::atan2(std::abs(aside), std::abs(down)) * 180.0 / std::acos(-1.0), std::max(0.0, -down), i});
  }
  return skews;
}

std::string skew_text(const PlanCase& c, const std::vector<Skew>& skews) {
  const auto fall_text = [&](const Skew& skew) {
    const GroundFit& fit = *c.fall->pieces[skew.piece];
    return fmt::format("falls {} % toward azimuth {}", fixed_text(100 * fit.slope, 1),
                       fixed_text(fit.downslope_azimuth, 1));
  };
  if (c.fall->pieces.size() == 1) {
    return fmt::format("the bed's long axis is {} degrees off the contour; the ground under it {}",
                       fixed_text(skews.front().degrees, 1), fall_text(skews.front()));
  }
  std::string text = "off the contour, piece by piece of the bed from the left:";
  for (const Skew& skew : skews) {
    text += fmt::format("{} {} degrees (piece {}, where the ground {})", &skew == skews.data() ? "" : ",",
                        fixed_text(skew.degrees, 1), skew.piece + 1, fall_text(skew));
  }
  return text;
}

void check_skew(const PlanCase& c, PlanChecks& checks) {
  const std::vector<Skew> skews = skews_of(c);
  if (skews.empty()) return;
  const Skew worst =
      *std::max_element(skews.begin(), skews.end(), [](const Skew& p, const Skew& q) { return p.degrees < q.degrees; });
  const Skew uphill =
      *std::max_element(skews.begin(), skews.end(), [](const Skew& p, const Skew& q) { return p.uphill < q.uphill; });
  const bool is_wrong = uphill.uphill > level_ground;
  const std::size_t at = is_wrong ? uphill.piece : worst.piece;
  PlanCheck check{"skew from the contour",
                  Verdict::told,
                  worst.degrees,
                  std::nullopt,
                  "degrees",
                  skew_text(c, skews),
                  c.mound.to_world(0.5 * (c.mound.shape().line[at] + c.mound.shape().line[at + 1])),
                  {}};
  if (worst.degrees > skew_to_look_at) {
    check.verdict = Verdict::look;
    check.what_to_do = "turn the bed along the contour, or bend it so that each piece follows it";
  }
  if (is_wrong) {
    check.verdict = Verdict::bad;
    if (skews.size() > 1)
      check.text += fmt::format("; under piece {} that", at + 1);
    else
      check.text += ", which";
    check.text += " is toward the side the plan calls upslope";
    check.what_to_do = c.fall->across < 0
                           ? "turn the downslope azimuth in [mound] round, or take it out to have it found again"
                           : "bend or move the bed so that all of it faces downslope";
  }
  checks.push_back(std::move(check));
}

}  // namespace

void check_contour_fit(const PlanCase& c, PlanChecks& checks) {
  const std::vector<ProfilePoint> up = edge_profile(c, Face::upslope), down = edge_profile(c, Face::downslope);
  if (up.size() < 2 || down.empty() || !c.fall) return;
  const auto by_z = [](const ProfilePoint& p, const ProfilePoint& q) { return p.z < q.z; };
  const auto [low, high] = std::minmax_element(up.begin(), up.end(), by_z);
  const double range = high->z - low->z, bow = bow_of(c, up);
  const bool is_uneven = range > c.feet(told_unevenness_feet), is_swale = bow < -c.feet(told_bow_feet);
  PlanCheck check{
      "contour fit", Verdict::good, range, std::nullopt, c.unit(), {}, c.mound.ground.to_world(low->at), {}};
  check.text = fmt::format(
      "along the bed's upslope edge the ground is {} at its highest, {} at its lowest and {} on average; "
      "sand averages {} there and {} along the downslope edge; in plan the contour is {}",
      c.elevation(high->z), c.elevation(low->z), c.elevation(mean_of(up)), c.length(mean_sand(c, up)),
      c.length(mean_sand(c, down)),
      is_swale                      ? "concave, a swale"
      : bow > c.feet(told_bow_feet) ? "convex, bowed downslope"
                                    : "straight");
  if (is_uneven || is_swale) check.verdict = Verdict::look;
  if (is_uneven) {
    check.what_to_do = "turn or move the bed so that it follows the contour, or bend it";
  } else if (is_swale) {
    check.what_to_do =
        "water gathers in a swale: move the bed out of it, or ask the designer whether the plan allows it";
  }
  checks.push_back(std::move(check));
  check_skew(c, checks);
}

// ---- laterals ----

namespace {

constexpr double same_height = 1e-9;

/// What lies over the bed's long edges, bottom up: each layer from the top of those before it to its own.
struct BedLayer {
  const Layer* layer;
  double from, to;  // above the bed bottom; the lowest from minus infinity
  bool holds(double height) const { return height >= from - same_height && height < to - same_height; }
};

std::vector<BedLayer> layers_over_bed(const std::vector<Layer>& layers) {
  std::vector<BedLayer> stack;
  double reached = -std::numeric_limits<double>::infinity();
  for (const Layer& layer : layers) {
    if (!(layer.top > reached + same_height)) continue;
    stack.push_back({&layer, reached, layer.top});
    reached = layer.top;
  }
  return stack;
}

/// How far it goes beyond the bed at the bed bottom, on the face where it goes farthest.
double reach_of(const Layer& layer) {
  const auto on = [&](double beyond, double side) { return beyond + side * layer.top; };
  return std::max({on(layer.beyond.upslope, layer.side.upslope), on(layer.beyond.downslope, layer.side.downslope),
                   on(layer.beyond.left, layer.side.left), on(layer.beyond.right, layer.side.right)});
}

/// The stone is what fills the bed and no more: of the layers that rise above the bed bottom, the one that goes least
/// beyond the bed; of several, the lowest that is not of what lies under the bed. nullptr where nothing rises.
const BedLayer* stone_of(const std::vector<BedLayer>& stack) {
  const BedLayer* stone = nullptr;
  for (const BedLayer& found : stack) {
    if (found.to <= same_height) continue;
    const double wider = stone == nullptr ? 0 : reach_of(*stone->layer) - reach_of(*found.layer);
    const bool is_sand = stone != nullptr && stone->layer->material == stack.front().layer->material;
    if (stone == nullptr || wider > same_height || (is_sand && wider > -same_height)) stone = &found;
  }
  return stone;
}

}  // namespace

void check_laterals(const PlanCase& c, PlanChecks& checks) {
  const std::optional<double>& invert = c.mound.design().lateral_invert;
  const std::vector<BedLayer> stack = layers_over_bed(c.mound.design().layers);
  const BedLayer* stone = stone_of(stack);
  if (!invert || stone == nullptr) return;
  const auto around = std::find_if(stack.begin(), stack.end(), [&](const BedLayer& l) { return l.holds(*invert); });
  PlanCheck check{"laterals", Verdict::good, *invert, std::nullopt, c.unit(), {}, {}, {}};
  const std::string lie =
      fmt::format("the laterals' invert at {} lies", c.elevation(c.mound.buildup.bottom_elevation + *invert));
  if (around != stack.end() && around->layer->material == stone->layer->material) {
    check.text = fmt::format("{} in {}, {} under its top", lie, around->layer->name, c.length(around->to - *invert));
  } else {
    check.verdict = Verdict::bad;
    const double bottom = std::max(stone->from, 0.0);
    const bool is_under = *invert < bottom;
    const std::string where = around != stack.end() ? "in " + around->layer->name : std::string("above every layer");
    check.text = fmt::format("{} {}, not in {}, which lies on {} up to {}", lie, where, stone->layer->name,
                             bottom > 0 ? fmt::format("{} at {}", (stone - 1)->layer->name,
                                                      c.elevation(c.mound.buildup.bottom_elevation + bottom))
                                        : std::string("the bed bottom"),
                             c.elevation(c.mound.buildup.bottom_elevation + stone->to));
    check.what_to_do = is_under
                           ? "raise the invert in [laterals]"
                           : fmt::format("lower the invert in [laterals], or raise the top of {}", stone->layer->name);
  }
  checks.push_back(std::move(check));
}

}  // namespace moundwright

// Checks of the mound against the lot: soil to take the water, water against the toe, and what to keep clear of.
#include <algorithm>
#include <cctype>
#include <limits>

#include "geom/cell_pieces.h"
#include "geom/low_spots.h"
#include "geom/plan.h"
#include "geom/plan_check_parts.h"
#include "geom/printed.h"
#include "geom/shot_names.h"
#include "geom/toe.h"

namespace moundwright {

// ---- basal area ----

namespace {

bool has_word(const std::string& text, const std::string& word) {
  std::string letters;
  for (const char ch : text)
    letters += std::isalpha(static_cast<unsigned char>(ch)) ? static_cast<char>(std::tolower(ch)) : ' ';
  return (" " + letters + " ").find(" " + word + " ") != std::string::npos;
}

/// Layers that are sand by the word for their material, and no blend with soil; the first layer where none is.
std::vector<bool> sand_layers(const std::vector<Layer>& layers) {
  std::vector<bool> sand;
  for (const Layer& layer : layers) {
    const auto has = [&](const char* word) { return has_word(layer.material, word); };
    sand.push_back(has("sand") && !has("loam") && !has("soil") && !has("topsoil") && !has("clay") && !has("silt"));
  }
  if (!sand.empty() && std::find(sand.begin(), sand.end(), true) == sand.end()) sand.front() = true;
  return sand;
}

/// Plan area of a piece where a level stands above prepared ground: ground less the strip, or the pit where that is
/// lower.
double area_above(const Polygon2& outline, const PlaneOf<double>& level, const PlaneOf<double>& stripped,
                  const std::optional<PlaneOf<double>>& pit) {
  const Polygon2 over_strip = clip_convex(outline, above(level, stripped));
  if (!pit) return plan_area(over_strip);
  return plan_area(over_strip) + plan_area(clip_convex(outline, above(level, *pit))) -
         plan_area(clip_convex(over_strip, above(level, *pit)));
}

/// Where sand is the first thing on the soil: for each level the area above ground that its lower neighbour has not.
double sand_on_soil(const PlanCase& c, const CellPiece& piece, const std::vector<bool>& sand) {
  const CellLevel<double>* top = top_level(c.mound, *piece.cell);
  if (top == nullptr) return 0;
  const Polygon2 footprint = clip_convex(piece.outline, above(top->plane, piece.ground));
  if (footprint.empty()) return 0;
  const Prepare& prepare = c.mound.design().prepare;
  PlaneOf<double> stripped = piece.ground;
  stripped.c -= prepare.strip;
  std::optional<PlaneOf<double>> pit;
  if (piece.cell->has_pit) {
    pit = piece.cell->pit;
    pit->c += prepare.undercut->elevation - c.mound.buildup.bottom_elevation;
  }
  double area = 0, below = 0;
  for (std::uint32_t l = 0; l < piece.cell->level_count; ++l) {
    const CellLevel<double>& level = c.mound.cells().levels[piece.cell->first_level + l];
    const double reached = area_above(footprint, level.plane, stripped, pit);
    if (sand[static_cast<std::size_t>(level.layer)]) area += reached - below;
    below = reached;
  }
  return area;
}

/// The plan region that counts for one piece of the bed: within its length, and from its upslope edge downslope; both
/// ways on level ground. Lines of the bed's region that face across it are the ones to drop.
Polygon2 basal_region(const MoundShape& shape, std::size_t piece, const Polygon2& box, bool level) {
  const Point2 along = (shape.line[piece + 1] - shape.line[piece]).normalized(), across(-along.y(), along.x());
  Polygon2 region = box;
  for (const PlanLine& line : shape.bed[piece].inside) {
    const double facing = across.dot(Point2(line.a, line.b).normalized());
    if (facing < -0.999 || (level && facing > 0.999)) continue;
    region = clip_convex(region, line);
  }
  return region;
}

constexpr double level_ground = 0.01;  // as for downslope

double basal_area(const PlanCase& c, bool level) {
  const std::vector<bool> sand = sand_layers(c.mound.design().layers);
  const Polygon2 box = box_round(toe_in_mound_frame(c.mound, c.mound.buildup.toe));
  double area = 0;
  for (std::size_t piece = 0; piece < c.mound.shape().bed.size(); ++piece) {
    for_each_cell_piece(c.mound, basal_region(c.mound.shape(), piece, box, level),
                        [&](const CellPiece& p) { area += sand_on_soil(c, p, sand); });
  }
  return area;
}

std::optional<double> basal_area_asked(const Requirements& asked) {
  if (asked.least_basal_area) return asked.least_basal_area;
  if (asked.daily_flow && asked.loading_rate && *asked.loading_rate > 0) return *asked.daily_flow / *asked.loading_rate;
  return std::nullopt;
}

std::string sand_names(const std::vector<Layer>& layers) {
  const std::vector<bool> sand = sand_layers(layers);
  std::string names;
  for (std::size_t k = 0; k < layers.size(); ++k) {
    if (sand[k]) names += (names.empty() ? "" : ", ") + layers[k].name;
  }
  return names;
}

/// How a job tells its flow: gallons and feet, or litres and metres.
struct FlowWords {
  const char *name, *liquid, *length, *each, *unit;
};

const FlowWords& flow_words(LengthUnit unit) {
  static constexpr FlowWords feet = {"flow per foot of bed", "gallons", "ft", "foot", "gal/day per ft"};
  static constexpr FlowWords metres = {"flow per meter of bed", "liters", "m", "meter", "L/day per m"};
  return unit == LengthUnit::metre ? metres : feet;
}

}  // namespace

void check_basal_area(const PlanCase& c, PlanChecks& checks) {
  const bool metric = c.options.unit == LengthUnit::metre;
  const std::optional<double> asked = basal_area_asked(c.asked());
  if (asked && !c.mound.buildup.toe.outer.empty()) {
    const bool level = c.fall && c.fall->slope < level_ground;
    const double area = basal_area(c, level), found = metric ? area : c.square_feet(area);
    const std::string unit = c.area_unit();
    PlanCheck check{"basal area",
                    found < *asked - 1e-6 ? Verdict::bad : Verdict::good,
                    found,
                    asked,
                    unit,
                    {},
                    c.mound.frame().origin,
                    {}};
    const int decimals = metric ? 1 : 0;
    check.text = fmt::format("sand ({}) lies on {} {} of soil within the bed's length, {}; {} {} are asked",
                             sand_names(c.mound.design().layers), fixed_text(found, decimals), unit,
                             level ? "on both sides as the ground is level" : "from its upslope edge downslope",
                             fixed_text(*asked, decimals), unit);
    if (check.verdict == Verdict::bad) {
      check.what_to_do = fmt::format("carry the sand farther {}, or make the bed longer: {} {} are missing",
                                     level ? "out" : "downslope", fixed_text(*asked - found, decimals), unit);
    }
    checks.push_back(std::move(check));
  }
  if (!c.asked().daily_flow) return;
  double length = 0;
  for (std::size_t i = 0; i + 1 < c.mound.shape().line.size(); ++i)
    length += (c.mound.shape().line[i + 1] - c.mound.shape().line[i]).norm();
  if (!metric) length *= feet_per(c.options.unit);
  const double flow = *c.asked().daily_flow / length;
  const FlowWords& words = flow_words(c.options.unit);
  checks.push_back(
      {words.name,
       Verdict::told,
       flow,
       std::nullopt,
       words.unit,
       fmt::format("{:g} {} a day over {} {} of bed are {} {} a day for each {}", *c.asked().daily_flow, words.liquid,
                   fixed_text(length, 1), words.length, fixed_text(flow, 2), words.liquid, words.each),
       std::nullopt,
       {}});
}

// ---- water ----

namespace {

constexpr std::size_t told_singly = 5;  // rough ground has a score of puddles; the worst come first

void tell_low_spot(const PlanCase& c, const LowSpot& spot, PlanChecks& checks) {
  const double deep = c.feet(0.1);  // grades off the bed are kept to it; common practice
  const Face face = face_beyond(c.mound.shape(), c.mound.from_reduced(spot.deepest_at_toe));
  const std::string farther_out =
      spot.depth - spot.depth_at_toe < c.feet(0.005) ? "" : fmt::format(", {} farther out", c.length(spot.depth));
  checks.push_back({"water", spot.depth_at_toe >= deep ? Verdict::bad : Verdict::look, spot.depth_at_toe, 0.0, c.unit(),
                    fmt::format("water would stand {} deep against the toe on the {}{}, over {} of ground, till it "
                                "spills at elevation {} at {}",
                                c.length(spot.depth_at_toe), face_name(face), farther_out, c.area(spot.area),
                                c.elevation(spot.level), place_name(c.mound.ground.to_world(spot.spill))),
                    c.mound.ground.to_world(spot.deepest_at_toe),
                    "grade a way out for the water before building, or move the mound"});
}

}  // namespace

void check_water(const PlanCase& c, PlanChecks& checks) {
  if (c.mound.buildup.toe.outer.empty()) return;
  const double least = c.feet(0.01);  // elevations are given to it
  std::vector<LowSpot> spots;
  try {
    spots = low_spots_at_toe(c.mound.ground, c.mound.buildup.toe, least);
  } catch (const Refusal& refusal) {
    checks.push_back({"water", Verdict::look, std::nullopt, std::nullopt, c.unit(),
                      std::string("low spots along the toe could not be worked out: ") + refusal.what(), std::nullopt,
                      "look for them on the contours"});
    return;
  }
  for (std::size_t i = 0; i < std::min(spots.size(), told_singly); ++i) tell_low_spot(c, spots[i], checks);
  if (spots.size() > told_singly) {
    const LowSpot& next = spots[told_singly];
    checks.push_back({"water", Verdict::look, next.depth_at_toe, 0.0, c.unit(),
                      fmt::format("{} more low spots along the toe are {} deep or less", spots.size() - told_singly,
                                  c.length(next.depth_at_toe)),
                      c.mound.ground.to_world(next.deepest_at_toe), "grade the ground even along the toe"});
  }
  if (spots.empty()) {
    checks.push_back({"water", Verdict::good, 0.0, 0.0, c.unit(), "no closed low spot is left along the toe", {}, {}});
  }
}

// ---- keep clear ----

namespace {

struct Gap {
  double distance = std::numeric_limits<double>::infinity();
  Point2 on_mound = Point2::Zero();
  void add(double d, const Point2& at) {
    if (d < distance) distance = d, on_mound = at;
  }
};

void add_segments(const Point2& a, const Point2& b, const Point2& p, const Point2& q, Gap& gap) {
  for (const Point2& end : {p, q}) gap.add((nearest_on(a, b, end) - end).norm(), nearest_on(a, b, end));
  for (const Point2& end : {a, b}) gap.add((nearest_on(p, q, end) - end).norm(), end);
  const double side_a = cross(q - p, a - p), side_b = cross(q - p, b - p);
  if (side_a * side_b < 0 && cross(b - a, p - a) * cross(b - a, q - a) < 0)
    gap.add(0, a + (b - a) * zero_share(side_a, side_b));
}

/// Least plan distance from some outlines to a feature; 0 where they meet or one holds the other.
Gap gap_between(const std::vector<Polygon2>& outlines, const KeepClear& feature) {
  Gap gap;
  const Polygon2& line = feature.line;
  const std::size_t pieces =
      line.size() < 3 || !feature.closed ? std::max<std::size_t>(line.size(), 2) - 1 : line.size();
  for (const Polygon2& outline : outlines) {
    for (const Point2& p : line) {
      if (is_inside(outline, p)) gap.add(0, p);
    }
    if (feature.closed && line.size() > 2 && is_inside(line, outline.front())) gap.add(0, outline.front());
    for (std::size_t i = 0; i < outline.size(); ++i) {
      for (std::size_t j = 0; j < pieces; ++j) {
        add_segments(outline[i], outline[(i + 1) % outline.size()], line[j], line[(j + 1) % line.size()], gap);
      }
    }
  }
  return gap;
}

/// How far inside a closed feature's line some outlines lie; nullopt where they are not wholly inside.
std::optional<double> inside_by(const std::vector<Polygon2>& outlines, const KeepClear& feature) {
  if (!feature.closed || feature.line.size() < 3) return std::nullopt;
  const auto starts_outside = [&](const Polygon2& outline) { return !is_inside(feature.line, outline.front()); };
  if (std::any_of(outlines.begin(), outlines.end(), starts_outside)) return std::nullopt;
  KeepClear line = feature;
  line.closed = false;
  line.line.push_back(feature.line.front());
  const double distance = distance_to_feature(outlines, line);
  return distance > 0 ? std::optional(distance) : std::nullopt;
}

void add_keep_clear(const PlanCase& c, const KeepClear& feature, const std::string& of,
                    const std::vector<Polygon2>& outlines, std::optional<double> asked, PlanChecks& checks) {
  if (outlines.empty() || feature.line.empty()) return;
  const Gap gap = gap_between(outlines, feature);
  PlanCheck check{"keep clear", Verdict::told, gap.distance, asked, c.unit(), {}, gap.on_mound, {}};
  const std::optional<double> inside = inside_by(outlines, feature);
  check.text = gap.distance > 0 ? fmt::format("the {} is {} from {}", of, c.length(gap.distance), feature.name)
               : inside ? fmt::format("the {} lies inside {}, {} from its line", of, feature.name, c.length(*inside))
                        : fmt::format("the {} runs into {}", of, feature.name);
  if (asked) {
    check.text += fmt::format("; {} is asked", c.length(*asked));
    const double missing = *asked - gap.distance;
    check.verdict = missing > 1e-9 ? Verdict::bad : Verdict::good;
    if (missing > 1e-9) {
      check.what_to_do = fmt::format("move the mound at least {} farther from {}, or make it smaller on that side",
                                     c.length(missing), feature.name);
      if (inside) {
        check.what_to_do = fmt::format(
            "move the mound out of {}; or, if that is a line to stay inside of, take out its closed = true and end its "
            "line where it begins",
            feature.name);
      }
    }
  }
  checks.push_back(std::move(check));
}

}  // namespace

double distance_to_feature(const std::vector<Polygon2>& outlines, const KeepClear& feature) {
  return gap_between(outlines, feature).distance;
}

void check_keep_clear(const PlanCase& c, PlanChecks& checks) {
  const auto on_lot = [&](std::vector<Polygon2> polygons) {
    for (Polygon2& polygon : polygons) {
      for (Point2& p : polygon) p = c.mound.ground.to_world(p);
    }
    return polygons;
  };
  const std::vector<Polygon2> bed = on_lot(bed_on_ground(c.mound)), toe = on_lot(c.mound.buildup.toe.outer);
  for (const KeepClear& feature : c.asked().keep_clear) {
    if (feature.from_bed) add_keep_clear(c, feature, "bed", bed, feature.from_bed, checks);
    if (feature.from_toe || !feature.from_bed) add_keep_clear(c, feature, "toe", toe, feature.from_toe, checks);
  }
}

}  // namespace moundwright

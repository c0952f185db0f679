// Checks of the berm and the layers: does it meet surveyed ground, and does each layer do what it is there for.
#include <algorithm>
#include <array>
#include <limits>

#include "geom/assumed_ground.h"
#include "geom/cell_pieces.h"
#include "geom/ground_margin.h"
#include "geom/plan.h"
#include "geom/plan_check_parts.h"
#include "geom/printed.h"
#include "geom/shot_names.h"
#include "geom/toe.h"

namespace moundwright {
namespace {

constexpr std::array<Face, 4> all_faces = {Face::upslope, Face::downslope, Face::left, Face::right};

// ---- the survey's reach ----

double distance_to_segment(const Point2& p, const Point2& from, const Point2& to) {
  const Point2 d = to - from;
  const double along = d.squaredNorm() > 0 ? std::clamp(d.dot(p - from) / d.squaredNorm(), 0.0, 1.0) : 0.0;
  return (p - from - along * d).norm();
}

bool is_on(const std::vector<Polygon2>& rings, const Point2& p) {
  constexpr double on_the_edge = 1e-6;
  for (const Polygon2& ring : rings) {
    for (std::size_t i = 0; i < ring.size(); ++i) {
      if (distance_to_segment(p, ring[i], ring[(i + 1) % ring.size()]) < on_the_edge) return true;
    }
  }
  return false;
}

/// The face that looks most nearly the way of a direction on the lot.
Face face_toward(const PlanCase& c, const Point2& direction) {
  const Point2 uv(c.mound.frame().along.dot(direction), c.mound.frame().across().dot(direction));
  return *std::max_element(all_faces.begin(), all_faces.end(),
                           [&](Face f, Face g) { return outward_of(f).dot(uv) < outward_of(g).dot(uv); });
}

/// How far beyond a place at the survey's end the finished surface would meet ground that goes on at the fall of the
/// ground under the mound. Nullopt where it never would.
std::optional<double> distance_to_catch(const PlanCase& c, const Plane& fall, const Point2& reduced,
                                        const Point2& outward) {
  const Point2 start = c.mound.from_reduced(reduced);
  const Point2 out_on_lot = (c.mound.to_world(start + outward) - c.mound.to_world(start));
  const double rise = fall.a * out_on_lot.x() + fall.b * out_on_lot.y();
  const double ground =
      elevation_at(c.mound.ground, reduced).value_or(fall.at(reduced)) - c.mound.buildup.bottom_elevation;
  const auto stands_above = [&](double t) {
    const std::optional<double> finish = finish_height(c.mound, start + t * outward);
    return finish && *finish > ground + rise * t;
  };
  double near = 0, far = 1;
  const double farthest = 20 * c.mound.shape().reach;
  while (stands_above(far)) {
    near = far;
    far *= 2;
    if (far > farthest) return std::nullopt;
  }
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (near + far);
    (stands_above(middle) ? near : far) = middle;
  }
  return far;
}

/// What of one face runs off the survey.
struct RunOff {
  double length = 0;
  bool never = false;  // the side would not meet the ground however far it is shot
  double beyond = 0;   // farthest the berm goes on past the survey's end
  Point2 at = Point2::Zero();
  bool any = false;

  void add(const PlanCase& c, const Plane& fall, const Point2& p, Face face) {
    const std::optional<double> t = distance_to_catch(c, fall, p, outward_of(face));
    if (any && (never || (t && *t <= beyond))) return;
    any = true, never = !t, beyond = t.value_or(0.0), at = p;
  }
};

/// "about 6 more shots, 12 ft apart like the others".
std::string more_shots(const PlanCase& c, const RunOff& run) {
  const SurveyedCounts surveyed = surveyed_counts(c.mound.ground);
  const double apart = std::sqrt(c.mound.ground.total_area / static_cast<double>(surveyed.points));
  const double rows = std::ceil((run.beyond + c.mound.ground.extended) / apart),
               in_a_row = std::floor(run.length / apart) + 2;
  return fmt::format("about {} more shots, {} {} apart like the others", fixed_text(rows * in_a_row, 0),
                     fixed_text(std::ceil(apart), 0), c.tape());
}

/// The key that carries the ground on instead, where it may be carried so far.
std::string extend_instead(const PlanCase& c, const RunOff& run) {
  const double step = c.options.unit == LengthUnit::metre ? 0.1 : 0.5;
  const double some_more = 1.1;  // the catch is worked out from the general fall
  const double wanted = std::ceil(some_more * (run.beyond + c.mound.ground.extended) / step) * step;
  if (wanted > most_extension(c.options.unit)) return "";
  return fmt::format(
      "; or write  extend = {}  under [ground], to have the ground carried on that far as assumed ground",
      fixed_text(wanted, 1));
}

void tell_run_off(const PlanCase& c, Face face, const RunOff& run, PlanChecks& checks) {
  const Point2 out = c.mound.to_world(outward_of(face)) - c.mound.frame().origin;
  const std::string way = fmt::format("{} of the {}", compass_word(out), face_name(face));
  PlanCheck check{
      "survey reach", Verdict::bad, std::nullopt, std::nullopt, c.unit(), {}, c.mound.ground.to_world(run.at), {}};
  const bool assumed = c.mound.ground.extended > 0;
  check.text = fmt::format("the berm runs off the {} ground along {} on the {}", assumed ? "assumed" : "surveyed",
                           c.length(run.length), face_name(face));
  if (run.never) {
    check.text += ", and at the ground's fall there it would never catch";
    check.what_to_do = "shoot the ground farther out, " + way + ", or make the side slope steeper";
  } else {
    check.found = run.beyond;
    check.text += fmt::format(
        "; at the ground's fall it would catch about {} past {}", c.length(run.beyond),
        assumed ? fmt::format("it, {} past the last ground shot", c.length(run.beyond + c.mound.ground.extended))
                : "the last ground shot");
    check.what_to_do = fmt::format("shoot the ground farther out, {}, at least to {}: {}{}", way,
                                   place_name(c.mound.ground.to_world(run.at) + run.beyond * out), more_shots(c, run),
                                   extend_instead(c, run));
  }
  checks.push_back(std::move(check));
}

}  // namespace

void check_survey_reach(const PlanCase& c, PlanChecks& checks) {
  if (c.mound.buildup.toe.outer.empty()) return;
  if (!(c.mound.buildup.toe.off_survey > 0)) {
    if (const auto assumed = on_assumed_ground(c.mound, c.options.unit)) {
      checks.push_back({"survey reach", Verdict::look, assumed->farthest, 0.0, c.unit(),
                        to_text(*assumed, c.options.unit), assumed->at, shoot_assumed_ground});
      return;
    }
    checks.push_back(
        {"survey reach", Verdict::good, 0.0, 0.0, c.unit(), "the berm meets surveyed ground all round", {}, {}});
    return;
  }
  const std::vector<Polygon2> ends = outline(c.mound.ground);
  const std::optional<GroundFit> fit = fit_plane(c.mound.ground, box_round(c.mound.buildup.toe.outer));
  const Plane fall = fit ? fit->plane : c.mound.ground.trend;
  std::array<RunOff, 4> runs;
  for (const Polygon2& loop : c.mound.buildup.toe.outer) {
    for (std::size_t i = 0; i < loop.size(); ++i) {
      const Point2 &p = loop[i], &q = loop[(i + 1) % loop.size()];
      const Point2 middle = 0.5 * (p + q);
      const std::optional<double> finish = finish_height(c.mound, c.mound.from_reduced(middle));
      const std::optional<double> z = elevation_at(c.mound.ground, middle);
      if (!finish || !z || *finish + c.mound.buildup.bottom_elevation - *z < 1e-6 || !is_on(ends, middle)) continue;
      const Face face = face_toward(c, Point2(q.y() - p.y(), p.x() - q.x()));  // the mound is on the left
      RunOff& run = runs[static_cast<std::size_t>(face)];
      run.length += (q - p).norm();
      for (const Point2& at : {p, middle, q}) run.add(c, fall, at, face);
    }
  }
  for (const Face face : all_faces) {
    if (runs[static_cast<std::size_t>(face)].any) tell_run_off(c, face, runs[static_cast<std::size_t>(face)], checks);
  }
}

namespace {

/// The steepest that the ground under any piece of the bed falls square out from a face, and where.
struct FaceFall {
  double fall = -std::numeric_limits<double>::infinity();
  Point2 at = Point2::Zero();  // easting, northing
};

FaceFall steepest_out_from(const PlanCase& c, Face face) {
  FaceFall steepest;
  for (const BedEdge& edge : bed_edges(c.mound.shape(), face)) {
    const std::optional<GroundFit>& fit = c.fall->pieces[edge.piece];
    if (!fit) continue;
    const Point2 middle = 0.5 * (edge.from + edge.to);
    const Point2 out = c.mound.to_world(middle + edge.outward) - c.mound.to_world(middle);
    const double fall = -(fit->plane.a * out.x() + fit->plane.b * out.y());
    if (fall > steepest.fall) steepest = {fall, c.mound.to_world(middle)};
  }
  return steepest;
}

}  // namespace

void check_sides_catch(const PlanCase& c, PlanChecks& checks) {
  if (!c.fall) return;
  const Layer& last = c.mound.design().layers.back();
  for (const Face face : all_faces) {
    const double run = on_face(last.side, face);
    const FaceFall steepest = steepest_out_from(c, face);
    if (!(run > 0) || steepest.fall * run < 1) continue;
    const bool met = !(c.mound.buildup.toe.off_survey > 0);  // farther out the ground flattens
    checks.push_back(
        {"side slope catches", met ? Verdict::look : Verdict::bad, 100 * steepest.fall, 100 / run, "%",
         fmt::format("on the {} the ground under the bed falls {} %, as steep as the berm's {:g}:1 side or "
                     "steeper ({} %), so on that fall the side never catches",
                     face_name(face), fixed_text(100 * steepest.fall, 1), run, fixed_text(100 / run, 1)),
         steepest.at, "make that side steeper, or move the mound to flatter ground"});
  }
}

// ---- layers ----

namespace {

/// Where an earlier layer is the outermost.
struct BarePlace {
  double area = 0,
         most = -1;  // height of what stands bare: above the last layer, or above the ground where that is higher
  Point2 at = Point2::Zero();  // mound frame
};

bool is_earlier(const PlanCase& c, const CellLevel<double>* level) {
  return level != nullptr && level->layer + 1 < static_cast<int>(c.mound.design().layers.size());
}

void add_bare(const PlanCase& c, const CellPiece& piece, std::vector<BarePlace>& places) {
  const CellLevel<double>* top = top_level(c.mound, *piece.cell);
  if (!is_earlier(c, top)) return;
  const Polygon2 bare = clip_convex(piece.outline, above(top->plane, piece.ground));
  if (bare.empty()) return;
  BarePlace& place = places[static_cast<std::size_t>(top->layer)];
  place.area += plan_area(bare);
  Point2 middle = Point2::Zero();
  for (const Point2& p : bare) middle += p / static_cast<double>(bare.size());
  for (const Point2& p : bare) {
    const Point2 inside = p + 1e-6 * (middle - p);  // so that a vertical side counts on the side the piece is on
    const double ground = piece.ground.at(inside.x(), inside.y());
    const double last = shape_height(c.mound.shape().layers.back(), inside).value_or(ground);
    const double stands = top->plane.at(inside.x(), inside.y()) - std::max(ground, last);
    if (stands > place.most) place.most = stands, place.at = p;
  }
}

void tell_bare(const PlanCase& c, const std::string& last, const std::string& name, const BarePlace& bare,
               PlanChecks& checks) {
  const bool stands_out = bare.most > c.feet(1e-6);
  const std::string how = stands_out ? fmt::format("{} stands out by {} at the most", name, c.length(bare.most))
                                     : std::string("the two are flush");
  checks.push_back({"layers covered", stands_out ? Verdict::bad : Verdict::look, std::max(0.0, bare.most), 0.0,
                    c.unit(),
                    fmt::format("{} leaves {} bare over {}; {}, toward the {}", last, name, c.area(bare.area), how,
                                face_name(face_beyond(c.mound.shape(), bare.at))),
                    c.mound.to_world(bare.at),
                    fmt::format("carry {} farther out, make it thicker, or make {} smaller", last, name)});
}

}  // namespace

void check_layers_bare(const PlanCase& c, PlanChecks& checks) {
  const std::vector<Layer>& layers = c.mound.design().layers;
  if (layers.size() < 2 || c.mound.buildup.toe.outer.empty()) return;
  std::vector<BarePlace> places(layers.size());
  const std::vector<PlanCell<double>>& cells = c.mound.cells().cells;
  const auto earlier_on_top = [&](const PlanCell<double>& cell) { return is_earlier(c, top_level(c.mound, cell)); };
  if (std::any_of(cells.begin(), cells.end(), earlier_on_top)) {  // seldom, so that the ground is seldom gone over
    const Polygon2 region = box_round(toe_in_mound_frame(c.mound, c.mound.buildup.toe));
    for_each_cell_piece(c.mound, region, [&](const CellPiece& piece) { add_bare(c, piece, places); });
  }
  const std::string& last = layers.back().name;
  bool any = false;
  for (std::size_t k = 0; k < layers.size(); ++k) {
    if (!(places[k].area > 1e-6 * c.mound.buildup.footprint_area)) continue;
    any = true;
    tell_bare(c, last, layers[k].name, places[k], checks);
  }
  if (!any) {
    checks.push_back({"layers covered", Verdict::good, 0.0, 0.0, c.unit(), last + " covers every other layer", {}, {}});
  }
}

namespace {

bool adds_nothing(const PlanCase& c, std::size_t layer) {
  return c.mound.buildup.layers[layer].volume <= 1e-9 * c.mound.buildup.total_fill();
}

constexpr double steepest_alone = 1.5;  // run to 1; common practice

/// The height over which a layer's side at mid-face stands with nothing against it; 0 where a later layer or the ground
/// reaches its shoulder. `at` is the shoulder, mound frame.
double stands_alone(const PlanCase& c, std::size_t k, Face face, Point2& at) {
  const Layer& layer = c.mound.design().layers[k];
  const std::vector<BedEdge> edges = bed_edges(c.mound.shape(), face);
  const BedEdge& edge = edges[edges.size() / 2];
  at = 0.5 * (edge.from + edge.to) + on_face(layer.beyond, face) * edge.outward;
  const bool is_end = face == Face::left || face == Face::right;
  const double shoulder = layer.top + (is_end ? layer.crown : 0.0);
  const std::optional<double> z = elevation_at(c.mound.ground, c.mound.to_reduced(at));
  double held = z ? *z - c.mound.buildup.bottom_elevation : shoulder;
  const Point2 outside = at + 1e-6 * edge.outward;
  for (std::size_t j = k + 1; j < c.mound.shape().layers.size(); ++j) {
    held = std::max(held, shape_height(c.mound.shape().layers[j], outside).value_or(held));
  }
  return shoulder - held > 1e-5 ? shoulder - held : 0.0;
}

}  // namespace

void check_steep_sides(const PlanCase& c, PlanChecks& checks) {
  for (std::size_t k = 0; k < c.mound.design().layers.size(); ++k) {
    if (adds_nothing(c, k)) continue;  // it lies inside what was put down before
    const Layer& layer = c.mound.design().layers[k];
    for (const Face face : all_faces) {
      const double run = on_face(layer.side, face);
      if (run >= steepest_alone) continue;
      Point2 at = Point2::Zero();
      const double height = stands_alone(c, k, face, at);
      if (!(height > 0)) continue;
      const std::string slope = run > 0 ? fmt::format("{:g}:1", run) : std::string("vertical");
      checks.push_back(
          {"steep side", Verdict::look, run, steepest_alone, "run to 1",
           fmt::format("the {} of {} is {} and stands {} with nothing against it; steeper than 1.5:1 does not "
                       "stand alone (common practice)",
                       face_name(face), layer.name, slope, c.length(height)),
           c.mound.to_world(at), "flatten that side, or carry a later layer up against it"});
    }
  }
}

void check_shell(const PlanCase& c, PlanChecks& checks) {
  const double asked = c.feet(2.0);  // common practice
  const std::vector<Layer>& layers = c.mound.design().layers;
  const auto is = [](const Layer& layer, const char* word) { return layer.name.find(word) != std::string::npos; };
  const auto shell = std::find_if(layers.begin(), layers.end(), [&](const Layer& l) { return is(l, "shell"); });
  const auto core = std::find_if(layers.begin(), layers.end(), [&](const Layer& l) { return is(l, "core"); });
  if (shell == layers.end() || core == layers.end()) return;
  for (const Face face : all_faces) {
    const double width = on_face(shell->beyond, face) - on_face(core->beyond, face);
    if (width >= asked - 1e-9 || on_face(core->side, face) > 0) continue;
    checks.push_back({"shell width", Verdict::look, width, asked, c.unit(),
                      fmt::format("{} is {} wide on the {} of {}; at least {} is common practice", shell->name,
                                  c.length(width), face_name(face), core->name, c.length(asked)),
                      std::nullopt, "ask the designer whether the plan means it so"});
  }
}

void check_layers_add(const PlanCase& c, PlanChecks& checks) {
  for (std::size_t k = 0; k < c.mound.buildup.layers.size(); ++k) {
    if (!adds_nothing(c, k)) continue;
    const LayerResult& layer = c.mound.buildup.layers[k];
    checks.push_back({"layer adds nothing", Verdict::look, layer.volume, std::nullopt, "cu " + c.unit(),
                      layer.name + " adds nothing: earlier layers or the ground stand above all of it", std::nullopt,
                      "check its top and how far beyond the bed it goes, and the order of the layers"});
  }
}

// ---- undercut ----

namespace {

/// The pit's mouth on one triangle: existing ground above every plane of the pit.
Polygon2 pit_mouth(const PlanCase& c, const CellPiece& piece, const ConcavePiece& pit) {
  const double bottom = c.mound.design().prepare.undercut->elevation - c.mound.buildup.bottom_elevation;
  Polygon2 mouth = piece.outline;
  for (const PlanLine& line : pit.inside) mouth = clip_convex(mouth, line);
  for (const ShapePlane& plane : pit.planes) {  // the pit's surface is its bottom minus the least of these
    mouth = clip_convex(
        mouth, above({plane.a, plane.b, plane.c - bottom}, {-piece.ground.a, -piece.ground.b, -piece.ground.c}));
  }
  return mouth;
}

/// A box in the mound frame that the pit's mouth cannot leave: its sides carried up to the highest shot.
Polygon2 box_round_pit(const PlanCase& c) {
  const Undercut& pit = *c.mound.design().prepare.undercut;
  double highest = pit.elevation;
  for (const Point3& p : c.mound.ground.points) highest = std::max(highest, p.z());
  double out = 0;
  for (const Face face : all_faces) {
    out = std::max(out, on_face(pit.beyond, face) + on_face(pit.side, face) * (highest - pit.elevation));
  }
  const Polygon2 bed = box_round(c.mound.compiled->bed_outlines);
  return {bed[0] - Point2(out, out), bed[1] + Point2(out, -out), bed[2] + Point2(out, out), bed[3] + Point2(-out, out)};
}

}  // namespace

void check_undercut(const PlanCase& c, PlanChecks& checks) {
  if (!c.mound.design().prepare.undercut) return;
  double area = 0, largest = 0;
  Point2 at = Point2::Zero();
  for_each_cell_piece(c.mound, box_round_pit(c), [&](const CellPiece& piece) {
    for (const ConcavePiece& pit : c.mound.shape().pit) {
      Polygon2 outside = pit_mouth(c, piece, pit);
      const CellLevel<double>* top = top_level(c.mound, *piece.cell);
      if (top != nullptr) outside = clip_convex(outside, above(piece.ground, top->plane));
      if (outside.empty()) continue;
      const double part = plan_area(outside);
      area += part;
      if (part <= largest) continue;
      largest = part;
      at = Point2::Zero();
      for (const Point2& p : outside) at += p / static_cast<double>(outside.size());
    }
  });
  if (area <= 1e-6 * std::max(1.0, c.mound.buildup.footprint_area)) {
    checks.push_back(
        {"undercut", Verdict::good, 0.0, 0.0, c.area_unit(), "the undercut lies inside the footprint", {}, {}});
    return;
  }
  checks.push_back({"undercut", Verdict::bad, area, 0.0, c.area_unit(),
                    fmt::format("{} of the undercut's mouth lie outside the footprint, toward the {}; what is dug and "
                                "filled out there is in no quantity",
                                c.area(area), face_name(face_beyond(c.mound.shape(), at))),
                    c.mound.to_world(at), "raise the undercut, steepen its sides, or carry the cover farther out"});
}

void check_specks(const PlanCase& c, PlanChecks& checks) {
  if (c.mound.buildup.specks == 0) return;
  checks.push_back({"specks",
                    Verdict::told,
                    c.mound.buildup.specks_area,
                    std::nullopt,
                    c.area_unit(),
                    fmt::format("{} loose patch(es), {} in all, where the mound's planes come out of the ground "
                                "apart from it, are left out",
                                c.mound.buildup.specks, c.area(c.mound.buildup.specks_area)),
                    std::nullopt,
                    {}});
}

}  // namespace moundwright

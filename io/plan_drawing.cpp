#include "io/plan_drawing.h"

#include <cairo.h>
#include <fmt/format.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "geom/contour_interval.h"
#include "geom/level_lines.h"
#include "geom/printed.h"
#include "geom/toe.h"
#include "io/section_drawing.h"

namespace moundwright::io {
namespace {

using Box2 = Eigen::AlignedBox<double, 2>;

constexpr Colour existing_colour{0.52, 0.40, 0.28}, finished_colour{0.10, 0.24, 0.12}, toe_colour{0.05, 0.25, 0.05};
constexpr Colour clear_colour{0.55, 0.10, 0.10}, stake_colour{0.70, 0.10, 0.05};
constexpr Colour section_colour{0.15, 0.15, 0.45};
constexpr double assumed_opacity = 0.35;

const Pen existing_pen{0.45, existing_colour, {4, 2}}, existing_index_pen{0.85, existing_colour, {6, 2}};
const Pen finished_pen{0.5, finished_colour, {}}, finished_index_pen{0.9, finished_colour, {}};
const Pen toe_pen{1.6, toe_colour, {}}, bed_pen{1.0, ink, {}};
const Pen clear_pen{0.9, clear_colour, {9, 2, 1.5, 2}}, breakline_pen{0.8, soft_ink, {2.5, 1.5}};
const Pen survey_pen{0.5, soft_ink, {1, 2.5}}, tie_pen{0.45, stake_colour, {1.5, 1.5}};
const Pen section_pen{0.8, section_colour, {10, 2, 2, 2}};

TextStyle small_text(double size, const Colour& colour = ink, bool bold = false) {
  TextStyle style;
  style.size = size, style.colour = colour, style.bold = bold, style.halo = 1.1;
  return style;
}

/// One plan being drawn.
struct PlanSheet {
  cairo_t* cairo;
  const SiteResults& results;
  PaperRect frame;
  Point2 middle;  // easting, northing at the frame's middle
  DrawingScale scale;
  PlanOptions options;
  LabelField labels;

  Point2 paper(const Point2& world) const {
    const Point2 off = (world - middle) * scale.points_per_unit();
    return frame.centre() + Point2(off.x(), -off.y());
  }
  Point2 paper_of_reduced(const Point2& reduced) const { return paper(results.ground().to_world(reduced)); }
  Point2 reduced(const Point2& paper) const {
    const Point2 off = (paper - frame.centre()) / scale.points_per_unit();
    return results.ground().to_local(middle + Point2(off.x(), -off.y()));
  }
  Polyline2 paper(const Polyline2& world) const {
    Polyline2 line;
    line.reserve(world.size());
    for (const Point2& p : world) line.push_back(paper(p));
    return line;
  }
  Polyline2 paper_of_reduced(const Polyline2& reduced) const {
    Polyline2 line;
    line.reserve(reduced.size());
    for (const Point2& p : reduced) line.push_back(paper_of_reduced(p));
    return line;
  }
};

/// The parts of a line that lie in a rectangle.
std::vector<Polyline2> parts_inside(const Polyline2& line, const PaperRect& rect) {
  std::vector<Polyline2> parts;
  for (std::size_t i = 1; i < line.size(); ++i) {
    double from = 0, to = 1;
    const Point2& a = line[i - 1];
    const Point2 step = line[i] - a;
    const auto clip = [&](double start, double slope, double low, double high) {
      if (slope == 0) {
        if (start < low || start > high) to = -1;
        return;
      }
      from = std::max(from, std::min((low - start) / slope, (high - start) / slope));
      to = std::min(to, std::max((low - start) / slope, (high - start) / slope));
    };
    clip(a.x(), step.x(), rect.left, rect.right());
    clip(a.y(), step.y(), rect.top, rect.bottom());
    if (!(from < to)) continue;
    const Point2 p = a + step * from, q = a + step * to;
    if (parts.empty() || from > 0 || (parts.back().back() - p).norm() > 1e-6) parts.push_back({p});
    parts.back().push_back(q);
  }
  return parts;
}

bool is_index(double elevation, double interval) {
  return std::abs(std::remainder(elevation, 5 * interval)) < 1e-6 * interval;
}

std::string contour_text(double elevation) { return fmt::format("{:g}", elevation); }

// ---- ground ------------------------------------------------------------------------------------------------------

struct ContourLabel {
  std::string text;
  Polyline2 line;
  Colour colour;
  bool bold;
};

/// A line of the lot on paper. Where it leads far off the paper, only what is near is drawn: cairo's coordinates end
/// some millions of points away.
void draw_lot_line(const PlanSheet& sheet, Polyline2 line, const Pen& pen, bool closed = false) {
  constexpr double far_off = 10000;  // points of paper
  const PaperRect near_paper = inset(sheet.frame, -far_off);
  const auto is_near = [&](const Point2& p) { return near_paper.contains(p); };
  if (std::all_of(line.begin(), line.end(), is_near)) return draw_line(sheet.cairo, line, pen, closed);
  if (closed) line.push_back(line.front());
  for (const Polyline2& part : parts_inside(line, near_paper)) draw_line(sheet.cairo, part, pen);
}

/// The runs of a line on paper outside the toe, to within two points.
std::vector<Polyline2> outside_toe(const PlanSheet& sheet, const Polyline2& line) {
  std::vector<Polyline2> runs;
  bool before = false;
  const auto go_on_to = [&](const Point2& p) {
    const bool outside = !encloses(sheet.results.mound().buildup.toe, sheet.reduced(p));
    if (outside && !before) runs.emplace_back();
    if (outside) runs.back().push_back(p);
    before = outside;
  };
  for (std::size_t i = 1; i < line.size(); ++i) {
    const Point2 step = line[i] - line[i - 1];
    const int parts = std::max(1, static_cast<int>(step.norm() / 2));
    for (int k = i == 1 ? 0 : 1; k <= parts; ++k) go_on_to(line[i - 1] + step * k / parts);
  }
  return runs;
}

void draw_contours(PlanSheet& sheet, const std::vector<Contour>& all, double interval, bool finished,
                   std::vector<ContourLabel>& wanted) {
  const bool few = all.size() <= 12;
  for (const Contour& contour : all) {
    const bool index = is_index(contour.elevation, interval);
    const Pen& pen = finished ? (index ? finished_index_pen : finished_pen) : index ? existing_index_pen : existing_pen;
    for (const Polyline2& reduced : contour.lines) {
      const Polyline2 line = sheet.paper_of_reduced(reduced);
      draw_lot_line(sheet, line, pen);
      if (!index && !few && !finished) continue;
      for (const Polyline2& shown : parts_inside(line, sheet.frame)) {
        // Existing contours are named outside the mound only: inside, the finished ones are.
        for (Polyline2& part : finished ? std::vector<Polyline2>{shown} : outside_toe(sheet, shown)) {
          wanted.push_back({contour_text(contour.elevation), std::move(part), pen.colour, index});
        }
      }
    }
  }
}

void label_contours(PlanSheet& sheet, const std::vector<ContourLabel>& wanted) {
  for (const ContourLabel& label : wanted) {
    sheet.labels.place_along(sheet.cairo, label.text, label.line, small_text(7, label.colour, label.bold));
  }
}

void draw_survey_limit(PlanSheet& sheet) {
  for (const Polygon2& ring : surveyed_outline(sheet.results.ground())) {
    draw_lot_line(sheet, sheet.paper_of_reduced(ring), survey_pen, true);
  }
}

/// Over the mound's wash too: there it matters.
void draw_assumed_ground(PlanSheet& sheet) {
  if (sheet.results.ground().assumed.empty()) return;
  for (const auto& triangle : assumed_triangles(sheet.results.ground())) {
    Polyline2 corners;
    for (const Point3& p : triangle) corners.push_back(sheet.paper_of_reduced(Point2(p.head<2>())));
    add_path(sheet.cairo, corners, true);
  }
  cairo_set_fill_rule(sheet.cairo, CAIRO_FILL_RULE_WINDING);
  set_colour(sheet.cairo, assumed_ground_colour(), assumed_opacity);
  cairo_fill(sheet.cairo);
}

std::vector<std::pair<std::string, Polyline2>> draw_breaklines(PlanSheet& sheet) {
  std::vector<std::pair<std::string, Polyline2>> labels;
  const Survey& survey = sheet.results.survey;
  for (std::size_t k = 0; k < survey.breaklines.size(); ++k) {
    Polyline2 world;
    for (const std::size_t i : survey.breaklines[k]) {
      const Shot& shot = survey.ground_shots[i];
      world.emplace_back(shot.easting, shot.northing);
    }
    const Polyline2 line = sheet.paper(world);
    draw_lot_line(sheet, line, breakline_pen);
    for (Polyline2& part : parts_inside(line, sheet.frame)) {
      labels.emplace_back(survey.line_names[k].code, std::move(part));
    }
  }
  return labels;
}

// ---- mound -------------------------------------------------------------------------------------------------------

void add_loops(const PlanSheet& sheet) {
  const ToeLine& toe = sheet.results.mound().buildup.toe;
  for (const Polygon2& loop : toe.outer) add_path(sheet.cairo, sheet.paper_of_reduced(loop), true);
  for (const Polygon2& hole : toe.holes) add_path(sheet.cairo, sheet.paper_of_reduced(hole), true);
}

/// A light wash, so that what lies under the mound shows through but falls back.
void wash_footprint(PlanSheet& sheet, const Colour& colour) {
  cairo_set_fill_rule(sheet.cairo, CAIRO_FILL_RULE_EVEN_ODD);
  add_loops(sheet);
  set_colour(sheet.cairo, lighter(colour, 0.72), 0.72);
  cairo_fill(sheet.cairo);
}

void draw_toe(PlanSheet& sheet) {
  add_loops(sheet);
  take_pen(sheet.cairo, toe_pen);
  cairo_stroke(sheet.cairo);
  for (const Polygon2& loop : sheet.results.mound().buildup.toe.outer)
    sheet.labels.avoid(sheet.paper_of_reduced(loop), true);
}

/// The stone's look, or none where the mound has no stone.
MaterialStyle bed_style(const PlanSheet& sheet) {
  for (const MaterialStyle& style : layer_styles(sheet.results.mound().design())) {
    if (style.hatch == Hatch::pebbles) return {lighter(style.fill, 0.4), style.hatch};
  }
  return {paper_white, Hatch::none};
}

void draw_bed(PlanSheet& sheet) {
  const MaterialStyle style = bed_style(sheet);
  for (const Polygon2& outline : bed_on_ground(sheet.results.mound())) {
    add_path(sheet.cairo, sheet.paper_of_reduced(outline), true);
    fill_material(sheet.cairo, style);
  }
  for (const Polygon2& outline : bed_on_ground(sheet.results.mound())) {
    draw_line(sheet.cairo, sheet.paper_of_reduced(outline), bed_pen, true);
  }
}

struct TopEdge {
  std::string names;
  std::vector<Polyline2> lines;  // paper
};

bool same_lines(const std::vector<Polyline2>& a, const std::vector<Polyline2>& b) {
  const auto extent = [](const std::vector<Polyline2>& lines) {
    Box2 box;
    double length = 0;
    for (const Polyline2& line : lines) {
      for (std::size_t i = 0; i < line.size(); ++i) {
        box.extend(line[i]);
        if (i > 0) length += (line[i] - line[i - 1]).norm();
      }
    }
    return std::pair(box, length);
  };
  const auto [box_a, length_a] = extent(a);
  const auto [box_b, length_b] = extent(b);
  return box_a.isApprox(box_b, 1e-6) && std::abs(length_a - length_b) < 0.5;
}

/// Outlines of the layers' flat tops; layers with one outline share it.
std::vector<TopEdge> top_edges(const PlanSheet& sheet) {
  std::vector<TopEdge> edges;
  const std::vector<Layer>& layers = sheet.results.mound().design().layers;
  for (std::size_t k = 0; k < layers.size(); ++k) {
    std::vector<Polyline2> lines;
    for (const Polyline2& line : flat_top_outline(sheet.results.mound(), k)) {
      lines.push_back(sheet.paper_of_reduced(line));
    }
    const auto same =
        std::find_if(edges.begin(), edges.end(), [&](const TopEdge& edge) { return same_lines(edge.lines, lines); });
    if (same != edges.end()) {
      same->names += ", " + layers[k].name;
    } else if (!lines.empty()) {
      edges.push_back({layers[k].name, std::move(lines)});
    }
  }
  return edges;
}

void draw_top_edges(PlanSheet& sheet, const std::vector<TopEdge>& edges) {
  for (const TopEdge& edge : edges) {
    for (const Polyline2& line : edge.lines) draw_line(sheet.cairo, line, {0.7, ink, {3, 1.2}});
  }
}

// ---- marks -------------------------------------------------------------------------------------------------------

struct MarkLabel {
  std::string text;
  Point2 at;
  double gap;
  TextStyle style;
};

void draw_cross(cairo_t* cairo, const Point2& at, double size, const Pen& pen) {
  draw_line(cairo, {at - Point2(size, 0), at + Point2(size, 0)}, pen);
  draw_line(cairo, {at - Point2(0, size), at + Point2(0, size)}, pen);
}

void draw_circle(cairo_t* cairo, const Point2& at, double radius, const Pen& pen, bool filled) {
  cairo_new_sub_path(cairo);
  cairo_arc(cairo, at.x(), at.y(), radius, 0, 2 * M_PI);
  set_colour(cairo, filled ? pen.colour : paper_white);
  cairo_fill_preserve(cairo);
  take_pen(cairo, pen);
  cairo_stroke(cairo);
}

void draw_triangle(cairo_t* cairo, const Point2& at, double size, const Colour& colour) {
  add_path(cairo, {at + Point2(0, -size), at + Point2(0.87 * size, 0.5 * size), at + Point2(-0.87 * size, 0.5 * size)},
           true);
  set_colour(cairo, paper_white);
  cairo_fill_preserve(cairo);
  take_pen(cairo, {0.9, colour, {}});
  cairo_stroke(cairo);
  draw_circle(cairo, at, 0.5, {0.5, colour, {}}, true);
}

void draw_square(cairo_t* cairo, const Point2& at, double half, const Colour& colour) {
  fill_rect(cairo, {at.x() - half, at.y() - half, 2 * half, 2 * half}, colour);
}

void draw_stake_mark(cairo_t* cairo, StakeKind kind, const Point2& at) {
  switch (kind) {
    case StakeKind::hub:
      return draw_square(cairo, at, 1.7, stake_colour);
    case StakeKind::slope:
      return draw_circle(cairo, at, 1.5, {0.8, stake_colour, {}}, false);
    case StakeKind::feed:
      draw_circle(cairo, at, 2.4, {0.8, ink, {}}, false);
      return draw_circle(cairo, at, 0.8, {0.5, ink, {}}, true);
  }
}

void draw_stakes(PlanSheet& sheet, std::vector<MarkLabel>& labels) {
  for (const Stake& stake : sheet.results.found().stakes.stakes) {
    const Point2 at = sheet.paper(Point2(stake.easting, stake.northing));
    if (!sheet.frame.contains(at)) continue;
    draw_stake_mark(sheet.cairo, stake.kind, at);
    sheet.labels.keep_off(at, 2.0);
    if (!sheet.options.stake_numbers) continue;
    labels.push_back(
        {std::to_string(stake.number), at, 3.0, small_text(7, stake_colour, stake.kind == StakeKind::hub)});
  }
}

/// One hub at each end of the bed to show ties to; all ties are in the stake list.
std::vector<const Stake*> tied_hubs(const std::vector<Stake>& stakes) {
  std::vector<const Stake*> hubs;
  for (const Stake& stake : stakes) {
    if (stake.kind == StakeKind::hub && stake.ties.size() == 2) hubs.push_back(&stake);
  }
  if (hubs.size() < 2) return hubs;
  const auto far = std::max_element(hubs.begin(), hubs.end(), [&](const Stake* a, const Stake* b) {
    const auto off = [&](const Stake* s) {
      return std::hypot(s->easting - hubs.front()->easting, s->northing - hubs.front()->northing);
    };
    return off(a) < off(b);
  });
  return {hubs.front(), *far};
}

void draw_ties(PlanSheet& sheet, std::vector<std::pair<std::string, Polyline2>>& labels) {
  const StakeOut& out = sheet.results.found().stakes;
  if (out.tie_marks.size() != 2) return;
  const int decimals = length_decimals(sheet.scale.unit);
  for (const Stake* hub : tied_hubs(out.stakes)) {
    for (std::size_t i = 0; i < 2; ++i) {
      const Polyline2 line{sheet.paper(Point2(hub->easting, hub->northing)), sheet.paper(out.tie_marks[i].at)};
      draw_line(sheet.cairo, line, tie_pen);
      const bool shown = sheet.frame.contains(line.back());
      const std::string text = fixed_text(hub->ties[i], decimals) + (shown ? "" : " to " + out.tie_marks[i].name);
      for (Polyline2& part : parts_inside(line, sheet.frame)) labels.emplace_back(text, std::move(part));
    }
  }
}

void draw_known_marks(PlanSheet& sheet, std::vector<MarkLabel>& labels) {
  const auto mark = [&](const Mark& m, bool bench) {
    const Point2 at = sheet.paper(m.at);
    if (!sheet.frame.contains(at)) return;
    if (bench) {
      draw_triangle(sheet.cairo, at, 4.2, ink);
    } else {
      draw_cross(sheet.cairo, at, 3.0, {0.9, stake_colour, {}});
    }
    sheet.labels.keep_off(at, 4.0);
    std::string text = m.name;
    if (m.elevation) text += " " + fixed_text(*m.elevation, length_decimals(sheet.scale.unit));
    labels.push_back({text, at, 5, small_text(7, bench ? ink : stake_colour, bench)});
  };
  if (sheet.options.bench_mark && sheet.results.job.site.lot.benchmark)
    mark(*sheet.results.job.site.lot.benchmark, true);
  if (!sheet.options.tape_ties) return;
  for (const Mark& tie : sheet.results.found().stakes.tie_marks) {
    const bool is_benchmark =
        sheet.results.job.site.lot.benchmark && tie.name == sheet.results.job.site.lot.benchmark->name;
    if (!is_benchmark) mark(tie, false);
  }
}

void draw_borings(PlanSheet& sheet, std::vector<MarkLabel>& labels) {
  for (const Boring& boring : sheet.results.job.site.lot.requirements.borings) {
    const Point2 at = sheet.paper(boring.at);
    if (!sheet.frame.contains(at)) continue;
    draw_circle(sheet.cairo, at, 2.8, {0.8, ink, {}}, false);
    draw_cross(sheet.cairo, at, 2.8, {0.8, ink, {}});
    sheet.labels.keep_off(at, 3.0);
    labels.push_back({boring.name, at, 4, small_text(7, ink, true)});
  }
}

/// Under everything else: an area may hold the mound.
void wash_areas_to_keep_clear(const PlanSheet& sheet) {
  for (const KeepClear& feature : sheet.results.job.site.lot.requirements.keep_clear) {
    if (!feature.closed) continue;
    add_path(sheet.cairo, sheet.paper(feature.line), true);
    set_colour(sheet.cairo, lighter(clear_colour, 0.85), 0.8);
    cairo_fill(sheet.cairo);
  }
}

void draw_keep_clear(PlanSheet& sheet, std::vector<MarkLabel>& labels) {
  for (const KeepClear& feature : sheet.results.job.site.lot.requirements.keep_clear) {
    const Polyline2 line = sheet.paper(feature.line);
    const TextStyle style = small_text(7, clear_colour, true);
    if (line.size() == 1) {
      if (!sheet.frame.contains(line.front())) continue;
      draw_circle(sheet.cairo, line.front(), 3.2, {1.0, clear_colour, {}}, false);
      draw_circle(sheet.cairo, line.front(), 1.0, {0.5, clear_colour, {}}, true);
      sheet.labels.keep_off(line.front(), 3.4);
      labels.push_back({feature.name, line.front(), 5, style});
      continue;
    }
    draw_line(sheet.cairo, line, feature.closed ? Pen{1.1, clear_colour, {}} : clear_pen, feature.closed);
    sheet.labels.avoid(line, feature.closed);
    Polyline2 whole = line;
    if (feature.closed) whole.push_back(line.front());
    const std::vector<Polyline2> parts = parts_inside(whole, sheet.frame);
    if (parts.empty()) continue;
    Point2 middle = Point2::Zero();
    for (const Point2& p : line) middle += p / static_cast<double>(line.size());
    if (feature.closed && sheet.frame.contains(middle)) {
      labels.push_back({feature.name, middle, 0, style});
      continue;
    }
    const Polyline2& longest = *std::max_element(parts.begin(), parts.end(), [](const auto& a, const auto& b) {
      return (a.front() - a.back()).norm() < (b.front() - b.back()).norm();
    });
    if (!sheet.labels.place_along(sheet.cairo, feature.name, longest, style)) {
      labels.push_back({feature.name, longest[longest.size() / 2], 3, style});
    }
  }
}

double nearest_stake(const PlanSheet& sheet, const Point2& at) {
  double least = 1e300;
  if (!sheet.options.stakes) return least;
  for (const Stake& stake : sheet.results.found().stakes.stakes) {
    least = std::min(least, (sheet.paper(Point2(stake.easting, stake.northing)) - at).norm());
  }
  return least;
}

void draw_section_lines(PlanSheet& sheet) {
  for (const SectionCut& cut : standard_cuts(sheet.results)) {
    const Polyline2 line = sheet.paper_of_reduced(cut.line);
    draw_line(sheet.cairo, line, section_pen);
    sheet.labels.avoid(line);
    const auto end = [&](const Point2& at, const Point2& before, const std::string& text) {
      const Point2 out = (at - before).normalized();
      if (!sheet.frame.contains(at)) return;
      // Farther out where a stake stands in the way: one at each end of the bed stands on this very line.
      Point2 middle = at + out * 6;
      while (nearest_stake(sheet, middle) < 12 && sheet.frame.contains(middle)) middle += out * 3;
      draw_line(sheet.cairo, {at, middle}, section_pen);
      draw_circle(sheet.cairo, middle, 5.2, {0.8, section_colour, {}}, false);
      TextStyle style = small_text(7, section_colour, true);
      style.halo = 0;
      draw_text(sheet.cairo, text, middle, 0.5, 0.5, style);
      sheet.labels.keep_off(middle, 5.4);
    };
    end(line.front(), line[1], cut.mark);
    end(line.back(), line[line.size() - 2], cut.mark + "'");
  }
}

// ---- frame -------------------------------------------------------------------------------------------------------

void draw_grid(PlanSheet& sheet) {
  const double points = sheet.scale.points_per_unit(), step = round_step(90 / points);
  const Point2 half(0.5 * sheet.frame.width / points, 0.5 * sheet.frame.height / points);
  const Pen tick{0.5, soft_ink, {}};
  TextStyle style = small_text(7, soft_ink);
  const Point2 low = sheet.middle - half, high = sheet.middle + half;
  for (double e = std::ceil(low.x() / step) * step; e <= high.x(); e += step) {
    for (double n = std::ceil(low.y() / step) * step; n <= high.y(); n += step) {
      draw_cross(sheet.cairo, sheet.paper(Point2(e, n)), 3, {0.35, soft_ink, {}});
    }
    const double x = sheet.paper(Point2(e, low.y())).x();
    draw_line(sheet.cairo, {{x, sheet.frame.bottom()}, {x, sheet.frame.bottom() - 5}}, tick);
    draw_line(sheet.cairo, {{x, sheet.frame.top}, {x, sheet.frame.top + 5}}, tick);
    const std::string text = fmt::format("E {}", fixed_text(e, 0));
    const TextSize size = measure_text(sheet.cairo, text, style);
    if (x - 0.5 * size.width < sheet.frame.left || x + 0.5 * size.width > sheet.frame.right()) continue;
    const PaperRect box{x - 0.5 * size.width, sheet.frame.bottom() - 5 - size.height, size.width, size.height};
    draw_text(sheet.cairo, text, {box.left, box.top}, 0, 0, style);
    sheet.labels.keep_off(box);
  }
  for (double n = std::ceil(low.y() / step) * step; n <= high.y(); n += step) {
    const double y = sheet.paper(Point2(low.x(), n)).y();
    draw_line(sheet.cairo, {{sheet.frame.left, y}, {sheet.frame.left + 5, y}}, tick);
    draw_line(sheet.cairo, {{sheet.frame.right(), y}, {sheet.frame.right() - 5, y}}, tick);
    const std::string text = fmt::format("N {}", fixed_text(n, 0));
    const TextSize size = measure_text(sheet.cairo, text, style);
    if (y - 0.5 * size.width < sheet.frame.top || y + 0.5 * size.width > sheet.frame.bottom()) continue;
    const Point2 at(sheet.frame.left + 6 + 0.5 * size.height, y);
    draw_text(sheet.cairo, text, at, 0.5, 0.5, style, -0.5 * M_PI);
    sheet.labels.keep_off(PaperRect{at.x() - 0.5 * size.height, y - 0.5 * size.width, size.height, size.width});
  }
}

void draw_furniture(PlanSheet& sheet) {
  if (sheet.options.scale_bar) {
    const double most = std::min(160.0, 0.4 * sheet.frame.width);
    const TextSize size = scale_bar_size(sheet.scale, most);
    const PaperRect box = sheet.labels.take_corner(size.width, size.height);
    fill_rect(sheet.cairo, box, paper_white, 0.85);
    draw_scale_bar(sheet.cairo, {box.left, box.top}, sheet.scale, most);
  }
  if (sheet.options.north_arrow) {
    const double height = std::min(36.0, 0.12 * sheet.frame.height + 8);
    const PaperRect box = sheet.labels.take_corner(0.7 * height, 1.45 * height);
    fill_rect(sheet.cairo, box, paper_white, 0.85);
    draw_north_arrow(sheet.cairo, box.centre() + Point2(0, 0.16 * height), height);
  }
}

void extend(Box2& box, const std::vector<Point2>& points) {
  for (const Point2& p : points) box.extend(p);
}

std::string joined_codes(const SiteResults& results) {
  std::set<std::string> codes;
  for (const LineName& name : results.survey.line_names) codes.insert(name.code);
  return fmt::format("{}", fmt::join(codes, ", "));
}

}  // namespace

PlanExtent plan_extent(const SiteResults& results, PlanView view) {
  Box2 box;
  for (const Polygon2& loop : results.mound().buildup.toe.outer) {
    for (const Point2& p : loop) box.extend(results.ground().to_world(p));
  }
  for (const Polygon2& outline : bed_on_ground(results.mound())) {
    for (const Point2& p : outline) box.extend(results.ground().to_world(p));
  }
  for (const Stake& stake : results.found().stakes.stakes) box.extend(Point2(stake.easting, stake.northing));
  if (view == PlanView::whole_lot) {
    if (results.job.site.lot.benchmark) box.extend(results.job.site.lot.benchmark->at);
    for (const Mark& mark : results.found().stakes.tie_marks) box.extend(mark.at);
    const Requirements& asked = results.job.site.lot.requirements;
    for (const KeepClear& feature : asked.keep_clear) extend(box, feature.line);
    for (const Boring& boring : asked.borings) box.extend(boring.at);
    for (const Polygon2& ring : outline(results.ground())) {
      for (const Point2& p : ring) box.extend(results.ground().to_world(p));
    }
  }
  const Point2 margin = Point2::Constant(0.04 * box.sizes().maxCoeff());
  return {box.min() - margin, box.max() + margin};
}

DrawingScale plan_scale(const SiteResults& results, const PlanExtent& extent, const PaperRect& frame) {
  const Point2 size = extent.high - extent.low;
  return fitting_scale(results.job.site.unit, size.x(), size.y(), frame.width, frame.height);
}

double contour_interval(const SiteResults& results, const DrawingScale& scale) {
  // As close as the common fall of the lot lets contours stand 7 points apart.
  const double slope = std::hypot(results.ground().trend.a, results.ground().trend.b);
  const double finest = scale.unit == LengthUnit::metre ? 0.25 : 1.0;
  const double wanted = std::max(slope, 0.01) * 7 / scale.points_per_unit();
  return drawable_interval(results.ground(), wanted <= finest ? finest : round_step(wanted));
}

void draw_plan(cairo_t* cairo, const SiteResults& results, const PaperRect& frame, const PlanExtent& extent,
               const DrawingScale& scale, const PlanOptions& options) {
  PlanSheet sheet{cairo, results, frame, extent.centre(), scale, options, LabelField(inset(frame, 2))};
  const double interval = contour_interval(results, scale);
  std::vector<ContourLabel> contour_labels;
  std::vector<MarkLabel> labels;
  std::vector<std::pair<std::string, Polyline2>> along, codes;

  cairo_save(cairo);
  cairo_rectangle(cairo, frame.left, frame.top, frame.width, frame.height);
  cairo_clip(cairo);
  fill_rect(cairo, frame, paper_white);
  if (options.keep_clear) wash_areas_to_keep_clear(sheet);
  if (options.survey_limit) draw_survey_limit(sheet);
  if (options.existing_contours)
    draw_contours(sheet, contours(results.ground(), interval), interval, false, contour_labels);
  if (options.breaklines) codes = draw_breaklines(sheet);
  const std::vector<MaterialStyle> styles = layer_styles(results.mound().design());
  wash_footprint(sheet, styles.empty() ? ground_style().fill : styles.back().fill);
  draw_assumed_ground(sheet);
  draw_bed(sheet);
  if (options.finished_contours) {
    draw_contours(sheet, finished_contours(results.mound(), interval), interval, true, contour_labels);
  }
  std::vector<TopEdge> edges;
  if (options.layer_outlines) draw_top_edges(sheet, edges = top_edges(sheet));
  draw_toe(sheet);
  if (options.tape_ties) draw_ties(sheet, along);
  if (options.keep_clear) draw_keep_clear(sheet, labels);
  if (options.section_lines) draw_section_lines(sheet);
  if (options.borings) draw_borings(sheet, labels);
  draw_known_marks(sheet, labels);
  if (options.stakes) draw_stakes(sheet, labels);
  if (options.grid_ticks) draw_grid(sheet);
  draw_furniture(sheet);

  for (const MarkLabel& label : labels) sheet.labels.place(cairo, label.text, label.at, label.gap, label.style);
  for (const auto& [text, line] : along) sheet.labels.place_along(cairo, text, line, small_text(7, stake_colour));
  for (const auto& [code, line] : codes) sheet.labels.place_along(cairo, code, line, small_text(7, soft_ink));
  label_contours(sheet, contour_labels);
  cairo_restore(cairo);
  draw_rect(cairo, frame, {0.9, ink, {}});
}

double draw_plan_key(cairo_t* cairo, const SiteResults& results, const PaperRect& box, const PlanOptions& options) {
  TextStyle style;
  style.size = 7;
  constexpr double row = 11.5, sample = 24;
  double y = box.top + 0.5 * row;
  const auto entry = [&](const std::string& text, auto&& draw) {
    draw(Point2(box.left, y), Point2(box.left + sample, y));
    draw_text(cairo, text, {box.left + sample + 6, y}, 0, 0.5, style);
    y += row;
  };
  const auto line_entry = [&](const std::string& text, const Pen& pen) {
    entry(text, [&](const Point2& from, const Point2& to) { draw_line(cairo, {from, to}, pen); });
  };
  const auto mark_entry = [&](const std::string& text, auto&& draw) {
    entry(text, [&](const Point2& from, const Point2& to) { draw(Point2(0.5 * (from + to))); });
  };
  const Requirements& asked = results.job.site.lot.requirements;
  line_entry("toe: finished mound meets ground", toe_pen);
  if (options.layer_outlines) line_entry("edge of a layer's flat top", {0.7, ink, {3, 1.2}});
  if (options.finished_contours) line_entry("finished contour", finished_pen);
  if (options.existing_contours) line_entry("existing contour", existing_pen);
  if (options.breaklines && !results.survey.breaklines.empty()) {
    line_entry("breakline: " + joined_codes(results), breakline_pen);
  }
  if (options.keep_clear && !asked.keep_clear.empty()) line_entry("to be kept clear of", clear_pen);
  if (options.survey_limit) line_entry("limit of the survey", survey_pen);
  if (!results.ground().assumed.empty()) {
    entry("assumed ground: not surveyed", [&](const Point2& from, const Point2& to) {
      fill_rect(cairo, {from.x(), from.y() - 3.5, to.x() - from.x(), 7}, assumed_ground_colour(), assumed_opacity);
    });
  }
  if (options.section_lines) line_entry("section line", section_pen);
  if (options.tape_ties && results.found().stakes.tie_marks.size() == 2) line_entry("tape tie", tie_pen);
  if (options.stakes) {
    mark_entry("hub", [&](const Point2& at) { draw_stake_mark(cairo, StakeKind::hub, at); });
    mark_entry("slope stake", [&](const Point2& at) { draw_stake_mark(cairo, StakeKind::slope, at); });
    if (!results.job.site.lot.feed.empty()) {
      mark_entry("feed point", [&](const Point2& at) { draw_stake_mark(cairo, StakeKind::feed, at); });
    }
  }
  if (options.borings && !asked.borings.empty()) {
    mark_entry("boring", [&](const Point2& at) {
      draw_circle(cairo, at, 2.8, {0.8, ink, {}}, false);
      draw_cross(cairo, at, 2.8, {0.8, ink, {}});
    });
  }
  if (options.bench_mark && results.job.site.lot.benchmark) {
    mark_entry("bench mark", [&](const Point2& at) { draw_triangle(cairo, at, 4.2, ink); });
  }
  return y - 0.5 * row - box.top;
}

}  // namespace moundwright::io

#include "io/section_drawing.h"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "geom/bulk_units.h"
#include "geom/printed.h"
#include "geom/trade_text.h"

namespace moundwright::io {
namespace {

constexpr double side_margin = 40, top_margin = 34,
                 bottom_margin = 44;  // round the drawing in its frame
constexpr double seen = 1e-6;         // layers thinner than this are not there

/// What is shown of a section: where, and from which elevation to which.
struct Window {
  double from = 0, to = 0, low = 0, high = 0;
};

Window window_of(const Section& section) {
  Window window{1e300, -1e300, 1e300, -1e300};
  for (const SectionColumn& c : section.columns) {
    window.from = std::min(window.from, c.distance), window.to = std::max(window.to, c.distance);
    window.low = std::min({window.low, c.existing, c.surfaces.front()});
    window.high = std::max({window.high, c.existing, c.surfaces.back()});
  }
  if (section.columns.empty()) return {0, 1, 0, 1};
  const double depth = window.high - window.low;
  window.low -= 0.15 * depth;
  window.high += 0.15 * depth;  // for labels
  return window;
}

struct SectionSheet {
  cairo_t* cairo;
  const SiteResults& results;
  const SectionCut& cut;
  const Section& section;
  PaperRect plot;
  Window window;
  SectionScale scale;
  LabelField labels;

  double across() const { return scale.level.points_per_unit(); }
  double up() const { return across() * scale.exaggeration; }
  Point2 paper(double distance, double elevation) const {
    const double middle = 0.5 * (window.from + window.to);
    return {plot.centre().x() + (distance - middle) * across(), plot.bottom() - (elevation - window.low) * up()};
  }
};

/// Runs of columns [first, last] between which `thick` is anywhere more than nothing.
template <class Thick>
std::vector<std::pair<std::size_t, std::size_t>> runs_where(const Section& section, const Thick& thick) {
  std::vector<std::pair<std::size_t, std::size_t>> runs;
  for (std::size_t i = 0; i + 1 < section.columns.size(); i += 2) {
    if (std::max(thick(section.columns[i]), thick(section.columns[i + 1])) <= seen) continue;
    const bool goes_on = !runs.empty() && runs.back().second + 1 == i &&
                         section.columns[i].distance - section.columns[i - 1].distance < seen;
    if (goes_on) {
      runs.back().second = i + 1;
    } else {
      runs.emplace_back(i, i + 1);
    }
  }
  return runs;
}

/// Adds a point to a line, in place of the last one where that lies straight between: a section has columns wherever
/// any of its surfaces bends.
void go_on_to(const Point2& p, Polyline2& line) {
  constexpr double straight = 1e-3;  // points of paper
  if (line.size() > 1) {
    const Point2 before = line[line.size() - 2], step = p - before, last = line.back() - before;
    if (std::abs(step.x() * last.y() - step.y() * last.x()) <= straight * step.norm() && last.dot(step - last) >= 0) {
      line.back() = p;
      return;
    }
  }
  line.push_back(p);
}

/// The band between two surfaces as closed outlines on paper.
template <class Lower, class Upper>
std::vector<Polyline2> band(const SectionSheet& sheet, const Lower& lower, const Upper& upper) {
  std::vector<Polyline2> outlines;
  const auto thick = [&](const SectionColumn& c) { return upper(c) - lower(c); };
  for (const auto& [first, last] : runs_where(sheet.section, thick)) {
    Polyline2 outline;
    for (std::size_t i = first; i <= last; ++i) {
      const SectionColumn& c = sheet.section.columns[i];
      go_on_to(sheet.paper(c.distance, upper(c)), outline);
    }
    for (std::size_t i = last + 1; i-- > first;) {
      const SectionColumn& c = sheet.section.columns[i];
      go_on_to(sheet.paper(c.distance, lower(c)), outline);
    }
    outlines.push_back(std::move(outline));
  }
  return outlines;
}

template <class Height>
std::vector<Polyline2> surface_lines(const SectionSheet& sheet, const Height& height) {
  std::vector<Polyline2> lines;
  for (const auto& [first, last] : runs_where(sheet.section, [](const SectionColumn&) { return 1.0; })) {
    lines.emplace_back();
    for (std::size_t i = first; i <= last; ++i) {
      const SectionColumn& c = sheet.section.columns[i];
      go_on_to(sheet.paper(c.distance, height(c)), lines.back());
    }
  }
  return lines;
}

const auto existing = [](const SectionColumn& c) { return c.existing; };
const auto prepared = [](const SectionColumn& c) { return c.surfaces.front(); };
const auto finished = [](const SectionColumn& c) { return c.surfaces.back(); };

void fill_bands(SectionSheet& sheet, const std::vector<Polyline2>& outlines, const MaterialStyle& style) {
  for (const Polyline2& outline : outlines) {
    add_path(sheet.cairo, outline, true);
    fill_material(sheet.cairo, style);
    draw_line(sheet.cairo, outline, {0.5, ink, {}}, true);
  }
}

void draw_ground(SectionSheet& sheet) {
  const double floor = sheet.window.low;
  const std::vector<Polyline2> outlines = band(
      sheet, [&](const SectionColumn&) { return floor; }, prepared);
  for (const Polyline2& outline : outlines) {
    add_path(sheet.cairo, outline, true);
    fill_material(sheet.cairo, {lighter(ground_style().fill, 0.55), ground_style().hatch});
  }
}

void draw_existing_line(SectionSheet& sheet) {
  for (const Polyline2& line : surface_lines(sheet, existing)) {
    draw_line(sheet.cairo, line, {1.1, {0.30, 0.16, 0.05}, {7, 2.5}});
    sheet.labels.avoid(line);
  }
}

// ---- layer labels ------------------------------------------------------------------------------------------------

/// A place inside a layer where it is thick: as good as any for the foot of a leader.
struct Spot {
  Point2 at = Point2::Zero();
  double height = 0, width = 0;  // points, of the layer there
};

Spot thickest(const SectionSheet& sheet, std::size_t k) {
  Spot best;
  const auto& columns = sheet.section.columns;
  double best_area = 0;
  for (std::size_t i = 0; i + 1 < columns.size(); i += 2) {
    // The widest stretch over which this layer is never thinner than here.
    const auto thick = [&](std::size_t j) { return columns[j].surfaces[k + 1] - columns[j].surfaces[k]; };
    const double here = std::min(thick(i), thick(i + 1));
    if (here <= seen) continue;
    std::size_t last = i + 1;
    while (last + 2 < columns.size() && std::min(thick(last + 1), thick(last + 2)) >= 0.9 * here) last += 2;
    const double width = (columns[last].distance - columns[i].distance) * sheet.across();
    const double area = std::min(width, 120.0) * std::min(here * sheet.up(), 14.0);
    if (area <= best_area) continue;
    best_area = area;
    const double middle = 0.5 * (columns[i].distance + columns[last].distance);
    std::size_t at = i;
    while (at + 3 < columns.size() && columns[at + 1].distance < middle) at += 2;
    const double share = std::clamp(
        (middle - columns[at].distance) / std::max(columns[at + 1].distance - columns[at].distance, seen), 0.0, 1.0);
    const auto mid = [&](std::size_t j) { return 0.5 * (columns[j].surfaces[k] + columns[j].surfaces[k + 1]); };
    best = {sheet.paper(middle, mid(at) + (mid(at + 1) - mid(at)) * share), here * sheet.up(), width};
  }
  return best;
}

/// The mound itself, in narrow strips: labels with leaders stand outside it.
void keep_off_mound(SectionSheet& sheet) {
  const auto& columns = sheet.section.columns;
  for (std::size_t i = 0; i + 1 < columns.size(); i += 2) {
    const Point2 a = sheet.paper(columns[i].distance, columns[i].surfaces.back());
    const Point2 b = sheet.paper(columns[i + 1].distance, columns[i + 1].surfaces.back());
    const int strips = std::max(1, static_cast<int>((b.x() - a.x()) / 5));
    for (int k = 0; k < strips; ++k) {
      const Point2 p = a + (b - a) * k / strips, q = a + (b - a) * (k + 1) / strips;
      const double top = std::min(p.y(), q.y());
      sheet.labels.keep_off(PaperRect{p.x(), top, q.x() - p.x(), sheet.plot.bottom() - top});
    }
  }
}

/// True where a box lies in layer k, but for a hair.
bool lies_in_layer(const SectionSheet& sheet, std::size_t k, const PaperRect& box) {
  const double slack = 0.15 * box.height;
  const auto& columns = sheet.section.columns;
  const auto inside = [&](const SectionColumn& a, const SectionColumn& b, double x) {
    const double from = sheet.paper(a.distance, 0).x(), to = sheet.paper(b.distance, 0).x();
    const double share = to > from ? (x - from) / (to - from) : 0;
    const auto y_of = [&](std::size_t surface) {
      return sheet.paper(0, a.surfaces[surface] + (b.surfaces[surface] - a.surfaces[surface]) * share).y();
    };
    return y_of(k + 1) <= box.top + slack && y_of(k) >= box.bottom() - slack;
  };
  for (std::size_t i = 0; i + 1 < columns.size(); i += 2) {
    const double from = sheet.paper(columns[i].distance, 0).x(), to = sheet.paper(columns[i + 1].distance, 0).x();
    if (to < box.left || from > box.right()) continue;
    if (!inside(columns[i], columns[i + 1], std::max(from, box.left)) ||
        !inside(columns[i], columns[i + 1], std::min(to, box.right()))) {
      return false;
    }
  }
  return true;
}

/// The middle of layer k at this x on paper, and how high it is there; nothing where it is not.
std::optional<Spot> middle_at(const SectionSheet& sheet, std::size_t k, double x) {
  const auto& columns = sheet.section.columns;
  for (std::size_t i = 0; i + 1 < columns.size(); i += 2) {
    const SectionColumn &a = columns[i], &b = columns[i + 1];
    const double from = sheet.paper(a.distance, 0).x(), to = sheet.paper(b.distance, 0).x();
    if (x < from || x > to || to <= from) continue;
    const double share = (x - from) / (to - from);
    const double low = a.surfaces[k] + (b.surfaces[k] - a.surfaces[k]) * share;
    const double high = a.surfaces[k + 1] + (b.surfaces[k + 1] - a.surfaces[k + 1]) * share;
    if (high - low <= seen) return std::nullopt;
    return Spot{{x, sheet.paper(0, 0.5 * (low + high)).y()}, (high - low) * sheet.up(), 0};
  }
  return std::nullopt;
}

/// Writes a label into its layer, near `wish` and clear of lines where that can be; false where it does not go in.
bool write_inside(SectionSheet& sheet, std::size_t k, const std::string& text, const Point2& wish) {
  TextStyle style;
  style.halo = 1.2;
  const TextSize size = measure_text(sheet.cairo, text, style);
  const auto box_at = [&](const Point2& at) {
    return PaperRect{at.x() - 0.5 * size.width, at.y() - 0.5 * size.height, size.width, size.height};
  };
  double best_cost = 1e300;
  Point2 best = wish;
  const auto try_at = [&](double x) {
    const std::optional<Spot> spot = middle_at(sheet, k, x);
    if (!spot || spot->height < 0.7 * size.height) return;
    for (const double shift : {0.0, -0.22, 0.22, -0.33, 0.33}) {
      const Point2 at = spot->at + Point2(0, shift * spot->height);
      if (!sheet.labels.is_free(box_at(at)) || !lies_in_layer(sheet, k, box_at(at))) continue;
      const double cost = sheet.labels.crossed(box_at(at)) + 0.2 * std::abs(x - wish.x()) + 4 * std::abs(shift);
      if (cost < best_cost) best_cost = cost, best = at;
    }
  };
  try_at(wish.x());
  for (double x = sheet.plot.left; x < sheet.plot.right(); x += 6) try_at(x);
  if (best_cost == 1e300) return false;
  draw_text(sheet.cairo, text, best, 0.5, 0.5, style);
  sheet.labels.keep_off_text(box_at(best));
  return true;
}

void label_layers(SectionSheet& sheet) {
  std::vector<std::pair<std::string, Point2>> outside;
  const std::vector<Layer>& layers = sheet.results.mound().design().layers;
  for (std::size_t k = 0; k < layers.size(); ++k) {
    const Spot spot = thickest(sheet, k);
    if (spot.width <= 0) continue;
    const std::string text =
        layers[k].material == layers[k].name ? layers[k].name : layers[k].name + ": " + layers[k].material;
    if (!write_inside(sheet, k, text, spot.at)) outside.emplace_back(text, spot.at);
  }
  keep_off_mound(sheet);
  TextStyle style;
  style.halo = 1.2;
  for (const auto& [text, at] : outside) sheet.labels.place_with_leader(sheet.cairo, text, at, style);
}

// ---- elevations, distances, dimensions -----------------------------------------------------------------------------

void draw_elevations(SectionSheet& sheet, bool both_sides) {
  const double step = round_step(11 / sheet.up());
  TextStyle style;
  style.size = 7;
  const double left = sheet.plot.left, right = sheet.plot.right();
  for (double z = std::ceil(sheet.window.low / step) * step; z <= sheet.window.high + 0.5 * step; z += step) {
    const double y = sheet.paper(0, z).y();
    draw_line(sheet.cairo, {{left, y}, {right, y}}, {0.3, {0.80, 0.80, 0.80}, {}});
    draw_line(sheet.cairo, {{left - 4, y}, {left, y}}, {0.6, ink, {}});
    if (both_sides) draw_line(sheet.cairo, {{right, y}, {right + 4, y}}, {0.6, ink, {}});
    const std::string text = fmt::format("{:g}", std::round(z * 1e6) / 1e6);
    draw_text(sheet.cairo, text, {left - 6, y}, 1, 0.5, style);
    if (both_sides) draw_text(sheet.cairo, text, {right + 6, y}, 0, 0.5, style);
  }
}

/// The levels of the grade card at the right, moved apart where they stand close.
void draw_grades(SectionSheet& sheet, double room) {
  constexpr double apart = 8.8;
  std::vector<std::pair<double, std::string>> rows;  // paper y of the grade, text
  for (const Grade& grade : sheet.results.found().stakes.grades) {
    const std::string elevation = fixed_text(grade.elevation, length_decimals(sheet.scale.level.unit));
    rows.emplace_back(sheet.paper(0, grade.elevation).y(), elevation + "  " + grade.name);
  }
  std::vector<double> at;  // lowest grade first: y falls
  for (const auto& [y, text] : rows) at.push_back(at.empty() ? y : std::min(y, at.back() - apart));
  if (at.empty()) return;
  // Half of what the spreading pushed up goes down again.
  const double down = 0.5 * (rows.back().first - at.back());
  const double right = sheet.plot.right();
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const double y = at[i] + down;
    draw_line(sheet.cairo, {{right, rows[i].first}, {right + 5, rows[i].first}, {right + 12, y}, {right + 16, y}},
              {0.5, ink, {}});
    TextStyle style;
    style.size *= std::min(1.0, room / measure_text(sheet.cairo, rows[i].second, style).width);
    draw_text(sheet.cairo, rows[i].second, {right + 18, y}, 0, 0.5, style);
  }
}

void draw_distances(SectionSheet& sheet) {
  const double step = round_step(32 / sheet.across());
  TextStyle style;
  style.size = 7;
  const double y = sheet.plot.bottom();
  const double from = sheet.window.from - sheet.cut.zero, to = sheet.window.to - sheet.cut.zero;
  for (double s = std::ceil(from / step) * step; s <= to; s += step) {
    const double x = sheet.paper(s + sheet.cut.zero, 0).x();
    draw_line(sheet.cairo, {{x, y}, {x, y + 4}}, {0.6, ink, {}});
    const std::string text =
        sheet.cut.across ? offset_text(s, sheet.scale.level.unit) : station_text(s, sheet.scale.level.unit);
    draw_text(sheet.cairo, text, {x, y + 5}, 0.5, 0, style);
  }
}

/// Toe, bed edge, bed edge, toe along the cut: where the finished mound begins and ends, and the bed between.
std::vector<double> dimension_stops(const SectionSheet& sheet) {
  const auto runs = runs_where(sheet.section, [](const SectionColumn& c) { return c.surfaces.back() - c.existing; });
  if (runs.empty()) return {};
  std::vector<double> stops{sheet.section.columns[runs.front().first].distance};
  const std::vector<Polygon2> bed = bed_on_ground(sheet.results.mound());
  double before = 0, in = 1e300, out = -1e300;
  for (std::size_t i = 1; i < sheet.cut.line.size(); ++i) {
    const Point2& a = sheet.cut.line[i - 1];
    const Point2 step = sheet.cut.line[i] - a;
    for (const Polygon2& outline : bed) {
      double from = 0, to = 1;
      for (std::size_t k = 0; k < outline.size(); ++k) {
        const Point2& p = outline[k];
        const Point2 edge = outline[(k + 1) % outline.size()] - p, off = a - p;
        const double start = edge.x() * off.y() - edge.y() * off.x(), slope = edge.x() * step.y() - edge.y() * step.x();
        if (std::abs(slope) < 1e-12) {
          if (start < 0) to = -1;
        } else if (slope > 0) {
          from = std::max(from, -start / slope);
        } else {
          to = std::min(to, -start / slope);
        }
      }
      if (from < to) in = std::min(in, before + from * step.norm()), out = std::max(out, before + to * step.norm());
    }
    before += step.norm();
  }
  if (in < out) stops.insert(stops.end(), {in, out});
  stops.push_back(sheet.section.columns[runs.back().second].distance);
  return stops;
}

void draw_dimensions(SectionSheet& sheet) {
  const std::vector<double> stops = dimension_stops(sheet);
  if (stops.size() != 4) return;
  const char* names[3] = {"upslope berm ", "bed ", "downslope berm "};
  if (!sheet.cut.across) names[0] = "left berm ", names[2] = "right berm ";
  TextStyle style;
  style.size = 7, style.halo = 1.5;
  const double y = sheet.plot.top - 12;
  for (const double stop : stops) {
    const auto& columns = sheet.section.columns;
    double top = sheet.window.low;
    for (const SectionColumn& c : columns) {
      if (std::abs(c.distance - stop) < 1e-6) top = std::max(top, c.surfaces.back());
    }
    const Point2 at = sheet.paper(stop, std::max(top, sheet.window.low));
    const double foot = top > sheet.window.low ? at.y() - 3 : sheet.plot.top + 4;
    draw_line(sheet.cairo, {{at.x(), foot}, {at.x(), y - 4}}, {0.35, soft_ink, {}});
  }
  const char* unit = symbol(sheet.scale.level.unit);
  for (std::size_t i = 0; i < 3; ++i) {
    const std::string length = fixed_text(stops[i + 1] - stops[i], 1);
    draw_dimension(sheet.cairo, {sheet.paper(stops[i], 0).x(), y}, {sheet.paper(stops[i + 1], 0).x(), y},
                   {names[i] + length + " " + unit, length + " " + unit, length}, style);
  }
}

std::string scale_words(const SectionScale& scale) {
  if (scale.exaggeration == 1) return to_text(scale.level) + ", heights not exaggerated";
  DrawingScale up = scale.level;
  up.denominator /= scale.exaggeration;
  return fmt::format("level {}, heights {}: exaggerated {:g} times", to_text(scale.level), to_text(up),
                     scale.exaggeration);
}

void draw_title(SectionSheet& sheet) {
  TextStyle bold;
  bold.size = 9, bold.bold = true;
  TextStyle plain;
  plain.size = 7;
  const double y = sheet.plot.bottom() + 18;
  const std::string name = fmt::format("Section {0}-{0}'", sheet.cut.mark);
  draw_text(sheet.cairo, name, {sheet.plot.centre().x(), y}, 0.5, 0, bold);
  draw_text(sheet.cairo, sheet.cut.title + "; " + scale_words(sheet.scale), {sheet.plot.centre().x(), y + 12}, 0.5, 0,
            plain);
}

/// As wide as the longest grade needs, but never more than a third of the frame.
double grades_width(const SiteResults& results, const PaperRect& frame) {
  constexpr double letter = 4.4, leader_and_elevation = 58;  // points, in the size that draw_grades writes
  std::size_t longest = 0;
  for (const Grade& grade : results.found().stakes.grades) longest = std::max(longest, grade.name.size());
  return std::min(leader_and_elevation + letter * static_cast<double>(longest), frame.width / 3);
}

PaperRect plot_in(const PaperRect& frame, const SiteResults& results, const SectionOptions& options) {
  const double left = options.elevation_scale ? side_margin : 0;
  const double right = options.grades ? grades_width(results, frame) : left;
  const double top = options.dimensions ? top_margin : 6, bottom = options.title ? bottom_margin : bottom_margin - 26;
  return {frame.left + left, frame.top + top, frame.width - left - right, frame.height - top - bottom};
}

double reach_of_toe(const SiteResults& results, const Point2& from, const Point2& direction) {
  double most = 0;
  for (const Polygon2& loop : results.mound().buildup.toe.outer) {
    for (const Point2& p : loop) most = std::max(most, direction.dot(p - from));
  }
  return most;
}

/// The bed's centre line in reduced coordinates, left to right.
Polyline2 centre_line(const SiteResults& results) {
  Polyline2 line;
  for (const Point2& p : results.mound().shape().line) {
    line.push_back(results.mound().to_reduced(p));
  }
  return line;
}

struct KeyRow {
  MaterialStyle look;
  std::string text, volume;
};
constexpr double key_row = 15;

/// From the top of the mound down, as the layers lie, then the cuts and the ground.
std::vector<KeyRow> key_rows(const SiteResults& results) {
  std::vector<KeyRow> rows;
  const std::vector<MaterialStyle> styles = layer_styles(results.mound().design());
  const BulkUnits& bulk = bulk_units(results.job.site.unit);
  const auto volume = [&](const TakeoffItem& item) {
    return fmt::format("{} {}", fixed_text(bulk.of_yard * item.volume_cy, 1), bulk.volume);
  };
  for (std::size_t k = styles.size(); k-- > 0;) {
    const TakeoffItem& item = results.found().takeoff.fill[k];
    const std::string text = item.material == item.name ? item.name : item.name + ": " + item.material;
    rows.push_back({styles[k], text, volume(item)});
  }
  for (const TakeoffItem& item : results.found().takeoff.cut) {
    rows.push_back({cut_style(), "cut: " + item.name, volume(item)});
  }
  rows.push_back({{lighter(ground_style().fill, 0.55), ground_style().hatch}, "ground as it is", ""});
  return rows;
}

double length_of(const Polyline2& line) {
  double length = 0;
  for (std::size_t i = 1; i < line.size(); ++i) length += (line[i] - line[i - 1]).norm();
  return length;
}

}  // namespace

std::vector<SectionCut> standard_cuts(const SiteResults& results) {
  const Polyline2 centre = centre_line(results);
  double left = 0.5 * length_of(centre);
  std::size_t i = 1;
  while (i + 1 < centre.size() && left > (centre[i] - centre[i - 1]).norm())
    left -= (centre[i] - centre[i - 1]).norm(), ++i;
  const double piece = (centre[i] - centre[i - 1]).norm();
  const double to_bend = std::min(i > 1 ? left : piece, i + 1 < centre.size() ? piece - left : piece);
  std::string where = "the middle of the bed";
  if (to_bend < results.mound().design().bed.width) {  // square to one piece, it would cut askew through the next
    left = 0.5 * piece;
    where = fmt::format("the middle of piece {} of the bed, from the left", i);
  }
  const Point2 along = (centre[i] - centre[i - 1]).normalized(), down(-along.y(), along.x());
  const Point2 middle = centre[i - 1] + along * left;

  SectionCut across{"A", fmt::format("across the mound at {}, upslope at the left", where), {}, 0, true};
  const double up_reach = reach_of_toe(results, middle, -down), down_reach = reach_of_toe(results, middle, down);
  const double margin = 0.08 * (up_reach + down_reach);
  across.line = {middle - down * (up_reach + margin), middle + down * (down_reach + margin)};
  across.zero = up_reach + margin;

  SectionCut lengthwise{"B", "along the middle of the bed, looking downslope", centre, 0, false};
  const Point2 first = (centre[1] - centre[0]).normalized();
  const Point2 last = (centre.back() - centre[centre.size() - 2]).normalized();
  const double left_reach = reach_of_toe(results, centre.front(), -first) + margin;
  const double right_reach = reach_of_toe(results, centre.back(), last) + margin;
  lengthwise.line.front() -= first * left_reach;
  lengthwise.line.back() += last * right_reach;
  lengthwise.zero = left_reach;
  return {across, lengthwise};
}

Section section_along(const SiteResults& results, const Polyline2& line) {
  Section whole;
  double before = 0;
  for (std::size_t i = 1; i < line.size(); ++i) {
    Section piece = cut_section(results.mound(), line[i - 1], line[i]);
    for (SectionColumn& column : piece.columns) {
      column.distance += before;
      whole.columns.push_back(std::move(column));
    }
    before += (line[i] - line[i - 1]).norm();
  }
  return whole;
}

SectionScale section_scale(const SiteResults& results, const SectionCut& cut, const PaperRect& frame,
                           const SectionOptions& options) {
  const Window window = window_of(section_along(results, cut.line));
  const PaperRect plot = plot_in(frame, results, options);
  const LengthUnit unit = results.job.site.unit;
  const double width = window.to - window.from, height = window.high - window.low;
  const DrawingScale by_width = fitting_scale(unit, width, 0, plot.width, plot.height);
  const std::vector<double> exaggerations = cut.across ? std::vector<double>{2} : std::vector<double>{4, 2};
  for (const double exaggeration : exaggerations) {
    if (exaggeration * height * by_width.points_per_unit() <= plot.height) return {by_width, exaggeration};
  }
  return {fitting_scale(unit, width, height, plot.width, plot.height), 1};
}

void draw_section(cairo_t* cairo, const SiteResults& results, const SectionCut& cut, const PaperRect& frame,
                  const SectionScale& scale, const SectionOptions& options) {
  const Section section = section_along(results, cut.line);
  const Window window = window_of(section);
  // As wide and high as what is drawn, in the middle of the room there is.
  PaperRect plot = plot_in(frame, results, options);
  const double across = scale.level.points_per_unit();
  const double width = std::min(plot.width, (window.to - window.from) * across);
  const double height = std::min(plot.height, (window.high - window.low) * across * scale.exaggeration);
  plot = {plot.left + 0.5 * (plot.width - width), plot.top + 0.5 * (plot.height - height), width, height};
  SectionSheet sheet{cairo, results, cut, section, plot, window, scale, LabelField(inset(plot, 1))};
  const std::vector<MaterialStyle> styles = layer_styles(results.mound().design());
  if (options.elevation_scale) {
    draw_elevations(sheet, !options.grades);
    draw_distances(sheet);
  }
  draw_ground(sheet);
  fill_bands(sheet, band(sheet, prepared, existing), cut_style());
  for (std::size_t k = 0; k < styles.size(); ++k) {
    fill_bands(sheet,
               band(
                   sheet, [k](const SectionColumn& c) { return c.surfaces[k]; },
                   [k](const SectionColumn& c) { return c.surfaces[k + 1]; }),
               styles[k]);
  }
  draw_existing_line(sheet);
  for (const Polyline2& line : surface_lines(sheet, finished)) {
    draw_line(cairo, line, {1.3, ink, {}});
    sheet.labels.avoid(line);
  }
  draw_rect(cairo, plot, {0.6, ink, {}});
  if (options.grades) draw_grades(sheet, grades_width(results, frame) - 22);
  if (options.dimensions) draw_dimensions(sheet);
  if (options.layer_labels) label_layers(sheet);
  if (options.title) draw_title(sheet);
}

double material_key_height(const SiteResults& results, std::size_t columns) {
  const std::size_t in_a_column = (key_rows(results).size() + columns - 1) / columns;
  return static_cast<double>(in_a_column) * key_row;
}

double draw_material_key(cairo_t* cairo, const SiteResults& results, const PaperRect& box, std::size_t columns) {
  const std::vector<KeyRow> rows = key_rows(results);
  constexpr double gap = 22, swatch = 24;
  const std::size_t in_a_column = (rows.size() + columns - 1) / columns;
  const double width = (box.width - gap * static_cast<double>(columns - 1)) / static_cast<double>(columns);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const std::size_t column = i / in_a_column;
    const double left = box.left + static_cast<double>(column) * (width + gap);
    const double y = box.top + static_cast<double>(i % in_a_column) * key_row, middle = y + 0.5 * key_row - 1;
    draw_swatch(cairo, {left, y + 1, swatch, key_row - 4}, rows[i].look);
    TextStyle style;
    const double room = width - swatch - 12 - measure_text(cairo, rows[i].volume, style).width;
    draw_text(cairo, rows[i].volume, {left + width, middle}, 1, 0.5, style);
    style.size *= std::min(1.0, room / measure_text(cairo, rows[i].text, style).width);
    draw_text(cairo, rows[i].text, {left + swatch + 6, middle}, 0, 0.5, style);
  }
  return material_key_height(results, columns);
}

}  // namespace moundwright::io

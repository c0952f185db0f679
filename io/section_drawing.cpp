#include "io/section_drawing.h"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace moundwright {
namespace {

constexpr double side_margin = 40, top_margin = 46, bottom_margin = 44;  // round the drawing in its frame
constexpr double seen = 1e-6;                                            // layers thinner than this are not there
constexpr double labels_above_plot = 28;                                 // over the dimensions

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
  window.low -= std::max(0.15 * depth, 0.5);
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

/// The band between two surfaces as closed outlines on paper.
template <class Lower, class Upper>
std::vector<Polyline2> band(const SectionSheet& sheet, const Lower& lower, const Upper& upper) {
  std::vector<Polyline2> outlines;
  const auto thick = [&](const SectionColumn& c) { return upper(c) - lower(c); };
  for (const auto& [first, last] : runs_where(sheet.section, thick)) {
    Polyline2 outline;
    for (std::size_t i = first; i <= last; ++i) {
      const SectionColumn& c = sheet.section.columns[i];
      outline.push_back(sheet.paper(c.distance, upper(c)));
    }
    for (std::size_t i = last + 1; i-- > first;) {
      const SectionColumn& c = sheet.section.columns[i];
      outline.push_back(sheet.paper(c.distance, lower(c)));
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
      lines.back().push_back(sheet.paper(c.distance, height(c)));
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
  }
}

// ---- layer labels ------------------------------------------------------------------------------------------------

void draw_dot(cairo_t* cairo, const Point2& at) {
  cairo_new_sub_path(cairo);
  cairo_arc(cairo, at.x(), at.y(), 1.3, 0, 2 * M_PI);
  set_colour(cairo, ink);
  cairo_fill(cairo);
}

/// A place inside a layer where it is thick: as good as any for its name or the foot of a leader.
struct Spot {
  Point2 at = Point2::Zero();
  double height = 0, width = 0;  // points, of the layer there
};

/// Where a layer is widest and thickest, neither counting for more than is asked.
Spot roomiest(const SectionSheet& sheet, std::size_t k, double width_asked, double height_asked) {
  Spot best;
  const auto& columns = sheet.section.columns;
  double best_area = 0;
  for (std::size_t i = 0; i + 1 < columns.size(); i += 2) {
    // The widest stretch over which this layer is hardly thinner than here.
    const auto thick = [&](std::size_t j) { return columns[j].surfaces[k + 1] - columns[j].surfaces[k]; };
    const double here = std::min(thick(i), thick(i + 1));
    if (here <= seen) continue;
    std::size_t last = i + 1;
    while (last + 2 < columns.size() && std::min(thick(last + 1), thick(last + 2)) >= 0.9 * here) last += 2;
    const double width = (columns[last].distance - columns[i].distance) * sheet.across();
    const double area = std::min(width, width_asked) * std::min(here * sheet.up(), height_asked);
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

struct LayerLabel {
  std::string text;
  Point2 spot;         // in the layer
  double width, left;  // of the text
};

/// Side by side in their order, each as near over its spot as the others let it.
void spread_labels(std::vector<LayerLabel>& labels, double from, double to) {
  constexpr double gap = 9;
  std::stable_sort(labels.begin(), labels.end(), [](const auto& a, const auto& b) { return a.spot.x() < b.spot.x(); });
  double left = from;
  for (LayerLabel& label : labels) {
    label.left = std::max(left, label.spot.x() - 0.5 * label.width);
    left = label.left + label.width + gap;
  }
  double right = to;
  for (auto label = labels.rbegin(); label != labels.rend(); ++label) {
    label->left = std::min(label->left, right - label->width);
    right = label->left - gap;
  }
}

/// Inside the layer where there is room, else in a row above the dimensions with a leader down to it.
void label_layers(SectionSheet& sheet, const PaperRect& frame) {
  TextStyle style;
  style.size = 7, style.halo = 1.3;
  std::vector<LayerLabel> outside;
  for (std::size_t k = 0; k < sheet.results.plan.design.layers.size(); ++k) {
    const Layer& layer = sheet.results.plan.design.layers[k];
    const std::string text = layer.material == layer.name ? layer.name : layer.name + ": " + layer.material;
    const TextSize size = measure_text(sheet.cairo, text, style);
    const Spot inside = roomiest(sheet, k, size.width + 4, size.height);
    if (inside.width <= 0) continue;
    if (size.height <= inside.height && size.width + 4 <= inside.width) {
      draw_text(sheet.cairo, text, inside.at, 0.5, 0.5, style);
      continue;
    }
    outside.push_back({text, roomiest(sheet, k, 20, 20).at, size.width, 0});
  }
  spread_labels(outside, frame.left + 2, frame.right() - 2);
  const double foot = sheet.plot.top - labels_above_plot;
  for (const LayerLabel& label : outside) {
    draw_line(sheet.cairo, {{label.left + 0.5 * label.width, foot}, label.spot}, {0.5, ink, {}});
    draw_dot(sheet.cairo, label.spot);
    draw_text(sheet.cairo, label.text, {label.left, foot}, 0, 1, style);
  }
}

// ---- elevations, distances, dimensions -----------------------------------------------------------------------------

void draw_elevations(SectionSheet& sheet) {
  const double step = round_step(11 / sheet.up());
  TextStyle style;
  style.size = 7;
  const double left = sheet.plot.left, right = sheet.plot.right();
  for (double z = std::ceil(sheet.window.low / step) * step; z <= sheet.window.high + 0.5 * step; z += step) {
    const double y = sheet.paper(0, z).y();
    draw_line(sheet.cairo, {{left, y}, {right, y}}, {0.3, {0.80, 0.80, 0.80}, {}});
    draw_line(sheet.cairo, {{left - 4, y}, {left, y}}, {0.6, ink, {}});
    draw_line(sheet.cairo, {{right, y}, {right + 4, y}}, {0.6, ink, {}});
    const std::string text = fmt::format("{:g}", std::round(z * 1e6) / 1e6);
    draw_text(sheet.cairo, text, {left - 6, y}, 1, 0.5, style);
    draw_text(sheet.cairo, text, {right + 6, y}, 0, 0.5, style);
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
  const std::vector<Polygon2> bed = bed_on_ground(sheet.results.ground, sheet.results.plan);
  double before = 0, in = 1e300, out = -1e300;
  for (std::size_t i = 1; i < sheet.cut.line.size(); ++i) {
    const Point2 a = sheet.cut.line[i - 1], step = sheet.cut.line[i] - a;
    for (const Polygon2& outline : bed) {
      double from = 0, to = 1;
      for (std::size_t k = 0; k < outline.size(); ++k) {
        const Point2 p = outline[k], edge = outline[(k + 1) % outline.size()] - p, off = a - p;
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
    const std::string text = fmt::format("{}{:.1f} {}", names[i], stops[i + 1] - stops[i], unit);
    draw_dimension(sheet.cairo, {sheet.paper(stops[i], 0).x(), y}, {sheet.paper(stops[i + 1], 0).x(), y}, text, style);
  }
}

std::string scale_words(const SectionScale& scale) {
  if (scale.exaggeration == 1) return to_text(scale.level) + ", heights not exaggerated";
  DrawingScale up = scale.level;
  up.denominator /= scale.exaggeration;
  return fmt::format("level {}, heights {}: exaggerated {:g} times", to_text(scale.level), to_text(up),
                     scale.exaggeration);
}

void draw_title(SectionSheet& sheet, const PaperRect& frame) {
  TextStyle bold;
  bold.size = 9, bold.bold = true;
  TextStyle plain;
  plain.size = 7;
  const double y = sheet.plot.bottom() + 18;
  const std::string name = fmt::format("Section {0}-{0}'", sheet.cut.mark);
  draw_text(sheet.cairo, name, {frame.centre().x(), y}, 0.5, 0, bold);
  draw_text(sheet.cairo, sheet.cut.title + "; " + scale_words(sheet.scale), {frame.centre().x(), y + 12}, 0.5, 0,
            plain);
}

PaperRect plot_in(const PaperRect& frame) {
  return {frame.left + side_margin, frame.top + top_margin, frame.width - 2 * side_margin,
          frame.height - top_margin - bottom_margin};
}

double reach_of_toe(const SiteResults& results, const Point2& from, const Point2& direction) {
  double most = 0;
  for (const Polygon2& loop : results.buildup.toe.outer) {
    for (const Point2& p : loop) most = std::max(most, direction.dot(p - from));
  }
  return most;
}

/// The bed's centre line in reduced coordinates, left to right.
Polyline2 centre_line(const SiteResults& results) {
  Polyline2 line;
  for (const Point2& p : results.plan.shape.line) {
    line.push_back(results.ground.to_local(results.plan.placement.to_world(p)));
  }
  return line;
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
  const Point2 along = (centre[i] - centre[i - 1]).normalized(), down(-along.y(), along.x());
  const Point2 middle = centre[i - 1] + along * left;

  SectionCut across{"A", "across the mound at the middle of the bed, upslope at the left", {}, 0, true};
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
    Section piece = cut_section(results.ground, results.plan, results.buildup, line[i - 1], line[i]);
    for (SectionColumn& column : piece.columns) {
      column.distance += before;
      whole.columns.push_back(std::move(column));
    }
    before += (line[i] - line[i - 1]).norm();
  }
  return whole;
}

SectionScale section_scale(const SiteResults& results, const SectionCut& cut, const PaperRect& frame) {
  const Window window = window_of(section_along(results, cut.line));
  const PaperRect plot = plot_in(frame);
  const LengthUnit unit = results.job.site.unit;
  const double width = window.to - window.from, height = window.high - window.low;
  for (const double exaggeration : {2.0, 1.0}) {
    const DrawingScale scale = fitting_scale(unit, width, exaggeration * height, plot.width, plot.height);
    const DrawingScale by_width = fitting_scale(unit, width, 0, plot.width, plot.height);
    if (scale.denominator == by_width.denominator || exaggeration == 1) return {scale, exaggeration};
  }
  return {};
}

void draw_section(cairo_t* cairo, const SiteResults& results, const SectionCut& cut, const PaperRect& frame,
                  const SectionScale& scale, const SectionOptions& options) {
  const Section section = section_along(results, cut.line);
  PaperRect plot = plot_in(frame);
  const Window window = window_of(section);
  // As high as what is drawn, in the middle of the room there is.
  const double height =
      std::min(plot.height, (window.high - window.low) * scale.level.points_per_unit() * scale.exaggeration);
  plot.top += 0.5 * (plot.height - height), plot.height = height;
  SectionSheet sheet{cairo, results, cut, section, plot, window, scale};
  const std::vector<MaterialStyle> styles = layer_styles(results.plan.design);
  if (options.elevation_scale) {
    draw_elevations(sheet);
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
  }
  draw_rect(cairo, plot, {0.6, ink, {}});
  // Leaders first: the dimensions' figures stand clear of them.
  if (options.layer_labels) label_layers(sheet, frame);
  if (options.dimensions) draw_dimensions(sheet);
  if (options.title) draw_title(sheet, frame);
}

double draw_material_key(cairo_t* cairo, const SiteResults& results, const PaperRect& box) {
  const std::vector<MaterialStyle> styles = layer_styles(results.plan.design);
  TextStyle style;
  style.size = 7;
  constexpr double row = 15;
  double y = box.top;
  const auto entry = [&](const MaterialStyle& look, const std::string& text, const std::string& yards) {
    draw_swatch(cairo, {box.left, y + 1, 24, row - 4}, look);
    draw_text(cairo, text, {box.left + 30, y + 0.5 * row - 1}, 0, 0.5, style);
    if (!yards.empty()) draw_text(cairo, yards, {box.right(), y + 0.5 * row - 1}, 1, 0.5, style);
    y += row;
  };
  // From the top down, as they lie.
  for (std::size_t k = styles.size(); k-- > 0;) {
    const TakeoffItem& item = results.takeoff.fill[k];
    const std::string text = item.material == item.name ? item.name : item.name + ": " + item.material;
    entry(styles[k], text, fmt::format("{:.1f} cu yd", item.volume_cy));
  }
  for (const TakeoffItem& item : results.takeoff.cut) {
    entry(cut_style(), "cut: " + item.name, fmt::format("{:.1f} cu yd", item.volume_cy));
  }
  entry({lighter(ground_style().fill, 0.55), ground_style().hatch}, "ground as it is", "");
  return y - box.top;
}

}  // namespace moundwright

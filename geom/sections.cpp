#include "geom/sections.h"

#include <fmt/format.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>

#include "geom/limits.h"
#include "geom/plan.h"
#include "geom/toe.h"

namespace moundwright {
namespace {

constexpr double nothing = -std::numeric_limits<double>::infinity();

/// A straight function of the distance along the cut: value at zero, and slope.
struct Straight {
  double start, slope;
  double at(double s) const { return start + slope * s; }
};

/// A concave piece along the cut: where it is, and its planes as straight functions.
struct CutPiece {
  double from = nothing, to = -nothing;
  std::vector<Straight> planes;
  double at(double s) const { return s < from || s > to ? nothing : least_at(s); }
  double least_at(double s) const {
    double least = -nothing;
    for (const Straight& plane : planes) least = std::min(least, plane.at(s));
    return least;
  }
};

using CutShape = std::vector<CutPiece>;

double height_of(const CutShape& shape, double s) {
  double most = nothing;
  for (const CutPiece& piece : shape) most = std::max(most, piece.at(s));
  return most;
}

/// The cut in the mound frame.
struct Line {
  Point2 start, direction;
  Straight along(double a, double b, double c) const {
    return {a * start.x() + b * start.y() + c, a * direction.x() + b * direction.y()};
  }
};

CutShape cut_shape(const std::vector<ConcavePiece>& pieces, const Line& line, double datum) {
  CutShape shape;
  for (const ConcavePiece& piece : pieces) {
    CutPiece cut;
    for (const PlanLine& l : piece.inside) {
      const Straight f = line.along(l.a, l.b, l.c);
      if (std::abs(f.slope) < 1e-12) {
        if (f.start < 0) cut.to = nothing;
      } else if (f.slope > 0) {
        cut.from = std::max(cut.from, -f.start / f.slope);
      } else {
        cut.to = std::min(cut.to, -f.start / f.slope);
      }
    }
    if (cut.from >= cut.to) continue;
    for (const ShapePlane& p : piece.planes) cut.planes.push_back(line.along(p.a, p.b, p.c + datum));
    shape.push_back(std::move(cut));
  }
  return shape;
}

void add_crossing(const Straight& p, const Straight& q, std::vector<double>& stops) {
  const double slope = p.slope - q.slope;
  if (std::abs(slope) > 1e-12) stops.push_back((q.start - p.start) / slope);
}

/// Every place where some shape bends or steps. Two planes of a piece may cross where a third is under both, or outside
/// the piece: nothing happens there, and with rounded corners nearly all crossings are such.
void add_stops(const CutShape& shape, std::vector<double>& stops) {
  constexpr double rounding = 1e-6;
  std::vector<double> crossings;
  for (const CutPiece& piece : shape) {
    stops.push_back(piece.from);
    stops.push_back(piece.to);
    for (std::size_t i = 0; i < piece.planes.size(); ++i) {
      crossings.clear();
      for (std::size_t j = 0; j < i; ++j) add_crossing(piece.planes[i], piece.planes[j], crossings);
      for (const double s : crossings) {
        if (s > piece.from && s < piece.to && piece.planes[i].at(s) <= piece.least_at(s) + rounding) stops.push_back(s);
      }
    }
  }
}

/// Ground under the cut: the stretch over one triangle.
struct GroundStretch {
  double from, to;
  Straight elevation;
};

bool box_meets(const TreeBox& box, const Point2& from, const Point2& direction, double length) {
  const Point2 center(box.center_x(), box.center_y()), half(box.half_x(), box.half_y());
  const Point2 offset = center - from;
  const double across = std::abs(direction.x() * offset.y() - direction.y() * offset.x());
  if (across > std::abs(direction.y()) * half.x() + std::abs(direction.x()) * half.y()) return false;
  const double along = direction.dot(offset);
  const double reach = std::abs(direction.x()) * half.x() + std::abs(direction.y()) * half.y();
  return along + reach >= 0 && along - reach <= length;
}

void add_triangle(const Ground& ground, std::uint32_t t, const Point2& from, const Point2& direction, double length,
                  std::vector<GroundStretch>& stretches) {
  double lo = 0, hi = length;
  Point3 corner[3];
  for (std::size_t i = 0; i < 3; ++i) corner[i] = ground.points[ground.tree.triangles[t][i]];
  for (std::size_t i = 0; i < 3; ++i) {
    const Point2 p = corner[i].head<2>(), edge = corner[(i + 1) % 3].head<2>() - p;
    const double start = edge.x() * (from - p).y() - edge.y() * (from - p).x();
    const double slope = edge.x() * direction.y() - edge.y() * direction.x();
    if (slope == 0) {
      if (start < 0) return;
    } else if (slope > 0) {
      lo = std::max(lo, -start / slope);
    } else {
      hi = std::min(hi, -start / slope);
    }
  }
  if (!(hi > lo)) return;
  const Point3 normal = (corner[1] - corner[0]).cross(corner[2] - corner[0]);
  const double a = -normal.x() / normal.z(), b = -normal.y() / normal.z();
  const double c = corner[0].z() - a * corner[0].x() - b * corner[0].y();
  stretches.push_back({lo, hi, {a * from.x() + b * from.y() + c, a * direction.x() + b * direction.y()}});
}

void gather(const Ground& ground, const TreeNode& node, const Point2& from, const Point2& direction, double length,
            std::vector<GroundStretch>& stretches) {
  if (!box_meets(ground.tree.boxes[node.index], from, direction, length)) return;
  if (!node.is_leaf()) {
    gather(ground, node.first_child(), from, direction, length, stretches);
    gather(ground, node.second_child(), from, direction, length, stretches);
    return;
  }
  const auto [first, last] = triangle_range(ground.tree, node);
  for (std::uint32_t t = first; t < last; ++t) add_triangle(ground, t, from, direction, length, stretches);
}

/// Everything along one cut.
struct Cutter {
  const PlacedMound& mound;
  Point2 from, direction;  // reduced
  std::vector<CutShape> layers;
  CutShape pit;  // as heights
  std::vector<double> stops;

  bool counts(double s) const { return mound.buildup.specks == 0 || encloses(mound.buildup.toe, from + direction * s); }

  /// All surfaces just inside an interval, taken at s with decisions made at `middle`.
  SectionColumn column(const Straight& ground, double s, double middle) const {
    SectionColumn result;
    result.distance = s;
    result.existing = ground.at(s);
    double finish = nothing;
    for (const CutShape& layer : layers) finish = std::max(finish, height_of(layer, middle));
    if (!(finish > ground.at(middle)) || !counts(middle)) {
      result.surfaces.assign(layers.size() + 1, result.existing);
      return result;
    }
    double surface = result.existing - mound.design().prepare.strip;
    for (const CutPiece& piece : pit) surface = std::min(surface, pit_at(piece, s, middle));
    result.surfaces.push_back(surface);
    for (const CutShape& layer : layers) {
      for (const CutPiece& piece : layer) {
        if (middle > piece.from && middle < piece.to)
          surface = std::max(surface, piece.at(std::clamp(s, piece.from, piece.to)));
      }
      result.surfaces.push_back(surface);
    }
    return result;
  }

  static double pit_at(const CutPiece& piece, double s, double middle) {
    if (middle <= piece.from || middle >= piece.to) return -nothing;
    return -piece.at(std::clamp(s, piece.from, piece.to));
  }
};

void add_orders(const Cutter& cutter, const Straight& ground, double from, double to, std::vector<double>& stops) {
  // Between two stops every shape is one straight line; where two of them cross, order changes.
  const double middle = 0.5 * (from + to);
  std::vector<Straight> lines{ground, {ground.start - cutter.mound.design().prepare.strip, ground.slope}};
  const auto add_active = [&](const CutShape& shape, int sign) {
    for (const CutPiece& piece : shape) {
      if (middle <= piece.from || middle >= piece.to) continue;
      const Straight* least = nullptr;
      for (const Straight& plane : piece.planes) {
        if (least == nullptr || plane.at(middle) < least->at(middle)) least = &plane;
      }
      if (least != nullptr) lines.push_back({sign * least->start, sign * least->slope});
    }
  };
  for (const CutShape& layer : cutter.layers) add_active(layer, 1);
  add_active(cutter.pit, -1);
  std::vector<double> crossings;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) add_crossing(lines[i], lines[j], crossings);
  }
  for (const double s : crossings) {
    if (s > from && s < to) stops.push_back(s);
  }
}

void add_columns(const Cutter& cutter, const GroundStretch& stretch, Section& section) {
  std::vector<double> stops{stretch.from, stretch.to};
  for (const double s : cutter.stops) {
    if (s > stretch.from && s < stretch.to) stops.push_back(s);
  }
  std::sort(stops.begin(), stops.end());
  const std::size_t coarse = stops.size();
  for (std::size_t i = 0; i + 1 < coarse; ++i) add_orders(cutter, stretch.elevation, stops[i], stops[i + 1], stops);
  std::sort(stops.begin(), stops.end());
  for (std::size_t i = 0; i + 1 < stops.size(); ++i) {
    if (stops[i + 1] - stops[i] < 1e-12) continue;
    const double middle = 0.5 * (stops[i] + stops[i + 1]);
    section.columns.push_back(cutter.column(stretch.elevation, stops[i], middle));
    section.columns.push_back(cutter.column(stretch.elevation, stops[i + 1], middle));
  }
}

template <class Height>
double trapezoids(const std::vector<SectionColumn>& columns, const Height& height) {
  double area = 0;
  for (std::size_t i = 0; i + 1 < columns.size(); i += 2) {
    area += 0.5 * (height(columns[i]) + height(columns[i + 1])) * (columns[i + 1].distance - columns[i].distance);
  }
  return area;
}

}  // namespace

double Section::layer_area(std::size_t k) const {
  return trapezoids(columns, [&](const SectionColumn& c) { return c.surfaces[k + 1] - c.surfaces[k]; });
}

double Section::cut_area() const {
  return trapezoids(columns, [](const SectionColumn& c) { return c.existing - c.surfaces[0]; });
}

Section cut_section(const PlacedMound& mound, const Point2& from, const Point2& to) {
  const double length = (to - from).norm();
  Cutter cutter{mound, from, (to - from) / length, {}, {}, {}};
  const Point2 start = mound.from_reduced(from);
  const Line line{start, (mound.from_reduced(to) - start) / length};
  for (const LayerShape& layer : mound.shape().layers) {
    cutter.layers.push_back(cut_shape(layer.pieces, line, mound.buildup.bottom_elevation));
    add_stops(cutter.layers.back(), cutter.stops);
  }
  if (mound.design().prepare.undercut) {
    cutter.pit = cut_shape(mound.shape().pit, line, -mound.design().prepare.undercut->elevation);
    add_stops(cutter.pit, cutter.stops);
  }
  std::vector<GroundStretch> stretches;
  if (!mound.ground.tree.triangles.empty())
    gather(mound.ground, root_of(mound.ground.tree), from, cutter.direction, length, stretches);
  std::sort(stretches.begin(), stretches.end(),
            [](const GroundStretch& p, const GroundStretch& q) { return p.from < q.from; });
  Section section;
  double reached = 0;
  for (GroundStretch stretch : stretches) {  // where the cut runs along an edge, both triangles beside it have it
    stretch.from = std::max(stretch.from, reached);
    if (!(stretch.to > stretch.from)) continue;
    add_columns(cutter, stretch, section);
    reached = stretch.to;
  }
  return section;
}

double average_end_area(const std::vector<double>& stations, const std::vector<double>& areas) {
  double volume = 0;
  for (std::size_t i = 1; i < stations.size(); ++i) {
    volume += 0.5 * (areas[i - 1] + areas[i]) * (stations[i] - stations[i - 1]);
  }
  return volume;
}

namespace {

/// How far to either side of a corner its two sections are cut: well over the rounding of coordinates in the millions.
constexpr double aside = 1e-6;

/// Stations (u in the mound frame) of the corners of a shape's flat or crowned top.
void add_corner_stations(const std::vector<ConcavePiece>& pieces, double reach, std::vector<double>& stations) {
  const Polygon2 everywhere = {{-reach, -reach}, {reach, -reach}, {reach, reach}, {-reach, reach}};
  for (const ConcavePiece& piece : pieces) {
    for (const ShapePlane& top : piece.planes) {
      if (!top.is_top) continue;
      Polygon2 part = everywhere;
      for (const PlanLine& line : piece.inside) part = clip_convex(part, line);
      for (const ShapePlane& other : piece.planes) {
        if (&other != &top) part = clip_convex(part, {other.a - top.a, other.b - top.b, other.c - top.c});
      }
      for (const Point2& corner : part) stations.push_back(corner.x());
    }
  }
}

/// Where the sections are cut between the footprint's ends, and how far aside: at a corner on both sides.
struct Cut {
  double station, aside;
};

/// Between a corner and the footprint's end beside it: where a rounded corner's edge has turned by each eighth of its
/// quarter turn. Toward the end the footprint narrows ever faster, and so does whatever stands on a strip's step.
void add_end_stations(double corner, double end, std::vector<double>& stations) {
  constexpr int parts = 8;  // as the seven planes of a rounded corner divide it
  for (int k = 1; k < parts; ++k) stations.push_back(corner + (end - corner) * std::sin(0.5 * M_PI * k / parts));
}

std::vector<Cut> cuts_along(const MoundPlace& mound, double from, double to, double interval) {
  std::vector<double> corners{from, to};
  for (const LayerShape& layer : mound.shape().layers)
    add_corner_stations(layer.pieces, 10 * mound.shape().reach, corners);
  add_corner_stations(mound.shape().pit, 10 * mound.shape().reach, corners);
  std::erase_if(corners, [&](double u) { return u < from || u > to; });
  std::sort(corners.begin(), corners.end());
  const auto same = [](double p, double q) { return q - p < 3 * aside; };
  corners.erase(std::unique(corners.begin(), corners.end(), same), corners.end());
  std::vector<Cut> cuts;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    if (i > 0) cuts.push_back({corners[i], -aside});
    if (i + 1 == corners.size()) break;
    cuts.push_back({corners[i], aside});
    std::vector<double> between;
    for (double n = std::floor(corners[i] / interval) + 1; n * interval < corners[i + 1]; ++n) {
      between.push_back(n * interval);
    }
    if (i == 0) add_end_stations(corners[1], corners[0], between);
    if (i + 2 == corners.size()) add_end_stations(corners[i], corners[i + 1], between);
    std::sort(between.begin(), between.end());
    for (const double u : between) {
      if (!same(cuts.back().station, u) && !same(u, corners[i + 1])) cuts.push_back({u, 0});
    }
  }
  return cuts;
}

}  // namespace

EndAreas end_areas(const PlacedMound& mound, double interval) {
  EndAreas result;
  result.interval = interval;
  result.layers.assign(mound.design().layers.size(), 0.0);
  const Polygon2 box = box_round(toe_in_mound_frame(mound, mound.buildup.toe));
  const Point2 &low = box[0], &high = box[2];
  if (!(low.x() + 3 * aside < high.x())) return result;
  if ((high.x() - low.x()) / interval > most_sections) {
    throw Refusal({Severity::error,
                   fmt::format("sections every {:g} would be {:.0f}; the limit is {:.0f}", interval,
                               (high.x() - low.x()) / interval, most_sections),
                   "takeoff.section_interval", "give a longer interval, such as 5.0"});
  }
  std::vector<double> stations;
  std::vector<std::vector<double>> areas(result.layers.size() + 1);
  for (const Cut& cut : cuts_along(mound, low.x(), high.x(), interval)) {
    const double u = cut.station + cut.aside;
    const Section section = cut_section(mound, mound.to_reduced({u, low.y() - 1}), mound.to_reduced({u, high.y() + 1}));
    stations.push_back(cut.station);
    for (std::size_t k = 0; k < result.layers.size(); ++k) areas[k].push_back(section.layer_area(k));
    areas.back().push_back(section.cut_area());
  }
  for (std::size_t k = 0; k < result.layers.size(); ++k) result.layers[k] = average_end_area(stations, areas[k]);
  result.cut = average_end_area(stations, areas.back());
  result.sections = stations.size();
  return result;
}

}  // namespace moundwright

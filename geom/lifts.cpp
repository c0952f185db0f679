#include "geom/lifts.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "geom/footprint_pieces.h"
#include "geom/plan.h"
#include "geom/sections.h"

namespace moundwright {
namespace {

constexpr int most_lifts = 200;

bool is_lifted(const LiftOptions& options, const std::string& layer) {
  return std::find(options.layers.begin(), options.layers.end(), layer) != options.layers.end();
}

/// One past the last layer that goes up in lifts; what is placed before it has to be there to be placed round.
std::size_t sliced_layers(const MoundDesign& design, const LiftOptions& options) {
  std::size_t end = 0;
  for (std::size_t k = 0; k < design.layers.size(); ++k) {
    if (is_lifted(options, design.layers[k].name)) end = k + 1;
  }
  return end;
}

/// The design with its first layers cut off level at `height` above the bed bottom, and then all of it again, so that
/// the footprint stays what it is.
MoundPlace cut_off(const PlacedMound& mound, std::size_t sliced, double height) {
  MoundDesign design = mound.design();
  MoundShape shape = mound.shape();
  const auto last = static_cast<std::ptrdiff_t>(sliced);
  design.layers.insert(design.layers.begin(), mound.design().layers.begin(), mound.design().layers.begin() + last);
  shape.layers.insert(shape.layers.begin(), mound.shape().layers.begin(), mound.shape().layers.begin() + last);
  for (std::size_t k = 0; k < sliced; ++k) {
    for (ConcavePiece& piece : shape.layers[k].pieces) piece.planes.push_back({{0, 0, height}, false});
  }
  return as_high(mound, compile_shape(std::move(design), std::move(shape)));
}

struct Heights {
  double low = std::numeric_limits<double>::infinity(), high = -low;  // above the bed bottom
};

/// From the lowest prepared ground under the lifted layers to their highest top.
Heights heights_of(const PlacedMound& mound, const LiftOptions& options) {
  Heights heights;
  for_each_footprint_piece(mound, [&](const FootprintPiece& piece) {
    for (std::uint32_t i = 0; i < piece.cell->level_count; ++i) {
      const CellLevel<double>& level = mound.cells().levels[piece.cell->first_level + i];
      if (!is_lifted(options, mound.design().layers[static_cast<std::size_t>(level.layer)].name)) continue;
      for (const Point2& p : part_above_prepared(mound, piece, i)) {
        heights.low = std::min(heights.low, piece.prepared.at(p.x(), p.y()));
        heights.high = std::max(heights.high, level.plane.at(p.x(), p.y()));
      }
    }
  });
  return heights;
}

// ---- vertical faces --------------------------------------------------------------------------------------------

/// A stretch of a layer's vertical face in plan, mound frame, a hair inside it.
struct Face {
  Point2 from, to;
};

bool is_bend(const LayerShape& shape, const PlanLine& line) {
  return std::any_of(shape.pieces.begin(), shape.pieces.end(), [&](const ConcavePiece& piece) {
    return std::any_of(piece.inside.begin(), piece.inside.end(), [&](const PlanLine& other) {
      return other.a == -line.a && other.b == -line.b && other.c == -line.c;
    });
  });
}

std::vector<Face> vertical_faces(const LayerShape& shape, double reach) {
  constexpr double hair = 1e-6;
  std::vector<Face> faces;
  for (const ConcavePiece& piece : shape.pieces) {
    Polygon2 outline = {{-reach, -reach}, {reach, -reach}, {reach, reach}, {-reach, reach}};
    for (const PlanLine& line : piece.inside) outline = clip_convex(outline, line);
    for (const PlanLine& line : piece.inside) {
      if (is_bend(shape, line)) continue;
      const double size = std::hypot(line.a, line.b);
      const Point2 inward = Point2(line.a, line.b) * (hair / size);
      const auto on_line = [&](const Point2& p) { return std::abs(line.at(p)) < hair * size; };
      for (std::size_t i = 0; i < outline.size(); ++i) {
        const Point2 &p = outline[i], &q = outline[(i + 1) % outline.size()];
        if (!on_line(p) || !on_line(q) || (q - p).norm() < 3 * hair) continue;
        const Point2 step = (q - p).normalized() * hair;
        faces.push_back({p + inward + step, q + inward - step});
      }
    }
  }
  return faces;
}

struct Interval {
  double low, high;
};

/// Parts of a stretch where `from` + t (`to` - `from`) passes a level, t between 0 and 1.
void add_crossing(double from, double to, double level, std::vector<double>& at) {
  if ((from < level) != (to < level)) at.push_back((level - from) / (to - from));
}

/// Integrals along one stretch of face of its height inside a lift, and of that height squared. Everything is straight
/// along the stretch.
struct FaceSums {
  double area = 0, squared = 0;
};
FaceSums along_stretch(const SectionColumn& p, const SectionColumn& q, std::size_t layer, const Interval& lift) {
  FaceSums sums;
  std::vector<double> at = {0.0, 1.0};
  for (const double level : {lift.low, lift.high}) {
    add_crossing(p.surfaces[layer], q.surfaces[layer], level, at);
    add_crossing(p.surfaces[layer + 1], q.surfaces[layer + 1], level, at);
  }
  std::sort(at.begin(), at.end());
  const auto height = [&](double t) {
    const auto level = [&](std::size_t k) {
      return std::clamp(p.surfaces[k] + t * (q.surfaces[k] - p.surfaces[k]), lift.low, lift.high);
    };
    return std::max(0.0, level(layer + 1) - level(layer));
  };
  const double length = q.distance - p.distance;
  for (std::size_t i = 1; i < at.size(); ++i) {
    const double a = height(at[i - 1]), b = height(at[i]), part = (at[i] - at[i - 1]) * length;
    sums.area += part * (a + b) / 2;
    sums.squared += part * (a * a + a * b + b * b) / 3;
  }
  return sums;
}

FaceSums face_sums(const std::vector<Section>& sections, std::size_t layer, const Interval& lift) {
  FaceSums sums;
  for (const Section& section : sections) {
    for (std::size_t i = 1; i < section.columns.size(); ++i) {
      const FaceSums part = along_stretch(section.columns[i - 1], section.columns[i], layer, lift);
      sums.area += part.area, sums.squared += part.squared;
    }
  }
  return sums;
}

std::vector<Section> sections_along(const PlacedMound& mound, const std::vector<Face>& faces) {
  std::vector<Section> sections;
  for (const Face& face : faces) {
    sections.push_back(cut_section(mound, mound.to_reduced(face.from), mound.to_reduced(face.to)));
  }
  return sections;
}

// ---- ground a layer rests on -----------------------------------------------------------------------------------

/// Plan area of prepared ground between two heights above the bed bottom on which a layer rests.
double contact_between(const std::vector<std::pair<Polygon2, PlaneOf<double>>>& rests, const Interval& heights) {
  double area = 0;
  for (const auto& [outline, ground] : rests) {
    const Polygon2 above_low = clip_convex(outline, {ground.a, ground.b, ground.c - heights.low});
    area += plan_area(clip_convex(above_low, {-ground.a, -ground.b, heights.high - ground.c}));
  }
  return area;
}

/// Where a layer rests on scarified ground, in convex parts: those it covers, and (with area counted below zero, by
/// turning them over) those that an earlier layer covers already.
std::vector<std::pair<Polygon2, PlaneOf<double>>> rests_of(const PlacedMound& mound, std::size_t layer) {
  std::vector<std::pair<Polygon2, PlaneOf<double>>> rests;
  for_each_footprint_piece(mound, [&](const FootprintPiece& piece) {
    if (piece.in_pit) return;  // dug, not scarified
    for (std::uint32_t i = 0; i < piece.cell->level_count; ++i) {
      if (static_cast<std::size_t>(mound.cells().levels[piece.cell->first_level + i].layer) != layer) continue;
      rests.emplace_back(part_above_prepared(mound, piece, i), piece.prepared);
      if (i == 0) continue;
      Polygon2 earlier = part_above_prepared(mound, piece, i - 1);
      std::reverse(earlier.begin(), earlier.end());
      rests.emplace_back(std::move(earlier), piece.prepared);
    }
  });
  return rests;
}

// ---- lifts -----------------------------------------------------------------------------------------------------

struct LiftedLayer {
  std::size_t index;
  double below = 0;  // volume under the lift at hand
  std::vector<Section> faces;
  std::vector<std::pair<Polygon2, PlaneOf<double>>> rests;
  FaceSums face;
  double face_volume = 0, pressed_area = 0;
};

std::vector<LiftedLayer> lifted_layers(const PlacedMound& mound, const LiftOptions& options,
                                       const InterfaceOptions& interface) {
  std::vector<LiftedLayer> layers;
  for (std::size_t k = 0; k < mound.design().layers.size(); ++k) {
    if (!is_lifted(options, mound.design().layers[k].name)) continue;
    LiftedLayer& layer = layers.emplace_back(LiftedLayer{k, 0, {}, {}, {}, 0, 0});
    if (interface.face_run > 0) {
      layer.faces = sections_along(mound, vertical_faces(mound.shape().layers[k], mound.shape().reach));
    }
    if (interface.pressed_depth > 0 && mound.design().prepare.scarify) layer.rests = rests_of(mound, k);
  }
  return layers;
}

std::vector<InterfaceLine> interface_lines(const MoundDesign& design, const std::vector<LiftedLayer>& layers,
                                           const InterfaceOptions& interface, double yards) {
  std::vector<InterfaceLine> lines;
  for (const LiftedLayer& layer : layers) {
    const Layer& named = design.layers[layer.index];
    if (layer.face_volume > 0) {
      lines.push_back({named.name,
                       named.material,
                       fmt::format("lost at the face of the {}", named.name),
                       {layer.face_volume * yards},
                       layer.face.area});
    }
    if (layer.pressed_area > 0) {
      lines.push_back({named.name,
                       named.material,
                       "pressed into scarified ground",
                       {layer.pressed_area * interface.pressed_depth * yards},
                       layer.pressed_area});
    }
  }
  return lines;
}

}  // namespace

LiftPlan cut_in_lifts(const PlacedMound& mound, const LiftOptions& options, const InterfaceOptions& interface,
                      LengthUnit unit) {
  LiftPlan result;
  result.depth = options.depth;
  if (!(options.depth > 0)) {
    throw Refusal({Severity::error, fmt::format("a lift is {} deep", options.depth), "lifts.depth",
                   "give the depth of material placed at once, more than zero"});
  }
  const Heights heights = heights_of(mound, options);
  if (!(heights.low < heights.high)) return result;
  const double yards = cubic_yards_per(unit);
  constexpr double rounding = 1e-9;  // of a lift
  const double first = std::floor(heights.low / options.depth + rounding);
  const double last = std::ceil(heights.high / options.depth - rounding);
  if (last - first > most_lifts) {
    throw Refusal({Severity::error, fmt::format("lifts {} deep are more than {} lifts", options.depth, most_lifts),
                   "lifts.depth", "give the depth in the job's length unit"});
  }
  const std::size_t sliced = sliced_layers(mound.design(), options);
  std::vector<LiftedLayer> layers = lifted_layers(mound, options, interface);
  BuildupWork work;
  for (double i = first; i < last; ++i) {
    const Interval above_bottom{i * options.depth, (i + 1) * options.depth};
    const Buildup cut = build_up(cut_off(mound, sliced, above_bottom.high), work);
    Lift lift;
    lift.bottom = mound.buildup.bottom_elevation + above_bottom.low;
    lift.top = mound.buildup.bottom_elevation + above_bottom.high;
    for (LiftedLayer& layer : layers) {
      const Layer& named = mound.design().layers[layer.index];
      const double below = std::exchange(layer.below, cut.layers[layer.index].volume);
      const FaceSums face = face_sums(layer.faces, layer.index, {lift.bottom, lift.top});
      const double face_volume = interface.face_run * face.squared / 2;
      const double pressed_area = contact_between(layer.rests, above_bottom);
      layer.face.area += face.area, layer.face_volume += face_volume, layer.pressed_area += pressed_area;
      const LiftPart part{named.name,
                          named.material,
                          {(layer.below - below) * yards},
                          {face_volume * yards},
                          {pressed_area * interface.pressed_depth * yards}};
      constexpr double dust = 1e-6;  // cubic yards
      if (part.placed().cy > dust) lift.parts.push_back(part);
    }
    if (lift.parts.empty()) continue;
    lift.number = static_cast<int>(result.lifts.size()) + 1;
    result.lifts.push_back(std::move(lift));
  }
  result.interface = interface_lines(mound.design(), layers, interface, yards);
  return result;
}

namespace {

/// Height above the bed bottom of the prepared ground at a place in the mound frame.
double prepared_height(const PlacedMound& mound, const Point2& uv) {
  const auto here = elevation_at(mound.ground, mound.to_reduced(uv));
  if (!here) return -std::numeric_limits<double>::infinity();
  const Prepare& prepare = mound.design().prepare;
  double surface = *here - prepare.strip;
  if (const auto above_pit_bottom = shape_height({mound.shape().pit}, uv)) {
    surface = std::min(surface, prepare.undercut->elevation - *above_pit_bottom);
  }
  return surface - mound.buildup.bottom_elevation;
}

}  // namespace

std::vector<SettledGrade> settled_grades(const PlacedMound& mound, const std::vector<SettlementAllowance>& allowances) {
  std::vector<SettledGrade> grades;
  const std::vector<Layer>& layers = mound.design().layers;
  const auto allowance_of = [&](const std::string& name) {
    const auto at = std::find_if(allowances.begin(), allowances.end(),
                                 [&](const SettlementAllowance& a) { return a.layer == name; });
    return at == allowances.end() ? 0.0 : at->allowance;
  };
  const std::size_t piece = (mound.shape().line.size() - 2) / 2;  // half way along a bed that bends, too
  const Point2 from = mound.shape().line[piece], to = mound.shape().line[piece + 1], middle = 0.5 * (from + to);
  const Point2 along = (to - from).normalized(), across(-along.y(), along.x());
  for (std::size_t k = 0; k < layers.size(); ++k) {
    constexpr double hair = 1e-6;
    const double up = mound.shape().half_width + layers[k].beyond.upslope - hair;
    const double down = mound.shape().half_width + layers[k].beyond.downslope - hair;
    const std::pair<const char*, Point2> places[] = {{"ridge", middle + 0.5 * (down - up) * across},
                                                     {"edge of the flat top, upslope", middle - up * across},
                                                     {"edge of the flat top, downslope", middle + down * across}};
    for (const auto& [where, uv] : places) {
      double surface = prepared_height(mound, uv), raised = 0, thickness = 0;
      for (std::size_t j = 0; j <= k; ++j) {
        const double top = shape_height(mound.shape().layers[j], uv).value_or(surface);
        thickness = std::max(0.0, top - surface);
        const double allowance = allowance_of(layers[j].name);
        raised += thickness * allowance / (1 - allowance);
        surface += thickness;
      }
      const double settled = mound.buildup.bottom_elevation + surface;
      if (!(raised > 0)) continue;
      grades.push_back({layers[k].name, where, settled, settled + raised, thickness});
    }
  }
  return grades;
}

}  // namespace moundwright

#include "geom/mound_shape.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace moundwright {
namespace {

constexpr int planes_per_round_corner = 7;

double cross(const Point2& a, const Point2& b) { return a.x() * b.y() - a.y() * b.x(); }

/// Left to right seen looking downslope: downslope lies on the left hand of the line's direction.
std::vector<Point2> line_left_to_right(const MoundDesign& design) {
  std::vector<Point2> line = design.bed.line;
  const Point2 chord = line.back() - line.front();
  if (cross(chord, direction_of(*design.downslope)) < 0) std::reverse(line.begin(), line.end());
  return line;
}

/// The point at half the line's length, so that the origin of a bent bed is on it.
Point2 middle_of(const std::vector<Point2>& line) {
  double length = 0;
  for (std::size_t i = 1; i < line.size(); ++i) length += (line[i] - line[i - 1]).norm();
  double left = 0.5 * length;
  for (std::size_t i = 1; i < line.size(); ++i) {
    const double step = (line[i] - line[i - 1]).norm();
    if (left <= step) return line[i - 1] + (line[i] - line[i - 1]) * (left / step);
    left -= step;
  }
  return line.back();
}

/// One straight piece of the bed: its own axes and length, and which ends of the bed it has.
struct Piece {
  Point2 start, along, across;
  double length;
  bool is_first, is_last;
};

std::vector<Piece> pieces_of(const std::vector<Point2>& line) {
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const Point2 step = line[i + 1] - line[i];
    const Point2 along = step.normalized();
    pieces.push_back({line[i], along, Point2(-along.y(), along.x()), step.norm(), i == 0, i + 2 == line.size()});
  }
  return pieces;
}

/// The line through `at` whose inner side is where `direction` points.
PlanLine line_through(const Point2& at, const Point2& direction) {
  return {direction.x(), direction.y(), -direction.dot(at)};
}

/// Regions of a bent bed: from each piece, what its neighbours own on the far side of the bisectors is cut away.
std::vector<PlanLine> bisectors_of(const std::vector<Piece>& pieces, std::size_t i) {
  std::vector<PlanLine> lines;
  if (!pieces[i].is_first) {
    lines.push_back(line_through(pieces[i].start, (pieces[i - 1].along + pieces[i].along).normalized()));
  }
  if (!pieces[i].is_last) {
    const PlanLine next = line_through(pieces[i + 1].start, (pieces[i].along + pieces[i + 1].along).normalized());
    lines.push_back({-next.a, -next.b, -next.c});
  }
  return lines;
}

/// One edge of a flat top: where it is, which way is out, and how the side beyond it falls.
struct Edge {
  Point2 at, outward;
  double run;     // 0: vertical
  double height;  // of the side plane at the edge
};

ShapePlane falling_plane(const Point2& through, const Point2& outward, double run, double height) {
  const Point2 gradient = -outward / run;
  return {gradient.x(), gradient.y(), height - gradient.dot(through), false};
}

void add_edge(ConcavePiece& piece, const Edge& edge) {
  if (edge.run > 0) {
    piece.planes.push_back(falling_plane(edge.at, edge.outward, edge.run, edge.height));
  } else {
    piece.inside.push_back(line_through(edge.at, -edge.outward));
  }
}

/// Planes tangent to the elliptical cone between an end and a long edge, equally turned between the two. The
/// support function of the ellipse with half-axes run_end and run_long gives each run.
void add_round_corner(ConcavePiece& piece, const Edge& end, const Edge& long_edge, double top) {
  if (end.run <= 0 || long_edge.run <= 0) return;
  const double out = (end.height - top) * end.run;  // where the end plane has come down to `top`
  const Point2 apex = long_edge.at + end.outward * (end.outward.dot(end.at - long_edge.at) + out);
  for (int i = 1; i <= planes_per_round_corner; ++i) {
    const double turn = 0.5 * std::numbers::pi * i / (planes_per_round_corner + 1);
    const double run = std::hypot(end.run * std::cos(turn), long_edge.run * std::sin(turn));
    const Point2 outward = end.outward * std::cos(turn) + long_edge.outward * std::sin(turn);
    piece.planes.push_back(falling_plane(apex, outward, run, top));
  }
}

void add_top(ConcavePiece& shape, const Piece& piece, double top, double crown, double v_up, double v_down) {
  if (crown <= 0) {
    shape.planes.push_back({0, 0, top, true});
    return;
  }
  const double half = 0.5 * (v_down - v_up);
  const double slope = crown / half;
  const Point2 rising[2] = {piece.across, -piece.across};  // from the upslope edge, and from the downslope edge
  const double edge_v[2] = {v_up, v_down};
  for (int i = 0; i < 2; ++i) {
    const Point2 gradient = rising[i] * slope;
    const Point2 on_edge = piece.start + piece.across * edge_v[i];
    shape.planes.push_back({gradient.x(), gradient.y(), top - gradient.dot(on_edge), true});
  }
}

/// A layer over one piece of the bed, without its bisectors.
ConcavePiece layer_over(const Piece& piece, double half_width, const Layer& layer) {
  ConcavePiece shape;
  const double v_up = -half_width - layer.beyond.upslope, v_down = half_width + layer.beyond.downslope;
  const double u_left = -layer.beyond.left, u_right = piece.length + layer.beyond.right;
  const double ridge = layer.top + layer.crown;
  const Edge upslope{piece.start + piece.across * v_up, -piece.across, layer.side.upslope, layer.top};
  const Edge downslope{piece.start + piece.across * v_down, piece.across, layer.side.downslope, layer.top};
  const Edge left{piece.start + piece.along * u_left, -piece.along, layer.side.left, ridge};
  const Edge right{piece.start + piece.along * u_right, piece.along, layer.side.right, ridge};

  add_top(shape, piece, layer.top, layer.crown, v_up, v_down);
  add_edge(shape, upslope);
  add_edge(shape, downslope);
  for (const Edge* end : {piece.is_first ? &left : nullptr, piece.is_last ? &right : nullptr}) {
    if (end == nullptr) continue;
    add_edge(shape, *end);
    if (!layer.round_corners) continue;
    add_round_corner(shape, *end, upslope, layer.top);
    add_round_corner(shape, *end, downslope, layer.top);
  }
  return shape;
}

ConcavePiece region_over(const Piece& piece, double half_width) {
  Layer flat;
  ConcavePiece region = layer_over(piece, half_width, flat);
  region.planes.clear();
  return region;
}

/// A piece without bounds: F + min(0, the least of its bounding lines / lean). Lines are scaled to distances first.
ConcavePiece leaning(const ConcavePiece& piece, double lean) {
  ConcavePiece result;
  for (const ShapePlane& plane : piece.planes) {
    result.planes.push_back(plane);
    for (const PlanLine& line : piece.inside) {
      const double scale = 1 / (lean * std::hypot(line.a, line.b));
      result.planes.push_back(
          {plane.a + scale * line.a, plane.b + scale * line.b, plane.c + scale * line.c, /*is_top=*/false});
    }
  }
  return result;
}

double greatest(const ByFace& by_face) {
  return std::max({by_face.upslope, by_face.downslope, by_face.left, by_face.right});
}

double reach_of(const MoundDesign& design, const std::vector<Point2>& line) {
  double reach = 0;
  for (const Point2& p : line) reach = std::max(reach, p.norm());
  double beyond = 0;
  for (const Layer& layer : design.layers) {
    const double height = std::max(0.0, layer.top + layer.crown) + design.bed.width;
    beyond = std::max(beyond, greatest(layer.beyond) + greatest(layer.side) * height);
  }
  return reach + design.bed.width + beyond;
}

}  // namespace

Point2 direction_of(double azimuth) {
  const double radians = azimuth * std::numbers::pi / 180.0;
  return {std::sin(radians), std::cos(radians)};
}

double azimuth_of(const Point2& direction) {
  const double degrees = std::atan2(direction.x(), direction.y()) * 180.0 / std::numbers::pi;
  return degrees < 0 ? degrees + 360.0 : degrees;
}

Placement placement_of(const MoundDesign& design) {
  if (!design.downslope) {
    throw Refusal({Severity::error, "the downslope direction is not known", "mound.downslope",
                   "give the azimuth water runs, or let it be found from the ground"});
  }
  const std::vector<Point2> line = line_left_to_right(design);
  return {middle_of(line), (line.back() - line.front()).normalized()};
}

MoundShape shape_of(const MoundDesign& design) {
  const Placement frame = placement_of(design);
  MoundShape shape;
  for (const Point2& p : line_left_to_right(design)) shape.line.push_back(frame.to_mound(p));
  shape.half_width = 0.5 * design.bed.width;
  shape.reach = reach_of(design, shape.line);

  const std::vector<Piece> pieces = pieces_of(shape.line);
  const auto over_all_pieces = [&](auto&& make) {
    std::vector<ConcavePiece> made;
    for (std::size_t i = 0; i < pieces.size(); ++i) {
      made.push_back(make(pieces[i]));
      for (const PlanLine& line : bisectors_of(pieces, i)) made.back().inside.push_back(line);
    }
    return made;
  };
  shape.bed = over_all_pieces([&](const Piece& piece) { return region_over(piece, shape.half_width); });
  for (const Layer& layer : design.layers) {
    shape.layers.push_back(
        {over_all_pieces([&](const Piece& piece) { return layer_over(piece, shape.half_width, layer); })});
  }
  if (design.prepare.undercut) {
    // Upside down a pit is a layer with its flat top at zero: sides that rise outward fall outward when negated.
    Layer pit;
    pit.beyond = design.prepare.undercut->beyond;
    pit.side = design.prepare.undercut->side;
    shape.pit = over_all_pieces([&](const Piece& piece) { return layer_over(piece, shape.half_width, pit); });
  }
  return shape;
}

MoundShape leaning(MoundShape shape, double lean) {
  const auto lean_all = [&](std::vector<ConcavePiece>& pieces) {
    for (ConcavePiece& piece : pieces) piece = leaning(piece, lean);
  };
  for (LayerShape& layer : shape.layers) lean_all(layer.pieces);
  lean_all(shape.pit);
  return shape;
}

}  // namespace moundwright

#include "geom/mound_shape.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace moundwright {
namespace {

constexpr int planes_per_round_corner = 7;

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
  return {{gradient.x(), gradient.y(), height - gradient.dot(through)}, false};
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
    shape.planes.push_back({{0, 0, top}, true});
    return;
  }
  const double half = 0.5 * (v_down - v_up);
  const double slope = crown / half;
  const Point2 rising[2] = {piece.across, -piece.across};  // from the upslope edge, and from the downslope edge
  const double edge_v[2] = {v_up, v_down};
  for (int i = 0; i < 2; ++i) {
    const Point2 gradient = rising[i] * slope;
    const Point2 on_edge = piece.start + piece.across * edge_v[i];
    shape.planes.push_back({{gradient.x(), gradient.y(), top - gradient.dot(on_edge)}, true});
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

/// Height of a piece at a place on one of its bisectors; minus infinity past a line of it.
double height_on_bisector(const ConcavePiece& piece, const PlanLine& bisector, const Point2& p) {
  constexpr double rounding = 1e-9;
  for (const PlanLine& line : piece.inside) {
    const bool is_bisector = std::abs(line.a * bisector.b - line.b * bisector.a) < rounding;
    if (!is_bisector && line.at(p) < -rounding) return -std::numeric_limits<double>::infinity();
  }
  double least = std::numeric_limits<double>::infinity();
  for (const ShapePlane& plane : piece.planes) least = std::min(least, plane.at(p));
  return least;
}

/// Where anything of a piece may change along a line, as distances from a point of it in a direction.
void add_changes(const ConcavePiece& piece, const Point2& from, const Point2& along, std::vector<double>& at) {
  const auto add = [&](double a, double b, double c) {
    const double rise = a * along.x() + b * along.y();
    if (std::abs(rise) > 1e-12) at.push_back(-(a * from.x() + b * from.y() + c) / rise);
  };
  for (const PlanLine& line : piece.inside) add(line.a, line.b, line.c);
  for (std::size_t i = 0; i < piece.planes.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const ShapePlane &p = piece.planes[i], &q = piece.planes[j];
      add(p.a - q.a, p.b - q.b, p.c - q.c);
    }
  }
}

/// True if two neighbours do not reach their bisector at one height everywhere in the box. Between two changes both are
/// straight, so that a third of the way and two thirds tell.
bool steps_at(const PlanLine& bisector, const ConcavePiece& one, const ConcavePiece& next,
              const Eigen::AlignedBox2d& within) {
  constexpr double rounding = 1e-9;
  const Point2 normal(bisector.a, bisector.b), along(-bisector.b, bisector.a);
  const Point2 middle = within.center(), from = middle - bisector.at(middle) * normal;
  const double half = 0.5 * within.diagonal().norm();
  std::vector<double> at{-half, half};
  add_changes(one, from, along, at);
  add_changes(next, from, along, at);
  std::erase_if(at, [&](double t) { return std::abs(t) > half; });
  std::sort(at.begin(), at.end());
  for (std::size_t i = 0; i + 1 < at.size(); ++i) {
    if (at[i + 1] - at[i] < rounding) continue;
    for (const double part : {1.0 / 3, 2.0 / 3}) {
      const Point2 p = from + along * std::lerp(at[i], at[i + 1], part);
      const double high = height_on_bisector(one, bisector, p), low = height_on_bisector(next, bisector, p);
      if (high != low && !(std::abs(high - low) < rounding)) return true;
    }
  }
  return false;
}

/// F + min(0, the least of its bounding lines / lean) in the stead of these bounds, which are distances.
ConcavePiece without_bounds(const ConcavePiece& piece, const std::vector<PlanLine>& bounds, double lean) {
  ConcavePiece result = piece;
  std::erase_if(result.inside, [&](const PlanLine& line) {
    return std::any_of(bounds.begin(), bounds.end(), [&](const PlanLine& bound) {
      return line.a == bound.a && line.b == bound.b && line.c == bound.c;
    });
  });
  for (const ShapePlane& plane : piece.planes) {
    for (const PlanLine& line : bounds) {
      result.planes.push_back(
          {{plane.a + line.a / lean, plane.b + line.b / lean, plane.c + line.c / lean}, /*is_top=*/false});
    }
  }
  return result;
}

/// The bisectors stand last among a piece's lines, that of its start first.
std::vector<ConcavePiece> leaning(const std::vector<ConcavePiece>& pieces, double lean,
                                  const Eigen::AlignedBox2d& within) {
  std::vector<ConcavePiece> result;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    std::vector<PlanLine> bounds = pieces[i].inside;
    const auto drop_if_even = [&](std::size_t from_last, std::size_t neighbour) {
      const auto bisector = bounds.end() - static_cast<std::ptrdiff_t>(from_last);
      if (!steps_at(*bisector, pieces[i], pieces[neighbour], within)) bounds.erase(bisector);
    };
    const bool has_next = i + 1 < pieces.size();
    if (i > 0) drop_if_even(has_next ? 2 : 1, i - 1);
    if (has_next) drop_if_even(1, i + 1);
    result.push_back(without_bounds(pieces[i], bounds, lean));
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

MoundFrame frame_of(const MoundDesign& design) {
  if (!design.downslope) {
    throw Refusal({Severity::error, "the downslope direction is not known", "mound.downslope",
                   "give the azimuth water runs, or let it be found from the ground"});
  }
  const std::vector<Point2> line = line_left_to_right(design);
  return {middle_of(line), (line.back() - line.front()).normalized()};
}

MoundShape shape_of(const MoundDesign& design) {
  const MoundFrame frame = frame_of(design);
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

MoundShape leaning(MoundShape shape, double lean, const Eigen::AlignedBox2d& within) {
  for (LayerShape& layer : shape.layers) layer.pieces = leaning(layer.pieces, lean, within);
  shape.pit = leaning(shape.pit, lean, within);
  return shape;
}

}  // namespace moundwright

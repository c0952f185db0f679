#include "geom/level_lines.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "geom/plan.h"
#include "geom/toe.h"

namespace moundwright {
namespace {

using Stretch = std::array<Point2, 2>;

constexpr double joined = 1e-6;  // ends nearer than this are one point
constexpr double aside = 1e-6;   // how far beside an edge it is asked what lies there

/// Where a piece stands at `height` or above, mound frame; empty where it does not.
Polygon2 cut_at(const ConcavePiece& piece, double height, double reach) {
  Polygon2 polygon{{-reach, -reach}, {reach, -reach}, {reach, reach}, {-reach, reach}};
  for (const PlanLine& line : piece.inside) polygon = clip_convex(polygon, line);
  for (const ShapePlane& plane : piece.planes) polygon = clip_convex(polygon, {plane.a, plane.b, plane.c - height});
  return polygon;
}

bool lies_in(const Polygon2& convex, const Point2& p) {
  for (std::size_t i = 0; i < convex.size(); ++i) {
    const Point2 edge = convex[(i + 1) % convex.size()] - convex[i], to = p - convex[i];
    if (edge.x() * to.y() - edge.y() * to.x() < 0) return false;
  }
  return true;
}

/// True on an edge of a convex polygon, or within a rounding of it.
bool on_edge_of(const Polygon2& convex, const Point2& p) {
  for (std::size_t i = 0; i < convex.size(); ++i) {
    const Point2 edge = convex[(i + 1) % convex.size()] - convex[i], to = p - convex[i];
    const double along = to.dot(edge) / edge.squaredNorm();
    if (along >= 0 && along <= 1 && (to - edge * along).norm() < 1e-3 * aside) return true;
  }
  return false;
}

/// Shares along a-b at which it meets the stretch p-q.
void add_meeting(const Stretch& ab, const Point2& p, const Point2& q, std::vector<double>& shares) {
  const Point2 along = ab[1] - ab[0], other = q - p, to = p - ab[0];
  const double turn = along.x() * other.y() - along.y() * other.x();
  if (turn != 0) {
    const double s = (to.x() * other.y() - to.y() * other.x()) / turn;
    const double t = (to.x() * along.y() - to.y() * along.x()) / turn;
    if (s > 0 && s < 1 && t >= 0 && t <= 1) shares.push_back(s);
    return;
  }
  for (const Point2& end : {p, q}) {
    const double s = (end - ab[0]).dot(along) / along.squaredNorm();
    if (s > 0 && s < 1) shares.push_back(s);
  }
}

void add_meetings(const Stretch& ab, const Polygon2& loop, std::vector<double>& shares) {
  for (std::size_t i = 0; i < loop.size(); ++i) add_meeting(ab, loop[i], loop[(i + 1) % loop.size()], shares);
}

/// Cuts a stretch at `shares` and hands on the parts that `keep(middle)` wants.
template <class Keep>
void keep_parts(const Stretch& stretch, std::vector<double> shares, const Keep& keep, std::vector<Stretch>& kept) {
  shares.push_back(0);
  shares.push_back(1);
  std::sort(shares.begin(), shares.end());
  const auto at = [&](double s) -> Point2 { return stretch[0] + (stretch[1] - stretch[0]) * s; };
  for (std::size_t i = 0; i + 1 < shares.size(); ++i) {
    if (shares[i + 1] - shares[i] < 1e-12) continue;
    if (keep(at(0.5 * (shares[i] + shares[i + 1])))) kept.push_back({at(shares[i]), at(shares[i + 1])});
  }
}

/// The outline of a union of convex polygons, in stretches with the union on the left.
std::vector<Stretch> outline_of_union(const std::vector<Polygon2>& polygons) {
  std::vector<Stretch> outline;
  for (std::size_t i = 0; i < polygons.size(); ++i) {
    for (std::size_t k = 0; k < polygons[i].size(); ++k) {
      const Stretch edge{polygons[i][k], polygons[i][(k + 1) % polygons[i].size()]};
      const double length = (edge[1] - edge[0]).norm();
      if (length < joined) continue;
      const Point2 inward = Point2(-(edge[1] - edge[0]).y(), (edge[1] - edge[0]).x()) / length * aside;
      std::vector<double> shares;
      for (std::size_t j = 0; j < polygons.size(); ++j) {
        if (j != i) add_meetings(edge, polygons[j], shares);
      }
      // An edge that two polygons have in common, both on one side of it, is kept of the first.
      const auto on_outline = [&](const Point2& middle) {
        for (std::size_t j = 0; j < polygons.size(); ++j) {
          if (j == i) continue;
          if (lies_in(polygons[j], middle - inward)) return false;
          if (j < i && on_edge_of(polygons[j], middle)) return false;
        }
        return true;
      };
      keep_parts(edge, std::move(shares), on_outline, outline);
    }
  }
  return outline;
}

/// Stretches joined end to start into lines.
std::vector<Polyline2> chained(std::vector<Stretch> stretches) {
  std::vector<Polyline2> lines;
  while (!stretches.empty()) {
    Polyline2 line{stretches.back()[0], stretches.back()[1]};
    stretches.pop_back();
    for (bool grown = true; grown;) {
      grown = false;
      for (std::size_t i = 0; i < stretches.size(); ++i) {
        if ((stretches[i][0] - line.back()).norm() < joined) {
          line.push_back(stretches[i][1]);
        } else if ((stretches[i][1] - line.front()).norm() < joined) {
          line.insert(line.begin(), stretches[i][0]);
        } else {
          continue;
        }
        stretches.erase(stretches.begin() + static_cast<std::ptrdiff_t>(i));
        grown = true;
        break;
      }
    }
    if ((line.front() - line.back()).norm() < joined) line.back() = line.front();
    lines.push_back(std::move(line));
  }
  return lines;
}

std::vector<Polygon2> cut_all(const MoundShape& shape, const std::vector<const LayerShape*>& layers, double height) {
  // Wider than anything that stands as high as the bed bottom, and than what lies below it on a hillside.
  const double reach = 1e3 * (shape.reach + 1.0);
  std::vector<Polygon2> polygons;
  for (const LayerShape* layer : layers) {
    for (const ConcavePiece& piece : layer->pieces) {
      Polygon2 polygon = cut_at(piece, height, reach);
      if (!polygon.empty()) polygons.push_back(std::move(polygon));
    }
  }
  return polygons;
}

std::vector<Stretch> on_ground(const MoundPlace& mound, std::vector<Stretch> stretches) {
  for (Stretch& stretch : stretches) {
    for (Point2& end : stretch) end = mound.to_reduced(end);
  }
  return stretches;
}

double greatest_height(const MoundDesign& design) {
  double most = 0;
  for (const Layer& layer : design.layers) most = std::max(most, layer.top + layer.crown);
  return most;
}

double lowest_toe(const Ground& ground, const Buildup& buildup) {
  double lowest = buildup.bottom_elevation;
  for (const Polygon2& loop : buildup.toe.outer) {
    for (const Point2& p : loop) lowest = std::min(lowest, elevation_at(ground, p).value_or(lowest));
  }
  return lowest;
}

}  // namespace

std::vector<Contour> finished_contours(const PlacedMound& mound, double interval) {
  if (!(interval > 0)) {
    throw Refusal({Severity::error, fmt::format("a contour interval of {} is not above zero", interval), {}, {}});
  }
  const double high = mound.buildup.bottom_elevation + greatest_height(mound.design()),
               low = lowest_toe(mound.ground, mound.buildup);
  if ((high - low) / interval > 10000) {
    throw Refusal({Severity::error, fmt::format("contours every {} would cut the mound too often", interval), {}, {}});
  }
  std::vector<const LayerShape*> all;
  for (const LayerShape& layer : mound.shape().layers) all.push_back(&layer);
  std::vector<Contour> result;
  for (double n = std::ceil(low / interval); n * interval <= high; ++n) {
    const std::vector<Polygon2> polygons = cut_all(mound.shape(), all, n * interval - mound.buildup.bottom_elevation);
    std::vector<Stretch> inside;
    for (const Stretch& stretch : on_ground(mound, outline_of_union(polygons))) {
      std::vector<double> shares;
      for (const Polygon2& loop : mound.buildup.toe.outer) add_meetings(stretch, loop, shares);
      for (const Polygon2& hole : mound.buildup.toe.holes) add_meetings(stretch, hole, shares);
      keep_parts(
          stretch, std::move(shares), [&](const Point2& p) { return encloses(mound.buildup.toe, p); }, inside);
    }
    if (!inside.empty()) result.push_back({n * interval, chained(std::move(inside))});
  }
  return result;
}

std::vector<Polyline2> flat_top_outline(const MoundPlace& mound, std::size_t layer) {
  // A hair below the top, so that rounding does not take an edge away.
  const double height = mound.design().layers[layer].top - 1e-9;
  const std::vector<Polygon2> polygons = cut_all(mound.shape(), {&mound.shape().layers[layer]}, height);
  return chained(on_ground(mound, outline_of_union(polygons)));
}

}  // namespace moundwright

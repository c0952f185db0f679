// The rule of the layers taken literally on one triangle of ground at a time, with no tree, no cells and no moments:
//
//     footprint where M = max F_k > ground      P = min(ground - strip, pit)      S_0 = P,  S_k = max(S_(k-1), F_k)
//
//   for (const LiteralBit<FT>& bit : literal_bits(corner, shape, strip)) {
//     if (counts(bit)) add(sums, literal_sums(bit, shape));            // which bits count is the caller's to find
//   }
//
// It shares nothing with the kernel but the design's planes, and so it is the independent integral of the mass balance
// and, on an exact number type, the oracle the kernel is tested against. It is slow: every plane is tried on every
// piece.
#pragma once

#include <optional>
#include <vector>

#include "geom/buildup_kernel.h"
#include "geom/mound_shape.h"

namespace moundwright {

/// A concave piece in plan axes about the mound's origin, heights as residual elevations.
template <class FT>
struct PlacedPiece {
  std::vector<PlaneOf<FT>> inside, planes;
};

template <class FT>
struct PlacedShape {
  std::vector<std::vector<PlacedPiece<FT>>> layers;
  std::vector<PlacedPiece<FT>> pit;  // planes negated: the pit's surface is minus the least of them
  std::vector<PlacedPiece<FT>> bed;  // regions only
  FT grain{0};                       // see height_grain
};

template <class FT>
PlacedShape<FT> place_shape(const MoundShape& shape, const KernelSpot<FT>& spot, const KernelPrepare<FT>& prepare) {
  const FT trend_here = spot.trend_a * spot.x + spot.trend_b * spot.y + spot.trend_c;
  const auto turned = [&](double a, double b, double c) -> PlaneOf<FT> {
    return {FT(a) * spot.along_x - FT(b) * spot.along_y, FT(a) * spot.along_y + FT(b) * spot.along_x, FT(c)};
  };
  const auto placed = [&](const ConcavePiece& piece, const FT& datum, int sign) {
    PlacedPiece<FT> result;
    for (const PlanLine& l : piece.inside) result.inside.push_back(turned(l.a, l.b, l.c));
    for (const ShapePlane& p : piece.planes) {
      PlaneOf<FT> plane = turned(p.a, p.b, p.c);
      const FT s(sign);
      result.planes.push_back(
          {plane.a - s * spot.trend_a, plane.b - s * spot.trend_b, plane.c + s * (datum - trend_here)});
    }
    return result;
  };
  PlacedShape<FT> result;
  result.grain = height_grain(spot);
  for (const LayerShape& layer : shape.layers) {
    result.layers.emplace_back();
    for (const ConcavePiece& piece : layer.pieces) result.layers.back().push_back(placed(piece, spot.bottom, 1));
  }
  for (const ConcavePiece& piece : shape.bed) result.bed.push_back(placed(piece, spot.bottom, 1));
  if (prepare.pit_bottom) {
    for (const ConcavePiece& piece : shape.pit) result.pit.push_back(placed(piece, *prepare.pit_bottom, -1));
  }
  return result;
}

/// What the literal rule finds: per layer, and the integral of finish minus prepared ground taken by itself.
template <class FT>
struct LiteralSums {
  std::vector<FT> layers;
  FT finish_minus_prepared{0};
  FT footprint_area{0};
  FT pit{0};  // below the stripped surface
};

template <class FT>
void add(LiteralSums<FT>& into, const LiteralSums<FT>& part) {
  into.layers.resize(part.layers.size(), FT(0));
  for (std::size_t k = 0; k < part.layers.size(); ++k) into.layers[k] += part.layers[k];
  into.finish_minus_prepared += part.finish_minus_prepared;
  into.footprint_area += part.footprint_area;
  into.pit += part.pit;
}

namespace literal_detail {

template <class FT>
using Outline = std::vector<PlanPoint<FT>>;

template <class FT>
Outline<FT> where_positive(const Outline<FT>& outline, const PlaneOf<FT>& plane) {
  Outline<FT> kept;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const PlanPoint<FT>& p = outline[i];
    const PlanPoint<FT>& q = outline[(i + 1) % outline.size()];
    const FT vp = plane.at(p.x, p.y), vq = plane.at(q.x, q.y);
    if (vp >= FT(0)) kept.push_back(p);
    if ((vp > FT(0) && vq < FT(0)) || (vp < FT(0) && vq > FT(0))) {
      const FT part = vp / (vp - vq);
      kept.push_back({p.x + (q.x - p.x) * part, p.y + (q.y - p.y) * part});
    }
  }
  if (kept.size() < 3) kept.clear();
  return kept;
}

template <class FT>
FT area_of(const Outline<FT>& outline) {
  FT twice(0);
  for (std::size_t i = 1; i + 1 < outline.size(); ++i) {
    twice += (outline[i].x - outline[0].x) * (outline[i + 1].y - outline[0].y) -
             (outline[i + 1].x - outline[0].x) * (outline[i].y - outline[0].y);
  }
  return twice / FT(2);
}

/// Integral of a plane over a convex outline.
template <class FT>
FT integral_of(const Outline<FT>& outline, const PlaneOf<FT>& plane) {
  FT sum(0);
  for (std::size_t i = 1; i + 1 < outline.size(); ++i) {
    const PlanPoint<FT>&o = outline[0], &p = outline[i], &q = outline[i + 1];
    const FT twice = (p.x - o.x) * (q.y - o.y) - (q.x - o.x) * (p.y - o.y);
    sum += twice * (plane.at(o.x, o.y) + plane.at(p.x, p.y) + plane.at(q.x, q.y));
  }
  return sum / FT(6);
}

template <class FT>
bool rises_above(const Outline<FT>& outline, const PlaneOf<FT>& plane, const FT& height) {
  for (const PlanPoint<FT>& p : outline) {
    if (plane.at(p.x, p.y) > height) return true;
  }
  return false;
}

/// A convex bit of plan over which a surface is one plane, or missing (outside every piece so far).
template <class FT>
struct Facet {
  Outline<FT> outline;
  std::optional<PlaneOf<FT>> surface;
};

template <class FT>
PlaneOf<FT> minus(const PlaneOf<FT>& p, const PlaneOf<FT>& q) {
  return {p.a - q.a, p.b - q.b, p.c - q.c};
}

template <class FT>
PlaneOf<FT> negative(const PlaneOf<FT>& p) {
  return {-p.a, -p.b, -p.c};
}

/// True if nothing of an outline lies where the plane is positive.
template <class FT>
bool is_beyond(const Outline<FT>& outline, const PlaneOf<FT>& plane) {
  return !rises_above(outline, plane, FT(0));
}

/// Splits a facet into what lies outside a piece (kept as it is) and, for each plane of it, where that plane is the
/// least. Ties go to the earlier plane.
template <class FT, class Inside>
void split_by_piece(const Facet<FT>& facet, const PlacedPiece<FT>& piece, std::vector<Facet<FT>>& outside,
                    const Inside& inside) {
  // Wholly outside, it stays whole: cut up along the other lines, one triangle under a bent bed of many layers would be
  // a million facets.
  for (const PlaneOf<FT>& line : piece.inside) {
    if (is_beyond(facet.outline, line)) return outside.push_back(facet);
  }
  Outline<FT> rest = facet.outline;
  for (const PlaneOf<FT>& line : piece.inside) {
    if (rest.empty()) return;
    Outline<FT> out = where_positive(rest, negative(line));
    if (!out.empty()) outside.push_back({std::move(out), facet.surface});
    rest = where_positive(rest, line);
  }
  for (std::size_t i = 0; i < piece.planes.size() && !rest.empty(); ++i) {
    Outline<FT> least = rest;
    for (std::size_t j = 0; j < piece.planes.size() && !least.empty(); ++j) {
      if (j == i) continue;
      const PlaneOf<FT> over = minus(piece.planes[j], piece.planes[i]);
      if (over.a == FT(0) && over.b == FT(0) && over.c == FT(0) && j > i) continue;
      if (over.a == FT(0) && over.b == FT(0) && over.c == FT(0))
        least.clear();
      else
        least = where_positive(least, over);
    }
    if (!least.empty()) inside(least, piece.planes[i]);
  }
}

/// True if one plane of the piece nowhere rises above the facet, and so neither does the piece.
template <class FT>
bool adds_nothing(const PlacedPiece<FT>& piece, const Facet<FT>& facet) {
  if (!facet.surface) return false;
  for (const PlaneOf<FT>& plane : piece.planes) {
    if (is_beyond(facet.outline, minus(plane, *facet.surface))) return true;
  }
  return false;
}

/// S = max(S, F) for one piece of a layer; what F adds is integrated into `added`.
template <class FT>
std::vector<Facet<FT>> raised(const std::vector<Facet<FT>>& facets, const PlacedPiece<FT>& piece, FT* added) {
  std::vector<Facet<FT>> result;
  for (const Facet<FT>& facet : facets) {
    if (adds_nothing(piece, facet)) {
      result.push_back(facet);
      continue;
    }
    split_by_piece(facet, piece, result, [&](const Outline<FT>& outline, const PlaneOf<FT>& plane) {
      if (!facet.surface) {
        result.push_back({outline, plane});
        return;
      }
      const PlaneOf<FT> over = minus(plane, *facet.surface);
      if (!rises_above(outline, over, FT(0))) {
        result.push_back({outline, facet.surface});
        return;
      }
      Outline<FT> high = where_positive(outline, over);
      if (rises_above(outline, negative(over), FT(0)))
        result.push_back({where_positive(outline, negative(over)), facet.surface});
      if (added != nullptr) *added += integral_of(high, over);
      result.push_back({std::move(high), plane});
    });
  }
  return result;
}

/// P = min(ground - strip, pit) over one bit of footprint.
template <class FT>
std::vector<Facet<FT>> prepared(const Outline<FT>& outline, const PlaneOf<FT>& stripped, const PlacedShape<FT>& shape,
                                FT& pit_volume) {
  // Upside down the pit is raised over the ground, and min becomes max.
  std::vector<Facet<FT>> facets{{outline, negative(stripped)}};
  for (const PlacedPiece<FT>& piece : shape.pit) facets = raised(facets, piece, &pit_volume);
  for (Facet<FT>& facet : facets) facet.surface = negative(*facet.surface);
  return facets;
}

}  // namespace literal_detail

/// A convex bit of footprint on one triangle, under one plane of the finish.
template <class FT>
struct LiteralBit {
  std::vector<PlanPoint<FT>> outline;
  PlaneOf<FT> finish, stripped;

  PlanPoint<FT> middle() const {
    FT x(0), y(0);
    for (const PlanPoint<FT>& p : outline) x += p.x, y += p.y;
    const FT n(static_cast<double>(outline.size()));
    return {x / n, y / n};
  }
};

namespace literal_detail {

template <class FT>
PlaneOf<FT> plane_through(const TinVertex<FT> (&corner)[3], const FT& det) {
  const FT x1 = corner[1].x - corner[0].x, y1 = corner[1].y - corner[0].y, r1 = corner[1].r - corner[0].r;
  const FT x2 = corner[2].x - corner[0].x, y2 = corner[2].y - corner[0].y, r2 = corner[2].r - corner[0].r;
  const FT a = (r1 * y2 - r2 * y1) / det, b = (x1 * r2 - x2 * r1) / det;
  return {a, b, corner[0].r - a * corner[0].x - b * corner[0].y};
}

template <class FT>
FT finish_over(const LiteralBit<FT>& bit, const std::vector<Facet<FT>>& prepared) {
  FT sum(0);
  for (const Facet<FT>& facet : prepared) sum += integral_of(facet.outline, minus(bit.finish, *facet.surface));
  return sum;
}

}  // namespace literal_detail

/// The footprint on one triangle (corners about the mound's origin, r residual elevations), bit by bit.
template <class FT>
std::vector<LiteralBit<FT>> literal_bits(const TinVertex<FT> (&corner)[3], const PlacedShape<FT>& shape,
                                         const FT& strip) {
  using namespace literal_detail;
  std::vector<LiteralBit<FT>> bits;
  const Outline<FT> triangle = {{corner[0].x, corner[0].y}, {corner[1].x, corner[1].y}, {corner[2].x, corner[2].y}};
  const FT det = FT(2) * area_of(triangle);
  if (!(det > FT(0))) return bits;
  const PlaneOf<FT> ground = plane_through(corner, det);
  const PlaneOf<FT> stripped{ground.a, ground.b, ground.c - strip};

  std::vector<Facet<FT>> finish{{triangle, {}}};
  for (const auto& layer : shape.layers) {
    for (const PlacedPiece<FT>& piece : layer) finish = raised<FT>(finish, piece, nullptr);
  }
  for (const Facet<FT>& facet : finish) {
    if (!facet.surface) continue;
    const PlaneOf<FT> height = minus(*facet.surface, ground);
    Outline<FT> footprint = where_positive(facet.outline, height);
    if (!rises_above(footprint, height, shape.grain)) continue;  // strictly above
    bits.push_back({std::move(footprint), *facet.surface, stripped});
  }
  return bits;
}

/// Integral of finish minus prepared ground over one bit.
template <class FT>
FT finish_minus_prepared(const LiteralBit<FT>& bit, const PlacedShape<FT>& shape) {
  FT pit(0);
  return literal_detail::finish_over(bit, literal_detail::prepared(bit.outline, bit.stripped, shape, pit));
}

/// Everything over one bit, layer by layer in the order they go down.
template <class FT>
LiteralSums<FT> literal_sums(const LiteralBit<FT>& bit, const PlacedShape<FT>& shape) {
  using namespace literal_detail;
  LiteralSums<FT> sums;
  sums.layers.resize(shape.layers.size(), FT(0));
  sums.footprint_area = area_of(bit.outline);
  std::vector<Facet<FT>> surfaces = prepared(bit.outline, bit.stripped, shape, sums.pit);
  sums.finish_minus_prepared = finish_over(bit, surfaces);
  for (std::size_t k = 0; k < shape.layers.size(); ++k) {
    for (const PlacedPiece<FT>& piece : shape.layers[k]) surfaces = raised(surfaces, piece, &sums.layers[k]);
  }
  return sums;
}

}  // namespace moundwright

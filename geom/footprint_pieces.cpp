#include "geom/footprint_pieces.h"

#include <cmath>

#include "geom/plan.h"
#include "geom/toe.h"

namespace moundwright {
namespace {

Point2 middle_of(const Polygon2& polygon) {
  Point2 sum = Point2::Zero();
  for (const Point2& p : polygon) sum += p;
  return sum / static_cast<double>(polygon.size());
}

/// Where a line crosses a convex polygon: from an edge that goes from above zero to not above, to one that comes back.
std::optional<std::array<Point2, 2>> zero_of(const PlanLine& line, const Polygon2& polygon) {
  std::optional<Point2> out, in;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Point2 &p = polygon[i], &q = polygon[i + 1 < polygon.size() ? i + 1 : 0];
    const double at_p = line.at(p), at_q = line.at(q);
    if ((at_p > 0) == (at_q > 0)) continue;
    (at_p > 0 ? out : in) = p + (q - p) * zero_share(at_p, at_q);
  }
  return out && in ? std::optional<std::array<Point2, 2>>({*out, *in}) : std::nullopt;
}

class Pieces {
 public:
  Pieces(const PlacedMound& mound, const std::function<void(const FootprintPiece&)>& f) : mound_(mound), f_(f) {
    if (mound.design().prepare.undercut) {
      pit_above_bottom_ = mound.design().prepare.undercut->elevation - mound.buildup.bottom_elevation;
    }
  }

  void add(const CellPiece& cell_piece) const {
    const CellLevel<double>* top = top_level(mound_, *cell_piece.cell);
    if (top == nullptr) return;
    FootprintPiece piece;
    piece.triangle = cell_piece.triangle;
    piece.ground = cell_piece.ground;
    piece.finish = top->plane;
    piece.cell = cell_piece.cell;
    const PlanLine over = above(piece.finish, piece.ground);
    piece.outline = clip_convex(cell_piece.outline, over);
    if (piece.outline.empty()) return;
    const Point2 middle = middle_of(piece.outline);
    if (!(over.at(middle) > 0)) return;  // strictly above
    if (mound_.buildup.specks > 0 && !encloses(mound_.buildup.toe, mound_.to_reduced(middle))) return;
    piece.toe = zero_of(over, cell_piece.outline);
    prepare(piece);
  }

 private:
  const PlacedMound& mound_;
  const std::function<void(const FootprintPiece&)>& f_;
  double pit_above_bottom_ = 0;

  void prepare(FootprintPiece& piece) const {
    piece.prepared = piece.ground;
    piece.prepared.c -= mound_.design().prepare.strip;
    if (!piece.cell->has_pit) {
      f_(piece);
      return;
    }
    PlaneOf<double> pit = piece.cell->pit;
    pit.c += pit_above_bottom_;
    FootprintPiece dug = piece;
    dug.outline = clip_convex(piece.outline, above(piece.prepared, pit));
    dug.prepared = pit;
    dug.in_pit = true;
    dug.toe.reset();  // a pit lies inside the footprint
    if (!dug.outline.empty()) f_(dug);
    piece.outline = clip_convex(piece.outline, above(pit, piece.prepared));
    if (!piece.outline.empty()) f_(piece);
  }
};

Polygon2 toe_box(const PlacedMound& mound) { return box_round(toe_in_mound_frame(mound, mound.buildup.toe)); }

}  // namespace

void for_each_footprint_piece(const PlacedMound& mound, const std::function<void(const FootprintPiece&)>& f) {
  if (mound.buildup.toe.outer.empty()) return;
  const Pieces pieces(mound, f);
  for_each_cell_piece(mound, toe_box(mound), [&](const CellPiece& piece) { pieces.add(piece); });
}

Polygon2 part_above_prepared(const MoundPlace& mound, const FootprintPiece& piece, std::uint32_t level) {
  // The outermost level stands above existing ground all over the piece.
  if (level + 1 == piece.cell->level_count) return piece.outline;
  return clip_convex(piece.outline, above(mound.cells().levels[piece.cell->first_level + level].plane, piece.prepared));
}

std::vector<double> contact_areas(const PlacedMound& mound) {
  std::vector<double> areas(mound.design().layers.size(), 0.0);
  for_each_footprint_piece(mound, [&](const FootprintPiece& piece) {
    double below = 0;
    for (std::uint32_t i = 0; i < piece.cell->level_count; ++i) {
      const double here = plan_area(part_above_prepared(mound, piece, i));
      const auto layer = static_cast<std::size_t>(mound.cells().levels[piece.cell->first_level + i].layer);
      areas[layer] += here - below;
      below = here;
    }
  });
  return areas;
}

double finished_area(const PlacedMound& mound) {
  double area = 0;
  for_each_footprint_piece(mound, [&](const FootprintPiece& piece) {
    area += plan_area(piece.outline) * std::sqrt(1 + piece.finish.a * piece.finish.a + piece.finish.b * piece.finish.b);
  });
  return area;
}

}  // namespace moundwright

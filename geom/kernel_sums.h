// What the kernel adds up, and how a plane is integrated over a patch of ground from the patch's moments alone.
//
// With P the prepared ground (a residual elevation) and p a plane that stands above it, the body between them has
//
//     volume = int (p - P)      x = int x (p - P)      y = int y (p - P)      z = int (p^2 - P^2) / 2
//
// over the patch, and all four are sums of products of p's coefficients and the ten moments of P. So a box of ten
// thousand triangles costs what a sliver does, and a layer more on the same patch costs some thirty operations.
#pragma once

#include <vector>

#include "geom/plan_cells.h"
#include "geom/tin_tree.h"

namespace moundwright {

/// Least and greatest of something, over the places where it was seen.
template <class FT>
struct Range {
  bool seen = false;
  FT least{0}, most{0};
  void add(const FT& value) {
    if (!seen) {
      least = most = value;
      seen = true;
    } else if (value < least) {
      least = value;
    } else if (value > most) {
      most = value;
    }
  }
};

/// Integrals of a thickness t over plan: of t, x t, y t, and of t times the height of its middle (a residual).
template <class FT>
struct Bulk {
  FT volume{0}, x{0}, y{0}, z{0};
};

template <class FT>
struct LayerSums {
  Bulk<FT> bulk;
  FT area{0};                       // where the layer adds something
  Range<FT> in_bed, under_own_top;  // of thickness
};

template <class FT>
struct KernelSums {
  std::vector<LayerSums<FT>> layers;
  FT footprint_area{0};
  Bulk<FT> strip;
  Bulk<FT> pit;  // below the stripped surface
  FT pit_area{0};
  Range<FT> sand;  // bed bottom to prepared ground, under the bed

  void reset(std::size_t layer_count) {
    layers.assign(layer_count, LayerSums<FT>{});
    footprint_area = pit_area = FT(0);
    strip = pit = Bulk<FT>{};
    sand = Range<FT>{};
  }
};

namespace kernel_detail {

template <class FT>
void add(Bulk<FT>& into, const Bulk<FT>& part) {
  into.volume += part.volume, into.x += part.x, into.y += part.y, into.z += part.z;
}

template <class FT>
void subtract(Bulk<FT>& from, const Bulk<FT>& part) {
  from.volume -= part.volume, from.x -= part.x, from.y -= part.y, from.z -= part.z;
}

/// Everything but the thickness ranges.
template <class FT>
void subtract(KernelSums<FT>& from, const KernelSums<FT>& part) {
  for (std::size_t k = 0; k < from.layers.size(); ++k) {
    subtract(from.layers[k].bulk, part.layers[k].bulk);
    from.layers[k].area -= part.layers[k].area;
  }
  from.footprint_area -= part.footprint_area;
  subtract(from.strip, part.strip);
  subtract(from.pit, part.pit);
  from.pit_area -= part.pit_area;
}

/// A piece of plan with the moments about (x, y) of a surface over it.
template <class FT>
struct Patch {
  Moments<FT> moments;
  FT x, y;
};

/// The body between a patch's surface and a plane, positive where the plane is above.
template <class FT>
Bulk<FT> bulk_under(const PlaneOf<FT>& plane, const Patch<FT>& patch) {
  const Moments<FT>& m = patch.moments;
  const FT c = plane.at(patch.x, patch.y);
  const FT p = plane.a * m.x + plane.b * m.y + c * m.area;  // integrals of the plane, and of it times x and y
  const FT px = plane.a * m.xx + plane.b * m.xy + c * m.x;
  const FT py = plane.a * m.xy + plane.b * m.yy + c * m.y;
  const FT pp = plane.a * px + plane.b * py + c * p;
  const FT volume = p - m.r;
  return {volume, px - m.xr + patch.x * volume, py - m.yr + patch.y * volume, (pp - m.rr) / FT(2)};
}

/// The same patch with its surface a depth lower.
template <class FT>
Patch<FT> lowered(const Patch<FT>& patch, const FT& depth) {
  Patch<FT> low = patch;
  Moments<FT>& m = low.moments;
  m.rr += depth * (depth * m.area - FT(2) * m.r);
  m.r -= depth * m.area;
  m.xr -= depth * m.x;
  m.yr -= depth * m.y;
  return low;
}

/// The body between a patch's surface and that surface a depth higher.
template <class FT>
Bulk<FT> bulk_of_cover(const Patch<FT>& patch, const FT& depth) {
  const Moments<FT>& m = patch.moments;
  const FT volume = depth * m.area;
  return {volume, depth * m.x + patch.x * volume, depth * m.y + patch.y * volume, depth * m.r + depth * volume / FT(2)};
}

/// The same patch with a plane for its surface.
template <class FT>
Patch<FT> with_surface(const PlaneOf<FT>& plane, const Patch<FT>& patch) {
  Patch<FT> result = patch;
  Moments<FT>& m = result.moments;
  const FT c = plane.at(patch.x, patch.y);
  m.r = plane.a * m.x + plane.b * m.y + c * m.area;
  m.xr = plane.a * m.xx + plane.b * m.xy + c * m.x;
  m.yr = plane.a * m.xy + plane.b * m.yy + c * m.y;
  m.rr = plane.a * m.xr + plane.b * m.yr + c * m.r;
  return result;
}

}  // namespace kernel_detail
}  // namespace moundwright

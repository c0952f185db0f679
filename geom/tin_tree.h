// Triangles of a TIN with a tree of boxes over them, on any number type.
//
// What it promises. Triangles are stored along a Hilbert curve; the tree over them is a plain binary one, laid
// out in pre-order, so that children need no pointers: a node over `n` blocks of triangles has its first child
// right behind it (over n/2 blocks) and its second child 2 (n/2) places on. Every node carries
//   - a box in plan and the range of the elevations in it, in single precision, rounded outward, so that
//     a decision made on the box holds for every triangle inside, whatever the number type;
//   - the moments of its triangles about the box's centre, exact on exact number types, from which the integral of
//     any plane minus ground, and its centroid, follow without visiting a triangle.
// Elevations here are residuals: the trend plane of the whole ground is taken off first, which keeps the ranges
// tight on a hillside and the arithmetic small.
//
// `edge i` of a triangle runs from its corner i to corner (i + 1) % 3; `neighbours[t][i]` is the triangle across
// it, or -1 at the outside of the survey.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <vector>

namespace moundwright {

template <class FT>
struct TinVertex {
  FT x, y, r;  // plan position and residual elevation
};

/// Integrals over the plan area of some triangles; x and y from the box's centre, r the residual elevation.
template <class FT>
struct Moments {
  FT area{0}, x{0}, y{0}, r{0};
  FT xx{0}, xy{0}, yy{0}, xr{0}, yr{0}, rr{0};
};

struct TreeBox {
  float x0, y0, x1, y1;  // plan, rounded outward
  float r0, r1;          // residual elevations, rounded outward; r1 is infinite where the survey ends in this box,
                         // so that no box at the outside is ever taken as wholly under the mound
  double center_x() const { return 0.5 * (static_cast<double>(x0) + x1); }
  double center_y() const { return 0.5 * (static_cast<double>(y0) + y1); }
  double half_x() const { return 0.5 * (static_cast<double>(x1) - x0); }
  double half_y() const { return 0.5 * (static_cast<double>(y1) - y0); }
};

template <class FT>
struct TinTree {
  static constexpr std::uint32_t block = 4;  // triangles in a leaf

  std::vector<TinVertex<FT>> vertices;
  std::vector<std::array<std::uint32_t, 3>> triangles;
  std::vector<std::array<std::int32_t, 3>> neighbours;
  std::vector<TreeBox> boxes;        // one a node, pre-order
  std::vector<Moments<FT>> moments;  // one a node

  std::uint32_t block_count() const { return (static_cast<std::uint32_t>(triangles.size()) + block - 1) / block; }
};

/// A node as a traversal carries it: where it is, and the blocks of triangles it covers.
struct TreeNode {
  std::uint32_t index, first_block, blocks;
  bool is_leaf() const { return blocks == 1; }
  TreeNode first_child() const { return {index + 1, first_block, blocks / 2}; }
  TreeNode second_child() const { return {index + 2 * (blocks / 2), first_block + blocks / 2, blocks - blocks / 2}; }
};

template <class FT>
TreeNode root_of(const TinTree<FT>& tree) {
  return {0, 0, tree.block_count()};
}

/// The triangles of a leaf or inner node: [first, last).
template <class FT>
std::pair<std::uint32_t, std::uint32_t> triangle_range(const TinTree<FT>& tree, const TreeNode& node) {
  const std::uint32_t first = node.first_block * TinTree<FT>::block;
  const auto size = static_cast<std::uint32_t>(tree.triangles.size());
  return {first, std::min(size, first + node.blocks * TinTree<FT>::block)};
}

namespace tin_tree_detail {

inline float round_down(double v) {
  return std::nextafter(static_cast<float>(v), -std::numeric_limits<float>::infinity());
}
inline float round_up(double v) {
  return std::nextafter(static_cast<float>(v), std::numeric_limits<float>::infinity());
}

template <class FT>
TreeBox box_of_triangles(const TinTree<FT>& tree, std::uint32_t first, std::uint32_t last,
                         const std::vector<TinVertex<double>>& rounded) {
  constexpr double inf = std::numeric_limits<double>::infinity();
  double x0 = inf, y0 = inf, r0 = inf, x1 = -inf, y1 = -inf, r1 = -inf;
  bool outside = false;
  for (std::uint32_t t = first; t < last; ++t) {
    for (int i = 0; i < 3; ++i) {
      const TinVertex<double>& v = rounded[tree.triangles[t][i]];
      x0 = std::min(x0, v.x), x1 = std::max(x1, v.x);
      y0 = std::min(y0, v.y), y1 = std::max(y1, v.y);
      r0 = std::min(r0, v.r), r1 = std::max(r1, v.r);
      outside |= tree.neighbours[t][i] < 0;
    }
  }
  return {round_down(x0), round_down(y0), round_up(x1),
          round_up(y1),   round_down(r0), outside ? std::numeric_limits<float>::infinity() : round_up(r1)};
}

inline TreeBox joined(const TreeBox& a, const TreeBox& b) {
  return {std::min(a.x0, b.x0), std::min(a.y0, b.y0), std::max(a.x1, b.x1),
          std::max(a.y1, b.y1), std::min(a.r0, b.r0), std::max(a.r1, b.r1)};
}

/// Adds a triangle's integrals about (cx, cy). A quadratic over a triangle integrates to area / 12 times the sum of
/// the corner products plus the product of the corner sums (exact; the three-corner form of Stroud's degree-2 rule).
template <class FT>
void add_triangle(Moments<FT>& m, const TinTree<FT>& tree, std::uint32_t t, const FT& cx, const FT& cy) {
  FT x[3], y[3], r[3];
  for (int i = 0; i < 3; ++i) {
    const TinVertex<FT>& v = tree.vertices[tree.triangles[t][i]];
    x[i] = v.x - cx, y[i] = v.y - cy, r[i] = v.r;
  }
  const FT area = ((x[1] - x[0]) * (y[2] - y[0]) - (x[2] - x[0]) * (y[1] - y[0])) / FT(2);
  const FT sx = x[0] + x[1] + x[2], sy = y[0] + y[1] + y[2], sr = r[0] + r[1] + r[2];
  const FT third = area / FT(3), twelfth = area / FT(12);
  const auto products = [](const FT* p, const FT* q) -> FT { return p[0] * q[0] + p[1] * q[1] + p[2] * q[2]; };
  m.area += area, m.x += third * sx, m.y += third * sy, m.r += third * sr;
  m.xx += twelfth * (products(x, x) + sx * sx);
  m.xy += twelfth * (products(x, y) + sx * sy);
  m.yy += twelfth * (products(y, y) + sy * sy);
  m.xr += twelfth * (products(x, r) + sx * sr);
  m.yr += twelfth * (products(y, r) + sy * sr);
  m.rr += twelfth * (products(r, r) + sr * sr);
}

/// Adds moments taken about one centre to moments taken about another; (dx, dy) = their centre - ours.
template <class FT>
void add_moved(Moments<FT>& into, const Moments<FT>& from, const FT& dx, const FT& dy) {
  into.area += from.area;
  into.x += from.x + dx * from.area;
  into.y += from.y + dy * from.area;
  into.r += from.r;
  into.xx += from.xx + FT(2) * dx * from.x + dx * dx * from.area;
  into.xy += from.xy + dx * from.y + dy * from.x + dx * dy * from.area;
  into.yy += from.yy + FT(2) * dy * from.y + dy * dy * from.area;
  into.xr += from.xr + dx * from.r;
  into.yr += from.yr + dy * from.r;
  into.rr += from.rr;
}

/// Box and moments of an inner node from its children's.
template <class FT>
void join_children(TinTree<FT>& tree, const TreeNode& node) {
  const TreeNode children[2] = {node.first_child(), node.second_child()};
  TreeBox& box = tree.boxes[node.index];
  box = joined(tree.boxes[children[0].index], tree.boxes[children[1].index]);
  for (const TreeNode& child : children) {
    const TreeBox& inner = tree.boxes[child.index];
    add_moved(tree.moments[node.index], tree.moments[child.index], FT(FT(inner.center_x()) - FT(box.center_x())),
              FT(FT(inner.center_y()) - FT(box.center_y())));
  }
}

template <class FT>
void build_node(TinTree<FT>& tree, const TreeNode& node, const std::vector<TinVertex<double>>& rounded) {
  if (!node.is_leaf()) {
    build_node(tree, node.first_child(), rounded);
    build_node(tree, node.second_child(), rounded);
    return join_children(tree, node);
  }
  const auto [first, last] = triangle_range(tree, node);
  TreeBox& box = tree.boxes[node.index];
  box = box_of_triangles(tree, first, last, rounded);
  for (std::uint32_t t = first; t < last; ++t) {
    add_triangle(tree.moments[node.index], tree, t, FT(box.center_x()), FT(box.center_y()));
  }
}

}  // namespace tin_tree_detail

/// Makes room for `boxes` and `moments`. False where there is nothing to put in them.
template <class FT>
bool prepare_boxes(TinTree<FT>& tree) {
  const std::uint32_t blocks = tree.block_count();
  if (blocks == 0) return false;
  tree.boxes.assign(2 * static_cast<std::size_t>(blocks) - 1, TreeBox{});
  tree.moments.assign(2 * static_cast<std::size_t>(blocks) - 1, Moments<FT>{});
  return true;
}

/// Fills `boxes` and `moments` from `vertices`, `triangles` and `neighbours`. `rounded` are the same vertices in double
/// (the same vector where FT is double). One pass, no allocation but the two arrays.
template <class FT>
void build_boxes(TinTree<FT>& tree, const std::vector<TinVertex<double>>& rounded) {
  if (prepare_boxes(tree)) tin_tree_detail::build_node(tree, root_of(tree), rounded);
}

}  // namespace moundwright

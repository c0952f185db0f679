#include "geom/bust_groups.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <optional>
#include <utility>

namespace moundwright {
namespace {

constexpr double alike = 0.4, evenness = 0.25, least_share_of_distance = 0.05, usual_distance = 0.7;

using Points = std::vector<std::uint32_t>;

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

class GroupFinder {
 public:
  GroupFinder(const Ground& ground, const Standings& standings, const std::vector<bool>& on_line, double factor)
      : ground_(ground), standings_(standings), on_line_(on_line), least_(factor * standings.spread) {
    marks_.resize(ground.points.size());
    taken_.resize(ground.points.size());
    state_.resize(ground.points.size());
  }

  std::vector<BustGroup> find() {
    try_parts_cut_off();
    try_those_off_the_mean();
    std::sort(groups_.begin(), groups_.end(),
              [](const BustGroup& a, const BustGroup& b) { return std::abs(a.stands_out) > std::abs(b.stands_out); });
    return std::move(groups_);
  }

 private:
  using Vertex = TinVertex<double>;
  const Vertex& at(std::uint32_t v) const { return ground_.tree.vertices[v]; }
  std::size_t most() const { return std::min<std::size_t>(ground_.points.size() / 2, 2000); }

  double distance(std::uint32_t a, std::uint32_t b) const { return std::hypot(at(a).x - at(b).x, at(a).y - at(b).y); }

  template <class F>
  void round(std::uint32_t v, F f) const {
    for_each_neighbour(ground_, v, standings_.triangle_at[v], f);
  }

  // ---- which shots may be a group ----

  /// Far off the ground round them, a group is what is left when the steep edges are cut, however large it is.
  void try_parts_cut_off() {
    constexpr double too_little = 1e-3, how_the_ground_is = 0.4;
    const double longest = twice_usual_distance();
    float steepest = 0;
    for (const Standing& s : standings_.all) steepest = std::max(steepest, s.steepest);
    for (double cut = 0.75 * static_cast<double>(steepest); cut > std::max(least_, too_little); cut *= 0.75) {
      const auto steep = std::count_if(standings_.all.begin(), standings_.all.end(),
                                       [cut](const Standing& s) { return static_cast<double>(s.steepest) > cut; });
      if (static_cast<double>(steep) > how_the_ground_is * static_cast<double>(standings_.all.size())) break;
      try_parts_below(cut, longest);
    }
  }

  /// Slivers at the outside join shots that are no neighbors.
  double twice_usual_distance() const {
    std::vector<double> distances;
    const std::size_t stride = std::max<std::size_t>(1, standings_.all.size() / 4096);
    for (std::size_t i = 0; i < standings_.all.size(); i += stride)
      distances.push_back(static_cast<double>(standings_.all[i].distance));
    return 2 * median(std::move(distances));
  }

  /// Each such part has a shot with a steep edge; what is too large for a group is not walked to its end.
  void try_parts_below(double cut, double longest) {
    Points walked;
    for (std::uint32_t start = 0; start < state_.size(); ++start) {
      if (state_[start] != State::untouched || static_cast<double>(standings_.all[start].steepest) <= cut) continue;
      Points part{start};
      state_[start] = State::walked;
      bool is_large = false;
      for (std::size_t i = 0; i < part.size() && !is_large; ++i) {
        const std::uint32_t from = part[i];
        round(from, [&](std::uint32_t to) {
          if (std::abs(at(from).r - at(to).r) > cut || distance(from, to) > longest) return;
          is_large = is_large || state_[to] == State::large;
          if (state_[to] != State::untouched) return;
          state_[to] = State::walked;
          part.push_back(to);
        });
        is_large = is_large || part.size() > most();
      }
      walked.insert(walked.end(), part.begin(), part.end());
      if (is_large) {
        for (const std::uint32_t v : part) state_[v] = State::large;
      } else if (part.size() > 1) {
        try_group(std::move(part));
      }
    }
    for (const std::uint32_t v : walked) state_[v] = State::untouched;
  }

  /// A little off it, its shots lie off the mean of their neighbours, more than the ground does elsewhere.
  void try_those_off_the_mean() {
    float farthest = 0;
    for (const Standing& s : standings_.all) farthest = std::max(farthest, std::abs(s.from_mean));
    for (double off = 3 * standings_.spread; off > 0 && off < static_cast<double>(farthest); off *= 1.5) {
      for (const double sign : {1.0, -1.0}) {
        const auto is_off = [&](std::uint32_t v) {
          return sign * static_cast<double>(standings_.all[v].from_mean) > off;
        };
        std::vector<bool> seen(ground_.points.size());
        for (std::uint32_t v = 0; v < seen.size(); ++v) {
          if (seen[v] || !is_off(v)) continue;
          Points group = gathered(v, is_off);
          for (const std::uint32_t p : group) seen[p] = true;
          if (group.size() > 1) try_group(std::move(group));
        }
      }
    }
  }

  /// All that `belongs` and hangs together with `start`; more than a group may have is not gathered to the end.
  template <class Belongs>
  Points gathered(std::uint32_t start, const Belongs& belongs) {
    ++stamp_;
    Points group{start};
    marks_[start] = stamp_;
    for (std::size_t i = 0; i < group.size(); ++i) {
      round(group[i], [&](std::uint32_t v) {
        if (marks_[v] == stamp_ || !belongs(v)) return;
        marks_[v] = stamp_;
        group.push_back(v);
      });
    }
    return group;
  }

  // ---- whether they are one ----

  /// A group that lacks some of its shots, which hang on by edges longer than between neighbors, takes them in.
  void try_group(Points group) {
    constexpr int rounds = 3;
    for (int i = 0; i <= rounds && may_be_told(group); ++i) {
      Points left_out;
      if (auto found = judged(group, left_out)) {
        for (const std::uint32_t v : group) taken_[v] = true;
        groups_.push_back(std::move(*found));
        return;
      }
      if (left_out.empty()) return;
      group.insert(group.end(), left_out.begin(), left_out.end());
    }
  }

  bool may_be_told(const Points& group) const {
    if (group.size() > most()) return false;
    std::size_t on_line = 0;
    for (const std::uint32_t v : group) {
      if (taken_[v]) return false;
      on_line += on_line_[v];
    }
    return 2 * on_line <= group.size();
  }

  /// `left_out` are the shots next to one that is none for their sake: they stand off the ground as it does.
  std::optional<BustGroup> judged(const Points& group, Points& left_out) {
    const Rings rings = rings_of(group);
    if (rings.near.size() + rings.far.size() < 5 || rings.near.size() < 2 || rings.apart.empty()) return std::nullopt;
    if (median(rings.to_group) < usual_distance * median(rings.apart)) return std::nullopt;
    constexpr std::size_t enough = 12;
    const bool may_bend = !rings.is_outside && rings.near.size() + rings.far.size() >= enough;
    const auto plane = surface_of(rings, false), surface = may_bend ? surface_of(rings, true) : plane;
    if (!plane || !surface) return std::nullopt;
    const auto off_surface = [&](std::uint32_t v) { return at(v).r - surface->at(at(v)); };
    std::vector<double> off;
    for (const std::uint32_t v : group) off.push_back(off_surface(v));
    const double out = median(off), size = std::abs(out), reach = rings.reach;
    const double least =
        std::max({least_, least_share_of_distance * reach, rings.is_outside || are_in_line(group) ? reach : 0.0});
    if (size <= least) return std::nullopt;
    for (const double o : off) {
      if (std::abs(o - out) > alike * size) return std::nullopt;
    }
    double uneven = 0;
    for (const Points* ring : {&rings.near, &rings.far}) {
      for (const std::uint32_t v : *ring) uneven += off_surface(v) * off_surface(v);
    }
    uneven = std::sqrt(uneven / static_cast<double>(rings.near.size() + rings.far.size()));
    const bool all_round = std::all_of(rings.near.begin(), rings.near.end(), [&](std::uint32_t v) {
      const double goes_along = (at(v).r - plane->at(at(v))) / out;  // a ditch goes on where its shots do
      return std::abs(off_surface(v)) < alike * size && goes_along < 1.5 * alike;
    });
    if (uneven > evenness * size || !all_round || !stands_out_of_expected(rings, out)) {
      std::copy_if(rings.near.begin(), rings.near.end(), std::back_inserter(left_out),
                   [&](std::uint32_t v) { return off_surface(v) / out > 0.5; });
      if (3 * left_out.size() > rings.near.size()) left_out.clear();
      return std::nullopt;
    }
    const auto [low, high] = std::minmax_element(off.begin(), off.end());
    BustGroup found{group, out, out > 0 ? *low : *high, out > 0 ? *high : *low};
    std::sort(found.points.begin(), found.points.end());
    return found;
  }

  /// Four shots and more, far longer than wide.
  bool are_in_line(const Points& group) const {
    constexpr double narrow = 0.25;
    if (group.size() < 4) return false;
    Point2 middle = Point2::Zero();
    for (const std::uint32_t v : group) middle += Point2(at(v).x, at(v).y) / static_cast<double>(group.size());
    Eigen::Matrix2d spread = Eigen::Matrix2d::Zero();
    for (const std::uint32_t v : group) {
      const Point2 off = Point2(at(v).x, at(v).y) - middle;
      spread += off * off.transpose();
    }
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> axes(spread);
    return axes.eigenvalues()[0] < narrow * narrow * axes.eigenvalues()[1];
  }

  /// The shots round a group, and those round them.
  struct Rings {
    Points near, far;
    double reach = 0;              // mean length of the edges from the group to the near ones
    std::vector<double> to_group;  // of each near one, how far the nearest of the group is
    std::vector<double> apart;     // and the nearest of the others
    std::vector<double> expected;  // how far the group stands from the triangles behind the near ones, carried on
    bool is_outside = false;       // at the outside of the ground, or next to it
  };

  Rings rings_of(const Points& group) {
    Rings rings;
    const std::uint32_t in_group = ++stamp_, in_near = ++stamp_, in_far = ++stamp_;
    for (const std::uint32_t v : group) marks_[v] = in_group;
    std::size_t edges = 0;
    for (const std::uint32_t v : group) {
      round(v, [&](std::uint32_t n) {
        if (marks_[n] == in_group) return;
        rings.reach += distance(v, n), ++edges;
        if (marks_[n] != in_near) marks_[n] = in_near, rings.near.push_back(n);
      });
    }
    rings.reach /= static_cast<double>(std::max<std::size_t>(edges, 1));
    for (const std::uint32_t v : rings.near) {
      double to_group = INFINITY, apart = INFINITY;
      round(v, [&](std::uint32_t n) {
        double& nearest = marks_[n] == in_group ? to_group : apart;
        nearest = std::min(nearest, distance(v, n));
        if (marks_[n] != in_group && marks_[n] != in_near && marks_[n] != in_far)
          marks_[n] = in_far, rings.far.push_back(n);
      });
      rings.to_group.push_back(to_group), rings.apart.push_back(apart);
    }
    for (const std::uint32_t v : group) add_expected(v, in_group, rings);
    return rings;
  }

  void add_expected(std::uint32_t v, std::uint32_t in_group, Rings& rings) const {
    const auto& tree = ground_.tree;
    for_each_triangle_round(tree, v, standings_.triangle_at[v], [&](std::uint32_t t, int i) {
      // The last shots of a ditch lie just within the outside as often as on it.
      for (const std::int32_t n : tree.neighbours[t]) rings.is_outside = rings.is_outside || n < 0;
      const std::int32_t behind = tree.neighbours[t][(i + 1) % 3];
      if (behind < 0) return;
      const auto& corners = tree.triangles[static_cast<std::size_t>(behind)];
      if (std::any_of(corners.begin(), corners.end(), [&](std::uint32_t c) { return marks_[c] == in_group; })) return;
      if (const auto r = carried_on(corners, at(v).x, at(v).y)) rings.expected.push_back(at(v).r - *r);
    });
  }

  /// Residual elevation of a triangle's plane carried on to (x, y); nullopt for a needle.
  std::optional<double> carried_on(const std::array<std::uint32_t, 3>& corners, double x, double y) const {
    const Vertex &p = at(corners[0]), &q = at(corners[1]), &r = at(corners[2]);
    const double ux = q.x - p.x, uy = q.y - p.y, vx = r.x - p.x, vy = r.y - p.y;
    const double cross = ux * vy - uy * vx;
    if (!(cross > 0.02 * (ux * ux + uy * uy + vx * vx + vy * vy))) return std::nullopt;
    const double s = ((x - p.x) * vy - (y - p.y) * vx) / cross, w = ((y - p.y) * ux - (x - p.x) * uy) / cross;
    return p.r + s * (q.r - p.r) + w * (r.r - p.r);
  }

  static bool stands_out_of_expected(const Rings& rings, double out) {
    if (rings.expected.empty()) return rings.is_outside;
    return median(rings.expected) / out > 0.6;
  }

  using Terms = Eigen::Matrix<double, 6, 1>;

  /// Elevation as a polynomial about a place: a plane, or a surface of second degree.
  struct Surface {
    double x = 0, y = 0, scale = 1;
    double bends = 0;  // 1 for second degree
    Terms of = Terms::Zero();

    Terms row(const Vertex& v) const {
      const double u = (v.x - x) / scale, w = (v.y - y) / scale;
      Terms r;
      r << 1, u, w, bends * u * u, bends * u * w, bends * w * w;
      return r;
    }
    double at(const Vertex& v) const { return of.dot(row(v)); }
  };

  /// By least squares. The second degree follows a hill that the group may be the top of; it takes shots all round.
  std::optional<Surface> surface_of(const Rings& rings, bool bends) const {
    Surface surface{at(rings.near.front()).x, at(rings.near.front()).y, rings.reach, bends ? 1.0 : 0.0};
    Eigen::Matrix<double, 6, 6> sums = Eigen::Matrix<double, 6, 6>::Zero();
    Terms right = Terms::Zero();
    for (const Points* ring : {&rings.near, &rings.far}) {
      for (const std::uint32_t v : *ring) {
        const Terms row = surface.row(at(v));
        sums += row * row.transpose(), right += row * at(v).r;
      }
    }
    if (!bends) sums.diagonal().tail<3>().setOnes();
    const Eigen::LDLT<Eigen::Matrix<double, 6, 6>> solver(sums);
    surface.of = solver.solve(right);
    if (!surface.of.allFinite() || solver.rcond() < 1e-12) return std::nullopt;
    return surface;
  }

  const Ground& ground_;
  const Standings& standings_;
  const std::vector<bool>& on_line_;
  double least_;
  Points marks_;
  std::uint32_t stamp_ = 0;
  enum class State : std::uint8_t { untouched, walked, large };
  std::vector<State> state_;  // of each point, while parts are walked
  std::vector<bool> taken_;   // by a group that was found
  std::vector<BustGroup> groups_;
};

}  // namespace

std::vector<BustGroup> find_bust_groups(const Ground& ground, const Standings& standings,
                                        const std::vector<bool>& on_line, double factor) {
  return GroupFinder(ground, standings, on_line, factor).find();
}

}  // namespace moundwright

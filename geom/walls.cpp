#include "geom/walls.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <set>
#include <unordered_map>

#include "geom/printed.h"
#include "geom/shot_names.h"

namespace moundwright {
namespace {

/// Places [first, last] of line `a` that line `b` has too, one behind the other.
struct Stretch {
  std::size_t a = 0, b = 0, first = 0, last = 0;
};

/// Sites that the first triangulation joins to each stacked one, and to the one over or under it.
std::unordered_map<std::uint32_t, std::set<std::uint32_t>> sites_round(
    const MergedSites& merged, const PlanTriangulation& tin,
    const std::unordered_map<std::uint32_t, std::uint32_t>& partner) {
  std::unordered_map<std::uint32_t, std::set<std::uint32_t>> round;
  for (const auto& triangle : tin.triangles) {
    for (const std::uint32_t corner : triangle) {
      const std::uint32_t site = merged.now_at[corner];
      const auto found = partner.find(site);
      if (found == partner.end()) continue;
      for (const std::uint32_t other : triangle) {
        round[site].insert(merged.now_at[other]);
        round[found->second].insert(merged.now_at[other]);
      }
    }
  }
  return round;
}

class Walls {
 public:
  Walls(std::vector<Site>& sites, std::vector<SiteLine>& lines, const MergedSites& merged, const PlanTriangulation& tin,
        const OnePlace& limits, const std::vector<Shot>& shots, const ShotFiles& files, GroundReport& report)
      : sites_(sites),
        lines_(lines),
        site_of_shot_(merged.site_of_shot),
        stacked_(merged.stacked),
        limits_(limits),
        shots_(shots),
        files_(files),
        report_(report) {
    for (const auto& [low, high] : stacked_) partner_[low] = high, partner_[high] = low;
    round_ = sites_round(merged, tin, partner_);
  }

  void stand() {
    for (std::size_t done = 0; done < stacked_.size();) complete_lines(stacked_[done++]);  // which may add some
    for (const Stretch& stretch : stretches()) stand(stretch);
    refuse_the_rest();
    for (const auto& [site, outward] : out_) {
      const auto end = ends_.find(site);
      const bool is_end = end != ends_.end() && end->second.size() == 1;  // of one wall, not where two meet
      const Point2 back = is_end ? end->second.front() : Point2(Point2::Zero());
      const Point2 moved = sites_[site].plan() + wall_out_of_plumb * (mitred(outward) + back);
      sites_[site].x = moved.x(), sites_[site].y = moved.y();
    }
  }

 private:
  std::vector<Site>& sites_;
  std::vector<SiteLine>& lines_;
  const std::vector<std::uint32_t>& site_of_shot_;
  std::vector<StackedSites> stacked_;
  const OnePlace& limits_;
  const std::vector<Shot>& shots_;
  const ShotFiles& files_;
  GroundReport& report_;
  std::unordered_map<std::uint32_t, std::uint32_t> partner_;
  std::unordered_map<std::uint32_t, std::set<std::uint32_t>> round_;
  std::map<std::uint32_t, std::vector<Point2>> out_;  // of each lower site: square out from its wall's pieces

  std::map<std::uint32_t, std::vector<Point2>> ends_;  // of each lower site at a wall's end: back along the wall

  bool is_stacked(std::uint32_t site) const { return partner_.contains(site); }
  bool match(std::uint32_t a, std::uint32_t b) const {
    if (a == b) return true;
    const auto found = partner_.find(a);
    return found != partner_.end() && found->second == b;
  }
  Point2 at(const LineVertex& vertex) const { return sites_[vertex.site].plan(); }
  double z(const LineVertex& vertex) const { return sites_[vertex.site].z; }

  // ---- places that one line has and the other not ----

  std::vector<std::pair<std::size_t, std::size_t>> occurrences(std::uint32_t site) const {
    std::vector<std::pair<std::size_t, std::size_t>> found;
    for (std::size_t l = 0; l < lines_.size(); ++l) {
      for (std::size_t i = 0; i < lines_[l].size(); ++i) {
        if (lines_[l][i].site == site) found.emplace_back(l, i);
      }
    }
    return found;
  }

  const LineVertex* beside(std::size_t line, std::size_t i, int step) const {
    const std::size_t next = i + static_cast<std::size_t>(step);  // wraps below zero, past every line's end
    return next < lines_[line].size() ? &lines_[line][next] : nullptr;
  }

  /// How far from `from` to `to` p stands, 0 to 1, if it is on the way between them as shots tell it.
  std::optional<double> on_the_way(const Point2& p, const Point2& from, const Point2& to) const {
    const Point2 way = to - from, off = p - from;
    const double t = way.dot(off) / way.squaredNorm();
    if (!(t > 0 && t < 1) || std::abs(cross(way, off)) > limits_.plan * way.norm()) return std::nullopt;
    return t;
  }

  void complete_lines(StackedSites pair) {
    for (const auto& [a, b] : {pair, StackedSites{pair[1], pair[0]}}) {
      for (const int step_a : {-1, 1}) {
        for (const int step_b : {-1, 1}) {
          for (const auto& [line_a, i] : occurrences(a)) {
            for (const auto& [line_b, j] : occurrences(b)) {
              if (line_a != line_b && give_next(line_a, i, step_a, line_b, j, step_b)) break;
            }
          }
        }
      }
    }
  }

  /// Gives line b the place that follows on line a, where line b passes it without a shot. True if it did.
  bool give_next(std::size_t line_a, std::size_t i, int step_a, std::size_t line_b, std::size_t j, int step_b) {
    const LineVertex *next_a = beside(line_a, i, step_a), *next_b = beside(line_b, j, step_b);
    if (next_a == nullptr || next_b == nullptr || match(next_a->site, next_b->site) || is_stacked(next_a->site)) {
      return false;
    }
    const LineVertex& here = lines_[line_b][j];
    const auto along = on_the_way(at(*next_a), at(here), at(*next_b));
    if (!along) return false;
    const Site place{at(*next_a).x(), at(*next_a).y(), z(here) + *along * (z(*next_b) - z(here)), -1};
    LineVertex given{next_a->site, here.shot};
    if (std::abs(place.z - z(*next_a)) > limits_.elevation) {
      given.site = static_cast<std::uint32_t>(sites_.size());
      StackedSites pair{next_a->site, given.site};
      partner_[pair[0]] = pair[1], partner_[pair[1]] = pair[0];
      if (place.z < z(*next_a)) std::swap(pair[0], pair[1]);
      stacked_.push_back(pair);
      sites_.push_back(place);
    }
    lines_[line_b].insert(lines_[line_b].begin() + static_cast<std::ptrdiff_t>(step_b > 0 ? j + 1 : j), given);
    return true;
  }

  // ---- stretches ----

  std::vector<Stretch> stretches() const {
    std::map<std::uint32_t, std::set<std::size_t>> lines_of_site;
    for (std::size_t l = 0; l < lines_.size(); ++l) {
      for (const LineVertex& vertex : lines_[l]) {
        if (is_stacked(vertex.site)) lines_of_site[vertex.site].insert(l);
      }
    }
    std::set<std::pair<std::size_t, std::size_t>> pairs;
    for (const auto& [low, high] : stacked_) {
      for (const std::size_t a : lines_of_site[low]) {
        for (const std::size_t b : lines_of_site[high]) {
          if (a != b) pairs.insert(std::minmax(a, b));
        }
      }
    }
    std::vector<Stretch> found;
    for (const auto& [a, b] : pairs) add_stretches(a, b, found);
    return found;
  }

  void add_stretches(std::size_t a, std::size_t b, std::vector<Stretch>& found) const {
    const SiteLine &line = lines_[a], &other = lines_[b];
    std::unordered_multimap<std::uint32_t, std::size_t> places;
    for (std::size_t j = 0; j < other.size(); ++j) places.emplace(other[j].site, j);
    const auto matches = [&](const LineVertex& vertex) {
      std::vector<std::size_t> result;
      const auto add = [&](std::uint32_t site) {
        const auto [first, last] = places.equal_range(site);
        for (auto place = first; place != last; ++place) result.push_back(place->second);
      };
      add(vertex.site);
      if (is_stacked(vertex.site)) add(partner_.at(vertex.site));
      return result;
    };
    bool open = false;
    for (std::size_t i = 0; i + 1 < line.size(); ++i) {
      bool shared = false;
      if (stands_over(line[i], b) || stands_over(line[i + 1], b)) {
        for (const std::size_t j : matches(line[i])) {
          for (const std::size_t k : matches(line[i + 1])) shared = shared || j + 1 == k || k + 1 == j;
        }
      }
      if (shared && open) found.back().last = i + 1;
      if (shared && !open) found.push_back({a, b, i, i + 1});
      open = shared;
    }
  }

  /// The site over or under a vertex is on line b.
  bool stands_over(const LineVertex& vertex, std::size_t b) const {
    const auto found = partner_.find(vertex.site);
    return found != partner_.end() && std::any_of(lines_[b].begin(), lines_[b].end(),
                                                  [&](const LineVertex& v) { return v.site == found->second; });
  }

  // ---- which side is low ----

  struct SideMeans {
    double left = 0, right = 0, left_weight = 0, right_weight = 0;  // elevations
  };

  /// Of the ground beside vertex i of a stretch.
  SideMeans beside_wall(const Stretch& s, std::size_t i) const {
    const SiteLine& line = lines_[s.a];
    const Point2 here = at(line[i]);
    std::vector<Point2> ways;
    if (i > s.first) ways.push_back((here - at(line[i - 1])).normalized());
    if (i < s.last) ways.push_back((at(line[i + 1]) - here).normalized());
    const bool turns_left = cross(ways.front(), ways.back()) > 0;
    SideMeans means;
    const auto found = round_.find(line[i].site);
    if (found == round_.end()) return means;
    for (const std::uint32_t other : found->second) {
      if (is_stacked(other)) continue;
      const Point2 off = sites_[other].plan() - here;
      const double distance = off.norm();
      if (!(distance > 0)) continue;
      const double first = cross(ways.front(), off) / distance, second = cross(ways.back(), off) / distance;
      const double to_left = turns_left ? std::min(first, second) : std::max(first, second);
      const double weight = std::abs(to_left) / distance;  // what stands in line with the wall says nothing
      (to_left > 0 ? means.left : means.right) += weight * sites_[other].z;
      (to_left > 0 ? means.left_weight : means.right_weight) += weight;
    }
    if (means.left_weight > 0) means.left /= means.left_weight;
    if (means.right_weight > 0) means.right /= means.right_weight;
    return means;
  }

  /// Above zero where line a belongs to the ground on its left: 1 where the ground there steps down by just the wall's
  /// height.
  double a_is_left(const Stretch& s) const {
    double says = 0, size = 0;
    for (std::size_t i = s.first; i <= s.last; ++i) {
      const LineVertex& vertex = lines_[s.a][i];
      if (!is_stacked(vertex.site)) continue;
      const double other = sites_[partner_.at(vertex.site)].z, over = z(vertex) - other;
      const double middle = 0.5 * (z(vertex) + other);
      const SideMeans means = beside_wall(s, i);
      const bool has_left = means.left_weight > 0, has_right = means.right_weight > 0;
      if (has_left && has_right) says += over * (means.left - means.right);
      if (has_left && !has_right) says += 2 * over * (means.left - middle);
      if (has_right && !has_left) says -= 2 * over * (means.right - middle);
      size += over * over;
    }
    return says / size;
  }

  // ---- standing it ----

  void stand(const Stretch& s) {
    const double left = a_is_left(s);
    const SiteLine& line = lines_[s.a];
    Point2 low_side = Point2::Zero();
    for (std::size_t i = s.first; i < s.last; ++i) {
      const Point2 way = (at(line[i + 1]) - at(line[i])).normalized();
      const Point2 to_a = left > 0 ? Point2(-way.y(), way.x()) : Point2(way.y(), -way.x());
      for (const LineVertex& end : {line[i], line[i + 1]}) {
        if (!is_stacked(end.site)) continue;
        const std::uint32_t other = partner_.at(end.site);
        const bool a_is_low = z(end) < sites_[other].z;
        const Point2 outward = a_is_low ? to_a : Point2(-to_a);
        out_[a_is_low ? end.site : other].push_back(outward);
        low_side += outward;
      }
    }
    const auto end = [&](std::size_t here, std::size_t inward) {
      if (!is_stacked(line[here].site)) return;
      const std::uint32_t site = line[here].site, other = partner_.at(site);
      const std::uint32_t low = sites_[site].z < sites_[other].z ? site : other;
      const Point2 way = (at(line[inward]) - at(line[here])).normalized();
      ends_[low].push_back(stepped_back(low, way, out_.at(low).front()));
    };
    end(s.first, s.first + 1);
    end(s.last, s.last - 1);
    tell(s, std::abs(left), low_side);
  }

  /// At its end a wall is open: the toe steps back behind the top's end as seen from the shots on the high side, or
  /// forward before it as seen from the low side, where those see past the end. So no triangle of the upper ground
  /// takes the toe for its corner, and none of the lower ground the top. What stands far beyond the end is on neither
  /// side.
  Point2 stepped_back(std::uint32_t low, const Point2& inward, const Point2& outward) const {
    constexpr double farthest = 1.75;  // 60 degrees
    double from_high = 0, from_low = 0;
    const auto found = round_.find(low);
    if (found == round_.end()) return Point2::Zero();
    for (const std::uint32_t other : found->second) {
      const Point2 off = sites_[other].plan() - sites_[low].plan();
      const double beyond = -off.dot(inward), aside = off.dot(outward);
      if (is_stacked(other) || beyond >= farthest * std::abs(aside)) continue;
      double& most = aside < 0 ? from_high : from_low;
      most = std::max(most, beyond / std::abs(aside));
    }
    return (from_high > 0 ? from_high : -from_low) * inward;
  }

  /// The step that keeps to one unit square out from each piece.
  static Point2 mitred(const std::vector<Point2>& outward) {
    constexpr double sharpest = 0.25;  // four units
    Point2 sum = Point2::Zero();
    for (const Point2& out : outward) sum += out;
    const Point2 way = sum.norm() > 1e-6 ? Point2(sum.normalized()) : outward.front();
    double least = 1;
    for (const Point2& out : outward) least = std::min(least, way.dot(out));
    return way / std::max(sharpest, least);
  }

  std::string ends_of(const SiteLine& line, std::size_t first, std::size_t last) const {
    return fmt::format("{} to {}", shot_name(shots_, line[first].shot), shot_name(shots_, line[last].shot));
  }

  void tell(const Stretch& s, double sure, const Point2& low_side) {
    constexpr double sure_enough = 0.25;
    ++report_.walls;
    double least = std::numeric_limits<double>::infinity(), most = 0;
    for (std::size_t i = s.first; i <= s.last; ++i) {
      const std::uint32_t site = lines_[s.a][i].site;
      const double height = is_stacked(site) ? std::abs(sites_[site].z - sites_[partner_.at(site)].z) : 0.0;
      least = std::min(least, height), most = std::max(most, height);
    }
    std::size_t first = lines_[s.b].size(), last = 0;
    for (std::size_t i = s.first; i <= s.last; ++i) {
      for (std::size_t j = 0; j < lines_[s.b].size(); ++j) {
        if (match(lines_[s.a][i].site, lines_[s.b][j].site)) first = std::min(first, j), last = std::max(last, j);
      }
    }
    const double azimuth = std::atan2(low_side.x(), low_side.y()) * 180 / std::numbers::pi;
    const std::string low = fixed_text(least, 2), high = fixed_text(most, 2);
    const std::string what = fmt::format(
        "the breaklines {} and {} share their places {} apart in elevation: a wall or curb, low on the side at azimuth "
        "{:.0f}",
        ends_of(lines_[s.a], s.first, s.last), ends_of(lines_[s.b], first, last),
        low == high ? low : low + " to " + high, azimuth < 0 ? azimuth + 360 : azimuth);
    const std::string where = shot_where(shots_, lines_[s.a][s.first].shot, files_);
    const std::string advice =
        fmt::format("if the other side is the low one, move the toe's shots that way by more than {:g}", limits_.plan);
    if (sure >= sure_enough) return report_.problems.note(what, where, advice);
    report_.problems.warning(what + ", but the ground beside it hardly tells which side is low", where, advice);
  }

  /// Two elevations that are no wall's.
  void refuse_the_rest() {
    std::map<std::uint32_t, std::vector<std::size_t>> shots_at;  // the lower site of each
    for (const StackedSites& pair : stacked_) {
      if (!out_.contains(pair[0])) shots_at[pair[0]];
    }
    if (shots_at.empty()) return;
    for (std::size_t i = 0; i < site_of_shot_.size(); ++i) {
      const auto partner = partner_.find(site_of_shot_[i]);
      for (const std::uint32_t site :
           {site_of_shot_[i], partner == partner_.end() ? site_of_shot_[i] : partner->second}) {
        const auto place = shots_at.find(site);
        if (place == shots_at.end()) continue;
        place->second.push_back(i);
        break;
      }
    }
    for (const StackedSites& pair : stacked_) {
      if (!out_.contains(pair[0])) refuse(std::move(shots_at[pair[0]]));
    }
  }

  void refuse(std::vector<std::size_t> at_place) {
    report_.problems.all.push_back(
        two_elevations(shots_, std::move(at_place), files_, limits_,
                       "correct one of them or leave it out; for a wall or a curb, join its top and its toe by a "
                       "breakline each, both through the same places"));
  }
};

}  // namespace

void stand_walls(std::vector<Site>& sites, std::vector<SiteLine>& lines, const MergedSites& merged,
                 const PlanTriangulation& tin, const OnePlace& limits, const std::vector<Shot>& shots,
                 const ShotFiles& files, GroundReport& report) {
  if (merged.stacked.empty()) return;
  Walls(sites, lines, merged, tin, limits, shots, files, report).stand();
}

}  // namespace moundwright

#include "geom/one_place.h"

#include <fmt/format.h>
#include <tbb/blocked_range.h>
#include <tbb/combinable.h>
#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "geom/shot_names.h"

namespace moundwright {
namespace {

constexpr std::uint32_t none = std::numeric_limits<std::uint32_t>::max();
constexpr double same_elevation = 1e-6;

using SitePair = std::array<std::uint32_t, 2>;
using SiteGroup = std::vector<std::uint32_t>;  // by shot, the first in the survey first

double apart(const std::vector<Site>& sites, std::uint32_t a, std::uint32_t b) {
  return (sites[a].plan() - sites[b].plan()).norm();
}

/// Pairs of sites within `reach`: as the triangulation met them at one place, and as the ends of its shortest edges (it
/// holds the shortest spanning tree, so that sites joined by steps within `reach` are joined by such edges).
std::vector<SitePair> close_pairs(const PlanTriangulation& tin, const std::vector<Site>& sites, double reach) {
  tbb::combinable<std::vector<SitePair>> found;
  tbb::parallel_for(tbb::blocked_range<std::size_t>(0, tin.triangles.size(), 8192), [&](const auto& range) {
    std::vector<SitePair>& local = found.local();
    for (std::size_t t = range.begin(); t < range.end(); ++t) {
      for (int i = 0; i < 3; ++i) {
        if (tin.neighbours[t][i] > static_cast<std::int32_t>(t)) continue;  // the other side looks at this edge
        const std::uint32_t a = tin.triangles[t][i], b = tin.triangles[t][(i + 1) % 3];
        if ((sites[a].plan() - sites[b].plan()).squaredNorm() < reach * reach) local.push_back({a, b});
      }
    }
  });
  std::vector<SitePair> pairs = tin.duplicates;
  found.combine_each([&pairs](const auto& part) { pairs.insert(pairs.end(), part.begin(), part.end()); });
  return pairs;
}

/// For each site the one that it is joined to by pairs, itself where there is none.
std::vector<std::uint32_t> roots_of(const std::vector<SitePair>& pairs, std::size_t count) {
  std::vector<std::uint32_t> stands(count);
  std::iota(stands.begin(), stands.end(), 0u);
  const auto root = [&stands](std::uint32_t i) {
    while (stands[i] != i) i = stands[i] = stands[stands[i]];
    return i;
  };
  for (const auto& [a, b] : pairs) {
    const std::uint32_t first = root(a), second = root(b);
    stands[std::max(first, second)] = std::min(first, second);
  }
  for (const auto& [a, b] : pairs) stands[a] = root(a), stands[b] = root(b);
  return stands;
}

/// Sites that pairs join, two or more, in the order in which the survey came to the second of each.
std::vector<SiteGroup> joined_sites(const std::vector<SitePair>& pairs, const std::vector<Site>& sites) {
  const std::vector<std::uint32_t> root = roots_of(pairs, sites.size());
  SiteGroup all;
  for (const auto& [a, b] : pairs) all.insert(all.end(), {a, b});
  std::sort(all.begin(), all.end(), [&](std::uint32_t a, std::uint32_t b) {
    return root[a] != root[b] ? root[a] < root[b] : sites[a].shot < sites[b].shot;
  });
  all.erase(std::unique(all.begin(), all.end()), all.end());
  std::vector<SiteGroup> groups;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (i == 0 || root[all[i]] != root[all[i - 1]]) groups.emplace_back();
    groups.back().push_back(all[i]);
  }
  std::sort(groups.begin(), groups.end(),
            [&](const SiteGroup& g, const SiteGroup& h) { return sites[g[1]].shot < sites[h[1]].shot; });
  return groups;
}

double diagonal_of(const SiteGroup& group, const std::vector<Site>& sites) {
  Point2 low = sites[group.front()].plan(), high = low;
  for (const std::uint32_t i : group) low = low.cwiseMin(sites[i].plan()), high = high.cwiseMax(sites[i].plan());
  return (high - low).norm();
}

/// How far apart the farthest two stand; of very many, the diagonal of the box round them.
double width_of(const SiteGroup& group, const std::vector<Site>& sites) {
  constexpr std::size_t worth_trying = 32;
  if (group.size() > worth_trying) return diagonal_of(group, sites);
  double widest = 0;
  for (const std::uint32_t a : group) {
    for (const std::uint32_t b : group) widest = std::max(widest, apart(sites, a, b));
  }
  return widest;
}

/// The places of two shots and more. Rows come apart into what rounding alone has moved.
std::vector<SiteGroup> shared_places(const PlanTriangulation& tin, const std::vector<Site>& sites, double reach,
                                     Problems& problems) {
  const std::vector<SitePair> pairs = close_pairs(tin, sites, reach);
  std::vector<SiteGroup> groups = joined_sites(pairs, sites);
  if (reach <= same_place) return groups;
  const auto rows = std::stable_partition(groups.begin(), groups.end(),
                                          [&](const SiteGroup& g) { return width_of(g, sites) <= reach; });
  if (rows == groups.end()) return groups;
  std::vector<bool> in_row(sites.size());
  std::size_t count = 0;
  for (auto group = rows; group != groups.end(); ++group) {
    count += group->size();
    for (const std::uint32_t i : *group) in_row[i] = true;
  }
  problems.note(
      fmt::format("{} shots stand in rows closer than {:g} to the next; they are used as they are", count, reach));
  std::vector<SitePair> exact;
  for (const SitePair& pair : pairs) {
    if (!in_row[pair[0]] || apart(sites, pair[0], pair[1]) < same_place) exact.push_back(pair);
  }
  return joined_sites(exact, sites);
}

/// Those of a place whose elevations lie within the limit of the lowest of them, lowest first.
std::vector<SiteGroup> by_elevation(SiteGroup place, const std::vector<Site>& sites, double limit) {
  constexpr double rounding = 1e-9;
  std::stable_sort(place.begin(), place.end(), [&](auto a, auto b) { return sites[a].z < sites[b].z; });
  std::vector<SiteGroup> groups;
  for (const std::uint32_t i : place) {
    if (groups.empty() || sites[i].z - sites[groups.back().front()].z > limit + rounding) groups.emplace_back();
    groups.back().push_back(i);
  }
  for (SiteGroup& group : groups) {
    std::sort(group.begin(), group.end(), [&](auto a, auto b) { return sites[a].shot < sites[b].shot; });
  }
  return groups;
}

class Merger {
 public:
  Merger(std::vector<Site>& sites, const std::vector<Shot>& shots, const ShotFiles& files, const OnePlace& limits,
         GroundReport& report)
      : sites_(sites), shots_(shots), files_(files), limits_(limits), report_(report), stands_(sites.size()) {
    std::iota(stands_.begin(), stands_.end(), 0u);
  }

  void merge(const SiteGroup& place) {
    const std::vector<SiteGroup> groups = by_elevation(place, sites_, limits_.elevation);
    if (groups.size() > 2 || (groups.size() == 2 && hang_together(groups))) return refuse(groups);
    for (const SiteGroup& group : groups) make_one(group);
    if (groups.size() < 2) return;
    const SitePair pair{groups[0].front(), groups[1].front()};
    const Point2 middle = 0.5 * (sites_[pair[0]].plan() + sites_[pair[1]].plan());
    for (const std::uint32_t i : pair) sites_[i].x = middle.x(), sites_[i].y = middle.y();
    stacked_.push_back(pair);
  }

  MergedSites finish() {
    tell_the_rest();
    MergedSites result;
    result.now_at.assign(sites_.size(), none);
    result.site_of_shot.resize(shots_.size());
    std::uint32_t count = 0;
    for (std::uint32_t i = 0; i < sites_.size(); ++i) {
      if (stands_[i] == i) result.now_at[i] = count++;
    }
    for (std::uint32_t i = 0; i < sites_.size(); ++i) {
      result.now_at[i] = result.now_at[stands_[i]];
      result.site_of_shot[static_cast<std::size_t>(sites_[i].shot)] = result.now_at[i];
    }
    for (std::uint32_t i = 0; i < sites_.size(); ++i) {
      if (stands_[i] == i) sites_[result.now_at[i]] = sites_[i];
    }
    sites_.resize(count);
    for (const SitePair& pair : stacked_) result.stacked.push_back({result.now_at[pair[0]], result.now_at[pair[1]]});
    return result;
  }

 private:
  static constexpr std::size_t told_singly = 20;

  std::vector<Site>& sites_;
  const std::vector<Shot>& shots_;
  const ShotFiles& files_;
  const OnePlace& limits_;
  GroundReport& report_;
  std::vector<std::uint32_t> stands_;
  std::vector<SitePair> stacked_;
  std::size_t means_ = 0;

  std::size_t shot_at(std::uint32_t site) const { return static_cast<std::size_t>(sites_[site].shot); }

  /// Two elevations of a wall lie apart; where shots stand all the way between, none of them tells where.
  bool hang_together(const std::vector<SiteGroup>& groups) const {
    const auto by_height = [this](std::uint32_t a, std::uint32_t b) { return sites_[a].z < sites_[b].z; };
    const std::uint32_t highest = *std::max_element(groups[0].begin(), groups[0].end(), by_height);
    const std::uint32_t lowest = *std::min_element(groups[1].begin(), groups[1].end(), by_height);
    return sites_[lowest].z - sites_[highest].z <= limits_.elevation;
  }

  void refuse(const std::vector<SiteGroup>& groups) {
    std::vector<std::size_t> at_place;
    for (const SiteGroup& group : groups) {
      for (const std::uint32_t i : group) at_place.push_back(shot_at(i));
    }
    report_.problems.all.push_back(
        two_elevations(shots_, std::move(at_place), files_, limits_,
                       "leave out those that are wrong: a place has one elevation, or two where it is the top and the "
                       "toe of a wall"));
  }

  void make_one(const SiteGroup& group) {
    if (group.size() < 2) return;
    Site& first = sites_[group.front()];
    const Site origin = first;
    double x = 0, y = 0, z = 0, most_z = 0;
    for (const std::uint32_t i : group) {
      x += sites_[i].x - origin.x, y += sites_[i].y - origin.y, z += sites_[i].z - origin.z;
      most_z = std::max(most_z, std::abs(sites_[i].z - origin.z));
      stands_[i] = group.front();
    }
    const double width = width_of(group, sites_);
    if (width < same_place && most_z <= same_elevation) return tell_same(group);
    const auto count = static_cast<double>(group.size());
    first.x += x / count, first.y += y / count, first.z += z / count;
    tell_mean(group, width, origin);
  }

  /// All names, with "and" before the last.
  template <class Name>
  std::string listed(const SiteGroup& group, const Name& name) const {
    std::string text;
    for (std::size_t k = 0; k < group.size(); ++k) {
      text += (k == 0 ? "" : k + 1 == group.size() ? " and " : ", ") + name(shot_at(group[k]));
    }
    return text;
  }
  std::string names(const SiteGroup& group) const {
    return listed(group, [this](std::size_t shot) { return shot_name(shots_, shot); });
  }
  std::string places(const SiteGroup& group) const {
    return listed(group, [this](std::size_t shot) { return shot_where(shots_, shot, files_); });
  }

  void tell_same(const SiteGroup& group) {
    for (std::size_t k = 1; k < group.size(); ++k) {
      const SiteGroup both{group.front(), group[k]};
      const std::string &name = shots_[shot_at(both[0])].point, &again = shots_[shot_at(both[1])].point;
      if (!name.empty() && name == again) continue;  // whoever read the shots has told it
      if (++report_.merged_duplicates > told_singly) continue;
      report_.problems.note(names(both) + " are the same shot twice; one is used", places(both));
    }
  }

  void tell_mean(const SiteGroup& group, double width, const Site& before) {
    report_.averaged_shots += group.size() - 1;
    if (++means_ > told_singly) return;
    double low = before.z, high = before.z;
    for (std::size_t k = 1; k < group.size(); ++k) {
      low = std::min(low, sites_[group[k]].z), high = std::max(high, sites_[group[k]].z);
    }
    report_.problems.note(
        fmt::format("{} are one place shot {}, {:.3f} apart in plan and {:.3f} in elevation; the mean, {:.3f}, is used",
                    names(group), group.size() == 2 ? "twice" : fmt::format("{} times", group.size()), width,
                    high - low, sites_[group.front()].z),
        places(group));
  }

  void tell_the_rest() {
    const auto rest = [&](std::size_t count, const char* what) {
      if (count > told_singly) report_.problems.note(fmt::format("{} more {}", count - told_singly, what));
    };
    rest(report_.merged_duplicates, "shots are there twice; one of each is used");
    rest(means_, "places are shot more than once; the means are used");
  }
};

}  // namespace

OnePlace one_place_limits(LengthUnit unit, const std::optional<ShotAccuracy>& stated) {
  constexpr double repeatability = 2.8;
  const bool metric = unit == LengthUnit::metre;
  return {metric ? 0.015 : 0.05, stated ? repeatability * stated->random : metric ? 0.03 : 0.1};
}

bool has_shared_places(const std::vector<Site>& sites, const PlanTriangulation& tin, const OnePlace& limits) {
  return !close_pairs(tin, sites, std::max(limits.plan, same_place)).empty();
}

MergedSites merge_places(std::vector<Site>& sites, const PlanTriangulation& tin, const std::vector<Shot>& shots,
                         const ShotFiles& files, const OnePlace& limits, GroundReport& report) {
  Merger merger(sites, shots, files, limits, report);
  for (const SiteGroup& place : shared_places(tin, sites, std::max(limits.plan, same_place), report.problems)) {
    merger.merge(place);
  }
  return merger.finish();
}

Problem two_elevations(const std::vector<Shot>& shots, std::vector<std::size_t> at_place, const ShotFiles& files,
                       const OnePlace& limits, std::string what_to_do) {
  const auto [low, high] = std::minmax_element(at_place.begin(), at_place.end(), [&](std::size_t a, std::size_t b) {
    return shots[a].elevation != shots[b].elevation ? shots[a].elevation < shots[b].elevation : a < b;
  });
  const std::size_t first = std::min(*low, *high), second = std::max(*low, *high);
  const Shot &a = shots[first], &b = shots[second];
  const double apart = std::hypot(a.easting - b.easting, a.northing - b.northing);
  const std::string place = apart < same_place ? "at the same place" : fmt::format("{:.3f} apart in plan", apart);
  std::sort(at_place.begin(), at_place.end());
  std::string others;
  for (const std::size_t i : at_place) {
    if (i != first && i != second) others += fmt::format(", {} at {:.2f}", shot_name(shots, i), shots[i].elevation);
  }
  if (!others.empty()) others = "; of the same place are" + others.substr(1);
  return {Severity::error,
          fmt::format("{} and {} are {}, {}, but at different elevations, {:.2f} and {:.2f}, more than {:.3g} apart{}",
                      shot_name(shots, first), shot_name(shots, second), place, place_name({a.easting, a.northing}),
                      a.elevation, b.elevation, limits.elevation, others),
          shot_where(shots, first, files) + " and " + shot_where(shots, second, files), std::move(what_to_do)};
}

}  // namespace moundwright

#include "geom/far_parts.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "geom/shot_names.h"

namespace moundwright {
namespace {

constexpr std::size_t least_shots = 5;
constexpr double least_share = 0.05, share_that_tells = 0.75, share_explained = 0.9;
constexpr double gap_in_plan = 5, gap_with_cause = 1.5, gap_in_elevation = 5;
constexpr double feet_per_metre = 1.0 / 0.3048;  // by definition, since 1959

using Places = std::vector<Point3>;  // easting, northing, elevation

struct Box {
  Point3 low = Point3::Constant(INFINITY), high = Point3::Constant(-INFINITY);

  void add(const Point3& p) { low = low.cwiseMin(p), high = high.cwiseMax(p); }
  void add(const Box& other) { low = low.cwiseMin(other.low), high = high.cwiseMax(other.high); }
  double diagonal() const { return (high - low).head<2>().norm(); }
  double relief() const { return high.z() - low.z(); }
  Point2 middle() const { return 0.5 * (low + high).head<2>(); }
  double outside(const Point2& p) const {
    return (low.head<2>() - p).cwiseMax(p - high.head<2>()).cwiseMax(0.0).norm();
  }
  double outside(double z) const { return std::max({low.z() - z, z - high.z(), 0.0}); }
  bool holds(const Point3& p, double plan, double height) const {
    return outside(Point2(p.head<2>())) <= plan && outside(p.z()) <= height;
  }
};

struct Part {
  Places places;
  Box box;

  explicit Part(Places given) : places(std::move(given)) {
    for (const Point3& p : places) box.add(p);
  }
};

Point3 place_of(const Shot& shot) { return {shot.easting, shot.northing, shot.elevation}; }

/// A few thousand of the shots, at uneven steps: crews that shot by turns must not fall between even ones.
Places sample_of(const std::vector<Shot>& shots) {
  const std::size_t stride = std::max<std::size_t>(1, shots.size() / 4096);
  Places sample;
  for (std::size_t i = 0; i < shots.size(); i += stride) {
    const std::size_t step = (i * 0x9E3779B97F4A7C15ULL >> 33) % stride;
    const Point3 place = place_of(shots[std::min(i + step, shots.size() - 1)]);
    if (place.allFinite()) sample.push_back(place);
  }
  return sample;
}

// ---- apart ----

struct Gap {
  int axis = 0;
  double at = 0, share = 0;  // of the span
};

/// The widest on any axis, by its share of the span: of the longer side in plan; in elevation of the span there, or
/// where that is less, of half that side.
Gap widest_gap(const Places& places) {
  Gap widest;
  Box box;
  for (const Point3& p : places) box.add(p);
  const double side = (box.high - box.low).head<2>().maxCoeff();
  std::vector<double> values(places.size());
  for (int axis = 0; axis < 3; ++axis) {
    std::transform(places.begin(), places.end(), values.begin(), [axis](const Point3& p) { return p[axis]; });
    std::sort(values.begin(), values.end());
    const double span = axis < 2 ? side : std::max(box.relief(), 0.5 * side);
    for (std::size_t i = 1; span > 0 && i < values.size(); ++i) {
      const double share = (values[i] - values[i - 1]) / span;
      if (share > widest.share) widest = {axis, 0.5 * values[i - 1] + 0.5 * values[i], share};
    }
  }
  return widest;
}

/// Comes apart at gaps of more than half the span, over and over; pieces of few shots are dropped.
std::vector<Part> pieces_of(Places places, std::size_t least) {
  std::vector<Part> pieces;
  std::vector<Places> look{std::move(places)};
  while (!look.empty()) {
    Places all = std::move(look.back());
    look.pop_back();
    if (all.size() < least) continue;
    const Gap gap = widest_gap(all);
    if (gap.share <= 0.5) {
      pieces.emplace_back(std::move(all));
      continue;
    }
    const auto middle = std::partition(all.begin(), all.end(), [&](const Point3& p) { return p[gap.axis] < gap.at; });
    look.emplace_back(all.begin(), middle);
    look.emplace_back(middle, all.end());
  }
  return pieces;
}

// ---- what a part may have been ----

enum class Cause { none, exchanged, metres, feet };

Point3 undone(const Point3& p, Cause cause) {
  switch (cause) {
    case Cause::exchanged:
      return {p.y(), p.x(), p.z()};
    case Cause::metres:
      return {p.x() * feet_per_metre, p.y() * feet_per_metre, p.z()};
    case Cause::feet:
      return {p.x() / feet_per_metre, p.y() / feet_per_metre, p.z()};
    case Cause::none:
      break;
  }
  return p;
}

/// Whether nearly all of a part's places would be among the other's, or beside them as the rest of one lot.
bool explains(Cause cause, const Part& part, const Box& other) {
  Box undone_box;
  for (const Point3& p : part.places) undone_box.add(undone(p, cause));
  const double slack = 0.75 * std::max({other.diagonal(), undone_box.diagonal(), 1.0});
  const auto among = std::count_if(part.places.begin(), part.places.end(), [&](const Point3& p) {
    return other.outside(Point2(undone(p, cause).head<2>())) <= slack;
  });
  return static_cast<double>(among) >= share_explained * static_cast<double>(part.places.size());
}

/// Why `part` does not lie where `other` does.
Cause cause_of(const Part& part, const Box& other) {
  for (const Cause cause : {Cause::exchanged, Cause::metres, Cause::feet}) {
    if (explains(cause, part, other)) return cause;
  }
  return Cause::none;
}

double plan_gap(const Box& a, const Box& b) {
  return (a.low - b.high).cwiseMax(b.low - a.high).cwiseMax(0.0).head<2>().norm();
}

double height_gap(const Box& a, const Box& b) {
  return std::max({a.low.z() - b.high.z(), b.low.z() - a.high.z(), 0.0});
}

bool are_far_in_plan(const Part& a, const Part& b) {
  const double reach = std::max({a.box.diagonal(), b.box.diagonal(), 1.0}), gap = plan_gap(a.box, b.box);
  if (gap > gap_in_plan * reach) return true;
  return gap > gap_with_cause * reach && (cause_of(a, b.box) != Cause::none || cause_of(b, a.box) != Cause::none);
}

bool are_far_in_height(const Box& a, const Box& b) {
  Box both = a;
  both.add(b);
  const double gap = height_gap(a, b);
  return gap > gap_in_elevation * std::max({a.relief(), b.relief(), 1.0}) && gap > 0.5 * both.diagonal();
}

bool are_far(const Part& a, const Part& b) { return are_far_in_plan(a, b) || are_far_in_height(a.box, b.box); }

/// Joins pieces that are not far apart, the largest first in the end.
std::vector<Part> joined(std::vector<Part> pieces) {
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    for (std::size_t k = 0; k < i; ++k) {
      if (are_far(pieces[i], pieces[k])) continue;
      pieces[k].places.insert(pieces[k].places.end(), pieces[i].places.begin(), pieces[i].places.end());
      pieces[k].box.add(pieces[i].box);
      pieces.erase(pieces.begin() + static_cast<std::ptrdiff_t>(i));
      i = 0;  // the joined one reaches farther: look at all of them anew
      break;
    }
  }
  std::stable_sort(pieces.begin(), pieces.end(),
                   [](const Part& a, const Part& b) { return a.places.size() > b.places.size(); });
  return pieces;
}

// ---- which is the lot ----

/// The only part that `is_near` holds for; nullopt where none is or two are.
template <class IsNear>
std::optional<std::size_t> only_near(const std::vector<Part>& parts, const IsNear& is_near) {
  std::optional<std::size_t> found;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (!is_near(parts[i].box)) continue;
    if (found) return std::nullopt;
    found = i;
  }
  return found;
}

/// How far from a part what belongs to it may lie: three quarters of the largest one's diagonal, twice the relief.
struct Reach {
  double plan = 1, height = 10;
};

Reach reach_of(const std::vector<Part>& parts) {
  Reach reach;
  for (const Part& part : parts) {
    reach.plan = std::max(reach.plan, 0.75 * part.box.diagonal());
    reach.height = std::max(reach.height, 2 * part.box.relief());
  }
  return reach;
}

bool is_near(const Box& box, const Mark& mark, const Reach& reach) {
  return box.outside(Point2(mark.at)) <= reach.plan &&
         (!mark.elevation || box.outside(*mark.elevation) <= reach.height);
}

struct ChosenLot {
  std::optional<std::size_t> part;
  bool is_disputed = false;
  std::string shown_by;  // ", where the bed and the bench mark are"
};

ChosenLot lot_among(const std::vector<Part>& parts, const LotPlaces& lot, std::size_t sampled) {
  if (!lot.bed && lot.marks.empty()) {
    const double share = static_cast<double>(parts[0].places.size()) / static_cast<double>(sampled);
    return {share >= share_that_tells ? std::optional<std::size_t>(0) : std::nullopt, false, {}};
  }
  ChosenLot found;
  const Reach reach = reach_of(parts);
  int shown = 0;
  const auto take = [&](std::optional<std::size_t> part, const char* what) {
    if (!part) return;
    if (found.part && *found.part != *part) found.is_disputed = true;
    if (found.shown_by.find(what) == std::string::npos)
      found.shown_by += (found.shown_by.empty() ? "" : " and ") + std::string(what);
    found.part = part;
    ++shown;
  };
  if (lot.bed) take(only_near(parts, [&](const Box& box) { return box.outside(*lot.bed) <= reach.plan; }), "the bed");
  for (const Mark& mark : lot.marks) {
    take(only_near(parts, [&](const Box& box) { return is_near(box, mark, reach); }), "the bench mark");
  }
  if (found.is_disputed) found.part.reset();
  if (shown > 0) found.shown_by = fmt::format(", where {} {}", found.shown_by, shown > 1 ? "are" : "is");
  return found;
}

// ---- what is told ----

std::string extent_text(const Box& box) {
  return fmt::format("N {:.0f} to {:.0f}, E {:.0f} to {:.0f}, elevations {:.0f} to {:.0f}", box.low.y(), box.high.y(),
                     box.low.x(), box.high.x(), box.low.z(), box.high.z());
}

std::string distance_text(const Box& a, const Box& b) {
  const double plan = plan_gap(a, b);
  return plan > std::max(a.diagonal(), b.diagonal())
             ? fmt::format("{:.0f} away in plan from", plan)
             : fmt::format("{:.0f} {}", height_gap(a, b), a.low.z() > b.high.z() ? "above" : "below");
}

struct Told {
  std::string cause, what_to_do;
};

Told height_cause(const Box& part, const Box& lot) {
  const double slack = std::max(0.5 * lot.relief(), 2.0);
  const auto fits = [&](double times) {
    return lot.outside(part.low.z() * times) <= slack && lot.outside(part.high.z() * times) <= slack;
  };
  if (fits(feet_per_metre))
    return {"their elevations, taken as meters and turned into feet, would be among them",
            "Turn their elevations into feet in the file"};
  if (fits(1 / feet_per_metre))
    return {"their elevations, taken as feet and turned into meters, would be among them",
            "Turn their elevations into meters in the file"};
  return {"they seem to have been shot with an assumed elevation or from another datum",
          "Bring them to the bench mark's elevations, or take them out"};
}

Told plan_cause(const Part& part, const Box& lot) {
  switch (cause_of(part, lot)) {
    case Cause::exchanged:
      return {"with northing and easting exchanged they would be among them",
              "Exchange northing and easting of those lines in the file"};
    case Cause::metres:
      return {"taken as meters and turned into feet they would be among them",
              "Turn those lines into feet in the file"};
    case Cause::feet:
      return {"taken as feet and turned into meters they would be among them",
              "Turn those lines into meters in the file"};
    case Cause::none:
      break;
  }
  const Point2 off = part.box.middle() - lot.middle();
  return {fmt::format("they seem to be in coordinates of their own, as of a second crew or set-up (northings about "
                      "{:+.0f}, eastings about {:+.0f} from theirs)",
                      off.y(), off.x()),
          "Bring them into the coordinates of the job, or take them out"};
}

Told cause_told(const Part& part, const Box& lot) {
  return plan_gap(part.box, lot) > std::max(part.box.diagonal(), lot.diagonal()) ? plan_cause(part, lot)
                                                                                 : height_cause(part.box, lot);
}

std::string places_text(const Part& part, std::size_t shots) {
  return fmt::format("{} shots at {}", shots, extent_text(part.box));
}

/// Which shots are of which part; shots beside all of them are none's.
std::vector<std::vector<std::size_t>> shots_of(const std::vector<Part>& parts, const std::vector<Shot>& shots) {
  std::vector<std::vector<std::size_t>> members(parts.size());
  for (std::size_t i = 0; i < shots.size(); ++i) {
    const Point3 place = place_of(shots[i]);
    for (std::size_t k = 0; k < parts.size(); ++k) {
      const Box& box = parts[k].box;
      if (!box.holds(place, 0.25 * box.diagonal(), std::max(box.relief(), 1.0))) continue;
      members[k].push_back(i);
      break;
    }
  }
  return members;
}

Problem doubt(const std::vector<Part>& parts, const std::vector<std::vector<std::size_t>>& members,
              const ChosenLot& lot) {
  std::string all;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    all += fmt::format("{}{}",
                       i == 0                  ? ""
                       : i + 1 == parts.size() ? " and "
                                               : ", ",
                       places_text(parts[i], members[i].size()));
  }
  const std::string why = lot.is_disputed ? "the bed is near one and the bench mark near another"
                                          : "nothing tells which is the lot: neither the bed nor a bench mark is near "
                                            "one of them alone";
  return {Severity::error,
          fmt::format("the survey lies in {} places far apart, {}; the last are {} the first, and {}. But {}",
                      parts.size() == 2 ? std::string("two") : fmt::format("{}", parts.size()), all,
                      distance_text(parts.back().box, parts[0].box), cause_told(parts.back(), parts[0].box).cause, why),
          {},
          "Correct the shots that are wrong or take them out; or give bench mark and bed in the coordinates of those "
          "that are right"};
}

}  // namespace

FarParts find_far_parts(const std::vector<Shot>& shots, const LotPlaces& lot) {
  if (shots.size() < 2 * least_shots) return {};
  Places sample = sample_of(shots);
  const std::size_t sampled = sample.size();
  const auto least =
      std::max(least_shots, static_cast<std::size_t>(std::ceil(least_share * static_cast<double>(sampled))));
  const std::vector<Part> parts = joined(pieces_of(std::move(sample), least));
  if (parts.size() < 2) return {};
  const ChosenLot found = lot_among(parts, lot, sampled);
  std::vector<std::vector<std::size_t>> members = shots_of(parts, shots);
  FarParts far;
  far.is_lot_known = found.part.has_value();
  if (!far.is_lot_known) far.in_doubt = doubt(parts, members, found);
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (found.part == i) continue;
    FarPart& part = far.parts.emplace_back();
    const std::size_t of = found.part.value_or(i == 0 ? 1 : 0);
    const Told told = cause_told(parts[i], parts[of].box);
    part.what = fmt::format("{} of the {} shots lie {} the others: they are at {}, the other {} at {}{}; {}",
                            members[i].size(), shots.size(), distance_text(parts[i].box, parts[of].box),
                            extent_text(parts[i].box), members[of].size(), extent_text(parts[of].box),
                            far.is_lot_known ? found.shown_by : std::string(), told.cause);
    part.what_to_do = told.what_to_do;
    part.shots = std::move(members[i]);
  }
  return far;
}

}  // namespace moundwright

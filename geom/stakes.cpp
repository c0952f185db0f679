#include "geom/stakes.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "geom/dotted_key.h"
#include "geom/finished_surface.h"
#include "geom/limits.h"
#include "geom/plan.h"
#include "geom/shot_names.h"
#include "geom/trade_text.h"

namespace moundwright {
namespace {

constexpr int first_number = 1001;
constexpr double most_stakes = 10000;
constexpr double step_in = 1e-6;  // from the toe, to be on the mound and not beside it
constexpr double tolerance = same_height;

// ---- Words ----------------------------------------------------------------------------------------------------------

const char* face_name(Face face) {
  switch (face) {
    case Face::upslope:
      return "upslope";
    case Face::downslope:
      return "downslope";
    case Face::left:
      return "left";
    case Face::right:
      return "right";
  }
  return "";
}

/// "25.0"; more decimals where a clearance needs them.
std::string short_length(double length) {
  for (int decimals = 1; decimals < 3; ++decimals) {
    if (std::abs(as_printed(length, decimals) - length) < 1e-6) return fixed_text(length, decimals);
  }
  return fixed_text(length, 3);
}

// ---- Placing stakes -------------------------------------------------------------------------------------------------

/// Along and off the bed's centre line.
struct StationOffset {
  double station = 0;  // past the left end
  double offset = 0;   // downslope
};

struct Catch {
  Point2 at;
  std::size_t layer;
  double shoulder;  // height above the bed bottom
  double in;        // plan distance back to it
};

/// A stretch of the bed's edge that slope stakes are set along.
struct StakeLine {
  Face face;
  std::size_t piece;
  Point2 zero, along, outward;
  double first, last;          // from zero
  double phase;                // of the whole intervals: they are counted from zero - along * phase
  bool skip_first, skip_last;  // a bend is there, with a stake of its own
};

class StakeSetter {
 public:
  StakeSetter(const PlacedMound& mound, const StakeOptions& options)
      : mound_(mound), shape_(mound.shape()), options_(options) {
    double past = 0;
    for (std::size_t i = 0; i + 1 < shape_.line.size(); ++i) {
      starts_.push_back(past);
      past += (shape_.line[i + 1] - shape_.line[i]).norm();
    }
    starts_.push_back(past);
  }

  StakeOut take() {
    set_hubs();
    set_slope_stakes();
    set_feed_points();
    return std::move(out_);
  }

 private:
  const PlacedMound& mound_;
  const MoundShape& shape_;
  const StakeOptions& options_;
  std::vector<double> starts_;  // distance along the centre line to each of its points
  StakeOut out_;

  std::size_t piece_count() const { return shape_.line.size() - 1; }
  std::size_t bend_count() const { return piece_count() - 1; }
  Point2 along(std::size_t piece) const { return (shape_.line[piece + 1] - shape_.line[piece]).normalized(); }
  Point2 across(std::size_t piece) const { return {-along(piece).y(), along(piece).x()}; }
  Point2 local(const Point2& p) const { return mound_.to_reduced(p); }
  std::optional<double> ground_at(const Point2& p) const { return elevation_at(mound_.ground, local(p)); }

  StationOffset from_piece(std::size_t piece, const Point2& p) const {
    const Point2 d = p - shape_.line[piece];
    return {starts_[piece] + along(piece).dot(d), across(piece).dot(d)};
  }

  /// The bend between piece `bend` and the next.
  Point2 bend_corner(std::size_t bend, Face face) const { return bed_edges(shape_, face)[bend].to; }
  Point2 bend_outward(std::size_t bend, Face face) const {
    return (bend_corner(bend, face) - shape_.line[bend + 1]).normalized();
  }
  StationOffset from_bend(std::size_t bend, Face face, const Point2& p) const {
    const double out = (p - shape_.line[bend + 1]).norm();
    return {starts_[bend + 1], face == Face::upslope ? -out : out};
  }

  Stake& add(StakeKind kind, const Point2& at, const StationOffset& where, std::string what) {
    const Point2 world = mound_.to_world(at);
    Stake stake;
    stake.kind = kind;
    stake.what = std::move(what);
    stake.station = station_text(where.station, options_.unit);
    stake.offset = offset_text(where.offset, options_.unit);
    stake.northing = world.y();
    stake.easting = world.x();
    stake.ground = ground_at(at);
    stake.ground_is_assumed = is_assumed_at(mound_.ground, local(at));
    if (stake.ground_is_assumed) stake.what += ", ground assumed";
    out_.stakes.push_back(std::move(stake));
    return out_.stakes.back();
  }

  void set_design(Stake& stake, double elevation) const {
    stake.design = elevation;
    if (stake.ground) stake.cut_fill = cut_or_fill(*stake.ground, elevation, options_.unit);
  }

  // Hubs.

  bool is_on_mound(const Point2& p) const {
    const Point2 at = local(p);
    return std::any_of(mound_.buildup.toe.outer.begin(), mound_.buildup.toe.outer.end(),
                       [&](const Polygon2& loop) { return is_inside(loop, at); });
  }

  /// Least whole multiple of the clearance that leaves one clearance between the toe and a hub, on every one of the
  /// rays.
  double hub_distance(const std::vector<Point2>& from, const Point2& outward) const {
    const double clearance = options_.hub_clearance;
    double toe = 0;
    for (const Point2& p : from) {
      toe = std::max(toe, distance_to_toe(mound_, mound_.buildup.toe, p, outward).value_or(0.0));
    }
    double distance = clearance * std::ceil((toe + clearance) / clearance - 1e-9);
    // Past a first toe the same line may meet the mound again: rough ground, or a bed that bends back.
    const auto hit = [&](const Point2& p) { return is_on_mound(p + outward * distance); };
    while (std::any_of(from.begin(), from.end(), hit)) distance += clearance;
    return distance;
  }

  struct HubDistances {
    double upslope, downslope, left, right;
  };
  HubDistances hub_distances() const {
    const BedEdge left = bed_edges(shape_, Face::left)[0], right = bed_edges(shape_, Face::right)[0];
    const auto beyond_end = [&](const BedEdge& end) {
      return hub_distance({end.from, 0.5 * (end.from + end.to), end.to}, end.outward);
    };
    const auto beyond_edge = [&](double side) {
      const auto at = [&](const BedEdge& end) { return side < 0 ? end.from : end.to; };
      return std::max(hub_distance({at(left)}, side * across(0)),
                      hub_distance({at(right)}, side * across(piece_count() - 1)));
    };
    return {beyond_edge(-1), beyond_edge(1), beyond_end(left), beyond_end(right)};
  }

  std::string add_hub(const Point2& corner, const Point2& outward, double distance, std::size_t piece,
                      const std::string& name, const std::string& past, const std::string& line) {
    const Point2 at = corner + outward * distance;
    add(StakeKind::hub, at, from_piece(piece, at),
        fmt::format("{} hub, {} past {} on the {}", name, short_length(distance), past, line));
    return out_.stakes.back().what;
  }

  void add_bend_hub(std::size_t bend, Face face) {
    const Point2 corner = bend_corner(bend, face), outward = bend_outward(bend, face);
    const double distance = hub_distance({corner}, outward);
    const Point2 at = corner + outward * distance;
    add(StakeKind::hub, at, from_bend(bend, face, at),
        fmt::format("bend {} {} hub, {} past the bed's edge on the line that halves the bend", bend + 1,
                    face_name(face), short_length(distance)));
  }

  /// The five hubs of one end, walked from one long edge to the other.
  void add_end_hubs(Face end_face, bool from_upslope, const HubDistances& out) {
    const BedEdge end = bed_edges(shape_, end_face)[0];
    const double past_end = end_face == Face::left ? out.left : out.right;
    const auto corner = [&](Face edge) {
      return fmt::format("bed corner {}-{}", face_name(edge), face_name(end_face));
    };
    const auto on_end_line = [&](Face edge) {
      const bool up = edge == Face::upslope;
      add_hub(up ? end.from : end.to, (up ? -1.0 : 1.0) * across(end.piece), up ? out.upslope : out.downslope,
              end.piece, corner(edge), "the corner", fmt::format("{} end line", face_name(end_face)));
    };
    const auto on_edge_line = [&](Face edge) {
      add_hub(edge == Face::upslope ? end.from : end.to, end.outward, past_end, end.piece, corner(edge), "the corner",
              fmt::format("{} edge line", face_name(edge)));
    };
    const Face first = from_upslope ? Face::upslope : Face::downslope;
    const Face last = from_upslope ? Face::downslope : Face::upslope;
    on_end_line(first);
    on_edge_line(first);
    add_hub(0.5 * (end.from + end.to), end.outward, past_end, end.piece,
            fmt::format("centre line {}", face_name(end_face)), "the bed's end", "centre line");
    on_edge_line(last);
    on_end_line(last);
  }

  /// Once round: down the left end, along the downslope side, up the right end, back along the upslope side.
  void set_hubs() {
    const HubDistances out = hub_distances();
    add_end_hubs(Face::left, true, out);
    for (std::size_t bend = 0; bend < bend_count(); ++bend) add_bend_hub(bend, Face::downslope);
    add_end_hubs(Face::right, false, out);
    for (std::size_t bend = bend_count(); bend-- > 0;) add_bend_hub(bend, Face::upslope);
  }

  // Slope stakes.

  void note_missing(const std::string& what, const Point2& at, const std::string& why, const std::string& to_do) {
    out_.notes.warning(
        fmt::format("no {}: {}", what, why),
        fmt::format("station {}, offset {}", station_text(from_piece(nearest_piece(at), at).station, options_.unit),
                    offset_text(from_piece(nearest_piece(at), at).offset, options_.unit)),
        to_do);
  }

  bool stands_on_mound(const Point2& p) const {
    const std::optional<OnSurface> top = finished_at(shape_, p);
    const std::optional<double> existing = ground_at(p);
    return top && existing && mound_.buildup.bottom_elevation + top->height > *existing;
  }

  /// The survey ended before the mound met ground: no ground beyond, and the mound still stands above it here.
  bool is_survey_edge(const Point2& toe, const Point2& outward, double height) const {
    if (ground_at(toe + outward * 1e-3)) return false;
    const std::optional<double> existing = ground_at(toe - outward * 1e-3);
    return !existing || mound_.buildup.bottom_elevation + height > *existing + 0.01;
  }

  std::optional<Catch> catch_on_ray(const std::string& what, const Point2& from, const Point2& outward) {
    const std::vector<Catch> all = catches_on_ray(what, from, outward);
    return all.empty() ? std::nullopt : std::optional(all.front());
  }

  /// Where the side first meets ground on the ray, and, where ground stands out of the mound there, every place where
  /// the mound begins again beyond it and ends.
  std::vector<Catch> catches_on_ray(const std::string& what, const Point2& from, const Point2& outward) {
    if (!stands_on_mound(from)) {
      const bool surveyed = ground_at(from).has_value();
      note_missing(what, from, surveyed ? "ground stands above the mound here" : "there is no surveyed ground here",
                   surveyed ? "raise or move the mound" : "shoot more ground");
      return {};
    }
    const std::vector<double> toes = distances_to_toe(mound_, mound_.buildup.toe, from, outward);
    if (toes.empty()) note_missing(what, from, "the toe is not met", "look at the toe in plan");
    std::vector<Catch> catches;
    for (std::size_t i = 0; i < toes.size(); ++i) {
      const double onto_mound = i % 2 == 0 ? -step_in : step_in;
      const std::optional<Catch> found = catch_at(what, from, outward, toes[i], onto_mound);
      if (!found) break;
      catches.push_back(*found);
    }
    return catches;
  }

  std::optional<Catch> catch_at(const std::string& what, const Point2& from, const Point2& outward, double toe,
                                double onto_mound) {
    const Point2 at = from + outward * toe;
    const double end = std::max(0.0, toe + onto_mound);
    const std::optional<OnSurface> top = finished_at(shape_, from + outward * end);
    if (!top || is_survey_edge(at, outward, top->height)) {
      note_missing(what, at, "the survey ends before the mound meets ground", "shoot more ground");
      return std::nullopt;
    }
    const std::optional<double> shoulder = shoulder_on_ray(*top->piece, from, outward, end, 2 * step_in);
    if (!shoulder) {
      note_missing(what, at, "there is no flat top straight in from the toe",
                   "set this one by tape from its neighbours");
      return std::nullopt;
    }
    const Point2 edge = from + outward * *shoulder;
    const double in = *shoulder >= end ? 0.0 : toe - *shoulder;
    return Catch{at, top->layer, lowest_plane(*top->piece, edge).at(edge), in};
  }

  void add_slope_stake(const Catch& found, const StationOffset& where, std::string what) {
    Stake& stake = add(StakeKind::slope, found.at, where, std::move(what) + ", to the shoulder");
    const double elevation = mound_.buildup.bottom_elevation + found.shoulder;
    set_design(stake, elevation);
    stake.to_shoulder = found.in;
    const double rise = stake.ground ? elevation - *stake.ground : 0.0;
    stake.slope_run = rise > 0 && found.in > 0 ? found.in / rise : 0.0;
  }

  /// Whether a place belongs to this piece of a bent bed and not to its neighbours.
  bool is_on_piece(std::size_t piece, const Point2& p) const {
    if (piece > 0 && bend_normal(piece).dot(p - shape_.line[piece]) < 0) return false;
    return piece + 1 == piece_count() || bend_normal(piece + 1).dot(p - shape_.line[piece + 1]) <= 0;
  }
  Point2 bend_normal(std::size_t point) const { return along(point - 1) + along(point); }
  std::size_t nearest_piece(const Point2& p) const {
    for (std::size_t piece = 0; piece + 1 < piece_count(); ++piece) {
      if (is_on_piece(piece, p)) return piece;
    }
    return piece_count() - 1;
  }

  std::vector<double> stations_of(const StakeLine& line) const {
    const double interval = options_.station_interval;
    std::vector<double> stations;
    for (double k = std::ceil((line.phase + line.first) / interval - 1e-9);; ++k) {
      const double s = k * interval - line.phase;
      if (s > line.last + 1e-6) break;
      stations.push_back(s);
    }
    if (stations.empty() || line.last - stations.back() > 1e-6) stations.push_back(line.last);
    if (line.skip_first) std::erase_if(stations, [&](double s) { return s < line.first + 1e-6; });
    if (line.skip_last) std::erase_if(stations, [&](double s) { return s > line.last - 1e-6; });
    return stations;
  }

  void add_on_line(const StakeLine& line, bool backwards) {
    std::vector<double> stations = stations_of(line);
    if (backwards) std::reverse(stations.begin(), stations.end());
    const bool is_end = line.face == Face::left || line.face == Face::right;
    const std::string what = fmt::format("slope stake, {} {}", face_name(line.face), is_end ? "end" : "face");
    for (const double s : stations) {
      // A vertical side at the bed's end runs along the last line: the stake is that of the lines beside it.
      const double inside = std::max(line.first + step_in, std::min(s, line.last - step_in));
      std::vector<Catch> catches = catches_on_ray(what, line.zero + line.along * inside, line.outward);
      for (std::size_t i = 0; i < catches.size(); ++i) {
        catches[i].at += line.along * (s - inside);
        // Inside a bend the square line soon leaves its own piece; the bend's own stake stands there.
        if (!is_on_piece(line.piece, catches[i].at)) break;
        add_slope_stake(
            catches[i], from_piece(line.piece, catches[i].at),
            i == 0 ? what : what + (i % 2 == 1 ? ", past bare ground, inner toe" : ", past bare ground, outer toe"));
      }
    }
  }

  StakeLine long_line(Face face, std::size_t piece) const {
    const double side = face == Face::upslope ? -1 : 1;
    const Point2 outward = side * across(piece);
    return {face,
            piece,
            shape_.line[piece] + outward * shape_.half_width,
            along(piece),
            outward,
            0,
            starts_[piece + 1] - starts_[piece],
            starts_[piece],
            piece > 0,
            piece + 1 < piece_count()};
  }

  void add_long_face(Face face, bool backwards) {
    for (std::size_t n = 0; n < piece_count(); ++n) {
      const std::size_t piece = backwards ? piece_count() - 1 - n : n;
      add_on_line(long_line(face, piece), backwards);
      if (n + 1 < piece_count()) add_at_bend(backwards ? piece - 1 : piece, face);
    }
  }

  void add_at_bend(std::size_t bend, Face face) {
    const std::string what = fmt::format("slope stake, bend {} {}", bend + 1, face_name(face));
    const std::optional<Catch> found = catch_on_ray(what, bend_corner(bend, face), bend_outward(bend, face));
    if (found) add_slope_stake(*found, from_bend(bend, face, found->at), what);
  }

  void add_end(Face face, bool backwards) {
    const BedEdge end = bed_edges(shape_, face)[0];
    const double width = (end.to - end.from).norm();
    add_on_line({face, end.piece, end.from, (end.to - end.from) / width, end.outward, 0, width, 0, false, false},
                backwards);
  }

  /// The layer that meets ground on the line of the end, square out from the long edge: it makes the corner as well.
  std::size_t layer_at_corner(const Point2& corner, const Point2& outward) const {
    const std::optional<double> toe = distance_to_toe(mound_, mound_.buildup.toe, corner, outward);
    const std::optional<OnSurface> top =
        toe ? finished_at(shape_, corner + outward * std::max(0.0, *toe - step_in)) : std::nullopt;
    return top ? top->layer : shape_.layers.size() - 1;
  }

  /// A hip starts where the long edge of the top meets the end's side at that height (under a gable the side begins at
  /// the ridge), and runs out by the two runs together. A round corner's middle lies the same way.
  void add_corner(Face edge, Face end_face) {
    const BedEdge end = bed_edges(shape_, end_face)[0];
    const Point2 corner = edge == Face::upslope ? end.from : end.to;
    const Point2 out = (edge == Face::upslope ? -1.0 : 1.0) * across(end.piece);
    const Layer& layer = mound_.design().layers[layer_at_corner(corner, out)];
    const double run_edge = on_face(layer.side, edge), run_end = on_face(layer.side, end_face);
    // On a vertical side the ray would run along the wall itself: keep just inside it.
    const double past_edge = on_face(layer.beyond, edge) - (run_edge > 0 ? 0 : step_in);
    const double past_end = on_face(layer.beyond, end_face) + layer.crown * run_end - (run_end > 0 ? 0 : step_in);
    const Point2 apex = corner + out * past_edge + end.outward * past_end;
    const Point2 both =
        run_edge + run_end > 0 ? Point2(out * run_edge + end.outward * run_end) : Point2(out + end.outward);
    const std::string what = fmt::format("slope stake, {}-{} corner", face_name(edge), face_name(end_face));
    const bool from_apex = stands_on_mound(apex);
    const Point2 from = from_apex ? apex : corner;
    const Point2 outward =
        (from_apex || (apex - corner).norm() < 1e-3) ? both.normalized() : (apex - corner).normalized();
    const std::optional<Catch> found = catch_on_ray(what, from, outward);
    if (found) add_slope_stake(*found, from_piece(end.piece, found->at), what);
  }

  /// On from where the hubs end: along the upslope face to the left, and so once round.
  void set_slope_stakes() {
    add_long_face(Face::upslope, true);
    add_corner(Face::upslope, Face::left);
    add_end(Face::left, false);
    add_corner(Face::downslope, Face::left);
    add_long_face(Face::downslope, false);
    add_corner(Face::downslope, Face::right);
    add_end(Face::right, true);
    add_corner(Face::upslope, Face::right);
  }

  /// Each time the nearest that is left.
  void set_feed_points() {
    std::vector<const FeedPoint*> left;
    for (const FeedPoint& point : options_.lot.feed) left.push_back(&point);
    while (!left.empty()) {
      const Point2 here(out_.stakes.back().easting, out_.stakes.back().northing);
      const auto nearest = std::min_element(left.begin(), left.end(), [&](const FeedPoint* a, const FeedPoint* b) {
        return (a->at - here).norm() < (b->at - here).norm();
      });
      const FeedPoint& point = **nearest;
      const Point2 at = mound_.to_mound(point.at);
      Stake& stake = add(StakeKind::feed, at, from_piece(nearest_piece(at), at), "feed point " + point.name);
      if (point.elevation) set_design(stake, *point.elevation);
      left.erase(nearest);
    }
  }
};

// ---- Numbers, ties, checks, grades ----------------------------------------------------------------------------------

std::string plain_number(const std::string& name) {
  const std::size_t first = name.find_first_not_of(" 0");
  const std::size_t last = name.find_last_not_of(' ');
  return first == std::string::npos ? "" : name.substr(first, last - first + 1);
}

void number_stakes(std::vector<Stake>& stakes, const std::vector<std::string>& taken) {
  std::set<std::string> used;
  for (const std::string& name : taken) used.insert(plain_number(name));
  int number = first_number, walk = 1;
  for (Stake& stake : stakes) {
    while (used.contains(std::to_string(number))) ++number;
    stake.number = number++;
    stake.walk_order = walk++;
  }
}

std::vector<Mark> marks_to_tie(const Lot& lot) {
  if (lot.ties.size() >= 2) return {lot.ties[0], lot.ties[1]};
  if (lot.benchmark && lot.ties.size() == 1) return {*lot.benchmark, lot.ties[0]};
  return {};
}

/// A mark that no tape reaches has a slip of the decimal point in its place.
void check_ties(const MoundPlace& mound, const Lot& lot, const std::vector<Mark>& marks) {
  Problems problems;
  for (const Mark& mark : marks) {
    const double away = (mark.at - mound.frame().origin).norm();
    if (away <= greatest_tape) continue;
    const bool is_benchmark = lot.ties.size() < 2 && lot.benchmark && mark.name == lot.benchmark->name;
    problems.error(fmt::format("the mark \"{}\", from which stakes are taped, is {} from the mound; the limit is {:g}",
                               mark.name, fixed_text(away, 1), greatest_tape),
                   is_benchmark ? "benchmark" : joined_key("tie", mark.name),
                   "look for a slip of the decimal point in its n and e");
  }
  problems.throw_if_errors();
}

void tie_stakes(StakeOut& out) {
  for (Stake& stake : out.stakes) {
    for (const Mark& mark : out.tie_marks) {
      stake.ties.push_back(std::hypot(stake.easting - mark.at.x(), stake.northing - mark.at.y()));
    }
  }
}

std::string piece_name(const MoundShape& shape, std::size_t piece) {
  return shape.line.size() == 2 ? "bed" : fmt::format("bed piece {}", piece + 1);
}

void add_bed_checks(const MoundShape& shape, StakeOut& out) {
  const std::vector<BedEdge> up = bed_edges(shape, Face::upslope), down = bed_edges(shape, Face::downslope);
  for (std::size_t i = 0; i < up.size(); ++i) {
    const std::string name = piece_name(shape, i);
    out.sides.push_back({name + ", upslope edge", (up[i].to - up[i].from).norm()});
    out.sides.push_back({name + ", downslope edge", (down[i].to - down[i].from).norm()});
    out.diagonals.push_back({name + ", upslope left to downslope right", (down[i].to - up[i].from).norm()});
    out.diagonals.push_back({name + ", downslope left to upslope right", (up[i].to - down[i].from).norm()});
  }
  out.sides.push_back({"bed, left end", (down.front().from - up.front().from).norm()});
  out.sides.push_back({"bed, right end", (down.back().to - up.back().to).norm()});
}

/// Hubs stand in the order in which set_hubs walks; five to an end, bends between.
void add_hub_checks(std::size_t bends, StakeOut& out) {
  const Stake* left = out.stakes.data();
  const Stake* right = left + 5 + bends;
  const auto add = [&](const Stake& a, const Stake& b, const char* lines) {
    out.diagonals.push_back({fmt::format("hub {} to hub {}, on the {}", a.number, b.number, lines),
                             std::hypot(a.easting - b.easting, a.northing - b.northing)});
  };
  // Left: 0 upslope on the end line, 1 upslope edge, 2 centre, 3 downslope edge, 4 downslope; right the other way
  // round.
  add(left[1], right[1], "edge lines");
  add(left[3], right[3], "edge lines");
  add(left[0], right[0], "end lines");
  add(left[4], right[4], "end lines");
}

/// True where a line on the lot runs between two places, or the second lies inside the area it closes.
bool keeps_apart(const KeepClear& feature, const Point2& from, const Point2& to) {
  if (feature.closed) return moundwright::is_inside(feature.line, to);
  for (std::size_t i = 1; i < feature.line.size(); ++i) {
    if (do_cross(feature.line[i - 1], feature.line[i], from, to)) return true;
  }
  return false;
}

/// The place on the bed's centre line nearest to a stake.
Point2 nearest_on_bed(const std::vector<Point2>& line, const Point2& at) {
  Point2 nearest = line.front();
  for (std::size_t i = 1; i < line.size(); ++i) {
    const Point2 step = line[i] - line[i - 1];
    const double part = std::clamp(step.dot(at - line[i - 1]) / step.squaredNorm(), 0.0, 1.0);
    const Point2 place = line[i - 1] + part * step;
    if ((place - at).norm() < (nearest - at).norm()) nearest = place;
  }
  return nearest;
}

/// "1003, 1004 (bend 1 upslope hub)": numbers, and of the first what it is.
std::string stake_list(const std::vector<const Stake*>& stakes) {
  std::string numbers;
  for (const Stake* stake : stakes) numbers += (numbers.empty() ? "" : ", ") + std::to_string(stake->number);
  return fmt::format("{} {} ({}{})", stakes.size() == 1 ? "stake" : "stakes", numbers, stakes.front()->what,
                     stakes.size() == 1 ? "" : " and others");
}

/// A stake that nobody may drive, or whose ground nobody knows, is told before someone walks to it.
void note_places(const std::vector<Point2>& line, const Requirements& asked, StakeOut& out) {
  const auto tell = [&](const auto& is_so, const std::string& what, const std::string& to_do) {
    std::vector<const Stake*> found;
    for (const Stake& stake : out.stakes) {
      if (stake.kind != StakeKind::feed && is_so(stake)) found.push_back(&stake);
    }
    if (found.empty()) return;
    out.notes.warning(fmt::format("{} {} {}", stake_list(found), found.size() == 1 ? "stands" : "stand", what),
                      place_name({found.front()->easting, found.front()->northing}), to_do);
  };
  for (const KeepClear& feature : asked.keep_clear) {
    if (feature.line.size() < 2) continue;
    tell(
        [&](const Stake& stake) {
          const Point2 at(stake.easting, stake.northing);
          return keeps_apart(feature, nearest_on_bed(line, at), at);
        },
        fmt::format("{} {}", feature.closed ? "inside" : "on the far side of", feature.name),
        "do not drive it there: set it nearer on the same line with a smaller hub_clearance under [stakes], or get "
        "leave "
        "first");
  }
  tell([](const Stake& stake) { return !stake.ground; }, "off the surveyed ground, so no ground is given",
       "shoot the ground out to there, or take it from the stake's own shot");
}

double ridge_of(const Layer& layer) { return layer.top + layer.crown; }

std::vector<Grade> grades_above_bottom(const MoundDesign& design, double bottom) {
  std::vector<Grade> grades;
  const auto add = [&](std::string name, double above) { grades.push_back({std::move(name), bottom + above, above}); };
  if (design.prepare.undercut) add("undercut bottom", design.prepare.undercut->elevation - bottom);
  add("bed bottom", 0);
  if (design.lateral_invert) add("lateral invert", *design.lateral_invert);
  const auto finished = std::max_element(design.layers.rbegin(), design.layers.rend(),
                                         [](const Layer& a, const Layer& b) { return ridge_of(a) < ridge_of(b); });
  for (const Layer& layer : design.layers) {
    const std::string name = &layer == &*finished ? "finished" : layer.name;
    add(name + (layer.crown > 0 ? " edge" : " top"), layer.top);
    if (layer.crown > 0) add(name + " ridge", ridge_of(layer));
  }
  return grades;
}

std::vector<Grade> grade_card(const MoundDesign& design, double bottom) {
  std::vector<Grade> all = grades_above_bottom(design, bottom);
  std::stable_sort(all.begin(), all.end(),
                   [](const Grade& a, const Grade& b) { return a.above_bed_bottom < b.above_bed_bottom - tolerance; });
  std::vector<Grade> card;
  for (Grade& grade : all) {
    if (!card.empty() && grade.above_bed_bottom - card.back().above_bed_bottom <= tolerance) {
      card.back().name += ", " + grade.name;
    } else {
      card.push_back(std::move(grade));
    }
  }
  return card;
}

void check_spacing(const MoundPlace& mound, const StakeOptions& options) {
  Problems problems;
  const auto is_length = [](double x) { return std::isfinite(x) && x > 0; };
  if (!is_length(options.station_interval)) {
    problems.error(fmt::format("the interval of slope stakes is {}", options.station_interval),
                   "stakes.station_interval", "give a length above zero, such as 10.0");
  } else if (mound.shape().reach / options.station_interval > most_stakes / 10) {
    problems.error(fmt::format("slope stakes every {} would be thousands", options.station_interval),
                   "stakes.station_interval", "give a longer interval, such as 10.0");
  }
  if (!is_length(options.hub_clearance)) {
    problems.error(fmt::format("the clearance of hubs is {}", options.hub_clearance), "stakes.hub_clearance",
                   "give a length above zero, such as 5.0");
  }
  problems.throw_if_errors();
}

}  // namespace

const char* to_text(StakeKind kind) {
  switch (kind) {
    case StakeKind::hub:
      return "hub";
    case StakeKind::slope:
      return "slope stake";
    case StakeKind::feed:
      return "feed point";
  }
  return "";
}

StakeOut stake_out(const PlacedMound& mound, const StakeOptions& options, const std::vector<std::string>& taken) {
  check_spacing(mound, options);
  StakeOut out = StakeSetter(mound, options).take();
  number_stakes(out.stakes, taken);
  note_places(bed_line(mound), options.lot.requirements, out);
  out.tie_marks = marks_to_tie(options.lot);
  check_ties(mound, options.lot, out.tie_marks);
  tie_stakes(out);
  add_bed_checks(mound.shape(), out);
  add_hub_checks(mound.shape().line.size() - 2, out);
  out.grades = grade_card(mound.design(), mound.buildup.bottom_elevation);
  return out;
}

}  // namespace moundwright

#include "viewer/scene.h"

#include <fmt/format.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <boost/container/static_vector.hpp>
#include <cmath>
#include <map>
#include <unordered_map>

#include "geom/cell_pieces.h"
#include "geom/plan.h"
#include "geom/printed.h"
#include "io/material_style.h"

namespace moundwright::viewer {
namespace {

constexpr io::Colour ink{0.20, 0.17, 0.14}, contour_ink{0.52, 0.42, 0.28}, toe_ink{0.75, 0.16, 0.10};
constexpr io::Colour breakline_ink{0.30, 0.36, 0.30}, feature_ink{0.13, 0.33, 0.55}, berm_ink{0.10, 0.10, 0.12};
constexpr io::Colour hub_ink{0.80, 0.28, 0.05}, slope_ink{0.12, 0.30, 0.66}, feed_ink{0.45, 0.18, 0.55};
constexpr io::Colour earth{0.62, 0.54, 0.44};

DrawPoint colour_of(const io::Colour& c, double light) {
  const auto lit = [&](double v) { return static_cast<float>(std::clamp(v * light, 0.0, 1.0)); };
  return {lit(c.red), lit(c.green), lit(c.blue)};
}

/// Lambert's law over plenty of light from the whole sky; 1 on level ground.
double light_on(const Eigen::Vector3d& normal) {
  static const Eigen::Vector3d sun = Eigen::Vector3d(-0.55, 0.35, 0.76).normalized();
  constexpr double sky = 0.6;
  const double level = sky + (1 - sky) * sun.z();
  return (sky * (0.86 + 0.14 * normal.z()) + (1 - sky) * std::max(0.0, normal.dot(sun))) / level;
}

/// What lies on the ground is drawn a little above it, or the two would flicker.
double hover(const SceneFrame& frame) { return 0.0006 * frame.size; }

Eigen::Vector2f in_plan(const DrawPoint& p) { return {p[0], p[1]}; }

std::int32_t index_of_next(const std::vector<DrawPoint>& points) { return static_cast<std::int32_t>(points.size()); }

void add_path(const std::vector<Point3>& path, const SceneFrame& frame, double above, Lines& lines) {
  for (std::size_t i = 0; i < path.size(); ++i) {
    lines.points.push_back(frame.at(path[i] + Point3(0, 0, above)));
    if (i > 0) lines.ends.push_back({index_of_next(lines.points) - 2, index_of_next(lines.points) - 1});
  }
}

/// A path in plan laid on a surface, with points close enough together; in pieces where there is no surface.
template <class Height>
void add_draped(const Polyline2& path, double step, const SceneFrame& frame, const Height& height, Lines& lines) {
  std::vector<Point3> laid;
  const auto lay = [&](const Point2& p) {
    if (const std::optional<double> z = height(p)) {
      laid.emplace_back(p.x(), p.y(), *z);
    } else {
      add_path(laid, frame, hover(frame), lines);
      laid.clear();
    }
  };
  for (std::size_t i = 0; i < path.size(); ++i) {
    if (i > 0) {
      const auto parts = static_cast<int>(std::ceil((path[i] - path[i - 1]).norm() / step));
      for (int j = 1; j < parts; ++j) lay(path[i - 1] + (path[i] - path[i - 1]) * j / parts);
    }
    lay(path[i]);
  }
  add_path(laid, frame, hover(frame), lines);
}

Polyline2 closed(Polyline2 path) {
  if (!path.empty()) path.push_back(path.front());
  return path;
}

// ---- ground ---------------------------------------------------------------------------------------------------------

/// Of each point, with heights stretched so that a lot's gentle relief can be read.
std::vector<Eigen::Vector3f> ground_normals(const Ground& ground) {
  std::vector<Eigen::Vector3f> normals(ground.points.size(), Eigen::Vector3f::Zero());
  constexpr double stretch = 2.5;
  for (const auto& t : ground.tree.triangles) {
    Point3 a = ground.points[t[0]], b = ground.points[t[1]], c = ground.points[t[2]];
    a.z() *= stretch, b.z() *= stretch, c.z() *= stretch;
    const Eigen::Vector3f normal = (b - a).cross(c - a).cast<float>();
    for (const std::uint32_t v : t) normals[v] += normal;
  }
  return normals;
}

void add_tiles(const Ground& ground, const SceneFrame& frame, const GroundLight& light, const TreeNode& node,
               std::vector<Tile<Triangles>>& tiles) {
  constexpr std::uint32_t largest = 16384;  // triangles
  const auto [first, last] = triangle_range(ground.tree, node);
  if (last - first > largest && !node.is_leaf()) {
    add_tiles(ground, frame, light, node.first_child(), tiles);
    add_tiles(ground, frame, light, node.second_child(), tiles);
    return;
  }
  Tile<Triangles>& tile = tiles.emplace_back();
  tile.first = first;
  const io::Colour grass = io::ground_style().fill;
  std::unordered_map<std::uint32_t, std::int32_t> placed;
  for (std::uint32_t t = first; t < last; ++t) {
    std::array<std::int32_t, 3> corners{};
    for (std::size_t i = 0; i < 3; ++i) {
      const std::uint32_t v = ground.tree.triangles[t][i];
      const auto [found, is_new] = placed.emplace(v, index_of_next(tile.drawn.points));
      corners[i] = found->second;
      if (!is_new) continue;
      const DrawPoint p = frame.at(ground.points[v]);
      tile.drawn.points.push_back(p);
      tile.drawn.colours.push_back(colour_of(grass, light[v]));
      tile.box.extend(in_plan(p));
    }
    tile.drawn.corners.push_back(corners);
  }
}

/// A slice's line in the scene's own coordinates.
PlanLine line_in(const SceneFrame& frame, const Slice& slice) {
  PlanLine line = slice.keep();
  line.c += line.a * frame.origin.x() + line.b * frame.origin.y();
  return line;
}

DrawPoint between(const DrawPoint& a, const DrawPoint& b, double part) {
  DrawPoint p{};
  for (std::size_t i = 0; i < 3; ++i) p[i] = static_cast<float>(a[i] + (b[i] - a[i]) * part);
  return p;
}

void add_quad(const Point3& a, const Point3& b, const Point3& c, const Point3& d, const DrawPoint& colour,
              const SceneFrame& frame, Triangles& triangles) {
  const std::int32_t first = index_of_next(triangles.points);
  for (const Point3* p : {&a, &b, &c, &d})
    triangles.points.push_back(frame.at(*p)), triangles.colours.push_back(colour);
  triangles.corners.push_back({first, first + 1, first + 2});
  triangles.corners.push_back({first, first + 2, first + 3});
}

Lines lines_of(const io::Colour& colour, float width) {
  Lines lines;
  lines.colour = colour, lines.width = width;
  return lines;
}

double interval_for(double relief) {
  const double wanted = std::max(relief, 1e-6) / 28;
  const double power = std::pow(10.0, std::floor(std::log10(wanted)));
  for (const double step : {1.0, 2.0, 5.0}) {
    if (step * power >= wanted) return step * power;
  }
  return 10 * power;
}

/// Lines by the square of the lot that they lie in.
std::vector<Tile<Lines>> line_tiles(const Lines& lines) {
  SceneBox all;
  for (const DrawPoint& p : lines.points) all.extend(in_plan(p));
  constexpr double wanted = 4096;  // lines a tile
  const auto side = static_cast<int>(std::ceil(std::sqrt(static_cast<double>(lines.ends.size()) / wanted)));
  const auto step = [&](float at, float low, float high) {
    return high > low ? std::min(side - 1, static_cast<int>(static_cast<float>(side) * (at - low) / (high - low))) : 0;
  };
  std::map<std::pair<int, int>, Tile<Lines>> tiles;
  for (const auto& [p, q] : lines.ends) {
    const DrawPoint &a = lines.points[static_cast<std::size_t>(p)], &b = lines.points[static_cast<std::size_t>(q)];
    Tile<Lines>& tile = tiles[{step(a[0], all.min().x(), all.max().x()), step(a[1], all.min().y(), all.max().y())}];
    tile.box.extend(in_plan(a)).extend(in_plan(b));
    tile.drawn.points.push_back(a), tile.drawn.points.push_back(b);
    const std::int32_t next = index_of_next(tile.drawn.points);
    tile.drawn.ends.push_back({next - 2, next - 1});
  }
  std::vector<Tile<Lines>> result;
  for (auto& [square, tile] : tiles) {
    tile.drawn.colour = lines.colour, tile.drawn.width = lines.width;
    result.push_back(std::move(tile));
  }
  return result;
}

std::string contour_text(double elevation, double interval) {
  return fixed_text(elevation, interval >= 1 ? 0 : interval >= 0.1 ? 1 : 2);
}

Lines fine_contours() { return lines_of(contour_ink, 1.2F); }
Lines heavy_contours() { return lines_of(io::darker(contour_ink, 0.25), 2.4F); }

/// Every fifth.
bool is_heavy_contour(double elevation, double interval) { return std::llround(elevation / interval) % 5 == 0; }

/// Of faces, three points each; none of upright ones.
void add_face_contours(const std::vector<Point3>& faces, double interval, const SceneFrame& frame, Lines& fine,
                       Lines& heavy) {
  for (std::size_t i = 0; i < faces.size(); i += 3) {
    const auto [low, high] = std::minmax({faces[i].z(), faces[i + 1].z(), faces[i + 2].z()});
    for (double level = std::ceil(low / interval) * interval; level <= high; level += interval) {
      std::vector<Point3> crossing;
      for (std::size_t j = 0; j < 3; ++j) {
        const Point3 &a = faces[i + j], &b = faces[i + (j + 1) % 3];
        if ((a.z() < level) != (b.z() < level))
          crossing.emplace_back(a + (b - a) * ((level - a.z()) / (b.z() - a.z())));
      }
      if (crossing.size() == 2) {
        add_path(crossing, frame, hover(frame), is_heavy_contour(level, interval) ? heavy : fine);
      }
    }
  }
}

double length_of(const Polyline2& path) {
  double sum = 0;
  for (std::size_t i = 1; i < path.size(); ++i) sum += (path[i] - path[i - 1]).norm();
  return sum;
}

/// A share of the way along a path.
Point2 place_along(const Polyline2& path, double share) {
  double left = share * length_of(path);
  for (std::size_t i = 1; i < path.size(); ++i) {
    const double step = (path[i] - path[i - 1]).norm();
    if (left <= step) return path[i - 1] + (path[i] - path[i - 1]) * (step > 0 ? left / step : 0);
    left -= step;
  }
  return path.back();
}

/// Between the corners of a triangle of ground, as they are drawn.
double light_at(const Ground& ground, const GroundLight& light, std::uint32_t triangle, const Point2& p) {
  const auto& corners = ground.tree.triangles[triangle];
  const auto corner = [&](std::size_t i) -> Point2 { return ground.points[corners[i]].head<2>(); };
  const auto twice = [](const Point2& a, const Point2& b) { return a.x() * b.y() - a.y() * b.x(); };
  double sum = 0, all = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    const double share = std::max(0.0, twice(corner((i + 1) % 3) - p, corner((i + 2) % 3) - p));
    sum += share * light[corners[i]], all += share;
  }
  return all > 0 ? sum / all : light[corners[0]];
}

/// Faces that lie on the ground or along it, in the light that it has there.
void add_along_ground(const std::vector<Point3>& faces, const io::Colour& colour, const Ground& ground,
                      const GroundLight& light, const SceneFrame& frame, Triangles& triangles) {
  for (std::size_t i = 0; i < faces.size(); i += 3) {
    const Point2 middle = (faces[i] + faces[i + 1] + faces[i + 2]).head<2>() / 3;
    const std::optional<std::uint32_t> triangle = triangle_at(ground, middle);
    const std::int32_t first = index_of_next(triangles.points);
    for (std::size_t j = i; j < i + 3; ++j) {
      triangles.points.push_back(frame.at(faces[j]));
      const double here = triangle ? light_at(ground, light, *triangle, faces[j].head<2>()) : 1;
      triangles.colours.push_back(colour_of(colour, here));
    }
    triangles.corners.push_back({first, first + 1, first + 2});
  }
}

// ---- features -------------------------------------------------------------------------------------------------------

double ground_or(const Ground& ground, const Point2& p, double otherwise) {
  return elevation_at(ground, p).value_or(otherwise);
}

/// Off the survey as the ground falls, but never above or below what was surveyed.
double ground_or_about(const Ground& ground, const SceneFrame& frame, const Point2& p) {
  return ground_or(ground, p,
                   std::clamp(ground.trend.at(p), frame.origin.z(), frame.origin.z() + std::max(0.0, frame.relief)));
}

/// A mark: a post with its name on top.
void add_post(const Ground& ground, const SceneFrame& frame, const Point2& easting_northing, const std::string& name,
              double height, Lines& posts, std::vector<SceneLabel>& labels, LabelKind kind) {
  const Point2 p = ground.to_local(easting_northing);
  const double z = ground_or_about(ground, frame, p);
  const Point3 foot(p.x(), p.y(), z), top(p.x(), p.y(), z + height);
  add_path({foot, top}, frame, 0, posts);
  labels.push_back({frame.at(top), name, kind});
}

double post_height(const SceneFrame& frame) { return 0.018 * frame.size; }

void add_keep_clear(const io::SiteResults& site, const SceneFrame& frame, Lines& lines, Lines& posts,
                    std::vector<SceneLabel>& labels) {
  const Ground& ground = site.ground();
  const auto height = [&](const Point2& p) -> std::optional<double> { return ground_or_about(ground, frame, p); };
  for (const KeepClear& feature : site.job.site.lot.requirements.keep_clear) {
    if (feature.line.size() == 1) {
      add_post(ground, frame, feature.line.front(), feature.name, post_height(frame), posts, labels,
               LabelKind::feature);
      continue;
    }
    Polyline2 path;
    for (const Point2& p : feature.line) path.push_back(ground.to_local(p));
    if (feature.closed) path = closed(path);
    add_draped(path, frame.size / 80, frame, height, lines);
    const Point2 middle = place_along(path, 0.5);
    labels.push_back(
        {frame.at({middle.x(), middle.y(), *height(middle) + 2 * hover(frame)}), feature.name, LabelKind::feature});
  }
}

// ---- mound ----------------------------------------------------------------------------------------------------------

/// The next face of a fan shares two corners with the one before, if it is of the same plane and so of one colour.
bool carries_on_fan(const std::vector<Point3>& faces, std::size_t i, bool& downward) {
  if (i < 3 || faces[i] != faces[i - 3]) return false;
  downward = faces[i + 2] == faces[i - 2];
  return downward || faces[i + 1] == faces[i - 1];
}

void add_faces(const std::vector<Point3>& faces, const io::Colour& colour, double lift, const SceneFrame& frame,
               Triangles& triangles) {
  Point3 last_normal = Point3::Zero();
  for (std::size_t i = 0; i < faces.size(); i += 3) {
    Point3 normal = (faces[i + 1] - faces[i]).cross(faces[i + 2] - faces[i]);
    const double size = normal.norm();
    normal = size > 0 ? Point3(normal / size) : last_normal;
    const DrawPoint lit = colour_of(colour, light_on(normal));
    const auto add = [&](const Point3& p) {
      triangles.points.push_back(frame.at(p + Point3(0, 0, lift)));
      triangles.colours.push_back(lit);
      return index_of_next(triangles.points) - 1;
    };
    bool downward = false;
    if (carries_on_fan(faces, i, downward) && (normal - last_normal).norm() < 1e-6) {
      const auto [first, second, third] = triangles.corners.back();
      if (downward) {
        triangles.corners.push_back({first, add(faces[i + 1]), second});
      } else {
        triangles.corners.push_back({first, third, add(faces[i + 2])});
      }
    } else {
      const std::int32_t a = add(faces[i]), b = add(faces[i + 1]), c = add(faces[i + 2]);
      triangles.corners.push_back({a, b, c});
    }
    last_normal = normal;
  }
}

/// The finished surface, or existing ground where there is no mound.
std::optional<double> finished(const EditSession& session, const Point2& p) {
  const std::optional<double> ground = elevation_at(session.ground(), p);
  if (!ground || !session.mound()) return ground;
  const PlacedMound& mound = *session.mound();
  const std::optional<double> top = finish_height(mound, mound.from_reduced(p));
  return top ? std::max(*ground, mound.buildup.bottom_elevation + *top) : *ground;
}

/// Half way along one face of the bed, with the face's outward direction; mound frame.
BedEdge middle_of_face(const MoundShape& shape, Face face) {
  const std::vector<BedEdge> edges = bed_edges(shape, face);
  double total = 0;
  for (const BedEdge& edge : edges) total += (edge.to - edge.from).norm();
  double left = 0.5 * total;
  for (const BedEdge& edge : edges) {
    const double length = (edge.to - edge.from).norm();
    if (left <= length) {
      const Point2 middle = edge.from + (edge.to - edge.from) * (left / length);
      return {middle, middle, edge.outward, edge.piece};
    }
    left -= length;
  }
  return edges.back();
}

void add_berm(const EditSession& session, const SceneFrame& frame, Face face, const char* name,
              const BermLength& length, MoundPicture& picture) {
  const PlacedMound& mound = *session.mound();
  const BedEdge edge = middle_of_face(mound.shape(), face);
  const auto out = distance_to_toe(mound, mound.buildup.toe, edge.from, edge.outward);
  if (!out) return;
  const auto height = [&](const Point2& p) { return finished(session, p); };
  const Point2 from = edge.from, to = edge.from + edge.outward * *out;
  add_draped({mound.to_reduced(from), mound.to_reduced(to)}, frame.size / 300, frame, height, picture.berms);
  const Point2 tick = Point2(-edge.outward.y(), edge.outward.x()) * (0.006 * frame.size);
  for (const Point2& end : {from, to}) {
    add_draped({mound.to_reduced(end - tick), mound.to_reduced(end + tick)}, frame.size / 300, frame, height,
               picture.berms);
  }
  const Point2 at = mound.to_reduced(from + 0.6 * (to - from));
  const double z = finished(session, at).value_or(mound.buildup.bottom_elevation);
  picture.labels.push_back({frame.at({at.x(), at.y(), z + 2 * hover(frame)}),
                            fmt::format("{} {} {}", name, fixed_text(length.middle, 1), symbol(session.unit())),
                            LabelKind::berm});
}

void add_outlines(const EditSession& session, const MoundPlace& place, const SceneFrame& frame, MoundPicture& picture) {
  const auto height = [&](const Point2& p) { return finished(session, p); };
  for (const Polygon2& outline : bed_on_ground(place)) {
    add_draped(closed(outline), frame.size / 200, frame, height, picture.bed);
  }
  if (!session.mound()) return;
  const ToeLine& toe = session.mound()->buildup.toe;
  const auto existing = [&](const Point2& p) { return elevation_at(session.ground(), p); };
  for (const auto* loops : {&toe.outer, &toe.holes}) {
    for (const Polygon2& loop : *loops) add_draped(closed(loop), frame.size, frame, existing, picture.toe);
  }
}

// ---- the cut face ---------------------------------------------------------------------------------------------------

/// The stretch of a slice's line that crosses the lot.
std::pair<Point2, Point2> across_lot(const SceneFrame& frame, const Slice& slice) {
  const Point2 middle = frame.origin.head<2>();
  const Point2 nearest = slice.through + slice.along * slice.along.dot(middle - slice.through);
  return {nearest - slice.along * frame.size, nearest + slice.along * frame.size};
}

struct CutFace {
  const SceneFrame& frame;
  const Slice& slice;
  Point2 from;
  Point3 at(double distance, double z) const {
    const Point2 p = from + slice.along * distance;
    return {p.x(), p.y(), z};
  }
  /// Edges lie a little before the face, or it would hide them here and there.
  Point3 before(double distance, double z) const {
    const Point2 out(slice.along.y(), -slice.along.x());
    const Point2 p = from + slice.along * distance + out * hover(frame);
    return {p.x(), p.y(), z};
  }
};

/// Between two neighbouring columns.
void add_cut_stretch(const CutFace& face, const SectionColumn& a, const SectionColumn& b,
                     const std::vector<io::Colour>& colours, const MoundOptions& options, MoundPicture& picture) {
  const auto facing = [&](const io::Colour& colour) { return colour_of(colour, 0.97); };
  const auto add = [&](double a0, double a1, double b0, double b1, const io::Colour& colour, Triangles& into) {
    add_quad(face.at(a.distance, a0), face.at(b.distance, b0), face.at(b.distance, b1), face.at(a.distance, a1),
             facing(colour), face.frame, into);
  };
  const double foot = face.frame.origin.z() + face.frame.base;
  add(foot, a.surfaces[0], foot, b.surfaces[0], earth, picture.cut_faces.back());
  for (std::size_t k = 0; k + 1 < a.surfaces.size(); ++k) {
    if (!(a.surfaces[k + 1] > a.surfaces[k] || b.surfaces[k + 1] > b.surfaces[k])) continue;
    const double up = options.lift * static_cast<double>(k + 1);
    add(a.surfaces[k] + up, a.surfaces[k + 1] + up, b.surfaces[k] + up, b.surfaces[k + 1] + up, colours[k],
        picture.cut_faces[k]);
    add_path({face.before(a.distance, a.surfaces[k + 1] + up), face.before(b.distance, b.surfaces[k + 1] + up)},
             face.frame, 0, picture.cut_edges[k]);
    if (options.lift > 0) {
      add_path({face.before(a.distance, a.surfaces[k] + up), face.before(b.distance, b.surfaces[k] + up)}, face.frame,
               0, picture.cut_edges[k]);
    }
  }
  add_path({face.before(a.distance, a.existing), face.before(b.distance, b.existing)}, face.frame, 0,
           picture.cut_edges.back());
}

void add_cut_face(const EditSession& session, const SceneFrame& frame, const MoundOptions& options,
                  MoundPicture& picture) {
  const auto [from, to] = across_lot(frame, *options.slice);
  const Section section = cut_section(*session.mound(), from, to);
  const std::vector<io::Colour> colours = screen_colours(session.mound()->design());
  const CutFace face{frame, *options.slice, from};
  for (std::size_t i = 0; i + 1 < section.columns.size(); ++i) {
    const SectionColumn &a = section.columns[i], &b = section.columns[i + 1];
    if (!(b.distance > a.distance)) continue;
    const Point2 middle = from + options.slice->along * (0.5 * (a.distance + b.distance));
    if (!elevation_at(session.ground(), middle)) continue;  // a gap in the survey
    add_cut_stretch(face, a, b, colours, options, picture);
  }
}

/// In a column beyond the left end of all layers, which is on the right seen from downslope, with a line to each.
void add_layer_names(const EditSession& session, const SceneFrame& frame, double lift, MoundPicture& picture) {
  const Point2 left = -session.along();
  const auto reach = [&](const DrawPoint& p) { return p[0] * left.x() + p[1] * left.y(); };
  const auto nearer = [&](const DrawPoint& a, const DrawPoint& b) { return reach(a) < reach(b); };
  double farthest = -std::numeric_limits<double>::infinity();
  for (const Triangles& layer : picture.layers) {
    for (const DrawPoint& p : layer.points) farthest = std::max(farthest, reach(p));
  }
  const Point2 middle = session.ground().to_local(session.state().middle) - frame.origin.head<2>();
  double height = -std::numeric_limits<double>::infinity();
  const Point2 column = middle + left * (farthest - left.dot(middle) + 0.012 * frame.size);
  for (std::size_t k = 0; k < picture.layers.size(); ++k) {
    const std::vector<DrawPoint>& points = picture.layers[k].points;
    if (points.empty()) continue;
    const DrawPoint end = *std::max_element(points.begin(), points.end(), nearer);
    height = std::max(height + 0.6 * lift, static_cast<double>(end[2]));  // no name on another
    const DrawPoint at{static_cast<float>(column.x()), static_cast<float>(column.y()), static_cast<float>(height)};
    picture.leaders[k].points = {end, at}, picture.leaders[k].ends = {{0, 1}};
    const Layer& layer = session.state().design.layers[k];
    picture.labels.push_back({at, layer.name + ": " + layer.material, LabelKind::layer, k});
  }
}

void clear(Triangles& triangles) { triangles.points.clear(), triangles.colours.clear(), triangles.corners.clear(); }

void clear(Lines& lines, const io::Colour& colour, float width) {
  lines.points.clear(), lines.ends.clear();
  lines.colour = colour, lines.width = width;
}

}  // namespace

std::vector<io::Colour> screen_colours(const MoundDesign& design) {
  std::vector<io::Colour> colours;
  for (const io::MaterialStyle& style : io::layer_styles(design)) {
    // Labels are written over it in dark ink. Weights of the eye: ITU-R BT.709.
    const double bright = 0.2126 * style.fill.red + 0.7152 * style.fill.green + 0.0722 * style.fill.blue;
    constexpr double least = 0.46;
    colours.push_back(bright < least ? io::lighter(style.fill, (least - bright) / (1 - bright)) : style.fill);
  }
  return colours;
}

DrawPoint SceneFrame::at(const Point3& reduced) const {
  const Point3 p = reduced - origin;
  return {static_cast<float>(p.x()), static_cast<float>(p.y()), static_cast<float>(p.z())};
}

PlanLine Slice::keep() const { return line_left_of(through, through + along); }

Slice behind_face(const Slice& slice, const SceneFrame& frame) {
  const Point2 in(-slice.along.y(), slice.along.x());
  return {slice.through + in * (3 * hover(frame)), slice.along};
}

SceneFrame scene_frame(const Ground& ground) {
  Point3 low = ground.points.front(), high = low;
  for (const Point3& p : ground.points) low = low.cwiseMin(p), high = high.cwiseMax(p);
  SceneFrame frame;
  frame.origin = {0.5 * (low.x() + high.x()), 0.5 * (low.y() + high.y()), low.z()};
  frame.size = std::max((high - low).head<2>().norm(), 1e-3);
  frame.relief = high.z() - low.z();
  frame.base = -0.03 * frame.size;
  return frame;
}

GroundLight ground_light(const Ground& ground) {
  GroundLight light;
  for (const Eigen::Vector3f& normal : ground_normals(ground)) {
    light.push_back(static_cast<float>(light_on(normal.cast<double>().normalized())));
  }
  return light;
}

std::vector<Tile<Triangles>> ground_tiles(const Ground& ground, const SceneFrame& frame, const GroundLight& light) {
  std::vector<Tile<Triangles>> tiles;
  add_tiles(ground, frame, light, root_of(ground.tree), tiles);
  return tiles;
}

TileCut cut_of(const SceneBox& box, const SceneFrame& frame, const Slice& slice) {
  const PlanLine line = line_in(frame, slice);
  const Eigen::Vector2f center = box.center(), sizes = box.sizes();
  const double middle = line.at(center.x(), center.y());
  const double spread = 0.5 * (std::abs(line.a) * sizes.x() + std::abs(line.b) * sizes.y());
  return middle >= spread ? TileCut::whole : middle <= -spread ? TileCut::gone : TileCut::crossed;
}

bool is_kept(const DrawPoint& p, const SceneFrame& frame, const Slice& slice) {
  const PlanLine line = line_in(frame, slice);
  return line.at(p[0], p[1]) >= 0;
}

Triangles cut_triangles(const Triangles& triangles, const SceneFrame& frame, const Slice& slice) {
  const PlanLine line = line_in(frame, slice);
  Triangles kept;
  std::vector<double> side;         // of each point
  std::vector<std::int32_t> place;  // of each point among those kept
  side.reserve(triangles.points.size()), place.reserve(triangles.points.size());
  for (std::size_t i = 0; i < triangles.points.size(); ++i) {
    const DrawPoint& p = triangles.points[i];
    side.push_back(line.at(p[0], p[1]));
    place.push_back(index_of_next(kept.points));
    if (side[i] > 0) kept.points.push_back(p), kept.colours.push_back(triangles.colours[i]);
  }
  const auto add_between = [&](std::size_t in, std::size_t out) {
    const double part = side[in] / (side[in] - side[out]);
    kept.points.push_back(between(triangles.points[in], triangles.points[out], part));
    kept.colours.push_back(between(triangles.colours[in], triangles.colours[out], part));
    return index_of_next(kept.points) - 1;
  };
  for (const auto& t : triangles.corners) {
    boost::container::static_vector<std::int32_t, 4> corners;
    for (std::size_t i = 0; i < 3; ++i) {
      const auto p = static_cast<std::size_t>(t[i]), q = static_cast<std::size_t>(t[(i + 1) % 3]);
      const bool in_p = side[p] > 0, in_q = side[q] > 0;
      if (in_p) corners.push_back(place[p]);
      if (in_p != in_q) corners.push_back(in_p ? add_between(p, q) : add_between(q, p));
    }
    for (std::size_t i = 2; i < corners.size(); ++i) kept.corners.push_back({corners[0], corners[i - 1], corners[i]});
  }
  return kept;
}

Lines cut_lines(const Lines& lines, const SceneFrame& frame, const Slice& slice) {
  const PlanLine line = line_in(frame, slice);
  const auto side = [&](const DrawPoint& p) { return line.at(p[0], p[1]); };
  Lines kept = lines;
  kept.ends.clear();
  for (const auto& [p, q] : lines.ends) {
    const DrawPoint a = lines.points[static_cast<std::size_t>(p)], b = lines.points[static_cast<std::size_t>(q)];
    const double at_a = side(a), at_b = side(b);
    if (at_a < 0 && at_b < 0) continue;
    std::array<std::int32_t, 2> ends{p, q};
    if ((at_a < 0) != (at_b < 0)) {
      kept.points.push_back(between(a, b, zero_share(at_a, at_b)));
      ends[at_a < 0 ? 0 : 1] = index_of_next(kept.points) - 1;
    }
    kept.ends.push_back(ends);
  }
  return kept;
}

Triangles ground_skirt(const Ground& ground, const SceneFrame& frame) {
  Triangles skirt;
  const double foot = frame.origin.z() + frame.base;
  for (const Polygon2& ring : outline(ground)) {
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const Point2 &p = ring[i], &q = ring[(i + 1) % ring.size()];
      const Point2 out(q.y() - p.y(), p.x() - q.x());
      if (!(out.norm() > 0)) continue;
      const Eigen::Vector3d normal = Eigen::Vector3d(out.x(), out.y(), 0).normalized();
      add_quad({p.x(), p.y(), foot}, {q.x(), q.y(), foot}, {q.x(), q.y(), ground_or(ground, q, foot)},
               {p.x(), p.y(), ground_or(ground, p, foot)}, colour_of(earth, 0.75 + 0.25 * light_on(normal)), frame,
               skirt);
    }
  }
  return skirt;
}

ContourLines contour_lines(const Ground& ground, const SceneFrame& frame) {
  ContourLines result;
  if (!(frame.relief > 0)) return result;
  Lines fine = fine_contours(), heavy = heavy_contours();
  result.interval = interval_for(frame.relief);
  for (const Contour& contour : contours(ground, result.interval)) {
    const bool is_heavy = is_heavy_contour(contour.elevation, result.interval);
    for (const Polyline2& line : contour.lines) {
      std::vector<Point3> path;
      for (const Point2& p : line) path.emplace_back(p.x(), p.y(), contour.elevation);
      add_path(path, frame, hover(frame), is_heavy ? heavy : fine);
      if (!is_heavy || length_of(line) < frame.size / 8) continue;
      const Point2 at = place_along(line, 0.18);
      result.labels.push_back({frame.at({at.x(), at.y(), contour.elevation + 2 * hover(frame)}),
                               contour_text(contour.elevation, result.interval), LabelKind::contour});
    }
  }
  result.fine = line_tiles(fine), result.heavy = line_tiles(heavy);
  return result;
}

/// Where the survey ends and assumed ground begins.
void add_survey_end(const Ground& ground, const SceneFrame& frame, Features& features) {
  if (ground.assumed.empty()) return;
  const auto height = [&](const Point2& p) { return elevation_at(ground, p); };
  Lines end = lines_of(io::assumed_ground_colour(), 4);
  for (const Polygon2& loop : surveyed_outline(ground)) add_draped(closed(loop), frame.size / 80, frame, height, end);
  if (!end.points.empty()) {
    features.labels.push_back(
        {end.points.front(), "end of survey; beyond it the ground is assumed", LabelKind::feature});
  }
  features.lines.push_back(std::move(end));
}

Features site_features(const io::SiteResults& site, const SceneFrame& frame) {
  Features features;
  const Ground& ground = site.ground();
  Lines breaklines = lines_of(breakline_ink, 2), marks = lines_of(ink, 4), posts = lines_of(feature_ink, 5);
  Lines kept_clear = lines_of(feature_ink, 3.5F);
  for (const Breakline& line : site.survey.breaklines) {
    std::vector<Point3> path;
    for (const std::size_t i : line) {
      const Shot& shot = site.survey.ground_shots[i];
      const Point2 p = ground.to_local({shot.easting, shot.northing});
      path.emplace_back(p.x(), p.y(), shot.elevation);
    }
    add_path(path, frame, hover(frame), breaklines);
  }
  const double tall = post_height(frame);
  const SiteDesign& design = site.job.site;
  if (design.lot.benchmark) {
    add_post(ground, frame, design.lot.benchmark->at, design.lot.benchmark->name, tall, marks, features.labels,
             LabelKind::feature);
  }
  for (const Mark& tie : design.lot.ties) {
    add_post(ground, frame, tie.at, tie.name, 0.6 * tall, marks, features.labels, LabelKind::feature);
  }
  for (const Boring& boring : design.lot.requirements.borings) {
    add_post(ground, frame, boring.at, boring.name, 0.6 * tall, marks, features.labels, LabelKind::feature);
  }
  add_keep_clear(site, frame, kept_clear, posts, features.labels);
  add_survey_end(ground, frame, features);
  features.lines.insert(features.lines.end(),
                        {std::move(breaklines), std::move(marks), std::move(posts), std::move(kept_clear)});
  return features;
}

Dots shot_dots(const io::SiteResults& site, const SceneFrame& frame) {
  Dots dots;
  dots.colour = {0.36, 0.38, 0.28}, dots.size = 3;
  for (const Point3& p : site.ground().points) dots.points.push_back(frame.at(p + Point3(0, 0, hover(frame))));
  return dots;
}

SitePicture site_picture(const io::SiteResults& site, const io::Progress& progress) {
  const auto say = [&](const char* stage) {
    if (progress) progress(stage);
  };
  SitePicture picture;
  say("drawing the ground");
  picture.frame = scene_frame(site.ground());
  picture.light = std::make_shared<const GroundLight>(ground_light(site.ground()));
  picture.ground = ground_tiles(site.ground(), picture.frame, *picture.light);
  picture.skirt = ground_skirt(site.ground(), picture.frame);
  say("drawing contours");
  picture.contours = contour_lines(site.ground(), picture.frame);
  say("drawing what stands on the lot");
  picture.features = site_features(site, picture.frame);
  picture.shots = shot_dots(site, picture.frame);
  return picture;
}

void draw_mound(const EditSession& session, const SceneFrame& frame, const MoundOptions& options, MoundWork& work,
                MoundPicture& picture) {
  const std::size_t count = session.state().design.layers.size();
  picture.layers.resize(count), picture.cut_faces.resize(count + 1), picture.cut_edges.resize(count + 1);
  picture.leaders.resize(count);
  for (Triangles& triangles : picture.layers) clear(triangles);
  for (Triangles& triangles : picture.cut_faces) clear(triangles);
  for (Lines& edges : picture.cut_edges) clear(edges, ink, 1.6F);
  for (Lines& leader : picture.leaders) clear(leader, ink, 1.2F);
  clear(picture.toe, toe_ink, 3.5F);
  clear(picture.bed, io::darker(ink, 0), 2);
  clear(picture.berms, berm_ink, 2);
  picture.labels.clear();
  const std::optional<MoundPlace> place = session.place();
  if (!place) return;
  add_outlines(session, *place, frame, picture);
  if (!session.mound()) return;
  const PlacedMound& mound = *session.mound();

  DrawOptions drawn;
  drawn.undersides = options.lift > 0;  // else nobody sees them
  drawn.outside_only = options.outside_only;
  if (options.ground_hides) drawn.coarse = 0.5 / feet_per(session.unit());
  if (options.slice) drawn.keep = options.slice->keep();
  draw_surfaces(mound, drawn, work.draw, work.surfaces);
  const std::vector<io::Colour> colours = screen_colours(mound.design());
  for (std::size_t k = 0; k < count; ++k) {
    const LayerSurfaces& faces = work.surfaces.layers[k];
    const double up = options.lift * static_cast<double>(k + 1);
    add_faces(faces.top, colours[k], up, frame, picture.layers[k]);
    add_faces(faces.walls, colours[k], up, frame, picture.layers[k]);
    add_faces(faces.underside, colours[k], up, frame, picture.layers[k]);
  }
  if (options.lift > 0) add_layer_names(session, frame, options.lift, picture);
  if (options.slice) add_cut_face(session, frame, options, picture);
  const BermLengths& berm = mound.buildup.berm;
  add_berm(session, frame, Face::upslope, "upslope", berm.upslope, picture);
  add_berm(session, frame, Face::downslope, "downslope", berm.downslope, picture);
  add_berm(session, frame, Face::left, "left end", berm.left, picture);
  add_berm(session, frame, Face::right, "right end", berm.right, picture);
}

bool is_hidden(const EditSession& session, const SceneFrame& frame, const Eye& eye, const DrawPoint& place) {
  const auto stretch = static_cast<float>(eye.stretched);
  const Eigen::Vector3f from(place[0], place[1], place[2] * stretch), way = eye.at - from;
  double top = frame.relief;
  if (session.mound()) {
    const PlacedMound& mound = *session.mound();
    for (const Layer& layer : mound.design().layers) {
      top = std::max(top, mound.buildup.bottom_elevation + layer.top + layer.crown - frame.origin.z());
    }
  }
  // Above everything there is nothing to hide behind.
  const double rise = way.z(), left = top * eye.stretched - from.z();
  const double end = rise > left ? std::max(0.0, left / rise) : 1.0;
  constexpr int steps = 48;
  for (int i = 1; i <= steps; ++i) {
    const double part = end * i * i / (steps * steps);  // closer together near the place
    const Eigen::Vector3f p = from + way * static_cast<float>(part);
    if (eye.slice && !is_kept({p.x(), p.y(), 0}, frame, *eye.slice)) continue;
    const Point2 plan = Point2(p.x(), p.y()) + Point2(frame.origin.x(), frame.origin.y());
    const std::optional<double> surface =
        eye.sees_mound ? finished(session, plan) : elevation_at(session.ground(), plan);
    if (surface && (*surface - frame.origin.z()) * eye.stretched > p.z() + 2 * hover(frame)) return true;
  }
  return false;
}

double picture_size(const EditSession& session, const SceneFrame& frame) {
  if (!session.mound() || session.mound()->buildup.toe.outer.empty()) return 0.3 * frame.size;
  const Polygon2 box = box_round(session.mound()->buildup.toe.outer);
  return (box[2] - box[0]).norm();
}

DugPicture dug_picture(const DugGround& dug, const Ground& ground, const GroundLight& light, const SceneFrame& frame,
                       double interval) {
  DugPicture picture;
  picture.opened = dug.opened;
  for (const std::uint32_t t : dug.opened) {
    for (const std::uint32_t v : ground.tree.triangles[t]) picture.box.extend(in_plan(frame.at(ground.points[v])));
  }
  add_along_ground(dug.undug, io::ground_style().fill, ground, light, frame, picture.undug);
  add_along_ground(dug.strip, strip_colour(), ground, light, frame, picture.strip);
  add_faces(dug.strip_sides, strip_colour(), 0, frame, picture.strip);
  add_faces(dug.undercut, undercut_colour(), 0, frame, picture.undercut);
  picture.contours = fine_contours(), picture.heavy_contours = heavy_contours();
  if (!(interval > 0)) return picture;
  for (const auto* faces : {&dug.undug, &dug.strip, &dug.undercut}) {
    add_face_contours(*faces, interval, frame, picture.contours, picture.heavy_contours);
  }
  return picture;
}

bool is_opened(const DrawPoint& at, const Ground& ground, const SceneFrame& frame,
               const std::vector<std::uint32_t>& opened) {
  const std::optional<std::uint32_t> triangle =
      triangle_at(ground, {at[0] + frame.origin.x(), at[1] + frame.origin.y()});
  return triangle && std::binary_search(opened.begin(), opened.end(), *triangle);
}

Lines opened_lines(const Lines& lines, const Ground& ground, const SceneFrame& frame,
                   const std::vector<std::uint32_t>& opened) {
  Lines left{lines.points, {}, lines.colour, lines.width};
  for (const auto& [p, q] : lines.ends) {
    const DrawPoint &a = lines.points[static_cast<std::size_t>(p)], &b = lines.points[static_cast<std::size_t>(q)];
    if (!is_opened(between(a, b, 0.5), ground, frame, opened)) left.ends.push_back({p, q});
  }
  return left;
}

Triangles opened_tile(const Tile<Triangles>& tile, const std::vector<std::uint32_t>& opened) {
  Triangles left{tile.drawn.points, tile.drawn.colours, {}};
  for (std::size_t i = 0; i < tile.drawn.corners.size(); ++i) {
    const auto t = static_cast<std::uint32_t>(tile.first + i);
    if (!std::binary_search(opened.begin(), opened.end(), t)) left.corners.push_back(tile.drawn.corners[i]);
  }
  return left;
}

io::Colour strip_colour() { return {0.79, 0.63, 0.52}; }

io::Colour undercut_colour() { return {0.66, 0.36, 0.27}; }

StakePicture stake_picture(const Ground& ground, const StakeOut& stakes, const SceneFrame& frame, LengthUnit unit) {
  StakePicture picture;
  picture.hubs = lines_of(hub_ink, 4), picture.slopes = lines_of(slope_ink, 3), picture.feed = lines_of(feed_ink, 4);
  const double tall = 3.0 / feet_per(unit);  // a lath stands some three feet out of the ground
  for (const Stake& stake : stakes.stakes) {
    const Point2 at(stake.easting, stake.northing);
    Lines& lines = stake.kind == StakeKind::hub     ? picture.hubs
                   : stake.kind == StakeKind::slope ? picture.slopes
                                                    : picture.feed;
    std::string text = std::to_string(stake.number);
    if (!stake.cut_fill.empty()) text += "  " + stake.cut_fill;
    add_post(ground, frame, at, text, tall, lines, picture.labels, LabelKind::stake);
  }
  return picture;
}

}  // namespace moundwright::viewer

#include "viewer/mound_picture.h"

#include <cairo.h>
#include <fmt/format.h>
#include <tbb/blocked_range.h>
#include <tbb/parallel_for.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "io/drawing.h"
#include "io/pictures_png.h"
#include "io/plan_drawing.h"
#include "io/section_drawing.h"
#include "viewer/cutaway.h"

namespace moundwright {
namespace {

using Vec = Eigen::Vector3f;

constexpr double paper_width = 720, paper_height = 504;  // points: 10 by 7 in
constexpr double resolution = 150;                       // dots an inch
constexpr double pixels_per_point = resolution / 72;
constexpr int picture_columns = static_cast<int>(paper_width * pixels_per_point);
constexpr int picture_rows = static_cast<int>(paper_height * pixels_per_point);
constexpr float off_surface = 0.02F;  // job units from which shadow rays start, so that a surface does not shade itself

/// Colours add up in here; sRGB, as the drawings have them.
using Light = Eigen::Array3f;

Light light_of(const Colour& c) {
  return {static_cast<float>(c.red), static_cast<float>(c.green), static_cast<float>(c.blue)};
}

// ---- where the eye is --------------------------------------------------------------------------------------------

struct View {
  Vec right, up, toward;          // unit vectors: right and up in the picture, and toward the eye
  double points_per_unit = 1;     // of paper
  Point2 shift = Point2::Zero();  // paper

  Point2 paper(const Vec& p) const {
    return shift + Point2(static_cast<double>(p.dot(right)), -static_cast<double>(p.dot(up))) * points_per_unit;
  }
  /// A place in front of everything that is seen at this point of the paper.
  Vec start(const Point2& paper_point) const {
    const Point2 off = (paper_point - shift) / points_per_unit;
    return right * static_cast<float>(off.x()) - up * static_cast<float>(off.y()) + toward * 3000.0F;
  }
};

/// From downslope, turned a little to the end whose quarter is taken out, and looking down.
View view_of(const Cutaway& model, const PaperRect& frame) {
  constexpr double turn = 33 * M_PI / 180, down = 30 * M_PI / 180;
  View view;
  view.toward = Vec(static_cast<float>(-std::sin(turn) * std::cos(down)),
                    static_cast<float>(std::cos(turn) * std::cos(down)), static_cast<float>(std::sin(down)));
  view.right = Vec::UnitZ().cross(view.toward).normalized();
  view.up = view.toward.cross(view.right);
  Eigen::AlignedBox<double, 2> box;
  for (const RayMesh& mesh : model.meshes) {
    for (const Vec& p : mesh.points) box.extend(view.paper(p));
  }
  view.points_per_unit = std::min(frame.width / box.sizes().x(), frame.height / box.sizes().y());
  view.shift = frame.centre() - box.center() * view.points_per_unit;
  return view;
}

// ---- surfaces ----------------------------------------------------------------------------------------------------

/// A material's colour and hatch, drawn once, to be laid on cut faces.
class Tile {
 public:
  explicit Tile(const MaterialStyle& style) : pixels_(std::size_t{side} * side) {
    const std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)> surface(
        cairo_image_surface_create_for_data(reinterpret_cast<unsigned char*>(pixels_.data()), CAIRO_FORMAT_RGB24, side,
                                            side, 4 * side),
        cairo_surface_destroy);
    const std::unique_ptr<cairo_t, decltype(&cairo_destroy)> cairo(cairo_create(surface.get()), cairo_destroy);
    cairo_scale(cairo.get(), per_point, per_point);
    cairo_rectangle(cairo.get(), 0, 0, side / per_point, side / per_point);
    fill_material(cairo.get(), style);
    cairo_surface_flush(surface.get());
  }
  /// Colour at a place on the face, in points.
  Light at(double x, double y) const {
    const auto wrapped = [](double v) {
      const int i = static_cast<int>(std::floor(v * per_point)) % side;
      return static_cast<std::size_t>(i < 0 ? i + side : i);
    };
    const std::uint32_t pixel = pixels_[wrapped(y) * side + wrapped(x)];
    return Light(static_cast<float>((pixel >> 16) & 0xff), static_cast<float>((pixel >> 8) & 0xff),
                 static_cast<float>(pixel & 0xff)) /
           255.0F;
  }

 private:
  static constexpr int side = 512;
  static constexpr double per_point = 4;
  std::vector<std::uint32_t> pixels_;
};

/// Everything a pixel needs to know.
struct Stage {
  const SiteResults& results;
  const Cutaway& model;
  const RayScene& scene;
  View view;
  std::vector<MaterialStyle> styles;
  std::vector<Tile> tiles;  // of each layer, then of the earth
  double interval = 1;      // of contours
  Vec sun;
};

/// How dark a contour makes this place: 0 to 1. Lines are as wide on paper wherever they run.
float contour_at(const Stage& stage, const RayHit& hit) {
  const double z = stage.results.buildup.bottom_elevation + static_cast<double>(hit.at.z()) / stage.model.heights;
  const double n = std::round(z / stage.interval);
  // How much the elevation changes from a pixel to the next, along the surface.
  const View& view = stage.view;
  const float facing = std::max(hit.normal.dot(view.toward), 0.02F);
  const auto change = [&](const Vec& step) { return step.z() - view.toward.z() * hit.normal.dot(step) / facing; };
  const double pixel = 1 / (view.points_per_unit * pixels_per_point * stage.model.heights);
  const double gradient = pixel * std::hypot(change(view.right), change(view.up));
  if (gradient < 1e-9) return 0;
  const double away = std::abs(z - n * stage.interval) / gradient;
  const bool index = std::abs(std::remainder(n, 5.0)) < 0.5;
  return static_cast<float>(std::clamp((index ? 1.3 : 0.8) - away + 0.5, 0.0, 1.0) * (index ? 0.6 : 0.42));
}

/// The hatch of a face over one pixel, taken at several places on its plane.
Light face_colour(const Stage& stage, const RayHit& hit, const Tile& tile) {
  constexpr int across = 3;
  const View& view = stage.view;
  const float facing = std::max(hit.normal.dot(view.toward), 0.02F);
  const auto on_plane = [&](const Vec& step) -> Vec { return step - view.toward * (hit.normal.dot(step) / facing); };
  const auto pixel = static_cast<float>(1 / (view.points_per_unit * pixels_per_point));
  const Vec right = on_plane(view.right) * (pixel / across), up = on_plane(view.up) * (pixel / across);
  const Vec level = Vec::UnitZ().cross(hit.normal).normalized();
  const double scale = view.points_per_unit;
  Light sum = Light::Zero();
  for (int i = 0; i < across; ++i) {
    for (int j = 0; j < across; ++j) {
      const Vec at = hit.at + right * static_cast<float>(i - 1) + up * static_cast<float>(j - 1);
      sum += tile.at(static_cast<double>(at.dot(level)) * scale, -static_cast<double>(at.z()) * scale);
    }
  }
  return sum / static_cast<float>(across * across);
}

Light surface_colour(const Stage& stage, const RayHit& hit) {
  const Cutaway::Piece& piece = stage.model.pieces[hit.mesh];
  switch (piece.part) {
    case Part::layer_face:
      return face_colour(stage, hit, stage.tiles[piece.layer]);
    case Part::block_side:
      return face_colour(stage, hit, stage.tiles.back());
    case Part::prepared:
      return light_of(darker(cut_style().fill, 0.12));
    case Part::ground:
    case Part::layer:
      break;
  }
  const bool ground = piece.part == Part::ground;
  const Light plain = light_of(ground ? ground_style().fill : stage.styles[piece.layer].fill);
  const bool outside = ground || piece.layer + 1 == stage.styles.size();
  return outside && hit.normal.z() > 0.1F ? Light(plain * (1 - contour_at(stage, hit))) : plain;
}

// ---- light -------------------------------------------------------------------------------------------------------

/// Directions spread evenly over the half of the sky round z, more of them near its middle, as light falls (cosine).
std::vector<Vec> sky_directions(int count) {
  std::vector<Vec> directions;
  for (int i = 0; i < count; ++i) {
    const double share = (i + 0.5) / count, angle = 2.399963229728653 * i;  // the golden angle
    const double radius = std::sqrt(share);
    directions.emplace_back(static_cast<float>(radius * std::cos(angle)), static_cast<float>(radius * std::sin(angle)),
                            static_cast<float>(std::sqrt(1 - share)));
  }
  return directions;
}

/// Share of the sky that is open over each place.
std::vector<float> sky_over(const RayScene& scene, const std::vector<RayHit>& hits,
                            const std::vector<Vec>& directions) {
  std::vector<float> open(hits.size(), 0.0F);
  std::vector<Ray> rays;
  std::vector<std::size_t> places;
  for (const Vec& d : directions) {
    for (std::size_t i = 0; i < hits.size(); ++i) {
      const Vec& normal = hits[i].normal;
      const Vec side = normal.unitOrthogonal(), other = normal.cross(side);
      const Vec out = side * d.x() + other * d.y() + normal * d.z();
      if (out.z() <= 0) continue;
      rays.push_back({hits[i].at + normal * off_surface, out});
      places.push_back(i);
    }
  }
  const std::vector<char> is_open = scene.are_open(rays);
  const float share = 1 / static_cast<float>(directions.size());
  for (std::size_t k = 0; k < rays.size(); ++k) open[places[k]] += is_open[k] != 0 ? share : 0.0F;
  return open;
}

/// How squarely the sun falls on each place; 0 in the shade.
std::vector<float> sun_on(const Stage& stage, const std::vector<RayHit>& hits) {
  std::vector<Ray> rays;
  for (const RayHit& hit : hits) rays.push_back({hit.at + hit.normal * off_surface, stage.sun});
  const std::vector<char> is_open = stage.scene.are_open(rays);
  std::vector<float> sun(hits.size());
  for (std::size_t i = 0; i < hits.size(); ++i) {
    sun[i] = is_open[i] != 0 ? std::max(hits[i].normal.dot(stage.sun), 0.0F) : 0.0F;
  }
  return sun;
}

Light lit(const Stage& stage, const RayHit& hit, float sky, float sun) {
  const float strength = 0.36F + 0.38F * sky + 0.44F * sun;
  return (surface_colour(stage, hit) * strength).min(1.0F);
}

// ---- the picture, pixel by pixel -----------------------------------------------------------------------------------

struct Pixel {
  Light colour = Light::Ones();
  Vec normal = Vec::Zero();
  std::uint32_t mesh = paper;
  float sky = 1, sun = 0;
  static constexpr std::uint32_t paper = ~0U;
};

template <class T>
struct Raster {
  int width, height;
  std::vector<T> cells;
  Raster(int w, int h) : width(w), height(h), cells(static_cast<std::size_t>(w) * static_cast<std::size_t>(h)) {}
  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
  }
  T& at(int x, int y) { return cells[index(x, y)]; }
  const T& at(int x, int y) const { return cells[index(x, y)]; }
};

template <class Row>
void for_rows(int height, const Row& row) {
  tbb::parallel_for(tbb::blocked_range<int>(0, height, 8), [&](const tbb::blocked_range<int>& rows) {
    for (int y = rows.begin(); y < rows.end(); ++y) row(y);
  });
}

/// What is seen at places of the picture, in pixels.
struct Seen {
  std::vector<std::size_t> places;  // those where something is seen, by their number
  std::vector<RayHit> hits;         // there
};
Seen seen_at(const Stage& stage, const std::vector<Point2>& pixels) {
  std::vector<Ray> rays;
  for (const Point2& p : pixels) rays.push_back({stage.view.start(p / pixels_per_point), -stage.view.toward});
  const std::vector<std::optional<RayHit>> found = stage.scene.first_hits(rays);
  Seen seen;
  for (std::size_t i = 0; i < found.size(); ++i) {
    if (!found[i]) continue;
    seen.places.push_back(i);
    seen.hits.push_back(*found[i]);
  }
  return seen;
}

/// Open sky changes slowly, so it is found at every few pixels and taken from there between them, wherever those lie on
/// the same surface.
class Sky {
 public:
  explicit Sky(const Stage& stage) : stage_(stage), knots_(columns + 1, rows + 1), directions_(sky_directions(16)) {
    for_rows(knots_.height, [&](int y) {
      std::vector<Point2> pixels;
      for (int x = 0; x < knots_.width; ++x) pixels.emplace_back(x * step, y * step);
      const Seen seen = seen_at(stage, pixels);
      const std::vector<float> open = sky_over(stage.scene, seen.hits, directions_);
      for (std::size_t i = 0; i < open.size(); ++i) {
        const RayHit& hit = seen.hits[i];
        knots_.at(static_cast<int>(seen.places[i]), y) = {hit.at, hit.normal, open[i], true};
      }
    });
  }

  float over(const RayHit& hit, int x, int y) const {
    const int left = x / step, top = y / step;
    const double fx = (x + 0.5) / step - left, fy = (y + 0.5) / step - top;
    double sum = 0, weights = 0;
    for (const auto& [i, j] : {std::pair(0, 0), {1, 0}, {0, 1}, {1, 1}}) {
      const Knot& knot = knots_.at(left + i, top + j);
      if (!knot.hit || knot.normal.dot(hit.normal) < 0.9F) continue;
      const float off = std::abs(hit.normal.dot(knot.at - hit.at));
      if (off * static_cast<float>(stage_.view.points_per_unit) > 1.5F) continue;
      const double weight = (i == 0 ? 1 - fx : fx) * (j == 0 ? 1 - fy : fy);
      sum += weight * static_cast<double>(knot.open), weights += weight;
    }
    return weights > 0.05 ? static_cast<float>(sum / weights) : sky_over(stage_.scene, {hit}, directions_).front();
  }

 private:
  struct Knot {
    Vec at = Vec::Zero(), normal = Vec::Zero();
    float open = 1;
    bool hit = false;
  };
  static constexpr int step = 8, columns = picture_columns / step + 1, rows = picture_rows / step + 1;
  const Stage& stage_;
  Raster<Knot> knots_;
  std::vector<Vec> directions_;
};

/// True where a pixel lies on an edge and one ray does not do.
bool is_rough(const Raster<Pixel>& image, int x, int y) {
  const Pixel& here = image.at(x, y);
  for (const auto& [dx, dy] : {std::pair(1, 0), {-1, 0}, {0, 1}, {0, -1}}) {
    const int nx = x + dx, ny = y + dy;
    if (nx < 0 || ny < 0 || nx >= image.width || ny >= image.height) continue;
    const Pixel& there = image.at(nx, ny);
    if (there.mesh != here.mesh) return true;
    if (here.mesh == Pixel::paper) continue;
    if (there.normal.dot(here.normal) < 0.995F || std::abs(there.sun - here.sun) > 0.1F) return true;
  }
  return false;
}

/// Pixels of a row, each by several rays.
std::vector<Light> finer(const Stage& stage, const Raster<Pixel>& image, const std::vector<int>& columns, int y) {
  constexpr int across = 3;
  constexpr std::size_t rays = std::size_t{across} * across;
  std::vector<Point2> places;
  for (const int x : columns) {
    for (int i = 0; i < across; ++i) {
      for (int j = 0; j < across; ++j) places.emplace_back(x + (i + 0.5) / across, y + (j + 0.5) / across);
    }
  }
  const Seen seen = seen_at(stage, places);
  const std::vector<float> sun = sun_on(stage, seen.hits);
  std::vector<Light> found(places.size(), Light::Ones());
  for (std::size_t k = 0; k < sun.size(); ++k) {
    const std::size_t place = seen.places[k];
    found[place] = lit(stage, seen.hits[k], image.at(columns[place / rays], y).sky, sun[k]);
  }
  std::vector<Light> means(columns.size(), Light::Zero());
  for (std::size_t k = 0; k < places.size(); ++k) means[k / rays] += found[k] / static_cast<float>(rays);
  return means;
}

/// 0xRRGGBB.
std::uint32_t packed(const Light& light) {
  const auto byte = [&](int k) {
    return static_cast<std::uint32_t>(std::lround(255 * std::clamp(light[k], 0.0F, 1.0F)));
  };
  return byte(0) << 16 | byte(1) << 8 | byte(2);
}

/// 0xRRGGBB, row by row.
std::vector<std::uint32_t> cast(const Stage& stage) {
  Raster<Pixel> image(picture_columns, picture_rows);
  const Sky sky(stage);
  for_rows(image.height, [&](int y) {
    std::vector<Point2> pixels;
    for (int x = 0; x < image.width; ++x) pixels.emplace_back(x + 0.5, y + 0.5);
    const Seen seen = seen_at(stage, pixels);
    const std::vector<float> sun = sun_on(stage, seen.hits);
    for (std::size_t i = 0; i < sun.size(); ++i) {
      const RayHit& hit = seen.hits[i];
      const int x = static_cast<int>(seen.places[i]);
      const float open = sky.over(hit, x, y);
      image.at(x, y) = {lit(stage, hit, open, sun[i]), hit.normal, hit.mesh, open, sun[i]};
    }
  });
  std::vector<std::uint32_t> bytes(image.cells.size());
  for_rows(image.height, [&](int y) {
    std::vector<int> rough;
    for (int x = 0; x < image.width; ++x) {
      bytes[image.index(x, y)] = packed(image.at(x, y).colour);
      if (is_rough(image, x, y)) rough.push_back(x);
    }
    const std::vector<Light> means = finer(stage, image, rough, y);
    for (std::size_t i = 0; i < rough.size(); ++i) bytes[image.index(rough[i], y)] = packed(means[i]);
  });
  return bytes;
}

void paint(cairo_t* cairo, std::vector<std::uint32_t> bytes) {
  const std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)> surface(
      cairo_image_surface_create_for_data(reinterpret_cast<unsigned char*>(bytes.data()), CAIRO_FORMAT_RGB24,
                                          picture_columns, picture_rows, 4 * picture_columns),
      cairo_surface_destroy);
  cairo_save(cairo);
  cairo_scale(cairo, 1 / pixels_per_point, 1 / pixels_per_point);
  cairo_set_source_surface(cairo, surface.get(), 0, 0);
  cairo_pattern_set_filter(cairo_get_source(cairo), CAIRO_FILTER_NEAREST);
  cairo_paint(cairo);
  cairo_restore(cairo);
}

// ---- what is drawn over it -----------------------------------------------------------------------------------------

bool is_seen(const Stage& stage, const Vec& at) {
  return stage.scene.is_open(at + stage.view.toward * 0.3F, stage.view.toward);
}

/// A line on the ground, drawn where it is seen.
void draw_on_ground(cairo_t* cairo, const Stage& stage, const Polyline2& reduced, const Pen& pen) {
  const Ground& ground = stage.results.ground;
  Polyline2 run;
  const auto flush = [&] {
    draw_line(cairo, run, pen);
    run.clear();
  };
  for (std::size_t i = 1; i < reduced.size(); ++i) {
    const Point2& a = reduced[i - 1];
    const Point2 step = reduced[i] - a;
    const int parts = std::max(1, static_cast<int>(std::ceil(step.norm() * stage.view.points_per_unit / 3)));
    for (int k = i == 1 ? 0 : 1; k <= parts; ++k) {
      const Point2 p = a + step * k / parts;
      const std::optional<double> z = elevation_at(ground, p);
      if (!z) {
        flush();
        continue;
      }
      const Vec at = to_model(stage.results, stage.model, {p.x(), p.y(), *z});
      if (is_seen(stage, at)) {
        run.push_back(stage.view.paper(at));
      } else {
        flush();
      }
    }
  }
  flush();
}

void draw_toe(cairo_t* cairo, const Stage& stage) {
  for (Polygon2 loop : stage.results.buildup.toe.outer) {
    loop.push_back(loop.front());
    draw_on_ground(cairo, stage, loop, {1.3, {0.05, 0.25, 0.05}, {}});
  }
}

void draw_hubs(cairo_t* cairo, const Stage& stage, LabelField& labels) {
  TextStyle style;
  style.size = 6.5, style.colour = {0.62, 0.06, 0.03}, style.bold = true, style.halo = 1.1;
  std::vector<std::pair<std::string, Point2>> numbers;
  for (const Stake& stake : stage.results.stakes.stakes) {
    if (stake.kind != StakeKind::hub || !stake.ground) continue;
    const Point2 p = stage.results.ground.to_local({stake.easting, stake.northing});
    const Vec foot = to_model(stage.results, stage.model, {p.x(), p.y(), *stake.ground});
    const Point2 at = stage.view.paper(foot);
    const Vec head = foot + Vec(0, 0, static_cast<float>(11 / stage.view.points_per_unit));
    if (!is_seen(stage, head)) continue;
    const Point2 top = stage.view.paper(head);
    draw_line(cairo, {at, top}, {1.2, style.colour, {}});
    add_path(cairo, {top, top + Point2(6, 1.6), top + Point2(0, 3.6)}, true);
    set_colour(cairo, style.colour);
    cairo_fill(cairo);
    labels.keep_off(PaperRect{top.x() - 1, top.y() - 1, 8, at.y() - top.y() + 2});
    numbers.emplace_back(std::to_string(stake.number), top + Point2(2, 0));
  }
  for (const auto& [number, at] : numbers) labels.place(cairo, number, at, 4, style);
}

/// North arrow lying on the level, beside the block.
void draw_compass(cairo_t* cairo, const Stage& stage, const Point2& centre) {
  const View& view = stage.view;
  const Placement& placement = stage.results.plan.placement;
  // North and east in the mound frame, and where a step of one goes on paper.
  const auto flat = [&](const Point2& world) {
    const Point2 uv = placement.to_mound(placement.origin + world);
    const Vec step(static_cast<float>(uv.x()), static_cast<float>(uv.y()), 0);
    return Point2(static_cast<double>(step.dot(view.right)), -static_cast<double>(step.dot(view.up)));
  };
  draw_north_arrow(cairo, centre, 42, flat({0, 1}), flat({1, 0}));
}

/// A bar along the front edge of the block, in the direction of the bed.
void draw_front_scale(cairo_t* cairo, const Stage& stage) {
  const Cutaway& model = stage.model;
  const double length = model.high.x() - model.low.x();
  double step = round_step(length / 12);
  const char* unit = symbol(stage.results.job.site.unit);
  TextStyle style;
  style.size = 7;
  const auto point = [&](double along, double below) {
    const Vec p(static_cast<float>(model.high.x() - along), static_cast<float>(model.high.y()),
                static_cast<float>(model.floor));
    return Point2(stage.view.paper(p) + Point2(0, below));
  };
  for (int i = 0; i < 4; ++i) {
    add_path(cairo, {point(i * step, 5), point((i + 1) * step, 5), point((i + 1) * step, 9), point(i * step, 9)}, true);
    set_colour(cairo, i % 2 == 0 ? ink : paper_white);
    cairo_fill_preserve(cairo);
    take_pen(cairo, {0.6, ink, {}});
    cairo_stroke(cairo);
  }
  for (const int i : {0, 1, 2, 4}) {
    const std::string text = fmt::format("{:g}{}", i * step, i == 4 ? std::string(" ") + unit : "");
    draw_text(cairo, text, point(i * step, 10.5), 0.5, 0, style);
  }
}

void draw_words(cairo_t* cairo, const Stage& stage, const PaperRect& legend) {
  TextStyle title;
  title.size = 14, title.bold = true;
  TextStyle plain;
  plain.size = 7.2, plain.colour = soft_ink;
  draw_text(cairo, stage.results.job.site.title, {26, 20}, 0, 0, title);
  const Takeoff& t = stage.results.takeoff;
  const char* unit = symbol(stage.results.job.site.unit);
  const std::string about = fmt::format(
      "{:.0f} cu yd of fill in place{}; contours every {:g} {}; heights drawn {:g} times", t.fill_cy,
      t.cut_cy > 0 ? fmt::format(", {:.0f} cu yd of cut", t.cut_cy) : "", stage.interval, unit, stage.model.heights);
  draw_text(cairo, about, {26, 39}, 0, 0, plain);
  draw_material_key(cairo, stage.results, legend);
  draw_text(cairo, "Neat yards, in place. Not a land survey, a design or a permit.", {26, paper_height - 14}, 0, 1,
            plain);
}

bool covers(const View& view, const Cutaway& model, const PaperRect& rect) {
  return std::any_of(model.meshes.begin(), model.meshes.end(), [&](const RayMesh& mesh) {
    return std::any_of(mesh.points.begin(), mesh.points.end(),
                       [&](const Vec& p) { return rect.contains(view.paper(p)); });
  });
}

/// As large as it goes without standing under the legend.
View clear_view(const Cutaway& model, const PaperRect& legend) {
  PaperRect frame{26, 62, paper_width - 52, paper_height - 62 - 50};
  View view = view_of(model, frame);
  while (covers(view, model, inset(legend, -8)) && frame.height > 0.4 * paper_height) {
    frame.top += 12, frame.height -= 12;
    view = view_of(model, frame);
  }
  return view;
}

Stage stage_of(const SiteResults& results, const Cutaway& model, const RayScene& scene, const View& view) {
  Stage stage{results, model, scene, view, layer_styles(results.plan.design), {}, 1, Vec::UnitZ()};
  for (const MaterialStyle& style : stage.styles) stage.tiles.emplace_back(style);
  stage.tiles.emplace_back(MaterialStyle{darker({0.72, 0.62, 0.50}, 0.02), Hatch::earth});
  DrawingScale scale;
  scale.unit = results.job.site.unit;
  scale.denominator *= scale.points_per_unit() / stage.view.points_per_unit;
  stage.interval = contour_interval(results, scale);
  const Vec ahead = Vec(stage.view.toward.x(), stage.view.toward.y(), 0).normalized();
  stage.sun = (-0.75F * stage.view.right + 0.45F * ahead + Vec(0, 0, 0.85F)).normalized();
  return stage;
}

}  // namespace

std::string mound_png(const SiteResults& results, const std::vector<Solid>& solids) {
  const Cutaway model = cut_away(results, solids);
  const RayScene scene(model.meshes, [&](std::uint32_t mesh, const Vec& at) { return is_taken_out(model, mesh, at); });
  const PaperRect legend{paper_width - 26 - 176, 20, 176, material_key_height(results)};
  const Stage stage = stage_of(results, model, scene, clear_view(model, legend));
  const std::vector<std::uint32_t> image = cast(stage);
  return png_of_drawing(paper_width, paper_height, resolution, [&](cairo_t* cairo) {
    paint(cairo, image);
    draw_toe(cairo, stage);
    LabelField labels({10, 10, paper_width - 20, paper_height - 20});
    labels.keep_off(inset(legend, -6));
    draw_hubs(cairo, stage, labels);
    draw_compass(cairo, stage, {52, paper_height - 70});
    draw_front_scale(cairo, stage);
    draw_words(cairo, stage, legend);
  });
}

}  // namespace moundwright

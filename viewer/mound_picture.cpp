#include "viewer/mound_picture.h"

#include <cairo.h>
#include <fmt/format.h>
#include <tbb/parallel_for.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <boost/container/static_vector.hpp>
#include <cmath>

#include "geom/bulk_units.h"
#include "geom/printed.h"
#include "io/drawing.h"
#include "io/pictures_png.h"
#include "io/plan_drawing.h"
#include "io/section_drawing.h"
#include "viewer/cutaway.h"
#include "viewer/face_raster.h"
#include "viewer/sun_map.h"

namespace moundwright::viewer {
namespace {

using Vec = Eigen::Vector3f;

constexpr double paper_width = 720, paper_height = 504;  // points: 10 by 7 in
constexpr double resolution = 150;                       // dots an inch
constexpr double pixels_per_point = resolution / 72;
constexpr int picture_columns = static_cast<int>(paper_width * pixels_per_point);
constexpr int picture_rows = static_cast<int>(paper_height * pixels_per_point);
constexpr float before_everything = 3000;  // job units toward the eye: where rays of sight start
constexpr float off_surface = 0.02F;  // job units from which shadow rays start, so that a surface does not shade itself

/// Colours add up in here; sRGB, as the drawings have them.
using Light = Eigen::Array3f;

Light light_of(const io::Colour& c) {
  return {static_cast<float>(c.red), static_cast<float>(c.green), static_cast<float>(c.blue)};
}

// ---- where the eye is --------------------------------------------------------------------------------------------

/// From downslope, turned a little to the end whose quarter is taken out, and looking down.
ParallelView view_of(const Cutaway& model, const io::PaperRect& frame) {
  constexpr double turn = 33 * M_PI / 180, down = 30 * M_PI / 180;
  ParallelView view;
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

/// Where the middles of pixels lie in the model, by their depth.
struct PixelPlaces {
  Vec first, right, down, toward;  // of the first pixel at depth 0, and steps to the next ones

  explicit PixelPlaces(const ParallelView& view)
      : first(in_model(view, 0.5, 0.5)),
        right(in_model(view, 1.5, 0.5) - first),
        down(in_model(view, 0.5, 1.5) - first),
        toward(view.toward) {}
  Vec at(float x, float y, float depth) const { return first + right * x + down * y + toward * depth; }

 private:
  static Vec in_model(const ParallelView& view, double x, double y) {
    return view.place(Point2(x, y) / pixels_per_point, 0);
  }
};

// ---- surfaces ----------------------------------------------------------------------------------------------------

/// A place on a tile, in 1 / 2^24 of its pixels: numbers that run over come in again at the tile's other end.
struct TilePlace {
  std::uint32_t x = 0, y = 0;
  static TilePlace of(const Eigen::Vector2f& pixels) {
    const auto fixed = [](float v) { return static_cast<std::uint32_t>(static_cast<std::int64_t>(v * (1 << 24))); };
    return {fixed(pixels.x()), fixed(pixels.y())};
  }
  TilePlace operator+(const TilePlace& step) const { return {x + step.x, y + step.y}; }
};

/// A material's colour and hatch, drawn once, to be laid on cut faces: as many whole periods as fit.
class Tile {
 public:
  explicit Tile(const io::MaterialStyle& style) : pixels_(std::size_t{side} * side) {
    constexpr double most = 64;  // points
    const Eigen::Array2d period = io::hatch_period(style.hatch).array();
    const Eigen::Array2d size = (most / period).floor() * period;
    per_point = (side / size).cast<float>();
    const std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)> surface(
        cairo_image_surface_create_for_data(reinterpret_cast<unsigned char*>(pixels_.data()), CAIRO_FORMAT_RGB24, side,
                                            side, 4 * side),
        cairo_surface_destroy);
    const std::unique_ptr<cairo_t, decltype(&cairo_destroy)> cairo(cairo_create(surface.get()), cairo_destroy);
    cairo_scale(cairo.get(), side / size.x(), side / size.y());
    cairo_rectangle(cairo.get(), 0, 0, size.x(), size.y());
    io::fill_material(cairo.get(), style);
    cairo_surface_flush(surface.get());
  }

  Light at(const TilePlace& place) const {
    const std::uint32_t pixel = pixel_at(place);
    const auto byte = [&](int shift) { return static_cast<float>(static_cast<int>(pixel >> shift & 0xffU)); };
    return Light(byte(16), byte(8), byte(0)) / 255.0F;
  }
  /// Mean colour of nine places on the face: this one, and round it one step of `right` and of `up` away.
  Light mean(const TilePlace& place, const TilePlace& right, const TilePlace& up) const {
    std::uint32_t red_and_blue = 0, green = 0;
    const TilePlace left{0 - right.x, 0 - right.y}, down{0 - up.x, 0 - up.y};
    for (const TilePlace& across : {left, TilePlace{}, right}) {
      for (const TilePlace& along : {down, TilePlace{}, up}) {
        const std::uint32_t pixel = pixel_at(place + across + along);
        red_and_blue += pixel & 0xff00ffU, green += pixel & 0x00ff00U;  // nine bytes add up in sixteen bits
      }
    }
    const auto part = [](std::uint32_t sum) { return static_cast<float>(static_cast<int>(sum)); };
    return Light(part(red_and_blue >> 16), part(green >> 8), part(red_and_blue & 0xffffU)) / (9 * 255.0F);
  }

  Eigen::Array2f per_point;  // pixels

 private:
  static constexpr unsigned side = 256;  // what is left of 2^32 over 2^24
  std::uint32_t pixel_at(const TilePlace& place) const { return pixels_[(place.y >> 24) * side + (place.x >> 24)]; }
  std::vector<std::uint32_t> pixels_;
};

/// A hatch as it lies on a face.
struct LaidHatch {
  const Tile* tile;
  Eigen::Matrix<float, 2, 3> in_pixels;  // of the tile, from a place
  TilePlace right, up;                   // a third of a pixel of the picture there
};

/// What is the same all over a face.
struct FaceLook {
  static constexpr std::uint32_t plainly = ~0U;
  Light plain = Light::Zero();
  Vec normal = Vec::UnitZ();          // toward the eye
  float sun = 0;                      // how squarely it falls here: 0 where it comes from behind
  float pixels_between_contours = 0;  // 0: none are drawn
  std::uint32_t hatch = plainly;      // number of a laid hatch
  std::uint32_t mesh = 0;
};

/// A place on a face that is seen.
struct Place {
  Vec at;
  const FaceLook* look;
};

/// Everything a pixel needs to know.
struct Stage {
  const io::SiteResults& results;
  const Cutaway& model;
  const RayScene& scene;
  ParallelView view;
  PixelPlaces pixels;
  std::vector<io::MaterialStyle> styles;
  std::vector<Tile> tiles{};                         // of each layer, then of the earth
  double interval = 1;                               // of contours
  double contours_below = 0, contours_per_unit = 1;  // below z = 0 of the model, and to a unit of z there
  Vec sun = Vec::UnitZ();
  std::vector<LaidHatch> hatches{};         // of the faces that have one
  std::vector<FaceLook> looks{};            // of every face of the model's meshes
  std::vector<std::uint32_t> first_look{};  // of each mesh

  Place place(int x, int y, const FaceSpot& spot) const {
    return {pixels.at(static_cast<float>(x), static_cast<float>(y), spot.depth), &looks[spot.face]};
  }
};

/// The step along a face that shows as `step` across the picture.
Vec along_face(const ParallelView& view, const Vec& normal, const Vec& step) {
  return step - view.toward * (normal.dot(step) / std::max(normal.dot(view.toward), 0.02F));
}

/// Contours are as wide on paper wherever they run.
float pixels_between_contours(const Stage& stage, const Vec& normal) {
  const double pixel = 1 / (stage.view.points_per_unit * pixels_per_point);
  const double rise = pixel * std::hypot(along_face(stage.view, normal, stage.view.right).z(),
                                         along_face(stage.view, normal, stage.view.up).z());
  return rise < 1e-9 ? 0.0F : static_cast<float>(1 / (rise * stage.contours_per_unit));
}

LaidHatch laid_on(const Stage& stage, const Tile& tile, const Vec& normal) {
  constexpr float places_across = 3;
  const Eigen::Array2f scale = static_cast<float>(stage.view.points_per_unit) * tile.per_point;
  LaidHatch laid;
  laid.tile = &tile;
  laid.in_pixels << scale.x() * Vec::UnitZ().cross(normal).normalized().transpose(), 0, 0, -scale.y();
  const auto part = static_cast<float>(1 / (stage.view.points_per_unit * pixels_per_point)) / places_across;
  const auto on_tile = [&](const Vec& step) -> TilePlace {
    return TilePlace::of(laid.in_pixels * along_face(stage.view, normal, step) * part);
  };
  laid.right = on_tile(stage.view.right), laid.up = on_tile(stage.view.up);
  return laid;
}

FaceLook look_of(Stage& stage, std::uint32_t mesh, const Vec& normal) {
  const Cutaway::Piece& piece = stage.model.pieces[mesh];
  FaceLook look;
  look.mesh = mesh, look.normal = normal;
  look.sun = std::max(normal.dot(stage.sun), 0.0F);
  switch (piece.part) {
    case Part::layer_face:
    case Part::block_side:
      look.hatch = static_cast<std::uint32_t>(stage.hatches.size());
      stage.hatches.push_back(
          laid_on(stage, piece.part == Part::layer_face ? stage.tiles[piece.layer] : stage.tiles.back(), normal));
      return look;
    case Part::prepared:
      look.plain = light_of(io::darker(io::cut_style().fill, 0.12));
      return look;
    case Part::ground:
    case Part::layer:
      break;
  }
  const bool ground = piece.part == Part::ground;
  look.plain = light_of(ground ? io::ground_style().fill : stage.styles[piece.layer].fill);
  const bool outside = ground || piece.layer + 1 == stage.styles.size();
  if (outside && normal.z() > 0.1F) look.pixels_between_contours = pixels_between_contours(stage, normal);
  return look;
}

void set_looks(Stage& stage) {
  std::size_t faces = 0;
  for (const RayMesh& mesh : stage.model.meshes) faces += mesh.triangles.size();
  stage.looks.reserve(faces);
  for (std::uint32_t m = 0; m < stage.model.meshes.size(); ++m) {
    const RayMesh& mesh = stage.model.meshes[m];
    stage.first_look.push_back(static_cast<std::uint32_t>(stage.looks.size()));
    for (const auto& [a, b, c] : mesh.triangles) {
      const Vec normal = (mesh.points[b] - mesh.points[a]).cross(mesh.points[c] - mesh.points[a]).normalized();
      stage.looks.push_back(look_of(stage, m, normal.dot(stage.view.toward) < 0 ? Vec(-normal) : normal));
    }
  }
}

/// How dark a contour makes a place so many steps up: 0 to 1.
float contour_at(const FaceLook& look, double steps) {
  const long n = static_cast<long>(steps < 0 ? steps - 0.5 : steps + 0.5);
  const float away = static_cast<float>(std::abs(steps - static_cast<double>(n))) * look.pixels_between_contours;
  const bool index = n % 5 == 0;
  return std::clamp((index ? 1.3F : 0.8F) - away + 0.5F, 0.0F, 1.0F) * (index ? 0.6F : 0.42F);
}

double contour_steps(const Stage& stage, const Vec& at) {
  return stage.contours_below + static_cast<double>(at.z()) * stage.contours_per_unit;
}

/// Whether a contour is seen anywhere between two places on a face.
bool meets_contour(const FaceLook& look, double steps, double other) {
  if (look.pixels_between_contours <= 0) return false;
  const double room = 1.8 / static_cast<double>(look.pixels_between_contours);
  return std::ceil(std::min(steps, other) - room) <= std::max(steps, other) + room;
}

Light colour_at(const Stage& stage, const Place& place) {
  const FaceLook& look = *place.look;
  if (look.hatch != FaceLook::plainly) {
    const LaidHatch& hatch = stage.hatches[look.hatch];
    return hatch.tile->at(TilePlace::of(hatch.in_pixels * place.at));
  }
  if (look.pixels_between_contours > 0) return look.plain * (1 - contour_at(look, contour_steps(stage, place.at)));
  return look.plain;
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
std::vector<float> sky_over(const RayScene& scene, const std::vector<Place>& places,
                            const std::vector<Vec>& directions) {
  std::vector<float> open(places.size(), 0.0F);
  std::vector<Ray> rays;
  std::vector<std::size_t> of;
  for (const Vec& d : directions) {
    for (std::size_t i = 0; i < places.size(); ++i) {
      const Vec& normal = places[i].look->normal;
      const Vec side = normal.unitOrthogonal(), other = normal.cross(side);
      const Vec out = side * d.x() + other * d.y() + normal * d.z();
      if (out.z() <= 0) continue;
      rays.push_back({places[i].at + normal * off_surface, out});
      of.push_back(i);
    }
  }
  const std::vector<char> is_open = scene.are_open(rays);
  const float share = 1 / static_cast<float>(directions.size());
  for (std::size_t k = 0; k < rays.size(); ++k) open[of[k]] += is_open[k] != 0 ? share : 0.0F;
  return open;
}

/// Whether the sun reaches each place, which faces it: by rays.
std::vector<Sun> sun_on(const Stage& stage, const std::vector<Place>& places) {
  std::vector<Ray> rays;
  rays.reserve(places.size());
  for (const Place& place : places) rays.push_back({place.at + place.look->normal * off_surface, stage.sun});
  const std::vector<char> open = stage.scene.are_open(rays);
  std::vector<Sun> sun(open.size());
  std::transform(open.begin(), open.end(), sun.begin(),
                 [](char is_open) { return is_open != 0 ? Sun::shines : Sun::shade; });
  return sun;
}

/// By how much a colour is seen.
float strength(const FaceLook& look, float sky, Sun sun) {
  return 0.36F + 0.38F * sky + (sun == Sun::shines ? 0.44F * look.sun : 0.0F);
}

// ---- the picture, pixel by pixel -----------------------------------------------------------------------------------

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

/// Pixels of a row that show one face and lie in one square of the sky's knots: what changes along them does so evenly.
struct Run {
  static constexpr int longest = 8;
  int x, y, length;
  Place first;  // the middle of the first pixel
  Vec step;     // to those of the next
};
using RunValues = std::array<float, Run::longest>;

/// Open sky changes slowly, so it is found at every few pixels and taken from there between them, wherever those lie on
/// the same surface. Every other knot in either direction is found first; where these agree, so do those between them.
class Sky {
 public:
  Sky(const Stage& stage, const FaceRaster& raster)
      : stage_(stage), knots_(columns, rows), directions_(sky_directions(16)) {
    tbb::parallel_for(0, rows, [&](int y) {
      const std::vector<FaceSpot> spots = raster.rows(y * step, y * step + 1);
      for (int x = 0; x < columns; ++x) {
        const FaceSpot& spot = spots[static_cast<std::size_t>(x) * step];
        if (spot.face != FaceSpot::none) knots_.at(x, y).place = stage.place(x * step, y * step, spot);
      }
    });
    tbb::parallel_for(0, rows, 2, [&](int y) { find_row(y, [](int x) { return x % 2 == 0; }); });
    tbb::parallel_for(0, rows, [&](int y) { find_row(y, [&](int x) { return !is_between(x, y); }); });
  }

  RunValues over(const Run& run) const {
    const int left = run.x / step, top = run.y / step, right = std::min(left + 1, columns - 1);
    const int bottom = std::min(top + 1, rows - 1);
    const float fx = static_cast<float>(run.x % step) / step, fy = static_cast<float>(run.y % step) / step;
    float sum = 0, weights = 0, sum_step = 0, weights_step = 0;
    const auto add = [&](const Knot& knot, float weight, float weight_step) {
      constexpr float least = 1e-3F;  // so that a knot alone on its surface serves all of the square
      if (!lies_on(knot.place, run.first)) return;
      sum += (weight + least) * knot.open, weights += weight + least;
      sum_step += weight_step * knot.open, weights_step += weight_step;
    };
    add(knots_.at(left, top), (1 - fx) * (1 - fy), (fy - 1) / step);
    add(knots_.at(right, top), fx * (1 - fy), (1 - fy) / step);
    add(knots_.at(left, bottom), (1 - fx) * fy, -fy / step);
    add(knots_.at(right, bottom), fx * fy, fy / step);
    if (weights == 0) sum = sky_over(stage_.scene, {run.first}, directions_).front(), weights = 1;
    RunValues open;
    for (int k = 0; k < Run::longest; ++k) {
      const auto steps = static_cast<float>(k);
      open[static_cast<std::size_t>(k)] = (sum + sum_step * steps) / (weights + weights_step * steps);
    }
    return open;
  }

 private:
  struct Knot {
    Place place{Vec::Zero(), nullptr};
    float open = 1;
  };

  /// Of the knots of a row that show something.
  template <class Wanted>
  void find_row(int y, const Wanted& wanted) {
    std::vector<Knot*> asked;
    std::vector<Place> places;
    for (int x = 0; x < columns; ++x) {
      Knot& knot = knots_.at(x, y);
      if (knot.place.look == nullptr || !wanted(x)) continue;
      asked.push_back(&knot);
      places.push_back(knot.place);
    }
    const std::vector<float> open = sky_over(stage_.scene, places, directions_);
    for (std::size_t i = 0; i < asked.size(); ++i) asked[i]->open = open[i];
  }

  /// Takes a knot from those found first, if these lie round it on its surface and agree. True for those, too.
  bool is_between(int x, int y) {
    const int left = x - x % 2, right = x + x % 2, top = y - y % 2, bottom = y + y % 2;
    if (left == right && top == bottom) return true;
    if (right >= columns || bottom >= rows) return false;
    Knot& knot = knots_.at(x, y);
    const auto corners = {&knots_.at(left, top), &knots_.at(right, top), &knots_.at(left, bottom),
                          &knots_.at(right, bottom)};
    knot.open = knots_.at(left, top).open;
    return std::all_of(corners.begin(), corners.end(), [&](const Knot* corner) {
      return corner->open == knot.open && lies_on(corner->place, knot.place);
    });
  }
  bool lies_on(const Place& knot, const Place& place) const {
    if (knot.look == place.look) return true;
    if (knot.look == nullptr || knot.look->normal.dot(place.look->normal) < 0.9F) return false;
    const float off = std::abs(place.look->normal.dot(knot.at - place.at));
    return off * static_cast<float>(stage_.view.points_per_unit) <= 1.5F;
  }

  static constexpr int step = Run::longest;
  static constexpr int columns = (picture_columns - 1) / step + 1, rows = (picture_rows - 1) / step + 1;
  const Stage& stage_;
  Raster<Knot> knots_;
  std::vector<Vec> directions_;
};

/// 0xRRGGBB.
std::uint32_t packed(const Light& light) {
  const Light rounding = (light * 255).min(255.0F) + 0.5F;  // casts cut off, and faster than lround rounds
  const auto byte = [&](int k) { return static_cast<std::uint32_t>(static_cast<int>(rounding[k])); };
  return byte(0) << 16 | byte(1) << 8 | byte(2);
}

/// The pixels of a run, by how strongly each is lit.
void paint(const Stage& stage, const Run& run, RunValues strengths, std::uint32_t* pixels) {
  const FaceLook& look = *run.first.look;
  if (look.hatch != FaceLook::plainly) {
    const LaidHatch& hatch = stage.hatches[look.hatch];
    TilePlace at = TilePlace::of(hatch.in_pixels * run.first.at);
    const TilePlace step = TilePlace::of(hatch.in_pixels * run.step);
    for (int k = 0; k < run.length; ++k, at = at + step) {
      pixels[k] = packed(hatch.tile->mean(at, hatch.right, hatch.up) * strengths[static_cast<std::size_t>(k)]);
    }
    return;
  }
  const double steps = contour_steps(stage, run.first.at);
  const double change = static_cast<double>(run.step.z()) * stage.contours_per_unit;
  if (meets_contour(look, steps, steps + change * (run.length - 1))) {
    for (std::size_t k = 0; k < strengths.size(); ++k)
      strengths[k] *= 1 - contour_at(look, steps + change * static_cast<double>(k));
  }
  std::array<std::uint32_t, Run::longest> painted;
  for (std::size_t k = 0; k < painted.size(); ++k) painted[k] = packed(look.plain * strengths[k]);
  std::copy_n(painted.begin(), run.length, pixels);
}

/// Some rows of the picture, with one more above and below, so that edges are known.
class Band {
 public:
  static constexpr int height = 30;

  Band(const Stage& stage, const FaceRaster& raster, const SunMap& sun_map, const Sky& sky, int first)
      : stage_(stage),
        raster_(raster),
        sky_(sky),
        first_(first),
        from_(std::max(first - 1, 0)),
        to_(std::min(first + height + 1, picture_rows)),
        spots_(raster.rows(from_, to_)),
        sun_(spots_.size(), Sun::shade),
        rough_(spots_.size(), false) {
    find_sun(sun_map);
    mark_rough();
  }

  void paint(std::uint32_t* pixels, std::size_t stride) const {
    for (int y = first_; y < std::min(first_ + height, picture_rows); ++y)
      paint_row(pixels + stride * static_cast<std::size_t>(y), y);
  }

 private:
  const Stage& stage_;
  const FaceRaster& raster_;
  const Sky& sky_;
  int first_, from_, to_;
  std::vector<FaceSpot> spots_;
  std::vector<Sun> sun_;
  std::vector<char> rough_;  // true where an edge runs through a pixel

  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y - from_) * picture_columns + static_cast<std::size_t>(x);
  }
  Place place(int x, int y) const { return stage_.place(x, y, spots_[index(x, y)]); }

  bool faces_sun(int x, int y) const {
    const std::uint32_t face = spots_[index(x, y)].face;
    return face != FaceSpot::none && stage_.looks[face].sun > 0;
  }

  void find_sun(const SunMap& map) {
    std::vector<std::size_t> asked;
    std::vector<Place> there;
    for (int y = from_; y < to_; ++y) {
      for (int x = 0, length = 1; x < picture_columns; x += length) {
        length = 1;
        if (!faces_sun(x, y)) continue;
        const Run run = run_at(x, y);
        length = run.length;
        Sun* const sun = &sun_[index(x, y)];
        map.look(run.first.at, run.step, length, run.first.look->normal, sun);
        for (int k = 0; k < length; ++k) {
          if (sun[k] != Sun::unsure) continue;
          asked.push_back(index(x + k, y));
          there.push_back(place(x + k, y));
        }
      }
    }
    const std::vector<Sun> found = sun_on(stage_, there);
    for (std::size_t i = 0; i < asked.size(); ++i) sun_[asked[i]] = found[i];
  }

  /// One look does not do for a pixel beside which another differs.
  void mark_rough() {
    for (int y = from_; y < to_; ++y) {
      for (int x = 0; x < picture_columns; ++x) {
        const std::size_t here = index(x, y), right = here + 1, below = here + picture_columns;
        if (x + 1 < picture_columns && differ(here, right)) rough_[here] = rough_[right] = true;
        if (y + 1 < to_ && differ(here, below)) rough_[here] = rough_[below] = true;
      }
    }
  }

  Run run_at(int x, int y) const {
    const FaceSpot* const spots = &spots_[index(x, y)];
    const int longest = std::min(Run::longest - x % Run::longest, picture_columns - x);
    int length = 1;
    while (length < longest && spots[length].face == spots->face) ++length;
    Run run{x, y, length, place(x, y), Vec::Zero()};
    if (length > 1) run.step = (place(x + length - 1, y).at - run.first.at) / static_cast<float>(length - 1);
    return run;
  }

  /// A pixel that one look does not do for, since an edge runs through it.
  struct Rough {
    int x;
    float sky;
  };

  void paint_row(std::uint32_t* row, int y) const {
    constexpr std::uint32_t paper = 0xffffff;
    std::vector<Rough> rough;
    for (int x = 0; x < picture_columns;) {
      if (spots_[index(x, y)].face == FaceSpot::none) {
        row[x] = paper;
        if (rough_[index(x, y)]) rough.push_back({x, 1});
        ++x;
        continue;
      }
      const Run run = run_at(x, y);
      const RunValues sky = sky_.over(run);
      const Sun* const sun = &sun_[index(x, y)];
      RunValues strengths{};
      for (int k = 0; k < run.length; ++k) {
        strengths[static_cast<std::size_t>(k)] = strength(*run.first.look, sky[static_cast<std::size_t>(k)], sun[k]);
        if (rough_[index(x + k, y)]) rough.push_back({x + k, sky[static_cast<std::size_t>(k)]});
      }
      viewer::paint(stage_, run, strengths, row + x);
      x += run.length;
    }
    const std::vector<Light> means = finer(rough, y);
    for (std::size_t i = 0; i < rough.size(); ++i) row[rough[i].x] = packed(means[i]);
  }

  bool differ(std::size_t a, std::size_t b) const {
    const std::uint32_t p = spots_[a].face, q = spots_[b].face;
    if (p == q && sun_[a] == sun_[b]) return false;
    if (p == FaceSpot::none || q == FaceSpot::none) return true;
    const FaceLook &look = stage_.looks[p], &other = stage_.looks[q];
    return look.mesh != other.mesh || look.normal.dot(other.normal) < 0.995F ||
           std::abs((sun_[a] == Sun::shines ? look.sun : 0) - (sun_[b] == Sun::shines ? other.sun : 0)) > 0.1F;
  }

  template <class Visit>
  void round_about(int x, int y, const Visit& visit) const {
    for (int v = std::max(y - 1, from_); v <= std::min(y + 1, to_ - 1); ++v) {
      for (int u = std::max(x - 1, 0); u <= std::min(x + 1, picture_columns - 1); ++u) visit(u, v);
    }
  }

  static constexpr int parts_across = 3;
  static constexpr std::size_t parts = std::size_t{parts_across} * parts_across;

  /// What is seen at places all over each of some pixels of a row: the nearest of the faces seen round about, or what a
  /// ray finds where none of them lies.
  std::vector<Place> places_within(const std::vector<Rough>& pixels, int y) const {
    std::vector<Place> places(parts * pixels.size(), Place{Vec::Zero(), nullptr});
    std::vector<Place*> asked;
    std::vector<Ray> rays;
    for (std::size_t i = 0; i < pixels.size(); ++i) {
      std::array<Eigen::Vector2f, parts> there;
      for (std::size_t k = 0; k < parts; ++k) {
        const auto part = [](std::size_t n) { return (static_cast<float>(n) + 0.5F) / parts_across; };
        there[k] = {static_cast<float>(pixels[i].x) + part(k / parts_across),
                    static_cast<float>(y) + part(k % parts_across)};
      }
      const std::array<FaceSpot, parts> spots = nearest_round(pixels[i].x, y, there);
      for (std::size_t k = 0; k < parts; ++k) {
        const auto in_model = [&](float depth) {
          return stage_.pixels.at(there[k].x() - 0.5F, there[k].y() - 0.5F, depth);
        };
        Place& place = places[parts * i + k];
        if (spots[k].face != FaceSpot::none) {
          place = {in_model(spots[k].depth), &stage_.looks[spots[k].face]};
        } else {
          asked.push_back(&place);
          rays.push_back({in_model(before_everything), -stage_.view.toward});
        }
      }
    }
    const std::vector<std::optional<RayHit>> hits = stage_.scene.first_hits(rays);
    for (std::size_t i = 0; i < hits.size(); ++i) {
      if (hits[i]) *asked[i] = {hits[i]->at, &stage_.looks[stage_.first_look[hits[i]->mesh] + hits[i]->triangle]};
    }
    return places;
  }

  /// Of the faces that a pixel and the eight round it show.
  std::array<FaceSpot, parts> nearest_round(int x, int y, const std::array<Eigen::Vector2f, parts>& there) const {
    std::array<FaceSpot, parts> spots;
    boost::container::static_vector<std::uint32_t, 9> seen;
    round_about(x, y, [&](int u, int v) {
      const std::uint32_t face = spots_[index(u, v)].face;
      if (face == FaceSpot::none || std::find(seen.begin(), seen.end(), face) != seen.end()) return;
      seen.push_back(face);
      raster_.see(face, there, spots.data());
    });
    return spots;
  }

  /// Sun on places within pixels of a row; a ray is cast only where the pixels round about do not agree.
  std::vector<Sun> sun_within(const std::vector<Rough>& pixels, const std::vector<Place>& places, int y) const {
    std::vector<Sun> sun(places.size(), Sun::shade);
    std::vector<std::size_t> asked;
    std::vector<Place> there;
    for (std::size_t i = 0; i < pixels.size(); ++i) {
      const Sun agreed = agreed_sun(pixels[i].x, y);
      for (std::size_t k = parts * i; k < parts * (i + 1); ++k) {
        if (places[k].look == nullptr || places[k].look->sun <= 0) continue;
        sun[k] = agreed;
        if (agreed != Sun::unsure) continue;
        asked.push_back(k);
        there.push_back(places[k]);
      }
    }
    const std::vector<Sun> found = sun_on(stage_, there);
    for (std::size_t i = 0; i < asked.size(); ++i) sun[asked[i]] = found[i];
    return sun;
  }

  /// What a pixel and the eight round it that face the sun have in common.
  Sun agreed_sun(int x, int y) const {
    bool shines = false, shade = false;
    round_about(x, y, [&](int u, int v) {
      if (faces_sun(u, v)) (sun_[index(u, v)] == Sun::shines ? shines : shade) = true;
    });
    return shines == shade ? Sun::unsure : shines ? Sun::shines : Sun::shade;
  }

  Light lit(const Place& place, float sky, Sun sun) const {
    return (colour_at(stage_, place) * strength(*place.look, sky, sun)).min(1.0F);
  }

  /// Colours of pixels of a row, each from several places.
  std::vector<Light> finer(const std::vector<Rough>& pixels, int y) const {
    const std::vector<Place> places = places_within(pixels, y);
    const std::vector<Sun> sun = sun_within(pixels, places, y);
    std::vector<Light> means;
    for (std::size_t i = 0; i < pixels.size(); ++i) {
      Light sum = Light::Zero();
      for (std::size_t k = parts * i; k < parts * (i + 1); ++k) {
        sum += places[k].look == nullptr ? Light(Light::Ones()) : lit(places[k], pixels[i].sky, sun[k]);
      }
      means.emplace_back(sum / static_cast<float>(parts));
    }
    return means;
  }
};

/// Onto a surface of the picture's size.
void cast(const Stage& stage, const RayScene::Ignore& ignore, cairo_surface_t* surface) {
  const FaceRaster raster(stage.model.meshes, stage.view, pixels_per_point, picture_columns, picture_rows, ignore);
  const auto two_pixels = static_cast<float>(2 / (stage.view.points_per_unit * pixels_per_point));
  const SunMap sun_map(stage.model.meshes, stage.sun, two_pixels, ignore);
  const Sky sky(stage, raster);
  cairo_surface_flush(surface);
  auto* const pixels = reinterpret_cast<std::uint32_t*>(cairo_image_surface_get_data(surface));
  const std::size_t stride = static_cast<std::size_t>(cairo_image_surface_get_stride(surface)) / sizeof(std::uint32_t);
  constexpr int bands = (picture_rows + Band::height - 1) / Band::height;
  tbb::parallel_for(0, bands,
                    [&](int i) { Band(stage, raster, sun_map, sky, i * Band::height).paint(pixels, stride); });
  cairo_surface_mark_dirty(surface);
}

// ---- what is drawn over it -----------------------------------------------------------------------------------------

bool is_seen(const Stage& stage, const Vec& at) {
  return stage.scene.is_open(at + stage.view.toward * 0.3F, stage.view.toward);
}

bool is_on_block(const Cutaway& model, const Vec& at) {
  const Point2 p(at.x(), at.y());
  return (p.array() >= model.low.array()).all() && (p.array() <= model.high.array()).all();
}

/// A line on the ground, drawn where it is seen.
void draw_on_ground(cairo_t* cairo, const Stage& stage, const Polyline2& reduced, const io::Pen& pen) {
  const Ground& ground = stage.results.ground();
  Polyline2 run;
  const auto flush = [&] {
    io::draw_line(cairo, run, pen);
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
      if (is_on_block(stage.model, at) && is_seen(stage, at)) {
        run.push_back(stage.view.paper(at));
      } else {
        flush();
      }
    }
  }
  flush();
}

void draw_toe(cairo_t* cairo, const Stage& stage) {
  for (Polygon2 loop : stage.results.mound().buildup.toe.outer) {
    loop.push_back(loop.front());
    draw_on_ground(cairo, stage, loop, {1.3, {0.05, 0.25, 0.05}, {}});
  }
}

/// Where the survey ends and assumed ground begins.
void draw_survey_end(cairo_t* cairo, const Stage& stage) {
  if (stage.results.ground().assumed.empty()) return;
  for (Polygon2 loop : surveyed_outline(stage.results.ground())) {
    loop.push_back(loop.front());
    draw_on_ground(cairo, stage, loop, {1.6, io::assumed_ground_colour(), {}});
  }
}

void draw_hubs(cairo_t* cairo, const Stage& stage, io::LabelField& labels) {
  io::TextStyle style;
  style.size = 6.5, style.colour = {0.62, 0.06, 0.03}, style.bold = true, style.halo = 1.1;
  std::vector<std::pair<std::string, Point2>> numbers;
  for (const Stake& stake : stage.results.found().stakes.stakes) {
    if (stake.kind != StakeKind::hub || !stake.ground) continue;
    const Point2 p = stage.results.ground().to_local({stake.easting, stake.northing});
    const Vec foot = to_model(stage.results, stage.model, {p.x(), p.y(), *stake.ground});
    const Point2 at = stage.view.paper(foot);
    const Vec head = foot + Vec(0, 0, static_cast<float>(11 / stage.view.points_per_unit));
    if (!is_seen(stage, head)) continue;
    const Point2 top = stage.view.paper(head);
    io::draw_line(cairo, {at, top}, {1.2, style.colour, {}});
    io::add_path(cairo, {top, top + Point2(6, 1.6), top + Point2(0, 3.6)}, true);
    io::set_colour(cairo, style.colour);
    cairo_fill(cairo);
    labels.keep_off(io::PaperRect{top.x() - 1, top.y() - 1, 8, at.y() - top.y() + 2});
    numbers.emplace_back(std::to_string(stake.number), top + Point2(2, 0));
  }
  for (const auto& [number, at] : numbers) labels.place(cairo, number, at, 4, style);
}

/// North arrow lying on the level, beside the block.
void draw_compass(cairo_t* cairo, const Stage& stage, const Point2& centre) {
  const ParallelView& view = stage.view;
  // Where a step of one to the north or east goes on paper.
  const auto flat = [&](const Point2& world) {
    const Vec step = step_in_model(stage.model, world);
    return Point2(static_cast<double>(step.dot(view.right)), -static_cast<double>(step.dot(view.up)));
  };
  io::draw_north_arrow(cairo, centre, 42, flat({0, 1}), flat({1, 0}));
}

/// A bar along the front edge of the block, in the direction of the bed.
void draw_front_scale(cairo_t* cairo, const Stage& stage) {
  const Cutaway& model = stage.model;
  const double length = model.high.x() - model.low.x();
  double step = io::round_step(length / 12);
  const char* unit = symbol(stage.results.job.site.unit);
  io::TextStyle style;
  style.size = 7;
  double start = 0;  // from the block's corner, which is off the paper where the survey does not reach it
  const auto point = [&](double along, double below) {
    const Vec p(static_cast<float>(model.high.x() - start - along), static_cast<float>(model.high.y()),
                static_cast<float>(model.floor));
    return Point2(stage.view.paper(p) + Point2(0, below));
  };
  constexpr double margin = 20;
  while (point(0, 0).x() < margin && start < length - 4 * step) start += step / 4;
  for (int i = 0; i < 4; ++i) {
    io::add_path(cairo, {point(i * step, 5), point((i + 1) * step, 5), point((i + 1) * step, 9), point(i * step, 9)},
                 true);
    io::set_colour(cairo, i % 2 == 0 ? io::ink : io::paper_white);
    cairo_fill_preserve(cairo);
    io::take_pen(cairo, {0.6, io::ink, {}});
    cairo_stroke(cairo);
  }
  for (const int i : {0, 1, 2, 4}) {
    const std::string text = fmt::format("{:g}{}", i * step, i == 4 ? std::string(" ") + unit : "");
    io::draw_text(cairo, text, point(i * step, 10.5), 0.5, 0, style);
  }
}

void draw_words(cairo_t* cairo, const Stage& stage, const io::PaperRect& legend) {
  io::TextStyle title;
  title.size = 14, title.bold = true;
  io::TextStyle plain;
  plain.size = 7.2, plain.colour = io::soft_ink;
  io::draw_fitting(cairo, stage.results.job.site.title, {26, 20}, 0, legend.left - 26 - title.size, title);
  const Takeoff& t = stage.results.found().takeoff;
  const char* unit = symbol(stage.results.job.site.unit);
  const BulkUnits& bulk = bulk_units(stage.results.job.site.unit);
  const auto volume = [&](double yards) {
    return fmt::format("{} {}", fixed_text(bulk.of_yard * yards, 0), bulk.volume);
  };
  const std::string about = fmt::format(
      "{} of fill in place{}; contours every {:g} {}; heights drawn {:g} times", volume(t.fill_cy),
      t.cut_cy > 0 ? fmt::format(", {} of cut", volume(t.cut_cy)) : "", stage.interval, unit, stage.model.heights);
  io::draw_text(cairo, about, {26, 39}, 0, 0, plain);
  if (!stage.results.ground().assumed.empty()) {
    io::TextStyle warning = plain;
    warning.colour = io::assumed_ground_colour();
    io::draw_text(cairo, "Orange line: end of the survey. Beyond it the ground is assumed.", {26, 50}, 0, 0, warning);
  }
  io::draw_material_key(cairo, stage.results, legend);
  io::draw_text(cairo, "Neat volumes, in place. Not a land survey, a design or a permit.", {26, paper_height - 14}, 0,
                1, plain);
}

bool covers(const ParallelView& view, const Cutaway& model, const io::PaperRect& rect) {
  return std::any_of(model.meshes.begin(), model.meshes.end(), [&](const RayMesh& mesh) {
    return std::any_of(mesh.points.begin(), mesh.points.end(),
                       [&](const Vec& p) { return rect.contains(view.paper(p)); });
  });
}

/// As large as it goes without standing under the legend.
ParallelView clear_view(const Cutaway& model, const io::PaperRect& legend) {
  io::PaperRect frame{26, 62, paper_width - 52, paper_height - 62 - 50};
  ParallelView view = view_of(model, frame);
  while (covers(view, model, inset(legend, -8)) && frame.height > 0.4 * paper_height) {
    frame.top += 12, frame.height -= 12;
    view = view_of(model, frame);
  }
  return view;
}

Stage stage_of(const io::SiteResults& results, const Cutaway& model, const RayScene& scene, const ParallelView& view) {
  Stage stage{results, model, scene, view, PixelPlaces(view), io::layer_styles(results.mound().design())};
  for (const io::MaterialStyle& style : stage.styles) stage.tiles.emplace_back(style);
  stage.tiles.emplace_back(io::MaterialStyle{io::darker({0.72, 0.62, 0.50}, 0.02), io::Hatch::earth});
  io::DrawingScale scale;
  scale.unit = results.job.site.unit;
  scale.denominator *= scale.points_per_unit() / stage.view.points_per_unit;
  stage.interval = io::contour_interval(results, scale);
  stage.contours_below = results.mound().buildup.bottom_elevation / stage.interval;
  stage.contours_per_unit = 1 / (model.heights * stage.interval);
  const Vec ahead = Vec(stage.view.toward.x(), stage.view.toward.y(), 0).normalized();
  stage.sun = (-0.75F * stage.view.right + 0.45F * ahead + Vec(0, 0, 0.85F)).normalized();
  set_looks(stage);
  return stage;
}

}  // namespace

std::string mound_png(const io::SiteResults& results, const std::vector<Solid>& solids) {
  const Cutaway model = cut_away(results, solids);
  const auto ignore = [&](std::uint32_t mesh, const Vec& at) { return is_taken_out(model, mesh, at); };
  const RayScene scene(model.meshes, ignore);
  const io::PaperRect legend{paper_width - 26 - 176, 20, 176, io::material_key_height(results)};
  const Stage stage = stage_of(results, model, scene, clear_view(model, legend));
  return io::png_of_drawing(paper_width, paper_height, resolution, [&](cairo_t* cairo) {
    cast(stage, ignore, cairo_get_target(cairo));
    draw_survey_end(cairo, stage);
    draw_toe(cairo, stage);
    io::LabelField labels({10, 10, paper_width - 20, paper_height - 20});
    labels.keep_off(inset(legend, -6));
    draw_hubs(cairo, stage, labels);
    draw_compass(cairo, stage, {52, paper_height - 70});
    draw_front_scale(cairo, stage);
    draw_words(cairo, stage, legend);
  });
}

}  // namespace moundwright::viewer

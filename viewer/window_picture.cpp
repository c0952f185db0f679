#include "viewer/window_picture.h"

#include <cairo.h>

#include <memory>

#include "io/pictures_png.h"

namespace moundwright::viewer {
namespace {

using Surface = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;

Surface surface_of(const ScenePicture& picture) {
  Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture.width, picture.height),
                  &cairo_surface_destroy);
  unsigned char* data = cairo_image_surface_get_data(surface.get());
  const int stride = cairo_image_surface_get_stride(surface.get());
  for (int y = 0; y < picture.height; ++y) {
    auto* row = reinterpret_cast<std::uint32_t*>(data + static_cast<std::ptrdiff_t>(y) * stride);
    const std::uint8_t* from = picture.rgb.data() + static_cast<std::size_t>(3) * y * picture.width;
    for (int x = 0; x < picture.width; ++x, from += 3) {
      row[x] = static_cast<std::uint32_t>(from[0]) << 16 | static_cast<std::uint32_t>(from[1]) << 8 | from[2];
    }
  }
  cairo_surface_mark_dirty(surface.get());
  return surface;
}

}  // namespace

std::string picture_png(const ScenePicture& picture) {
  constexpr double pixels_per_inch = 72;  // so that a point is a pixel
  return io::png_of_drawing(picture.width, picture.height, pixels_per_inch, [&](cairo_t* cairo) {
    const Surface surface = surface_of(picture);
    cairo_set_source_surface(cairo, surface.get(), 0, 0);
    cairo_paint(cairo);
    io::TextStyle style;
    style.size = 12, style.halo = 3;
    for (const PictureLabel& label : picture.labels) io::draw_text(cairo, label.text, label.at, 0, 0.5, style);
    io::TextStyle title;
    title.size = 18, title.bold = true, title.halo = 4;
    io::draw_fitting(cairo, picture.title, {16, 14}, 0, picture.width - 32, title);
    io::draw_text(cairo, picture.note, {16, 40}, 0, 0, style);
  });
}

}  // namespace moundwright::viewer

// plan.png and section.png: the plan and the sections on a landscape letter sheet, as a picture to print or send.
#pragma once

#include <functional>
#include <string>

#include "io/drawing.h"
#include "io/results.h"

namespace moundwright::io {

/// Landscape letter, points.
constexpr double picture_width = 792, picture_height = 612;

/// A PNG of `width` by `height` points at so many dots an inch, white before `draw` draws. Same drawing, same bytes.
std::string png_of_drawing(double width, double height, double dots_per_inch,
                           const std::function<void(cairo_t*)>& draw);

std::string plan_png(const SiteResults& results);
std::string section_png(const SiteResults& results);

}  // namespace moundwright::io

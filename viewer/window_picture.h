// A picture of what the window shows: the scene as rendered, with its labels set in type and the job's title.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "geom/ground.h"

namespace moundwright::viewer {

struct PictureLabel {
  Point2 at;  // pixels from the upper left
  std::string text;
};

struct ScenePicture {
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgb;  // rows from the top
  std::vector<PictureLabel> labels;
  std::string title, note;
};

std::string picture_png(const ScenePicture& picture);

}  // namespace moundwright::viewer

// A layer of the same shape on every face, for the tests.
#pragma once

#include <string>

#include "geom/design.h"

namespace moundwright {

/// Its material is called as the layer is; `side` is run to 1 of rise, 0 vertical.
inline Layer plain_layer(const std::string& name, double top, double beyond, double side) {
  Layer layer;
  layer.name = layer.material = name;
  layer.top = top;
  layer.beyond = ByFace::all(beyond);
  layer.side = ByFace::all(side);
  return layer;
}

}  // namespace moundwright

// The volumes of a mound by solid booleans: CGAL's corefinement with exact constructions, an answer that shares
// nothing with geom's own but the definition of a layer as the least of its planes. Slow (a third of a second), and for
// tests and benchmarks only.
#pragma once

#include <vector>

#include "tests/support/solid_meshes.h"

namespace moundwright::test_support {

/// Volume of each layer in the order they go down: V_k - V_(k-1), where V_k is the volume of the first k layers'
/// union above the prepared ground. With a strip or pits, that is counted only inside the footprint: the plan under
/// all layers' union that stands above the existing ground.
/// Throws std::runtime_error naming the step where a mesh is not closed or a boolean fails.
std::vector<double> layer_volumes(const BooleanScene& scene);

/// What is taken off inside the footprint: the strip, then the pits below it.
struct CutVolumes {
  double strip = 0, pits = 0;
};
CutVolumes cut_volumes(const BooleanScene& scene);

}  // namespace moundwright::test_support

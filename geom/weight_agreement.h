// Whether a material's weights agree with its swell and shrink.
//
//   for (const Agreement& a : agreements(sand)) if (a.apart() > agreement_allowed) ...     // 2 %
//
// By the definitions of materials.h, loose / compacted weight = (1 - shrink) / (1 + swell), loose / bank weight =
// 1 / (1 + swell) and bank / compacted weight = 1 - shrink. 2 % are for rounding (common practice).
#pragma once

#include <array>
#include <optional>

#include "geom/materials.h"

namespace moundwright {

/// Two figures for one thing: one from two weights, one from swell and shrink. Each is there where the material gives
/// it.
struct Agreement {
  const char* key;      // of a weight that is in it
  const char* weights;  // "loose over compacted weight"
  const char* rule;     // "(1 - shrink) / (1 + swell)"
  std::optional<double> by_weights, by_rule;
  std::optional<double> apart() const;  // as a fraction
};

constexpr double agreement_allowed = 0.02;

/// Loose over compacted, loose over bank, bank over compacted weight.
std::array<Agreement, 3> agreements(const Material& material);

}  // namespace moundwright

// The kernel runs on any ordered field: double for the work, an exact rational for the check on it.
#pragma once

#include <type_traits>

namespace moundwright {

/// The nearest double, or as near as the exact type says. Exact types have a member to_double().
template <class FT>
double approximate(const FT& value) {
  if constexpr (std::is_floating_point_v<FT>) {
    return value;
  } else {
    return value.to_double();
  }
}

}  // namespace moundwright

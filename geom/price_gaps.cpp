#include "geom/price_gaps.h"

#include <fmt/format.h>

#include <algorithm>

namespace moundwright {

bool price_is_incomplete(const Estimate& estimate) { return estimate.bid && !estimate.missing.empty(); }

std::string incomplete_text(const Estimate& estimate) {
  if (!price_is_incomplete(estimate)) return "";
  const std::size_t count = estimate.missing.size();
  return fmt::format("INCOMPLETE: {} thing{}", count, count == 1 ? "" : "s");
}

std::string missing_text(const Estimate& estimate) { return fmt::format("{}", fmt::join(estimate.missing, "; ")); }

bool loads_are_known(const Estimate& estimate, const Delivery& delivery) {
  return std::any_of(estimate.orders.begin(), estimate.orders.end(),
                     [&](const MaterialOrder& order) { return order.material == delivery.material && order.loads; });
}

}  // namespace moundwright

#include "geom/weight_agreement.h"

#include <cmath>

namespace moundwright {
namespace {

std::optional<double> quotient(std::optional<double> a, std::optional<double> b) {
  return a && b ? std::optional(*a / *b) : std::nullopt;
}

}  // namespace

std::optional<double> Agreement::apart() const {
  if (!by_weights || !by_rule) return std::nullopt;
  return std::abs(*by_weights / *by_rule - 1);
}

std::array<Agreement, 3> agreements(const Material& m) {
  std::optional<double> loose_to_compacted, loose_to_bank, bank_to_compacted;
  if (m.swell && m.shrink) loose_to_compacted = (1 - *m.shrink) / (1 + *m.swell);
  if (m.swell) loose_to_bank = 1 / (1 + *m.swell);
  if (m.shrink) bank_to_compacted = 1 - *m.shrink;
  return {{{"compacted_weight", "loose over compacted weight", "(1 - shrink) / (1 + swell)",
            quotient(m.loose_weight, m.compacted_weight), loose_to_compacted},
           {"bank_weight", "loose over bank weight", "1 / (1 + swell)", quotient(m.loose_weight, m.bank_weight),
            loose_to_bank},
           {"bank_weight", "bank over compacted weight", "1 - shrink", quotient(m.bank_weight, m.compacted_weight),
            bank_to_compacted}}};
}

}  // namespace moundwright

#include "io/capped_problems.h"

#include <fmt/format.h>

namespace moundwright::io {

Problems CappedProblems::report() const {
  constexpr const char* names[] = {"notes", "warnings", "errors"};
  Problems all = problems_;
  for (std::size_t s = 0; s < count_.size(); ++s) {
    if (count_[s] > most) {
      all.all.push_back({static_cast<Severity>(s), fmt::format("and {} more {}", count_[s] - most, names[s]), {}, {}});
    }
  }
  return all;
}

}  // namespace moundwright::io

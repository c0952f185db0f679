// A report that stays readable when a whole file is wrong: the first of each severity, then how many more.
#pragma once

#include <array>
#include <cstddef>

#include "geom/problem.h"

namespace moundwright::io {

class CappedProblems {
 public:
  static constexpr std::size_t most = 50;  // of each severity

  /// Adds what `make` returns; where the report is full, only counts, and `make` is not called.
  template <class Make>
  void add(Severity severity, Make&& make) {
    if (++count_[static_cast<std::size_t>(severity)] > most) return;
    Problem problem = make();
    problem.severity = severity;
    problems_.all.push_back(std::move(problem));
  }
  void add(Problem problem) {
    add(problem.severity, [&] { return std::move(problem); });
  }

  /// The report, with a closing "and N more errors" where it was cut short.
  Problems report() const;

 private:
  std::array<std::size_t, 3> count_{};
  Problems problems_;
};

}  // namespace moundwright::io

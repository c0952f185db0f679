#include "geom/sieve_sample.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace moundwright {
namespace {

void check_retained(const SieveSample& sample, Problems& problems) {
  for (const RetainedWeight& r : sample.retained) {
    if (r.weight < 0) {
      problems.error(fmt::format("{:g} is retained on {}", r.weight, sieve_name(r.opening_mm)), "",
                     "a weight cannot be below zero");
    }
  }
  if (sample.pan < 0) {
    problems.error(fmt::format("{:g} is in the pan", sample.pan), "", "a weight cannot be below zero");
  }
}

/// What went on the sieves has to come off them; and washing only takes away.
void check_totals(const SieveSample& sample, Problems& problems) {
  if (sample.washed && !sample.whole) {
    problems.error("the sample was weighed after washing, but not before", "",
                   "give its dry weight before washing too: every percentage is of that");
    return;
  }
  if (sample.washed && *sample.washed > *sample.whole) {
    problems.error(fmt::format("the sample weighs {:g} after washing and {:g} before", *sample.washed, *sample.whole),
                   "", "washing only takes away; look whether the two are swapped");
    return;
  }
  if (!sample.went_on()) return;
  constexpr double allowed = 0.003;  // of what went on: ASTM C136
  constexpr double rounding = 1e-9;
  const double off = sample.off_sieves() / *sample.went_on() - 1;
  if (std::abs(off) <= allowed + rounding) return;
  std::string what_to_do = "by ASTM C136 a test off by more than 0.3 % is not for acceptance: weigh again";
  if (!sample.washed && off < 0) {
    what_to_do += "; a sample washed over No. 200 (ASTM C117) wants its dry weight after washing as well";
  }
  problems.error(fmt::format("the weights retained, with the pan, add up to {:g}, and {:g} went on the sieves: the "
                             "sample {} {:.1f} %",
                             sample.off_sieves(), *sample.went_on(), off > 0 ? "gained" : "lost", 100 * std::abs(off)),
                 "", std::move(what_to_do));
}

}  // namespace

double SieveSample::off_sieves() const {
  double sum = pan;
  for (const RetainedWeight& r : retained) sum += r.weight;
  return sum;
}

std::optional<double> SieveSample::went_on() const { return washed ? washed : whole; }

std::optional<double> SieveSample::washed_out() const {
  return whole && washed ? std::optional(100 * (*whole - *washed) / *whole) : std::nullopt;
}

Gradation gradation_of(const SieveSample& sample, Problems& problems) {
  check_retained(sample, problems);
  if (!(sample.off_sieves() > 0)) {
    problems.error("nothing is retained on any sieve", "", "give the weights retained");
    return {};
  }
  check_totals(sample, problems);
  std::vector<RetainedWeight> retained = sample.retained;
  std::stable_sort(retained.begin(), retained.end(),
                   [](const RetainedWeight& a, const RetainedWeight& b) { return a.opening_mm > b.opening_mm; });
  const double whole = sample.whole.value_or(sample.off_sieves());
  std::vector<SieveReading> readings;
  double kept = 0;
  for (const RetainedWeight& r : retained) {
    kept += r.weight;
    readings.push_back({r.opening_mm, 100 * std::max(0.0, 1 - kept / whole)});
  }
  return gradation_from_passing(std::move(readings), problems);
}

}  // namespace moundwright

// A sieve analysis held against a specification.
//
//   Gradation sand = gradation_from_retained(sieves, grams, total);    // or gradation_from_passing
//   GradationReport report = check_gradation(sand, *published_limits("ASTM C33 fine aggregate"));
//   report.passes, report.sieves[3].off_by, report.measures.d10
//
// Percent passing is by weight of the whole. Between sieves it is taken straight on the logarithm of the opening, as it
// is drawn; D10 and D60 are where that line passes 10 and 60 %. Fineness modulus: cumulative percent retained on the
// sieves of the standard series, over 100 (ASTM C125). Openings in millimetres (ASTM E11).
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "geom/problem.h"

namespace moundwright {

/// Opening of a sieve from how it is written: "No. 4", "#200", "200" (a number, from 4 up with no unit), "3/8 in",
/// "1-1/2\"", "0.375 in", "9.5 mm", "600 um". Nullopt where it is none of these.
std::optional<double> sieve_opening_mm(std::string_view text);
/// "No. 4", "3/8 in", or "2.00 mm" where the opening has no name in the standard series.
std::string sieve_name(double opening_mm);

struct SieveReading {
  double opening_mm = 0;
  double passing = 0;  // percent by weight
};

/// Coarsest first; passing never rises.
struct Gradation {
  std::vector<SieveReading> readings;
};

/// From weights retained on each sieve, `pan` included. `total` is the dry weight before sieving, where it was weighed.
/// Problems: weights below zero, all zero, a sum that gained on the total or lost over 0.3 % of it (ASTM C136).
struct RetainedWeight {
  double opening_mm = 0;
  double weight = 0;
};
Gradation gradation_from_retained(std::vector<RetainedWeight> retained, double pan, std::optional<double> total,
                                  Problems& problems);

/// Sorts readings; problems: outside 0 to 100, one sieve twice, a finer sieve that passes more than a coarser one.
Gradation gradation_from_passing(std::vector<SieveReading> readings, Problems& problems);

/// Percent passing at an opening; nullopt outside the sieves used, except 100 above a sieve that passes all.
std::optional<double> passing_at(const Gradation& gradation, double opening_mm);
/// Opening that `percent` passes; nullopt where no two sieves enclose it.
std::optional<double> size_passing(const Gradation& gradation, double percent);

struct GradationMeasures {
  std::optional<double> d10, d30, d60;     // mm
  std::optional<double> uniformity;        // D60 / D10
  std::optional<double> fineness_modulus;  // none unless the series from No. 100 up to a sieve passing all was used
  std::optional<double> fines;             // percent passing No. 200
};
GradationMeasures measures_of(const Gradation& gradation);

struct Limit {
  std::optional<double> least, most;
};
struct SieveLimit {
  double opening_mm = 0;
  Limit passing;  // percent
};
struct GradationLimits {
  std::string name;
  std::string source;
  std::vector<SieveLimit> sieves;  // coarsest first
  Limit fineness_modulus, d10, uniformity;
};

/// Published specifications, with their sources.
const std::vector<GradationLimits>& published_gradations();
const GradationLimits* published_limits(std::string_view name);

/// One figure against its limit.
struct GradationCheck {
  std::string name;             // "No. 4", "fineness modulus", "D10"
  std::optional<double> found;  // none where the ticket does not tell
  Limit asked;
  bool passes = false;
  double off_by = 0;  // how far outside: above zero too much, below zero too little
  std::string text;   // what it would take, one sentence; empty where it passes
};
struct GradationReport {
  std::string specification, source;
  bool passes = false;    // every figure is there and inside
  bool complete = false;  // every figure is there
  std::vector<GradationCheck> sieves, others;
  GradationMeasures measures;
};
GradationReport check_gradation(const Gradation& gradation, const GradationLimits& limits);

}  // namespace moundwright

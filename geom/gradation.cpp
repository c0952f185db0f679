#include "geom/gradation.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "geom/sieve_sample.h"

namespace moundwright {
namespace {

struct StandardSieve {
  double opening_mm;
  const char* name;
  int number;         // 0 where it goes by inches
  bool in_fm_series;  // ASTM C125
};
// ASTM E11; the series of the fineness modulus from ASTM C125.
constexpr std::array<StandardSieve, 23> standard_sieves = {
    {{150.0, "6 in", 0, true},       {75.0, "3 in", 0, true},       {63.0, "2-1/2 in", 0, false},
     {50.0, "2 in", 0, false},       {37.5, "1-1/2 in", 0, true},   {25.0, "1 in", 0, false},
     {19.0, "3/4 in", 0, true},      {12.5, "1/2 in", 0, false},    {9.5, "3/8 in", 0, true},
     {6.3, "1/4 in", 0, false},      {4.75, "No. 4", 4, true},      {2.36, "No. 8", 8, true},
     {2.00, "No. 10", 10, false},    {1.18, "No. 16", 16, true},    {0.850, "No. 20", 20, false},
     {0.600, "No. 30", 30, true},    {0.425, "No. 40", 40, false},  {0.300, "No. 50", 50, true},
     {0.250, "No. 60", 60, false},   {0.180, "No. 80", 80, false},  {0.150, "No. 100", 100, true},
     {0.106, "No. 140", 140, false}, {0.075, "No. 200", 200, false}}};

constexpr double same_sieve =
    0.02;  // 1 in is 25.4 mm and its sieve 25.0: relative differences up to this are one sieve

bool is_same(double a, double b) { return std::abs(a / b - 1) < same_sieve; }

const StandardSieve* standard(double opening_mm) {
  const auto at = std::find_if(standard_sieves.begin(), standard_sieves.end(),
                               [&](const StandardSieve& s) { return is_same(s.opening_mm, opening_mm); });
  return at == standard_sieves.end() ? nullptr : &*at;
}

std::string squeezed(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == ' ' || c == '\t') continue;
    out += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
  return out;
}

bool take_end(std::string& text, std::string_view end) {
  if (text.size() <= end.size() || !text.ends_with(end)) return false;
  text.resize(text.size() - end.size());
  return true;
}

std::optional<double> plain_number(std::string_view text) {
  double value = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool good = fault == std::errc{} && end == text.data() + text.size() && std::isfinite(value) && value > 0;
  return good ? std::optional(value) : std::nullopt;
}

/// "3/8", "1-1/2", "0.375"
std::optional<double> number_or_fraction(std::string_view text) {
  const std::size_t slash = text.find('/');
  if (slash == std::string_view::npos) return plain_number(text);
  const std::size_t dash = text.substr(0, slash).find('-');
  const std::size_t start = dash == std::string_view::npos ? 0 : dash + 1;
  const auto over = plain_number(text.substr(start, slash - start)), under = plain_number(text.substr(slash + 1));
  const auto whole = start == 0 ? std::optional(0.0) : plain_number(text.substr(0, dash));
  return over && under && whole ? std::optional(*whole + *over / *under) : std::nullopt;
}

std::optional<double> opening_of_number(double number) {
  const auto at = std::find_if(standard_sieves.begin(), standard_sieves.end(),
                               [&](const StandardSieve& s) { return s.number > 0 && s.number == number; });
  return at == standard_sieves.end() ? std::nullopt : std::optional(at->opening_mm);
}

double snapped(double opening_mm) {
  const StandardSieve* sieve = standard(opening_mm);
  return sieve ? sieve->opening_mm : opening_mm;
}

std::optional<double> in_millimetres(std::optional<double> value, double factor) {
  return value ? std::optional(snapped(*value * factor)) : std::nullopt;
}

}  // namespace

std::optional<double> sieve_opening_mm(std::string_view written) {
  constexpr double inch = 25.4;  // mm exactly (NIST Handbook 44, Appendix C)
  std::string text = squeezed(written);
  if (take_end(text, "um") || take_end(text, "\xc2\xb5m")) return in_millimetres(plain_number(text), 0.001);
  if (take_end(text, "mm")) return in_millimetres(plain_number(text), 1);
  if (take_end(text, "inch") || take_end(text, "in.") || take_end(text, "in") || take_end(text, "\"")) {
    return in_millimetres(number_or_fraction(text), inch);
  }
  for (const std::string_view mark : {"no.", "no", "#"}) {
    if (!text.starts_with(mark)) continue;
    const auto number = plain_number(std::string_view(text).substr(mark.size()));
    return number ? opening_of_number(*number) : std::nullopt;
  }
  if (text.find('/') != std::string::npos) return in_millimetres(number_or_fraction(text), inch);
  const auto number = plain_number(text);
  if (!number) return std::nullopt;
  if (text.find('.') != std::string::npos) return snapped(*number);
  return opening_of_number(*number);
}

std::string sieve_name(double opening_mm) {
  const StandardSieve* sieve = standard(opening_mm);
  return sieve ? sieve->name : fmt::format("{:.3g} mm", opening_mm);
}

Gradation gradation_from_passing(std::vector<SieveReading> readings, Problems& problems) {
  std::stable_sort(readings.begin(), readings.end(),
                   [](const SieveReading& a, const SieveReading& b) { return a.opening_mm > b.opening_mm; });
  if (readings.empty()) {
    problems.error("the ticket has no sieves", "", "give one row a sieve: its name or opening, and what passed it");
  }
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const SieveReading& here = readings[i];
    if (!(here.passing >= 0 && here.passing <= 100)) {
      problems.error(fmt::format("{:g} % passes the {} sieve", here.passing, sieve_name(here.opening_mm)), "",
                     "percent passing is from 0 to 100");
    }
    if (i == 0) continue;
    const SieveReading& coarser = readings[i - 1];
    if (is_same(coarser.opening_mm, here.opening_mm)) {
      problems.error(fmt::format("the {} sieve is there twice", sieve_name(here.opening_mm)), "", "take one out");
    } else if (here.passing > coarser.passing) {
      problems.error(
          fmt::format("more passes {} ({:g} %) than the coarser {} ({:g} %): the ticket gains weight on its "
                      "way down",
                      sieve_name(here.opening_mm), here.passing, sieve_name(coarser.opening_mm), coarser.passing),
          "", "what passes a fine sieve has passed every coarser one; look for a swapped figure");
    }
  }
  return {std::move(readings)};
}

Gradation gradation_from_retained(std::vector<RetainedWeight> retained, double pan, std::optional<double> total,
                                  Problems& problems) {
  return gradation_of({std::move(retained), pan, total, {}}, problems);
}

std::optional<double> passing_at(const Gradation& gradation, double opening_mm) {
  for (const SieveReading& r : gradation.readings) {
    if (is_same(r.opening_mm, opening_mm)) return r.passing;
  }
  if (gradation.readings.empty()) return std::nullopt;
  constexpr double all = 100 - 1e-9, none = 1e-9;
  for (const SieveReading& r : gradation.readings) {
    if (opening_mm > r.opening_mm && r.passing >= all) return 100.0;
    if (opening_mm < r.opening_mm && r.passing <= none) return 0.0;
  }
  return std::nullopt;
}

std::optional<double> size_passing(const Gradation& gradation, double percent) {
  for (std::size_t i = 1; i < gradation.readings.size(); ++i) {
    const SieveReading &coarse = gradation.readings[i - 1], &fine = gradation.readings[i];
    if (percent > coarse.passing || percent < fine.passing || coarse.passing == fine.passing) continue;
    const double part = (percent - fine.passing) / (coarse.passing - fine.passing);
    return std::exp(std::log(fine.opening_mm) + part * std::log(coarse.opening_mm / fine.opening_mm));
  }
  return std::nullopt;
}

GradationMeasures measures_of(const Gradation& gradation) {
  GradationMeasures m;
  m.d10 = size_passing(gradation, 10);
  m.d30 = size_passing(gradation, 30);
  m.d60 = size_passing(gradation, 60);
  if (m.d10 && m.d60) m.uniformity = *m.d60 / *m.d10;
  m.fines = passing_at(gradation, 0.075);
  double sum = 0;
  bool complete = true;
  for (const StandardSieve& sieve : standard_sieves) {
    if (!sieve.in_fm_series) continue;
    const std::optional<double> passing = passing_at(gradation, sieve.opening_mm);
    if (passing) {
      sum += 100 - *passing;
    } else {
      complete = false;
    }
  }
  if (complete) m.fineness_modulus = sum / 100;
  return m;
}

const GradationLimits* published_limits(std::string_view name) {
  const auto& all = published_gradations();
  const auto at = std::find_if(all.begin(), all.end(), [&](const GradationLimits& g) { return g.name == name; });
  return at == all.end() ? nullptr : &*at;
}

namespace {

/// How far a figure lies outside its limits; 0 inside.
double outside(double found, const Limit& asked) {
  constexpr double rounding = 1e-9;
  if (asked.most && found > *asked.most + rounding) return found - *asked.most;
  if (asked.least && found < *asked.least - rounding) return found - *asked.least;
  return 0;
}

GradationCheck checked(std::string name, std::optional<double> found, const Limit& asked) {
  GradationCheck check{std::move(name), found, asked, false, 0, ""};
  if (found) {
    check.off_by = outside(*found, asked);
    check.passes = check.off_by == 0;
  }
  return check;
}

std::string what_it_takes(const GradationCheck& check, double opening_mm) {
  if (!check.found) return "the ticket does not have this sieve: ask for it";
  if (check.passes) return "";
  if (check.off_by < 0) {
    return fmt::format("too coarse here: {:.1f} more in a hundred have to pass", -check.off_by);
  }
  std::string text = fmt::format("too fine here: {:.1f} in a hundred too many pass", check.off_by);
  if (opening_mm < 0.2) {
    const double out = 100 * check.off_by / (100 - *check.asked.most);
    text += fmt::format("; {:.1f} lb of every 100 would have to be washed out", out);
  }
  return text;
}

void add_other(const char* name, std::optional<double> found, const Limit& asked, const char* unit,
               GradationReport& report) {
  if (!asked.least && !asked.most) return;
  GradationCheck check = checked(name, found, asked);
  if (!check.found) {
    check.text = "the ticket does not have the sieves that it wants";
  } else if (!check.passes) {
    check.text = fmt::format("{:.2f}{} too {}", std::abs(check.off_by), unit, check.off_by > 0 ? "much" : "little");
  }
  report.others.push_back(std::move(check));
}

}  // namespace

GradationReport check_gradation(const Gradation& gradation, const GradationLimits& limits) {
  GradationReport report;
  report.specification = limits.name;
  report.source = limits.source;
  report.measures = measures_of(gradation);
  for (const SieveLimit& limit : limits.sieves) {
    GradationCheck check =
        checked(sieve_name(limit.opening_mm), passing_at(gradation, limit.opening_mm), limit.passing);
    check.text = what_it_takes(check, limit.opening_mm);
    report.sieves.push_back(std::move(check));
  }
  add_other("fineness modulus", report.measures.fineness_modulus, limits.fineness_modulus, "", report);
  add_other("D10", report.measures.d10, limits.d10, " mm", report);
  add_other("uniformity D60/D10", report.measures.uniformity, limits.uniformity, "", report);
  report.passes = report.complete = true;
  for (const std::vector<GradationCheck>* checks : {&report.sieves, &report.others}) {
    for (const GradationCheck& check : *checks) {
      report.passes = report.passes && check.passes;
      report.complete = report.complete && check.found.has_value();
    }
  }
  return report;
}

}  // namespace moundwright

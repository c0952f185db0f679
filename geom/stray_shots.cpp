#include "geom/stray_shots.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <optional>

#include "geom/shot_names.h"

namespace moundwright {
namespace {

constexpr std::size_t least_shots = 5, enough_shots = 8;  // to tell anything at all; to trust narrower gaps
constexpr double gap_if_exchanged = 3, gap_of_handful = 5, gap_with_cause = 20, gap_of_many = 50;
constexpr double gap_in_elevation = 5;
constexpr double feet_per_metre = 1.0 / 0.3048;  // by definition, since 1959

/// Of a few thousand of the shots: so many hold the median still.
template <class Of>
double median_of(const std::vector<Shot>& shots, Of of) {
  std::vector<double> values;
  const std::size_t stride = std::max<std::size_t>(1, shots.size() / 4096);
  for (std::size_t i = 0; i < shots.size(); i += stride) values.push_back(of(shots[i]));
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

/// The last of the distances, once sorted, before the first gap of `times` at or beyond place `from`; nullopt without
/// one.
std::optional<double> reach_before_gap(std::vector<double> distances, std::size_t from, double times) {
  const auto begin = distances.begin() + static_cast<std::ptrdiff_t>(from);
  std::nth_element(distances.begin(), begin, distances.end());
  if (*std::max_element(begin, distances.end()) <= times * *begin) return std::nullopt;  // and no need to sort
  std::sort(begin, distances.end());
  for (auto at = begin; at + 1 != distances.end(); ++at) {
    if (*at > 0 && *(at + 1) > times * *at) return *at;
  }
  return std::nullopt;
}

/// Where the survey lies, strays left aside.
struct Reach {
  Point2 middle = Point2::Zero();
  double plan = 0;                   // greatest distance from the middle
  double elevation = 0, relief = 0;  // median, and greatest distance from it

  bool fits(double easting, double northing) const {
    return std::abs(easting - middle.x()) <= 1.2 * plan && std::abs(northing - middle.y()) <= 1.2 * plan;
  }
  bool fits(double z) const { return std::abs(z - elevation) <= 1.5 * std::max(relief, 1.0); }
};

/// Values that programs and data collectors write where there is none; common practice.
bool stands_for_none(double value) {
  constexpr std::array known = {-99.0,    -999.0,   -9999.0, -99999.0, -999999.0, -9999999.0,
                                -32767.0, -32768.0, 99999.0, 999999.0, 9999999.0};
  return std::find(known.begin(), known.end(), value) != known.end() || std::abs(value) >= 1e30;
}

/// The shortest number that reads back equal, never with an exponent.
std::string plain(double value) {
  return std::abs(value) < 1e15 ? fmt::format("{}", std::round(value * 1e6) / 1e6) : fmt::format("{:g}", value);
}

std::string far_text(double distance) { return plain(std::round(distance)); }

// ---- what one value may have been ----

struct Guess {
  double value = 0;
  const char* how = "";
};

/// Numbers with one digit before the decimal point taken out, put in or replaced.
std::vector<Guess> digit_slips(double value) {
  std::vector<Guess> guesses;
  const std::string text = fmt::format("{:.6f}", std::abs(value));
  const std::size_t whole = text.find('.');
  if (whole > 12) return guesses;  // no coordinate, or no number at all
  const auto add = [&](const std::string& digits, const char* how) {
    double number = 0;
    std::from_chars(digits.data(), digits.data() + digits.size(), number);
    guesses.push_back({std::copysign(number, value), how});
  };
  for (std::size_t i = 0; i < whole; ++i) add(text.substr(0, i) + text.substr(i + 1), "with a digit too many");
  for (std::size_t i = 0; i <= whole; ++i) {
    for (char c = '0'; c <= '9'; ++c) add(text.substr(0, i) + c + text.substr(i), "with a digit missing");
  }
  for (std::size_t i = 0; i < whole; ++i) {
    for (char c = '0'; c <= '9'; ++c) add(text.substr(0, i) + c + text.substr(i + 1), "with a digit wrong");
  }
  return guesses;
}

/// Values that a slip could have made into this one, the likelier first.
std::vector<Guess> guesses_of(double value) {
  std::vector<Guess> guesses;
  for (const double times : {1e1, 1e2, 1e3, 1e4, 1e5, 1e6})
    guesses.push_back({value / times, "with its decimal point lost"});
  for (const double times : {1e1, 1e2, 1e3}) guesses.push_back({value * times, "with its decimal point misplaced"});
  guesses.push_back({-value, "with the wrong sign"});
  const std::vector<Guess> slips = digit_slips(value);
  guesses.insert(guesses.end(), slips.begin(), slips.end());
  return guesses;
}

/// The guess that fits; of several alike the one nearest to `wanted`.
template <class Fits>
std::optional<Guess> fitting(double value, double wanted, const Fits& fits) {
  std::optional<Guess> best;
  for (const Guess& guess : guesses_of(value)) {
    if (!fits(guess.value)) continue;
    if (!best) best = guess;
    const bool is_alike = std::string_view(best->how) == guess.how;
    if (is_alike && std::abs(guess.value - wanted) < std::abs(best->value - wanted)) best = guess;
  }
  return best;
}

std::string written(const char* what, double value, const Guess& guess) {
  return fmt::format("the {} {} seems to be written {}: {} would be among them", what, plain(value), guess.how,
                     plain(guess.value));
}

/// What a value that is none says; empty if it may be one.
std::string no_value(const char* what, double value, bool zero_would_fit) {
  if (stands_for_none(value)) return fmt::format("{} {} is often written where there is no value", what, plain(value));
  if (value == 0 && !zero_would_fit) return fmt::format("the {} is zero, as where there was no value", what);
  return {};
}

bool is_exchanged(const Shot& shot, const Reach& reach) { return reach.fits(shot.northing, shot.easting); }

std::string cause_in_plan(const Shot& shot, const Reach& reach) {
  const double n = shot.northing, e = shot.easting;
  const Point2& m = reach.middle;
  for (const std::string& none :
       {no_value("northing", n, reach.fits(m.x(), 0)), no_value("easting", e, reach.fits(0, m.y()))}) {
    if (!none.empty()) return none;
  }
  if (is_exchanged(shot, reach)) return "with northing and easting exchanged it would be among them";
  const auto northing_fits = [&](double value) { return reach.fits(m.x(), value); };
  const auto easting_fits = [&](double value) { return reach.fits(value, m.y()); };
  if (northing_fits(n)) {
    if (const auto guess = fitting(e, m.x(), easting_fits)) return written("easting", e, *guess);
  } else if (easting_fits(e)) {
    if (const auto guess = fitting(n, m.y(), northing_fits)) return written("northing", n, *guess);
  }
  if (reach.fits(e * feet_per_metre, n * feet_per_metre))
    return "taken as metres and turned into feet it would be among them";
  if (reach.fits(e / feet_per_metre, n / feet_per_metre))
    return "taken as feet and turned into metres it would be among them";
  for (const double times : {0.1, 0.01, 0.001, 1e-4, 1e-5, 1e-6, 10.0, 100.0, 1000.0}) {
    if (reach.fits(e * times, n * times)) {
      return fmt::format("both seem to be written with the decimal point {}: {} and {} would be among them",
                         times < 1 ? "lost" : "misplaced", plain(n * times), plain(e * times));
    }
  }
  if (reach.fits(-e, -n)) return "both seem to be written with the wrong sign";
  return {};
}

std::string cause_in_elevation(double z, const Reach& reach) {
  std::string none = no_value("elevation", z, reach.fits(0));
  if (!none.empty()) return none;
  if (reach.fits(z * feet_per_metre)) return "taken as metres and turned into feet it would be among them";
  if (reach.fits(z / feet_per_metre)) return "taken as feet and turned into metres it would be among them";
  const auto guess = fitting(z, reach.elevation, [&](double value) { return reach.fits(value); });
  return guess ? written("elevation", z, *guess) : std::string();
}

// ---- which shots stray ----

struct Measured {
  Reach reach;
  std::vector<double> distances;  // in plan, from the middle
  bool has_gap = false;           // beyond reach.plan lie shots that may stray
};

Measured measured(const std::vector<Shot>& shots) {
  Measured m;
  Reach& reach = m.reach;
  reach.middle = {median_of(shots, [](const Shot& s) { return s.easting; }),
                  median_of(shots, [](const Shot& s) { return s.northing; })};
  reach.elevation = median_of(shots, [](const Shot& s) { return s.elevation; });
  std::vector<double> heights;
  heights.reserve(shots.size()), m.distances.reserve(shots.size());
  constexpr double least_height = 0.2;  // so that dead level ground has some relief to measure by
  for (const Shot& s : shots) {
    m.distances.push_back(std::hypot(s.easting - reach.middle.x(), s.northing - reach.middle.y()));
    heights.push_back(std::max(std::abs(s.elevation - reach.elevation), least_height));
  }
  const std::size_t quarters = 3 * shots.size() / 4;
  const auto few = reach_before_gap(m.distances, quarters, gap_if_exchanged);
  const auto many = few ? std::nullopt : reach_before_gap(m.distances, shots.size() / 2, gap_of_many);
  m.has_gap = few || many;
  reach.plan = few ? *few : many ? *many : *std::max_element(m.distances.begin(), m.distances.end());
  const double highest = *std::max_element(heights.begin(), heights.end());
  reach.relief = reach_before_gap(std::move(heights), quarters, gap_in_elevation).value_or(highest);
  return m;
}

bool strays_in_elevation(double z, const Reach& reach, std::size_t shots) {
  const double off = std::abs(z - reach.elevation);
  if (!(off > reach.relief)) return false;
  return stands_for_none(z) || (shots >= enough_shots && (off > reach.plan || z == 0));
}

StrayShot told(std::size_t shot, std::string what, const std::string& cause) {
  if (cause.empty()) return {shot, std::move(what), "Check it against the field notes; correct it or take it out."};
  return {shot, std::move(what) + "; " + cause, "Correct it or take it out."};
}

StrayShot told_in_plan(const std::vector<Shot>& shots, std::size_t i, const Measured& m, const std::string& cause) {
  return told(i,
              fmt::format("{} at {} lies {} from the middle of the survey ({}), whose other shots are within {:.0f}",
                          shot_name(shots, i), place_name({shots[i].easting, shots[i].northing}),
                          far_text(m.distances[i]), place_name(m.reach.middle), std::ceil(m.reach.plan)),
              cause);
}

StrayShot told_in_elevation(const std::vector<Shot>& shots, std::size_t i, const Reach& reach) {
  const double z = shots[i].elevation;
  return told(i,
              fmt::format("{} at elevation {:.2f} lies {} {} the middle of the survey's elevations, {:.2f}, whose "
                          "other shots are within {:.2f}",
                          shot_name(shots, i), z, far_text(std::abs(z - reach.elevation)),
                          z > reach.elevation ? "above" : "below", reach.elevation, reach.relief),
              cause_in_elevation(z, reach));
}

std::vector<StrayShot> strays_in_plan(const std::vector<Shot>& shots, const Measured& m) {
  if (!m.has_gap) return {};
  std::vector<std::size_t> beyond;
  std::size_t others = 0;  // that are not explained by northing and easting exchanged
  for (std::size_t i = 0; i < shots.size(); ++i) {
    if (m.distances[i] > m.reach.plan) beyond.push_back(i), others += !is_exchanged(shots[i], m.reach);
  }
  const double least_of_all = shots.size() < enough_shots ? gap_of_many : 0;
  const bool is_handful = others <= std::max<std::size_t>(3, shots.size() / 50);
  std::vector<StrayShot> strays;
  for (const std::size_t i : beyond) {
    const std::string cause = cause_in_plan(shots[i], m.reach);
    const double least = is_exchanged(shots[i], m.reach) ? gap_if_exchanged
                         : is_handful                    ? gap_of_handful
                         : cause.empty()                 ? gap_of_many
                                                         : gap_with_cause;
    if (m.distances[i] > std::max(least, least_of_all) * m.reach.plan)
      strays.push_back(told_in_plan(shots, i, m, cause));
  }
  return strays;
}

}  // namespace

std::vector<StrayShot> find_strays(const std::vector<Shot>& shots) {
  if (shots.size() < least_shots) return {};
  const Measured m = measured(shots);
  const std::vector<StrayShot> in_plan = strays_in_plan(shots, m);
  std::vector<StrayShot> strays;
  auto next = in_plan.begin();
  for (std::size_t i = 0; i < shots.size(); ++i) {
    if (next != in_plan.end() && next->shot == i) {
      strays.push_back(*next++);
    } else if (strays_in_elevation(shots[i].elevation, m.reach, shots.size())) {
      strays.push_back(told_in_elevation(shots, i, m.reach));
    }
  }
  return strays;
}

}  // namespace moundwright

// Prints what geom/stakes.h makes of many values, one JSON object, for the field page's arithmetic to be held against:
// what is typed on a rod, ties of the rounding, and random lengths with a fixed seed.
#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <random>

#include "geom/stakes.h"
#include "geom/trade_text.h"

using namespace moundwright;

namespace {

struct Sample {
  double hi, grade, ground;
};

std::vector<Sample> samples() {
  std::vector<Sample> all = {{105.12, 101.40, 99.32}, {828.42, 820.00, 827.22}};
  for (int i = 0; i <= 400; ++i) all.push_back({100.0 + i / 8.0, 100.0 - i / 16.0, 100.0 + i / 200.0});
  std::mt19937_64 random(1081);
  std::uniform_real_distribution<double> height(-50.0, 1500.0), near(-30.0, 30.0);
  for (int i = 0; i < 4000; ++i) {
    const double hi = std::round(height(random) * 100.0) / 100.0;
    all.push_back({hi, hi - near(random), hi - near(random)});
  }
  return all;
}

nlohmann::json values_of(const Sample& s) {
  nlohmann::json json = {{"hi", s.hi}, {"grade", s.grade}, {"ground", s.ground}, {"rod", grade_rod(s.hi, s.grade)}};
  json["feet_inches"] = feet_inches_eighths(std::abs(s.hi - s.grade));
  for (const LengthUnit unit : {LengthUnit::foot, LengthUnit::metre}) {
    json[symbol(unit)] = {{"cut_or_fill", cut_or_fill(s.ground, s.grade, unit)},
                          {"rod", rod_text(grade_rod(s.hi, s.grade, unit), unit)},
                          {"fixed", fixed_text(s.grade, length_decimals(unit))}};
  }
  return json;
}

}  // namespace

int main() {
  nlohmann::json all = nlohmann::json::array();
  for (const Sample& sample : samples()) all.push_back(values_of(sample));
  fmt::print("{}\n", all.dump());
  return 0;
}

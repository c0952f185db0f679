// How a job tells its bulk material: cubic yards, US tons and pounds a yard where lengths are in feet; cubic metres,
// tonnes and kilograms a cubic metre where they are in metres.
//
//   const BulkUnits& bulk = bulk_units(LengthUnit::metre);
//   fmt::format("{:.1f} {}", bulk.of_yard * order.bought.cy, bulk.volume);     // "57.0 m3"
//
// Everything is computed in yards, US tons and pounds; what a metric job gives is turned on the way in and what it is
// told on the way out. Exact by NIST Handbook 44, Appendix C: 1 yd = 0.9144 m, 1 lb = 0.45359237 kg, 1 (short) ton =
// 2,000 lb.
#pragma once

#include "geom/units.h"

namespace moundwright {

constexpr double pounds_per_ton = 2000.0;
constexpr double kilograms_per_pound = 0.45359237;
constexpr double tonnes_per_ton = pounds_per_ton * kilograms_per_pound / 1000.0;
constexpr double cubic_metres_per_yard = 0.9144 * 0.9144 * 0.9144;

struct BulkUnits {
  bool metric = false;
  const char* volume;      // "cu yd"
  const char* volume_key;  // at the end of a column's or key's name: "cy"
  const char* weight;      // "tons"
  const char* weight_key;  // "tons"
  const char* density;     // "lb/cu yd"
  double of_yard = 1;      // told volume of a cubic yard
  double of_ton = 1;       // told weight of a US ton
  double of_density = 1;   // told density of a pound a yard
  double weight_of = 1;    // told density over told weight of a told volume: 2,000 lb are a ton, 1,000 kg a tonne
};

constexpr BulkUnits yards_and_tons = {false, "cu yd", "cy", "tons", "tons", "lb/cu yd", 1, 1, 1, pounds_per_ton};
constexpr BulkUnits cubic_metres_and_tonnes = {true,
                                               "m3",
                                               "m3",
                                               "t",
                                               "tonnes",
                                               "kg/m3",
                                               cubic_metres_per_yard,
                                               tonnes_per_ton,
                                               kilograms_per_pound / cubic_metres_per_yard,
                                               1000.0};

constexpr const BulkUnits& bulk_units(LengthUnit unit) {
  return unit == LengthUnit::metre ? cubic_metres_and_tonnes : yards_and_tons;
}

}  // namespace moundwright

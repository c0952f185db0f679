#include "io/quantities_csv.h"

#include <fmt/format.h>

#include "geom/stakes.h"
#include "io/csv_write.h"

namespace moundwright {
namespace {

std::string layer_row(const TakeoffItem& item, LengthUnit unit) {
  return fmt::format("fill,{},{},{},{},{},{},{},{}\n", csv_quoted(item.name), csv_quoted(item.material),
                     fixed_text(item.volume_cy, 2), fixed_text(item.end_area_cy, 2), fixed_text(item.plan_area, 1),
                     fixed_text(item.thickness_least, 2), fixed_text(item.thickness_most, 2), symbol(unit));
}

std::string total_row(const char* kind, double volume_cy, double end_area_cy, LengthUnit unit) {
  return fmt::format("total,{},,{},{},,,,{}\n", kind, fixed_text(volume_cy, 2), fixed_text(end_area_cy, 2),
                     symbol(unit));
}

}  // namespace

std::string quantities_csv(const Takeoff& takeoff, LengthUnit unit) {
  std::string csv = "kind,item,material,in_place_cy,end_area_cy,plan_area,thickness_least,thickness_most,unit\n";
  for (const TakeoffItem& item : takeoff.fill) csv += layer_row(item, unit);
  for (const TakeoffItem& item : takeoff.cut) {
    csv += fmt::format("cut,{},,{},,{},,,{}\n", csv_quoted(item.name), fixed_text(item.volume_cy, 2),
                       fixed_text(item.plan_area, 1), symbol(unit));
  }
  csv += total_row("fill", takeoff.fill_cy, takeoff.end_area_fill_cy, unit);
  csv += total_row("cut", takeoff.cut_cy, takeoff.end_area_cut_cy, unit);
  if (takeoff.scarify_area > 0) {
    csv += fmt::format("area,scarify,,,,{},,,{}\n", fixed_text(takeoff.scarify_area, 1), symbol(unit));
  }
  csv += fmt::format("check,finished minus prepared ground,,{},,,,,{}\n", fixed_text(takeoff.balance.independent_cy, 2),
                     symbol(unit));
  return csv;
}

}  // namespace moundwright

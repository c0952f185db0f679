#include "io/stakes_csv.h"

#include <fmt/format.h>

#include <optional>
#include <vector>

#include "geom/trade_text.h"
#include "io/csv_write.h"

namespace moundwright::io {
namespace {

void append_record(std::string& csv, const std::vector<std::string>& fields) {
  for (std::size_t i = 0; i < fields.size(); ++i) {
    if (i > 0) csv += ',';
    csv += csv_field(fields[i]);
  }
  csv += '\n';
}

std::vector<std::string> header_of(const StakeOut& stake_out) {
  std::vector<std::string> fields = {"point",   "northing", "easting",       "elevation", "description", "kind",
                                     "station", "offset",   "ground_approx", "cut_fill",  "to_shoulder", "slope"};
  for (const Mark& mark : stake_out.tie_marks) fields.push_back("tie " + mark.name);
  fields.insert(fields.end(), {"walk_order", "hub_shot"});
  return fields;
}

std::vector<std::string> fields_of(const Stake& stake, LengthUnit unit) {
  const auto length = [&](const std::optional<double>& value) {
    return value ? fixed_text(*value, length_decimals(unit)) : std::string();
  };
  std::vector<std::string> fields = {fmt::format("{}", stake.number),
                                     fixed_text(stake.northing, 3),
                                     fixed_text(stake.easting, 3),
                                     length(stake.design),
                                     stake.what,
                                     to_text(stake.kind),
                                     stake.station,
                                     stake.offset,
                                     length(stake.ground),
                                     stake.cut_fill,
                                     length(stake.to_shoulder),
                                     stake.slope_run ? slope_text(*stake.slope_run) : ""};
  for (const double tie : stake.ties) fields.push_back(length(tie));
  fields.push_back(fmt::format("{}", stake.walk_order));
  fields.emplace_back();
  return fields;
}

}  // namespace

std::string stakes_csv(const StakeOut& stake_out, LengthUnit unit) {
  std::string csv;
  append_record(csv, header_of(stake_out));
  for (const Stake& stake : stake_out.stakes) append_record(csv, fields_of(stake, unit));
  return csv;
}

}  // namespace moundwright::io

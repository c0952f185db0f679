// Yards in place, and the cross-check that a person can follow.
#include <fmt/format.h>

#include <cmath>

#include "io/sheet_pages.h"

namespace moundwright::io {
namespace {

std::string apart(const SheetJob& job, double exact, double by_areas) {
  if (exact <= 0) return "";
  const auto signed_text = [](double value, int decimals) {
    const std::string text = fixed_text(value, decimals);
    return value > 0 && text != fixed_text(0, decimals) ? "+" + text : text;
  };
  return fmt::format(
      "{} ({} %)", signed_text(printed_difference(bulk_of(job).of_yard * by_areas, bulk_of(job).of_yard * exact, 1), 1),
      signed_text(100 * (by_areas / exact - 1), 1));
}

void add_fill(const SheetJob& job, SheetFlow& flow) {
  const Takeoff& t = job.results.found().takeoff;
  const std::vector<TableColumn> columns{{"Layer, as they go down", 92},
                                         {"Material", 92},
                                         {fmt::format("In place, {}", bulk_of(job).volume), 66, 1},
                                         {fmt::format("By end areas, {}", bulk_of(job).volume), 66, 1},
                                         {"End areas differ by", 76, 1},
                                         {fmt::format("Plan area, {}", area_unit(job)), 56, 1},
                                         {fmt::format("Thickness, {}", tape_unit(job)), 88, 1}};
  std::vector<TableRow> rows;
  for (const TakeoffItem& item : t.fill) {
    rows.push_back(
        {bold_cell(item.name),
         {item.material},
         bold_cell(volume_text(job, item.volume_cy)),
         {volume_text(job, item.end_area_cy)},
         {apart(job, item.volume_cy, item.end_area_cy)},
         {fixed_text(item.plan_area, 0)},
         {fmt::format("{} to {}", length_text(job, item.thickness_least), length_text(job, item.thickness_most))}});
  }
  rows.push_back({bold_cell("All fill"),
                  {},
                  bold_cell(volume_text(job, t.fill_cy)),
                  {volume_text(job, t.end_area_fill_cy)},
                  {apart(job, t.fill_cy, t.end_area_fill_cy)},
                  {fixed_text(job.results.mound().buildup.footprint_area, 0)},
                  {}});
  flow.heading("Fill");
  flow.table(columns, rows, {9, 7.5, 20});
  if (t.on_assumed) {
    flow.caution(
        fmt::format("Not surveyed: {}; {}.", to_text(*t.on_assumed, job.results.job.site.unit), shoot_assumed_ground));
  }
}

/// How sure the yards are, where the job says how good its shots are.
void add_accuracy(const SheetJob& job, SheetFlow& flow) {
  const std::optional<Accuracy>& accuracy = job.results.estimate.accuracy;
  if (!accuracy) return;
  std::vector<TableRow> rows;
  const auto row = [&](const PlusOrMinus& item, const std::string& name) {
    rows.push_back({bold_cell(name),
                    {volume_text(job, item.random_cy)},
                    {volume_text(job, item.systematic_cy)},
                    bold_cell(volume_text(job, item.both_cy()))});
    if (accuracy->bottom_rise) rows.back().push_back({volume_text(job, item.rise_cy)});
  };
  for (const PlusOrMinus& item : accuracy->fill) row(item, item.name);
  row(accuracy->total_fill, "All fill");
  for (const PlusOrMinus& item : accuracy->cut) row(item, fmt::format("cut: {}", item.name));
  flow.gap(10);
  flow.heading(
      fmt::format("Plus or minus, {}, from how good the shots are: one standard deviation", bulk_of(job).volume));
  std::vector<TableColumn> columns = {
      {"Layer", 160},
      {fmt::format("each shot by itself, {:g} {}", accuracy->shots.random, tape_unit(job)), 110, 1},
      {fmt::format("common to all, {:g} {}", accuracy->shots.systematic, tape_unit(job)), 110, 1},
      {"Both", 90, 1}};
  if (accuracy->bottom_rise) columns.push_back({"Expect more", 80, 1});
  flow.table(columns, rows, {9, 7.5, 18});
  if (!accuracy->bottom_rise) return;
  flow.gap(4);
  flow.paragraph(
      fmt::format("Expect more: the bed follows the highest of many shots, and errors of that size raise it {} {} "
                  "on average. It is in no other figure.",
                  fixed_text(*accuracy->bottom_rise, 2), tape_unit(job)),
      plain_text(9));
}

void add_cut(const SheetJob& job, SheetFlow& flow) {
  const Takeoff& t = job.results.found().takeoff;
  std::vector<TableRow> rows;
  for (const TakeoffItem& item : t.cut) {
    rows.push_back(
        {bold_cell(item.name), bold_cell(volume_text(job, item.volume_cy)), {}, {}, {fixed_text(item.plan_area, 0)}});
  }
  if (!t.cut.empty()) {
    rows.push_back({bold_cell("All cut"),
                    bold_cell(volume_text(job, t.cut_cy)),
                    {volume_text(job, t.end_area_cut_cy)},
                    {apart(job, t.cut_cy, t.end_area_cut_cy)},
                    {}});
  }
  if (t.scarify_area > 0) {
    rows.push_back({bold_cell("scarify, in place"), {"no cut"}, {}, {}, {fixed_text(t.scarify_area, 0)}});
  }
  if (rows.empty()) return;
  flow.gap(10);
  flow.heading("Cut and ground to prepare");
  flow.table({{"Item", 150},
              {fmt::format("Cut, bank {}", bulk_of(job).volume), 90, 1},
              {fmt::format("By end areas, {}", bulk_of(job).volume), 90, 1},
              {"End areas differ by", 90, 1},
              {fmt::format("Plan area, {}", area_unit(job)), 90, 1}},
             rows, {9, 7.5, 20});
}

void add_berm(const SheetJob& job, SheetFlow& flow) {
  const BermLengths& berm = job.results.mound().buildup.berm;
  std::vector<TableRow> rows;
  const auto row = [&](const char* face, const BermLength& length) {
    rows.push_back({bold_cell(face),
                    bold_cell(fixed_text(length.middle, 1)),
                    {fixed_text(length.least, 1)},
                    {fixed_text(length.most, 1)}});
  };
  row("upslope", berm.upslope);
  row("downslope", berm.downslope);
  row("left end, looking downslope", berm.left);
  row("right end, looking downslope", berm.right);
  flow.gap(10);
  flow.heading(fmt::format("Berm: from the bed's edge to the toe, level, {}", tape_unit(job)));
  flow.table({{"Face", 200}, {"At mid-length", 90, 1}, {"Least", 90, 1}, {"Most", 90, 1}}, rows, {9, 7.5, 20});
  flow.gap(4);
  flow.paragraph(
      fmt::format("Footprint {} {}; toe {} {} round.", fixed_text(job.results.mound().buildup.footprint_area, 0),
                  area_unit(job), fixed_text(job.results.mound().buildup.footprint_perimeter, 0), tape_unit(job)),
      plain_text(9));
}

}  // namespace

std::vector<SheetPage> quantity_pages(const SheetJob& job) {
  const Takeoff& t = job.results.found().takeoff;
  SheetFlow flow = new_flow(job, false);
  flow.paragraph(
      "Neat volumes, in place, on the ground as surveyed: they hold no swell, shrink or waste. Do not order by them.",
      plain_text(10, true));
  flow.gap(4);
  add_fill(job, flow);
  add_cut(job, flow);
  flow.gap(6);
  flow.paragraph(totals_note, plain_text(9));
  flow.paragraph(
      fmt::format("End areas: {} sections square to the bed every {:g} {}, averaged. A check that a person can follow; "
                  "it strays where faces are vertical. The volumes in place are exact on the survey's triangles: the "
                  "layers and an independent integral of finished minus prepared ground ({} {}) differ by {:.0e} of "
                  "the fill.",
                  t.end_area_sections, t.end_area_interval, tape_unit(job), volume_text(job, t.balance.independent_cy),
                  bulk_of(job).volume, std::abs(t.balance.relative_difference)),
      plain_text(9));
  add_accuracy(job, flow);
  add_berm(job, flow);
  return flow_pages(job, "Quantities", false, flow);
}

}  // namespace moundwright::io

#include "io/summary_json.h"

#include <nlohmann/json.hpp>

#include "io/estimate_json.h"

namespace moundwright::io {
namespace {

using Json = nlohmann::ordered_json;

Json ground_json(const SiteResults& r) {
  const SurveyedCounts surveyed = surveyed_counts(r.ground());
  return {{"points", surveyed.points},
          {"triangles", surveyed.triangles},
          {"slope_percent", r.found().fall ? 100.0 * r.found().fall->slope : 0.0},
          {"downslope_azimuth", r.found().fall ? r.found().fall->downslope_azimuth : 0.0}};
}

/// Ground that was not surveyed, where the job has it carried on.
Json assumed_ground_json(const SiteResults& r) {
  const OnAssumedGround none, &used = r.found().takeoff.on_assumed ? *r.found().takeoff.on_assumed : none;
  Json json = {{"extend", r.ground().extended},
               {"area_under_mound", used.area},
               {"fill_cy", used.fill_cy},
               {"farthest_past_survey", used.farthest}};
  if (r.found().takeoff.on_assumed) json["farthest_at"] = {{"n", used.at.y()}, {"e", used.at.x()}};
  return json;
}

Json toe_json(const Buildup& b) {
  return {{"upslope", b.berm.upslope.middle}, {"downslope", b.berm.downslope.middle},
          {"left", b.berm.left.middle},       {"right", b.berm.right.middle},
          {"plan_area", b.footprint_area},    {"perimeter", b.footprint_perimeter}};
}

Json berm_json(const BermLength& length) {
  return {{"middle", length.middle}, {"least", length.least}, {"most", length.most}};
}

Json fill_json(const Takeoff& takeoff, const Buildup& buildup, const Ground& ground) {
  Json items = Json::array();
  for (std::size_t k = 0; k < takeoff.fill.size(); ++k) {
    const TakeoffItem& item = takeoff.fill[k];
    const Point3& c = buildup.layers[k].centroid;
    const Point2 at = ground.to_world({c.x(), c.y()});
    items.push_back({{"name", item.name},
                     {"material", item.material},
                     {"volume_cy", item.volume_cy},
                     {"plan_area", item.plan_area},
                     {"thickness_least", item.thickness_least},
                     {"thickness_most", item.thickness_most},
                     {"centroid", {{"n", at.y()}, {"e", at.x()}, {"elevation", c.z()}}},
                     {"end_area_cy", item.end_area_cy}});
  }
  return items;
}

Json cut_json(const Takeoff& takeoff) {
  Json items = Json::array();
  for (const TakeoffItem& item : takeoff.cut) {
    items.push_back({{"name", item.name}, {"volume_cy", item.volume_cy}, {"plan_area", item.plan_area}});
  }
  return items;
}

Json checks_json(const std::vector<PlanCheck>& checks) {
  Json items = Json::array();
  for (const PlanCheck& check : checks) {
    Json item = {{"name", check.name}, {"verdict", to_text(check.verdict)}, {"text", check.text}};
    if (check.found) item["found"] = *check.found;
    if (check.asked) item["asked"] = *check.asked;
    if (!check.unit.empty()) item["unit"] = check.unit;
    if (check.at) item["at"] = {{"n", check.at->y()}, {"e", check.at->x()}};
    if (!check.what_to_do.empty()) item["what_to_do"] = check.what_to_do;
    items.push_back(std::move(item));
  }
  return items;
}

Json grades_json(const StakeOut& stakes) {
  Json items = Json::array();
  for (const Grade& grade : stakes.grades) {
    items.push_back({{"name", grade.name}, {"elevation", grade.elevation}});
  }
  return items;
}

Json taped_json(const StakeOut& stakes) {
  Json items = Json::array();
  for (const std::vector<TapeCheck>* list : {&stakes.sides, &stakes.diagonals}) {
    for (const TapeCheck& check : *list) items.push_back({{"what", check.what}, {"distance", check.distance}});
  }
  return items;
}

}  // namespace

std::string summary_json(const SiteResults& r) {
  const Buildup& b = r.mound().buildup;
  Json json;
  json["units"] = symbol(r.job.site.unit);
  json["ground"] = ground_json(r);
  if (r.ground().extended > 0) json["assumed_ground"] = assumed_ground_json(r);
  json["bed"] = {{"bottom_elevation", b.bottom_elevation}, {"sand_least", b.sand_least}, {"sand_most", b.sand_most}};
  json["toe"] = toe_json(b);
  json["cut"] = cut_json(r.found().takeoff);
  json["fill"] = fill_json(r.found().takeoff, b, r.ground());
  json["total"] = {{"cut_cy", r.found().takeoff.cut_cy}, {"fill_cy", r.found().takeoff.fill_cy}};
  json["title"] = r.job.site.title;
  json["downslope"] = *r.mound().design().downslope;
  json["berm"] = {{"upslope", berm_json(b.berm.upslope)},
                  {"downslope", berm_json(b.berm.downslope)},
                  {"left", berm_json(b.berm.left)},
                  {"right", berm_json(b.berm.right)}};
  json["scarify_area"] = r.found().takeoff.scarify_area;
  json["end_area_check"] = {{"interval", r.found().takeoff.end_area_interval},
                            {"sections", r.found().takeoff.end_area_sections},
                            {"fill_cy", r.found().takeoff.end_area_fill_cy},
                            {"cut_cy", r.found().takeoff.end_area_cut_cy}};
  json["mass_balance"] = {{"layers_cy", r.found().takeoff.balance.layers_cy},
                          {"independent_cy", r.found().takeoff.balance.independent_cy},
                          {"relative_difference", r.found().takeoff.balance.relative_difference}};
  json["left_out"] = {{"patches", b.specks}, {"plan_area", b.specks_area}};
  json["grades"] = grades_json(r.found().stakes);
  json["taped"] = taped_json(r.found().stakes);
  json["checks"] = checks_json(r.found().checks);
  json["estimate"] = estimate_json(r.estimate, r.ground());
  if (bulk_units(r.job.site.unit).metric) json = with_metric_twins(json);
  return json.dump(2) + "\n";
}

}  // namespace moundwright::io

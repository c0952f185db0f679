#include "geom/units.h"
#include "packet_readings.h"

namespace moundwright {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

/// A job in metres gives yards and tons with cubic metres and tonnes beside them: the latter are what the other files
/// tell, and come under the names of the former here. The two must be of one size.
json as_told(json value) {
  constexpr double cubic_metre = 0.764554857984, tonne = 0.90718474;  // in a yard; in a ton: exact by definition
  if (!value.is_structured()) return value;
  for (json& part : value) part = as_told(part);
  if (!value.is_object()) return value;
  const std::tuple<std::string, std::string, double> pairs[] = {
      {"per_m3", "per_yard", 1 / cubic_metre}, {"_m3", "_cy", cubic_metre}, {"tonnes", "tons", tonne}};
  for (const json all = value; const auto& [key, told] : all.items()) {
    for (const auto& [metric, plain, size] : pairs) {
      if (!key.ends_with(metric)) continue;
      json& beside = value[key.substr(0, key.size() - metric.size()) + plain];
      EXPECT_NEAR(told, beside.get<double>() * size, 1e-9 * (1 + std::abs(told.get<double>()))) << key;
      beside = told;
      break;
    }
  }
  return value;
}

void add_takeoff(const json& summary, Truth& truth) {
  std::map<std::string, double>& f = truth.figures;
  for (const char* kind : {"fill", "cut"}) {
    for (const auto& item : summary[kind]) {
      const std::string name = item["name"];
      f[std::string(kind) + " " + name] = item["volume_cy"];
      f["plan area of " + name] = item["plan_area"];
      if (std::string(kind) == "cut") continue;
      f["least thickness of " + name] = item["thickness_least"];
      f["greatest thickness of " + name] = item["thickness_most"];
      f["end areas of " + name] = item["end_area_cy"];
    }
  }
  f["total fill"] = summary["total"]["fill_cy"];
  f["total cut"] = summary["total"]["cut_cy"];
  f["end areas of fill"] = summary["end_area_check"]["fill_cy"];
  f["end areas of cut"] = summary["end_area_check"]["cut_cy"];
  f["end area sections"] = summary["end_area_check"]["sections"];
  f["end area interval"] = summary["end_area_check"]["interval"];
  f["independent fill"] = summary["mass_balance"]["independent_cy"];
  f["scarified area"] = summary["scarify_area"];
  f["plan area"] = summary["toe"]["plan_area"];
  f["perimeter"] = summary["toe"]["perimeter"];
  f["bed bottom"] = summary["bed"]["bottom_elevation"];
  for (const auto& [face, length] : summary["berm"].items()) {
    for (const char* which : {"middle", "least", "most"}) f["berm " + face + ", " + which] = length[which];
  }
}

void add_orders(const json& estimate, Truth& truth) {
  std::map<std::string, double>& f = truth.figures;
  for (const auto& order : estimate["orders"]) {
    const std::string material = order["material"];
    const auto set = [&](const char* figure, const char* key) {
      if (order.contains(key)) f[figure + (" " + material)] = order[key];
    };
    set("neat", "in_place_cy");
    set("lost of", "interface_cy");
    set("needed", "needed_loose_cy");
    set("waste of", "waste_loose_cy");
    set("from the site", "from_site_loose_cy");
    set("mixed", "mixed_loose_cy");
    set("bought", "bought_loose_cy");
    set("tons of", "tons");
    set("cost of", "cost");
    f["with losses " + material] = order["in_place_cy"].get<double>() + order["interface_cy"].get<double>();
    if (!order.contains("loads")) continue;
    f["loads of " + material] = order["loads"]["count"];
    f["a load of " + material] = order["loads"]["each_loose_cy"];
    f["last load of " + material] = order["loads"]["part_loose_cy"];
  }
  for (const auto& d : estimate["deliveries"]) {
    if (d.contains("item")) {  // no material: rolls, bags, feet of pipe
      const std::string item = "delivery " + d["stage"].get<std::string>() + ", " + d["item"].get<std::string>();
      f[item + ", amount"] = printed(d["amount"].get<std::string>()).value;
      continue;
    }
    const std::string name = "delivery " + d["stage"].get<std::string>() + ", " + d["material"].get<std::string>();
    f[name] = d["loose_cy"];
    f[name + ", loads"] = d["loads"];
    if (d["loads"] == 0) continue;  // it comes out of the last one
    for (const char* which : {"first_load", "last_load"}) f[name + ", " + which] = d[which];
  }
  for (const auto& soil : estimate["site_soil"]) {
    const std::string name = "soil " + soil["name"].get<std::string>() + ", ";
    f[name + "bank"] = soil["bank_cy"];
    for (const char* which : {"loose", "lost", "used", "spread", "hauled"}) {
      f[name + which] = soil[which == std::string("loose") ? "loose_cy" : which + std::string("_loose_cy")];
    }
    if (soil.contains("loads")) f[name + "loads"] = soil["loads"]["count"];
    if (soil.contains("loads")) f[name + "last load"] = soil["loads"]["part_loose_cy"];
  }
  for (const auto& item : estimate["items"]) {
    const std::string name = item["name"];
    f["measured " + name] = item["quantity"];
    f["order of " + name] = item["order"];
    f["cost of item " + name] = item.value("cost", 0.0);
  }
  for (const auto& line : estimate["interface"]) {
    const std::string name = line["what"].get<std::string>() + ", " + line["material"].get<std::string>();
    f[name] = line["in_place_cy"];
    f["area of " + name] = line["area"];
  }
}

void add_lifts(const json& estimate, Truth& truth) {
  if (!estimate.contains("lifts")) return;
  for (const auto& lift : estimate["lifts"]["lifts"]) {
    const std::string name = "lift " + std::to_string(lift["number"].get<int>());
    truth.figures[name + " bottom"] = lift["bottom"];
    truth.figures[name + " top"] = lift["top"];
    for (const auto& part : lift["parts"]) {
      const std::string layer = name + " " + part["layer"].get<std::string>();
      const double face = part["face_cy"], pressed = part["pressed_cy"], neat = part["in_place_cy"];
      truth.figures[layer] = neat;
      truth.figures[layer + ", face"] = face;
      truth.figures[layer + ", pressed"] = pressed;
      truth.figures[layer + ", placed"] = neat + face + pressed;
      truth.figures[layer + ", more"] = face + pressed;
    }
  }
}

void add_accuracy(const json& estimate, Truth& truth) {
  if (!estimate.contains("accuracy")) return;
  const auto add = [&](const std::string& name, const json& band) {
    for (const char* which : {"random", "systematic", "both", "rise"}) {
      const std::string key = which + std::string("_cy");
      if (band.contains(key)) truth.figures["plus or minus " + name + ", " + which] = band[key];
    }
  };
  const json& accuracy = estimate["accuracy"];
  for (const auto& band : accuracy["fill"]) add("fill " + band["name"].get<std::string>(), band);
  for (const auto& band : accuracy["cut"]) add("cut " + band["name"].get<std::string>(), band);
  add("total fill", accuracy["total_fill"]);
  add("total cut", accuracy["total_cut"]);
  truth.figures["shots, each"] = accuracy["shot_random"];
  truth.figures["shots, all"] = accuracy["shot_systematic"];
  for (std::size_t i = 0; i < accuracy["more_shots"].size(); ++i) {
    const std::string name = "shot that would help " + std::to_string(i + 1);
    truth.figures[name + " northing"] = accuracy["more_shots"][i]["n"];
    truth.figures[name + " easting"] = accuracy["more_shots"][i]["e"];
    truth.figures[name + " then"] = accuracy["more_shots"][i]["fill_random_after_cy"];
  }
}

/// A figure for what the lines of a kind add up to, and one for each line.
void add_settling(const json& estimate, Truth& truth) {
  for (const auto& grade : estimate["settled_grades"]) {
    const std::string place = grade["layer"].get<std::string>() + ", " + grade["where"].get<std::string>();
    truth.figures["placed " + place] = grade["placed"];
    truth.figures["settled " + place] = grade["settled"];
  }
}

void add_bid(const json& estimate, Truth& truth) {
  if (!estimate.contains("bid")) return;
  std::map<std::string, double>& f = truth.figures;
  const json& bid = estimate["bid"];
  for (const auto& line : bid["lines"]) {
    const std::string name = "bid, " + line["kind"].get<std::string>() + ", " + line["name"].get<std::string>();
    for (const char* which : {"quantity", "rate", "amount"}) f[name + ", " + which] = line[which];
    if (line["unit"] != "hours") continue;
    // A workbook has a line for each worker, and names who before what.
    static const std::regex form("(.*), (?:\\d+ x )?(.*)");
    const std::string plain = line["name"];
    const std::string work = std::regex_replace(plain, form, "work, $2, $1, ");
    f[work + "hours"] += line["quantity"].get<double>();
    f[work + "amount"] += line["amount"].get<double>();
  }
  for (const char* which : {"material", "items", "haul", "machine", "machine_hours", "labour", "labour_hours", "direct",
                            "overhead", "margin", "total", "per_yard"}) {
    f[std::string("bid ") + which] = bid[which];
  }
  f["bid total with material charged as ordered"] = bid["total_as_ordered"];
  f["bid total with material charged by whole loads"] = bid["total_whole_loads"];
}

void add_told(const json& summary, Truth& truth) {
  for (const auto& grade : summary["grades"]) {
    truth.grades.push_back(grade["name"]);
    truth.figures["grade " + truth.grades.back()] = grade["elevation"];
  }
  for (const auto& check : summary["taped"]) {
    truth.figures["taped " + check["what"].get<std::string>()] = check["distance"];
  }
  for (std::size_t i = 0; i < summary["checks"].size(); ++i) {
    const json& check = summary["checks"][i];
    const std::string name = "check " + std::to_string(i + 1);
    if (check.contains("found")) truth.figures[name + " found"] = check["found"];
    if (check.contains("asked")) truth.figures[name + " asked"] = check["asked"];
    if (!check.contains("at")) continue;
    truth.figures[name + " northing"] = check["at"]["n"];
    truth.figures[name + " easting"] = check["at"]["e"];
  }
}

void add_stakes(const fs::path& packet, Truth& truth) {
  const SheetCells rows = cells_of(io::read_file(packet / "stakes.csv"));
  const auto column = [&](const char* name) { return column_of(rows, 0, name); };
  const std::size_t ground = column("ground_approx"), shoulder = column("to_shoulder"), order = column("walk_order");
  const std::string tie = "tie ";
  for (const std::string& heading : rows[0]) {
    if (heading.starts_with(tie)) truth.tie_marks.push_back(heading.substr(tie.size()));
  }
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const std::vector<std::string>& row = rows[i];
    if (row.size() < 4) continue;
    const auto set = [&](const std::string& figure, std::size_t at) {
      if (!row[at].empty()) truth.figures["stake " + row[0] + " " + figure] = std::stod(row[at]);
    };
    set("northing", 1), set("easting", 2), set("design", 3), set("ground", ground), set("shoulder", shoulder);
    for (std::size_t k = 0; k < truth.tie_marks.size(); ++k) {
      set("tie " + truth.tie_marks[k], order - truth.tie_marks.size() + k);
    }
    const double edge = row[3].empty() ? truth.figures.at("bed bottom") : std::stod(row[3]);
    if (!row[ground].empty()) truth.figures["stake " + row[0] + " about"] = edge - std::stod(row[ground]);
  }
}

/// What is shot at each stage stands on paper and on the page alone; the page's figures have all their digits.
void add_stages(const fs::path& packet, Truth& truth) {
  const json data = field_data(packet);
  for (const auto& stage : data["stages"]) {
    const std::string name = stage["name"];
    for (const auto& point : stage["points"]) {
      truth.stages[name].push_back(point["name"]);
      for (const char* which : {"design", "highest", "ground"}) {
        if (!point.contains(which)) continue;
        truth.figures["stage " + name + ", " + truth.stages[name].back()] = point[which];
        break;
      }
    }
    if (stage.contains("least_thickness")) truth.figures["least sand"] = stage["least_thickness"];
  }
}

}  // namespace

nlohmann::json field_data(const fs::path& packet) {
  const std::string page = io::read_file(packet / "field.html"), open = R"(<script type="application/json" id="job">)";
  const std::size_t begin = page.find(open) + open.size();
  return json::parse(page.substr(begin, page.find("</script>", begin) - begin));
}

Truth truth_of(const fs::path& packet) {
  const json summary = as_told(json::parse(io::read_file(packet / "summary.json")));
  Truth truth;
  add_takeoff(summary, truth);
  add_orders(summary["estimate"], truth);
  add_lifts(summary["estimate"], truth);
  add_settling(summary["estimate"], truth);
  add_accuracy(summary["estimate"], truth);
  add_bid(summary["estimate"], truth);
  add_told(summary, truth);
  add_stakes(packet, truth);
  add_stages(packet, truth);
  const std::string unit = summary["units"];
  truth.metric = unit == "m";
  truth.told_volume =
      truth.metric ? 1 : cubic_yards_per(unit == "us-ft" ? LengthUnit::us_survey_foot : LengthUnit::foot);
  return truth;
}

}  // namespace moundwright

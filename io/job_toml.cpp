#include "io/job_toml.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <utility>

#include "geom/ground_margin.h"
#include "geom/limits.h"
#include "geom/one_place.h"
#include "io/ascii.h"
#include "io/crs.h"
#include "io/estimate_toml.h"
#include "io/job_key.h"
#include "io/nearest_word.h"
#include "io/plain_text.h"
#include "io/text_file.h"
#include "io/toml_table.h"

namespace moundwright::io {
namespace {

std::vector<Eigen::Vector2d> read_line(Table& table, std::size_t least) {
  std::vector<Eigen::Vector2d> line;
  std::vector<Table> places =
      table.tables("line", "a list of places such as [{ n = 1.0, e = 2.0 }, { n = 3.0, e = 4.0 }]");
  for (Table& place : places) {
    if (const auto at = place.place()) line.push_back(*at);
    place.tell_unknown();
  }
  if (!places.empty() && places.size() < least) {
    table.error("line",
                fmt::format("{} has {} place{}", table.key("line"), places.size(), places.size() == 1 ? "" : "s"),
                fmt::format("It needs {} or more.", least));
  }
  return line;
}

/// A number for all faces, or a table by face.
std::optional<ByFace> read_by_face(Table& table, std::string_view name, const char* example) {
  const toml::node* node = table.get(name, Need::required);
  if (!node) return std::nullopt;
  if (!node->is_table()) {
    if (!node->is_number()) {
      table.wrong_kind(
          name, *node,
          fmt::format("a number such as {0}, or by face such as {{ upslope = {0}, downslope = {0}, ends = {0} }}",
                      example)
              .c_str());
      return std::nullopt;
    }
    const auto value = table.number_of(*node, name, Allowed::not_negative, example);
    return value ? std::optional(ByFace::all(*value)) : std::nullopt;
  }
  Table faces = *table.table(name, Need::required, "");
  const auto face = [&](const char* key, Need need) { return faces.number(key, need, Allowed::not_negative, example); };
  const auto upslope = face("upslope", Need::required), downslope = face("downslope", Need::required);
  const auto ends = face("ends", Need::optional);
  const Need each = faces.has("ends") ? Need::optional : Need::required;
  const auto left = face("left", each), right = face("right", each);
  if (faces.has("ends") && (faces.has("left") || faces.has("right"))) {
    faces.error("ends", fmt::format("{} has ends and also left or right", table.key(name)),
                "Give either ends, or left and right.");
  }
  faces.tell_unknown();
  if (!upslope || !downslope || !(ends || (left && right))) return std::nullopt;
  return ByFace{*upslope, *downslope, ends ? *ends : *left, ends ? *ends : *right};
}

/// Gives the materials file, where the job names one.
std::optional<std::filesystem::path> read_head(Table& root, const std::filesystem::path& path,
                                               const std::filesystem::path& folder, Job& into) {
  SiteDesign& site = into.site;
  site.title = readable(path.stem().string());
  std::optional<Table> job = root.table("job", Need::optional, "a table headed [job]");
  if (!job) return std::nullopt;
  set(site.title, job->text("title", Need::optional));
  bool unit_is_known = true;
  if (const auto unit = job->text("units", Need::optional)) {
    constexpr std::array units = {LengthUnit::foot, LengthUnit::us_survey_foot, LengthUnit::metre};
    const auto found = std::find_if(units.begin(), units.end(), [&](LengthUnit u) { return *unit == symbol(u); });
    unit_is_known = found != units.end();
    if (unit_is_known) {
      site.unit = *found;
    } else {
      job->error("units", fmt::format("there is no unit \"{}\"", *unit),
                 "Write \"ft\" (international feet), \"us-ft\" (US survey feet) or \"m\" (meters).");
    }
  }
  into.crs = job->text("crs", Need::optional);
  if (into.crs && unit_is_known) {
    if (const auto fault = crs_fault(*into.crs, site.unit)) job->error("crs", fault->what, fault->what_to_do);
  }
  const std::optional<std::string> materials = job->text("materials", Need::optional, longest_path);
  job->tell_unknown();
  if (!materials) return std::nullopt;
  return folder / *materials;
}

void check_columns(const Table& ground, const std::vector<std::string>& columns) {
  const std::vector<std::string> known = {"point", "northing", "easting", "elevation", "description", "ignore"};
  for (const std::string& word : columns) {
    if (!column_named(word).empty() || word == "ignore") continue;
    std::string advice = did_you_mean(word, known);
    if (advice.empty()) advice = fmt::format("Known here: {}.", fmt::join(known, ", "));
    ground.error("columns", fmt::format("\"{}\" names no column", word), advice);
  }
}

void read_extend(Table& ground, LengthUnit unit, GroundOptions& options) {
  const auto extend = ground.number("extend", Need::optional, Allowed::not_negative, "2.0");
  if (!extend) return;
  const double most = most_extension(unit);
  if (*extend > most) {
    ground.error("extend",
                 fmt::format("the ground cannot be carried on {:g} {} past the survey", *extend, symbol(unit)),
                 fmt::format("Give {:g} {} at most, and shoot the ground farther out.", most, symbol(unit)));
  }
  options.extend = *extend;
}

/// One kind of line word; nullopt where the job leaves the usual ones.
std::optional<std::vector<std::string>> read_line_words(Table& table, const char* kind) {
  if (!table.has(kind)) return std::nullopt;
  std::vector<std::string> words = table.texts(kind);
  for (const std::string& word : words) {
    std::string_view rest = word;
    const std::string_view first = take_word(rest);
    if (!trimmed(rest).empty()) {
      table.error(kind, fmt::format("\"{}\" is not one word", word), "Give single words, such as [\"BEG\"].");
    } else if (is_digit(first.front())) {
      table.error(kind, fmt::format("\"{}\" begins with a digit", word),
                  "A number behind a code is the number of a line; give words, such as [\"BEG\"].");
    }
  }
  return words;
}

LineWords read_all_line_words(Table& ground) {
  LineWords words;
  std::optional<Table> table = ground.table("line_words", Need::optional,
                                            "a table such as { begin = [\"B\"], end = [\"E\"], close = [\"CLS\"] }");
  if (!table) return words;
  std::map<std::string, const char*> seen;
  const auto read = [&](const char* kind) {
    std::optional<std::vector<std::string>> given = read_line_words(*table, kind);
    for (std::string word : given.value_or(std::vector<std::string>{})) {
      for (char& c : word) c = lower(c);
      const auto [first, is_new] = seen.try_emplace(word, kind);
      if (is_new || first->second == std::string_view(kind)) continue;
      table->error(kind, fmt::format("\"{}\" is a word for {} and for {}", word, first->second, kind),
                   "Take it out of one of the two lists.");
    }
    return given;
  };
  words.begin = read("begin");
  words.end = read("end");
  words.close = read("close");
  table->tell_unknown();
  return words;
}

void read_ground(Table& root, const std::filesystem::path& folder, LengthUnit unit, GroundSource& source) {
  std::optional<Table> ground = root.table("ground", Need::required, "a table headed [ground]");
  if (!ground) return;
  if (const auto shots = ground->text("shots", Need::required, longest_path)) source.shots = folder / *shots;
  source.reading.unit = unit;
  source.reading.columns = ground->texts("columns");
  check_columns(*ground, source.reading.columns);
  source.reading.codes.breaklines = ground->texts("breaklines");
  source.reading.codes.skip = ground->texts("skip");
  source.reading.codes.line_words = read_all_line_words(*ground);
  for (const std::string& file : ground->texts("breakline_files", longest_path)) {
    source.reading.breakline_files.push_back(folder / file);
  }
  set(source.options.longest_edge, ground->number("longest_edge", Need::optional, Allowed::positive, "80.0"));
  read_extend(*ground, unit, source.options);
  ground->tell_unknown();
}

std::optional<Mark> read_benchmark(Table& root, const char* key) {
  std::optional<Table> table = root.table(key, Need::optional, fmt::format("a table headed [{}]", key).c_str());
  if (!table) return std::nullopt;
  Mark mark;
  set(mark.name, table->text("name", Need::required));
  set(mark.at, table->place());
  mark.elevation = table->number("elevation", Need::required, Allowed::elevation, "100.00");
  table->tell_unknown();
  return mark;
}

/// Straight: center, azimuth and a bed of length and width. Bent: a bed of width and line, and neither center nor
/// azimuth.
void read_bed(Table& mound, MoundDesign& design) {
  constexpr const char* example = "a table such as { length = 60.0, width = 10.0 }";
  std::optional<Table> bed = mound.table("bed", Need::required, example);
  const bool bent = bed && bed->has("line");
  const Need need = bent ? Need::optional : Need::required;
  const auto center = mound.place("center", need);
  const auto azimuth = mound.number("azimuth", need, Allowed::azimuth, "74.0");
  if (!bed) return;
  const auto width = bed->number("width", Need::required, Allowed::positive, "10.0");
  const auto length = bed->number("length", need, Allowed::positive, "60.0");
  bed->check_most("length", length, greatest_plan_size);
  std::vector<Eigen::Vector2d> line = read_line(*bed, 2);
  if (bent) {
    for (const char* key : {"center", "azimuth"}) {
      if (mound.has(key)) {
        mound.error(key, fmt::format("{} is given, and so is a line for the bed", mound.key(key)),
                    "Give the bed by its line, or by center, azimuth and length; not both.");
      }
    }
    if (bed->has("length")) {
      bed->error("length", "the bed has both a length and a line", "Leave the length out: the line has its own.");
    }
    design.bed = {std::move(line), width.value_or(0)};
  } else if (center && azimuth && width && length) {
    design.bed = straight_bed(*center, *azimuth, *length, *width);
  }
  bed->tell_unknown();
}

void read_bottom(Table& mound, MoundDesign& design) {
  std::optional<Table> bottom =
      mound.table("bottom", Need::required, "a table such as { least_sand = 1.5 } or { elevation = 101.40 }");
  if (!bottom) return;
  design.least_sand = bottom->number("least_sand", Need::optional, Allowed::not_negative, "1.5");
  design.bottom_elevation = bottom->number("elevation", Need::optional, Allowed::elevation, "101.40");
  bottom->tell_unknown();
  const int given = bottom->has("least_sand") + bottom->has("elevation");
  if (given == 1) return;
  mound.error("bottom",
              fmt::format("{} has {} least_sand {} elevation", mound.key("bottom"), given ? "both" : "neither",
                          given ? "and" : "nor"),
              "Give one of the two: the least sand under the bed, or the elevation of the bed bottom.");
}

void read_mound(Table& root, MoundDesign& design) {
  std::optional<Table> mound = root.table("mound", Need::required, "a table headed [mound]");
  if (!mound) return;
  read_bed(*mound, design);
  read_bottom(*mound, design);
  design.downslope = mound->number("downslope", Need::optional, Allowed::azimuth, "164.0");
  mound->tell_unknown();
}

std::optional<Undercut> read_undercut(Table& prepare) {
  std::optional<Table> table =
      prepare.table("undercut", Need::optional, "a table such as { elevation = 97.0, beyond = 1.0, side = 1.0 }");
  if (!table) return std::nullopt;
  Undercut undercut;
  set(undercut.elevation, table->number("elevation", Need::required, Allowed::elevation, "97.0"));
  set(undercut.beyond, read_by_face(*table, "beyond", "1.0"));
  set(undercut.side, read_by_face(*table, "side", "1.0"));
  table->tell_unknown();
  return undercut;
}

void read_prepare(Table& root, Prepare& prepare) {
  std::optional<Table> table = root.table("prepare", Need::optional, "a table headed [prepare]");
  if (!table) return;
  set(prepare.scarify, table->truth("scarify"));
  set(prepare.strip, table->number("strip", Need::optional, Allowed::not_negative, "0.5"));
  prepare.undercut = read_undercut(*table);
  table->tell_unknown();
}

bool read_corners(Table& table) {
  const std::optional<std::string> corners = table.text("corners", Need::optional);
  if (!corners || *corners == "square" || *corners == "round") return corners == "round";
  table.error("corners", fmt::format("corners cannot be \"{}\"", *corners), "Write \"round\" or \"square\".");
  return false;
}

Layer read_layer(Table& table, EstimatePlan& estimate) {
  Layer layer;
  set(layer.name, table.text("name", Need::required));
  layer.material = layer.name;
  set(layer.material, table.text("material", Need::optional));
  set(layer.top, table.number("top", Need::required, Allowed::any, "1.0"));
  set(layer.crown, table.number("crown", Need::optional, Allowed::not_negative, "0.5"));
  set(layer.beyond, read_by_face(table, "beyond", "3.0"));
  set(layer.side, read_by_face(table, "side", "3.0"));
  layer.round_corners = read_corners(table);
  read_settlement(table, layer.name, estimate);
  table.tell_unknown();
  return layer;
}

void read_layers(Table& root, std::vector<Layer>& layers, EstimatePlan& estimate) {
  std::map<std::string, std::size_t> first_line;
  for (Table& table : root.tables("layer")) {
    layers.push_back(read_layer(table, estimate));
    const std::string& name = layers.back().name;
    const auto [first, is_new] = first_line.try_emplace(name, table.line());
    if (!is_new && !name.empty()) {
      table.error("name", fmt::format("two layers have the name \"{}\": see line {}", name, first->second),
                  "Rename one of them.");
    }
  }
  if (!root.has("layer"))
    root.error("layer", "the job has no layers", "Add them in the order they go down, each headed [[layer]].");
}

std::vector<Boring> read_borings(Table& root) {
  std::vector<Boring> borings;
  for (Table& table : root.tables("boring")) {
    Boring& boring = borings.emplace_back();
    set(boring.name, table.text("name", Need::required));
    set(boring.at, table.place());
    set(boring.limiting_depth, table.number("limiting_depth", Need::required, Allowed::not_negative, "1.6"));
    table.tell_unknown();
  }
  return borings;
}

KeepClear read_keep_clear(Table& table) {
  KeepClear feature;
  set(feature.name, table.text("name", Need::required));
  const std::optional<Eigen::Vector2d> at = table.place("at", Need::optional);
  feature.line = read_line(table, 2);
  if (at) feature.line = {*at};
  set(feature.closed, table.truth("closed"));
  feature.from_bed = table.number("from_bed", Need::optional, Allowed::not_negative, "50.0");
  feature.from_toe = table.number("from_toe", Need::optional, Allowed::not_negative, "10.0");
  if (table.has("at") == table.has("line")) {
    table.error("at", fmt::format("{} has {}", table.key("at"), table.has("at") ? "a line as well" : "no line either"),
                "Give one of the two: at = { n = , e = } for a point, line = [{ n = , e = }, ...] for the rest.");
  }
  if (feature.closed && table.has("line") && feature.line.size() < 3) {
    table.error("line", "an area needs three places or more", "Add places, or leave closed out.");
  }
  if (!table.has("from_bed") && !table.has("from_toe")) {
    table.error("from_bed", "nothing is asked of this feature", "Give from_bed, from_toe or both.");
  }
  table.tell_unknown();
  return feature;
}

void read_requirements(Table& root, Requirements& asked) {
  if (std::optional<Table> table = root.table("requirements", Need::optional, "a table headed [requirements]")) {
    const auto number = [&](const char* key, const char* example) {
      return table->number(key, Need::optional, Allowed::positive, example);
    };
    asked.separation = number("separation", "3.0");
    asked.daily_flow = number("daily_flow", "450.0");
    asked.loading_rate = number("loading_rate", "0.6");
    asked.least_basal_area = number("least_basal_area", "750.0");
    table->tell_unknown();
  }
  asked.borings = read_borings(root);
  for (Table& table : root.tables("keep_clear")) asked.keep_clear.push_back(read_keep_clear(table));
}

void read_marks(Table& root, SiteDesign& site) {
  for (Table& table : root.tables("tie")) {
    Mark& mark = site.lot.ties.emplace_back();
    set(mark.name, table.text("name", Need::required));
    set(mark.at, table.place());
    table.tell_unknown();
  }
  for (Table& table : root.tables("feed")) {
    FeedPoint& point = site.lot.feed.emplace_back();
    set(point.name, table.text("name", Need::required));
    set(point.at, table.place());
    point.elevation = table.number("elevation", Need::optional, Allowed::elevation, "101.5");
    table.tell_unknown();
  }
}

void read_outputs(Table& root, MoundDesign& mound, SiteDesign& site) {
  if (std::optional<Table> laterals = root.table("laterals", Need::optional, "a table headed [laterals]")) {
    mound.lateral_invert = laterals->number("invert", Need::required, Allowed::not_negative, "0.6");
    laterals->tell_unknown();
  }
  if (std::optional<Table> stakes = root.table("stakes", Need::optional, "a table headed [stakes]")) {
    set(site.station_interval, stakes->number("station_interval", Need::optional, Allowed::positive, "10.0"));
    const auto clearance = stakes->number("hub_clearance", Need::optional, Allowed::positive, "5.0");
    stakes->check_most("hub_clearance", clearance, greatest_hub_clearance);
    set(site.hub_clearance, clearance);
    stakes->tell_unknown();
  }
  if (std::optional<Table> takeoff = root.table("takeoff", Need::optional, "a table headed [takeoff]")) {
    set(site.end_area_interval, takeoff->number("section_interval", Need::optional, Allowed::positive, "5.0"));
    takeoff->tell_unknown();
  }
}

/// A unit taken for granted is told.
void note_unit_taken(const toml::table& document, Report& report) {
  if (document.at_path("job.units")) return;
  const toml::node* job = document.get("job");
  report.note(job ? job->source().begin.line : 0, "job.units",
              "the job gives no unit: its numbers are taken in feet (ft)",
              "Write units = \"ft\", \"us-ft\" or \"m\" under [job].");
}

/// Puts file and line before the key that check_design names.
void add_design_problems(const MoundDesign& design, Report& report) {
  for (Problem problem : check_design(design).all) {
    const auto line = report.lines.find(problem.where);
    const std::string place =
        line == report.lines.end() ? report.file : fmt::format("{} line {}", report.file, line->second);
    problem.where = problem.where.empty() ? place : fmt::format("{}, {}", place, problem.where);
    report.problems.add(std::move(problem));
  }
}

LotPlaces lot_places(const Job& job) {
  LotPlaces lot;
  const Polyline2& line = job.mound.bed.line;
  if (!line.empty()) lot.bed = 0.5 * (line.front() + line.back());
  for (const std::optional<Mark>& mark : {job.site.lot.benchmark, job.site.lot.second_benchmark}) {
    if (mark) lot.marks.push_back(*mark);
  }
  return lot;
}

/// Where its paths begin: beside the job file itself, also where it is reached by a link, so that the link opens the
/// same job, and not one with another survey that has the same name and stands beside the link.
std::filesystem::path folder_of_job(const std::filesystem::path& path) {
  std::error_code error;
  const std::filesystem::path real =
      std::filesystem::is_symlink(path, error) ? std::filesystem::canonical(path, error) : path;
  return (error ? path : real).parent_path();
}

}  // namespace

Job job_from_toml(std::string_view text, const std::filesystem::path& path) {
  Report report{readable_name(path), {}, false, {}};
  Problems notes;
  const std::optional<std::string> converted = converted_to_utf8(text, report.file, notes);
  for (const Problem& problem : notes.all) report.problems.add(problem);
  const toml::table document = parsed_toml(converted ? *converted : text, report.file);
  Table root(document, {}, report);
  Job job;
  job.path = path;
  const std::filesystem::path folder = folder_of_job(path);
  const std::optional<std::filesystem::path> materials = read_head(root, path, folder, job);
  read_ground(root, folder, job.site.unit, job.ground);
  job.site.lot.benchmark = read_benchmark(root, "benchmark");
  job.site.lot.second_benchmark = read_benchmark(root, "second_benchmark");
  read_mound(root, job.mound);
  read_prepare(root, job.mound.prepare);
  read_layers(root, job.mound.layers, job.site.estimate);
  read_requirements(root, job.site.lot.requirements);
  read_marks(root, job.site);
  read_outputs(root, job.mound, job.site);
  read_estimate(root, materials, report, job.mound.layers, job.site);
  job.ground.options.one_place = one_place_limits(job.site.unit, job.site.estimate.accuracy);
  job.ground.reading.lot = lot_places(job);
  root.tell_unknown();
  if (!report.has_errors) add_design_problems(job.mound, report);
  if (!report.has_errors) note_unit_taken(document, report);
  job.notes = report.problems.report();
  job.notes.throw_if_errors();
  return job;
}

Job read_job(const std::filesystem::path& path) { return job_from_toml(read_file(path), path); }

}  // namespace moundwright::io

// What the stakes of a packet say is right, not only the same in every file: worked out once more from what the words
// mean, with nothing of the program's. Places and sizes come from the job file, ground from the TIN of surfaces.xml
// (which ground_outside_test.cpp holds against other triangulations), by barycentric coordinates.
//
// Station: along the bed's center line, 1+00 at its left end looking downslope. Offset: square to it, U upslope and D
// downslope; at a bend both are those of the line that halves it. Catch point: where the finished surface, the highest
// of the layers, each the least of its planes, first meets ground on a line out from the bed. Shoulder: where the side
// that meets ground there begins. Fill is design above ground.
#include <toml++/toml.h>

#include <array>
#include <functional>
#include <limits>
#include <optional>
#include <pugixml.hpp>

#include "packet_readings.h"

namespace moundwright {
namespace {

namespace fs = std::filesystem;

struct Place {
  double e = 0, n = 0;
  Place operator+(const Place& o) const { return {e + o.e, n + o.n}; }
  Place operator-(const Place& o) const { return {e - o.e, n - o.n}; }
  Place operator*(double k) const { return {e * k, n * k}; }
  double dot(const Place& o) const { return e * o.e + n * o.n; }
  double length() const { return std::hypot(e, n); }
  Place unit() const { return *this * (1 / length()); }
  Place left() const { return {-n, e}; }  // turned counter-clockwise
};

constexpr double nothing = -std::numeric_limits<double>::infinity();

// ---- ground --------------------------------------------------------------------------------------------------------

struct Corner {
  Place at;
  double z;
};

class LandXmlGround {
 public:
  explicit LandXmlGround(const fs::path& file) {
    pugi::xml_document document;
    EXPECT_TRUE(document.load_file(file.c_str()));
    const pugi::xml_node surface =
        document.child("LandXML").child("Surfaces").find_child_by_attribute("name", "existing ground");
    std::map<int, Corner> points;
    for (const pugi::xml_node p : surface.child("Definition").child("Pnts").children("P")) {
      const std::vector<double> at = numbers_in(p.text().get());
      points[p.attribute("id").as_int()] = {{at[1], at[0]}, at[2]};
    }
    for (const pugi::xml_node f : surface.child("Definition").child("Faces").children("F")) {
      const std::vector<double> ids = numbers_in(f.text().get());
      triangles_.push_back({points.at(static_cast<int>(ids[0])), points.at(static_cast<int>(ids[1])),
                            points.at(static_cast<int>(ids[2]))});
    }
  }

  std::optional<double> at(const Place& p) const {
    for (const auto& [a, b, c] : triangles_) {
      const Place ab = b.at - a.at, ac = c.at - a.at, ap = p - a.at;
      const double twice = ab.left().dot(ac);
      const double of_b = -ac.left().dot(ap) / twice, of_c = ab.left().dot(ap) / twice;
      constexpr double edge = -1e-9;
      if (of_b >= edge && of_c >= edge && 1 - of_b - of_c >= edge) return a.z + of_b * (b.z - a.z) + of_c * (c.z - a.z);
    }
    return std::nullopt;
  }

  /// The highest ground where `inside` of an area: at a corner of a triangle, or where a side of one runs out of it.
  double highest(const std::function<bool(const Place&)>& is_inside) const {
    double highest = nothing;
    for (const auto& triangle : triangles_) {
      for (std::size_t i = 0; i < 3; ++i) {
        const Corner &a = triangle[i], &b = triangle[(i + 1) % 3];
        constexpr int steps = 2000;
        for (int k = 0; k <= steps; ++k) {
          const double part = static_cast<double>(k) / steps;
          if (is_inside(a.at + (b.at - a.at) * part)) highest = std::max(highest, a.z + part * (b.z - a.z));
        }
      }
    }
    return highest;
  }

 private:
  std::vector<std::array<Corner, 3>> triangles_;
};

// ---- the job -------------------------------------------------------------------------------------------------------

struct Sides {
  double upslope = 0, downslope = 0, left = 0, right = 0;
};

Sides sides_of(const toml::node_view<const toml::node>& node) {
  if (node.is_table()) {
    const double ends = node["ends"].value_or(0.0);
    return {node["upslope"].value_or(0.0), node["downslope"].value_or(0.0), node["left"].value_or(ends),
            node["right"].value_or(ends)};
  }
  const double all = node.value_or(0.0);
  return {all, all, all, all};
}

struct PlanLayer {
  std::string name;
  double top = 0, crown = 0;
  Sides beyond, side;
  bool round = false;
};

Place place_of(const toml::node_view<const toml::node>& node) {
  return {node["e"].value_or(std::nan("")), node["n"].value_or(std::nan(""))};
}

/// Along and across a place's own piece of the bed.
struct InPiece {
  std::size_t piece;
  double along, across;  // from its left end; downslope
};

class Mound {
 public:
  explicit Mound(const toml::table& job) {
    const auto mound = toml::node_view<const toml::node>(job["mound"]);
    const double turn = mound["downslope"].value_or(std::nan("")) * M_PI / 180;
    half = 0.5 * mound["bed"]["width"].value_or(std::nan(""));
    if (const toml::array* bent = mound["bed"]["line"].as_array()) {
      for (const toml::node& point : *bent) line.push_back(place_of(toml::node_view<const toml::node>(point)));
    } else {
      const double azimuth = mound["azimuth"].value_or(std::nan("")) * M_PI / 180;
      const Place middle = place_of(mound["center"]), along{std::sin(azimuth), std::cos(azimuth)};
      const double half_length = 0.5 * mound["bed"]["length"].value_or(std::nan(""));
      line = {middle - along * half_length, middle + along * half_length};
    }
    const Place right_hand{std::cos(turn), -std::sin(turn)};
    if ((line.back() - line.front()).dot(right_hand) < 0) std::reverse(line.begin(), line.end());
    double past = 0;
    for (std::size_t i = 0; i < line.size(); ++i) {
      if (i > 0) past += (line[i] - line[i - 1]).length();
      starts.push_back(past);
    }
    for (const toml::node& node : *job["layer"].as_array()) {
      const toml::node_view<const toml::node> layer(node);
      layers.push_back({layer["name"].value_or(std::string()), layer["top"].value_or(0.0), layer["crown"].value_or(0.0),
                        sides_of(layer["beyond"]), sides_of(layer["side"]),
                        layer["corners"].value_or(std::string()) == "round"});
    }
  }

  std::vector<Place> line;     // left to right, looking downslope
  std::vector<double> starts;  // past the left end, of each of its points
  double half = 0;
  std::vector<PlanLayer> layers;

  std::size_t pieces() const { return line.size() - 1; }
  Place along(std::size_t piece) const { return (line[piece + 1] - line[piece]).unit(); }
  Place across(std::size_t piece) const { return along(piece).left(); }
  /// Downslope, on the line that halves the bend before a piece.
  Place halving(std::size_t bend) const { return (across(bend - 1) + across(bend)).unit(); }

  InPiece in_piece(const Place& p) const {
    std::size_t piece = 0;
    while (piece + 1 < pieces() && (along(piece) + along(piece + 1)).dot(p - line[piece + 1]) > 0) ++piece;
    return in_piece(p, piece);
  }
  InPiece in_piece(const Place& p, std::size_t piece) const {
    return {piece, along(piece).dot(p - line[piece]), across(piece).dot(p - line[piece])};
  }
  double length(std::size_t piece) const { return starts[piece + 1] - starts[piece]; }

  /// Above the bed bottom.
  double height(const PlanLayer& layer, const Place& p) const {
    const InPiece at = in_piece(p);
    const double out_up = -at.across - half - layer.beyond.upslope,
                 out_down = at.across - half - layer.beyond.downslope;
    const bool first = at.piece == 0, last = at.piece + 1 == pieces();
    const double out_left = first ? -at.along - layer.beyond.left : nothing;
    const double out_right = last ? at.along - length(at.piece) - layer.beyond.right : nothing;
    const double middle = 0.5 * (layer.beyond.downslope - layer.beyond.upslope);
    const double span = half + 0.5 * (layer.beyond.downslope + layer.beyond.upslope);
    double z = layer.top + layer.crown * (1 - std::abs(at.across - middle) / span);
    const auto side = [&](double out, double run, double from) {
      if (run > 0) z = std::min(z, from - out / run);
      if (run == 0 && out > 0) z = nothing;
    };
    const double gable = layer.top + layer.crown;
    side(out_up, layer.side.upslope, layer.top), side(out_down, layer.side.downslope, layer.top);
    if (first) side(out_left, layer.side.left, gable);
    if (last) side(out_right, layer.side.right, gable);
    if (!layer.round) return z;
    // Seven planes a corner, tangent to the cone over it: each falls 1 in the cone's own run that way.
    const auto corner = [&](double out_long, double run_long, double out_end, double run_end) {
      if (run_long <= 0 || run_end <= 0) return;
      const double past = out_end - layer.crown * run_end;  // the end's side begins at the ridge
      for (int k = 1; k <= 7; ++k) {
        const double turned = k * M_PI / 16, c = std::cos(turned), s = std::sin(turned);
        z = std::min(z, layer.top - (past * c + out_long * s) / std::hypot(run_end * c, run_long * s));
      }
    };
    if (first) corner(out_up, layer.side.upslope, out_left, layer.side.left);
    if (first) corner(out_down, layer.side.downslope, out_left, layer.side.left);
    if (last) corner(out_up, layer.side.upslope, out_right, layer.side.right);
    if (last) corner(out_down, layer.side.downslope, out_right, layer.side.right);
    return z;
  }

  const PlanLayer& highest_at(const Place& p) const {
    return *std::max_element(layers.begin(), layers.end(),
                             [&](const PlanLayer& a, const PlanLayer& b) { return height(a, p) < height(b, p); });
  }
};

// ---- stakes --------------------------------------------------------------------------------------------------------

struct Ray {
  Place from, outward;
  Place at(double t) const { return from + outward * t; }
};

struct StakeRow {
  std::string number, what, kind, station, offset, cut_fill, slope;
  Place at;
  std::optional<double> design, ground, shoulder;
};

class StakeTruth {
 public:
  StakeTruth(const fs::path& packet, const fs::path& job_file)
      : packet_(packet),
        job_(toml::parse_file(job_file.string())),
        mound_(job_),
        ground_(packet / "surfaces.xml"),
        metric_(job_["job"]["units"].value_or(std::string()) == "m") {
    const auto is_in_bed = [&](const Place& p) {
      const InPiece at = mound_.in_piece(p);
      return std::abs(at.across) <= mound_.half && at.along >= 0 && at.along <= mound_.length(at.piece);
    };
    const auto mound = job_["mound"];
    bottom_ =
        mound["bottom"]["elevation"].value_or(ground_.highest(is_in_bed) - job_["prepare"]["strip"].value_or(0.0) +
                                              mound["bottom"]["least_sand"].value_or(0.0));
    for (const Place& corner : bed_corners()) {
      if (mound["bottom"]["elevation"]) break;
      bottom_ = std::max(bottom_, *ground_.at(corner) - job_["prepare"]["strip"].value_or(0.0) +
                                      mound["bottom"]["least_sand"].value_or(0.0));
    }
  }

  void hold() {
    const nlohmann::json summary = nlohmann::json::parse(io::read_file(packet_ / "summary.json"));
    // The highest ground is looked for in steps along the sides of the triangles.
    EXPECT_NEAR(summary["bed"]["bottom_elevation"].get<double>(), bottom_, 0.003);
    bottom_ = summary["bed"]["bottom_elevation"];
    hold_grades(summary["grades"]);
    std::map<std::string, int> kinds;
    for (const StakeRow& row : rows()) {
      ++kinds[row.kind];
      hold_place(row);
      hold_ground(row);
      if (row.kind == "hub") hold_hub(row);
      if (row.kind == "slope stake") hold_slope_stake(row);
      if (row.kind == "feed point") hold_feed_point(row);
    }
    EXPECT_EQ(kinds["hub"], 10 + 2 * (static_cast<int>(mound_.pieces()) - 1));
    EXPECT_GE(kinds["slope stake"], 20);
    EXPECT_EQ(kinds["feed point"], 1);
  }

 private:
  const fs::path packet_;
  const toml::table job_;
  const Mound mound_;
  const LandXmlGround ground_;
  const bool metric_;
  double bottom_ = 0;

  int decimals() const { return metric_ ? 3 : 2; }
  static constexpr double place = 0.0005 + 1e-6;  // coordinates are printed to 0.001

  std::vector<Place> bed_corners() const {
    std::vector<Place> corners;
    for (const double side : {-mound_.half, mound_.half}) {
      corners.push_back(mound_.line.front() + mound_.across(0) * side);
      corners.push_back(mound_.line.back() + mound_.across(mound_.pieces() - 1) * side);
      for (std::size_t bend = 1; bend < mound_.pieces(); ++bend) corners.push_back(bend_corner(bend, side));
    }
    return corners;
  }
  Place bend_corner(std::size_t bend, double side) const {
    const Place out = mound_.halving(bend);
    return mound_.line[bend] + out * (side / out.dot(mound_.across(bend)));
  }

  std::vector<StakeRow> rows() const {
    const SheetCells cells = cells_of(io::read_file(packet_ / "stakes.csv"));
    const auto column = [&](const char* name) { return column_of(cells, 0, name); };
    const auto number = [](const std::string& text) {
      return text.empty() ? std::nullopt : std::optional<double>(std::stod(text));
    };
    std::vector<StakeRow> all;
    for (std::size_t i = 1; i < cells.size(); ++i) {
      const std::vector<std::string>& row = cells[i];
      if (row.size() < 4) continue;
      const auto text = [&](const char* name) { return row[column(name)]; };
      all.push_back({row[0],
                     text("description"),
                     text("kind"),
                     text("station"),
                     text("offset"),
                     text("cut_fill"),
                     text("slope"),
                     {std::stod(text("easting")), std::stod(text("northing"))},
                     number(text("elevation")),
                     number(text("ground_approx")),
                     number(text("to_shoulder"))});
    }
    return all;
  }

  void hold_grades(const nlohmann::json& grades) const {
    std::map<std::string, double> wanted = {{"bed bottom", bottom_}};
    if (const auto invert = job_["laterals"]["invert"].value<double>()) wanted["lateral invert"] = bottom_ + *invert;
    if (const auto pit = job_["prepare"]["undercut"]["elevation"].value<double>()) wanted["undercut bottom"] = *pit;
    const auto finished =
        std::max_element(mound_.layers.rbegin(), mound_.layers.rend(),
                         [](const PlanLayer& a, const PlanLayer& b) { return a.top + a.crown < b.top + b.crown; });
    for (const PlanLayer& layer : mound_.layers) {
      const std::string name = &layer == &*finished ? "finished" : layer.name;
      wanted[name + (layer.crown > 0 ? " edge" : " top")] = bottom_ + layer.top;
      if (layer.crown > 0) wanted[name + " ridge"] = bottom_ + layer.top + layer.crown;
    }
    std::size_t found = 0;
    for (const auto& grade : grades) {
      std::istringstream names(grade["name"].get<std::string>());
      for (std::string name; std::getline(names >> std::ws, name, ','); ++found) {
        ASSERT_TRUE(wanted.contains(name)) << name;
        EXPECT_NEAR(grade["elevation"].get<double>(), wanted.at(name), 1e-6) << name;
      }
    }
    EXPECT_EQ(found, wanted.size());
  }

  /// Station, offset and ties are those of where it stands.
  void hold_place(const StakeRow& row) const {
    InPiece at = mound_.in_piece(row.at);
    double station = mound_.starts[at.piece] + at.along, offset = at.across;
    static const std::regex bend("\\bbend (\\d+) (up|down)slope");
    std::smatch m;
    if (std::regex_search(row.what, m, bend)) {
      const std::size_t number = std::stoul(m[1]);
      station = mound_.starts[number];
      offset = (row.at - mound_.line[number]).length() * (m[2] == "up" ? -1 : 1);
    }
    const double shown = half_of(metric_ ? 2 : 1) + place;
    const std::size_t plus = row.station.find('+');
    ASSERT_NE(plus, std::string::npos) << row.number;
    EXPECT_NEAR(100 * std::stod(row.station.substr(0, plus)) + std::stod(row.station.substr(plus + 1)), 100 + station,
                shown)
        << row.number << " " << row.what;
    const double size = row.offset == "0" ? 0 : std::stod(row.offset.substr(2));
    EXPECT_NEAR(row.offset.starts_with("U") ? -size : size, offset, shown) << row.number << " " << row.what;
  }

  void hold_ground(const StakeRow& row) const {
    const std::optional<double> ground = ground_.at(row.at);
    ASSERT_EQ(ground.has_value(), row.ground.has_value()) << row.number;
    if (!ground) return;
    EXPECT_NEAR(*row.ground, *ground, half_of(decimals()) + 0.5 * place) << row.number;
    if (!row.design) {
      EXPECT_EQ(row.cut_fill, "") << row.number;
      return;
    }
    // To the last digit, of what is printed.
    const double scale = std::pow(10.0, decimals());
    const long long fill = std::llround(*row.design * scale) - std::llround(*row.ground * scale);
    const double told = fill == 0 ? std::stod(row.cut_fill) : std::stod(row.cut_fill.substr(2));
    EXPECT_EQ(std::llround(told * scale), std::abs(fill)) << row.number << " " << row.cut_fill;
    const std::string letter = fill > 0 ? "F " : fill < 0 ? "C " : "";
    EXPECT_TRUE(row.cut_fill.starts_with(letter)) << row.number << " " << row.cut_fill;
  }

  void hold_hub(const StakeRow& row) const {
    static const std::regex corner(
        R"(bed corner (up|down)slope-(left|right) hub, ([\d.]+) past the corner on the (?:left|right|upslope|downslope) (end|edge) line)");
    static const std::regex center(R"(cent\w+ line (left|right) hub, ([\d.]+) past the bed's end on the cent\w+ line)");
    static const std::regex bend(
        R"(bend (\d+) (up|down)slope hub, ([\d.]+) past the bed's edge on the line that halves the bend)");
    std::smatch m;
    Place wanted;
    const auto end_of = [&](bool left) { return left ? mound_.line.front() : mound_.line.back(); };
    const auto piece_of = [&](bool left) { return left ? std::size_t(0) : mound_.pieces() - 1; };
    if (std::regex_search(row.what, m, corner)) {
      const bool left = m[2] == "left";
      const Place side = mound_.across(piece_of(left)) * (m[1] == "up" ? -1 : 1);
      const Place out = m[4] == "end" ? side : mound_.along(piece_of(left)) * (left ? -1 : 1);
      wanted = end_of(left) + side * mound_.half + out * std::stod(m[3]);
    } else if (std::regex_search(row.what, m, center)) {
      const bool left = m[1] == "left";
      wanted = end_of(left) + mound_.along(piece_of(left)) * ((left ? -1 : 1) * std::stod(m[2]));
    } else if (std::regex_search(row.what, m, bend)) {
      const double side = m[2] == "up" ? -1 : 1;
      const std::size_t number = std::stoul(m[1]);
      wanted = bend_corner(number, side * mound_.half) + mound_.halving(number) * (side * std::stod(m[3]));
    } else {
      FAIL() << "a hub of a new kind: " << row.what;
    }
    EXPECT_NEAR(row.at.e, wanted.e, place) << row.number << " " << row.what;
    EXPECT_NEAR(row.at.n, wanted.n, place) << row.number << " " << row.what;
    EXPECT_FALSE(row.design) << row.number;
  }

  /// The line out from the bed that a slope stake stands on, and whether it stands where one belongs.
  Ray ray_of(const StakeRow& row) const {
    static const std::regex bend("bend (\\d+) (up|down)slope"), corner("(up|down)slope-(left|right) corner");
    const double interval = job_["stakes"]["station_interval"].value_or(10.0);
    const auto is_whole = [&](double s, double last) {
      return std::abs(s - interval * std::round(s / interval)) < 2 * place || std::abs(s - last) < 2 * place;
    };
    const InPiece at = mound_.in_piece(row.at);
    std::smatch m;
    if (std::regex_search(row.what, m, bend)) {
      const double side = m[2] == "up" ? -1 : 1;
      const std::size_t number = std::stoul(m[1]);
      return {bend_corner(number, side * mound_.half), mound_.halving(number) * side};
    }
    if (std::regex_search(row.what, m, corner)) {
      const bool left = m[2] == "left";
      const double side = m[1] == "up" ? -1 : 1;
      const Place end = left ? mound_.line.front() : mound_.line.back();
      const Place across = mound_.across(at.piece) * side, out = mound_.along(at.piece) * (left ? -1 : 1);
      const PlanLayer& layer = mound_.highest_at(row.at - (row.at - end).unit() * 0.001);
      const double run = m[1] == "up" ? layer.side.upslope : layer.side.downslope;
      const double run_end = left ? layer.side.left : layer.side.right;
      const double beyond = m[1] == "up" ? layer.beyond.upslope : layer.beyond.downslope;
      const double past = (left ? layer.beyond.left : layer.beyond.right) + layer.crown * run_end;
      return {end + across * (mound_.half + beyond) + out * past, (across * run + out * run_end).unit()};
    }
    if (row.what.find(" end,") != std::string::npos) {
      const bool left = row.what.find("left end") != std::string::npos;
      EXPECT_TRUE(is_whole(at.across + mound_.half, 2 * mound_.half)) << row.number << " " << row.what;
      const Place end = left ? mound_.line.front() : mound_.line.back();
      return {end + mound_.across(at.piece) * at.across, mound_.along(at.piece) * (left ? -1 : 1)};
    }
    const double side = row.what.find("upslope face") != std::string::npos ? -1 : 1;
    EXPECT_TRUE(is_whole(mound_.starts[at.piece] + at.along, mound_.starts.back())) << row.number << " " << row.what;
    const Place foot = mound_.line[at.piece] + mound_.along(at.piece) * at.along;
    return {foot + mound_.across(at.piece) * (side * mound_.half), mound_.across(at.piece) * side};
  }

  /// How far out the finished surface first meets ground.
  double catch_on(const Ray& ray) const {
    const auto stands = [&](double t) {
      const Place p = ray.at(t);
      const std::optional<double> ground = ground_.at(p);
      return ground && bottom_ + mound_.height(mound_.highest_at(p), p) > *ground;
    };
    constexpr double step = 0.02;
    double low = 0;
    while (stands(low + step) && low < 500) low += step;
    double high = low + step;
    for (int k = 0; k < 50; ++k) (stands(0.5 * (low + high)) ? low : high) = 0.5 * (low + high);
    return low;
  }

  /// How far out the side begins that reaches the catch point: from there out the layer falls evenly.
  double shoulder_on(const Ray& ray, double caught) const {
    const PlanLayer& layer = mound_.highest_at(ray.at(caught - 1e-4));
    const auto height = [&](double t) { return mound_.height(layer, ray.at(t)); };
    constexpr double step = 0.5;  // state-plane places are good to 2e-9, which a short step would make much of
    const double from = caught - 1e-4;
    const double fall = (height(from - step) - height(from)) / step;
    const auto is_on_side = [&](double t) { return height(t) > height(from) + fall * (from - t) - 1e-6; };
    double low = 0, high = from - step;
    for (int k = 0; k < 60; ++k) (is_on_side(0.5 * (low + high)) ? high : low) = 0.5 * (low + high);
    return high;
  }

  void hold_slope_stake(const StakeRow& row) const {
    const Ray ray = ray_of(row);
    const double caught = catch_on(ray);
    const Place where = ray.at(caught);
    // Both it and the line it stands on are known to the printed thousandth only; at a flat catch that is more.
    EXPECT_NEAR((row.at - where).length(), 0, 0.01) << row.number << " " << row.what;
    ASSERT_TRUE(row.design && row.shoulder && row.ground) << row.number;
    const double in = shoulder_on(ray, caught);
    const PlanLayer& layer = mound_.highest_at(ray.at(caught - 1e-4));
    const double design = bottom_ + mound_.height(layer, ray.at(in));
    EXPECT_NEAR(*row.design, design, half_of(decimals()) + 1e-5) << row.number << " " << row.what;
    EXPECT_NEAR(*row.shoulder, caught - in, half_of(decimals()) + 0.01) << row.number << " " << row.what;
    const double rise = design - *ground_.at(where);
    ASSERT_TRUE(row.slope.ends_with(":1")) << row.number;
    EXPECT_NEAR(std::stod(row.slope), (caught - in) / rise, half_of(2) + 0.001) << row.number << " " << row.what;
  }

  void hold_feed_point(const StakeRow& row) const {
    const Place wanted = place_of(toml::node_view<const toml::node>(*job_["feed"].as_array()->get(0)));
    EXPECT_NEAR(row.at.e, wanted.e, place) << row.number;
    EXPECT_NEAR(row.at.n, wanted.n, place) << row.number;
  }
};

/// Level distances from the marks in the job file.
void hold_ties(const fs::path& packet, const fs::path& job_file, int decimals) {
  const toml::table job = toml::parse_file(job_file.string());
  const SheetCells cells = cells_of(io::read_file(packet / "stakes.csv"));
  std::size_t held = 0;
  for (const toml::node& node : *job["tie"].as_array()) {
    const toml::node_view<const toml::node> mark(node);
    const Place at = place_of(mark);
    const std::size_t column = column_of(cells, 0, "tie " + mark["name"].value_or(std::string()));
    for (std::size_t i = 1; i < cells.size(); ++i) {
      if (cells[i].size() < 4) continue;
      const Place stake{std::stod(cells[i][2]), std::stod(cells[i][1])};
      EXPECT_NEAR(std::stod(cells[i][column]), (stake - at).length(), half_of(decimals) + 0.001) << cells[i][0];
      ++held;
    }
  }
  EXPECT_GE(held, 60U);
}

}  // namespace

void hold_stakes_against_definitions(const fs::path& packet, const fs::path& job_file) {
  StakeTruth(packet, job_file).hold();
  const nlohmann::json summary = nlohmann::json::parse(io::read_file(packet / "summary.json"));
  hold_ties(packet, job_file, summary["units"] == "m" ? 3 : 2);
}

}  // namespace moundwright

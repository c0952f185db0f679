// Everything in one packet agrees: figures are read back from every file by somebody else's reader, and held against
// summary.json (and stakes against stakes.csv) to the digit that the file prints.
//
// Another file of the packet is one more function that gives Readings, and one line in `readers`. The figures are named
// by the trade's words: "fill core", "total fill", "plan area", "bed bottom", "stake 1001 northing".
#include <gdal_priv.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <pugixml.hpp>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "geom/units.h"
#include "spreadsheet.h"
#include "test_paths.h"

namespace moundwright {
namespace {

namespace fs = std::filesystem;

/// A figure as a file gives it, and how far from the truth its last digit lets it be.
struct Reading {
  double value;
  double within;
};
using Readings = std::map<std::string, Reading>;

/// The truth; and the cubic yards in a cubic job unit.
struct Truth {
  std::map<std::string, double> figures;
  double cubic_yards = 0;
};

constexpr double slack = 1e-7;  // of decimals in binary
double half_of(int decimals) { return 0.5 * std::pow(10.0, -decimals) + slack; }

/// A number printed with decimals is right to half of the last one.
Reading printed(const std::string& text) {
  const std::size_t point = text.find('.');
  return {std::stod(text), half_of(point == std::string::npos ? 0 : static_cast<int>(text.size() - point - 1))};
}

Reading in_full(double value) { return {value, 1e-9 * (1 + std::abs(value))}; }

std::vector<double> numbers_in(const std::string& text) {
  std::istringstream in(text);
  return {std::istream_iterator<double>(in), {}};
}

// ---- the truth ---------------------------------------------------------------------------------------------------

Truth truth_of(const fs::path& packet) {
  const auto summary = nlohmann::json::parse(read_file(packet / "summary.json"));
  Truth truth;
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
  f["plan area"] = summary["toe"]["plan_area"];
  f["perimeter"] = summary["toe"]["perimeter"];
  f["bed bottom"] = summary["bed"]["bottom_elevation"];
  for (const auto& order : summary["estimate"]["orders"]) {
    const std::string material = order["material"];
    if (order.contains("needed_loose_cy")) f["needed " + material] = order["needed_loose_cy"];
    if (order.contains("loads")) f["loads of " + material] = order["loads"]["count"];
  }
  if (summary["estimate"].contains("bid")) f["bid"] = summary["estimate"]["bid"]["total"];
  const SheetCells stakes = cells_of(read_file(packet / "stakes.csv"));
  for (std::size_t i = 1; i < stakes.size(); ++i) {
    if (stakes[i].size() < 4) continue;
    const std::string stake = "stake " + stakes[i][0];
    f[stake + " northing"] = std::stod(stakes[i][1]);
    f[stake + " easting"] = std::stod(stakes[i][2]);
    if (!stakes[i][3].empty()) f[stake + " design"] = std::stod(stakes[i][3]);
  }
  const std::string unit = summary["units"];
  truth.cubic_yards = cubic_yards_per(unit == "m"       ? LengthUnit::metre
                                      : unit == "us-ft" ? LengthUnit::us_survey_foot
                                                        : LengthUnit::foot);
  return truth;
}

// ---- one reader a file -------------------------------------------------------------------------------------------

Readings from_quantities_csv(const fs::path& packet, const Truth&) {
  Readings readings;
  const SheetCells rows = cells_of(read_file(packet / "quantities.csv"));
  const auto column = [&](const char* name) { return column_of(rows, 0, name); };
  const std::size_t volume = column("in_place_cy"), area = column("plan_area"), end_area = column("end_area_cy");
  for (const std::vector<std::string>& row : rows) {
    if (row.size() <= area || (row[0] != "fill" && row[0] != "cut" && row[0] != "total")) continue;
    readings[row[0] + " " + row[1]] = printed(row[volume]);
    if (row[0] == "total") continue;
    readings["plan area of " + row[1]] = printed(row[area]);
    if (row[0] == "fill") readings["end areas of " + row[1]] = printed(row[end_area]);
  }
  return readings;
}

Readings from_points_csv(const fs::path& packet, const Truth& truth) {
  Readings readings;
  for (const std::vector<std::string>& row : cells_of(read_file(packet / "points.csv"))) {
    if (row.size() != 5 || !truth.figures.contains("stake " + row[0] + " northing")) continue;  // a mark
    readings["stake " + row[0] + " northing"] = printed(row[1]);
    readings["stake " + row[0] + " easting"] = printed(row[2]);
    if (!row[3].empty()) readings["stake " + row[0] + " design"] = printed(row[3]);
  }
  return readings;
}

/// Shoelace over the loops of toe.csv.
Readings from_toe_csv(const fs::path& packet, const Truth& truth) {
  double twice = 0, length = 0;
  std::map<std::string, std::vector<std::pair<double, double>>> loops;
  const SheetCells rows = cells_of(read_file(packet / "toe.csv"));
  for (std::size_t i = 1; i < rows.size(); ++i) {
    if (rows[i].size() >= 4) loops[rows[i][0]].emplace_back(std::stod(rows[i][3]), std::stod(rows[i][2]));
  }
  for (const auto& [name, loop] : loops) {
    const auto [x0, y0] = loop.front();
    for (std::size_t i = 0; i < loop.size(); ++i) {
      const auto [x, y] = loop[i];
      const auto [u, v] = loop[(i + 1) % loop.size()];
      twice += (x - x0) * (v - y0) - (u - x0) * (y - y0);
      length += std::hypot(u - x, v - y);
    }
  }
  // Corners are printed to 0.001: the area may be off by that along the outline.
  return {{"plan area", {twice / 2, 0.001 * truth.figures.at("perimeter")}}, {"perimeter", {length, 0.05}}};
}

double integral(const pugi::xml_node& surface, double datum) {
  std::map<int, std::vector<double>> points;
  std::vector<double> origin;
  double sum = 0;
  for (const pugi::xml_node p : surface.child("Definition").child("Pnts").children("P")) {
    points[p.attribute("id").as_int()] = numbers_in(p.text().get());
  }
  for (const pugi::xml_node face : surface.child("Definition").child("Faces").children("F")) {
    const std::vector<double> ids = numbers_in(face.text().get());
    const std::vector<double>&a = points.at(static_cast<int>(ids[0])), &b = points.at(static_cast<int>(ids[1])),
          &c = points.at(static_cast<int>(ids[2]));
    const double area = 0.5 * ((b[1] - a[1]) * (c[0] - a[0]) - (b[0] - a[0]) * (c[1] - a[1]));
    sum += area * ((a[2] + b[2] + c[2]) / 3 - datum);
  }
  return sum;
}

Readings from_surfaces_xml(const fs::path& packet, const Truth& truth) {
  pugi::xml_document document;
  EXPECT_TRUE(document.load_file((packet / "surfaces.xml").c_str()));
  const pugi::xml_node root = document.child("LandXML");
  Readings readings;
  const double datum = truth.figures.at("bed bottom"), yards = truth.cubic_yards;
  double first = 0, below = 0;
  const std::string top = "top of ";
  for (const pugi::xml_node surface : root.child("Surfaces").children("Surface")) {
    const std::string name = surface.attribute("name").value();
    const double here = integral(surface, datum);
    if (name == "prepared ground") first = here;
    if (name.starts_with(top)) {
      readings["fill " + name.substr(top.size())] = {(here - below) * yards, 0.01};  // faces lean by a hair
      readings["total fill"] = {(here - first) * yards, 0.01};
      readings["plan area"] = {integral(surface, 0) - integral(surface, 1), 0.01};
    }
    below = here;
  }
  for (const pugi::xml_node point : root.find_child_by_attribute("CgPoints", "name", "stakes").children("CgPoint")) {
    std::istringstream text(point.text().get());
    const std::string stake = std::string("stake ") + point.attribute("name").value();
    std::string northing, easting, design;
    text >> northing >> easting;
    readings[stake + " northing"] = printed(northing);
    readings[stake + " easting"] = printed(easting);
    if (text >> design) readings[stake + " design"] = printed(design);
  }
  return readings;
}

Readings from_site_gpkg(const fs::path& packet, const Truth&) {
  GDALAllRegister();
  const std::unique_ptr<GDALDataset> data(GDALDataset::Open((packet / "site.gpkg").c_str(), GDAL_OF_VECTOR));
  Readings readings;
  double area = 0, perimeter = 0;
  for (const auto& toe : *data->GetLayerByName("toe")) {
    const OGRPolygon& polygon = *toe->GetGeometryRef()->toPolygon();
    area += polygon.get_Area();
    for (const OGRLinearRing* ring : polygon) perimeter += ring->get_Length();
  }
  readings["plan area"] = {area, 1e-4};
  readings["perimeter"] = {perimeter, 1e-5};
  for (const auto& bed : *data->GetLayerByName("bed")) {
    readings["bed bottom"] = {bed->GetFieldAsDouble("bottom_elevation"), half_of(2)};
  }
  for (const auto& layer : *data->GetLayerByName("layer_outlines")) {
    readings[std::string("fill ") + layer->GetFieldAsString("layer")] = {layer->GetFieldAsDouble("volume_cy"),
                                                                         half_of(2)};
  }
  for (const auto& point : *data->GetLayerByName("stakes")) {
    const std::string stake = std::string("stake ") + point->GetFieldAsString("number");
    readings[stake + " northing"] = in_full(point->GetGeometryRef()->toPoint()->getY());
    readings[stake + " easting"] = in_full(point->GetGeometryRef()->toPoint()->getX());
    const int design = point->GetFieldIndex("design");
    if (point->IsFieldSetAndNotNull(design)) readings[stake + " design"] = in_full(point->GetFieldAsDouble(design));
  }
  return readings;
}

Readings from_quantities_xlsx(const fs::path& packet, const Truth&) {
  const SheetsByName sheets = sheets_in_libreoffice(read_file(packet / "quantities.xlsx"), Recalculate::always);
  const SheetCells& takeoff = sheets.at("Takeoff");
  Readings readings;
  for (const std::vector<std::string>& row : takeoff) {
    if (row[0] == "total fill" || row[0] == "total cut") readings[row[0]] = in_full(std::stod(row[3]));
    if (row[0] != "fill" && row[0] != "cut") continue;
    readings[row[0] + " " + row[1]] = in_full(std::stod(row[3]));
    readings["plan area of " + row[1]] = in_full(std::stod(row[5]));
    if (row[0] == "cut") continue;
    readings["end areas of " + row[1]] = in_full(std::stod(row[4]));
    readings["least thickness of " + row[1]] = in_full(std::stod(row[6]));
    readings["greatest thickness of " + row[1]] = in_full(std::stod(row[7]));
  }
  const SheetCells& order = sheets.at("Order");
  const std::size_t needed = row_of(order, "needed"), loads = row_of(order, "loads to call for");
  for (std::size_t column = 2; column < order[3].size() && !order[3][column].empty(); ++column) {
    const auto add = [&](const std::string& figure, const std::string& text) {
      if (!text.empty()) readings[figure + order[3][column]] = in_full(std::stod(text));
    };
    add("needed ", order[needed][column]);
    add("loads of ", order[loads][column]);
  }
  if (sheets.contains("Bid")) {
    const SheetCells& bid = sheets.at("Bid");
    readings["bid"] = in_full(std::stod(bid[row_of(bid, "price")][4]));
  }
  return readings;
}

struct Reader {
  const char* file;
  Readings (*read)(const fs::path& packet, const Truth& truth);
  std::size_t least;  // readings that it must give at the least
};

constexpr Reader readers[] = {
    {"quantities.csv", from_quantities_csv, 14},
    {"points.csv", from_points_csv, 60},
    {"toe.csv", from_toe_csv, 2},
    {"surfaces.xml", from_surfaces_xml, 60},
    {"site.gpkg", from_site_gpkg, 60},
    {"quantities.xlsx", from_quantities_xlsx, 20},
};

class PacketAgreement : public testing::TestWithParam<const char*> {};

TEST_P(PacketAgreement, EveryFileSaysTheSame) {
  const Scratch scratch;
  const fs::path packet = scratch / "packet", job = fs::path(MOUNDWRIGHT_SURVEYS) / (std::string(GetParam()) + ".toml");
  const std::string command = std::string(MOUNDWRIGHT_COMMAND) + " build '" + job.string() + "' -o '" +
                              packet.string() + "' > '" + (scratch / "log").string() + "' 2>&1";
  std::system(command.c_str());  // ridgeback fails a check, and is written all the same
  ASSERT_TRUE(fs::exists(packet / "summary.json")) << read_file(scratch / "log");
  const Truth truth = truth_of(packet);
  for (const Reader& reader : readers) {
    const Readings readings = reader.read(packet, truth);
    EXPECT_GE(readings.size(), reader.least) << reader.file;
    for (const auto& [figure, reading] : readings) {
      ASSERT_TRUE(truth.figures.contains(figure)) << reader.file << " has a figure of its own: " << figure;
      EXPECT_NEAR(reading.value, truth.figures.at(figure), reading.within) << reader.file << ", " << figure;
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Surveys, PacketAgreement, testing::Values("fernhollow", "ridgeback"),
                         [](const auto& info) { return std::string(info.param); });

}  // namespace
}  // namespace moundwright

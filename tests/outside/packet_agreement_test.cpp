// Everything in one packet agrees: figures are read back from every file by somebody else's reader, and held against
// summary.json (what is staked against stakes.csv) to the digit that the file prints.
//
// Another file of the packet is one more function that gives Readings, and one line in `readers`.
#include <gdal_priv.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <cstdlib>
#include <memory>
#include <pugixml.hpp>
#include <set>

#include "packet_readings.h"
#include "test_paths.h"

namespace moundwright {

namespace fs = std::filesystem;
using nlohmann::json;

namespace {

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

}  // namespace

Readings from_points_csv(const fs::path& packet, const Truth& truth) {
  Readings readings;
  for (const std::vector<std::string>& row : cells_of(io::read_file(packet / "points.csv"))) {
    if (row.size() != 5 || !truth.figures.contains("stake " + row[0] + " northing")) continue;  // a mark
    readings.add("stake " + row[0] + " northing", printed(row[1]));
    readings.add("stake " + row[0] + " easting", printed(row[2]));
    if (!row[3].empty()) readings.add("stake " + row[0] + " design", printed(row[3]));
  }
  return readings;
}

/// Shoelace over the loops of toe.csv.
Readings from_toe_csv(const fs::path& packet, const Truth& truth) {
  double twice = 0, length = 0;
  std::map<std::string, std::vector<std::pair<double, double>>> loops;
  const SheetCells rows = cells_of(io::read_file(packet / "toe.csv"));
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
  Readings readings;
  readings.add("plan area", {twice / 2, 0.001 * truth.figures.at("perimeter")});
  readings.add("perimeter", {length, 0.05});
  return readings;
}

Readings from_surfaces_xml(const fs::path& packet, const Truth& truth) {
  pugi::xml_document document;
  EXPECT_TRUE(document.load_file((packet / "surfaces.xml").c_str()));
  const pugi::xml_node root = document.child("LandXML");
  Readings readings;
  constexpr double lean = 0.27;  // cubic job units: faces lean by a hair
  const double datum = truth.figures.at("bed bottom"), told = truth.told_volume;
  std::map<std::string, double> under;  // each surface, over the bed bottom
  std::string below = "prepared ground";
  const std::string top = "top of ";
  for (const pugi::xml_node surface : root.child("Surfaces").children("Surface")) {
    const std::string name = surface.attribute("name").value();
    under[name] = integral(surface, datum);
    if (!name.starts_with(top)) continue;
    readings.add("fill " + name.substr(top.size()), {(under[name] - under[below]) * told, lean * told});
    readings.add("plan area", {under[name] - integral(surface, datum + 1), 0.01});
    below = name;
  }
  readings.add("total fill", {(under[below] - under["prepared ground"]) * told, lean * told});
  const double raised = (under["finished lot"] - under["existing ground"]) * told;
  readings.add("total fill", {raised + truth.figures.at("total cut"), lean * told});
  for (const pugi::xml_node point : root.find_child_by_attribute("CgPoints", "name", "stakes").children("CgPoint")) {
    std::istringstream text(point.text().get());
    const std::string stake = std::string("stake ") + point.attribute("name").value();
    std::string northing, easting, design;
    text >> northing >> easting;
    readings.add(stake + " northing", printed(northing));
    readings.add(stake + " easting", printed(easting));
    if (text >> design) readings.add(stake + " design", printed(design));
  }
  return readings;
}

Readings from_site_gpkg(const fs::path& packet, const Truth& truth) {
  GDALAllRegister();
  const std::unique_ptr<GDALDataset> data(GDALDataset::Open((packet / "site.gpkg").c_str(), GDAL_OF_VECTOR));
  Readings readings;
  double area = 0, perimeter = 0;
  for (const auto& toe : *data->GetLayerByName("toe")) {
    const OGRPolygon& polygon = *toe->GetGeometryRef()->toPolygon();
    area += polygon.get_Area();
    for (const OGRLinearRing* ring : polygon) perimeter += ring->get_Length();
  }
  readings.add("plan area", {area, 1e-4});
  readings.add("perimeter", {perimeter, 1e-5});
  for (const auto& bed : *data->GetLayerByName("bed")) {
    readings.add("bed bottom", {bed->GetFieldAsDouble("bottom_elevation"), half_of(2)});
  }
  for (const auto& layer : *data->GetLayerByName("layer_outlines")) {
    const double told = truth.metric ? 0.764554857984 : 1;  // of a yard, which the field is in all the same
    readings.add(std::string("fill ") + layer->GetFieldAsString("layer"),
                 {layer->GetFieldAsDouble("volume_cy") * told, half_of(2) * told});
  }
  for (const auto& point : *data->GetLayerByName("stakes")) {
    const std::string stake = std::string("stake ") + point->GetFieldAsString("number");
    readings.add(stake + " northing", in_full(point->GetGeometryRef()->toPoint()->getY()));
    readings.add(stake + " easting", in_full(point->GetGeometryRef()->toPoint()->getX()));
    const int design = point->GetFieldIndex("design");
    if (point->IsFieldSetAndNotNull(design)) readings.add(stake + " design", in_full(point->GetFieldAsDouble(design)));
  }
  return readings;
}

Readings from_field_html(const fs::path& packet, const Truth& truth) {
  const json data = field_data(packet);
  Readings readings;
  for (const auto& grade : data["grades"]) {
    readings.add("grade " + grade["name"].get<std::string>(), in_full(grade["elevation"]));
  }
  for (const auto& stake : data["stakes"]) {
    const std::string name = "stake " + std::to_string(stake["number"].get<int>());
    const auto add = [&](const char* figure, const json& value, int decimals) {
      readings.add(name + " " + figure, {value, half_of(decimals)});  // what stakes.csv is printed to
    };
    add("northing", stake["n"], 6), add("easting", stake["e"], 6);
    const int decimals = truth.metric ? 3 : 2;
    if (stake.contains("ground")) add("ground", stake["ground"], decimals);
    if (stake.contains("design")) add("design", stake["design"], decimals);
    if (stake.contains("to_shoulder")) add("shoulder", stake["to_shoulder"], decimals);
    for (std::size_t i = 0; i < truth.tie_marks.size(); ++i) {
      readings.add(name + " tie " + truth.tie_marks[i], {stake["ties"][i], half_of(decimals)});
    }
    const bool to_bed = stake["edge"]["name"] == "bed bottom";
    readings.add(to_bed ? "bed bottom" : name + " design",
                 {stake["edge"]["elevation"], half_of(to_bed ? 6 : decimals)});
  }
  for (const char* list : {"sides", "diagonals"}) {
    for (const auto& check : data[list]) {
      readings.add("taped " + check["what"].get<std::string>(), in_full(check["distance"]));
    }
  }
  return readings;
}

namespace {

struct Reader {
  const char* file;
  Readings (*read)(const fs::path& packet, const Truth& truth);
  std::size_t least;  // readings that it must give at the least
};

constexpr Reader readers[] = {
    {"quantities.csv", from_quantities_csv, 80},
    {"points.csv", from_points_csv, 60},
    {"toe.csv", from_toe_csv, 2},
    {"surfaces.xml", from_surfaces_xml, 60},
    {"site.gpkg", from_site_gpkg, 60},
    {"quantities.xlsx", from_quantities_xlsx, 120},
    {"sheets.pdf", from_sheets_pdf, 500},
    {"field.html", from_field_html, 200},
};

class PacketAgreement : public testing::TestWithParam<const char*> {};

/// A job of surveys/ in a folder of the test's. "in_metres" is the ordinary one with its numbers taken for metres.
fs::path job_for(const std::string& name, const Scratch& scratch) {
  fs::copy(MOUNDWRIGHT_SURVEYS, scratch.folder());
  if (name != "in_metres") return scratch / (name + ".toml");
  for (const char* file : {"fernhollow.toml", "fernhollow-materials.toml"}) {
    std::string text = io::read_file(scratch / file);
    const std::string feet = "\nunits = \"ft\"";
    const std::size_t at = text.find(feet);
    EXPECT_NE(at, std::string::npos) << file;
    scratch.put(file, text.replace(at, feet.size(), "\nunits = \"m\""));
  }
  return scratch / "fernhollow.toml";
}

TEST_P(PacketAgreement, EveryFileSaysTheSame) {
  const Scratch scratch;
  const fs::path packet = scratch / "packet", job = job_for(GetParam(), scratch);
  const std::string command = std::string(MOUNDWRIGHT_COMMAND) + " build '" + job.string() + "' -o '" +
                              packet.string() + "' > '" + (scratch / "log").string() + "' 2>&1";
  std::system(command.c_str());  // ridgeback fails a check, and is written all the same
  ASSERT_TRUE(fs::exists(packet / "summary.json")) << io::read_file(scratch / "log");
  hold_stakes_against_definitions(packet, job);
  const Truth truth = truth_of(packet);
  EXPECT_EQ(truth.metric, GetParam() == std::string("in_metres"));
  std::set<std::string> read;
  for (const Reader& reader : readers) {
    const Readings readings = reader.read(packet, truth);
    EXPECT_GE(readings.size(), reader.least) << reader.file;
    for (const auto& [figure, reading] : readings) {
      ASSERT_TRUE(truth.figures.contains(figure)) << reader.file << " has a figure of its own: " << figure;
      read.insert(figure);
      EXPECT_NEAR(reading.value, truth.figures.at(figure), reading.within) << reader.file << ", " << figure;
    }
  }
  for (const auto& [figure, value] : truth.figures) EXPECT_TRUE(read.contains(figure)) << "nowhere read: " << figure;
}

INSTANTIATE_TEST_SUITE_P(Surveys, PacketAgreement, testing::Values("fernhollow", "ridgeback", "in_metres"),
                         [](const auto& info) { return std::string(info.param); });

}  // namespace
}  // namespace moundwright

// The TIN against scipy.spatial.Delaunay (Qhull), on real ground: Davis 1973 (R package MASS, data set topo) and the
// Maunga Whau elevation grid (R package datasets, data set volcano); see the head of each file in tests/data.
//
// Posts on a grid lie four to a circle, and either diagonal of a cell is Delaunay, so there only what does not depend
// on the choice can be compared: plan area, and that every circle through one of our triangles is empty. The same posts
// moved by a hundredth of their spacing have one Delaunay triangulation only; on those true area, volume and
// elevations must agree as well.
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <Eigen/Geometry>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <random>
#include <sstream>

#include "geom/ground.h"
#include "test_paths.h"

namespace moundwright {
namespace {

namespace fs = std::filesystem;

const std::string data = MOUNDWRIGHT_TEST_DATA;

std::vector<std::vector<double>> numbers_in(const std::string& file) {
  std::ifstream in(data + "/" + file);
  EXPECT_TRUE(in) << "cannot read " << file;
  std::vector<std::vector<double>> rows;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#' || std::isalpha(static_cast<unsigned char>(line[0]))) continue;
    std::istringstream cells(line);
    std::vector<double>& row = rows.emplace_back();
    for (std::string cell; std::getline(cells, cell, ',');) row.push_back(std::stod(cell));
  }
  return rows;
}

/// Feet: the file has x and y in units of 50 ft.
std::vector<Shot> davis() {
  std::vector<Shot> shots;
  for (const auto& row : numbers_in("davis1973-topo.csv"))
    shots.push_back({"", 50 * row[1], 50 * row[0], row[2], "", 0});
  return shots;
}

/// Metres; row 1 is the east edge, column 1 the south edge.
std::vector<Shot> maunga_whau() {
  std::vector<Shot> shots;
  const auto rows = numbers_in("maunga-whau-dem.csv");
  for (std::size_t r = 0; r < rows.size(); ++r) {
    for (std::size_t c = 0; c < rows[r].size(); ++c) {
      const double easting = 10.0 * static_cast<double>(rows.size() - 1 - r), northing = 10.0 * static_cast<double>(c);
      shots.push_back({"", northing, easting, rows[r][c], "", 0});
    }
  }
  return shots;
}

std::vector<Shot> moved(std::vector<Shot> shots, double by) {
  std::mt19937 random(1);
  std::uniform_real_distribution<double> step(-by, by);
  for (Shot& s : shots) s.easting += step(random), s.northing += step(random);
  return shots;
}

struct Sums {
  double plan = 0, slope = 0, volume = 0;
};

Sums sums_of(const Ground& ground, double datum) {
  Sums sums;
  for (const auto& [a, b, c] : ground.tree.triangles) {
    const Point3 normal = (ground.points[b] - ground.points[a]).cross(ground.points[c] - ground.points[a]) / 2;
    sums.plan += normal.z();
    sums.slope += normal.norm();
    sums.volume += normal.z() * ((ground.points[a].z() + ground.points[b].z() + ground.points[c].z()) / 3 - datum);
  }
  return sums;
}

struct Peer {
  double hull_area = 0;
  Sums own;              // scipy's triangles
  double emptiness = 0;  // of our triangles' circles
  Sums ours;             // our triangles
  std::vector<double> elevations;
};

struct Folder {
  fs::path path = fs::temp_directory_path() / fmt::format("moundwright-tin-{}", ::getpid());
  Folder() { fs::create_directories(path); }
  ~Folder() { fs::remove_all(path); }
};

std::vector<double> numbers_from(const std::string& command) {
  std::FILE* pipe = ::popen(command.c_str(), "r");
  if (!pipe) return {};
  std::vector<double> numbers;
  char line[128];
  while (std::fgets(line, sizeof line, pipe)) numbers.push_back(std::strtod(line, nullptr));
  if (::pclose(pipe) != 0) numbers.clear();
  return numbers;
}

/// Asks scipy; fails the test if Debian's python3 and python3-scipy are not there.
Peer peer_of(const Ground& ground, const std::vector<Point2>& places, double datum) {
  const Folder folder;
  std::ofstream points(folder.path / "points"), triangles(folder.path / "triangles"), asked(folder.path / "places");
  for (const Point3& p : ground.points) points << fmt::format("{},{},{}\n", p.x(), p.y(), p.z());
  for (const auto& [a, b, c] : ground.tree.triangles) triangles << fmt::format("{},{},{}\n", a, b, c);
  for (const Point2& p : places) asked << fmt::format("{},{}\n", p.x(), p.y());
  points.close(), triangles.close(), asked.close();
  const std::string folder_name = folder.path.string();
  const auto n = numbers_from(
      fmt::format("/usr/bin/python3 '{0}/../outside/tin_peer.py' '{1}/points' '{1}/triangles' '{1}/places' {2}", data,
                  folder_name, datum));
  if (n.size() != 8 + places.size()) {
    ADD_FAILURE() << "no answer from scipy: install python3 and python3-scipy";
    return {};
  }
  return {n[0], {n[1], n[2], n[3]}, n[4], {n[5], n[6], n[7]}, {n.begin() + 8, n.end()}};
}

std::vector<Point2> places_on(const Ground& ground) {
  std::mt19937 random(2);
  std::uniform_int_distribution<std::size_t> any(0, ground.triangle_count() - 1);
  std::uniform_real_distribution<double> share(0.1, 0.9);
  std::vector<Point2> places;
  for (int i = 0; i < 500; ++i) {
    const auto& [a, b, c] = ground.tree.triangles[any(random)];
    const double s = share(random), t = share(random) * (1 - s);
    const Point3 place =
        ground.points[a] + s * (ground.points[b] - ground.points[a]) + t * (ground.points[c] - ground.points[a]);
    places.emplace_back(place.head<2>());
  }
  return places;
}

void expect_sums(const Sums& ours, const Sums& theirs) {
  EXPECT_NEAR(ours.plan, theirs.plan, 1e-11 * theirs.plan);
  EXPECT_NEAR(ours.slope, theirs.slope, 1e-11 * theirs.slope);
  EXPECT_NEAR(ours.volume, theirs.volume, 1e-11 * std::abs(theirs.volume));
}

/// What holds on any ground, ties or not.
void expect_delaunay(const Ground& ground, const Peer& peer, double datum) {
  EXPECT_NEAR(ground.total_area, peer.hull_area, 1e-11 * peer.hull_area);
  EXPECT_NEAR(peer.emptiness, 1.0, 1e-9);
  expect_sums(sums_of(ground, datum), peer.ours);
}

/// What holds where there is only one Delaunay triangulation.
void expect_the_same(const Ground& ground, const Peer& peer, const std::vector<Point2>& places, double datum) {
  expect_delaunay(ground, peer, datum);
  expect_sums(sums_of(ground, datum), peer.own);
  for (std::size_t i = 0; i < peer.elevations.size(); ++i) {
    EXPECT_NEAR(elevation_at(ground, places[i]).value_or(NAN), peer.elevations[i], 1e-9);
  }
}

TEST(GroundOutside, DavisTopographyIsAsScipyHasIt) {
  constexpr double datum = 690.0;
  const Ground ground = make_ground(moved(davis(), 0.5));  // feet; read off to 5 ft, so as they are there may be ties
  const auto places = places_on(ground);
  expect_the_same(ground, peer_of(ground, places, datum), places, datum);
}

TEST(GroundOutside, DavisTopographyAsReadIsDelaunay) {
  const Ground ground = make_ground(davis());
  expect_delaunay(ground, peer_of(ground, places_on(ground), 690.0), 690.0);
}

TEST(GroundOutside, MaungaWhauOffItsGridIsAsScipyHasIt) {
  constexpr double datum = 94.0;
  const Ground ground = make_ground(moved(maunga_whau(), 0.1));
  const auto places = places_on(ground);
  expect_the_same(ground, peer_of(ground, places, datum), places, datum);
}

TEST(GroundOutside, MaungaWhauOnItsGridIsDelaunayAndFillsTheGrid) {
  const Ground ground = make_ground(maunga_whau());
  EXPECT_EQ(ground.triangle_count(), 2u * 86 * 60);
  EXPECT_DOUBLE_EQ(ground.total_area, 860.0 * 600.0);
  expect_delaunay(ground, peer_of(ground, places_on(ground), 94.0), 94.0);
}

}  // namespace
}  // namespace moundwright

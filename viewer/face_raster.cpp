#include "viewer/face_raster.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace moundwright::viewer {
namespace {

constexpr int band_rows = 16;
constexpr float least_area = 1e-5F;  // square pixels; what is smaller has no side that could be seen
constexpr double overlap = 1e-4;     // pixels by which a face is drawn wider, so that none is missed between neighbours

}  // namespace

/// A side of a face, from the upper corner down: where it stands in a row.
struct FaceRaster::Side {
  double y;
  SidePlace at_y, step;  // to the next row

  Side(const Corner& from, const Corner& to)
      : y(from.y), at_y{from.x, from.depth}, step{(to.x - at_y.x) / (to.y - y), (to.depth - at_y.depth) / (to.y - y)} {}
  SidePlace place(double row) const { return {at_y.x + step.x * (row - y), at_y.depth + step.depth * (row - y)}; }
};

std::pair<int, int> FaceRaster::rows_of(const Face& face) {
  return {static_cast<int>(std::ceil(face.corners[0].y - 0.5F)),
          static_cast<int>(std::ceil(face.corners[2].y - 0.5F)) - 1};
}

float FaceRaster::twice_area(const Face& face) {
  const auto& [p, q, r] = face.corners;
  return (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
}

FaceRaster::FaceRaster(const std::vector<RayMesh>& meshes, const ParallelView& view, double pixels_per_point,
                       int columns, int rows, RayScene::Ignore ignore)
    : view_(view),
      pixels_per_point_(pixels_per_point),
      columns_(columns),
      rows_(rows),
      ignore_(std::move(ignore)),
      in_band_(static_cast<std::size_t>((rows + band_rows - 1) / band_rows)) {
  std::size_t faces = 0;
  for (const RayMesh& mesh : meshes) faces += mesh.triangles.size();
  faces_.reserve(faces);
  for (std::uint32_t i = 0; i < meshes.size(); ++i) add(meshes[i], i);
}

void FaceRaster::add(const RayMesh& mesh, std::uint32_t number_of_mesh) {
  for (const auto& triangle : mesh.triangles) {
    Face face{{}, number_of_mesh, ignore_ && mesh.may_be_ignored};
    for (std::size_t k = 0; k < 3; ++k) {
      const Eigen::Vector3f& at = mesh.points[triangle[k]];
      const Eigen::Vector2f pixel = (view_.paper(at) * pixels_per_point_).cast<float>();
      face.corners[k] = {pixel.x(), pixel.y(), view_.depth(at)};
    }
    const float twice = twice_area(face);
    std::sort(face.corners.begin(), face.corners.end(), [](const Corner& a, const Corner& b) { return a.y < b.y; });
    const auto number = static_cast<std::uint32_t>(faces_.size());
    faces_.push_back(face);
    if (std::abs(twice) < 2 * least_area || (mesh.shows_outside_only && twice > 0)) continue;
    const auto [first, last] = rows_of(face);
    for (int band = std::max(first, 0) / band_rows; band * band_rows <= std::min(last, rows_ - 1); ++band) {
      in_band_[static_cast<std::size_t>(band)].push_back(number);
    }
  }
}

std::vector<FaceSpot> FaceRaster::rows(int first, int last) const {
  std::vector<FaceSpot> spots(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(last - first));
  for (int band = first / band_rows; band * band_rows < last; ++band) {
    const int from = std::max(first, band * band_rows), to = std::min(last, (band + 1) * band_rows);
    for (const std::uint32_t face : in_band_[static_cast<std::size_t>(band)]) {
      draw(face, from, to, spots.data() + std::ptrdiff_t{columns_} * (from - first));
    }
  }
  return spots;
}

void FaceRaster::draw(std::uint32_t number, int first, int last, FaceSpot* row) const {
  const Face& face = faces_[number];
  const auto& [top, middle, bottom] = face.corners;
  const auto [highest, lowest] = rows_of(face);
  const int from = std::max(first, highest), to = std::min(last, lowest + 1);
  if (from >= to) return;
  const Side whole(top, bottom), upper(top, middle), lower(middle, bottom);
  row += std::ptrdiff_t{columns_} * (from - first);
  for (int y = from; y < to; ++y, row += columns_) {
    const float at = static_cast<float>(y) + 0.5F;
    const SidePlace one = whole.place(at), other = (at < middle.y ? upper : lower).place(at);
    if (one.x < other.x) {
      draw_row(number, y, one, other, row);
    } else {
      draw_row(number, y, other, one, row);
    }
  }
}

void FaceRaster::draw_row(std::uint32_t number, int y, const SidePlace& left, const SidePlace& right,
                          FaceSpot* row) const {
  const Face& face = faces_[number];
  // Casts cut off, which is faster than to round down or up.
  const int from = std::max(0, static_cast<int>(left.x + 0.5 - overlap));
  const int to = std::min(columns_, static_cast<int>(right.x + 0.5 + overlap));
  const double slope = (right.depth - left.depth) / std::max(right.x - left.x, overlap);
  const auto step = static_cast<float>(slope), at_from = static_cast<float>(left.depth + slope * (from + 0.5 - left.x));
  const auto [low, high] = std::minmax({static_cast<float>(left.depth), static_cast<float>(right.depth)});
  for (int x = from; x < to; ++x) {
    const float depth = std::clamp(at_from + step * static_cast<float>(x - from), low, high);
    FaceSpot& spot = row[x];
    if (depth <= spot.depth) continue;
    if (face.may_be_ignored && is_ignored(face, static_cast<float>(x) + 0.5F, static_cast<float>(y) + 0.5F, depth))
      continue;
    spot = {number, depth};
  }
}

bool FaceRaster::is_ignored(const Face& face, float x, float y, float depth) const {
  return ignore_(face.mesh, view_.place(Point2(x, y) / pixels_per_point_, depth));
}

void FaceRaster::see(std::uint32_t number, std::span<const Eigen::Vector2f> places, FaceSpot* found) const {
  const Face& face = faces_[number];
  const auto& [p, q, r] = face.corners;
  const float all = twice_area(face);
  if (std::abs(all) < 2 * least_area) return;
  const float qx = (q.x - p.x) / all, qy = (q.y - p.y) / all, rx = (r.x - p.x) / all, ry = (r.y - p.y) / all;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const float x = places[i].x() - p.x, y = places[i].y() - p.y;
    const float of_q = x * ry - y * rx, of_r = qx * y - qy * x;  // what the corners count for there
    if (of_q < 0 || of_r < 0 || of_q + of_r > 1) continue;
    const float depth = p.depth + of_q * (q.depth - p.depth) + of_r * (r.depth - p.depth);
    if (depth <= found[i].depth) continue;
    if (face.may_be_ignored && is_ignored(face, places[i].x(), places[i].y(), depth)) continue;
    found[i] = {number, depth};
  }
}

}  // namespace moundwright::viewer

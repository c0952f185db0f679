#include "viewer/face_raster.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace moundwright {
namespace {

constexpr int band_rows = 16;
constexpr float least_area = 1e-5F;  // square pixels; what is smaller has no side that could be seen
constexpr double overlap = 1e-4;     // pixels by which a face is drawn wider, so that none is missed between neighbours

}  // namespace

float FaceRaster::twice_area(const Face& face) {
  const auto& [p, q, r] = face.corners;
  return (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
}

/// The first and the last row whose middle it may meet.
std::pair<int, int> FaceRaster::rows_of(const Face& face) {
  const auto& [p, q, r] = face.corners;
  const auto [low, high] = std::minmax({p.y, q.y, r.y});
  return {static_cast<int>(std::ceil(low - 0.5F)), static_cast<int>(std::floor(high - 0.5F))};
}

FaceRaster::FaceRaster(const std::vector<RayMesh>& meshes, const ParallelView& view, double pixels_per_point,
                       int columns, int rows, RayScene::Ignore ignore)
    : view_(view),
      pixels_per_point_(pixels_per_point),
      columns_(columns),
      rows_(rows),
      ignore_(std::move(ignore)),
      in_band_(static_cast<std::size_t>((rows + band_rows - 1) / band_rows)) {
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
    const auto number = static_cast<std::uint32_t>(faces_.size());
    faces_.push_back(face);
    if (std::abs(twice_area(face)) < 2 * least_area) continue;
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
      const auto [highest, lowest] = rows_of(faces_[face]);
      for (int y = std::max(from, highest); y < std::min(to, lowest + 1); ++y) {
        draw_row(face, y, spots.begin() + std::ptrdiff_t{columns_} * (y - first));
      }
    }
  }
  return spots;
}

void FaceRaster::draw_row(std::uint32_t number, int y, std::vector<FaceSpot>::iterator row) const {
  const Face& face = faces_[number];
  const float middle = static_cast<float>(y) + 0.5F;
  std::array<std::pair<double, double>, 2> ends;  // where the row comes in and goes out: x and depth there
  std::size_t count = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    const auto [px, py, p_depth] = face.corners[i];
    const auto [qx, qy, q_depth] = face.corners[(i + 1) % 3];
    if ((py <= middle) == (qy <= middle)) continue;  // so that each row crosses two sides or none
    const double part = (middle - py) / (qy - py);
    ends[count++] = {px + part * (qx - px), p_depth + part * (q_depth - p_depth)};
  }
  if (count == 0) return;
  if (ends[0].first > ends[1].first) std::swap(ends[0], ends[1]);
  const auto [left, right] = ends;
  const int from = std::max(0, static_cast<int>(std::ceil(left.first - 0.5 - overlap)));
  const int to = std::min(columns_ - 1, static_cast<int>(std::floor(right.first - 0.5 + overlap)));
  const double slope = (right.second - left.second) / std::max(right.first - left.first, overlap);
  const auto step = static_cast<float>(slope),
             at_from = static_cast<float>(left.second + slope * (from + 0.5 - left.first));
  const auto [low, high] = std::minmax({static_cast<float>(left.second), static_cast<float>(right.second)});
  for (int x = from; x <= to; ++x) {
    const float depth = std::clamp(at_from + step * static_cast<float>(x - from), low, high);
    FaceSpot& spot = row[x];
    if (depth <= spot.depth) continue;
    if (face.may_be_ignored && is_ignored(face, static_cast<float>(x) + 0.5F, middle, depth)) continue;
    spot = {number, depth};
  }
}

bool FaceRaster::is_ignored(const Face& face, float x, float y, float depth) const {
  return ignore_(face.mesh, view_.place(Point2(x, y) / pixels_per_point_, depth));
}

void FaceRaster::put_nearer(std::uint32_t number, float x, float y, FaceSpot& spot) const {
  const Face& face = faces_[number];
  const auto& [p, q, r] = face.corners;
  // What each corner counts for.
  const float of_q = (x - p.x) * (r.y - p.y) - (y - p.y) * (r.x - p.x);
  const float of_r = (q.x - p.x) * (y - p.y) - (q.y - p.y) * (x - p.x);
  const float all = twice_area(face), of_p = all - of_q - of_r;
  if (std::abs(all) < 2 * least_area || of_p * all < 0 || of_q * all < 0 || of_r * all < 0) return;
  const float depth = (of_p * p.depth + of_q * q.depth + of_r * r.depth) / all;
  if (depth <= spot.depth || (face.may_be_ignored && is_ignored(face, x, y, depth))) return;
  spot = {number, depth};
}

}  // namespace moundwright

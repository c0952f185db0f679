// What is seen at the middle of every pixel of a parallel view: the triangles, drawn row by row, the nearest one kept.
//
//   const FaceRaster raster(meshes, view, pixels_per_point, columns, rows, ignore);
//   std::vector<FaceSpot> spots = raster.rows(first, last);     // of rows first to last - 1, one after the other
//   raster.see(face, places, found);                            // one face at places between the pixels' middles
//
// For whole pictures this gives what a ray for each pixel would (ray_scene.h), in a fraction of the time. Faces are
// numbered as they stand in the meshes, one mesh after the other. Safe to ask from many threads. Same meshes, same
// answers.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "viewer/parallel_view.h"
#include "viewer/ray_scene.h"

namespace moundwright::viewer {

struct FaceSpot {
  std::uint32_t face = none;
  float depth = -1e30F;  // of the view
  static constexpr std::uint32_t none = ~0U;
};

class FaceRaster {
 public:
  /// `ignore` as in a RayScene: what is to be seen through.
  FaceRaster(const std::vector<RayMesh>& meshes, const ParallelView& view, double pixels_per_point, int columns,
             int rows, RayScene::Ignore ignore = {});

  std::vector<FaceSpot> rows(int first, int last) const;

  /// At any places of the picture (pixels): where the face is nearer than what was found there before, takes it.
  void see(std::uint32_t face, std::span<const Eigen::Vector2f> places, FaceSpot* found) const;

 private:
  struct Corner {
    float x, y;  // pixels
    float depth;
  };
  struct Face {
    std::array<Corner, 3> corners;  // from the top of the picture down
    std::uint32_t mesh;
    bool may_be_ignored;
  };
  /// Where a row comes into a face or goes out.
  struct SidePlace {
    double x, depth;
  };
  struct Side;
  static float twice_area(const Face& face);             // square pixels, signed by which way it turns
  static std::pair<int, int> rows_of(const Face& face);  // the first and the last whose middle it meets
  void add(const RayMesh& mesh, std::uint32_t number_of_mesh);
  bool is_ignored(const Face& face, float x, float y, float depth) const;
  void draw(std::uint32_t number, int first, int last, FaceSpot* row) const;
  void draw_row(std::uint32_t number, int y, const SidePlace& left, const SidePlace& right, FaceSpot* row) const;

  ParallelView view_;
  double pixels_per_point_;
  int columns_, rows_;
  RayScene::Ignore ignore_;
  std::vector<Face> faces_;
  std::vector<std::vector<std::uint32_t>> in_band_;  // which of them each band of rows meets
};

}  // namespace moundwright::viewer

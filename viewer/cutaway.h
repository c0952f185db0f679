// The mound on a block of its ground with a quarter taken out, so that what is inside is seen: the meshes of the 3D
// picture.
//
//   const Cutaway model = cut_away(results, solids, {.heights = 2.0});
//   const RayScene scene(model.meshes, [&](auto mesh, const auto& at) { return is_taken_out(model, mesh, at); });
//
// Frame about the bed's middle at the bed bottom: x along the bed, y downslope, z up and exaggerated by `heights`.
// Where a quarter of that would hold far more or far less than a quarter of the bed, since the bed is L-shaped, the
// frame is that of one of its straight pieces, and the quarter taken out is this piece's. Each layer's quarter is a
// little smaller than that of the layer over it, so that layers stand out as steps; the cut faces are the exact
// sections there, layer by layer.
#pragma once

#include <memory>

#include "geom/solids.h"
#include "io/results.h"
#include "viewer/ray_scene.h"

namespace moundwright::viewer {

struct CutawayOptions {
  double heights = 2.0;  // how many times heights are exaggerated
  bool cut_open = true;
};

enum class Part {
  ground,      // as it is
  prepared,    // floor and sides of what is cut
  layer,       // outside of a layer
  layer_face,  // a layer where it is cut open
  block_side,  // the earth at the block's sides
};

struct Cutaway {
  struct Piece {
    Part part = Part::ground;
    std::size_t layer = 0;
  };
  MoundFrame frame;  // of x and y on the lot
  std::vector<RayMesh> meshes;
  std::vector<Piece> pieces;  // of each mesh

  struct Quarter {
    float along = 0, down = 0;  // taken out where x < along and y > down
  };
  std::vector<Quarter> quarters;             // of each layer; none where nothing is cut open
  std::shared_ptr<const RayScene> cut_lids;  // the ground over what is cut, which is open inside the outmost quarter

  Point2 low = Point2::Zero(), high = Point2::Zero();  // the block in plan
  double floor = 0;                                    // z of its underside
  double heights = 1;

  bool is_out(std::size_t layer, const Eigen::Vector3f& at) const {
    return !quarters.empty() && at.x() < quarters[layer].along && at.y() > quarters[layer].down;
  }
};

Cutaway cut_away(const io::SiteResults& results, const std::vector<Solid>& solids, const CutawayOptions& options = {});

/// True where the ground is open, since what is cut there lies in the quarter taken out. Of layers nothing is left
/// there.
bool is_taken_out(const Cutaway& model, std::uint32_t mesh, const Eigen::Vector3f& at);

/// Where a mound is best cut open: the mound's own frame, or that of a straight piece of its bed.
MoundFrame frame_to_cut(const MoundPlace& mound);

/// From reduced plan coordinates and elevation into the model.
Eigen::Vector3f to_model(const io::SiteResults& results, const Cutaway& model, const Point3& reduced);

/// A level step on the lot, so far east and north, in the model.
Eigen::Vector3f step_in_model(const Cutaway& model, const Point2& step);

}  // namespace moundwright::viewer

#include "geom/stages.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "geom/printed.h"

namespace moundwright {
namespace {

constexpr double tolerance = 1e-7;  // of heights that are the same number got in two ways

/// One line square across the bed. Offsets run downslope.
struct CrossSection {
  std::string name;
  Point2 centre, across;  // mound frame
};

std::vector<CrossSection> cross_sections(const MoundShape& shape) {
  const std::size_t pieces = shape.line.size() - 1;
  const auto section = [&](std::size_t piece, double part, std::string name) {
    const Point2 &a = shape.line[piece], &b = shape.line[piece + 1];
    const Point2 along = (b - a).normalized();
    return CrossSection{std::move(name), a + part * (b - a), {-along.y(), along.x()}};
  };
  std::vector<CrossSection> sections = {section(0, 0.0, "left end")};
  for (std::size_t piece = 0; piece < pieces; ++piece) {
    sections.push_back(section(piece, 0.5, pieces == 1 ? "middle" : fmt::format("middle of piece {}", piece + 1)));
  }
  sections.push_back(section(pieces - 1, 1.0, "right end"));
  return sections;
}

class StageSetter {
 public:
  StageSetter(const PlacedMound& mound, LengthUnit unit)
      : mound_(mound),
        bottom_(mound.buildup.bottom_elevation),
        decimals_(length_decimals(unit)),
        sections_(cross_sections(mound.shape())),
        back_(sections_.rbegin(), sections_.rend()) {}

  std::vector<BuildStage> take() {
    add_prepared_ground();
    double over_bed = -std::numeric_limits<double>::infinity();
    for (std::size_t k = 0; k < mound_.design().layers.size(); ++k) {
      const Layer& layer = mound_.design().layers[k];
      const double height = layer.top + layer.crown;
      const bool rises = height > over_bed + tolerance;
      if (rises) add_lateral_invert(layer, over_bed);
      if (layer.crown > 0) {
        add_crowned(layer);
      } else if (rises) {
        add_level(layer, over_bed);
      } else {
        add_ring(k);
      }
      over_bed = std::max(over_bed, height);
    }
    return std::move(stages_);
  }

 private:
  const PlacedMound& mound_;
  double bottom_;
  int decimals_;
  std::vector<CrossSection> sections_;  // left to right
  std::vector<CrossSection> back_;      // right to left, so that one walks round
  std::vector<BuildStage> stages_;

  StagePoint point(std::string name, const Point2& at, std::optional<double> design) const {
    return {std::move(name), mound_.to_world(at), design, std::nullopt, std::nullopt};
  }

  /// Both long edges of a level top `beyond` the bed, and the middle of it.
  std::vector<StagePoint> level_points(std::optional<double> design) const {
    const double half = mound_.shape().half_width;
    std::vector<StagePoint> points;
    for (const CrossSection& s : sections_) {
      points.push_back(point("upslope edge, " + s.name, s.centre - half * s.across, design));
    }
    for (std::size_t i = 1; i + 1 < sections_.size(); ++i) {
      points.push_back(point("centre line, " + sections_[i].name, sections_[i].centre, design));
    }
    for (const CrossSection& s : back_) {
      points.push_back(point("downslope edge, " + s.name, s.centre + half * s.across, design));
    }
    return points;
  }

  void add_prepared_ground() {
    const Prepare& prepare = mound_.design().prepare;
    BuildStage stage{StageKind::prepared, "prepared ground", false, std::nullopt, level_points(std::nullopt)};
    for (StagePoint& p : stage.points) {
      if (mound_.placement.least_sand) p.highest = printed_difference(bottom_, *mound_.placement.least_sand, decimals_);
      const std::optional<double> existing = elevation_at(mound_.ground, mound_.ground.to_local(p.at));
      if (existing) p.ground = *existing - prepare.strip;
      if (!prepare.undercut || (p.ground && *p.ground < prepare.undercut->elevation)) continue;
      p.design = prepare.undercut->elevation;
      p.ground.reset();
    }
    stages_.push_back(std::move(stage));
  }

  /// On the way up through the layer that holds it.
  void add_lateral_invert(const Layer& layer, double over_bed) {
    const std::optional<double>& invert = mound_.design().lateral_invert;
    if (!invert || *invert <= over_bed + tolerance || *invert >= layer.top - tolerance) return;
    stages_.push_back({StageKind::lateral_invert, layer.name + ", to the lateral invert", true, std::nullopt,
                       level_points(bottom_ + *invert)});
  }

  void add_level(const Layer& layer, double over_bed) {
    const bool is_sand = over_bed == -std::numeric_limits<double>::infinity();
    const bool at_bottom = layer.top > -tolerance && layer.top < tolerance;
    stages_.push_back({StageKind::layer, layer.name + (at_bottom ? ", to the bed bottom" : ", top"), true,
                       is_sand && at_bottom ? mound_.placement.least_sand : std::nullopt,
                       level_points(bottom_ + layer.top)});
  }

  void add_crowned(const Layer& layer) {
    const double edge = bottom_ + layer.top, half = mound_.shape().half_width;
    const double ridge = 0.5 * (layer.beyond.downslope - layer.beyond.upslope);  // the middle of the flat top
    BuildStage stage{StageKind::layer, layer.name, false, std::nullopt, {}};
    for (const CrossSection& s : sections_) {
      stage.points.push_back(
          point("upslope shoulder, " + s.name, s.centre - (half + layer.beyond.upslope) * s.across, edge));
    }
    for (const CrossSection& s : back_) {
      stage.points.push_back(point("ridge, " + s.name, s.centre + ridge * s.across, edge + layer.crown));
    }
    for (const CrossSection& s : sections_) {
      stage.points.push_back(
          point("downslope shoulder, " + s.name, s.centre + (half + layer.beyond.downslope) * s.across, edge));
    }
    stages_.push_back(std::move(stage));
  }

  /// Half way across what shows of a level top round the layers before it, on each face where some shows.
  void add_ring(std::size_t k) {
    const std::vector<Layer>& layers = mound_.design().layers;
    BuildStage stage{StageKind::layer, layers[k].name + ", top", false, std::nullopt, {}};
    const auto add = [&](const char* face, double ByFace::*side, const Point2& edge, const Point2& outward) {
      double inner = 0;
      for (std::size_t j = 0; j < k; ++j) {
        if (layers[j].top > layers[k].top - tolerance) inner = std::max(inner, layers[j].beyond.*side);
      }
      const double outer = layers[k].beyond.*side;
      if (outer <= inner + tolerance) return;
      stage.points.push_back(
          point(fmt::format("{} face, middle", face), edge + 0.5 * (inner + outer) * outward, bottom_ + layers[k].top));
    };
    const auto middle = [](const BedEdge& e) { return Point2(0.5 * (e.from + e.to)); };
    const auto add_face = [&](const char* name, Face face, double ByFace::*side) {
      const std::vector<BedEdge> edges = bed_edges(mound_.shape(), face);
      const BedEdge& edge = edges[edges.size() / 2];
      add(name, side, middle(edge), edge.outward);
    };
    add_face("upslope", Face::upslope, &ByFace::upslope);
    add_face("right", Face::right, &ByFace::right);
    add_face("downslope", Face::downslope, &ByFace::downslope);
    add_face("left", Face::left, &ByFace::left);
    if (!stage.points.empty()) stages_.push_back(std::move(stage));
  }
};

}  // namespace

std::vector<BuildStage> build_stages(const PlacedMound& mound, LengthUnit unit) {
  return StageSetter(mound, unit).take();
}

}  // namespace moundwright

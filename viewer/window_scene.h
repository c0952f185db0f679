// What the renderer holds of a site: the ground, what is marked on it, and the mound. Each part is taken up again only
// where it changed: a nudge leaves the ground alone, a slice leaves alone what it does not cross.
//
//   SiteScene site(scene, scaling);
//   site.open(std::move(picture), session);      // once
//   session.move(0, 0.5); site.draw_mound(session);
#pragma once

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "viewer/window_parts.h"

namespace moundwright::viewer {

enum class Shown { ground, contours, features, shots, stakes, labels, strip, undercut };

class SiteScene {
 public:
  /// `scaling`: pixels of the screen to one of the lines' widths.
  SiteScene(rendering::Open3DScene& scene, float scaling) : scene_(scene), scaling_(scaling) {}

  /// Takes up what does not move, and then the mound.
  void open(SitePicture picture, const EditSession& session);
  /// The mound as it is now; stakes of where it was are taken away.
  void draw_mound(const EditSession& session);
  void draw_stakes(StakePicture stakes);
  /// What is dug out and would be seen.
  DugItems dug_wanted() const { return {is_shown(Shown::strip), is_shown(Shown::undercut)}; }
  /// That was not given, or not since the mound moved.
  bool lacks_dug() const { return looks_under() && !(dug_ && dug_items_ == dug_wanted()); }
  /// Opens the ground for what is dug out; seen while the mound is looked into.
  void draw_dug(DugPicture dug, const DugItems& items);

  /// Each draws anew what it touches.
  void slice(const std::optional<Slice>& slice, const EditSession& session);
  void lift(double by, const EditSession& session);
  void stretch_heights(double by);
  void show_layer(std::size_t layer, bool shown, const EditSession& session);
  void show(Shown what, bool shown, const EditSession& session);

  const SceneFrame& frame() const { return site_.frame; }
  const SitePicture& site() const { return site_; }
  const MoundPicture& mound() const { return mound_; }
  const std::optional<Slice>& sliced() const { return options_.slice; }
  double lifted() const { return options_.lift; }
  double stretched() const { return stretched_; }
  bool is_shown(Shown what) const { return hidden_.count(what) == 0; }
  bool is_layer_shown(std::size_t layer) const { return layers_shown_[layer]; }
  std::size_t layer_count() const { return layers_shown_.size(); }
  /// Nothing but the outside of the mound is to be seen.
  bool is_whole() const;
  /// Not cut away by the slice.
  bool is_kept(const SceneLabel& label) const;
  /// Where the ground is opened for what is dug out.
  bool is_opened(const DrawPoint& p) const;

 private:
  rendering::Open3DScene& scene_;
  float scaling_;
  SitePicture site_;
  MoundOptions options_;
  MoundWork work_;
  MoundPicture mound_;
  StakePicture stakes_;
  const Ground* ground_ = nullptr;  // the session's
  std::optional<DugPicture> dug_;   // none until it was given
  DugItems dug_items_;
  bool is_open_ = false;  // the ground in the scene is opened for it
  double stretched_ = 1;
  std::set<std::string> names_;   // of all geometry in the scene
  std::set<std::string> whole_;   // of the tiles that are in the scene uncut
  std::set<std::string> gone_;    // of the tiles that the slice takes away
  std::set<std::string> opened_;  // of the tiles of ground and contours, for what is dug
  std::set<Shown> hidden_;
  std::vector<bool> layers_shown_;

  template <class What>
  void put(const std::string& name, const What& what);
  template <class What>
  void put_cut(const std::string& name, const What& what);
  template <class What>
  void put_tiles(const std::string& name, const std::vector<Tile<What>>& tiles);
  void put_site();
  void put_mound(const EditSession& session);
  void put_stakes();
  bool looks_under() const { return !is_whole() && (is_shown(Shown::strip) || is_shown(Shown::undercut)); }
  bool opens_ground() const { return looks_under() && dug_ && !dug_->opened.empty(); }
  std::optional<Triangles> opened(const Tile<Triangles>& tile) const;
  std::optional<Lines> opened(const Tile<Lines>& tile) const;
  template <class What>
  void put_opened(const std::string& name, const std::vector<Tile<What>>& tiles);
  void put_dug();
  void show_as_chosen();
  void show_named(const std::string& name, bool shown);
  void show_tiles(const std::string& name, std::size_t count, bool shown);
};

}  // namespace moundwright::viewer

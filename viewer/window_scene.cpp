#include "viewer/window_scene.h"

#include <fmt/format.h>

#include <algorithm>
#include <type_traits>
#include <utility>

namespace moundwright::viewer {
namespace {

std::string tile_name(const std::string& name, std::size_t i) { return fmt::format("{} {}", name, i); }

Triangles cut(const Triangles& triangles, const SceneFrame& frame, const Slice& slice) {
  return cut_triangles(triangles, frame, slice);
}
Lines cut(const Lines& lines, const SceneFrame& frame, const Slice& slice) { return cut_lines(lines, frame, slice); }

}  // namespace

bool SiteScene::is_whole() const {
  return options_.lift == 0 &&
         std::all_of(layers_shown_.begin(), layers_shown_.end(), [](bool shown) { return shown; });
}

bool SiteScene::is_kept(const SceneLabel& label) const {
  if (!options_.slice) return true;
  const bool is_line = label.kind == LabelKind::berm;
  const Slice slice = is_line ? behind_face(*options_.slice, site_.frame) : *options_.slice;
  return viewer::is_kept(label.at, site_.frame, slice);
}

void SiteScene::open(SitePicture picture, const EditSession& session) {
  site_ = std::move(picture);
  ground_ = &session.ground();
  layers_shown_.assign(session.state().design.layers.size(), true);
  put_site();
  put("shots", site_.shots);
  draw_mound(session);
}

// ---- taking up ------------------------------------------------------------------------------------------------------

template <class What>
void SiteScene::put(const std::string& name, const What& what) {
  if constexpr (std::is_same_v<What, Triangles>) {
    upload(scene_, name, what);
  } else {
    upload(scene_, name, what, scaling_);
  }
  if (stretched_ != 1) stretch(scene_, name, stretched_);
  names_.insert(name);
}

template <class What>
void SiteScene::put_cut(const std::string& name, const What& what) {
  if (options_.slice) {
    put(name, cut(what, site_.frame, *options_.slice));
  } else {
    put(name, what);
  }
}

template <class What>
void SiteScene::put_tiles(const std::string& name, const std::vector<Tile<What>>& tiles) {
  for (std::size_t i = 0; i < tiles.size(); ++i) {
    const std::string tile = tile_name(name, i);
    const TileCut where = options_.slice ? cut_of(tiles[i].box, site_.frame, *options_.slice) : TileCut::whole;
    if (where == TileCut::gone) {
      gone_.insert(tile);
      continue;
    }
    gone_.erase(tile);
    if (where == TileCut::whole && whole_.count(tile) != 0) continue;
    put_cut(tile, tiles[i].drawn);
    if (where == TileCut::whole) {
      whole_.insert(tile);
    } else {
      whole_.erase(tile);
    }
  }
}

void SiteScene::put_site() {
  put_tiles("ground", site_.ground);
  put_tiles("contours", site_.contours.fine);
  put_tiles("heavy contours", site_.contours.heavy);
  put_cut("skirt", site_.skirt);
  for (std::size_t i = 0; i < site_.features.lines.size(); ++i) {
    put_cut(tile_name("features", i), site_.features.lines[i]);
  }
}

void SiteScene::put_mound(const EditSession& session) {
  options_.outside_only = is_whole(), options_.ground_hides = is_shown(Shown::ground);
  viewer::draw_mound(session, site_.frame, options_, work_, mound_);
  for (std::size_t k = 0; k < mound_.layers.size(); ++k) {
    put(tile_name("layer", k), mound_.layers[k]);
    put(tile_name("cut face", k), mound_.cut_faces[k]);
    put(tile_name("cut edges", k), mound_.cut_edges[k]);
    put_cut(tile_name("leader", k), mound_.leaders[k]);
  }
  put("cut face of the ground", mound_.cut_faces.back());
  put("cut edges of the ground", mound_.cut_edges.back());
  put_cut("toe", mound_.toe), put_cut("bed", mound_.bed);
  // One that lies in the cut face would flicker there.
  const auto behind = [&](const Lines& lines) {
    return options_.slice ? cut_lines(lines, site_.frame, behind_face(*options_.slice, site_.frame)) : lines;
  };
  put("berms", behind(mound_.berms));
}

void SiteScene::put_stakes() {
  put_cut("hubs", stakes_.hubs), put_cut("slope stakes", stakes_.slopes), put_cut("feed", stakes_.feed);
}

void SiteScene::draw_mound(const EditSession& session) {
  dug_.reset();
  put_mound(session);
  draw_stakes({});
}

void SiteScene::draw_stakes(StakePicture stakes) {
  stakes_ = std::move(stakes);
  put_stakes();
  show_as_chosen();
}

// ---- ways to look ---------------------------------------------------------------------------------------------------

void SiteScene::slice(const std::optional<Slice>& slice, const EditSession& session) {
  options_.slice = slice;
  put_site(), put_mound(session), put_stakes();
  show_as_chosen();
}

void SiteScene::lift(double by, const EditSession& session) {
  options_.lift = by;
  put_mound(session);
  show_as_chosen();
}

void SiteScene::stretch_heights(double by) {
  stretched_ = by;
  for (const std::string& name : names_) stretch(scene_, name, by);
}

void SiteScene::show_layer(std::size_t layer, bool shown, const EditSession& session) {
  const bool was_whole = is_whole();
  layers_shown_[layer] = shown;
  if (is_whole() != was_whole) put_mound(session);
  show_as_chosen();
}

void SiteScene::show(Shown what, bool shown, const EditSession& session) {
  if (shown) {
    hidden_.erase(what);
  } else {
    hidden_.insert(what);
  }
  if (what == Shown::ground) put_mound(session);
  show_as_chosen();
}

void SiteScene::show_named(const std::string& name, bool shown) {
  if (scene_.HasGeometry(name)) scene_.ShowGeometry(name, shown);
}

void SiteScene::show_tiles(const std::string& name, std::size_t count, bool shown) {
  for (std::size_t i = 0; i < count; ++i) {
    const std::string tile = tile_name(name, i);
    show_named(tile, shown && gone_.count(tile) == 0);
  }
}

/// What is left of a tile of the ground; nothing where it is not opened.
std::optional<Triangles> SiteScene::opened(const Tile<Triangles>& tile) const {
  const auto next = std::lower_bound(dug_->opened.begin(), dug_->opened.end(), tile.first);
  if (next == dug_->opened.end() || *next >= tile.first + tile.drawn.corners.size()) return std::nullopt;
  return opened_tile(tile, dug_->opened);
}

std::optional<Lines> SiteScene::opened(const Tile<Lines>& tile) const {
  if (!tile.box.intersects(dug_->box)) return std::nullopt;
  return opened_lines(tile.drawn, *ground_, site_.frame, dug_->opened);
}

bool SiteScene::is_opened(const DrawPoint& p) const {
  return is_open_ && viewer::is_opened(p, *ground_, site_.frame, dug_->opened);
}

template <class What>
void SiteScene::put_opened(const std::string& name, const std::vector<Tile<What>>& tiles) {
  for (std::size_t i = 0; i < tiles.size(); ++i) {
    const std::string tile = tile_name(name, i);
    const std::optional<What> left = is_open_ ? opened(tiles[i]) : std::nullopt;
    if (left) {
      put_cut(tile, *left);
      opened_.insert(tile), whole_.erase(tile);
    } else if (opened_.erase(tile) > 0) {
      put_cut(tile, tiles[i].drawn);
    }
  }
}

/// Ground and contours with the opening or without it.
void SiteScene::put_dug() {
  is_open_ = opens_ground();
  const DugPicture none, &dug = is_open_ ? *dug_ : none;
  put_cut("undug", dug.undug), put_cut("strip", dug.strip), put_cut("undercut", dug.undercut);
  put_cut("dug contours", dug.contours), put_cut("heavy dug contours", dug.heavy_contours);
  put_opened("ground", site_.ground);
  put_opened("contours", site_.contours.fine), put_opened("heavy contours", site_.contours.heavy);
}

void SiteScene::draw_dug(DugPicture dug, const DugItems& items) {
  dug_ = std::move(dug), dug_items_ = items;
  show_as_chosen();
}

void SiteScene::show_as_chosen() {
  if (opens_ground() || is_open_) put_dug();
  show_tiles("ground", site_.ground.size(), is_shown(Shown::ground));
  show_tiles("contours", site_.contours.fine.size(), is_shown(Shown::contours));
  show_tiles("heavy contours", site_.contours.heavy.size(), is_shown(Shown::contours));
  show_tiles("features", site_.features.lines.size(), is_shown(Shown::features));
  show_named("skirt", is_shown(Shown::ground));
  for (const char* name : {"undug", "strip", "undercut"}) show_named(name, is_shown(Shown::ground));
  for (const char* name : {"dug contours", "heavy dug contours"}) show_named(name, is_shown(Shown::contours));
  show_named("shots", is_shown(Shown::shots) && !options_.slice);
  for (const char* name : {"hubs", "slope stakes", "feed"}) show_named(name, is_shown(Shown::stakes));
  for (std::size_t k = 0; k < layers_shown_.size(); ++k) {
    for (const char* part : {"layer", "cut face", "cut edges", "leader"})
      show_named(tile_name(part, k), layers_shown_[k]);
  }
  // These lie on the finished surface: without it they would hang in the air.
  show_named("bed", is_whole()), show_named("berms", is_whole());
}

}  // namespace moundwright::viewer

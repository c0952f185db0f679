// The window's side panel: where the mound stands, how big it is, how it is looked at, and what it comes to.
#pragma once

#include <open3d/visualization/gui/TabControl.h>

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "viewer/panel_text.h"
#include "viewer/window_scene.h"

namespace moundwright::viewer {

enum class ViewFrom { orbit, plan, side, end };
enum class Place { along, across, turn, raise };

/// How the mound is sliced: square to the bed at a distance from its middle, or along it.
struct SliceChoice {
  bool on = false, lengthwise = false, other_side = false;
  double at = 0;  // to the right of the bed's middle, or downslope of it
};

class SidePanel : public gui::Widget {
 public:
  struct Actions {
    std::function<void(Place, double)> place;
    std::function<void(const std::function<void(MoundDesign&)>&, const std::string& tag)> resize;
    std::function<void(double)> bed_length;
    std::function<void(std::size_t, bool)> show_layer;
    std::function<void(Shown, bool)> show;
    std::function<void(const SliceChoice&)> slice;
    std::function<void(double)> lift, stretch;
    std::function<void(ViewFrom)> look;
    std::function<void()> undo, redo, save, picture;
    std::function<void()> bring_onto_survey;
    std::function<void(bool)> let_feed_go_along;
    std::function<void(bool typing)> touched;  // something was pressed; a number is about to be typed
  };

  SidePanel(Actions actions, int em);

  /// Makes the rows that depend on the job.
  void open(const EditSession& session, bool shots_shown);
  /// Figures and values as they are now.
  void refresh(const EditSession& session, const PanelText& text);
  void set_slice(const SliceChoice& choice);
  void set_lift(double lift) { lift_->set(lift); }
  void set_stretch(double stretch) { stretch_->set(stretch); }
  void set_layer_shown(std::size_t layer, bool shown) { layers_[layer].shown->SetChecked(shown); }

  void Layout(const gui::LayoutContext& context) override;
  DrawResult Draw(const gui::DrawContext& context) override;

 private:
  /// A row of the takeoff.
  struct LayerRow {
    std::shared_ptr<gui::Checkbox> shown;
    std::shared_ptr<gui::Label> value;
  };
  /// A size with the way to read it back from the design.
  struct SizeRow {
    std::shared_ptr<FormRow> row;
    std::function<double(const EditSession&)> read;
  };

  Actions actions_;
  int em_;
  bool stale_ = false;  // texts have changed, and so their widths
  SliceChoice slice_choice_;
  std::shared_ptr<gui::Vert> head_, look_, place_;
  std::shared_ptr<gui::ScrollableVert> sizes_, checks_, figures_;
  std::shared_ptr<gui::TabControl> tabs_;
  std::shared_ptr<gui::Label> title_, saved_, bed_middle_, long_axis_;
  std::shared_ptr<gui::Button> undo_, redo_, save_, across_button_, along_button_;
  std::shared_ptr<FormRow> along_, across_, turn_, raise_, slice_at_, lift_, stretch_;
  std::shared_ptr<gui::Checkbox> slice_on_, slice_other_, feed_goes_along_;
  std::shared_ptr<gui::Button> bring_;
  std::vector<LayerRow> layers_;
  std::vector<SizeRow> size_rows_;
  std::vector<std::shared_ptr<gui::Label>> bed_values_, total_values_, berm_values_;
  std::shared_ptr<gui::Label> problems_, offers_;
  std::vector<std::shared_ptr<gui::Label>> check_labels_;

  std::shared_ptr<FormRow> row(const std::string& name, double low, double high, int decimals,
                               const std::function<void(double)>& changed);
  std::shared_ptr<gui::Button> button(const char* text, std::function<void()> pressed);
  std::shared_ptr<gui::Label> heading(const std::string& text);
  std::shared_ptr<gui::Label> value_row(gui::Vert& into, const std::string& name);
  LayerRow body_row(const std::string& name, const io::Colour& colour, const std::function<void(bool)>& show);
  void build_head();
  void build_look();
  void add_size(const std::string& name, double high, const std::string& tag,
                std::function<double*(MoundDesign&)> which);
  void add_face_sizes(std::size_t layer, const std::string& name, double high, ByFace Layer::*which,
                      const MoundDesign& design);
  void open_place(const EditSession& session);
  void open_sizes(const EditSession& session);
  void open_figures(const EditSession& session);
  void refresh_checks(const PanelText& text);
  void changed_slice() { actions_.slice(slice_choice_); }
};

}  // namespace moundwright::viewer

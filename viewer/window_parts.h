// Pieces of the window that know nothing of mounds: rows of a form, and handing triangles and lines to the renderer.
#pragma once

#include <open3d/visualization/gui/Button.h>
#include <open3d/visualization/gui/Checkbox.h>
#include <open3d/visualization/gui/Label.h>
#include <open3d/visualization/gui/Layout.h>
#include <open3d/visualization/gui/NumberEdit.h>
#include <open3d/visualization/gui/SceneWidget.h>
#include <open3d/visualization/gui/Slider.h>
#include <open3d/visualization/rendering/Open3DScene.h>

#include <functional>
#include <memory>
#include <string>

#include "viewer/scene.h"

namespace moundwright::viewer {

namespace gui = open3d::visualization::gui;
namespace rendering = open3d::visualization::rendering;

/// A name, a slider to drag and a number to type, in one line.
class FormRow : public gui::Widget {
 public:
  FormRow(const std::string& name, double low, double high, int decimals);

  /// Called with the value while it is dragged, and once it was typed.
  void on_change(const std::function<void(double)>& f);
  /// Told when it is pressed, and whether it is the number, to be typed into.
  void on_touch(std::function<void(bool typing)> f) { touched_ = std::move(f); }
  void limits(double low, double high) { slider_->SetLimits(low, high); }
  void set(double value);

  gui::Size CalcPreferredSize(const gui::LayoutContext& context, const Constraints& constraints) const override;
  void Layout(const gui::LayoutContext& context) override;
  EventResult Mouse(const gui::MouseEvent& event) override;

 private:
  std::shared_ptr<gui::Label> name_;
  std::shared_ptr<gui::Slider> slider_;
  std::shared_ptr<gui::NumberEdit> number_;
  std::function<void(bool)> touched_;

  void show_on_slider(double value);
};

/// Replaces what the scene has under `name`; takes it away where there is nothing to draw.
void upload(rendering::Open3DScene& scene, const std::string& name, const Triangles& triangles);
void upload(rendering::Open3DScene& scene, const std::string& name, const Lines& lines, float scaling);
void upload(rendering::Open3DScene& scene, const std::string& name, const Dots& dots, float scaling);

/// Stretches everything under `name` upward.
void stretch(rendering::Open3DScene& scene, const std::string& name, double exaggeration);

}  // namespace moundwright::viewer

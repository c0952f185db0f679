#include "viewer/window_parts.h"

#include <open3d/geometry/LineSet.h>
#include <open3d/geometry/TriangleMesh.h>
#include <open3d/t/geometry/PointCloud.h>
#include <open3d/visualization/gui/Events.h>
#include <open3d/visualization/gui/Theme.h>
#include <open3d/visualization/rendering/MaterialRecord.h>

#include <cmath>

// ImGui comes inside Open3D, without its headers. Colours as 0xAABBGGRR.
namespace ImGui {
void PushStyleColor(int which, unsigned int colour);
void PopStyleColor(int count);
}  // namespace ImGui

namespace moundwright::viewer {
namespace {

/// A slider that leaves the number to the field beside it: its own has three decimals, whatever it is of. Open3D gives
/// no way to leave the text out: neither Slider nor Theme has one, and a slider of whole numbers writes those.
class QuietSlider : public gui::Slider {
 public:
  QuietSlider() : gui::Slider(gui::Slider::DOUBLE) {}
  DrawResult Draw(const gui::DrawContext& context) override {
    constexpr int text = 0, frame = 7;  // ImGuiCol_Text, ImGuiCol_FrameBg
    ImGui::PushStyleColor(text, 0x00000000U);
    ImGui::PushStyleColor(frame, 0xff5a5a5aU);  // in a page that scrolls there would be none
    const DrawResult result = gui::Slider::Draw(context);
    ImGui::PopStyleColor(2);
    return result;
  }
};

rendering::MaterialRecord plain_material() {
  rendering::MaterialRecord material;
  material.shader = "defaultUnlit";  // the light is in the colours already
  material.sRGB_vertex_color = true;
  return material;
}

/// From sRGB (IEC 61966-2-1).
double linear(double v) { return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4); }

template <class Value>
open3d::core::Tensor tensor_of(const std::vector<std::array<Value, 3>>& rows, open3d::core::Dtype type) {
  return {rows.front().data(), {static_cast<std::int64_t>(rows.size()), 3}, type};
}

}  // namespace

FormRow::FormRow(const std::string& name, double low, double high, int decimals)
    : name_(std::make_shared<gui::Label>(name.c_str())),
      slider_(std::make_shared<QuietSlider>()),
      number_(std::make_shared<gui::NumberEdit>(gui::NumberEdit::DOUBLE)) {
  slider_->SetLimits(low, high);
  number_->SetDecimalPrecision(decimals);
  AddChild(name_), AddChild(slider_), AddChild(number_);
}

void FormRow::on_change(const std::function<void(double)>& f) {
  slider_->SetOnValueChanged([this, f](double value) {
    number_->SetValue(value);
    f(value);
  });
  number_->SetOnValueChanged([this, f](double value) {
    show_on_slider(value);
    f(value);
  });
}

/// The slider keeps single precision and would take what it cannot hold for a change by hand, at every frame.
void FormRow::show_on_slider(double value) { slider_->SetValue(static_cast<float>(value)); }

void FormRow::set(double value) {
  if (std::abs(value) < 1e-4) value = 0;  // never "-0.00"
  show_on_slider(value);
  number_->SetValue(value);
}

gui::Size FormRow::CalcPreferredSize(const gui::LayoutContext& context, const Constraints& constraints) const {
  return {constraints.width, static_cast<int>(1.5 * context.theme.font_size)};
}

void FormRow::Layout(const gui::LayoutContext& context) {
  const gui::Rect& f = GetFrame();
  const int em = context.theme.font_size, name = static_cast<int>(6.2 * em), number = static_cast<int>(4.6 * em);
  const int gap = em / 3;
  name_->SetFrame(gui::Rect(f.x, f.y, name, f.height));
  slider_->SetFrame(gui::Rect(f.x + name, f.y, f.width - name - number - gap, f.height));
  number_->SetFrame(gui::Rect(f.GetRight() - number, f.y, number, f.height));
  gui::Widget::Layout(context);
}

gui::Widget::EventResult FormRow::Mouse(const gui::MouseEvent& event) {
  if (event.type == gui::MouseEvent::BUTTON_DOWN && touched_) {
    touched_(number_->GetFrame().Contains(event.x, event.y));
  }
  return gui::Widget::Mouse(event);
}

void upload(rendering::Open3DScene& scene, const std::string& name, const Triangles& triangles) {
  if (scene.HasGeometry(name)) scene.RemoveGeometry(name);
  if (triangles.corners.empty()) return;
  // Not a mesh of tensors: Open3D copies those with a thread on every core, and waits while the renderer has them all.
  open3d::geometry::TriangleMesh mesh;
  for (const DrawPoint& p : triangles.points) mesh.vertices_.emplace_back(p[0], p[1], p[2]);
  for (const DrawPoint& c : triangles.colours) mesh.vertex_colors_.emplace_back(c[0], c[1], c[2]);
  for (const auto& t : triangles.corners) mesh.triangles_.emplace_back(t[0], t[1], t[2]);
  scene.AddGeometry(name, &mesh, plain_material(), false);
}

void upload(rendering::Open3DScene& scene, const std::string& name, const Lines& lines, float scaling) {
  if (scene.HasGeometry(name)) scene.RemoveGeometry(name);
  if (lines.ends.empty()) return;
  open3d::geometry::LineSet set;
  for (const DrawPoint& p : lines.points) set.points_.emplace_back(p[0], p[1], p[2]);
  for (const auto& [a, b] : lines.ends) set.lines_.emplace_back(a, b);
  // The renderer takes colours of lines as they fall on the eye's sensor, not as screens count them.
  set.PaintUniformColor({linear(lines.colour.red), linear(lines.colour.green), linear(lines.colour.blue)});
  rendering::MaterialRecord material = plain_material();
  material.shader = "unlitLine";
  material.line_width = lines.width * scaling;
  scene.AddGeometry(name, &set, material, false);
}

void upload(rendering::Open3DScene& scene, const std::string& name, const Dots& dots, float scaling) {
  if (scene.HasGeometry(name)) scene.RemoveGeometry(name);
  if (dots.points.empty()) return;
  open3d::t::geometry::PointCloud cloud(tensor_of(dots.points, open3d::core::Float32));
  rendering::MaterialRecord material = plain_material();
  const auto channel = [](double v) { return static_cast<float>(v); };
  material.base_color = {channel(dots.colour.red), channel(dots.colour.green), channel(dots.colour.blue), 1};
  material.sRGB_color = true;
  material.point_size = dots.size * scaling;
  scene.AddGeometry(name, &cloud, material, false);
}

void stretch(rendering::Open3DScene& scene, const std::string& name, double exaggeration) {
  if (!scene.HasGeometry(name)) return;
  Eigen::Matrix4d transform = Eigen::Matrix4d::Identity();
  transform(2, 2) = exaggeration;
  scene.SetGeometryTransform(name, transform);
}

}  // namespace moundwright::viewer

#include "viewer/window_panel.h"

#include <fmt/format.h>
#include <open3d/geometry/Image.h>
#include <open3d/visualization/gui/ImageWidget.h>
#include <open3d/visualization/gui/Theme.h>

#include <algorithm>
#include <cmath>

#include "viewer/scene.h"

namespace moundwright::viewer {
namespace {

const gui::Color quiet(0.66F, 0.68F, 0.70F), good(0.55F, 0.80F, 0.50F), warn(0.98F, 0.78F, 0.35F),
    bad(1.0F, 0.50F, 0.42F), plain(0.92F, 0.92F, 0.90F);

gui::Color colour_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::told:
      return quiet;
    case Verdict::good:
      return good;
    case Verdict::look:
      return warn;
    case Verdict::bad:
      return bad;
  }
  return plain;
}

int rank_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::bad:
      return 0;
    case Verdict::look:
      return 1;
    case Verdict::good:
      return 2;
    case Verdict::told:
      return 3;
  }
  return 4;
}

std::string told(const PanelLine& line, std::size_t width) {
  if (line.what_to_do.empty()) return wrapped(line.text, width);
  return fmt::format("{}\n{}", wrapped(line.text, width), wrapped(fmt::format("To do: {}", line.what_to_do), width));
}

/// A small square of a material's colour.
std::shared_ptr<gui::ImageWidget> swatch(const io::Colour& colour, int size) {
  auto image = std::make_shared<open3d::geometry::Image>();
  image->Prepare(size, size, 3, 1);
  const auto byte = [](double v) { return static_cast<std::uint8_t>(std::lround(255 * v)); };
  for (std::size_t i = 0; i < image->data_.size(); i += 3) {
    image->data_[i] = byte(colour.red), image->data_[i + 1] = byte(colour.green);
    image->data_[i + 2] = byte(colour.blue);
  }
  return std::make_shared<gui::ImageWidget>(image);
}

}  // namespace

SidePanel::SidePanel(Actions actions, int em) : actions_(std::move(actions)), em_(em) {
  build_head();
  tabs_ = std::make_shared<gui::TabControl>();
  const gui::Margins margins(em_ / 2, em_ / 2);
  place_ = std::make_shared<gui::Vert>(em_ / 3, margins);
  sizes_ = std::make_shared<gui::ScrollableVert>(em_ / 5, margins);
  look_ = std::make_shared<gui::Vert>(em_ / 3, margins);
  checks_ = std::make_shared<gui::ScrollableVert>(em_ / 3, margins);
  figures_ = std::make_shared<gui::ScrollableVert>(em_ / 6, gui::Margins(em_, em_ / 3, em_, em_ / 2));
  build_look();
  tabs_->AddTab("Place", place_);
  tabs_->AddTab("Sizes", sizes_);
  tabs_->AddTab("Look inside", look_);
  tabs_->AddTab("Checks", checks_);
  AddChild(head_), AddChild(tabs_), AddChild(figures_);
}

void SidePanel::Layout(const gui::LayoutContext& context) {
  const gui::Rect& f = GetFrame();
  const int head = static_cast<int>(8.3 * em_);
  const int wanted = static_cast<int>((15.8 + 1.62 * static_cast<double>(layers_.size() + total_values_.size())) * em_);
  const int tabs = std::max(12 * em_, f.height - head - wanted);
  head_->SetFrame(gui::Rect(f.x, f.y, f.width, head));
  tabs_->SetFrame(gui::Rect(f.x + em_ / 2, f.y + head, f.width - em_, tabs));
  figures_->SetFrame(gui::Rect(f.x, f.y + head + tabs, f.width, f.height - head - tabs));
  gui::Widget::Layout(context);
}

/// Laid out here: the window's own way to lay out draws the whole scene once more.
gui::Widget::DrawResult SidePanel::Draw(const gui::DrawContext& context) {
  if (stale_) Layout({context.theme, context.fonts});
  stale_ = false;
  return gui::Widget::Draw(context);
}

std::shared_ptr<FormRow> SidePanel::row(const std::string& name, double low, double high, int decimals,
                                        const std::function<void(double)>& changed) {
  auto made = std::make_shared<FormRow>(name, low, high, decimals);
  made->on_change(changed);
  made->on_touch(actions_.touched);
  return made;
}

std::shared_ptr<gui::Button> SidePanel::button(const char* text, std::function<void()> pressed) {
  auto made = std::make_shared<gui::Button>(text);
  made->SetPaddingEm(0.6F, 0.1F);
  made->SetOnClicked([this, pressed = std::move(pressed)] {
    actions_.touched(false);
    pressed();
  });
  return made;
}

std::shared_ptr<gui::Label> SidePanel::heading(const std::string& text) {
  auto label = std::make_shared<gui::Label>(text.c_str());
  label->SetTextColor(quiet);
  return label;
}

std::shared_ptr<gui::Label> SidePanel::value_row(gui::Vert& into, const std::string& name) {
  auto line = std::make_shared<gui::Horiz>(em_ / 2);
  auto value = std::make_shared<gui::Label>("");
  line->AddChild(std::make_shared<gui::Label>(name.c_str()));
  line->AddStretch();
  line->AddChild(value);
  into.AddChild(line);
  return value;
}

void SidePanel::build_head() {
  head_ = std::make_shared<gui::Vert>(em_ / 3, gui::Margins(em_, em_ / 2, em_, em_ / 4));
  title_ = std::make_shared<gui::Label>("");
  saved_ = heading("");
  head_->AddChild(title_), head_->AddChild(saved_);
  auto looks = std::make_shared<gui::Horiz>(em_ / 3);
  const std::pair<const char*, ViewFrom> ways[] = {
      {"Orbit", ViewFrom::orbit}, {"Plan", ViewFrom::plan}, {"Side", ViewFrom::side}, {"End", ViewFrom::end}};
  for (const auto& [name, way] : ways) looks->AddChild(button(name, [this, way = way] { actions_.look(way); }));
  auto deeds = std::make_shared<gui::Horiz>(em_ / 3);
  undo_ = button("Undo", actions_.undo), redo_ = button("Redo", actions_.redo), save_ = button("Save", actions_.save);
  for (const auto& deed : {undo_, redo_, save_, button("Picture", actions_.picture)}) deeds->AddChild(deed);
  head_->AddChild(looks), head_->AddChild(deeds);
}

void SidePanel::build_look() {
  lift_ = row("Lift apart", 0, 0, 1, actions_.lift);
  stretch_ = row("Heights x", 1, 5, 1, actions_.stretch);
  stretch_->set(1);
  slice_on_ = std::make_shared<gui::Checkbox>("Slice the mound open");
  slice_on_->SetOnChecked([this](bool on) {
    slice_choice_.on = on;
    changed_slice();
  });
  slice_other_ = std::make_shared<gui::Checkbox>("Keep the other side");
  slice_other_->SetOnChecked([this](bool other) {
    slice_choice_.other_side = other;
    changed_slice();
  });
  slice_at_ = row("Slice at", 0, 0, 1, [this](double at) {
    slice_choice_.at = at;
    slice_choice_.on = true;
    changed_slice();
  });
  const auto turn = [this](bool lengthwise) {
    slice_choice_.lengthwise = lengthwise, slice_choice_.on = true;
    changed_slice();
  };
  across_button_ = button("Across the bed", [turn] { turn(false); });
  along_button_ = button("Along the bed", [turn] { turn(true); });
  auto ways = std::make_shared<gui::Horiz>(em_ / 3);
  ways->AddChild(across_button_), ways->AddChild(along_button_);
  look_->AddChild(lift_), look_->AddChild(stretch_);
  look_->AddChild(slice_on_), look_->AddChild(ways), look_->AddChild(slice_at_), look_->AddChild(slice_other_);
}

void SidePanel::open(const EditSession& session, bool shots_shown) {
  title_->SetText(session.site().job.site.title.c_str());
  const double ft = 1 / feet_per(session.unit());
  lift_->limits(0, 30 * ft), slice_at_->limits(-80 * ft, 80 * ft);
  open_place(session);
  open_sizes(session);
  look_->AddChild(heading("Show"));
  auto grid = std::make_shared<gui::VGrid>(3, em_ / 3);
  const std::pair<const char*, Shown> all[] = {{"ground", Shown::ground},     {"contours", Shown::contours},
                                               {"features", Shown::features}, {"shots", Shown::shots},
                                               {"stakes", Shown::stakes},     {"labels", Shown::labels}};
  for (const auto& [name, what] : all) {
    auto box = std::make_shared<gui::Checkbox>(name);
    box->SetChecked(what != Shown::shots || shots_shown);
    box->SetOnChecked([this, what = what](bool on) { actions_.show(what, on); });
    grid->AddChild(box);
  }
  look_->AddChild(grid);
  open_figures(session);
}

void SidePanel::open_place(const EditSession& session) {
  const double ft = 1 / feet_per(session.unit());
  const int decimals = length_decimals(session.unit());
  const auto place = [this](Place which) { return [this, which](double value) { actions_.place(which, value); }; };
  along_ = row("Along", -80 * ft, 80 * ft, decimals, place(Place::along));
  across_ = row("Across", -60 * ft, 60 * ft, decimals, place(Place::across));
  turn_ = row("Turn", -45, 45, 2, place(Place::turn));
  raise_ = row("Raise", -2 * ft, 5 * ft, decimals, place(Place::raise));
  for (const auto& made : {along_, across_, turn_, raise_}) place_->AddChild(made);
  bring_ = button("Bring the bed onto the survey", actions_.bring_onto_survey);
  place_->AddChild(bring_);
  feed_goes_along_ = std::make_shared<gui::Checkbox>("Feed points go along with the bed");
  feed_goes_along_->SetOnChecked(actions_.let_feed_go_along);
  feed_goes_along_->SetVisible(!session.site().job.site.lot.feed.empty());
  place_->AddChild(feed_goes_along_);
  bed_middle_ = value_row(*place_, "Bed middle");
  long_axis_ = value_row(*place_, "Long axis");
  place_->AddChild(
      heading(fmt::format("In {}, from where the job file has the bed:\n"
                          "along it, to its right end seen looking downslope;\n"
                          "across it, downslope; turned clockwise, degrees.\n"
                          "Shift and drag in the picture moves it too.",
                          symbol(session.unit()))));
}

void SidePanel::add_size(const std::string& name, double high, const std::string& tag,
                         std::function<double*(MoundDesign&)> which) {
  auto made = row(name, 0, high, 2, [this, tag, which](double value) {
    actions_.resize([&](MoundDesign& design) { *which(design) = value; }, tag);
  });
  sizes_->AddChild(made);
  size_rows_.push_back({made, [which](const EditSession& session) {
                          MoundDesign design = session.state().design;
                          return *which(design);
                        }});
}

/// One row where all faces have one value, else one a face.
void SidePanel::add_face_sizes(std::size_t layer, const std::string& name, double high, ByFace Layer::*which,
                               const MoundDesign& design) {
  const ByFace& now = design.layers[layer].*which;
  const std::string tag = fmt::format("{} {}", name, layer);
  if (now.upslope == now.downslope && now.left == now.right && now.left == now.upslope) {
    auto made = row(name, 0, high, 2, [this, layer, which, tag](double value) {
      actions_.resize([&](MoundDesign& d) { d.layers[layer].*which = ByFace::all(value); }, tag);
    });
    sizes_->AddChild(made);
    size_rows_.push_back({made, [layer, which](const EditSession& session) {
                            return (session.state().design.layers[layer].*which).upslope;
                          }});
    return;
  }
  const std::pair<const char*, double ByFace::*> faces[] = {
      {"up", &ByFace::upslope}, {"down", &ByFace::downslope}, {"left", &ByFace::left}, {"right", &ByFace::right}};
  for (const auto& [face, part] : faces) {
    add_size(fmt::format("{} {}", name, face), high, tag + face,
             [layer, which, part = part](MoundDesign& d) { return &(d.layers[layer].*which.*part); });
  }
}

void SidePanel::open_sizes(const EditSession& session) {
  const double ft = 1 / feet_per(session.unit());
  const MoundDesign& design = session.state().design;
  sizes_->AddChild(heading(fmt::format("Bed, {}", symbol(session.unit()))));
  if (session.is_straight()) {
    auto made = row("Length", 10 * ft, 200 * ft, 2, [this](double value) { actions_.bed_length(value); });
    sizes_->AddChild(made);
    size_rows_.push_back({made, [](const EditSession& s) { return s.state().bed_length; }});
  }
  add_size("Width", 30 * ft, "bed width", [](MoundDesign& d) { return &d.bed.width; });
  for (std::size_t k = 0; k < design.layers.size(); ++k) {
    const Layer& layer = design.layers[k];
    sizes_->AddChild(heading(fmt::format("{}: {}", layer.name, layer.material)));
    add_size("Top", 6 * ft, fmt::format("top {}", k), [k](MoundDesign& d) { return &d.layers[k].top; });
    if (layer.crown > 0) {
      add_size("Crown", 2 * ft, fmt::format("crown {}", k), [k](MoundDesign& d) { return &d.layers[k].crown; });
    }
    add_face_sizes(k, "Beyond", 15 * ft, &Layer::beyond, design);
    add_face_sizes(k, "Side", 6, &Layer::side, design);
  }
  sizes_->AddChild(heading("Top: above the bed bottom. Beyond: of the flat\ntop past the bed's edge. Side: run to 1."));
}

/// A body of the scene: its colour, a box to show or hide it, its yards.
SidePanel::LayerRow SidePanel::body_row(const std::string& name, const io::Colour& colour,
                                        const std::function<void(bool)>& show) {
  auto line = std::make_shared<gui::Horiz>(em_ / 2);
  LayerRow made{std::make_shared<gui::Checkbox>(name.c_str()), std::make_shared<gui::Label>("")};
  made.shown->SetChecked(true);
  made.shown->SetOnChecked(show);
  line->AddChild(swatch(colour, em_));
  line->AddChild(made.shown);
  line->AddStretch();
  line->AddChild(made.value);
  figures_->AddChild(line);
  return made;
}

void SidePanel::open_figures(const EditSession& session) {
  problems_ = std::make_shared<gui::Label>("");
  problems_->SetTextColor(bad);
  figures_->AddChild(problems_);
  offers_ = std::make_shared<gui::Label>("");
  offers_->SetTextColor(warn);
  figures_->AddChild(offers_);
  figures_->AddChild(heading("In place, cubic yards"));
  const MoundDesign& design = session.state().design;
  const std::vector<io::Colour> colours = screen_colours(design);
  for (std::size_t k = 0; k < design.layers.size(); ++k) {
    layers_.push_back(body_row(design.layers[k].name, colours[k], [this, k](bool on) { actions_.show_layer(k, on); }));
  }
  total_values_.push_back(value_row(*figures_, "Fill, all layers"));
  const auto add_cut = [this](const char* name, const io::Colour& colour, Shown item) {
    const auto show = [this, item](bool on) { actions_.show(item, on); };
    total_values_.push_back(body_row(name, colour, show).value);
  };
  if (design.prepare.strip > 0) add_cut("Cut: strip", strip_colour(), Shown::strip);
  if (design.prepare.undercut) add_cut("Cut: undercut", undercut_colour(), Shown::undercut);
  total_values_.push_back(value_row(*figures_, "Cut, all"));
  figures_->AddChild(heading("Bed"));
  for (const char* name : {"Bottom", "Sand under it"}) bed_values_.push_back(value_row(*figures_, name));
  figures_->AddChild(heading("Berm at mid-length (least to most)"));
  for (const char* name : {"Upslope", "Downslope", "Left end", "Right end"}) {
    berm_values_.push_back(value_row(*figures_, name));
  }
}

void SidePanel::refresh(const EditSession& session, const PanelText& text) {
  saved_->SetText(text.saved.c_str());
  saved_->SetTextColor(session.is_changed() ? warn : quiet);
  undo_->SetEnabled(session.can_undo()), redo_->SetEnabled(session.can_redo());
  save_->SetEnabled(session.is_changed());
  const Moved moved = session.moved();
  along_->set(moved.along), across_->set(moved.across), turn_->set(moved.turned), raise_->set(moved.raised);
  bring_->SetVisible(!session.is_on_survey());
  feed_goes_along_->SetChecked(session.state().feed_goes_along);
  bed_middle_->SetText(text.place[4].value.c_str());
  long_axis_->SetText(text.place[5].value.c_str());
  for (const SizeRow& size : size_rows_) size.row->set(size.read(session));
  const auto fill = [](const auto& labels, const std::vector<PanelRow>& rows, std::size_t first) {
    for (std::size_t i = 0; i < labels.size(); ++i) {
      labels[i]->SetText(first + i < rows.size() ? rows[first + i].value.c_str() : "-");
    }
  };
  std::vector<std::shared_ptr<gui::Label>> layers;
  for (const LayerRow& layer : layers_) layers.push_back(layer.value);
  fill(layers, text.takeoff, 0);
  fill(total_values_, text.takeoff, layers.size());
  fill(bed_values_, text.bed, 0);
  fill(berm_values_, text.berm, 0);
  refresh_checks(text);
  stale_ = true;
}

void SidePanel::refresh_checks(const PanelText& text) {
  constexpr std::size_t width = 52;
  std::string mend;  // the first thing that stops the mound; the rest would push the figures off the panel
  if (!text.problems.empty()) mend = told(text.problems.front(), width);
  if (text.problems.size() > 1) mend += fmt::format("\nand {} more: see Checks", text.problems.size() - 1);
  const auto failing = std::count_if(text.checks.begin(), text.checks.end(),
                                     [](const PanelLine& line) { return line.verdict == Verdict::bad; });
  if (mend.empty() && failing > 0) {
    mend = failing == 1 ? "One check fails: see Checks." : fmt::format("{} checks fail: see Checks.", failing);
  }
  offers_->SetText(text.offers.empty() ? "" : told(text.offers.front(), width).c_str());
  offers_->SetVisible(!text.offers.empty());
  problems_->SetText(mend.c_str());
  problems_->SetVisible(!mend.empty());
  std::vector<PanelLine> lines = text.problems;
  lines.insert(lines.end(), text.offers.begin(), text.offers.end());
  lines.insert(lines.end(), text.checks.begin(), text.checks.end());
  // What a person has to act on comes first.
  std::stable_sort(lines.begin(), lines.end(),
                   [](const PanelLine& a, const PanelLine& b) { return rank_of(a.verdict) < rank_of(b.verdict); });
  if (lines.empty()) lines.push_back({Verdict::told, "Checking ...", ""});
  while (check_labels_.size() < lines.size()) {
    check_labels_.push_back(std::make_shared<gui::Label>(""));
    checks_->AddChild(check_labels_.back());
  }
  for (std::size_t i = 0; i < check_labels_.size(); ++i) {
    check_labels_[i]->SetVisible(i < lines.size());
    if (i >= lines.size()) continue;
    check_labels_[i]->SetText(told(lines[i], width).c_str());
    check_labels_[i]->SetTextColor(colour_of(lines[i].verdict));
  }
}

void SidePanel::set_slice(const SliceChoice& choice) {
  slice_choice_ = choice;
  slice_on_->SetChecked(choice.on);
  slice_other_->SetChecked(choice.other_side);
  slice_at_->set(choice.at);
  across_button_->SetOn(choice.on && !choice.lengthwise);
  along_button_->SetOn(choice.on && choice.lengthwise);
}

}  // namespace moundwright::viewer

#include "io/work_steps.h"

#include <fmt/format.h>

#include <algorithm>

#include "io/ascii.h"
#include "io/cautions.h"
#include "io/material_style.h"

namespace moundwright::io {
namespace {

std::string elevation_text(const SiteResults& r, double elevation) {
  return fixed_text(elevation, length_decimals(r.job.site.unit));
}

/// "Core and shell": those of a group in the order they go down.
std::string names_of(const std::vector<const Layer*>& layers) {
  std::string text;
  for (const Layer* layer : layers) text += (text.empty() ? "" : layer == layers.back() ? " and " : ", ") + layer->name;
  if (!text.empty()) text.front() = upper(text.front());
  return text;
}

std::string materials_of(const std::vector<const Layer*>& layers) {
  std::vector<std::string> seen;
  for (const Layer* layer : layers) {
    if (std::find(seen.begin(), seen.end(), layer->material) == seen.end()) seen.push_back(layer->material);
  }
  return fmt::format("{}", fmt::join(seen, ", "));
}

/// The layers by what they are for. Sand goes down before and round the stone, the rest over it.
struct LayerGroups {
  std::vector<const Layer*> sand, stone, cover, topsoil;
};

LayerGroups groups_of(const MoundDesign& design) {
  LayerGroups groups;
  for (const Layer& layer : design.layers) {
    switch (layer_kind(layer)) {
      case LayerKind::sand:
        groups.sand.push_back(&layer);
        break;
      case LayerKind::stone:
        groups.stone.push_back(&layer);
        break;
      case LayerKind::topsoil:
        groups.topsoil.push_back(&layer);
        break;
      case LayerKind::loam:
      case LayerKind::other:
        groups.cover.push_back(&layer);
        break;
    }
  }
  return groups;
}

std::vector<Grade> tops_of(const SiteResults& r, const std::vector<const Layer*>& layers) {
  std::vector<Grade> grades;
  const double bottom = r.mound().buildup.bottom_elevation;
  for (const Layer* layer : layers) {
    const std::string edge = layer->crown > 0 ? " edge" : " top";
    grades.push_back({layer->name + edge, bottom + layer->top, layer->top});
    if (layer->crown > 0) {
      grades.push_back({layer->name + " ridge", bottom + layer->top + layer->crown, layer->top + layer->crown});
    }
  }
  return grades;
}

class StepWriter {
 public:
  explicit StepWriter(const SiteResults& results)
      : r_(results), design_(results.mound().design()), groups_(groups_of(results.mound().design())) {}

  std::vector<WorkStep> take() {
    add_layout();
    add_ground();
    add_sand();
    add_stone();
    add_cover();
    return std::move(steps_);
  }

 private:
  const SiteResults& r_;
  const MoundDesign& design_;
  LayerGroups groups_;
  std::vector<WorkStep> steps_;

  void add(std::string title, std::string text, std::string caution = {}, std::vector<Grade> checks = {}) {
    steps_.push_back({std::move(title), std::move(text), std::move(caution), std::move(checks)});
  }

  void add_layout() {
    add("Locate utilities", "Have everything buried found and marked, and keep the marks.", cautions::utilities);
    std::string marks = "Two, outside the work, that will still be there at the end.";
    for (const std::optional<Mark>* mark : {&r_.job.site.lot.benchmark, &r_.job.site.lot.second_benchmark}) {
      if (*mark && (*mark)->elevation) {
        marks += fmt::format(" {} is {}.", (*mark)->name, elevation_text(r_, *(*mark)->elevation));
      }
    }
    add("Set two bench marks", marks + " From here on every stage begins with a check shot on the second one.");
    add("Shoot the ground",
        fmt::format("The plan stands on {} shots. Shoot a few of them again, and wherever the hubs find the ground "
                    "more than a few tenths off.",
                    r_.survey.ground_shots.size()));
    const auto hubs = std::count_if(r_.found().stakes.stakes.begin(), r_.found().stakes.stakes.end(),
                                    [](const Stake& s) { return s.kind == StakeKind::hub; });
    add("Stake bed, toe and slopes",
        fmt::format("{} hubs outside the work, then {} others, as listed. Prove the hubs by the diagonals. Mark cut or "
                    "fill from each hub's own shot.",
                    hubs, r_.found().stakes.stakes.size() - static_cast<std::size_t>(hubs)));
    add("Silt fence", "Below the toe, on the contour, ends turned uphill.");
    if (!r_.job.site.lot.feed.empty()) {
      add("Lay the force main",
          "Before the ground is scarified; from upslope or from an end, never across the downslope side.",
          fmt::format("{} {}", cautions::trench, cautions::tank));
    }
  }

  void add_ground() {
    const Prepare& prepare = design_.prepare;
    if (prepare.strip > 0) {
      add("Mow and strip",
          fmt::format("Inside the toe, {} {} deep, from upslope, when the soil is dry. Pile it where it "
                      "can be used. From now on nothing drives on the downslope side.",
                      elevation_text(r_, prepare.strip), symbol(r_.job.site.unit)));
    }
    if (prepare.undercut) {
      const double bottom = prepare.undercut->elevation;
      add("Undercut under the bed",
          fmt::format("Flat bottom at {}. Shoot it before any sand goes in.", elevation_text(r_, bottom)),
          cautions::trench, {{"undercut bottom", bottom, bottom - r_.mound().buildup.bottom_elevation}});
    }
    if (prepare.scarify) {
      add(prepare.strip > 0 ? "Scarify" : "Mow and scarify",
          "In place, along the contour. Strip only where the plan says so: the native topsoil treats too.",
          cautions::dry_soil);
    }
  }

  void add_sand() {
    if (groups_.sand.empty()) return;
    const double lowest = groups_.sand.front()->top;
    const bool metric = r_.job.site.unit == LengthUnit::metre;
    std::string text = fmt::format(
        "{} ({}), up together in lifts of {}, from upslope and from on top of placed sand. No load without its "
        "gradation ticket; jar test: {} of fines over {} of sand turns the load away. Lifts and jar test are common "
        "practice: the plan may ask for more.",
        names_of(groups_.sand), materials_of(groups_.sand), metric ? "150 to 300 mm" : "6 to 12 in",
        metric ? "3 mm" : "1/8 in", metric ? "50 mm" : "2 in");
    std::vector<Grade> checks;
    if (lowest == 0) checks.push_back({"bed bottom", r_.mound().buildup.bottom_elevation, 0});
    if (design_.least_sand) {
      text += fmt::format(" Sand under the bed is never thinner than {} {}.", elevation_text(r_, *design_.least_sand),
                          symbol(r_.job.site.unit));
    }
    if (!r_.job.site.lot.feed.empty()) text += " Nothing is dug through placed sand.";
    add("Sand", text, cautions::placed_sand, checks);
  }

  void add_stone() {
    if (groups_.stone.empty()) return;
    const std::string what = fmt::format("{} ({})", names_of(groups_.stone), materials_of(groups_.stone));
    if (design_.lateral_invert) {
      const double invert = r_.mound().buildup.bottom_elevation + *design_.lateral_invert;
      add("Stone to the lateral invert", what + ", washed, level, placed without driving on the sand.", {},
          {{"lateral invert", invert, *design_.lateral_invert}});
      add("Laterals, squirt test, inspection",
          "Lay them level, a shield over every orifice. Run the pump with the laterals open and measure the squirt; "
          "have it "
          "inspected before stone covers it.",
          fmt::format("{} {}", cautions::sewage, cautions::tank));
      add("Cover stone", "To the top of the bed, level.", {}, tops_of(r_, groups_.stone));
    } else {
      add("Stone", what + ", washed, level, placed without driving on the sand.", {}, tops_of(r_, groups_.stone));
    }
    std::vector<const Layer*> shells;
    for (const Layer* layer : groups_.sand) {
      if (layer->top > 0) shells.push_back(layer);
    }
    if (!shells.empty()) {
      add("Bring the sand round the stone to grade", names_of(shells) + ", before the stone is covered.", {},
          tops_of(r_, shells));
    }
    add("Fabric", "Over all the stone, lapped, before any soil.");
  }

  void add_cover() {
    if (!groups_.cover.empty()) {
      add("Berm and cover",
          fmt::format("{} ({}), down to the slope stakes, crowned so that rain runs off.", names_of(groups_.cover),
                      materials_of(groups_.cover)),
          cautions::slopes, tops_of(r_, groups_.cover));
    }
    add(groups_.topsoil.empty() ? "Seed and mulch" : "Topsoil, seed and mulch",
        groups_.topsoil.empty() ? "At once: a bare slope washes." : "At once after the topsoil: a bare slope washes.",
        {}, tops_of(r_, groups_.topsoil));
    add("As-built",
        "Shoot the finished mound, stage by stage against the plan, and hand the figures to the inspector.");
  }
};

}  // namespace

std::vector<WorkStep> work_steps(const SiteResults& results) { return StepWriter(results).take(); }

}  // namespace moundwright::io

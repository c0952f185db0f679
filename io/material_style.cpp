#include "io/material_style.h"

#include <algorithm>
#include <string>

#include "io/ascii.h"

namespace moundwright::io {
namespace {

using Kind = LayerKind;

struct KindLook {
  Kind kind;
  MaterialStyle style;
};

// In the order they are given out; within a kind the first is the purest.
const KindLook looks[] = {
    {Kind::sand, {{0.957, 0.878, 0.655}, Hatch::fine_dots}}, {Kind::sand, {{0.871, 0.690, 0.392}, Hatch::coarse_dots}},
    {Kind::stone, {{0.690, 0.729, 0.761}, Hatch::pebbles}},  {Kind::loam, {{0.671, 0.490, 0.341}, Hatch::slant}},
    {Kind::topsoil, {{0.455, 0.337, 0.251}, Hatch::tufts}},  {Kind::other, {{0.776, 0.525, 0.408}, Hatch::cross}},
    {Kind::other, {{0.569, 0.596, 0.451}, Hatch::level}},    {Kind::other, {{0.812, 0.776, 0.722}, Hatch::earth}},
};

bool has_word(const std::string& text, std::initializer_list<const char*> words) {
  return std::any_of(words.begin(), words.end(),
                     [&](const char* word) { return text.find(word) != std::string::npos; });
}

Kind kind_of(const std::string& words) {
  if (has_word(words, {"topsoil", "top soil", "seed"})) return Kind::topsoil;
  if (has_word(words, {"stone", "gravel", "aggregate", "rock"})) return Kind::stone;
  if (has_word(words, {"loam", "soil", "cover", "berm", "cap"})) return Kind::loam;
  if (has_word(words, {"sand"})) return Kind::sand;
  return Kind::other;
}

std::string lower_case(std::string text) {
  for (char& c : text) c = lower(c);
  return text;
}

}  // namespace

// The material says more than the name: a layer named "cover" may be of sand.
LayerKind layer_kind(const Layer& layer) {
  const Kind by_material = kind_of(lower_case(layer.material));
  return by_material == Kind::other ? kind_of(lower_case(layer.name)) : by_material;
}

std::vector<MaterialStyle> layer_styles(const MoundDesign& design) {
  std::vector<MaterialStyle> styles;
  bool taken[std::size(looks)] = {};
  for (const Layer& layer : design.layers) {
    const Kind kind = layer_kind(layer);
    std::size_t best = std::size(looks);
    const auto take_free = [&](auto&& suits) {
      for (std::size_t i = 0; i < std::size(looks) && best == std::size(looks); ++i) {
        if (!taken[i] && suits(looks[i].kind)) best = i;
      }
    };
    take_free([&](Kind k) { return k == kind; });
    take_free([](Kind k) { return k == Kind::other; });
    take_free([](Kind) { return true; });
    if (best == std::size(looks)) {
      // More layers than looks: begin again, a shade lighter each time round.
      MaterialStyle again = styles[styles.size() - std::size(looks)];
      again.fill = lighter(again.fill, 0.35);
      styles.push_back(again);
      continue;
    }
    taken[best] = true;
    styles.push_back(looks[best].style);
  }
  return styles;
}

Colour assumed_ground_colour() { return {0.90, 0.40, 0.05}; }

MaterialStyle ground_style() { return {{0.780, 0.800, 0.690}, Hatch::earth}; }
MaterialStyle cut_style() { return {{0.867, 0.847, 0.804}, Hatch::cross}; }

}  // namespace moundwright::io

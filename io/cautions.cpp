#include "io/cautions.h"

#include <algorithm>

namespace moundwright::io {
namespace {

/// Where the laterals are laid and tried: at their invert, else in the layer over the first.
std::size_t pipe_stage(const std::vector<BuildStage>& stages) {
  const auto invert = std::find_if(stages.begin(), stages.end(),
                                   [](const BuildStage& s) { return s.kind == StageKind::lateral_invert; });
  if (invert != stages.end()) return static_cast<std::size_t>(invert - stages.begin());
  std::size_t layers = 0;
  for (std::size_t i = 0; i < stages.size(); ++i) {
    if (stages[i].kind == StageKind::layer && ++layers == 2) return i;
  }
  return stages.size();
}

}  // namespace

std::vector<std::string> stage_cautions(const std::vector<BuildStage>& stages, std::size_t stage) {
  if (stages[stage].kind == StageKind::prepared) return {cautions::force_main, cautions::dry_soil, cautions::trench};
  if (stage == pipe_stage(stages)) return {cautions::sewage, cautions::tank};
  const auto is_layer = [](const BuildStage& s) { return s.kind == StageKind::layer; };
  const auto first = std::find_if(stages.begin(), stages.end(), is_layer);
  if (first == stages.begin() + static_cast<long>(stage)) return {cautions::placed_sand};
  if (stage + 1 == stages.size()) return {cautions::slopes};
  return {};
}

}  // namespace moundwright::io

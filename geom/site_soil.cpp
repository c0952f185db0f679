#include "geom/site_soil.h"

namespace moundwright {

const char* to_text(SoilGoes goes) {
  switch (goes) {
    case SoilGoes::use:
      return "use";
    case SoilGoes::haul_off:
      return "haul off";
    case SoilGoes::spread:
      return "spread";
  }
  return "use";
}

SiteSoilResult dig(const SiteSoil& soil, BankYards bank, const Material& material, LooseYards wanted) {
  SiteSoilResult result;
  result.name = soil.name;
  result.material = soil.material;
  result.bank = bank;
  result.loose = *loose_from(material, bank);
  result.lost = soil.loss * result.loose;
  LooseYards left = result.loose - result.lost;
  if (soil.goes == SoilGoes::use) {
    result.used = left < wanted ? left : wanted;
    left -= result.used;
  }
  const SoilGoes rest = soil.goes == SoilGoes::use ? soil.surplus : soil.goes;
  (rest == SoilGoes::spread ? result.spread : result.hauled) = left;
  return result;
}

LooseYards blend_part(const Blend& blend, const std::string& material, LooseYards blended) {
  double all = 0, own = 0;
  for (const BlendPart& part : blend.parts) {
    all += part.parts;
    if (part.material == material) own += part.parts;
  }
  return own / all / (1 - blend.mixing_shrink) * blended;
}

}  // namespace moundwright

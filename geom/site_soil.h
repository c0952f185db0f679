// Soil that the site itself has: what strip, pits and trenches yield, what of it goes into the mound, and where the
// rest goes; blends; and the balance of all of it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geom/materials.h"

namespace moundwright {

struct BlendPart {
  std::string material;
  double parts = 0;  // by loose volume
};

/// A material mixed on site.
struct Blend {
  std::string material;  // what it makes, such as "sandy loam"
  std::vector<BlendPart> parts;
  double mixing_shrink = 0;  // fraction: loose parts that are mixed lose this much of their volume
};

enum class SoilGoes { use, haul_off, spread };
const char* to_text(SoilGoes goes);

/// One source of soil on the site.
struct SiteSoil {
  std::string name;
  std::string from;  // "strip" or "undercut" of the mound; empty: the yards below
  std::optional<BankYards> bank;
  std::string material;  // whose swell and shrink hold, and that it can stand in for
  double loss = 0;       // fraction of the loose yards lost to roots, stones and handling
  SoilGoes goes = SoilGoes::haul_off;
  SoilGoes surplus = SoilGoes::haul_off;  // of what is used: where the rest goes
  std::string truck;                      // that hauls it off
};

struct SiteSoilResult {
  std::string name, material;
  BankYards bank;
  LooseYards loose, lost, used, spread, hauled;  // loose = lost + used + spread + hauled
  std::optional<Loads> loads;                    // hauled off
  double haul_cost = 0;
};

/// One material's yards in and out, all loose. in: from_site + bought; out: the rest.
struct BalanceLine {
  std::string material;
  LooseYards from_site, bought, blended_in;  // in; `blended_in`: what mixing made of it
  LooseYards in_place, waste, into_blends;   // out; `in_place` with interface losses
  LooseYards left_over;                      // out: of whole loads, where the bid is charged by them
  double gap() const { return (from_site + bought + blended_in - in_place - waste - into_blends - left_over).cy; }
};

/// What a source yields: used as far as something wants it, the rest spread or hauled off. Loads and money are not set.
/// The material's swell, or its bank and loose weights, must be known.
SiteSoilResult dig(const SiteSoil& soil, BankYards bank, const Material& material, LooseYards wanted);

/// Loose yards of one part that so many loose yards of the blend take: its share of the parts, over what mixing leaves.
LooseYards blend_part(const Blend& blend, const std::string& material, LooseYards blended);

}  // namespace moundwright

// Cubic yards that say what state the soil is in, so that bank, loose and compacted yards are never added up.
//
//   LooseYards truck{12.0};  CompactedYards neat{160.4};  LooseYards needed = material_yards.loose(neat);
//
// bank: as it lies in the ground · loose: as it lies on a truck or in a pile · compacted: in place in the mound, which
// is what neat lines enclose.
#pragma once

namespace moundwright {

template <class State>
struct Yards {
  double cy = 0;

  Yards& operator+=(Yards more) { return cy += more.cy, *this; }
  Yards& operator-=(Yards less) { return cy -= less.cy, *this; }
  friend Yards operator+(Yards a, Yards b) { return {a.cy + b.cy}; }
  friend Yards operator-(Yards a, Yards b) { return {a.cy - b.cy}; }
  friend Yards operator*(double factor, Yards a) { return {factor * a.cy}; }
  friend double operator/(Yards a, Yards b) { return a.cy / b.cy; }
  friend bool operator<(Yards a, Yards b) { return a.cy < b.cy; }
};

using BankYards = Yards<struct BankState>;
using LooseYards = Yards<struct LooseState>;
using CompactedYards = Yards<struct CompactedState>;

}  // namespace moundwright

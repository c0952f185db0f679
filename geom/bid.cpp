#include "geom/bid.h"

namespace moundwright {

const char* to_text(BidKind kind) {
  switch (kind) {
    case BidKind::material:
      return "material";
    case BidKind::item:
      return "item";
    case BidKind::haul:
      return "haul";
    case BidKind::machine:
      return "machine";
    case BidKind::labour:
      return "labor";
  }
  return "material";
}

const char* to_text(Charged charged) { return charged == Charged::as_ordered ? "as ordered" : "whole loads"; }

BidSheet add_up(std::vector<BidLine> lines, const BidOptions& options, CompactedYards fill,
                const MaterialCost& material) {
  BidSheet sheet;
  sheet.charged = options.charged;
  sheet.currency = options.currency;
  for (const BidLine& line : lines) {
    switch (line.kind) {
      case BidKind::material:
        sheet.material += line.amount;
        break;
      case BidKind::item:
        sheet.items += line.amount;
        break;
      case BidKind::haul:
        sheet.haul += line.amount;
        break;
      case BidKind::machine:
        sheet.machine += line.amount;
        sheet.machine_hours += line.quantity;
        break;
      case BidKind::labour:
        sheet.labour += line.amount;
        sheet.labour_hours += line.quantity;
        break;
    }
  }
  sheet.lines = std::move(lines);
  sheet.direct = sheet.material + sheet.items + sheet.haul + sheet.machine + sheet.labour;
  sheet.overhead = options.overhead * sheet.direct;
  sheet.total = (sheet.direct + sheet.overhead) / (1 - options.margin);
  sheet.margin = sheet.total - sheet.direct - sheet.overhead;
  const double more = (material.whole_loads - material.as_ordered) * (1 + options.overhead) / (1 - options.margin);
  const bool whole = options.charged == Charged::whole_loads;
  sheet.total_as_ordered = whole ? sheet.total - more : sheet.total;
  sheet.total_whole_loads = whole ? sheet.total : sheet.total + more;
  if (fill.cy > 0) sheet.per_yard = sheet.total / fill.cy;
  return sheet;
}

}  // namespace moundwright

#include "viewer/estimate_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "geom/bulk_units.h"
#include "geom/price_gaps.h"
#include "geom/printed.h"

namespace moundwright::viewer {
namespace {

/// 12345.6 as "12,346".
std::string money(const std::string& currency, double amount) {
  const std::string digits = fixed_text(amount, 0);
  std::string text = currency;
  for (std::size_t i = 0; i < digits.size(); ++i) {
    const std::size_t left = digits.size() - i;
    if (i > 0 && left % 3 == 0 && digits[i - 1] != '-') text += ',';
    text += digits[i];
  }
  return text;
}

/// How this job tells bulk material: its figures and its words.
struct Bulk {
  const BulkUnits& units;
  explicit Bulk(const io::SiteResults& r) : units(bulk_units(r.job.site.unit)) {}
  template <class Yards>
  double of(const Yards& yards) const {
    return units.of_yard * yards.cy;
  }
  double of_yards(double cubic_yards) const { return units.of_yard * cubic_yards; }
  double of_tons(double tons) const { return units.of_ton * tons; }
  const char* one() const { return units.metric ? "m3" : "yd"; }
  const char* many() const { return units.metric ? "m3" : "yards"; }
  const char* each() const { return units.metric ? "m3" : "yard"; }
};

const char* plural(double count) { return count == 1 ? "" : "s"; }

std::string order_line(const MaterialOrder& order, const Bulk& bulk) {
  std::string text = fmt::format("  {:<14}", order.material);
  text +=
      order.layers.empty() ? fmt::format("{:>9}", "") : fmt::format("{:>9}", fixed_text(bulk.of(order.in_place), 1));
  if (!order.needed) return text + "   no swell and shrink for it\n";
  text += fmt::format("{:>10}{:>10}", fixed_text(bulk.of(*order.needed), 1), fixed_text(bulk.of(order.from_site), 1));
  if (order.mixed.cy > 0) return text + "   mixed on the site\n";
  text += fmt::format("{:>9}", fixed_text(bulk.of(order.bought), 1));
  text += order.tons ? fmt::format("{:>8}", fixed_text(bulk.of_tons(*order.tons), 1)) : fmt::format("{:>8}", "");
  if (!order.loads) return text + "   no truck\n";
  const Loads& loads = *order.loads;
  text += fmt::format("{:>7}   {} {} each, full by {}", loads.count, fixed_text(bulk.of(loads.each), 1), bulk.one(),
                      loads.weight_binds ? "weight" : "volume");
  if (loads.count > loads.full) text += fmt::format("; the last {} {}", fixed_text(bulk.of(loads.part), 1), bulk.one());
  return text + "\n";
}

std::string orders_part(const Estimate& e, const Bulk& bulk) {
  const bool any =
      std::any_of(e.orders.begin(), e.orders.end(), [](const MaterialOrder& o) { return o.needed.has_value(); });
  if (!any) return "";
  std::string text =
      fmt::format("{:<16}{:>9}{:>10}{:>10}{:>9}{:>8}{:>7}\n", "Order", "neat", "loose,", "from the", "to buy,", "", "");
  text += fmt::format("{:<16}{:>9}{:>10}{:>10}{:>9}{:>8}{:>7}\n", "", bulk.many(), "waste in", "site", "loose",
                      bulk.units.weight, "loads");
  for (const MaterialOrder& order : e.orders) text += order_line(order, bulk);
  return text;
}

std::string interface_part(const Estimate& e, const Bulk& bulk) {
  std::string text;
  for (const InterfaceLine& line : e.interface) {
    text += fmt::format("  in it: {} {} of {} {}\n", fixed_text(bulk.of(line.in_place), 1), bulk.one(), line.material,
                        line.what);
  }
  if (!e.interface.empty())
    text += fmt::format("  what faces lose lies in the layer beside, whose {} are not cut for it\n", bulk.many());
  return text;
}

std::string blends_part(const Estimate& e, const Bulk& bulk) {
  std::string text;
  for (const Blend& blend : e.blends) {
    const auto made = std::find_if(e.orders.begin(), e.orders.end(),
                                   [&](const MaterialOrder& o) { return o.material == blend.material; });
    if (made == e.orders.end() || !made->needed) continue;
    std::string parts;
    for (const BlendPart& part : blend.parts) {
      parts += fmt::format("{}{} {} of {} ({:g} part{})", parts.empty() ? "" : " and ",
                           fixed_text(bulk.of(blend_part(blend, part.material, *made->needed)), 1), bulk.one(),
                           part.material, part.parts, plural(part.parts));
    }
    text += fmt::format("Blend       {} loose {} of {}: {}\n", fixed_text(bulk.of(*made->needed), 1), bulk.one(),
                        blend.material, parts);
  }
  return text;
}

std::string site_soil_part(const Estimate& e, const Bulk& bulk) {
  std::string text;
  for (const SiteSoilResult& s : e.site_soil) {
    text += fmt::format("{:<12}{}: {} bank {} of {}, {} loose", text.empty() ? "Site soil" : "", s.name,
                        fixed_text(bulk.of(s.bank), 1), bulk.one(), s.material, fixed_text(bulk.of(s.loose), 1));
    const auto add = [&](const char* what, LooseYards yards) {
      if (yards.cy > 0.05) text += fmt::format("; {} {}", fixed_text(bulk.of(yards), 1), what);
    };
    add("lost", s.lost);
    add("used", s.used);
    add("spread on the lot", s.spread);
    add("hauled off", s.hauled);
    if (s.loads) text += fmt::format(" in {} load{}", s.loads->count, plural(s.loads->count));
    text += "\n";
  }
  return text;
}

std::string lifts_part(const io::SiteResults& r) {
  const Estimate& e = r.estimate;
  if (!e.lifts) return "";
  const Bulk bulk(r);
  std::string text = fmt::format("{:<12}{:g} {} each; neat {}, with what faces and soft ground take\n", "Lifts",
                                 e.lifts->depth, symbol(r.job.site.unit), bulk.many());
  for (const Lift& lift : e.lifts->lifts) {
    text += fmt::format("  {:<3} to {:<9}", lift.number, fixed_text(lift.top, length_decimals(r.job.site.unit)));
    for (const LiftPart& part : lift.parts)
      text += fmt::format("{} {} + {}   ", part.layer, fixed_text(bulk.of(part.in_place), 1),
                          fixed_text(bulk.of(part.face + part.pressed), 1));
    text.erase(text.find_last_not_of(' ') + 1);
    text += "\n";
  }
  return text;
}

std::string load_numbers(const Estimate& e, const Delivery& d) {
  if (!loads_are_known(e, d)) return "loads not known";
  if (d.loads == 0) return "none: what has come reaches";
  if (d.loads == 1) return fmt::format("load {}", d.first_load);
  return fmt::format("loads {} to {}", d.first_load, d.last_load);
}

std::string deliveries_part(const Estimate& e, const Bulk& bulk) {
  std::string text;
  for (const Delivery& d : e.deliveries) {
    text += fmt::format("{:<12}{:<27}{:<14}", text.empty() ? "Arriving" : "", d.stage, d.material);
    text += d.other.empty()
                ? fmt::format("{:>7} loose {}   {}\n", fixed_text(bulk.of(d.loose), 1), bulk.one(), load_numbers(e, d))
                : fmt::format("{:>19}{}\n", "", d.other);
  }
  return text;
}

std::string settled_part(const Estimate& e, LengthUnit unit) {
  const int decimals = length_decimals(unit);
  std::string text;
  for (const SettledGrade& g : e.settled) {
    text += fmt::format("{:<12}{}, {}: place to {}, settles to {}\n", text.empty() ? "Settling" : "", g.layer, g.where,
                        fixed_text(g.placed, decimals), fixed_text(g.settled, decimals));
  }
  return text;
}

std::string balance_part(const Estimate& e, const Bulk& bulk) {
  if (e.balance.empty()) return "";
  std::string text = fmt::format("{:<16}{:>9}{:>9}{:>9}{:>11}{:>9}{:>12}{:>8}\n",
                                 fmt::format("Balance, {}", bulk.units.metric ? "m3" : "loose"), "site", "bought",
                                 "mixed", "in place", "waste", "in blends", "gap");
  for (const BalanceLine& b : e.balance) {
    text +=
        fmt::format("  {:<14}{:>9}{:>9}{:>9}{:>11}{:>9}{:>12}{:>8}\n", b.material, fixed_text(bulk.of(b.from_site), 1),
                    fixed_text(bulk.of(b.bought), 1), fixed_text(bulk.of(b.blended_in), 1),
                    fixed_text(bulk.of(b.in_place), 1), fixed_text(bulk.of(b.waste), 1),
                    fixed_text(bulk.of(b.into_blends), 1), fixed_text(bulk.of_yards(std::abs(b.gap())), 1));
  }
  return text;
}

std::string items_part(const Estimate& e, const Bulk& bulk) {
  std::string text;
  const auto lead = [&] { return text.empty() ? "Items" : ""; };
  for (const AreaItem& item : e.areas.items) {
    text += fmt::format("{:<12}{:<20}{:>8} {:<6} order {:>5} {:<6} {}\n", lead(), item.name,
                        fixed_text(item.quantity, 0), item.unit, fixed_text(item.order, 0), item.order_unit, item.note);
  }
  for (const StockpileResult& pile : e.areas.stockpiles) {
    text += fmt::format("{:<12}{:<20}{:>8} loose {} of {} lie {} x {} and {} high; {}\n", lead(), "stockpile",
                        fixed_text(bulk.of(pile.volume), 0), bulk.one(), pile.material, fixed_text(pile.length, 0),
                        fixed_text(pile.width, 0), fixed_text(pile.height, 1), pile.note);
  }
  return text;
}

std::string shot_place(const io::SiteResults& r, const ShotAdvice& shot) {
  const auto name = [&](std::int64_t i) {
    return i < 0 ? std::string("a crossing of breaklines") : r.survey.ground_shots[static_cast<std::size_t>(i)].point;
  };
  if (shot.shots.size() == 1) return fmt::format("again at {}", name(shot.shots[0]));
  return fmt::format("between {}, {} and {}", name(shot.shots[0]), name(shot.shots[1]), name(shot.shots[2]));
}

/// It takes one part in a hundred off the random part, or more.
bool worth_a_shot(const ShotAdvice& shot) { return shot.random_after_cy <= 0.99 * shot.random_before_cy; }

constexpr double nineteen_in_twenty = 1.96;  // standard deviations, normal distribution

std::string accuracy_part(const io::SiteResults& r) {
  if (!r.estimate.accuracy) return "";
  const Accuracy& a = *r.estimate.accuracy;
  const Bulk bulk(r);
  const char* unit = symbol(r.job.site.unit);
  std::string text = fmt::format("{:<12}shots good to {:g} {} each and {:g} {} in common; {}, 19 times in 20\n",
                                 "How sure", a.shots.random, unit, a.shots.systematic, unit, bulk.many());
  const auto band = [&](double cubic_yards) { return nineteen_in_twenty * bulk.of_yards(cubic_yards); };
  const auto line = [&](const PlusOrMinus& p) {
    text += fmt::format("  {:<10}+/- {:<6} (random {}, common {})", p.name, fixed_text(band(p.both_cy()), 1),
                        fixed_text(band(p.random_cy), 1), fixed_text(band(p.systematic_cy), 1));
    if (a.bottom_rise) text += fmt::format(", and {} more", fixed_text(bulk.of_yards(p.rise_cy), 1));
    text += "\n";
  };
  for (const PlusOrMinus& p : a.fill) line(p);
  line(a.total_fill);
  for (const PlusOrMinus& p : a.cut) line(p);
  if (a.bottom_rise) {
    text += fmt::format(
        "  And more: the bed follows the highest of many shots; errors of that size raise it {} {} on average.\n",
        fixed_text(*a.bottom_rise, 2), unit);
  }
  text += "  How far the ground strays between shots is not in it.\n";
  bool any = false;
  for (const ShotAdvice& shot : a.more_shots) {
    if (!worth_a_shot(shot)) continue;
    any = true;
    text += fmt::format("  one more shot {} (N {}, E {}) helps: the fill's random part would be {}, not {}\n",
                        shot_place(r, shot), fixed_text(shot.at.y(), 1), fixed_text(shot.at.x(), 1),
                        fixed_text(band(shot.random_after_cy), 1), fixed_text(band(shot.random_before_cy), 1));
  }
  text += any ? "  No other single shot takes 1 % off it.\n"
              : "  No single shot more takes 1 % off the fill's random part.\n";
  return text;
}

/// "; INCOMPLETE: 2 things", behind a price.
std::string marked(const Estimate& e) {
  return price_is_incomplete(e) ? fmt::format("; {}", incomplete_text(e)) : std::string();
}

std::string bid_part(const Estimate& e, const Bulk& bulk) {
  if (!e.bid) return "";
  const BidSheet& b = *e.bid;
  std::string text = "Bid\n";
  for (const BidLine& line : b.lines) {
    text +=
        fmt::format("  {:<9}{:<46}{:>9} {:<9}{:>9}{:>11}\n", to_text(line.kind), line.name,
                    fixed_text(line.quantity, 1), line.unit, fixed_text(line.rate, 2), money(b.currency, line.amount));
  }
  const auto total = [&](const std::string& what, double amount) {
    text += fmt::format("  {:<75}{:>18}\n", what, money(b.currency, amount));
  };
  total(fmt::format("direct: material {}, items {}, haul {}, machine {} ({} h), labor {} ({} h)",
                    money(b.currency, b.material), money(b.currency, b.items), money(b.currency, b.haul),
                    money(b.currency, b.machine), fixed_text(b.machine_hours, 0), money(b.currency, b.labour),
                    fixed_text(b.labour_hours, 0)),
        b.direct);
  total("overhead", b.overhead);
  total("margin", b.margin);
  total(fmt::format("total, {}{} a {} of fill in place{}", b.currency, fixed_text(b.per_yard / bulk.units.of_yard, 2),
                    bulk.each(), marked(e)),
        b.total);
  text += fmt::format("  {}\n", totals_note);
  const bool whole = b.charged == Charged::whole_loads;
  text +=
      fmt::format("  Material is charged {}; {}, the total would be {}{}.\n",
                  whole ? "by whole loads" : "as ordered, not by whole loads", whole ? "as ordered" : "by whole loads",
                  money(b.currency, whole ? b.total_as_ordered : b.total_whole_loads), marked(e));
  return text;
}

std::string accuracy_summary(const io::SiteResults& r) {
  if (!r.estimate.accuracy) return "";
  const Accuracy& a = *r.estimate.accuracy;
  const Bulk bulk(r);
  std::string text =
      fmt::format("{:<12}the fill is good to +/- {} {}, 19 times in 20", "How sure",
                  fixed_text(nineteen_in_twenty * bulk.of_yards(a.total_fill.both_cy()), 1), bulk.many());
  if (const std::string rise = fixed_text(bulk.of_yards(a.total_fill.rise_cy), 1); a.bottom_rise && rise != "0.0") {
    text += fmt::format(";\n{:<12}the bed follows the highest of many shots: expect about {} {} more", "", rise,
                        bulk.many());
  }
  if (!a.more_shots.empty() && worth_a_shot(a.more_shots.front())) {
    const ShotAdvice& best = a.more_shots.front();
    text += fmt::format(";\n{:<12}one more shot {} (N {}, E {}) would help most", "", shot_place(r, best),
                        fixed_text(best.at.y(), 1), fixed_text(best.at.x(), 1));
  }
  return text + "\n";
}

std::string missing_part(const Estimate& e) {
  std::string text;
  for (const std::string& gap : e.missing) text += fmt::format("{:<12}{}\n", text.empty() ? "Bid wants" : "", gap);
  return text;
}

std::string bid_summary(const Estimate& e, const Bulk& bulk) {
  if (!e.bid) return "";
  const BidSheet& b = *e.bid;
  return fmt::format("{:<12}{}, {}{} a {} of fill in place{}\n", "Bid", money(b.currency, b.total), b.currency,
                     fixed_text(b.per_yard / bulk.units.of_yard, 2), bulk.each(), marked(e)) +
         missing_part(e);
}

}  // namespace

std::string estimate_text(const io::SiteResults& r) {
  const Estimate& e = r.estimate;
  const Bulk bulk(r);
  std::string text;
  const std::string settled_and_lifts = lifts_part(r) + settled_part(e, r.job.site.unit);
  for (const std::string& part :
       {orders_part(e, bulk) + interface_part(e, bulk) + blends_part(e, bulk) + site_soil_part(e, bulk),
        settled_and_lifts, deliveries_part(e, bulk), balance_part(e, bulk), items_part(e, bulk), accuracy_part(r),
        bid_part(e, bulk), missing_part(e)}) {
    if (!part.empty()) text += part + "\n";
  }
  return text;
}

std::string estimate_summary_text(const io::SiteResults& r) {
  const std::string text = orders_part(r.estimate, Bulk(r)) + accuracy_summary(r) + bid_summary(r.estimate, Bulk(r));
  return text.empty() ? text : text + "\n";
}

}  // namespace moundwright::viewer

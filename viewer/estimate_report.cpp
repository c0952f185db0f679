#include "viewer/estimate_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace moundwright {
namespace {

/// 12345.6 as "12,346".
std::string money(const std::string& currency, double amount) {
  const std::string digits = fmt::format("{:.0f}", amount);
  std::string text = currency;
  for (std::size_t i = 0; i < digits.size(); ++i) {
    const std::size_t left = digits.size() - i;
    if (i > 0 && left % 3 == 0 && digits[i - 1] != '-') text += ',';
    text += digits[i];
  }
  return text;
}

const char* plural(double count) { return count == 1 ? "" : "s"; }

std::string order_line(const MaterialOrder& order) {
  std::string text = fmt::format("  {:<14}", order.material);
  text += order.layers.empty() ? fmt::format("{:>9}", "") : fmt::format("{:>9.1f}", order.in_place.cy);
  if (!order.needed) return text + "   no swell and shrink for it\n";
  text += fmt::format("{:>10.1f}{:>10.1f}", order.needed->cy, order.from_site.cy);
  if (order.mixed.cy > 0) return text + "   mixed on the site\n";
  text += fmt::format("{:>9.1f}", order.bought.cy);
  text += order.tons ? fmt::format("{:>8.1f}", *order.tons) : fmt::format("{:>8}", "");
  if (!order.loads) return text + "   no truck\n";
  const Loads& loads = *order.loads;
  text += fmt::format("{:>7}   {:.1f} yd each, full by {}", loads.count, loads.each.cy,
                      loads.weight_binds ? "weight" : "volume");
  if (loads.count > loads.full) text += fmt::format("; the last {:.1f} yd", loads.part.cy);
  return text + "\n";
}

std::string orders_part(const Estimate& e) {
  const bool any =
      std::any_of(e.orders.begin(), e.orders.end(), [](const MaterialOrder& o) { return o.needed.has_value(); });
  if (!any) return "";
  std::string text =
      fmt::format("{:<16}{:>9}{:>10}{:>10}{:>9}{:>8}{:>7}\n", "Order", "neat", "loose,", "from the", "to buy,", "", "");
  text += fmt::format("{:<16}{:>9}{:>10}{:>10}{:>9}{:>8}{:>7}\n", "", "yards", "waste in", "site", "loose", "tons",
                      "loads");
  for (const MaterialOrder& order : e.orders) text += order_line(order);
  return text;
}

std::string interface_part(const Estimate& e) {
  std::string text;
  for (const InterfaceLine& line : e.interface) {
    text += fmt::format("  in it: {:.1f} yd of {} {}\n", line.in_place.cy, line.material, line.what);
  }
  if (!e.interface.empty()) text += "  what faces lose lies in the layer beside, whose yards are not cut for it\n";
  return text;
}

std::string blends_part(const Estimate& e) {
  std::string text;
  for (const Blend& blend : e.blends) {
    const auto made = std::find_if(e.orders.begin(), e.orders.end(),
                                   [&](const MaterialOrder& o) { return o.material == blend.material; });
    if (made == e.orders.end() || !made->needed) continue;
    std::string parts;
    for (const BlendPart& part : blend.parts) {
      parts += fmt::format("{}{:.1f} yd of {} ({:g} part{})", parts.empty() ? "" : " and ",
                           blend_part(blend, part.material, *made->needed).cy, part.material, part.parts,
                           plural(part.parts));
    }
    text += fmt::format("Blend       {:.1f} loose yd of {}: {}\n", made->needed->cy, blend.material, parts);
  }
  return text;
}

std::string site_soil_part(const Estimate& e) {
  std::string text;
  for (const SiteSoilResult& s : e.site_soil) {
    text += fmt::format("{:<12}{}: {:.1f} bank yd of {}, {:.1f} loose", text.empty() ? "Site soil" : "", s.name,
                        s.bank.cy, s.material, s.loose.cy);
    const auto add = [&](const char* what, LooseYards yards) {
      if (yards.cy > 0.05) text += fmt::format("; {:.1f} {}", yards.cy, what);
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

std::string lifts_part(const SiteResults& r) {
  const Estimate& e = r.estimate;
  if (!e.lifts) return "";
  std::string text = fmt::format("{:<12}{:g} {} each; neat yards, with what faces and soft ground take\n", "Lifts",
                                 e.lifts->depth, symbol(r.job.site.unit));
  for (const Lift& lift : e.lifts->lifts) {
    text += fmt::format("  {:<3} to {:<9.2f}", lift.number, lift.top);
    for (const LiftPart& part : lift.parts)
      text += fmt::format("{} {:.1f} + {:.1f}   ", part.layer, part.in_place.cy, (part.face + part.pressed).cy);
    text.erase(text.find_last_not_of(' ') + 1);
    text += "\n";
  }
  return text;
}

std::string load_numbers(const Delivery& d) {
  if (d.loads == 0) return "none: what has come reaches";
  if (d.loads == 1) return fmt::format("load {}", d.first_load);
  return fmt::format("loads {} to {}", d.first_load, d.last_load);
}

std::string deliveries_part(const Estimate& e) {
  std::string text;
  for (const Delivery& d : e.deliveries) {
    text += fmt::format("{:<12}{:<27}{:<14}", text.empty() ? "Arriving" : "", d.stage, d.material);
    text += d.other.empty() ? fmt::format("{:>7.1f} loose yd   {}\n", d.loose.cy, load_numbers(d))
                            : fmt::format("{:>19}{}\n", "", d.other);
  }
  return text;
}

std::string settled_part(const Estimate& e) {
  std::string text;
  for (const SettledGrade& g : e.settled) {
    text += fmt::format("{:<12}{}, {}: place to {:.2f}, settles to {:.2f}\n", text.empty() ? "Settling" : "", g.layer,
                        g.where, g.placed, g.settled);
  }
  return text;
}

std::string balance_part(const Estimate& e) {
  if (e.balance.empty()) return "";
  std::string text = fmt::format("{:<16}{:>9}{:>9}{:>9}{:>11}{:>9}{:>12}{:>8}\n", "Balance, loose", "site", "bought",
                                 "mixed", "in place", "waste", "in blends", "gap");
  for (const BalanceLine& b : e.balance) {
    text +=
        fmt::format("  {:<14}{:>9.1f}{:>9.1f}{:>9.1f}{:>11.1f}{:>9.1f}{:>12.1f}{:>8.1f}\n", b.material, b.from_site.cy,
                    b.bought.cy, b.blended_in.cy, b.in_place.cy, b.waste.cy, b.into_blends.cy, std::abs(b.gap()));
  }
  return text;
}

std::string items_part(const Estimate& e) {
  std::string text;
  const auto lead = [&] { return text.empty() ? "Items" : ""; };
  for (const AreaItem& item : e.areas.items) {
    text += fmt::format("{:<12}{:<20}{:>8.0f} {:<6} order {:>5.0f} {:<6} {}\n", lead(), item.name, item.quantity,
                        item.unit, item.order, item.order_unit, item.note);
  }
  for (const StockpileResult& pile : e.areas.stockpiles) {
    text += fmt::format("{:<12}{:<20}{:>8.0f} loose yd of {} lie {:.0f} x {:.0f} and {:.1f} high; {}\n", lead(),
                        "stockpile", pile.volume.cy, pile.material, pile.length, pile.width, pile.height, pile.note);
  }
  return text;
}

std::string shot_place(const SiteResults& r, const ShotAdvice& shot) {
  const auto name = [&](std::int64_t i) {
    return i < 0 ? std::string("a crossing of breaklines") : r.survey.ground_shots[static_cast<std::size_t>(i)].point;
  };
  if (shot.shots.size() == 1) return fmt::format("again at {}", name(shot.shots[0]));
  return fmt::format("between {}, {} and {}", name(shot.shots[0]), name(shot.shots[1]), name(shot.shots[2]));
}

/// It takes one part in a hundred off the random part, or more.
bool worth_a_shot(const ShotAdvice& shot) { return shot.random_after_cy <= 0.99 * shot.random_before_cy; }

constexpr double nineteen_in_twenty = 1.96;  // standard deviations, normal distribution

std::string accuracy_part(const SiteResults& r) {
  if (!r.estimate.accuracy) return "";
  const Accuracy& a = *r.estimate.accuracy;
  const char* unit = symbol(r.job.site.unit);
  std::string text = fmt::format("{:<12}shots good to {:g} {} each and {:g} {} in common; yards, 19 times in 20\n",
                                 "How sure", a.shots.random, unit, a.shots.systematic, unit);
  const auto line = [&](const PlusOrMinus& p) {
    text +=
        fmt::format("  {:<10}+/- {:<6.1f} (random {:.1f}, common {:.1f})\n", p.name, nineteen_in_twenty * p.both_cy(),
                    nineteen_in_twenty * p.random_cy, nineteen_in_twenty * p.systematic_cy);
  };
  for (const PlusOrMinus& p : a.fill) line(p);
  line(a.total_fill);
  for (const PlusOrMinus& p : a.cut) line(p);
  text += "  How far the ground strays between shots is not in it.\n";
  bool any = false;
  for (const ShotAdvice& shot : a.more_shots) {
    if (!worth_a_shot(shot)) continue;
    any = true;
    text += fmt::format(
        "  one more shot {} (N {:.1f}, E {:.1f}) helps: the fill's random part would be {:.1f}, not {:.1f}\n",
        shot_place(r, shot), shot.at.y(), shot.at.x(), nineteen_in_twenty * shot.random_after_cy,
        nineteen_in_twenty * shot.random_before_cy);
  }
  text += any ? "  No other single shot takes 1 % off it.\n"
              : "  No single shot more takes 1 % off the fill's random part.\n";
  return text;
}

std::string bid_part(const Estimate& e) {
  if (!e.bid) return "";
  const BidSheet& b = *e.bid;
  std::string text = "Bid\n";
  for (const BidLine& line : b.lines) {
    text += fmt::format("  {:<9}{:<46}{:>9.1f} {:<9}{:>9.2f}{:>11}\n", to_text(line.kind), line.name, line.quantity,
                        line.unit, line.rate, money(b.currency, line.amount));
  }
  const auto total = [&](const std::string& what, double amount) {
    text += fmt::format("  {:<75}{:>18}\n", what, money(b.currency, amount));
  };
  total(fmt::format("direct: material {}, items {}, haul {}, machine {} ({:.0f} h), labour {} ({:.0f} h)",
                    money(b.currency, b.material), money(b.currency, b.items), money(b.currency, b.haul),
                    money(b.currency, b.machine), b.machine_hours, money(b.currency, b.labour), b.labour_hours),
        b.direct);
  total("overhead", b.overhead);
  total("margin", b.margin);
  total(fmt::format("total, {}{:.2f} a yard of fill in place", b.currency, b.per_yard), b.total);
  const bool whole = b.charged == Charged::whole_loads;
  text +=
      fmt::format("  Material is charged {}; {}, the total would be {}.\n",
                  whole ? "by whole loads" : "as ordered, not by whole loads", whole ? "as ordered" : "by whole loads",
                  money(b.currency, whole ? b.total_as_ordered : b.total_whole_loads));
  return text;
}

std::string accuracy_summary(const SiteResults& r) {
  if (!r.estimate.accuracy) return "";
  const Accuracy& a = *r.estimate.accuracy;
  std::string text = fmt::format("{:<12}the fill is good to +/- {:.1f} yards, 19 times in 20", "How sure",
                                 nineteen_in_twenty * a.total_fill.both_cy());
  if (!a.more_shots.empty() && worth_a_shot(a.more_shots.front())) {
    const ShotAdvice& best = a.more_shots.front();
    text += fmt::format(";\n{:<12}one more shot {} (N {:.1f}, E {:.1f}) would help most", "", shot_place(r, best),
                        best.at.y(), best.at.x());
  }
  return text + "\n";
}

std::string bid_summary(const Estimate& e) {
  if (!e.bid) return "";
  const BidSheet& b = *e.bid;
  return fmt::format("{:<12}{}, {}{:.2f} a yard of fill in place\n", "Bid", money(b.currency, b.total), b.currency,
                     b.per_yard);
}

std::string missing_part(const Estimate& e) {
  std::string text;
  for (const std::string& what : e.missing) text += fmt::format("{:<12}{}\n", text.empty() ? "Bid wants" : "", what);
  return text;
}

}  // namespace

std::string estimate_text(const SiteResults& r) {
  const Estimate& e = r.estimate;
  std::string text;
  const std::string settled_and_lifts = lifts_part(r) + settled_part(e);
  for (const std::string& part :
       {orders_part(e) + interface_part(e) + blends_part(e) + site_soil_part(e), settled_and_lifts, deliveries_part(e),
        balance_part(e), items_part(e), accuracy_part(r), bid_part(e), missing_part(e)}) {
    if (!part.empty()) text += part + "\n";
  }
  return text;
}

std::string estimate_summary_text(const SiteResults& r) {
  const std::string text = orders_part(r.estimate) + accuracy_summary(r) + bid_summary(r.estimate);
  return text.empty() ? text : text + "\n";
}

}  // namespace moundwright

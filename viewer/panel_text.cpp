#include "viewer/panel_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "geom/printed.h"

namespace moundwright::viewer {
namespace {

/// "12.50 ft downslope"; nothing where it rounds to nothing.
std::string way(double by, const char* forth, const char* back, const char* unit, int decimals) {
  if (std::abs(by) < 0.5 * std::pow(10.0, -decimals)) return fmt::format("as in the job");
  return fmt::format("{} {} {}", fixed_text(std::abs(by), decimals), unit, by > 0 ? forth : back);
}

void add_place(const EditSession& session, PanelText& panel) {
  const Moved moved = session.moved();
  const char* unit = symbol(session.unit());
  const int decimals = length_decimals(session.unit());
  panel.place = {{"Along", way(moved.along, "to the right", "to the left", unit, decimals)},
                 {"Across", way(moved.across, "downslope", "upslope", unit, decimals)},
                 {"Turn", way(moved.turned, "clockwise", "counter-clockwise", "deg", 2)},
                 {"Raise", way(moved.raised, "up", "down", unit, decimals)},
                 {"Bed middle", fmt::format("N {}  E {}", fixed_text(session.state().middle.y(), decimals),
                                            fixed_text(session.state().middle.x(), decimals))},
                 {"Long axis", fmt::format("azimuth {}", fixed_text(session.bed_azimuth(), 2))}};
}

void add_figures(const EditSession& session, PanelText& panel) {
  const Buildup& b = session.mound()->buildup;
  const char* unit = symbol(session.unit());
  const int decimals = length_decimals(session.unit());
  const double cy = cubic_yards_per(session.unit());
  panel.bed = {{"Bed bottom", fmt::format("{} {}", fixed_text(b.bottom_elevation, decimals), unit)},
               {"Sand under it", fmt::format("{} to {} {}", fixed_text(b.sand_least, decimals),
                                             fixed_text(b.sand_most, decimals), unit)}};
  for (const LayerResult& layer : b.layers) panel.takeoff.push_back({layer.name, fixed_text(layer.volume * cy, 1)});
  panel.takeoff.push_back({"Fill", fixed_text(b.total_fill() * cy, 1)});
  for (const CutItem& cut : b.cuts) panel.takeoff.push_back({cut.name, fixed_text(cut.volume * cy, 1)});
  panel.takeoff.push_back({"Cut", fixed_text(b.total_cut() * cy, 1)});
  const auto berm = [&](const char* face, const BermLength& length) {
    panel.berm.push_back({face, fmt::format("{} {}  ({} to {})", fixed_text(length.middle, 1), unit,
                                            fixed_text(length.least, 1), fixed_text(length.most, 1))});
  };
  berm("Upslope", b.berm.upslope), berm("Downslope", b.berm.downslope);
  berm("Left end", b.berm.left), berm("Right end", b.berm.right);
}

void add_offers(const EditSession& session, PanelText& panel) {
  if (!session.is_on_survey()) {
    panel.offers.push_back({Verdict::bad, "the bed lies off the survey",
                            "Press B, or the button under Place, to bring it onto the survey; Ctrl+Z takes it back."});
  }
  if (!session.feed_stays_behind()) return;
  std::vector<std::string> names;
  for (const FeedPoint& point : session.feed()) names.push_back(point.name);
  panel.offers.push_back(
      {Verdict::look,
       fmt::format("feed points stay where the job has them, while the bed was moved: {}", fmt::join(names, ", ")),
       "Press F, or check the box under Place, to let them go along with the bed."});
}

void add_rows(const std::string& heading, const std::vector<PanelRow>& rows, std::string& text) {
  if (rows.empty()) return;
  text += "\n" + heading + "\n";
  for (const PanelRow& row : rows) text += fmt::format("  {:<14}{}\n", row.name, row.value);
}

}  // namespace

const char* word_of(Verdict verdict) { return verdict == Verdict::bad ? "BAD" : to_text(verdict); }

PanelText panel_text(const EditSession& session) {
  PanelText panel;
  panel.title = session.site().job.site.title;
  panel.saved = session.is_changed() ? "changed, not saved" : "as in the job file";
  add_place(session, panel);
  if (session.mound()) add_figures(session, panel);
  for (const Problem& problem : session.problems().all) {
    const std::string where = problem.where.empty() ? "" : problem.where + ": ";
    panel.problems.push_back({Verdict::bad, where + problem.what, problem.what_to_do});
  }
  add_offers(session, panel);
  panel.checks_ready = session.findings() != nullptr;
  if (!panel.checks_ready) return panel;
  for (const PlanCheck& check : session.findings()->checks) {
    panel.checks.push_back({check.verdict, check.name + ": " + check.text, check.what_to_do});
  }
  return panel;
}

std::string to_text(const PanelText& panel) {
  std::string text = panel.title + "\n" + panel.saved + "\n";
  add_rows("Place", panel.place, text);
  add_rows("Bed", panel.bed, text);
  add_rows("In place, cubic yards", panel.takeoff, text);
  add_rows("Berm, from the bed's edge to the toe", panel.berm, text);
  const auto lines = [&](const char* heading, const std::vector<PanelLine>& all) {
    if (all.empty()) return;
    text += fmt::format("\n{}\n", heading);
    for (const PanelLine& line : all) {
      text += fmt::format("  {:<6}{}\n", word_of(line.verdict), line.text);
      if (!line.what_to_do.empty()) text += fmt::format("        {}\n", line.what_to_do);
    }
  };
  lines("To mend first", panel.problems);
  lines("To decide", panel.offers);
  lines("Checks", panel.checks);
  return text + "\nNeat, in place: no swell, shrink or waste is in these yards.\n";
}

std::string wrapped(const std::string& text, std::size_t width) {
  std::string broken;
  std::size_t line = 0, at = 0;
  while (at < text.size()) {
    const std::size_t end = std::min(text.find(' ', at), text.size());
    const std::size_t word = end - at;
    if (line > 0 && line + 1 + word > width) {
      broken += '\n', line = 0;
    } else if (line > 0) {
      broken += ' ', ++line;
    }
    broken.append(text, at, word);
    line += word, at = end + 1;
  }
  return broken;
}

}  // namespace moundwright::viewer

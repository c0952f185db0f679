// The figures of sheets.pdf: every table of it, and the sentences that hold figures.
#include <algorithm>

#include "packet_readings.h"
#include "paper_tables.h"

namespace moundwright {
namespace {

namespace fs = std::filesystem;
using Row = std::vector<std::string>;

/// What stands between two texts; nothing where they are not there.
std::string between(const std::string& text, const std::string& before, const std::string& after) {
  const std::size_t begin = text.find(before);
  if (begin == std::string::npos) return {};
  const std::size_t from = begin + before.size();
  return text.substr(from, text.find(after, from) - from);
}

std::string after(const std::string& text, const std::string& before) {
  return between(text, before, std::string(1, '\0'));
}

/// A number of the text, from 0; that of m3 is none.
std::string number_of(std::string text, std::size_t place) {
  static const std::regex cubic_metres(R"(\bm3\b)");
  text = std::regex_replace(text, cubic_metres, "cubic meters");
  static const std::regex number(R"([-+]?\d[\d,]*(?:\.\d+)?)");
  auto found = std::sregex_iterator(text.begin(), text.end(), number);
  for (; place > 0 && found != std::sregex_iterator(); --place) ++found;
  return found == std::sregex_iterator() ? std::string() : found->str();
}

// ---- grade card and rod readings ----------------------------------------------------------------------------------

/// A rod reading is held against the grade that it stands for, which is rounded too as it is shown; the instrument is
/// in the column's heading.
void add_rod(const Row& row, double instrument, const std::string& rod, Readings& out) {
  const double shown = printed(row[1]).within;
  const Reading decimal = printed(rod);
  EXPECT_NEAR(decimal.value, instrument - printed(row[1]).value, slack) << row[0] << ": a pencil gets another reading";
  out.add("grade " + row[0], {instrument - decimal.value, decimal.within + shown});
}

void add_rod_in_eighths(const Row& row, double instrument, const std::string& rod, Readings& out) {
  const Reading inches = in_eighths(rod);
  EXPECT_NEAR(inches.value, instrument - printed(row[1]).value, inches.within) << row[0] << ": inches of other feet";
  out.add("grade " + row[0], {instrument - inches.value, inches.within + printed(row[1]).within});
}

/// In metres nothing is told a second time.
bool tells_eighths(const PaperTable& table) {
  return std::any_of(table.heading.begin(), table.heading.end(),
                     [](const std::string& heading) { return heading.find("eighths") != std::string::npos; });
}

void read_grade_card(const PaperTable& table, Readings& out) {
  const bool eighths = tells_eighths(table);
  const std::size_t example = eighths ? 4 : 3;
  const double instrument = std::stod(number_of(after(table.heading[example], "HI"), 0));
  for (const Row& row : table.rows) {
    out.add_printed("grade " + row[0], row[1]);
    add_rod(row, instrument, row[example], out);
    if (eighths) add_rod_in_eighths(row, instrument, row[example + 1], out);
  }
}

void read_rod_table(const PaperTable& table, Readings& out) {
  for (const Row& row : table.rows) {
    out.add_printed("grade " + row[0], row[1]);
    for (std::size_t i = 2; i < row.size(); ++i) {
      const double instrument = std::stod(after(table.heading[i], "HI "));
      add_rod(row, instrument, row[i], out);
      const bool metric = table.heading[1].ends_with(", m");
      if (!metric) add_rod_in_eighths(row, instrument, row[i], out);
    }
  }
}

void read_inches(const PaperTable& table, Readings&) {
  for (std::size_t i = 0; i < table.heading.size(); ++i) {
    const Reading inches = in_eighths(table.rows.at(0)[i]);
    EXPECT_NEAR(inches.value, std::stod(table.heading[i]), inches.within) << table.heading[i];
  }
}

// ---- stakes --------------------------------------------------------------------------------------------------------

void read_laths(const PaperTable& table, Readings& out) {
  for (std::size_t i = 6; i < table.heading.size(); ++i) {
    const std::size_t space = table.heading[i].rfind(' ');
    out.add_printed("grade " + table.heading[i].substr(0, space), table.heading[i].substr(space + 1));
  }
  for (const Row& row : table.rows) {
    const std::string stake = "stake " + row[0];
    const std::string ground = number_of(row[2], 0), fill = number_of(row[2], 1);
    if (!ground.empty()) {
      const double sign = row[2].find(" C ") == std::string::npos ? 1 : -1;
      // What it is held against comes from figures that are rounded as the design is.
      const double given = printed(number_of(row[4], 0)).within;
      const Reading about = printed(fill), approximate = printed(ground);
      const double edge = printed(number_of(row[4], 0)).value;
      EXPECT_NEAR(sign * about.value, edge - approximate.value, about.within)
          << stake << ": a pencil gets another fill";
      out.add(stake + " ground", {approximate.value, approximate.within + given});
      out.add(stake + " about", {sign * about.value, about.within + approximate.within + 2 * given});
    }
    const bool to_bed = row[4].starts_with("to bed bottom");
    out.add_printed(to_bed ? "bed bottom" : stake + " design", number_of(row[4], 0));
    if (row[5].empty()) continue;
    out.add_printed(stake + " shoulder", between(row[5], "in ", " at"));
    const std::string again = row[5].substr(row[5].find(":1") + 2);
    if (again.find_first_of("0123456789") == std::string::npos) continue;  // a job in metres
    const Reading inches = in_eighths(again);
    EXPECT_NEAR(inches.value, printed(between(row[5], "in ", " at")).value, inches.within) << stake;
    out.add(stake + " shoulder", {inches.value, inches.within + half_of(2)});
  }
}

void read_ties(const PaperTable& table, Readings& out) {
  const bool eighths = tells_eighths(table);
  for (const Row& row : table.rows) {
    const std::string stake = "stake " + row[0];
    out.add_printed(stake + " northing", row[2]);
    out.add_printed(stake + " easting", row[3]);
    for (std::size_t i = 4; i + (eighths ? 1 : 0) < row.size(); i += eighths ? 2 : 1) {
      const std::string unit = eighths ? ", decimal feet" : ", m";
      const std::string tie = stake + " tie " + between(table.heading[i], "Tape from ", unit);
      out.add_printed(tie, row[i]);
      if (!eighths) continue;
      const Reading inches = in_eighths(row[i + 1]);
      EXPECT_NEAR(inches.value, printed(row[i]).value, inches.within) << tie;
      out.add(tie, {inches.value, inches.within + half_of(2)});
    }
  }
}

void read_taped(const PaperTable& table, Readings& out) {
  const bool eighths = tells_eighths(table);
  const std::size_t cells = eighths ? 4 : 3;
  for (const Row& row : table.rows) {
    for (std::size_t i = 0; i + cells <= row.size(); i += cells) {
      if (row[i].empty()) continue;
      out.add_printed("taped " + row[i], row[i + 1]);
      if (!eighths) continue;
      const Reading inches = in_eighths(row[i + 2]);
      EXPECT_NEAR(inches.value, printed(row[i + 1]).value, inches.within) << row[i];
      out.add("taped " + row[i], {inches.value, inches.within + half_of(2)});
    }
  }
}

// ---- quantities ----------------------------------------------------------------------------------------------------

void read_fill(const PaperTable& table, Readings& out) {
  for (const Row& row : table.rows) {
    const bool all = row[0] == "All fill";
    const std::string name = all ? "fill" : row[0];
    EXPECT_NEAR(printed(number_of(row[4], 0)).value, printed(row[3]).value - printed(row[2]).value, slack) << name;
    out.add_printed(all ? "total fill" : "fill " + name, row[2]);
    out.add_printed("end areas of " + name, row[3]);
    out.add_printed(all ? "plan area" : "plan area of " + name, row[5]);
    if (all) continue;
    out.add_printed("least thickness of " + name, row[6]);
    out.add_printed("greatest thickness of " + name, after(row[6], " to "));
  }
}

void read_cut(const PaperTable& table, Readings& out) {
  for (const Row& row : table.rows) {
    if (row[0] == "scarify, in place") {
      out.add_printed("scarified area", row[4]);
    } else if (row[0] == "All cut") {
      out.add_printed("total cut", row[1]);
      out.add_printed("end areas of cut", row[2]);
    } else {
      out.add_printed("cut " + row[0], row[1]);
      out.add_printed("plan area of " + row[0], row[4]);
    }
  }
}

void read_accuracy(const PaperTable& table, Readings& out) {
  out.add_printed("shots, each", after(table.heading[1], ", "));
  out.add_printed("shots, all", after(table.heading[2], ", "));
  for (const Row& row : table.rows) {
    const std::string what = row[0] == "All fill"          ? "total fill"
                             : row[0].starts_with("cut: ") ? "cut " + row[0].substr(5)
                                                           : "fill " + row[0];
    out.add_printed("plus or minus " + what + ", random", row[1]);
    out.add_printed("plus or minus " + what + ", systematic", row[2]);
    out.add_printed("plus or minus " + what + ", both", row[3]);
    if (row.size() > 4) out.add_printed("plus or minus " + what + ", rise", row[4]);
  }
}

void read_berm(const PaperTable& table, Readings& out) {
  for (const Row& row : table.rows) {
    const std::string face = "berm " + row[0].substr(0, row[0].find(' ')) + ", ";
    out.add_printed(face + "middle", row[1]);
    out.add_printed(face + "least", row[2]);
    out.add_printed(face + "most", row[3]);
  }
}

// ---- order and bid -------------------------------------------------------------------------------------------------

void read_orders(const PaperTable& table, Readings& out) {
  const char* figures[] = {"neat ",          "lost of ", "needed ", "waste of ",
                           "from the site ", "mixed ",   "bought ", "tons of "};
  for (const Row& row : table.rows) {
    for (std::size_t i = 0; i < std::size(figures); ++i) out.add_printed(figures[i] + row[0], row[2 + i]);
    out.add_printed("loads of " + row[0], number_of(row[10], 0));
    out.add_printed("a load of " + row[0], number_of(row[10], 1));
    out.add_printed("last load of " + row[0], number_of(row[10], 2));
  }
}

void read_deliveries(const PaperTable& table, Readings& out) {
  for (const Row& row : table.rows) {
    const std::string name = "delivery " + row[0] + ", " + row[1];
    if (row[2].empty()) {
      out.add_printed(name + ", amount", row[4]);
      continue;
    }
    out.add_printed(name, row[2]);
    out.add_printed(name + ", loads", row[3]);
    const std::string first = number_of(row[4], 0), last = number_of(row[4], 1);
    out.add_printed(name + ", first_load", first);
    out.add_printed(name + ", last_load", last.empty() ? first : last);
  }
}

void read_soil(const PaperTable& table, Readings& out) {
  const char* figures[] = {"bank", "loose", "lost", "used", "spread", "hauled", "loads"};
  for (const Row& row : table.rows) {
    for (std::size_t i = 0; i < std::size(figures); ++i) {
      out.add_printed("soil " + row[0] + ", " + figures[i], row[2 + i]);
    }
  }
}

void read_items(const PaperTable& table, Readings& out) {
  for (const Row& row : table.rows) {
    out.add_printed("measured " + row[0], row[1]);
    out.add_printed("order of " + row[0], row[2]);
  }
}

void read_settling(const PaperTable& table, Readings& out) {
  for (const Row& row : table.rows) {
    out.add_printed("placed " + row[0] + ", " + row[1], row[2]);
    out.add_printed("settled " + row[0] + ", " + row[1], row[3]);
  }
}

/// "core 20.6, shell 8.4".
void add_parts(const std::string& lift, const std::string& parts, const std::string& which, Readings& out) {
  static const std::regex part(R"((?:^|, )(.+?) (-?[\d.]+)(?=,|$))");
  for (auto it = std::sregex_iterator(parts.begin(), parts.end(), part); it != std::sregex_iterator(); ++it) {
    std::string figure = lift + " ";
    figure += (*it)[1].str();
    out.add_printed(figure + which, (*it)[2]);
  }
}

void read_lifts(const PaperTable& table, Readings& out) {
  for (const Row& row : table.rows) {
    const std::string lift = "lift " + row[0];
    out.add_printed(lift + " bottom", row[1]);
    out.add_printed(lift + " top", row[2]);
    add_parts(lift, row[3], "", out);
    add_parts(lift, row[4], ", placed", out);
  }
}

void read_bid(const PaperTable& table, Readings& out) {
  std::string kind;
  for (const Row& row : table.rows) {
    if (!row[0].empty()) kind = row[0];
    const std::string line = "bid, " + kind + ", " + row[1];
    out.add_printed(line + ", quantity", row[2]);
    out.add_printed(line + ", rate", row[4]);
    out.add_printed(line + ", amount", row[5]);
  }
}

void read_sum(const PaperTable& table, Readings& out) {
  const std::map<std::string, std::string> figures = {
      {"Material", "material"}, {"Items", "items"},   {"Haul", "haul"},
      {"Machines", "machine"},  {"Labor", "labour"},  {"Direct cost", "direct"},
      {"Overhead", "overhead"}, {"Margin", "margin"}, {"Price", "total"}};
  for (const Row& row : table.rows) out.add_printed("bid " + figures.at(row[0]), row[1]);
}

// ---- stages and checks ---------------------------------------------------------------------------------------------

void read_checks(const PaperTable& table, Readings& out) {
  for (std::size_t i = 0; i < table.rows.size(); ++i) {
    const Row& row = table.rows[i];
    const std::string check = "check " + std::to_string(i + 1);
    out.add_printed(check + " found", row[2]);
    out.add_printed(check + " asked", row[3]);
    if (row[5].empty()) continue;
    out.add_printed(check + " northing", between(row[5], "N ", " E"));
    out.add_printed(check + " easting", after(row[5], "E "));
  }
}

/// One stage in its columns of a table: what is asked stands over them where it is the same everywhere.
void read_stage(const PaperTable& table, std::size_t column, const std::string& name,
                const std::vector<std::string>& points, Readings& out) {
  constexpr std::size_t first = 2;  // after the check shot and what the rod should read
  ASSERT_EQ(table.rows.size(), points.size() + first) << name;
  const bool each = table.heading[column] == "asked";
  const std::string over = after(table.groups[column], ": ");
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Row& row = table.rows[first + i];
    EXPECT_EQ(row[0], points[i]);
    out.add_printed("stage " + name + ", " + points[i], each ? row[column] : number_of(over, 0));
  }
}

void read_stages(const std::vector<const PaperTable*>& tables, const Truth& truth, Readings& out) {
  for (const auto& [name, points] : truth.stages) {
    std::string title = name;
    title.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(title.front())));
    bool found = false;
    for (const PaperTable* table : tables) {
      const auto group = std::find_if(table->groups.begin(), table->groups.end(), [&](const std::string& text) {
        return text.starts_with(title + ": ") || text.starts_with(title + ", within");
      });
      if (group == table->groups.end()) continue;
      read_stage(*table, static_cast<std::size_t>(group - table->groups.begin()), name, points, out);
      found = true;
    }
    EXPECT_TRUE(found) << name;
  }
}

void nothing_printed(const PaperTable& table, Readings&) {
  for (const Row& row : table.rows) {
    for (const std::string& cell : row) EXPECT_EQ(number_of(cell, 0), "") << table.heading[0];
  }
}

/// In words, and held against the checks elsewhere.
void only_words(const PaperTable&, Readings&) {}

// ---- sentences -----------------------------------------------------------------------------------------------------

void read_sentences(const std::string& words, const Truth& truth, Readings& out) {
  out.add_printed("end area sections", between(words, "End areas: ", " sections"));
  out.add_printed("end area interval", between(words, "sections square to the bed every ", " "));
  out.add_printed("independent fill", between(words, "minus prepared ground (", " "));
  out.add_printed("plan area", between(words, "Footprint ", " "));
  out.add_printed("least sand", between(words, "at the same place: never less than ", " "));
  out.add_printed("perimeter", between(words, "; toe ", " "));
  if (!truth.figures.contains("bid total")) return;
  static const std::regex bid(
      R"((\S+) a cubic (?:yard|meter) of fill in place; (\S+) machine hours, (\S+) hours of labor)");
  std::smatch m;
  ASSERT_TRUE(std::regex_search(words, m, bid));
  out.add_printed("bid per_yard", m[1]);
  out.add_printed("bid machine_hours", m[2]);
  out.add_printed("bid labour_hours", m[3]);
}

// ---- which table is which ------------------------------------------------------------------------------------------

struct Kind {
  const char* first;   // how its first heading begins
  const char* second;  // and its second
  void (*read)(const PaperTable& table, Readings& out);
};

constexpr Kind kinds[] = {
    {"Grade, lowest first", "Elevation", read_grade_card},
    {"Grade", "Elevation", read_rod_table},
    {"0.", "0.", read_inches},
    {"Day, stage", "Rod on", nothing_printed},
    {"No.", "station, offset", read_laths},
    {"No.", "TOP OF HUB", only_words},
    {"No.", "What", read_ties},
    {"What", "Level distance", read_taped},
    {"Layer, as they go down", "Material", read_fill},
    {"Item", "Cut, bank", read_cut},
    {"Layer", "each shot by itself", read_accuracy},
    {"Face", "At mid-length", read_berm},
    {"Material", "Goes into", read_orders},
    {"Stage", "Material", read_deliveries},
    {"From", "Material", read_soil},
    {"Item", "Measured", read_items},
    {"Lift", "from elevation", read_lifts},
    {"Layer", "Half way along the bed", read_settling},
    {"", "Item", read_bid},
    {"Sum", "Amount", read_sum},
    {"Verdict", "Check", read_checks},
    {"", "What", only_words},
};

}  // namespace

Readings from_sheets_pdf(const fs::path& packet, const Truth& truth) {
  const Paper paper = read_paper(packet / "sheets.pdf");
  Readings readings;
  std::vector<const PaperTable*> stages;
  for (const PaperTable& table : paper.tables) {
    if (table.heading[0] == "Where") {
      stages.push_back(&table);
      continue;
    }
    const Kind* kind = std::find_if(std::begin(kinds), std::end(kinds), [&](const Kind& k) {
      const bool same = *k.first == '\0' ? table.heading[0].empty() : table.heading[0].starts_with(k.first);
      return same && table.heading[1].starts_with(k.second);
    });
    EXPECT_NE(kind, std::end(kinds)) << "a table that nobody reads: " << table.heading[0] << ", " << table.heading[1];
    if (kind != std::end(kinds)) kind->read(table, readings);
  }
  read_stages(stages, truth, readings);
  read_sentences(paper.words, truth, readings);
  return readings;
}

}  // namespace moundwright

// The figures of quantities.csv, and of quantities.xlsx as LibreOffice works it out.
#include <fmt/format.h>

#include "packet_readings.h"

namespace moundwright {
namespace {

namespace fs = std::filesystem;

/// The rows of one kind, by column name.
class CsvKind {
 public:
  CsvKind(const SheetCells& rows, const std::string& kind) : rows_(rows) {
    for (const std::vector<std::string>& row : rows) {
      if (row.size() == rows[0].size() && row[0] == kind) of_kind_.push_back(&row);
    }
  }
  template <class Use>
  void each(const Use& use) const {
    for (const std::vector<std::string>* row : of_kind_) {
      use([&](const char* column) -> const std::string& { return (*row)[column_of(rows_, 0, column)]; });
    }
  }

 private:
  const SheetCells& rows_;
  std::vector<const std::vector<std::string>*> of_kind_;
};

/// Columns of cubic metres and tonnes get the names of those of yards and tons. The one that has yards all the same is
/// read here.
void name_as_in_feet(SheetCells& rows, Readings& out) {
  constexpr double cubic_metre = 0.764554857984;  // in a yard
  CsvKind(rows, "fill").each([&](const auto& cell) {
    const Reading yards = printed(cell("in_place_cy"));
    out.add("fill " + cell("item"), {yards.value * cubic_metre, yards.within * cubic_metre});
  });
  for (std::string& name : rows[0]) {
    if (name.ends_with("_cy")) name = "in yards";
    if (name.ends_with("_m3")) name.replace(name.size() - 3, 3, "_cy");
    if (name == "tonnes") name = "tons";
  }
}

void name_as_in_feet(SheetsByName& sheets) {
  for (auto& [name, sheet] : sheets) {
    for (std::vector<std::string>& row : sheet) {
      for (std::string& cell : row) {
        cell = std::regex_replace(cell, std::regex("\\bm3\\b"), "cu yd");
        if (cell == "a cubic meter of fill in place") cell = "a cubic yard of fill in place";
      }
    }
  }
}

void read_takeoff_csv(const SheetCells& rows, Readings& out) {
  for (const std::string kind : {"fill", "cut", "total"}) {
    CsvKind(rows, kind).each([&](const auto& cell) {
      const std::string& name = cell("item");
      const std::string whole = fmt::format("{} {}", kind, name);
      out.add_printed(whole, cell("in_place_cy"));
      out.add_printed("plus or minus " + whole + ", both", cell("standard_deviation_cy"));
      out.add_printed("plus or minus " + whole + ", rise", cell("rise_cy"));
      out.add_printed("end areas of " + name, cell("end_area_cy"));
      out.add_printed("plan area of " + name, cell("plan_area"));
      out.add_printed("least thickness of " + name, cell("thickness_least"));
      out.add_printed("greatest thickness of " + name, cell("thickness_most"));
    });
  }
  CsvKind(rows, "area").each([&](const auto& cell) { out.add_printed("scarified area", cell("plan_area")); });
  CsvKind(rows, "check").each([&](const auto& cell) { out.add_printed("independent fill", cell("in_place_cy")); });
}

void read_order_csv(const SheetCells& rows, Readings& out) {
  CsvKind(rows, "order").each([&](const auto& cell) {
    const std::string& material = cell("item");
    out.add_printed("with losses " + material, cell("in_place_cy"));
    const bool mixed = cell("note") == "mixed on the site";
    out.add_printed((mixed ? "mixed " : "bought ") + material, cell("loose_cy"));
    out.add_printed("tons of " + material, cell("tons"));
    out.add_printed("loads of " + material, cell("loads"));
    out.add_printed("last load of " + material, cell("part_load_cy"));
    out.add_printed("cost of " + material, cell("amount"));
  });
  CsvKind(rows, "interface").each([&](const auto& cell) {
    out.add_printed(cell("item") + ", " + cell("material"), cell("in_place_cy"));
  });
  CsvKind(rows, "lift").each([&](const auto& cell) {
    const std::string &note = cell("note"), &lift = cell("item");
    out.add_printed("lift " + lift, cell("in_place_cy"));
    out.add_printed("lift " + lift.substr(0, lift.find(' ')) + " top", note.substr(3, note.find(';') - 3));
    out.add_printed("lift " + lift + ", more", note.substr(note.find("; ") + 2));
  });
  CsvKind(rows, "delivery").each([&](const auto& cell) {
    const std::string name = "delivery " + cell("item") + ", " + cell("material");
    if (cell("loose_cy").empty()) return out.add_printed(name + ", amount", cell("note"));
    out.add_printed(name, cell("loose_cy"));
    out.add_printed(name + ", loads", cell("loads"));
  });
  CsvKind(rows, "site soil").each([&](const auto& cell) {
    const std::string name = "soil " + cell("item") + ", ";
    const std::string& note = cell("note");
    out.add_printed(name + "bank", cell("bank_cy"));
    out.add_printed(name + "loose", cell("loose_cy"));
    out.add_printed(name + "loads", cell("loads"));
    out.add_printed(name + "last load", cell("part_load_cy"));
    std::smatch m;
    static const std::regex form("loose (?:cu yd|m3): (.*) lost, (.*) used, (.*) spread, (.*) hauled off");
    ASSERT_TRUE(std::regex_match(note, m, form)) << note;
    const char* names[] = {"lost", "used", "spread", "hauled"};
    for (std::size_t i = 0; i < 4; ++i) out.add_printed(name + names[i], m[i + 1]);
  });
  CsvKind(rows, "item").each([&](const auto& cell) {
    out.add_printed("order of " + cell("item"), cell("quantity"));
    out.add_printed("cost of item " + cell("item"), cell("amount"));
  });
}

void read_bid_csv(const SheetCells& rows, Readings& out) {
  CsvKind(rows, "bid").each([&](const auto& cell) {
    const std::string name = "bid, " + cell("material") + ", " + cell("item");
    for (const char* which : {"quantity", "rate", "amount"}) out.add_printed(name + ", " + which, cell(which));
  });
  CsvKind(rows, "bid total").each([&](const auto& cell) {
    if (cell("amount").empty()) return out.add_printed("bid per_yard", cell("rate"));
    out.add_printed("bid " + cell("item"), cell("amount"));
  });
}

// ---- workbook ----------------------------------------------------------------------------------------------------

/// Calls use(row) from a row on until one begins with nothing.
template <class Use>
void each_row(const SheetCells& sheet, std::size_t from, const Use& use) {
  for (std::size_t i = from; i < sheet.size() && !sheet[i][0].empty(); ++i) use(sheet[i]);
}

void read_takeoff(const SheetCells& sheet, Readings& out) {
  each_row(sheet, 4, [&](const std::vector<std::string>& row) {
    if (row[0] == "area") return out.add_in_full("scarified area", row[5]);
    const bool total = row[0].starts_with("total ");
    out.add_in_full(total ? row[0] : row[0] + " " + row[1], row[3]);
    const std::string name = total ? row[0].substr(6) : row[1];
    out.add_in_full("end areas of " + name, row[4]);
    out.add_in_full("plan area of " + name, row[5]);
    out.add_in_full("least thickness of " + name, row[6]);
    out.add_in_full("greatest thickness of " + name, row[7]);
  });
}

void read_order(const SheetCells& sheet, Readings& out) {
  const std::size_t loose = row_of(sheet, "for the layers"), buy = row_of(sheet, "to buy");
  const std::pair<const char*, std::size_t> lines[] = {
      {"neat ", row_of(sheet, "in place, neat")},
      {"lost of ", row_of(sheet, "lost at faces, pressed into ground")},
      {"needed ", row_of(sheet, "needed")},
      {"waste of ", row_of(sheet, "waste", loose)},
      {"from the site ", row_of(sheet, "from the site")},
      {"mixed ", row_of(sheet, "mixed on the site")},
      {"bought ", buy},
      {"tons of ", row_of(sheet, "to buy", buy + 1)},
      {"a load of ", row_of(sheet, "so a load is")},
      {"loads of ", row_of(sheet, "loads to call for")},
      {"last load of ", row_of(sheet, "in the last one")},
      {"cost of ", row_of(sheet, "cost")}};
  for (std::size_t column = 2; column < sheet[3].size() && !sheet[3][column].empty(); ++column) {
    for (const auto& [figure, row] : lines) out.add_in_full(figure + sheet[3][column], sheet[row][column]);
  }
}

void read_by_lift(const SheetCells& sheet, Readings& out) {
  each_row(sheet, row_of(sheet, "lift") + 1, [&](const std::vector<std::string>& row) {
    const std::string lift = "lift " + row[0], layer = lift + " " + row[2];
    out.add_in_full(layer, row[3]);
    out.add_in_full(layer + ", face", row[4]);
    out.add_in_full(layer + ", pressed", row[5]);
    out.add_in_full(layer + ", placed", row[6]);
    out.add_in_full(lift + " bottom", row[7]);
    out.add_in_full(lift + " top", row[8]);
  });
  each_row(sheet, row_of(sheet, "layer") + 1, [&](const std::vector<std::string>& row) {
    out.add_in_full(row[2] + ", " + row[1], row[3]);
    out.add_in_full("area of " + row[2] + ", " + row[1], row[4]);
  });
  each_row(sheet, row_of(sheet, "deliveries, in the order wanted") + 1, [&](const std::vector<std::string>& row) {
    const std::string name = "delivery " + row[0] + ", " + row[1];
    out.add_printed(name + ", amount", row[2]);
    out.add_in_full(name, row[3]);
    out.add_in_full(name + ", loads", row[6]);
    out.add_in_full(name + ", first_load", row[7]);
    out.add_in_full(name + ", last_load", row[8]);
  });
}

void read_site_soil(const SheetCells& sheet, Readings& out) {
  const std::size_t heading = row_of(sheet, "source");
  each_row(sheet, heading + 1, [&](const std::vector<std::string>& row) {
    const auto add = [&](const char* figure, const char* column) {
      out.add_in_full("soil " + row[0] + ", " + figure, row[column_of(sheet, heading, column)]);
    };
    add("bank", "bank, cu yd"), add("loose", "loose, cu yd"), add("lost", "lost, cu yd");
    add("used", "used, cu yd loose"), add("spread", "spread, cu yd loose"), add("hauled", "hauled off, cu yd loose");
    if (row[column_of(sheet, heading, "loads")] != "0") add("loads", "loads");
  });
}

void read_accuracy(const SheetCells& sheet, Readings& out) {
  each_row(sheet, 4, [&](const std::vector<std::string>& row) {
    const std::string name = "plus or minus " + (row[0].starts_with("total ") ? row[0] : row[0] + " " + row[1]) + ", ";
    out.add_in_full(name + "random", row[2]);
    out.add_in_full(name + "systematic", row[3]);
    out.add_in_full(name + "both", row[4]);
    if (row.size() > 5) out.add_in_full(name + "rise", row[5]);
  });
  int count = 0;
  for (const std::vector<std::string>& row : sheet) {
    if (row.size() < 5 || !row[1].starts_with("shoot ")) continue;
    const std::string name = "shot that would help " + std::to_string(++count);
    out.add(name + " northing", {std::stod(row[2]), half_of(3)});
    out.add(name + " easting", {std::stod(row[3]), half_of(3)});
    out.add_in_full(name + " then", row[4]);
  }
}

/// What several workers do at one rate is one line of the bid, and one for each of them here.
void read_bid(const SheetCells& sheet, Readings& out) {
  const std::pair<const char*, const char*> totals[] = {{"material", "material"},
                                                        {"item", "items"},
                                                        {"haul", "haul"},
                                                        {"machine", "machine"},
                                                        {"labor", "labour"},
                                                        {"direct cost", "direct"},
                                                        {"overhead, of the direct cost", "overhead"},
                                                        {"margin, of the price", "margin"},
                                                        {"price", "total"},
                                                        {"a cubic yard of fill in place", "per_yard"}};
  for (const auto& [label, figure] : totals) {
    out.add_in_full(std::string("bid ") + figure, sheet[row_of(sheet, label)][4]);
  }
  std::map<std::string, double> work;
  each_row(sheet, row_of(sheet, "line") + 1, [&](const std::vector<std::string>& row) {
    if (row[2] == "hours") {
      work["work, " + row[0] + ", hours"] += std::stod(row[1]);
      work["work, " + row[0] + ", amount"] += std::stod(row[4]);
    } else if (row[4] != "0") {  // else it has no price, and no line in the bid
      const std::string name = "bid, " + row[5] + ", " + row[0];
      out.add_in_full(name + ", quantity", row[1]);
      out.add_in_full(name + ", rate", row[3]);
      out.add_in_full(name + ", amount", row[4]);
    }
  });
  for (const auto& [figure, value] : work) out.add(figure, in_full(value));
  each_row(sheet, row_of(sheet, "items by area and length") + 1, [&](const std::vector<std::string>& row) {
    out.add_in_full("order of " + row[0], row[1]);
    out.add_in_full("measured " + row[0], row[4]);
  });
}

}  // namespace

Readings from_quantities_csv(const fs::path& packet, const Truth& truth) {
  Readings readings;
  SheetCells rows = cells_of(io::read_file(packet / "quantities.csv"));
  if (truth.metric) name_as_in_feet(rows, readings);
  read_takeoff_csv(rows, readings);
  read_order_csv(rows, readings);
  read_bid_csv(rows, readings);
  return readings;
}

Readings from_quantities_xlsx(const fs::path& packet, const Truth& truth) {
  SheetsByName sheets = sheets_in_libreoffice(io::read_file(packet / "quantities.xlsx"), Recalculate::always);
  const std::pair<const char*, void (*)(const SheetCells&, Readings&)> parts[] = {
      {"Takeoff", read_takeoff},     {"Order", read_order},       {"By lift", read_by_lift},
      {"Site soil", read_site_soil}, {"Accuracy", read_accuracy}, {"Bid", read_bid}};
  Readings readings;
  if (truth.metric) name_as_in_feet(sheets);
  for (const auto& [name, read] : parts) {
    if (sheets.contains(name)) read(sheets.at(name), readings);
  }
  return readings;
}

}  // namespace moundwright

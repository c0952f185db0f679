// A workbook as LibreOffice shows it, sheet by sheet, and with one cell changed as a person would.
#pragma once

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "../io/scratch.h"
#include "io/text_file.h"

namespace moundwright {

using SheetCells = std::vector<std::vector<std::string>>;  // rows of texts, numbers in full
using SheetsByName = std::map<std::string, SheetCells>;

/// What the cells hold as the file has them, or as their formulas come to.
enum class Recalculate { never, always };

inline SheetCells cells_of(const std::string& csv) {
  // Every line counts here, blank ones too, so that rows keep their numbers.
  SheetCells rows(1, std::vector<std::string>(1));
  bool quoted = false;
  for (const char c : csv) {
    if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      rows.back().emplace_back();
    } else if (c == '\n' && !quoted) {
      rows.emplace_back(1);
    } else {
      rows.back().back() += c;
    }
  }
  return rows;
}

inline SheetsByName sheets_in_libreoffice(const std::string& xlsx, Recalculate when) {
  const Scratch scratch;
  const std::filesystem::path profile = scratch / "profile";
  write_files({{scratch / "book.xlsx", xlsx},
               {profile / "user/registrymodifications.xcu",
                R"(<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"><item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>)" +
                    std::string(when == Recalculate::always ? "0" : "1") + "</value></prop></item></oor:items>\n"}});
  const std::string command =
      "soffice -env:UserInstallation=file://" + profile.string() +
      " --headless --convert-to 'csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,"
      "false,false,-1' --outdir '" +
      scratch.folder().string() + "' '" + (scratch / "book.xlsx").string() + "' > '" + (scratch / "log").string() +
      "' 2>&1";
  EXPECT_EQ(std::system(command.c_str()), 0) << read_file(scratch / "log");
  SheetsByName sheets;
  const std::string before = "book-", after = ".csv";
  for (const std::string& name : scratch.names()) {
    if (!name.starts_with(before) || !name.ends_with(after)) continue;
    sheets[name.substr(before.size(), name.size() - before.size() - after.size())] =
        cells_of(read_file(scratch / name));
  }
  return sheets;
}

/// "C8" for row 7, column 2.
inline std::string cell_name(std::size_t row, std::size_t column) {
  return std::string(1, static_cast<char>('A' + column)) + std::to_string(row + 1);
}

/// The workbook with a number written into one cell of the sheet'th sheet, from 1.
inline std::string with_cell(const std::string& xlsx, int sheet, const std::string& cell, double value) {
  const Scratch scratch;
  write_files({{scratch / "old.xlsx", xlsx},
               {scratch / "change.py",
                "import re, sys, zipfile\n"
                "old, new, part, cell, value = sys.argv[1:]\n"
                "with zipfile.ZipFile(old) as a, zipfile.ZipFile(new, 'w') as b:\n"
                "    for name in a.namelist():\n"
                "        data = a.read(name)\n"
                "        if name == part:\n"
                "            text, count = re.subn(r'(<c r=\"%s\"[^>/]*)(?:/>|><v>[^<]*</v></c>)' % cell,\n"
                "                                  r'\\g<1>><v>%s</v></c>' % value, data.decode())\n"
                "            assert count == 1, (cell, count)\n"
                "            data = text.encode()\n"
                "        b.writestr(name, data)\n"}});
  const std::string command = "python3 '" + (scratch / "change.py").string() + "' '" + (scratch / "old.xlsx").string() +
                              "' '" + (scratch / "new.xlsx").string() + "' xl/worksheets/sheet" +
                              std::to_string(sheet) + ".xml " + cell + " " + std::to_string(value);
  EXPECT_EQ(std::system(command.c_str()), 0);
  return read_file(scratch / "new.xlsx");
}

/// Row of the first cell of column 0, from a row on, that says `label`.
inline std::size_t row_of(const SheetCells& cells, const std::string& label, std::size_t from = 0) {
  for (std::size_t row = from; row < cells.size(); ++row) {
    if (!cells[row].empty() && cells[row][0] == label) return row;
  }
  ADD_FAILURE() << "no row " << label;
  return 0;
}

inline std::size_t column_of(const SheetCells& cells, std::size_t row, const std::string& heading) {
  for (std::size_t column = 0; column < cells.at(row).size(); ++column) {
    if (cells[row][column] == heading) return column;
  }
  ADD_FAILURE() << "no column " << heading;
  return 0;
}

}  // namespace moundwright

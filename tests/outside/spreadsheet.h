// A workbook as LibreOffice shows it, sheet by sheet, and with one cell changed as a person would.
#pragma once

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <map>
#include <sstream>
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

/// Several workbooks, with one start of LibreOffice.
inline std::vector<SheetsByName> sheets_in_libreoffice(const std::vector<std::string>& books, Recalculate when) {
  const Scratch scratch;
  const std::filesystem::path profile = scratch / "profile";
  std::string names;
  for (std::size_t i = 0; i < books.size(); ++i) {
    const std::filesystem::path path = scratch / ("book" + std::to_string(i) + ".xlsx");
    io::write_files({{path, books[i]}});
    names += " '" + path.string() + "'";
  }
  io::write_files(
      {{profile / "user/registrymodifications.xcu",
        R"(<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"><item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>)" +
            std::string(when == Recalculate::always ? "0" : "1") + "</value></prop></item></oor:items>\n"}});
  const std::string command =
      "soffice -env:UserInstallation=file://" + profile.string() +
      " --headless --convert-to 'csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,"
      "false,false,-1' --outdir '" +
      scratch.folder().string() + "'" + names + " > '" + (scratch / "log").string() + "' 2>&1";
  EXPECT_EQ(std::system(command.c_str()), 0) << io::read_file(scratch / "log");
  std::vector<SheetsByName> all(books.size());
  const std::string before = "book", after = ".csv";
  for (const std::string& name : scratch.names()) {
    const std::size_t dash = name.find('-');
    if (!name.starts_with(before) || !name.ends_with(after) || dash == std::string::npos) continue;
    SheetsByName& sheets = all.at(std::stoul(name.substr(before.size(), dash - before.size())));
    sheets[name.substr(dash + 1, name.size() - dash - 1 - after.size())] = cells_of(io::read_file(scratch / name));
  }
  return all;
}

inline SheetsByName sheets_in_libreoffice(const std::string& xlsx, Recalculate when) {
  return sheets_in_libreoffice(std::vector<std::string>{xlsx}, when).front();
}

/// "C8" for row 7, column 2.
inline std::string cell_name(std::size_t row, std::size_t column) {
  return std::string(1, static_cast<char>('A' + column)) + std::to_string(row + 1);
}

/// What is written into a cell: a number, a text, or nothing.
struct CellEdit {
  int sheet = 1;     // from 1
  std::string cell;  // "C8"
  std::string text;  // "" empties it
  bool is_number = true;
};

/// Workbooks with cells changed, each from the first with its own edits.
inline std::vector<std::string> with_edits(const std::string& xlsx, const std::vector<std::vector<CellEdit>>& edits) {
  const Scratch scratch;
  std::string list;
  for (std::size_t i = 0; i < edits.size(); ++i) {
    for (const CellEdit& edit : edits[i]) {
      list += std::to_string(i) + "\t" + std::to_string(edit.sheet) + "\t" + edit.cell + "\t" +
              (edit.text.empty() ? "empty"
               : edit.is_number  ? "number"
                                 : "text") +
              "\t" + edit.text + "\n";
    }
  }
  io::write_files(
      {{scratch / "old.xlsx", xlsx},
       {scratch / "edits", list},
       {scratch / "change.py",
        "import re, sys, zipfile\n"
        "folder = sys.argv[1]\n"
        "with zipfile.ZipFile(folder + '/old.xlsx') as book:\n"
        "    old = {name: book.read(name) for name in book.namelist()}\n"
        "books = {}\n"
        "for line in open(folder + '/edits', encoding='utf-8'):\n"
        "    number, sheet, cell, kind, text = line.rstrip('\\n').split('\\t')\n"
        "    parts = books.setdefault(int(number), dict(old))\n"
        "    part = 'xl/worksheets/sheet%s.xml' % sheet\n"
        "    def put(found):\n"
        "        start = re.sub(r' t=\"[^\"]*\"', '', found.group(1))\n"
        "        return {'empty': start + '/>', 'number': start + '><v>%s</v></c>' % text,\n"
        "                'text': start + ' t=\"inlineStr\"><is><t>%s</t></is></c>' % text}[kind]\n"
        "    new, count = re.subn(r'(<c r=\"%s\"[^>/]*)(?:/>|><v>[^<]*</v></c>)' % cell, put, parts[part].decode())\n"
        "    assert count == 1, (sheet, cell, count)\n"
        "    parts[part] = new.encode()\n"
        "for number, parts in books.items():\n"
        "    with zipfile.ZipFile('%s/new%d.xlsx' % (folder, number), 'w') as book:\n"
        "        for name, data in parts.items():\n"
        "            book.writestr(name, data)\n"}});
  const std::string command = "python3 '" + (scratch / "change.py").string() + "' '" + scratch.folder().string() + "'";
  EXPECT_EQ(std::system(command.c_str()), 0);
  std::vector<std::string> books;
  for (std::size_t i = 0; i < edits.size(); ++i) {
    books.push_back(io::read_file(scratch / ("new" + std::to_string(i) + ".xlsx")));
  }
  return books;
}

/// The workbook with a number written into one cell of the sheet'th sheet, from 1.
inline std::string with_cell(const std::string& xlsx, int sheet, const std::string& cell, double value) {
  return with_edits(xlsx, {{{sheet, cell, std::to_string(value)}}}).front();
}

/// The values that workbooks hold, as they were written: numbers in full, texts, what formulas came to.
inline std::vector<SheetsByName> written_values(const std::vector<std::string>& books) {
  const Scratch scratch;
  for (std::size_t i = 0; i < books.size(); ++i) scratch.put("book" + std::to_string(i) + ".xlsx", books[i]);
  scratch.put(
      "read.py",
      "import html, re, sys, zipfile\n"
      "folder, count = sys.argv[1], int(sys.argv[2])\n"
      "with open(folder + '/values', 'w', encoding='utf-8') as out:\n"
      "    for number in range(count):\n"
      "        with zipfile.ZipFile('%s/book%d.xlsx' % (folder, number)) as book:\n"
      "            names = re.findall(r'<sheet name=\"([^\"]*)\"', book.read('xl/workbook.xml').decode())\n"
      "            shared = re.findall(r'<si><t[^>]*>(.*?)</t></si>', book.read('xl/sharedStrings.xml').decode(), "
      "re.S)\n"
      "            for sheet, name in enumerate(names, 1):\n"
      "                text = book.read('xl/worksheets/sheet%d.xml' % sheet).decode()\n"
      "                for column, row, more, inside in re.findall(\n"
      "                        r'<c r=\"([A-Z])(\\d+)\"([^>]*[^/>])>(.*?)</c>', text, re.S):\n"
      "                    value = re.search(r'<v>(.*?)</v>', inside, re.S)\n"
      "                    value = value.group(1) if value else ''\n"
      "                    value = shared[int(value)] if 't=\"s\"' in more else value\n"
      "                    print(number, name, int(row) - 1, ord(column) - ord('A'), html.unescape(value), sep='\\t',\n"
      "                          file=out)\n");
  const std::string command = "python3 '" + (scratch / "read.py").string() + "' '" + scratch.folder().string() + "' " +
                              std::to_string(books.size());
  EXPECT_EQ(std::system(command.c_str()), 0);
  std::vector<SheetsByName> all(books.size());
  std::istringstream lines(io::read_file(scratch / "values"));
  for (std::string line; std::getline(lines, line);) {
    std::vector<std::string> fields(1);
    for (const char c : line) {
      if (c == '\t') {
        fields.emplace_back();
      } else {
        fields.back() += c;
      }
    }
    SheetCells& sheet = all.at(std::stoul(fields[0]))[fields[1]];
    const std::size_t row = std::stoul(fields[2]), column = std::stoul(fields[3]);
    if (sheet.size() <= row) sheet.resize(row + 1);
    if (sheet[row].size() <= column) sheet[row].resize(column + 1);
    sheet[row][column] = fields[4];
  }
  return all;
}

/// A cell's text; "" outside what is there.
inline std::string cell_text(const SheetCells& sheet, std::size_t row, std::size_t column) {
  return row < sheet.size() && column < sheet[row].size() ? sheet[row][column] : "";
}

struct BookCell {
  int sheet = 1;  // from 1
  std::size_t row = 0, column = 0;
};

/// Every cell that stands on the ground of an input (solid FFF2CC), by the file's own styles.
inline std::vector<BookCell> input_cells(const std::string& xlsx) {
  const Scratch scratch;
  io::write_files(
      {{scratch / "book.xlsx", xlsx},
       {scratch / "find.py",
        "import re, sys, zipfile\n"
        "with zipfile.ZipFile(sys.argv[1]) as book, open(sys.argv[2], 'w') as out:\n"
        "    styles = book.read('xl/styles.xml').decode()\n"
        "    fills = re.findall(r'<fill>.*?</fill>', styles)\n"
        "    formats = re.findall(r'<xf [^>]*>', re.search(r'<cellXfs.*?</cellXfs>', styles, re.S).group(0))\n"
        "    yellow = {i for i, f in enumerate(formats)\n"
        "              if 'FFFFF2CC' in fills[int(re.search(r'fillId=\"(\\d+)\"', f).group(1))]}\n"
        "    count = sum(name.startswith('xl/worksheets/sheet') for name in book.namelist())\n"
        "    for sheet in range(1, count + 1):\n"
        "        text = book.read('xl/worksheets/sheet%d.xml' % sheet).decode()\n"
        "        for column, row, style in re.findall(r'<c r=\"([A-Z])(\\d+)\" s=\"(\\d+)\"', text):\n"
        "            if int(style) in yellow:\n"
        "                print(sheet, int(row) - 1, ord(column) - ord('A'), file=out)\n"}});
  const std::string command = "python3 '" + (scratch / "find.py").string() + "' '" + (scratch / "book.xlsx").string() +
                              "' '" + (scratch / "found").string() + "'";
  EXPECT_EQ(std::system(command.c_str()), 0);
  std::istringstream in(io::read_file(scratch / "found"));
  std::vector<BookCell> cells;
  for (BookCell cell; in >> cell.sheet >> cell.row >> cell.column;) cells.push_back(cell);
  return cells;
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

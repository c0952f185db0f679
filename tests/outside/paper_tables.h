// The tables of a PDF as another program sees them: rules from its drawing, words from its text.
//
// A row is what stands between rules that run down over the same height, and between rules that run across all of them;
// rows under each other with rules at the same places are a table, and the first of them is its heading. A table that
// goes on over several pages is one.
#pragma once

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>
#include <pugixml.hpp>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "spreadsheet.h"

namespace moundwright {

struct PaperTable {
  std::string before;  // words between this table and the one above, or the top of the page
  std::vector<std::string> heading;
  std::vector<std::string> groups;  // what stands over each heading, together with its neighbours or not
  SheetCells rows;
};

struct Paper {
  std::vector<PaperTable> tables;
  std::string words;  // all of them, a space between
};

namespace paper_detail {

struct Word {
  double left, top, right, bottom;
  std::string text;
};

struct Row {
  double top, bottom;
  std::vector<double> rules;
};

inline std::string output_of(const std::string& command) {
  std::string text;
  FILE* pipe = popen(command.c_str(), "r");
  if (pipe == nullptr) return text;
  std::array<char, 1 << 16> buffer;
  while (const std::size_t n = fread(buffer.data(), 1, buffer.size(), pipe)) text.append(buffer.data(), n);
  EXPECT_EQ(pclose(pipe), 0) << command;
  return text;
}

/// In the order in which they are read: line by line.
inline std::string text_of(std::vector<Word> words) {
  const auto line = [](const Word& word) { return std::lround((word.top + word.bottom) / 4); };
  std::stable_sort(words.begin(), words.end(), [&](const Word& a, const Word& b) {
    return std::pair(line(a), a.left) < std::pair(line(b), b.left);
  });
  std::string text;
  for (const Word& word : words) text += (text.empty() ? "" : " ") + word.text;
  return text;
}

inline std::string text_in(const std::vector<Word>& words, double left, double right, double top, double bottom) {
  std::vector<Word> inside;
  for (const Word& word : words) {
    const double x = 0.5 * (word.left + word.right), y = 0.5 * (word.top + word.bottom);
    if (x > left && x < right && y > top && y < bottom) inside.push_back(word);
  }
  return text_of(std::move(inside));
}

/// Straight, level or upright.
struct Rule {
  double left, top, right, bottom;
};

inline std::vector<Rule> rules_of(const std::string& pdf, std::size_t page) {
  const std::string number = std::to_string(page);
  pugi::xml_document svg;
  EXPECT_TRUE(
      svg.load_string(output_of("pdftocairo -svg -f " + number + " -l " + number + " '" + pdf + "' -").c_str()));
  std::vector<Rule> rules;
  for (const pugi::xpath_node& found : svg.select_nodes("//path[contains(@style, 'stroke-width:0.4;')]")) {
    std::istringstream path(found.node().attribute("d").value());
    std::string move, line, more;
    double x, y, x2, y2;
    if (path >> move >> x >> y >> line >> x2 >> y2 && line == "L" && (x == x2 || y == y2) && !(path >> more)) {
      rules.push_back({std::min(x, x2), std::min(y, y2), std::max(x, x2), std::max(y, y2)});
    }
  }
  return rules;
}

/// From the top down.
inline std::vector<Row> rows_of(const std::string& pdf, std::size_t page) {
  std::map<std::pair<double, double>, std::set<double>> upright;
  std::set<std::array<double, 3>> level;  // height, left, right
  for (const Rule& rule : rules_of(pdf, page)) {
    if (rule.left == rule.right) upright[{rule.top, rule.bottom}].insert(rule.left);
    if (rule.top == rule.bottom) level.insert({rule.top, rule.left, rule.right});
  }
  constexpr double near = 0.02;
  std::vector<Row> rows;
  for (const auto& [height, at] : upright) {
    double top = height.first;
    for (const auto& [y, left, right] : level) {
      if (y < top + near || y > height.second + near) continue;
      if (std::abs(left - *at.begin()) > near || std::abs(right - *at.rbegin()) > near) continue;
      rows.push_back({top, y, {at.begin(), at.end()}});
      top = y;
    }
    if (top < height.second - near) rows.push_back({top, height.second, {at.begin(), at.end()}});
  }
  return rows;
}

inline bool goes_on(const Row& above, const Row& below) {
  return std::abs(below.top - above.bottom) < 0.02 && above.rules == below.rules;
}

inline std::vector<std::string> cells_in(const std::vector<Word>& words, const Row& row) {
  std::vector<std::string> cells;
  for (std::size_t i = 0; i + 1 < row.rules.size(); ++i) {
    cells.push_back(text_in(words, row.rules[i], row.rules[i + 1], row.top, row.bottom));
  }
  return cells;
}

inline void add_table(Paper& paper, PaperTable table) {
  for (PaperTable& known : paper.tables) {
    if (known.heading != table.heading || known.groups != table.groups || !table.before.empty()) continue;
    known.rows.insert(known.rows.end(), table.rows.begin(), table.rows.end());
    return;
  }
  paper.tables.push_back(std::move(table));
}

/// What the band over a heading, if there is one, says over each of its cells.
inline std::vector<std::string> groups_over(const std::vector<Word>& words, const Row& heading, const Row* band) {
  std::vector<std::string> groups(heading.rules.size() - 1);
  if (band == nullptr) return groups;
  const std::vector<std::string> cells = cells_in(words, *band);
  for (std::size_t i = 0; i < groups.size(); ++i) {
    const double middle = 0.5 * (heading.rules[i] + heading.rules[i + 1]);
    for (std::size_t k = 0; k < cells.size(); ++k) {
      if (band->rules[k] < middle && middle < band->rules[k + 1]) groups[i] = cells[k];
    }
  }
  return groups;
}

inline void add_tables(Paper& paper, const std::vector<Word>& words, const std::vector<Row>& rows) {
  double above = 0;
  const Row* band = nullptr;
  for (std::size_t first = 0; first < rows.size();) {
    std::size_t last = first + 1;
    while (last < rows.size() && goes_on(rows[last - 1], rows[last])) ++last;
    const Row& heading = rows[first];
    if (last == first + 1) {
      band = &heading;  // no table is a heading alone
    } else {
      const bool banded = band != nullptr && std::abs(band->bottom - heading.top) < 0.02;
      PaperTable table{text_in(words, 0, 1e9, above, banded ? band->top : heading.top),
                       cells_in(words, heading),
                       groups_over(words, heading, banded ? band : nullptr),
                       {}};
      for (std::size_t i = first + 1; i < last; ++i) table.rows.push_back(cells_in(words, rows[i]));
      above = rows[last - 1].bottom;
      add_table(paper, std::move(table));
    }
    first = last;
  }
}

}  // namespace paper_detail

inline Paper read_paper(const std::filesystem::path& pdf) {
  using namespace paper_detail;
  pugi::xml_document document;
  EXPECT_TRUE(document.load_string(output_of("pdftotext -bbox '" + pdf.string() + "' -").c_str()));
  Paper paper;
  std::size_t page_number = 0;
  for (const pugi::xpath_node& page : document.select_nodes("//page")) {
    std::vector<Word> words;
    for (const pugi::xml_node word : page.node().children("word")) {
      words.push_back({word.attribute("xMin").as_double(), word.attribute("yMin").as_double(),
                       word.attribute("xMax").as_double(), word.attribute("yMax").as_double(), word.text().get()});
      paper.words += words.back().text + " ";
    }
    add_tables(paper, words, rows_of(pdf.string(), ++page_number));
  }
  return paper;
}

}  // namespace moundwright

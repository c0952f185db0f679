// A spreadsheet under construction: libxlsxwriter behind cells that keep their formulas and their values together.
//
//   Workbook book("Lot 7");
//   Sheet& sheet = book.add("Takeoff");
//   sheet.put({4, 2}, 160.44, CellLook::yards);
//   sheet.put({5, 2}, formula("SUM({}:{})", at({4, 2}), at({4, 2})), 160.44, CellLook::yards);
//   std::string bytes = book.bytes();
//
// Every formula is written with its value, so that a program that does not calculate shows it too. Nothing is dated by
// the clock.
#pragma once

#include <fmt/format.h>

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

struct lxw_workbook;
struct lxw_worksheet;
struct lxw_format;

namespace moundwright::io {

/// Row and column from 0.
struct Cell {
  std::uint32_t row = 0;
  std::uint16_t column = 0;
};

/// "$C$5".
std::string at(const Cell& cell);
std::string at(const Cell& from, const Cell& to);

enum class CellLook {
  title,
  note,
  header,
  label,
  text,
  text_input,
  yards,  // 0.00
  yards_input,
  length,        // 0.00, or 0.000 in a job in metres
  area,          // 0.0
  factor,        // 0.0000
  number_input,  // as many decimals as there are
  whole,
  percent,  // of a fraction
  percent_input,
  money,
  money_input,
  total_label,
  total_yards,
  total_money,
  warning,  // a text that is there when something is wrong
};

class Workbook;

class Sheet {
 public:
  const std::string& name() const { return name_; }
  /// A cell as other sheets' formulas name it: "'By lift'!$C$5".
  std::string ref(const Cell& cell) const;
  std::string ref(const Cell& from, const Cell& to) const;

  void put(const Cell& cell, const std::string& text, CellLook look);
  void put(const Cell& cell, const char* text, CellLook look) { put(cell, std::string(text), look); }
  void put(const Cell& cell, double number, CellLook look);
  /// An input: the number, or an empty cell that looks the same.
  void put(const Cell& cell, const std::optional<double>& number, CellLook look);
  /// A formula and what it comes to; nullopt: an empty text.
  void put_formula(const Cell& cell, const std::string& formula, const std::optional<double>& value, CellLook look);

  /// A formula that comes to a text.
  void put_formula(const Cell& cell, const std::string& formula, const std::string& text, CellLook look);

  /// Headings from column 0 on; the row is `lines` lines high.
  void head(std::uint32_t row, const std::vector<std::string>& words, int lines = 2);
  void widths(const std::vector<double>& characters, std::uint16_t first = 0);
  void freeze(const Cell& cell);
  /// A column that formulas use and nobody reads.
  void hide(std::uint16_t column);

 private:
  friend class Workbook;
  Sheet(Workbook& book, lxw_worksheet* sheet, std::string name) : book_(book), sheet_(sheet), name_(std::move(name)) {}
  Workbook& book_;
  lxw_worksheet* sheet_;
  std::string name_;
};

class Workbook {
 public:
  Workbook(const std::string& title, const std::string& currency, int length_decimals);
  ~Workbook();
  Workbook(const Workbook&) = delete;
  Workbook& operator=(const Workbook&) = delete;

  Sheet& add(const std::string& name);
  /// Closes it; nothing may be put after that. Throws Refusal where it cannot be written.
  std::string bytes();

 private:
  friend class Sheet;
  struct Parts;
  std::unique_ptr<Parts> parts_;
  lxw_format* format(CellLook look);
};

}  // namespace moundwright::io

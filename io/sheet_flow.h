// Text and tables that run down a page and on to the next: what does not fit is carried over, with a table's heading
// repeated.
//
//   SheetFlow flow(text.cairo(), body.width);
//   flow.heading("Hubs");
//   flow.table({{"No.", 34}, {"What", 200}, {"Hub's own shot", 70}}, {{{"1001"}, {"bed corner ..."}, blank_cell()}});
//   for (const FlowPage& page : flow.pages(body.height)) draw_flow(cairo, page, body);
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "io/drawing.h"

namespace moundwright::io {

struct TableColumn {
  std::string heading;
  double share = 1;        // of the table's width
  double across = 0;       // where short text stands in its cell: 0 left, 0.5 middle, 1 right
  std::string group = {};  // heading over neighbouring columns that share it
};

struct TableCell {
  std::string text;
  bool bold = false;
  bool blank = false;  // a line to write on, below what text there is
  double size = 0;     // 0: the table's
};
inline TableCell blank_cell(std::string text = {}) { return {std::move(text), false, true, 0}; }
inline TableCell bold_cell(std::string text, double size = 0) { return {std::move(text), true, false, size}; }

using TableRow = std::vector<TableCell>;

struct TableStyle {
  double size = 8;          // of text
  double heading_size = 7;  // of column headings
  double least_row = 0;     // height
};

/// One thing that is not broken across pages.
struct FlowBlock {
  double height = 0;
  std::function<void(cairo_t*, const PaperRect&)> draw;  // into a box of that height
  bool with_next = false;                                // on one page with the next, where a page holds both
  std::shared_ptr<const FlowBlock> repeat;               // drawn above it where it begins a page
  std::shared_ptr<const std::vector<double>> rules;      // lines down it and the next with the same, from its left
};
using FlowPage = std::vector<FlowBlock>;

class SheetFlow {
 public:
  /// `spacing` below 1 draws gaps and the rows of tables together, down to the height of their text.
  SheetFlow(cairo_t* measure, double width, double spacing = 1) : cairo_(measure), width_(width), spacing_(spacing) {}

  void heading(const std::string& text, double size = 11);
  void paragraph(const std::string& text, const TextStyle& style);
  void gap(double height);
  /// A box with a heavy edge that says CAUTION first; on one page with what comes next.
  void caution(const std::string& text);
  void table(const std::vector<TableColumn>& columns, const std::vector<TableRow>& rows, const TableStyle& style = {});
  void block(double height, std::function<void(cairo_t*, const PaperRect&)> draw, bool with_next = false);

  /// Blocks from this one (see size) to the last are not parted where one page holds them.
  void keep_together(std::size_t from);
  std::size_t size() const { return blocks_.size(); }

  double height() const;
  double width() const { return width_; }
  /// Broken into pages of this height.
  std::vector<FlowPage> pages(double height) const;

 private:
  cairo_t* cairo_;
  double width_, spacing_;
  std::vector<FlowBlock> blocks_;
};

void draw_flow(cairo_t* cairo, const FlowPage& page, const PaperRect& body);

}  // namespace moundwright::io

#include "io/sheet_flow.h"

#include <algorithm>
#include <numeric>

namespace moundwright::io {
namespace {

constexpr double cell_pad = 3, blank_line = 17;
const Pen rule_pen{0.4, soft_ink, {}};
constexpr Colour heading_fill{0.90, 0.90, 0.90}, caution_fill{0.95, 0.95, 0.95};

struct LaidTable {
  std::vector<TableColumn> columns;
  std::vector<double> lefts;  // one more than columns
  TableStyle style;
};

double width_of(const LaidTable& table, std::size_t column) {
  return table.lefts[column + 1] - table.lefts[column] - 2 * cell_pad;
}

TextStyle style_of(const TableCell& cell, const TableStyle& table) {
  TextStyle style;
  style.size = cell.size > 0 ? cell.size : table.size;
  style.bold = cell.bold;
  return style;
}

double height_of(cairo_t* cairo, const LaidTable& table, const TableRow& row) {
  double most = table.style.least_row;
  for (std::size_t i = 0; i < row.size(); ++i) {
    double height = 2 * cell_pad;
    if (!row[i].text.empty()) {
      height += paragraph_height(cairo, row[i].text, width_of(table, i), style_of(row[i], table.style));
    }
    if (row[i].blank) height += blank_line;
    most = std::max(most, height);
  }
  return most;
}

/// Short text stands where its column wants it, long text is broken from the left.
void draw_cell_text(cairo_t* cairo, const TableCell& cell, const PaperRect& box, double across,
                    const TextStyle& style) {
  const double height = paragraph_height(cairo, cell.text, box.width, style);
  const double top = cell.blank ? box.top : box.top + 0.5 * (box.height - height);
  if (across == 0 || measure_text(cairo, cell.text, style).width > box.width) {
    draw_paragraph(cairo, cell.text, {box.left, top}, box.width, style);
    return;
  }
  const auto lines = 1 + std::count(cell.text.begin(), cell.text.end(), '\n');
  const double step = height / static_cast<double>(lines);
  std::size_t from = 0;
  for (long i = 0; i < lines; ++i) {
    const std::size_t end = std::min(cell.text.find('\n', from), cell.text.size());
    const Point2 at(box.left + across * box.width, top + static_cast<double>(i) * step);
    draw_text(cairo, cell.text.substr(from, end - from), at, across, 0, style);
    from = end + 1;
  }
}

void draw_row(cairo_t* cairo, const LaidTable& table, const TableRow& row, const PaperRect& box) {
  for (std::size_t i = 0; i < row.size(); ++i) {
    const PaperRect cell =
        inset({box.left + table.lefts[i], box.top, table.lefts[i + 1] - table.lefts[i], box.height}, cell_pad);
    if (!row[i].text.empty()) {
      draw_cell_text(cairo, row[i], cell, table.columns[i].across, style_of(row[i], table.style));
    }
    if (row[i].blank) draw_line(cairo, {{cell.left, cell.bottom()}, {cell.right(), cell.bottom()}}, {0.5, ink, {}});
  }
  draw_line(cairo, {{box.left, box.bottom()}, {box.right(), box.bottom()}}, rule_pen);
}

void draw_rules(cairo_t* cairo, const std::vector<double>& lefts, const PaperRect& box) {
  for (const double left : lefts) {
    draw_line(cairo, {{box.left + left, box.top}, {box.left + left, box.bottom()}}, rule_pen);
  }
}

/// Neighbouring columns under one heading, or under none.
struct ColumnGroup {
  std::string text;
  double left = 0, right = 0;  // from the table's left
};

std::vector<ColumnGroup> groups_of(const LaidTable& table) {
  std::vector<ColumnGroup> groups;
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    const std::string& text = table.columns[i].group;
    if (groups.empty() || groups.back().text != text) groups.push_back({text, table.lefts[i], 0});
    groups.back().right = table.lefts[i + 1];
  }
  return groups;
}

double group_height(cairo_t* cairo, const LaidTable& table) {
  const TextStyle style{.size = table.style.heading_size, .bold = true};
  double most = 0;
  for (const ColumnGroup& group : groups_of(table)) {
    if (group.text.empty()) continue;
    const double width = group.right - group.left - 2 * cell_pad;
    const bool fits = measure_text(cairo, group.text, style).width <= width;
    most = std::max(most, 2 * cell_pad + (fits ? style.size : paragraph_height(cairo, group.text, width, style)));
  }
  return most;
}

void draw_groups(cairo_t* cairo, const LaidTable& table, const PaperRect& box) {
  const TextStyle style{.size = table.style.heading_size, .bold = true};
  for (const ColumnGroup& group : groups_of(table)) {
    if (group.text.empty()) continue;
    const double left = box.left + group.left, right = box.left + group.right, width = right - left - 2 * cell_pad;
    const double height = paragraph_height(cairo, group.text, width, style);
    draw_paragraph(cairo, group.text, {left + cell_pad, box.centre().y() - 0.5 * height}, width, style);
    for (const double x : {left, right}) draw_line(cairo, {{x, box.top}, {x, box.bottom()}}, rule_pen);
    draw_line(cairo, {{left, box.bottom()}, {right, box.bottom()}}, rule_pen);
  }
}

FlowBlock heading_block(cairo_t* cairo, const std::shared_ptr<const LaidTable>& table) {
  TableRow row;
  for (const TableColumn& column : table->columns) row.push_back(bold_cell(column.heading, table->style.heading_size));
  LaidTable plain = *table;
  plain.style.least_row = 0;
  FlowBlock block;
  const double band = group_height(cairo, *table);
  block.height = band + height_of(cairo, plain, row);
  block.with_next = true;
  block.draw = [table, row, band](cairo_t* out, const PaperRect& box) {
    fill_rect(out, box, heading_fill);
    draw_line(out, {{box.left, box.top}, {box.right(), box.top}}, {0.9, ink, {}});
    draw_groups(out, *table, {box.left, box.top, box.width, band});
    const PaperRect under{box.left, box.top + band, box.width, box.height - band};
    draw_row(out, *table, row, under);
    draw_rules(out, table->lefts, under);
    draw_line(out, {{box.left, box.bottom()}, {box.right(), box.bottom()}}, {0.9, ink, {}});
  };
  return block;
}

}  // namespace

void SheetFlow::block(double height, std::function<void(cairo_t*, const PaperRect&)> draw, bool with_next) {
  blocks_.push_back({height, std::move(draw), with_next, nullptr, nullptr});
}

void SheetFlow::gap(double height) {
  block(spacing_ * height, [](cairo_t*, const PaperRect&) {});
}

void SheetFlow::heading(const std::string& text, double size) {
  TextStyle style;
  style.size = size, style.bold = true;
  const double height = paragraph_height(cairo_, text, width_, style);
  block(
      height + 4,
      [text, style](cairo_t* cairo, const PaperRect& box) {
        draw_paragraph(cairo, text, {box.left, box.top}, box.width, style);
      },
      true);
}

void SheetFlow::paragraph(const std::string& text, const TextStyle& style) {
  block(paragraph_height(cairo_, text, width_, style) + 3, [text, style](cairo_t* cairo, const PaperRect& box) {
    draw_paragraph(cairo, text, {box.left, box.top}, box.width, style);
  });
}

void SheetFlow::caution(const std::string& text) {
  constexpr double edge = 5, pad = 5, word = 62;
  TextStyle style;
  style.size = 9;
  const double height = paragraph_height(cairo_, text, width_ - edge - 3 * pad - word, style);
  block(
      height + 2 * pad + 4,
      [text, style](cairo_t* cairo, const PaperRect& box) {
        const PaperRect filled{box.left, box.top, box.width, box.height - 4};
        fill_rect(cairo, filled, caution_fill);
        draw_rect(cairo, filled, {0.6, ink, {}});
        fill_rect(cairo, {box.left, box.top, edge, filled.height}, ink);
        TextStyle bold = style;
        bold.bold = true;
        draw_text(cairo, "CAUTION", {box.left + edge + pad, box.top + pad}, 0, 0, bold);
        draw_paragraph(cairo, text, {box.left + edge + 2 * pad + word, box.top + pad},
                       box.width - edge - 3 * pad - word, style);
      },
      true);
}

void SheetFlow::table(const std::vector<TableColumn>& columns, const std::vector<TableRow>& rows,
                      const TableStyle& style) {
  auto laid = std::make_shared<LaidTable>(LaidTable{columns, {0}, style});
  laid->style.least_row *= spacing_;
  const double shares = std::accumulate(columns.begin(), columns.end(), 0.0,
                                        [](double sum, const TableColumn& c) { return sum + c.share; });
  for (const TableColumn& column : columns) {
    laid->lefts.push_back(laid->lefts.back() + column.share / shares * width_);
  }
  const std::shared_ptr<const LaidTable> table = laid;
  const auto head = std::make_shared<const FlowBlock>(heading_block(cairo_, table));
  blocks_.push_back(*head);
  for (const TableRow& row : rows) {
    FlowBlock block;
    block.height = height_of(cairo_, *table, row);
    block.draw = [table, row](cairo_t* cairo, const PaperRect& box) { draw_row(cairo, *table, row, box); };
    block.repeat = head;
    block.rules = std::shared_ptr<const std::vector<double>>(table, &table->lefts);
    blocks_.push_back(std::move(block));
  }
}

void SheetFlow::keep_together(std::size_t from) {
  for (std::size_t i = from; i + 1 < blocks_.size(); ++i) blocks_[i].with_next = true;
}

double SheetFlow::height() const {
  return std::accumulate(blocks_.begin(), blocks_.end(), 0.0,
                         [](double sum, const FlowBlock& block) { return sum + block.height; });
}

std::vector<FlowPage> SheetFlow::pages(double height) const {
  std::vector<FlowPage> pages(1);
  double used = 0;
  for (std::size_t i = 0; i < blocks_.size();) {
    // What must stay together, as far as one page holds it below a heading that is repeated.
    const double room = height - (blocks_[i].repeat ? blocks_[i].repeat->height : 0);
    std::size_t last = i;
    double needed = blocks_[i].height;
    while (blocks_[last].with_next && last + 1 < blocks_.size() && needed + blocks_[last + 1].height <= room) {
      needed += blocks_[++last].height;
    }
    if (used + needed > height && !pages.back().empty()) {
      pages.emplace_back();
      used = 0;
      if (blocks_[i].repeat) {
        pages.back().push_back(*blocks_[i].repeat);
        used = blocks_[i].repeat->height;
      }
    }
    for (; i <= last; ++i) {
      used += blocks_[i].height;
      pages.back().push_back(blocks_[i]);
    }
  }
  return pages;
}

void draw_flow(cairo_t* cairo, const FlowPage& page, const PaperRect& body) {
  double top = body.top, rules_top = body.top;
  for (std::size_t i = 0; i < page.size(); ++i) {
    const FlowBlock& block = page[i];
    const double bottom = top + block.height;
    block.draw(cairo, {body.left, top, body.width, block.height});
    if (i == 0 || page[i - 1].rules != block.rules) rules_top = top;
    const bool ends = i + 1 == page.size() || page[i + 1].rules != block.rules;
    if (block.rules && ends) draw_rules(cairo, *block.rules, {body.left, rules_top, body.width, bottom - rules_top});
    top = bottom;
  }
}

}  // namespace moundwright::io

#include "io/workbook.h"

#include <sys/mman.h>
#include <unistd.h>
#include <xlsxwriter.h>

#include <map>

#include "geom/problem.h"
#include "io/fixed_date.h"
#include "io/text_file.h"

namespace moundwright::io {
namespace {

constexpr lxw_color_t input_ground = 0xFFF2CC, input_text = 0x1F3864, header_ground = 0xE7E6E6;

[[noreturn]] void fail(const char* why) {
  throw Refusal(
      {Severity::error, fmt::format("the spreadsheet cannot be written: {}", why), "quantities.xlsx",
       "It is put together in memory and in the folder for temporary files: see that both have room, and that "
       "this account may open more files (ulimit -n) and write larger ones (ulimit -f)."});
}

void check(lxw_error error) {
  if (error != LXW_NO_ERROR) fail(lxw_strerror(error));
}

/// What libxlsxwriter takes for a date without the clock: the fixed date's noon in any time zone it may print.
constexpr std::time_t fixed_second = 946'684'800;  // 2000-01-01 00:00 UTC

}  // namespace

std::string at(const Cell& cell) {
  char text[LXW_MAX_CELL_NAME_LENGTH];
  lxw_rowcol_to_cell_abs(text, cell.row, cell.column, 1, 1);
  return text;
}

std::string at(const Cell& from, const Cell& to) { return at(from) + ":" + at(to); }

struct Workbook::Parts {
  int descriptor = -1;
  std::string path;
  lxw_workbook* book = nullptr;
  std::string currency;
  int length_decimals = 2;
  std::map<CellLook, lxw_format*> formats;
  std::vector<std::unique_ptr<Sheet>> sheets;
};

Workbook::Workbook(const std::string& title, const std::string& currency, int length_decimals)
    : parts_(std::make_unique<Parts>()) {
  parts_->currency = currency;
  parts_->length_decimals = length_decimals;
  // The library writes to a name only; this one is a file in memory.
  parts_->descriptor = ::memfd_create("moundwright-xlsx", MFD_CLOEXEC);
  if (parts_->descriptor < 0) fail("there is no memory for it");
  parts_->path = fmt::format("/proc/self/fd/{}", parts_->descriptor);
  parts_->book = workbook_new(parts_->path.c_str());
  if (parts_->book == nullptr) fail("it cannot be begun");
  std::string own_title = title, author = "Moundwright", comments = fixed_date_note;
  lxw_doc_properties properties{};
  properties.title = own_title.data();
  properties.author = author.data();
  properties.comments = comments.data();
  properties.created = fixed_second;
  check(workbook_set_properties(parts_->book, &properties));
}

Workbook::~Workbook() {
  if (parts_->book != nullptr) workbook_close(parts_->book);
  ::close(parts_->descriptor);
}

Sheet& Workbook::add(const std::string& name) {
  lxw_worksheet* sheet = workbook_add_worksheet(parts_->book, name.c_str());
  if (sheet == nullptr) fail(name.c_str());
  worksheet_set_landscape(sheet);
  worksheet_fit_to_pages(sheet, 1, 0);
  parts_->sheets.push_back(std::unique_ptr<Sheet>(new Sheet(*this, sheet, name)));
  return *parts_->sheets.back();
}

std::string Workbook::bytes() {
  const lxw_error error = workbook_close(std::exchange(parts_->book, nullptr));
  check(error);
  return read_file(parts_->path);
}

lxw_format* Workbook::format(CellLook look) {
  lxw_format*& format = parts_->formats[look];
  if (format != nullptr) return format;
  format = workbook_add_format(parts_->book);
  const auto numbers = [&](const std::string& how) { format_set_num_format(format, how.c_str()); };
  const auto input = [&] {
    format_set_bg_color(format, input_ground);
    format_set_font_color(format, input_text);
    format_set_border(format, LXW_BORDER_HAIR);
  };
  const auto total = [&] {
    format_set_bold(format);
    format_set_top(format, LXW_BORDER_THIN);
  };
  const std::string money = fmt::format("\"{}\"#,##0.00", parts_->currency);
  switch (look) {
    case CellLook::title:
      format_set_bold(format);
      format_set_font_size(format, 14);
      break;
    case CellLook::note:
      format_set_italic(format);
      break;
    case CellLook::header:
      format_set_bold(format);
      format_set_bg_color(format, header_ground);
      format_set_bottom(format, LXW_BORDER_THIN);
      format_set_text_wrap(format);
      format_set_align(format, LXW_ALIGN_VERTICAL_TOP);
      break;
    case CellLook::label:
      break;
    case CellLook::text:
      format_set_indent(format, 1);
      break;
    case CellLook::text_input:
      input();
      format_set_indent(format, 1);
      break;
    case CellLook::yards:
      numbers("#,##0.00");
      break;
    case CellLook::yards_input:
      numbers("#,##0.00");
      input();
      break;
    case CellLook::length:
      numbers(parts_->length_decimals == 3 ? "0.000" : "0.00");
      break;
    case CellLook::area:
      numbers("#,##0.0");
      break;
    case CellLook::factor:
      numbers("0.0000");
      break;
    case CellLook::number_input:
      numbers("General");
      input();
      break;
    case CellLook::whole:
      numbers("0");
      break;
    case CellLook::percent:
      numbers("0.0%");
      break;
    case CellLook::percent_input:
      numbers("0.0%");
      input();
      break;
    case CellLook::money:
      numbers(money);
      break;
    case CellLook::money_input:
      numbers(money);
      input();
      break;
    case CellLook::total_label:
      total();
      break;
    case CellLook::total_yards:
      numbers("#,##0.00");
      total();
      break;
    case CellLook::total_money:
      numbers(money);
      total();
      break;
    case CellLook::warning:
      format_set_bold(format);
      format_set_font_color(format, LXW_COLOR_RED);
      break;
  }
  return format;
}

std::string Sheet::ref(const Cell& cell) const { return fmt::format("'{}'!{}", name_, at(cell)); }
std::string Sheet::ref(const Cell& from, const Cell& to) const { return fmt::format("'{}'!{}", name_, at(from, to)); }

void Sheet::put(const Cell& cell, const std::string& text, CellLook look) {
  lxw_format* format = book_.format(look);
  check(text.empty() ? worksheet_write_blank(sheet_, cell.row, cell.column, format)
                     : worksheet_write_string(sheet_, cell.row, cell.column, text.c_str(), format));
}

void Sheet::put(const Cell& cell, double number, CellLook look) {
  check(worksheet_write_number(sheet_, cell.row, cell.column, number, book_.format(look)));
}

void Sheet::put(const Cell& cell, const std::optional<double>& number, CellLook look) {
  number ? put(cell, *number, look) : put(cell, "", look);
}

void Sheet::put_formula(const Cell& cell, const std::string& formula, const std::optional<double>& value,
                        CellLook look) {
  const std::string text = "=" + formula;
  lxw_format* format = book_.format(look);
  check(value ? worksheet_write_formula_num(sheet_, cell.row, cell.column, text.c_str(), format, *value)
              : worksheet_write_formula_str(sheet_, cell.row, cell.column, text.c_str(), format, ""));
}

void Sheet::put_formula(const Cell& cell, const std::string& formula, const std::string& text, CellLook look) {
  check(worksheet_write_formula_str(sheet_, cell.row, cell.column, ("=" + formula).c_str(), book_.format(look),
                                    text.c_str()));
}

void Sheet::head(std::uint32_t row, const std::vector<std::string>& words, int lines) {
  constexpr double line_height = 15;  // points
  check(worksheet_set_row(sheet_, row, line_height * lines, nullptr));
  for (std::size_t i = 0; i < words.size(); ++i) put({row, static_cast<std::uint16_t>(i)}, words[i], CellLook::header);
}

void Sheet::widths(const std::vector<double>& characters, std::uint16_t first) {
  for (const double width : characters) {
    check(worksheet_set_column(sheet_, first, first, width, nullptr));
    ++first;
  }
}

void Sheet::hide(std::uint16_t column) {
  lxw_row_col_options hidden{};
  hidden.hidden = LXW_TRUE;
  check(worksheet_set_column_opt(sheet_, column, column, LXW_DEF_COL_WIDTH, nullptr, &hidden));
}

void Sheet::freeze(const Cell& cell) { worksheet_freeze_panes(sheet_, cell.row, cell.column); }

}  // namespace moundwright::io

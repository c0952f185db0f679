// Pages that text and tables run over: nothing is lost, nothing overflows, and what belongs together stays together.
#include "io/sheet_flow.h"

#include <gtest/gtest.h>

#include <numeric>

#include "io/sheet_book.h"

namespace moundwright::io {
namespace {

double height_of(const FlowPage& page) {
  return std::accumulate(page.begin(), page.end(), 0.0,
                         [](double sum, const FlowBlock& block) { return sum + block.height; });
}

struct Flow {
  TextMeasure measure;
  SheetFlow flow{measure.cairo(), 500};

  void table(int rows) { flow.table({{"a", 1}, {"b", 1}}, std::vector<TableRow>(rows, {{"1"}, {"2"}}), {8, 7, 20}); }
};

TEST(SheetFlow, FillsPagesWithoutOverflowAndLosesNoRow) {
  for (const double page_height : {60.0, 101.0, 400.0}) {
    Flow f;
    f.flow.heading("many");
    f.table(37);
    f.flow.heading("few");
    f.table(2);
    std::size_t rows = 0;
    const std::vector<FlowPage> pages = f.flow.pages(page_height);
    for (const FlowPage& page : pages) {
      EXPECT_LE(height_of(page), page_height);
      for (const FlowBlock& block : page) rows += block.repeat ? 1 : 0;
    }
    EXPECT_EQ(rows, 39U);
  }
}

TEST(SheetFlow, BeginsEveryPageOfATableWithItsHeading) {
  Flow f;
  f.table(30);
  const std::vector<FlowPage> pages = f.flow.pages(150);
  ASSERT_GT(pages.size(), 3U);
  for (const FlowPage& page : pages) {
    ASSERT_GE(page.size(), 2U);
    EXPECT_EQ(page[0].repeat, nullptr) << "a heading";
    EXPECT_NE(page[1].repeat, nullptr) << "a row under it";
  }
}

TEST(SheetFlow, NeverEndsAPageWithAHeading) {
  for (int before = 0; before < 12; ++before) {
    Flow f;
    f.table(before);
    f.flow.heading("next");
    f.table(3);
    for (const FlowPage& page : f.flow.pages(160)) EXPECT_FALSE(page.back().with_next) << before;
  }
}

TEST(SheetFlow, KeepsTogetherWhatOnePageHolds) {
  Flow f;
  f.table(4);
  const std::size_t first = f.flow.size();
  f.table(4);
  f.flow.keep_together(first);
  const std::vector<FlowPage> pages = f.flow.pages(160);
  ASSERT_EQ(pages.size(), 2U);
  EXPECT_EQ(pages[1].size(), 5U) << "the second table whole";

  Flow longer;
  longer.table(40);
  longer.flow.keep_together(0);
  for (const FlowPage& page : longer.flow.pages(160)) EXPECT_LE(height_of(page), 160) << "more than a page is parted";
}

}  // namespace
}  // namespace moundwright::io

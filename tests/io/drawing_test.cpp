// Drawings by their content: what stands where on paper, read back from the pixels, and what is written, read back as
// text from a PDF of the same drawing by another program (poppler's pdftotext).
#include "io/drawing.h"

#include <cairo-pdf.h>
#include <cairo.h>
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <functional>
#include <memory>
#include <pugixml.hpp>
#include <random>
#include <set>

#include "io/pictures_png.h"
#include "io/plan_drawing.h"
#include "io/section_drawing.h"
#include "io/text_file.h"
#include "made_jobs.h"

namespace moundwright::io {
namespace {

using Drawing = std::function<void(cairo_t*)>;
using testing::HasSubstr;

/// A drawing in pixels, four to a point, without grey edges.
struct Picture {
  static constexpr int per_point = 4;
  int width, height;
  std::vector<std::uint32_t> pixels;

  Picture(double w, double h, const Drawing& draw)
      : width(static_cast<int>(w * per_point)),
        height(static_cast<int>(h * per_point)),
        pixels(static_cast<std::size_t>(width * height), 0xFFFFFF) {
    cairo_surface_t* surface = cairo_image_surface_create_for_data(reinterpret_cast<unsigned char*>(pixels.data()),
                                                                   CAIRO_FORMAT_RGB24, width, height, 4 * width);
    cairo_t* cairo = cairo_create(surface);
    cairo_set_antialias(cairo, CAIRO_ANTIALIAS_NONE);
    cairo_scale(cairo, per_point, per_point);
    draw(cairo);
    EXPECT_EQ(cairo_status(cairo), CAIRO_STATUS_SUCCESS);
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    for (std::uint32_t& pixel : pixels) pixel &= 0xFFFFFF;
  }
};

/// Paper box of the pixels of one colour; empty where there are none.
PaperRect box_of(const Picture& picture, const Colour& colour) {
  const auto near = [&](std::uint32_t pixel) {
    const double parts[3] = {colour.red, colour.green, colour.blue};
    for (int k = 0; k < 3; ++k) {
      if (std::abs(((pixel >> (16 - 8 * k)) & 0xff) / 255.0 - parts[k]) > 0.006) return false;
    }
    return true;
  };
  int left = picture.width, right = -1, top = picture.height, bottom = -1;
  for (int y = 0; y < picture.height; ++y) {
    for (int x = 0; x < picture.width; ++x) {
      if (!near(picture.pixels[static_cast<std::size_t>(y) * static_cast<std::size_t>(picture.width) +
                               static_cast<std::size_t>(x)]))
        continue;
      left = std::min(left, x), right = std::max(right, x + 1), top = std::min(top, y),
      bottom = std::max(bottom, y + 1);
    }
  }
  if (right < 0) return {};
  constexpr double p = Picture::per_point;
  return {left / p, top / p, (right - left) / p, (bottom - top) / p};
}

struct Word {
  std::string text;
  PaperRect box;
};

/// The words of a drawing, as pdftotext finds them in a PDF of it.
std::vector<Word> words_of(double width, double height, const Drawing& draw) {
  const Scratch folder;
  const std::string pdf = (folder / "drawing.pdf").string(), html = (folder / "words.html").string();
  cairo_surface_t* surface = cairo_pdf_surface_create(pdf.c_str(), width, height);
  cairo_t* cairo = cairo_create(surface);
  draw(cairo);
  cairo_destroy(cairo);
  cairo_surface_destroy(surface);
  EXPECT_EQ(std::system(("pdftotext -bbox " + pdf + " " + html).c_str()), 0);
  pugi::xml_document document;
  EXPECT_TRUE(document.load_file(html.c_str()));
  std::vector<Word> words;
  for (const pugi::xpath_node& node : document.select_nodes("//word")) {
    const pugi::xml_node word = node.node();
    const double left = word.attribute("xMin").as_double(), top = word.attribute("yMin").as_double();
    words.push_back({word.child_value(),
                     {left, top, word.attribute("xMax").as_double() - left, word.attribute("yMax").as_double() - top}});
  }
  return words;
}

std::string text_of(const std::vector<Word>& words) {
  std::string text;
  for (const Word& word : words) text += word.text + " ";
  return text;
}

TEST(Fitting, ATextStaysInItsRoomHoweverLong) {
  TextStyle style;
  style.size = 13, style.colour = {1, 0, 0};
  constexpr double room = 200;
  for (const auto& [text, whole] :
       std::vector<std::pair<std::string, bool>>{{"Lot 7", true},
                                                 {"Lot 7, Fernhollow Lane, second phase, behind the barn", true},
                                                 {std::string(120, 'W'), false}}) {
    SCOPED_TRACE(text);
    const Drawing draw = [&, t = text](cairo_t* cairo) { draw_fitting(cairo, t, {10, 10}, 0, room, style); };
    const PaperRect ink = box_of(Picture(240, 40, draw), style.colour);
    EXPECT_GT(ink.width, 10);
    EXPECT_LE(ink.left + ink.width, 10 + room + 0.5);
    const std::string read = text_of(words_of(240, 40, draw));
    EXPECT_EQ(read.find("...") == std::string::npos, whole) << read;
    if (!whole) {
      EXPECT_GT(ink.width, room - 15) << "cut shorter than need be";
    }
  }
}

TEST(Fitting, OnlyWholeLettersAreLeftAndALongTextTakesNoTime) {
  std::string umlauts;
  for (int i = 0; i < 10'000; ++i) umlauts += "\xC3\xBC";
  const auto begin = std::chrono::steady_clock::now();
  const std::string read = text_of(words_of(240, 40, [&](cairo_t* cairo) {
    draw_fitting(cairo, umlauts, {10, 10}, 0, 200, TextStyle{});
  }));
  EXPECT_LT(std::chrono::steady_clock::now() - begin, std::chrono::seconds(20));
  const std::size_t letters = read.find("...");
  ASSERT_NE(letters, std::string::npos);
  EXPECT_GT(letters, 20U);
  EXPECT_EQ(read.substr(0, letters), umlauts.substr(0, letters));
  EXPECT_EQ(letters % 2, 0U);
}

// Marks stand again one period on, and in between they do not.
TEST(Hatches, ComeAgainAfterTheirPeriod) {
  constexpr int periods = 3, pixels = 160;  // to a period
  constexpr int side = periods * pixels;
  for (const Hatch hatch : {Hatch::pebbles, Hatch::slant, Hatch::tufts, Hatch::cross, Hatch::level, Hatch::earth}) {
    SCOPED_TRACE(static_cast<int>(hatch));
    const Point2 period = hatch_period(hatch);
    constexpr double on_paper = static_cast<double>(side) / Picture::per_point;
    const Picture picture(on_paper, on_paper, [&](cairo_t* cairo) {
      cairo_identity_matrix(cairo);
      cairo_scale(cairo, pixels / period.x(), pixels / period.y());
      cairo_rectangle(cairo, 0, 0, periods * period.x(), periods * period.y());
      fill_material(cairo, {{0.7, 0.6, 0.5}, hatch});
    });
    const auto others = [&](int right, int down) {
      int count = 0;
      for (int y = pixels; y < side - pixels; ++y) {
        for (int x = pixels; x < side - pixels; ++x) {
          const auto pixel = picture.pixels.begin() + std::ptrdiff_t{y} * side + x;
          count += pixel[0] != pixel[std::ptrdiff_t{down} * side + right];
        }
      }
      return count;
    };
    EXPECT_LT(others(pixels, 0), 100);
    EXPECT_LT(others(0, pixels), 100);
    EXPECT_GT(others(pixels / 4, 0), 500);
  }
}

constexpr double sheet_width = 792, sheet_height = 612;
constexpr PaperRect whole{10, 10, sheet_width - 20, sheet_height - 20};

Drawing plan_of(const SiteResults& results, const PlanOptions& options = {}) {
  return [&results, options](cairo_t* cairo) {
    const PlanExtent extent = plan_extent(results, PlanView::work);
    draw_plan(cairo, results, whole, extent, plan_scale(results, extent, whole), options);
  };
}

Drawing section_of(const SiteResults& results, std::size_t which, const SectionOptions& options = {}) {
  return [&results, which, options](cairo_t* cairo) {
    const SectionCut cut = standard_cuts(results)[which];
    draw_section(cairo, results, cut, whole, section_scale(results, cut, whole, options), options);
  };
}

// ---- scales ------------------------------------------------------------------------------------------------------

TEST(DrawingScale, IsTheLargestEngineeringScaleThatFits) {
  // 7.5 in of paper: 150 ft need 1 in = 20 ft, a foot more the next scale.
  EXPECT_EQ(to_text(fitting_scale(LengthUnit::foot, 150, 1, 540, 540)), "1 in = 20 ft");
  EXPECT_EQ(to_text(fitting_scale(LengthUnit::foot, 151, 1, 540, 540)), "1 in = 30 ft");
  EXPECT_EQ(to_text(fitting_scale(LengthUnit::metre, 38, 1, 540, 540)), "1:200");
  const DrawingScale scale{240, LengthUnit::foot};
  EXPECT_NEAR(scale.points_per_unit() * 20, 72, 1e-12);
  const DrawingScale metric{200, LengthUnit::metre};
  EXPECT_NEAR(metric.points_per_unit() * 0.0254 * 200, 72, 1e-12);
}

// ---- looks -------------------------------------------------------------------------------------------------------

double apart(const Colour& a, const Colour& b) {
  return std::hypot(std::hypot(a.red - b.red, a.green - b.green), a.blue - b.blue);
}

TEST(LayerStyles, TellLayersApartByColourAndByHatch) {
  for (const char* job : {"fernhollow", "ridgeback"}) {
    const std::vector<MaterialStyle> styles = layer_styles(demo_results(job).mound().design());
    for (std::size_t i = 0; i < styles.size(); ++i) {
      EXPECT_NE(styles[i].hatch, Hatch::none);
      for (std::size_t j = 0; j < i; ++j) {
        EXPECT_NE(styles[i].hatch, styles[j].hatch);
        EXPECT_GT(apart(styles[i].fill, styles[j].fill), 0.15);
      }
    }
  }
}

TEST(LayerStyles, GoByTheMaterialAndNeverRunOut) {
  MoundDesign design;
  const auto add = [&](const char* name, const char* material) {
    design.layers.emplace_back();
    design.layers.back().name = name, design.layers.back().material = material;
  };
  add("bed", "washed stone"), add("cover", "Clean Sand"), add("cap", "TOPSOIL");
  EXPECT_EQ(layer_styles(design)[0].hatch, Hatch::pebbles);
  EXPECT_EQ(layer_styles(design)[1].hatch, Hatch::fine_dots);
  EXPECT_EQ(layer_styles(design)[2].hatch, Hatch::tufts);
  for (int i = 0; i < 20; ++i) add("more", "sand");
  EXPECT_EQ(layer_styles(design).size(), 23u);
}

// In black and white a hatch is all there is: the drawing of each must differ from all others.
TEST(Hatches, AllDiffer) {
  std::set<std::vector<std::uint32_t>> seen;
  const Hatch all[] = {Hatch::none,  Hatch::fine_dots, Hatch::coarse_dots, Hatch::pebbles, Hatch::slant,
                       Hatch::tufts, Hatch::cross,     Hatch::level,       Hatch::earth};
  for (const Hatch hatch : all) {
    const Picture picture(40, 40, [&](cairo_t* cairo) {
      cairo_rectangle(cairo, 0, 0, 40, 40);
      fill_material(cairo, {{0.8, 0.8, 0.8}, hatch});
    });
    EXPECT_TRUE(seen.insert(picture.pixels).second);
  }
}

// ---- text ----------------------------------------------------------------------------------------------------------

// What labels keep clear is the box that their text measures: a halo hides the lines under it, but none beside it.
TEST(Halo, HidesWhatIsUnderTextAndNothingBesideIt) {
  TextStyle style;
  style.size = 20, style.halo = 3;
  const Colour blue{0, 0, 1};
  for (const char* text : {"TP1", "topsoil"}) {
    TextSize size;
    const Picture picture(120, 60, [&](cairo_t* cairo) {
      size = measure_text(cairo, text, style);
      for (const double y : {20.0, 20 + 0.5 * size.height, 20 + size.height}) {
        draw_line(cairo, {{10, y}, {30 + size.width, y}}, {0.5, blue, {}});
      }
      draw_text(cairo, text, {20, 20}, 0, 0, style);
    });
    const auto blue_at = [&](double x, double y) {
      constexpr int p = Picture::per_point;
      const auto column = static_cast<std::size_t>(x * p), row = static_cast<std::size_t>(y * p);
      return picture.pixels[row * static_cast<std::size_t>(picture.width) + column] == 0x0000FF;
    };
    for (double x = 19; x < 21 + size.width; x += 0.5) {
      EXPECT_TRUE(blue_at(x, 20 - 0.13)) << text << ", above, " << x;
      EXPECT_FALSE(blue_at(x, 20 + 0.5 * size.height)) << text << ", under it, " << x;
      EXPECT_TRUE(blue_at(x, 20 + size.height + 0.13)) << text << ", below, " << x;
    }
  }
}

// ---- sections ------------------------------------------------------------------------------------------------------

/// Where layer k lies in a section: distances and elevations.
struct Extent {
  double from = 1e300, to = -1e300, low = 1e300, high = -1e300;
};

Extent extent_of(const Section& section, std::size_t k) {
  Extent extent;
  for (std::size_t i = 0; i + 1 < section.columns.size(); i += 2) {
    const SectionColumn* ends[2] = {&section.columns[i], &section.columns[i + 1]};
    const auto thick = [&](const SectionColumn* c) { return c->surfaces[k + 1] - c->surfaces[k]; };
    if (std::max(thick(ends[0]), thick(ends[1])) < 1e-6) continue;
    for (const SectionColumn* c : ends) {
      extent.from = std::min(extent.from, c->distance), extent.to = std::max(extent.to, c->distance);
      extent.low = std::min(extent.low, c->surfaces[k]), extent.high = std::max(extent.high, c->surfaces[k + 1]);
    }
  }
  return extent;
}

// Every layer's colour covers what the section says, in place and size, measured from the first layer's corner.
void expect_layers_in_place(const SiteResults& results, std::size_t which) {
  SectionOptions bare;
  bare.layer_labels = bare.dimensions = bare.grades = bare.title = false;
  const Picture picture(sheet_width, sheet_height, section_of(results, which, bare));
  const SectionCut cut = standard_cuts(results)[which];
  const SectionScale scale = section_scale(results, cut, whole, bare);
  const Section section = section_along(results, cut.line);
  const double across = scale.level.points_per_unit(), up = across * scale.exaggeration;
  const std::vector<MaterialStyle> styles = layer_styles(results.mound().design());
  const PaperRect first = box_of(picture, styles[0].fill);
  const Extent at_first = extent_of(section, 0);
  // What outlines and hatches may hide at an edge, points; a layer that ends in a thin wedge is hidden a little
  // farther.
  constexpr double pens = 2.0, wedge = 3.5;
  for (std::size_t k = 0; k < styles.size(); ++k) {
    SCOPED_TRACE(results.mound().design().layers[k].name);
    const PaperRect box = box_of(picture, styles[k].fill);
    const Extent extent = extent_of(section, k);
    EXPECT_NEAR(box.left - first.left, (extent.from - at_first.from) * across, wedge);
    EXPECT_NEAR(box.right() - first.left, (extent.to - at_first.from) * across, wedge);
    EXPECT_NEAR(box.top - first.top, (at_first.high - extent.high) * up, pens);
    EXPECT_NEAR(box.bottom() - first.top, (at_first.high - extent.low) * up, pens);
  }
}

TEST(SectionDrawing, ShowsEveryLayerWhereTheSectionSays) {
  const Scratch folder;
  expect_layers_in_place(tiny_results(folder), 0);
  expect_layers_in_place(tiny_results(folder), 1);
  expect_layers_in_place(metre_results(folder), 0);
  expect_layers_in_place(metre_results(folder), 1);
}

TEST(SectionDrawing, WritesWhatItShows) {
  const SiteResults results = demo_results("fernhollow");
  const std::string across = text_of(words_of(sheet_width, sheet_height, section_of(results, 0)));
  for (const Layer& layer : results.mound().design().layers) EXPECT_THAT(across, HasSubstr(layer.name));
  EXPECT_THAT(across, HasSubstr(fmt::format("upslope berm {:.1f} ft", results.mound().buildup.berm.upslope.middle)));
  EXPECT_THAT(across, HasSubstr("bed 10.0 ft"));
  EXPECT_THAT(across,
              HasSubstr(fmt::format("downslope berm {:.1f} ft", results.mound().buildup.berm.downslope.middle)));
  EXPECT_THAT(across, HasSubstr("exaggerated 2 times"));
  EXPECT_THAT(across, HasSubstr(fmt::format("{:.2f} bed bottom", results.mound().buildup.bottom_elevation)));
  const std::string along = text_of(words_of(sheet_width, sheet_height, section_of(results, 1)));
  EXPECT_THAT(along, HasSubstr("bed 60.0 ft"));
  EXPECT_THAT(along, HasSubstr("exaggerated 4 times"));
}

TEST(SectionDrawing, CutsABedThatBendsHalfWayAcrossOnePiece) {
  const Scratch folder;
  const std::filesystem::path tiny = folder / "tiny.toml";
  tiny_results(folder);
  std::string job = read_file(tiny);
  const std::string straight =
      "center = { n = 60.0, e = 60.0 }\nazimuth = 90.0\nbed = { length = 20.0, width = 6.0 }\n";
  ASSERT_NE(job.find(straight), std::string::npos);
  job.replace(
      job.find(straight), straight.size(),
      "bed = { width = 6.0, line = [{ n = 58.0, e = 40.0 }, { n = 62.0, e = 60.0 }, { n = 58.0, e = 80.0 }] }\n");
  const SiteResults results = compute_site(folder.put("bent.toml", job));
  const std::string across = text_of(words_of(sheet_width, sheet_height, section_of(results, 0)));
  EXPECT_THAT(across, HasSubstr("6.0 ft"));  // the bed's own width, not a width askew
  EXPECT_THAT(across, HasSubstr("of piece"));
}

TEST(SectionDrawing, CutsABentBedAlongItsLine) {
  const SiteResults results = demo_results("ridgeback");
  const SectionCut along = standard_cuts(results)[1];
  ASSERT_EQ(along.line.size(), 4u);
  const Extent stone = extent_of(section_along(results, along.line), 1);
  double length = 0;
  const std::vector<Point2>& line = results.mound().design().bed.line;
  for (std::size_t i = 1; i < line.size(); ++i) length += (line[i] - line[i - 1]).norm();
  EXPECT_NEAR(stone.to - stone.from, length, 1e-6);
}

TEST(MaterialKey, GivesTheYardsOfTheTakeoff) {
  for (const char* job : {"fernhollow", "ridgeback"}) {
    const SiteResults results = demo_results(job);
    const auto draw = [&](cairo_t* cairo) { draw_material_key(cairo, results, {10, 10, 200, 0}); };
    const std::string text = text_of(words_of(220, 400, draw));
    for (const std::vector<TakeoffItem>* items : {&results.found().takeoff.fill, &results.found().takeoff.cut}) {
      for (const TakeoffItem& item : *items) {
        EXPECT_THAT(text, HasSubstr(fmt::format("{:.1f} cu yd", item.volume_cy))) << item.name;
      }
    }
  }
}

TEST(MaterialKey, IsInCubicMetresWhereTheJobIsMetric) {
  const Scratch folder;
  const SiteResults results = metre_results(folder);
  const auto draw = [&](cairo_t* cairo) { draw_material_key(cairo, results, {10, 10, 200, 0}); };
  const std::string text = text_of(words_of(220, 400, draw));
  for (const LayerResult& layer : results.mound().buildup.layers) {
    EXPECT_THAT(text, HasSubstr(fmt::format("{:.1f} m3", layer.volume))) << layer.name;
  }
  EXPECT_THAT(text, testing::Not(HasSubstr("cu yd")));
}

// ---- plan --------------------------------------------------------------------------------------------------------

const Word* find(const std::vector<Word>& words, const std::string& text) {
  const auto found = std::find_if(words.begin(), words.end(), [&](const Word& word) { return word.text == text; });
  return found == words.end() ? nullptr : &*found;
}

void expect_every_stake_numbered_apart(const SiteResults& results) {
  const std::vector<Word> words = words_of(sheet_width, sheet_height, plan_of(results));
  std::vector<const Word*> numbers;
  for (const Stake& stake : results.found().stakes.stakes) {
    const Word* word = find(words, std::to_string(stake.number));
    ASSERT_NE(word, nullptr) << stake.number;
    numbers.push_back(word);
    EXPECT_TRUE(whole.contains(word->box)) << stake.number;
  }
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      // A font's box is a little higher than its figures.
      EXPECT_FALSE(inset(numbers[i]->box, 0.8).meets(inset(numbers[j]->box, 0.8)))
          << numbers[i]->text << " on " << numbers[j]->text;
    }
  }
}

TEST(PlanDrawing, NumbersEveryStakeAndNoNumberOnAnother) {
  const Scratch folder;
  expect_every_stake_numbered_apart(demo_results("fernhollow"));
  expect_every_stake_numbered_apart(demo_results("ridgeback"));
  expect_every_stake_numbered_apart(tiny_results(folder));
}

TEST(PlanDrawing, PutsStakesWhereTheScaleHasThem) {
  const Scratch folder;
  const SiteResults results = tiny_results(folder);
  const PlanExtent extent = plan_extent(results, PlanView::work);
  const DrawingScale scale = plan_scale(results, extent, whole);
  PlanOptions hubs_only{};
  hubs_only.existing_contours = hubs_only.finished_contours = hubs_only.layer_outlines = false;
  hubs_only.stake_numbers = hubs_only.section_lines = hubs_only.survey_limit = hubs_only.grid_ticks = false;
  hubs_only.north_arrow = hubs_only.scale_bar = hubs_only.tape_ties = false;
  const Picture picture(sheet_width, sheet_height, plan_of(results, hubs_only));
  const PaperRect found = box_of(picture, {0.70, 0.10, 0.05});  // the colour of stakes: hubs stand outmost
  double west = 1e300, east = -1e300, south = 1e300, north = -1e300;
  for (const Stake& stake : results.found().stakes.stakes) {
    west = std::min(west, stake.easting), east = std::max(east, stake.easting);
    south = std::min(south, stake.northing), north = std::max(north, stake.northing);
  }
  constexpr double mark = 1.7;  // half a hub's mark
  EXPECT_NEAR(found.left + mark, whole.centre().x() + (west - extent.centre().x()) * scale.points_per_unit(), 0.5);
  EXPECT_NEAR(found.right() - mark, whole.centre().x() + (east - extent.centre().x()) * scale.points_per_unit(), 0.5);
  EXPECT_NEAR(found.top + mark, whole.centre().y() - (north - extent.centre().y()) * scale.points_per_unit(), 0.5);
  EXPECT_NEAR(found.bottom() - mark, whole.centre().y() - (south - extent.centre().y()) * scale.points_per_unit(), 0.5);
}

TEST(PlanDrawing, ShowsOnlyWhatIsAskedFor) {
  const SiteResults results = demo_results("fernhollow");
  const std::string all = text_of(words_of(sheet_width, sheet_height, plan_of(results)));
  for (const char* word : {"1001", "TP1", "drive", "114", "A'", "house", "Scale", "N"})
    EXPECT_THAT(all, HasSubstr(word));
  PlanOptions none{};
  none.existing_contours = none.finished_contours = none.stakes = none.borings = none.breaklines = false;
  none.section_lines = none.keep_clear = none.scale_bar = none.north_arrow = none.tape_ties = none.grid_ticks = false;
  none.bench_mark = none.survey_limit = none.layer_outlines = false;
  EXPECT_EQ(text_of(words_of(sheet_width, sheet_height, plan_of(results, none))), "");
}

TEST(PlanDrawing, ContoursStandApartAtEveryScale) {
  const SiteResults results = demo_results("ridgeback");
  const double slope = std::hypot(results.ground().trend.a, results.ground().trend.b);
  for (const double denominator : {60.0, 240.0, 1200.0, 6000.0}) {
    const DrawingScale scale{denominator, results.job.site.unit};
    const double interval = contour_interval(results, scale);
    EXPECT_GE(interval / slope * scale.points_per_unit(), 7 - 1e-9);
    EXPECT_GE(interval, 1.0);
  }
}

// Too few shots to tell which of them strays: the ground reaches a hundred million feet, and its lines are drawn as far
// as the paper does.
TEST(PlanDrawing, LinesThatLeadFarOffThePaperTakeNoLonger) {
  const Scratch folder;
  SiteResults results = tiny_results(folder);
  results.survey.ground_shots.push_back({"5", 120, 1e8, 106, "GR", 6});
  const MoundResults near = results.mounds[0];
  results.shared_ground = std::make_shared<const Ground>(make_ground(results.survey.ground_shots));
  results.mounds.clear();
  results.mounds.push_back({place_mound(place_as_drawn(results.ground(), near.mound.design())), near.found});
  const auto start = std::chrono::steady_clock::now();
  const std::string text = text_of(words_of(sheet_width, sheet_height, plan_of(results)));
  EXPECT_LT(std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count(), 2.0);  // 0.1 as a rule
  EXPECT_THAT(text, HasSubstr("Scale"));
  EXPECT_THAT(text, HasSubstr("103"));  // a contour's
}

// ---- pictures ----------------------------------------------------------------------------------------------------

cairo_status_t read_bytes(void* png, unsigned char* to, unsigned count) {
  std::string& bytes = *static_cast<std::string*>(png);
  if (bytes.size() < count) return CAIRO_STATUS_READ_ERROR;
  std::copy_n(bytes.begin(), count, to);
  bytes.erase(0, count);
  return CAIRO_STATUS_SUCCESS;
}

// Noise, which cannot be compressed.
TEST(Pictures, ReadBackAsTheyWereDrawn) {
  constexpr int width = 301, height = 203;
  std::mt19937 generator(3);
  std::vector<std::uint32_t> pixels(std::size_t{width} * height);
  for (std::uint32_t& pixel : pixels) pixel = generator() & 0xFFFFFFU;
  std::string png = png_of_drawing(width, height, 72, [&](cairo_t* cairo) {
    cairo_surface_t* noise = cairo_image_surface_create_for_data(reinterpret_cast<unsigned char*>(pixels.data()),
                                                                 CAIRO_FORMAT_RGB24, width, height, 4 * width);
    cairo_set_source_surface(cairo, noise, 0, 0);
    cairo_paint(cairo);
    cairo_surface_destroy(noise);
  });
  EXPECT_GT(png.size(), std::size_t{3} * width * height);
  cairo_surface_t* read = cairo_image_surface_create_from_png_stream(read_bytes, &png);
  ASSERT_EQ(cairo_surface_status(read), CAIRO_STATUS_SUCCESS);
  ASSERT_EQ(cairo_image_surface_get_width(read), width);
  ASSERT_EQ(cairo_image_surface_get_height(read), height);
  for (int y = 0; y < height; ++y) {
    const unsigned char* row =
        cairo_image_surface_get_data(read) + std::ptrdiff_t{y} * cairo_image_surface_get_stride(read);
    for (int x = 0; x < width; ++x) {
      std::uint32_t pixel = 0;
      std::memcpy(&pixel, row + std::ptrdiff_t{4} * x, 4);
      ASSERT_EQ(pixel & 0xFFFFFFU, pixels[static_cast<std::size_t>(y * width + x)]) << x << ", " << y;
    }
  }
  cairo_surface_destroy(read);
}

TEST(Pictures, TheSameJobGivesTheSameBytesAndAnotherJobOthers) {
  const SiteResults one = demo_results("fernhollow"), other = demo_results("ridgeback");
  const std::string plan = plan_png(one), section = section_png(one);
  EXPECT_EQ(plan, plan_png(demo_results_anew("fernhollow")));
  EXPECT_EQ(section, section_png(demo_results_anew("fernhollow")));
  EXPECT_NE(plan, plan_png(other));
  EXPECT_NE(section, section_png(other));
  for (const std::string& png : {plan, section}) EXPECT_EQ(png.substr(0, 8), "\x89PNG\r\n\x1a\n");
}

}  // namespace
}  // namespace moundwright::io

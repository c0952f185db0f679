// What every drawing on paper is made of: pens, text, hatches, arrows, scale bars, dimension lines, and labels that
// keep out of each other's way. Sheets in PDF and pictures in PNG use the same drawings.
//
//   Paper unit: one point (1/72 in), x to the right, y down; a cairo context whose unit is something else is scaled by
//   its owner. Widths, text sizes and hatches below are in points and do not follow the map's scale.
//
// Everything is drawn by Cairo and Pango in DejaVu Sans, with metrics that do not depend on the output's resolution.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "geom/ground.h"
#include "geom/units.h"
#include "io/colour.h"
#include "io/material_style.h"

typedef struct _cairo cairo_t;  // NOLINT(modernize-use-using,bugprone-reserved-identifier): as cairo.h has it

namespace moundwright::io {

/// Points of paper.
struct PaperRect {
  double left = 0, top = 0, width = 0, height = 0;
  double right() const { return left + width; }
  double bottom() const { return top + height; }
  Point2 centre() const { return {left + 0.5 * width, top + 0.5 * height}; }
  bool contains(const PaperRect& inner) const {
    return inner.left >= left && inner.top >= top && inner.right() <= right() && inner.bottom() <= bottom();
  }
  bool contains(const Point2& p) const {
    return p.x() >= left && p.y() >= top && p.x() <= right() && p.y() <= bottom();
  }
  bool meets(const PaperRect& other) const {
    return left < other.right() && other.left < right() && top < other.bottom() && other.top < bottom();
  }
};

/// `rect` made smaller by `margin` on every side.
PaperRect inset(const PaperRect& rect, double margin);

constexpr Colour ink{0.08, 0.08, 0.08};
constexpr Colour paper_white{1, 1, 1};
constexpr Colour soft_ink{0.42, 0.42, 0.42};

// ---- pens --------------------------------------------------------------------------------------------------------

struct Pen {
  double width = 0.5;
  Colour colour = ink;
  std::vector<double> dashes = {};
};

void set_colour(cairo_t* cairo, const Colour& colour, double opacity = 1.0);
/// Sets width, colour and dashes, with round joins.
void take_pen(cairo_t* cairo, const Pen& pen);
void add_path(cairo_t* cairo, const Polyline2& line, bool closed = false);
void draw_line(cairo_t* cairo, const Polyline2& line, const Pen& pen, bool closed = false);
void draw_rect(cairo_t* cairo, const PaperRect& rect, const Pen& pen);
void fill_rect(cairo_t* cairo, const PaperRect& rect, const Colour& colour, double opacity = 1.0);

// ---- materials ---------------------------------------------------------------------------------------------------

/// Fills the current path (even-odd) with a material's colour and hatch, and clears it.
void fill_material(cairo_t* cairo, const MaterialStyle& style, double opacity = 1.0);
/// After how many points across and down a hatch comes again; of dots, their rows do.
Point2 hatch_period(Hatch hatch);
/// A patch for a legend.
void draw_swatch(cairo_t* cairo, const PaperRect& rect, const MaterialStyle& style);

// ---- text --------------------------------------------------------------------------------------------------------

struct TextStyle {
  double size = 7;
  bool bold = false, italic = false;
  Colour colour = ink;
  double halo = 0;  // how far white reaches past the ink, to keep text legible over lines
};

struct TextSize {
  double width = 0, height = 0;
};
TextSize measure_text(cairo_t* cairo, const std::string& text, const TextStyle& style);

/// Draws `text` so that the point of its box that lies `across` of its width from the left and `down` of its height
/// from the top stands at `at`. `angle` turns it about there, radians clockwise on paper. Several lines, each beginning
/// at the left, where `text` has line breaks.
void draw_text(cairo_t* cairo, const std::string& text, const Point2& at, double across, double down,
               const TextStyle& style = {}, double angle = 0);

/// From `at` to the right, in a line no longer than `width`: in smaller print where it must be, and cut short with
/// three dots where even that is too long.
void draw_fitting(cairo_t* cairo, const std::string& text, const Point2& at, double down, double width,
                  TextStyle style);

/// Draws text broken into lines of at most `width`, from `at` down, and returns its height.
double draw_paragraph(cairo_t* cairo, const std::string& text, const Point2& at, double width,
                      const TextStyle& style = {});
/// The height it would take.
double paragraph_height(cairo_t* cairo, const std::string& text, double width, const TextStyle& style = {});

// ---- labels that keep out of each other's way ----------------------------------------------------------------------

/// Remembers what is drawn where, and finds places for labels. Things are blocked in the order they are drawn; labels
/// that matter most are placed first.
class LabelField {
 public:
  explicit LabelField(const PaperRect& inside) : inside_(inside) {}

  /// Labels never cover this.
  void keep_off(const PaperRect& rect) { taken_.push_back(rect); }
  void keep_off(const Point2& at, double radius);
  /// The same for text, which leaders avoid as well.
  void keep_off_text(const PaperRect& rect);
  /// Labels avoid lying over this line where they can.
  void avoid(const Polyline2& line, bool closed = false);

  bool is_free(const PaperRect& rect) const;
  /// Length of the lines to be avoided that a box would cover.
  double crossed(const PaperRect& rect) const;

  /// Draws a label beside `anchor`, `gap` away, or farther off with a leader where it is crowded; false where there
  /// is no room and nothing was drawn.
  bool place(cairo_t* cairo, const std::string& text, const Point2& anchor, double gap, const TextStyle& style = {});

  /// Draws a label off to the side with a leader that ends in a dot at `anchor`, as for what lies inside a drawing;
  /// false where there is no room.
  bool place_with_leader(cairo_t* cairo, const std::string& text, const Point2& anchor, const TextStyle& style = {});

  /// A box of this size in the emptiest corner, or nearest to one; taken from then on.
  PaperRect take_corner(double width, double height);

  /// A label along a line, turned to be read from below or from the right; tried at even spacing, best place first.
  bool place_along(cairo_t* cairo, const std::string& text, const Polyline2& line, const TextStyle& style = {});

 private:
  double labels_under(const Point2& from, const Point2& to) const;

  PaperRect inside_;
  std::vector<PaperRect> taken_, labels_;
  std::vector<std::pair<Point2, Point2>> lines_;
};

// ---- scales ------------------------------------------------------------------------------------------------------

/// A true scale: job units on the ground for one unit on paper.
struct DrawingScale {
  double denominator = 240;
  LengthUnit unit = LengthUnit::foot;
  double points_per_unit() const { return 72.0 * metres_per(unit) / (0.0254 * denominator); }
};

/// "1 in = 20 ft" or "1:200".
std::string to_text(const DrawingScale& scale);

/// The largest engineering scale (1 in = 1, 2, 4, 5, 10, 20, 30, 40, 50, 60 ... ft; 1:10, 20, 25, 50, 100, 200, 250,
/// 500 ... in metres) at which width by height job units go into so many points.
DrawingScale fitting_scale(LengthUnit unit, double width, double height, double paper_width, double paper_height);

/// 1, 2 or 5 times a power of ten, at least `least`.
double round_step(double least);

// ---- furniture ---------------------------------------------------------------------------------------------------

/// North arrow of this height about `centre`, its N above it. `north` and `east` are where a step of one that way goes
/// on paper: unit vectors on a plan turned any way, shorter in a view from the side.
void draw_north_arrow(cairo_t* cairo, const Point2& centre, double height, const Point2& north = {0, -1},
                      const Point2& east = {1, 0});

/// Height and width that draw_scale_bar takes.
TextSize scale_bar_size(const DrawingScale& scale, double most_width);
/// Bar with figures and the scale in words, from `at` (its left top corner).
void draw_scale_bar(cairo_t* cairo, const Point2& at, const DrawingScale& scale, double most_width);

/// Dimension line between two points with ticks at the ends and a text in the middle: the first of `texts` that goes
/// between the ticks, or the last beside the line where none does. Give the longest first.
void draw_dimension(cairo_t* cairo, const Point2& from, const Point2& to, const std::vector<std::string>& texts,
                    const TextStyle& style = {});

void draw_arrow_head(cairo_t* cairo, const Point2& tip, const Point2& direction, double length,
                     const Colour& colour = ink);

}  // namespace moundwright::io

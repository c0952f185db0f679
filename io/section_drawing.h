// Sections: the mound cut across and along, every layer filled and named, drawn on paper to a true scale.
//
//   const std::vector<SectionCut> cuts = standard_cuts(results);            // A-A' across, B-B' along the bed
//   const SectionScale scale = section_scale(results, cuts[0], frame);
//   draw_section(cairo, results, cuts[0], frame, scale);
//
// Heights may be exaggerated; if they are, the drawing says by how much. Left to right is upslope to downslope across,
// and left end to right end (seen looking downslope) along. A bent bed is cut along its bent centre line.
#pragma once

#include "geom/sections.h"
#include "io/drawing.h"
#include "io/results.h"

namespace moundwright::io {

struct SectionCut {
  std::string mark;   // "A"
  std::string title;  // "across the mound at the middle of the bed"
  Polyline2 line;     // reduced plan coordinates; straight, or along a bent bed
  double zero = 0;    // distance along the line that is called `zero_name`
  bool across = true;
};

/// Across at mid-length of the bed (where that is at a bend, in the middle of a piece beside it), and along its centre
/// line; each from a little outside the toe to a little outside.
std::vector<SectionCut> standard_cuts(const SiteResults& results);

/// The section under a cut whose line may bend; distances run on from piece to piece.
Section section_along(const SiteResults& results, const Polyline2& line);

struct SectionScale {
  DrawingScale level;       // along the section
  double exaggeration = 1;  // of heights
};

struct SectionOptions {
  bool title = true;
  bool layer_labels = true;
  bool dimensions = true;
  bool elevation_scale = true;
  bool grades = true;  // the grade card's levels at the right
};

/// The largest engineering scale at which the section goes into the frame. Heights are exaggerated, 2 times across and
/// 4 times along, where that costs no scale.
SectionScale section_scale(const SiteResults& results, const SectionCut& cut, const PaperRect& frame,
                           const SectionOptions& options = {});

/// Draws into `frame`: title below, elevations at the sides, dimensions above.
void draw_section(cairo_t* cairo, const SiteResults& results, const SectionCut& cut, const PaperRect& frame,
                  const SectionScale& scale, const SectionOptions& options = {});

/// Swatch, name, material and in-place yards (cubic metres in a metric job) of every layer and cut, from the top of
/// `box` down, in so many columns side by side. Returns the height used.
double draw_material_key(cairo_t* cairo, const SiteResults& results, const PaperRect& box, std::size_t columns = 1);
double material_key_height(const SiteResults& results, std::size_t columns = 1);

}  // namespace moundwright::io

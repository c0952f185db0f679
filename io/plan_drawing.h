// The plan: ground, mound, stakes and what is round about, drawn on paper to a true scale, north up.
//
//   const PaperRect frame{36, 72, 540, 400};                                // points
//   const PlanExtent extent = plan_extent(results, PlanView::whole_lot);
//   const DrawingScale scale = plan_scale(results, extent, frame);          // the largest engineering scale that fits
//   draw_plan(cairo, results, frame, extent, scale);
//
// What lies outside the frame is cut off; labels never are. Existing contours are broken lines, finished ones whole.
#pragma once

#include "io/drawing.h"
#include "io/results.h"

namespace moundwright::io {

/// Parts of the plan that are shown.
struct PlanOptions {
  bool existing_contours = true;
  bool finished_contours = true;
  bool layer_outlines = true;  // of each layer's flat top
  bool stakes = true;
  bool stake_numbers = true;
  bool tape_ties = true;  // distances from the two marks to a hub at each end of the bed
  bool bench_mark = true;
  bool keep_clear = true;
  bool borings = true;
  bool breaklines = true;
  bool section_lines = true;
  bool survey_limit = true;
  bool grid_ticks = true;
  bool north_arrow = true;
  bool scale_bar = true;
};

/// A box on the lot in the survey's coordinates.
struct PlanExtent {
  Point2 low = Point2::Zero(), high = Point2::Zero();  // easting, northing
  Point2 centre() const { return 0.5 * (low + high); }
};

enum class PlanView {
  whole_lot,  // mound, stakes, bench mark, ties and everything to keep clear of
  work,       // mound and stakes, close up
};
PlanExtent plan_extent(const SiteResults& results, PlanView view);

/// The largest engineering scale at which the extent goes into the frame.
DrawingScale plan_scale(const SiteResults& results, const PlanExtent& extent, const PaperRect& frame);

/// Draws into `frame` with the middle of `extent` at its middle.
void draw_plan(cairo_t* cairo, const SiteResults& results, const PaperRect& frame, const PlanExtent& extent,
               const DrawingScale& scale, const PlanOptions& options = {});

/// What the plan's lines and marks mean, from the top of `box` down; only what `options` show and the job has. Returns
/// the height used.
double draw_plan_key(cairo_t* cairo, const SiteResults& results, const PaperRect& box, const PlanOptions& options = {});

/// Contour interval of a plan at this scale: 1, 2 or 5 times a power of ten job units, so that contours stand apart.
double contour_interval(const SiteResults& results, const DrawingScale& scale);

}  // namespace moundwright::io

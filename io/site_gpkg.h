// site.gpkg: the lot, the mound and the stakes as layers of a GeoPackage, for a geographic information system.
//
// Layers, each of one kind of geometry and left out where it would be empty:
//   shots, breaklines, existing_contours · toe, finished_contours, layer_outlines, bed · stakes, marks · borings ·
//   keep_clear_points, keep_clear_lines, keep_clear_areas
// Geometry is easting, northing (and elevation for shots, breaklines and contours) in the job's unit, in the job's
// coordinate system, or without one on a plain grid in that unit. Yards are cubic yards in place. Same job, same bytes.
#pragma once

#include <string>

#include "io/results.h"

namespace moundwright::io {

std::string site_gpkg(const SiteResults& results);

/// Between contours: 1 ft or 0.25 m.
double gpkg_contour_interval(LengthUnit unit);

}  // namespace moundwright::io

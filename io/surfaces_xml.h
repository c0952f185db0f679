// surfaces.xml: the ground, the mound's surfaces and the stakes in LandXML 1.2.
//
// Surfaces, each a TIN: "existing ground" (with its breaklines and outline as source data), "prepared ground", "top of
// <layer>" for every layer, and "finished lot", the ground with the mound on it. All but the first and the last lie on
// one plan, the footprint, so that the volume between two of them is the layer's. Points are northing, easting,
// elevation in the job's unit (foot, USSurveyFoot or meter), to a millionth. A TIN cannot stand upright: vertical faces
// lean by face_lean (geom/surfaces.h), and the file says so.
#pragma once

#include <string>

#include "io/results.h"

namespace moundwright::io {

std::string surfaces_xml(const SiteResults& results);

}  // namespace moundwright::io

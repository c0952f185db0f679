// A lot and the mound on it, kept together while a test puts both to use.
#pragma once

#include "geom/design.h"
#include "geom/site_design.h"

namespace moundwright::test_support {

struct SiteWithMound : SiteDesign {
  MoundDesign mound;
};

}  // namespace moundwright::test_support

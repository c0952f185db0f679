// Small jobs written for a test, besides the demo jobs in surveys/.
#pragma once

#include <map>
#include <string>

#include "io/results.h"
#include "scratch.h"
#include "test_paths.h"

namespace moundwright::io {

/// A job of surveys/, read and computed.
inline SiteResults demo_results_anew(const std::string& name) {
  return compute_site(std::string(MOUNDWRIGHT_SURVEYS) + "/" + name + ".toml");
}

/// The same, once a process: under the sanitizers it takes seconds.
inline const SiteResults& demo_results(const std::string& name) {
  static std::map<std::string, SiteResults> known;
  const auto at = known.find(name);
  if (at != known.end()) return at->second;
  return known.emplace(name, demo_results_anew(name)).first->second;
}

/// A mound of two layers on four shots: an even slope of 5 % to the south.
inline SiteResults tiny_results(const Scratch& folder) {
  folder.put("ground.csv",
             "point,northing,easting,elevation,description\n"
             "1,0,0,100,GR\n2,0,120,100,GR\n3,120,0,106,GR\n4,120,120,106,GR\n");
  return compute_site(folder.put("tiny.toml",
                                 "[job]\ntitle = \"Tiny\"\nunits = \"ft\"\n[ground]\nshots = \"ground.csv\"\n"
                                 "[mound]\ncenter = { n = 60.0, e = 60.0 }\nazimuth = 90.0\n"
                                 "bed = { length = 20.0, width = 6.0 }\nbottom = { least_sand = 1.0 }\n"
                                 "downslope = 180.0\n"
                                 "[[layer]]\nname = \"sand\"\nmaterial = \"clean sand\"\ntop = 0.0\nbeyond = 1.0\n"
                                 "side = 2.0\n"
                                 "[[layer]]\nname = \"cover\"\nmaterial = \"loam\"\ntop = 1.0\nbeyond = 2.0\n"
                                 "side = 3.0\n"));
}

/// The same in metres, on a lot and at a size that suits them.
inline SiteResults metre_results(const Scratch& folder) {
  folder.put("ground-m.csv",
             "point,northing,easting,elevation,description\n"
             "1,0,0,30.000,GR\n2,0,40,30.400,GR\n3,20,21,31.100,GR\n4,40,0,32.000,GR\n5,40,40,32.300,GR\n");
  return compute_site(folder.put("metres.toml",
                                 "[job]\ntitle = \"Metres\"\nunits = \"m\"\n[ground]\nshots = \"ground-m.csv\"\n"
                                 "[benchmark]\nname = \"BM\"\nn = 2.0\ne = 2.0\nelevation = 30.100\n"
                                 "[mound]\ncenter = { n = 20.0, e = 20.0 }\nazimuth = 90.0\n"
                                 "bed = { length = 10.0, width = 2.0 }\nbottom = { least_sand = 0.3 }\n"
                                 "downslope = 180.0\n[prepare]\nstrip = 0.15\n"
                                 "[[layer]]\nname = \"core\"\nmaterial = \"clean sand\"\ntop = 0.0\nbeyond = 0.3\n"
                                 "side = 0.0\n"
                                 "[[layer]]\nname = \"stone\"\nmaterial = \"washed stone\"\ntop = 0.3\nbeyond = 0.0\n"
                                 "side = 0.0\n"
                                 "[[layer]]\nname = \"cover\"\nmaterial = \"sandy loam\"\ntop = 0.5\nbeyond = 1.0\n"
                                 "crown = 0.1\nside = 3.0\n"));
}

}  // namespace moundwright::io

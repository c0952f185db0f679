#include "io/job_toml.h"

namespace moundwright {

// Text on lines that begin "# " is for reading; keys on lines that begin "#" alone are optional parts.
std::string starter_job() {
  return R"(# One mound on one lot. Lengths and elevations are in the unit below; areas are plan areas unless they say otherwise.
# Lines that begin with # are for you to read. Take the # from a line such as  #strip = 0.5  to use it.

[job]
title = "Lot 1, Example Lane"
units = "ft"                          # ft (international feet), us-ft (US survey feet) or m
#crs = "EPSG:2253"                    # the coordinate system, if the survey is in a known one; in the units above

[ground]
shots = "ground.csv"                  # point, northing, easting, elevation, description; or with a header row
# What each column holds, if the file has no header row and is in another order ("ignore" for one of no interest):
#columns = ["point", "northing", "easting", "elevation", "description"]
# A shot's code is the first word of its description; EP1 and EP2 are two lines of the code EP.
#breaklines = ["EP", "DITCH"]         # codes whose shots, in file order, join into lines
#breakline_files = ["drive.csv"]      # each file is one line
#skip = ["BM", "WELL"]                # codes that are not ground
#longest_edge = 80.0                  # no triangle at the outside bridges more than this

#[benchmark]
#name = "BM1"
#n = 5000.0
#e = 5000.0
#elevation = 100.00

#[second_benchmark]                   # each stage of building begins with a check shot on it
#name = "BM2"
#n = 5191.0
#e = 4937.0
#elevation = 115.16

[mound]
center = { n = 5120.0, e = 4890.0 }   # the middle of the bed
azimuth = 74.0                        # of its long axis, degrees clockwise from grid north
bed = { length = 60.0, width = 10.0 } # bent: { width = 10.0, line = [{ n = 1.0, e = 2.0 }, ...] }, no center or azimuth
bottom = { least_sand = 1.5 }         # least sand under the bed; or the bed bottom itself, { elevation = 101.40 }
#downslope = 164.0                    # the way water runs, degrees; found from the ground and written here if left out

[prepare]
scarify = true                        # loosened in place
#strip = 0.5                          # topsoil taken off; only where the plan says so
#undercut = { elevation = 97.0, beyond = 1.0, side = 1.0 }   # a pit under the bed

# The layers, in the order they go down. Heights are above the bed bottom.

[[layer]]
name = "core"
material = "clean sand"
top = 0.0
beyond = 1.0                          # how far the flat top is carried past the bed's edge
side = 0.0                            # run to 1 of rise; 0 is vertical, against the next layer

[[layer]]
name = "stone"
material = "washed stone"
top = 1.0
beyond = 0.0
side = 0.0

[[layer]]
name = "shell"
material = "shell sand"
top = 1.0
beyond = { upslope = 3.0, downslope = 3.0, ends = 3.0 }   # by face; left and right are the ends seen looking downslope
side = 0.0

[[layer]]
name = "cover"
material = "sandy loam"
top = 1.5
crown = 0.5                           # the middle of the top stands this much higher than its long edges
corners = "round"                     # or "square"
beyond = 3.0
side = 3.0

# What the plan and the local code ask; each is checked if it is given.

#[requirements]
#separation = 3.0                     # bed bottom above the limiting soil layer
#daily_flow = 450.0                   # gallons a day
#loading_rate = 0.6                   # of the soil, gallons a day a square foot
#least_basal_area = 750.0             # square feet, where the plan gives it instead of flow and rate

#[[boring]]
#name = "B1"
#n = 5118.0
#e = 4885.0
#limiting_depth = 1.6                 # limiting layer below the ground

#[[keep_clear]]
#name = "well"
#at = { n = 5240.0, e = 4700.0 }
#from_bed = 50.0                      # least plan distance from the bed; from_toe likewise

#[[keep_clear]]
#name = "east line"
#line = [{ n = 4900.0, e = 5010.0 }, { n = 5300.0, e = 5010.0 }]
#closed = false                       # true for an area
#from_toe = 10.0

# What the stakes show besides bed and toe.

#[[tie]]
#name = "corner pin"                  # a mark to tape from; the first two are used
#n = 5010.0
#e = 5000.0

#[[feed]]
#name = "riser"
#n = 5120.0
#e = 4890.0
#elevation = 101.5                    # if it has one

#[laterals]
#invert = 0.6                         # above the bed bottom

#[stakes]
#station_interval = 10.0              # between slope stakes along a face
#hub_clearance = 5.0                  # hubs stand at a whole multiple of this beyond the toe

#[takeoff]
#section_interval = 5.0               # between the sections of the end-area check
)";
}

}  // namespace moundwright

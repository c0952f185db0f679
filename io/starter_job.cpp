#include "io/job_toml.h"

namespace moundwright::io {

// Text on lines that begin "# " is for reading; keys on lines that begin "#" alone are optional parts.
std::string starter_job() {
  return R"(# One mound on one lot. Lengths and elevations are in the unit below; areas are plan areas unless they say otherwise.
# Lines that begin with # are for you to read. Take the # from a line such as  #strip = 0.5  to use it.

[job]
title = "Lot 1, Example Lane"
units = "ft"                          # ft (international feet; also where left out), us-ft (US survey feet) or m
#materials = "materials.toml"         # a price list of your own, for many jobs: [[truck]], [[material]], [[machine]], [[worker]]
#crs = "EPSG:2253"                    # the coordinate system, if the survey is in a known one; in the units above

[ground]
shots = "ground.csv"                  # point, northing, easting, elevation, description; or with a header row
# Commas, semicolons, tabs, bars or blanks between the fields. What each column holds, if the file has no header row and
# is in another order ("ignore" for one of no interest; without "point" a shot is named by its line):
#columns = ["point", "northing", "easting", "elevation", "description"]
# A shot's code is what its description begins with. EP1 (or EP 1, EP-1) and EP2 are two lines of the code EP.
#breaklines = ["EP", "DITCH"]         # codes whose shots, in file order, join into lines
# Words behind a code say where a line begins and ends: B, BEG, BEGIN, ST, START; E, EN, END, STOP; CL, CLS, CLOSE
# (ends where it began). If your crew uses others:
#line_words = { begin = ["B"], end = ["E"], close = ["C"] }
#breakline_files = ["drive.csv"]      # each file is one line
#skip = ["BM", "WELL"]                # codes that are not ground
#longest_edge = 80.0                  # no triangle at the outside bridges more than this
#extend = 2.0                         # where the berm leaves the survey: carried on so far as assumed ground, 10 ft at most

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
#settlement = 8.0                     # percent of its placed thickness
beyond = 3.0
side = 3.0

# What the plan and the local code ask; each is checked if it is given.

#[requirements]
#separation = 3.0                     # bed bottom above the limiting soil layer
#daily_flow = 450.0                   # gallons a day; liters where units = "m"
#loading_rate = 0.6                   # of the soil, gallons a day a square foot, or liters a day a square meter
#least_basal_area = 750.0             # square feet or square meters, where the plan gives it instead of flow and rate

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

# What an order and a bid want; all of it optional, and what is missing is told. Percent throughout.

#[accuracy]                           # of a shot's elevation, one standard deviation
#random = 0.05                        # each shot by itself
#systematic = 0.03                    # common to all of them, such as the bench mark's

#[[truck]]
#name = "tri-axle"
#tons = 16.0                          # or tonnes; whichever of the two is full first binds
#loose_yards = 14.0                   # or loose_m3
#haul_off_per_load = 135.0            # one load taken off the site, dump fee and all

#[[material]]
#name = "clean sand"
#swell = 11.0                         # bank to loose, of the bank yard
#shrink = 5.0                         # bank to compacted, of the bank yard
#loose_weight = 2700.0                # dry, pounds a yard (kg/m3 where units = "m"); bank_weight, compacted_weight
#moisture = 4.0                       # of the dry weight, as delivered
#waste = 4.0                          # of what goes in place
#price = { per_ton = 19.40 }          # delivered; or per_yard (loose), per_load, per_tonne, per_m3 (loose)
#haul_per_load = 95.0                 # on top, where the price is at the pit
#truck = "tri-axle"
#specification = "ASTM C33 fine aggregate"   # for `moundwright sieve`; limits of your own win:
#limits = [{ sieve = "No. 4", least = 95, most = 100 }, { sieve = "No. 200", most = 3 }]
#d10 = { least = 0.15, most = 0.30 }  # mm; uniformity and fineness_modulus likewise

#[[material]]
#name = "topsoil"
#swell = 22.0
#shrink = 10.0

#[[material]]
#name = "sandy loam"
#swell = 16.0
#shrink = 8.0

#[lifts]
#depth = 0.75                         # of material placed at once
#layers = ["core", "shell"]           # that go up together
#face_run = 1.3                       # a loose lift stands at 1.3:1 where the plan has a vertical face
#pressed = 0.04                       # depth of sand that goes into scarified ground

#[[blend]]
#material = "sandy loam"
#parts = { "clean sand" = 1.5, topsoil = 1.0 }   # by loose volume; or percent = { ... }, which adds up to 100
#mixing_shrink = 8.0                  # that the parts lose in mixing

#[[site_soil]]
#name = "tank pits"
#bank_yards = 80.0                    # or bank_m3; or length, width and depth; or from = "strip" or "undercut"
#material = "topsoil"                 # whose swell holds, and that it can stand in for
#loss = 10.0                          # roots, stones and handling
#goes = "use"                         # or "haul off" or "spread"
#surplus = "spread"                   # of what is used, the rest: "haul off" or "spread"

#[scarify]
#price = { per_sq_ft = 0.05 }

#[fabric]
#over = "stone"
#overlap = 1.0
#roll = { width = 12.5, length = 300.0 }
#price = { per_roll = 265.0 }

#[[seeding]]
#name = "seed"
#lb_per_1000_sq_ft = 6.0              # of true slope; or bales_ or yards_; or kg_, bales_ or m3_per_100_sq_m
#price = { per_lb = 4.20 }

#[silt_fence]
#below_toe = 6.0
#returns = 10.0                       # each end turned uphill
#price = { per_ft = 3.10 }

#[[stockpile]]
#material = "clean sand"
#loads = 4.0                          # on the ground at once
#height = 6.0
#run = 1.5                            # run to 1 of rise that it stands at
#at = { n = 5172.0, e = 4872.0 }      # told if it would lie on the mound or below it

#[[pipe]]
#name = "force main"
#length = 74.0
#price = { per_ft = 5.60 }

#[[machine]]
#name = "excavator"
#per_hour = 118.0

#[[worker]]
#name = "operator"
#per_hour = 58.0

#[[task]]
#name = "sand up in lifts"
#of = ["core", "shell"]               # layers, strip, undercut or site soil by yards_per_hour; scarify, fabric or a
#yards_per_hour = 42.0                # seeding by area_per_hour (square job units); or no `of` and hours = 8.0
#machines = ["excavator"]
#crew = ["operator"]

#[bid]
#currency = "$"
#overhead = 11.0                      # of the direct cost
#margin = 10.0                        # of the price
#charged = "as ordered"               # what a price by ton or yard is of; or "whole loads": what the trucks bring
)";
}

}  // namespace moundwright::io

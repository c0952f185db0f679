// Does the survey look right? Shots far out of line with their neighbours, and a bench mark that does not fit the
// shots. Everything here only points a finger: a person decides.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "geom/ground.h"
#include "geom/lot.h"

namespace moundwright {

/// A shot that stands above (or below) all of its neighbours by more than the survey's own roughness explains.
struct Bust {
  std::uint32_t point = 0;  // index into Ground::points
  double stands_out = 0;    // above (+) or below (-) the nearest of its neighbours in elevation, trend taken off
  double lowest = 0, highest = 0, mean = 0;  // elevations of its neighbours
};

/// Finds busts. A shot is one when it lies beyond all of its neighbours on one side (so that the top of a bank or the
/// bottom of a ditch, which has neighbours along the line, is none), by more than `factor` times the survey's spread
/// (1.4826 times the median distance of shots from the mean of their neighbours, which is the standard deviation for
/// normal errors) and by more than 5 % of the distance to them, and when the triangles behind its neighbours, carried
/// on to it, do not explain it either. Busts side by side hide one another: bust_groups.h. Worst first.
std::vector<Bust> find_busts(const Ground& ground, double factor);

/// Warns for each group of busts, for each pair of shots too close and too steep (close_pairs.h), then for each bust,
/// with the shot's and its neighbours' elevations; after twenty only counts them. A shot beside a group is no bust: the
/// group makes it look like one. A group that was shot under one code, which nothing next to it has, is noted only.
Problems bust_warnings(const Ground& ground, const std::vector<Shot>& shots, const std::vector<Breakline>& breaklines,
                       const GroundOptions& options);

/// Compares the bench mark as the job gives it with the shots:
///  - far outside the shots as given but among them with northing and easting exchanged, or in the other of feet and
///    meters: warned of;
///  - elevation far outside the shots' as given but among them times or over 3.2808: feet and meters mixed, an error;
///    and so is one that is off by more than 100 and 5 times the shots' relief, where the mark lies beside them;
///  - a shot of the same name that differs from it in N and E by 2 parts in a million: international and US survey feet
///    mixed, warned of; that differs otherwise by more than 0.1: warned of with both;
///  - a shot of the same name whose elevation differs by more than `grade_limit`: warned of with both.
/// A bench mark may well lie off the lot, so distance alone is told only where no shot comes near it by ten times the
/// survey's size. `to_exchange` says how northing and easting of the shots are exchanged ("exchange the headings ...").
Problems check_benchmark(const std::vector<Shot>& shots, const Mark& benchmark, double grade_limit,
                         const std::string& to_exchange = {});

/// The same for both bench marks of a job, as far as it has them; and warns where the two are one place.
Problems check_benchmarks(const std::vector<Shot>& shots, const std::optional<Mark>& first,
                          const std::optional<Mark>& second, double grade_limit, const std::string& to_exchange = {});

/// Warns where the middle of the bed lies as far from the shots, or would be among them in one of those ways: what a
/// job without a bench mark can show. `key` is the job's.
Problems check_bed_place(const std::vector<Shot>& shots, const Point2& middle, const std::string& key,
                         const std::string& to_exchange = {});

}  // namespace moundwright

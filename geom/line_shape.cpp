#include "geom/line_shape.h"

#include <algorithm>
#include <cmath>

namespace moundwright {
namespace {

constexpr double many_times = 5, some_times = 2;  // the median; common practice has no figure
constexpr double turned_back = -0.2;              // cosine of 102 degrees: more than round a square corner
constexpr double against = -0.7;                  // cosine of 134 degrees: the other way, roughly

std::vector<Point2> stretches_of(const Polyline2& line) {
  std::vector<Point2> stretches;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) stretches.emplace_back(line[i + 1] - line[i]);
  return stretches;
}

/// Of those that have any length: a shot taken twice is no stretch.
double median_length(const std::vector<Point2>& stretches) {
  std::vector<double> lengths;
  for (const Point2& s : stretches) {
    if (s.norm() > 0) lengths.push_back(s.norm());
  }
  if (lengths.empty()) return 0;
  const auto middle = lengths.begin() + static_cast<std::ptrdiff_t>((lengths.size() - 1) / 2);
  std::nth_element(lengths.begin(), middle, lengths.end());
  return *middle;
}

bool turns_beyond(const Point2& a, const Point2& b, double cosine) { return a.dot(b) < cosine * a.norm() * b.norm(); }

}  // namespace

std::vector<LineLeap> find_leaps(const Polyline2& line) {
  const std::vector<Point2> stretches = stretches_of(line);
  const double usual = median_length(stretches);
  std::vector<LineLeap> leaps;
  if (stretches.size() < 3 || !(usual > 0)) return leaps;
  for (std::size_t i = 0; i < stretches.size(); ++i) {
    const double length = stretches[i].norm();
    const bool has_before = i > 0, has_after = i + 1 < stretches.size();
    const double beside = std::max(has_before ? stretches[i - 1].norm() : 0, has_after ? stretches[i + 1].norm() : 0);
    const bool turns_back = has_before && has_after && turns_beyond(stretches[i - 1], stretches[i], turned_back) &&
                            turns_beyond(stretches[i], stretches[i + 1], turned_back);
    if (length > (turns_back ? some_times : many_times) * usual && length >= 2 * beside) {
      leaps.push_back({i, length, usual});
    }
  }
  std::stable_sort(leaps.begin(), leaps.end(), [](const auto& a, const auto& b) { return a.length > b.length; });
  return leaps;
}

std::size_t count_returns(const Polyline2& line) {
  const std::vector<Point2> stretches = stretches_of(line);
  std::size_t count = 0;
  for (std::size_t i = 0; i + 1 < stretches.size(); ++i) {
    const bool into_next = turns_beyond(stretches[i], stretches[i + 1], turned_back);
    const bool beside_next = i + 2 < stretches.size() && turns_beyond(stretches[i], stretches[i + 2], against);
    count += into_next || beside_next;
  }
  return count;
}

bool goes_to_and_fro(const Polyline2& line) {
  const std::size_t returns = count_returns(line);
  return returns >= 3 && 3 * returns > line.size() - 1;
}

}  // namespace moundwright

#include "io/points_csv.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "io/ascii.h"
#include "io/known_marks.h"

namespace moundwright::io {
namespace {

const char* code_of(StakeKind kind) {
  switch (kind) {
    case StakeKind::hub:
      return "HUB";
    case StakeKind::slope:
      return "SLOPE";
    case StakeKind::feed:
      return "FEED";
  }
  return "";
}

struct CollectorPoint {
  int number;
  double northing, easting;
  std::optional<double> elevation;
  std::string description;
};

/// Numbers behind all stakes that the survey does not use.
class FreeNumbers {
 public:
  explicit FreeNumbers(const SiteResults& results) {
    for (const Shot& shot : results.survey.all) taken_.insert(shot.point);
    for (const Stake& stake : results.found().stakes.stakes) next_ = std::max(next_, stake.number + 1);
  }
  int take() {
    while (taken_.contains(std::to_string(next_))) ++next_;
    return next_++;
  }

 private:
  std::set<std::string> taken_;
  int next_ = 1001;
};

void add_mark(const Mark& mark, const char* code, FreeNumbers& numbers, std::vector<CollectorPoint>& points) {
  points.push_back({numbers.take(), mark.at.y(), mark.at.x(), mark.elevation, fmt::format("{} {}", code, mark.name)});
}

std::vector<CollectorPoint> points_of(const SiteResults& results) {
  std::vector<CollectorPoint> points;
  for (const Stake& stake : results.found().stakes.stakes) {
    points.push_back({stake.number, stake.northing, stake.easting, stake.design,
                      fmt::format("{} {} {} {}", code_of(stake.kind), stake.station, stake.offset, stake.what)});
  }
  FreeNumbers numbers(results);
  for (const KnownMark& known : known_marks(results.job.site.lot)) {
    add_mark(known.mark, known.is_benchmark ? "BM" : "TIE", numbers, points);
  }
  return points;
}

}  // namespace

std::string collector_text(std::string_view text) {
  std::string plain;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == ',' || c == '"' || (byte & 0xC0) == 0x80) continue;  // the latter: a character's further bytes in UTF-8
    const bool blank = byte <= ' ' || byte == 0x7F;
    if (blank && (plain.empty() || plain.back() == ' ')) continue;
    plain += blank ? ' ' : byte >= 0x80 ? '?' : c;
  }
  return std::string(trimmed(plain));
}

std::string points_csv(const SiteResults& results) {
  const int decimals = length_decimals(results.job.site.unit);
  std::string csv;
  for (const CollectorPoint& point : points_of(results)) {
    csv +=
        fmt::format("{},{},{},{},{}\n", point.number, fixed_text(point.northing, 3), fixed_text(point.easting, 3),
                    point.elevation ? fixed_text(*point.elevation, decimals) : "", collector_text(point.description));
  }
  return csv;
}

}  // namespace moundwright::io

// Any bytes are either shots or a Refusal with an error in it; shots have finite numbers, names that every file can
// hold and breaklines that lead to shots.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

#include "io/plain_text.h"
#include "io/shots_csv.h"

namespace {

void require(bool holds) {
  if (!holds) std::abort();
}

void check_text(const std::string& text) {
  moundwright::Problems notes;
  require(!moundwright::io::converted_to_utf8(text, "a name", notes));
  require(!moundwright::io::forbidden_character(text, true));
}

void check(const moundwright::io::Survey& survey) {
  require(!survey.ground_shots.empty() && survey.all.size() >= survey.ground_shots.size());
  require(!survey.notes.has_errors());
  for (const moundwright::Shot& shot : survey.all) {
    require(!shot.point.empty() && shot.line > 0);
    check_text(shot.point);
    check_text(shot.description);
    require(std::isfinite(shot.northing) && std::isfinite(shot.easting) && std::isfinite(shot.elevation));
  }
  for (const moundwright::Breakline& line : survey.breaklines) {
    require(line.size() > 1);
    for (const std::size_t index : line) require(index < survey.ground_shots.size());
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  const std::string_view csv(reinterpret_cast<const char*>(bytes), size);
  const std::vector<std::vector<std::string>> orders = {
      {}, {"point", "easting", "northing", "ignore", "elevation"}, {"northing", "easting", "elevation", "description"}};
  for (const std::vector<std::string>& order : orders) {
    moundwright::io::ShotsOptions options;
    options.codes = {{"EP", "DITCH"}, {"BM"}};
    options.columns = order;
    if (order.size() == 4) options.unit = moundwright::LengthUnit::metre;
    try {
      check(moundwright::io::shots_from_csv(csv, "fuzz.csv", options));
    } catch (const moundwright::Refusal& refusal) {
      require(moundwright::Problems{refusal.problems()}.has_errors());
    }
  }
  return 0;
}

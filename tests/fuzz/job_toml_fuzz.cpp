// Any bytes are either a job or a Refusal with an error in it. A text that is TOML takes an edit and then says what was
// asked, or the edit is refused; a job taken through an edit of a key that it has stays a job.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "io/job_toml.h"

namespace {

void require(bool holds) {
  if (!holds) std::abort();
}

template <class Work>
bool succeeds(Work&& work) {
  try {
    work();
    return true;
  } catch (const moundwright::Refusal& refusal) {
    require(moundwright::Problems{refusal.problems()}.has_errors());
    return false;
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  using moundwright::io::amended_job;
  using moundwright::io::job_from_toml;
  const std::string_view toml(reinterpret_cast<const char*>(bytes), size);
  const bool is_job = succeeds([&] { moundwright::io::job_from_toml(toml, "fuzz.toml"); });

  for (const char* key : {"mound.downslope", "mound.bottom.elevation", "layer.core.top"}) {
    std::string once;
    if (!succeeds([&] { once = moundwright::io::amended_job(toml, {{key, "164.0"}}); })) continue;
    require(moundwright::io::amended_job(once, {{key, "164.0"}}) == once);
    if (is_job && key == std::string_view("mound.downslope")) {
      // A bed that runs that way is refused.
      succeeds([&] { require(moundwright::io::job_from_toml(once, "fuzz.toml").mound.downslope == 164.0); });
    }
    succeeds([&] { moundwright::io::amended_job(once, {{key, std::nullopt}}); });
  }
  return 0;
}

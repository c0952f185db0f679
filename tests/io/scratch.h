// A folder of a test's own, gone when the test is done, and what the io tests ask of a Refusal.
#pragma once

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>  // mkdtemp
#include <filesystem>
#include <fstream>
#include <stdexcept>
#include <string>
#include <vector>

#include "geom/problem.h"

namespace moundwright {

class Scratch {
 public:
  Scratch() {
    std::string name = (std::filesystem::temp_directory_path() / "moundwright-test-XXXXXX").string();
    if (!::mkdtemp(name.data())) throw std::runtime_error("no scratch folder");
    folder_ = name;
  }
  Scratch(const Scratch&) = delete;
  Scratch& operator=(const Scratch&) = delete;
  ~Scratch() { std::filesystem::remove_all(folder_); }

  std::filesystem::path operator/(const std::string& name) const { return folder_ / name; }
  const std::filesystem::path& folder() const { return folder_; }
  std::filesystem::path put(const std::string& name, const std::string& bytes) const {
    std::ofstream(folder_ / name, std::ios::binary) << bytes;
    return folder_ / name;
  }
  /// Names in the folder, hidden ones too, sorted.
  std::vector<std::string> names() const {
    std::vector<std::string> all;
    for (const auto& entry : std::filesystem::directory_iterator(folder_)) all.push_back(entry.path().filename());
    std::sort(all.begin(), all.end());
    return all;
  }

 private:
  std::filesystem::path folder_;
};

/// The problems of the Refusal that `work` throws; the test fails if it throws none.
template <class Work>
std::vector<Problem> problems_of(Work&& work) {
  try {
    work();
  } catch (const Refusal& refusal) {
    return refusal.problems();
  }
  ADD_FAILURE() << "nothing was refused";
  return {};
}

inline auto is_error(const std::string& where, const std::string& in_what) {
  return testing::AllOf(testing::Field("severity", &Problem::severity, Severity::error),
                        testing::Field("where", &Problem::where, where),
                        testing::Field("what", &Problem::what, testing::HasSubstr(in_what)));
}

inline auto is_warning(const std::string& where, const std::string& in_what) {
  return testing::AllOf(testing::Field("severity", &Problem::severity, Severity::warning),
                        testing::Field("where", &Problem::where, where),
                        testing::Field("what", &Problem::what, testing::HasSubstr(in_what)));
}

inline auto is_note(const std::string& where, const std::string& in_what) {
  return testing::AllOf(testing::Field("severity", &Problem::severity, Severity::note),
                        testing::Field("where", &Problem::where, where),
                        testing::Field("what", &Problem::what, testing::HasSubstr(in_what)));
}

/// Printed by GoogleTest where a problem is not the one expected.
inline void PrintTo(const Problem& problem, std::ostream* out) { *out << to_text(problem); }

}  // namespace moundwright

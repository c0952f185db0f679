// The commands of the estimator beside `build`: a sieve ticket held against a specification, and jobs side by side.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace moundwright::viewer {

/// What a ticket is held against: a published specification by name, or a material of a job, whose own limits win over
/// the specification that it names. Both empty: every published one that the ticket can be held against.
struct SieveQuestion {
  std::string specification;
  std::filesystem::path job;
  std::string material;
};

/// Exit codes as in commands.h; 3 where the ticket does not pass.
int run_sieve(const std::filesystem::path& ticket, const SieveQuestion& question);

/// One column a job: yards, loads, price, berm lengths. A job that is refused is told, and the others are still
/// compared. Exit code 3 where one of the prices does not hold everything; checks that fail are a row of the table.
int run_compare(const std::vector<std::filesystem::path>& jobs);

}  // namespace moundwright::viewer

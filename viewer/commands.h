// The commands a person types. Each returns the process's exit code.
#pragma once

#include <filesystem>

#include "io/sheets_pdf.h"
#include "viewer/report.h"

namespace moundwright::viewer {

/// 0 done; 1 the input was refused and nothing was written; 2 the command line was wrong; 3 done, but the plan fails a
/// check against the ground, or a price that is told does not hold everything.
enum ExitCode { exit_done = 0, exit_refused = 1, exit_usage = 2, exit_check_failed = 3 };

int run_build(const std::filesystem::path& job, const std::filesystem::path& folder, const io::SheetOptions& sheets,
              ReportLength length);
int run_check(const std::filesystem::path& job, ReportLength length);
int run_view(const std::filesystem::path& job);
int run_new(const std::filesystem::path& file);

}  // namespace moundwright::viewer

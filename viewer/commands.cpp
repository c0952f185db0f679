#include "viewer/commands.h"

#include <fmt/format.h>
#include <tbb/task_group.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <utility>

#include "geom/price_gaps.h"
#include "io/gdal.h"
#include "io/packet.h"
#include "io/text_file.h"
#include "viewer/packet_files.h"
#include "viewer/refusals.h"
#include "viewer/report.h"

namespace moundwright::viewer {
namespace {

/// Tells on a terminal what is going on, for surveys that take a while.
void show_stage(const char* stage) {
  if (isatty(STDERR_FILENO) != 0) print_aside(fmt::format("{} ...\n", stage));
}

bool plan_fails(const io::SiteResults& results) {
  return std::any_of(results.found().checks.begin(), results.found().checks.end(),
                     [](const PlanCheck& check) { return check.verdict == Verdict::bad; });
}

/// Prints what is to be seen and gives the exit code; `blocked` are the reasons why nothing may be written.
int report(const io::SiteResults& results, const Problems& blocked, ReportLength length) {
  print_problems(results.notes);
  print(report_text(results, length));
  flush_printed();  // before anything is written
  print_problems(blocked);
  if (blocked.has_errors()) return exit_refused;
  return plan_fails(results) || price_is_incomplete(results.estimate) ? exit_check_failed : exit_done;
}

std::string downslope_found(const io::SiteResults& results) {
  return io::toml_number(*results.mound().design().downslope);
}

/// The direction is found once and kept in the job, so that it never swaps while the mound is moved about.
io::FileContent job_with_downslope(const io::SiteResults& results) {
  const std::filesystem::path& job = results.job.path;
  return {job, io::amended_job(io::read_file(job), {{"mound.downslope", downslope_found(results)}})};
}

/// The packet and, where the downslope was found, the job that holds it: without it the next packet might face the
/// other way.
void write_results(const std::filesystem::path& folder, std::vector<io::FileContent> files,
                   const io::SiteResults& results) {
  if (!results.downslope_was_found) return io::write_packet(folder, std::move(files));
  try {
    io::write_packet(folder, std::move(files), job_with_downslope(results));
  } catch (const Refusal& refusal) {
    const std::string job = results.job.path.string(), value = downslope_found(results);
    std::vector<Problem> problems = refusal.problems();
    if (std::any_of(problems.begin(), problems.end(), [&](const Problem& p) { return p.where == job; })) {
      problems.push_back({Severity::error,
                          fmt::format("downslope was found from the ground as {} and cannot be kept", value), job,
                          fmt::format("Write downslope = {} into [mound] yourself.", value)});
    }
    throw Refusal(std::move(problems));
  }
  print(fmt::format("\ndownslope = {} was found from the ground and written into {}\n", downslope_found(results),
                    results.job.path.string()));
}

/// Has GDAL loaded beside other work. By TBB, which loads something itself when it starts, and would wait for a thread
/// that is loading.
class LoadingGdal {
 public:
  LoadingGdal() {
    group_.run([] {
      try {
        io::gdal();
      } catch (...) {  // told where it is asked next
      }
    });
  }
  ~LoadingGdal() { group_.wait(); }
  LoadingGdal(const LoadingGdal&) = delete;
  LoadingGdal& operator=(const LoadingGdal&) = delete;

 private:
  tbb::task_group group_;
};

/// "summary.json, quantities.csv, ...".
std::string names_of(const std::vector<io::FileContent>& files) {
  std::vector<std::string> names;
  for (const io::FileContent& file : files) names.push_back(file.path.string());
  return fmt::format("{}", fmt::join(names, ", "));
}

/// Libraries that draw and load end the program by themselves where they get no memory, so that is told before. Of the
/// demo's packet, 640 MB are mapped on two cores, most of it only set aside for threads.
void require_memory() {
  constexpr std::size_t megabyte = 1'000'000, least = 700 * megabyte;
  const std::optional<std::size_t> limit = memory_limit();
  if (!limit || *limit >= least) return;
  throw Refusal({Severity::error,
                 fmt::format("this program may use {} MB of memory, and to write a packet takes {} or more",
                             *limit / megabyte, least / megabyte),
                 "", "Raise the limit (ulimit -v unlimited) and run again; `check` and `compare` take less."});
}

/// The folder of the running program.
std::filesystem::path program_folder() { return std::filesystem::read_symlink("/proc/self/exe").parent_path(); }

}  // namespace

int run_build(const std::filesystem::path& job, const std::filesystem::path& folder, const io::SheetOptions& sheets,
              ReportLength length) {
  return guarded([&]() -> int {
    require_memory();
    const LoadingGdal loading;
    const io::SiteResults results = io::compute_site(job, show_stage);
    const Problems blocked = io::blocking_problems(results);
    const int code = report(results, blocked, length);
    if (code == exit_refused) {
      print_aside("nothing was written\n");
      return code;
    }
    std::vector<io::FileContent> files = packet_files(results, sheets);
    const std::string names = names_of(files);
    write_results(folder, std::move(files), results);
    print(fmt::format("\nWritten to {}: {}\n", folder.string(), names));
    if (length == ReportLength::brief) print(fmt::format("Line by line: moundwright check {} --full\n", job.string()));
    if (plan_fails(results)) print("The plan fails a check: see BAD above.\n");
    if (price_is_incomplete(results.estimate)) {
      print(fmt::format("The price does not hold everything. {}: {}\n", incomplete_text(results.estimate),
                        missing_text(results.estimate)));
    }
    return code;
  });
}

int run_check(const std::filesystem::path& job, ReportLength length) {
  return guarded([&] {
    const io::SiteResults results = io::compute_site(job, show_stage);
    return report(results, io::blocking_problems(results), length);
  });
}

int run_view(const std::filesystem::path& job) {
  return guarded([&]() -> int {
    io::read_job(job);  // what cannot be read is told here, not in a window
    const std::filesystem::path program = program_folder() / "moundwright-view";
    execl(program.c_str(), program.c_str(), job.c_str(), nullptr);
    throw Refusal({Severity::error, fmt::format("the window's program cannot be started ({})", std::strerror(errno)),
                   program.string(), "build it, or put it back beside moundwright"});
  });
}

int run_new(const std::filesystem::path& file) {
  return guarded([&]() -> int {
    if (file.empty()) {
      throw Refusal({Severity::error, "the job file has no name", {}, "give it one, such as lot7.toml"});
    }
    if (std::filesystem::exists(file)) {
      throw Refusal({Severity::error, "this file is already there, and is left as it is", file.string(),
                     "give a name that is not taken"});
    }
    io::write_files({{file, io::starter_job()}});
    print(
        fmt::format("{} written. Put your shots beside it as ground.csv, change the figures, then:\n"
                    "  moundwright check {}\n",
                    file.string(), file.string()));
    return exit_done;
  });
}

}  // namespace moundwright::viewer

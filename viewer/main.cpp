#include <CLI/CLI.hpp>
#include <csignal>
#include <string>
#include <vector>

#include "viewer/commands.h"
#include "viewer/estimator_commands.h"

namespace {

constexpr const char* about =
    "Moundwright: from ground shots and a designed mound to stakes and cubic yards.\n"
    "Exit codes: 0 done; 1 refused, nothing written; 2 wrong command line; 3 done, but the plan fails a check.";

/// Empty for a day of the calendar, else what is wrong.
std::string date_error(const std::string& text) {
  if (moundwright::is_calendar_date(text)) return {};
  return "not a day of the calendar written YYYY-MM-DD, such as 2026-04-01: " + text;
}

}  // namespace

int main(int argc, char** argv) {
  std::signal(SIGXFSZ, SIG_IGN);  // so that a limit on the size of files is told as a full disk is
  CLI::App app{about, "moundwright"};
  app.require_subcommand(1);
  app.footer("Example:\n  moundwright build surveys/fernhollow.toml -o packet");

  std::string job, folder, file, paper;
  moundwright::SheetOptions sheets;
  bool full = false;
  const char* about_full = "Print everything: each check, lift, delivery, item and line of the bid";
  CLI::App* build = app.add_subcommand("build", "Compute a job and write its packet");
  build->add_option("JOB", job, "The job file")->required();
  build->add_option("-o,--output", folder, "Folder to write into; made if it is not there")->required();
  build
      ->add_option(
          "--paper", paper,
          "Paper of sheets.pdf: letter, a4, tabloid (11 x 17 in) or a3. Left out, letter for a job in feet and "
          "a4 for one in metres")
      ->check(CLI::IsMember({"letter", "a4", "tabloid", "a3"}));
  build
      ->add_option("--date", sheets.date,
                   "Date on the sheets, YYYY-MM-DD. Left out, there is none: nothing is dated by the clock")
      ->check(CLI::Validator(date_error, "YYYY-MM-DD"));
  build->add_flag("--full", full, about_full);
  build->footer(
      "Writes tables, pictures and a 3D model; README.md lists them. Where the job has no downslope yet, it is found\n"
      "from the ground and written into the job file.\n\nExample:\n  moundwright build lot7.toml -o lot7-packet");
  CLI::App* check = app.add_subcommand("check", "Compute a job and report, writing nothing");
  check->add_option("JOB", job, "The job file")->required();
  check->add_flag("--full", full, about_full);
  check->footer("Example:\n  moundwright check lot7.toml --full");
  CLI::App* view = app.add_subcommand("view", "Open a job in a 3D window, to move, resize and look inside");
  view->add_option("JOB", job, "The job file")->required();
  view->footer("Example:\n  moundwright view lot7.toml");
  CLI::App* fresh = app.add_subcommand("new", "Write a commented job file to start from");
  fresh->add_option("FILE", file, "The file to write; must not exist yet")->required();
  fresh->footer("Example:\n  moundwright new lot7.toml");

  std::string ticket;
  moundwright::SieveQuestion question;
  CLI::App* sieve = app.add_subcommand("sieve", "Hold a sieve ticket against a specification");
  sieve->add_option("TICKET", ticket, "CSV: sieve,passing or sieve,retained (with pan and total rows)")->required();
  CLI::Option* spec = sieve->add_option("--spec", question.specification, "A published specification, by name");
  CLI::Option* sieve_job = sieve->add_option("--job", question.job, "A job, whose own limits win")->excludes(spec);
  CLI::Option* material = sieve->add_option("--material", question.material, "The job's material")->needs(sieve_job);
  sieve_job->needs(material);
  sieve->footer(
      "With neither --spec nor --job, every published specification is tried.\n\nExamples:\n"
      "  moundwright sieve ticket.csv --spec \"ASTM C33 fine aggregate\"\n"
      "  moundwright sieve ticket.csv --job lot7.toml --material \"clean sand\"");
  std::vector<std::filesystem::path> jobs;
  CLI::App* compare = app.add_subcommand("compare", "Put jobs side by side: yards, loads, price, berm lengths");
  compare->add_option("JOB", jobs, "Job files, two or more")->required()->expected(2, 20);
  compare->footer("Example:\n  moundwright compare lot7.toml lot7-bent.toml");

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? moundwright::exit_done : moundwright::exit_usage;
  }
  sheets.paper = moundwright::paper_named(paper);
  const auto length = full ? moundwright::ReportLength::full : moundwright::ReportLength::brief;
  if (*build) return moundwright::run_build(job, folder, sheets, length);
  if (*check) return moundwright::run_check(job, length);
  if (*view) return moundwright::run_view(job);
  if (*sieve) return moundwright::run_sieve(ticket, question);
  if (*compare) return moundwright::run_compare(jobs);
  return moundwright::run_new(file);
}

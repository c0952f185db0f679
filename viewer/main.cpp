#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <csignal>
#include <sstream>
#include <string>
#include <vector>

#include "geom/version.h"
#include "io/nearest_word.h"
#include "viewer/commands.h"
#include "viewer/estimator_commands.h"
#include "viewer/refusals.h"

namespace {

constexpr const char* about =
    "Moundwright: from ground shots and a designed mound to stakes and cubic yards.\n"
    "Exit codes: 0 done; 1 refused, nothing written; 2 wrong command line; 3 done (check and compare write\n"
    "nothing), but the plan fails a check, a price is incomplete or a sieve ticket does not pass.";

/// Empty for a day of the calendar, else what is wrong.
std::string date_error(const std::string& text) {
  if (moundwright::io::is_calendar_date(text)) return {};
  return "not a day of the calendar written YYYY-MM-DD, such as 2026-04-01: " + text;
}

bool is_option(const std::string& word) { return word.size() > 1 && word.front() == '-'; }

/// The command that was given, else the program.
const CLI::App& command_of(const CLI::App& app) {
  const std::vector<CLI::App*> given = app.get_subcommands();
  return given.empty() ? app : *given.front();
}

/// One error for the first word that is no command here, no option of the command, or one too many; with the nearest.
std::optional<moundwright::Refusal> unknown_word(const CLI::App& app) {
  const std::vector<std::string> unknown = app.remaining(true);
  if (unknown.empty()) return std::nullopt;
  const CLI::App& command = command_of(app);
  const bool is_program = &command == &app;
  // What stands behind an unknown option may be its value.
  const auto option = std::find_if(unknown.begin(), unknown.end(), is_option);
  const std::string word =
      option == unknown.end() || (is_program && !is_option(unknown.front())) ? unknown.front() : *option;
  std::vector<std::string> known;
  std::string what = fmt::format("\"{}\" is one word too many", word);
  if (is_option(word)) {
    for (const CLI::Option* each : command.get_options()) {
      for (const std::string& name : each->get_lnames()) known.push_back("--" + name);
      for (const std::string& name : each->get_snames()) known.push_back("-" + name);
    }
    what = is_program ? fmt::format("there is no option {}", word)
                      : fmt::format("{} has no option {}", command.get_name(), word);
  } else if (is_program) {
    for (const CLI::App* each : app.get_subcommands({})) known.push_back(each->get_name());
    what = fmt::format("there is no command \"{}\"", word);
  }
  std::string advice = moundwright::io::did_you_mean(word.substr(0, word.find('=')), known);
  if (advice.empty() && !known.empty()) advice = fmt::format("There are {}.", fmt::join(known, ", "));
  if (advice.empty()) advice = fmt::format("See moundwright {} --help.", command.get_name());
  return moundwright::Refusal({moundwright::Severity::error, what, "", advice});
}

moundwright::Refusal no_such_command(const std::string& word, const std::vector<std::string>& known) {
  std::string advice = moundwright::io::did_you_mean(word, known);
  if (advice.empty()) advice = fmt::format("There are {}.", fmt::join(known, ", "));
  return moundwright::Refusal(
      {moundwright::Severity::error, fmt::format("there is no command \"{}\"", word), "", advice});
}

/// An option or file that the command cannot do without, and was not given.
const CLI::Option* missing_word(const CLI::App& command) {
  const std::vector<const CLI::Option*> all = command.get_options();
  const auto missing = std::find_if(
      all.begin(), all.end(), [](const CLI::Option* option) { return option->get_required() && option->count() == 0; });
  return missing == all.end() ? nullptr : *missing;
}

/// What else may be wrong, in the words of every other error.
moundwright::Refusal refused_line(const CLI::App& app, const CLI::ParseError& error) {
  const CLI::App& command = command_of(app);
  std::string what = error.what(), advice = fmt::format("See moundwright {} --help.", command.get_name());
  if (&command == &app) {
    what = "no command is given";
    advice = "Say what to do: moundwright build lot7.toml -o lot7-packet. `moundwright help` lists the commands.";
  } else if (const CLI::Option* missing = missing_word(command)) {
    what = fmt::format("{} needs {}: {}", command.get_name(), missing->get_name(), missing->get_description());
  } else if (command.get_name() == "compare") {
    what = "compare needs two to twenty job files";
  }
  return moundwright::Refusal({moundwright::Severity::error, what, "", advice});
}

/// Help that was asked for, or what is wrong with the command line.
int without_command(const CLI::App& app, const CLI::ParseError& error) {
  return moundwright::viewer::guarded([&]() -> int {
    std::ostringstream out, err;
    const int code = app.exit(error, out, err);
    if (code == 0) {
      moundwright::viewer::print(out.str());
      return moundwright::viewer::exit_done;
    }
    const auto unknown = unknown_word(app);
    moundwright::viewer::print_refusal(unknown ? *unknown : refused_line(app, error));
    return moundwright::viewer::exit_usage;
  });
}

int print_help(const CLI::App& app, const std::string& command) {
  return moundwright::viewer::guarded([&]() -> int {
    if (command.empty()) {
      moundwright::viewer::print(app.help());
      return moundwright::viewer::exit_done;
    }
    std::vector<std::string> known;
    for (const CLI::App* each : app.get_subcommands({})) {
      known.push_back(each->get_name());
      if (known.back() != command) continue;
      moundwright::viewer::print(each->help("moundwright"));
      return moundwright::viewer::exit_done;
    }
    moundwright::viewer::print_refusal(no_such_command(command, known));
    return moundwright::viewer::exit_usage;
  });
}

}  // namespace

int main(int argc, char** argv) {
  moundwright::viewer::tell_sudden_ends();
  std::signal(SIGXFSZ, SIG_IGN);  // so that a limit on the size of files is told as a full disk is
  CLI::App app{about, "moundwright"};
  app.require_subcommand(1);
  app.set_version_flag("--version", fmt::format("Moundwright {}", MOUNDWRIGHT_VERSION), "Print the version and exit");
  app.footer("Example:\n  moundwright build surveys/fernhollow.toml -o packet");

  std::string job, folder, file, paper;
  moundwright::io::SheetOptions sheets;
  bool full = false;
  const char* about_full = "Print everything: each check, lift, delivery, item and line of the bid";
  CLI::App* build = app.add_subcommand("build", "Compute a job and write its packet");
  build->add_option("JOB", job, "The job file")->required();
  build->add_option("-o,--output", folder, "Folder to write into; made if it is not there")->required();
  build
      ->add_option(
          "--paper", paper,
          "Paper of sheets.pdf: letter, a4, tabloid (11 x 17 in) or a3. Left out, letter for a job in feet and "
          "a4 for one in meters")
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
  moundwright::viewer::SieveQuestion question;
  CLI::App* sieve = app.add_subcommand("sieve", "Hold a sieve ticket against a specification");
  sieve
      ->add_option("TICKET", ticket,
                   "CSV: sieve,passing or sieve,retained (with rows pan and total, or total before washing and total "
                   "after washing)")
      ->required();
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
  std::string asked;
  CLI::App* help = app.add_subcommand("help", "Tell what there is, or what a command takes");
  help->add_option("COMMAND", asked, "The command; left out, all of them");
  help->footer("Example:\n  moundwright help build");

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return without_command(app, error);
  }
  if (*help) return print_help(app, asked);
  sheets.paper = moundwright::io::paper_named(paper);
  const auto length = full ? moundwright::viewer::ReportLength::full : moundwright::viewer::ReportLength::brief;
  if (*build) return moundwright::viewer::run_build(job, folder, sheets, length);
  if (*check) return moundwright::viewer::run_check(job, length);
  if (*view) return moundwright::viewer::run_view(job);
  if (*sieve) return moundwright::viewer::run_sieve(ticket, question);
  if (*compare) return moundwright::viewer::run_compare(jobs);
  return moundwright::viewer::run_new(file);
}

// The command as a person runs it: what it writes, what it refuses, and how it says so.
#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <random>
#include <sstream>
#include <thread>
#include <vector>

#include "test_paths.h"

namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;
using testing::Not;

struct Outcome {
  int code;
  std::string text;  // both streams
};

/// `first` is for the shell to do before.
Outcome run(const std::string& arguments, const std::string& first = {}) {
  const std::string command = first + MOUNDWRIGHT_COMMAND + " " + arguments + " 2>&1 </dev/null";
  FILE* pipe = popen(command.c_str(), "r");
  Outcome outcome{-1, ""};
  if (pipe == nullptr) return outcome;
  std::array<char, 4096> buffer;
  while (const std::size_t n = fread(buffer.data(), 1, buffer.size(), pipe)) outcome.text.append(buffer.data(), n);
  outcome.code = WEXITSTATUS(pclose(pipe));
  return outcome;
}

std::string content(const fs::path& path) {
  std::ostringstream text;
  text << std::ifstream(path, std::ios::binary).rdbuf();
  return text.str();
}

/// A copy of the demo job that a test may spoil.
class Command : public testing::Test {
 protected:
  fs::path folder = fs::temp_directory_path() / ("moundwright-command-" + std::to_string(getpid()));
  fs::path job = folder / "fernhollow.toml";
  fs::path packet = folder / "packet";

  void SetUp() override {
    fs::remove_all(folder);
    fs::create_directories(folder);
    for (const char* name : {"fernhollow.toml", "fernhollow-ground.csv", "fernhollow-materials.toml", "ridgeback.toml",
                             "ridgeback-ground.csv"}) {
      fs::copy_file(fs::path(MOUNDWRIGHT_SURVEYS) / name, folder / name);
    }
  }
  void TearDown() override { fs::remove_all(folder); }

  void change(const std::string& from, const std::string& to) {
    std::string text = content(job);
    const std::size_t at = text.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    std::ofstream(job, std::ios::binary) << text.replace(at, from.size(), to);
  }
  Outcome build() { return run("build " + job.string() + " -o " + packet.string()); }
};

/// What it is not asked for, a command does not wait to have loaded.
TEST_F(Command, OnlyBuildNeedsGdal) {
  const std::string bent = (folder / "libmoundwright_gdal.so").string();
  std::ofstream(bent) << "no library at all, but found before the right one";
  const std::string first = "LD_LIBRARY_PATH=" + folder.string() + " ";
  EXPECT_EQ(run("check " + job.string(), first).code, 0);
  const Outcome outcome = run("build " + job.string() + " -o " + packet.string(), first);
  EXPECT_EQ(outcome.code, 1);
  EXPECT_THAT(outcome.text,
              HasSubstr("error: libmoundwright_gdal.so: GDAL's part of the program cannot be loaded: " + bent));
  EXPECT_THAT(outcome.text, HasSubstr("build it, or put it back beside the program"));
  EXPECT_FALSE(fs::exists(packet));
}

TEST_F(Command, BuildWritesTheWholePacket) {
  const Outcome outcome = build();
  ASSERT_EQ(outcome.code, 0) << outcome.text;
  EXPECT_THAT(outcome.text, HasSubstr("Call 811"));
  EXPECT_THAT(outcome.text, HasSubstr("cubic yards"));
  EXPECT_EQ(outcome.text.find('\033'), std::string::npos) << "colour where there is no terminal";
  const auto summary = nlohmann::json::parse(content(packet / "summary.json"));
  for (const char* key : {"units", "ground", "bed", "toe", "cut", "fill", "total"})
    EXPECT_TRUE(summary.contains(key)) << key;
  double fill = 0;
  for (const auto& layer : summary["fill"]) fill += layer["volume_cy"].get<double>();
  EXPECT_NEAR(fill, summary["total"]["fill_cy"].get<double>(), 1e-9 * fill);
  EXPECT_LT(summary["mass_balance"]["relative_difference"].get<double>(), 1e-9);
  EXPECT_GT(summary["toe"]["downslope"].get<double>(), summary["toe"]["upslope"].get<double>());
  EXPECT_EQ(content(packet / "stakes.csv").rfind("point,northing,easting,elevation,description", 0), 0U);
  EXPECT_THAT(content(packet / "quantities.csv"), HasSubstr("fill,stone,washed stone,"));
  EXPECT_THAT(content(packet / "toe.csv"), HasSubstr("toe,1,"));
}

using Packet = std::map<std::string, std::string>;

/// Every file of a packet, by name.
Packet packet_in(const fs::path& folder) {
  Packet files;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder)) {
    files[entry.path().filename()] = content(entry.path());
  }
  return files;
}

TEST_F(Command, TheSameJobGivesTheSameBytes) {
  ASSERT_EQ(build().code, 0);
  const Packet first = packet_in(packet);
  ASSERT_EQ(build().code, 0);
  const Packet again = packet_in(packet);
  ASSERT_EQ(again.size(), first.size());
  for (const auto& [name, bytes] : first) EXPECT_TRUE(again.at(name) == bytes) << name;
}

/// Starts a build that nobody waits for.
pid_t start_build(const fs::path& job, const fs::path& packet) {
  const pid_t child = fork();
  if (child != 0) return child;
  const int nowhere = open("/dev/null", O_RDWR);
  for (const int stream : {0, 1, 2}) dup2(nowhere, stream);
  execl(MOUNDWRIGHT_COMMAND, "moundwright", "build", job.c_str(), "-o", packet.c_str(), nullptr);
  _exit(127);
}

using Seconds = std::chrono::duration<double>;

Seconds since(std::chrono::steady_clock::time_point begin) { return std::chrono::steady_clock::now() - begin; }

/// Two small jobs that take turns in one packet folder, with builds that are killed.
class KilledBuilds {
 public:
  explicit KilledBuilds(const fs::path& folder, unsigned seed) : folder_(folder), random_(seed) {
    fs::create_directories(folder);
    std::ofstream(folder / "ground.csv") << "point,northing,easting,elevation,description\n"
                                            "1,0,0,100,GR\n2,0,120,100,GR\n3,120,0,106,GR\n4,120,120,106,GR\n";
    for (const std::size_t i : {0, 1}) {
      std::ofstream(job(i)) << "[job]\ntitle = \"" << (i == 0 ? "One" : "Two")
                            << "\"\nunits = \"ft\"\n[ground]\nshots = \"ground.csv\"\n"
                               "[mound]\ncenter = { n = 60.0, e = 60.0 }\nazimuth = 90.0\n"
                               "bed = { length = 20.0, width = 6.0 }\nbottom = { least_sand = 1.0 }\n"
                               "downslope = 180.0\n[[layer]]\nname = \"sand\"\nmaterial = \"clean sand\"\n"
                               "top = 0.0\nbeyond = 1.0\nside = 2.0\n[[layer]]\nname = \"cover\"\n"
                               "material = \"loam\"\ntop = 1.0\nbeyond = 2.0\nside = 3.0\n";
    }
  }

  /// Either job built whole, in turn; learns what the packets hold and how long a run and its writing take.
  void build_whole() {
    for (const std::size_t i : {0, 1}) {
      const auto begin = std::chrono::steady_clock::now();
      const pid_t child = start_build(job(i), packet_);
      wait_for_writing(child);
      const Seconds computing = since(begin);
      int status = 0;
      waitpid(child, &status, 0);
      whole_run_ = since(begin);
      writing_ = whole_run_ - computing;
      ASSERT_TRUE(WIFEXITED(status) && WEXITSTATUS(status) == 0);
      whole_[i] = packet_in(packet_);
    }
    ASSERT_NE(whole_[0], whole_[1]);
  }

  /// At a moment anywhere in the run, or `in_writing`: then it is only counted from where the writing begins.
  void kill_one(std::size_t number, bool in_writing) {
    if (in_writing) fs::remove_all(part_);  // of the one before; else the next run sweeps it
    const pid_t child = start_build(job(number % 2), packet_);
    if (in_writing) wait_for_writing(child);
    Seconds& length = in_writing ? writing_ : whole_run_;
    std::this_thread::sleep_for(std::uniform_real_distribution<double>(0, 1.1)(random_) * length);
    kill(child, SIGKILL);
    int status = 0;
    waitpid(child, &status, 0);
    const bool was_done = WIFEXITED(status);
    // What else the machine does changes how long a run takes: this settles where one in six is done before its kill.
    length *= was_done ? 0.8 : 1.045;
    ended += was_done ? 1 : 0;
    while_writing += in_writing && !was_done ? 1 : 0;
    const Packet now = packet_in(packet_);
    ASSERT_TRUE(now == whole_[0] || now == whole_[1]) << "kill " << number;
  }

  /// Nothing that was left behind is in the way.
  void build_after() {
    int status = 0;
    waitpid(start_build(job(0), packet_), &status, 0);
    EXPECT_TRUE(packet_in(packet_) == whole_[0]);
    EXPECT_FALSE(fs::exists(part_));
  }

  int ended = 0, while_writing = 0;

 private:
  fs::path folder_, packet_ = folder_ / "packet", part_ = folder_ / ".packet.part";
  std::mt19937 random_;
  Packet whole_[2];
  Seconds whole_run_{}, writing_{};  // about what a run takes, and its writing

  fs::path job(std::size_t i) const { return folder_ / (i == 0 ? "one.toml" : "two.toml"); }

  /// Until the hidden folder is there, which everything is written into first.
  void wait_for_writing(pid_t child) const {
    siginfo_t ended_already{};
    while (!fs::exists(part_)) {
      waitid(P_PID, static_cast<id_t>(child), &ended_already, WEXITED | WNOHANG | WNOWAIT);
      if (ended_already.si_pid == child) return;
      std::this_thread::sleep_for(std::chrono::microseconds(200));
    }
  }
};

TEST_F(Command, ABuildKilledAtAnyMomentLeavesTheOldPacketOrTheNew) {
  constexpr std::size_t kills = 100;  // in each of two folders at once
  KilledBuilds builds[] = {KilledBuilds(folder / "a", 7), KilledBuilds(folder / "b", 8)};
  std::vector<std::thread> threads;
  for (KilledBuilds& each : builds) {
    threads.emplace_back([&each] {
      each.build_whole();
      for (std::size_t i = 0; i < kills && !HasFailure(); ++i) each.kill_one(i, i % 5 == 0);
      if (!HasFailure()) each.build_after();
    });
  }
  for (std::thread& thread : threads) thread.join();
  EXPECT_LT(builds[0].ended + builds[1].ended, 100) << "too few builds were killed before they were done";
  EXPECT_GT(builds[0].while_writing + builds[1].while_writing, 10) << "too few were killed while they wrote";
}

TEST_F(Command, MassBalanceHoldsOnTheHardJobToo) {
  const Outcome outcome = run("build " + (folder / "ridgeback.toml").string() + " -o " + packet.string());
  ASSERT_TRUE(outcome.code == 0 || outcome.code == 3) << outcome.text;
  const auto summary = nlohmann::json::parse(content(packet / "summary.json"));
  EXPECT_LT(summary["mass_balance"]["relative_difference"].get<double>(), 1e-9);
  EXPECT_EQ(summary["units"], "us-ft");
  EXPECT_GT(summary["total"]["cut_cy"].get<double>(), 0);
}

TEST_F(Command, AReportThatCannotBePrintedIsToldAndNothingIsWritten) {
  for (const std::string& arguments : {"check " + job.string(), "check " + job.string() + " --full",
                                       "build " + job.string() + " -o " + packet.string()}) {
    const Outcome outcome = run(arguments + " 2>&1 >/dev/full )", "( ");
    EXPECT_EQ(outcome.code, 1) << arguments;
    EXPECT_EQ(outcome.text,
              "error: standard output: what is printed cannot be written: No space left on device\n"
              "    free some space, or print to another place\n")
        << arguments;
  }
  EXPECT_FALSE(fs::exists(packet));
}

TEST_F(Command, CheckWritesNothing) {
  const std::string before = content(job);
  EXPECT_EQ(run("check " + job.string()).code, 0);
  EXPECT_EQ(content(job), before);
  EXPECT_FALSE(fs::exists(packet));
}

TEST_F(Command, TheReportFitsAPageUnlessAllOfItIsAskedFor) {
  change("separation = 3.0", "separation = 3.3");  // one boring of three no longer has it
  const Outcome brief = run("check " + job.string());
  const Outcome full = run("check " + job.string() + " --full");
  EXPECT_EQ(brief.code, 3);
  EXPECT_EQ(full.code, 3);
  EXPECT_LT(std::count(brief.text.begin(), brief.text.end(), '\n'), 66) << "lines of a printed page";
  const std::string failed = "BAD   separation: the bed bottom is 3.19 ft above the limiting layer at boring TP2";
  for (const Outcome* outcome : {&brief, &full}) {
    for (const char* told : {"cubic yards", "upslope", "to buy", "a yard of fill in place", "Call 811"}) {
      EXPECT_THAT(outcome->text, HasSubstr(told));
    }
    EXPECT_THAT(outcome->text, HasSubstr(failed));
  }
  EXPECT_THAT(brief.text, HasSubstr("good  bed bottom, sand under the bed, laterals, separation (3), "));
  for (const char* only_in_full :
       {"\nLifts ", "\nArriving ", "\nBalance", "\nItems ", "\n  labor ", "good  separation: "}) {
    EXPECT_THAT(full.text, HasSubstr(only_in_full));
    EXPECT_THAT(brief.text, Not(HasSubstr(only_in_full)));
  }
}

TEST_F(Command, DownslopeIsFoundOnceAndWrittenIntoTheJob) {
  change("downslope = 164.0 ", "");
  const std::string before = content(job);
  EXPECT_EQ(run("check " + job.string()).code, 0);
  EXPECT_EQ(content(job), before);
  const Outcome outcome = build();
  ASSERT_EQ(outcome.code, 0) << outcome.text;
  EXPECT_THAT(content(job), HasSubstr("downslope = 164.0"));
  EXPECT_THAT(content(job), HasSubstr("# Lot 7, Fernhollow Lane")) << "comments are kept";
}

TEST_F(Command, NothingIsWrittenWhereTheDownslopeFoundCannotBeKept) {
  change("downslope = 164.0 ", "");
  std::ofstream(job, std::ios::app) << std::string(6'000'000, '#') << '\n';  // more than a file may hold here
  const std::string before = content(job);
  const Outcome outcome = run("build " + job.string() + " -o " + packet.string(), "ulimit -f 4096; ");
  EXPECT_EQ(outcome.code, 1) << outcome.text;
  EXPECT_THAT(outcome.text, HasSubstr("downslope was found from the ground as 164.0 and cannot be kept"));
  EXPECT_THAT(outcome.text, HasSubstr("Write downslope = 164.0 into [mound] yourself"));
  EXPECT_EQ(content(job), before);
  EXPECT_FALSE(fs::exists(packet));
}

TEST_F(Command, TheJobStaysAsItIsWhereThePacketIsRefused) {
  ASSERT_EQ(build().code, 0);
  const Packet before = packet_in(packet);
  change("downslope = 164.0 ", "");
  const std::string without = content(job);
  fs::permissions(packet, fs::perms(0555));
  Outcome outcome = build();
  EXPECT_EQ(outcome.code, 1) << outcome.text;
  EXPECT_THAT(outcome.text, HasSubstr("the packet cannot be replaced: it is set read-only"));
  EXPECT_EQ(content(job), without);
  fs::permissions(packet, fs::perms(0755));
  // And the packet where the job is.
  fs::permissions(job, fs::perms(0444));
  outcome = build();
  EXPECT_EQ(outcome.code, 1) << outcome.text;
  EXPECT_THAT(outcome.text, HasSubstr("it is set read-only"));
  EXPECT_THAT(outcome.text, HasSubstr("Write downslope = 164.0 into [mound] yourself"));
  EXPECT_EQ(content(job), without);
  EXPECT_EQ(packet_in(packet), before);
}

TEST_F(Command, BuildsIntoAFolderBesideTheOneItIsStartedIn) {
  const std::string there = "cd " + folder.string() + " && ";
  EXPECT_EQ(run("build fernhollow.toml -o packet", there).code, 0);
  EXPECT_TRUE(fs::exists(packet / "field.html"));
  EXPECT_FALSE(fs::exists(folder / ".packet.part"));
  const Outcome here = run("build fernhollow.toml -o .", there);
  EXPECT_EQ(here.code, 1);
  EXPECT_THAT(here.text, HasSubstr("this is the folder you are in"));
}

TEST_F(Command, AJobReachedByALinkIsTheSameJob) {
  const fs::path elsewhere = folder / "links";
  fs::create_directory(elsewhere);
  fs::create_symlink("../fernhollow.toml", elsewhere / "current.toml");
  // Another survey of that name beside the link is not the job's.
  std::ofstream(elsewhere / "fernhollow-ground.csv") << "1,0,0,100\n2,0,10,100\n3,10,0,100\n";
  change("downslope = 164.0 ", "");
  const Outcome linked = run("check " + (elsewhere / "current.toml").string());
  EXPECT_EQ(linked.code, 0) << linked.text;
  EXPECT_EQ(run("build " + (elsewhere / "current.toml").string() + " -o " + packet.string()).code, 0);
  EXPECT_TRUE(fs::is_symlink(elsewhere / "current.toml"));
  EXPECT_THAT(content(job), HasSubstr("downslope = 164.0"));
}

TEST_F(Command, AtAnyLimitOnMemoryThePacketIsWholeOrTheReasonIsTold) {
  ASSERT_EQ(build().code, 0);
  const Packet whole = packet_in(packet);
  int refused = 0;
  for (const int megabytes : {100, 150, 250, 400, 600, 690, 710, 730, 760, 800, 900, 1200}) {
    fs::remove_all(packet);
    const Outcome outcome =
        run("build " + job.string() + " -o " + packet.string(), "ulimit -v " + std::to_string(megabytes) + "000; ");
    SCOPED_TRACE(megabytes);
    if (outcome.code == 0) {
      EXPECT_EQ(packet_in(packet), whole);
      continue;
    }
    ++refused;
    EXPECT_EQ(outcome.code, 1);
    EXPECT_THAT(outcome.text, HasSubstr("error: "));
    EXPECT_THAT(outcome.text, HasSubstr("memory"));
    EXPECT_FALSE(fs::exists(packet));
  }
  EXPECT_GE(refused, 5) << "limits that were never felt";
}

TEST_F(Command, WhatATerminalWouldObeyIsWrittenOut) {
  for (const std::string& name : {std::string("lot\x1B[2J.toml"), std::string("lot\xC2\x9B.toml")}) {
    for (const char* command : {"check ", "compare x "}) {
      const Outcome outcome = run(command + ("'" + (folder / name).string() + "'"));
      EXPECT_EQ(outcome.code, 1);
      EXPECT_THAT(outcome.text, HasSubstr("lot\\x"));
      EXPECT_THAT(outcome.text, Not(HasSubstr(name)));
    }
  }
  EXPECT_THAT(run("'fr\x1Bob'").text, Not(HasSubstr("\x1B")));
}

TEST_F(Command, ATitleOfTwentyThousandLettersIsRefusedAtOnce) {
  change("title = \"", "title = \"" + std::string(20'000, 'W'));
  const Outcome outcome = build();
  EXPECT_EQ(outcome.code, 1);
  EXPECT_THAT(outcome.text, HasSubstr("fernhollow.toml line"));
  EXPECT_THAT(outcome.text, HasSubstr("job.title has 20"));
  EXPECT_THAT(outcome.text, HasSubstr("Shorten it to 120 letters or fewer"));
}

TEST_F(Command, AFailedCheckIsToldByTheExitCode) {
  change("separation = 3.0", "separation = 30.0");
  const Outcome outcome = build();
  EXPECT_EQ(outcome.code, 3);
  EXPECT_THAT(outcome.text, HasSubstr("BAD"));
  EXPECT_TRUE(fs::exists(packet / "stakes.csv"));
}

TEST_F(Command, ABedBottomBelowGroundIsRefused) {
  change("bottom = { least_sand = 1.5 }", "bottom = { elevation = 109.0 }");
  const Outcome outcome = build();
  EXPECT_EQ(outcome.code, 1);
  EXPECT_THAT(outcome.text, HasSubstr("109.00 lies below existing ground"));
  EXPECT_THAT(outcome.text, HasSubstr("nothing was written"));
  EXPECT_FALSE(fs::exists(packet));
}

TEST_F(Command, ABermThatRunsOffTheSurveyIsRefused) {
  change("bottom = { least_sand = 1.5 }", "bottom = { elevation = 145.0 }");
  const Outcome outcome = build();
  EXPECT_EQ(outcome.code, 1) << outcome.text;
  EXPECT_THAT(outcome.text, HasSubstr("runs off the surveyed ground"));
  EXPECT_FALSE(fs::exists(packet));
}

TEST_F(Command, ABedOffTheSurveyIsRefused) {
  change("n = 5120.0, e = 4890.0", "n = 4890.0, e = 5120.0");
  const Outcome outcome = build();
  EXPECT_EQ(outcome.code, 1);
  EXPECT_THAT(outcome.text, HasSubstr("no surveyed ground under the bed"));
}

TEST_F(Command, UnknownKeysAndMissingFilesAreNamed) {
  change("least_sand = 1.5", "least_snad = 1.5");
  const Outcome typo = build();
  EXPECT_EQ(typo.code, 1);
  EXPECT_THAT(typo.text, HasSubstr("least_snad"));
  EXPECT_THAT(typo.text, HasSubstr("least_sand"));
  const Outcome missing = run("build " + (folder / "nowhere.toml").string() + " -o " + packet.string());
  EXPECT_EQ(missing.code, 1);
  EXPECT_THAT(missing.text, HasSubstr("nowhere.toml"));
}

TEST_F(Command, AnOutputFolderThatIsAFileIsRefused) {
  std::ofstream(packet) << "kept";
  EXPECT_EQ(build().code, 1);
  EXPECT_EQ(content(packet), "kept");
}

TEST_F(Command, NewWritesAStarterJobAndNeverOverAnother) {
  const fs::path file = folder / "lot.toml";
  EXPECT_EQ(run("new " + file.string()).code, 0);
  const std::string starter = content(file);
  EXPECT_THAT(starter, HasSubstr("[mound]"));
  EXPECT_EQ(run("new " + file.string()).code, 1);
  EXPECT_EQ(content(file), starter);
  const Outcome nameless = run("new ''");
  EXPECT_EQ(nameless.code, 1);
  EXPECT_THAT(nameless.text, HasSubstr("the job file has no name"));
}

TEST_F(Command, WrongCommandLinesAreTwoAndHelpIsZero) {
  EXPECT_EQ(run("").code, 2);
  EXPECT_EQ(run("dig " + job.string()).code, 2);
  EXPECT_EQ(run("build " + job.string()).code, 2);
  for (const char* help : {"--help", "build --help", "check --help", "new --help", "help", "help build"}) {
    const Outcome outcome = run(help);
    EXPECT_EQ(outcome.code, 0);
    EXPECT_THAT(outcome.text, HasSubstr("Example:")) << help;
  }
}

TEST_F(Command, TellsItsVersion) {
  const Outcome outcome = run("--version");
  EXPECT_EQ(outcome.code, 0);
  EXPECT_THAT(outcome.text, testing::MatchesRegex("Moundwright [0-9]+\\.[0-9]+\\.[0-9]+\n"));
}

TEST_F(Command, WhatIsNoCommandOrOptionIsNamedWithTheNearest) {
  const std::pair<std::string, std::string> wrong[] = {
      {"biuld " + job.string() + " -o x", "error: there is no command \"biuld\"\n    Did you mean \"build\"?\n"},
      {"frob", "error: there is no command \"frob\"\n    There are build, check, view, new, sieve, compare, help.\n"},
      {"--hlep", "error: there is no option --hlep\n    Did you mean \"--help\"?\n"},
      {"build " + job.string() + " --ouptut x",
       "error: build has no option --ouptut\n    Did you mean \"--output\"?\n"},
      {"build " + job.string() + " -o x --papr=a4",
       "error: build has no option --papr=a4\n    Did you mean \"--paper\"?\n"},
      {"check " + job.string() + " more", "error: \"more\" is one word too many\n    See moundwright check --help.\n"},
      {"",
       "error: no command is given\n    Say what to do: moundwright build lot7.toml -o lot7-packet. `moundwright help` "
       "lists the commands.\n"},
      {"view", "error: view needs JOB: The job file\n    See moundwright view --help.\n"},
      {"build " + job.string(),
       "error: build needs --output: Folder to write into; made if it is not there\n    See moundwright build "
       "--help.\n"},
      {"compare " + job.string(),
       "error: compare needs two to twenty job files\n    See moundwright compare --help.\n"},
      {"help biuld", "error: there is no command \"biuld\"\n    Did you mean \"build\"?\n"}};
  for (const auto& [arguments, told] : wrong) {
    const Outcome outcome = run(arguments);
    EXPECT_EQ(outcome.code, 2) << arguments;
    EXPECT_EQ(outcome.text, told);
  }
}

TEST_F(Command, HelpThatCannotBePrintedIsTold) {
  for (const char* help : {"--help", "build --help"}) {
    const Outcome outcome = run(std::string(help) + " 2>&1 >/dev/full )", "( ");
    EXPECT_EQ(outcome.code, 1) << help;
    EXPECT_THAT(outcome.text, HasSubstr("No space left on device"));
  }
}

TEST_F(Command, SieveHoldsATicketAgainstTheJobsOwnLimits) {
  const fs::path ticket = folder / "ticket.csv";
  std::ofstream(ticket) << "sieve,passing\n3/8 in,100\nNo. 100,12\nNo. 200,6.5\n";
  const std::string ask = "sieve " + ticket.string() + " --job " + job.string() + " --material \"shell sand\"";
  Outcome outcome = run(ask);
  EXPECT_EQ(outcome.code, 0) << outcome.text;
  EXPECT_THAT(outcome.text, HasSubstr("PASSES"));
  std::ofstream(ticket) << "sieve,passing\n3/8 in,100\nNo. 100,12\nNo. 200,8.5\n";
  outcome = run(ask);
  EXPECT_EQ(outcome.code, 3);
  EXPECT_THAT(outcome.text, HasSubstr("FAILS; too fine here: 1.5 in a hundred too many pass"));
  // the published specification asks for sieves that this ticket does not have
  outcome = run("sieve " + ticket.string() + " --spec \"ASTM C33 fine aggregate\"");
  EXPECT_EQ(outcome.code, 3);
  EXPECT_THAT(outcome.text, HasSubstr("cannot pass until it tells"));
  EXPECT_EQ(run("sieve " + ticket.string() + " --spec C34").code, 1);
  outcome = run("sieve " + ticket.string() + " --job " + job.string() + " --material ''");  // a script's empty word
  EXPECT_EQ(outcome.code, 1);
  EXPECT_THAT(outcome.text, HasSubstr("there is no material \"\""));
}

TEST_F(Command, ComparePutsJobsSideBySide) {
  const Outcome outcome = run("compare " + job.string() + " " + (folder / "ridgeback.toml").string());
  EXPECT_EQ(outcome.code, 0) << outcome.text;
  for (const char* row :
       {"fernhollow", "ridgeback", "fill, in place", "clean sand, loads", "price", "berm downslope"}) {
    EXPECT_THAT(outcome.text, HasSubstr(row));
  }
}

TEST_F(Command, ThePacketHoldsTheOrderAndTheBid) {
  ASSERT_EQ(build().code, 0);
  const auto estimate = nlohmann::json::parse(content(packet / "summary.json"))["estimate"];
  EXPECT_TRUE(estimate["missing"].empty());
  double lines = 0;
  for (const auto& line : estimate["bid"]["lines"]) lines += line["amount"].get<double>();
  EXPECT_NEAR(lines, estimate["bid"]["direct"].get<double>(), 1e-6);
  for (const auto& line : estimate["balance"]) EXPECT_NEAR(line["gap_loose_cy"].get<double>(), 0, 1e-9);
  const std::string csv = content(packet / "quantities.csv");
  for (const char* kind : {"\norder,", "\nlift,", "\ndelivery,", "\nsite soil,", "\nitem,", "\nbid,"}) {
    EXPECT_THAT(csv, HasSubstr(kind));
  }
}

/// The lines of a text that have something in them.
std::vector<std::string> lines_with(const std::string& text, const std::string& what) {
  std::vector<std::string> found;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    if (line.find(what) != std::string::npos) found.push_back(line);
  }
  return found;
}

TEST_F(Command, APriceThatDoesNotHoldEverythingSaysSoWhereverItStands) {
  const fs::path prices = folder / "fernhollow-materials.toml";
  std::string list = content(prices);
  const std::string topsoil = "price = { per_yard = 31.00 }";
  ASSERT_NE(list.find(topsoil), std::string::npos);
  std::ofstream(prices, std::ios::binary) << list.replace(list.find(topsoil), topsoil.size(), "");
  change("price = { per_ft = 3.10 }", "");
  const std::string mark = "INCOMPLETE: 2 things";
  const auto every_line_is_marked = [&](const std::string& text, const std::string& price) {
    const std::vector<std::string> found = lines_with(text, price);
    EXPECT_FALSE(found.empty()) << price;
    for (const std::string& line : found) EXPECT_THAT(line, HasSubstr(mark));
  };

  const Outcome built = build();
  EXPECT_EQ(built.code, 3) << built.text;
  every_line_is_marked(built.text, "of fill in place");
  const Outcome checked = run("check " + job.string() + " --full");
  EXPECT_EQ(checked.code, 3);
  every_line_is_marked(checked.text, "of fill in place");
  every_line_is_marked(checked.text, "the total would be");
  const Outcome compared = run("compare " + job.string() + " " + (folder / "ridgeback.toml").string());
  EXPECT_EQ(compared.code, 3);
  every_line_is_marked(compared.text, "price of fill in place");
  every_line_is_marked(compared.text, "price   ");
  for (const Outcome* outcome : {&built, &checked, &compared}) {
    EXPECT_THAT(outcome->text, HasSubstr("topsoil: no price"));
    EXPECT_THAT(outcome->text, HasSubstr("silt fence: no price"));
  }

  const auto estimate = nlohmann::json::parse(content(packet / "summary.json"))["estimate"];
  const nlohmann::json missing = {"topsoil: no price", "silt fence: no price"};
  for (const auto& json : {estimate, estimate["bid"]}) {
    EXPECT_EQ(json["complete"], false);
    EXPECT_EQ(json["missing"], missing);
  }
  const std::string csv = content(packet / "quantities.csv");
  every_line_is_marked(csv, "bid total,");
  EXPECT_EQ(lines_with(csv, "not in the bid,").size(), 2U);
  const std::string text = (folder / "sheets.txt").string();
  ASSERT_EQ(std::system(("pdftotext -layout '" + (packet / "sheets.pdf").string() + "' '" + text + "'").c_str()), 0);
  every_line_is_marked(content(text), "Price,");
  every_line_is_marked(content(text), "of fill in place,");
  EXPECT_TRUE(lines_with(content(text), " Price  ").empty());
}

TEST_F(Command, APriceThatHoldsEverythingIsMarkedNowhere) {
  const Outcome built = build();
  EXPECT_EQ(built.code, 0);
  EXPECT_THAT(built.text, Not(HasSubstr("INCOMPLETE")));
  const auto estimate = nlohmann::json::parse(content(packet / "summary.json"))["estimate"];
  EXPECT_EQ(estimate["complete"], true);
  EXPECT_EQ(estimate["bid"]["complete"], true);
  EXPECT_THAT(content(packet / "quantities.csv"), Not(HasSubstr("INCOMPLETE")));
  // Where there is no bid, there is no price to be taken for one.
  EXPECT_THAT(run("check " + (folder / "ridgeback.toml").string()).text, Not(HasSubstr("INCOMPLETE")));
}

TEST_F(Command, SieveTellsAWashedSamplesWeights) {
  const fs::path ticket = folder / "washed.csv";
  std::ofstream(ticket) << "sieve,retained\nNo. 4,20\nNo. 30,300\nNo. 200,174\npan,2.2\n"
                           "total before washing,523.4\ntotal after washing,496.7\n";
  const Outcome outcome = run("sieve " + ticket.string() + " --spec \"MDOT Class II\"");
  EXPECT_EQ(outcome.code, 3);
  EXPECT_THAT(outcome.text, HasSubstr("523.4 dry before washing, 496.7 after: 5.1 % finer than No. 200 by washing"));
  EXPECT_THAT(outcome.text, HasSubstr("496.2 off the sieves, 0.10 % lost"));
  EXPECT_THAT(outcome.text, HasSubstr("fines (No. 200) 5.6 %"));
}

}  // namespace

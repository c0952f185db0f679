// Every key of the job file that a message names is one that the reader knows.
//
// What the reader knows it says itself, where a table holds a key that it does not. What messages name is collected
// from the sources' own texts: so a message that no test brings about is held to it too.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>
#include <regex>
#include <set>

#include "io/job_toml.h"
#include "scratch.h"
#include "test_paths.h"

namespace moundwright::io {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view stranger = "zz_none_such";

/// The starter job with all its optional parts.
std::string whole_job() {
  std::string text = starter_job();
  for (std::size_t at = 0; (at = text.find("\n#", at)) != std::string::npos; ++at) {
    if (text[at + 2] != ' ') text.erase(at + 1, 1);
  }
  return text;
}

/// Adds the keys of "Known here: a, b, c." in what is said of a job.
void add_known(const std::string& job, std::set<std::string>& keys) {
  const Scratch scratch;
  scratch.put("materials.toml", "");
  try {
    job_from_toml(job, scratch / "job.toml");
  } catch (const Refusal& refusal) {
    for (const Problem& problem : refusal.problems()) {
      constexpr std::string_view start = "Known here: ";
      if (problem.what.find(stranger) == std::string::npos || !problem.what_to_do.starts_with(start)) continue;
      const std::string list = problem.what_to_do.substr(start.size());
      const std::regex word("[a-z0-9_]+");
      for (std::sregex_iterator at(list.begin(), list.end(), word), end; at != end; ++at) keys.insert(at->str());
    }
  }
}

/// Every key and table of the job file, asked table by table: a report holds fifty problems at most.
std::set<std::string> known_keys() {
  std::set<std::string> keys;
  const std::string job = whole_job(), line = fmt::format("{} = 1\n", stranger);
  add_known(line + job, keys);
  for (std::size_t at = 0; at < job.size(); at = job.find('\n', at) + 1) {
    if (job[at] == '[') add_known(std::string(job).insert(job.find('\n', at) + 1, line), keys);
    if (job.find('\n', at) == std::string::npos) break;
  }
  for (const std::string opening : {"= {", "[{"}) {
    for (std::size_t at = 0; (at = job.find(opening, at)) != std::string::npos; ++at) {
      add_known(std::string(job).insert(at + opening.size(), fmt::format(" {} = 1,", stranger)), keys);
    }
  }
  return keys;
}

std::string without_escapes(const std::string& quoted) {
  return std::regex_replace(std::regex_replace(quoted, std::regex(R"(\\n)"), " "), std::regex(R"(\\(.))"), "$1");
}

/// The texts in quotes of every source, with the file they are in.
std::vector<std::pair<std::string, std::string>> texts_of_sources() {
  std::vector<std::pair<std::string, std::string>> texts;
  const std::regex quoted(R"re("((?:[^"\\\n]|\\.)*)")re");
  for (const char* room : {"geom", "io", "viewer"}) {
    for (const auto& entry : fs::recursive_directory_iterator(fs::path(MOUNDWRIGHT_SURVEYS) / ".." / room)) {
      if (entry.path().extension() != ".cpp" || entry.path().filename() == "starter_job.cpp") continue;
      std::ifstream file(entry.path());
      for (std::string line; std::getline(file, line);) {
        if (line.starts_with("#include") || line.find_first_not_of(' ') == line.find("//")) continue;
        for (std::sregex_iterator at(line.begin(), line.end(), quoted), end; at != end; ++at) {
          texts.emplace_back(entry.path().filename(), without_escapes((*at)[1]));
        }
      }
    }
  }
  return texts;
}

/// A word alone, before a text that tells what to do: where a problem of the kernel lies.
std::vector<std::string> places_in(const fs::path& source) {
  std::ifstream file(source);
  const std::string all{std::istreambuf_iterator<char>(file), {}};
  const std::regex place(R"re(\),\s*"([a-z_]+)",\s*"[^"\s]+ )re");
  std::vector<std::string> places;
  for (std::sregex_iterator at(all.begin(), all.end(), place), end; at != end; ++at) places.push_back((*at)[1]);
  return places;
}

/// Tables and keys that a text names, in the ways that messages do.
std::vector<std::string> keys_named_in(const std::string& text) {
  std::vector<std::string> keys;
  const auto collect = [&](const char* pattern) {
    const std::regex expression(pattern);
    for (std::sregex_iterator at(text.begin(), text.end(), expression), end; at != end; ++at) keys.push_back((*at)[1]);
  };
  collect(R"(\[\[?([a-z_]+)\]\]?)");                                        // [mound], [[layer]]
  collect(R"re((?:^|[ {])([a-z0-9_]+) = (?:\[[\["{]|\{ |"|true|-?\d))re");  // bottom = { ... }, overhead = 10.0
  if (text.find(' ') != std::string::npos && text.find(",") != 0)
    collect(R"((?:^|[ (])([a-z0-9]+(?:_[a-z0-9]+)+)(?=$|[ ,.;:)]))");
  const std::regex dotted("(?:ground|job|laterals|lifts|mound|prepare|stakes|takeoff)(?:\\.[a-z_]+)+");
  if (std::regex_match(text, dotted) && !std::regex_search(text, std::regex("\\.(?:csv|png|glb)$"))) {
    collect(R"(([a-z_]+))");  // mound.bottom.least_sand
  }
  return keys;
}

TEST(NamedKeys, TheReaderKnowsWhatTheStarterJobShows) {
  const std::set<std::string> known = known_keys();
  EXPECT_GT(known.size(), 120u);
  const std::string job = whole_job();
  const std::regex key(R"((?:^|\n)(?:\[\[?)?([a-z0-9_]+)(?: = |\]))");
  for (std::sregex_iterator at(job.begin(), job.end(), key), end; at != end; ++at) {
    EXPECT_TRUE(known.contains((*at)[1])) << (*at)[1];
  }
}

TEST(NamedKeys, NoMessageNamesAKeyThatIsNotThere) {
  const std::set<std::string> known = known_keys();
  std::size_t named = 0;
  for (const auto& [file, text] : texts_of_sources()) {
    for (const std::string& key : keys_named_in(text)) {
      EXPECT_TRUE(known.contains(key)) << key << " in " << file << ": " << text;
      ++named;
    }
  }
  for (const auto& entry : fs::directory_iterator(fs::path(MOUNDWRIGHT_SURVEYS) / ".." / "geom")) {
    for (const std::string& key : places_in(entry.path())) {
      EXPECT_TRUE(known.contains(key)) << key << " in " << entry.path().filename();
      ++named;
    }
  }
  EXPECT_GT(named, 100u);
}

}  // namespace
}  // namespace moundwright::io

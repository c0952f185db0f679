// The job file: one mound on one lot, in TOML. Its shape, with every optional part, is starter_job().
//
//   Job job = read_job("lot7/job.toml");
//   Survey survey = read_shots(job.ground.shots, job.ground.reading);
//   Ground ground = make_ground(survey.ground_shots, survey.breaklines, job.ground.options);
//   write_files({{job.path, amended_job(read_file(job.path), {{"mound.downslope", toml_number(164.0)}})}});
//
// Keys in messages and edits are dotted. An entry of a list of tables goes by its name: `layer.core.top` is the key
// `top` of the [[layer]] whose name is "core" (by its place, from 1, where it has no name); a word with more than
// letters, digits, - and _ in it is quoted: `layer."top soil".top`.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "geom/design.h"
#include "geom/ground.h"
#include "geom/site_design.h"
#include "io/shots_csv.h"

namespace moundwright::io {

/// Where the ground comes from and how it is read. Paths are resolved against the folder of the job file itself, also
/// where that is reached by a link.
struct GroundSource {
  std::filesystem::path shots;
  ShotsOptions reading;
  GroundOptions options;
};

struct Job {
  std::filesystem::path path;
  SiteDesign site;
  MoundDesign mound;
  std::optional<std::string> crs;  // of the survey's coordinates, such as "EPSG:2253"; known, and in the job's unit
  GroundSource ground;
  Problems notes;  // warnings; errors are thrown
};

/// Reads a job; in what text: plain_text.h. Throws Refusal with every problem in the file, each with line and key: TOML
/// that does not parse, keys that are unknown or missing, values of the wrong kind, out of range or not finite, texts
/// with characters that not every file can hold, alternatives given both or not at all, layers named twice, and what
/// check_design finds. Notes which unit was taken where none is given.
Job read_job(const std::filesystem::path& path);

/// The same from text; `path` names it in messages and is what its paths are resolved against.
Job job_from_toml(std::string_view text, const std::filesystem::path& path);

/// A commented job to start from: reads cleanly, its shots are in "ground.csv", optional parts are there commented out.
std::string starter_job();

/// A change to one key of a job's text.
struct JobEdit {
  std::string key;                   // dotted, as above
  std::optional<std::string> value;  // as TOML writes it: 164.0, "BM2", { n = 1.0, e = 2.0 }; nullopt takes the key out
};

/// A number as TOML writes it: the shortest that reads back equal, always with a decimal point or exponent.
std::string toml_number(double value);

/// The job's text with some keys set. A value is replaced where it stands; a key that is not there is put behind the
/// last one of its table, and a table that is not there at the end. Every other byte, comments and all, stays. Edits
/// are made in turn; a text that was not UTF-8 comes back in it. Taking a key out takes its line, with the comment
/// behind it. Throws Refusal where the text is not TOML, a value is not, or the key cannot be set without writing other
/// parts of the file anew.
std::string amended_job(std::string_view text, const std::vector<JobEdit>& edits);

}  // namespace moundwright::io

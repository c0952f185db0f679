// Whole files in and out. Files are written aside and renamed, so that a full disk or a stopped program leaves the
// old file or the new one, never a torn one.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "geom/problem.h"

namespace moundwright {

/// The file's bytes. Throws Refusal naming the file if it is missing, a folder or unreadable.
std::string read_file(const std::filesystem::path& path);

struct FileContent {
  std::filesystem::path path;
  std::string bytes;
};

/// Writes every file beside its place, flushes it to the disk, and only when all are written renames them all.
/// Throws Refusal naming file and reason (folder missing or not writable, disk full), with nothing of ours left behind.
void write_files(const std::vector<FileContent>& files);

}  // namespace moundwright

// Whole files in and out. Files are written aside and renamed, so that a full disk or a stopped program leaves the
// old file or the new one, never a torn one.
//
//   write_files({{"packet/stakes.csv", stakes}, {"packet/summary.json", summary}});   // makes packet/ if need be
//
// Every file is written under a hidden name in its own folder and flushed to the disk; only when all of them are
// there are they renamed. A rename is as good as sure to work by then; the one thing not promised is that a power cut
// in the middle of the renames leaves all the old files or all the new ones: each single file is one or the other.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "io/disk.h"

namespace moundwright::io {

inline constexpr std::size_t most_bytes_read = std::size_t{1} << 30;

/// The file's bytes. Throws Refusal naming the file if it is missing, a folder, a device or a pipe, unreadable, or
/// larger than `most_bytes_read`.
std::string read_file(const std::filesystem::path& path);

struct FileContent {
  std::filesystem::path path;
  std::string bytes;
};

/// Writes every file beside its place, flushes it to the disk, and only when all are written renames them all.
/// Missing folders are made. A symbolic link is followed: the file it leads to is replaced. A file that is set
/// read-only is not. What runs that were killed left in the same folders is cleared away.
/// Throws Refusal naming file and reason (folder not writable, disk full), with nothing of ours left behind.
void write_files(std::vector<FileContent> files);

/// The same in two steps: written beside their places and on the disk; in them once they land. Those that never land
/// go away again.
class FilesAside {
 public:
  explicit FilesAside(std::vector<FileContent> files);
  void land();

 private:
  Leftovers left_;
  std::vector<FileContent> files_;
  std::vector<std::filesystem::path> targets_;
  std::vector<Descriptor> written_;  // open until they are in place
};

/// Clears away what killed runs left in a folder of files that they had not finished.
void clear_leftovers(const std::filesystem::path& folder);

/// Writes all bytes to an open descriptor (a pipe, a terminal); `path` is only what the Refusal calls it.
void write_descriptor(int descriptor, std::string_view bytes, const std::filesystem::path& path);

}  // namespace moundwright::io

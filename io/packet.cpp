#include "io/packet.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <system_error>
#include <utility>

namespace moundwright {
namespace {

namespace fs = std::filesystem;

bool same_place(const struct stat& a, const struct stat& b) { return a.st_dev == b.st_dev && a.st_ino == b.st_ino; }

/// What cannot change places, for a reason of ours; a file system that cannot do it says so later.
bool must_stay(const fs::path& folder) {
  struct stat here {
  }, standing{}, above{};
  if (::stat(folder.c_str(), &here) != 0) return false;  // not there yet
  if (::stat(".", &standing) == 0 && same_place(here, standing)) return true;
  if (::stat((folder / "..").c_str(), &above) != 0 || above.st_dev != here.st_dev) return true;
  if (::access((folder / "..").c_str(), W_OK) != 0) return true;
  std::error_code error;
  const fs::directory_iterator entries(folder, error);
  return error || std::any_of(begin(entries), end(entries), [](const fs::directory_entry& entry) {
           return entry.is_symlink() || !entry.is_regular_file();
         });
}

/// A folder held by this process alone, open and locked.
class HeldFolder {
 public:
  /// Makes or takes over `path`; empty it is either way. False where that cannot be done here; refuses where another
  /// run holds it, naming `folder`.
  bool take(const fs::path& path, const fs::path& folder) {
    for (;;) {
      if (::mkdir(path.c_str(), 0777) != 0 && errno != EEXIST) return false;
      descriptor_ = ::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
      if (descriptor_ < 0 && errno == ENOENT) continue;
      if (descriptor_ < 0) return false;
      if (::flock(descriptor_, LOCK_EX | LOCK_NB) != 0) {
        throw Refusal({Severity::error, "another run is writing this packet", folder.string(),
                       "Wait until it is done, then run again."});
      }
      // Between opening and locking, the run before may have moved its folder into place: then this is no longer it.
      struct stat opened {
      }, named{};
      if (::fstat(descriptor_, &opened) == 0 && ::stat(path.c_str(), &named) == 0 && same_place(opened, named)) break;
      release();
    }
    path_ = path;
    return sweep();
  }
  HeldFolder() = default;
  HeldFolder(const HeldFolder&) = delete;
  HeldFolder& operator=(const HeldFolder&) = delete;
  /// What stands at the path then goes: the old packet, or a new one that did not come to be.
  ~HeldFolder() {
    if (descriptor_ < 0) return;
    if (sweep()) ::rmdir(path_.c_str());
    release();
  }

 private:
  bool sweep() const {
    std::error_code error;
    for (const fs::directory_entry& entry : fs::directory_iterator(path_, error)) {
      if (::unlink(entry.path().c_str()) != 0) return false;
    }
    return !error;
  }
  void release() {
    ::close(descriptor_);
    descriptor_ = -1;
  }
  fs::path path_;
  int descriptor_ = -1;
};

/// Puts a file that is no part of the packet into the new folder too.
bool carry_over(const fs::path& from, const fs::path& to) {
  if (::link(from.c_str(), to.c_str()) == 0) return true;
  std::error_code error;
  return fs::copy_file(from, to, error);
}

/// Modes, and files that are no part of the packet, from the old folder to the new one.
bool take_along(const fs::path& old_folder, const fs::path& new_folder) {
  struct stat status {};
  if (::stat(old_folder.c_str(), &status) != 0) return errno == ENOENT;
  if (::chmod(new_folder.c_str(), status.st_mode & 07777) != 0) return false;
  std::error_code error;
  for (const fs::directory_entry& entry : fs::directory_iterator(old_folder, error)) {
    const fs::path there = new_folder / entry.path().filename();
    if (fs::exists(there)) {
      if (::stat(entry.path().c_str(), &status) != 0 || ::chmod(there.c_str(), status.st_mode & 07777) != 0)
        return false;
    } else if (!carry_over(entry.path(), there)) {
      return false;
    }
  }
  return !error;
}

bool change_places(const fs::path& aside, const fs::path& folder) {
  if (::renameat2(AT_FDCWD, aside.c_str(), AT_FDCWD, folder.c_str(), RENAME_EXCHANGE) == 0) return true;
  return errno == ENOENT && ::renameat2(AT_FDCWD, aside.c_str(), AT_FDCWD, folder.c_str(), RENAME_NOREPLACE) == 0;
}

/// What came into the old folder since it was looked through.
void bring_latecomers(const fs::path& from, const fs::path& to) {
  std::error_code error;
  for (const fs::directory_entry& entry : fs::directory_iterator(from, error)) {
    const fs::path there = to / entry.path().filename();
    if (!fs::exists(there)) fs::rename(entry.path(), there, error);
  }
}

void put_into(const fs::path& folder, std::vector<FileContent>& files) {
  for (FileContent& file : files) file.path = folder / file.path.filename();
}

/// The folder itself, by its whole path and without links, so that its parent and name are its own.
fs::path real_folder(const fs::path& folder) {
  std::error_code error;
  fs::path real = fs::weakly_canonical(folder, error);
  if (error) return folder;
  return real.has_filename() ? real : real.parent_path();
}

/// Writes into the hidden folder, but speaks of the one that was asked for.
void write_aside(const fs::path& aside, const fs::path& folder, std::vector<FileContent>& files) {
  put_into(aside, files);
  try {
    write_files(files);
  } catch (const Refusal& refusal) {
    std::vector<Problem> problems = refusal.problems();
    for (Problem& problem : problems) problem.where = (folder / fs::path(problem.where).filename()).string();
    throw Refusal(std::move(problems));
  }
}

/// False where the folders cannot change places; nothing is left behind then.
bool swap_in(const fs::path& folder, std::vector<FileContent>& files) {
  const fs::path aside = folder.parent_path() / fmt::format(".{}.part", folder.filename().string());
  if (must_stay(folder)) return false;
  HeldFolder held;
  if (!held.take(aside, folder)) return false;
  write_aside(aside, folder, files);
  if (!take_along(folder, aside) || !change_places(aside, folder)) return false;
  bring_latecomers(aside, folder);
  return true;
}

}  // namespace

void write_packet(const fs::path& folder, std::vector<FileContent> files) {
  const fs::path real = real_folder(folder);
  std::error_code error;
  fs::create_directories(real.parent_path(), error);  // where that fails, write_files says why
  if (!error && (fs::is_directory(real, error) || !fs::exists(real, error)) && swap_in(real, files)) return;
  put_into(folder, files);
  write_files(files);
}

}  // namespace moundwright

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

#include "io/disk.h"

namespace moundwright::io {
namespace {

namespace fs = std::filesystem;

constexpr const char* own_folder = "Give the packet a folder of its own, such as -o packet.";

Refusal refused(std::string what, const fs::path& where, std::string what_to_do = own_folder) {
  return Refusal({Severity::error, std::move(what), where.string(), std::move(what_to_do)});
}

bool same_place(const struct stat& a, const struct stat& b) { return a.st_dev == b.st_dev && a.st_ino == b.st_ino; }

// ---- which folder ------------------------------------------------------------------------------------------------

/// The folder itself, by its whole path and without links, so that its parent and name are its own.
fs::path real_folder(const fs::path& folder) {
  if (folder.empty()) throw refused("the packet's folder has no name", {});
  std::error_code error;
  fs::path real = fs::absolute(folder, error);
  if (!error) real = fs::weakly_canonical(real, error);
  if (error) throw disk_refusal("the output folder cannot be used", folder, error.value());
  if (!real.has_filename()) real = real.parent_path();
  if (fs::is_symlink(real, error)) {
    throw refused("the output folder is a link to a folder that is not there", real,
                  fmt::format("Make {}, or choose another folder.", fs::read_symlink(real, error).string()));
  }
  return real;
}

/// Refuses a folder that cannot change places for what it is.
void require_movable(const fs::path& folder) {
  struct stat here {
  }, standing{}, above{};
  if (::stat(folder.c_str(), &here) != 0) {
    if (errno == ENOENT) return;
    throw disk_refusal("the output folder cannot be used", folder, errno);
  }
  if (!S_ISDIR(here.st_mode)) throw disk_refusal("the output folder cannot be used", folder, ENOTDIR);
  if (::stat(".", &standing) == 0 && same_place(here, standing)) {
    throw refused("this is the folder you are in, and a packet's folder is swapped for a new one whole", folder);
  }
  const bool is_root = ::stat((folder / "..").c_str(), &above) != 0 || same_place(here, above);
  if (is_root || above.st_dev != here.st_dev) {
    throw refused("this is the root of a disk, and a packet's folder is swapped for a new one whole", folder,
                  "Give the packet a folder on that disk, such as " + (folder / "packet").string() + ".");
  }
  require_writable("the packet cannot be replaced", folder);
}

/// Refuses what may not be replaced in it, or cannot be taken along.
void require_replaceable(const fs::path& folder, const std::vector<FileContent>& files) {
  for (const FileContent& file : files) {
    const fs::path old = folder / file.path.filename();
    std::error_code error;  // one that cannot be is told when it is written
    const fs::file_status status = fs::symlink_status(old, error);
    if (fs::is_symlink(status)) throw refused("this file of the packet is a link", old, "Take the link away.");
    if (fs::is_regular_file(status)) require_writable("the packet cannot be replaced", old);
  }
  for (const fs::directory_entry& entry : fs::directory_iterator(folder)) {
    if (!entry.is_symlink() && entry.is_directory()) {
      throw refused(fmt::format("there is a folder in it, \"{}\", and a packet's folder is swapped for a new one whole",
                                entry.path().filename().string()),
                    folder);
    }
  }
}

// ---- folders held ------------------------------------------------------------------------------------------------

/// A folder that no other run writes: open and locked.
class LockedFolder {
 public:
  /// False where there is none. Refuses where another run has it, naming the packet.
  bool take(const fs::path& path, const fs::path& packet) {
    Descriptor descriptor(::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC));
    if (descriptor.number() < 0) {
      if (errno == ENOENT) return false;
      throw disk_refusal("the folder cannot be used", path, errno);
    }
    if (::flock(descriptor.number(), LOCK_EX | LOCK_NB) != 0) {
      if (errno != EWOULDBLOCK) throw disk_refusal("the folder cannot be locked", path, errno);
      throw refused("another run is writing this packet", packet, "Wait until it is done, then run again.");
    }
    // Between opening and locking, the run before may have put another in its place: then it is that one's turn.
    struct stat opened {
    }, named{};
    const bool is_same =
        ::fstat(descriptor.number(), &opened) == 0 && ::stat(path.c_str(), &named) == 0 && same_place(opened, named);
    if (!is_same) return take(path, packet);
    held_.emplace(std::move(descriptor));
    return true;
  }

 private:
  std::optional<Descriptor> held_;
};

/// The hidden folder beside the packet, empty to begin with.
class AsideFolder {
 public:
  explicit AsideFolder(const fs::path& packet)
      : path_(packet.parent_path() / fmt::format(".{}.part", packet.filename().string())) {
    do {
      if (::mkdir(path_.c_str(), 0777) != 0 && errno != EEXIST) {
        const bool too_long = errno == ENAMETOOLONG;
        throw disk_refusal("no folder can be made beside it", too_long ? packet : packet.parent_path(), errno);
      }
    } while (!lock_.take(path_, packet));
    if (!sweep()) throw refused("what a stopped run left here cannot be cleared", path_, "Take it away by hand.");
  }
  AsideFolder(const AsideFolder&) = delete;
  AsideFolder& operator=(const AsideFolder&) = delete;
  /// What stands at the path then goes: the old packet, or a new one that did not come to be.
  ~AsideFolder() {
    if (!has_moved_ && sweep()) ::rmdir(path_.c_str());
  }
  /// It is the packet now, and what stands at the path next is another run's.
  void has_moved() { has_moved_ = true; }
  const fs::path& path() const { return path_; }

 private:
  fs::path path_;
  LockedFolder lock_;
  bool has_moved_ = false;

  bool sweep() const {
    std::error_code error;
    for (fs::directory_iterator entry(path_, error), end; !error && entry != end; entry.increment(error)) {
      if (::unlink(entry->path().c_str()) != 0) return false;
    }
    return !error;
  }
};

// ---- the new packet ------------------------------------------------------------------------------------------------

/// Writes into the hidden folder, but speaks of the one that was asked for.
void write_into(const fs::path& aside, const fs::path& folder, std::vector<FileContent> files) {
  for (FileContent& file : files) file.path = aside / file.path.filename();
  try {
    write_files(std::move(files));
  } catch (const Refusal& refusal) {
    std::vector<Problem> problems = refusal.problems();
    for (Problem& problem : problems) problem.where = (folder / fs::path(problem.where).filename()).string();
    throw Refusal(std::move(problems));
  }
}

/// Puts a file that is no part of the packet into the new folder too.
void carry_over(const fs::path& from, const fs::path& to) {
  if (::link(from.c_str(), to.c_str()) == 0) return;
  std::error_code error;
  fs::copy(from, to, fs::copy_options::copy_symlinks, error);
  if (error) throw disk_refusal("this file cannot be taken along into the new packet", from, error.value());
}

void take_mode(const fs::path& from, const fs::path& to) {
  struct stat status {};
  if (::stat(from.c_str(), &status) != 0 || ::chmod(to.c_str(), status.st_mode & 07777) != 0) {
    throw disk_refusal("its permissions cannot be kept", from, errno);
  }
}

/// Modes, and files that are no part of the packet, from the old folder to the new one.
void take_along(const fs::path& old_folder, const fs::path& new_folder) {
  clear_leftovers(old_folder);
  for (const fs::directory_entry& entry : fs::directory_iterator(old_folder)) {
    const fs::path there = new_folder / entry.path().filename();
    if (fs::exists(there)) {
      take_mode(entry.path(), there);
    } else {
      carry_over(entry.path(), there);
    }
  }
  take_mode(old_folder, new_folder);
}

/// What came into the old folder since it was looked through.
void bring_latecomers(const fs::path& from, const fs::path& to) {
  std::error_code error;
  for (fs::directory_iterator entry(from, error), end; !error && entry != end; entry.increment(error)) {
    const fs::path there = to / entry->path().filename();
    std::error_code none;
    if (!fs::exists(there, none)) fs::rename(entry->path(), there, none);
  }
}

// ---- the step ------------------------------------------------------------------------------------------------------

int rename_error(const fs::path& from, const fs::path& to, unsigned how) {
  return ::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), how) == 0 ? 0 : errno;
}

void put_new(const fs::path& aside, const fs::path& folder) {
  int error = rename_error(aside, folder, RENAME_NOREPLACE);
  // Where a file system knows no such condition: nothing but an empty folder would give way.
  if (error == EINVAL || error == ENOSYS) error = rename_error(aside, folder, 0);
  if (error == EEXIST || error == ENOTEMPTY) throw refused("another program has just made it", folder, "Run again.");
  if (error != 0) throw disk_refusal("the packet is written but cannot take its place", folder, error);
}

void change_places(const fs::path& aside, const fs::path& folder) {
  const int error = rename_error(aside, folder, RENAME_EXCHANGE);
  if (error == EINVAL || error == ENOSYS || error == EXDEV) {
    throw refused("this disk cannot swap the old packet for the new one in one step", folder,
                  "Give a folder that is not there yet, or one on another disk.");
  }
  if (error != 0) throw disk_refusal("the packet is written but cannot take its place", folder, error);
}

bool is_in(const FileContent& file, const fs::path& folder) {
  std::error_code error;
  return fs::canonical(file.path, error).parent_path() == folder && !error;
}

}  // namespace

void write_packet(const fs::path& folder, std::vector<FileContent> files, std::optional<FileContent> beside) {
  const fs::path real = real_folder(folder);
  require_movable(real);
  Leftovers made;
  make_folder(real.parent_path(), made.folders);
  LockedFolder old;  // stays locked when it stands aside, until it is swept
  AsideFolder aside(real);
  const bool is_new = !old.take(real, real);
  // What belongs into the same folder goes in with it.
  if (beside && is_in(*beside, real)) {
    files.push_back({fs::canonical(beside->path).filename(), std::move(beside->bytes)});
    beside.reset();
  }
  if (!is_new) require_replaceable(real, files);
  write_into(aside.path(), real, std::move(files));
  if (!is_new) take_along(real, aside.path());
  std::optional<FilesAside> other;
  if (beside) other.emplace(std::vector<FileContent>{*std::move(beside)});
  is_new ? put_new(aside.path(), real) : change_places(aside.path(), real);
  try {
    if (other) other->land();
  } catch (const Refusal&) {
    is_new ? put_new(real, aside.path()) : change_places(aside.path(), real);
    throw;
  }
  made.folders.clear();
  if (is_new) aside.has_moved();
  if (!is_new) bring_latecomers(aside.path(), real);
  flush_folder(real.parent_path());
}

}  // namespace moundwright::io

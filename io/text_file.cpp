#include "io/text_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <future>
#include <set>
#include <system_error>
#include <utility>

namespace moundwright::io {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view aside_begins = ".moundwright-", aside_ends = ".part";

bool is_aside(const std::string& name) {
  return name.size() > aside_begins.size() + aside_ends.size() && name.rfind(aside_begins, 0) == 0 &&
         name.compare(name.size() - aside_ends.size(), std::string::npos, aside_ends) == 0;
}

/// Opens a new file under a hidden name of its own in `folder`; the name is added to `left`. It is locked for as long
/// as it is open, so that another run can tell it from what a dead one left.
Descriptor open_aside(const fs::path& folder, const fs::path& for_path, Leftovers& left) {
  static std::atomic<unsigned> serial{0};
  for (;;) {
    fs::path aside = folder / fmt::format("{}{}-{}{}", aside_begins, ::getpid(), serial++, aside_ends);
    // 0666 less the umask, as for any new file; O_EXCL so that nobody's file or link is ever written through.
    Descriptor descriptor(::open(aside.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666));
    if (descriptor.number() < 0) {
      if (errno != EEXIST) throw disk_refusal("the file cannot be written", for_path, errno);
      continue;
    }
    ::flock(descriptor.number(), LOCK_EX | LOCK_NB);
    struct stat status {};
    const bool was_taken_for_dead = ::fstat(descriptor.number(), &status) == 0 && status.st_nlink == 0;
    if (was_taken_for_dead) continue;
    left.files.push_back(std::move(aside));
    return descriptor;
  }
}

/// Leaves the file open, on its way to the disk.
Descriptor write_aside(const FileContent& file, const fs::path& target, Leftovers& left) {
  constexpr const char* deed = "the file cannot be written";
  struct stat old {};
  const bool replaces = ::stat(target.c_str(), &old) == 0;
  if (replaces && S_ISDIR(old.st_mode)) throw disk_refusal(deed, file.path, EISDIR);
  if (replaces) require_writable(deed, file.path);
  Descriptor descriptor = open_aside(folder_of(target), file.path, left);
  if (replaces && ::fchmod(descriptor.number(), old.st_mode & 07777) != 0) throw disk_refusal(deed, file.path, errno);
  write_descriptor(descriptor.number(), file.bytes, file.path);
  // All files set out before any is waited for, or the disk would take them one at a time. What fails here, fsync
  // tells.
  ::sync_file_range(descriptor.number(), 0, 0, SYNC_FILE_RANGE_WRITE);
  return descriptor;
}

/// Side by side: waited for in turn, every file has the disk empty its cache anew. But where no more threads are to be
/// had, in turn.
void wait_for_disk(const std::vector<Descriptor>& written, const std::vector<FileContent>& files) {
  std::vector<std::future<void>> waiting;
  for (std::size_t i = 0; i < files.size(); ++i) {
    waiting.push_back(std::async(std::launch::async | std::launch::deferred, [&, i] {
      if (::fsync(written[i].number()) != 0) throw disk_refusal("the file cannot be written", files[i].path, errno);
    }));
  }
  for (std::future<void>& file : waiting) file.get();
}

/// Where the bytes go: the file itself where `path` is a symbolic link to one.
fs::path place_of(const fs::path& path) {
  std::error_code error;
  fs::path real = fs::is_symlink(path, error) ? fs::canonical(path, error) : path;
  return error ? path : real;
}

}  // namespace

void write_descriptor(int descriptor, std::string_view bytes, const fs::path& path) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(descriptor, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) throw disk_refusal("the file cannot be written", path, errno);
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
}

std::string read_file(const fs::path& path) {
  constexpr const char* deed = "the file cannot be read";
  // A pipe that nobody writes to would keep us waiting, and a device may never end.
  const Descriptor descriptor(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY));
  struct stat status {};
  if (descriptor.number() < 0 || ::fstat(descriptor.number(), &status) != 0) throw disk_refusal(deed, path, errno);
  if (S_ISDIR(status.st_mode)) throw disk_refusal(deed, path, EISDIR);
  if (!S_ISREG(status.st_mode)) {
    throw Refusal({Severity::error, "this is no file but a device or a pipe", path.string(),
                   "Give the name of a file; save what a program writes to one first."});
  }
  const auto require_size = [&](std::size_t size) {
    if (size <= most_bytes_read) return;
    throw Refusal({Severity::error, fmt::format("the file is larger than {} MiB", most_bytes_read >> 20), path.string(),
                   "Take out of it what is not of this lot."});
  };
  const auto size = static_cast<std::size_t>(status.st_size);
  require_size(size);
  std::string bytes;
  bytes.reserve(size);
  std::vector<char> buffer(1 << 16);
  for (;;) {
    const ssize_t count = ::read(descriptor.number(), buffer.data(), buffer.size());
    if (count < 0 && errno == EINTR) continue;
    if (count < 0) throw disk_refusal(deed, path, errno);
    if (count == 0) return bytes;
    bytes.append(buffer.data(), static_cast<std::size_t>(count));
    require_size(bytes.size());  // some files tell no size, and one may grow
  }
}

void clear_leftovers(const fs::path& folder) {
  std::error_code error;
  for (fs::directory_iterator entry(folder, error), end; !error && entry != end; entry.increment(error)) {
    if (!is_aside(entry->path().filename())) continue;
    const Descriptor descriptor(::open(entry->path().c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC));
    if (descriptor.number() < 0 || ::flock(descriptor.number(), LOCK_EX | LOCK_NB) != 0) continue;
    ::unlink(entry->path().c_str());
  }
}

FilesAside::FilesAside(std::vector<FileContent> files) : files_(std::move(files)) {
  std::set<fs::path> cleared;
  for (const FileContent& file : files_) {
    make_folder(folder_of(file.path), left_.folders);
    targets_.push_back(place_of(file.path));
    const fs::path folder = folder_of(targets_.back());
    if (cleared.insert(folder).second) clear_leftovers(folder);
    written_.push_back(write_aside(file, targets_.back(), left_));
  }
  wait_for_disk(written_, files_);
}

void FilesAside::land() {
  std::set<fs::path> touched;
  for (const fs::path& target : targets_) touched.insert(folder_of(target));
  for (const fs::path& made : left_.folders) touched.insert(folder_of(made));
  for (std::size_t i = 0; i < files_.size(); ++i) {
    if (::rename(left_.files.front().c_str(), targets_[i].c_str()) != 0) {
      throw disk_refusal("the file is written but cannot take its place", files_[i].path, errno);
    }
    left_.files.erase(left_.files.begin());
    left_.folders.clear();  // they hold a file to keep
  }
  for (const fs::path& folder : touched) flush_folder(folder);
}

void write_files(std::vector<FileContent> files) { FilesAside(std::move(files)).land(); }

}  // namespace moundwright::io

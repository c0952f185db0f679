#include "io/text_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <cstring>
#include <future>
#include <memory>
#include <set>
#include <system_error>
#include <utility>

namespace moundwright {
namespace {

namespace fs = std::filesystem;

struct Reason {
  std::string what;
  std::string what_to_do;
};

/// An errno in plain words.
Reason in_words(int error) {
  switch (error) {
    case ENOENT:
      return {"there is no such file or folder", "Check the name and the folder it is in."};
    case EACCES:
    case EPERM:
      return {"you are not permitted to use it", "Change its permissions, or choose a folder of your own."};
    case EROFS:
      return {"it is on a read-only disk", "Choose a folder on a disk that can be written."};
    case ENOSPC:
      return {"the disk is full", "Free some space, or choose a folder on another disk; then run again."};
    case EDQUOT:
      return {"your share of the disk is used up", "Free some space, or choose a folder on another disk."};
    case EFBIG:
      return {"it is larger than this disk or account allows",
              "Raise the limit on file size, or choose a folder on another disk."};
    case ENAMETOOLONG:
      return {"its name is too long", "Choose a shorter name."};
    case ENOTDIR:
    case EEXIST:
      return {"a part of its path that must be a folder is a file", "Choose another folder, or rename that file."};
    case EISDIR:
      return {"it is a folder, not a file", "Give the name of a file."};
    case ELOOP:
      return {"its symbolic links lead round in a circle", "Give the file's own name."};
    case EMFILE:
    case ENFILE:
      return {"too many files are open", "Close some programs and run again."};
    case EIO:
      return {"the disk reports a fault", "Check the disk; choose a folder on another one."};
    case EBUSY:
    case ETXTBSY:
      return {"another program is using it", "Close that program and run again."};
    default:
      return {std::strerror(error), "Check the file and its folder."};
  }
}

Refusal refusal(const char* deed, const fs::path& path, int error) {
  const Reason reason = in_words(error);
  return Refusal(Problem{Severity::error, fmt::format("{}: {}", deed, reason.what), path.string(), reason.what_to_do});
}

class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  int number() const { return number_; }
  /// Closes; false with errno set if the disk refused what was still to be written.
  bool close() { return ::close(std::exchange(number_, -1)) == 0; }

 private:
  int number_;
};

/// Everything write_files has put on the disk so far; what is not kept goes away again.
struct Leftovers {
  std::vector<fs::path> files, folders;
  ~Leftovers() {
    for (const fs::path& file : files) ::unlink(file.c_str());
    std::for_each(folders.rbegin(), folders.rend(), [](const fs::path& folder) { ::rmdir(folder.c_str()); });
  }
};

fs::path folder_of(const fs::path& path) { return path.has_parent_path() ? path.parent_path() : fs::path("."); }

/// Makes a folder and its missing parents, noting each one made.
void make_folder(const fs::path& folder, std::vector<fs::path>& made) {
  struct stat status {};
  if (::stat(folder.c_str(), &status) == 0) {
    if (!S_ISDIR(status.st_mode)) throw refusal("the output folder cannot be used", folder, ENOTDIR);
    return;
  }
  if (errno != ENOENT) throw refusal("the output folder cannot be used", folder, errno);
  if (folder.has_parent_path()) make_folder(folder.parent_path(), made);
  if (::mkdir(folder.c_str(), 0777) == 0) {
    made.push_back(folder);
  } else if (errno != EEXIST) {  // another program may have made it meanwhile
    throw refusal("the output folder cannot be made", folder, errno);
  }
}

/// Opens a new file under a hidden name of its own in `folder`; the name is added to `left`.
int open_aside(const fs::path& folder, const fs::path& for_path, Leftovers& left) {
  static std::atomic<unsigned> serial{0};
  for (;;) {
    fs::path aside = folder / fmt::format(".moundwright-{}-{}.part", ::getpid(), serial++);
    // 0666 less the umask, as for any new file; O_EXCL so that nobody's file or link is ever written through.
    const int descriptor = ::open(aside.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (descriptor >= 0) {
      left.files.push_back(std::move(aside));
      return descriptor;
    }
    if (errno != EEXIST) throw refusal("the file cannot be written", for_path, errno);
  }
}

/// Leaves the file open, on its way to the disk.
std::unique_ptr<Descriptor> write_aside(const FileContent& file, const fs::path& target, Leftovers& left) {
  auto descriptor = std::make_unique<Descriptor>(open_aside(folder_of(target), file.path, left));
  struct stat old {};
  if (::stat(target.c_str(), &old) == 0) {
    if (S_ISDIR(old.st_mode)) throw refusal("the file cannot be written", file.path, EISDIR);
    if (::fchmod(descriptor->number(), old.st_mode & 07777) != 0) {
      throw refusal("the file cannot be written", file.path, errno);
    }
  }
  write_descriptor(descriptor->number(), file.bytes, file.path);
  // All files set out before any is waited for, or the disk would take them one at a time. What fails here, fsync
  // tells.
  ::sync_file_range(descriptor->number(), 0, 0, SYNC_FILE_RANGE_WRITE);
  return descriptor;
}

void wait_for_disk(Descriptor& descriptor, const fs::path& path) {
  if (::fsync(descriptor.number()) != 0 || !descriptor.close()) {
    throw refusal("the file cannot be written", path, errno);
  }
}

/// Side by side: waited for in turn, every file has the disk empty its cache anew. But where no more threads are to be
/// had, in turn.
void wait_for_disk(const std::vector<std::unique_ptr<Descriptor>>& written, const std::vector<FileContent>& files) {
  std::vector<std::future<void>> waiting;
  for (std::size_t i = 0; i < files.size(); ++i) {
    waiting.push_back(
        std::async(std::launch::async | std::launch::deferred, [&, i] { wait_for_disk(*written[i], files[i].path); }));
  }
  for (std::future<void>& file : waiting) file.get();
}

/// A rename is on the disk only once its folder is. Some file systems cannot flush a folder; the rename stands anyway.
void flush_folder(const fs::path& folder) {
  Descriptor descriptor(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (descriptor.number() >= 0) ::fsync(descriptor.number());
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
    if (written < 0) throw refusal("the file cannot be written", path, errno);
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
}

std::string read_file(const fs::path& path) {
  const Descriptor descriptor(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (descriptor.number() < 0) throw refusal("the file cannot be read", path, errno);
  struct stat status {};
  std::string bytes;
  if (::fstat(descriptor.number(), &status) == 0 && S_ISREG(status.st_mode)) {
    bytes.reserve(static_cast<std::size_t>(status.st_size));
  }
  std::vector<char> buffer(1 << 16);
  for (;;) {
    const ssize_t count = ::read(descriptor.number(), buffer.data(), buffer.size());
    if (count < 0 && errno == EINTR) continue;
    if (count < 0) throw refusal("the file cannot be read", path, errno);
    if (count == 0) return bytes;
    bytes.append(buffer.data(), static_cast<std::size_t>(count));
  }
}

void write_files(const std::vector<FileContent>& files) {
  Leftovers left;
  std::vector<fs::path> targets;
  std::vector<std::unique_ptr<Descriptor>> written;
  for (const FileContent& file : files) {
    make_folder(folder_of(file.path), left.folders);
    targets.push_back(place_of(file.path));
    written.push_back(write_aside(file, targets.back(), left));
  }
  wait_for_disk(written, files);
  std::set<fs::path> touched;
  for (const fs::path& target : targets) touched.insert(folder_of(target));
  for (const fs::path& made : left.folders) touched.insert(folder_of(made));
  left.folders.clear();  // from here on they hold files to keep
  for (std::size_t i = 0; i < files.size(); ++i) {
    if (::rename(left.files.front().c_str(), targets[i].c_str()) != 0) {
      throw refusal("the file is written but cannot take its place", files[i].path, errno);
    }
    left.files.erase(left.files.begin());
  }
  for (const fs::path& folder : touched) flush_folder(folder);
}

}  // namespace moundwright

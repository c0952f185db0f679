#include "io/disk.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>

namespace moundwright::io {

namespace fs = std::filesystem;

DiskReason disk_reason(int error) {
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
      return {"a part of its path that must be a folder is a file, or a link that leads nowhere",
              "Choose another folder, or rename what stands there."};
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

Refusal disk_refusal(const char* deed, const fs::path& path, int error) {
  const DiskReason reason = disk_reason(error);
  return Refusal(Problem{Severity::error, fmt::format("{}: {}", deed, reason.what), path.string(), reason.what_to_do});
}

void require_writable(const char* deed, const fs::path& path) {
  constexpr mode_t anyone_may_write = S_IWUSR | S_IWGRP | S_IWOTH;
  struct stat status {};
  if (::stat(path.c_str(), &status) != 0) throw disk_refusal(deed, path, errno);
  if ((status.st_mode & anyone_may_write) == 0) {
    throw Refusal(Problem{Severity::error, fmt::format("{}: it is set read-only", deed), path.string(),
                          "Allow writing to it (chmod u+w), or write to another place."});
  }
  if (::eaccess(path.c_str(), W_OK) != 0) throw disk_refusal(deed, path, errno);
}

void Descriptor::close() {
  if (number_ >= 0) ::close(std::exchange(number_, -1));
}

Leftovers::~Leftovers() {
  for (const fs::path& file : files) ::unlink(file.c_str());
  std::for_each(folders.rbegin(), folders.rend(), [](const fs::path& folder) { ::rmdir(folder.c_str()); });
}

fs::path folder_of(const fs::path& path) { return path.has_parent_path() ? path.parent_path() : fs::path("."); }

void make_folder(const fs::path& folder, std::vector<fs::path>& made) {
  struct stat status {};
  if (::stat(folder.c_str(), &status) == 0) {
    if (!S_ISDIR(status.st_mode)) throw disk_refusal("the output folder cannot be used", folder, ENOTDIR);
    return;
  }
  if (errno != ENOENT) throw disk_refusal("the output folder cannot be used", folder, errno);
  if (folder.has_parent_path()) make_folder(folder.parent_path(), made);
  if (::mkdir(folder.c_str(), 0777) == 0) {
    made.push_back(folder);
    return;
  }
  const int error = errno;
  const bool made_meanwhile = error == EEXIST && ::stat(folder.c_str(), &status) == 0 && S_ISDIR(status.st_mode);
  if (!made_meanwhile) throw disk_refusal("the output folder cannot be made", folder, error);
}

void flush_folder(const fs::path& folder) {
  const Descriptor descriptor(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (descriptor.number() >= 0) ::fsync(descriptor.number());
}

}  // namespace moundwright::io

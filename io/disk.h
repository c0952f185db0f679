// What writing whole files and whole packets share: descriptors and folders that are let go of again, and what a disk
// refuses, in plain words.
#pragma once

#include <filesystem>
#include <string>
#include <utility>
#include <vector>

#include "geom/problem.h"

namespace moundwright::io {

struct DiskReason {
  std::string what;
  std::string what_to_do;
};

/// An errno in plain words.
DiskReason disk_reason(int error);

/// "the file cannot be written: the disk is full".
Refusal disk_refusal(const char* deed, const std::filesystem::path& path, int error);

/// Throws Refusal where what stands at `path` is set read-only or not this user's to write. An administrator may write
/// anything, and is held to what is set all the same.
void require_writable(const char* deed, const std::filesystem::path& path);

class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  Descriptor(Descriptor&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() { close(); }
  int number() const { return number_; }
  void close();

 private:
  int number_;
};

/// What was put on the disk so far; what is not taken out of the lists goes away again.
struct Leftovers {
  std::vector<std::filesystem::path> files, folders;
  Leftovers() = default;
  Leftovers(const Leftovers&) = delete;
  Leftovers& operator=(const Leftovers&) = delete;
  ~Leftovers();
};

/// "." for a name without a folder.
std::filesystem::path folder_of(const std::filesystem::path& path);

/// Makes a folder and its missing parents, adding each one made. Throws Refusal.
void make_folder(const std::filesystem::path& folder, std::vector<std::filesystem::path>& made);

/// A rename is on the disk only once its folder is. Some file systems cannot flush a folder; the rename stands anyway.
void flush_folder(const std::filesystem::path& folder);

}  // namespace moundwright::io

#include "io/text_file.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <csignal>

#include "scratch.h"

namespace moundwright::io {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

/// The administrator may write anywhere; for the tests of permission he steps down to a user who may not.
class AsOrdinaryUser {
 public:
  AsOrdinaryUser() : was_root_(::geteuid() == 0) {
    if (was_root_ && ::seteuid(65534) != 0) throw std::runtime_error("cannot step down");
  }
  AsOrdinaryUser(const AsOrdinaryUser&) = delete;
  AsOrdinaryUser& operator=(const AsOrdinaryUser&) = delete;
  ~AsOrdinaryUser() {
    if (was_root_ && ::seteuid(0) != 0) std::abort();
  }

 private:
  bool was_root_;
};

/// No file may grow past `bytes`: a write then fails half way, as on a disk that fills up.
class FileSizeLimit {
 public:
  explicit FileSizeLimit(rlim_t bytes) : old_handler_(std::signal(SIGXFSZ, SIG_IGN)) {
    ::getrlimit(RLIMIT_FSIZE, &old_);
    const rlimit limit{bytes, old_.rlim_max};
    ::setrlimit(RLIMIT_FSIZE, &limit);
  }
  FileSizeLimit(const FileSizeLimit&) = delete;
  FileSizeLimit& operator=(const FileSizeLimit&) = delete;
  ~FileSizeLimit() {
    ::setrlimit(RLIMIT_FSIZE, &old_);
    std::signal(SIGXFSZ, old_handler_);
  }

 private:
  rlimit old_{};
  void (*old_handler_)(int);
};

TEST(ReadFile, GivesEveryByte) {
  const Scratch scratch;
  const std::string bytes("a\r\n\0b\xFF", 6);
  EXPECT_EQ(read_file(scratch.put("f", bytes)), bytes);
  EXPECT_EQ(read_file(scratch.put("empty", "")), "");
}

TEST(ReadFile, NamesAMissingFile) {
  const Scratch scratch;
  const auto path = scratch / "missing.csv";
  EXPECT_THAT(problems_of([&] { read_file(path); }), ElementsAre(is_error(path, "there is no such file")));
}

TEST(ReadFile, RefusesAFolder) {
  const Scratch scratch;
  EXPECT_THAT(problems_of([&] { read_file(scratch.folder()); }),
              ElementsAre(is_error(scratch.folder(), "it is a folder")));
}

TEST(ReadFile, RefusesWhatNeverEndsOrNeverBegins) {
  const Scratch scratch;
  const auto pipe = scratch / "pipe";
  ASSERT_EQ(::mkfifo(pipe.c_str(), 0600), 0);
  for (const std::filesystem::path& path : {std::filesystem::path("/dev/zero"), pipe}) {
    EXPECT_THAT(problems_of([&] { read_file(path); }), ElementsAre(is_error(path, "no file but a device or a pipe")));
  }
}

TEST(ReadFile, RefusesAFileThatIsTooLargeBeforeItIsRead) {
  const Scratch scratch;
  const auto path = scratch.put("large", "");
  std::filesystem::resize_file(path, most_bytes_read + 1);  // with nothing in it: no room on the disk is taken
  EXPECT_THAT(problems_of([&] { read_file(path); }), ElementsAre(is_error(path, "larger than 1024 MiB")));
}

TEST(ReadFile, RefusesAFileThatMayNotBeRead) {
  const Scratch scratch;
  const auto path = scratch.put("secret", "x");
  ::chmod(path.c_str(), 0);
  ::chmod(scratch.folder().c_str(), 0755);
  const AsOrdinaryUser user;
  EXPECT_THAT(problems_of([&] { read_file(path); }), ElementsAre(is_error(path, "not permitted")));
}

TEST(WriteFiles, WritesAllAndLeavesNothingElse) {
  const Scratch scratch;
  write_files({{scratch / "a", "one"}, {scratch / "b", ""}, {scratch / "c", std::string(1 << 20, 'x')}});
  EXPECT_THAT(scratch.names(), ElementsAre("a", "b", "c"));
  EXPECT_EQ(read_file(scratch / "a"), "one");
  EXPECT_EQ(read_file(scratch / "b"), "");
  EXPECT_EQ(read_file(scratch / "c"), std::string(1 << 20, 'x'));
}

TEST(WriteFiles, MakesMissingFoldersAndTheirParents) {
  const Scratch scratch;
  write_files({{scratch / "packet/deep/a", "one"}, {scratch / "packet/b", "two"}});
  EXPECT_EQ(read_file(scratch / "packet/deep/a"), "one");
  EXPECT_EQ(read_file(scratch / "packet/b"), "two");
}

TEST(WriteFiles, NewFilesAreAsReadableAsAnyAndOldOnesKeepTheirPermissions) {
  const Scratch scratch;
  const auto old = scratch.put("old", "x");
  ::chmod(old.c_str(), 0640);
  const auto plain = scratch.put("plain", "x");  // as any program makes a file
  write_files({{scratch / "new", "n"}, {old, "o"}});
  const auto mode = [](const std::filesystem::path& path) { return std::filesystem::status(path).permissions(); };
  EXPECT_EQ(mode(scratch / "new"), mode(plain));
  EXPECT_EQ(mode(old), std::filesystem::perms(0640));
}

TEST(WriteFiles, FollowsALink) {
  const Scratch scratch;
  const auto real = scratch.put("real", "old");
  std::filesystem::create_symlink(real, scratch / "link");
  write_files({{scratch / "link", "new"}});
  EXPECT_TRUE(std::filesystem::is_symlink(scratch / "link"));
  EXPECT_EQ(read_file(real), "new");
}

TEST(WriteFiles, AFileThatIsSetReadOnlyIsLeftAsItIs) {
  const Scratch scratch;
  const auto closed = scratch.put("closed", "old");
  ::chmod(closed.c_str(), 0444);
  EXPECT_THAT(problems_of([&] {
                write_files({{scratch / "open", "new"}, {closed, "new"}});
              }),
              ElementsAre(is_error(closed, "it is set read-only")));
  EXPECT_EQ(read_file(closed), "old");
  EXPECT_THAT(scratch.names(), ElementsAre("closed"));
}

TEST(WriteFiles, ClearsAwayWhatAStoppedRunLeftButNotWhatOneIsAt) {
  const Scratch scratch;
  scratch.put(".moundwright-4000000-0.part", "torn");
  scratch.put("mine.part", "kept");
  {
    FilesAside under_way({{scratch / "b", "second"}});
    write_files({{scratch / "a", "first"}});
    under_way.land();
  }
  EXPECT_THAT(scratch.names(), ElementsAre("a", "b", "mine.part"));
  EXPECT_EQ(read_file(scratch / "b"), "second");
}

TEST(WriteFiles, AFolderInAFilesPlaceStopsAllOfThem) {
  const Scratch scratch;
  scratch.put("a", "old");
  std::filesystem::create_directory(scratch / "b");
  EXPECT_THAT(problems_of([&] {
                write_files({{scratch / "a", "new"}, {scratch / "b", "new"}});
              }),
              ElementsAre(is_error(scratch / "b", "it is a folder")));
  EXPECT_EQ(read_file(scratch / "a"), "old");
  EXPECT_THAT(scratch.names(), ElementsAre("a", "b"));
}

TEST(WriteFiles, AFileInAFoldersPlaceIsTold) {
  const Scratch scratch;
  scratch.put("packet", "a file");
  EXPECT_THAT(problems_of([&] {
                write_files({{scratch / "packet/a", "x"}});
              }),
              ElementsAre(is_error(scratch / "packet", "must be a folder is a file")));
  EXPECT_THAT(problems_of([&] {
                write_files({{scratch / "packet/deep/a", "x"}});
              }),
              ElementsAre(is_error(scratch / "packet/deep", "must be a folder is a file")));
  EXPECT_THAT(scratch.names(), ElementsAre("packet"));
}

TEST(WriteFiles, AFolderThatMayNotBeWrittenIsTold) {
  const Scratch scratch;
  std::filesystem::create_directory(scratch / "closed");
  ::chmod((scratch / "closed").c_str(), 0555);
  ::chmod(scratch.folder().c_str(), 0755);
  const AsOrdinaryUser user;
  EXPECT_THAT(problems_of([&] {
                write_files({{scratch / "closed/a", "x"}});
              }),
              ElementsAre(is_error(scratch / "closed/a", "not permitted")));
  EXPECT_THAT(problems_of([&] {
                write_files({{scratch / "closed/new/a", "x"}});
              }),
              ElementsAre(is_error(scratch / "closed/new", "not permitted")));
}

TEST(WriteFiles, AWriteThatFailsHalfWayLeavesOnlyTheOldFiles) {
  const Scratch scratch;
  scratch.put("a", "old");
  const FileSizeLimit limit(4096);
  const auto problems = problems_of([&] {
    write_files({{scratch / "a", "new"}, {scratch / "new/deep/b", "new"}, {scratch / "c", std::string(10000, 'x')}});
  });
  EXPECT_THAT(problems, ElementsAre(is_error(scratch / "c", "larger than this disk or account allows")));
  EXPECT_EQ(read_file(scratch / "a"), "old");
  EXPECT_THAT(scratch.names(), ElementsAre("a"));  // neither temporaries nor the folders made for them
}

/// Of a process that may start no thread, for good: the administrator is not held to the limit, so he steps down.
bool may_start_no_thread() {
  const rlimit limit{1, 1};
  return ::setrlimit(RLIMIT_NPROC, &limit) == 0 && (::geteuid() != 0 || ::setuid(65534) == 0);
}

TEST(WriteFiles, WritesWhereNoMoreThreadsAreToBeHad) {
  const Scratch scratch;
  std::filesystem::permissions(scratch.folder(), std::filesystem::perms::all);
  const auto write = [&] {
    if (!may_start_no_thread()) std::_Exit(2);
    write_files({{scratch / "a", "first"}, {scratch / "b", "second"}});
    std::_Exit(0);
  };
  EXPECT_EXIT(write(), testing::ExitedWithCode(0), "");
  EXPECT_EQ(read_file(scratch / "a"), "first");
  EXPECT_EQ(read_file(scratch / "b"), "second");
}

TEST(WriteDescriptor, AFullDiskIsToldInPlainWords) {
  const int full = ::open("/dev/full", O_WRONLY);
  ASSERT_GE(full, 0);
  const auto problems = problems_of([&] { write_descriptor(full, "stakes", "stakes.csv"); });
  ::close(full);
  EXPECT_THAT(problems, ElementsAre(is_error("stakes.csv", "the disk is full")));
  EXPECT_THAT(problems.front().what_to_do, HasSubstr("Free some space"));
}

TEST(WriteFiles, ATooLongNameIsTold) {
  const Scratch scratch;
  const auto path = scratch / std::string(300, 'n');
  EXPECT_THAT(problems_of([&] { write_files({{path, "x"}}); }), ElementsAre(is_error(path, "name is too long")));
  EXPECT_THAT(scratch.names(), ElementsAre());
}

}  // namespace
}  // namespace moundwright::io

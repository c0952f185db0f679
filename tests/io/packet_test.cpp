#include "io/packet.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <random>
#include <thread>

#include "scratch.h"

namespace moundwright {
namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;

/// Ten files, each filled with one letter, of lengths that differ from file to file.
std::vector<FileContent> packet_of(char letter) {
  std::vector<FileContent> files;
  for (std::size_t i = 0; i < 10; ++i) {
    files.push_back({"file" + std::to_string(i), std::string(1 + 40'000 * i, letter)});
  }
  return files;
}

bool holds(const fs::path& folder, const std::vector<FileContent>& files) {
  return std::all_of(files.begin(), files.end(), [&](const FileContent& file) {
    return fs::exists(folder / file.path) && read_file(folder / file.path) == file.bytes;
  });
}

std::vector<std::string> names_in(const fs::path& folder) {
  std::vector<std::string> names;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder)) names.push_back(entry.path().filename());
  return names;
}

ino_t inode_of(const fs::path& path) {
  struct stat status {};
  ::stat(path.c_str(), &status);
  return status.st_ino;
}

TEST(Packet, ComesWholeIntoANewFolderAndOverAnOldOne) {
  const Scratch scratch;
  for (const char letter : {'a', 'b', 'c'}) {
    write_packet(scratch / "deep" / "packet", packet_of(letter));
    EXPECT_TRUE(holds(scratch / "deep" / "packet", packet_of(letter)));
    EXPECT_THAT(names_in(scratch / "deep"), ElementsAre("packet"));
  }
}

TEST(Packet, ChangesPlacesInOneStep) {
  const Scratch scratch;
  write_packet(scratch / "packet", packet_of('a'));
  const ino_t before = inode_of(scratch / "packet");
  write_packet(scratch / "packet", packet_of('b'));
  EXPECT_NE(inode_of(scratch / "packet"), before) << "written in place, file by file";
}

TEST(Packet, KeepsWhatIsNoPartOfIt) {
  const Scratch scratch;
  write_packet(scratch / "packet", packet_of('a'));
  scratch.put("packet/notes.txt", "call the pump man");
  ::chmod((scratch / "packet/file3").c_str(), 0600);
  ::chmod((scratch / "packet").c_str(), 0750);
  write_packet(scratch / "packet", packet_of('b'));
  EXPECT_EQ(read_file(scratch / "packet/notes.txt"), "call the pump man");
  EXPECT_EQ(fs::status(scratch / "packet/file3").permissions(), fs::perms(0600));
  EXPECT_EQ(fs::status(scratch / "packet").permissions(), fs::perms(0750));
}

TEST(Packet, IsWrittenInPlaceWhereTheFolderCannotMove) {
  const Scratch scratch;
  fs::create_directories(scratch / "packet" / "photos");
  const ino_t before = inode_of(scratch / "packet");
  scratch.put("packet/photos/1.jpg", "jpg");
  write_packet(scratch / "packet", packet_of('a'));
  EXPECT_TRUE(holds(scratch / "packet", packet_of('a')));
  EXPECT_EQ(read_file(scratch / "packet/photos/1.jpg"), "jpg");
  EXPECT_EQ(inode_of(scratch / "packet"), before);
}

TEST(Packet, FollowsALinkToItsFolder) {
  const Scratch scratch;
  fs::create_directories(scratch / "disk" / "real");
  fs::create_directory_symlink(scratch / "disk" / "real", scratch / "packet");
  write_packet(scratch / "packet", packet_of('a'));
  EXPECT_TRUE(fs::is_symlink(scratch / "packet"));
  EXPECT_TRUE(holds(scratch / "disk" / "real", packet_of('a')));
}

TEST(Packet, LeavesTheOldOneWhereAFileCannotBeWritten) {
  const Scratch scratch;
  write_packet(scratch / "packet", packet_of('a'));
  std::vector<FileContent> files = packet_of('b');
  files.back().path = std::string(300, 'n');
  const fs::path folder = fs::canonical(scratch / "packet");
  EXPECT_THAT(problems_of([&] { write_packet(scratch / "packet", files); }),
              ElementsAre(is_error(folder / std::string(300, 'n'), "its name is too long")));
  EXPECT_TRUE(holds(scratch / "packet", packet_of('a')));
  EXPECT_THAT(scratch.names(), ElementsAre("packet"));
}

TEST(Packet, ASecondRunAtOnceIsRefused) {
  const Scratch scratch;
  fs::create_directory(scratch / ".packet.part");
  const int descriptor = ::open((scratch / ".packet.part").c_str(), O_RDONLY | O_DIRECTORY);
  ASSERT_EQ(::flock(descriptor, LOCK_EX), 0);
  EXPECT_THAT(problems_of([&] { write_packet(scratch / "packet", packet_of('a')); }),
              ElementsAre(is_error(fs::canonical(scratch.folder()) / "packet", "another run is writing this packet")));
  ::close(descriptor);
  write_packet(scratch / "packet", packet_of('a'));
  EXPECT_THAT(scratch.names(), ElementsAre("packet"));
}

/// Writes packets in turn until it is killed.
[[noreturn]] void write_for_ever(const fs::path& folder) {
  for (;;) {
    for (const char letter : {'b', 'a'}) write_packet(folder, packet_of(letter));
  }
}

std::chrono::duration<double> time_of_a_write(const fs::path& folder) {
  const auto begin = std::chrono::steady_clock::now();
  write_packet(folder, packet_of('a'));
  return std::chrono::steady_clock::now() - begin;
}

TEST(Packet, KilledAtAnyMomentIsTheOldOrTheNewWhole) {
  const Scratch scratch;
  const fs::path folder = scratch / "packet";
  write_packet(folder, packet_of('a'));
  scratch.put("packet/notes.txt", "keep");
  std::mt19937 random(20);
  std::uniform_real_distribution<double> writes(0, 3);  // a moment in the first three writes, as long as one takes now
  std::chrono::duration<double> one_write{};
  int changed = 0;
  for (int kill = 0; kill < 200; ++kill) {
    if (kill % 10 == 0) one_write = time_of_a_write(folder);
    const ino_t before = inode_of(folder);
    const pid_t child = ::fork();
    if (child == 0) write_for_ever(folder);
    std::this_thread::sleep_for(writes(random) * one_write);
    ::kill(child, SIGKILL);
    ::waitpid(child, nullptr, 0);
    ASSERT_TRUE(holds(folder, packet_of('a')) || holds(folder, packet_of('b'))) << "kill " << kill;
    ASSERT_EQ(read_file(folder / "notes.txt"), "keep");
    ASSERT_EQ(names_in(folder).size(), 11U);
    changed += inode_of(folder) == before ? 0 : 1;
  }
  EXPECT_GT(changed, 20);  // else every kill came too early to tell anything
  write_packet(folder, packet_of('c'));
  EXPECT_THAT(scratch.names(), ElementsAre("packet"));
}

}  // namespace
}  // namespace moundwright

// The packet: several files that belong together, in a folder of their own, swapped in all at once.
//
//   write_packet("packet", {{"stakes.csv", stakes}, {"summary.json", summary}});
//
// The new packet is written whole and flushed to the disk in a hidden folder beside the old one (".packet.part"), with
// whatever else the old folder holds linked or copied over; then the two folders change places in one step. Killed at
// any moment, the folder holds the old packet or the new one, whole; what a killed run leaves in the hidden folder is
// swept by the next one. Two runs at once: the second is refused.
//
// Some folders cannot change places: the one a shell stands in, one with folders of somebody's own inside, the root of
// a disk, one whose parent may not be written, or any on a file system without that step. There the files are renamed
// into place one by one (write_files): each is whole, and a kill between two renames leaves some old and some new.
#pragma once

#include <filesystem>
#include <vector>

#include "io/text_file.h"

namespace moundwright {

/// Writes `files`, whose paths are plain names, into `folder`, which is made if need be. Throws Refusal naming folder
/// or file and reason, with the old packet as it was.
void write_packet(const std::filesystem::path& folder, std::vector<FileContent> files);

}  // namespace moundwright

// The packet: several files that belong together, in a folder of their own, swapped in all at once.
//
//   write_packet("packet", {{"stakes.csv", stakes}, {"summary.json", summary}});
//
// The new packet is written whole and flushed to the disk in a hidden folder beside the old one (".packet.part"), with
// whatever else the old folder holds linked or copied over; then the two folders change places in one step, or the new
// one takes a place that was free. Killed at any moment, the folder holds the old packet or the new one, whole; what a
// killed run leaves in the hidden folder is swept by the next one. Two runs at once: the second is refused.
//
// How the folder is written does not matter: relative, through links, with "." and ".." in it, parents missing.
// A folder that cannot change places is refused, with the reason: the one that the program was started in (a shell
// would be left standing in the old one), one with folders inside, the root of a disk, a link that leads nowhere, and
// an old packet on a disk that has no such step. So is one that is set read-only, or that holds a file of the packet
// that is.
#pragma once

#include <filesystem>
#include <optional>
#include <vector>

#include "io/text_file.h"

namespace moundwright::io {

/// Writes `files`, whose paths are plain names, into `folder`, which is made if need be. `beside` is a file elsewhere
/// that is written with them or not at all. Throws Refusal naming folder or file and reason, with everything as it was.
void write_packet(const std::filesystem::path& folder, std::vector<FileContent> files,
                  std::optional<FileContent> beside = std::nullopt);

}  // namespace moundwright::io

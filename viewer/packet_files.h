// Every file of a packet, written side by side on all cores.
//
//   write_packet(folder, packet_files(results, sheet_options));
//
// A new file is one line in the table in packet_files.cpp. What several writers share, the solids and the model, takes
// time to work out and is made once, while the writers that can do without are under way.
#pragma once

#include <string>
#include <vector>

#include "geom/solids.h"
#include "io/results.h"
#include "io/sheets_pdf.h"
#include "io/text_file.h"

namespace moundwright::viewer {

/// What mound.png and the page's model are made of.
struct PacketModel {
  std::vector<Solid> solids;  // the Buildup's, as layer_solids gives them
  std::string glb;            // mound.glb
};
PacketModel packet_model(const io::SiteResults& results);

struct PacketInput {
  const io::SiteResults& results;
  const io::SheetOptions& sheets;
  const PacketModel& model;
};

struct PacketWriter {
  const char* file;
  std::string (*bytes)(const PacketInput&);
  int milliseconds = 1;  // about, on one core: the longest begin first, so that all cores end together
  bool needs_model = false;
};
/// In the order in which a person is told of them.
const std::vector<PacketWriter>& packet_writers();

/// The same results give the same bytes.
std::vector<io::FileContent> packet_files(const io::SiteResults& results, const io::SheetOptions& sheets);

}  // namespace moundwright::viewer

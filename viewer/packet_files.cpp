#include "viewer/packet_files.h"

#include <tbb/task_group.h>

#include <algorithm>
#include <numeric>

#include "io/field_html.h"
#include "io/mound_glb.h"
#include "io/pictures_png.h"
#include "io/points_csv.h"
#include "io/quantities_csv.h"
#include "io/quantities_xlsx.h"
#include "io/site_gpkg.h"
#include "io/stakes_csv.h"
#include "io/summary_json.h"
#include "io/surfaces_xml.h"
#include "io/toe_csv.h"
#include "viewer/mound_picture.h"

namespace moundwright::viewer {

PacketModel packet_model(const io::SiteResults& results) {
  PacketModel model{layer_solids(results.mound()), {}};
  model.glb = io::mound_glb(results, model.solids);
  return model;
}

const std::vector<PacketWriter>& packet_writers() {
  static const std::vector<PacketWriter> writers = {
      {"summary.json", [](const PacketInput& in) { return io::summary_json(in.results); }},
      {"quantities.xlsx", [](const PacketInput& in) { return io::quantities_xlsx(in.results); }, 4},
      {"quantities.csv",
       [](const PacketInput& in) {
         return io::quantities_csv(in.results.found().takeoff, in.results.estimate, in.results.job.site.unit);
       }},
      {"stakes.csv",
       [](const PacketInput& in) { return io::stakes_csv(in.results.found().stakes, in.results.job.site.unit); }},
      {"points.csv", [](const PacketInput& in) { return io::points_csv(in.results); }},
      {"toe.csv",
       [](const PacketInput& in) {
         return io::toe_csv(in.results.ground(), in.results.mound().buildup.toe, in.results.job.site.unit);
       }},
      {"surfaces.xml", [](const PacketInput& in) { return io::surfaces_xml(in.results); }, 9},
      {"site.gpkg", [](const PacketInput& in) { return io::site_gpkg(in.results); }, 4},
      {"sheets.pdf", [](const PacketInput& in) { return io::sheets_pdf(in.results, in.sheets); }, 70},
      {"plan.png", [](const PacketInput& in) { return io::plan_png(in.results); }, 25},
      {"section.png", [](const PacketInput& in) { return io::section_png(in.results); }, 20},
      {"mound.png", [](const PacketInput& in) { return mound_png(in.results, in.model.solids); }, 70, true},
      {"mound.glb", [](const PacketInput& in) { return in.model.glb; }, 1, true},
      {"field.html", [](const PacketInput& in) { return io::field_html(in.results, in.model.glb); }, 1, true},
  };
  return writers;
}

std::vector<io::FileContent> packet_files(const io::SiteResults& results, const io::SheetOptions& sheets) {
  const std::vector<PacketWriter>& writers = packet_writers();
  std::vector<io::FileContent> files;
  for (const PacketWriter& writer : writers) files.push_back({writer.file, {}});
  // A thread takes up first what it was given last.
  std::vector<std::size_t> longest_last(writers.size());
  std::iota(longest_last.begin(), longest_last.end(), std::size_t{0});
  std::stable_sort(longest_last.begin(), longest_last.end(),
                   [&](std::size_t i, std::size_t j) { return writers[i].milliseconds < writers[j].milliseconds; });
  PacketModel model;
  const PacketInput input{results, sheets, model};
  tbb::task_group group;
  const auto begin = [&](bool with_model) {
    for (const std::size_t i : longest_last) {
      if (writers[i].needs_model == with_model) group.run([&, i] { files[i].bytes = writers[i].bytes(input); });
    }
  };
  group.run([&] {
    model = packet_model(results);
    begin(true);
  });
  begin(false);
  group.wait();
  return files;
}

}  // namespace moundwright::viewer

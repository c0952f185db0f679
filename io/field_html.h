// The field page: one file that a phone opens without a network, for the operator with a rod. Bench mark and height of
// instrument, what to write on each lath once its hub is shot, checks at each stage of building, a plan to find the
// stakes on, the model. Its sources are in io/field/, one idea a file; field.html says how they go together.
//
//   write_files({{"packet/field.html", field_html(results, model_glb)}});
//
// What it promises: the same results give the same bytes; nothing in it is fetched, and its own policy forbids to. What
// is recorded on the phone is kept under a key made of everything the page was told of the job, so that a page built
// anew after a change starts a record of its own.
#pragma once

#include <string>
#include <string_view>

#include "io/results.h"

namespace moundwright::io {

/// `model_glb`: the mound as binary glTF; where it is empty the page has no 3D screen.
std::string field_html(const SiteResults& results, std::string_view model_glb);

/// The JSON block in it, for other programs and for tests. Angle brackets are escaped, so that no text of the job can
/// end the block.
std::string field_json(const SiteResults& results);

}  // namespace moundwright::io

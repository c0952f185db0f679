// A sieve ticket: the supplier's gradation of a sand or stone, as CSV.
//
//   Gradation g = read_sieve_ticket("sand.csv").gradation;
//
//   sieve, passing          or   sieve, retained        or   sieve, percent retained
//   3/8 in, 100                  No. 4, 28                   No. 4, 4.5
//   No. 4, 97.2                  pan, 24                     pan, 3.9
//                                total, 617
//
// A header row says which. `passing` is percent by weight; `retained` is weight on each sieve in any one unit, with a
// row `pan` and, if the sample was weighed before sieving, a row `total`; `percent retained` is of each sieve by
// itself; `cumulative` is percent retained on a sieve and all coarser ones. Sieves by name, number, inches or mm:
// gradation.h. Separators, quotes and comments: csv_text.h.
//
// A sample that was washed over No. 200 before it was sieved dry (ASTM C117, then C136) has two totals, both of the dry
// sample: `total before washing` (or `original dry mass`) and `total after washing` (or `washed dry mass`). Percentages
// are of the first; what came off the sieves is held against the second.
#pragma once

#include <filesystem>
#include <string_view>

#include "geom/gradation.h"
#include "geom/sieve_sample.h"

namespace moundwright::io {

struct SieveTicket {
  Gradation gradation;
  std::optional<SieveSample> sample;  // where the ticket tells weights
};

/// Throws Refusal with every problem of the ticket, each with its line. `notes` takes what was assumed of its text:
/// plain_text.h.
SieveTicket read_sieve_ticket(const std::filesystem::path& path, Problems* notes = nullptr);

/// The same from text; `file` names it in messages.
SieveTicket sieve_ticket_from_csv(std::string_view csv, const std::string& file, Problems* notes = nullptr);

}  // namespace moundwright::io

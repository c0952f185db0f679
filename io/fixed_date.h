// The date that stands in files which must have one. Nothing in the packet is dated by the clock, so that one job gives
// the same bytes today and tomorrow.
#pragma once

namespace moundwright::io {

inline constexpr const char* fixed_date = "2000-01-01";
inline constexpr const char* fixed_time = "00:00:00";
inline constexpr const char* fixed_date_note = "The date is a fixed one, so that the same job gives the same file.";

}  // namespace moundwright::io

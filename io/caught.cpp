#include "io/caught.h"

#include <fmt/format.h>

#include <cerrno>
#include <filesystem>
#include <new>
#include <string_view>
#include <system_error>

#include "io/disk.h"

namespace moundwright::io {
namespace {

Refusal out_of_memory() {
  return Refusal({Severity::error, "the memory that this program may use has run out", "",
                  "Close other programs, or raise the limit on memory (ulimit -v unlimited), and run again; a survey "
                  "thinned to what the lot needs takes less."});
}

Refusal out_of_threads() {
  return Refusal({Severity::error, "no more threads can be started", "",
                  "Close other programs, or raise the limits on processes and memory (ulimit -u, ulimit -v) and run "
                  "again."});
}

Refusal system_refusal(const std::error_code& code, const std::string& text) {
  if (code == std::errc::not_enough_memory) return out_of_memory();
  if (code == std::errc::resource_unavailable_try_again) return out_of_threads();
  return Refusal({Severity::error, text, "", "Run again; if it stays, report it with the job and its survey."});
}

}  // namespace

Refusal caught_refusal() {
  try {
    throw;
  } catch (const Refusal& refusal) {
    return refusal;
  } catch (const std::bad_alloc&) {
    return out_of_memory();
  } catch (const std::filesystem::filesystem_error& error) {
    if (error.code().category() == std::system_category() || error.code().category() == std::generic_category()) {
      return disk_refusal("it cannot be used", error.path1(), error.code().value());
    }
    return system_refusal(error.code(), error.what());
  } catch (const std::system_error& error) {
    return system_refusal(error.code(), error.what());
  } catch (const std::exception& error) {
    if (std::string_view(error.what()).starts_with("pthread_create")) return out_of_threads();  // oneTBB's own words
    return Refusal({Severity::error,
                    fmt::format("the program met something that it was not made for: {}", error.what()), "",
                    "Report it with the job and its survey."});
  } catch (...) {
    return Refusal({Severity::error, "the program met something that it was not made for", "",
                    "Report it with the job and its survey."});
  }
}

}  // namespace moundwright::io

#include "geom/big_pages.h"

#ifdef __linux__
#include <sys/mman.h>

#include <cstdint>
#endif

namespace moundwright {

#if defined(__linux__) && defined(MADV_HUGEPAGE)
void move_to_big_pages(void* memory, std::size_t bytes) {
  constexpr std::uintptr_t page = 4096, big_page = std::uintptr_t{1} << 21;
  constexpr int collapse = 25;  // MADV_COLLAPSE of Linux 6.1, which <sys/mman.h> of Debian 12 does not name
  const auto address = reinterpret_cast<std::uintptr_t>(memory);
  const std::uintptr_t begin = (address + page - 1) / page * page, end = (address + bytes) / page * page;
  if (end < begin + big_page) return;
  void* const from = static_cast<char*>(memory) + (begin - address);
  madvise(from, end - begin, MADV_HUGEPAGE);
  madvise(from, end - begin, collapse);  // what it answers is left aside: all is as it was where it cannot be done
}
#else
void move_to_big_pages(void*, std::size_t) {}
#endif

}  // namespace moundwright

// Puts an array that is read here and there on pages as big as the system has.
//
//   move_to_big_pages(tree.vertices);
//
// Why. A mound touches some hundred places of its ground, and in a survey of a million shots each of them lies on a
// 4 KB page of its own: finding the pages then takes some 5 of the 100 microseconds of a Buildup. With pages of 2 MB
// the time hardly depends on the size of the survey. It is advice, which a system may leave aside (Linux before 6.1
// does); nothing but time depends on it.
#pragma once

#include <cstddef>
#include <vector>

namespace moundwright {

/// Keeps address and content. Does nothing for what is smaller than a big page, and where there are none.
void move_to_big_pages(void* memory, std::size_t bytes);

template <class T>
void move_to_big_pages(std::vector<T>& array) {
  move_to_big_pages(array.data(), array.size() * sizeof(T));
}

}  // namespace moundwright

// Text on its way to a terminal: the one place where it is made safe to look at, and coloured.
#pragma once

#include <string>
#include <string_view>

namespace moundwright::viewer {

/// The text with everything but letters made visible: control characters (a terminal takes them for orders), bytes that
/// are no UTF-8, and the marks that turn the direction of writing are written as \x1B, \x9B, \u202E. Ends of line and
/// tabs stay.
std::string visible(std::string_view text);

/// The same, with the severity or verdict that a line begins with in its colour (ANSI). So text out of a file can bring
/// no colour of its own, nor any other order to the terminal.
std::string coloured(std::string_view text);

}  // namespace moundwright::viewer

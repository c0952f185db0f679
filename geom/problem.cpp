#include "geom/problem.h"

#include <algorithm>

namespace moundwright {
namespace {

const char* label(Severity severity) {
  switch (severity) {
    case Severity::note:
      return "note";
    case Severity::warning:
      return "warning";
    case Severity::error:
      return "error";
  }
  return "error";
}

std::string joined(const std::vector<Problem>& problems) {
  std::string text;
  for (const Problem& problem : problems) {
    if (!text.empty()) text += '\n';
    text += to_text(problem);
  }
  return text;
}

}  // namespace

std::string to_text(const Problem& problem) {
  std::string text = label(problem.severity);
  text += ": ";
  if (!problem.where.empty()) text += problem.where + ": ";
  text += problem.what;
  if (!problem.what_to_do.empty()) text += "\n    " + problem.what_to_do;
  return text;
}

Refusal::Refusal(std::vector<Problem> problems)
    : std::runtime_error(joined(problems)), problems_(std::move(problems)) {}

void Problems::error(std::string what, std::string where, std::string what_to_do) {
  all.push_back({Severity::error, std::move(what), std::move(where), std::move(what_to_do)});
}

void Problems::warning(std::string what, std::string where, std::string what_to_do) {
  all.push_back({Severity::warning, std::move(what), std::move(where), std::move(what_to_do)});
}

void Problems::note(std::string what, std::string where, std::string what_to_do) {
  all.push_back({Severity::note, std::move(what), std::move(where), std::move(what_to_do)});
}

bool Problems::has_errors() const {
  return std::any_of(all.begin(), all.end(), [](const Problem& p) { return p.severity == Severity::error; });
}

void Problems::throw_if_errors() const {
  if (has_errors()) throw Refusal(all);
}

}  // namespace moundwright

// What went wrong, where, and what to do about it: the one error type of the project.
//
//   Problems problems;
//   problems.error("the elevation is not a number: \"10o.2\"", "ground.csv line 14, column elevation",
//                  "write a decimal number, such as 100.20");
//   problems.throw_if_errors();          // one report with everything in it
//
// Readers and checks collect every problem they meet and report them together, so that a person mends
// a file once. Warnings and notes travel the same way and never stop the work.
#pragma once

#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

namespace moundwright {

enum class Severity {
  note,     // told, nothing to do
  warning,  // the work goes on, a person should look
  error     // the work cannot go on
};

struct Problem {
  Severity severity = Severity::error;
  std::string what;        // what was wrong, with the value that was
  std::string where;       // file and line, column or key; or the place on the lot; may be empty
  std::string what_to_do;  // may be empty for a note
};

/// One line: "error: ground.csv line 14: the elevation is not a number ... Write a decimal number ...".
std::string to_text(const Problem& problem);

/// Thrown when the work cannot go on; carries every problem found, warnings included.
class Refusal : public std::runtime_error {
 public:
  explicit Refusal(std::vector<Problem> problems);
  explicit Refusal(Problem problem) : Refusal(std::vector<Problem>{std::move(problem)}) {}
  const std::vector<Problem>& problems() const { return problems_; }

 private:
  std::vector<Problem> problems_;
};

/// A growing report.
struct Problems {
  std::vector<Problem> all;

  void error(std::string what, std::string where = {}, std::string what_to_do = {});
  void warning(std::string what, std::string where = {}, std::string what_to_do = {});
  void note(std::string what, std::string where = {}, std::string what_to_do = {});
  void append(const Problems& other) { all.insert(all.end(), other.all.begin(), other.all.end()); }

  bool has_errors() const;
  /// Throws Refusal with everything collected so far if any of it is an error.
  void throw_if_errors() const;
};

}  // namespace moundwright

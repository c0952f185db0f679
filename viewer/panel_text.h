// What the window's side panel says, in plain words, from the session's figures; and the same as a text file, so that a
// saved picture never parts from its figures.
#pragma once

#include <string>
#include <vector>

#include "viewer/edit_session.h"

namespace moundwright::viewer {

struct PanelRow {
  std::string name, value;
};

struct PanelLine {
  Verdict verdict = Verdict::told;
  std::string text, what_to_do;
};

struct PanelText {
  std::string title;                // of the job
  std::string saved;                // whether the job file is up to date
  std::vector<PanelRow> place;      // where the mound stands
  std::vector<PanelRow> bed;        // bottom, sand
  std::vector<PanelRow> takeoff;    // layers in order, then totals; values in cubic yards
  std::vector<PanelRow> berm;       // by face
  std::vector<PanelLine> problems;  // what stops the mound
  std::vector<PanelLine> offers;    // what the window can do about how the bed lies
  std::vector<PanelLine> checks;    // of the plan against the ground
  bool checks_ready = false;        // false while they are being worked out
};

PanelText panel_text(const EditSession& session);

/// As a text file, a line each, ending with a newline.
std::string to_text(const PanelText& panel);

/// As to_text, but loud where something is wrong: "BAD".
const char* word_of(Verdict verdict);

/// Broken at spaces so that no line is longer than `width` characters.
std::string wrapped(const std::string& text, std::size_t width);

}  // namespace moundwright::viewer

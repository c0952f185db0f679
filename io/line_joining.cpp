#include "io/line_joining.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "geom/line_shape.h"

namespace moundwright::io {
namespace {

/// Places in LineShots::shots, in the order of the line.
struct TracedLine {
  std::vector<std::size_t> places;
  bool closes = false;
};

bool ends_line(LineMark mark) { return mark == LineMark::end || mark == LineMark::close; }

class Joiner {
 public:
  Joiner(const LineShots& line, const std::vector<Shot>& shots, const std::function<std::string(std::size_t)>& where,
         CappedProblems& problems)
      : line_(line), shots_(shots), where_(where), problems_(problems) {
    for (const LineShot& shot : line.shots) marks_.push_back(shot.place.mark);
  }

  std::vector<Breakline> join() {
    std::vector<TracedLine> traced;
    if (two_are_open()) {
      traced = by_nearness();
    } else {
      take_remarks_out();
      traced = in_order();
      tell_missing_ends();
    }
    std::vector<Breakline> lines;
    for (const TracedLine& line : traced) add(line, lines);
    return lines;
  }

 private:
  // ---- which shots make a line ----

  std::vector<TracedLine> in_order() const {
    std::vector<TracedLine> lines;
    bool open = false;
    for (std::size_t i = 0; i < marks_.size(); ++i) {
      if (!open || marks_[i] == LineMark::begin) lines.emplace_back();
      lines.back().places.push_back(i);
      lines.back().closes = marks_[i] == LineMark::close;
      open = !ends_line(marks_[i]);
    }
    return lines;
  }

  /// Beginnings and ends that pair off, or an end where none is open, with two or more lines open in between.
  bool two_are_open() const {
    int begun = 0, ended = 0;
    bool two = false, stray_end = false, open = false;
    for (const LineMark mark : marks_) {
      begun += mark == LineMark::begin;
      two = two || begun - ended > 1;
      stray_end = stray_end || (ends_line(mark) && !open && begun > ended);
      ended += ends_line(mark);
      open = mark == LineMark::begin || (open && !ends_line(mark)) || (!open && mark == LineMark::none);
    }
    return two && ended > 0 && (stray_end || begun == ended);
  }

  /// Lines that a word of this shot leaves with too few shots.
  static bool leaves_too_few(const TracedLine& line, LineMark mark) {
    return line.places.size() < (mark == LineMark::close ? 3U : 2U);
  }

  void take_remarks_out() {
    for (const LineMark mark : {LineMark::begin, LineMark::end, LineMark::close}) {
      std::vector<std::size_t> used, vain;
      for (const TracedLine& line : in_order()) {
        for (const std::size_t i : line.places) {
          if (marks_[i] != mark || line_.shots[i].place.word_is_given) continue;
          used.push_back(i);
          if (leaves_too_few(line, mark)) vain.push_back(i);
        }
      }
      if (marks_.size() < 2 || 2 * vain.size() <= used.size()) continue;
      tell_remark(mark, used);
      for (const std::size_t i : used) marks_[i] = LineMark::none;
    }
  }

  double distance(std::size_t a, std::size_t b) const { return (plan(a) - plan(b)).norm(); }

  std::vector<TracedLine> by_nearness() {
    std::vector<TracedLine> lines;
    std::vector<std::size_t> open;  // indices of lines
    bool told = false;
    for (std::size_t i = 0; i < marks_.size(); ++i) {
      if (line_.shots[i].is_left_out && marks_[i] == LineMark::none) continue;
      std::size_t line = lines.size();
      if (marks_[i] == LineMark::begin || open.empty()) {
        lines.emplace_back();
        open.push_back(line);
        if (open.size() == 2 && !told) told = true, tell_two_open(lines[open[0]].places.front(), i);
      } else {
        line = nearest(lines, open, i);
      }
      lines[line].places.push_back(i);
      lines[line].closes = marks_[i] == LineMark::close;
      if (ends_line(marks_[i])) open.erase(std::find(open.begin(), open.end(), line));
    }
    return lines;
  }

  /// Of the open lines, that whose last shot lies nearest.
  std::size_t nearest(const std::vector<TracedLine>& lines, std::vector<std::size_t> open, std::size_t place) {
    constexpr double clearly = 1.25;  // times as far must the next be; common practice has no figure
    const auto off = [&](std::size_t line) { return distance(lines[line].places.back(), place); };
    std::sort(open.begin(), open.end(), [&](std::size_t a, std::size_t b) { return off(a) < off(b); });
    if (open.size() > 1 && !line_.shots[place].is_left_out && !(off(open[1]) > clearly * off(open[0])) &&
        !std::exchange(is_in_doubt_, true)) {
      problems_.add({Severity::error,
                     fmt::format("{} has two lines open at once, and {} may belong to either: it is {:.1f} from {} and "
                                 "{:.1f} from {}",
                                 line_.name, point(place), off(open[0]), point(lines[open[0]].places.back()),
                                 off(open[1]), point(lines[open[1]].places.back())),
                     where_(shot(place)), number_them()});
    }
    return open[0];
  }

  // ---- what there is to say ----

  std::size_t shot(std::size_t place) const { return line_.shots[place].shot; }
  std::string point(std::size_t place) const { return "point " + shots_[shot(place)].point; }
  Point2 plan(std::size_t place) const { return {shots_[shot(place)].easting, shots_[shot(place)].northing}; }

  /// "ground.csv line 12 and ground.csv line 40".
  std::string where_both(std::size_t a, std::size_t b) const { return where_(shot(a)) + " and " + where_(shot(b)); }

  std::string number_them() const {
    return fmt::format("Number the lines in the descriptions: {0}1 for one and {0}2 for the other.", numbered_code());
  }
  std::string numbered_code() const { return line_.code + (line_.code.find(' ') == std::string::npos ? "" : " "); }

  void warn(std::string what, std::string where, std::string what_to_do) {
    problems_.add({Severity::warning, std::move(what), std::move(where), std::move(what_to_do)});
  }

  void tell_remark(LineMark mark, const std::vector<std::size_t>& used) {
    const char* key = mark == LineMark::begin ? "begin" : mark == LineMark::end ? "end" : "close";
    const std::string& word = line_.shots[used.front()].place.word;
    warn(
        fmt::format("{} has the word {} behind it on {} of its {} shots, where it would leave lines of {}: it is taken "
                    "for a remark",
                    line_.name, word, used.size(), marks_.size(),
                    mark == LineMark::close ? "too few shots to close" : "one shot"),
        where_(shot(used.front())),
        fmt::format("If it does {} lines, say so in the job: [ground] line_words = {{ {} = [\"{}\"] }}.", key, key,
                    word));
  }

  void tell_two_open(std::size_t first, std::size_t second) {
    warn(fmt::format("{} has two lines open at once, begun at {} and at {}; each shot is joined to the nearer one",
                     line_.name, point(first), point(second)),
         where_both(first, second), number_them());
  }

  void tell_missing_ends() {
    if (std::none_of(marks_.begin(), marks_.end(), ends_line)) return;
    bool is_open = false;
    std::size_t begun = 0;
    for (std::size_t i = 0; i < marks_.size(); ++i) {
      if (marks_[i] == LineMark::begin) {
        if (is_open) {
          warn(fmt::format("{} has a line begun at {} that is not ended before another begins at {}", line_.name,
                           point(begun), point(i)),
               where_both(begun, i), "Check that its last shot is there, with the word that ends a line.");
        }
        is_open = true, begun = i;
      } else if (ends_line(marks_[i])) {
        is_open = false;
      }
    }
  }

  void tell_one_shot(std::size_t place) {
    warn(line_.shots.size() == 1 ? fmt::format("only one shot has {} ({})", line_.name, point(place))
                                 : fmt::format("{} has a line of one shot, {}", line_.name, point(place)),
         where_(shot(place)),
         line_.is_numbered ? "A breakline needs two shots or more; a number behind the code is the line's."
                           : "A breakline needs two shots or more.");
  }

  void add(const TracedLine& traced, std::vector<Breakline>& lines) {
    std::vector<std::size_t> places = traced.places;
    std::erase_if(places, [this](std::size_t i) { return line_.shots[i].is_left_out; });
    if (places.empty()) return;
    if (places.size() < 2) return tell_one_shot(places.front());
    Breakline line;
    for (const std::size_t i : places) line.push_back(shot(i));
    if (traced.closes && places.size() > 2) line.push_back(line.front());
    if (traced.closes && places.size() == 2) {
      warn(fmt::format("{} has a line of two shots that cannot be closed, {} and {}", line_.name, point(places[0]),
                       point(places[1])),
           where_both(places[0], places[1]), "It is left open; a line needs three shots to be closed.");
    }
    tell_shape(line);
    lines.push_back(std::move(line));
  }

  void tell_shape(const Breakline& line) {
    Polyline2 path;
    for (const std::size_t i : line) path.emplace_back(shots_[i].easting, shots_[i].northing);
    const std::vector<LineLeap> leaps = find_leaps(path);
    const bool is_by_turns = goes_to_and_fro(path) && (leaps.empty() || 4 * leaps.size() > path.size());
    if (!leaps.empty() && !is_by_turns) return tell_leaps(line, leaps);
    if (!is_by_turns) return;
    warn(fmt::format("{} goes to and fro, at {} of its {} stretches, as two lines do that were shot by turns",
                     line_.name, count_returns(path), path.size() - 1),
         where_(line.front()), number_them());
  }

  void tell_leaps(const Breakline& line, const std::vector<LineLeap>& leaps) {
    const std::size_t from = line[leaps[0].from], to = line[leaps[0].from + 1];
    std::string what =
        fmt::format("{} leaps {:.1f} from point {} to point {}, where its shots are usually {:.1f} apart", line_.name,
                    leaps[0].length, shots_[from].point, shots_[to].point, leaps[0].usual);
    if (leaps.size() > 1) what += fmt::format(", and {} more times", leaps.size() - 1);
    warn(std::move(what), where_(from) + " and " + where_(to),
         fmt::format("If these are two lines, number them, {0}1 and {0}2, or write where each begins and ends: {1} B "
                     "... {1} E.",
                     numbered_code(), line_.code));
  }

  const LineShots& line_;
  const std::vector<Shot>& shots_;
  const std::function<std::string(std::size_t)>& where_;
  CappedProblems& problems_;
  std::vector<LineMark> marks_;  // of each shot, without those that are remarks
  bool is_in_doubt_ = false;     // which line a shot belongs to, and it was told
};

}  // namespace

std::vector<Breakline> join_lines(const LineShots& line, const std::vector<Shot>& shots,
                                  const std::function<std::string(std::size_t)>& where, CappedProblems& problems) {
  return Joiner(line, shots, where, problems).join();
}

}  // namespace moundwright::io

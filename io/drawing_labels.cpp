// LabelField of drawing.h.
#include <cairo.h>

#include <algorithm>
#include <cmath>

#include "io/drawing.h"

namespace moundwright::io {
namespace {

constexpr double pad = 1.2;

PaperRect box_around(const Point2& low, const TextSize& size) {
  return {low.x() - pad, low.y() - 0.3 * pad, size.width + 2 * pad, size.height + 0.6 * pad};
}

/// Length of the part of a stretch that lies in a box.
double length_inside(const PaperRect& rect, const Point2& a, const Point2& b) {
  if (std::max(a.x(), b.x()) < rect.left || std::min(a.x(), b.x()) > rect.right() ||
      std::max(a.y(), b.y()) < rect.top || std::min(a.y(), b.y()) > rect.bottom())
    return 0;  // so it is for most
  double from = 0, to = 1;
  const Point2 step = b - a;
  const auto clip = [&](double start, double slope, double low, double high) {
    if (std::abs(slope) < 1e-12) {
      if (start < low || start > high) to = -1;
      return;
    }
    const double s = (low - start) / slope, t = (high - start) / slope;
    from = std::max(from, std::min(s, t));
    to = std::min(to, std::max(s, t));
  };
  clip(a.x(), step.x(), rect.left, rect.right());
  clip(a.y(), step.y(), rect.top, rect.bottom());
  return to > from ? (to - from) * step.norm() : 0;
}

/// The squares that text turned by `angle` about its middle covers.
std::vector<PaperRect> boxes_of_turned(const Point2& middle, const TextSize& size, double angle) {
  std::vector<PaperRect> boxes;
  const Point2 along(std::cos(angle), std::sin(angle));
  const double half = 0.5 * size.width - 0.5 * size.height;
  const int count = std::max(1, static_cast<int>(std::ceil(2 * half / (0.7 * size.height))));
  for (int i = 0; i <= count; ++i) {
    const Point2 at = middle + along * (half > 0 ? -half + 2 * half * i / count : 0.0);
    boxes.push_back({at.x() - 0.5 * size.height, at.y() - 0.5 * size.height, size.height, size.height});
  }
  return boxes;
}

struct Along {
  Point2 at = Point2::Zero();
  double angle = 0;
  double bend = 0;  // how far the line strays from straight under the text
};

Point2 point_on(const Polyline2& line, double distance) {
  for (std::size_t i = 1; i < line.size(); ++i) {
    const double length = (line[i] - line[i - 1]).norm();
    if (distance <= length && length > 0) return line[i - 1] + (line[i] - line[i - 1]) * (distance / length);
    distance -= length;
  }
  return line.back();
}

Along place_on(const Polyline2& line, double distance, double width) {
  const Point2 from = point_on(line, distance - 0.5 * width), to = point_on(line, distance + 0.5 * width);
  Along place;
  place.at = 0.5 * (from + to);
  place.angle = std::atan2(to.y() - from.y(), to.x() - from.x());
  if (std::abs(place.angle) > 0.5 * M_PI + 1e-9) place.angle += place.angle > 0 ? -M_PI : M_PI;
  place.bend = width - (to - from).norm() + (point_on(line, distance) - place.at).norm();
  return place;
}

}  // namespace

void LabelField::keep_off(const Point2& at, double radius) {
  taken_.push_back({at.x() - radius, at.y() - radius, 2 * radius, 2 * radius});
}

void LabelField::keep_off_text(const PaperRect& rect) {
  taken_.push_back(rect);
  labels_.push_back(rect);
}

void LabelField::avoid(const Polyline2& line, bool closed) {
  for (std::size_t i = 1; i < line.size(); ++i) lines_.emplace_back(line[i - 1], line[i]);
  if (closed && line.size() > 2) lines_.emplace_back(line.back(), line.front());
}

bool LabelField::is_free(const PaperRect& rect) const {
  return inside_.contains(rect) &&
         std::none_of(taken_.begin(), taken_.end(), [&](const PaperRect& other) { return rect.meets(other); });
}

double LabelField::crossed(const PaperRect& rect) const {
  double length = 0;
  for (const auto& [a, b] : lines_) length += length_inside(rect, a, b);
  return length;
}

bool LabelField::place(cairo_t* cairo, const std::string& text, const Point2& anchor, double gap,
                       const TextStyle& style) {
  const TextSize size = measure_text(cairo, text, style);
  double best_cost = 1e300;
  PaperRect best;
  Point2 best_low = Point2::Zero();
  double best_reach = 0;
  for (int ring = 0; ring < 7; ++ring) {
    const double reach = ring == 0 ? 0 : 5.0 + 7.0 * ring;
    const int places = ring == 0 ? 8 : 16;
    for (int k = 0; k < places; ++k) {
      // From the right, round by the top: labels to the right read best.
      const double angle = 2 * M_PI * k / places;
      const Point2 out(std::cos(angle), -std::sin(angle));
      const Point2 near = anchor + out * (gap + reach);
      const Point2 low = near + Point2((out.x() - 1) * 0.5 * size.width, (out.y() - 1) * 0.5 * size.height);
      const PaperRect box = box_around(low, size);
      if (!is_free(box)) continue;
      const double cost =
          crossed(box) + 1.2 * reach + (ring > 0 ? 6.0 : 0.0) + (k == 0 ? 0.0 : 0.8) + (out.x() < -0.1 ? 0.6 : 0.0);
      if (cost < best_cost) best_cost = cost, best = box, best_low = low, best_reach = reach;
    }
    if (best_cost < 1.2 * reach) break;
  }
  if (best_cost == 1e300) return false;
  if (best_reach > 0) {
    const Point2 end(std::clamp(anchor.x(), best.left, best.right()), std::clamp(anchor.y(), best.top, best.bottom()));
    const Point2 step = end - anchor;
    if (step.norm() > gap + 1) {
      const Polyline2 leader{anchor + step.normalized() * gap, end};
      draw_line(cairo, leader, {0.35, style.colour, {}});
      avoid(leader);
    }
  }
  draw_text(cairo, text, best_low, 0, 0, style);
  keep_off_text(best);
  return true;
}

double LabelField::labels_under(const Point2& from, const Point2& to) const {
  double length = 0;
  for (const PaperRect& label : labels_) length += length_inside(label, from, to);
  return length;
}

bool LabelField::place_with_leader(cairo_t* cairo, const std::string& text, const Point2& anchor,
                                   const TextStyle& style) {
  const TextSize size = measure_text(cairo, text, style);
  double best_cost = 1e300;
  PaperRect best;
  Point2 best_end = Point2::Zero();
  for (double reach = 10; reach < 220 && best_cost > reach; reach += 6) {
    for (int k = 0; k < 24; ++k) {
      const double angle = 2 * M_PI * k / 24;
      const Point2 out(std::cos(angle), -std::sin(angle));
      const Point2 end = anchor + out * reach;
      // The leader ends at the middle of the label's nearer side.
      const PaperRect box =
          box_around({out.x() >= 0 ? end.x() + pad : end.x() - size.width - pad, end.y() - 0.5 * size.height}, size);
      if (!is_free(box)) continue;
      const double cost = reach + 2 * crossed(box) + 20 * labels_under(anchor, end) + (out.x() < 0 ? 4 : 0);
      if (cost < best_cost) best_cost = cost, best = box, best_end = end;
    }
  }
  if (best_cost == 1e300) return false;
  draw_line(cairo, {anchor, best_end}, {1.6, paper_white, {}});
  draw_line(cairo, {anchor, best_end}, {0.5, style.colour, {}});
  cairo_new_path(cairo);
  cairo_arc(cairo, anchor.x(), anchor.y(), 1.1, 0, 2 * M_PI);
  set_colour(cairo, style.colour);
  cairo_fill(cairo);
  draw_text(cairo, text, {best.left + pad, best.top + 0.3 * pad}, 0, 0, style);
  avoid({anchor, best_end});
  keep_off_text(best);
  return true;
}

PaperRect LabelField::take_corner(double width, double height) {
  double best_cost = 1e300;
  PaperRect best;
  constexpr double margin = 6;
  for (int corner = 0; corner < 4; ++corner) {
    for (double shift = 0; shift < 0.5 * inside_.width; shift += 12) {
      for (double rise = 0; rise < 0.2 * inside_.height; rise += 12) {
        const double left = corner % 2 == 0 ? inside_.left + margin + shift : inside_.right() - margin - width - shift;
        const double top = corner / 2 == 0 ? inside_.bottom() - margin - height - rise : inside_.top + margin + rise;
        const PaperRect box{left, top, width, height};
        double cost = 0.2 * (shift + rise);
        if (cost >= best_cost) break;
        cost += crossed(box);
        for (const PaperRect& other : taken_) cost += box.meets(other) ? 200 : 0;
        if (cost < best_cost) best_cost = cost, best = box;
      }
    }
  }
  taken_.push_back(best);
  return best;
}

bool LabelField::place_along(cairo_t* cairo, const std::string& text, const Polyline2& line, const TextStyle& style) {
  if (line.size() < 2) return false;
  const TextSize size = measure_text(cairo, text, style);
  double length = 0;
  for (std::size_t i = 1; i < line.size(); ++i) length += (line[i] - line[i - 1]).norm();
  if (length < 1.6 * size.width) return false;
  double best_cost = 1e300;
  Along best;
  for (double s = 0.7 * size.width; s <= length - 0.7 * size.width; s += 9) {
    const Along place = place_on(line, s, size.width);
    const std::vector<PaperRect> boxes = boxes_of_turned(place.at, size, place.angle);
    if (!std::all_of(boxes.begin(), boxes.end(), [&](const PaperRect& box) { return is_free(box); })) continue;
    double cost = 8 * place.bend + 0.02 * std::abs(s - 0.5 * length);
    for (const PaperRect& box : boxes) cost += crossed(box);
    if (cost < best_cost) best_cost = cost, best = place;
  }
  if (best_cost > 60) return false;
  draw_text(cairo, text, best.at, 0.5, 0.5, style, best.angle);
  for (const PaperRect& box : boxes_of_turned(best.at, size, best.angle)) taken_.push_back(box);
  return true;
}

}  // namespace moundwright::io

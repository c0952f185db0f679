#include "geom/area_items.h"

#include <fmt/format.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "geom/footprint_pieces.h"
#include "geom/plan_check_parts.h"
#include "geom/toe.h"

namespace moundwright {
namespace {

double square_feet_per(LengthUnit unit) { return feet_per(unit) * feet_per(unit); }
const char* square_symbol(LengthUnit unit) { return unit == LengthUnit::metre ? "sq m" : "sq ft"; }
const char* length_symbol(LengthUnit unit) { return unit == LengthUnit::metre ? "m" : "ft"; }

/// How many of a price's units there are in an area or a length; nullopt where the price is by something else.
std::optional<double> area_in(PriceUnit per, double area, LengthUnit unit) {
  if (per == PriceUnit::square_foot) return area * square_feet_per(unit);
  if (per == PriceUnit::square_yard) return area * square_feet_per(unit) / 9;
  if (per == PriceUnit::square_metre) return area * metres_per(unit) * metres_per(unit);
  return std::nullopt;
}
std::optional<double> length_in(PriceUnit per, double length, LengthUnit unit) {
  if (per == PriceUnit::foot) return length * feet_per(unit);
  if (per == PriceUnit::metre) return length * metres_per(unit);
  return std::nullopt;
}

double cost_of(const std::optional<Price>& price, const std::optional<double>& count) {
  return price && count ? price->amount * *count : 0;
}

// ---- fabric ----------------------------------------------------------------------------------------------------

/// Widths that cover `across` with rolls of a width, lapped.
int widths_of(double across, const FabricOptions& fabric) {
  const double step = fabric.roll_width - fabric.overlap;
  return std::max(1, static_cast<int>(std::ceil((across - fabric.overlap) / step - 1e-9)));
}

AreaItem fabric_item(const MoundDesign& design, const FabricOptions& fabric, LengthUnit unit) {
  AreaItem item;
  item.name = "fabric";
  item.unit = square_symbol(unit);
  item.order_unit = "rolls";
  item.price = fabric.price;
  const auto layer =
      std::find_if(design.layers.begin(), design.layers.end(), [&](const Layer& l) { return l.name == fabric.over; });
  if (layer == design.layers.end()) return item;
  const double across = design.bed.width + layer->beyond.upslope + layer->beyond.downslope;
  const int widths = widths_of(across, fabric);
  double length = layer->beyond.left + layer->beyond.right;
  for (std::size_t i = 1; i < design.bed.line.size(); ++i) {
    length += (design.bed.line[i] - design.bed.line[i - 1]).norm();
    if (i > 1) length += fabric.overlap;  // lapped at the bend
  }
  item.quantity = across * length;
  const double laid = widths * length;
  // Every roll but the last gives one lap away to the next.
  item.order = std::max(1.0, std::ceil((laid - fabric.overlap) / (fabric.roll_length - fabric.overlap) - 1e-9));
  if (item.order == 1) item.order_unit = "roll";
  item.note = fmt::format("{} width{} of {:g} {} over the {}, {:g} {} lap; {:.0f} {} off the roll", widths,
                          widths == 1 ? "" : "s", fabric.roll_width, length_symbol(unit), fabric.over, fabric.overlap,
                          length_symbol(unit), laid, length_symbol(unit));
  if (!fabric.price) return item;
  const double bought = item.order * fabric.roll_width * fabric.roll_length;
  item.cost = cost_of(fabric.price, fabric.price->unit == PriceUnit::roll ? std::optional(item.order)
                                                                          : area_in(fabric.price->unit, bought, unit));
  return item;
}

// ---- by finished or scarified area -------------------------------------------------------------------------------

AreaItem spread_item(const SpreadOptions& spread, double area, LengthUnit unit) {
  AreaItem item;
  item.name = spread.name;
  item.quantity = area;
  item.unit = square_symbol(unit);
  const double square_metres = area * metres_per(unit) * metres_per(unit);
  const double count = spread.rate * (spread.per_100_sq_m ? square_metres / 100 : area * square_feet_per(unit) / 1000);
  const bool by_volume = spread.counted == PriceUnit::loose_yard || spread.counted == PriceUnit::loose_cubic_metre;
  item.order = by_volume ? count : std::ceil(count - 1e-9);
  item.order_unit = spread.counted == PriceUnit::bale ? "bales" : to_text(spread.counted);
  item.note = fmt::format("{:g} {} a {} of slope", spread.rate, item.order_unit,
                          spread.per_100_sq_m ? "100 sq m" : "1,000 sq ft");
  item.price = spread.price;
  item.cost = cost_of(spread.price, item.order);
  return item;
}

AreaItem scarify_item(const Takeoff& takeoff, const std::optional<Price>& price, LengthUnit unit) {
  AreaItem item;
  item.name = "scarify";
  item.quantity = item.order = takeoff.scarify_area;
  item.unit = item.order_unit = square_symbol(unit);
  item.note = "the footprint, loosened in place";
  item.price = price;
  if (price) item.cost = cost_of(price, area_in(price->unit, takeoff.scarify_area, unit));
  return item;
}

// ---- silt fence ------------------------------------------------------------------------------------------------

/// Convex hull, counter-clockwise (Andrew's monotone chain).
Polygon2 hull_of(std::vector<Point2> points) {
  std::sort(points.begin(), points.end(),
            [](const Point2& a, const Point2& b) { return a.x() < b.x() || (a.x() == b.x() && a.y() < b.y()); });
  Polygon2 hull;
  for (int side = 0; side < 2; ++side) {
    const std::size_t start = hull.size();
    for (const Point2& p : points) {
      const auto turns_left = [&](const Point2& a, const Point2& b) { return cross(b - a, p - a) > 0; };
      while (hull.size() >= start + 2 && !turns_left(hull[hull.size() - 2], hull.back())) hull.pop_back();
      hull.push_back(p);
    }
    hull.pop_back();
    std::reverse(points.begin(), points.end());
  }
  return hull;
}

/// Angle of the outward normal of a hull's edge: 0 toward the right end, a quarter turn downslope, half a turn left.
double faces(const Polygon2& hull, std::size_t i) {
  const Point2 step = hull[(i + 1) % hull.size()] - hull[i];
  return std::atan2(-step.x(), step.y());
}

/// The fence in the mound frame, from its right end to its left one: those sides of the hull that face downslope, moved
/// out, with round corners in steps, and a return straight upslope at each end.
Polyline2 fence_of(const Polygon2& hull, const FenceOptions& fence) {
  constexpr double aside = std::numbers::pi / 9;  // a side that faces an end within 20 degrees is left to the returns
  const std::size_t n = hull.size();
  const auto is_below = [&](std::size_t i) {
    return faces(hull, i) > aside && faces(hull, i) < std::numbers::pi - aside;
  };
  std::size_t first = 0;
  while (first < n && !(is_below(first) && !is_below((first + n - 1) % n))) ++first;
  if (first == n) return {};
  Polyline2 line = {hull[first] + Point2(fence.below_toe, -fence.returns)};
  double turned = 0;
  const auto turn_to = [&](const Point2& corner, double angle) {
    constexpr double step = std::numbers::pi / 18;
    const int steps = std::max(1, static_cast<int>(std::ceil((angle - turned) / step)));
    for (int k = 0; k <= steps; ++k) {
      const double at = turned + (angle - turned) * k / steps;
      line.push_back(corner + fence.below_toe * Point2(std::cos(at), std::sin(at)));
    }
    turned = angle;
  };
  std::size_t i = first % n;
  for (; is_below(i); i = (i + 1) % n) turn_to(hull[i], faces(hull, i));
  turn_to(hull[i], std::numbers::pi);
  line.push_back(hull[i] + Point2(-fence.below_toe, -fence.returns));
  return line;
}

double length_of(const Polyline2& line) {
  double length = 0;
  for (std::size_t i = 1; i < line.size(); ++i) length += (line[i] - line[i - 1]).norm();
  return length;
}

void add_fence(const PlacedMound& mound, const FenceOptions& fence, LengthUnit unit, AreaItems& areas) {
  std::vector<Point2> points;
  for (const Polygon2& loop : toe_in_mound_frame(mound, mound.buildup.toe)) {
    points.insert(points.end(), loop.begin(), loop.end());
  }
  const Polygon2 hull = hull_of(std::move(points));
  if (hull.size() < 3) return;
  Polyline2 line = fence_of(hull, fence);
  if (line.empty()) return;
  std::reverse(line.begin(), line.end());
  AreaItem item;
  item.name = "silt fence";
  item.quantity = length_of(line);
  item.unit = item.order_unit = length_symbol(unit);
  item.order = std::ceil(item.quantity - 1e-9);
  item.note = fmt::format("{:g} {} below the toe, ends turned uphill {:g} {}", fence.below_toe, item.unit,
                          fence.returns, item.unit);
  item.price = fence.price;
  if (fence.price) item.cost = cost_of(fence.price, length_in(fence.price->unit, item.order, unit));
  areas.items.push_back(std::move(item));
  for (const Point2& p : line) areas.fence_line.push_back(mound.to_reduced(p));
}

// ---- stockpiles --------------------------------------------------------------------------------------------------

/// A windrow with round ends: cone and prism at the same slope; a cone alone where the volume does not fill one.
void shape_pile(double volume, double height, double run, StockpileResult& pile) {
  const double cone = std::numbers::pi * run * run * std::pow(height, 3) / 3;
  pile.height = volume < cone ? height * std::cbrt(volume / cone) : height;
  const double radius = run * pile.height;
  const double ridge = volume < cone ? 0 : (volume - cone) / (radius * pile.height);
  pile.width = 2 * radius;
  pile.length = ridge + 2 * radius;
  pile.plan_area = std::numbers::pi * radius * radius + ridge * pile.width;
}

/// Where the pile lies, in the mound frame: straight along its ridge, with round ends drawn a little too large.
Polygon2 outline_of(const StockpileResult& pile, const Point2& middle) {
  constexpr int steps = 12;  // a half circle
  const double half_ridge = 0.5 * (pile.length - pile.width);
  const double radius = 0.5 * pile.width / std::cos(0.5 * std::numbers::pi / steps);
  Polygon2 outline;
  for (const double end : {1.0, -1.0}) {
    for (int k = 0; k <= steps; ++k) {
      const double angle = std::numbers::pi * (static_cast<double>(k) / steps - 0.5);
      outline.push_back(middle + end * Point2(half_ridge + radius * std::cos(angle), radius * std::sin(angle)));
    }
  }
  return outline;
}

/// True if an outline in the mound frame is on the mound or where its water goes.
bool lies_downslope(const PlacedMound& mound, const Polygon2& outline) {
  Eigen::AlignedBox2d covered, pile;
  for (const Polygon2& loop : toe_in_mound_frame(mound, mound.buildup.toe)) {
    for (const Point2& p : loop) covered.extend(p);
  }
  for (const Point2& p : outline) pile.extend(p);
  return pile.max().x() > covered.min().x() && pile.min().x() < covered.max().x() && pile.max().y() > covered.min().y();
}

std::vector<std::string> faults_of(const PlacedMound& mound, const Polygon2& outline,
                                   const std::vector<KeepClear>& keep_clear) {
  std::vector<std::string> faults;
  if (lies_downslope(mound, outline)) {
    faults.emplace_back("it would lie on the mound or below it: move it upslope or past an end");
  }
  Polygon2 on_lot;
  bool is_surveyed = true;
  for (const Point2& p : outline) {
    on_lot.push_back(mound.to_world(p));
    is_surveyed = is_surveyed && elevation_at(mound.ground, mound.ground.to_local(on_lot.back()));
  }
  for (const KeepClear& feature : keep_clear) {
    if (!feature.line.empty() && !(distance_to_feature({on_lot}, feature) > 0)) {
      faults.push_back(fmt::format("it would lie on the {}", feature.name));
    }
  }
  if (!is_surveyed) faults.emplace_back("it would lie partly off the surveyed ground");
  return faults;
}

StockpileResult stockpile_of(const PlacedMound& mound, const StockpileOptions& options, const AreaOptions& site) {
  StockpileResult pile;
  pile.material = options.material;
  const Material* material = find_material(site.estimate.materials, options.material);
  const Truck* truck = material ? find_truck(site.estimate.trucks, material->truck) : nullptr;
  const std::optional<Loads> one = truck ? loads_for(*material, *truck, LooseYards{1}) : std::nullopt;
  if (!one) {
    pile.note = "its size wants a truck for the material";
    return pile;
  }
  pile.volume = options.loads * one->each;
  shape_pile(pile.volume.cy / cubic_yards_per(site.unit), options.height, options.run, pile);
  if (options.at) {
    pile.faults = faults_of(mound, outline_of(pile, mound.to_mound(*options.at)), site.keep_clear);
  }
  pile.note = !pile.faults.empty() ? fmt::format("{}", fmt::join(pile.faults, "; "))
              : options.at         ? "clear of the mound, its downslope side and what is to be kept clear"
                                   : "keep it off the mound and its downslope side";
  return pile;
}

AreaItem pipe_item(const PipeOptions& pipe, LengthUnit unit) {
  AreaItem item{pipe.name,           pipe.length, length_symbol(unit), std::ceil(pipe.length - 1e-9),
                length_symbol(unit), "by length", pipe.price,          0};
  if (pipe.price) item.cost = cost_of(pipe.price, length_in(pipe.price->unit, item.order, unit));
  return item;
}

}  // namespace

AreaItems area_items(const PlacedMound& mound, const Takeoff& takeoff, const AreaOptions& site) {
  const AreaItemOptions& options = site.estimate.areas;
  AreaItems areas;
  areas.finished_area = finished_area(mound);
  if (takeoff.scarify_area > 0) areas.items.push_back(scarify_item(takeoff, options.scarify, site.unit));
  if (options.fabric) areas.items.push_back(fabric_item(mound.design(), *options.fabric, site.unit));
  for (const SpreadOptions& spread : options.spread) {
    areas.items.push_back(spread_item(spread, areas.finished_area, site.unit));
  }
  if (options.fence) add_fence(mound, *options.fence, site.unit, areas);
  for (const PipeOptions& pipe : options.pipes) areas.items.push_back(pipe_item(pipe, site.unit));
  for (const StockpileOptions& pile : options.stockpiles) {
    areas.stockpiles.push_back(stockpile_of(mound, pile, site));
  }
  return areas;
}

}  // namespace moundwright

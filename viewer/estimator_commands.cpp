#include "viewer/estimator_commands.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "geom/price_gaps.h"
#include "geom/printed.h"
#include "io/results.h"
#include "io/sieve_ticket.h"
#include "viewer/commands.h"
#include "viewer/refusals.h"
#include "viewer/report.h"

namespace moundwright::viewer {
namespace {

// ---- sieve -------------------------------------------------------------------------------------------------------

std::string limit_text(const Limit& limit, int decimals) {
  if (limit.least && limit.most) {
    return *limit.least == *limit.most
               ? fixed_text(*limit.most, decimals)
               : fmt::format("{} to {}", fixed_text(*limit.least, decimals), fixed_text(*limit.most, decimals));
  }
  if (limit.least) return fmt::format("{} or more", fixed_text(*limit.least, decimals));
  return limit.most ? fmt::format("{} or less", fixed_text(*limit.most, decimals)) : "";
}

std::string check_text(const GradationCheck& check, int decimals) {
  const std::string found = check.found ? fixed_text(*check.found, decimals) : "-";
  return fmt::format("  {:<20}{:>8}   {:<14}{}{}\n", check.name, found, limit_text(check.asked, decimals),
                     !check.found   ? "NOT TOLD"
                     : check.passes ? "ok"
                                    : "FAILS",
                     check.text.empty() ? "" : "; " + check.text);
}

/// "Sample 500.4 dry before washing ...": where the ticket gives weights.
std::string sample_text(const SieveSample& sample) {
  if (!sample.whole) return "";
  std::string text = fmt::format("Sample {:g} dry", *sample.whole);
  if (sample.washed) {
    text += fmt::format(" before washing, {:g} after: {:.1f} % finer than No. 200 by washing (ASTM C117)",
                        *sample.washed, *sample.washed_out());
  }
  const double off = 100 * (sample.off_sieves() / *sample.went_on() - 1);
  return text + fmt::format("; {:g} off the sieves, {:.2f} % {}\n", sample.off_sieves(), std::abs(off),
                            off > 0 ? "gained" : "lost");
}

std::string measures_text(const GradationMeasures& m) {
  const auto value = [](const std::optional<double>& v, const char* form) {
    return v ? fmt::format(fmt::runtime(form), *v) : std::string("not told");
  };
  return fmt::format(
      "Effective size D10 {}; D30 {}; D60 {}; uniformity D60/D10 {}\nFineness modulus {}; fines (No. 200) {}\n",
      value(m.d10, "{:.3f} mm"), value(m.d30, "{:.3f} mm"), value(m.d60, "{:.3f} mm"), value(m.uniformity, "{:.1f}"),
      value(m.fineness_modulus, "{:.2f}"), value(m.fines, "{:.1f} %"));
}

bool any_fails(const std::vector<GradationCheck>& checks) {
  return std::any_of(checks.begin(), checks.end(), [](const GradationCheck& c) { return c.found && !c.passes; });
}

std::string untold_text(const GradationReport& report) {
  std::vector<std::string> names;
  for (const auto* checks : {&report.sieves, &report.others}) {
    for (const GradationCheck& check : *checks) {
      if (!check.found) names.push_back(check.name);
    }
  }
  if (names.empty()) return "";
  return fmt::format("  Not told: {}. What is not told is not passed: the ticket cannot pass until it tells.\n",
                     fmt::join(names, ", "));
}

std::string gradation_report_text(const GradationReport& report) {
  const bool fails = any_fails(report.sieves) || any_fails(report.others);
  std::string text = fmt::format("\n{}: {}\n  ({})\n", report.specification,
                                 report.passes ? "PASSES"
                                 : fails       ? "FAILS"
                                               : "NOT SHOWN to pass",
                                 report.source);
  text += fmt::format("  {:<20}{:>8}   {:<14}\n", "sieve", "passing", "asked");
  for (const GradationCheck& check : report.sieves) text += check_text(check, 1);
  for (const GradationCheck& check : report.others) text += check_text(check, 2);
  return text + untold_text(report);
}

/// The limits that a job sets for a material: its own, or the specification that it names.
GradationLimits limits_of_job(const std::filesystem::path& path, const std::string& material) {
  const io::Job job = io::read_job(path);
  const EstimatePlan& plan = job.site.estimate;
  for (const MaterialLimits& own : plan.limits) {
    if (own.material == material) return own.limits;
  }
  const Material* m = find_material(plan.materials, material);
  if (m != nullptr && !m->specification.empty()) return *published_limits(m->specification);
  throw Refusal({Severity::error,
                 m == nullptr ? fmt::format("there is no material \"{}\"", material)
                              : fmt::format("the material \"{}\" has no limits and no specification", material),
                 path.filename().string(),
                 "give it limits = [{ sieve = \"No. 4\", least = 95 }, ...] or specification"});
}

std::vector<GradationLimits> limits_asked(const SieveQuestion& question) {
  if (!question.job.empty() || !question.material.empty()) return {limits_of_job(question.job, question.material)};
  if (question.specification.empty()) return published_gradations();
  if (const GradationLimits* limits = published_limits(question.specification)) return {*limits};
  std::string known;
  for (const GradationLimits& limits : published_gradations()) known += (known.empty() ? "" : ", ") + limits.name;
  throw Refusal({Severity::error, fmt::format("there is no specification \"{}\"", question.specification), "--spec",
                 "Known: " + known + ". The plan's own limits go into the job, and win."});
}

// ---- compare -----------------------------------------------------------------------------------------------------

/// Rows in the order they are first seen, a cell a job; a column is as wide as its widest cell.
class SideBySide {
 public:
  explicit SideBySide(std::size_t jobs) : jobs_(jobs) {}

  void put(std::size_t job, const std::string& row, std::string cell) {
    const auto at = std::find_if(rows_.begin(), rows_.end(), [&](const Row& r) { return r.name == row; });
    Row& found = at != rows_.end() ? *at : rows_.emplace_back(Row{row, std::vector<std::string>(jobs_)});
    found.cells[job] = std::move(cell);
  }

  std::string text() const {
    std::vector<std::size_t> widths(jobs_, 18);
    for (const Row& row : rows_) {
      for (std::size_t i = 0; i < jobs_; ++i) widths[i] = std::max(widths[i], row.cells[i].size());
    }
    std::string all;
    for (const Row& row : rows_) {
      all += fmt::format("{:<30}", row.name);
      for (std::size_t i = 0; i < jobs_; ++i) {
        all += fmt::format("  {:>{}}", row.cells[i].empty() ? "-" : row.cells[i], widths[i]);
      }
      all += "\n";
    }
    return all;
  }

 private:
  struct Row {
    std::string name;
    std::vector<std::string> cells;
  };
  std::size_t jobs_;
  std::vector<Row> rows_;
};

void put_job(const io::SiteResults& r, std::size_t job, SideBySide& table) {
  const char* unit = symbol(r.job.site.unit);
  const BulkUnits& bulk = bulk_units(r.job.site.unit);
  const auto yards = [&](double cy) { return fmt::format("{} {}", fixed_text(bulk.of_yard * cy, 1), bulk.volume); };
  const auto bad = std::count_if(r.found().checks.begin(), r.found().checks.end(),
                                 [](const PlanCheck& c) { return c.verdict == Verdict::bad; });
  table.put(job, "checks that fail", std::to_string(bad));
  table.put(
      job, "bed bottom",
      fmt::format("{} {}", fixed_text(r.mound().buildup.bottom_elevation, length_decimals(r.job.site.unit)), unit));
  for (const TakeoffItem& layer : r.found().takeoff.fill)
    table.put(job, layer.name + ", in place", yards(layer.volume_cy));
  table.put(job, "fill, in place", yards(r.found().takeoff.fill_cy));
  table.put(job, "cut, bank", yards(r.found().takeoff.cut_cy));
  for (const MaterialOrder& order : r.estimate.orders) {
    if (order.loads) table.put(job, order.material + ", loads", std::to_string(order.loads->count));
    if (order.tons) {
      table.put(job, order.material + ", weight",
                fmt::format("{} {}", fixed_text(bulk.of_ton * *order.tons, 1), bulk.weight));
    }
  }
  const BermLengths& berm = r.mound().buildup.berm;
  for (const auto& [face, length] : {std::pair("upslope", berm.upslope), std::pair("downslope", berm.downslope),
                                     std::pair("left", berm.left), std::pair("right", berm.right)}) {
    table.put(job, fmt::format("berm {}, mid-length", face), fmt::format("{} {}", fixed_text(length.middle, 1), unit));
  }
  table.put(job, "footprint", fmt::format("{} sq {}", fixed_text(r.mound().buildup.footprint_area, 0), unit));
  if (!r.estimate.bid) return;
  const BidSheet& bid = *r.estimate.bid;
  const std::string mark =
      price_is_incomplete(r.estimate) ? fmt::format(" {}", incomplete_text(r.estimate)) : std::string();
  table.put(job, "price", fmt::format("{}{}{}", bid.currency, fixed_text(bid.total, 0), mark));
  table.put(job, "price of fill in place",
            fmt::format("{}{} a {}{}", bid.currency, fixed_text(bid.per_yard / bulk.of_yard, 2), bulk.volume, mark));
  table.put(job, "material is charged", to_text(bid.charged));
}

/// What one job's price does not hold, below the table.
std::string gaps_text(const std::string& job, const Estimate& estimate) {
  if (!price_is_incomplete(estimate)) return "";
  std::string text = fmt::format("\n{}: {}\n", job, incomplete_text(estimate));
  for (const std::string& gap : estimate.missing) text += fmt::format("  {}\n", gap);
  return text;
}

}  // namespace

int run_sieve(const std::filesystem::path& path, const SieveQuestion& question) {
  return guarded([&]() -> int {
    const std::vector<GradationLimits> asked = limits_asked(question);
    Problems notes;
    const io::SieveTicket ticket = io::read_sieve_ticket(path, &notes);
    print_problems(notes);
    const Gradation& gradation = ticket.gradation;
    if (ticket.sample) print(sample_text(*ticket.sample));
    print(measures_text(measures_of(gradation)));
    bool passes = true;
    for (const GradationLimits& limits : asked) {
      const GradationReport report = check_gradation(gradation, limits);
      passes = passes && report.passes;
      print(gradation_report_text(report));
    }
    print("\nThe plan's own specification wins over any published one. A ticket is no jar test: try each load.\n");
    return passes || asked.size() > 1 ? exit_done : exit_check_failed;
  });
}

int run_compare(const std::vector<std::filesystem::path>& jobs) {
  return guarded([&]() -> int {
    SideBySide table(jobs.size());
    std::string gaps;
    int code = exit_done;
    for (std::size_t i = 0; i < jobs.size(); ++i) {
      table.put(i, "job", jobs[i].stem().string());
      try {
        const io::SiteResults results = io::compute_site(jobs[i]);
        const Problems blocked = io::blocking_problems(results);
        if (blocked.has_errors()) {
          print_aside(jobs[i].string() + ":\n");
          print_problems(blocked);
          table.put(i, "figures hold", "no: see above");
          code = exit_refused;
        }
        put_job(results, i, table);
        gaps += gaps_text(jobs[i].stem().string(), results.estimate);
        if (code == exit_done && price_is_incomplete(results.estimate)) code = exit_check_failed;
      } catch (...) {
        print_aside(jobs[i].string() + ":\n");
        print_refusal(io::caught_refusal());
        code = exit_refused;
      }
    }
    print(table.text() + totals_note + "\n" + gaps);
    return code;
  });
}

}  // namespace moundwright::viewer

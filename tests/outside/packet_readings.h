// What is read back from the files of a packet, and the truth that it is held against.
//
// Figures are named by the trade's words: "fill core", "total fill", "plan area", "bed bottom", "stake 1001 northing".
#pragma once

#include <gtest/gtest.h>

#include <cctype>
#include <cmath>
#include <filesystem>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>
#include <regex>
#include <sstream>
#include <string>
#include <vector>

#include "spreadsheet.h"

namespace moundwright {

/// A figure as a file gives it, and how far from the truth its last digit lets it be.
struct Reading {
  double value;
  double within;
};

/// Every place where a file gives a figure.
class Readings {
 public:
  void add(const std::string& figure, const Reading& reading) { all_.emplace(figure, reading); }
  /// Nothing where there is no text.
  void add_printed(const std::string& figure, const std::string& text);
  void add_in_full(const std::string& figure, const std::string& text);
  std::size_t size() const { return all_.size(); }
  auto begin() const { return all_.begin(); }
  auto end() const { return all_.end(); }

 private:
  std::multimap<std::string, Reading> all_;
};

/// The truth; and the told volume, cubic yards or cubic metres, in a cubic job unit.
struct Truth {
  std::map<std::string, double> figures;
  double told_volume = 0;
  bool metric = false;              // files tell cubic metres and tonnes; volumes in figures are what they tell
  std::vector<std::string> grades;  // lowest first
  std::vector<std::string> tie_marks;
  std::map<std::string, std::vector<std::string>> stages;  // their points, in order
};

inline constexpr double slack = 1e-7;  // of decimals in binary
inline double half_of(int decimals) { return 0.5 * std::pow(10.0, -decimals) + slack; }

/// A number printed with decimals is right to half of the last one. What follows it is left alone: "7 x 11.4 cu yd".
inline Reading printed(const std::string& text) {
  std::string digits;
  for (const char c : text) {
    if (c == ' ' && !digits.empty()) break;
    if (std::isdigit(static_cast<unsigned char>(c)) != 0 || c == '.' || c == '-') digits += c;
  }
  const std::size_t point = digits.find('.');
  return {std::stod(digits), half_of(point == std::string::npos ? 0 : static_cast<int>(digits.size() - point - 1))};
}

inline Reading in_full(double value) { return {value, 1e-9 * (1 + std::abs(value))}; }

inline void Readings::add_printed(const std::string& figure, const std::string& text) {
  if (!text.empty()) add(figure, printed(text));
}
inline void Readings::add_in_full(const std::string& figure, const std::string& text) {
  if (!text.empty()) add(figure, in_full(std::stod(text)));
}

/// "6 ft 10-1/8 in", "5/8 in", "1 in": to the nearest eighth.
inline Reading in_eighths(const std::string& text) {
  static const std::regex form(R"((?:(\d+) ft )?(?:(\d+)(?:-(\d)/(\d))?|(\d)/(\d)) in)");
  std::smatch m;
  EXPECT_TRUE(std::regex_search(text, m, form)) << text;
  const auto number = [&](std::size_t i) { return m[i].matched ? std::stod(m[i]) : 0.0; };
  double inches = number(2);
  if (m[3].matched) inches += number(3) / number(4);
  if (m[5].matched) inches += number(5) / number(6);
  return {number(1) + inches / 12, 1.0 / 16 / 12 + slack};
}

inline std::vector<double> numbers_in(const std::string& text) {
  std::istringstream in(text);
  return {std::istream_iterator<double>(in), {}};
}

/// The data that the field page shows, out of the page.
nlohmann::json field_data(const std::filesystem::path& packet);

/// From summary.json; what is staked from stakes.csv, what is shot at each stage from the field page's data.
Truth truth_of(const std::filesystem::path& packet);

/// The stakes of a packet against the meaning of what they say, worked out anew from the job file and the TIN.
void hold_stakes_against_definitions(const std::filesystem::path& packet, const std::filesystem::path& job_file);

// A reader for each file.
Readings from_quantities_csv(const std::filesystem::path& packet, const Truth& truth);
Readings from_quantities_xlsx(const std::filesystem::path& packet, const Truth& truth);
Readings from_points_csv(const std::filesystem::path& packet, const Truth& truth);
Readings from_toe_csv(const std::filesystem::path& packet, const Truth& truth);
Readings from_surfaces_xml(const std::filesystem::path& packet, const Truth& truth);
Readings from_site_gpkg(const std::filesystem::path& packet, const Truth& truth);
Readings from_sheets_pdf(const std::filesystem::path& packet, const Truth& truth);
Readings from_field_html(const std::filesystem::path& packet, const Truth& truth);

}  // namespace moundwright
